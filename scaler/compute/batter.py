"""Batches: the oil weight that fills the mould, and every line to weigh."""

from __future__ import annotations

from scaler.compute.steps import Step, Topic
from scaler.formula import (
    Column,
    Number,
    Text,
    given,
    larger,
    match,
    otherwise,
    per,
    pick,
    same,
    tag,
    total,
    total_where,
    when,
    whole_down,
    whole_near,
    whole_up,
)
from scaler.model import ACID, FRAGRANCE, LIQUID, OIL, PACKAGING

GROWTH = Topic("growth")
BATCHES = Topic("batches")
SLOTS = Topic("slots")


@GROWTH.step("")
def added(rows_now: Number, rows_built: Number, counts: Number) -> Number:
    """Rows more than when the engine ran; a batch added leaves the others right. -> [-]."""
    return larger(rows_now - rows_built, 0) * counts


@BATCHES.step("")
def recipe_at(recipe: Text, recipes_recipe: Column) -> Number:
    """Row of the recipe on sheet Recipes. -> [-]."""
    return match(recipe, recipes_recipe)


@BATCHES.step("")
def mould_at(mould: Text, moulds_mould: Column) -> Number:
    """Row of the mould on sheet Moulds. -> [-]."""
    return match(mould, moulds_mould)


@BATCHES.step("")
def filled_moulds(moulds_filled: Number) -> Number:
    """Moulds filled, 1 where it is blank. -> [-]."""
    return otherwise(moulds_filled, 1)


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
    return per(batter_ml, pick(recipes_batter_ml_part, recipe_at))


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
    return whole_near(plain_water_g / water_division_g) * water_division_g


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
    return whole_down(first_g / first_division_g) * first_division_g


@BATCHES.step("g")
def second_weigh_g(second_g: Number, second_division_g: Number) -> Number:
    """Second alkali to weigh: to the scale division, down. [g] [g] -> [g]; never more alkali than worked out."""
    return whole_down(second_g / second_division_g) * second_division_g


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
def ready(make_date: Number, recipe_at: Number, recipes_cure_days_in_use: Column) -> Number:
    """Day the bars are cured; blank without a make date. [d] [d] -> [d]."""
    return when(given(make_date), otherwise(make_date, 0) + pick(recipes_cure_days_in_use, recipe_at), "")


@BATCHES.step("")
def rows_added(growth_added: Column) -> Number:
    """Rows added to the input sheets since the engine ran. -> [-]."""
    return total(growth_added)


@BATCHES.step("text")
def state(
    recipe_at: Number, mould_at: Number, recipes_changed_recipe: Column, moulds_changed: Column, rows_added: Number
) -> Text:
    """Why the results may not be used, in words; blank when they may. -> [-]."""
    stale = rows_added + pick(recipes_changed_recipe, recipe_at) + pick(moulds_changed, mould_at)
    unknown = when(recipe_at > 0, when(mould_at > 0, "", "mould not on Moulds"), "recipe not on Recipes")
    return when(given(unknown), unknown, when(stale > 0, "run scaler again", ""))


# --- the lines of each batch: a slot for each line of the longest recipe ---


@SLOTS.step("")
def batch_recipe(batch_at: Number, batches_recipe_at: Column) -> Number:
    """Row of the batch's recipe on sheet Recipes. -> [-]."""
    return pick(batches_recipe_at, batch_at)


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
    return when(same(kind, OIL), pick(lines_oil_part, line_at), when(same(kind, LIQUID), liquid, pick(lines_other_part, line_at)))


@SLOTS.step("g")
def g(batch_oils_g: Number, part: Number) -> Number:
    """Weight of the line, exact. [g] [g/g] -> [g]."""
    return batch_oils_g * part


@SLOTS.step("g")
def division_g(ingredient_at: Number, ingredients_division_g: Column) -> Number:
    """Division of the scale. [g] -> [g]."""
    return pick(ingredients_division_g, ingredient_at, 1)


@SLOTS.step("%")
def limit(ingredient_at: Number, kind: Text, ingredients_limit_in_use: Column) -> Number:
    """Highest share of the cured bar, 0 where there is no limit. [-] -> [-]; supplier's limit."""
    return when(same(kind, FRAGRANCE), pick(ingredients_limit_in_use, ingredient_at), 0)


@SLOTS.step("g")
def weigh_g(kind: Text, g: Number, division_g: Number, limit: Number) -> Number:
    """Weight to the scale division: half up, an acid up, a fragrance with a limit down. [g] [g] -> [g]."""
    divisions = g / division_g
    near = when(limit > 0, whole_down(divisions), whole_near(divisions))
    return when(same(kind, ACID), whole_up(divisions), near) * division_g


@SLOTS.step("")
def line_count_each(
    line_at: Number, batch_at: Number, lines_each_per_bar: Column, lines_each_per_batch: Column, batches_bars: Column
) -> Number:
    """Pieces of a counted thing. -> [-]."""
    return pick(lines_each_per_bar, line_at) * pick(batches_bars, batch_at) + pick(lines_each_per_batch, line_at)


@SLOTS.step("money")
def cost(ingredient_at: Number, kind: Text, g: Number, line_count_each: Number, ingredients_unit_cost: Column) -> Number:
    """Cost of the line, on exact grams. [money/g] [g] -> [money]."""
    return pick(ingredients_unit_cost, ingredient_at) * when(same(kind, PACKAGING), line_count_each, g)


@SLOTS.step("mL")
def ml(g: Number, ingredient_at: Number, kind: Text, ingredients_density_in_use: Column) -> Number:
    """Volume of an oil or anything that is not in the lye solution. [g] [g/mL] -> [mL]."""
    return when(same(kind, LIQUID), 0, g / pick(ingredients_density_in_use, ingredient_at, 1))


SHOWN = Topic("batches")


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


LINE_SHOWN = Topic("slots")


@LINE_SHOWN.step("")
def shown(weigh_g: Number, batch_at: Number, batches_display_g: Column) -> Number:
    """Weight to weigh, in the cards' units. [g] [g] -> [-]."""
    return weigh_g / pick(batches_display_g, batch_at)


SHARES = Topic("slots")


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
    same_thing_g: Number, batch_at: Number, kind: Text, batches_batter_g: Column, batches_cure_keeps: Column
) -> Number:
    """Share of the cured bar that a fragrance is, over all its lines. [g] [g] [-] -> [-]."""
    cured = pick(batches_batter_g, batch_at) * pick(batches_cure_keeps, batch_at)
    return when(same(kind, FRAGRANCE), per(same_thing_g, cured), 0)


KEEPS = Topic("batches")


@KEEPS.step("%")
def cure_keeps(recipe_at: Number, recipes_cure_loss_in_use: Column) -> Number:
    """Share of the fresh weight that is left after the cure. [-] -> [-]."""
    return 1 - pick(recipes_cure_loss_in_use, recipe_at)


SUMS = Topic("batches")


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


STEPS: tuple[Step, ...] = (*GROWTH.steps, *BATCHES.steps, *KEEPS.steps, *SLOTS.steps, *SHOWN.steps, *LINE_SHOWN.steps, *SHARES.steps, *SUMS.steps)
