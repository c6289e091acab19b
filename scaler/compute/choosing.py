"""Choosing: how many batches of which recipe in which moulds cost least, packs bought whole and leftovers credited.

`choose` looks at counts alone: by each date no more moulds, hours and days are used than there are. What it finds
costs no more than any plan can, so a calendar that keeps to its counts is the best there is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from scaler.compute.buying import levels
from scaler.compute.candidates import Candidate
from scaler.compute.solver import Effort, Program, Solution
from scaler.compute.task import ANY, Task, Wish, amounts

EPSILON = 1e-6
"""Share of a mean batch's cost by which fewer batches and earlier moulds win between plans of equal cost."""
_MARGIN = 1e-7
"""Share of an ingredient's need by which the solver must exceed one purchase to take the next."""

Terms = dict[int, float]


@dataclass(frozen=True)
class Chosen:
    """Batches of a candidate: how many, and the moulds they fill in all."""

    candidate: Candidate
    batches: int
    fills: int


@dataclass(frozen=True)
class Choice:
    """What to make, and the least that any plan costs."""

    status: str
    chosen: tuple[Chosen, ...]
    bound: float


def add(terms: Terms, more: Mapping[int, float], times: float = 1.0) -> None:
    """Add one sum to another."""
    for variable, factor in more.items():
        terms[variable] = terms.get(variable, 0.0) + factor * times


class CostProgram:
    """A program whose objective is the cost of a plan: batches and moulds filled of each candidate are its variables."""

    def __init__(self, task: Task, candidates: Sequence[Candidate]) -> None:
        """Begin with the variables and everything that costs money."""
        self.task, self.candidates = task, tuple(candidates)
        self.program = Program()
        self.offset = 0.0
        self.batches: list[int] = []
        self.fills: list[int] = []
        mean = sum(_money(task, item) for item in candidates) / max(len(candidates), 1)
        for place, item in enumerate(self.candidates):
            most = most_fills(task, item)
            nudge = EPSILON * mean * (1 + place / max(len(candidates), 1))
            # Leftover bars are credited; what was asked for is taken off again by `offset`.
            credit = task.worth(item.recipe)
            batches = self.program.variable(item.batch.money + nudge, 0, most, True)
            fills = self.program.variable(item.fill.money - credit * item.fill.to_sell, 0, most, True)
            self.program.row({fills: 1, batches: -item.fewest}, 0)
            self.program.row({fills: 1, batches: -item.most}, upper=0)
            self.batches.append(batches)
            self.fills.append(fills)
        for wish in task.wishes:
            self.offset += task.worth(wish.recipe) * (wish.wanted[-1] - wish.on_hand[-1])
        for thing in task.offers:
            self._buy(thing)

    def _needs(self, thing: int) -> Terms:
        terms: Terms = {}
        for item, batches, fills in zip(self.candidates, self.batches, self.fills, strict=True):
            for size, variable in ((item.batch, batches), (item.fill, fills)):
                if size.things.get(thing):
                    terms[variable] = size.things[thing]
        return terms

    def _buy(self, thing: int) -> None:
        """Choose the one purchase of whole packs that is the cheapest for what the batches take of a thing."""
        terms = self._needs(thing)
        if not terms:
            return
        stock = self.task.stock[thing]
        worth = self.task.leftover * self.task.unit_cost[thing]
        least, most = need_range(self.task, self.candidates, thing)
        for variable, amount in terms.items():
            self.program.costs[variable] += worth * amount
        found = levels(self.task.offers[thing], least - stock, most - stock)
        scale = 1 / most if most else 1.0
        choices = [self.program.variable(level.cost - worth * level.quantity, 0, 1, True) for level in found]
        self.program.row(dict.fromkeys(choices, 1.0), 1, 1)
        if len(found) == 1 and not found[0].packs:
            return
        covered = {choice: (level.quantity + stock) * scale for choice, level in zip(choices, found, strict=True)}
        add(covered, terms, -scale)
        self.program.row(covered, 0)
        below = {
            choice: (before.quantity + stock) * scale + _MARGIN
            for choice, before in zip(choices[1:], found, strict=False)
        }
        add(below, terms, -scale)
        self.program.row(below, upper=0)

    def solve(self, effort: Effort) -> tuple[Solution, tuple[Chosen, ...]]:
        """Return the solution, its bound as a cost, and what it makes."""
        found = self.program.solve(effort)
        chosen = tuple(
            Chosen(item, int(found.values[batches]), int(found.values[fills]))
            for item, batches, fills in zip(self.candidates, self.batches, self.fills, strict=True)
            if found.found and found.values[fills] > 0
        )
        return found, chosen


def _money(task: Task, item: Candidate) -> float:
    things = amounts([(item, 1, item.most)])
    bought = sum(task.unit_cost[thing] * amount for thing, amount in things.items())
    return item.batch.money + item.most * item.fill.money + bought


def most_fills(task: Task, item: Candidate) -> int:
    """Return the most fills of a candidate that a plan could want: all that its recipe needs, in this mould alone."""
    wish = next(wish for wish in task.wishes if wish.recipe == item.recipe)
    need = max(wish.needs[-1], sum(wish.asked.get(item.mould, ()))) if wish.needs[-1] else 0
    return math.ceil(round(need / item.fill.to_sell, 9)) + item.fewest - 1 if need and item.fill.to_sell > 0 else 0


