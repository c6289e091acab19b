"""How sure the superfat is: worst cases, the interval it likely lies in, the odds of lye left over, and what it hangs on."""

from __future__ import annotations

from functools import cache

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import any_of, divide, exceeds, larger, root, round_down, same, smaller, when
from scaler.formula.searching import at, exponential, match, pick, product_where, row_below, tag
from scaler.formula.steps import Rule, Step, StepGroup, Tables, handed
from scaler.formula.sums import largest_where, nth_largest_where, total_of_both, total_of_named, total_where
from scaler.model.records import ACID, ALKALI, BLEND, OIL
from scaler.model.reference import rows_of
from scaler.rules.interpolation import between, known_row
from scaler.rules.plain import picked

WORST = StepGroup("batches")
LINES = StepGroup("batch_lines")
RANKED = StepGroup("batch_lines", closed=0)
LIKELY = StepGroup("batches")
HANGS_ON = StepGroup("hangs_on")


def _sum(place: Number, role: str, keys: Column, values: Column) -> Number:
    return total_where(keys, tag(place, role), values)


# --- worst and best ---


@WORST.step("%")
def superfat_low(
    place: Number, batch_lines_part_key: Column, batch_lines_koh_most: Column, batch_lines_koh_least: Column,
    two: Number,
) -> Number:  # fmt: skip
    """Lowest superfat: most alkali on the least need. [g] [g] [-] -> [-]; every range at its worst end at once, -100 % where no need is sure."""
    alkali = _sum(place, ALKALI, batch_lines_part_key, batch_lines_koh_most)
    left = alkali - _sum(place, ACID, batch_lines_part_key, batch_lines_koh_least)
    need = _sum(place, OIL, batch_lines_part_key, batch_lines_koh_least)
    return 1 - when(need > 0, divide(left, need), two)


@WORST.step("%")
def superfat_high(
    place: Number, batch_lines_part_key: Column, batch_lines_koh_most: Column, batch_lines_koh_least: Column
) -> Number:
    """Highest superfat: least alkali on the most need. [g] [g] -> [-]; every range at its worst end at once."""
    alkali = _sum(place, ALKALI, batch_lines_part_key, batch_lines_koh_least)
    left = alkali - _sum(place, ACID, batch_lines_part_key, batch_lines_koh_most)
    return 1 - divide(left, _sum(place, OIL, batch_lines_part_key, batch_lines_koh_most))


def _koh_weighed(role: str) -> Rule:
    """Return the rule that adds up the KOH that the weights on the card stand for, of one role in the batch."""
    reads = ("place", "batch_lines_part_key", "batch_lines_weigh_g", "batch_lines_koh_use")
    says = "KOH that the weights on the card stand for. [g] [g/g] -> [g]."
    return handed(lambda place, keys, grams, koh: product_where(keys, tag(place, role), grams, koh), reads, says)


for _role in (ALKALI, ACID, OIL):
    WORST.add(f"{_role}_weighed", "g", _koh_weighed(_role))


@WORST.step("%")
def superfat_weighed(alkali_weighed: Number, acid_weighed: Number, oil_weighed: Number, two: Number) -> Number:
    """Superfat that the weights on the card really give. [g] x 3 [-] -> [-]; weights to the scale division, -100 % where no oil is weighed."""
    return 1 - when(oil_weighed > 0, divide(alkali_weighed - acid_weighed, oil_weighed), two)


# --- the likely interval ---


def _koh_mid(role: str) -> Rule:
    """Return the rule that adds up the KOH that the weights stand for in the middle of their ranges, of one role in the batch."""
    reads = (
        "place", "batch_lines_part_key", "batch_lines_g", "batch_lines_ingredient_at", "ingredients_place", "ingredients_koh_mid",
    )  # fmt: skip
    says = "KOH that the batch's weights stand for in the middle of their ranges. [g] [g/g] -> [g]."
    return handed(lambda place, keys, *read: total_of_named(keys, tag(place, role), *read), reads, says)


