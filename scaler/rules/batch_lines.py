"""Everything weighed or counted for a batch: two alkalis, plain water, then a row for each line of the longest recipe.

A row that a batch does not need weighs nothing. Of each row it is known how much KOH its weight stands for, at least, at
most and in the middle of its range: alkalis bring it, oils and acids need it.
"""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, given, larger, round_down, round_half_up, round_up, same, when
from scaler.formula.searching import at, match, pick, tag, translated
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import count_where, nth_smallest, total_where
from scaler.model.records import ACID, ALKALI, BLEND, LIQUID, OIL, PACKAGING
from scaler.rules.plain import added, less, picked, summed

LINES = StepGroup("batch_lines")
COSTED = StepGroup("batch_lines", when="has_cost")
PLACES = StepGroup("batch_lines", closed=0)
SUMS = StepGroup("batches")

BEFORE_LINES = 3
"""Rows of a batch before its recipe's lines: the two alkalis and plain water."""


@LINES.step("")
def batch_recipe(batch_at: Number, batches_recipe_at: Column) -> Number:
    """Row of the batch's recipe on sheet Recipes. -> [-]."""
    return at(batches_recipe_at, batch_at)


@PLACES.step("")
def line_at(batch_recipe: Number, line_place: Number, lines_card_key: Column) -> Number:
    """Row of the line on sheet Recipe lines, 0 for alkalis, water and rows that are not needed. -> [-]."""
    return when(line_place > 0, match(tag(batch_recipe, line_place), lines_card_key), 0)


@PLACES.step("")
def alkali_at(slot: Number, batch_recipe: Number, two: Number) -> Number:
    """Row of the alkali among those of all recipes, 0 for other rows. -> [-]."""
    return when(slot <= two, (batch_recipe - 1) * two + slot, 0)


@PLACES.step("")
def ingredient_at(
    alkali_at: Number, line_at: Number, lines_ingredient_at: Column, alkalis_ingredient_at: Column
) -> Number:
    """Row of the thing on sheet Ingredients, 0 for plain water and rows that are not needed. -> [-]."""
    return when(alkali_at > 0, at(alkalis_ingredient_at, alkali_at), pick(lines_ingredient_at, line_at))


@LINES.step("g/g")
def part(
    slot: Number, alkali_at: Number, line_at: Number, batch_recipe: Number, lines_part: Column, alkalis_per_koh: Column,
    recipes_koh_met: Column, recipes_plain_water_part: Column, two: Number,
) -> Number:  # fmt: skip
    """The row per gram of oils. [g/g] x 4 -> [g/g]."""
    water = when(same(slot, 1 + two), at(recipes_plain_water_part, batch_recipe), pick(lines_part, line_at))
    alkali = at(recipes_koh_met, batch_recipe) * at(alkalis_per_koh, alkali_at)
    return when(alkali_at > 0, alkali, water)


@LINES.step("text")
def kind(
    ingredient_at: Number, slot: Number, part: Number, line_at: Number, ingredients_kind: Column, lines_kind: Column,
    two: Number,
) -> Text:  # fmt: skip
    """Kind of the thing; plain water is a liquid. -> [-]."""
    named = pick(ingredients_kind, ingredient_at, pick(lines_kind, line_at, ""))
    return when(all_of(same(slot, 1 + two), part > 0), LIQUID, named)


@LINES.step("text")
def ingredient(
    ingredient_at: Number, kind: Text, line_at: Number, ingredients_ingredient: Column, lines_ingredient: Column
) -> Text:
    """Name of the thing, or of the blend. -> [-]."""
    named = when(same(kind, LIQUID), "Water", pick(lines_ingredient, line_at, ""))
    return pick(ingredients_ingredient, ingredient_at, named)


