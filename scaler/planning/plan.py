"""Planning: from bars wanted on a day, back through the cure, to what to make when and what to buy, on few making days."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from scaler.planning.candidates import Purchase
from scaler.planning.choosing import Choice, choose
from scaler.planning.cost_program import cost_of, purchases
from scaler.planning.problem import Task, amounts
from scaler.planning.scheduling import TIMED, Diary, Job, TimedProgram, broad, later, latest, met, promising
from scaler.planning.solver import INFEASIBLE, OPTIMAL, STOPPED, Effort, interrupted

TOGETHER = 6
"""Days that a batch may be moved to be made with others: our own rule."""
MANY = 100
"""Batches from which a plan is left as it is: its days are full anyway, and each move is held against all the others."""


def together(task: Task, jobs: Sequence[Job]) -> list[Job]:
    """Return the batches on fewer days: days with little work are emptied onto those near them, where all still holds.

    What is made, and what it costs, stays as it is; moulds, hours, shelf, days off and demand are kept to.
    """
    held, diary = list(jobs), Diary(task)
    if len(held) > MANY:
        return sorted(held, key=lambda job: job.order)
    for job in held:
        diary.take(job)
    for day in sorted({job.day for job in held}, key=lambda day: (diary.hours.get(day, 0.0), -day)):
        held = _emptied(held, diary, day) or held
    return sorted(held, key=lambda job: job.order)


def _emptied(jobs: list[Job], diary: Diary, day: int) -> list[Job] | None:
    """Return the batches with those of a day on other making days; None, and the diary as it was, where that cannot be."""
    held = list(jobs)
    others = {job.day for job in jobs if 0 < abs(job.day - day) <= TOGETHER}
    near = sorted(others, key=lambda other: (abs(other - day), -other))
    places = [place for place, job in enumerate(jobs) if job.day == day]
    for place in places:
        job, wish = jobs[place], diary.task.by_recipe[jobs[place].candidate.recipe]
        diary.take(job, -1)
        ways = (replace(job, day=other) for other in near)
        rest = held[:place], held[place + 1 :]
        moved = next(
            (way for way in ways if diary.fits(way) and (way.day < day or met(wish, [*rest[0], way, *rest[1]]))), None
        )
        diary.take(moved or job)
        if moved is None:
            for before in places[: places.index(place)]:
                diary.take(held[before], -1)
                diary.take(jobs[before])
            return None
        held[place] = moved
    return held


EXACT = Effort(gap=1e-9, nodes=20_000, steps=1_000_000)
"""For runs that are small enough to be solved to the last penny."""
QUICK = Effort(gap=9e-3, nodes=20, steps=50_000)
"""For large runs: a plan less than one per cent above the best, or what was found with so many steps."""
SMALL = 150
"""Most candidates of a run that is solved to the last penny."""
Progress = Callable[[str], None]


@dataclass(frozen=True)
class Plan:
    """What to make when, what to buy, and what that costs.

    Attributes:
        jobs: the batches, in the order of their days.
        need: g or pieces of each ingredient (row) that they take.
        buy: packs to buy of each ingredient.
        cost: packs, labour and overhead, less what leftovers are worth.
        status: optimal (within `gap`), or stopped: the best that was found when the search ended.
        gap: how far above the least possible cost it may be, as a share of it.
    """

    jobs: tuple[Job, ...]
    need: Mapping[int, float]
    buy: Mapping[int, Purchase]
    cost: float
    status: str
    gap: float


@dataclass(frozen=True)
class NoPlan:
    """There is no plan (infeasible), or none was found when the search ended (stopped)."""

    status: str


def plan(task: Task, progress: Progress = lambda text: None, choice: Choice | None = None) -> Plan | NoPlan:
    """Return the cheapest plan that makes nothing on a market day, or where there is none, one that does.

    Args:
        task: what is asked.
        progress: told what is being done.
        choice: the cheapest batches as if the calendar had room for all, where they are known.
    """
    free = choice or cheapest(task, progress)
    found = _plan(task.at_home, progress, free)
    return found if isinstance(found, Plan) or not task.at_home.limits.away else _plan(task, progress, free)


def cheapest(task: Task, progress: Progress) -> Choice:
    """Return the cheapest batches as if the calendar had room for all: days, moulds and hours change nothing in it."""
    progress(f"Choosing among {len(task.candidates)} recipes in moulds")
    return choose(task, _effort(task))


def _effort(task: Task) -> Effort:
    return EXACT if len(task.candidates) <= SMALL else QUICK


def _plan(task: Task, progress: Progress, choice: Choice) -> Plan | NoPlan:
    """Return the cheapest plan, its batches made as late as they may.

    First the cheapest batches are found as if the calendar had room for all; they cost no more than any plan. If they
    fit on the calendar, that is it. If not, they are chosen again within what there is by each date, and if even those
    do not fit, batches and days are chosen together.
    """
    small, effort = len(task.candidates) <= SMALL, _effort(task)
    bound = choice.bound
    if choice.status == INFEASIBLE:
        return NoPlan(INFEASIBLE)
    found = _on_calendar(task, choice, bound, progress)
    if found is None and task.limits.first is not None:
        progress("Choosing again within the moulds and hours there are by each date")
        whole = small or len(task.candidates) * max(len(wish.dates) for wish in task.wishes) <= TIMED
        again = choose(task if whole else replace(task, candidates=promising(task, choice.chosen)), effort, dated=True)
        if again.status == INFEASIBLE and whole:
            return NoPlan(INFEASIBLE)
        bound = max(bound, again.bound) if whole else bound
        choice = again if again.chosen else choice
        found = _on_calendar(task, choice, bound, progress)
    return found or _timed(task, choice, bound, effort, progress)


def _on_calendar(task: Task, choice: Choice, bound: float, progress: Progress) -> Plan | None:
    """Return the plan of a choice, None when its batches do not fit on the calendar."""
    progress("Setting the days")
    if not choice.chosen and choice.status != OPTIMAL:
        return None
    jobs = latest(task, choice.chosen)
    return None if jobs is None else priced(task, together(task, jobs), bound, choice.status)


def _timed(task: Task, choice: Choice, bound: float, effort: Effort, progress: Progress) -> Plan | NoPlan:
    """Return the cheapest plan when the counts that cost least do not fit on the calendar."""
    if interrupted():
        return NoPlan(STOPPED)
    progress("Choosing batches and days together")
    whole = not broad(task)
    timed = TimedProgram(task, task.candidates if whole else promising(task, choice.chosen), choice.ranges)
    least = {variable: cost for variable, cost in enumerate(timed.program.costs) if cost}
    if math.isfinite(bound):
        timed.program.row(least, bound - timed.costs.offset - abs(bound) * 1e-9)
    found, _, jobs = timed.solve(effort)
    if not found.found:
        return NoPlan(INFEASIBLE if found.status == INFEASIBLE and whole else STOPPED)
    bound = max(bound, found.bound + timed.costs.offset) if whole else bound
    return priced(task, together(task, later(task, jobs)), bound, found.status)


def priced(task: Task, jobs: Sequence[Job], bound: float, status: str) -> Plan:
    """Return a plan with what it takes, what to buy and what it costs. [money]; our own rule, as README says."""
    made = [(job.candidate, 1, job.fills) for job in jobs]
    need = amounts(made)
    cost = cost_of(task, made)
    gap = max(0.0, cost - bound) / abs(cost) if cost else 0.0
    return Plan(tuple(jobs), need, purchases(task, need), cost, status, 0.0 if gap < 1e-6 else gap)
