"""How hot the lye solution can get: an upper bound, with nothing lost to the jug, the room or the steam.

Every part of it errs to the hot side. The heat table of NaOH, moved to the convention of KOH's heat, is read by chords
that lie above its curve, with a margin for the move; KOH counts as dissolved in much water, since no table at a few
moles of water was found; only base and water take the heat up (the solids of a milk do too); the specific heat is that
of 20 °C (it rises with temperature); every acid counts as met in the lye pot. A bought NaOH solution has given off most
of its heat already; what it gives when it is thinned further is counted. Not counted: sugars and alcohol, which lye
heats further, and carbonate in the flakes (less than 1 % of the rise at 98 %). Lye gets no hotter than it boils.
"""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import divide, larger, same, smaller, when
from scaler.formula.searching import at
from scaler.formula.steps import Step, StepGroup, handed
from scaler.formula.sums import total_where
from scaler.rules.interpolation import between, known_row, row_known
from scaler.rules.plain import added

INGREDIENTS = StepGroup("ingredients")
RECIPES = StepGroup("recipes")


@INGREDIENTS.step("mol/mol")
def own_ratio(
    kind: Text, water_in_use: Number, purity_in_use: Number, water_molar_mass: Number, naoh_molar_mass: Number
) -> Number:
    """Water for one of base in an alkali as bought, counted as NaOH. [g/g] [g/g] [g/mol] [g/mol] -> [mol/mol]."""
    return when(same(kind, "alkali"), divide(water_in_use / water_molar_mass, purity_in_use / naoh_molar_mass), 0)


def _heat_row(ratio: Number, least: Number, ratios: Column, rows_but_one: Number) -> Number:
    """Row of the heat table at or below a ratio, the first where none is."""
    return row_known(larger(ratio, least), ratios, rows_but_one)


@INGREDIENTS.step("")
def own_heat_row(
    own_ratio: Number, heat_least_ratio: Number, solutionheat_ratio: Column, heat_rows_but_one: Number
) -> Number:
    """Row of the heat table at or below what a solution is bought at. [mol/mol] -> [-]."""
    return _heat_row(own_ratio, heat_least_ratio, solutionheat_ratio, heat_rows_but_one)


@INGREDIENTS.step("kJ/mol")
def own_heat(
    own_ratio: Number, own_heat_row: Number, heat_least_ratio: Number, heat_least: Number, solutionheat_ratio: Column,
    solutionheat_heat: Column, heat_convention: Number,
) -> Number:  # fmt: skip
    """Heat that a bought solution has given off already, at least. [mol/mol] x 2 [kJ/mol] x 3 -> [kJ/mol].

    The curve of heat against water bends down, so straight lines between its points, and from 0 to the first, lie
    below it: what is left for the pot is an upper bound.
    """
    in_table = between(own_ratio, own_heat_row, solutionheat_ratio, solutionheat_heat) + heat_convention
    below = own_ratio / heat_least_ratio * (heat_least + heat_convention)
    return when(heat_least_ratio > own_ratio, below, in_table)


@RECIPES.step("mol/mol")
def pot_ratio(
    pot_water_part: Number, naoh_part: Number, koh_part: Number, water_molar_mass: Number, naoh_molar_mass: Number,
    koh_molar_mass: Number,
) -> Number:  # fmt: skip
    """Water for one of base in the pot. [g/g] x 3, [g/mol] x 3 -> [mol/mol]."""
    return divide(pot_water_part / water_molar_mass, naoh_part / naoh_molar_mass + koh_part / koh_molar_mass)


@RECIPES.step("")
def heat_row(
    pot_ratio: Number, heat_least_ratio: Number, solutionheat_ratio: Column, heat_rows_but_one: Number
) -> Number:
    """Row of the heat table at or below this ratio, the first where none is. [mol/mol] -> [-]."""
    return _heat_row(pot_ratio, heat_least_ratio, solutionheat_ratio, heat_rows_but_one)


