"""Recipe lines, everything per gram of oils: what a line is, its part, and its place on the card."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, blank, default_to, divide, given, opposite, same, when
from scaler.formula.searching import at, contains, match, pick, tag
from scaler.formula.steps import Rule, Step, StepGroup, handed
from scaler.formula.sums import count_up_to, total_named, total_where
from scaler.model.records import ACID, ADDITIVE, BLEND, COLOUR, FRAGRANCE, LIQUID, OIL, PACKAGING
from scaler.rules.plain import found, keyed, picked, summed

LINES = StepGroup("lines")
OWN_SIZE = StepGroup("recipes")
PARTS = StepGroup("lines")
TOTALS = StepGroup("recipes")
SHARES = StepGroup("recipes")
LIQUIDS = StepGroup("lines")


# --- what a line is ---


LINES.add("recipe_at", "", found("recipe", "recipes_recipe", "Row of the recipe on sheet Recipes."))
LINES.add("ingredient_at", "", found("ingredient", "ingredients_ingredient", "Row of the ingredient on sheet Ingredients."))  # fmt: skip


@LINES.step("text")
def kind(ingredient_at: Number, blend_at: Number, ingredients_kind: Column) -> Text:
    """Kind of the ingredient; of a recipe that is named as one, blend. -> [-]."""
    return pick(ingredients_kind, ingredient_at, when(blend_at > 0, BLEND, ""))


LINES.add("published_at", "", picked("ingredient_at", "ingredients_published_at",
    "Row of what is published for the thing, 0 for none."))  # fmt: skip
LINES.add("density", "g/mL", picked("ingredient_at", "ingredients_density_in_use", "Density of the ingredient.", 1))


@LINES.step("")
def unit_at(unit: Text, units_word: Column) -> Number:
    """Row of the unit on sheet Units. -> [-]."""
    return match(default_to(unit, ""), units_word)


@LINES.step("g")
def own_g(amount: Number, unit_at: Number, density: Number, units_weight: Column, units_volume: Column) -> Number:
    """Weight of an amount as the recipe was written. [-] [-] [g/mL] -> [g]; sheet Units."""
    return default_to(amount, 0) * (pick(units_weight, unit_at) + pick(units_volume, unit_at) * density)


@LINES.step("g/g")
def ratio_part(
    amount: Number, unit_at: Number, density: Number, units_ratio_weight: Column, units_ratio_volume: Column,
) -> Number:  # fmt: skip
    """Weight per gram of oils of an amount such as g/kg or tsp/lb. [-] [-] [g/mL] -> [g/g]; sheet Units."""
    return default_to(amount, 0) * (pick(units_ratio_weight, unit_at) + pick(units_ratio_volume, unit_at) * density)


@LINES.step("g/g")
def liquid_dose(amount: Number, unit_at: Number, units_share_of_liquid: Column) -> Number:
    """Weight per gram of the total liquid of an amount in % of liquid. [-] [-] -> [g/g]; sheet Units."""
    return default_to(amount, 0) * pick(units_share_of_liquid, unit_at)


LINES.add("kind_key", "text", keyed("recipe_at", "kind", "Recipe and kind as one word."))


def of_kinds(column: str, says: str, *kinds: str) -> Rule:
    """Return the rule that adds up a column over the recipe's lines of some kinds."""

    def rule(place: Number, keys: Column, values: Column) -> Number:
        found = total_where(keys, tag(place, kinds[0]), values)
        for kind in kinds[1:]:
            found = found + total_where(keys, tag(place, kind), values)
        return found

    return handed(rule, ("place", "lines_kind_key", f"lines_{column}"), says)


OWN_SIZE.add("own_oils_g", "g", of_kinds("own_g", "Oils of the recipe as it was written, 0 for one by shares. [g] -> [g].", OIL, BLEND))  # fmt: skip


# --- portions: parts of the batter with additives, fragrances and colours of their own ---


@LINES.step("text")
def portion_key(recipe_at: Number, portion: Text) -> Text:
    """Recipe and portion as one word. -> [-]."""
    return tag(recipe_at, default_to(portion, ""))


