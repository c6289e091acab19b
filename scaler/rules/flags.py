"""Vessels, and the flags of the dangers: 1 where the rule speaks, so that the finished workbook's Checks live."""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    all_of,
    any_of,
    default_to,
    divide,
    exceeds,
    given,
    pick,
    round_down,
    same,
    smallest_where,
    total_where,
    when,
)
from scaler.formula.steps import Step, StepGroup

VESSELS_PART = StepGroup("recipes")
VESSELS = StepGroup("batches")
RECIPE_FLAGS = StepGroup("recipes")
INGREDIENT_FLAGS = StepGroup("ingredients")
PRICE_FLAGS = StepGroup("prices")
PRICE_DATES = StepGroup("ingredients")
BATCH_FLAGS = StepGroup("batches")
SLOT_FLAGS = StepGroup("slots")
PRICE_AGES = StepGroup("batches")
BATCH_SUMS = StepGroup("batches")


# --- vessels ---


@VESSELS_PART.step("mL/g")
def jug_ml_part(
    place: Number, alkali_part: Number, liquid_part: Number, plain_water_part: Number, solution_ml: Number,
    lines_recipe_at: Column, lines_pot_liquid: Column,
) -> Number:  # fmt: skip
    """Volume of what is in the lye jug per gram of oils. [g/g] x 3, [mL/g] -> [mL/g]; at the density of the whole solution."""
    in_jug = alkali_part + liquid_part * total_where(lines_recipe_at, place, lines_pot_liquid) + plain_water_part
    return in_jug * divide(solution_ml, alkali_part + liquid_part)


@VESSELS.step("mL")
def jug_ml(oils_g: Number, recipe_at: Number, recipes_jug_ml_part: Column) -> Number:
    """Volume of what is in the lye jug. [g] [mL/g] -> [mL]."""
    return oils_g * pick(recipes_jug_ml_part, recipe_at)


@VESSELS.step("mL")
def jug_vessel_ml(jug_ml: Number, vessel_headspace: Number) -> Number:
    """Smallest lye jug with headspace. [mL] [-] -> [mL]; common practice, no source."""
    return jug_ml * vessel_headspace


@VESSELS.step("mL")
def pot_vessel_ml(batter_ml: Number, pot_headspace: Number) -> Number:
    """Smallest batter pot with headspace. [mL] [-] -> [mL]; common practice, no source."""
    return batter_ml * pot_headspace


@VESSELS.step("%")
def superfat_safe(
    place: Number, recipe_at: Number, first_g: Number, second_g: Number, first_koh_most: Number, second_koh_most: Number,
    first_ratio: Number, second_ratio: Number, first_at: Number, second_at: Number, superfat_step: Number,
    ingredients_purity_high_in_use: Column, slots_batch_at: Column, slots_acid_need_least: Column,
    slots_oil_need_least: Column, recipes_koh_met: Column, recipes_oils_need: Column, recipes_superfat: Column,
) -> Number:  # fmt: skip
    """Smallest superfat whose worst case is not lye-heavy, up to 0.1 %. [g] x 6, [-] x 3 -> [-]; lowest superfat set to 0."""
    first = divide(first_g * pick(ingredients_purity_high_in_use, first_at), first_ratio)
    second = divide(second_g * pick(ingredients_purity_high_in_use, second_at), second_ratio)
    slack = first_koh_most + second_koh_most - first - second
    may_be = total_where(slots_batch_at, place, slots_oil_need_least) + total_where(
        slots_batch_at, place, slots_acid_need_least
    )
    cut = pick(recipes_koh_met, recipe_at) * (1 - divide(may_be - slack, first + second))
    wanted = pick(recipes_superfat, recipe_at) + divide(cut, pick(recipes_oils_need, recipe_at))
    return (0 - round_down(0 - wanted / superfat_step)) * superfat_step


# --- flags: 1 where the rule speaks ---


@RECIPE_FLAGS.step("")
def superfat_negative(superfat: Number) -> Number:
    """1 when more alkali is asked for than the oils can use. [-] -> [-]."""
    return when(exceeds(0, superfat), 1, 0)


