"""Batches: the oil weight that fills the mould, and every line to weigh."""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    Text,
    default_to,
    divide,
    find_name,
    given,
    match,
    pick,
    round_down,
    round_half_up,
    when,
)
from scaler.formula.steps import Step, StepGroup

BATCHES = StepGroup("batches")


@BATCHES.step("")
def recipe_at(recipe: Text, recipes_recipe: Column) -> Number:
    """Row of the recipe on sheet Recipes. -> [-]."""
    return find_name(recipe, recipes_recipe)


@BATCHES.step("")
def mould_at(mould: Text, moulds_mould: Column) -> Number:
    """Row of the mould on sheet Moulds. -> [-]."""
    return find_name(mould, moulds_mould)


@BATCHES.step("")
def filled_moulds(moulds_filled: Number) -> Number:
    """Moulds filled, 1 where it is blank. -> [-]."""
    return default_to(moulds_filled, 1)


@BATCHES.step("mL")
def volume_ml(filled_moulds: Number, mould_at: Number, moulds_fill_ml: Column) -> Number:
    """Volume to fill. [-] [mL] -> [mL]."""
    return filled_moulds * pick(moulds_fill_ml, mould_at)


@BATCHES.step("mL")
def batter_ml(volume_ml: Number, batter_loss: Number) -> Number:
    """Batter to make, what stays in the bowls included. [mL] [-] -> [mL]."""
    return volume_ml / (1 - batter_loss)


@BATCHES.step("g")
def oils_g(batter_ml: Number, recipe_at: Number, recipes_batter_ml_part: Column) -> Number:
    """Oils whose batter fills the moulds. [mL] [mL/g] -> [g]; volumes of a mixture add."""
    return divide(batter_ml, pick(recipes_batter_ml_part, recipe_at))


@BATCHES.step("g")
def batter_g(oils_g: Number, recipe_at: Number, recipes_batter_part: Column) -> Number:
    """Weight of the batter. [g] [g/g] -> [g]."""
    return oils_g * pick(recipes_batter_part, recipe_at)


@BATCHES.step("g")
def liquid_g(oils_g: Number, recipe_at: Number, recipes_liquid_part: Column) -> Number:
    """Liquid weighed in. [g] [g/g] -> [g]."""
    return oils_g * pick(recipes_liquid_part, recipe_at)


@BATCHES.step("g")
def liquid_total_g(oils_g: Number, recipe_at: Number, recipes_liquid_total_part: Column) -> Number:
    """Liquid in all, the water of an alkali solution included. [g] [g/g] -> [g]."""
    return oils_g * pick(recipes_liquid_total_part, recipe_at)


@BATCHES.step("g")
def plain_water_g(oils_g: Number, recipe_at: Number, recipes_plain_water_part: Column) -> Number:
    """Plain water, where the recipe names no liquid. [g] [g/g] -> [g]."""
    return oils_g * pick(recipes_plain_water_part, recipe_at)


@BATCHES.step("g")
def water_division_g(workshop_division: Number) -> Number:
    """Division of the scale for plain water. [g] -> [g]."""
    return workshop_division


@BATCHES.step("g")
def plain_water_weigh_g(plain_water_g: Number, water_division_g: Number) -> Number:
    """Plain water to the scale division, half up. [g] [g] -> [g]."""
    return round_half_up(plain_water_g / water_division_g) * water_division_g


@BATCHES.step("")
def first_at(recipe_at: Number, recipes_first_at: Column) -> Number:
    """Row of the alkali on sheet Ingredients. -> [-]."""
    return pick(recipes_first_at, recipe_at)


@BATCHES.step("")
def second_at(recipe_at: Number, recipes_second_at: Column) -> Number:
    """Row of the second alkali on sheet Ingredients, 0 where there is none. -> [-]."""
    return pick(recipes_second_at, recipe_at)


@BATCHES.step("text")
def first_name(first_at: Number, ingredients_ingredient: Column) -> Text:
    """Name of the alkali. -> [-]."""
    return pick(ingredients_ingredient, first_at, "")


@BATCHES.step("text")
def second_name(second_at: Number, ingredients_ingredient: Column) -> Text:
    """Name of the second alkali. -> [-]."""
    return pick(ingredients_ingredient, second_at, "")


@BATCHES.step("text")
def first_base(first_at: Number, ingredients_base: Column) -> Text:
    """Base of the alkali. -> [-]."""
    return pick(ingredients_base, first_at, "")


@BATCHES.step("text")
def second_base(second_at: Number, ingredients_base: Column) -> Text:
    """Base of the second alkali. -> [-]."""
    return pick(ingredients_base, second_at, "")


