"""Recipes and their alkalis, everything per gram of oils: alkali, liquid, densities, strength, superfat.

All of a recipe grows with its oils, so a batch is its oil weight times what is worked out here.
"""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import any_of, default_to, divide, given, larger, same, when
from scaler.formula.searching import find_name, match, pick, tag
from scaler.formula.steps import Rule, Step, StepGroup, Tables, handed
from scaler.formula.sums import count_where, total_of_named, total_where
from scaler.rules.interpolation import add_lye_density
from scaler.rules.plain import added, less, over, summed, times, times_picked, usual

A_RECIPE = 2
"""Alkalis of a recipe, at most."""

ALKALIS = StepGroup("alkalis")
OPENED = StepGroup("alkalis", closed=0)


def start_alkalis(tables: Tables) -> None:
    """Begin the rows: for each recipe its alkali, then its second one."""
    places = [(recipe + 1.0, order + 1.0) for recipe in range(tables.lengths["recipes"]) for order in range(A_RECIPE)]
    tables.start_rows("alkalis", ("recipe_at", "order"), places)


@ALKALIS.step("")
def ingredient_at(
    recipe_at: Number, order: Number, recipes_own_alkali_at: Column, recipes_second_alkali_at: Column
) -> Number:
    """Row of the alkali on sheet Ingredients, 0 where there is none. -> [-]."""
    return when(same(order, 1), pick(recipes_own_alkali_at, recipe_at), pick(recipes_second_alkali_at, recipe_at))


@ALKALIS.step("text")
def base_key(recipe_at: Number, ingredient_at: Number, ingredients_base: Column) -> Text:
    """Recipe and base. -> [-]."""
    return tag(recipe_at, pick(ingredients_base, ingredient_at, ""))


@ALKALIS.step("%")
def share(
    recipe_at: Number, order: Number, ingredient_at: Number, ingredients_base: Column, recipes_second_alkali_at: Column,
    recipes_koh_share: Column,
) -> Number:  # fmt: skip
    """Share of the need that it meets: of two alkalis the KOH has KOH share %, the NaOH the rest. [-] -> [-]."""
    koh = default_to(pick(recipes_koh_share, recipe_at), 0)
    of_two = when(same(pick(ingredients_base, ingredient_at, ""), "KOH"), koh, 1 - koh)
    return when(pick(recipes_second_alkali_at, recipe_at) > 0, of_two, when(same(order, 1), 1, 0))


ALKALIS.add("base_per_koh", "g/g", times_picked("share", "ingredient_at", "ingredients_base_per_koh",
    "Pure base for 1 g of KOH need. [-] [g/g] -> [g/g]."))  # fmt: skip


@ALKALIS.step("g/g")
def per_koh(base_per_koh: Number, ingredient_at: Number, ingredients_purity_in_use: Column) -> Number:
    """Alkali to weigh for 1 g of KOH need. [g/g] [g/g] -> [g/g]; base / purity."""
    return base_per_koh / pick(ingredients_purity_in_use, ingredient_at, 1)


ALKALIS.add("water_per_koh", "g/g", times_picked("per_koh", "ingredient_at", "ingredients_water_in_use",
    "Water that it brings for 1 g of KOH need. [g/g] [g/g] -> [g/g]."))  # fmt: skip
ALKALIS.add("koh_high_per_koh", "g/g", times_picked("per_koh", "ingredient_at", "ingredients_koh_high",
    "KOH that it brings at most for 1 g of KOH need. [g/g] [g/g] -> [g/g]."))  # fmt: skip


@ALKALIS.step("kJ/g")
def heat_per_koh(
    recipe_at: Number, base_per_koh: Number, ingredient_at: Number, ingredients_base: Column, ingredients_own_heat: Column,
    recipes_naoh_heat: Column, koh_heat: Number, naoh_molar_mass: Number, koh_molar_mass: Number,
) -> Number:  # fmt: skip
    """Heat that it gives off for 1 g of KOH need. [g/g] [kJ/mol] x 3, [g/mol] x 2 -> [kJ/g]."""
    naoh = larger(pick(recipes_naoh_heat, recipe_at) - pick(ingredients_own_heat, ingredient_at), 0)
    is_naoh = same(pick(ingredients_base, ingredient_at, ""), "NaOH")
    return when(is_naoh, base_per_koh / naoh_molar_mass * naoh, base_per_koh / koh_molar_mass * koh_heat)


