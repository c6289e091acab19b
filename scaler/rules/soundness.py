"""Whether the results may be used: what a partner may have left out or mistyped since the engine ran.

The reader refuses such inputs; these flags say so in the finished workbook too, and take the figures off the cards.
"""

from __future__ import annotations

from typing import Any

from scaler.formula.helpers import (
    Column,
    Number,
    Text,
    Truth,
    all_of,
    any_of,
    default_to,
    exceeds,
    given,
    match,
    pick,
    same,
    smaller,
    total_where,
    when,
)
from scaler.formula.steps import Step, StepGroup
from scaler.model.records import ACID, ALKALI, OIL

INGREDIENTS = StepGroup("ingredients")
PRICES = StepGroup("prices")
MOULDS = StepGroup("moulds")
LINES = StepGroup("lines")
RECIPES = StepGroup("recipes")
BATCHES = StepGroup("batches")


def _blank(value: Any) -> Truth:
    """Whether an input cell is blank."""
    return when(given(value), 0, 1) > 0


@INGREDIENTS.step("")
def purity_wrong(
    kind: Text, purity: Number, purity_in_use: Number, water_in_use: Number, purity_least: Number
) -> Number:
    """1 when an alkali's Purity cannot be: too low, or with its water over 100 %. [-] x 3 -> [-]."""
    water_alone = all_of(water_in_use > 0, _blank(purity))
    over = any_of(exceeds(purity_in_use + water_in_use, 1), water_alone)
    return when(all_of(same(kind, ALKALI), any_of(exceeds(purity_least, purity_in_use), over)), 1, 0)


@INGREDIENTS.step("")
def sap_missing(kind: Text, sap: Number, known: Number) -> Number:
    """1 when an oil or an acid has no SAP and nothing is published for it; a typed 0 is one. -> [-]."""
    needed = any_of(same(kind, OIL), same(kind, ACID))
    return when(all_of(needed, all_of(_blank(sap), same(known, 0))), 1, 0)


@PRICES.step("")
def price_blank(price: Number, pack: Number, pack_holds: Number) -> Number:
    """1 when a pack has no price, or holds nothing. -> [-]."""
    return when(all_of(given(price), all_of(given(pack), pack_holds > 0)), 0, 1)


@PRICES.step("")
def price_astray(ingredient_at: Number) -> Number:
    """1 when the ingredient is not on Ingredients. -> [-]."""
    return when(ingredient_at > 0, 0, 1)


@MOULDS.step("cm")
def box_least(inside_length: Number, inside_width: Number, inside_depth: Number) -> Number:
    """Smallest of the three sizes of a block inside its liner. [cm] x 3 -> [cm]."""
    return smaller(smaller(inside_length, inside_width), inside_depth)


@MOULDS.step("cm")
def taper_least(box_least: Number, inside_top_length: Number, inside_top_width: Number) -> Number:
    """Smallest size of a slope-sided mould inside its liner. [cm] x 3 -> [cm]."""
    return smaller(box_least, smaller(inside_top_length, inside_top_width))


@MOULDS.step("cm")
def round_least(shape: Text, inside_diameter: Number, inside_height: Number, inside_length: Number) -> Number:
    """Smaller size of a cylinder, or of half of one, inside its liner. [cm] x 3 -> [cm]."""
    return smaller(inside_diameter, when(same(shape, "cylinder"), inside_height, inside_length))


@MOULDS.step("")
def size_wrong(shape: Text, box_least: Number, taper_least: Number, round_least: Number) -> Number:
    """1 when a size that the shape needs is blank, 0, or no more than its liner. [cm] x 3 -> [-]."""
    box = all_of(same(shape, "box"), box_least <= 0)
    taper = all_of(same(shape, "taper"), taper_least <= 0)
    is_round = any_of(same(shape, "cylinder"), same(shape, "half cylinder"))
    return when(any_of(box, any_of(taper, all_of(is_round, round_least <= 0))), 1, 0)


@MOULDS.step("")
def mould_wrong(
    fill_ml: Number, bars_in_one: Number, unit: Text, capacity_unit: Text, size_wrong: Number, units_word: Column
) -> Number:
    """1 when a mould holds nothing, lacks a size, gives no bar, or its unit is not on Units. [mL] [-] [-] -> [-]."""
    lengths = all_of(given(unit), same(match(default_to(unit, ""), units_word), 0))
    capacity = all_of(given(capacity_unit), same(match(default_to(capacity_unit, ""), units_word), 0))
    empty = any_of(size_wrong > 0, any_of(fill_ml <= 0, bars_in_one < 1))
    return when(any_of(empty, any_of(lengths, capacity)), 1, 0)


