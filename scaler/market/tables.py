"""The tables of a market run: the plan's choices beside the sheets, and every step that fills the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from scaler.formula.cells import IndexedColumn
from scaler.formula.steps import Step, Tables
from scaler.market import days, demand, money, shopping
from scaler.market.before import FIRST, Change, LastPlan, Lot, highest, used
from scaler.market.days import MOMENTS, STAGES
from scaler.market.demand import market_date, need_days
from scaler.model.records import MARKET, Batch, Workshop
from scaler.model.schema import serial
from scaler.rules.results import Run

if TYPE_CHECKING:
    from scaler.planning.keeping import Sizes
    from scaler.planning.plan import Plan
    from scaler.planning.problem import Task

STEPS: tuple[Step, ...] = (*demand.STEPS, *shopping.STEPS, *money.STEPS, *days.STEPS)
"""Every step of a market run."""

SPARE_DAYS = 8
"""Rows of days beyond those of the plan, for batches whose dates are changed in the workbook."""
SHARES_SOLD = (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Shares of the bars sold that the Money tab shows; they stand in cells."""


Given = Mapping[str, Mapping[str, Sequence[Any]]]
"""What no formula gives: columns of choices and of what was planned for, by table."""


def start(tables: Tables, held: Given) -> None:
    """Begin the tables of a market run beside those of its batches: what they lack is bought."""
    values = list(tables.column("constants", "value"))
    values[list(tables.column("constants", "name")).index("bought_for")] = 1.0
    tables.columns["constants"]["value"] = IndexedColumn(values)
    for table, columns_given in held.items():
        if table in tables.columns:
            tables.columns[table] |= {name: IndexedColumn(values) for name, values in columns_given.items()}
        else:
            tables.start(table, columns_given)
    count = sum(tables.lengths[table] for table, _ in MOMENTS)
    tables.start("moments", {"place": [place + 1.0 for place in range(count)]})


def given(
    run: Run, task: Task, plan: Plan, lots: tuple[Lot, ...], changes: Sequence[Change], last: LastPlan | None,
    short: Mapping[int, int], sizes: Sizes | None,
) -> Given:  # fmt: skip
    """Return what a plan gives the tables of its run."""
    return {
        MARKET.key: _planned(run, short),
        **_packs(task, plan, run, used(lots)),
        "lots": _lots(lots, run.workshop),
        "changes": {"change_batch": [item.batch for item in changes], "change_words": [item.words for item in changes]},
        "sizes": _sizes(run, sizes),
        "money": {
            "first_market": [last.first_market if last else min(need_days(run))],
            "last_number": [float(highest(run.workshop, last or FIRST))],
        },
        "sold": _sold(task, run.workshop),
        "through": {"share_sold": list(SHARES_SOLD)},
        "days": {"place": [place + 1.0 for place in range(_days(run, task, lots) + SPARE_DAYS)]},
        "stages": _stages(len(run.workshop.batches)),
    }


def _planned(run: Run, short: Mapping[int, int]) -> Mapping[str, Sequence[Any]]:
    """Return what each row of Market was planned for: what is changed since then needs the engine."""
    workshop = run.workshop
    return {
        "planned_recipe": [item.recipe for item in workshop.market],
        "planned_bars": [float(item.bars) for item in workshop.market],
        "planned_day": need_days(run),
        "planned_mould": [item.mould or "" for item in workshop.market],
        "planned_short": [float(short.get(place, 0)) for place in range(len(workshop.market))],
    }


def _lots(lots: tuple[Lot, ...], workshop: Workshop) -> Mapping[str, Sequence[Any]]:
    """Return the batches that are made or failed, a row each."""
    return {
        "lot_name": [lot.record.batch or "" for lot in lots],
        "lot_state": [lot.record.state or "" for lot in lots],
        "lot_recipe": [workshop.recipes[lot.recipe].recipe for lot in lots],
        "lot_mould": [workshop.moulds[lot.mould].mould for lot in lots],
        "lot_made": [float(lot.made) for lot in lots],
        "lot_free": [float(lot.free) for lot in lots],
        "lot_ready": [float(lot.ready) for lot in lots],
        "lot_moulds": [float(lot.fills) for lot in lots],
        "lot_bars": [float(lot.bars) for lot in lots],
        "lot_cut": [lot.cut for lot in lots],
        "lot_wrap": [lot.wrap for lot in lots],
    }


