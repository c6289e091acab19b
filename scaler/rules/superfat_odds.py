"""How likely a batch is lye-heavy, in words, and what would help: a finer scale, more superfat, certificates.

Superfat is taken as the sum of one rectangular range, the one that weighs most, and a normal rest: the model of the
table of coverage factors, so that the likely interval touches 0 where the chance is about 1 in 40.
"""

from __future__ import annotations

from functools import cache

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import divide, exceeds, larger, root, round_down, smaller, when
from scaler.formula.searching import at, exponential, pick, product_where, row_below, tag
from scaler.formula.steps import Step, StepGroup, Tables, handed
from scaler.model.records import ACID, OIL
from scaler.model.reference import rows_of

BATCHES = StepGroup("batches")


@cache
def odds() -> tuple[tuple[float, str], ...]:
    """Return the words for a chance, each with the least chance that it stands for.

    >>> odds()[1]
    (0.02, 'about 1 in 40')
    """
    return tuple((float(row["least"]), row["words"]) for row in rows_of("odds.csv"))


def start(tables: Tables) -> None:
    """Begin the table of words for a chance."""
    tables.start_rows("odds", ("least", "words"), odds())


# --- the chance ---


@BATCHES.step("%")
def combined_at_none(combined: Number, superfat_mid: Number) -> Number:
    """Combined standard uncertainty where superfat is 0: an oil's SAP weighs a little more there. [-] [-] -> [-]."""
    return combined * (1 + superfat_mid)


@BATCHES.step("%")
def range_half(dominance: Number, combined_at_none: Number, rectangular: Number) -> Number:
    """Half-width of the range that weighs most. [-] [-] [-] -> [-]; GUM 4.3.7, a rectangular range."""
    return dominance * combined_at_none / rectangular


@BATCHES.step("%")
def rest(dominance: Number, combined_at_none: Number, rest_least: Number) -> Number:
    """Standard uncertainty of everything else, kept a little above 0. [-] [-] [-] -> [-]; GUM 5.1.2."""
    return combined_at_none * root(larger(1 - dominance * dominance, rest_least))


@BATCHES.step("")
def from_top(superfat_mid: Number, range_half: Number, rest: Number) -> Number:
    """From the top of the range to 0, in standard uncertainties of the rest. [-] x 3 -> [-]."""
    return when(rest > 0, divide(range_half - superfat_mid, rest), 0)


@BATCHES.step("")
def from_foot(superfat_mid: Number, range_half: Number, rest: Number) -> Number:
    """From the foot of the range to 0, in standard uncertainties of the rest. [-] x 3 -> [-]."""
    return when(rest > 0, divide(0 - range_half - superfat_mid, rest), 0)


def normal_ramp(
    z: Number, bell: Number, bell_slope: Number, bell_cube: Number, bell_end: Number, two: Number
) -> Number:
    """Return the integral of the normal distribution's share up to z; the share by a logistic curve (Page 1977).

    >>> normal_ramp(0.0, 0.398942, 1.5976, 0.070565, 8.0, 2.0), round(normal_ramp(1.0, 0.398942, 1.5976, 0.070565, 8.0, 2.0), 3)
    (0.398942, 1.083)
    """
    x = smaller(larger(z, 0 - z), bell_end)
    tail = divide(x, 1 + exponential(x * (bell_slope + bell_cube * x * x)))
    return larger(z, 0) + bell * exponential(0 - x * x / two) - tail


for _end in ("top", "foot"):
    _reads = (f"from_{_end}", "bell", "bell_slope", "bell_cube", "bell_end", "two")
    _says = f"Integral of the normal distribution's share up to the {_end} of the range. [-] -> [-]; Page 1977."
    BATCHES.add(f"{_end}_ramp", "", handed(normal_ramp, _reads, _says))


@BATCHES.step("%")
def heavy_chance(
    superfat_mid: Number, combined: Number, range_half: Number, rest: Number, top_ramp: Number, foot_ramp: Number,
    two: Number,
) -> Number:  # fmt: skip
    """Chance that superfat is below 0: one rectangular range and a normal rest, errors independent. [-] x 6 -> [-]."""
    share = divide(rest * (top_ramp - foot_ramp), two * range_half)
    return when(combined > 0, smaller(larger(share, 0), 1), when(exceeds(0, superfat_mid), 1, 0))


@BATCHES.step("text")
def heavy_odds(heavy_chance: Number, odds_least: Column, odds_words: Column) -> Text:
    """The chance in words. -> [-]; our own rule."""
    return at(odds_words, row_below(heavy_chance, odds_least))


# --- what would help ---


@BATCHES.step("%")
def superfat_sure(
    superfat_mid: Number, likely_low: Number, recipe_at: Number, recipes_superfat: Column, superfat_step: Number
) -> Number:
    """Smallest superfat whose likely interval is not below 0, up to 0.1 %. [-] x 3 -> [-]; the alkali cut in proportion."""
    left = (1 - superfat_mid + likely_low) * (1 - pick(recipes_superfat, recipe_at))
    kept = when(superfat_mid < 1, divide(left, 1 - superfat_mid), 0)
    return (0 - round_down((kept - 1) / superfat_step)) * superfat_step


@BATCHES.step("g")
def oils_need_low(
    place: Number, batch_lines_part_key: Column, batch_lines_g: Column, batch_lines_koh_low: Column
) -> Number:
    """KOH that the oils need with every SAP at its low end, weighed exactly. [g] [g/g] -> [g]."""
    return product_where(batch_lines_part_key, tag(place, OIL), batch_lines_g, batch_lines_koh_low)


@BATCHES.step("%")
def superfat_fine(
    place: Number, oils_g: Number, recipe_at: Number, oils_need_low: Number, recipes_koh_high_part: Column,
    batch_lines_part_key: Column, batch_lines_g: Column, batch_lines_koh_low: Column,
) -> Number:  # fmt: skip
    """Lowest superfat of a scale that never errs. [g] x 3 [g/g] x 2 -> [-]; below 0 in spite of it, no scale will help."""
    acids = product_where(batch_lines_part_key, tag(place, ACID), batch_lines_g, batch_lines_koh_low)
    return 1 - divide(oils_g * pick(recipes_koh_high_part, recipe_at) - acids, oils_need_low)


@BATCHES.step("%")
def likely_fine(
    place: Number, superfat_mid: Number, combined: Number, coverage_in_use: Number, batch_lines_batch_at: Column,
    batch_lines_weighing_effect: Column,
) -> Number:  # fmt: skip
    """Low end of the likely superfat of a scale that never errs. [-] x 5 -> [-]; GUM 6.2.1."""
    weighing = product_where(batch_lines_batch_at, place, batch_lines_weighing_effect, batch_lines_weighing_effect)
    return superfat_mid - coverage_in_use * root(larger(combined * combined - weighing, 0))


@BATCHES.step("%")
def superfat_leaning(superfat_mid: Number, oils_need_mid: Number, oils_need_low: Number) -> Number:
    """Superfat if the SAP of every oil is at its low end at once, all else in the middle. [-] [g] [g] -> [-]."""
    return 1 - divide((1 - superfat_mid) * oils_need_mid, oils_need_low)


STEPS: tuple[Step, ...] = tuple(BATCHES.steps)
