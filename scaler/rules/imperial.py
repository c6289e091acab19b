"""Pounds and ounces, fluid ounces and °F, where Display units shows them beside the metric figure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scaler.formula.cells import Number, Text, Truth
from scaler.formula.helpers import all_of, divide, larger, opposite, round_down, round_half_up, same, smaller, when
from scaler.formula.steps import Step, StepGroup, described, handed
from scaler.formula.words import figure, joined
from scaler.model.records import PACKAGING

OUNCES = "oz"
"""The Display units that show ounces, fluid ounces, inches and °F beside the metric figure."""
BATCHES = StepGroup("batches", when="makeable")
DOUBTED = StepGroup("batches")
READY = StepGroup("batches", when="ready")
ROWS = StepGroup("batches", when="in_pot")
INGREDIENTS = StepGroup("ingredients")


def pounds(ounces: Number, step: Number, in_a_pound: Number, digits: Number) -> Text:
    """Ounces in words, as pounds and ounces from a pound on. [oz] [oz] [oz/lb] [-] -> [-]."""
    exact = round_half_up(ounces / step) * step
    whole = round_down(exact / in_a_pound)
    rest = joined(figure(exact - whole * in_a_pound, digits), " oz")
    return when(whole > 0, joined(figure(whole, 0), " lb ", rest), rest)


def degrees(celsius: Number, imperial: Truth, per_degree: Number, of_ice: Number) -> Text:
    """A temperature in words, in °F first where ounces are shown. [°C] -> [-]."""
    fahrenheit = joined(figure(celsius * per_degree + of_ice, 0), " °F, ")
    return joined(when(imperial, fahrenheit, ""), figure(celsius, 0), " °C")


def weight(
    grams: Number, display_units: Text, g_per_oz: Number, percent: Number, oz_per_lb: Number, two: Number
) -> Text:
    """A weight in words, grams or pounds and ounces. [g] [-] [g] [-] [oz/lb] [-] -> [-]."""
    ounces = pounds(grams / g_per_oz, divide(1, percent), oz_per_lb, two)
    return when(same(display_units, OUNCES), ounces, joined(figure(grams, 0), " g"))


def _with_grams(grams: Number, values: Any, down: bool = False) -> Text:
    """A weight in pounds and ounces, grams behind it; alkali never up, to a finer step."""
    ounces, two = divide(grams, values["g_per_oz"]), values["two"]
    if down:
        fine = values["ounce_step"]
        said = pounds(round_down(ounces / fine) * fine, fine, values["oz_per_lb"], two + 1)
        return joined(said, ", ", figure(grams, two + 1), " g")
    said = pounds(ounces, divide(1, values["percent"]), values["oz_per_lb"], two)
    return joined(said, ", ", figure(grams, 1), " g")


_WEIGHS = ("display_units", "g_per_oz", "ounce_step", "percent", "oz_per_lb", "two")


def in_ounces(step: str, down: bool = False, metric_digits: int | str | None = None) -> Callable[..., Any]:
    """Return the rule that says a weight of a batch in pounds and ounces where those are shown, else in grams or not at all."""

    def rule(**values: Any) -> Any:
        grams = values[step]
        digits = values[metric_digits] if isinstance(metric_digits, str) else metric_digits  # the name of a constant
        metric = "" if digits is None else joined(figure(grams, digits), " g")
        shown = all_of(same(values["display_units"], OUNCES), opposite(same(grams, 0)))
        sign = when(grams < 0, "-", "")
        return when(shown, joined(sign, _with_grams(larger(grams, 0 - grams), values, down)), metric)

    return described(
        rule, (step, *_WEIGHS), f"{step} in pounds and ounces, where those are shown. [g] [g] [oz] [oz/lb] [-] -> [-]."
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


def counted_or_weighed(step: str, metric_digits: int | None = None) -> Callable[..., Any]:
    """Return the rule that says an amount of a thing of some kind as `in_ounces` does; pieces of packaging as a number."""
    weighed = in_ounces(step, metric_digits=metric_digits)

    def rule(*, kind: Any, **values: Any) -> Any:
        pieces = "" if metric_digits is None else figure(values[step], 0)
        return when(same(kind, PACKAGING), pieces, weighed(**values))

    return described(
        rule,
        ("kind", step, *_WEIGHS),
        f"{step} in words: pieces, grams, or pounds and ounces. [g] [g] [oz] [oz/lb] [-] -> [-].",
    )


for _name, _of in (("liquid", "liquid_g"), ("cured", "bar_cured_g")):
    BATCHES.add(f"{_name}_words", "text", in_ounces(_of))
for _name, _of in (("alkali", "alkali_weigh_g"), ("first_weigh", "first_weigh_g")):
    BATCHES.add(f"{_name}_words", "text", in_ounces(_of, down=True))
for _name, _of in (("lye", "jug_ml"), ("jug", "jug_vessel_ml"), ("pot", "pot_vessel_ml")):
    BATCHES.add(f"{_name}_words", "text", _in_fluid_ounces(_of))
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
    DOUBTED.add(f"{_name}_said", "text", in_ounces(_of, metric_digits=1))
DOUBTED.add("alkali_said", "text", in_ounces("alkali_g", metric_digits="two"))
for _name, _of in (("wanted", "bar_wanted_g"), ("most", "bar_most_g"), ("cured_here", "cured_here_g")):
    ROWS.add(f"{_name}_said", "text", in_ounces(_of, metric_digits=1))
for _name, _of in (("pour", "pour_g"), ("fresh", "bar_fresh_g")):
    ROWS.add(f"{_name}_said", "text", in_ounces(_of, metric_digits=0))
for _name, _of in (("planned", "planned"), ("stock", "stock_held")):
    INGREDIENTS.add(f"{_name}_said", "text", counted_or_weighed(_of, metric_digits=0))

for _name in ("superfat_low", "likely_low"):
    READY.add(
        f"{_name}_said", "%",
        handed(
            lambda low, step: when(low < 0, smaller(low, 0 - step), low), (_name, "superfat_step"),
            f"{_name} as sentences say it: what is below 0 is never said to be 0. [-] [-] -> [-].",
        ),
    )  # fmt: skip


STEPS: tuple[Step, ...] = (*BATCHES.steps, *READY.steps, *DOUBTED.steps, *ROWS.steps, *INGREDIENTS.steps)
