"""How much of the cured bar a thing is: what a fragrance supplier's limit is about."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import divide, given, same, when
from scaler.formula.searching import pick, tag
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import total_where
from scaler.model.records import LIQUID, OIL
from scaler.rules.plain import picked

LINES = StepGroup("lines", when="in_whole")
RECIPES = StepGroup("recipes")


LINES.add("limit", "%", picked("ingredient_at", "ingredients_limit_in_use",
    "Highest share of the cured bar, 0 where there is no limit; supplier's limit."))  # fmt: skip


@LINES.step("g/g")
def part(
    kind: Text,
    oil_part: Number,
    liquid_share: Number,
    dosed_part: Number,
    recipe_at: Number,
    recipes_liquid_part: Column,
) -> Number:
    """The line per gram of oils. [g/g] x 4 -> [g/g]."""
    liquid = liquid_share * pick(recipes_liquid_part, recipe_at)
    return when(same(kind, OIL), oil_part, when(same(kind, LIQUID), liquid, dosed_part))


@LINES.step("%")
def share_of_cured(
    thing_key: Text, recipe_at: Number, lines_thing_key: Column, lines_part: Column, recipes_batter_part: Column,
    recipes_cure_loss_in_use: Column,
) -> Number:  # fmt: skip
    """Share of the cured bar that the thing is, over all its lines. [g/g] [g/g] [-] -> [-]."""
    cured = pick(recipes_batter_part, recipe_at) * (1 - pick(recipes_cure_loss_in_use, recipe_at))
    return divide(total_where(lines_thing_key, thing_key, lines_part), cured)


@RECIPES.step("g/g")
def apart_parts(place: Number, lines_recipe_at: Column, lines_portion_key: Column, lines_part: Column) -> Number:
    """Everything that is for a portion, per gram of oils. [g/g] -> [g/g]."""
    return total_where(lines_recipe_at, place, lines_part) - total_where(lines_portion_key, tag(place, ""), lines_part)


@LINES.step("%")
def share_in_portion(
    portion: Text, portion_key: Text, portion_part: Number, ingredient_at: Number, dose_key: Text, recipe_at: Number,
    lines_dose_key: Column, lines_part: Column, lines_portion_key: Column, recipes_batter_part: Column,
    recipes_apart_parts: Column, recipes_cure_loss_in_use: Column,
) -> Number:  # fmt: skip
    """Share of the cured portion that the thing is, 0 for the whole pot; what the whole pot holds of it counts too.

    [-] [g/g] x 3 [-] -> [-]; mass balance: a portion is its share of what all of the pot has, and its own lines.
    """
    dose = total_where(lines_dose_key, dose_key, lines_part)
    dose_of_pot = portion_part * total_where(lines_dose_key, tag(tag(recipe_at, ""), ingredient_at), lines_part)
    plain = portion_part * (pick(recipes_batter_part, recipe_at) - pick(recipes_apart_parts, recipe_at))
    own = total_where(lines_portion_key, portion_key, lines_part)
    cured = (plain + own) * (1 - pick(recipes_cure_loss_in_use, recipe_at))
    return when(given(portion), divide(dose + dose_of_pot, cured), 0)


STEPS: tuple[Step, ...] = (*LINES.steps, *RECIPES.steps)
