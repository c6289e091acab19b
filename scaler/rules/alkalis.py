"""The alkalis of each recipe, two rows a recipe, everything for 1 g of KOH need: what is weighed, its water, its heat.

The second row of a recipe with one alkali names nothing and meets nothing of the need.
"""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import default_to, larger, same, when
from scaler.formula.searching import pick, tag
from scaler.formula.steps import Step, StepGroup, Tables

A_RECIPE = 2
"""Alkalis of a recipe, at most."""

ALKALIS = StepGroup("alkalis")
OPENED = StepGroup("alkalis", closed=0)


def start(tables: Tables) -> None:
    """Begin the rows: for each recipe its alkali, then its second one."""
    places = [(recipe + 1.0, order + 1.0) for recipe in range(tables.lengths["recipes"]) for order in range(A_RECIPE)]
    tables.start_rows("alkalis", ("recipe_at", "order"), places)


@ALKALIS.step("")
def ingredient_at(
    recipe_at: Number, order: Number, recipes_own_alkali_at: Column, recipes_second_alkali_at: Column
) -> Number:
    """Row of the alkali on sheet Ingredients, 0 where there is none. -> [-]."""
    return when(same(order, 1), pick(recipes_own_alkali_at, recipe_at), pick(recipes_second_alkali_at, recipe_at))


@ALKALIS.step("text")
def base_key(recipe_at: Number, ingredient_at: Number, ingredients_base: Column) -> Text:
    """Recipe and base. -> [-]."""
    return tag(recipe_at, pick(ingredients_base, ingredient_at, ""))


@ALKALIS.step("%")
def share(
    recipe_at: Number, order: Number, ingredient_at: Number, ingredients_base: Column, recipes_second_alkali_at: Column,
    recipes_koh_share: Column,
) -> Number:  # fmt: skip
    """Share of the need that it meets: of two alkalis the KOH has KOH share %, the NaOH the rest. [-] -> [-]."""
    koh = default_to(pick(recipes_koh_share, recipe_at), 0)
    of_two = when(same(pick(ingredients_base, ingredient_at, ""), "KOH"), koh, 1 - koh)
    return when(pick(recipes_second_alkali_at, recipe_at) > 0, of_two, when(same(order, 1), 1, 0))


@ALKALIS.step("g/g")
def base_per_koh(share: Number, ingredient_at: Number, ingredients_base_per_koh: Column) -> Number:
    """Pure base for 1 g of KOH need. [-] [g/g] -> [g/g]."""
    return share * pick(ingredients_base_per_koh, ingredient_at)


@ALKALIS.step("g/g")
def per_koh(base_per_koh: Number, ingredient_at: Number, ingredients_purity_in_use: Column) -> Number:
    """Alkali to weigh for 1 g of KOH need. [g/g] [g/g] -> [g/g]; base / purity."""
    return base_per_koh / pick(ingredients_purity_in_use, ingredient_at, 1)


@ALKALIS.step("g/g")
def water_per_koh(per_koh: Number, ingredient_at: Number, ingredients_water_in_use: Column) -> Number:
    """Water that it brings for 1 g of KOH need. [g/g] [g/g] -> [g/g]."""
    return per_koh * pick(ingredients_water_in_use, ingredient_at)


@ALKALIS.step("g/g")
def koh_high_per_koh(per_koh: Number, ingredient_at: Number, ingredients_koh_high: Column) -> Number:
    """KOH that it brings at most for 1 g of KOH need. [g/g] [g/g] -> [g/g]."""
    return per_koh * pick(ingredients_koh_high, ingredient_at)


@ALKALIS.step("kJ/g")
def heat_per_koh(
    recipe_at: Number, base_per_koh: Number, ingredient_at: Number, ingredients_base: Column, ingredients_own_heat: Column,
    recipes_naoh_heat: Column, koh_heat: Number, naoh_molar_mass: Number, koh_molar_mass: Number,
) -> Number:  # fmt: skip
    """Heat that it gives off for 1 g of KOH need. [g/g] [kJ/mol] x 3, [g/mol] x 2 -> [kJ/g]."""
    naoh = larger(pick(recipes_naoh_heat, recipe_at) - pick(ingredients_own_heat, ingredient_at), 0)
    is_naoh = same(pick(ingredients_base, ingredient_at, ""), "NaOH")
    return when(is_naoh, base_per_koh / naoh_molar_mass * naoh, base_per_koh / koh_molar_mass * koh_heat)


@OPENED.step("day")
def opened_day(ingredient_at: Number, ingredients_opened_on: Column) -> Number:
    """Day on which it was opened, 0 where nobody says. -> [d]."""
    return default_to(pick(ingredients_opened_on, ingredient_at), 0)


STEPS: tuple[Step, ...] = (*ALKALIS.steps, *OPENED.steps)
