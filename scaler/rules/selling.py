"""Selling: what a bar costs from each mould of a pot, prices at other margins, wholesale, and the stall fee."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, divide, round_up, same, scaled, when
from scaler.formula.searching import pick
from scaler.formula.steps import Step, StepGroup
from scaler.rules import costing
from scaler.rules.plain import picked, summed, times

LINES = StepGroup("lines")
RECIPES = StepGroup("recipes")
PARTS = StepGroup("batches", when="in_pot")
PRICED_PARTS = StepGroup("batches", when="priced_here")


@LINES.step("money")
def each_bar_cost(
    each_per_bar: Number, ingredient_at: Number, ingredients_is_priced: Column, ingredients_unit_cost: Column
) -> Number:
    """Cost of the pieces that each bar takes, 0 where they have no price. [-] [money] -> [money]."""
    counted = all_of(each_per_bar > 0, same(pick(ingredients_is_priced, ingredient_at), 1))
    return when(counted, scaled(pick(ingredients_unit_cost, ingredient_at), each_per_bar), 0)


RECIPES.add("pieces_cost", "money", summed("place", "lines_recipe_at", "lines_each_bar_cost",
    "Cost of all pieces that each bar takes."))  # fmt: skip


@PARTS.step("")
def priced_here(in_pot: Number, bars_here: Number, pot_at: Number, batches_by_bar: Column) -> Number:
    """1 where bars come from the row's mould and a bar of the pot has a cost. -> [-]."""
    return when(all_of(same(in_pot, 1), bars_here > 0, same(pick(batches_by_bar, pot_at), 1)), 1, 0)


@PRICED_PARTS.step("money")
def own_bar_cost(
    recipe_at: Number, recipes_pieces_cost: Column, recipes_minutes_per_bar_in_use: Column, recipes_wrap_in_use: Column,
    hours_per_minute: Number, labour_rate: Number,
) -> Number:  # fmt: skip
    """Cost of a bar by itself: its pieces and its minutes. [money] [min] [min] [h/min] [money/h] -> [money]."""
    minutes = pick(recipes_minutes_per_bar_in_use, recipe_at) + pick(recipes_wrap_in_use, recipe_at)
    return pick(recipes_pieces_cost, recipe_at) + minutes * hours_per_minute * labour_rate


@PRICED_PARTS.step("money")
def cost_here(
    own_bar_cost: Number, share_here: Number, bars_here: Number, pot_at: Number, batches_total_cost: Column,
    batches_bars: Column, batches_bars_to_sell: Column,
) -> Number:  # fmt: skip
    """Cost of a bar from this mould that is fit to sell. [money] [-] [-] [money] [-] [-] -> [money]; contract."""
    bars = pick(batches_bars, pot_at)
    by_batter = divide((pick(batches_total_cost, pot_at) - own_bar_cost * bars) * share_here, bars_here)
    return divide((own_bar_cost + by_batter) * bars, pick(batches_bars_to_sell, pot_at))


@PRICED_PARTS.step("money")
def target_here(
    cost_here: Number, pot_at: Number, batches_price_bracket: Column, sales_tax: Number, price_shown: Text
) -> Number:
    """Price of a bar from this mould, as it is shown, before it is rounded. [money] [-] [-] -> [money]."""
    target = costing.target_before_tax(cost_here, pick(batches_price_bracket, pot_at))
    return costing.shown_target(target, sales_tax, price_shown)


@PRICED_PARTS.step("money")
def shown_here(target_here: Number, price_step: Number) -> Number:
    """Price shown of a bar from this mould. [money] [money] -> [money]."""
    return costing.shown(target_here, price_step)


@PRICED_PARTS.step("money")
def with_tax_here(shown_here: Number, sales_tax: Number, price_shown: Text) -> Number:
    """Price with tax of a bar from this mould. [money] [-] -> [money]."""
    return costing.with_tax(shown_here, costing.before_tax(shown_here, sales_tax, price_shown), sales_tax, price_shown)


BATCHES = StepGroup("batches", when="by_bar")
LADDER = StepGroup("ladder")

LADDER_FROM, LADDER_STEP, LADDER_RUNGS = 0.30, 0.05, 9
"""Margins of the ladder: 30 % to 70 % in steps of 5 %; they stand in cells."""


BATCHES.add("wholesale_price", "money", times("before_tax", "wholesale_share",
    "Price to a shop, before tax. [money] [-] -> [money]."))  # fmt: skip


@BATCHES.step("%")
def wholesale_margin(wholesale_price: Number, cost_per_bar: Number) -> Number:
    """What is left of the wholesale price. [money] [money] -> [-]."""
    return when(wholesale_price > 0, divide(wholesale_price - cost_per_bar, wholesale_price), 0)


@BATCHES.step("money")
def left_of_a_bar(before_tax: Number, with_tax: Number, card_fee: Number, cost_per_bar: Number) -> Number:
    """Money left of a bar that is sold. [money] [money] [-] [money] -> [money]."""
    return before_tax - card_fee * with_tax - cost_per_bar


@BATCHES.step("")
def bars_for_stall(left_of_a_bar: Number, stall_fee: Number) -> Number:
    """Bars to sell to cover the stall fee, 0 when no bar leaves anything. [money] [money] -> [-]."""
    return when(left_of_a_bar > 0, round_up(divide(stall_fee, left_of_a_bar)), 0)


# --- table ladder: for each batch a row a margin ---


LADDER.add("cost_per_bar", "money", picked("batch_at", "batches_cost_per_bar", "Cost of a bar of the batch."))


@LADDER.step("%")
def price_bracket(ladder_margin: Number, card_fee: Number, sales_tax: Number) -> Number:
    """Share of the price before tax that is left for the cost. [-] [-] [-] -> [-]."""
    return costing.price_bracket(ladder_margin, card_fee, sales_tax)


@LADDER.step("money")
def target_before_tax(cost_per_bar: Number, price_bracket: Number) -> Number:
    """Price before tax that makes the margin; 0 where the card fee leaves no room for it. [money] [-] -> [money]."""
    return when(price_bracket > 0, divide(cost_per_bar, price_bracket), 0)


for _rule in (costing.shown_target, costing.shown, costing.before_tax, costing.with_tax):
    LADDER.steps.append(Step("ladder", _rule.__name__, "money", _rule))


STEPS: tuple[Step, ...] = (
    *LINES.steps, *RECIPES.steps, *PARTS.steps, *PRICED_PARTS.steps, *BATCHES.steps, *LADDER.steps,
)  # fmt: skip
