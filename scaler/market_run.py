"""The market run end to end: a workshop becomes a plan, the plan becomes batches, the batches a run with its money."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from scaler.engine import scale
from scaler.market import before as past
from scaler.market.before import Change, LastPlan, Lot
from scaler.market.demand import dated
from scaler.market.tables import given
from scaler.model.problems import Place, Problem, Warning
from scaler.model.records import Batch, Demand, Workshop
from scaler.model.schema import serial
from scaler.output import NotReplaced, hand_over, put
from scaler.planning.feasibility import impossible, not_found, nothing_wanted, unpriced, why_not
from scaler.planning.keeping import Sizes, keeping, one_size
from scaler.planning.plan import Choice, NoPlan, Plan, cheapest, plan, priced
from scaler.planning.problem import ANY, Task, task_of
from scaler.planning.remedies import Key, any_plan, least_shortfall, limited
from scaler.planning.scheduling import Job
from scaler.planning.solver import INFEASIBLE, watched
from scaler.read.files import read_cells
from scaler.read.workshop import load, shown_in
from scaler.rules.results import Run
from scaler.rules.tables import day_of
from scaler.stored_plan import PLAN_SHEETS, PlanLost, stored

Progress = Callable[[str], None]


@dataclass(frozen=True, repr=False)
class MarketRun:
    """A market run worked out.

    Attributes:
        run: the planned batches as any batches are worked out, and the tables of the market beside theirs.
        task: what was asked.
        plan: what is made when and what is bought; None when there are problems.
        problems: what stops the run.
        lots: batches that are made, or were and failed.
        changes: what changed since the last plan.
        short: bars that cannot be there, by place on sheet Market; `why` says what would help.
        why: what stands in the way of the whole demand.
        least: whether it is shown that no plan is short of less.
    """

    run: Run
    task: Task | None
    plan: Plan | None
    problems: tuple[Problem, ...] = ()
    lots: tuple[Lot, ...] = ()
    changes: tuple[Change, ...] = ()
    short: Mapping[int, int] = field(default_factory=dict)
    why: tuple[Problem, ...] = ()
    least: bool = True

    def __repr__(self) -> str:
        """Return a line for the plan and a line a batch, or a line a problem."""
        if self.problems or not self.plan:
            return "\n".join(("Market run with problems:", *map(repr, self.problems)))
        lines = (f"{item.make_date}: {item.batch}: {item.recipe}: {item.bars:g} bars" for item in self.run.batches)
        missing = sum(self.short.values())
        return "\n".join(
            (f"Market run, {self.plan.status}, cost {self.plan.cost:.2f}, bars missing {missing}:", *lines)
        )


def _silent(text: str) -> None:
    """Say nothing."""


def work_out(
    workshop: Workshop, progress: Progress = _silent, last: LastPlan | None = None, strict: bool = False
) -> MarketRun:
    """Return the market run of a workshop.

    Of sheet Batches the made and failed ones count; planned ones only where they are those of the last plan.

    Args:
        workshop: records whose names are resolved, as `load` returns them.
        progress: told what is being done.
        last: what a finished market workbook says of its plan, when that is what was read; its planned batches are
            kept where that costs little, and their names are theirs.
        strict: refuse a demand that cannot be met whole, instead of planning as much of it as can be.
    """
    workshop = past.numbered(workshop)
    lots, problems, doubts = _lots(workshop)
    workshop = replace(workshop, doubts=(*workshop.doubts, *doubts))
    seen = past.counted_in(workshop, lots)
    base = scale(seen)
    problems = problems or base.problems or tuple(nothing_wanted(workshop)) or tuple(unpriced(seen, base.tables))
    if problems:
        return MarketRun(base, None, None, problems)
    seen = replace(seen, market=dated(base))  # each with the day on which its bars must be ready
    base = replace(base, workshop=seen)
    task = past.beside(task_of(base, progress), lots)
    why = tuple(impossible(seen, task))
    found: Plan | NoPlan = NoPlan(INFEASIBLE)
    if not why:
        found = _soon(base, task, progress)
    if strict and isinstance(found, Plan) and any(job.day < _today(base) for job in found.jobs):
        task = limited(task, first=_today(base))
        why = tuple(impossible(seen, task))
        found = NoPlan(INFEASIBLE) if why else _soon(base, task, progress)
    missing: Mapping[Key, int] = {}
    least = True
    if isinstance(found, NoPlan):
        explained = why_not if found.status == INFEASIBLE else not_found
        why = why or (explained(seen, _to_be_made(task), progress),)
        short = None if strict else _as_much_as_can_be(seen, task, progress)
        if short is None:
            return MarketRun(base, task, None, why)
        task, found, missing, least = short
    progress("Keeping to one bar size")
    sizes = one_size(task, found, base.tables.one("costs", "keep_sizes"), lambda rest: _soon(base, rest, _silent))
    found = sizes.plan
    before = past.jobs_before(base, task, workshop.batches) if last else ()
    if before:
        progress("Keeping to the last plan")
        share = base.tables.one("costs", "keep_plan")
        found = keeping(task, found, before, share, lambda rest: _planned(_to_be_made(rest), _silent))
    rows = _by_row(seen, missing)
    kept = sizes if found is sizes.plan else None
    done = finish(replace(base, workshop=workshop), task, found, progress, lots, last, rows, kept)
    return replace(done, short=rows, why=why, least=least)


def _today(base: Run) -> int:
    return int(base.tables.one("costs", "worked_out_on"))


def _soon(base: Run, task: Task, progress: Progress) -> Plan | NoPlan:
    """Return the cheapest plan that begins today at the earliest, where there is one."""
    made = _to_be_made(task)
    choice = cheapest(made, progress)
    return _not_in_the_past(base, made, _planned(made, progress, choice), choice, progress)


def _as_much_as_can_be(
    workshop: Workshop, task: Task, progress: Progress
) -> tuple[Task, Plan, Mapping[Key, int], bool] | None:
    """Return the task of what can be met, its plan, what is missing, and whether less cannot be; None when nothing can be met."""
    progress("Looking for as much as can be")
    found = least_shortfall(task, _prices(workshop, task))
    if found is None or sum(found.bars.values()) >= sum(item.bars for item in workshop.market):
        return None
    made = _planned(_to_be_made(found.task), progress)
    if isinstance(made, NoPlan):
        made = priced(found.task, found.jobs, -math.inf, made.status)
    return found.task, made, found.bars, found.least


def _key(workshop: Workshop, item: Demand) -> Key:
    recipe = next(row for row, held in enumerate(workshop.recipes) if held.recipe == item.recipe)
    mould = next((row for row, held in enumerate(workshop.moulds) if held.mould == item.mould), ANY)
    return recipe, mould, int(serial(item.needed_by) or 0)


def _prices(workshop: Workshop, task: Task) -> Mapping[Key, float]:
    """Return what a bar brings, by recipe, mould and date: the price asked, or that which makes the margin."""
    usual = {wish.recipe: min((item.bar_price for item in task.of(wish)), default=1.0) for wish in task.wishes}
    found: dict[Key, float] = {}
    for item in workshop.market:
        key = _key(workshop, item)
        found[key] = max(found.get(key, 0.0), usual[key[0]] if item.price is None else item.price)
    return found


def _by_row(workshop: Workshop, missing: Mapping[Key, int]) -> dict[int, int]:
    """Return bars missing by place on sheet Market, of rows alike those that bring least first."""
    left, rows = dict(missing), {}
    for place, item in sorted(enumerate(workshop.market), key=lambda row: row[1].price or 0.0):
        key = _key(workshop, item)
        count = min(left.get(key, 0), item.bars)
        if count:
            rows[place] = count
            left[key] -= count
    return rows


def _lots(workshop: Workshop) -> tuple[tuple[Lot, ...], tuple[Problem, ...], tuple[tuple[Place, Warning], ...]]:
    """Return the lots of done batches, what is wrong with those, and what is asked about."""
    if not workshop.done:
        return (), (), ()
    run = scale(past.undone(workshop))
    problems = run.problems or tuple(past.faults(workshop, int(run.tables.one("costs", "worked_out_on"))))
    return ((), problems, ()) if problems else (past.lots_of(workshop, run), (), tuple(past.doubted(workshop, run)))


def _planned(task: Task, progress: Progress, choice: Choice | None = None) -> Plan | NoPlan:
    """Return the cheapest plan; where the search for it ended early, any that keeps to everything."""
    found = plan(task, progress, choice)
    if isinstance(found, NoPlan) and found.status != INFEASIBLE:
        progress("Looking for any plan that keeps to everything")
        jobs = any_plan(task)
        if jobs is not None:
            return priced(task, jobs, -math.inf, found.status)
    return found


def _not_in_the_past(run: Run, task: Task, found: Plan | NoPlan, choice: Choice, progress: Progress) -> Plan | NoPlan:
    """Return a plan that begins today at the earliest where First make day is blank and there is one, else the plan."""
    today = _today(run)
    if isinstance(found, NoPlan) or task.limits.first is not None or all(job.day >= today for job in found.jobs):
        return found
    progress("Looking for a plan that begins today")
    bounded = limited(task, first=today)
    if any(impossible(run.workshop, bounded)):
        return found
    sooner = _planned(bounded, progress, choice)
    return found if isinstance(sooner, NoPlan) else sooner


def _to_be_made(task: Task) -> Task:
    """Return the task without recipes that no mould can hold; where bars of them are needed, that was refused before."""
    return replace(task, wishes=tuple(wish for wish in task.wishes if task.of(wish)))


def finish(
    base: Run, task: Task, found: Plan, progress: Progress = _silent, lots: tuple[Lot, ...] = (),
    last: LastPlan | None = None, short: Mapping[int, int] = {}, sizes: Sizes | None = None,
) -> MarketRun:  # fmt: skip
    """Return the run of a plan: its batches scaled and costed, its shopping, its days, its money."""
    progress("Working out the planned batches")
    workshop = base.workshop
    today = base.tables.one("costs", "worked_out_on")
    names = past.named(workshop, found.jobs, last, today)
    held = replace(workshop, batches=planned(workshop, found.jobs, names))
    what = tuple(past.changes(workshop.batches, held.batches, today)) if last else ()
    run = scale(held, given(replace(base, workshop=held), task, found, lots, what, last, short, sizes))
    if run.problems:
        return MarketRun(run, task, None, run.problems)
    return MarketRun(run, task, found, (), lots, what)


def planned(workshop: Workshop, jobs: Sequence[Job], names: Sequence[str]) -> tuple[Batch, ...]:
    """Return the batches of a plan as records of sheet Batches, in the order of their days."""
    return tuple(
        Batch(
            batch=name,
            recipe=workshop.recipes[job.candidate.recipe].recipe,
            mould=workshop.moulds[job.candidate.mould].mould,
            moulds_filled=job.fills,
            make_date=day_of(float(job.day)),
        )
        for name, job in zip(names, jobs, strict=True)
    )


# --- the command: read, plan, write the workbook and its calendar ---


PATIENCE = 1.0
"""Seconds of silence after which a command says what it is doing."""


def market_run(
    files: Sequence[Path], say: Callable[[str], None], strict: bool = False, units: str | None = None
) -> MarketRun:
    """Return the market run of workbooks; its problems are those of reading too.

    Args:
        files: .xlsx files.
        say: told what is being done, once a second at most, and not in the first.
        strict: refuse a demand that cannot be met whole.
        units: metric or us, None for those of the workbook.
    """
    said = [time.monotonic()]

    def progress(text: str) -> None:
        if time.monotonic() - said[0] >= PATIENCE:
            say(f"{text} ...")
            said[0] = time.monotonic()

    workshop = shown_in(load(files), units)
    unread = any(problem.code.startswith("file_") for problem in workshop.problems)
    last = None if unread else last_plan(files)
    with watched(say):
        return work_out(past.of_today(workshop, date.today()) if last else workshop, progress, last, strict)


def last_plan(paths: Sequence[Path]) -> LastPlan | None:
    """Return what the finished market workbook among the files says of its plan, None where none is one."""
    for path in paths:
        try:
            found = stored(read_cells(path, PLAN_SHEETS), "money", ("first_market", "last_number"))
        except PlanLost:
            continue
        if all(found.values()):
            return LastPlan(found["first_market"][0], int(found["last_number"][0]))
    return None


def deliver(found: MarketRun, path: Path, force: bool, files: Sequence[Path]) -> Path:
    """Write the finished workbook and its calendar, and return the calendar's path.

    Raises:
        scaler.output.NotReplaced: one of the two exists and is not ours to replace, or is open elsewhere.
    """
    from scaler.market.calendar_file import calendar

    beside = path.with_suffix(".ics")
    _refuse_foreign(beside, force)
    hand_over(found.run, path, force, files)
    put(calendar(found.run, _calendars([beside, *(file.with_suffix(".ics") for file in files)])), beside)
    return beside


def _calendars(paths: Sequence[Path]) -> list[bytes]:
    """Return what calendars hold, of those that are there."""
    return [path.read_bytes() for path in dict.fromkeys(paths) if path.is_file()]


def _refuse_foreign(path: Path, force: bool) -> None:
    from scaler.market.calendar_file import PRODUCT

    if not path.exists() or force:
        return
    try:
        ours = path.is_file() and PRODUCT.encode() in path.read_bytes()
    except OSError:
        ours = False
    if not ours:
        raise NotReplaced(f"{path} exists and scaler did not make it. Write to another file, or use --force.")
