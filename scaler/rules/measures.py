"""What the unit words of a row measure, and other readings of its words that rules ask for."""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    Text,
    any_of,
    default_to,
    find_name,
    given,
    match,
    pick,
    same,
    tag,
    total_where,
    when,
)
from scaler.formula.steps import Step, StepGroup

INGREDIENTS = StepGroup("ingredients")
PRICES = StepGroup("prices")
MOULDS = StepGroup("moulds")
LINES = StepGroup("lines")
RECIPES = StepGroup("recipes")


@INGREDIENTS.step("text")
def division_kind(division_unit: Text, units_word: Column, units_kind: Column) -> Text:
    """What the Division unit measures. -> [-]; sheet Units."""
    return pick(units_kind, match(default_to(division_unit, ""), units_word), "")


@INGREDIENTS.step("text")
def stock_kind(stock_unit_at: Number, units_kind: Column) -> Text:
    """What the Stock unit measures. -> [-]; sheet Units."""
    return pick(units_kind, stock_unit_at, "")


@INGREDIENTS.step("")
def stock_unit_at(stock_unit: Text, units_word: Column) -> Number:
    """Row of Stock unit on sheet Units. -> [-]."""
    return match(default_to(stock_unit, ""), units_word)


@INGREDIENTS.step("g or each")
def stock_held(
    stock: Number, stock_unit_at: Number, density_in_use: Number, units_weight: Column, units_volume: Column,
    units_count: Column,
) -> Number:  # fmt: skip
    """What is on the shelf, a volume through its density. [-] [g/mL] -> [g]; sheet Units."""
    by_volume = pick(units_volume, stock_unit_at) * density_in_use
    return default_to(stock, 0) * (pick(units_weight, stock_unit_at) + by_volume + pick(units_count, stock_unit_at))


@INGREDIENTS.step("g or each")
def planned(
    place: Number, batch_lines_ingredient_at: Column, batch_lines_g: Column, batch_lines_line_count_each: Column
) -> Number:
    """What all batches take. [g] [-] -> [g]."""
    weighed = total_where(batch_lines_ingredient_at, place, batch_lines_g)
    return weighed + total_where(batch_lines_ingredient_at, place, batch_lines_line_count_each)


@PRICES.step("text")
def pack_kind(unit_at: Number, units_kind: Column) -> Text:
    """What the Pack unit measures. -> [-]; sheet Units."""
    return pick(units_kind, unit_at, "")


@MOULDS.step("text")
def length_kind(unit: Text, units_word: Column, units_kind: Column) -> Text:
    """What the Unit measures. -> [-]; sheet Units."""
    return pick(units_kind, match(default_to(unit, ""), units_word), "")


@MOULDS.step("text")
def capacity_kind(capacity_unit: Text, units_word: Column, units_kind: Column) -> Text:
    """What the Capacity unit measures. -> [-]; sheet Units."""
    return pick(units_kind, match(default_to(capacity_unit, ""), units_word), "")


@LINES.step("text")
def unit_kind(unit_at: Number, units_kind: Column) -> Text:
    """What the unit measures. -> [-]; sheet Units."""
    return pick(units_kind, unit_at, "")


@LINES.step("")
def counted(unit_kind: Text) -> Number:
    """1 when the unit counts pieces. -> [-]."""
    return when(any_of(same(unit_kind, "per bar"), same(unit_kind, "per batch")), 1, 0)


@LINES.step("text")
def line_key(dose_key: Text, stage_in_use: Text) -> Text:
    """Recipe, portion, thing and stage as one word. -> [-]."""
    return tag(dose_key, stage_in_use)


@RECIPES.step("")
def liquid_columns(lye_concentration: Number, liquid_to_alkali: Number, liquid_of_oils: Number) -> Number:
    """How many of the three liquid columns are filled. -> [-]."""
    first = when(given(lye_concentration), 1, 0) + when(given(liquid_to_alkali), 1, 0)
    return first + when(given(liquid_of_oils), 1, 0)


@RECIPES.step("")
def liquid_set(
    lye_concentration: Number, liquid_to_alkali: Number, liquid_of_oils: Number, liquid_before: Number, two: Number
) -> Number:
    """Which of the recipe's number cells sets the liquid, the first of the three where none does. -> [-]."""
    later = when(given(liquid_to_alkali), two, when(given(liquid_of_oils), 1 + two, 1))
    return liquid_before + when(given(lye_concentration), 1, later)


def recipe_at(recipe: Text, recipes_recipe: Column) -> Number:
    """Row of the recipe on sheet Recipes. -> [-]."""
    return find_name(recipe, recipes_recipe)


def mould_at(mould: Text, moulds_mould: Column) -> Number:
    """Row of the mould on sheet Moulds, 0 where any will do. -> [-]."""
    return find_name(mould, moulds_mould)


def usual_mould_at(usual_mould: Text, moulds_mould: Column) -> Number:
    """Row of the recipe's usual mould on sheet Moulds, 0 where it has none. -> [-]."""
    return find_name(usual_mould, moulds_mould)


NAMED = (
    Step("recipes", "usual_mould_at", "", usual_mould_at),
    Step("market", "recipe_at", "", recipe_at), Step("market", "mould_at", "", mould_at),
    Step("on_hand", "recipe_at", "", recipe_at),
)  # fmt: skip
"""Names on the sheets of a market run."""

STEPS: tuple[Step, ...] = (*NAMED, *INGREDIENTS.steps, *PRICES.steps, *MOULDS.steps, *LINES.steps, *RECIPES.steps)
