"""Planning: from bars wanted on a day, back through the cure, to what to make when and what to buy, on few making days."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from scaler.planning.candidates import Purchase
from scaler.planning.cost_program import (
    Chosen,
    CostProgram,
    Ranges,
    Terms,
    add,
    cost_of,
    meet,
    meet_made_before,
    need_range,
    purchases,
)
from scaler.planning.problem import ANY, Task, amounts
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


# --- choosing: how many batches of which recipe in which moulds cost least ---


TOLD_APART = 120
"""Purchases of an ingredient that are told apart, at most."""
ROUGH = Effort(gap=4e-3, nodes=10, steps=50_000)
"""For the first look at a run with many packs."""
NARROW = Effort(gap=2e-3, nodes=100, steps=50_000)
"""For a look among the moulds that the looks before it took."""
LAST = 8
"""How many times harder the last look is than the first."""


@dataclass(frozen=True)
class Choice:
    """What to make, the least that any plan costs, and for which needs purchases were told apart."""

    status: str
    chosen: tuple[Chosen, ...]
    bound: float
    ranges: Ranges = field(default_factory=dict)


def choose(task: Task, effort: Effort, dated: bool = False) -> Choice:
    """Return the cheapest counts.

    This looks at counts alone, not at days. What it finds costs no more than any plan can, so when its batches fit on
    the calendar, that is the best plan there is.

    Args:
        task: the task.
        effort: how hard to look.
        dated: hold them to the moulds, hours and days that there are by each date; else any can be made in time.
    """
    many = [thing for thing in task.offers if _many(task, thing)]
    rough = _counted(task, dict.fromkeys(many, (0.0, 0.0)), dated)
    if not many:
        only, chosen = rough.solve(effort)
        return Choice(only.status, chosen, only.bound + rough.offset)
    first, chosen = rough.solve(ROUGH)
    if not first.found:
        return Choice(first.status, (), first.bound + rough.offset)
    ranges = {thing: _around(task, thing, rough.needed(thing, first)) for thing in many}
    fine = _counted(task, ranges, dated)
    looks = [(chosen, first.bound + rough.offset, first.status)]
    for program, look in ((fine, effort), (None, NARROW), (fine, replace(effort, nodes=LAST * effort.nodes))):
        found, bound = _best(task, looks), max(bound for _, bound, _ in looks)
        if len(looks) > 1 and cost_of(task, found) <= bound + abs(bound) * effort.gap:
            break
        costs = program or _counted(_among(task, found, looks[-1][0]), ranges, dated)
        solved, chosen = costs.solve(look)
        looks.append((chosen, solved.bound + costs.offset if program else bound, solved.status))
    found, bound = _best(task, looks), max(bound for _, bound, _ in looks)
    near = cost_of(task, found) <= bound + abs(bound) * effort.gap
    return Choice(OPTIMAL if near else looks[1][2], found, bound, ranges)


Look = tuple[tuple[Chosen, ...], float, str]
"""What one solving found, the bound it proved, and how it ended."""


def _best(task: Task, looks: Sequence[Look]) -> tuple[Chosen, ...]:
    return min((chosen for chosen, _, _ in looks if chosen), key=lambda chosen: cost_of(task, chosen), default=())


def _among(task: Task, *found: tuple[Chosen, ...]) -> Task:
    """Return the task with only the candidates that were taken before."""
    used = {(item.candidate.recipe, item.candidate.mould) for held in found for item in held}
    return replace(task, candidates=tuple(item for item in task.candidates if (item.recipe, item.mould) in used))


def _many(task: Task, thing: int) -> bool:
    least, most = need_range(task, task.candidates, thing)
    return (most - least) / min(offer.holds for offer in task.offers[thing]) > TOLD_APART


def _around(task: Task, thing: int, need: float) -> tuple[float, float]:
    """Return the range around a need in which purchases are told apart."""
    step = min(offer.holds for offer in task.offers[thing])
    return need - step * TOLD_APART / 2, need + step * TOLD_APART / 2


def _counted(task: Task, ranges: Ranges, dated: bool) -> CostProgram:
    """Return the program of counts."""
    costs = CostProgram(task, task.candidates, ranges)
    if not dated:
        for wish in task.wishes:
            own = (
                (costs.fills[place], item) for place, item in enumerate(task.candidates) if item.recipe == wish.recipe
            )
            made = {item.mould: {variable: item.fill.to_sell} for variable, item in own}
            meet_made_before(costs.program, wish, made)
        return costs
    classes = _split(costs)
    for wish in task.wishes:
        ready = {
            item.mould: [{variable: item.fill.to_sell} if variable >= 0 else {} for variable in classes[place]]
            for place, item in enumerate(task.candidates)
            if item.recipe == wish.recipe
        }
        meet(costs.program, wish, ready)
    _capacities(costs, classes)
    return costs


def _split(costs: CostProgram) -> dict[int, list[int]]:
    """Split each candidate's fills by the date they are made for; -1 where that date's last make day is too early."""
    classes = {}
    for place, item in enumerate(costs.candidates):
        wish = costs.task.by_recipe[item.recipe]
        grows = [need > before for need, before in zip(wish.needs, (0, *wish.needs), strict=False)]
        useful = [set(wish.asked) > {ANY} or grown for grown in grows]
        parts = [
            costs.program.variable() if use and costs.task.limits.latest(date - wish.cure) is not None else -1
            for use, date in zip(useful, wish.dates, strict=True)
        ]
        terms: Terms = {costs.fills[place]: 1.0}
        add(terms, {variable: -1.0 for variable in parts if variable >= 0})
        costs.program.row(terms, 0, 0)
        classes[place] = parts
    return classes


def _capacities(costs: CostProgram, classes: Mapping[int, list[int]]) -> None:
    """Hold the fills made for each date to the moulds and the hours that there are by its last make day; not cutting and wrapping."""
    limits, program = costs.task.limits, costs.program
    by_day: dict[int, list[tuple[int, int]]] = {}
    for place, parts in classes.items():
        wish = costs.task.by_recipe[costs.candidates[place].recipe]
        for date, variable in zip(wish.dates, parts, strict=True):
            if variable >= 0:
                by_day.setdefault(limits.latest(date - wish.cure) or 0, []).append((place, variable))
    used: dict[object, Terms] = {}
    for day in sorted(by_day):
        new: dict[object, Terms] = {}
        for place, variable in by_day[day]:
            item = costs.candidates[place]
            new.setdefault(item.mould, {})[variable] = 1.0
            new.setdefault("hours", {})[variable] = item.fill.hours[0] + item.batch.hours[0] / item.most
        for what, terms in new.items():
            most = limits.hours * sum(map(limits.works, range(limits.first or 0, day + 1)))
            if isinstance(what, int):
                most = limits.owned[what] * rounds(costs.task, day)
            held = program.variable(0, 0, most)
            program.row(terms | used.get(what, {}) | {held: -1.0}, upper=0)
            used[what] = {held: 1.0}


def rounds(task: Task, last: int) -> int:
    """Return how often a mould can be filled from the first make day to a last one."""
    day, count = task.limits.first or last, 0
    while day <= last:
        if task.limits.works(day):
            count += 1
            day += task.limits.in_mould
        else:
            day += 1
    return count
