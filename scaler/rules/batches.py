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


KEEPS = StepGroup("batches")


STEPS: tuple[Step, ...] = (*BATCHES.steps, *SHOWN.steps, *KEEPS.steps)