@LINES.step("text")
def stage(line_at: Number, kind: Text, lines_stage_in_use: Column) -> Text:
    """Stage of the row. -> [-]."""
    return pick(
        lines_stage_in_use, line_at, when(same(kind, ALKALI), "lye", when(same(kind, LIQUID), "lye liquid", ""))
    )


@LINES.step("g")
def g(batch_at: Number, part: Number, batches_oils_g: Column) -> Number:
    """Weight, exact. [g] [g/g] -> [g]."""
    return at(batches_oils_g, batch_at) * part


@LINES.step("g")
def division_g(
    ingredient_at: Number, line_at: Number, lines_blend_share: Column, ingredients_division_g: Column,
    workshop_division: Number,
) -> Number:  # fmt: skip
    """Division of the scale; of an oil in a blend its share of the one that the blend is weighed to. [g] [g/g] [g] -> [g]."""
    share = pick(lines_blend_share, line_at)
    return when(share > 0, share * workshop_division, pick(ingredients_division_g, ingredient_at, workshop_division))


@LINES.step("g")
def card_g(
    g: Number, batch_at: Number, line_at: Number, lines_blend_part: Column, lines_blend_share: Column, batches_oils_g: Column,
) -> Number:  # fmt: skip
    """What the card weighs, exact: a blend, and not its oils. [g] [g/g] -> [g]."""
    blended = at(batches_oils_g, batch_at) * pick(lines_blend_part, line_at)
    return when(pick(lines_blend_share, line_at) > 0, 0, g + blended)


@LINES.step("g")
def weigh_g(
    kind: Text, g: Number, card_g: Number, division_g: Number, ingredient_at: Number, ingredients_never_up: Column,
    batch_at: Number, batches_use_up_at: Column,
) -> Number:  # fmt: skip
    """Weight to the scale: half up; an acid up, alkali, a fragrance with a limit and what is used up down. [g] [g] -> [g].

    An oil of a blend has its share of what is weighed of the blend: its division is its share of the blend's.
    """
    divisions = larger(card_g, g) / division_g
    used_up = all_of(card_g > 0, ingredient_at > 0, same(at(batches_use_up_at, batch_at), ingredient_at))
    down = any_of(pick(ingredients_never_up, ingredient_at) > 0, used_up)
    rounded = when(down, round_down(divisions), round_half_up(divisions))
    return when(same(kind, ACID), round_up(divisions), rounded) * division_g


@LINES.step("")
def line_count_each(
    line_at: Number, batch_at: Number, lines_each_per_bar: Column, lines_each_per_batch: Column, batches_bars: Column
) -> Number:
    """Pieces of a counted thing. -> [-]."""
    return pick(lines_each_per_bar, line_at) * at(batches_bars, batch_at) + pick(lines_each_per_batch, line_at)


@LINES.step("")
def has_cost(ingredient_at: Number, g: Number, line_count_each: Number, ingredients_is_priced: Column) -> Number:
    """1 where its cost is known: it is priced, or nothing is taken of it, or it is plain water. [g] [-] -> [-]."""
    taken = all_of(ingredient_at > 0, g + line_count_each > 0)
    return when(taken, at(ingredients_is_priced, ingredient_at), 1)


@COSTED.step("money")
def cost(
    ingredient_at: Number, kind: Text, g: Number, line_count_each: Number, ingredients_unit_cost: Column
) -> Number:
    """Cost, on exact grams; plain water costs nothing. [money/g] [g] -> [money]."""
    amount = when(same(kind, PACKAGING), line_count_each, g)
    return when(amount > 0, pick(ingredients_unit_cost, ingredient_at), 0) * amount


@LINES.step("text")
def part_key(batch_at: Number, kind: Text, koh_high: Number) -> Text:
    """Batch and what it does in the balance of alkali: alkali, oil, or acid for whatever else takes alkali. -> [-]."""
    named = any_of(same(kind, ALKALI), same(kind, OIL), same(kind, PACKAGING), same(kind, BLEND))
    role = when(named, kind, when(koh_high > 0, ACID, ""))
    return tag(batch_at, role)


