"""Gates: what hangs on what, so that a wrong row takes away its own figures and those that need it, and no others.

A row is `entered` when its cells are what its columns take, and `ok` when no rule refuses it. A recipe is `whole` when
its lines and alkalis are ok; a batch is `ready` to be worked out when its recipe, mould and settings are. A `cause` is
the key of the issue that stands in the way, more than any key when nothing does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, same, smaller, when
from scaler.formula.searching import at, pick
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import nth_smallest, smallest_where
from scaler.model.records import BLEND, MADE
from scaler.rules.plain import picked, smallest

INGREDIENTS = StepGroup("ingredients")
PRICES = StepGroup("prices")
MOULDS = StepGroup("moulds")
LINES = StepGroup("lines")
ALKALIS, RECIPES = StepGroup("alkalis"), StepGroup("recipes")
BATCHES = StepGroup("batches")


def _sound(entered: Number, key: Number, big: Number) -> Number:
    return when(all_of(same(entered, 1), same(key, big)), 1, 0)


@INGREDIENTS.step("")
def ok(entered: Number, fault_key: Number, big: Number) -> Number:
    """1 where the thing may be weighed. -> [-]."""
    return _sound(entered, fault_key, big)


@PRICES.step("")
def on_offer(
    entered: Number, money_fault_key: Number, ingredient_at: Number, ingredients_entered: Column, big: Number
) -> Number:
    """1 where the pack may be bought. -> [-]."""
    known = same(pick(ingredients_entered, ingredient_at), 1)
    return when(all_of(same(entered, 1), same(money_fault_key, big), known), 1, 0)


@LINES.step("")
def sound(
    entered: Number, fault_key: Number, ingredient_at: Number, kind: Text, ingredients_ok: Column, big: Number
) -> Number:
    """1 where the line may be weighed. -> [-]."""
    known = any_of(same(kind, BLEND), same(pick(ingredients_ok, ingredient_at), 1))
    return when(all_of(same(entered, 1), same(fault_key, big), known), 1, 0)


@LINES.step("")
def in_whole(sound: Number, recipe_at: Number, recipes_whole: Column) -> Number:
    """1 where the line is sound and its recipe can be worked out. -> [-]."""
    return when(all_of(same(sound, 1), same(pick(recipes_whole, recipe_at), 1)), 1, 0)


@RECIPES.step("")
def parts_cause(
    place: Number, lines_recipe_at: Column, lines_thing_cause: Column, alkalis_recipe_at: Column,
    alkalis_cause: Column, big: Number,
) -> Number:  # fmt: skip
    """Issue that stands in the way of a line or an alkali of the recipe. -> [-]."""
    lines = smallest_where(lines_recipe_at, place, lines_thing_cause, big)
    return smaller(lines, smallest_where(alkalis_recipe_at, place, alkalis_cause, big))


@ALKALIS.step("")
def cause(ingredient_at: Number, ingredients_fault_key: Column, big: Number) -> Number:
    """Issue that stands in the way of the alkali. -> [-]."""
    return pick(ingredients_fault_key, ingredient_at, big)


ALKALIS.add("recipe_whole", "", picked("recipe_at", "recipes_whole", "1 where the alkali's recipe can be worked out."))


@LINES.step("")
def thing_cause(fault_key: Number, ingredient_at: Number, ingredients_fault_key: Column, big: Number) -> Number:
    """Issue of the line as it is typed, or of its ingredient. -> [-]."""
    return smaller(fault_key, pick(ingredients_fault_key, ingredient_at, big))


@RECIPES.step("")
def whole(entered: Number, entry_key: Number, parts_cause: Number, mixed_only: Number, big: Number) -> Number:
    """1 where the recipe may be worked out: not one that is only mixed into others. -> [-]."""
    sound = all_of(same(entered, 1), same(entry_key, big), same(parts_cause, big))
    return when(all_of(sound, same(mixed_only, 0)), 1, 0)


@RECIPES.step("")
def own_cause(
    place: Number, entry_key: Number, fault_key: Number, parts_cause: Number, lines_recipe_at: Column,
    lines_limit_fault_key: Column, big: Number,
) -> Number:  # fmt: skip
    """Issue that stands in the way of the recipe itself. -> [-]."""
    own = smaller(entry_key, fault_key)
    return smaller(smaller(own, parts_cause), smallest_where(lines_recipe_at, place, lines_limit_fault_key, big))


@BATCHES.step("")
def row_cause(
    entry_key: Number, recipe_at: Number, mould_at: Number, recipes_cause: Column, moulds_fault_key: Column,
    costs_fault_key: Column, big: Number,
) -> Number:  # fmt: skip
    """Issue that stands in the way of working the row out. -> [-]."""
    entry_key = smaller(entry_key, nth_smallest(costs_fault_key, 1, big))
    named = smaller(pick(recipes_cause, recipe_at, big), pick(moulds_fault_key, mould_at, big))
    return smaller(entry_key, named)


@BATCHES.step("")
def fit(entered: Number, row_cause: Number, big: Number) -> Number:
    """1 where the row may be worked out. -> [-]."""
    return when(all_of(same(entered, 1), same(row_cause, big)), 1, 0)


BATCHES.add("entry_cause", "", smallest("place", "batches_pot_at", "batches_row_cause",
    "Issue of any row of the pot that stands in the way of working it out."))  # fmt: skip


@BATCHES.step("")
def ready(entered: Number, entry_cause: Number, pot_at: Number, place: Number, big: Number) -> Number:
    """1 on the first row of a pot that may be worked out. -> [-]."""
    return when(all_of(same(entered, 1), same(entry_cause, big), same(pot_at, place)), 1, 0)


@BATCHES.step("")
def in_pot(fit: Number, pot_at: Number, batches_ready: Column) -> Number:
    """1 where the pot that the row belongs to may be worked out. -> [-]."""
    return when(all_of(same(fit, 1), same(pick(batches_ready, pot_at), 1)), 1, 0)


BATCHES.add("pot_fault", "", smallest("place", "batches_pot_at", "batches_fault_key",
    "Issue of any row of the pot that forbids making it."))  # fmt: skip


def batch_cause(entry_cause: Number, pot_fault: Number) -> Number:  # a step of another table
    """Issue for which the batch must not be made. -> [-]."""
    return smaller(entry_cause, pot_fault)


BATCHES.add("cause", "", batch_cause)


@BATCHES.step("")
def makeable(ready: Number, pot_fault: Number, big: Number) -> Number:
    """1 where the batch may be made: its weights may be shown. -> [-]."""
    return when(all_of(same(ready, 1), same(pot_fault, big)), 1, 0)


@BATCHES.step("")
def counts(ready: Number, makeable: Number, state: Text) -> Number:
    """1 where the batch may be made or is made: its days, its bars and what it takes count. -> [-]."""
    return when(all_of(same(ready, 1), any_of(same(makeable, 1), same(state, MADE))), 1, 0)


def weighed(batch_at: Number, batches_ready: Column) -> Number:
    """1 where the batch of the row may be worked out. -> [-]."""
    return at(batches_ready, batch_at)


def has_price(batch_at: Number, batches_by_bar: Column) -> Number:
    """1 where a bar of the row's batch has a price. -> [-]."""
    return when(same(pick(batches_by_bar, batch_at), 1), 1, 0)