def _chord(ratio: Number, row: Number, ratios: Column, heats: Column) -> Number:
    """Heat on the straight line through a row of the table and the next, drawn against base per water."""
    start = divide(1, at(ratios, row))
    slope = divide(at(heats, row + 1) - at(heats, row), divide(1, at(ratios, row + 1)) - start)
    return at(heats, row) + (divide(1, larger(ratio, 1)) - start) * slope


@RECIPES.step("")
def row_after(heat_row: Number, heat_rows_but_one: Number) -> Number:
    """The next row of the heat table, the last but one at most. [-] [-] -> [-]."""
    return smaller(heat_row + 1, heat_rows_but_one)


@RECIPES.step("")
def row_before(heat_row: Number) -> Number:
    """The row of the heat table above, the first at least. [-] -> [-]."""
    return larger(heat_row - 1, 1)


@RECIPES.step("kJ/mol")
def heat_after(pot_ratio: Number, row_after: Number, solutionheat_ratio: Column, solutionheat_heat: Column) -> Number:
    """Heat by the line through the two rows after this ratio, drawn on to it. [mol/mol] [mol/mol] [kJ/mol] -> [kJ/mol]."""
    return _chord(pot_ratio, row_after, solutionheat_ratio, solutionheat_heat)


@RECIPES.step("kJ/mol")
def heat_before(
    pot_ratio: Number, heat_row: Number, row_before: Number, heat_after: Number, solutionheat_ratio: Column,
    solutionheat_heat: Column,
) -> Number:  # fmt: skip
    """Heat by the line through the two rows before this ratio. [mol/mol] [kJ/mol] [mol/mol] [kJ/mol] -> [kJ/mol]."""
    before = _chord(pot_ratio, row_before, solutionheat_ratio, solutionheat_heat)
    return when(heat_row > 1, before, heat_after)


@RECIPES.step("kJ/mol")
def naoh_heat(
    pot_ratio: Number, heat_row: Number, heat_before: Number, heat_after: Number, solutionheat_ratio: Column,
    solutionheat_heat: Column, heat_convention: Number, heat_margin: Number,
) -> Number:  # fmt: skip
    """Heat given off by one of NaOH dissolved to this ratio, at most. [mol/mol] [kJ/mol] x 4 -> [kJ/mol].

    Against base per water the curve bends down where it is steep: lines through neighbouring rows, drawn on, lie above
    it, and the lower of the two is the bound. Where it is flat (under 10 % lye) the row's own line may lie higher.
    """
    here = _chord(pot_ratio, heat_row, solutionheat_ratio, solutionheat_heat)
    return larger(larger(here, smaller(heat_before, heat_after)), 0) + heat_convention + heat_margin


RECIPES.add("capacity_row", "", known_row("pot_strength", "heatcapacity_strength", "capacity_rows_but_one",
    "Row of the specific heat table at or below this strength."))  # fmt: skip


for _base, _of in (("NaOH", ""), ("KOH", "koh_")):
    _says = f"Specific heat of {_base} lye; beyond 30 % the last slope goes on. [-] -> [J/(g K)]; correlation of Laliberté 2009."
    _reads = ("pot_strength", "capacity_row", "heatcapacity_strength", f"heatcapacity_{_of}capacity")
    RECIPES.add(f"{_base.casefold()}_capacity", "J/(g K)", handed(between, _reads, _says))


@RECIPES.step("J/(g K)")
def pot_capacity(
    naoh_part: Number, koh_part: Number, pure_part: Number, naoh_capacity: Number, koh_capacity: Number
) -> Number:
    """Specific heat of the lye, each base's weighted by its mass. [g/g] x 3, [J/(g K)] x 2 -> [J/(g K)]."""
    return divide(naoh_part * naoh_capacity + koh_part * koh_capacity, pure_part)


RECIPES.add("pot_part", "g/g", added("pure_part", "pot_water_part",
    "Base and water in the lye pot per gram of oils; the rest takes up heat too and is left out. [g/g] [g/g] -> [g/g]."))  # fmt: skip


