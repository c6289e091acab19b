"""How sure the superfat is: the worst cases either way, and the interval it most likely lies in.

A saponification value is a range, flakes are purer or less pure than stated, a scale has a division.
"""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    divide,
    larger,
    largest_where,
    pick,
    root,
    row_below,
    smaller,
    total_where,
    when,
)
from scaler.formula.steps import Step, StepGroup
from scaler.rules.recipes import between

EXTREMES = StepGroup("slots")
BATCH_EXTREMES = StepGroup("batches")
SPREADS = StepGroup("slots")
LIKELY = StepGroup("batches")


@EXTREMES.step("mg KOH/g")
def oil_sap_low(ingredient_at: Number, ingredients_oil_sap: Column, ingredients_sap_low_in_use: Column) -> Number:
    """Lowest SAP of an oil, 0 for anything else. [mg KOH/g] -> [mg KOH/g]."""
    return when(pick(ingredients_oil_sap, ingredient_at) > 0, pick(ingredients_sap_low_in_use, ingredient_at), 0)


@EXTREMES.step("mg KOH/g")
def oil_sap_high(ingredient_at: Number, ingredients_oil_sap: Column, ingredients_sap_high_in_use: Column) -> Number:
    """Highest SAP of an oil, 0 for anything else. [mg KOH/g] -> [mg KOH/g]."""
    return when(pick(ingredients_oil_sap, ingredient_at) > 0, pick(ingredients_sap_high_in_use, ingredient_at), 0)


@EXTREMES.step("mg KOH/g")
def acid_sap_low(ingredient_at: Number, ingredients_acid_sap: Column, ingredients_sap_low_in_use: Column) -> Number:
    """Lowest acid value of an acid or sour liquid, 0 for anything else. [mg KOH/g] -> [mg KOH/g]."""
    return when(pick(ingredients_acid_sap, ingredient_at) > 0, pick(ingredients_sap_low_in_use, ingredient_at), 0)


@EXTREMES.step("mg KOH/g")
def acid_sap_high(ingredient_at: Number, ingredients_acid_sap: Column, ingredients_sap_high_in_use: Column) -> Number:
    """Highest acid value of an acid or sour liquid, 0 for anything else. [mg KOH/g] -> [mg KOH/g]."""
    return when(pick(ingredients_acid_sap, ingredient_at) > 0, pick(ingredients_sap_high_in_use, ingredient_at), 0)


@EXTREMES.step("g")
def g_least(g: Number, division_g: Number) -> Number:
    """Weight less one scale division, not below 0. [g] [g] -> [g]."""
    return larger(g - division_g, 0)


@EXTREMES.step("g")
def g_most(g: Number, division_g: Number) -> Number:
    """Weight and one scale division. [g] [g] -> [g]."""
    return g + division_g


@EXTREMES.step("g")
def oil_need_least(g_least: Number, oil_sap_low: Number, gram_per_mg: Number) -> Number:
    """Least KOH that the line's oil can need. [g] [mg KOH/g] [g/mg] -> [g]."""
    return g_least * oil_sap_low * gram_per_mg


@EXTREMES.step("g")
def oil_need_most(g_most: Number, oil_sap_high: Number, gram_per_mg: Number) -> Number:
    """Most KOH that the line's oil can need. [g] [mg KOH/g] [g/mg] -> [g]."""
    return g_most * oil_sap_high * gram_per_mg


@EXTREMES.step("g")
def acid_need_least(g_least: Number, acid_sap_low: Number, gram_per_mg: Number) -> Number:
    """Least KOH that the line's acid can take. [g] [mg KOH/g] [g/mg] -> [g]."""
    return g_least * acid_sap_low * gram_per_mg


@EXTREMES.step("g")
def acid_need_most(g_most: Number, acid_sap_high: Number, gram_per_mg: Number) -> Number:
    """Most KOH that the line's acid can take. [g] [mg KOH/g] [g/mg] -> [g]."""
    return g_most * acid_sap_high * gram_per_mg


