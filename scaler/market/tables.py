"""The tables of a market run: the plan's choices beside the sheets, ready for the steps of `steps.py`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scaler.compute.planning import Plan
from scaler.compute.results import Run
from scaler.compute.steps import Sheetful, evaluate
from scaler.compute.tables import serial
from scaler.compute.task import Task, unmould_days
from scaler.market.steps import STEPS
from scaler.model import MARKET, ON_HAND, Workshop
from scaler.schema import columns

SHARES_SOLD = (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Shares of the bars sold that the Money tab shows; they stand in cells."""


def fill(run: Run, task: Task, plan: Plan) -> None:
    """Add the tables of the market run to those of its batches, and work them out."""
    tables = run.tables
    _start_sheet(tables, MARKET.key, run.workshop.market, MARKET.record)
    _start_sheet(tables, ON_HAND.key, run.workshop.on_hand, ON_HAND.record)
    _start_planned(tables, run.workshop)
    _start_packs(tables, task, plan)
    _start_sold(tables, task)
    tables.start("money", 1, {"run": [1.0]})
    tables.start("through", len(SHARES_SOLD), {"share_sold": list(SHARES_SOLD)})
    days = _days(run, task)
    tables.start("days", len(days), {"planned_day": days})
    evaluate(STEPS, tables)


def _start_sheet(tables: Sheetful, key: str, records: Sequence[Any], record: Any) -> None:
    held = {name: [_value(getattr(item, name)) for item in records] for name in columns(record)}
    tables.start(key, len(records), held | {"place": [float(place) for place in range(1, len(records) + 1)]})


def _value(value: object) -> object:
    if hasattr(value, "toordinal"):
        return serial(value)  # type: ignore[arg-type]  # a date
    return float(value) if isinstance(value, int) else value


def _start_planned(tables: Sheetful, workshop: Workshop) -> None:
    """Put beside each row of Market what the plan was made for: what is changed since then needs the engine."""
    held = tables.columns[MARKET.key]
    held["planned_recipe"] = [item.recipe for item in workshop.market]
    held["planned_bars"] = [float(item.bars) for item in workshop.market]
    held["planned_day"] = [serial(item.needed_by) for item in workshop.market]
    held["planned_mould"] = [item.mould or "" for item in workshop.market]


def _start_packs(tables: Sheetful, task: Task, plan: Plan) -> None:
    """Begin the shopping: every pack on offer of what is used, with the plan's counts, and a row a thing."""
    things = [thing for thing, amount in sorted(plan.need.items()) if amount > 0]
    counts = {row: count for purchase in plan.buy.values() for row, count in purchase.packs}
    offered = [offer.row for thing in things for offer in task.offers[thing]]
    offers = sorted(offered, key=lambda row: row not in counts)
    packs: dict[str, Sequence[Any]] = {
        "price_at": [row + 1.0 for row in offers],
        "packs_to_buy": [float(counts.get(row, 0)) for row in offers],
    }
    tables.start("packs", len(offers), packs)
    tables.start("buying", len(things), {"ingredient_at": [thing + 1.0 for thing in things]})


def _start_sold(tables: Sheetful, task: Task) -> None:
    cheapest = {wish.recipe: min((item.bar_cost for item in task.of(wish)), default=0.0) for wish in task.wishes}
    held = {"recipe_at": [recipe + 1.0 for recipe in cheapest], "usual_bar_cost": list(cheapest.values())}
    tables.start("sold", len(cheapest), held)


def _days(run: Run, task: Task) -> list[float]:
    """Return every day on which something is to be done or comes about, in order."""
    days = {serial(item.needed_by) for item in run.workshop.market}
    cures = {wish.recipe: wish.cure for wish in task.wishes}
    rows = {item.recipe: row for row, item in enumerate(run.workshop.recipes)}
    for batch in run.workshop.batches:
        made = serial(batch.make_date) or 0.0
        days |= {made, made + unmould_days(run), made + cures[rows[batch.recipe]]}
    return sorted(day for day in days if day is not None)
