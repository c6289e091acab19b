"""Planning: from bars wanted on a day, back through the cure, to what to make when and what to buy."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from scaler.compute.buying import NOTHING, Purchase, cheapest
from scaler.compute.candidates import Candidate
from scaler.compute.choosing import Choice, choose
from scaler.compute.scheduling import HORIZON, Job, TimedProgram, later, latest
from scaler.compute.solver import INFEASIBLE, OPTIMAL, STOPPED, Effort
from scaler.compute.task import Task, amounts

EXACT = Effort(gap=1e-9, nodes=20_000, seconds=60)
"""For runs that are small enough to be solved to the last penny."""
QUICK = Effort(gap=4e-3, nodes=3_000, seconds=9)
"""For large runs: a plan within half a per cent of the best, or what was found by then."""
SMALL = 150
"""Most candidates of a run that is solved to the last penny."""
TIMED = 6_000
"""Most candidates times days that are looked at together."""

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Plan:
    """What to make when, what to buy, and what that costs.

    Attributes:
        jobs: the batches, in the order of their days.
        need: g or pieces of each ingredient (row) that they take.
        buy: packs to buy of each ingredient.
        cost: packs, labour and overhead, less what leftovers are worth.
        status: optimal (within `gap`), or stopped: the best found in time.
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
    """There is no plan, or none was found in time; `bound` is the relaxation that showed it, when it did."""

    status: str


def plan(task: Task, progress: Progress = lambda text: None) -> Plan | NoPlan:
    """Return the cheapest plan, its batches made as late as they may."""
    effort = EXACT if len(task.candidates) <= SMALL else QUICK
    progress(f"Choosing among {len(task.candidates)} recipes in moulds")
    choice = choose(task, effort)
    if choice.status == INFEASIBLE:
        return NoPlan(INFEASIBLE)
    if choice.status == OPTIMAL or choice.chosen:
        progress("Setting the days")
        jobs = latest(task, choice.chosen)
        if jobs is not None:
            return priced(task, jobs, choice.bound, choice.status)
    progress("Choosing batches and days together")
    return _timed(task, choice, effort)


def _timed(task: Task, choice: Choice, effort: Effort) -> Plan | NoPlan:
    """Return the cheapest plan when the counts that cost least do not fit on the calendar."""
    candidates, whole = _promising(task, choice)
    timed = TimedProgram(task, candidates)
    least = {variable: cost for variable, cost in enumerate(timed.program.costs) if cost}
    if math.isfinite(choice.bound):
        timed.program.row(least, choice.bound - timed.costs.offset - abs(choice.bound) * 1e-9)
    found, _, jobs = timed.solve(effort)
    if not found.found:
        return NoPlan(INFEASIBLE if found.status == INFEASIBLE and whole else STOPPED)
    bound = max(choice.bound, found.bound + timed.costs.offset) if whole else choice.bound
    return priced(task, later(task, jobs), bound, found.status)


def _promising(task: Task, choice: Choice) -> tuple[list[Candidate], bool]:
    """Return the candidates to look at day by day, and whether that is all of them."""
    first = task.limits.first
    days = HORIZON if first is None else max(wish.dates[-1] - first for wish in task.wishes)
    if len(task.candidates) * days <= TIMED:
        return list(task.candidates), True
    chosen = {(item.candidate.recipe, item.candidate.mould) for item in choice.chosen}
    for wish in task.wishes:
        cheap = sorted(task.of(wish), key=lambda item: (item.bar_cost, item.mould))
        chosen |= {(item.recipe, item.mould) for item in cheap[:2]}
        chosen |= {(wish.recipe, mould) for mould in wish.asked}
    return [item for item in task.candidates if (item.recipe, item.mould) in chosen], False


def priced(task: Task, jobs: Sequence[Job], bound: float, status: str) -> Plan:
    """Return a plan with what it takes, what to buy and what it costs. [money]; our own rule, as README says."""
    need = amounts([(job.candidate, 1, job.fills) for job in jobs])
    buy = {
        thing: cheapest(task.offers[thing], need[thing] - task.stock[thing]) if need.get(thing) else NOTHING
        for thing in task.offers
    }
    cost = cost_of(task, jobs, need, buy)
    gap = max(0.0, cost - bound) / abs(cost) if cost else 0.0
    return Plan(tuple(jobs), need, buy, cost, status, 0.0 if gap < 1e-6 else gap)


def cost_of(task: Task, jobs: Sequence[Job], need: Mapping[int, float], buy: Mapping[int, Purchase]) -> float:
    """Return what a plan costs: packs, labour and overhead, less what leftovers are worth. [money]."""
    packs = math.fsum(purchase.cost for purchase in buy.values())
    work = math.fsum(job.candidate.batch.money + job.fills * job.candidate.fill.money for job in jobs)
    # What the shelf gains is credited; stock used up counts against it at the same rate.
    things = math.fsum(
        task.unit_cost[thing] * (purchase.quantity - need.get(thing, 0.0)) for thing, purchase in buy.items()
    )
    bars = 0.0
    for wish in task.wishes:
        made = math.fsum(job.to_sell for job in jobs if job.candidate.recipe == wish.recipe)
        bars += task.worth(wish.recipe) * (made + wish.on_hand[-1] - wish.wanted[-1])
    return packs + work - task.leftover * things - bars


def without_first_day(task: Task) -> Task:
    """Return the task without a first make day."""
    return replace(task, limits=replace(task.limits, first=None))
