"""One bar size for each soap, where that costs little: bars of one name and price that weigh alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from scaler.planning.candidates import Candidate
from scaler.planning.plan import SMALL, NoPlan, Plan
from scaler.planning.problem import ANY, Task

ALIKE = 0.03
"""Share of its weight by which a bar may differ from another of its size: our own rule."""

Planner = Callable[[Task], Plan | NoPlan]


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
