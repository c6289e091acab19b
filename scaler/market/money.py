"""Money: what a run costs and earns, by recipe and in total."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, default_to, divide, figure, given, joined, larger, round_down, round_up, when
from scaler.formula.searching import match, pick
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import largest_where, total, total_where
from scaler.rules import costing
from scaler.rules.plain import added, in_all, largest, less, named, summed, times

SOLD = StepGroup("sold")
PRICED = StepGroup("market")
EARNED = StepGroup("sold")
MONEY = StepGroup("money")
SHARES = StepGroup("through")
BATCHES = StepGroup("batches", when="counts")


# --- table sold: each recipe wanted ---


SOLD.add("recipe_at", "", named("sold_recipe", "recipes_recipe", "Row of the recipe on Recipes."))
SOLD.add("wanted", "", summed("recipe_at", "market_recipe_at", "market_bars_planned",
    "Bars wanted over the whole run, less those that no plan can have there."))  # fmt: skip
SOLD.add("held", "", largest("recipe_at", "market_recipe_at", "market_held_by_then",
    "Bars on hand that are ready by its last day."))  # fmt: skip
SOLD.add("made", "", summed("recipe_at", "batches_counted_at", "batches_bars_to_sell", "Bars made, rejects taken off, not rounded."))  # fmt: skip
SOLD.add("missing", "", largest("recipe_at", "market_recipe_at", "market_short",
    "Bars missing in all: those short by one day are short by the next one too."))  # fmt: skip
SOLD.add("hours", "h", summed("recipe_at", "batches_counted_at", "batches_labour_hours", "Hours of work on it."))
SOLD.add("batches_cost", "money", summed("recipe_at", "batches_counted_at", "batches_total_cost",
    "What its batches cost, ingredients by the gram."))  # fmt: skip


@SOLD.step("money")
def cost_per_bar(made: Number, batches_cost: Number, usual_bar_cost: Number) -> Number:
    """Cost of a bar to sell; of a recipe that needs no batch, in its cheapest mould. [money] -> [money]."""
    return when(made > 0, divide(batches_cost, made), usual_bar_cost)


for _rule in (
    costing.price_bracket, costing.target_before_tax, costing.shown_target, costing.shown, costing.before_tax,
    costing.with_tax,
):  # fmt: skip
    SOLD.steps.append(Step("sold", _rule.__name__, "%" if _rule is costing.price_bracket else "money", _rule))


@PRICED.step("money")
def price_in_use(price: Number, recipe_at: Number, sold_recipe_at: Column, sold_with_tax: Column) -> Number:
    """Price asked, with tax; where it is blank, the price that makes the margin. [money] -> [money]."""
    return default_to(price, pick(sold_with_tax, match(recipe_at, sold_recipe_at)))


PRICED.add("income_full", "money", times("bars_planned", "price_in_use",
    "Income of the row when every bar that is there sells, with tax. [money] -> [money]."))  # fmt: skip


@EARNED.step("")
def to_sell(wanted: Number, missing: Number) -> Number:
    """Bars that are there to sell: those wanted, less those missing. -> [-]."""
    return larger(wanted - missing, 0)


EARNED.add("income_wanted", "money", summed("recipe_at", "market_recipe_at", "market_income_full",
    "Income if every bar wanted were there and sold, with tax."))  # fmt: skip


@EARNED.step("money")
def asked_price(income_wanted: Number, wanted: Number) -> Number:
    """Price asked, with tax, over all its rows. [money] -> [money]."""
    return when(wanted > 0, divide(income_wanted, wanted), 0)


@BATCHES.step("money")
def price_asked(recipe_at: Number, sold_recipe_at: Column, sold_asked_price: Column) -> Number:
    """Price asked for a bar of the batch, with tax, over all rows of its recipe. [money] -> [money]."""
    return pick(sold_asked_price, match(recipe_at, sold_recipe_at), "")


EARNED.add("income", "money", times("asked_price", "to_sell",
    "Income when every bar that is there sells, with tax. [money] -> [money]."))  # fmt: skip


@EARNED.step("money")
def net_of_a_bar(asked_price: Number, sales_tax: Number, card_fee: Number) -> Number:
    """What a bar sold leaves after tax and card fee. [money] [-] [-] -> [money]."""
    return asked_price / (1 + sales_tax) - card_fee * asked_price


@EARNED.step("%")
def asked_margin(net_of_a_bar: Number, cost_per_bar: Number, asked_price: Number, sales_tax: Number) -> Number:
    """Margin of the price asked. [money] [money] [money] [-] -> [-]."""
    return when(asked_price > 0, divide((net_of_a_bar - cost_per_bar) * (1 + sales_tax), asked_price), 0)


EARNED.add("asked_over_margin_price", "money", less("asked_price", "with_tax",
    "Price asked less the price that makes the margin: below 0 it is too low. [money] [money] -> [money]."))  # fmt: skip


@EARNED.step("money")
def profit(to_sell: Number, net_of_a_bar: Number, cost_per_bar: Number) -> Number:
    """Profit when every bar there sells, before stall fees and leftovers. [money] [money] -> [money]."""
    return to_sell * (net_of_a_bar - cost_per_bar)


EARNED.add("to_sell_cost", "money", times("to_sell", "cost_per_bar",
    "What the bars to sell cost, each at the cost of a bar. [-] [money] -> [money]."))  # fmt: skip


@EARNED.step("money/h")
def profit_per_hour(to_sell: Number, made: Number, hours: Number, profit: Number) -> Number:
    """Profit for an hour of the work that the bars to sell take, pay taken off already. [money] [h] -> [money/h]."""
    work = when(made > 0, divide(hours * to_sell, made), 0)
    return when(work > 0, divide(profit, work), 0)


EARNED.add("bar_worth", "money", times("usual_bar_cost", "leftover_value",
    "What a bar that is not sold is worth: the leftover share of its cost in its cheapest mould. [money] [-] -> [money]."))  # fmt: skip


@EARNED.step("money")
def bars_gain_worth(made: Number, to_sell: Number, bar_worth: Number) -> Number:
    """What the shelf gains in bars when every bar there sells, below 0 what it loses. [-] [-] [money] -> [money]."""
    return bar_worth * (made - to_sell)


EARNED.add("to_sell_worth", "money", times("bar_worth", "to_sell",
    "What the bars to sell are worth if none sells. [-] [money] -> [money]."))  # fmt: skip
EARNED.add("held_worth", "money", times("bar_worth", "held",
    "What the bars on hand are worth. [-] [money] -> [money]."))  # fmt: skip


@EARNED.step("money")
def end_worth(held: Number, made: Number, to_sell: Number, bar_worth: Number) -> Number:
    """What the bars are worth that are there when every bar there has sold. [-] x 3 [money] -> [money]."""
    return bar_worth * (held + made - to_sell)


@EARNED.step("")
def bars_left(recipe_at: Number, to_sell: Number, market_recipe_at: Column, market_fit_by_then: Column) -> Number:
    """Whole bars left when every bar there has sold, as the last day counts them. -> [-]."""
    return larger(largest_where(market_recipe_at, recipe_at, market_fit_by_then) - to_sell, 0)


@EARNED.step("")
def bars_balance(
    recipe_at: Number, held: Number, to_sell: Number, bars_left: Number, market_recipe_at: Column,
    market_made_by_then: Column,
) -> Number:  # fmt: skip
    """Bars there were and bars made in time, less those sold and those left: less than a bar, which is a part of one. -> [-]."""
    made = largest_where(market_recipe_at, recipe_at, market_made_by_then)
    return round_down(held + made - to_sell - bars_left)


# --- table money: one row, the whole run ---


MONEY.add("packs_cost", "money", in_all("buying_cost", "Packs to buy, delivery in."))
MONEY.add("shelf_gain", "money", in_all("buying_gain_worth", "What the shelf gains in ingredients."))
MONEY.add("bars_gain", "money", in_all("sold_bars_gain_worth", "What the shelf gains in bars when every bar wanted sells."))  # fmt: skip


@MONEY.step("money")
def work_cost(batches_counts: Column, batches_work_cost: Column) -> Number:
    """Pay, overhead and the like of every batch. [money] -> [money]."""
    return total_where(batches_counts, 1, batches_work_cost)


@MONEY.step("money")
def run_cost(packs_cost: Number, work_cost: Number, shelf_gain: Number, bars_gain: Number) -> Number:
    """Cost of the run: packs and work, less what the shelf gains. [money] x 4 -> [money]."""
    return packs_cost + work_cost - shelf_gain - bars_gain


MONEY.add("cash_before", "money", added("packs_cost", "stall_fees",
    "Money needed before the market: packs and stall fees. [money] [money] -> [money]."))  # fmt: skip
MONEY.add("stall_fees", "money", in_all("market_stall_cost", "Stall fees of every market day."))
MONEY.add("all_to_sell", "", in_all("sold_to_sell", "Bars to sell over the whole run: those wanted, less those missing."))  # fmt: skip
MONEY.add("income_of_all", "money", in_all("sold_income", "Income when every bar that is there sells, with tax."))


@MONEY.step("money")
def net_of_all(income_of_all: Number, sales_tax: Number, card_fee: Number) -> Number:
    """What it leaves after tax and card fees. [money] [-] [-] -> [money]."""
    return income_of_all / (1 + sales_tax) - card_fee * income_of_all


MONEY.add("unsold_worth", "money", in_all("sold_to_sell_worth", "What the bars wanted are worth if none sells."))


@MONEY.step("")
def break_even(
    net_of_all: Number, all_to_sell: Number, run_cost: Number, stall_fees: Number, unsold_worth: Number
) -> Number:
    """Bars at the run's mean price that pay for run and fees; below 0 when it pays without, 0 when none ever do. -> [-]."""
    gain, lacking = net_of_all - unsold_worth, run_cost + stall_fees - unsold_worth
    return when(gain > 0, round_up(divide(lacking * all_to_sell, gain)), 0)


