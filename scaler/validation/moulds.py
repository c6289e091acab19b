"""Moulds: sizes that are missing or cannot be, and bars that come to nothing."""

from __future__ import annotations

from scaler.formula.cells import Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, opposite, same
from scaler.formula.steps import Rule as Flag
from scaler.formula.steps import handed
from scaler.model.records import Mould
from scaler.model.schema import columns
from scaler.model.shapes import SHAPES, Shape
from scaler.validation.rule import LOOK, REFUSE, RuleGroup

MOULDS = RuleGroup("moulds")
_HEADERS = {name: column.header for name, column in columns(Mould).items()}


def _sizes_missing(shape: Shape) -> Flag:
    says = f"Whether a {shape.word} lacks a size it needs. -> [-]."
    return handed(
        lambda word, *sizes: all_of(same(word, shape.word), any_of(*map(blank, sizes))),
        ("shape", *shape.needs), says, f"{shape.name}_sizes_missing",
    )  # fmt: skip


def _liner_thick(shape: Shape) -> Flag:
    says = f"Whether nothing is left of a {shape.word} inside its liner. [cm] -> [-]."
    return handed(
        lambda word, liner, *sizes: all_of(same(word, shape.word), given(liner), any_of(*(size <= 0 for size in sizes))),
        ("shape", "liner", *shape.inside), says, f"{shape.name}_liner_thick",
    )  # fmt: skip


for _shape in SHAPES:
    _needed = ", ".join(_HEADERS[name] for name in _shape.needs)
    MOULDS.rule(
        "size_missing", REFUSE, _shape.needs[-1], f"{{mould}} (Shape {_shape.word}) lacks a size.", f"Fill {_needed}.",
    )(_sizes_missing(_shape))  # fmt: skip
for _shape in SHAPES:
    if _shape.inside:
        MOULDS.rule(
            "liner_thick", REFUSE, "liner", "The liner of {mould} leaves no room inside.", "Make Liner smaller, or check Unit.",
        )(_liner_thick(_shape))  # fmt: skip


@MOULDS.rule(
    "liner_not_used", REFUSE, "liner", "{mould} is measured by water, so its Liner is not used.",
    "Measure its volume with the liner in, and clear Liner.",
)  # fmt: skip
def liner_not_used(liner: Number, shape: Text) -> Truth:
    """Whether a mould measured by water has a liner. -> [-]."""
    measured = [same(shape, item.word) for item in SHAPES if not item.inside]
    return all_of(given(liner), any_of(*measured))


@MOULDS.rule(
    "bars_missing", REFUSE, "bars", "{mould} has neither Bars nor Bar cut.",
    "Fill Bar cut (thickness of a bar) or Bars (how many one fill makes).",
)  # fmt: skip
def bars_missing(bars: Number, bar_cut: Number, cavity_count: Number) -> Truth:
    """Whether nothing says how many bars a mould gives. -> [-]."""
    return all_of(blank(bars), blank(bar_cut), same(cavity_count, 0))


@MOULDS.rule(
    "bars_none", REFUSE, "bar_cut", "A Bar cut of {bar_cut} {unit} leaves no bar in {mould}.", "Check Bar cut, Trim and Unit.",
)  # fmt: skip
def bars_none(bars: Number, bar_cut: Number, cm: Number, log_cm: Number, bars_in_one: Number) -> Truth:
    """Whether no whole bar is cut, or the cut is not shorter than the log. [-] [-] [cm] [cm] [-] -> [-]."""
    whole_log = opposite(exceeds(log_cm, default_to(bar_cut, 0) * cm))
    return all_of(given(bar_cut), blank(bars), log_cm > 0, any_of(whole_log, exceeds(1, bars_in_one)))


_SIZES = dict.fromkeys(name for shape in SHAPES for name in shape.needs if not name.endswith("unit"))
"""Every size that a shape may need."""
_CUT = ("bar_cut", "trim")
"""What says how bars are cut, where they are."""
for _name in (*_SIZES, *_CUT):
    _using = [shape.word for shape in SHAPES if _name in shape.needs or (_name in _CUT and shape.log)]
    MOULDS.rule(
        "value_unused", LOOK, _name, "{mould} has a value in {@header}, which Shape {shape} does not use.",
        "Clear it, or correct Shape.", channel="number_doubt",
    )(handed(
        lambda cell, shape, _using=_using: all_of(
            given(cell), given(shape), opposite(any_of(*(same(shape, word) for word in _using)))
        ),
        (_name, "shape"), f"Whether a mould has a {_name} that its Shape does not use. -> [-]; our own rule.", f"unused_{_name}",
    ))  # fmt: skip


RULES = tuple(MOULDS.rules)
