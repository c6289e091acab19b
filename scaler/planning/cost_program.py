"""What a plan costs, as a program for the solver: batches, packs bought whole, leftovers credited, demand met."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from scaler.formula.cells import GUARD
from scaler.planning.candidates import NOTHING, Candidate, Purchase, cheapest, levels
from scaler.planning.problem import ANY, Task, Wish, amounts
from scaler.planning.solver import Effort, Program, Solution

EPSILON = 1e-6
"""Share of a mean batch's cost by which fewer batches and earlier moulds win between plans of equal cost."""
_MARGIN = 1e-7
"""Share of an ingredient's need by which the solver must exceed one purchase to take the next."""

Terms = dict[int, float]


class Chosen(NamedTuple):
    """Batches of a candidate: how many, and the moulds they fill in all."""

    candidate: Candidate
    batches: int
    fills: int


def add(terms: Terms, more: Mapping[int, float], times: float = 1.0) -> None:
    """Add one sum to another."""
    for variable, factor in more.items():
        terms[variable] = terms.get(variable, 0.0) + factor * times


Ranges = Mapping[int, tuple[float, float]]
"""Least and most of an ingredient (row) for which purchases are told apart."""


class CostProgram:
    """A program whose objective is the cost of a plan: batches and moulds filled of each candidate are its variables.

    The purchase of an ingredient is chosen among those that are the cheapest for some need. Where there are too many,
    only needs in a range are told apart; outside it a gram costs its cheapest price, which no purchase goes below.
    """

    def __init__(self, task: Task, candidates: Sequence[Candidate], ranges: Ranges | None = None) -> None:
        """Begin with the variables and everything that costs money."""
        self.task, self.candidates = task, tuple(candidates)
        self.program = Program()
        self.offset = 0.0
        self.batches: list[int] = []
        self.fills: list[int] = []
        self._make()
        for wish in task.wishes:
            self._no_surplus(wish)
            self.offset += task.worth(wish.recipe) * wish.wanted[-1]
        for thing in task.offers:
            self._buy(thing, (ranges or {}).get(thing))

    def _make(self) -> None:
        mean = sum(_money(self.task, item) for item in self.candidates) / max(len(self.candidates), 1)
        for place, item in enumerate(self.candidates):
            most = most_fills(self.task, item)
            nudge = EPSILON * mean * (1 + place / len(self.candidates))
            # Leftover bars are credited; what was asked for is taken off again by `offset`.
            credit = self.task.worth(item.recipe) * item.fill.to_sell
            batches = self.program.variable(item.batch.money + nudge, 0, most, True)
            fills = self.program.variable(item.fill.money - credit, 0, most, True)
            self.program.row({fills: 1, batches: -item.fewest}, 0)
            self.program.row({fills: 1, batches: -item.most}, upper=0)
            self.batches.append(batches)
            self.fills.append(fills)

    def _no_surplus(self, wish: Wish) -> None:
        """Make no batch that could be left out: of each mould asked for by name, and in all, less than one too many."""
        own = [place for place, item in enumerate(self.candidates) if item.recipe == wish.recipe]
        terms = {self.fills[place]: self.candidates[place].fill.to_sell for place in own}
        if terms:
            self.program.row(terms, upper=wish.needs[-1] + surplus(self.task, wish))

    def needs(self, thing: int) -> Terms:
        """Return what the batches take of an ingredient."""
        terms: Terms = {}
        for item, batches, fills in zip(self.candidates, self.batches, self.fills, strict=True):
            for size, variable in ((item.batch, batches), (item.fill, fills)):
                if size.things.get(thing):
                    terms[variable] = size.things[thing]
        return terms

    def needed(self, thing: int, found: Solution) -> float:
        """Return how much of an ingredient the batches of a solution take. -> [g]."""
        return sum(found.values[variable] * amount for variable, amount in self.needs(thing).items())

    def _buy(self, thing: int, told_apart: tuple[float, float] | None) -> None:
        """Choose the one purchase of whole packs that is the cheapest for what the batches take of a thing."""
        terms = self.needs(thing)
        if not terms:
            return
        stock, unit_cost = self.task.stock[thing], self.task.unit_cost[thing]
        worth = self.task.leftover * unit_cost
        for variable, amount in terms.items():
            self.program.costs[variable] += worth * amount
        least, most = need_range(self.task, self.candidates, thing)
        low, high = (max(least, told_apart[0]), min(most, told_apart[1])) if told_apart else (least, most)
        found = levels(self.task.offers[thing], low - stock, high - stock) if low < high or not told_apart else []
        scale = 1 / most if most else 1.0
        choices = [self.program.variable(level.cost - worth * level.quantity, 0, 1, True) for level in found]
        covered = {choice: (level.quantity + stock) * scale for choice, level in zip(choices, found, strict=True)}
        below = {
            choice: (before.quantity + stock) * scale + _MARGIN
            for choice, before in zip(choices[1:], found, strict=False)
        }
        if told_apart:
            self._outside(
                choices, covered, below, (low - stock, high - stock, most), (unit_cost - worth, stock * scale)
            )
        self.program.row(dict.fromkeys(choices, 1.0), 1, 1)
        if len(found) == 1 and not found[0].packs and len(choices) == 1:
            return
        add(covered, terms, -scale)
        self.program.row(covered, 0)
        add(below, terms, -scale)
        self.program.row(below, upper=0)

    def _outside(
        self, choices: list[int], covered: Terms, below: Terms, ends: tuple[float, float, float],
        price: tuple[float, float],
    ) -> None:  # fmt: skip
        """Let a gram below and above the range cost its cheapest price."""
        low, high, most = ends
        for least, greatest in ((0.0, low), (max(high, 0.0), most)):
            if greatest <= least:
                continue
            choice, bought = self.program.variable(0, 0, 1, True), self.program.variable(price[0] * most, 0)
            self.program.row({bought: most, choice: -least}, 0)
            self.program.row({bought: most, choice: -greatest}, upper=0)
            choices.append(choice)
            covered[choice], covered[bought] = price[1], 1.0
            if least:
                below[choice] = least / most

    def solve(self, effort: Effort) -> tuple[Solution, tuple[Chosen, ...]]:
        """Return the solution and what it makes."""
        found = self.program.solve(effort)
        chosen = tuple(
            Chosen(item, int(found.values[batches]), int(found.values[fills]))
            for item, batches, fills in zip(self.candidates, self.batches, self.fills, strict=True)
            if found.found and found.values[fills] > 0
        )
        return found, chosen


