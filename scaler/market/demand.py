"""Demand: the days of markets and of each planned batch, and whether every bar wanted is there on its day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, default_to, divide, given, larger, round_down, same, when
from scaler.formula.searching import pick, tag
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import count_up_to, count_where, total_by, total_of_during, total_where
from scaler.model.records import Demand, MarketDay
from scaler.rules.plain import same_as, usual
from scaler.rules.results import Run
from scaler.rules.tables import day_of

MOULDS = StepGroup("moulds")
BATCHES = StepGroup("batches", when="counts")
COUNTED = StepGroup("batches", when="counts", closed=0)
HELD = StepGroup("on_hand")
DEMAND = StepGroup("market")
PLANNED = StepGroup("market")
THERE = StepGroup("market", closed=0)
"""Of these the largest of a recipe is looked for: 0 where a row is blank."""


MOULDS.add("owned_in_use", "", usual("owned", 1, "How many there are of the mould, 1 where it is blank."))


@DEMAND.step("date")
def market_on(market_date: Number, need_day: Number) -> Number:
    """Day of the market: where it is not listed, the day its bars are needed. [d] [d] -> [d]."""
    return default_to(market_date, default_to(need_day, ""))


# --- table batches: days of each planned batch ---


COUNTED.add("counted_at", "", same_as("recipe_at",
    "Row of the recipe on sheet Recipes, 0 where the batch must not be made and is not."))  # fmt: skip
BATCHES.add("made_on", "date", same_as("made_day", "Day it is made; blank without one."))


@BATCHES.step("date")
def occupied_until(made_on: Number, unmould_on: Number) -> Number:
    """Day from which its moulds may be filled again, the day after at the earliest. [d] [d] -> [d]; our own rule."""
    return when(given(made_on), larger(default_to(unmould_on, 0), default_to(made_on, 0) + 1), "")


@BATCHES.step("")
def moulds_over(
    mould_at: Number, made_on: Number, batches_mould_at: Column, batches_made_on: Column,
    batches_occupied_until: Column, batches_filled_moulds: Column, moulds_owned_in_use: Column, lots_lot_mould_at: Column,
    lots_lot_made: Column, lots_lot_free: Column, lots_lot_moulds: Column,
) -> Number:  # fmt: skip
    """Moulds in use on its make day beyond those owned, all batches counted. -> [-]."""
    used = total_of_during(
        batches_mould_at, mould_at, batches_made_on, batches_occupied_until, made_on, batches_filled_moulds
    ) + total_of_during(lots_lot_mould_at, mould_at, lots_lot_made, lots_lot_free, made_on, lots_lot_moulds)
    return larger(used - pick(moulds_owned_in_use, mould_at), 0)


# --- table on_hand ---


HELD.add("ready_in_use", "date", usual("ready_date", 0, "Day the bars are cured, 0 when they are already."))


@HELD.step("date")
def held_to_come(ready_in_use: Number, worked_out_on: Number) -> Number:
    """Day the bars are cured, where that is to come. [d] [d] -> [d]."""
    return when(ready_in_use >= worked_out_on, ready_in_use, "")


# --- table market: is each row's demand met, and what does it bring ---


@DEMAND.step("text")
def demand_key(recipe: Text, need_day: Number, mould: Text, bars: Number) -> Text:
    """What the row wants, as one word. -> [-]."""
    return tag(tag(tag(recipe, need_day), default_to(mould, "")), bars)


@PLANNED.step("text")
def planned_key(planned_recipe: Text, planned_day: Number, planned_mould: Text, planned_bars: Number) -> Text:
    """What a row wanted when the plan was made, as one word. -> [-]."""
    return tag(tag(tag(planned_recipe, planned_day), planned_mould), planned_bars)


@PLANNED.step("")
def is_new(demand_key: Text, market_demand_key: Column, market_planned_key: Column) -> Number:
    """1 when the row wants what was not planned for, wherever it stood. -> [-]; our own rule."""
    more = count_where(market_demand_key, demand_key) - count_where(market_planned_key, demand_key)
    return when(all_of(given(demand_key), more > 0), 1, 0)


@PLANNED.step("")
def is_gone(planned_key: Text, market_demand_key: Column, market_planned_key: Column) -> Number:
    """1 when what was planned for in this row is wanted in none any more. -> [-]; our own rule."""
    return when(count_where(market_planned_key, planned_key) > count_where(market_demand_key, planned_key), 1, 0)


@PLANNED.step("")
def changed(is_new: Number, is_gone: Number) -> Number:
    """1 when what is wanted is not what was planned for. -> [-]."""
    return larger(is_new, is_gone)


@DEMAND.step("")
def bars_planned(
    bars: Number, demand_key: Text, market_planned_key: Column, market_planned_short: Column, fault_key: Number,
    big: Number,
) -> Number:  # fmt: skip
    """Bars wanted, less those that no plan can have there; rows alike share what is missing. None of a wrong row. -> [-]."""
    alike = count_where(market_planned_key, demand_key)
    lacking = total_where(market_planned_key, demand_key, market_planned_short)
    return when(fault_key < big, 0, larger(bars - when(alike > 0, divide(lacking, alike), 0), 0))


@DEMAND.step("")
def wanted_by_then(
    recipe_at: Number, need_day: Number, market_recipe_at: Column, market_need_day: Column, market_bars_planned: Column
) -> Number:
    """Bars of the recipe that are to be there by the day. -> [-]."""
    return total_by(market_recipe_at, recipe_at, market_need_day, need_day, market_bars_planned)


@THERE.step("")
def held_by_then(
    recipe_at: Number, need_day: Number, on_hand_recipe_at: Column, on_hand_ready_in_use: Column, on_hand_bars: Column,
    lots_lot_recipe_at: Column, lots_lot_ready: Column, lots_lot_bars: Column,
) -> Number:  # fmt: skip
    """Bars of the recipe on hand, or of batches that are made, that are ready by the day. -> [-]."""
    on_hand = total_by(on_hand_recipe_at, recipe_at, on_hand_ready_in_use, need_day, on_hand_bars)
    return on_hand + total_by(lots_lot_recipe_at, recipe_at, lots_lot_ready, need_day, lots_lot_bars)


@THERE.step("")
def made_by_then(
    recipe_at: Number, need_day: Number, batches_counted_at: Column, batches_ready_day: Column,
    batches_bars_to_sell: Column,
) -> Number:  # fmt: skip
    """Bars of the recipe made and ready by the day, rejects taken off, not rounded. -> [-]."""
    return total_by(batches_counted_at, recipe_at, batches_ready_day, need_day, batches_bars_to_sell)


@THERE.step("")
def made_whole(made_by_then: Number) -> Number:
    """The same as whole bars, never one more. -> [-]."""
    return round_down(made_by_then)


@THERE.step("")
def fit_by_then(held_by_then: Number, made_by_then: Number) -> Number:
    """Whole bars fit to sell by the day. -> [-]; contract."""
    return round_down(held_by_then + made_by_then)


@THERE.step("")
def short(wanted_by_then: Number, fit_by_then: Number) -> Number:
    """Bars missing on the day. -> [-]."""
    return larger(wanted_by_then - fit_by_then, 0)


THERE.add("last_need", "date", usual("need_day", 0, "Day by which the bars must be ready, 0 where nothing says it."))


@DEMAND.step("money")
def stall_cost(
    day_key: Text, day_at: Number, place: Number, stall_fee: Number, market_day_key: Column, market_place: Column,
    market_days_stall_fee: Column,
) -> Number:  # fmt: skip
    """Stall fee, that of Market days before that of Costs, in the first row of each market. [money] [money] -> [money]."""
    own = pick(market_days_stall_fee, day_at, "")
    fee = when(given(own), default_to(own, 0), stall_fee)
    return when(same(count_up_to(market_day_key, day_key, market_place, place), 1), fee, 0)


STEPS: tuple[Step, ...] = (
    *MOULDS.steps, *COUNTED.steps, *BATCHES.steps, *HELD.steps, *DEMAND.steps, *PLANNED.steps, *THERE.steps,
)  # fmt: skip
"""Steps of moulds, batches, bars on hand and demand, in order."""


def need_days(run: Run) -> list[float]:
    """Return the day by which the bars of each row of Market must be ready, as serial numbers [d]."""
    return [float(day or 0.0) for day in run.tables.column("market", "need_day")][: len(run.workshop.market)]


def dated(run: Run) -> tuple[Demand, ...]:
    """Return the rows of Market, each with the day by which its bars must be ready as Needed by."""
    days = need_days(run)
    rows: Sequence[Demand] = run.workshop.market
    return tuple(replace(row, needed_by=day_of(day)) for row, day in zip(rows, days, strict=True))


def listed_day(run: Run, place: int) -> MarketDay | None:
    """Return the row of Market days that a row (0, 1, ...) of Market names."""
    at = int(run.tables.column("market", "day_at")[place] or 0)
    return run.workshop.market_days[at - 1] if at else None


def market_date(run: Run, place: int) -> date:
    """Return the day of the market of a row (0, 1, ...) of Market: where it is not listed, the day its bars are needed."""
    listed = listed_day(run, place)
    found = listed.date if listed else day_of(need_days(run)[place])
    assert found
    return found
