"""Moulds: metal, sizes that are missing or cannot be, and bars that come to nothing."""

from __future__ import annotations

from scaler.formula.cells import Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, opposite, same
from scaler.model.records import Mould
from scaler.model.schema import columns
from scaler.model.shapes import SHAPES, Shape
from scaler.rules.watchwords import METAL
from scaler.validation.rule import LOOK, REFUSE, RuleGroup

MOULDS = RuleGroup("moulds")
_HEADERS = {name: column.header for name, column in columns(Mould).items()}


@MOULDS.rule("mould_metal", LOOK, "mould",
    "Is {mould} made of aluminium, tin or zinc? Raw soap dissolves them and gives off hydrogen.",
    "Use silicone, wood, plastic or stainless steel, or line it so that no soap touches the metal.",
    "ICSC 0360, sodium hydroxide", channel="metal_doubt")  # fmt: skip
def mould_metal(watch: Text) -> Truth:
    return same(watch, METAL)


def _needed(shape: Shape) -> str:
    return ", ".join(_HEADERS[name] for name in shape.needs)


for _name in dict.fromkeys(name for shape in SHAPES for name in shape.needs):
    _words = tuple(shape.word for shape in SHAPES if _name in shape.needs)
    MOULDS.add(
        f"{_name}_missing", ("shape", _name),
        lambda word, size, _words=_words: all_of(blank(size), any_of(*(same(word, held) for held in _words))),
        "size_missing", REFUSE, _name, "{mould} (Shape {shape}) has no {@header}.", "Fill it.",
    )  # fmt: skip
for _shape in (shape for shape in SHAPES if shape.inside):
    MOULDS.add(
        f"{_shape.name}_liner_thick", ("shape", "liner", *_shape.inside, *_shape.needs),
        lambda word, liner, *sizes, _own=_shape: all_of(
            same(word, _own.word), *map(given, (liner, *sizes[len(_own.inside) :])),
            any_of(*(size <= 0 for size in sizes[: len(_own.inside)])),
        ),
        "liner_thick", REFUSE, "liner", "The liner of {mould} leaves no room inside.", "Make Liner smaller, or check Unit.",
    )  # fmt: skip


@MOULDS.rule("liner_not_used", REFUSE, "liner", "{mould} is measured by water, so its Liner is not used.",
    "Measure its volume with the liner in, and clear Liner.")  # fmt: skip
def liner_not_used(liner: Number, shape: Text) -> Truth:
    measured = [same(shape, item.word) for item in SHAPES if not item.inside]
    return all_of(given(liner), any_of(*measured))


@MOULDS.rule("bars_missing", REFUSE, "bars", "{mould} has neither Bars nor Bar cut.",
    "Fill Bar cut (thickness of a bar) or Bars (how many one fill makes).")  # fmt: skip
def bars_missing(bars: Number, bar_cut: Number, shape: Text) -> Truth:
    trays = [same(shape, item.word) for item in SHAPES if "cavities" in item.needs]
    return all_of(blank(bars), blank(bar_cut), opposite(any_of(*trays)))


@MOULDS.rule("bars_missing", REFUSE, "bars", "{mould} has no Bars, and a mould of Shape {shape} is not cut by Bar cut.",
    "Fill Bars (how many one fill makes).")  # fmt: skip
def bars_not_cut(bars: Number, bar_cut: Number, shape: Text) -> Truth:
    uncut = [same(shape, item.word) for item in SHAPES if not item.log and "cavities" not in item.needs]
    return all_of(blank(bars), given(bar_cut), any_of(*uncut))


@MOULDS.rule("bars_none", REFUSE, "bar_cut", "A Bar cut of {bar_cut} {unit} leaves no bar in {mould}.",
    "Check Bar cut, Trim and Unit.")  # fmt: skip
def bars_none(bars: Number, bar_cut: Number, cm: Number, log_cm: Number, bars_in_one: Number) -> Truth:
    whole_log = opposite(exceeds(log_cm, default_to(bar_cut, 0) * cm))
    return all_of(given(bar_cut), blank(bars), log_cm > 0, any_of(whole_log, exceeds(1, bars_in_one)))


_SIZES = dict.fromkeys(name for shape in SHAPES for name in shape.needs if not name.endswith("unit"))
"""Every size that a shape may need."""
for _shape in SHAPES:
    _idle = tuple(name for name in _SIZES if name not in _shape.needs) + (() if _shape.log else ("bar_cut", "trim"))
    MOULDS.add(
        f"{_shape.name}_unused", ("shape", *_idle),
        lambda word, *cells, _own=_shape.word: all_of(same(word, _own), any_of(*map(given, cells))),
        "value_unused", LOOK, "shape_typed", f"{{mould}} has sizes that Shape {_shape.word} does not use.",
        f"It uses {_needed(_shape)}: clear the others, or correct Shape.", channel="number_doubt",
    )  # fmt: skip


RULES = tuple(MOULDS.rules)
