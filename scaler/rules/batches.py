"""Batches: the names they stand on, their weights, and their days."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import default_to, given, when
from scaler.formula.searching import match, pick
from scaler.formula.steps import Step, StepGroup, handed
from scaler.rules.plain import found

BATCHES = StepGroup("batches")


BATCHES.add("recipe_at", "", found("recipe", "recipes_recipe", "Row of the recipe on sheet Recipes."))
BATCHES.add("mould_at", "", found("mould", "moulds_mould", "Row of the mould on sheet Moulds."))


for _name, _of, _says in (
    ("batter_g", "batter_part", "Weight of the batter. [g] [g/g] -> [g]."),
    ("liquid_g", "liquid_part", "Liquid weighed in. [g] [g/g] -> [g]."),
    (
        "liquid_total_g",
        "liquid_total_part",
        "Liquid in all, the water of an alkali solution included. [g] [g/g] -> [g].",
    ),
):
    _reads = ("oils_g", "recipe_at", f"recipes_{_of}")
    BATCHES.add(_name, "g", handed(lambda oils, at, parts: oils * pick(parts, at), _reads, _says))


@BATCHES.step("date")
def ready_day(make_date: Number, recipe_at: Number, recipes_cure_days_in_use: Column) -> Number:
    """Day the bars are cured; blank without a make date. [d] [d] -> [d]."""
    return when(given(make_date), default_to(make_date, 0) + pick(recipes_cure_days_in_use, recipe_at), "")


SHOWN = StepGroup("batches")


@SHOWN.step("g")
def display_g(display_units: Text, units_word: Column, units_weight: Column) -> Number:
    """One of the units that the cards show big. -> [g]; sheet Units."""
    return pick(units_weight, match(display_units, units_word), 1)


STEPS: tuple[Step, ...] = (*BATCHES.steps, *SHOWN.steps)
