"""What a bar costs, and the price that makes the margin.

A new cost is one function and its entry in `COSTS`: its place there is its place in the tab, the chart and the JSON.
"""

from __future__ import annotations

from dataclasses import dataclass

from scaler.formula.helpers import Column, Number, Text, default_to, divide, pick, round_up, same, total_where, when
from scaler.formula.steps import Step, StepGroup
from scaler.model.records import PACKAGING

LINES = StepGroup("slots")
COST_STEPS = StepGroup("batches")
PRICE_STEPS = StepGroup("batches")
RECIPE_STEPS = StepGroup("recipes")


@RECIPE_STEPS.step("min")
def minutes_in_use(labour_minutes: Number) -> Number:
    """Hands-on minutes for a batch, 0 where it is blank. [min] -> [min]."""
    return default_to(labour_minutes, 0)


@RECIPE_STEPS.step("min")
def minutes_per_bar_in_use(labour_minutes_per_bar: Number) -> Number:
    """Hands-on minutes for a bar, 0 where it is blank. [min] -> [min]."""
    return default_to(labour_minutes_per_bar, 0)


@LINES.step("money")
def packing_cost(kind: Text, cost: Number) -> Number:
    """Cost of the line when it is packaging. [money] -> [money]."""
    return when(same(kind, PACKAGING), cost, 0)


@COST_STEPS.step("money")
def first_cost(first_g: Number, first_at: Number, ingredients_unit_cost: Column) -> Number:
    """Cost of the alkali. [g] [money/g] -> [money]."""
    return first_g * pick(ingredients_unit_cost, first_at)


@COST_STEPS.step("money")
def second_cost(second_g: Number, second_at: Number, ingredients_unit_cost: Column) -> Number:
    """Cost of the second alkali. [g] [money/g] -> [money]."""
    return second_g * pick(ingredients_unit_cost, second_at)


@COST_STEPS.step("money")
def packaging_cost(place: Number, slots_batch_at: Column, slots_packing_cost: Column) -> Number:
    """Packaging of the batch. [money] -> [money]."""
    return total_where(slots_batch_at, place, slots_packing_cost)


@COST_STEPS.step("money")
def ingredients_cost(
    place: Number,
    slots_batch_at: Column,
    slots_cost: Column,
    packaging_cost: Number,
    first_cost: Number,
    second_cost: Number,
) -> Number:
    """Everything weighed. [money] x 4 -> [money]; plain water costs nothing."""
    return total_where(slots_batch_at, place, slots_cost) - packaging_cost + first_cost + second_cost


@COST_STEPS.step("h")
def labour_hours(
    recipe_at: Number, bars: Number, hours_per_minute: Number, recipes_minutes_in_use: Column,
    recipes_minutes_per_bar_in_use: Column,
) -> Number:  # fmt: skip
    """Hands-on time. [min] [-] [min] [h/min] -> [h]."""
    minutes = pick(recipes_minutes_in_use, recipe_at) + pick(recipes_minutes_per_bar_in_use, recipe_at) * bars
    return minutes * hours_per_minute


@COST_STEPS.step("money")
def labour_cost(labour_hours: Number, labour_rate: Number) -> Number:
    """Pay. [h] [money/h] -> [money]."""
    return labour_hours * labour_rate


@COST_STEPS.step("money")
def overhead_cost(overhead: Number) -> Number:
    """What the batch bears of rent, power and insurance. [money] -> [money]."""
    return overhead + 0


@dataclass(frozen=True)
class Cost:
    """One part of what a batch costs: its key in the JSON, its step and its words on the tab."""

    key: str
    step: str
    says: str


COSTS = (
    Cost("ingredients", "ingredients_cost", "Ingredients"),
    Cost("packaging", "packaging_cost", "Packaging"),
    Cost("labour", "labour_cost", "Labour"),
    Cost("overhead", "overhead_cost", "Overhead"),
)


@COST_STEPS.step("money")
def total_cost(ingredients_cost: Number, packaging_cost: Number, labour_cost: Number, overhead_cost: Number) -> Number:
    """Cost of the batch. [money] x 4 -> [money]."""
    return ingredients_cost + packaging_cost + labour_cost + overhead_cost


@COST_STEPS.step("money")
def cost_balance(
    place: Number, slots_batch_at: Column, slots_cost: Column, first_cost: Number, second_cost: Number,
    labour_cost: Number, overhead_cost: Number, total_cost: Number,
) -> Number:  # fmt: skip
    """All cost lines less the total: must be 0. [money] x 6 -> [money]."""
    lines = total_where(slots_batch_at, place, slots_cost) + first_cost + second_cost
    return lines + labour_cost + overhead_cost - total_cost


@COST_STEPS.step("money")
def cost_per_bar(total_cost: Number, bars_to_sell: Number) -> Number:
    """Cost of a bar that is fit to sell. [money] [-] -> [money]."""
    return when(bars_to_sell > 0, divide(total_cost, bars_to_sell), 0)


@PRICE_STEPS.step("%")
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


STEPS: tuple[Step, ...] = (*RECIPE_STEPS.steps, *LINES.steps, *COST_STEPS.steps, *PRICE_STEPS.steps)