@LINES.step("")
def line_wrong(
    recipe_at: Number, ingredient_at: Number, unit: Text, unit_at: Number, share: Number, amount: Number
) -> Number:
    """1 when a line's recipe, ingredient or unit is not known, or it has neither Share nor Amount. -> [-]."""
    unknown = any_of(same(recipe_at, 0), same(ingredient_at, 0))
    unit_unknown = all_of(given(unit), same(unit_at, 0))
    empty = all_of(_blank(share), _blank(amount))
    return when(any_of(unknown, any_of(unit_unknown, empty)), 1, 0)


@LINES.step("")
def sap_blank(ingredient_at: Number, ingredients_sap_missing: Column) -> Number:
    """1 when the line's oil or acid has no SAP. -> [-]."""
    return pick(ingredients_sap_missing, ingredient_at)


@RECIPES.step("")
def liquid_columns(lye_concentration: Number, liquid_to_alkali: Number, liquid_of_oils: Number) -> Number:
    """How many of the three liquid columns are filled. -> [-]."""
    first = when(given(lye_concentration), 1, 0) + when(given(liquid_to_alkali), 1, 0)
    return first + when(given(liquid_of_oils), 1, 0)


@RECIPES.step("")
def liquid_unclear(liquid_columns: Number, liquids_written: Number, liquid_shares: Number) -> Number:
    """1 when the liquid is set twice, or not at all. -> [-]."""
    unset = all_of(same(liquid_columns, 0), any_of(liquids_written <= 0, liquid_shares > 0))
    return when(any_of(liquid_columns > 1, unset), 1, 0)


@RECIPES.step("")
def alkali_wrong(
    first_at: Number, second_at: Number, second_alkali: Text, superfat: Number, ingredients_purity_wrong: Column
) -> Number:
    """1 when an alkali is not known or not pure enough, or the superfat leaves none. [-] -> [-]."""
    unknown = any_of(same(first_at, 0), all_of(given(second_alkali), same(second_at, 0)))
    impure = pick(ingredients_purity_wrong, first_at) + pick(ingredients_purity_wrong, second_at) > 0
    return when(any_of(unknown, any_of(impure, superfat >= 1)), 1, 0)


@RECIPES.step("")
def recipe_faults(
    place: Number, liquid_unclear: Number, alkali_wrong: Number, shares_off: Number, superfat_negative: Number,
    lye_too_strong: Number, liquid_short: Number, solution_alone: Number, lines_recipe_at: Column,
    lines_line_wrong: Column, lines_sap_blank: Column,
) -> Number:  # fmt: skip
    """Faults of the recipe and its lines; more than 0 and it must not be made. -> [-]."""
    lines = total_where(lines_recipe_at, place, lines_line_wrong) + total_where(lines_recipe_at, place, lines_sap_blank)
    lye = superfat_negative + lye_too_strong + liquid_short + solution_alone
    return lines + liquid_unclear + alkali_wrong + shares_off + lye


@BATCHES.step("")
def faults(
    recipe_at: Number, mould_at: Number, recipes_recipe_faults: Column, moulds_mould_wrong: Column, pot_small: Number,
    jug_small: Number, batch_tiny: Number, lines_over_limit: Number,
) -> Number:  # fmt: skip
    """Faults of the batch; more than 0 and it must not be made. -> [-]."""
    named = pick(recipes_recipe_faults, recipe_at) + pick(moulds_mould_wrong, mould_at)
    return named + pot_small + jug_small + batch_tiny + lines_over_limit


@BATCHES.step("text")
def state(
    recipe_at: Number, mould_at: Number, recipes_changed_recipe: Column, moulds_changed: Column, rows_added: Number,
    faults: Number,
) -> Text:  # fmt: skip
    """Why the results may not be used, in words; blank when they may. -> [-]."""
    stale = rows_added + pick(recipes_changed_recipe, recipe_at) + pick(moulds_changed, mould_at)
    unknown = when(recipe_at > 0, when(mould_at > 0, "", "mould not on Moulds"), "recipe not on Recipes")
    wrong = when(faults > 0, "do not make: see Checks", "")
    return when(given(unknown), unknown, when(stale > 0, "run scaler again", wrong))


@BATCHES.step("")
def unusable(state: Text) -> Number:
    """1 when the results of the batch may not be used. -> [-]."""
    return when(given(state), 1, 0)


STEPS: tuple[Step, ...] = (
    *INGREDIENTS.steps,
    *PRICES.steps,
    *MOULDS.steps,
    *LINES.steps,
    *RECIPES.steps,
    *BATCHES.steps,
)
