"""Dates of prices and of opened containers, and the ages that are asked about."""

from __future__ import annotations

from scaler.formula.cells import Column, Number
from scaler.formula.helpers import all_of, same, when
from scaler.formula.searching import pick
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import smallest_where
from scaler.rules.plain import picked, usual

INGREDIENTS = StepGroup("ingredients")
PRICES = StepGroup("prices", when="on_offer", closed="big")
BATCHES = StepGroup("batches")


INGREDIENTS.add("opened_on", "day", usual("opened", 0, "Day the container was opened, 0 where it is not said."))
PRICES.add("dated", "day", usual("date", 0, "Date of the price, 0 where it is not said."))


@PRICES.step("")
def cheapest_row(
    place: Number, unit_price: Number, ingredient_at: Number, ingredients_unit_cost: Column, big: Number
) -> Number:
    """Row of a price that costs as little as the one in use, else more than any row. [money/g] [money/g] -> [-]."""
    return when(same(unit_price, pick(ingredients_unit_cost, ingredient_at)), place, big)


@INGREDIENTS.step("")
def price_at(
    place: Number, price_rows: Number, prices_ingredient_at: Column, prices_cheapest_row: Column, big: Number
) -> Number:
    """Row of the price in use, the first of equally cheap ones; 0 where there is none. -> [-]."""
    found = smallest_where(prices_ingredient_at, place, prices_cheapest_row, big)
    return when(all_of(price_rows > 0, found < big), found, 0)


INGREDIENTS.add("price_date", "day", picked("price_at", "prices_dated", "Date of the price in use, 0 where it has none."))  # fmt: skip
BATCHES.add("ages_to", "day", usual("make_date", "worked_out_on",
    "Day that ages are measured to: the make date, else Worked out on."))  # fmt: skip


STEPS: tuple[Step, ...] = (*INGREDIENTS.steps, *PRICES.steps, *BATCHES.steps)
