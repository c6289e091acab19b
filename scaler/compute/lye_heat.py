"""How hot the lye can get: an upper bound, with nothing lost to the jug, the room or the steam.

A bought solution has given off most of its heat already; what it gives when it is thinned further is counted.
"""

from __future__ import annotations

from scaler.compute.recipes import between
from scaler.compute.steps import Step, Topic
from scaler.formula import Column, Number, Text, larger, per, pick, row_below, same, smaller, total_where, when

INGREDIENTS = Topic("ingredients")
RECIPES = Topic("recipes")


@INGREDIENTS.step("mol/mol")
def own_ratio(
    kind: Text, water_in_use: Number, purity_in_use: Number, water_molar_mass: Number, naoh_molar_mass: Number
) -> Number:
    """Water for one of base in an alkali as bought, counted as NaOH. [g/g] [g/g] [g/mol] [g/mol] -> [mol/mol]."""
    return when(same(kind, "alkali"), per(water_in_use / water_molar_mass, purity_in_use / naoh_molar_mass), 0)


@INGREDIENTS.step("kJ/mol")
def own_heat(own_ratio: Number, heat_least_ratio: Number, heat_least: Number) -> Number:
    """Heat that a bought solution has given off already, at least. [mol/mol] [mol/mol] [kJ/mol] -> [kJ/mol].

    The curve of heat against water bends down, so the straight line from 0 to the table's first row lies below it:
    what is left for the pot is an upper bound.
    """
    return smaller(own_ratio / heat_least_ratio, 1) * heat_least


@RECIPES.step("mol/mol")
def pot_ratio(pot_water_part: Number, pure_part: Number, water_molar_mass: Number, naoh_molar_mass: Number) -> Number:
    """Water for one of base in the pot, the base counted as NaOH. [g/g] [g/g] [g/mol] [g/mol] -> [mol/mol]."""
    return per(pot_water_part / water_molar_mass, pure_part / naoh_molar_mass)


@RECIPES.step("")
def heat_row(
    pot_ratio: Number, heat_least_ratio: Number, solutionheat_ratio: Column, heat_rows_but_one: Number
) -> Number:
    """Row of the heat table at or below this ratio, the first where none is. [mol/mol] -> [-]."""
    return smaller(row_below(larger(pot_ratio, heat_least_ratio), solutionheat_ratio), heat_rows_but_one)


@RECIPES.step("kJ/mol")
def naoh_heat(pot_ratio: Number, heat_row: Number, solutionheat_ratio: Column, solutionheat_heat: Column) -> Number:
    """Heat given off by one of NaOH dissolved to this ratio. [mol/mol] -> [kJ/mol]; integral heats of solution."""
    return larger(between(pot_ratio, heat_row, solutionheat_ratio, solutionheat_heat), 0)


@RECIPES.step("")
def capacity_row(pot_strength: Number, heatcapacity_strength: Column, capacity_rows_but_one: Number) -> Number:
    """Row of the specific heat table at or below this strength. [-] -> [-]."""
    return smaller(row_below(pot_strength, heatcapacity_strength), capacity_rows_but_one)


@RECIPES.step("J/(g K)")
def pot_capacity(
    pot_strength: Number, capacity_row: Number, heatcapacity_strength: Column, heatcapacity_capacity: Column
) -> Number:
    """Specific heat of the lye; beyond 30 % the last slope goes on. [-] -> [J/(g K)]; correlation of Laliberté 2009."""
    return between(pot_strength, capacity_row, heatcapacity_strength, heatcapacity_capacity)


@RECIPES.step("g/g")
def pot_part(alkali_part: Number, liquid_part: Number, plain_water_part: Number, place: Number, lines_recipe_at: Column, lines_pot_liquid: Column) -> Number:  # fmt: skip
    """Everything in the lye pot per gram of oils. [g/g] x 3 -> [g/g]."""
    return alkali_part + liquid_part * total_where(lines_recipe_at, place, lines_pot_liquid) + plain_water_part