def _koh(weight: Number, purity: Number, base_per_koh: Number) -> Number:
    """Alkali as the KOH that does its work. [g] [g/g] [g/g] -> [g]."""
    return divide(weight * purity, base_per_koh)


@BATCH_EXTREMES.step("g/g")
def first_ratio(first_at: Number, ingredients_base_per_koh: Column) -> Number:
    """Base of the alkali for 1 g of KOH. [g/g] -> [g/g]."""
    return pick(ingredients_base_per_koh, first_at, 1)


@BATCH_EXTREMES.step("g/g")
def second_ratio(second_at: Number, ingredients_base_per_koh: Column) -> Number:
    """Base of the second alkali for 1 g of KOH, 1 where there is none. [g/g] -> [g/g]."""
    return pick(ingredients_base_per_koh, second_at, 1)


@BATCH_EXTREMES.step("g")
def first_koh_most(
    first_g: Number,
    first_division_g: Number,
    first_at: Number,
    first_ratio: Number,
    ingredients_purity_high_in_use: Column,
) -> Number:
    """Most that the alkali can be, as KOH. [g] [g] [g/g] [g/g] -> [g]."""
    return _koh(first_g + first_division_g, pick(ingredients_purity_high_in_use, first_at), first_ratio)


@BATCH_EXTREMES.step("g")
def first_koh_least(
    first_g: Number,
    first_division_g: Number,
    first_at: Number,
    first_ratio: Number,
    ingredients_purity_low_in_use: Column,
) -> Number:
    """Least that the alkali can be, as KOH. [g] [g] [g/g] [g/g] -> [g]."""
    return _koh(larger(first_g - first_division_g, 0), pick(ingredients_purity_low_in_use, first_at), first_ratio)


@BATCH_EXTREMES.step("g")
def second_koh_most(
    second_g: Number, second_division_g: Number, second_at: Number, second_ratio: Number,
    ingredients_purity_high_in_use: Column,
) -> Number:  # fmt: skip
    """Most that the second alkali can be, as KOH; 0 where there is none. [g] [g] [g/g] [g/g] -> [g]."""
    return _koh(second_g + second_division_g, pick(ingredients_purity_high_in_use, second_at), second_ratio)


@BATCH_EXTREMES.step("g")
def second_koh_least(
    second_g: Number, second_division_g: Number, second_at: Number, second_ratio: Number,
    ingredients_purity_low_in_use: Column,
) -> Number:  # fmt: skip
    """Least that the second alkali can be, as KOH; 0 where there is none. [g] [g] [g/g] [g/g] -> [g]."""
    return _koh(larger(second_g - second_division_g, 0), pick(ingredients_purity_low_in_use, second_at), second_ratio)


@BATCH_EXTREMES.step("%")
def superfat_low(
    place: Number, first_koh_most: Number, second_koh_most: Number, slots_batch_at: Column,
    slots_acid_need_least: Column, slots_oil_need_least: Column,
) -> Number:  # fmt: skip
    """Lowest superfat: most alkali on the least need. [g] x 4 -> [-]; every range at its worst end at once."""
    left = first_koh_most + second_koh_most - total_where(slots_batch_at, place, slots_acid_need_least)
    return 1 - divide(left, total_where(slots_batch_at, place, slots_oil_need_least))


@BATCH_EXTREMES.step("%")
def superfat_high(
    place: Number, first_koh_least: Number, second_koh_least: Number, slots_batch_at: Column,
    slots_acid_need_most: Column, slots_oil_need_most: Column,
) -> Number:  # fmt: skip
    """Highest superfat: least alkali on the most need. [g] x 4 -> [-]; every range at its worst end at once."""
    left = first_koh_least + second_koh_least - total_where(slots_batch_at, place, slots_acid_need_most)
    return 1 - divide(left, total_where(slots_batch_at, place, slots_oil_need_most))


