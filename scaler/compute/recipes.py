"""Recipe lines and recipes, everything per gram of oils: alkali, liquid, densities, strength, superfat.

All of a recipe grows with its oils, so a batch is its oil weight times what is worked out here.
"""

from __future__ import annotations

from scaler.compute.steps import Step, Topic
from scaler.formula import (
    Column,
    Number,
    Text,
    at,
    both,
    count_up_to,
    either,
    exceeds,
    given,
    match,
    otherwise,
    per,
    pick,
    row_below,
    same,
    smaller,
    tag,
    total_where,
    when,
)
from scaler.model import ACID, ADDITIVE, COLOUR, FRAGRANCE, LIQUID, OIL, PACKAGING

LINES = Topic("lines")
OWN_SIZE = Topic("recipes")
PARTS = Topic("lines")
TOTALS = Topic("recipes")
SHARES = Topic("recipes")
LIQUIDS = Topic("lines")
RECIPES = Topic("recipes")


# --- what a line is ---


@LINES.step("")
def recipe_at(recipe: Text, recipes_recipe: Column) -> Number:
    """Row of the recipe on sheet Recipes. -> [-]."""
    return match(recipe, recipes_recipe)


@LINES.step("")
def ingredient_at(ingredient: Text, ingredients_ingredient: Column) -> Number:
    """Row of the ingredient on sheet Ingredients. -> [-]."""
    return match(ingredient, ingredients_ingredient)


@LINES.step("text")
def kind(ingredient_at: Number, ingredients_kind: Column) -> Text:
    """Kind of the ingredient. -> [-]."""
    return pick(ingredients_kind, ingredient_at, "")


@LINES.step("g/mL")
def density(ingredient_at: Number, ingredients_density_in_use: Column) -> Number:
    """Density of the ingredient. [g/mL] -> [g/mL]."""
    return pick(ingredients_density_in_use, ingredient_at, 1)


@LINES.step("")
def unit_at(unit: Text, units_word: Column) -> Number:
    """Row of the unit on sheet Units. -> [-]."""
    return match(otherwise(unit, ""), units_word)


@LINES.step("g")
def own_g(amount: Number, unit_at: Number, density: Number, units_weight: Column, units_volume: Column) -> Number:
    """Weight of an amount as the recipe was written. [-] [-] [g/mL] -> [g]; sheet Units."""
    return otherwise(amount, 0) * (pick(units_weight, unit_at) + pick(units_volume, unit_at) * density)


@LINES.step("g/g")
def ratio_part(amount: Number, unit_at: Number, density: Number, units_ratio_weight: Column, units_ratio_volume: Column) -> Number:  # fmt: skip
    """Weight per gram of oils of an amount such as g/kg or tsp/lb. [-] [-] [g/mL] -> [g/g]; sheet Units."""
    return otherwise(amount, 0) * (pick(units_ratio_weight, unit_at) + pick(units_ratio_volume, unit_at) * density)


@LINES.step("g")
def own_oil_g(kind: Text, own_g: Number) -> Number:
    """Weight of an oil as the recipe was written. [g] -> [g]."""
    return when(same(kind, OIL), own_g, 0)


@OWN_SIZE.step("g")
def own_oils_g(place: Number, lines_recipe_at: Column, lines_own_oil_g: Column) -> Number:
    """Oils of the recipe as it was written, 0 for one by shares. [g] -> [g]."""
    return total_where(lines_recipe_at, place, lines_own_oil_g)


# --- parts per gram of oils ---


@PARTS.step("g/g")
def written_part(share: Number, ratio_part: Number, own_g: Number, recipe_at: Number, recipes_own_oils_g: Column) -> Number:
    """Share, or amount per gram of the oils as written. [g/g] [g/g] [g] [g] -> [g/g]."""
    oils = pick(recipes_own_oils_g, recipe_at)
    return otherwise(share, ratio_part + when(oils > 0, per(own_g, oils), 0))


@PARTS.step("g/g")
def oil_written(kind: Text, written_part: Number) -> Number:
    """Part of an oil, before the parts are made to add up to 1. [g/g] -> [g/g]."""
    return when(same(kind, OIL), written_part, 0)


@PARTS.step("g/g")
def liquid_written(kind: Text, written_part: Number) -> Number:
    """Part of a liquid, before the parts are made to add up. [g/g] -> [g/g]."""
    return when(same(kind, LIQUID), written_part, 0)


