"""How much of the cured bar a thing is: what a fragrance supplier's limit is about."""

from __future__ import annotations

from scaler.formula.helpers import Column, Number, Text, divide, pick, same, total_where, when
from scaler.formula.steps import Step, StepGroup
from scaler.model.records import LIQUID, OIL

LINES = StepGroup("lines", when="in_whole")


@LINES.step("%")
def limit(ingredient_at: Number, ingredients_limit_in_use: Column) -> Number:
    """Highest share of the cured bar, 0 where there is no limit. [-] -> [-]; supplier's limit."""
    return pick(ingredients_limit_in_use, ingredient_at)


@LINES.step("g/g")
def part(
    kind: Text,
    oil_part: Number,
    liquid_share: Number,
    other_part: Number,
    recipe_at: Number,
    recipes_liquid_part: Column,
) -> Number:
    """The line per gram of oils. [g/g] x 4 -> [g/g]."""
    liquid = liquid_share * pick(recipes_liquid_part, recipe_at)
    return when(same(kind, OIL), oil_part, when(same(kind, LIQUID), liquid, other_part))


@LINES.step("%")
def share_of_cured(
    thing_key: Text, recipe_at: Number, lines_thing_key: Column, lines_part: Column, recipes_batter_part: Column,
    recipes_cure_loss_in_use: Column,
) -> Number:  # fmt: skip
    """Share of the cured bar that the thing is, over all its lines. [g/g] [g/g] [-] -> [-]."""
    cured = pick(recipes_batter_part, recipe_at) * (1 - pick(recipes_cure_loss_in_use, recipe_at))
    return divide(total_where(lines_thing_key, thing_key, lines_part), cured)


STEPS: tuple[Step, ...] = tuple(LINES.steps)