def cost_of(task: Task, made: Sequence[tuple[Candidate, int, int]]) -> float:
    """Return what batches cost: packs, labour and overhead, less what leftovers are worth. -> [money]; our own rule.

    Args:
        task: the task.
        made: candidates, how many batches of each, and the moulds they fill in all.
    """
    need = amounts(made)
    buy = purchases(task, need)
    packs = math.fsum(purchase.cost for purchase in buy.values())
    work = math.fsum(batches * item.batch.money + fills * item.fill.money for item, batches, fills in made)
    # What the shelf gains is credited; stock used up counts against it at the same rate, of things and of bars.
    things = math.fsum(
        task.unit_cost[thing] * (purchase.quantity - need.get(thing, 0.0)) for thing, purchase in buy.items()
    )
    bars = 0.0
    for wish in task.wishes:
        good = math.fsum(fills * item.fill.to_sell for item, _, fills in made if item.recipe == wish.recipe)
        bars += task.worth(wish.recipe) * (good - wish.wanted[-1])
    return packs + work - task.leftover * things - bars


def purchases(task: Task, need: Mapping[int, float]) -> dict[int, Purchase]:
    """Return the packs to buy of each ingredient, given what is needed of it. [g] -> [g] [money]."""
    return {
        thing: cheapest(task.offers[thing], need[thing] - task.stock[thing]) if need.get(thing) else NOTHING
        for thing in task.offers
    }