@PARTS.step("g/g")
def other_part(kind: Text, written_part: Number) -> Number:
    """Part of an acid, additive, fragrance or colour. [g/g] -> [g/g]."""
    dry = either(same(kind, ACID), same(kind, ADDITIVE))
    return when(either(dry, either(same(kind, FRAGRANCE), same(kind, COLOUR))), written_part, 0)


@PARTS.step("g/g")
def oil_share(kind: Text, share: Number) -> Number:
    """Share % of an oil, 0 for anything else. [g/g] -> [g/g]."""
    return when(same(kind, OIL), otherwise(share, 0), 0)


@PARTS.step("g/g")
def liquid_share_given(kind: Text, share: Number) -> Number:
    """Share % of a liquid, 0 for anything else. [g/g] -> [g/g]."""
    return when(same(kind, LIQUID), otherwise(share, 0), 0)


@TOTALS.step("g/g")
def oils_written(place: Number, lines_recipe_at: Column, lines_oil_written: Column) -> Number:
    """Sum of the oil parts, 1 when the shares are right. [g/g] -> [g/g]."""
    return total_where(lines_recipe_at, place, lines_oil_written)


@TOTALS.step("g/g")
def liquids_written(place: Number, lines_recipe_at: Column, lines_liquid_written: Column) -> Number:
    """Sum of the liquid parts, 0 when no liquid is named: it is water then. [g/g] -> [g/g]."""
    return total_where(lines_recipe_at, place, lines_liquid_written)


@SHARES.step("g/g")
def oil_shares(place: Number, lines_recipe_at: Column, lines_oil_share: Column) -> Number:
    """Sum of the oils' Share %, 0 for a recipe by weight. [g/g] -> [g/g]."""
    return total_where(lines_recipe_at, place, lines_oil_share)


@SHARES.step("g/g")
def liquid_shares(place: Number, lines_recipe_at: Column, lines_liquid_share_given: Column) -> Number:
    """Sum of the liquids' Share %, 0 when none is by share. [g/g] -> [g/g]."""
    return total_where(lines_recipe_at, place, lines_liquid_share_given)


@SHARES.step("")
def shares_off(oil_shares: Number, liquid_shares: Number, shares_within: Number) -> Number:
    """1 when oils or liquids by share do not add up to 100 %. [g/g] [g/g] -> [-]."""
    oils = both(oil_shares > 0, either(exceeds(oil_shares - 1, shares_within), exceeds(1 - oil_shares, shares_within)))
    liquid = either(exceeds(liquid_shares - 1, shares_within), exceeds(1 - liquid_shares, shares_within))
    return when(either(oils, both(liquid_shares > 0, liquid)), 1, 0)


@LIQUIDS.step("g/g")
def oil_part(oil_written: Number, recipe_at: Number, recipes_oils_written: Column) -> Number:
    """Oil per gram of oils. [g/g] [g/g] -> [g/g]; parts add up to 1."""
    return when(oil_written > 0, per(oil_written, pick(recipes_oils_written, recipe_at)), 0)


@LIQUIDS.step("g/g")
def liquid_share(liquid_written: Number, recipe_at: Number, recipes_liquids_written: Column) -> Number:
    """Liquid per gram of the liquid weighed in. [g/g] [g/g] -> [g/g]; shares add up to 1."""
    return when(liquid_written > 0, per(liquid_written, pick(recipes_liquids_written, recipe_at)), 0)


@LIQUIDS.step("g/g")
def oil_need(oil_part: Number, ingredient_at: Number, ingredients_oil_sap: Column, gram_per_mg: Number) -> Number:
    """KOH that the line's oil needs. [g/g] [mg KOH/g] [g/mg] -> [g/g]; definition of the saponification value."""
    return oil_part * pick(ingredients_oil_sap, ingredient_at) * gram_per_mg


@LIQUIDS.step("g/g")
def acid_need(other_part: Number, ingredient_at: Number, ingredients_acid_sap: Column, gram_per_mg: Number) -> Number:
    """KOH that the line's acid takes. [g/g] [mg KOH/g] [g/mg] -> [g/g]; definition of the acid value."""
    return other_part * pick(ingredients_acid_sap, ingredient_at) * gram_per_mg


