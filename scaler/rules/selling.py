"""Selling: the price at other margins, wholesale, the stall fee, and what a rise of each price does to a bar."""

from __future__ import annotations

from scaler.formula.cells import Number
from scaler.formula.helpers import divide, round_up, when
from scaler.formula.steps import Step, StepGroup
from scaler.rules import costing
from scaler.rules.plain import picked

BATCHES = StepGroup("batches", when="by_bar")
LADDER = StepGroup("ladder")

LADDER_FROM, LADDER_STEP, LADDER_RUNGS = 0.30, 0.05, 9
"""Margins of the ladder: 30 % to 70 % in steps of 5 %; they stand in cells."""


@BATCHES.step("money")
def wholesale_price(before_tax: Number, wholesale_share: Number) -> Number:
    """Price to a shop, before tax. [money] [-] -> [money]."""
    return before_tax * wholesale_share


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


STEPS: tuple[Step, ...] = (*BATCHES.steps, *LADDER.steps)