@OPENED.step("day")
def opened_day(ingredient_at: Number, ingredients_opened_on: Column) -> Number:
    """Day on which it was opened, 0 where nobody says. -> [d]."""
    return default_to(pick(ingredients_opened_on, ingredient_at), 0)


RECIPES = StepGroup("recipes")
USUAL = StepGroup("recipes")


# --- the alkali ---


def of_things(parts: str, column: str, says: str, factor: str = "") -> Rule:
    """Return the rule that adds up a part of each line of the recipe times what a column says of its thing."""
    reads = ("place", "lines_recipe_at", parts, "lines_ingredient_at", "ingredients_place", column)

    def rule(
        place: Number, recipes: Column, part: Column, at_rows: Column, rows: Column, of: Column, *by: Number
    ) -> Number:
        found = total_of_named(recipes, place, part, at_rows, rows, of)
        return found * by[0] if by else found

    return handed(rule, (*reads, factor) if factor else reads, says)


for _name, _part, _says in (
    ("oils_need", "oil_part", "KOH that 1 g of the oils needs. [g/g] [mg KOH/g] [g/mg] -> [g/g]; definition of the saponification value."),
    ("acids_need", "other_part", "KOH that the acids take per gram of oils. [g/g] [mg KOH/g] [g/mg] -> [g/g]; definition of the acid value."),
    ("sour_liquid_need", "liquid_share", "KOH that 1 g of the liquid takes. [g/g] [mg KOH/g] [g/mg] -> [g/g]; definition of the acid value."),
):  # fmt: skip
    RECIPES.add(_name, "g/g", of_things(f"lines_{_part}", "ingredients_counted_sap", _says, "gram_per_mg"))


@USUAL.step("text")
def usual_alkali(ingredients_base: Column, ingredients_ingredient: Column) -> Text:
    """The alkali of a recipe that names none: the only NaOH, blank where there is none or more than one. -> [-]."""
    only = same(count_where(ingredients_base, "NaOH"), 1)
    return when(only, pick(ingredients_ingredient, match("NaOH", ingredients_base), ""), "")


@RECIPES.step("")
def own_alkali_at(alkali: Text, usual_alkali: Text, ingredients_ingredient: Column) -> Number:
    """Row of the alkali on sheet Ingredients: the one named, or the usual one. -> [-]."""
    return find_name(default_to(alkali, usual_alkali), ingredients_ingredient)


RECIPES.add("alkali_per_koh", "g/g", summed("place", "alkalis_recipe_at", "alkalis_per_koh",
    "Alkali to weigh for 1 g of KOH need."))  # fmt: skip
RECIPES.add("solution_water_per_koh", "g/g", summed("place", "alkalis_recipe_at", "alkalis_water_per_koh",
    "Water that the alkalis bring themselves for 1 g of KOH need."))  # fmt: skip
RECIPES.add("dry_per_koh", "g/g", less("alkali_per_koh", "solution_water_per_koh",
    "Dry alkali for 1 g of KOH need: as weighed, less its water. [g/g] [g/g] -> [g/g]."))  # fmt: skip


# --- the liquid: weighed-in liquid = fixed + by_need x KOH need, whichever of the three columns is filled ---


@RECIPES.step("g/g")
def liquid_per_alkali(lye_concentration: Number, liquid_to_alkali: Number) -> Number:
    """Total liquid for 1 g of dry alkali, 0 when it is not set that way. [g/g] [g/g] -> [g/g]."""
    strength = default_to(lye_concentration, 1)
    return when(given(lye_concentration), divide(1 - strength, strength), default_to(liquid_to_alkali, 0))


@RECIPES.step("g/g")
def liquid_fixed(liquid_per_alkali: Number, liquid_of_oils: Number, liquids_written: Number) -> Number:
    """Liquid that does not depend on the alkali: of oils, or as written. [g/g] [g/g] -> [g/g]."""
    return when(liquid_per_alkali > 0, 0, default_to(liquid_of_oils, liquids_written))