@MONEY.step("")
def break_even_bars(net_of_all: Number, unsold_worth: Number, break_even: Number, all_to_sell: Number) -> Number:
    """Bars to sell until the run is paid, blank when not even all of them pay for it. [money] [money] [-] [-] -> [-]."""
    return when(all_of(net_of_all > unsold_worth, break_even <= all_to_sell), larger(break_even, 0), "")


@MONEY.step("text")
def break_even_words(break_even_bars: Number, all_to_sell: Number) -> Text:
    """The same in words. -> [-]."""
    never = joined("not even if all ", figure(all_to_sell, 0), " sell")
    return when(given(break_even_bars), joined(figure(default_to(break_even_bars, 0), 0), " bars"), never)


@MONEY.step("money")
def profit_full(net_of_all: Number, run_cost: Number, stall_fees: Number) -> Number:
    """Profit when every bar wanted sells. [money] x 3 -> [money]."""
    return net_of_all - run_cost - stall_fees


MONEY.add("recipes_profit", "money", in_all("sold_profit",
    "Profit of all recipes before stall fees, each bar at the cost of a bar."))  # fmt: skip


@MONEY.step("money")
def not_by_the_bar(sold_to_sell_cost: Column, run_cost: Number) -> Number:
    """What the bars wanted cost bar by bar less what the run costs. [money] [money] -> [money]."""
    return total(sold_to_sell_cost) - run_cost


