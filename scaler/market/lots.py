"""Batches that are made, or were and failed: the bars they give a market run, and what they took off the shelf."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from scaler.formula.helpers import exceeds, round_down
from scaler.model.limits import serial
from scaler.model.problems import LOOK, Place, Problem, Warning
from scaler.model.records import FAILED, MADE, Batch, OnHand, Workshop
from scaler.planning.problem import Taken, Task, unmould_days, whole_days
from scaler.rules.results import Run
from scaler.rules.tables import day_of

NOT_COUNTED = "Stock counted on is blank on Costs: what made and failed batches took is not taken off Stock. Fill in the day you counted."
"""What is said of stock that may hold what is gone."""


@dataclass(frozen=True)
class Lot:
    """A batch that is made, or was and failed.

    Attributes:
        record: its row of sheet Batches.
        recipe, mould: their rows (0, 1, ...).
        made, free, ready: serial days on which it was made, its moulds are free again, its bars are cured.
        fills: moulds it filled.
        bars: bars fit to sell: Bars got, else bars less rejects, whole; 0 of a failed one.
        cut, wrap: hours of cutting when they come out of the mould, and of wrapping when they are cured; 0 of a failed one.
        took: g or pieces of each ingredient (row) that it took off the shelf since Stock counted on.
    """

    record: Batch
    recipe: int
    mould: int
    made: int
    free: int
    ready: int
    fills: float
    bars: int
    cut: float
    wrap: float
    took: dict[int, float]

    @property
    def taken(self) -> Taken:
        """What it keeps from other batches: its moulds until they are free, and the time to cut and wrap its bars."""
        work = {self.free: self.cut}
        work[self.ready] = work.get(self.ready, 0.0) + self.wrap
        return Taken(self.mould, self.made, self.free, int(self.fills), work, 0.0, self.made)


def undone(workshop: Workshop) -> Workshop:
    """Return the workshop with its done batches as if they were still to be made, and no others."""
    batches = tuple(
        replace(item, state=None, bars_got=None, make_date=item.done_on or item.make_date) for item in workshop.done
    )
    return replace(workshop, batches=batches, done=(), market=(), on_hand=())


def faults(workshop: Workshop, today: int) -> Iterator[Problem]:
    """Yield what is wrong with the dates of done batches.

    Args:
        workshop: with done batches.
        today: the day of working out, a serial number.
    """
    for item in workshop.done:
        day = serial(item.done_on or item.make_date)
        if day is None:
            says = f"{item.batch} is {item.state}, and its day is not known."
            yield Problem(item.where.place("done_on"), "date_missing", "a blank cell", "", "Fill Made on.", says)
        elif day > today:
            says = f"{item.batch} is {item.state} on {day_of(day)}, which is still to come."
            place = item.where.place("done_on" if item.done_on else "make_date")
            yield Problem(place, "date_future", f"{day_of(day)}", "", "Fill Made on with the day it was made.", says)


def doubted(workshop: Workshop, run: Run) -> Iterator[tuple[Place, Warning]]:
    """Yield done batches that gave more bars than they were cut into.

    Args: as of `lots_of`.
    """
    for place, item in enumerate(workshop.done):
        cut = run.tables.row("batches", place)["bars"]
        if item.bars_got is not None and isinstance(cut, int | float) and exceeds(item.bars_got, cut):
            says = f"Batch {item.batch} makes {cut:g} bars, but Bars got says {item.bars_got}. Correct it."
            yield item.where.place("bars_got"), Warning("got_many", says, LOOK)


def lots_of(workshop: Workshop, run: Run) -> tuple[Lot, ...]:
    """Return the lots of a workshop.

    Args:
        workshop: with done batches.
        run: those batches worked out, as `undone` gives them.
    """
    counted = run.tables.one("costs", "stock_counted")
    lots = []
    for place, record in enumerate(workshop.done):
        row = run.tables.row("batches", place)
        made = int(serial(record.done_on or record.make_date) or 0)
        cure = run.tables.column("recipes", "cure_days_in_use")[int(row["recipe_at"]) - 1]
        since = isinstance(counted, int | float) and made >= counted
        got = record.bars_got if record.bars_got is not None else int(round_down(row["bars_to_sell"] or 0.0))
        lots.append(
            Lot(
                record=record,
                recipe=int(row["recipe_at"]) - 1,
                mould=int(row["mould_at"]) - 1,
                made=made,
                free=max(made + unmould_days(run), made + 1),
                ready=made + whole_days(cure),
                fills=row["filled_moulds"] or 0.0,
                bars=got if record.state == MADE else 0,
                cut=row["cut_hours"] if record.state == MADE else 0.0,
                wrap=row["wrap_hours"] if record.state == MADE else 0.0,
                took=_took(run, place) if since else {},
            )
        )
    return tuple(lots)


def _took(run: Run, place: int) -> dict[int, float]:
    lines = run.tables.columns["batch_lines"]
    found: dict[int, float] = {}
    for of, thing, grams, each in zip(
        lines["batch_at"], lines["ingredient_at"], lines["g"], lines["line_count_each"], strict=True
    ):
        if of == place + 1 and thing:
            found[int(thing) - 1] = found.get(int(thing) - 1, 0.0) + (grams or 0.0) + (each or 0.0)
    return found


def used(lots: tuple[Lot, ...]) -> dict[int, float]:
    """Return g or pieces of each ingredient (row) that lots took off the shelf since it was counted."""
    found: dict[int, float] = {}
    for lot in lots:
        for thing, amount in lot.took.items():
            found[thing] = found.get(thing, 0.0) + amount
    return found


def counted_in(workshop: Workshop, lots: tuple[Lot, ...]) -> Workshop:
    """Return the workshop as a planner sees it: the bars of its lots on hand, no batch planned, usual moulds named."""
    usual = {item.recipe: item.usual_mould for item in workshop.recipes}
    market = tuple(replace(item, mould=item.mould or usual.get(item.recipe)) for item in workshop.market)
    bars = [
        OnHand(recipe=workshop.recipes[lot.recipe].recipe, bars=lot.bars, ready_date=day_of(float(lot.ready)))
        for lot in lots
        if lot.record.state != FAILED
    ]
    return replace(workshop, batches=(), done=(), market=market, on_hand=(*workshop.on_hand, *bars))


def beside(task: Task, lots: tuple[Lot, ...]) -> Task:
    """Return the task with what lots took off the shelf gone, and their moulds in use while they are."""
    took = used(lots)
    stock = {thing: max(0.0, held - took.get(thing, 0.0)) for thing, held in task.stock.items()}
    return replace(task, stock=stock, limits=replace(task.limits, taken=tuple(lot.taken for lot in lots)))