@LIQUIDS.step("g/g")
def sour_need(liquid_share: Number, ingredient_at: Number, ingredients_acid_sap: Column, gram_per_mg: Number) -> Number:
    """KOH that a sour liquid takes, per gram of liquid. [g/g] [mg KOH/g] [g/mg] -> [g/g]; definition of the acid value."""
    return liquid_share * pick(ingredients_acid_sap, ingredient_at) * gram_per_mg


@LIQUIDS.step("g/g")
def liquid_water(liquid_share: Number, ingredient_at: Number, ingredients_water_in_use: Column) -> Number:
    """Water that the liquid brings, per gram of liquid. [g/g] [g/g] -> [g/g]."""
    return liquid_share * pick(ingredients_water_in_use, ingredient_at)


@LIQUIDS.step("g/g")
def pot_water(in_lye: Text, liquid_water: Number) -> Number:
    """Water that the liquid brings to the lye pot: none when it is held back. [g/g] -> [g/g]."""
    return when(same(otherwise(in_lye, "yes"), "no"), 0, liquid_water)


@LIQUIDS.step("g/g")
def pot_liquid(in_lye: Text, liquid_share: Number) -> Number:
    """Liquid that goes into the lye pot: none when it is held back. [g/g] -> [g/g]."""
    return when(same(otherwise(in_lye, "yes"), "no"), 0, liquid_share)


@LIQUIDS.step("g/g")
def fat_need(ingredient_at: Number, ingredients_fat_in_use: Column, ingredients_fat_sap: Column, gram_per_mg: Number) -> Number:  # fmt: skip
    """KOH that the fat in 1 g of a milk would take; it never adds alkali. [g/g] [mg KOH/g] [g/mg] -> [g/g]."""
    return pick(ingredients_fat_in_use, ingredient_at) * pick(ingredients_fat_sap, ingredient_at) * gram_per_mg


@LIQUIDS.step("g/g")
def liquid_fat_need(liquid_share: Number, fat_need: Number) -> Number:
    """KOH that a milk's fat would take, per gram of liquid. [g/g] [g/g] -> [g/g]."""
    return liquid_share * fat_need


@LIQUIDS.step("g/g")
def other_fat_need(other_part: Number, fat_need: Number) -> Number:
    """KOH that an additive's fat would take, per gram of oils. [g/g] [g/g] -> [g/g]."""
    return other_part * fat_need


@LIQUIDS.step("mL/g")
def oil_ml(oil_part: Number, density: Number) -> Number:
    """Volume of the line's oil per gram of oils. [g/g] [g/mL] -> [mL/g]."""
    return oil_part / density


@LIQUIDS.step("mL/g")
def other_ml(other_part: Number, density: Number) -> Number:
    """Volume of the line's acid, additive, fragrance or colour per gram of oils. [g/g] [g/mL] -> [mL/g]."""
    return other_part / density


@LIQUIDS.step("")
def each_per_bar(amount: Number, unit_at: Number, units_per_bar: Column) -> Number:
    """Pieces for each bar cut. -> [-]."""
    return otherwise(amount, 0) * pick(units_per_bar, unit_at)


@LIQUIDS.step("")
def each_per_batch(amount: Number, unit_at: Number, units_per_batch: Column) -> Number:
    """Pieces for the batch. -> [-]."""
    return otherwise(amount, 0) * pick(units_per_batch, unit_at)


@LIQUIDS.step("text")
def stage_in_use(stage: Text, kind: Text) -> Text:
    """Stage, or the usual one of its kind where it is blank. -> [-]; our own rule."""
    usual = when(same(kind, OIL), "oils", when(same(kind, LIQUID), "lye liquid", "trace"))
    return otherwise(stage, when(same(kind, PACKAGING), "packing", usual))


@LIQUIDS.step("text")
def stage_key(recipe_at: Number, stage_in_use: Text) -> Text:
    """Recipe and stage as one word. -> [-]."""
    return tag(recipe_at, stage_in_use)


@LIQUIDS.step("")
def order(stage_key: Text, place: Number, kind: Text, lines_stage_key: Column, line_count: Number) -> Number:
    """Order of weighing: stages as they first appear in the recipe, packing last. -> [-]; our own rule."""
    last = when(same(kind, PACKAGING), line_count, 0)
    return (last + match(stage_key, lines_stage_key)) * line_count + place


@LIQUIDS.step("")
def rank(recipe_at: Number, order: Number, lines_recipe_at: Column, lines_order: Column) -> Number:
    """Place of the line on the recipe's card: 1, 2, ... -> [-]."""
    return count_up_to(lines_recipe_at, recipe_at, lines_order, order)


