"""Vessels: how much lye and batter they must hold, and the superfat that would be safe at worst."""

from __future__ import annotations

from scaler.formula.helpers import Column, Number, divide, pick, round_down, total_where
from scaler.formula.steps import Step, StepGroup

RECIPES = StepGroup("recipes")
BATCHES = StepGroup("batches")


@RECIPES.step("mL/g")
def jug_ml_part(
    place: Number, alkali_part: Number, liquid_part: Number, plain_water_part: Number, solution_ml: Number,
    lines_recipe_at: Column, lines_pot_liquid: Column,
) -> Number:  # fmt: skip
    """Volume of what is in the lye jug per gram of oils. [g/g] x 3, [mL/g] -> [mL/g]; at the density of the whole solution."""
    in_jug = alkali_part + liquid_part * total_where(lines_recipe_at, place, lines_pot_liquid) + plain_water_part
    return in_jug * divide(solution_ml, alkali_part + liquid_part)


@RECIPES.step("%")
def strongest(dry_part: Number, solution_water_part: Number) -> Number:
    """Strongest lye that the alkali allows: no liquid but its own water. [g/g] [g/g] -> [-]; mass balance."""
    return divide(dry_part, dry_part + solution_water_part)


@BATCHES.step("mL")
def jug_ml(oils_g: Number, recipe_at: Number, recipes_jug_ml_part: Column) -> Number:
    """Volume of what is in the lye jug. [g] [mL/g] -> [mL]."""
    return oils_g * pick(recipes_jug_ml_part, recipe_at)


@BATCHES.step("mL")
def jug_vessel_ml(jug_ml: Number, vessel_headspace: Number) -> Number:
    """Smallest lye jug with headspace. [mL] [-] -> [mL]; common practice, no source."""
    return jug_ml * vessel_headspace


@BATCHES.step("mL")
def pot_vessel_ml(batter_ml: Number, pot_headspace: Number) -> Number:
    """Smallest batter pot with headspace. [mL] [-] -> [mL]; common practice, no source."""
    return batter_ml * pot_headspace


@BATCHES.step("%")
def superfat_safe(
    place: Number, recipe_at: Number, first_g: Number, second_g: Number, first_koh_most: Number, second_koh_most: Number,
    first_ratio: Number, second_ratio: Number, first_at: Number, second_at: Number, superfat_step: Number,
    ingredients_purity_high_in_use: Column, slots_batch_at: Column, slots_acid_need_least: Column,
    slots_oil_need_least: Column, recipes_koh_met: Column, recipes_oils_need: Column, recipes_superfat: Column,
) -> Number:  # fmt: skip
    """Smallest superfat whose worst case is not lye-heavy, up to 0.1 %. [g] x 6, [-] x 3 -> [-]; lowest superfat set to 0."""
    first = divide(first_g * pick(ingredients_purity_high_in_use, first_at), first_ratio)
    second = divide(second_g * pick(ingredients_purity_high_in_use, second_at), second_ratio)
    slack = first_koh_most + second_koh_most - first - second
    may_be = total_where(slots_batch_at, place, slots_oil_need_least) + total_where(
        slots_batch_at, place, slots_acid_need_least
    )
    cut = pick(recipes_koh_met, recipe_at) * (1 - divide(may_be - slack, first + second))
    wanted = pick(recipes_superfat, recipe_at) + divide(cut, pick(recipes_oils_need, recipe_at))
    return (0 - round_down(0 - wanted / superfat_step)) * superfat_step


STEPS: tuple[Step, ...] = (*RECIPES.steps, *BATCHES.steps)
