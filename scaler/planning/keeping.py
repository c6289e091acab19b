"""Keeping to a plan: a new plan that changes as little of the last one as a small share of its cost allows."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from scaler.planning.plan import NoPlan, Plan, priced
from scaler.planning.problem import Taken, Task, Wish, amounts
from scaler.planning.scheduling import Diary, Job, met

Planner = Callable[[Task], Plan | NoPlan]


def keeping(task: Task, best: Plan, before: Sequence[Job], share: float, planner: Planner) -> Plan:
    """Return a plan with as much of the last one as costs no more than a share beyond the best, else the best.

    Tried are all batches of the last plan that can still be made, then only those of them that are needed; what is
    missing beside them is planned anew. Our own rule.

    Args:
        task: what is asked now.
        best: its cheapest plan.
        before: the batches of the last plan, on their days.
        share: of the best plan's cost.
        planner: plans what is missing.
    """
    possible = _possible(task, before)
    needed = _needed(task, possible)
    for kept in (possible, needed) if len(needed) < len(possible) else (possible,):
        found = _beside(task, kept, best, planner) if kept else None
        if found and found.cost <= best.cost + share * abs(best.cost) + 1e-9:
            return found
    return best


def _possible(task: Task, before: Iterable[Job]) -> tuple[Job, ...]:
    """Return the batches that fit beside one another and what is taken."""
    cures = {wish.recipe: wish.cure for wish in task.wishes}
    diary, kept = Diary(task.limits), []
    for job in sorted(before, key=lambda job: job.order):
        if diary.fits(job, job.day, cures[job.candidate.recipe]):
            diary.take(job, cures[job.candidate.recipe])
            kept.append(job)
    return tuple(kept)


def _needed(task: Task, jobs: Sequence[Job]) -> tuple[Job, ...]:
    """Return the batches without which more bars would be missing."""
    held = list(jobs)
    for job in sorted(jobs, key=lambda job: job.order, reverse=True):
        wish = next(wish for wish in task.wishes if wish.recipe == job.candidate.recipe)
        rest = [other for other in held if other is not job]
        if _missing(wish, rest) == _missing(wish, held):
            held = rest
    return tuple(held)


def _ready(wish: Wish, jobs: Iterable[Job]) -> list[int]:
    """Return whole bars that batches give by each date."""
    own = [job for job in jobs if job.candidate.recipe == wish.recipe]
    return [
        math.floor(math.fsum(job.to_sell for job in own if job.day + wish.cure <= date) + 1e-9) for date in wish.dates
    ]


def _missing(wish: Wish, jobs: Iterable[Job]) -> int:
    return sum(max(0, need - bars) for need, bars in zip(wish.needs, _ready(wish, jobs), strict=True))


def _beside(task: Task, kept: tuple[Job, ...], best: Plan, planner: Planner) -> Plan | None:
    """Return a plan of the kept batches and what is missing beside them, None when there is none."""
    rest = _less(task, kept)
    more: tuple[Job, ...] = ()
    if any(wish.needs[-1] > 0 for wish in rest.wishes):
        found = planner(rest)
        if isinstance(found, NoPlan):
            return None
        more = found.jobs
    jobs = sorted((*kept, *more), key=lambda job: job.order)
    if not all(met(wish, jobs) for wish in task.wishes) or len(_possible(task, jobs)) < len(jobs):
        return None
    bound = best.cost * (1 - best.gap) if best.cost >= 0 else best.cost * (1 + best.gap)
    return priced(task, jobs, bound, best.status)


def _less(task: Task, kept: Sequence[Job]) -> Task:
    """Return the task that is left beside batches that are kept: their bars on hand, what they take gone."""
    wishes = tuple(
        replace(wish, on_hand=tuple(held + made for held, made in zip(wish.on_hand, _ready(wish, kept), strict=True)))
        for wish in task.wishes
    )
    cures = {wish.recipe: wish.cure for wish in task.wishes}
    taken = tuple(
        Taken(
            job.candidate.mould,
            job.day,
            job.day + task.limits.in_mould,
            job.fills,
            {job.day + after: hours for after, hours in job.work(task.limits, cures[job.candidate.recipe]).items()},
            job.bars,
            job.day + cures[job.candidate.recipe],
        )
        for job in kept
    )
    need = amounts([(job.candidate, 1, job.fills) for job in kept])
    return replace(
        task,
        wishes=wishes,
        limits=replace(task.limits, taken=(*task.limits.taken, *taken)),
        stock={thing: max(0.0, held - need.get(thing, 0.0)) for thing, held in task.stock.items()},
    )