def need_range(task: Task, candidates: Iterable[Candidate], thing: int) -> tuple[float, float]:
    """Return the least and the most of an ingredient that the plans in question take. -> [g]."""
    least = most = 0.0
    held = list(candidates)
    for wish in task.wishes:
        own = [item for item in held if item.recipe == wish.recipe]
        if not own or not wish.needs[-1]:
            continue
        rates = [amounts([(item, 1, item.most)]).get(thing, 0.0) / (item.most * item.fill.to_sell) for item in own]
        least += wish.needs[-1] * min(rates)
        most += sum(_most_of(item, most_fills(task, item), thing) for item in own)
    return least * (1 - _MARGIN), most


def _most_of(item: Candidate, fills: int, thing: int) -> float:
    return fills * (item.batch.things.get(thing, 0.0) + item.fill.things.get(thing, 0.0))


def meet(program: Program, wish: Wish, ready: Mapping[int, Sequence[Terms]]) -> None:
    """Hold a program to a recipe's demand.

    Without rows that name a mould, bars ready by each date reach what was asked by then. With them, bars are handed
    out date by date: those of a named mould and those on hand to rows that name it, any to the others.

    Args:
        program: the program.
        wish: the demand.
        ready: for each mould (row), bars fit to sell that are ready by each date, as sums of variables.
    """
    if set(wish.asked) <= {ANY}:
        for place, need in enumerate(wish.needs):
            if need > 0 and (place == 0 or need > wish.needs[place - 1]):
                terms: Terms = {}
                for sums in ready.values():
                    add(terms, sums[place])
                program.row(terms, need)
        return
    sources: dict[int, list[Terms]] = {mould: [] for mould in ready} | {ANY: []}
    for place in range(len(wish.dates)):
        handed: dict[int, Terms] = {queue: {} for queue in wish.asked}
        for source, so_far in sources.items():
            so_far.append(dict(so_far[-1]) if so_far else {})
            for queue in wish.asked:
                if queue in (ANY, source) or source == ANY:
                    bars = program.variable()
                    handed[queue][bars] = 1.0
                    so_far[-1][bars] = 1.0
        for queue, terms in handed.items():
            program.row(terms, wish.asked[queue][place])
        program.row(sources[ANY][-1], upper=wish.on_hand[place])
        for mould, sums in ready.items():
            left = dict(sums[place])
            add(left, sources[mould][-1], -1.0)
            program.row(left, 0)


# --- counts alone, as if the calendar would always work out ---


def choose(task: Task, effort: Effort) -> Choice:
    """Return the cheapest counts that no limit up to a date forbids."""
    costs = CostProgram(task, task.candidates)
    classes = _split(costs) if task.limits.first is not None else {}
    for wish in task.wishes:
        ready: dict[int, list[Terms]] = {}
        for place, item in enumerate(task.candidates):
            if item.recipe != wish.recipe:
                continue
            made = {costs.fills[place]: item.fill.to_sell}
            ready[item.mould] = (
                [
                    {variable: item.fill.to_sell for variable in classes[place][: date + 1] if variable >= 0}
                    for date in range(len(wish.dates))
                ]
                if classes
                else [made] * len(wish.dates)
            )
        meet(costs.program, wish, ready)
    if classes:
        _capacities(costs, classes)
    found, chosen = costs.solve(effort)
    return Choice(found.status, chosen, found.bound + costs.offset)


def _split(costs: CostProgram) -> dict[int, list[int]]:
    """Split each candidate's fills by the date they are made for; -1 where that date's last make day is too early."""
    classes = {}
    for place, item in enumerate(costs.candidates):
        wish = next(wish for wish in costs.task.wishes if wish.recipe == item.recipe)
        parts = [
            costs.program.variable() if costs.task.limits.latest(date - wish.cure) is not None else -1
            for date in wish.dates
        ]
        terms: Terms = {costs.fills[place]: 1.0}
        add(terms, {variable: -1.0 for variable in parts if variable >= 0})
        costs.program.row(terms, 0, 0)
        classes[place] = parts
    return classes


def _capacities(costs: CostProgram, classes: Mapping[int, list[int]]) -> None:
    """Hold the fills made for each date to the moulds and the hours that there are by its last make day."""
    limits = costs.task.limits
    cures = {wish.recipe: wish for wish in costs.task.wishes}
    by_day: dict[int, list[tuple[int, int]]] = {}
    for place, parts in classes.items():
        wish = cures[costs.candidates[place].recipe]
        for date, variable in zip(wish.dates, parts, strict=True):
            if variable >= 0:
                by_day.setdefault(limits.latest(date - wish.cure) or 0, []).append((place, variable))
    moulds: dict[int, Terms] = {mould: {} for mould in limits.owned}
    hours: Terms = {}
    for day in sorted(by_day):
        touched = set()
        for place, variable in by_day[day]:
            item = costs.candidates[place]
            moulds[item.mould][variable] = 1.0
            hours[variable] = item.fill.hours + item.batch.hours / item.most
            touched.add(item.mould)
        for mould in touched:
            costs.program.row(dict(moulds[mould]), upper=limits.owned[mould] * rounds(costs.task, day))
        costs.program.row(dict(hours), upper=limits.hours * sum(map(limits.works, range(limits.first or 0, day + 1))))


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