for _role, _name in ((ALKALI, "alkali_mid"), (ACID, "acid_mid"), (OIL, "oils_need_mid")):
    LIKELY.add(_name, "g", _koh_mid(_role))


@LIKELY.step("%")
def superfat_mid(alkali_mid: Number, acid_mid: Number, oils_need_mid: Number) -> Number:
    """Superfat with everything in the middle of its range. [g] x 3 -> [-]."""
    return 1 - divide(alkali_mid - acid_mid, oils_need_mid)


@LINES.step("1/g")
def leverage(kind: Text, batch_at: Number, batches_oils_need_mid: Column, batches_superfat_mid: Column) -> Number:
    """Change of superfat for 1 g of KOH more: of an oil's need, or of alkali and acids. [g] [-] -> [1/g]."""
    share = when(any_of(same(kind, OIL), same(kind, BLEND)), 1 - at(batches_superfat_mid, batch_at), 1)
    return divide(share, at(batches_oils_need_mid, batch_at))


@LINES.step("g")
def same_thing_g(
    batch_at: Number, ingredient_at: Number, batch_lines_batch_at: Column, batch_lines_ingredient_at: Column,
    batch_lines_g: Column,
) -> Number:  # fmt: skip
    """Weight of this thing over all its lines of the batch: one bottle. [g] -> [g]."""
    return total_of_both(batch_lines_batch_at, batch_at, batch_lines_ingredient_at, ingredient_at, batch_lines_g)


@LINES.step("%")
def range_effect(
    same_thing_g: Number, koh_low: Number, ingredient_at: Number, leverage: Number, rectangular: Number, two: Number,
    ingredients_koh_likely: Column,
) -> Number:  # fmt: skip
    """Standard uncertainty of superfat from the thing's SAP or purity. -> [-]; GUM 5.1.2, a rectangular range (4.3.7)."""
    return same_thing_g * (pick(ingredients_koh_likely, ingredient_at) - koh_low) * leverage / two * rectangular


@LINES.step("%")
def weighing_effect(
    card_g: Number, division_g: Number, ingredient_at: Number, line_at: Number, leverage: Number, rectangular: Number,
    two: Number, ingredients_koh_mid: Column, lines_blend_koh: Column,
) -> Number:  # fmt: skip
    """Standard uncertainty of superfat from weighing the row, a blend at once. -> [-]; GUM 5.1.2, half a division either way."""
    koh = pick(ingredients_koh_mid, ingredient_at, pick(lines_blend_koh, line_at))
    return when(card_g > 0, division_g / two * rectangular * koh * leverage, 0)


@LINES.step("")
def variance(range_effect: Number, weighing_effect: Number, g: Number, same_thing_g: Number) -> Number:
    """Both effects squared; a thing on several lines counts once. -> [-]; GUM 5.1.2."""
    of_thing = when(same_thing_g > 0, divide(g, same_thing_g), 0)
    return range_effect * range_effect * of_thing + weighing_effect * weighing_effect


@RANKED.step("%")
def largest_effect(range_effect: Number, weighing_effect: Number) -> Number:
    """The larger of the two effects. -> [-]."""
    return larger(range_effect, weighing_effect)


@LIKELY.step("%")
def combined(place: Number, batch_lines_batch_at: Column, batch_lines_variance: Column) -> Number:
    """Combined standard uncertainty of superfat: root sum of squares. -> [-]; GUM 5.1.2."""
    return root(total_where(batch_lines_batch_at, place, batch_lines_variance))


@LIKELY.step("")
def dominance(
    place: Number, combined: Number, batch_lines_batch_at: Column, batch_lines_largest_effect: Column
) -> Number:
    """Largest single effect of the combined one. [-] [-] -> [-]."""
    largest = largest_where(batch_lines_batch_at, place, batch_lines_largest_effect)
    return when(combined > 0, smaller(divide(largest, combined), 1), 0)


