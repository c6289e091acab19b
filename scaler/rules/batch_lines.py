"""The lines of each batch: a slot for each line of the longest recipe."""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    Text,
    all_of,
    divide,
    match,
    pick,
    round_down,
    round_half_up,
    round_up,
    same,
    tag,
    total_where,
    when,
)
from scaler.formula.steps import Step, StepGroup
from scaler.model.records import ACID, FRAGRANCE, LIQUID, OIL, PACKAGING

SLOTS = StepGroup("slots")


# --- the lines of each batch: a slot for each line of the longest recipe ---


@SLOTS.step("")
def batch_recipe(batch_at: Number, batches_recipe_at: Column) -> Number:
    """Row of the batch's recipe on sheet Recipes. -> [-]."""
    return pick(batches_recipe_at, batch_at)


@SLOTS.step("text")
def key(batch_at: Number, slot: Number) -> Text:
    """Batch and line as one word. -> [-]."""
    return tag(batch_at, slot)


@SLOTS.step("")
def line_at(batch_recipe: Number, slot: Number, lines_card_key: Column) -> Number:
    """Row of the line on sheet Recipe lines, 0 for a slot that this recipe does not need. -> [-]."""
    return match(tag(batch_recipe, slot), lines_card_key)


@SLOTS.step("")
def ingredient_at(line_at: Number, lines_ingredient_at: Column) -> Number:
    """Row of the ingredient on sheet Ingredients. -> [-]."""
    return pick(lines_ingredient_at, line_at)


@SLOTS.step("text")
def ingredient(ingredient_at: Number, ingredients_ingredient: Column) -> Text:
    """Name of the ingredient. -> [-]."""
    return pick(ingredients_ingredient, ingredient_at, "")


@SLOTS.step("text")
def kind(line_at: Number, lines_kind: Column) -> Text:
    """Kind of the ingredient. -> [-]."""
    return pick(lines_kind, line_at, "")


@SLOTS.step("text")
def stage(line_at: Number, lines_stage_in_use: Column) -> Text:
    """Stage of the line. -> [-]."""
    return pick(lines_stage_in_use, line_at, "")


@SLOTS.step("g")
def batch_oils_g(batch_at: Number, batches_oils_g: Column) -> Number:
    """Oils of the batch. [g] -> [g]."""
    return pick(batches_oils_g, batch_at)


@SLOTS.step("g/g")
def part(
    line_at: Number, kind: Text, batch_recipe: Number, lines_oil_part: Column, lines_liquid_share: Column,
    lines_other_part: Column, recipes_liquid_part: Column,
) -> Number:  # fmt: skip
    """The line per gram of oils. [g/g] x 4 -> [g/g]."""
    liquid = pick(lines_liquid_share, line_at) * pick(recipes_liquid_part, batch_recipe)
    return when(
        same(kind, OIL),
        pick(lines_oil_part, line_at),
        when(same(kind, LIQUID), liquid, pick(lines_other_part, line_at)),
    )


@SLOTS.step("g")
def g(batch_oils_g: Number, part: Number) -> Number:
    """Weight of the line, exact. [g] [g/g] -> [g]."""
    return batch_oils_g * part


@SLOTS.step("g")
def division_g(ingredient_at: Number, ingredients_division_g: Column) -> Number:
    """Division of the scale. [g] -> [g]."""
    return pick(ingredients_division_g, ingredient_at, 1)


@SLOTS.step("%")
def limit(ingredient_at: Number, ingredients_limit_in_use: Column) -> Number:
    """Highest share of the cured bar, 0 where there is no limit. [-] -> [-]; supplier's limit."""
    return pick(ingredients_limit_in_use, ingredient_at)


@SLOTS.step("g")
def weigh_g(kind: Text, g: Number, division_g: Number, limit: Number) -> Number:
    """Weight to the scale division: half up, an acid up, a fragrance with a limit down. [g] [g] -> [g]."""
    divisions = g / division_g
    near = when(all_of(limit > 0, same(kind, FRAGRANCE)), round_down(divisions), round_half_up(divisions))
    return when(same(kind, ACID), round_up(divisions), near) * division_g


@SLOTS.step("")
def line_count_each(
    line_at: Number, batch_at: Number, lines_each_per_bar: Column, lines_each_per_batch: Column, batches_bars: Column
) -> Number:
    """Pieces of a counted thing. -> [-]."""
    return pick(lines_each_per_bar, line_at) * pick(batches_bars, batch_at) + pick(lines_each_per_batch, line_at)


@SLOTS.step("money")
def cost(
    ingredient_at: Number, kind: Text, g: Number, line_count_each: Number, ingredients_unit_cost: Column
) -> Number:
    """Cost of the line, on exact grams. [money/g] [g] -> [money]."""
    return pick(ingredients_unit_cost, ingredient_at) * when(same(kind, PACKAGING), line_count_each, g)


@SLOTS.step("mL")
def ml(g: Number, ingredient_at: Number, kind: Text, ingredients_density_in_use: Column) -> Number:
    """Volume of an oil or anything that is not in the lye solution. [g] [g/mL] -> [mL]."""
    return when(same(kind, LIQUID), 0, g / pick(ingredients_density_in_use, ingredient_at, 1))


LINE_SHOWN = StepGroup("slots")


@LINE_SHOWN.step("")
def shown(weigh_g: Number, batch_at: Number, batches_display_g: Column) -> Number:
    """Weight to weigh, in the cards' units. [g] [g] -> [-]."""
    return weigh_g / pick(batches_display_g, batch_at)


SHARES = StepGroup("slots")


@SHARES.step("text")
def thing_key(batch_at: Number, ingredient_at: Number) -> Text:
    """Batch and ingredient as one word. -> [-]."""
    return tag(batch_at, ingredient_at)


@SHARES.step("g")
def same_thing_g(thing_key: Text, slots_thing_key: Column, slots_g: Column) -> Number:
    """Weight of this ingredient over all its lines of the batch: one bottle, one limit. [g] -> [g]."""
    return total_where(slots_thing_key, thing_key, slots_g)


@SHARES.step("%")
def share_of_cured(
    same_thing_g: Number, batch_at: Number, batches_batter_g: Column, batches_cure_keeps: Column
) -> Number:
    """Share of the cured bar that the thing is, over all its lines. [g] [g] [-] -> [-]."""
    return divide(same_thing_g, pick(batches_batter_g, batch_at) * pick(batches_cure_keeps, batch_at))


SUMS = StepGroup("batches")


@SUMS.step("g")
def lines_g(place: Number, slots_batch_at: Column, slots_g: Column) -> Number:
    """Everything weighed but alkali and plain water. [g] -> [g]."""
    return total_where(slots_batch_at, place, slots_g)


@SUMS.step("g")
def mass_balance_g(lines_g: Number, alkali_g: Number, plain_water_g: Number, batter_g: Number) -> Number:
    """All lines less the batter: must be 0. [g] x 4 -> [g]."""
    return lines_g + alkali_g + plain_water_g - batter_g


@SUMS.step("mL")
def volume_balance_ml(
    place: Number, slots_batch_at: Column, slots_ml: Column, oils_g: Number, recipe_at: Number,
    recipes_solution_ml: Column, batter_ml: Number,
) -> Number:  # fmt: skip
    """All volumes less the batter: must be 0. [mL] [g] [mL/g] [mL] -> [mL]."""
    return total_where(slots_batch_at, place, slots_ml) + oils_g * pick(recipes_solution_ml, recipe_at) - batter_ml


STEPS: tuple[Step, ...] = (*SLOTS.steps, *LINE_SHOWN.steps, *SHARES.steps, *SUMS.steps)
