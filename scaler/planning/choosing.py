"""Choosing: how many batches of which recipe in which moulds cost least.

`choose` looks at counts alone, not at days. What it finds costs no more than any plan can, so when its batches fit on
the calendar, that is the best plan there is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

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
)
from scaler.planning.problem import ANY, Task
from scaler.planning.solver import OPTIMAL, Effort

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