@RECIPE_FLAGS.step("")
def superfat_high(superfat: Number, superfat_high_from: Number) -> Number:
    """1 when the superfat is far above what bars have. [-] [-] -> [-]; common practice, no source."""
    return when(exceeds(superfat, superfat_high_from), 1, 0)


@RECIPE_FLAGS.step("")
def lye_too_strong(
    pot_strength: Number, solution_strength: Number, lye_most: Number, solution_room_strength: Number,
) -> Number:  # fmt: skip
    """1 when the lye pot is stronger than what dissolves. [-] [-] [-] [-] -> [-]."""
    return when(any_of(exceeds(pot_strength, lye_most), exceeds(solution_strength, solution_room_strength)), 1, 0)


@RECIPE_FLAGS.step("")
def liquid_short(dry_part: Number, liquid_total_part: Number) -> Number:
    """1 when there is less liquid than alkali. [g/g] [g/g] -> [-]."""
    return when(exceeds(dry_part, liquid_total_part), 1, 0)


@RECIPE_FLAGS.step("")
def solution_alone(liquid_part: Number) -> Number:
    """1 when an alkali solution alone brings more water than the recipe allows. [g/g] -> [-]."""
    return when(exceeds(0, liquid_part), 1, 0)


@RECIPE_FLAGS.step("")
def lye_strong(pot_strength: Number, lye_strong_from: Number, lye_too_strong: Number) -> Number:
    """1 when the lye pot is strong. [-] [-] -> [-]."""
    return when(all_of(exceeds(pot_strength, lye_strong_from), same(lye_too_strong, 0)), 1, 0)


@RECIPE_FLAGS.step("")
def lye_weak(pot_strength: Number, lye_weak_below: Number) -> Number:
    """1 when the lye pot is weak. [-] [-] -> [-]."""
    return when(exceeds(lye_weak_below, pot_strength), 1, 0)


@INGREDIENT_FLAGS.step("")
def sap_outside(sap: Number, known: Number, published_low: Number, published_high: Number) -> Number:
    """1 when a SAP lies outside the published range of the oil or acid it names. [mg KOH/g] x 3 -> [-]."""
    value = default_to(sap, published_low)
    outside = any_of(exceeds(value, published_high), exceeds(published_low, value))
    return when(all_of(known > 0, all_of(given(sap), outside)), 1, 0)


@INGREDIENT_FLAGS.step("day")
def opened_on(opened: Number) -> Number:
    """Day the container was opened, 0 where it is not said. [d] -> [d]."""
    return default_to(opened, 0)


@PRICE_FLAGS.step("day")
def dated(date: Number) -> Number:
    """Date of the price, 0 where it is not said. [d] -> [d]."""
    return default_to(date, 0)


@PRICE_FLAGS.step("")
def cheapest_row(
    place: Number, unit_price: Number, ingredient_at: Number, ingredients_unit_cost: Column, big: Number
) -> Number:
    """Row of a price that costs as little as the one in use, else more than any row. [money/g] [money/g] -> [-]."""
    return when(same(unit_price, pick(ingredients_unit_cost, ingredient_at)), place, big)


@PRICE_DATES.step("")
def price_at(
    place: Number, price_rows: Number, prices_ingredient_at: Column, prices_cheapest_row: Column, big: Number
) -> Number:
    """Row of the price in use, the first of equally cheap ones; 0 where there is none. -> [-]."""
    return when(price_rows > 0, smallest_where(prices_ingredient_at, place, prices_cheapest_row, big), 0)


@PRICE_DATES.step("day")
def price_date(price_at: Number, prices_dated: Column) -> Number:
    """Date of the price in use, 0 where it has none. [d] -> [d]."""
    return pick(prices_dated, price_at)


@PRICE_DATES.step("")
def price_zero(price_rows: Number, unit_cost: Number) -> Number:
    """1 when it costs nothing. -> [-]."""
    return when(all_of(price_rows > 0, same(unit_cost, 0)), 1, 0)