@BATCHES.step("g")
def first_g(oils_g: Number, recipe_at: Number, recipes_first_part: Column) -> Number:
    """Alkali, exact. [g] [g/g] -> [g]."""
    return oils_g * pick(recipes_first_part, recipe_at)


@BATCHES.step("g")
def second_g(oils_g: Number, recipe_at: Number, recipes_second_part: Column) -> Number:
    """Second alkali, exact. [g] [g/g] -> [g]."""
    return oils_g * pick(recipes_second_part, recipe_at)


@BATCHES.step("g")
def alkali_g(first_g: Number, second_g: Number) -> Number:
    """All alkalis as weighed, exact. [g] [g] -> [g]."""
    return first_g + second_g


@BATCHES.step("g")
def first_division_g(first_at: Number, ingredients_division_g: Column) -> Number:
    """Division of the alkali's scale. [g] -> [g]."""
    return pick(ingredients_division_g, first_at, 1)


@BATCHES.step("g")
def second_division_g(second_at: Number, ingredients_division_g: Column) -> Number:
    """Division of the second alkali's scale, 1 where there is none. [g] -> [g]."""
    return pick(ingredients_division_g, second_at, 1)


@BATCHES.step("g")
def first_weigh_g(first_g: Number, first_division_g: Number) -> Number:
    """Alkali to weigh: to the scale division, down. [g] [g] -> [g]; never more alkali than worked out."""
    return round_down(first_g / first_division_g) * first_division_g


@BATCHES.step("g")
def second_weigh_g(second_g: Number, second_division_g: Number) -> Number:
    """Second alkali to weigh: to the scale division, down. [g] [g] -> [g]; never more alkali than worked out."""
    return round_down(second_g / second_division_g) * second_division_g


@BATCHES.step("")
def bars(filled_moulds: Number, mould_at: Number, moulds_bars_in_one: Column) -> Number:
    """Bars of the batch. -> [-]."""
    return filled_moulds * pick(moulds_bars_in_one, mould_at)


@BATCHES.step("")
def bars_to_sell(bars: Number, reject_share: Number) -> Number:
    """Bars fit to sell, not rounded. [-] [-] -> [-]."""
    return bars * (1 - reject_share)


@BATCHES.step("g")
def bar_fresh_g(
    batter_g: Number, batter_loss: Number, filled_moulds: Number, mould_at: Number, moulds_bar_share: Column
) -> Number:
    """Weight of a fresh bar: its share of the batter in one mould. [g] [-] [-] [-] -> [g]."""
    return batter_g * (1 - batter_loss) / filled_moulds * pick(moulds_bar_share, mould_at)


@BATCHES.step("g")
def bar_cured_g(bar_fresh_g: Number, recipe_at: Number, recipes_cure_loss_in_use: Column) -> Number:
    """Weight of a cured bar. [g] [-] -> [g]."""
    return bar_fresh_g * (1 - pick(recipes_cure_loss_in_use, recipe_at))


@BATCHES.step("date")
def ready_day(make_date: Number, recipe_at: Number, recipes_cure_days_in_use: Column) -> Number:
    """Day the bars are cured; blank without a make date. [d] [d] -> [d]."""
    return when(given(make_date), default_to(make_date, 0) + pick(recipes_cure_days_in_use, recipe_at), "")


SHOWN = StepGroup("batches")


@SHOWN.step("g")
def display_g(display_units: Text, units_word: Column, units_weight: Column) -> Number:
    """One of the units that the cards show big. -> [g]; sheet Units."""
    return pick(units_weight, match(display_units, units_word), 1)


@SHOWN.step("")
def first_shown(first_weigh_g: Number, display_g: Number) -> Number:
    """Alkali to weigh, in the cards' units. [g] [g] -> [-]."""
    return first_weigh_g / display_g


@SHOWN.step("")
def second_shown(second_weigh_g: Number, display_g: Number) -> Number:
    """Second alkali to weigh, in the cards' units. [g] [g] -> [-]."""
    return second_weigh_g / display_g


@SHOWN.step("")
def plain_water_shown(plain_water_weigh_g: Number, display_g: Number) -> Number:
    """Plain water to weigh, in the cards' units. [g] [g] -> [-]."""
    return plain_water_weigh_g / display_g


KEEPS = StepGroup("batches")


@KEEPS.step("%")
def cure_keeps(recipe_at: Number, recipes_cure_loss_in_use: Column) -> Number:
    """Share of the fresh weight that is left after the cure. [-] -> [-]."""
    return 1 - pick(recipes_cure_loss_in_use, recipe_at)


STEPS: tuple[Step, ...] = (*BATCHES.steps, *SHOWN.steps, *KEEPS.steps)
