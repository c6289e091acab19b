"""Blends mixed ahead: a line that names a recipe of oils alone weighs the blend, and its oils stand on rows of their own.

The rows of those oils come below the spare rows of Recipe lines, one for each oil, blend and recipe; column `blend` names
the blend there and is blank on every other row.
"""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, blank, default_to, divide, given, same, smaller, when
from scaler.formula.searching import at, find_name, pick, tag
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import count_where, smallest_where, total_of_named, total_where
from scaler.model.records import BLEND, OIL
from scaler.rules.plain import counted, summed

LINES = StepGroup("lines")
RECIPES = StepGroup("recipes")
INGREDIENTS = StepGroup("ingredients", closed=0)
PARTS = StepGroup("lines")
CAUSES = StepGroup("recipes")


@LINES.step("")
def blend_at(blend: Text, ingredient: Text, ingredient_at: Number, recipes_recipe: Column) -> Number:
    """Row on sheet Recipes of the blend that the line names or is a part of, 0 for none. -> [-]."""
    named = when(given(blend), blend, when(ingredient_at > 0, "", default_to(ingredient, "")))
    return find_name(named, recipes_recipe)


@LINES.step("text")
def mix_key(recipe_at: Number, blend_at: Number) -> Text:
    """Recipe and blend as one word, for the line that names it and for its oils. -> [-]."""
    return when(blend_at > 0, tag(recipe_at, blend_at), "")


@LINES.step("text")
def mix_thing_key(recipe_at: Number, ingredient_at: Number, blend: Text) -> Text:
    """Recipe and thing as one word on the rows that are typed, blank on those of a blend's oils. -> [-]."""
    return when(blank(blend), tag(recipe_at, ingredient_at), "")


@INGREDIENTS.step("g/mL")
def mix_density(ok: Number, kind: Text, density_in_use: Number) -> Number:
    """Density of an oil that may be weighed, 0 for anything else. [-] [g/mL] -> [g/mL]."""
    return when(all_of(same(ok, 1), same(kind, OIL)), density_in_use, 0)


@LINES.step("")
def mix_part(
    kind: Text, share: Number, amount: Number, unit_at: Number, ingredient_at: Number, blend: Text,
    ingredients_mix_density: Column, units_weight: Column, units_volume: Column,
) -> Number:  # fmt: skip
    """Share or weight of an oil or a blend as it is typed. [g/g] [-] -> [-]; sheet Units."""
    density = pick(ingredients_mix_density, ingredient_at)
    weight = pick(units_weight, unit_at) + density * pick(units_volume, unit_at)
    typed = default_to(share, default_to(amount, 0) * weight)
    return when(any_of(same(kind, BLEND), all_of(blank(blend), density > 0)), typed, 0)


@LINES.step("")
def mix_other(kind: Text, blend: Text) -> Number:
    """1 for a line that no blend may have: anything but an oil. -> [-]."""
    return when(any_of(given(blend), same(kind, OIL)), 0, 1)


RECIPES.add("mix_total", "", summed("place", "lines_recipe_at", "lines_mix_part", "Sum of its oils and blends as they are typed."))  # fmt: skip
RECIPES.add("mix_others", "", summed("place", "lines_recipe_at", "lines_mix_other", "How many of its lines are no oils."))  # fmt: skip
RECIPES.add("mixed_in", "", counted("place", "lines_blend_at", "How many lines name it as an ingredient or are oils of it."))  # fmt: skip


@RECIPES.step("")
def mixed_only(place: Number, mixed_in: Number, liquid_columns: Number, batches_recipe_at: Column) -> Number:
    """1 for a recipe that is only mixed into others: it needs no liquid. -> [-]."""
    made = count_where(batches_recipe_at, place)
    return when(all_of(mixed_in > 0, same(liquid_columns, 0), same(made, 0)), 1, 0)


@LINES.step("g/g")
def blend_share(
    blend: Text, blend_at: Number, ingredient_at: Number, lines_mix_thing_key: Column, lines_mix_part: Column,
    recipes_mix_total: Column,
) -> Number:  # fmt: skip
    """Share of its blend that an oil is, 0 on the rows that are typed. -> [g/g]."""
    total = pick(recipes_mix_total, blend_at)
    oil = total_where(lines_mix_thing_key, tag(blend_at, ingredient_at), lines_mix_part)
    return when(all_of(given(blend), total > 0), divide(oil, total), 0)


@LINES.step("g/g")
def mix_whole(mix_key: Text, lines_mix_key: Column, lines_blend_share: Column) -> Number:
    """Sum of the shares of its oils that a blend has rows for: 1 when all are there. [g/g] -> [g/g]."""
    return when(given(mix_key), total_where(lines_mix_key, mix_key, lines_blend_share), 1)


@PARTS.step("g/g")
def written_part(
    typed_part: Number, blend: Text, blend_share: Number, mix_key: Text, lines_mix_key: Column, lines_typed_part: Column
) -> Number:
    """What is typed; of an oil in a blend its share of what is typed for the blend. [g/g] [g/g] -> [g/g]."""
    return when(given(blend), blend_share * total_where(lines_mix_key, mix_key, lines_typed_part), typed_part)


@PARTS.step("g/g")
def blend_part(kind: Text, typed_part: Number, recipe_at: Number, recipes_oils_written: Column) -> Number:
    """Blend per gram of oils, which its oils stand for; 0 for anything else. [g/g] [g/g] -> [g/g]."""
    return when(all_of(same(kind, BLEND), typed_part > 0), divide(typed_part, at(recipes_oils_written, recipe_at)), 0)


@PARTS.step("g/g")
def blend_koh(
    blend: Text, mix_key: Text, lines_mix_key: Column, lines_blend_share: Column, lines_ingredient_at: Column,
    ingredients_place: Column, ingredients_koh_mid: Column,
) -> Number:  # fmt: skip
    """KOH that 1 g of the blend needs, in the middle of its ranges; 0 for anything else. [g/g] [g/g] -> [g/g]."""
    koh = total_of_named(
        lines_mix_key, mix_key, lines_blend_share, lines_ingredient_at, ingredients_place, ingredients_koh_mid
    )
    return when(all_of(blank(blend), given(mix_key)), koh, 0)


# --- what stands in the way ---


@LINES.step("")
def blend_cause(blend_at: Number, blend: Text, recipes_own_cause: Column, big: Number) -> Number:
    """Issue that stands in the way of the blend that the line names. -> [-]."""
    return when(blank(blend), pick(recipes_own_cause, blend_at, big), big)


@CAUSES.step("")
def cause(place: Number, own_cause: Number, lines_recipe_at: Column, lines_blend_cause: Column, big: Number) -> Number:
    """Issue that stands in the way of the recipe or of a blend in it. -> [-]."""
    return smaller(own_cause, smallest_where(lines_recipe_at, place, lines_blend_cause, big))


# --- what rules ask of: rows that are typed ---


@LINES.step("")
def asked(entered: Number, blend: Text) -> Number:
    """1 for a row that is typed and filled with what its columns take. -> [-]."""
    return when(all_of(same(entered, 1), blank(blend)), 1, 0)


@LINES.step("")
def asked_whole(in_whole: Number, blend: Text) -> Number:
    """1 for a row that is typed, sound, and of a recipe that can be worked out. -> [-]."""
    return when(all_of(same(in_whole, 1), blank(blend)), 1, 0)


STEPS: tuple[Step, ...] = (*INGREDIENTS.steps, *LINES.steps, *RECIPES.steps, *PARTS.steps, *CAUSES.steps)