# --- the KOH that a gram stands for ---


LINES.add("koh_use", "g/g", picked("ingredient_at", "ingredients_koh_use", "KOH that 1 g of it brings or needs."))
LINES.add("koh_low", "g/g", picked("ingredient_at", "ingredients_koh_low", "KOH that 1 g of it brings or needs at least."))  # fmt: skip
LINES.add("koh_high", "g/g", picked("ingredient_at", "ingredients_koh_high", "KOH that 1 g of it brings or needs at most."))  # fmt: skip


@LINES.step("g")
def koh_least(g: Number, division_g: Number, koh_low: Number) -> Number:
    """KOH that it stands for at least: one division less, at the low end. [g] [g] [g/g] -> [g]."""
    return larger(g - division_g, 0) * koh_low


@LINES.step("g")
def koh_most(g: Number, division_g: Number, koh_high: Number) -> Number:
    """KOH that it stands for at most: one division more where it is weighed, at the high end. [g] [g] [g/g] -> [g]."""
    return when(g > 0, g + division_g, 0) * koh_high


# --- sums over a batch ---


SUMS.add("lines_g", "g", summed("place", "batch_lines_batch_at", "batch_lines_g", "Everything weighed."))
SUMS.add("mass_balance_g", "g", less("lines_g", "batter_g", "All lines less the batter: must be 0. [g] [g] -> [g]."))


@SUMS.step("g")
def alkali_g(place: Number, batch_lines_part_key: Column, batch_lines_g: Column) -> Number:
    """All alkalis as weighed, exact. [g] -> [g]."""
    return total_where(batch_lines_part_key, tag(place, ALKALI), batch_lines_g)


@SUMS.step("mL")
def volume_balance_ml(oils_g: Number, recipe_at: Number, recipes_batter_ml_part: Column, batter_ml: Number) -> Number:
    """All volumes less the batter: must be 0. [g] [mL/g] [mL] -> [mL]."""
    return oils_g * pick(recipes_batter_ml_part, recipe_at) - batter_ml


@SUMS.step("g")
def alkali_weigh_g(place: Number, batch_lines_part_key: Column, batch_lines_weigh_g: Column) -> Number:
    """All alkalis to weigh. [g] -> [g]."""
    return total_where(batch_lines_part_key, tag(place, ALKALI), batch_lines_weigh_g)


@SUMS.step("")
def first_line(place: Number, batch_lines_key: Column) -> Number:
    """Row of the alkali among the batch's lines; the second alkali is on the next. -> [-]."""
    return match(tag(place, 1), batch_lines_key)


SUMS.add("first_name", "text", picked("first_line", "batch_lines_ingredient", "Name of the alkali.", ""))


@SUMS.step("text")
def second_name(first_line: Number, batch_lines_ingredient: Column) -> Text:
    """Name of the second alkali. -> [-]."""
    return pick(batch_lines_ingredient, first_line + 1, "")


SUMS.add("first_g", "g", picked("first_line", "batch_lines_g", "The alkali, exact."))


@SUMS.step("g")
def second_g(first_line: Number, batch_lines_g: Column) -> Number:
    """The second alkali, exact. [g] -> [g]."""
    return pick(batch_lines_g, first_line + 1)


SUMS.add("first_weigh_g", "g", picked("first_line", "batch_lines_weigh_g", "The alkali to weigh."))
SUMS.add("first_division_g", "g", picked("first_line", "batch_lines_division_g", "Division of the alkali's scale.", 1))


@SUMS.step("g")
def second_division_g(first_line: Number, batch_lines_division_g: Column) -> Number:
    """Division of the second alkali's scale. [g] -> [g]."""
    return pick(batch_lines_division_g, first_line + 1, 1)


