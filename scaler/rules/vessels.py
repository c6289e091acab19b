"""Vessels: how much lye and batter they must hold, and the superfat that would be safe at worst."""

from __future__ import annotations

from scaler.formula.cells import Column, Number
from scaler.formula.helpers import divide, round_down, when
from scaler.formula.searching import pick, tag
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import total_where
from scaler.model.records import ACID, ALKALI, OIL
from scaler.rules.plain import times, times_picked

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


BATCHES.add("jug_ml", "mL", times_picked("oils_g", "recipe_at", "recipes_jug_ml_part",
    "Volume of what is in the lye jug. [g] [mL/g] -> [mL]."))  # fmt: skip
BATCHES.add("jug_vessel_ml", "mL", times("jug_ml", "vessel_headspace",
    "Smallest lye jug with headspace. [mL] [-] -> [mL]; common practice, no source."))  # fmt: skip
BATCHES.add("pot_vessel_ml", "mL", times("batter_ml", "pot_headspace",
    "Smallest batter pot with headspace. [mL] [-] -> [mL]; common practice, no source."))  # fmt: skip


@RECIPES.step("g/g")
def koh_high_part(
    place: Number, koh_met: Number, alkalis_recipe_at: Column, alkalis_koh_high_per_koh: Column
) -> Number:
    """KOH that the alkalis bring at most per gram of oils. [g/g] [g/g] -> [g/g]."""
    return koh_met * total_where(alkalis_recipe_at, place, alkalis_koh_high_per_koh)


@BATCHES.step("g")
def safe_need_g(
    place: Number, oils_g: Number, recipe_at: Number, recipes_koh_high_part: Column, batch_lines_part_key: Column,
    batch_lines_koh_most: Column, batch_lines_koh_least: Column,
) -> Number:  # fmt: skip
    """KOH that oils and acids need at least, less what a scale division of alkali may add. [g] [g/g] [g] x 2 -> [g]."""
    least = total_where(batch_lines_part_key, tag(place, OIL), batch_lines_koh_least)
    acids = total_where(batch_lines_part_key, tag(place, ACID), batch_lines_koh_least)
    most = total_where(batch_lines_part_key, tag(place, ALKALI), batch_lines_koh_most)
    return least + acids - most + oils_g * pick(recipes_koh_high_part, recipe_at)


@BATCHES.step("g/g")
def safe_cut(
    oils_g: Number, safe_need_g: Number, recipe_at: Number, recipes_koh_high_part: Column, recipes_koh_met: Column
) -> Number:
    """KOH need that would be left out per gram of oils, so that the worst case has no free lye. [g] [g] [g/g] x 2 -> [g/g]."""
    most = oils_g * pick(recipes_koh_high_part, recipe_at)
    return pick(recipes_koh_met, recipe_at) * (1 - divide(safe_need_g, most))


@BATCHES.step("%")
def superfat_safe(
    safe_cut: Number, recipe_at: Number, superfat_step: Number, recipes_oils_need: Column, recipes_superfat: Column
) -> Number:
    """Smallest superfat whose worst case is not lye-heavy, up to 0.1 %, a step more below the recipe's. [g/g] [-] [g/g] [-] -> [-].

    Less superfat in the same mould is more alkali and less oil: a division of the scale weighs a little more.
    """
    wanted = pick(recipes_superfat, recipe_at) + divide(safe_cut, pick(recipes_oils_need, recipe_at))
    return (when(safe_cut < 0, 1, 0) - round_down(0 - wanted / superfat_step)) * superfat_step


STEPS: tuple[Step, ...] = (*RECIPES.steps, *BATCHES.steps)
