"""The plan before: what a finished market workbook says of it, which batches keep their names, and what changed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from scaler.model.limits import serial
from scaler.model.records import Batch, Workshop
from scaler.model.settings import setting_declared
from scaler.planning.problem import Task
from scaler.planning.scheduling import Job
from scaler.rules.results import Run
from scaler.rules.tables import day_of

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


def dated(workshop: Workshop, today: date) -> Workshop:
    """Return the workshop worked out today, where its sheet Costs holds the day of an earlier plan."""
    name = setting_declared()["worked_out_on"].name
    return replace(
        workshop,
        costs=tuple(
            replace(line, value=max(line.value, today))
            if line.setting == name and isinstance(line.value, date)
            else line
            for line in workshop.costs
        ),
    )


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
        return (
            f"dropped: it was {self.before}"
            if self.what == DROPPED
            else f"{self.recipe}, {self.what} {self.before}, now {self.now}"
        )


def jobs_before(run: Run, task: Task, batches: Sequence[Batch]) -> tuple[Job, ...]:
    """Return the batches of the last plan that can still be made as they were planned, and are not of the past."""
    workshop, today = run.workshop, run.tables.one("costs", "worked_out_on")
    found = []
    for item in batches:
        day = serial(item.make_date) or 0.0
        candidate = next(
            (
                held
                for held in task.candidates
                if workshop.recipes[held.recipe].recipe == item.recipe
                and workshop.moulds[held.mould].mould == item.mould
            ),
            None,
        )
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
    wanted = [
        (
            workshop.recipes[job.candidate.recipe].recipe,
            workshop.moulds[job.candidate.mould].mould,
            job.fills,
            float(job.day),
        )
        for job in jobs
    ]
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
