"""Shopping: what all batches take, what is on the shelf, what the packs hold and cost."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import (
    all_of,
    any_of,
    default_to,
    exceeds,
    joined,
    larger,
    opposite,
    round_half_up,
    same,
    when,
)
from scaler.formula.searching import match, pick
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import count_where, out_of_range, total_named, total_where
from scaler.rules.imperial import say_weight
from scaler.rules.plain import matched, named, picked, smallest, summed, times, times_picked

PACKS = StepGroup("packs")
GONE = "no longer on Prices"
OFFERED = StepGroup("packs", when="is_offered", closed=0)
NEEDED = StepGroup("batch_lines", closed=0)
BUYING = StepGroup("buying")


# --- table packs: what is bought ---


OFFERS = StepGroup("prices", when="on_offer")


@OFFERS.step("text")
def offer_key(ingredient: Text, supplier: Text, pack: Number, pack_unit: Text, percent: Number) -> Text:
    """What tells a pack on offer from all others, its price left out: it may be sorted and moved. -> [-]."""
    return joined(ingredient, "|", supplier, "|", round_half_up(pack * percent), "|", pack_unit)


PACKS.add("stands_there", "text", picked("planned_at", "prices_offer_key", "The pack that stands where it stood.", ""))


@PACKS.step("")
def changed_there(
    planned_at: Number, stands_there: Text, planned_thing: Text, packs_planned_offer: Column, prices_ingredient: Column
) -> Number:
    """Row of a pack that was changed where it stood: of the same thing still, and no other pack of the plan. -> [-]."""
    is_new = same(count_where(packs_planned_offer, stands_there), 0)
    return when(all_of(is_new, same(pick(prices_ingredient, planned_at, ""), planned_thing)), planned_at, 0)


@PACKS.step("")
def price_at(
    planned_at: Number, stands_there: Text, planned_offer: Text, changed_there: Number, prices_offer_key: Column
) -> Number:
    """Row of the pack on Prices, 0 when it is gone: rows may be sorted, moved and deleted. -> [-]."""
    found = match(planned_offer, prices_offer_key)
    return when(same(stands_there, planned_offer), planned_at, when(found > 0, found, changed_there))


for _name, _unit, _of in (("pack", "", "pack"), ("pack_unit", "text", "pack_unit")):
    PACKS.add(_name, _unit, picked("price_at", f"prices_{_of}", "As Prices says.", ""))
PACKS.add("ingredient_at", "", picked("price_at", "prices_ingredient_at", "Row of the ingredient on sheet Ingredients."))  # fmt: skip


@PACKS.step("")
def is_offered(price_at: Number, prices_on_offer: Column) -> Number:
    """1 where the pack may be bought: its row on Prices is sound. -> [-]."""
    return when(same(pick(prices_on_offer, price_at), 1), 1, 0)


@OFFERED.step("money")
def pack_cost(price_at: Number, prices_price: Column, prices_delivery: Column) -> Number:
    """Price of one pack, delivery in. [money] [money] -> [money]."""
    return pick(prices_price, price_at) + default_to(pick(prices_delivery, price_at), 0)


@PACKS.step("")
def price_changed(pack_cost: Number, planned_cost: Number) -> Number:
    """1 when the pack costs another sum than when packs were chosen. [money] [money] -> [-]; our own rule."""
    return when(any_of(exceeds(pack_cost, planned_cost), exceeds(planned_cost, pack_cost)), 1, 0)


@PACKS.step("")
def packs_wrong(packs_to_buy: Number, big: Number) -> Number:
    """1 where the number of packs is none, less than 0 or not whole. -> [-]."""
    none = out_of_range(packs_to_buy, 0, big)
    held = when(none, 0, default_to(packs_to_buy, 0))
    return when(any_of(none, opposite(same(round_half_up(held), held))), 1, 0)


@PACKS.step("")
def packs_in_use(packs_to_buy: Number, packs_wrong: Number) -> Number:
    """Packs that are bought, none where their number cannot be. -> [-]."""
    return when(same(packs_wrong, 1), 0, default_to(packs_to_buy, 0))


OFFERED.add("bought", "g or each", times_picked("packs_in_use", "price_at", "prices_pack_holds",
    "What the packs hold. [-] [g] -> [g]."))  # fmt: skip
OFFERED.add("money", "money", times("packs_in_use", "pack_cost", "What the packs cost. [-] [money] -> [money]."))


@PACKS.step("text")
def supplier(price_at: Number, prices_supplier: Column) -> Text:
    """Who sells it, or that its row is gone. -> [-]."""
    return when(price_at > 0, pick(prices_supplier, price_at, ""), GONE)


@PACKS.step("money")
def supplier_gets(planned_supplier: Text, packs_supplier: Column, packs_money: Column) -> Number:
    """What all packs cost that its supplier of the plan sells now. [-] [money] -> [money]."""
    return total_named(packs_supplier, planned_supplier, packs_money)


PACKS.add("buying_at", "", matched("ingredient_at", "buying_ingredient_at", "Row of its thing among those that are bought."))  # fmt: skip
PACKS.add("buy_by", "date", picked("buying_at", "buying_first_used", "Day it must be there: the first on which it is used.", ""))  # fmt: skip


# --- tables batch_lines and buying: is it enough of everything ---


@NEEDED.step("")
def needed_at(ingredient_at: Number, batch_at: Number, batches_counts: Column) -> Number:
    """Row of the thing, 0 where the batch must not be made and is not. -> [-]."""
    return when(same(pick(batches_counts, batch_at), 1), ingredient_at, 0)


@NEEDED.step("date")
def needed_on(batch_at: Number, batches_makeable: Column, batches_made_on: Column, big: Number) -> Number:
    """Day its batch is made, more than any where that is not known or it is made already. [-] [-] [d] -> [d]."""
    return when(same(pick(batches_makeable, batch_at), 1), default_to(pick(batches_made_on, batch_at, ""), big), big)


BUYING.add("ingredient_at", "", named("thing", "ingredients_ingredient", "Row of the thing on Ingredients."))


@BUYING.step("g or each")
def need(
    ingredient_at: Number, batch_lines_needed_at: Column, batch_lines_g: Column,
    batch_lines_line_count_each: Column,
) -> Number:  # fmt: skip
    """What all batches take of it. [g] -> [g]."""
    grams = total_where(batch_lines_needed_at, ingredient_at, batch_lines_g)
    return grams + total_where(batch_lines_needed_at, ingredient_at, batch_lines_line_count_each)


@BUYING.step("g or each")
def stock(ingredient_at: Number, used_since: Number, ingredients_stock_held: Column) -> Number:
    """What is on the shelf: the stock, less what batches took since it was counted. [g] [g] -> [g]."""
    return larger(default_to(pick(ingredients_stock_held, ingredient_at), 0) - used_since, 0)


BUYING.add("bought_of_it", "g or each", summed("ingredient_at", "packs_ingredient_at", "packs_bought", "What the packs hold."))  # fmt: skip
BUYING.add("cost", "money", summed("ingredient_at", "packs_ingredient_at", "packs_money", "What the packs cost."))


@BUYING.step("g or each")
def left(stock: Number, bought_of_it: Number, need: Number) -> Number:
    """What is left on the shelf; less than 0 when it does not reach. [g] [g] [g] -> [g]."""
    return stock + bought_of_it - need


BUYING.add("kind", "text", picked("ingredient_at", "ingredients_kind", "Kind of the thing.", ""))


BUYING.add("used_from", "", smallest("ingredient_at", "batch_lines_needed_at", "batch_lines_needed_on",
    "First day it is used, more than any for none."))  # fmt: skip


@BUYING.step("date")
def first_used(used_from: Number, big: Number) -> Number:
    """First day it is used; blank for none. [d] -> [d]."""
    return when(used_from < big, used_from, "")


for _name in ("need", "stock", "bought_of_it", "left"):
    say_weight(BUYING, f"{_name}_words", _name, counted=True)


@BUYING.step("")
def lacking(left: Number) -> Number:
    """1 when there is not enough of it. [g] -> [-]."""
    return when(exceeds(0, left), 1, 0)


@BUYING.step("money")
def gain_worth(
    ingredient_at: Number, bought_of_it: Number, need: Number, leftover_value: Number, ingredients_unit_cost: Column
) -> Number:
    """What the shelf gains (less than 0: loses) by the run, at the leftover share of its cheapest price. -> [money]."""
    return leftover_value * default_to(pick(ingredients_unit_cost, ingredient_at), 0) * (bought_of_it - need)


@BUYING.step("money")
def stock_worth(ingredient_at: Number, stock: Number, leftover_value: Number, ingredients_unit_cost: Column) -> Number:
    """What is on the shelf before the run, at the leftover share of its cheapest price. -> [money]."""
    return leftover_value * default_to(pick(ingredients_unit_cost, ingredient_at), 0) * stock


@BUYING.step("money")
def left_worth(ingredient_at: Number, left: Number, leftover_value: Number, ingredients_unit_cost: Column) -> Number:
    """What is on the shelf after the run, at the same price. -> [money]."""
    return leftover_value * default_to(pick(ingredients_unit_cost, ingredient_at), 0) * left


STEPS: tuple[Step, ...] = (*OFFERS.steps, *PACKS.steps, *OFFERED.steps, *NEEDED.steps, *BUYING.steps)
"""Steps of stock, packs and shopping list, in order."""