@MONEY.step("money")
def profit_expected(
    net_of_all: Number, sell_through: Number, run_cost: Number, stall_fees: Number, unsold_worth: Number
) -> Number:
    """Profit when the share of the bars sells that Costs expects; the others are worth Leftover value. -> [money]."""
    return net_of_all * sell_through + unsold_worth * (1 - sell_through) - run_cost - stall_fees


@MONEY.step("money")
def stock_before(sold_held_worth: Column, buying_stock_worth: Column) -> Number:
    """What ingredients and bars on the shelf are worth before the run. [money] [money] -> [money]."""
    return total(sold_held_worth) + total(buying_stock_worth)


@MONEY.step("money")
def stock_after(sold_end_worth: Column, buying_left_worth: Column) -> Number:
    """What is on the shelf when every bar wanted has sold. [money] [money] -> [money]."""
    return total(sold_end_worth) + total(buying_left_worth)


@MONEY.step("money")
def stock_balance(
    profit_full: Number, net_of_all: Number, packs_cost: Number, work_cost: Number, stall_fees: Number,
    stock_before: Number, stock_after: Number,
) -> Number:  # fmt: skip
    """Stock before and all that comes in, less all that goes out and stock after: must be 0. [money] x 7 -> [money]."""
    return stock_before + profit_full + packs_cost + work_cost + stall_fees - net_of_all - stock_after


@MONEY.step("h")
def hours_of_all(batches_counts: Column, batches_labour_hours: Column) -> Number:
    """Hours of work. [h] -> [h]."""
    return total_where(batches_counts, 1, batches_labour_hours)


@MONEY.step("money/h")
def profit_per_hour_full(hours_of_all: Number, profit_full: Number) -> Number:
    """Profit for an hour of work when every bar sells, pay taken off already. [money] [h] -> [money/h]."""
    return when(hours_of_all > 0, divide(profit_full, hours_of_all), 0)


# --- table through: what the run earns at other shares of the bars sold ---


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


SHARES.add("card_at", "money", times("income_at", "card_fee", "Card fees of it. [money] [-] -> [money]."))


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


STEPS: tuple[Step, ...] = (*SOLD.steps, *PRICED.steps, *EARNED.steps, *BATCHES.steps, *MONEY.steps, *SHARES.steps)
"""Steps of recipes sold, the price asked for each batch, the whole run and the shares sold, in order."""
