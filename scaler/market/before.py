"""What was before a plan: batches made or failed with what they took and gave, the plan before, and what changed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import count
from typing import Any

from scaler.formula.helpers import exceeds, round_down
from scaler.model.problems import LOOK, Place, Problem, Warning, counted
from scaler.model.records import FAILED, MADE, Batch, OnHand, Workshop
from scaler.model.schema import serial
from scaler.model.settings import setting_declared
from scaler.planning.candidates import Candidate, taken_by
from scaler.planning.problem import Taken, Task, unmould_days, whole_days
from scaler.planning.scheduling import Job
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
        replace(item, state=None, bars_got=None, done_on=None, make_date=item.done_on or item.make_date)
        for item in workshop.done
    )
    return replace(workshop, batches=batches, done=(), market=(), on_hand=())


def numbered(workshop: Workshop) -> Workshop:
    """Return the workshop with a number, which no other batch has, for each done batch without a name."""
    taken = {item.batch for item in (*workshop.done, *workshop.batches)}
    free = (str(number) for number in count(1) if str(number) not in taken)
    done = tuple(item if item.batch else replace(item, batch=next(free)) for item in workshop.done)
    return replace(workshop, done=done)


def faults(workshop: Workshop, today: int) -> Iterator[Problem]:
    """Yield what is wrong with the dates of done batches.

    Args:
        workshop: with done batches.
        today: the day of working out, a serial number.
    """
    for item in workshop.done:
        day = serial(item.done_on or item.make_date)
        if day is None:
            says = f"Batch {item.batch} is {item.state}, and its day is not known."
            yield Problem(item.where.place("done_on"), "date_missing", "a blank cell", "", "Fill Made on.", says)
        elif day > today:
            says = f"Batch {item.batch} is {item.state}, and its day is {day_of(day)}, which is still to come."
            place = item.where.place("done_on" if item.done_on else "make_date")
            yield Problem(place, "date_future", f"{day_of(day)}", "", "Fill Made on with the day it was made.", says)


def doubted(workshop: Workshop, run: Run) -> Iterator[tuple[Place, Warning]]:
    """Yield done batches that gave more bars than they were cut into, and failed ones that gave some.

    Args: as of `lots_of`.
    """
    for place, item in enumerate(workshop.done):
        cut = run.tables.row("batches", place)["bars"]
        if item.bars_got and item.state == FAILED:
            says = f"Batch {item.batch} failed, so its Bars got of {item.bars_got} are not counted. Correct State, or clear Bars got."
            yield item.where.place("bars_got"), Warning("got_of_failed", says, LOOK)
        elif item.bars_got is not None and isinstance(cut, int | float) and exceeds(item.bars_got, cut):
            says = f"Batch {item.batch} makes {counted(cut, 'bar')}, but Bars got says {item.bars_got}. Correct it."
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
                took=taken_by(run.tables, place) if since else {},
            )
        )
    return tuple(lots)


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


NEW, DROPPED = "new", "dropped"


@dataclass(frozen=True)
class LastPlan:
    """What lasts from plan to plan.

    Attributes:
        first_market: the first market day of the first plan, a serial number: by it a calendar knows the run.
        last_number: the highest number that any batch of the run has had.
    """

    first_market: float
    last_number: int


def of_today(workshop: Workshop, today: date) -> Workshop:
    """Return the workshop worked out today, where its sheet Costs holds the day of an earlier plan."""
    name = setting_declared()["worked_out_on"].name
    costs = (
        replace(line, value=max(line.value, today)) if line.setting == name and isinstance(line.value, date) else line
        for line in workshop.costs
    )
    return replace(workshop, costs=tuple(costs))


FIRST = LastPlan(0.0, 0)
"""In place of a last plan where there is none."""


@dataclass(frozen=True)
class Change:
    """What changed since the last plan: a batch, what of it, from and to, in words; "" where there was nothing.

    A batch whose day went by and that nobody called made or failed is `overdue`.
    """

    batch: str
    what: str
    before: str
    now: str
    overdue: bool = False
    recipe: str = ""

    @property
    def words(self) -> str:
        """The change in words."""
        if self.what == NEW:
            return f"new: {self.now}"
        if self.overdue:
            return f"its day is past: {self.before}. If it is made, fill State on Batches and plan again; here it is dropped."
        dropped = f"dropped: it was {self.before}"
        return dropped if self.what == DROPPED else f"{self.recipe}, {self.what} {self.before}, now {self.now}"


def jobs_before(run: Run, task: Task, batches: Sequence[Batch]) -> tuple[Job, ...]:
    """Return the batches of the last plan that can still be made as they were planned, and are not of the past."""
    workshop, today = run.workshop, run.tables.one("costs", "worked_out_on")
    names = ((workshop.recipes[item.recipe].recipe, workshop.moulds[item.mould].mould) for item in task.candidates)
    made_in: dict[tuple[str, str | None], Candidate] = dict(zip(names, task.candidates, strict=True))
    found = []
    for item in batches:
        day = serial(item.make_date) or 0.0
        candidate = made_in.get((item.recipe, item.mould))
        fills = item.moulds_filled or 1
        if candidate and day >= today and candidate.fewest <= fills <= candidate.most:
            found.append(Job(candidate, fills, int(day)))
    return tuple(found)


def named(workshop: Workshop, jobs: Sequence[Job], last: LastPlan | None, today: float) -> list[str]:
    """Return a name for each batch: that of the batch of the last plan it goes on from, else a number never used.

    The name of a batch whose day is past stays its own: it may have been made, and its bars be labelled.
    """
    names: list[str] = [""] * len(jobs)
    open_rows = [item for item in workshop.batches if last and not _overdue(item, today)]
    made = [(workshop.recipes[job.candidate.recipe], workshop.moulds[job.candidate.mould], job) for job in jobs]
    wanted = [(recipe.recipe, mould.mould, job.fills, float(job.day)) for recipe, mould, job in made]
    for alike in (4, 2, 1):
        for place, want in enumerate(wanted):
            row = next((item for item in open_rows if item.batch and _made_of(item)[:alike] == want[:alike]), None)
            if not names[place] and row:
                names[place] = row.batch or ""
                open_rows.remove(row)
    number = highest(workshop, last)
    for place, name in enumerate(names):
        if not name:
            number += 1
            names[place] = str(number)
    return names


def highest(workshop: Workshop, last: LastPlan | None) -> int:
    """Return the highest number that names a batch of the run."""
    rows = (*workshop.done, *(workshop.batches if last else ()))
    numbers = [int(item.batch) for item in rows if item.batch and item.batch.isdecimal()]
    return max([last.last_number if last else 0, *numbers])


def _overdue(item: Batch, today: float) -> bool:
    day = serial(item.make_date)
    return day is not None and day < today


def _made_of(item: Batch) -> tuple[str, str | None, int, float | None]:
    return item.recipe, item.mould, item.moulds_filled or 1, serial(item.make_date)


_PARTS: tuple[tuple[str, Callable[[Batch], Any]], ...] = (
    ("mould", lambda item: item.mould or ""),
    ("moulds filled", lambda item: item.moulds_filled or 1),
    ("make date", lambda item: day_of(serial(item.make_date)) or ""),
)


def changes(before: Sequence[Batch], now: Sequence[Batch], today: float) -> Iterator[Change]:
    """Yield what changed since the last plan: batches moved or changed, then those dropped, then new ones."""
    held = {item.batch: item for item in before}
    kept = {item.batch for item in now}
    for item in now:
        old = held.get(item.batch)
        for what, part in _PARTS if old else ():
            if old and part(old) != part(item):
                yield Change(item.batch or "", what, str(part(old)), str(part(item)), recipe=item.recipe)
    for item in before:
        if item.batch not in kept:
            yield Change(item.batch or "", DROPPED, _words(item), "", _overdue(item, today))
    yield from (Change(item.batch or "", NEW, "", _words(item)) for item in now if item.batch not in held)


def _words(item: Batch) -> str:
    return f"{item.recipe} in {item.mould}, {day_of(serial(item.make_date)) or 'no date'}"