@RECIPES.step("g/g")
def liquid_by_need(
    liquid_per_alkali: Number, dry_per_koh: Number, solution_water_per_koh: Number, liquid_of_oils: Number
) -> Number:
    """Liquid to weigh for 1 g of KOH need, less the alkalis' own water. [g/g] x 3 -> [g/g]."""
    counts_water = any_of(liquid_per_alkali > 0, given(liquid_of_oils))
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
    return divide(liquid_fixed + liquid_by_need * need_before_liquid, 1 - liquid_by_need * sour_liquid_need)


@RECIPES.step("g/g")
def koh_met(need_before_liquid: Number, sour_liquid_need: Number, liquid_part: Number) -> Number:
    """KOH need that is met per gram of oils. [g/g] x 3 -> [g/g]."""
    return need_before_liquid + sour_liquid_need * liquid_part


RECIPES.add("alkali_part", "g/g", times("koh_met", "alkali_per_koh",
    "Alkali to weigh per gram of oils. [g/g] [g/g] -> [g/g]."))  # fmt: skip
RECIPES.add("solution_water_part", "g/g", times("koh_met", "solution_water_per_koh",
    "Water that the alkalis bring per gram of oils. [g/g] [g/g] -> [g/g]."))  # fmt: skip


@RECIPES.step("g/g")
def dry_part(alkali_part: Number, solution_water_part: Number) -> Number:
    """Dry alkali per gram of oils. [g/g] [g/g] -> [g/g]."""
    return alkali_part - solution_water_part


RECIPES.add("liquid_total_part", "g/g", added("liquid_part", "solution_water_part",
    "Total liquid per gram of oils. [g/g] [g/g] -> [g/g]."))  # fmt: skip


@RECIPES.step("%")
def lye_strength(dry_part: Number, liquid_total_part: Number) -> Number:
    """Lye concentration: dry alkali in dry alkali and total liquid. [g/g] [g/g] -> [-]."""
    return divide(dry_part, dry_part + liquid_total_part)


# --- the batter as a mixture ---


@RECIPES.step("g/g")
def naoh_part(place: Number, koh_met: Number, alkalis_base_key: Column, alkalis_base_per_koh: Column) -> Number:
    """Pure NaOH per gram of oils. [g/g] [g/g] -> [g/g]."""
    return koh_met * total_where(alkalis_base_key, tag(place, "NaOH"), alkalis_base_per_koh)


@RECIPES.step("g/g")
def koh_part(place: Number, koh_met: Number, alkalis_base_key: Column, alkalis_base_per_koh: Column) -> Number:
    """Pure KOH per gram of oils. [g/g] [g/g] -> [g/g]."""
    return koh_met * total_where(alkalis_base_key, tag(place, "KOH"), alkalis_base_per_koh)


RECIPES.add("pure_part", "g/g", added("naoh_part", "koh_part", "Pure base per gram of oils. [g/g] [g/g] -> [g/g]."))


@RECIPES.step("%")
def solution_strength(pure_part: Number, alkali_part: Number, liquid_part: Number) -> Number:
    """Pure base in all alkali and liquid. [g/g] x 3 -> [-]."""
    return divide(pure_part, alkali_part + liquid_part)


add_lye_density(RECIPES, "solution_strength", "", "of all alkali and liquid")


@RECIPES.step("mL/g")
def solution_ml(
    alkali_part: Number, liquid_part: Number, naoh_part: Number, koh_part: Number, naoh_density: Number,
    koh_density: Number,
) -> Number:  # fmt: skip
    """Volume of all alkali and liquid as one solution, volumes weighted by base mass. [g/g] x 4, [g/mL] x 2 -> [mL/g]."""
    mass_over_density = divide(naoh_part, naoh_density) + divide(koh_part, koh_density)
    return divide((alkali_part + liquid_part) * mass_over_density, naoh_part + koh_part)


@RECIPES.step("mL/g")
def batter_ml_part(place: Number, solution_ml: Number, lines_recipe_at: Column, lines_own_ml: Column) -> Number:
    """Volume of batter per gram of oils: volumes add. [mL/g] [mL/g] -> [mL/g]."""
    return total_where(lines_recipe_at, place, lines_own_ml) + solution_ml


RECIPES.add("guessed_ml", "mL/g", of_things("lines_own_ml", "ingredients_density_guessed",
    "Volume that hangs on densities nobody gave, per gram of oils. [mL/g] [-] -> [mL/g]."))  # fmt: skip