def _money(task: Task, item: Candidate) -> float:
    things = amounts([(item, 1, item.most)])
    bought = sum(task.unit_cost[thing] * amount for thing, amount in things.items())
    return item.batch.money + item.most * item.fill.money + bought


def most_fills(task: Task, item: Candidate) -> int:
    """Return the most fills of a candidate that a plan could want: all that its recipe needs, in this mould alone."""
    wish = task.by_recipe[item.recipe]
    need = max(wish.needs[-1], sum(wish.asked.get(item.mould, ()))) if wish.needs[-1] else 0
    return math.ceil(round(need / item.fill.to_sell, 9)) + item.fewest - 1 if need and item.fill.to_sell > 0 else 0


def surplus(task: Task, wish: Wish) -> float:
    """Return the most bars over what is needed that a plan can have in which no batch could be left out."""
    largest = max((item.fewest * item.fill.to_sell for item in task.of(wish)), default=0.0)
    return largest * len({*wish.asked, ANY})


def need_range(task: Task, candidates: Iterable[Candidate], thing: int) -> tuple[float, float]:
    """Return the least and the most of an ingredient that the plans in question take. -> [g]."""
    least = most = 0.0
    held = list(candidates)
    for wish in task.wishes:
        own = [item for item in held if item.recipe == wish.recipe]
        if not own or not wish.needs[-1]:
            continue
        largest, smallest = (
            [amounts([(item, 1, fills)]).get(thing, 0.0) / (fills * item.fill.to_sell) for item, fills in sizes]
            for sizes in ([(item, item.most) for item in own], [(item, item.fewest) for item in own])
        )
        least += wish.needs[-1] * min(largest)
        most += (wish.needs[-1] + surplus(task, wish)) * max(smallest)
    return least * (1 - _MARGIN), most * (1 + _MARGIN)


def meet(
    program: Program, wish: Wish, ready: Mapping[int, Sequence[Terms]], missed: dict[tuple[int, int], int] | None = None
) -> None:
    """Hold a program to a recipe's demand.

    Without rows that name a mould, bars ready by each date reach what was asked by then. With them, bars are handed
    out date by date: those of a named mould and those on hand to rows that name it, any to the others.

    Args:
        program: the program.
        wish: the demand.
        ready: for each mould (row), bars fit to sell that come ready for each date after the date before, as sums of
            variables.
        missed: filled with a variable for the bars of each mould (or ANY) and place of a date that may be missing; None
            where none may.
    """
    if set(wish.asked) <= {ANY} and missed is None:
        so_far: Terms = {}
        for place, need in enumerate(wish.needs):
            came = dict(so_far)
            for sums in ready.values():
                add(came, sums[place])
            held = program.variable(0, need)
            program.row(came | {held: -1.0}, 0)
            so_far = {held: 1.0}
        return
    left: dict[int, Terms] = {}
    for place in range(len(wish.dates)):
        handed: dict[int, Terms] = {queue: {} for queue in wish.asked}
        for source in (*ready, ANY):
            came = dict(left.get(source, {}))
            add(came, ready[source][place] if source != ANY else {})
            for queue in wish.asked:
                if queue in (ANY, source) or source == ANY:
                    bars = program.variable()
                    handed[queue][bars] = 1.0
                    came[bars] = -1.0
            held = program.variable()
            new = wish.on_hand[place] - (wish.on_hand[place - 1] if place else 0) if source == ANY else 0
            program.row(came | {held: -1.0}, -new)
            left[source] = {held: 1.0}
        for queue, terms in handed.items():
            asked = wish.asked[queue][place]
            if missed is not None and asked:
                missed[queue, place] = program.variable(0, 0, asked, True)
                terms[missed[queue, place]] = 1.0
            program.row(terms, asked)