@LIKELY.step("")
def coverage_in_use(
    dominance: Number, coverage_row: Number, coverage_dominance: Column, coverage_factor: Column
) -> Number:
    """Factor for about 95 %: 1.960 when nothing dominates, 1.645 when one range is everything. -> [-]; coverage table."""
    return between(dominance, coverage_row, coverage_dominance, coverage_factor)


LIKELY.add("coverage_row", "", known_row("dominance", "coverage_dominance", "coverage_rows_but_one",
    "Row of the coverage table at or below this dominance."))  # fmt: skip


@LIKELY.step("%")
def likely_low(superfat_mid: Number, coverage_in_use: Number, combined: Number) -> Number:
    """Low end of the likely superfat. [-] [-] [-] -> [-]; GUM 6.2.1."""
    return superfat_mid - coverage_in_use * combined


@LIKELY.step("%")
def likely_high(superfat_mid: Number, coverage_in_use: Number, combined: Number) -> Number:
    """High end of the likely superfat. [-] [-] [-] -> [-]; GUM 6.2.1."""
    return superfat_mid + coverage_in_use * combined


# --- table hangs_on: for each batch the things its superfat hangs on most ---


@HANGS_ON.step("")
def part(batch_at: Number, order: Number, batch_lines_batch_at: Column, batch_lines_ranked_share: Column) -> Number:
    """The share that comes at this place of the ranking. -> [-]."""
    return nth_largest_where(batch_lines_batch_at, batch_at, batch_lines_ranked_share, order)


@RANKED.step("")
def ranked_share(
    variance: Number, batch_at: Number, place: Number, tie_breaker: Number, batches_combined: Column
) -> Number:
    """Its share of the doubt: of the variance; equals are told apart by their place. -> [-]."""
    combined = pick(batches_combined, batch_at)
    return when(combined > 0, divide(variance, combined * combined), 0) * (1 - place * tie_breaker)


@HANGS_ON.step("")
def ranked_at(part: Number, batch_lines_ranked_share: Column) -> Number:
    """Row of the thing at this place of the ranking, 0 for none. -> [-]."""
    return when(part > 0, match(part, batch_lines_ranked_share), 0)


HANGS_ON.add("thing", "text", picked("ranked_at", "batch_lines_ingredient", "The thing at this place of the ranking.", ""))  # fmt: skip


@HANGS_ON.step("%")
def share(ranked_at: Number, batch_at: Number, batch_lines_variance: Column, batches_combined: Column) -> Number:
    """Its share of the doubt: of the variance. [-] [-] -> [-]."""
    combined = pick(batches_combined, batch_at)
    return when(combined > 0, divide(pick(batch_lines_variance, ranked_at), combined * combined), 0)


ODDS = StepGroup("batches")


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


@ODDS.step("%")
def combined_at_none(combined: Number, superfat_mid: Number) -> Number:
    """Combined standard uncertainty where superfat is 0: an oil's SAP weighs a little more there. [-] [-] -> [-]."""
    return combined * (1 + superfat_mid)


@ODDS.step("%")
def range_half(dominance: Number, combined_at_none: Number, rectangular: Number) -> Number:
    """Half-width of the range that weighs most. [-] [-] [-] -> [-]; GUM 4.3.7, a rectangular range."""
    return dominance * combined_at_none / rectangular


@ODDS.step("%")
def rest(dominance: Number, combined_at_none: Number, rest_least: Number) -> Number:
    """Standard uncertainty of everything else, kept a little above 0. [-] [-] [-] -> [-]; GUM 5.1.2."""
    return combined_at_none * root(larger(1 - dominance * dominance, rest_least))


@ODDS.step("")
def from_top(superfat_mid: Number, range_half: Number, rest: Number) -> Number:
    """From the top of the range to 0, in standard uncertainties of the rest. [-] x 3 -> [-]."""
    return when(rest > 0, divide(range_half - superfat_mid, rest), 0)