def makes(batch_at: Number, batches_makeable: Column) -> Number:
    """1 where the batch of the row may be made. -> [-]."""
    return at(batches_makeable, batch_at)


OF_BATCHES = ("batch_lines", "hangs_on", "ladder")
"""Tables with a batch a row."""
STEPS: tuple[Step, ...] = (
    *INGREDIENTS.steps, *PRICES.steps, *MOULDS.steps, *LINES.steps, *ALKALIS.steps, *RECIPES.steps, *BATCHES.steps,
    *(Step(table, "weighed", "", weighed if table != "ladder" else has_price) for table in OF_BATCHES), Step("batch_lines", "makes", "", makes),
)  # fmt: skip

USUAL = {
    "ingredients": "entered", "prices": "on_offer", "moulds": "entered", "lines": "in_whole", "recipes": "whole", "alkalis": "recipe_whole",
    "batches": "ready", "market": "entered", "market_days": "entered", "on_hand": "entered", "days": "is_day",
} | dict.fromkeys(OF_BATCHES, "weighed")  # fmt: skip
"""The gate of a table's steps that name none."""

OPEN = {
    ("lines", "recipe_at"), ("batches", "recipe_at"), ("batches", "mould_at"), ("batches", "use_up_at"), ("lines", "ingredient_at"),
    ("lines", "blend_at"), ("lines", "mix_key"), ("lines", "blend_cause"), ("recipes", "mix_total"), ("recipes", "mix_others"), ("recipes", "mixed_in"),
    ("recipes", "mixed_only"), ("recipes", "cause"),
    ("recipes", "own_alkali_at"), ("alkalis", "ingredient_at"), ("recipes", "liquid_columns"), ("prices", "ingredient_at"),
    ("recipes", "oil_shares"), ("recipes", "oils_given"), ("recipes", "usual_alkali"), ("batches", "batch_name"), ("batches", "pot_key"), ("batches", "pot_at"), ("batches", "made_day"), ("market", "day_at"),
    ("market", "planned_key"), ("market", "is_new"), ("market", "is_gone"), ("market", "changed"), ("days", "planned_day"), ("days", "is_day"),
}  # fmt: skip
"""Steps that every row has: lookups of names, which blank rows survive."""

EARLY = {
    ("lines", name): "entered"
    for name in (
        "kind", "unit_at", "counted", "stage_in_use", "line_key", "stage_key", "kind_key", "oil_given",
        "portion_key", "dose_key", "portion_part", "mix_thing_key", "mix_part", "mix_other", "blend_share",
        "mix_whole", "asked", "asked_whole",
    )
} | {("prices", "unit_at"): "entered"}  # fmt: skip
"""Steps that rules on typed cells read, before the row is known to be sound."""


def behind_gates(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Return the steps, each behind the gate of its table unless it names one or is open."""
    held = []
    for step in steps:
        key = (step.table, step.name)
        gate = "" if key in OPEN else EARLY.get(key, step.when or USUAL.get(step.table, ""))
        held.append(replace(step, when=gate))
    return tuple(held)