# --- the likely interval ---


@SPREADS.step("mg KOH/g")
def oil_sap_mid(oil_sap_low: Number, oil_sap_high: Number, two: Number) -> Number:
    """Middle of an oil's range. [mg KOH/g] [mg KOH/g] -> [mg KOH/g]."""
    return (oil_sap_low + oil_sap_high) / two


@SPREADS.step("mg KOH/g")
def acid_sap_mid(acid_sap_low: Number, acid_sap_high: Number, two: Number) -> Number:
    """Middle of an acid's range. [mg KOH/g] [mg KOH/g] -> [mg KOH/g]."""
    return (acid_sap_low + acid_sap_high) / two


@SPREADS.step("g")
def oil_need_mid(g: Number, oil_sap_mid: Number, gram_per_mg: Number) -> Number:
    """KOH that the line's oil needs in the middle of its range. [g] [mg KOH/g] [g/mg] -> [g]."""
    return g * oil_sap_mid * gram_per_mg


@SPREADS.step("g")
def acid_need_mid(g: Number, acid_sap_mid: Number, gram_per_mg: Number) -> Number:
    """KOH that the line's acid takes in the middle of its range. [g] [mg KOH/g] [g/mg] -> [g]."""
    return g * acid_sap_mid * gram_per_mg


LIKELY_SUMS = StepGroup("batches")


@LIKELY_SUMS.step("g")
def oils_need_mid(place: Number, slots_batch_at: Column, slots_oil_need_mid: Column) -> Number:
    """KOH that the oils need at mid-ranges. [g] -> [g]."""
    return total_where(slots_batch_at, place, slots_oil_need_mid)


@LIKELY_SUMS.step("%")
def first_purity_mid(
    first_at: Number, ingredients_purity_low_in_use: Column, ingredients_purity_high_in_use: Column, two: Number
) -> Number:
    """Middle of the alkali's purity. [g/g] [g/g] -> [g/g]."""
    return (pick(ingredients_purity_low_in_use, first_at) + pick(ingredients_purity_high_in_use, first_at)) / two


@LIKELY_SUMS.step("%")
def second_purity_mid(
    second_at: Number, ingredients_purity_low_in_use: Column, ingredients_purity_high_in_use: Column, two: Number
) -> Number:
    """Middle of the second alkali's purity, 0 where there is none. [g/g] [g/g] -> [g/g]."""
    return (pick(ingredients_purity_low_in_use, second_at) + pick(ingredients_purity_high_in_use, second_at)) / two


@LIKELY_SUMS.step("g")
def koh_left_mid(
    place: Number, first_g: Number, first_purity_mid: Number, first_ratio: Number, second_g: Number,
    second_purity_mid: Number, second_ratio: Number, slots_batch_at: Column, slots_acid_need_mid: Column,
) -> Number:  # fmt: skip
    """Alkali left for the oils at mid-ranges, as KOH. [g] [g/g] [g/g] [g] [g/g] [g/g] [g] -> [g]."""
    alkalis = _koh(first_g, first_purity_mid, first_ratio) + _koh(second_g, second_purity_mid, second_ratio)
    return alkalis - total_where(slots_batch_at, place, slots_acid_need_mid)


@LIKELY_SUMS.step("%")
def superfat_mid(koh_left_mid: Number, oils_need_mid: Number) -> Number:
    """Superfat with everything in the middle of its range. [g] [g] -> [-]."""
    return 1 - divide(koh_left_mid, oils_need_mid)


EFFECTS = StepGroup("slots")


@EFFECTS.step("1/g")
def need_share(batch_at: Number, batches_koh_left_mid: Column, batches_oils_need_mid: Column) -> Number:
    """Fall of the alkali share left for 1 g less of need. [g] [g] -> [1/g]."""
    need = pick(batches_oils_need_mid, batch_at)
    return divide(divide(pick(batches_koh_left_mid, batch_at), need), need)