@ODDS.step("")
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
    ODDS.add(f"{_end}_ramp", "", handed(normal_ramp, _reads, _says))


@ODDS.step("%")
def heavy_chance(
    superfat_mid: Number, combined: Number, range_half: Number, rest: Number, top_ramp: Number, foot_ramp: Number,
    two: Number,
) -> Number:  # fmt: skip
    """Chance that superfat is below 0: one rectangular range and a normal rest, errors independent. [-] x 6 -> [-]."""
    share = divide(rest * (top_ramp - foot_ramp), two * range_half)
    return when(combined > 0, smaller(larger(share, 0), 1), when(exceeds(0, superfat_mid), 1, 0))


@ODDS.step("text")
def heavy_odds(heavy_chance: Number, odds_least: Column, odds_words: Column) -> Text:
    """The chance in words. -> [-]; our own rule."""
    return at(odds_words, row_below(heavy_chance, odds_least))


# --- what would help ---


@ODDS.step("%")
def superfat_sure(
    superfat_mid: Number, likely_low: Number, recipe_at: Number, recipes_superfat: Column, superfat_step: Number
) -> Number:
    """Smallest superfat whose likely interval is not below 0, up to 0.1 %. [-] x 3 -> [-]; the alkali cut in proportion."""
    left = (1 - superfat_mid + likely_low) * (1 - pick(recipes_superfat, recipe_at))
    kept = when(superfat_mid < 1, divide(left, 1 - superfat_mid), 0)
    return (0 - round_down((kept - 1) / superfat_step)) * superfat_step


@ODDS.step("g")
def oils_need_low(
    place: Number, batch_lines_part_key: Column, batch_lines_g: Column, batch_lines_koh_low: Column
) -> Number:
    """KOH that the oils need with every SAP at its low end, weighed exactly. [g] [g/g] -> [g]."""
    return product_where(batch_lines_part_key, tag(place, OIL), batch_lines_g, batch_lines_koh_low)


@ODDS.step("%")
def superfat_fine(
    place: Number, oils_g: Number, recipe_at: Number, oils_need_low: Number, recipes_koh_high_part: Column,
    batch_lines_part_key: Column, batch_lines_g: Column, batch_lines_koh_low: Column,
) -> Number:  # fmt: skip
    """Lowest superfat of a scale that never errs. [g] x 3 [g/g] x 2 -> [-]; below 0 in spite of it, no scale will help."""
    acids = product_where(batch_lines_part_key, tag(place, ACID), batch_lines_g, batch_lines_koh_low)
    return 1 - divide(oils_g * pick(recipes_koh_high_part, recipe_at) - acids, oils_need_low)


@ODDS.step("%")
def likely_fine(
    place: Number, superfat_mid: Number, combined: Number, coverage_in_use: Number, batch_lines_batch_at: Column,
    batch_lines_weighing_effect: Column,
) -> Number:  # fmt: skip
    """Low end of the likely superfat of a scale that never errs. [-] x 5 -> [-]; GUM 6.2.1."""
    weighing = product_where(batch_lines_batch_at, place, batch_lines_weighing_effect, batch_lines_weighing_effect)
    return superfat_mid - coverage_in_use * root(larger(combined * combined - weighing, 0))


@ODDS.step("%")
def superfat_leaning(superfat_mid: Number, oils_need_mid: Number, oils_need_low: Number) -> Number:
    """Superfat if the SAP of every oil is at its low end at once, all else in the middle. [-] [g] [g] -> [-]."""
    return 1 - divide((1 - superfat_mid) * oils_need_mid, oils_need_low)


STEPS: tuple[Step, ...] = (*WORST.steps, *LINES.steps, *RANKED.steps, *LIKELY.steps, *HANGS_ON.steps, *ODDS.steps)
