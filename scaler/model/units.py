"""The trade's unit words, and how much of the engine's own units each is.

Inside the engine everything is in g, mL, cm, hours and plain fractions. A typed number keeps the word beside it;
the word's factors stand on the finished workbook's sheet Units, so that a changed word changes the result.
User text never reaches pint's own parser: it must be one of these words, each mapped to a pint unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pint

WEIGHT, VOLUME, LENGTH, TIME = "weight", "volume", "length", "time"
RATIO, LIQUID_SHARE = "per weight of oils", "share of liquid"
COUNT, PER_BAR, PER_BATCH = "count", "per bar", "per batch"
TEMPERATURE = "temperature"

_COHERENT = {WEIGHT: "gram", VOLUME: "milliliter", LENGTH: "centimeter", TIME: "hour", LIQUID_SHARE: "gram/gram"}


@dataclass(frozen=True)
class Unit:
    """A unit word as the trade writes it.

    Attributes:
        word: the word on the sheets.
        kind: what it measures: weight, volume, length, time, temperature, per weight of oils, share of liquid, count, per bar, per batch.
        pint: the pint unit it stands for; "" for counts and temperatures.
        also: other spellings that are read as this word.
    """

    word: str
    kind: str
    pint: str = ""
    also: tuple[str, ...] = ()


_PLAIN = (
    Unit("g", WEIGHT, "gram", ("gram", "grams", "gr", "gm", "gms")),
    Unit("kg", WEIGHT, "kilogram", ("kilogram", "kilograms", "kgs", "kilo", "kilos")),
    Unit("oz", WEIGHT, "ounce", ("ounce", "ounces", "oz.")),
    Unit("lb", WEIGHT, "pound", ("pound", "pounds", "lbs", "lb.")),
    Unit("mL", VOLUME, "milliliter", ("millilitre", "milliliter", "millilitres", "milliliters", "cc")),
    Unit("cL", VOLUME, "centiliter", ("centilitre", "centiliter")),
    Unit("L", VOLUME, "liter", ("litre", "liter", "litres", "liters", "ltr")),
    Unit("fl oz", VOLUME, "fluid_ounce", ("fl. oz.", "fl.oz", "floz", "fluid ounce", "fluid ounces", "us fl oz")),
    Unit("pt", VOLUME, "pint", ("us pt", "us pint")),
    Unit("qt", VOLUME, "quart", ("quart", "quarts")),
    Unit("gal", VOLUME, "gallon", ("gallon", "gallons", "us gal")),
    Unit("imp fl oz", VOLUME, "imperial_fluid_ounce", ("imperial fluid ounce", "uk fl oz")),
    Unit("imp pt", VOLUME, "imperial_pint", ("imperial pint", "uk pt")),
    Unit("imp gal", VOLUME, "imperial_gallon", ("imperial gallon", "uk gal")),
    Unit("tsp", VOLUME, "teaspoon", ("teaspoon", "teaspoons")),
    Unit("tbsp", VOLUME, "tablespoon", ("tablespoon", "tablespoons")),
    Unit("cup", VOLUME, "cup", ("cups", "us cup")),
    Unit("mm", LENGTH, "millimeter", ("millimetre", "millimeter", "millimetres", "millimeters")),
    Unit("cm", LENGTH, "centimeter", ("centimetre", "centimeter", "centimetres", "centimeters")),
    Unit("m", LENGTH, "meter", ("metre", "meter", "metres", "meters")),
    Unit("in", LENGTH, "inch", ("inch", "inches", '"', "in.")),
    Unit("ft", LENGTH, "foot", ("foot", "feet")),
    Unit("min", TIME, "minute", ("minute", "minutes")),
    Unit("h", TIME, "hour", ("hour", "hours", "hr", "hrs")),
    Unit("d", TIME, "day", ("day", "days")),
)

FAHRENHEIT = "°F"
_TEMPERATURES = (
    Unit("°C", TEMPERATURE, "", ("c", "celsius", "degc", "deg c", "degrees celsius")),
    Unit(FAHRENHEIT, TEMPERATURE, "", ("f", "fahrenheit", "degf", "deg f", "degrees fahrenheit")),
)
"""Scales, not multiples: the rule that reads a temperature turns °F into °C."""

_COUNTS = (
    Unit("each", COUNT, "", ("piece", "pieces", "pc", "pcs", "unit", "units")),
    Unit("each/bar", PER_BAR, "", ("per bar", "each per bar")),
    Unit("each/batch", PER_BATCH, "", ("per batch", "each per batch")),
)

_MEASURED = {unit.word: unit for unit in _PLAIN}

_PER_OILS = tuple(
    Unit(
        f"{amount}/{oils}", RATIO, f"{_MEASURED[amount].pint}/{_MEASURED[oils].pint}",
        (f"{amount} per {oils}", *((f"{amount} ppo", f"{amount} per pound of oils") if oils == "lb" else ())),
    )
    for oils in ("kg", "lb")
    for amount in ("g", "oz", "mL", "fl oz", "tsp", "tbsp", "cup")
)  # fmt: skip
_RATIOS = (*_PER_OILS, Unit("% of oils", RATIO, "percent", ("% oils", "percent of oils", "% of the oils")))
_OF_LIQUID = Unit("% of liquid", LIQUID_SHARE, "percent", ("% liquid", "percent of liquid", "% of the liquid"))

UNITS = (*_PLAIN, *_TEMPERATURES, *_RATIOS, _OF_LIQUID, *_COUNTS)

_BY_SPELLING = {spelling.casefold(): unit for unit in UNITS for spelling in (unit.word, *unit.also)}


def find(text: str) -> Unit | None:
    """Return the unit that a word stands for, None when it is not one of the trade's words.

    >>> find("ML").word, find("ounces").word, find("stone")
    ('mL', 'oz', None)
    """
    return _BY_SPELLING.get(text.casefold().strip())


def words(*kinds: str) -> tuple[str, ...]:
    """Return the words of these kinds, in the order of the list.

    >>> words("time")
    ('min', 'h', 'd')
    """
    return tuple(unit.word for unit in UNITS if unit.kind in kinds)


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    try:
        return pint.UnitRegistry(cache_folder=":auto:")
    except OSError:  # the home folder may not be ours to write to
        return pint.UnitRegistry()


@cache
def factor(word: str) -> float:
    """Return how many of the engine's own units one of this word is: g, mL, cm, h, g/g or mL/g; 1 for counts and temperatures.

    Pint multiplies its way there in binary, so the factor is taken to the 15 digits that a decimal keeps.

    >>> factor("oz"), factor("in"), factor("each"), round(factor("tsp/lb"), 9)
    (28.349523125, 2.54, 1.0, 0.010866412)
    """
    unit = _BY_SPELLING[word.casefold()]
    if not unit.pint:
        return 1.0
    wanted = _COHERENT.get(unit.kind) or ("gram/gram" if ratio_of_weights(unit) else "milliliter/gram")
    return float(f"{_registry().Quantity(1.0, unit.pint).to(wanted).magnitude:.15g}")


def ratio_of_weights(unit: Unit) -> bool:
    """Return whether a unit per weight of oils has a weight above the line (and not a volume).

    >>> ratio_of_weights(find("g/kg")), ratio_of_weights(find("% of oils")), ratio_of_weights(find("tsp/lb"))
    (True, True, False)
    """
    amount = unit.word.split("/")[0]
    return unit.kind == RATIO and (amount not in _MEASURED or _MEASURED[amount].kind == WEIGHT)