@LIQUIDS.step("text")
def card_key(recipe_at: Number, rank: Number) -> Text:
    """Recipe and place on the card as one word. -> [-]."""
    return tag(recipe_at, rank)


@LIQUIDS.step("")
def changed(ingredient_at: Number, ingredients_changed: Column) -> Number:
    """1 when the ingredient's Kind or Base was changed since the engine ran, or it is unknown. -> [-]."""
    return pick(ingredients_changed, ingredient_at, 1)


# --- the alkali ---


@RECIPES.step("g/g")
def oils_need(place: Number, lines_recipe_at: Column, lines_oil_need: Column) -> Number:
    """KOH that 1 g of the oils needs. [g/g] -> [g/g]."""
    return total_where(lines_recipe_at, place, lines_oil_need)


@RECIPES.step("g/g")
def acids_need(place: Number, lines_recipe_at: Column, lines_acid_need: Column) -> Number:
    """KOH that the acids take per gram of oils. [g/g] -> [g/g]."""
    return total_where(lines_recipe_at, place, lines_acid_need)


@RECIPES.step("g/g")
def sour_liquid_need(place: Number, lines_recipe_at: Column, lines_sour_need: Column) -> Number:
    """KOH that 1 g of the liquid takes. [g/g] -> [g/g]."""
    return total_where(lines_recipe_at, place, lines_sour_need)


@RECIPES.step("")
def first_at(alkali: Text, usual_alkali: Text, ingredients_ingredient: Column) -> Number:
    """Row of the alkali on sheet Ingredients. -> [-]."""
    return match(otherwise(alkali, usual_alkali), ingredients_ingredient)


@RECIPES.step("")
def second_at(second_alkali: Text, ingredients_ingredient: Column) -> Number:
    """Row of the second alkali on sheet Ingredients, 0 where there is none. -> [-]."""
    return match(otherwise(second_alkali, ""), ingredients_ingredient)


@RECIPES.step("text")
def first_base(first_at: Number, ingredients_base: Column) -> Text:
    """Base of the alkali. -> [-]."""
    return pick(ingredients_base, first_at, "")


@RECIPES.step("%")
def second_share(second_at: Number, koh_share: Number, first_base: Text) -> Number:
    """Share of the need that the second alkali meets. [-] -> [-]."""
    koh = otherwise(koh_share, 0)
    return when(second_at > 0, when(same(first_base, "KOH"), 1 - koh, koh), 0)


@RECIPES.step("g/g")
def first_base_per_koh(second_share: Number, first_at: Number, ingredients_base_per_koh: Column) -> Number:
    """Pure base of the first alkali for 1 g of KOH need. [-] [g/g] -> [g/g]."""
    return (1 - second_share) * pick(ingredients_base_per_koh, first_at)


@RECIPES.step("g/g")
def second_base_per_koh(second_share: Number, second_at: Number, ingredients_base_per_koh: Column) -> Number:
    """Pure base of the second alkali for 1 g of KOH need. [-] [g/g] -> [g/g]."""
    return second_share * pick(ingredients_base_per_koh, second_at)


@RECIPES.step("g/g")
def first_per_koh(first_base_per_koh: Number, first_at: Number, ingredients_purity_in_use: Column) -> Number:
    """First alkali to weigh for 1 g of KOH need. [g/g] [g/g] -> [g/g]; base / purity."""
    return first_base_per_koh / pick(ingredients_purity_in_use, first_at, 1)


@RECIPES.step("g/g")
def second_per_koh(second_base_per_koh: Number, second_at: Number, ingredients_purity_in_use: Column) -> Number:
    """Second alkali to weigh for 1 g of KOH need. [g/g] [g/g] -> [g/g]; base / purity."""
    return second_base_per_koh / pick(ingredients_purity_in_use, second_at, 1)


@RECIPES.step("g/g")
def solution_water_per_koh(
    first_per_koh: Number, second_per_koh: Number, first_at: Number, second_at: Number, ingredients_water_in_use: Column
) -> Number:
    """Water that the alkalis bring themselves for 1 g of KOH need. [g/g] [g/g] [g/g] -> [g/g]."""
    first = first_per_koh * pick(ingredients_water_in_use, first_at)
    return first + second_per_koh * pick(ingredients_water_in_use, second_at)


