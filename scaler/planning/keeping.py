"""Keeping to the last plan, and to one bar size of each soap, where that costs little."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from scaler.planning.candidates import Candidate
from scaler.planning.plan import SMALL, NoPlan, Plan, priced
from scaler.planning.problem import ANY, Task, Wish, amounts
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
    diary, kept = Diary(task), []
    for job in sorted(before, key=lambda job: job.order):
        if diary.fits(job):
            diary.take(job)
            kept.append(job)
    return tuple(kept)


def _needed(task: Task, jobs: Sequence[Job]) -> tuple[Job, ...]:
    """Return the batches without which more bars would be missing."""
    held = list(jobs)
    for job in sorted(jobs, key=lambda job: job.order, reverse=True):
        wish = task.by_recipe[job.candidate.recipe]
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
    taken = tuple(job.taken(task) for job in kept)
    need = amounts([(job.candidate, 1, job.fills) for job in kept])
    return replace(
        task,
        wishes=wishes,
        limits=replace(task.limits, taken=(*task.limits.taken, *taken)),
        stock={thing: max(0.0, held - need.get(thing, 0.0)) for thing, held in task.stock.items()},
    )


ALIKE = 0.03
"""Share of its weight by which a bar may differ from another of its size: our own rule."""


@dataclass(frozen=True)
class Sizes:
    """What keeping to one bar size came to.

    Attributes:
        plan: the plan kept.
        more: what it costs beyond the cheapest plan.
        one, several: recipes (rows) that were brought to one size, and those that still have several.
    """

    plan: Plan
    more: float = 0.0
    one: tuple[int, ...] = ()
    several: tuple[int, ...] = ()


def one_size(task: Task, best: Plan, share: float, planner: Planner) -> Sizes:
    """Return a plan with one bar size for each recipe where that costs no more than a share beyond the best.

    All recipes of several sizes are tried together, each at the size most of its bars have, then one after the other at
    each of its sizes; in a large run only together. A recipe whose moulds are named on sheet Market is left alone.
    Our own rule.

    Args:
        task: what is asked.
        best: its cheapest plan.
        share: of the best plan's cost.
        planner: finds the cheapest plan of a task.
    """
    mixed = _mixed(task, best)
    if not mixed or share <= 0:
        return Sizes(best, several=mixed)
    most = best.cost + share * abs(best.cost) + 1e-9

    def tried(way: Task) -> Plan | None:
        plan = planner(way)
        good = isinstance(plan, Plan) and plan.cost <= most and _too_late(task, plan) <= _too_late(task, best)
        return plan if good and isinstance(plan, Plan) else None

    held, together, one = best, task, list(mixed)
    for recipe in one:  # one recipe's size may bring several of another
        together = _of_size(together, recipe, _sizes(held, recipe)[0])
        if recipe == one[-1]:
            found = tried(together)
            if found is None:
                break
            held = found
            one += [recipe for recipe in _mixed(task, held) if recipe not in one]
    else:
        return Sizes(held, held.cost - best.cost, tuple(one))
    kept, narrowed = best, task
    for recipe in mixed if len(task.candidates) <= SMALL else ():
        ways = [_of_size(narrowed, recipe, size) for size in _sizes(best, recipe)]
        plans = [(plan, way) for way in ways if (plan := tried(way))]
        if plans:
            kept, narrowed = min(plans, key=lambda pair: pair[0].cost)
    several = _mixed(task, kept)
    return Sizes(kept, kept.cost - best.cost, tuple(recipe for recipe in mixed if recipe not in several), several)


def _too_late(task: Task, plan: Plan) -> int:
    """Return how many batches of a plan would have to be made before today."""
    return sum(job.day < task.limits.today for job in plan.jobs)


def _mixed(task: Task, plan: Plan) -> tuple[int, ...]:
    """Return the recipes whose bars have several sizes in a plan, though no mould was named for them."""
    free = [wish.recipe for wish in task.wishes if set(wish.asked) == {ANY}]
    return tuple(recipe for recipe in free if len(_sizes(plan, recipe)) > 1)


def _sizes(plan: Plan, recipe: int) -> list[float]:
    """Return the weights of a recipe's bars in a plan, that of most bars first; those alike count as one."""
    bars: dict[float, float] = {}
    for job in plan.jobs:
        if job.candidate.recipe == recipe:
            size = next((held for held in bars if _alike(held, job.candidate)), job.candidate.bar_g)
            bars[size] = bars.get(size, 0.0) + job.bars
    return sorted(bars, key=lambda size: (-bars[size], size))


def _alike(size: float, item: Candidate) -> bool:
    return abs(item.bar_g - size) <= ALIKE * min(size, item.bar_g)


def _of_size(task: Task, recipe: int, size: float) -> Task:
    """Return the task in which a recipe is made in bars of one size."""
    kept = tuple(item for item in task.candidates if item.recipe != recipe or _alike(size, item))
    return replace(task, candidates=kept)
