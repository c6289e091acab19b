"""What a bar costs, and the price that makes the margin.

A new cost is one step and one field of `CostParts`: its place there is its place in the tab, the chart and the JSON.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from functools import reduce
from operator import add
from typing import Any

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import default_to, divide, round_up, same, when
from scaler.formula.searching import pick, tag
from scaler.formula.steps import Step, StepGroup, handed
from scaler.formula.sums import total_where
from scaler.model.records import PACKAGING
from scaler.rules.plain import over, times, usual

COST_STEPS = StepGroup("batches", when="costed")
PRICE_STEPS = StepGroup("batches", when="by_bar")
TIME_STEPS = StepGroup("batches")
RECIPE_STEPS = StepGroup("recipes")


RECIPE_STEPS.add("minutes_in_use", "min", usual("labour_minutes", 0, "Hands-on minutes for a batch, 0 where it is blank."))  # fmt: skip
RECIPE_STEPS.add("wrap_in_use", "min", usual("wrap_minutes_per_bar", 0, "Minutes to wrap a bar, 0 where it is blank."))
RECIPE_STEPS.add("minutes_per_bar_in_use", "min", usual("labour_minutes_per_bar", 0,
    "Hands-on minutes for a bar but for its wrapping, 0 where it is blank."))  # fmt: skip


@COST_STEPS.step("money")
def packaging_cost(place: Number, batch_lines_part_key: Column, batch_lines_cost: Column) -> Number:
    """Packaging of the batch. [money] -> [money]."""
    return total_where(batch_lines_part_key, tag(place, PACKAGING), batch_lines_cost)


@COST_STEPS.step("money")
def ingredients_cost(
    place: Number, packaging_cost: Number, batch_lines_batch_at: Column, batch_lines_cost: Column
) -> Number:
    """Everything weighed. [money] [money] -> [money]; plain water costs nothing."""
    return total_where(batch_lines_batch_at, place, batch_lines_cost) - packaging_cost


@TIME_STEPS.step("h")
def make_hours(
    recipe_at: Number, bars: Number, hours_per_minute: Number, recipes_minutes_in_use: Column,
    recipes_minutes_per_bar_in_use: Column,
) -> Number:  # fmt: skip
    """Hands-on time of the make day. [min] [-] [min] [h/min] -> [h]."""
    minutes = pick(recipes_minutes_in_use, recipe_at) + pick(recipes_minutes_per_bar_in_use, recipe_at) * bars
    return minutes * hours_per_minute


@TIME_STEPS.step("h")
def cut_hours(recipe_at: Number, hours_per_minute: Number, recipes_cut_minutes: Column) -> Number:
    """Time to cut the batch, on the day it comes out of the mould. [min] [h/min] -> [h]."""
    return default_to(pick(recipes_cut_minutes, recipe_at), 0) * hours_per_minute


@TIME_STEPS.step("h")
def wrap_hours(recipe_at: Number, bars: Number, hours_per_minute: Number, recipes_wrap_in_use: Column) -> Number:
    """Time to wrap the bars, on the day they are ready. [min] [-] [h/min] -> [h]."""
    return pick(recipes_wrap_in_use, recipe_at) * bars * hours_per_minute


@TIME_STEPS.step("h")
def labour_hours(make_hours: Number, cut_hours: Number, wrap_hours: Number) -> Number:
    """Hands-on time of all days. [h] [h] [h] -> [h]."""
    return make_hours + cut_hours + wrap_hours


COST_STEPS.add("labour_cost", "money", times("labour_hours", "labour_rate", "Pay. [h] [money/h] -> [money]."))


@COST_STEPS.step("money")
def overhead_cost(overhead: Number) -> Number:
    """What the batch bears of rent, power and insurance. [money] -> [money]."""
    return overhead + 0


@dataclass(frozen=True)
class Cost:
    """One part of what a batch costs: key in the JSON, step, words on the tab, and whether the weighed lines bear it."""

    key: str
    step: str
    says: str
    of_lines: bool = False


def _part(step: str, says: str, of_lines: bool = False) -> Any:
    """Declare a field of `CostParts` as a part of the total."""
    return field(default=None, metadata={"part": (step, says, of_lines)})


@dataclass(frozen=True)
class CostParts:
    """What a batch costs, in the workbook's money; per_bar is of a bar fit to sell, per_kg of cured soap."""

    ingredients: float | None = _part("ingredients_cost", "Ingredients", of_lines=True)
    packaging: float | None = _part("packaging_cost", "Packaging", of_lines=True)
    labour: float | None = _part("labour_cost", "Labour")
    overhead: float | None = _part("overhead_cost", "Overhead")
    total: float | None = None
    per_bar: float | None = None
    per_kg: float | None = None