@LINES.step("text")
def dose_key(portion_key: Text, ingredient_at: Number, blend_at: Number) -> Text:
    """Recipe, portion and thing as one word; blends are counted down from 0. -> [-]."""
    return tag(portion_key, ingredient_at - when(ingredient_at > 0, 0, blend_at))


@LINES.step("%")
def portion_part(portion: Text, portion_key: Text, lines_portion_key: Column, lines_portion_share: Column) -> Number:
    """Share of the batter that the line is for, 1 for the whole pot. [-] -> [-]."""
    return when(given(portion), total_named(lines_portion_key, portion_key, lines_portion_share), 1)


OWN_SIZE.add("portion_shares", "%", summed("place", "lines_recipe_at", "lines_portion_share",
    "Sum of the shares of all portions; the rest of the batter stays plain."))  # fmt: skip


# --- parts per gram of oils ---


@PARTS.step("g/g")
def typed_part(
    share: Number, ratio_part: Number, own_g: Number, portion_part: Number, recipe_at: Number, recipes_own_oils_g: Column,
) -> Number:  # fmt: skip
    """Share or ratio of the portion's oils, or weight per gram of the oils as written. [g/g] [g/g] [g] [-] [g] -> [g/g]."""
    oils = at(recipes_own_oils_g, recipe_at)
    return default_to(share, ratio_part) * portion_part + when(oils > 0, divide(own_g, oils), 0)


@PARTS.step("g/g")
def other_part(kind: Text, written_part: Number) -> Number:
    """Part of an acid, additive, fragrance or colour. [g/g] -> [g/g]."""
    dry = any_of(same(kind, ACID), same(kind, ADDITIVE))
    return when(any_of(dry, any_of(same(kind, FRAGRANCE), same(kind, COLOUR))), written_part, 0)


@PARTS.step("")
def oil_given(kind: Text, share: Number, amount: Number) -> Number:
    """1 for an oil or a blend with an amount above 0. [g/g] [-] -> [-]."""
    oily = any_of(same(kind, OIL), same(kind, BLEND))
    return when(all_of(oily, any_of(default_to(share, 0) > 0, default_to(amount, 0) > 0)), 1, 0)


TOTALS.add(
    "oils_written",
    "g/g",
    of_kinds("written_part", "Sum of the oil parts, 1 when the shares are right. [g/g] -> [g/g].", OIL),
)
TOTALS.add("liquids_written", "g/g", of_kinds("written_part",
    "Sum of the liquid parts, 0 when no liquid is named: it is water then. [g/g] -> [g/g].", LIQUID))  # fmt: skip
SHARES.add("oils_given", "", summed("place", "lines_recipe_at", "lines_oil_given", "Oils with an amount above 0."))
SHARES.add(
    "oil_shares",
    "g/g",
    of_kinds("share", "Sum of the oils' Share %, 0 for a recipe by weight. [g/g] -> [g/g].", OIL, BLEND),
)
SHARES.add(
    "liquid_shares",
    "g/g",
    of_kinds("share", "Sum of the liquids' Share %, 0 when none is by share. [g/g] -> [g/g].", LIQUID),
)


@LIQUIDS.step("g/g")
def oil_part(kind: Text, written_part: Number, recipe_at: Number, recipes_oils_written: Column) -> Number:
    """Oil per gram of oils. [g/g] [g/g] -> [g/g]; parts add up to 1."""
    return when(all_of(same(kind, OIL), written_part > 0), divide(written_part, at(recipes_oils_written, recipe_at)), 0)


@LIQUIDS.step("g/g")
def liquid_share(kind: Text, written_part: Number, recipe_at: Number, recipes_liquids_written: Column) -> Number:
    """Liquid per gram of the liquid weighed in. [g/g] [g/g] -> [g/g]; shares add up to 1."""
    share = divide(written_part, at(recipes_liquids_written, recipe_at))
    return when(all_of(same(kind, LIQUID), written_part > 0), share, 0)


@LIQUIDS.step("g/g")
def pot_liquid(in_lye: Text, liquid_share: Number) -> Number:
    """Liquid that goes into the lye pot: none when it is held back. [g/g] -> [g/g]."""
    return when(same(default_to(in_lye, "yes"), "no"), 0, liquid_share)