RECIPES.add("guessed_share", "%", over("guessed_ml", "batter_ml_part",
    "Share of the batter's volume that hangs on densities nobody gave. [mL/g] [mL/g] -> [-]."))  # fmt: skip
RECIPES.add("others_part", "g/g", summed("place", "lines_recipe_at", "lines_dosed_part", "Everything else per gram of oils."))  # fmt: skip


@RECIPES.step("g/g")
def batter_part(alkali_part: Number, liquid_part: Number, others_part: Number) -> Number:
    """Batter per gram of oils. [g/g] x 3 -> [g/g]."""
    return 1 + alkali_part + liquid_part + others_part


# --- the pot, the fat that milk brings, the water that dries off ---


@RECIPES.step("g/g")
def plain_water_part(liquids_written: Number, liquid_part: Number) -> Number:
    """Plain water per gram of oils where no liquid is named. [g/g] [g/g] -> [g/g]."""
    return when(liquids_written > 0, 0, liquid_part)


for _name, _part, _says in (
    ("pot_water", "pot_liquid", "Water that 1 g of the liquid brings to the lye pot. [g/g] [g/g] -> [g/g]."),
    ("liquid_water", "liquid_share", "Water that 1 g of the liquid brings. [g/g] [g/g] -> [g/g]."),
):
    RECIPES.add(_name, "g/g", of_things(f"lines_{_part}", "ingredients_water_in_use", _says))


@RECIPES.step("g/g")
def pot_water_part(
    liquid_part: Number, pot_water: Number, plain_water_part: Number, solution_water_part: Number
) -> Number:
    """Water in the lye pot per gram of oils. [g/g] x 4 -> [g/g]."""
    return liquid_part * pot_water + plain_water_part + solution_water_part


@RECIPES.step("%")
def pot_strength(pure_part: Number, pot_water_part: Number) -> Number:
    """Pure base in pure base and the water of the lye pot. [g/g] [g/g] -> [-]."""
    return divide(pure_part, pure_part + pot_water_part)


for _name, _part, _says in (
    ("milk_need", "liquid_share", "KOH that the fat in 1 g of the liquid would take. [g/g] [g/g] -> [g/g]; it never adds alkali."),
    ("other_fat_need", "dosed_part", "KOH that the fat of additives would take per gram of oils. [g/g] [g/g] -> [g/g]; it never adds alkali."),
):  # fmt: skip
    RECIPES.add(_name, "g/g", of_things(f"lines_{_part}", "ingredients_fat_koh", _says))


@RECIPES.step("g/g")
def milk_fat_need(liquid_part: Number, milk_need: Number, other_fat_need: Number) -> Number:
    """KOH that the fat of milks would take per gram of oils. [g/g] x 3 -> [g/g]."""
    return liquid_part * milk_need + other_fat_need


@RECIPES.step("%")
def superfat_effective(oils_need: Number, superfat: Number, milk_fat_need: Number) -> Number:
    """Superfat with the fat of milks counted in. [g/g] [-] [g/g] -> [-]."""
    return 1 - divide(oils_need * (1 - superfat), oils_need + milk_fat_need)


@RECIPES.step("g/g")
def water_part(
    liquid_part: Number, liquid_water: Number, plain_water_part: Number, solution_water_part: Number
) -> Number:
    """Water in the batter per gram of oils. [g/g] x 4 -> [g/g]."""
    return liquid_part * liquid_water + plain_water_part + solution_water_part


# --- the cure: how long, how much weight it takes, and what the maker noted ---


RECIPES.add("water_share", "%", over("water_part", "batter_part", "Water in the batter. [g/g] [g/g] -> [-]."))


@RECIPES.step("%")
def cure_loss_in_use(cure_loss: Number, water_share: Number, cure_water_lost: Number) -> Number:
    """Cure loss, estimated from the batter's water where it is blank. [-] [-] [-] -> [-]; common practice, no source."""
    return default_to(cure_loss, cure_water_lost * water_share)


RECIPES.add("cure_days_in_use", "days", usual("cure_days", "cure_days_usual", "Days of cure."))


STEPS: tuple[Step, ...] = (*ALKALIS.steps, *OPENED.steps, *USUAL.steps, *RECIPES.steps)
