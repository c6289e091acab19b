"""Market: rows that a slip of the pen may have made, and what a plan lacks: demand that changed, bars missing, full days."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, opposite, same, when
from scaler.formula.searching import find_name, pick, tag, translated
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import count_given, count_where, largest_where
from scaler.rules.plain import keyed, usual
from scaler.validation.rule import LOOK, REFUSE, RuleGroup

KEYS = StepGroup("market")
DAYS = StepGroup("market_days", when="entered", closed=0)
MARKET = RuleGroup("market")


@KEYS.step("")
def day_at(day: Text, market_days_day: Column) -> Number:
    """Row of the market on sheet Market days, 0 where it has none of that name. -> [-]."""
    return find_name(default_to(day, ""), market_days_day)


@KEYS.step("date")
def market_date(day_at: Number, market_days_entered: Column, market_days_date: Column) -> Number:
    """Date of the market that the row names, blank where Market days has none. [d] -> [d]."""
    dated = same(pick(market_days_entered, day_at), 1)
    return when(dated, pick(market_days_date, day_at, ""), "")


DAYS.add("ahead_in_use", "days", usual("days_ahead", "spare_days",
    "Days before the market on which its bars must be ready; contract."))  # fmt: skip


@KEYS.step("date")
def need_day(
    needed_by: Number, outside: Number, day_at: Number, market_date: Number, market_days_ahead_in_use: Column
) -> Number:
    """Day on which the bars must be ready, blank where nothing says it or a number cannot be. [d] [-] [-] [d] [days] -> [d]; contract."""
    before = pick(market_days_ahead_in_use, day_at)
    from_day = when(given(market_date), default_to(market_date, 0) - before, "")
    return when(same(outside, 0), when(given(needed_by), default_to(needed_by, 0), from_day), "")


@KEYS.step("text")
def row_key(recipe_at: Number, need_day: Number, mould_at: Number) -> Text:
    """Recipe, day and mould as one word. [-] [d] [-] -> [-]."""
    return tag(tag(recipe_at, need_day), mould_at)


KEYS.add("soap_key", "text", keyed("recipe_at", "need_day", "Recipe and day as one word."))


@KEYS.step("text")
def day_key(need_day: Number, day: Text, day_at: Number) -> Text:
    """The market: its row on Market days, else its date and name. [d] -> [-]."""
    return when(day_at > 0, tag("", day_at), tag(need_day, default_to(day, "")))


@MARKET.rule("cell_blank", REFUSE, "needed_by", "Needed by is blank, and Market days has no date for {day}.",
    "Fill it, or name a Day that Market days has.")  # fmt: skip
def no_day(needed_by: Number, need_day: Number, day: Text) -> Truth:
    return all_of(given(day), blank(needed_by), blank(need_day))


@MARKET.rule("cell_blank", REFUSE, "needed_by", "Needed by and Day are both blank.", "Fill one of the two.")
def no_day_named(needed_by: Number, day: Text) -> Truth:
    return all_of(blank(day), blank(needed_by))


@MARKET.rule("needed_late", REFUSE, "needed_by", "Needed by is after the market {day}.", "Correct Needed by, or clear it.")  # fmt: skip
def needed_late(needed_by: Number, market_date: Number) -> Truth:
    return all_of(given(needed_by), given(market_date), exceeds(default_to(needed_by, 0), default_to(market_date, 0)))


@MARKET.rule("day_unlisted", LOOK, "day", "Market days has no {day}.",
    "Correct Day, or add it to Market days: then its fee and date count.")  # fmt: skip
def day_unlisted(day: Text, needed_by: Number, day_at: Number, market_days_day: Column) -> Truth:
    return all_of(given(day), given(needed_by), same(day_at, 0), count_given(market_days_day) > 0)


@MARKET.rule("day_spelled", LOOK, "day", "Another row on this date names a different market, so its stall fee counts too.",
    "Spell Day the same way, or leave both if they are two markets.")  # fmt: skip
def day_spelled(
    day_at: Number, need_day: Number, day_key: Text, market_need_day: Column, market_day_key: Column
) -> Truth:
    others = count_where(market_need_day, need_day) - count_where(market_day_key, day_key)
    return all_of(same(day_at, 0), others > 0)


@MARKET.rule("row_twice", LOOK, "bars", "{recipe} is wanted twice on one day, both rows count.",
    "Delete one row if it is there twice.")  # fmt: skip
def market_row_twice(row_key: Text, market_row_key: Column) -> Truth:
    return count_where(market_row_key, row_key) > 1


@MARKET.rule("price_differs", LOOK, "price", "{recipe} has two prices on one day.",
    "Correct one of them, or leave both if they are meant.")  # fmt: skip
def two_prices(price: Number, soap_key: Text, market_soap_key: Column, market_price: Column) -> Truth:
    first = translated(soap_key, market_soap_key, market_price, "")
    other = opposite(same(default_to(price, 0), default_to(first, 0)))
    return all_of(given(price), given(first), other)


@MARKET.rule("day_far", LOOK, "needed_by", "The day is more than two years away.", "Is the year right?")
def day_far(need_day: Number, worked_out_on: Number, far_after: Number) -> Truth:
    return exceeds(default_to(need_day, worked_out_on) - worked_out_on, far_after)


@MARKET.rule("day_past", LOOK, "needed_by", "That market is over; its bars, fee and income count all the same.",
    "Correct its date; else delete the row, and leave on On hand and in Bars got only what did not sell.")  # fmt: skip
def day_past(need_day: Number, market_date: Number, worked_out_on: Number) -> Truth:
    day = default_to(market_date, default_to(need_day, worked_out_on))
    return exceeds(worked_out_on, day)


CHANNEL = "plan"
"""Rules of this channel are there only where a market run was planned."""
_AGAIN = "Run scaler market on this file again."

DEMAND = RuleGroup("market", when="", channel=CHANNEL)
WANTED = RuleGroup("market", channel=CHANNEL)
BATCHES = RuleGroup("batches", when="counts", channel=CHANNEL)
BOUGHT = RuleGroup("ingredients", channel=CHANNEL)


@WANTED.rule("bars_short", LOOK, "bars", "Bars of {recipe} missing on that day: {short:0}.",
    "Run scaler market on this file again, or make more on Batches.")  # fmt: skip
def bars_short(short: Number) -> Truth:
    return default_to(short, 0) > 0


@WANTED.rule("bars_not_planned", LOOK, "bars", "Not all of these {bars:0} {recipe} can be ready: see Cannot be made on Plan.",
    "Ask for fewer, or start earlier.")  # fmt: skip
def bars_not_planned(bars: Number, bars_planned: Number, fault_key: Number, big: Number) -> Truth:
    return all_of(same(fault_key, big), exceeds(bars, default_to(bars_planned, 0)))


@DEMAND.rule("market_changed", LOOK, "recipe", "The plan was made before this row was changed.", _AGAIN)
def market_changed(is_new: Number) -> Truth:
    return same(is_new, 1)


@DEMAND.rule("market_gone", LOOK, "recipe", "{planned_bars:0} {planned_recipe} were planned for, but no row asks for them now.",
    _AGAIN)  # fmt: skip
def market_gone(is_gone: Number) -> Truth:
    return same(is_gone, 1)


@BATCHES.rule("day_missing", LOOK, "make_date", "Batch {batch_name} has no Make date, so no market counts its bars.",
    "Fill it.")  # fmt: skip
def day_missing(made_on: Number) -> Truth:
    return blank(made_on)


@BATCHES.rule("ready_late", LOOK, "make_date", "Batch {batch_name} is ready after the last market that wants {recipe}.",
    "Make it sooner, or keep it for another market.")  # fmt: skip
def ready_late(recipe_at: Number, ready_day: Number, market_recipe_at: Column, market_last_need: Column) -> Truth:
    return all_of(
        given(ready_day), default_to(ready_day, 0) > largest_where(market_recipe_at, recipe_at, market_last_need)
    )


@BATCHES.rule("moulds_in_use", LOOK, "make_date",
    "On its make day {moulds_over:0} more {mould_names} would be in use than you own.",
    "Type another day or mould, or run scaler market again.")  # fmt: skip
def moulds_in_use(moulds_over: Number) -> Truth:
    return default_to(moulds_over, 0) > 0


@BATCHES.rule("day_full", LOOK, "make_date",
    "On one of its days there is more work than Hours per day, or more bars than Shelf bars.",
    "See Calendar, and type another day, or run scaler market again.")  # fmt: skip
def day_full(
    made_on: Number, unmould_on: Number, ready_day: Number, days_planned_day: Column, days_too_much: Column
) -> Truth:
    days = (made_on, unmould_on, ready_day)
    return any_of(*(translated(default_to(day, 0), days_planned_day, days_too_much, 0) > 0 for day in days))


@BOUGHT.rule("packs_short", LOOK, "ingredient",
    "There is not enough {ingredient}: stock and the packs on Shopping list fall short.",
    "Buy more packs there, or fill Stock.")  # fmt: skip
def packs_short(place: Number, buying_ingredient_at: Column, buying_lacking: Column) -> Truth:
    return translated(place, buying_ingredient_at, buying_lacking, 0) > 0


STEPS: tuple[Step, ...] = (*DAYS.steps, *KEYS.steps)


RULES = (*MARKET.rules, *WANTED.rules, *DEMAND.rules, *BATCHES.rules, *BOUGHT.rules)