@BATCH_FLAGS.step("day")
def ages_to(make_date: Number, worked_out_on: Number) -> Number:
    """Day that ages are measured to: the make date, else Worked out on. [d] [d] -> [d]."""
    return default_to(make_date, worked_out_on)


@BATCH_FLAGS.step("day")
def first_opened(first_at: Number, ingredients_opened_on: Column) -> Number:
    """Day the alkali was opened, 0 where it is not said. [d] -> [d]."""
    return pick(ingredients_opened_on, first_at)


@BATCH_FLAGS.step("day")
def second_opened(second_at: Number, ingredients_opened_on: Column) -> Number:
    """Day the second alkali was opened, 0 where it is not said. [d] -> [d]."""
    return pick(ingredients_opened_on, second_at)


def _older(since: Number, until: Number, months: Number, days_per_month: Number) -> Number:
    """Whether a date that is said lies more than so many months back."""
    return all_of(since > 0, until - since > months * days_per_month)


@BATCH_FLAGS.step("")
def alkali_old(
    first_opened: Number, second_opened: Number, ages_to: Number, old_after: Number, days_per_month: Number
) -> Number:
    """1 when an alkali has been open for long. [d] [d] [d] [months] [d] -> [-]."""
    first = _older(first_opened, ages_to, old_after, days_per_month)
    return when(any_of(first, _older(second_opened, ages_to, old_after, days_per_month)), 1, 0)


@BATCH_FLAGS.step("")
def opened_future(first_opened: Number, second_opened: Number, ages_to: Number) -> Number:
    """1 when an alkali is said to be opened later than it is used. [d] [d] [d] -> [-]."""
    return when(any_of(first_opened > ages_to, second_opened > ages_to), 1, 0)


@BATCH_FLAGS.step("")
def superfat_worst_negative(superfat_low: Number) -> Number:
    """1 when the batch may be lye-heavy in the worst case. [-] -> [-]."""
    return when(exceeds(0, superfat_low), 1, 0)


@BATCH_FLAGS.step("")
def batch_tiny(
    place: Number, volume_ml: Number, first_weigh_g: Number, first_g: Number, second_weigh_g: Number, second_g: Number,
    slots_batch_at: Column, slots_oil_need_least: Column,
) -> Number:  # fmt: skip
    """1 when an alkali, or all the oils, are less than one division of their scale. [mL] [g] x 5 -> [-]."""
    nothing = any_of(all_of(first_g > 0, same(first_weigh_g, 0)), all_of(second_g > 0, same(second_weigh_g, 0)))
    tiny = any_of(nothing, same(total_where(slots_batch_at, place, slots_oil_need_least), 0))
    return when(all_of(volume_ml > 0, tiny), 1, 0)


@BATCH_FLAGS.step("")
def bar_odd(bar_fresh_g: Number, bar_heaviest: Number, bar_lightest: Number) -> Number:
    """1 when a bar is heavier or lighter than bars are. [g] [g] [g] -> [-]; our own rule."""
    return when(any_of(exceeds(bar_fresh_g, bar_heaviest), exceeds(bar_lightest, bar_fresh_g)), 1, 0)


@BATCH_FLAGS.step("")
def scale_coarse(
    first_g: Number, second_g: Number, first_division_g: Number, second_division_g: Number, coarse_below: Number
) -> Number:
    """1 when an alkali that is used is too few divisions of its scale. [g] [g] [g] [g] -> [-]."""
    first = all_of(first_g > 0, exceeds(coarse_below, first_g / first_division_g))
    second = all_of(second_g > 0, exceeds(coarse_below, second_g / second_division_g))
    return when(any_of(first, second), 1, 0)


@BATCH_FLAGS.step("")
def pot_small(batter_ml: Number, pot_size: Number) -> Number:
    """1 when the batter is more than the pot. [mL] [mL] -> [-]."""
    return when(given(pot_size), when(exceeds(batter_ml, default_to(pot_size, 0)), 1, 0), 0)