def _heat(per_koh: Number, at: Number, naoh_heat: Number, bases: Column, own: Column, koh: Number, masses: tuple[Number, Number]) -> Number:  # fmt: skip
    """Heat that one alkali gives off for 1 g of KOH need. [g/g] [kJ/mol] x 3 [g/mol] -> [kJ/g]."""
    is_naoh = same(pick(bases, at, ""), "NaOH")
    return when(is_naoh, per_koh / masses[0] * larger(naoh_heat - pick(own, at), 0), per_koh / masses[1] * koh)


@RECIPES.step("kJ/g")
def first_heat(
    first_base_per_koh: Number, first_at: Number, naoh_heat: Number, koh_heat: Number, naoh_molar_mass: Number,
    koh_molar_mass: Number, ingredients_base: Column, ingredients_own_heat: Column,
) -> Number:  # fmt: skip
    """Heat of the alkali for 1 g of KOH need. [g/g] [kJ/mol] x 3, [g/mol] x 2 -> [kJ/g]."""
    masses = (naoh_molar_mass, koh_molar_mass)
    return _heat(first_base_per_koh, first_at, naoh_heat, ingredients_base, ingredients_own_heat, koh_heat, masses)


@RECIPES.step("kJ/g")
def second_heat(
    second_base_per_koh: Number, second_at: Number, naoh_heat: Number, koh_heat: Number, naoh_molar_mass: Number,
    koh_molar_mass: Number, ingredients_base: Column, ingredients_own_heat: Column,
) -> Number:  # fmt: skip
    """Heat of the second alkali for 1 g of KOH need, 0 where there is none. [g/g] [kJ/mol] x 3, [g/mol] x 2 -> [kJ/g]."""
    masses = (naoh_molar_mass, koh_molar_mass)
    return _heat(second_base_per_koh, second_at, naoh_heat, ingredients_base, ingredients_own_heat, koh_heat, masses)


@RECIPES.step("J/g")
def pot_heat(koh_met: Number, first_heat: Number, second_heat: Number, joule_per_kj: Number) -> Number:
    """Heat given off in the pot per gram of oils. [g/g] [kJ/g] [kJ/g] [J/kJ] -> [J/g]."""
    return koh_met * (first_heat + second_heat) * joule_per_kj


@RECIPES.step("°C")
def lye_hottest(room_temperature: Number, pot_heat: Number, pot_part: Number, pot_capacity: Number) -> Number:
    """Upper bound of the lye's temperature, liquid at room temperature. [°C] [J/g] [g/g] [J/(g K)] -> [°C]; no heat lost."""
    return room_temperature + per(pot_heat, pot_part * pot_capacity)


@RECIPES.step("°C")
def lye_hottest_cold(
    room_temperature: Number, lye_hottest: Number, pot_water_part: Number, pot_part: Number, pot_capacity: Number,
    water_capacity: Number, cold_liquid: Number, solution_water_part: Number,
) -> Number:  # fmt: skip
    """Upper bound with the liquid from the fridge. [°C] [°C] [g/g] x 3, [J/(g K)] x 2, [°C] -> [°C]; no heat lost."""
    cold = (pot_water_part - solution_water_part) * water_capacity * larger(room_temperature - cold_liquid, 0)
    return lye_hottest - per(cold, pot_part * pot_capacity)


@RECIPES.step("°C")
def lye_hottest_ice(
    room_temperature: Number, lye_hottest: Number, pot_water_part: Number, pot_part: Number, pot_capacity: Number,
    water_capacity: Number, ice_melting: Number, ice_share: Number, solution_water_part: Number,
) -> Number:  # fmt: skip
    """Upper bound with half of the liquid as ice. [°C] [°C] [g/g] x 3, [J/(g K)] x 2, [J/g] [-] -> [°C]; no heat lost."""
    ice = (pot_water_part - solution_water_part) * ice_share
    return lye_hottest - per(ice * (ice_melting + water_capacity * room_temperature), pot_part * pot_capacity)


STEPS: tuple[Step, ...] = (*INGREDIENTS.steps, *RECIPES.steps)
