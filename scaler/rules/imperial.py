"""Pounds and ounces, fluid ounces and °F, where Display units shows them beside the metric figure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scaler.formula.cells import Number, Text, Truth
from scaler.formula.helpers import (
    all_of,
    figure,
    joined,
    opposite,
    remainder,
    round_down,
    round_half_up,
    same,
    size_of,
    smaller,
    when,
)
from scaler.formula.steps import Step, StepGroup, described, handed
from scaler.model.records import PACKAGING

OUNCES = "oz"
"""The Display units that show ounces, fluid ounces, inches and °F beside the metric figure."""
BATCHES = StepGroup("batches", when="makeable")
DOUBTED = StepGroup("batches")
READY = StepGroup("batches", when="ready")
ROWS = StepGroup("batches", when="in_pot")
INGREDIENTS = StepGroup("ingredients")


def pounds(parts: Number, in_a_pound: Number, in_an_ounce: Number) -> Text:
    """A weight in words, as pounds and ounces from a pound on, from a whole number of parts of an ounce. [-] x 3 -> [-]."""
    whole = when(parts < in_a_pound, "", joined(round_down(parts / in_a_pound), " lb "))
    return joined(whole, remainder(parts, in_a_pound) / in_an_ounce, " oz")


def ounce_parts(grams: Number, g_per_oz: Number, percent: Number) -> Number:
    """Hundredths of an ounce in a weight, whatever its sign. [g] [g] [-] -> [-]."""
    return round_half_up(size_of(grams) / g_per_oz * percent)


def full_ounce_parts(grams: Number, g_per_oz: Number, ounce_step: Number) -> Number:
    """Steps of an ounce that are full in a weight of alkali, which is never rounded up. [g] [g] [-] -> [-]."""
    return round_down(size_of(grams) / g_per_oz / ounce_step)


def full_grams(grams: Number, percent: Number) -> Number:
    """Grams of alkali to 0.01 g, which are never rounded up. [g] [-] -> [g]."""
    return round_down(grams * percent) / percent


def with_grams(grams: Number, parts: Number, in_a_pound: Number, in_an_ounce: Number, digits: Number) -> Text:
    """A weight in pounds and ounces, grams behind it. [g] [-] x 4 -> [-]."""
    said = pounds(parts, in_a_pound, in_an_ounce)
    return joined(when(grams < 0, "-", ""), said, ", ", figure(size_of(grams), digits), " g")


def degrees(celsius: Number, imperial: Truth, per_degree: Number, of_ice: Number) -> Text:
    """A temperature in words, in °F first where ounces are shown. [°C] -> [-]."""
    fahrenheit = joined(figure(celsius * per_degree + of_ice, 0), " °F, ")
    return joined(when(imperial, fahrenheit, ""), figure(celsius, 0), " °C")


def say_weight(
    group: StepGroup, name: str, of: str, metric: int | str | None = None, down: bool = False, counted: bool = False
) -> None:
    """Add the steps that say a weight in pounds and ounces where those are shown, else in grams or not at all.

    Args:
        group: the steps they join.
        name: what the words are called; the parts of an ounce that they are made of end in `_parts`.
        of: the weight.
        metric: digits of the grams where no ounces are shown, or the name of the constant; None: nothing is said.
        down: whether it is alkali.
        counted: whether it may be of packaging, whose pieces are said as a number.
    """
    step, part = ("ounce_step", full_ounce_parts) if down else ("percent", ounce_parts)
    says = f"Parts of an ounce in {of}. [g] [g] [-] -> [-]."
    group.add(f"{name}_parts", "", handed(part, (of, "g_per_oz", step), says))
    if down:
        group.add(
            f"{name}_grams", "g", handed(full_grams, (of, "percent"), f"{of} to 0.01 g, never up. [g] [-] -> [g].")
        )

    def rule(**values: Any) -> Text:
        grams, in_a_pound, in_an_ounce, digits = values[of], values["oz_per_lb"], values[step], 1
        if down:
            in_an_ounce, digits = 1 / in_an_ounce, values["two"]
        shown = all_of(same(values["display_units"], OUNCES), opposite(same(grams, 0)))
        pieces = same(values["kind"], PACKAGING) if counted else False
        beside = values[f"{name}_grams"] if down else grams
        said = with_grams(beside, values[f"{name}_parts"], in_a_pound * in_an_ounce, in_an_ounce, digits)
        if counted:
            shown = all_of(same(values["display_units"], OUNCES), opposite(same(grams, 0)), opposite(pieces))
        if metric is None:
            return when(shown, said, "")
        plain = figure(grams, values[metric] if isinstance(metric, str) else metric)
        if counted:
            return when(shown, said, joined(plain, when(pieces, "", " g")))
        return when(shown, said, joined(plain, " g"))

    reads = (of, f"{name}_parts", "display_units", "oz_per_lb", step, *(("two", f"{name}_grams") if down else ()))
    reads += (("kind",) if counted else ()) + ((metric,) if isinstance(metric, str) else ())
    group.add(
        name, "text", described(rule, reads, f"{of} in words: pounds and ounces, grams, or pieces. [g] [-] x 4 -> [-].")
    )


def _in_fluid_ounces(step: str, metric: bool = False) -> Callable[..., Any]:
    """Return the rule that says a volume in fluid ounces, litres beside, where those are shown, else in mL or not at all."""

    def rule(**values: Any) -> Any:
        ml = values[step]
        ounces = joined(figure(ml / values["ml_per_fl_oz"], 0), " fl oz, ", figure(ml / values["ml_per_l"], 1), " L")
        return when(same(values["display_units"], OUNCES), ounces, joined(figure(ml, 0), " mL") if metric else "")

    reads = (step, "display_units", "ml_per_fl_oz", "ml_per_l")
    return described(rule, reads, f"{step} in fluid ounces and litres, where those are shown. [mL] [mL] [mL/L] -> [-].")


def _in_fahrenheit(step: str, metric: bool = False) -> Callable[..., Any]:
    """Return the rule that says a temperature in °F, °C beside, where those are shown, else in °C or not at all."""

    def rule(**values: Any) -> Any:
        imperial = same(values["display_units"], OUNCES)
        said = degrees(values[step], imperial, values["fahrenheit_per_degree"], values["fahrenheit_of_ice"])
        return said if metric else when(imperial, said, "")

    reads = (step, "display_units", "fahrenheit_per_degree", "fahrenheit_of_ice")
    return described(rule, reads, f"{step} in °F and °C, where those are shown. [°C] [-] [°F] -> [-].")


for _name, _of in (("liquid", "liquid_g"), ("cured", "bar_cured_g")):
    say_weight(BATCHES, f"{_name}_words", _of)
for _name, _of in (("alkali", "alkali_weigh_g"), ("first_weigh", "first_weigh_g")):
    say_weight(BATCHES, f"{_name}_words", _of, down=True)
BATCHES.add("lye_words", "text", _in_fluid_ounces("jug_ml"))
for _name, _of in (("hottest", "hottest"), ("cold", "hottest_cold"), ("ice", "hottest_ice")):
    BATCHES.add(f"{_name}_words", "text", _in_fahrenheit(_of))

# What the sentences of rules say of a batch, one that is refused too.
for _name, _of in (("batter", "batter_ml"), ("lye", "jug_ml"), ("jug", "jug_vessel_ml"), ("pot", "pot_vessel_ml")):
    DOUBTED.add(f"{_name}_said", "text", _in_fluid_ounces(_of, metric=True))
for _name, _of in (
    ("boils", "boils_at"),
    ("likely", "hottest_likely"),
    ("hottest", "hottest"),
    ("cold", "hottest_cold"),
    ("ice", "hottest_ice"),
):
    DOUBTED.add(f"{_name}_said", "text", _in_fahrenheit(_of, metric=True))
for _name, _of in (("first", "first_g"), ("second", "second_g"), ("oils", "oils_g")):
    say_weight(DOUBTED, f"{_name}_said", _of, metric=1)
say_weight(DOUBTED, "alkali_said", "alkali_g", metric="two")
for _name, _of in (("wanted", "bar_wanted_g"), ("most", "bar_most_g"), ("cured_here", "cured_here_g")):
    say_weight(ROWS, f"{_name}_said", _of, metric=1)
for _name, _of in (("pour", "pour_g"), ("fresh", "bar_fresh_g")):
    say_weight(ROWS, f"{_name}_said", _of, metric=0)
for _name, _of in (("planned", "planned"), ("stock", "stock_held")):
    say_weight(INGREDIENTS, f"{_name}_said", _of, metric=0, counted=True)

for _name in ("superfat_low", "likely_low"):
    READY.add(
        f"{_name}_said", "%",
        handed(
            lambda low, step: when(low < 0, smaller(low, 0 - step), low), (_name, "superfat_step"),
            f"{_name} as sentences say it: what is below 0 is never said to be 0. [-] [-] -> [-].",
        ),
    )  # fmt: skip


STEPS: tuple[Step, ...] = (*BATCHES.steps, *READY.steps, *DOUBTED.steps, *ROWS.steps, *INGREDIENTS.steps)