@RECIPES.step("g/g")
def dry_per_koh(first_per_koh: Number, second_per_koh: Number, solution_water_per_koh: Number) -> Number:
    """Dry alkali for 1 g of KOH need: as weighed, less its water. [g/g] [g/g] [g/g] -> [g/g]."""
    return first_per_koh + second_per_koh - solution_water_per_koh


# --- the liquid: weighed-in liquid = fixed + by_need x KOH need, whichever of the three columns is filled ---


@RECIPES.step("g/g")
def liquid_per_alkali(lye_concentration: Number, liquid_to_alkali: Number) -> Number:
    """Total liquid for 1 g of dry alkali, 0 when it is not set that way. [g/g] [g/g] -> [g/g]."""
    strength = otherwise(lye_concentration, 1)
    return when(given(lye_concentration), per(1 - strength, strength), otherwise(liquid_to_alkali, 0))


@RECIPES.step("g/g")
def liquid_fixed(liquid_per_alkali: Number, liquid_of_oils: Number, liquids_written: Number) -> Number:
    """Liquid that does not depend on the alkali: of oils, or as written. [g/g] [g/g] -> [g/g]."""
    return when(liquid_per_alkali > 0, 0, otherwise(liquid_of_oils, liquids_written))


@RECIPES.step("g/g")
def liquid_by_need(
    liquid_per_alkali: Number, dry_per_koh: Number, solution_water_per_koh: Number, liquid_of_oils: Number
) -> Number:
    """Liquid to weigh for 1 g of KOH need, less the alkalis' own water. [g/g] x 3 -> [g/g]."""
    counts_water = either(liquid_per_alkali > 0, given(liquid_of_oils))
    return when(counts_water, liquid_per_alkali * dry_per_koh - solution_water_per_koh, 0)


@RECIPES.step("g/g")
def need_before_liquid(oils_need: Number, superfat: Number, acids_need: Number) -> Number:
    """KOH need that is met, sour liquids left out. [g/g] [-] [g/g] -> [g/g]; superfat is left out of the oils' need only."""
    return oils_need * (1 - superfat) + acids_need


@RECIPES.step("g/g")
def liquid_part(
    liquid_fixed: Number, liquid_by_need: Number, need_before_liquid: Number, sour_liquid_need: Number
) -> Number:
    """Liquid weighed in per gram of oils. [g/g] x 4 -> [g/g]; a sour liquid needs alkali and so more liquid: solved."""
    return per(liquid_fixed + liquid_by_need * need_before_liquid, 1 - liquid_by_need * sour_liquid_need)


@RECIPES.step("g/g")
def koh_met(need_before_liquid: Number, sour_liquid_need: Number, liquid_part: Number) -> Number:
    """KOH need that is met per gram of oils. [g/g] x 3 -> [g/g]."""
    return need_before_liquid + sour_liquid_need * liquid_part


@RECIPES.step("g/g")
def first_part(koh_met: Number, first_per_koh: Number) -> Number:
    """First alkali to weigh per gram of oils. [g/g] [g/g] -> [g/g]."""
    return koh_met * first_per_koh


@RECIPES.step("g/g")
def second_part(koh_met: Number, second_per_koh: Number) -> Number:
    """Second alkali to weigh per gram of oils. [g/g] [g/g] -> [g/g]."""
    return koh_met * second_per_koh


@RECIPES.step("g/g")
def alkali_part(first_part: Number, second_part: Number) -> Number:
    """Alkali to weigh per gram of oils. [g/g] [g/g] -> [g/g]."""
    return first_part + second_part


@RECIPES.step("g/g")
def solution_water_part(koh_met: Number, solution_water_per_koh: Number) -> Number:
    """Water that the alkalis bring per gram of oils. [g/g] [g/g] -> [g/g]."""
    return koh_met * solution_water_per_koh


@RECIPES.step("g/g")
def dry_part(alkali_part: Number, solution_water_part: Number) -> Number:
    """Dry alkali per gram of oils. [g/g] [g/g] -> [g/g]."""
    return alkali_part - solution_water_part


@RECIPES.step("g/g")
def liquid_total_part(liquid_part: Number, solution_water_part: Number) -> Number:
    """Total liquid per gram of oils. [g/g] [g/g] -> [g/g]."""
    return liquid_part + solution_water_part


