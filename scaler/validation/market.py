"""Bars wanted on market days: rows that look as if a slip of the pen had made them."""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    Text,
    Truth,
    all_of,
    count_where,
    default_to,
    exceeds,
    given,
    match,
    opposite,
    pick,
    same,
    tag,
)
from scaler.formula.steps import StepGroup
from scaler.validation.rule import LOOK, RuleGroup

KEYS = StepGroup("market")
MARKET = RuleGroup("market")


@KEYS.step("text")
def row_key(recipe_at: Number, needed_by: Number, mould_at: Number) -> Text:
    """Recipe, day and mould as one word. [-] [d] [-] -> [-]."""
    return tag(tag(recipe_at, needed_by), mould_at)


@KEYS.step("text")
def soap_key(recipe_at: Number, needed_by: Number) -> Text:
    """Recipe and day as one word. [-] [d] -> [-]."""
    return tag(recipe_at, needed_by)


@MARKET.rule(
    "row_twice", LOOK, "bars", "{recipe} is wanted twice on one day, both rows count.", "Delete one row if it is there twice.",
)  # fmt: skip
def market_row_twice(row_key: Text, market_row_key: Column) -> Truth:
    """Whether another row wants the same soap on the same day from the same mould. -> [-]."""
    return count_where(market_row_key, row_key) > 1


@MARKET.rule(
    "price_differs", LOOK, "price", "{recipe} has two prices on one day.", "Correct one of them, or leave both if they are meant.",
)  # fmt: skip
def two_prices(price: Number, soap_key: Text, market_soap_key: Column, market_price: Column) -> Truth:
    """Whether another row asks another price for the same soap on the same day. [money] -> [-]."""
    first = pick(market_price, match(soap_key, market_soap_key), "")
    other = opposite(same(default_to(price, 0), default_to(first, 0)))
    return all_of(given(price), given(first), other)


@MARKET.rule("day_far", LOOK, "needed_by", "The day is more than two years away.", "Is the year right?")
def day_far(needed_by: Number, worked_out_on: Number, far_after: Number) -> Truth:
    """Whether a market day lies far in the future. [d] [d] [days] -> [-]; our own rule."""
    return exceeds(default_to(needed_by, worked_out_on) - worked_out_on, far_after)


RULES = tuple(MARKET.rules)
STEPS = tuple(KEYS.steps)