@RECIPES.step("kJ/g")
def acids_heat(
    koh_met: Number, oils_need: Number, superfat: Number, neutral_heat: Number, koh_molar_mass: Number
) -> Number:
    """Heat of the acids and sour liquids that the alkali meets per gram of oils. [g/g] [g/g] [-] [kJ/mol] [g/mol] -> [kJ/g]."""
    return (koh_met - oils_need * (1 - superfat)) / koh_molar_mass * neutral_heat


@RECIPES.step("J/g")
def pot_heat(
    place: Number, koh_met: Number, acids_heat: Number, joule_per_kj: Number, alkalis_recipe_at: Column,
    alkalis_heat_per_koh: Column,
) -> Number:  # fmt: skip
    """Heat given off in the pot per gram of oils. [g/g] [kJ/g] x 2, [J/kJ] -> [J/g]."""
    return (koh_met * total_where(alkalis_recipe_at, place, alkalis_heat_per_koh) + acids_heat) * joule_per_kj


@RECIPES.step("°C")
def lye_unboiled(room_temperature: Number, pot_heat: Number, pot_part: Number, pot_capacity: Number) -> Number:
    """Where the heat would bring the lye if it did not boil, liquid at room temperature. [°C] [J/g] [g/g] [J/(g K)] -> [°C]."""
    return room_temperature + divide(pot_heat, pot_part * pot_capacity)


RECIPES.add("boiling_row", "", known_row("pot_strength", "boiling_strength", "boiling_rows_but_one",
    "Row of the boiling table at or below this strength."))  # fmt: skip


for _base in ("NaOH", "KOH"):
    _reads = ("pot_strength", "boiling_row", "boiling_strength", f"boiling_{_base.casefold()}_boils")
    _says = f"Where {_base} lye of this strength boils. [-] [-] [°C] -> [°C]; memory."
    RECIPES.add(f"{_base.casefold()}_boils", "°C", handed(between, _reads, _says))


@RECIPES.step("°C")
def pot_boils(naoh_boils: Number, koh_boils: Number, koh_part: Number) -> Number:
    """Where the lye boils; a mixed one at the lower of the two. [°C] [°C] [g/g] -> [°C]."""
    return when(koh_part > 0, smaller(naoh_boils, koh_boils), naoh_boils)


@RECIPES.step("°C")
def lye_hottest(lye_unboiled: Number, pot_boils: Number) -> Number:
    """Upper bound of the lye's temperature, liquid at room temperature: it gets no hotter than it boils. [°C] x 2 -> [°C]."""
    return smaller(lye_unboiled, pot_boils)


@RECIPES.step("°C")
def lye_hottest_cold(
    room_temperature: Number, lye_unboiled: Number, pot_boils: Number, pot_water_part: Number, pot_part: Number, pot_capacity: Number,
    water_capacity: Number, cold_liquid: Number, solution_water_part: Number,
) -> Number:  # fmt: skip
    """Upper bound with the liquid from the fridge. [°C] x 3 [g/g] x 3, [J/(g K)] x 2, [°C] -> [°C]; no heat lost."""
    cold = (pot_water_part - solution_water_part) * water_capacity * larger(room_temperature - cold_liquid, 0)
    return smaller(lye_unboiled - divide(cold, pot_part * pot_capacity), pot_boils)


@RECIPES.step("°C")
def lye_hottest_ice(
    room_temperature: Number, lye_unboiled: Number, pot_boils: Number, pot_water_part: Number, pot_part: Number, pot_capacity: Number,
    water_capacity: Number, ice_melting: Number, ice_share: Number, solution_water_part: Number,
) -> Number:  # fmt: skip
    """Upper bound with half of the liquid as ice. [°C] x 3 [g/g] x 3, [J/(g K)] x 2, [J/g] [-] -> [°C]; no heat lost."""
    ice = (pot_water_part - solution_water_part) * ice_share
    melts = ice * (ice_melting + water_capacity * room_temperature)
    return smaller(lye_unboiled - divide(melts, pot_part * pot_capacity), pot_boils)


STEPS: tuple[Step, ...] = (*INGREDIENTS.steps, *RECIPES.steps)