@RECIPES.step("%")
def lye_strength(dry_part: Number, liquid_total_part: Number) -> Number:
    """Lye concentration: dry alkali in dry alkali and total liquid. [g/g] [g/g] -> [-]."""
    return per(dry_part, dry_part + liquid_total_part)


# --- the batter as a mixture ---


@RECIPES.step("g/g")
def naoh_part(koh_met: Number, first_base: Text, first_base_per_koh: Number, second_base_per_koh: Number) -> Number:
    """Pure NaOH per gram of oils. [g/g] x 3 -> [g/g]."""
    return koh_met * when(same(first_base, "NaOH"), first_base_per_koh, second_base_per_koh)


@RECIPES.step("g/g")
def koh_part(koh_met: Number, first_base: Text, first_base_per_koh: Number, second_base_per_koh: Number) -> Number:
    """Pure KOH per gram of oils. [g/g] x 3 -> [g/g]."""
    return koh_met * when(same(first_base, "NaOH"), second_base_per_koh, first_base_per_koh)


@RECIPES.step("g/g")
def pure_part(naoh_part: Number, koh_part: Number) -> Number:
    """Pure base per gram of oils. [g/g] [g/g] -> [g/g]."""
    return naoh_part + koh_part


@RECIPES.step("%")
def solution_strength(pure_part: Number, alkali_part: Number, liquid_part: Number) -> Number:
    """Pure base in all alkali and liquid. [g/g] x 3 -> [-]."""
    return per(pure_part, alkali_part + liquid_part)


@RECIPES.step("")
def naoh_row(solution_strength: Number, naohdensity_strength: Column, naoh_rows_but_one: Number) -> Number:
    """Row of the NaOH density table at or below this strength. -> [-]."""
    return smaller(row_below(solution_strength, naohdensity_strength), naoh_rows_but_one)


@RECIPES.step("g/mL")
def naoh_density(
    solution_strength: Number, naoh_row: Number, naohdensity_strength: Column, naohdensity_density: Column
) -> Number:
    """Density of NaOH solution, linear between table rows. [-] [g/mL] -> [g/mL]; sheet of NaOH densities."""
    return between(solution_strength, naoh_row, naohdensity_strength, naohdensity_density)


@RECIPES.step("")
def koh_row(solution_strength: Number, kohdensity_strength: Column, koh_rows_but_one: Number) -> Number:
    """Row of the KOH density table at or below this strength. -> [-]."""
    return smaller(row_below(solution_strength, kohdensity_strength), koh_rows_but_one)


@RECIPES.step("g/mL")
def koh_density(solution_strength: Number, koh_row: Number, kohdensity_strength: Column, kohdensity_density: Column) -> Number:
    """Density of KOH solution, linear between table rows. [-] [g/mL] -> [g/mL]; sheet of KOH densities."""
    return between(solution_strength, koh_row, kohdensity_strength, kohdensity_density)


def between(value: Number, row: Number, knots: Column, heights: Column) -> Number:
    """Return the height at a value, linear between a row of a table and the next.

    >>> between(0.25, 1, [0.0, 0.5], [1.0, 1.2])
    1.1
    """
    slope = per(at(heights, row + 1) - at(heights, row), at(knots, row + 1) - at(knots, row))
    return at(heights, row) + (value - at(knots, row)) * slope


@RECIPES.step("mL/g")
def solution_ml(
    alkali_part: Number, liquid_part: Number, naoh_part: Number, koh_part: Number, naoh_density: Number, koh_density: Number
) -> Number:
    """Volume of all alkali and liquid as one solution, volumes weighted by base mass. [g/g] x 4, [g/mL] x 2 -> [mL/g]."""
    mass_over_density = per(naoh_part, naoh_density) + per(koh_part, koh_density)
    return per((alkali_part + liquid_part) * mass_over_density, naoh_part + koh_part)


@RECIPES.step("mL/g")
def oils_ml(place: Number, lines_recipe_at: Column, lines_oil_ml: Column) -> Number:
    """Volume of 1 g of the oils. [mL/g] -> [mL/g]."""
    return total_where(lines_recipe_at, place, lines_oil_ml)


@RECIPES.step("mL/g")
def others_ml(place: Number, lines_recipe_at: Column, lines_other_ml: Column) -> Number:
    """Volume of everything else per gram of oils. [mL/g] -> [mL/g]."""
    return total_where(lines_recipe_at, place, lines_other_ml)


