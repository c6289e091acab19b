"""What the unit words of a row measure, and other readings of its words that rules ask for."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import any_of, default_to, given, same, when
from scaler.formula.searching import match, pick
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import total_where
from scaler.rules.plain import keyed

INGREDIENTS = StepGroup("ingredients")
TAKEN = StepGroup("batch_lines", when="makes", closed=0)
LINES = StepGroup("lines")
RECIPES = StepGroup("recipes")


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


@TAKEN.step("")
def taken_at(ingredient_at: Number) -> Number:
    """Row of the thing, 0 where the batch must not be made and takes nothing. -> [-]."""
    return ingredient_at


@INGREDIENTS.step("g or each")
def planned(
    place: Number, batch_lines_taken_at: Column, batch_lines_g: Column, batch_lines_line_count_each: Column
) -> Number:
    """What all batches take that may be made. [g] [-] -> [g]."""
    weighed = total_where(batch_lines_taken_at, place, batch_lines_g)
    return weighed + total_where(batch_lines_taken_at, place, batch_lines_line_count_each)


@LINES.step("")
def counted(unit_kind: Text) -> Number:
    """1 when the unit counts pieces. -> [-]."""
    return when(any_of(same(unit_kind, "per bar"), same(unit_kind, "per batch")), 1, 0)


LINES.add("line_key", "text", keyed("dose_key", "stage_in_use", "Recipe, portion, thing and stage as one word."))


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


STEPS: tuple[Step, ...] = (*TAKEN.steps, *INGREDIENTS.steps, *LINES.steps, *RECIPES.steps)