@SUMS.step("")
def costed(
    place: Number, batch_lines_batch_at: Column, batch_lines_has_cost: Column, makeable: Number,
    money_fault_key: Number, costs_money_fault_key: Column, big: Number,
) -> Number:  # fmt: skip
    """1 where the batch may be made and everything in it has a cost. -> [-]."""
    without = count_where(batch_lines_batch_at, place) - total_where(batch_lines_batch_at, place, batch_lines_has_cost)
    known = all_of(same(money_fault_key, big), same(nth_smallest(costs_money_fault_key, 1, big), big))
    return when(all_of(same(without, 0), same(makeable, 1), known), 1, 0)


# --- the order of a card ---


@PLACES.step("")
def listed(weight_words: Text) -> Number:
    """1 where the row is weighed or counted. -> [-]."""
    return when(given(weight_words), 1, 0)


@PLACES.step("")
def listed_before(listed: Number, slot: Number, line_at: Number, lines_before_lye: Column, two: Number) -> Number:
    """1 for a row that is in the jug before the alkali: plain water, and lines that say so. -> [-]."""
    return when(same(slot, 1 + two), listed, listed * pick(lines_before_lye, line_at))


SUMS.add("before_alkali", "", summed("place", "batch_lines_batch_at", "batch_lines_listed_before",
    "Rows of the card above the alkali."))  # fmt: skip


@SUMS.step("")
def alkalis_listed(place: Number, batch_lines_part_key: Column, batch_lines_listed: Column) -> Number:
    """Alkalis that the card weighs. -> [-]."""
    return total_where(batch_lines_part_key, tag(place, ALKALI), batch_lines_listed)


@SUMS.step("")
def water_listed(first_line: Number, batch_lines_listed: Column, two: Number) -> Number:
    """1 where the card weighs plain water. -> [-]."""
    return pick(batch_lines_listed, first_line + two)


@SUMS.step("")
def liquids_from(water_listed: Number, two: Number) -> Number:
    """Lines of the batch above the first that the card shows, where it begins with liquids. -> [-]."""
    return 1 + two - water_listed


SUMS.add("rest_from", "", less("liquids_from", "alkalis_listed",
    "Lines of the batch further down than their rows of the card, below the alkalis. -> [-]."))  # fmt: skip
SUMS.add("alkalis_to", "", added("before_alkali", "alkalis_listed",
    "Rows of the card down to the last alkali. -> [-]."))  # fmt: skip


@PLACES.step("")
def card_row(
    slot: Number, batch_at: Number, batches_before_alkali: Column, batches_alkalis_to: Column,
    batches_liquids_from: Column, batches_rest_from: Column, batch_lines_key: Column,
) -> Number:  # fmt: skip
    """Row of this table that stands on this row of the card: liquids, alkalis, the rest; 0 for none. -> [-]."""
    before = at(batches_before_alkali, batch_at)
    below = when(slot <= at(batches_alkalis_to, batch_at), 0 - before, at(batches_rest_from, batch_at))
    moved = when(slot <= before, at(batches_liquids_from, batch_at), below)
    return match(tag(batch_at, slot + moved), batch_lines_key)


@LINES.step("text")
def card_stage(card_row: Number, batch_lines_stage: Column, batch_lines_listed: Column) -> Text:
    """Stage of what stands on this row of the card, blank where nothing does. -> [-]."""
    return when(pick(batch_lines_listed, card_row) > 0, pick(batch_lines_stage, card_row, ""), "")


@LINES.step("text")
def stage_words(
    batch_at: Number, slot: Number, card_stage: Text, batch_lines_key: Column, batch_lines_card_stage: Column
) -> Text:
    """The stage, where it is another than on the row above. -> [-]."""
    above = translated(tag(batch_at, slot - 1), batch_lines_key, batch_lines_card_stage, "")
    return when(same(above, card_stage), "", card_stage)


STEPS: tuple[Step, ...] = (*PLACES.steps, *LINES.steps, *COSTED.steps, *SUMS.steps)