def meet_made_before(program: Program, wish: Wish, made: Mapping[int, Terms]) -> None:
    """Hold a program to a recipe's demand when all its bars can be ready by the first date.

    Bars made are then handed out first, those on hand when they come ready.

    Args:
        program: the program.
        wish: the demand.
        made: for each mould (row), bars fit to sell, as a sum of variables.
    """
    last = len(wish.dates) - 1
    tight = [place for place in range(last) if wish.on_hand[place] < wish.on_hand[place + 1]] + [last]
    spare: Terms = {}
    from_hand: dict[int, Terms] = {place: {} for place in tight}
    for queue in (*(queue for queue in wish.asked if queue != ANY), ANY):
        given = program.variable()
        for mould, sums in made.items():
            if mould == queue:
                program.row(dict(sums) | {given: -1.0}, 0)
            add(spare, sums if queue == ANY else {})
        if queue != ANY and queue not in made:
            program.upper[given] = 0.0
        add(spare, {given: -1.0})
        asked = 0
        for place in range(last + 1):
            asked += wish.asked.get(queue, (0,) * (last + 1))[place]
            if place in from_hand:
                bars = program.variable()
                program.row({bars: 1.0, given: 1.0}, asked)
                from_hand[place][bars] = 1.0
    program.row(spare, 0)
    for place, terms in from_hand.items():
        program.row(terms, upper=wish.on_hand[place])


# --- serving: whether bars that come ready by and by reach everybody who asked, in time ---


_LEAST = 0.5 * 10.0**-GUARD


def _exceeds(first: float, second: float) -> bool:
    """Return whether the first is larger, guarded like `formula.exceeds`: of numbers only, being asked millions of times."""
    return first - second > _LEAST


def served(wish: Wish, ready: Mapping[int, Sequence[float]]) -> bool:
    """Return whether all that was asked can be handed out by each date. [bars] -> [-]; exact, our own rule.

    A row that names a mould takes bars of that mould, then bars on hand. Any other takes bars that no named row will
    miss, then those that will be missed last, then bars on hand: whatever it takes can wait no longer.

    Args:
        wish: the demand.
        ready: for each mould (row), bars fit to sell that come ready for each date after the date before.
    """
    if set(wish.asked) <= {ANY}:
        made = [math.fsum(bars) for bars in zip(*ready.values(), strict=True)] or [0.0] * len(wish.dates)
        return not any(_exceeds(need, math.fsum(made[: place + 1])) for place, need in enumerate(wish.needs))
    held = dict.fromkeys(ready, 0.0)
    on_hand = 0.0
    for place in range(len(wish.dates)):
        on_hand += wish.on_hand[place] - (wish.on_hand[place - 1] if place else 0)
        for mould, bars in ready.items():
            held[mould] += bars[place]
        for mould, asked in wish.asked.items():
            if mould != ANY:
                given = min(asked[place], held.get(mould, 0.0))
                held[mould] = held.get(mould, 0.0) - given
                on_hand -= asked[place] - given
        if ANY in wish.asked:
            on_hand -= _from_moulds(wish, ready, held, place)
        if _exceeds(0, on_hand):
            return False
    return True


def _from_moulds(wish: Wish, ready: Mapping[int, Sequence[float]], held: dict[int, float], place: int) -> float:
    """Hand bars out to rows that name no mould, and return how many are left to take from those on hand."""
    left = float(wish.asked[ANY][place])
    while _exceeds(left, 0):
        options = [
            (*_missed(wish, ready, held[mould], mould, place), -mould) for mould in held if _exceeds(held[mould], 0)
        ]
        if not options:
            return left
        _, bars, mould = max(options)
        given = min(left, bars)
        held[-mould] -= given
        left -= given
    return 0.0


def _missed(
    wish: Wish, ready: Mapping[int, Sequence[float]], stock: float, mould: int, place: int
) -> tuple[float, float]:
    """Return when the next bar of a mould would be missed by rows that name it, and how many are like it."""
    asked, path, alike = wish.asked.get(mould), stock, stock
    if asked is None or mould not in ready:
        return math.inf, stock
    for later in range(place + 1, len(wish.dates)):
        path += ready[mould][later] - asked[later]
        if not _exceeds(path, 0):
            return later, alike
        alike = min(alike, path)
    return math.inf, alike