def _sizes(run: Run, sizes: Sizes | None) -> Mapping[str, Sequence[Any]]:
    """Return what keeping to one bar size came to, a row for the recipes that have one and one for those that have not."""
    if sizes is None:
        return {"size_recipes": [], "size_words": []}
    more = f"{run.tables.one('costs', 'currency') or ''}{sizes.more:,.2f}"
    rows = (
        (sizes.one, f"in one bar size: {more} more than the cheapest plan (Keep sizes % on Costs)."),
        (sizes.several, "in several bar sizes: one size would cost more than Keep sizes % allows."),
    )
    held = [(", ".join(run.workshop.recipes[row].recipe for row in of), words) for of, words in rows if of]
    return {"size_recipes": [recipes for recipes, _ in held], "size_words": [words for _, words in held]}


def _packs(task: Task, plan: Plan, run: Run, took: Mapping[int, float]) -> Given:
    """Return the shopping: every pack on offer of what is used, with the plan's counts, and a row a thing."""
    things = [thing for thing, amount in sorted(plan.need.items()) if amount > 0]
    counts = {row: count for purchase in plan.buy.values() for row, count in purchase.packs}
    offered = [offer.row for thing in things for offer in task.offers[thing]]
    offers = sorted(offered, key=lambda row: row not in counts)
    prices, percent = run.workshop.prices, run.tables.one("constants", "percent")
    names = run.workshop.ingredients
    packs: dict[str, Sequence[Any]] = {
        "planned_at": [row + 1.0 for row in offers],
        "planned_offer": [
            shopping.offer_key(price.ingredient, price.supplier or "", price.pack, price.pack_unit, percent)
            for price in (prices[row] for row in offers)
        ],
        "planned_thing": [prices[row].ingredient for row in offers],
        "planned_supplier": [prices[row].supplier or "" for row in offers],
        "packs_to_buy": [float(counts.get(row, 0)) for row in offers],
        "planned_packs": [float(counts.get(row, 0)) for row in offers],
        "planned_cost": [prices[row].price + (prices[row].delivery or 0.0) for row in offers],
    }
    return {
        "packs": packs,
        "buying": {
            "thing": [names[thing].ingredient for thing in things],
            "used_since": [took.get(thing, 0.0) for thing in things],
        },
    }


def _sold(task: Task, workshop: Workshop) -> Mapping[str, Sequence[Any]]:
    cheapest = {wish.recipe: min((item.bar_cost for item in task.of(wish)), default=0.0) for wish in task.wishes}
    return {
        "sold_recipe": [workshop.recipes[recipe].recipe for recipe in cheapest],
        "usual_bar_cost": list(cheapest.values()),
    }


def _stages(batches: int) -> Mapping[str, Sequence[Any]]:
    """Return a row for each step of each batch, as a row of batches and a place in STAGES."""
    steps = [(batch, stage) for batch in range(1, batches + 1) for stage in range(1, len(STAGES) + 1)]
    return {
        "place": [float(place) for place in range(1, len(steps) + 1)],
        "batch_at": [float(batch) for batch, _ in steps],
        "stage": [float(stage) for _, stage in steps],
        "stage_words": [STAGES[stage - 1] for _, stage in steps],
    }


def _days(run: Run, task: Task, lots: tuple[Lot, ...]) -> int:
    """Return on how many days something is to be done or comes about."""
    days = set(need_days(run))
    days |= {float(serial(market_date(run, place)) or 0.0) for place in range(len(run.workshop.market))}
    days |= {float(day) for lot in lots for day in (lot.free, lot.ready)}
    days |= {float(serial(item.ready_date) or 0.0) for item in run.workshop.on_hand}
    for batch in run.workshop.batches:
        days |= set(_dates_of(run, task, batch))
    return len(days)


def _dates_of(run: Run, task: Task, batch: Batch) -> tuple[float, ...]:
    """Return the day of each of STAGES of a batch."""
    made = serial(batch.make_date) or 0.0
    recipe = next(row for row, item in enumerate(run.workshop.recipes) if item.recipe == batch.recipe)
    cure = task.by_recipe[recipe].cure
    from scaler.planning.problem import unmould_days

    return made, made + unmould_days(run), made + cure