COSTS = tuple(Cost(part.name, *part.metadata["part"]) for part in fields(CostParts) if "part" in part.metadata)
WORK_COSTS = tuple(cost.step for cost in COSTS if not cost.of_lines)
"""What is paid for the work on a batch, beside the things that go into it."""


for _name, _parts, _says in (
    ("work_cost", WORK_COSTS, "Pay, overhead and every other part that no weighed line bears. [money] -> [money]."),
    ("total_cost", [cost.step for cost in COSTS], "Cost of the batch: every part of COSTS. [money] -> [money]."),
):
    COST_STEPS.add(_name, "money", handed(lambda *parts: reduce(add, parts), _parts, _says))


@COST_STEPS.step("money")
def cost_balance(
    place: Number, batch_lines_batch_at: Column, batch_lines_cost: Column, work_cost: Number, total_cost: Number
) -> Number:
    """All cost lines and the other parts less the total: must be 0. [money] -> [money]."""
    return total_where(batch_lines_batch_at, place, batch_lines_cost) + work_cost - total_cost


@COST_STEPS.step("")
def by_bar(bars_to_sell: Number) -> Number:
    """1 where the batch is cut into bars, so that a bar has a cost and a price. -> [-]."""
    return when(bars_to_sell > 0, 1, 0)


PRICE_STEPS.add("cost_per_bar", "money", over("total_cost", "bars_to_sell",
    "Cost of a bar that is fit to sell. [money] [-] -> [money]."))  # fmt: skip


@COST_STEPS.step("money/kg")
def cost_per_kg(total_cost: Number, cured_g: Number, g_per_kg: Number) -> Number:
    """Cost of a kilogram of cured soap in hand. [money] [g] [g/kg] -> [money/kg]."""
    return divide(total_cost, cured_g / g_per_kg)


@TIME_STEPS.step("%")
def price_bracket(target_margin: Number, card_fee: Number, sales_tax: Number) -> Number:
    """Share of the price before tax that is left for the cost. [-] [-] [-] -> [-]."""
    return 1 - target_margin - card_fee * (1 + sales_tax)


@PRICE_STEPS.step("money")
def target_before_tax(cost_per_bar: Number, price_bracket: Number) -> Number:
    """Price before tax that makes the margin to the penny. [money] [-] -> [money]; margin is of the price."""
    return divide(cost_per_bar, price_bracket)


@PRICE_STEPS.step("money")
def shown_target(target_before_tax: Number, sales_tax: Number, price_shown: Text) -> Number:
    """The price that the step rounds, before rounding. [money] [-] -> [money]."""
    return when(same(price_shown, "with tax"), target_before_tax * (1 + sales_tax), target_before_tax)


@PRICE_STEPS.step("money")
def shown(shown_target: Number, price_step: Number) -> Number:
    """The price shown: rounded up to the step. [money] [money] -> [money]."""
    return when(price_step > 0, round_up(divide(shown_target, price_step)) * price_step, shown_target)


@PRICE_STEPS.step("money")
def before_tax(shown: Number, sales_tax: Number, price_shown: Text) -> Number:
    """Price before tax. [money] [-] -> [money]."""
    return when(same(price_shown, "with tax"), shown / (1 + sales_tax), shown)


@PRICE_STEPS.step("money")
def with_tax(shown: Number, before_tax: Number, sales_tax: Number, price_shown: Text) -> Number:
    """Price with tax. [money] [money] [-] -> [money]."""
    return when(same(price_shown, "with tax"), shown, before_tax * (1 + sales_tax))


@PRICE_STEPS.step("%")
def margin(before_tax: Number, with_tax: Number, card_fee: Number, cost_per_bar: Number) -> Number:
    """What is left of the price before tax. [money] [money] [-] [money] -> [-]; (price - fee - cost) / price."""
    return when(before_tax > 0, divide(before_tax - card_fee * with_tax - cost_per_bar, before_tax), 0)


@PRICE_STEPS.step("%")
def markup(before_tax: Number, cost_per_bar: Number) -> Number:
    """What is put on the cost. [money] [money] -> [-]; (price - cost) / cost."""
    return when(cost_per_bar > 0, divide(before_tax - cost_per_bar, cost_per_bar), 0)


STEPS: tuple[Step, ...] = (*RECIPE_STEPS.steps, *TIME_STEPS.steps, *COST_STEPS.steps, *PRICE_STEPS.steps)