@EFFECTS.step("1/g")
def alkali_share(batch_at: Number, batches_oils_need_mid: Column) -> Number:
    """Rise of superfat for 1 g more of acid. [g] -> [1/g]."""
    return divide(1, pick(batches_oils_need_mid, batch_at))


@EFFECTS.step("%")
def sap_effect(
    same_thing_g: Number, oil_sap_low: Number, oil_sap_high: Number, acid_sap_low: Number, acid_sap_high: Number,
    need_share: Number, alkali_share: Number, gram_per_mg: Number, rectangular: Number, two: Number,
) -> Number:  # fmt: skip
    """Standard uncertainty of superfat from the thing's SAP. -> [-]; GUM 5.1.2, a rectangular range (4.3.7)."""
    oil = (oil_sap_high - oil_sap_low) * need_share
    acid = (acid_sap_high - acid_sap_low) * alkali_share
    return same_thing_g * gram_per_mg * (oil + acid) / two * rectangular


@EFFECTS.step("")
def line_share(g: Number, same_thing_g: Number) -> Number:
    """Share of the thing's weight that stands in this line. [g] [g] -> [-]."""
    return when(same_thing_g > 0, divide(g, same_thing_g), 0)


@EFFECTS.step("%")
def weighing_effect(
    division_g: Number, oil_sap_mid: Number, acid_sap_mid: Number, need_share: Number, alkali_share: Number,
    gram_per_mg: Number, rectangular: Number, two: Number,
) -> Number:  # fmt: skip
    """Standard uncertainty of superfat from weighing the line. -> [-]; GUM 5.1.2, half a division either way."""
    return division_g / two * rectangular * gram_per_mg * (oil_sap_mid * need_share + acid_sap_mid * alkali_share)


@EFFECTS.step("")
def variance(sap_effect: Number, line_share: Number, weighing_effect: Number) -> Number:
    """Both effects squared; a thing on several lines counts once. -> [-]; GUM 5.1.2."""
    return sap_effect * sap_effect * line_share + weighing_effect * weighing_effect


@EFFECTS.step("%")
def largest_effect(sap_effect: Number, weighing_effect: Number) -> Number:
    """The larger of the two effects. -> [-]."""
    return larger(sap_effect, weighing_effect)


def _purity_effect(
    weight: Number, width: Number, ratio: Number, need: Number, rectangular: Number, two: Number
) -> Number:
    """Standard uncertainty of superfat from an alkali's purity. -> [-]; GUM 5.1.2."""
    return divide(_koh(weight, width, ratio), need) / two * rectangular


@LIKELY.step("%")
def first_purity_effect(
    first_g: Number, first_at: Number, first_ratio: Number, oils_need_mid: Number, rectangular: Number, two: Number,
    ingredients_purity_low_in_use: Column, ingredients_purity_high_in_use: Column,
) -> Number:  # fmt: skip
    """Standard uncertainty of superfat from the alkali's purity. -> [-]; GUM 5.1.2."""
    width = pick(ingredients_purity_high_in_use, first_at) - pick(ingredients_purity_low_in_use, first_at)
    return _purity_effect(first_g, width, first_ratio, oils_need_mid, rectangular, two)


@LIKELY.step("%")
def second_purity_effect(
    second_g: Number, second_at: Number, second_ratio: Number, oils_need_mid: Number, rectangular: Number, two: Number,
    ingredients_purity_low_in_use: Column, ingredients_purity_high_in_use: Column,
) -> Number:  # fmt: skip
    """Standard uncertainty of superfat from the second alkali's purity. -> [-]; GUM 5.1.2."""
    width = pick(ingredients_purity_high_in_use, second_at) - pick(ingredients_purity_low_in_use, second_at)
    return _purity_effect(second_g, width, second_ratio, oils_need_mid, rectangular, two)