@RECIPES.step("mL/g")
def batter_ml_part(oils_ml: Number, solution_ml: Number, others_ml: Number) -> Number:
    """Volume of batter per gram of oils: volumes add. [mL/g] x 3 -> [mL/g]."""
    return oils_ml + solution_ml + others_ml


@RECIPES.step("g/g")
def others_part(place: Number, lines_recipe_at: Column, lines_other_part: Column) -> Number:
    """Everything else per gram of oils. [g/g] -> [g/g]."""
    return total_where(lines_recipe_at, place, lines_other_part)


@RECIPES.step("g/g")
def batter_part(alkali_part: Number, liquid_part: Number, others_part: Number) -> Number:
    """Batter per gram of oils. [g/g] x 3 -> [g/g]."""
    return 1 + alkali_part + liquid_part + others_part


# --- the pot, the fat that milk brings, the water that dries off ---


@RECIPES.step("g/g")
def plain_water_part(liquids_written: Number, liquid_part: Number) -> Number:
    """Plain water per gram of oils where no liquid is named. [g/g] [g/g] -> [g/g]."""
    return when(liquids_written > 0, 0, liquid_part)


@RECIPES.step("g/g")
def pot_water_part(
    place: Number, liquid_part: Number, plain_water_part: Number, solution_water_part: Number,
    lines_recipe_at: Column, lines_pot_water: Column,
) -> Number:  # fmt: skip
    """Water in the lye pot per gram of oils. [g/g] x 4 -> [g/g]."""
    return liquid_part * total_where(lines_recipe_at, place, lines_pot_water) + plain_water_part + solution_water_part


@RECIPES.step("%")
def pot_strength(pure_part: Number, pot_water_part: Number) -> Number:
    """Pure base in pure base and the water of the lye pot. [g/g] [g/g] -> [-]."""
    return per(pure_part, pure_part + pot_water_part)


@RECIPES.step("g/g")
def milk_fat_need(
    place: Number, liquid_part: Number, lines_recipe_at: Column, lines_liquid_fat_need: Column, lines_other_fat_need: Column
) -> Number:
    """KOH that the fat of milks would take per gram of oils. [g/g] x 3 -> [g/g]."""
    milk = liquid_part * total_where(lines_recipe_at, place, lines_liquid_fat_need)
    return milk + total_where(lines_recipe_at, place, lines_other_fat_need)


@RECIPES.step("%")
def superfat_effective(oils_need: Number, superfat: Number, milk_fat_need: Number) -> Number:
    """Superfat with the fat of milks counted in. [g/g] [-] [g/g] -> [-]."""
    return 1 - per(oils_need * (1 - superfat), oils_need + milk_fat_need)


@RECIPES.step("g/g")
def water_part(
    place: Number, liquid_part: Number, plain_water_part: Number, solution_water_part: Number,
    lines_recipe_at: Column, lines_liquid_water: Column,
) -> Number:  # fmt: skip
    """Water in the batter per gram of oils. [g/g] x 4 -> [g/g]."""
    return liquid_part * total_where(lines_recipe_at, place, lines_liquid_water) + plain_water_part + solution_water_part


@RECIPES.step("%")
def cure_loss_in_use(cure_loss: Number, water_part: Number, batter_part: Number, cure_water_lost: Number) -> Number:
    """Cure loss, estimated from the water in the batter where it is blank. [-] [g/g] [g/g] [-] -> [-]; common practice, no source."""
    return otherwise(cure_loss, cure_water_lost * per(water_part, batter_part))


@RECIPES.step("days")
def cure_days_in_use(cure_days: Number, cure_days_usual: Number) -> Number:
    """Days of cure. [d] [d] -> [d]."""
    return otherwise(cure_days, cure_days_usual)


@RECIPES.step("")
def changed_recipe(
    place: Number, first_at: Number, second_at: Number, lines_recipe_at: Column, lines_changed: Column,
    ingredients_changed: Column,
) -> Number:  # fmt: skip
    """More than 0 when something in the recipe needs the engine to run again. -> [-]."""
    alkalis = pick(ingredients_changed, first_at, 1) + pick(ingredients_changed, second_at)
    return total_where(lines_recipe_at, place, lines_changed) + alkalis


STEPS: tuple[Step, ...] = (
    *LINES.steps,
    *OWN_SIZE.steps,
    *PARTS.steps,
    *TOTALS.steps,
    *SHARES.steps,
    *LIQUIDS.steps,
    *RECIPES.steps,
)