@LIQUIDS.step("g/g")
def dosed_part(
    other_part: Number, liquid_dose: Number, portion_part: Number, recipe_at: Number, recipes_liquid_total_part: Column
) -> Number:
    """Acid, additive, fragrance or colour per gram of oils, those in % of liquid too. [g/g] x 3 [-] [g/g] -> [g/g]."""
    return other_part + when(liquid_dose > 0, liquid_dose * portion_part * at(recipes_liquid_total_part, recipe_at), 0)


@LIQUIDS.step("mL/g")
def own_ml(oil_part: Number, dosed_part: Number, density: Number) -> Number:
    """Volume of the line per gram of oils, liquids left out. [g/g] [g/g] [g/mL] -> [mL/g]."""
    return (oil_part + dosed_part) / density


@LIQUIDS.step("")
def each_per_bar(amount: Number, unit_at: Number, units_per_bar: Column) -> Number:
    """Pieces for each bar cut. -> [-]."""
    return default_to(amount, 0) * pick(units_per_bar, unit_at)


@LIQUIDS.step("")
def each_per_batch(amount: Number, unit_at: Number, units_per_batch: Column) -> Number:
    """Pieces for the batch. -> [-]."""
    return default_to(amount, 0) * pick(units_per_batch, unit_at)


@LIQUIDS.step("text")
def stage_in_use(stage: Text, kind: Text, in_lye: Text) -> Text:
    """Stage, or the usual one of its kind where it is blank; a liquid held back goes in at trace. -> [-]; our own rule."""
    poured = all_of(same(kind, LIQUID), opposite(same(default_to(in_lye, "yes"), "no")))
    usual = when(any_of(same(kind, OIL), same(kind, BLEND)), "oils", when(poured, "lye liquid", "trace"))
    return default_to(stage, when(same(kind, PACKAGING), "packing", usual))


LIQUIDS.add("stage_key", "text", keyed("portion_key", "stage_in_use", "Recipe, stage and portion as one word."))


@LIQUIDS.step("")
def before_lye(kind: Text, in_lye: Text, blend: Text, stage_in_use: Text) -> Number:
    """1 for what is in the jug before the alkali: liquids of the lye, acids, whatever is dissolved in the liquid. -> [-]; our own rule."""
    poured = all_of(same(kind, LIQUID), opposite(same(default_to(in_lye, "yes"), "no")))
    dissolved = all_of(contains(stage_in_use, "lye"), any_of(same(kind, ACID), contains(stage_in_use, "liquid")))
    return when(all_of(blank(blend), any_of(poured, dissolved)), 1, 0)


@LIQUIDS.step("")
def order(
    stage_key: Text, stage_in_use: Text, place: Number, kind: Text, before_lye: Number, blend: Text,
    lines_stage_key: Column, line_count: Number,
) -> Number:  # fmt: skip
    """Order of weighing: what goes into the lye, then stages and their portions as they first appear, packing last. -> [-]; our own rule.

    Oils of a blend, which are weighed with it, come after everything.
    """
    last = when(given(blend), line_count + line_count, when(same(kind, PACKAGING), line_count, 0))
    after = when(all_of(blank(blend), contains(stage_in_use, "lye")), 1, 1 + last + match(stage_key, lines_stage_key))
    return when(before_lye > 0, 0, after * line_count) + place


@LIQUIDS.step("")
def rank(recipe_at: Number, order: Number, lines_recipe_at: Column, lines_order: Column) -> Number:
    """Place of the line on the recipe's card: 1, 2, ... -> [-]."""
    return count_up_to(lines_recipe_at, recipe_at, lines_order, order)


LIQUIDS.add("thing_key", "text", keyed("recipe_at", "ingredient_at", "Recipe and ingredient as one word."))
LIQUIDS.add("card_key", "text", keyed("recipe_at", "rank", "Recipe and place on the card as one word."))


STEPS: tuple[Step, ...] = (*LINES.steps, *OWN_SIZE.steps, *PARTS.steps, *TOTALS.steps, *SHARES.steps, *LIQUIDS.steps)