@LIKELY.step("%")
def first_weighing_effect(
    first_division_g: Number, first_purity_mid: Number, first_ratio: Number, oils_need_mid: Number, rectangular: Number,
    two: Number,
) -> Number:  # fmt: skip
    """Standard uncertainty of superfat from weighing the alkali. -> [-]; GUM 5.1.2."""
    return _purity_effect(first_division_g, first_purity_mid, first_ratio, oils_need_mid, rectangular, two)


@LIKELY.step("%")
def second_weighing_effect(
    second_division_g: Number, second_purity_mid: Number, second_ratio: Number, oils_need_mid: Number,
    rectangular: Number, two: Number,
) -> Number:  # fmt: skip
    """Standard uncertainty of superfat from weighing the second alkali, 0 where there is none. -> [-]; GUM 5.1.2."""
    return _purity_effect(second_division_g, second_purity_mid, second_ratio, oils_need_mid, rectangular, two)


@LIKELY.step("%")
def combined(
    place: Number, first_purity_effect: Number, second_purity_effect: Number, first_weighing_effect: Number,
    second_weighing_effect: Number, slots_batch_at: Column, slots_variance: Column,
) -> Number:  # fmt: skip
    """Combined standard uncertainty of superfat: root sum of squares. -> [-]; GUM 5.1.2."""
    purities = first_purity_effect * first_purity_effect + second_purity_effect * second_purity_effect
    weighings = first_weighing_effect * first_weighing_effect + second_weighing_effect * second_weighing_effect
    return root(total_where(slots_batch_at, place, slots_variance) + purities + weighings)


@LIKELY.step("%")
def dominant(
    place: Number, first_purity_effect: Number, second_purity_effect: Number, first_weighing_effect: Number,
    second_weighing_effect: Number, slots_batch_at: Column, slots_largest_effect: Column,
) -> Number:  # fmt: skip
    """Largest single effect. -> [-]."""
    purity = larger(first_purity_effect, second_purity_effect)
    weighing = larger(first_weighing_effect, second_weighing_effect)
    return larger(largest_where(slots_batch_at, place, slots_largest_effect), larger(purity, weighing))


@LIKELY.step("")
def dominance(dominant: Number, combined: Number) -> Number:
    """Largest single effect of the combined one. [-] [-] -> [-]."""
    return when(combined > 0, smaller(divide(dominant, combined), 1), 0)


@LIKELY.step("")
def coverage_row(dominance: Number, coverage_dominance: Column, coverage_rows_but_one: Number) -> Number:
    """Row of the coverage table at or below this dominance. -> [-]."""
    return smaller(row_below(dominance, coverage_dominance), coverage_rows_but_one)


@LIKELY.step("")
def coverage_in_use(
    dominance: Number, coverage_row: Number, coverage_dominance: Column, coverage_factor: Column
) -> Number:
    """Factor for about 95 %: 1.960 when nothing dominates, 1.645 when one range is everything. -> [-]; coverage table."""
    return between(dominance, coverage_row, coverage_dominance, coverage_factor)


@LIKELY.step("%")
def likely_low(superfat_mid: Number, coverage_in_use: Number, combined: Number) -> Number:
    """Low end of the likely superfat. [-] [-] [-] -> [-]; GUM 6.2.1."""
    return superfat_mid - coverage_in_use * combined


@LIKELY.step("%")
def likely_high(superfat_mid: Number, coverage_in_use: Number, combined: Number) -> Number:
    """High end of the likely superfat. [-] [-] [-] -> [-]; GUM 6.2.1."""
    return superfat_mid + coverage_in_use * combined


STEPS: tuple[Step, ...] = (
    *EXTREMES.steps,
    *BATCH_EXTREMES.steps,
    *SPREADS.steps,
    *LIKELY_SUMS.steps,
    *EFFECTS.steps,
    *LIKELY.steps,
)