@BATCH_FLAGS.step("")
def jug_small(jug_ml: Number, jug_size: Number) -> Number:
    """1 when the lye is more than the jug. [mL] [mL] -> [-]."""
    return when(given(jug_size), when(exceeds(jug_ml, default_to(jug_size, 0)), 1, 0), 0)


@BATCH_FLAGS.step("")
def pot_tight(pot_vessel_ml: Number, pot_size: Number, pot_small: Number) -> Number:
    """1 when the pot holds the batter but leaves no headspace. [mL] [mL] -> [-]."""
    tight = all_of(exceeds(pot_vessel_ml, default_to(pot_size, 0)), same(pot_small, 0))
    return when(all_of(given(pot_size), tight), 1, 0)


@BATCH_FLAGS.step("")
def jug_tight(jug_vessel_ml: Number, jug_size: Number, jug_small: Number) -> Number:
    """1 when the jug holds the lye but leaves no headspace. [mL] [mL] -> [-]."""
    tight = all_of(exceeds(jug_vessel_ml, default_to(jug_size, 0)), same(jug_small, 0))
    return when(all_of(given(jug_size), tight), 1, 0)


@SLOT_FLAGS.step("")
def over_limit(limit: Number, share_of_cured: Number) -> Number:
    """1 when a fragrance is more of the cured bar than its limit. [-] [-] -> [-]; supplier's limit."""
    return when(all_of(limit > 0, exceeds(share_of_cured, limit)), 1, 0)


@SLOT_FLAGS.step("")
def price_old(
    ingredient_at: Number, batch_at: Number, ingredients_price_date: Column, batches_ages_to: Column, price_age: Number,
    days_per_month: Number,
) -> Number:  # fmt: skip
    """1 when the price in use is old. [d] [d] [months] [d] -> [-]."""
    since = pick(ingredients_price_date, ingredient_at)
    return when(_older(since, pick(batches_ages_to, batch_at), price_age, days_per_month), 1, 0)


@PRICE_AGES.step("")
def alkali_price_old(
    first_at: Number, second_at: Number, ages_to: Number, ingredients_price_date: Column, price_age: Number,
    days_per_month: Number,
) -> Number:  # fmt: skip
    """1 when the price in use of an alkali is old. [d] [d] [months] [d] -> [-]."""
    first = _older(pick(ingredients_price_date, first_at), ages_to, price_age, days_per_month)
    second = _older(pick(ingredients_price_date, second_at), ages_to, price_age, days_per_month)
    return when(any_of(first, second), 1, 0)


@SLOT_FLAGS.step("")
def sap_doubted(ingredient_at: Number, ingredients_sap_outside: Column) -> Number:
    """1 when the line's SAP lies outside its published range. -> [-]."""
    return pick(ingredients_sap_outside, ingredient_at)


@BATCH_SUMS.step("")
def lines_over_limit(place: Number, slots_batch_at: Column, slots_over_limit: Column) -> Number:
    """Lines over their limit. -> [-]."""
    return total_where(slots_batch_at, place, slots_over_limit)


@BATCH_SUMS.step("")
def lines_price_old(place: Number, slots_batch_at: Column, slots_price_old: Column) -> Number:
    """Lines with an old price. -> [-]."""
    return total_where(slots_batch_at, place, slots_price_old)


@BATCH_SUMS.step("")
def lines_sap_outside(place: Number, slots_batch_at: Column, slots_sap_doubted: Column) -> Number:
    """Lines whose SAP lies outside its published range. -> [-]."""
    return total_where(slots_batch_at, place, slots_sap_doubted)


STEPS: tuple[Step, ...] = (
    *VESSELS_PART.steps,
    *VESSELS.steps,
    *RECIPE_FLAGS.steps,
    *INGREDIENT_FLAGS.steps,
    *PRICE_FLAGS.steps,
    *PRICE_DATES.steps,
    *BATCH_FLAGS.steps,
    *PRICE_AGES.steps,
    *SLOT_FLAGS.steps,
    *BATCH_SUMS.steps,
)
