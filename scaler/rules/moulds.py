"""Moulds: the volume to the fill line, and the bars in it."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from functools import reduce
from operator import add

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, blank, default_to, divide, given, round_down, same, when
from scaler.formula.searching import match, pick, translated
from scaler.formula.steps import Rule, Step, StepGroup, described, handed
from scaler.model.shapes import SHAPES, Shape
from scaler.rules.plain import usual

MOULDS = StepGroup("moulds")


@MOULDS.step("cm")
def cm(unit: Text, units_word: Column, units_length: Column) -> Number:
    """One of the row's Unit. -> [cm]; sheet Units."""
    return translated(unit, units_word, units_length, 0)


@MOULDS.step("cm")
def liner_cm(liner: Number, cm: Number) -> Number:
    """Thickness of the liner. [-] [cm] -> [cm]."""
    return default_to(liner, 0) * cm


def _between_walls(size: Number, cm: Number, liner_cm: Number, walls: Number) -> Number:
    return default_to(size, 0) * cm - walls * liner_cm


def _above_bottom(size: Number, cm: Number, liner_cm: Number) -> Number:
    return default_to(size, 0) * cm - liner_cm


for _name, _of, _says in (
    ("length", "length", "Length between two lined walls."),
    ("width", "width", "Width between two lined walls."),
    ("depth", "depth", "Depth above a lined bottom."),
    ("top_length", "top_length", "Length at the top between two lined walls."),
    ("top_width", "top_width", "Width at the top between two lined walls."),
    ("diameter", "diameter", "Diameter between two lined walls."),
    ("height", "length", "Height of a standing tube above its lined bottom."),
):
    if "walls" in _says:
        _rule = handed(_between_walls, (_of, "cm", "liner_cm", "walls"), f"{_says} [-] [cm] [cm] [-] -> [cm].")
    else:
        _rule = handed(_above_bottom, (_of, "cm", "liner_cm"), f"{_says} [-] [cm] [cm] -> [cm].")
    MOULDS.add(f"inside_{_name}", "cm", _rule)


MOULDS.add("filled", "%", usual("fill", 1, "Share of the depth that is filled, 100 % where it is blank."))


@MOULDS.step("mL")
def capacity_ml(
    capacity: Number, capacity_unit: Text, units_word: Column, units_volume: Column, units_weight: Column,
    water_g_per_ml: Number,
) -> Number:  # fmt: skip
    """Capacity by water fill, a weight through water's 1 g/mL. [-] [g/mL] -> [mL]; sheet Units."""
    place = match(default_to(capacity_unit, ""), units_word)
    return default_to(capacity, 0) * (pick(units_volume, place) + pick(units_weight, place) / water_g_per_ml)


@MOULDS.step("")
def cavity_count(shape: Text, cavities: Number) -> Number:
    """Number of cavities of a tray, 0 for any other shape. -> [-]."""
    return when(same(shape, "cavities"), default_to(cavities, 0), 0)


def _for_shape(shape: Shape, rule: Rule) -> Rule:
    """Return the rule as a column that is 0 for moulds of any other shape."""
    reads = ("shape", *inspect.signature(rule).parameters)
    says = inspect.getdoc(rule) or ""
    return handed(lambda word, *sizes: when(same(word, shape.word), rule(*sizes), 0), reads, says)


def _shape_steps() -> Iterator[Step]:
    """Yield volume and log of each shape, then the sums of each, of which all but one are 0, and the depth."""
    volumes = {f"{shape.name}_ml": _for_shape(shape, shape.volume) for shape in SHAPES}
    logs = {f"{shape.name}_log": _for_shape(shape, shape.log) for shape in SHAPES if shape.log}
    for rules, unit in ((volumes, "mL"), (logs, "cm")):
        yield from (Step("moulds", name, unit, rule) for name, rule in rules.items())
    for name, rules, unit, says in (
        ("fill_ml", volumes, "mL", "Volume to the fill line. -> [mL]."),
        ("log_cm", logs, "cm", "Length that bars are cut from. -> [cm]."),
    ):
        yield Step("moulds", name, unit, handed(lambda *parts: reduce(add, parts), tuple(rules), says))
    yield Step("moulds", "fill_cm", "cm", _depth_of_shape())


def _depth_of_shape() -> Rule:
    """Return the rule for the depth of a mould to its fill line, 0 where its shape has none."""
    deep = [
        (shape.word, shape.depth, tuple(inspect.signature(shape.depth).parameters)) for shape in SHAPES if shape.depth
    ]
    sizes = tuple(dict.fromkeys(name for *_, reads in deep for name in reads))

    def rule(**held: Number) -> Number:
        parts = (
            when(same(held["shape"], word), depth(*(held[name] for name in reads)), 0) for word, depth, reads in deep
        )
        return held["filled"] * reduce(add, parts)

    return described(
        rule, ("shape", "filled", *sizes), "Depth to the fill line, 0 for a shape without one. [-] [cm] -> [cm]."
    )


BARS = StepGroup("moulds")


@BARS.step("cm")
def log_left_cm(log_cm: Number, trim: Number, cm: Number) -> Number:
    """Length of the log without what is trimmed off. [cm] [-] [cm] -> [cm]."""
    return log_cm - default_to(trim, 0) * cm


@BARS.step("")
def bars_cut(log_left_cm: Number, bar_cut: Number, cm: Number) -> Number:
    """Whole bars cut from the trimmed log, 0 where no Bar cut is given. [cm] [-] [cm] -> [-]."""
    return when(all_of(given(bar_cut), cm > 0), round_down(divide(log_left_cm, default_to(bar_cut, 0) * cm)), 0)


@BARS.step("")
def own_cut(bar_cut: Number, bars: Number, log_cm: Number) -> Number:
    """Bar cut where bars are cut by it, else 0. [-] [cm] -> [-]."""
    return when(all_of(blank(bars), log_cm > 0), default_to(bar_cut, 0), 0)


@BARS.step("")
def bars_in_one(bars: Number, cavity_count: Number, bars_cut: Number) -> Number:
    """Bars from one mould: Bars, else Cavities, else bars cut. -> [-]."""
    return default_to(bars, when(cavity_count > 0, cavity_count, bars_cut))


@BARS.step("%")
def bar_share(bars: Number, bar_cut: Number, cm: Number, log_cm: Number, bars_in_one: Number) -> Number:
    """Share of the mould's batter that is in one bar: its cut of the log, else an equal share. [-] -> [-]."""
    equal = when(bars_in_one > 0, divide(1, bars_in_one), 0)
    return when(
        any_of(given(bars), same(log_cm, 0)),
        equal,
        when(given(bar_cut), divide(default_to(bar_cut, 0) * cm, log_cm), 0),
    )


STEPS: tuple[Step, ...] = (*MOULDS.steps, *_shape_steps(), *BARS.steps)
