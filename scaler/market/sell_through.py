"""Sell-through: what a run earns at other shares of the bars sold."""

from __future__ import annotations

from scaler.formula.cells import Column, Number
from scaler.formula.helpers import divide, when
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import total

SHARES = StepGroup("through")


@SHARES.step("")
def bars_sold(share_sold: Number, money_all_to_sell: Column) -> Number:
    """Bars sold. [-] -> [-]."""
    return share_sold * total(money_all_to_sell)


@SHARES.step("money")
def income_at(share_sold: Number, money_income_of_all: Column) -> Number:
    """Income, with tax. [-] [money] -> [money]."""
    return share_sold * total(money_income_of_all)


@SHARES.step("money")
def tax_at(income_at: Number, sales_tax: Number) -> Number:
    """Sales tax in it. [money] [-] -> [money]."""
    return income_at - income_at / (1 + sales_tax)


@SHARES.step("money")
def card_at(income_at: Number, card_fee: Number) -> Number:
    """Card fees of it. [money] [-] -> [money]."""
    return income_at * card_fee


@SHARES.step("money")
def unsold_at(share_sold: Number, money_unsold_worth: Column) -> Number:
    """What the bars are worth that are not sold. [-] [money] -> [money]."""
    return (1 - share_sold) * total(money_unsold_worth)


@SHARES.step("money")
def profit_at(
    income_at: Number, tax_at: Number, card_at: Number, unsold_at: Number, money_run_cost: Column,
    money_stall_fees: Column,
) -> Number:  # fmt: skip
    """Profit; what is not sold is worth Leftover value. [money] x 6 -> [money]."""
    return income_at - tax_at - card_at + unsold_at - total(money_run_cost) - total(money_stall_fees)


@SHARES.step("money/h")
def profit_per_hour_at(profit_at: Number, money_hours_of_all: Column) -> Number:
    """Profit for an hour of work, pay taken off already. [money] [h] -> [money/h]."""
    return when(total(money_hours_of_all) > 0, divide(profit_at, total(money_hours_of_all)), 0)


STEPS: tuple[Step, ...] = (*SHARES.steps,)
"""Steps of the shares sold, in order."""
