"""What a finished market workbook asks about its plan: demand that changed, bars that will be missing, days too full."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, same
from scaler.formula.searching import match, pick
from scaler.formula.sums import largest_where
from scaler.validation.rule import LOOK, RuleGroup

CHANNEL = "plan"
"""Rules of this channel are there only where a market run was planned."""
_AGAIN = "Run scaler market on this file again."

DEMAND = RuleGroup("market", when="", channel=CHANNEL)
WANTED = RuleGroup("market", channel=CHANNEL)
BATCHES = RuleGroup("batches", when="ready", channel=CHANNEL)
INGREDIENTS = RuleGroup("ingredients", channel=CHANNEL)


@WANTED.rule("bars_short", LOOK, "bars", "{short:0} bars of {recipe} will be missing on that day.",
    "Run scaler market on this file again, or make more on Batches.")  # fmt: skip
def bars_short(short: Number) -> Truth:
    return default_to(short, 0) > 0


@WANTED.rule("bars_not_planned", LOOK, "bars", "Not all of these {bars:0} {recipe} can be ready: see Cannot be made on Plan.",
    "Ask for fewer, or start earlier.")  # fmt: skip
def bars_not_planned(bars: Number, bars_planned: Number) -> Truth:
    return exceeds(bars, default_to(bars_planned, 0))


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
    return any_of(*(pick(days_too_much, match(default_to(day, 0), days_planned_day)) > 0 for day in days))


@INGREDIENTS.rule("packs_short", LOOK, "ingredient",
    "There is not enough {ingredient}: stock and the packs on Shopping list fall short.",
    "Buy more packs there, or fill Stock.")  # fmt: skip
def packs_short(place: Number, buying_ingredient_at: Column, buying_lacking: Column) -> Truth:
    return pick(buying_lacking, match(place, buying_ingredient_at)) > 0


RULES = (*WANTED.rules, *DEMAND.rules, *BATCHES.rules, *INGREDIENTS.rules)
