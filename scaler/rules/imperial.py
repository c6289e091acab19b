"""Pounds and ounces, fluid ounces and °F, where Display units shows them beside the metric figure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scaler.formula.helpers import Number, Text, Truth, divide, figure, joined, round_down, round_half_up, same, when
from scaler.formula.steps import Step, StepGroup, described

OUNCES = "oz"
"""The Display units that show ounces, fluid ounces, inches and °F beside the metric figure."""
BATCHES = StepGroup("batches", when="makeable")


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


def _in_ounces(step: str, down: bool = False) -> Callable[..., Any]:
    """Return the rule that says a weight of a batch in pounds and ounces, never up where it is alkali."""

    def rule(**values: Any) -> Any:
        ounces, step_oz = divide(values[step], values["display_g"]), values["ounce_step"]
        safe = round_down(ounces / step_oz) * step_oz if down else ounces
        grams = joined(", ", figure(values[step], values["two"] + 1 if down else 1), " g")
        words = joined(pounds(safe, step_oz, values["oz_per_lb"], values["two"]), grams)
        return when(same(values["display_units"], OUNCES), words, "")

    reads = (step, "display_units", "display_g", "ounce_step", "oz_per_lb", "two")
    return described(
        rule, reads, f"{step} in pounds and ounces, where those are shown. [g] [g] [oz] [oz/lb] [-] -> [-]."
    )


def _in_fluid_ounces(step: str) -> Callable[..., Any]:
    """Return the rule that says a volume in fluid ounces, litres beside."""

    def rule(**values: Any) -> Any:
        ml = values[step]
        ounces = joined(figure(ml / values["ml_per_fl_oz"], 0), " fl oz, ", figure(ml / values["ml_per_l"], 1), " L")
        return when(same(values["display_units"], OUNCES), ounces, "")

    reads = (step, "display_units", "ml_per_fl_oz", "ml_per_l")
    return described(rule, reads, f"{step} in fluid ounces and litres, where those are shown. [mL] [mL] [mL/L] -> [-].")


def _in_fahrenheit(step: str) -> Callable[..., Any]:
    """Return the rule that says a temperature in °F, °C beside."""

    def rule(**values: Any) -> Any:
        imperial = same(values["display_units"], OUNCES)
        scale = values["fahrenheit_per_degree"], values["fahrenheit_of_ice"]
        return when(imperial, degrees(values[step], imperial, *scale), "")

    reads = (step, "display_units", "fahrenheit_per_degree", "fahrenheit_of_ice")
    return described(rule, reads, f"{step} in °F and °C, where those are shown. [°C] [-] [°F] -> [-].")


for _name, _of in (("liquid", "liquid_g"), ("cured", "bar_cured_g")):
    BATCHES.add(f"{_name}_words", "text", _in_ounces(_of))
BATCHES.add("alkali_words", "text", _in_ounces("alkali_weigh_g", down=True))
for _name, _of in (("lye", "jug_ml"), ("jug", "jug_vessel_ml"), ("pot", "pot_vessel_ml")):
    BATCHES.add(f"{_name}_words", "text", _in_fluid_ounces(_of))
for _name, _of in (("hottest", "hottest"), ("cold", "hottest_cold"), ("ice", "hottest_ice")):
    BATCHES.add(f"{_name}_words", "text", _in_fahrenheit(_of))

STEPS: tuple[Step, ...] = (*BATCHES.steps,)
