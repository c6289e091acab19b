"""What the planner is asked: who wants which bars when, what can be made of what, and the limits of the workshop."""

from __future__ import annotations

import math
from calendar import day_name
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from itertools import accumulate
from typing import Any

from scaler.formula.helpers import exceeds, round_up
from scaler.model.schema import serial
from scaler.planning.candidates import Candidate, Kitchen, Offer, owned_of
from scaler.rules.results import Run

ANY = -1
"""In place of a mould's row: whichever mould the planner takes."""

HOURS_OF_A_DAY = 24
WEEK = 7


@dataclass(frozen=True)
class Wish:
    """Bars of one recipe wanted, by date.

    Attributes:
        recipe: its row (0, 1, ...).
        cure: whole days from make date to ready date.
        dates: the days on which bars are needed, rising, as serial numbers.
        asked: bars asked on each date, by the mould's row, or ANY.
        on_hand: bars on hand that are ready by each date, all together.
    """

    recipe: int
    cure: int
    dates: tuple[int, ...]
    asked: Mapping[int, tuple[int, ...]]
    on_hand: tuple[int, ...]

    @property
    def wanted(self) -> tuple[int, ...]:
        """Bars asked by each date, all moulds together."""
        by_date = zip(*self.asked.values(), strict=True) if self.asked else ((0,) for _ in self.dates)
        return tuple(accumulate(map(sum, by_date)))

    @property
    def needs(self) -> tuple[int, ...]:
        """Bars to be made, fit to sell, ready by each date; never falling."""
        lacking = (max(0, wanted - held) for wanted, held in zip(self.wanted, self.on_hand, strict=True))
        return tuple(accumulate(lacking, max))


@dataclass(frozen=True)
class Taken:
    """What a batch that is made already, or is not to be changed, keeps from others.

    Attributes:
        mould: its row.
        day, free: the serial days on which it is made and its moulds are free again.
        fills: moulds it fills.
        work: hours of work by day.
        bars: bars on the curing shelf from its day on.
        ready: the day on which they leave it.
    """

    mould: int
    day: int
    free: int
    fills: int
    work: Mapping[int, float]
    bars: float
    ready: int


@dataclass(frozen=True)
class Limits:
    """What the workshop has: days as serial numbers, None where there is no limit.

    Attributes:
        owned: moulds there are, by row.
        unmould: days from the make day to that on which bars come out of their mould.
        first: first make day.
        days_off: weekdays without work, Monday 0.
        closed: dates without work, as serial numbers.
        taken: batches beside which the others must fit.
        hours: hours of work in a day.
        shelf: bars that fit on the curing shelf.
        curing: bars on hand that are not ready yet: (ready day, bars).
        away: days on which nothing should be made, though it may be: those of the markets.
        today: the day of working out, before which nobody can begin.
    """

    owned: Mapping[int, int]
    unmould: int
    first: int | None
    days_off: frozenset[int]
    hours: float
    shelf: float | None
    curing: tuple[tuple[int, int], ...] = ()
    away: frozenset[int] = frozenset()
    today: int = 0
    closed: frozenset[int] = frozenset()
    taken: tuple[Taken, ...] = ()

    @property
    def in_mould(self) -> int:
        """Days that a mould is in use, at least 1."""
        return max(1, self.unmould)

    def moulds_on(self, mould: int, day: int) -> int:
        """Return how many of a mould are free on a day beside those taken."""
        used = sum(item.fills for item in self.taken if item.mould == mould and item.day <= day < item.free)
        return max(0, self.owned[mould] - used)

    def hours_on(self, day: int) -> float:
        """Return the hours of work that are left on a day. -> [h]."""
        return max(0.0, self.hours - sum(item.work.get(day, 0.0) for item in self.taken))

    def works(self, day: int) -> bool:
        """Return whether there is work on a day."""
        return self._open(day) and (self.first is None or day >= self.first)

    def _open(self, day: int) -> bool:
        return weekday(day) not in self.days_off and day not in self.away and day not in self.closed

    def room(self, day: int) -> float:
        """Return how many bars the shelf takes beside those on hand that still cure."""
        if self.shelf is None:
            return math.inf
        taken = sum(item.bars for item in self.taken if item.day <= day < item.ready)
        return max(0.0, self.shelf - taken - sum(bars for ready, bars in self.curing if ready > day))

    def latest(self, day: int) -> int | None:
        """Return the last day of work that is not after a day, None when there is none."""
        week = WEEK * (1 + len(self.away)) + len(self.closed)
        found = next((day - back for back in range(week) if self._open(day - back)), None)
        return found if found is not None and self.works(found) else None


@dataclass(frozen=True)
class Task:
    """Everything the planner knows.

    Attributes:
        wishes: what is wanted, in the order of sheet Recipes.
        candidates: what can be made, in the order of recipes, then moulds.
        refused: why a recipe cannot be made in a mould: (recipe, mould) -> code.
        limits: the workshop's.
        offers: packs by ingredient (row).
        stock: g or pieces on the shelf by ingredient.
        unit_cost: cheapest price of a gram or piece by ingredient.
        leftover: what leftovers are worth, of their cost.
    """

    wishes: tuple[Wish, ...]
    candidates: tuple[Candidate, ...]
    refused: Mapping[tuple[int, int], str]
    limits: Limits
    offers: Mapping[int, tuple[Offer, ...]]
    stock: Mapping[int, float]
    unit_cost: Mapping[int, float]
    leftover: float
    names: tuple[tuple[str, ...], tuple[str, ...]] = field(default=((), ()))

    @property
    def at_home(self) -> Task:
        """The task with nothing made on a market day."""
        markets = frozenset(day for wish in self.wishes for day in wish.dates)
        return replace(self, limits=replace(self.limits, away=markets))

    @cached_property
    def by_recipe(self) -> dict[int, Wish]:
        """What is wanted of each recipe (row)."""
        return {wish.recipe: wish for wish in self.wishes}

    def of(self, wish: Wish) -> list[Candidate]:
        """Return a recipe's candidates."""
        return [item for item in self.candidates if item.recipe == wish.recipe]

    def worth(self, recipe: int) -> float:
        """Return what a bar left over is credited at: the leftover share of the cheapest way to make one."""
        ways = (item.bar_cost for item in self.candidates if item.recipe == recipe)
        return self.leftover * min(ways, default=0.0)


def weekday(day: int) -> int:
    """Return the weekday of a serial day, Monday 0.

    >>> weekday(46351)  # 25 November 2026
    2
    """
    return (day - 2) % WEEK


def whole_days(days: float) -> int:
    """Return days rounded up to whole ones.

    >>> whole_days(48 / 24), whole_days(2.1)
    (2, 3)
    """
    return int(round_up(days))


def task_of(run: Run, progress: Callable[[str], None] = lambda text: None) -> Task:
    """Return the planner's task.

    Args:
        run: the workshop worked out without batches.
        progress: told what is being done.
    """
    workshop, tables = run.workshop, run.tables
    rows = {item.recipe: row for row, item in enumerate(workshop.recipes)}
    wanted = sorted({rows[item.recipe] for item in workshop.market})
    moulds = [row for row in range(len(workshop.moulds)) if owned_of(workshop, row)]
    kitchen = Kitchen(workshop)
    limits = limits_of(run)
    candidates: list[Candidate] = []
    refused: dict[tuple[int, int], str] = {}
    for count, recipe in enumerate(wanted, 1):
        progress(f"Working out {workshop.recipes[recipe].recipe} in {len(moulds)} moulds ({count} of {len(wanted)})")
        found, reasons = kitchen.candidates(recipe, moulds)
        reasons = reasons | {item.mould: reason for item in found if (reason := _too_long(item, limits))}
        reasons |= dict.fromkeys(_too_light(run, recipe, found), "bar_light")
        candidates += [replace(item, most=_most(item, limits)) for item in found if item.mould not in reasons]
        refused |= {(recipe, mould): reason for mould, reason in reasons.items()}
    things = sorted({thing for item in candidates for size in (item.batch, item.fill) for thing in size.things})
    return Task(
        wishes=tuple(_wish(run, recipe) for recipe in wanted),
        candidates=tuple(candidates),
        refused=refused,
        limits=limits,
        offers={thing: offers_of(run, thing) for thing in things},
        stock={thing: stock_of(run, thing) for thing in things},
        unit_cost={thing: tables.column("ingredients", "unit_cost")[thing] for thing in things},
        leftover=tables.one("costs", "leftover_value"),
        names=(tuple(item.recipe for item in workshop.recipes), tuple(item.mould for item in workshop.moulds)),
    )


def _most(item: Candidate, limits: Limits) -> int:
    """Return the most moulds of one batch that a day's hours and the shelf allow."""
    most = item.most
    while most >= item.fewest and exceeds(_longest(item, most), limits.hours):
        most -= 1
    while limits.shelf is not None and most >= item.fewest and exceeds(most * item.fill.bars, limits.shelf):
        most -= 1
    return most


def _too_long(item: Candidate, limits: Limits) -> str:
    if _most(item, limits) >= item.fewest:
        return ""
    return "hours_short" if exceeds(_longest(item, item.fewest), limits.hours) else "shelf_small"


def _longest(item: Candidate, fills: int) -> float:
    """Return the hours of a batch's longest day."""
    return max(batch + fills * fill for batch, fill in zip(item.batch.hours, item.fill.hours, strict=True))


def _too_light(run: Run, recipe: int, found: Sequence[Candidate]) -> set[int]:
    """Return the moulds whose bars are lighter than the least that is wanted; a mould that a row names is wanted."""
    least = run.tables.one("costs", "least_bar")
    name = run.workshop.recipes[recipe].recipe
    named = {item.mould for item in run.workshop.market if item.recipe == name}
    light = {item.mould for item in found if isinstance(least, int | float) and exceeds(least, item.bar_g)}
    return {mould for mould in light if run.workshop.moulds[mould].mould not in named}


def _wish(run: Run, recipe: int) -> Wish:
    name = run.workshop.recipes[recipe].recipe
    asked = [item for item in run.workshop.market if item.recipe == name]
    held = [item for item in run.workshop.on_hand if item.recipe == name]
    dates = sorted({_day(item.needed_by) for item in asked})
    moulds = {item.mould: row for row, item in enumerate(run.workshop.moulds)}
    rows = [(ANY if item.mould is None else moulds[item.mould], _day(item.needed_by), item.bars) for item in asked]
    return Wish(
        recipe=recipe,
        cure=whole_days(run.tables.column("recipes", "cure_days_in_use")[recipe]),
        dates=tuple(dates),
        asked={
            mould: tuple(sum(bars for of, on, bars in rows if (of, on) == (mould, day)) for day in dates)
            for mould in sorted({mould for mould, _, _ in rows})
        },
        on_hand=tuple(
            sum(item.bars for item in held if item.ready_date is None or _day(item.ready_date) <= day) for day in dates
        ),
    )


def _day(day: Any) -> int:
    return int(serial(day) or 0)


def limits_of(run: Run) -> Limits:
    """Return the workshop's limits, as on sheets Moulds, Costs and On hand."""
    one = run.tables.one
    first = one("costs", "first_make_day")
    shelf = one("costs", "shelf_bars")
    return Limits(
        owned={row: owned_of(run.workshop, row) for row in range(len(run.workshop.moulds))},
        unmould=unmould_days(run),
        first=int(first) if isinstance(first, int | float) else None,
        days_off=days_off(str(one("costs", "days_off") or "")),
        closed=closed_days(str(one("costs", "days_off") or "")),
        hours=one("costs", "hours_per_day"),
        shelf=float(shelf) if isinstance(shelf, int | float) else None,
        today=int(one("costs", "worked_out_on")),
        curing=tuple((_day(item.ready_date), item.bars) for item in run.workshop.on_hand if item.ready_date),
    )


def unmould_days(run: Run) -> int:
    """Return whole days from make date to unmould date. [h] -> [d]."""
    return whole_days(run.tables.one("costs", "unmould_after") / HOURS_OF_A_DAY)


def days_off(words: str) -> frozenset[int]:
    """Return the weekdays of a list, Monday 0.

    >>> sorted(days_off("Sunday, Monday"))
    [0, 6]
    """
    names = [name.casefold() for name in day_name]
    held = [word.strip().casefold() for word in words.split(",")]
    return frozenset(names.index(word) for word in held if word in names)


def closed_days(words: str) -> frozenset[int]:
    """Return the dates of a list as serial numbers, every day of a span.

    >>> sorted(closed_days("Sunday, 2026-11-24 to 2026-11-25"))
    [46350, 46351]
    """
    found: set[int] = set()
    for word in words.split(","):
        ends = [_iso(end) for end in word.strip().split(" to ")]
        if all(ends):
            found |= set(range(_day(ends[0]), _day(ends[-1]) + 1))
    return frozenset(found)


def _iso(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def offers_of(run: Run, thing: int) -> tuple[Offer, ...]:
    """Return the packs on offer of an ingredient, delivery in."""
    at, holds = run.tables.column("prices", "ingredient_at"), run.tables.column("prices", "pack_holds")
    return tuple(
        Offer(row, holds[row], item.price + (item.delivery or 0.0))
        for row, item in enumerate(run.workshop.prices)
        if at[row] == thing + 1
    )


def stock_of(run: Run, thing: int) -> float:
    """Return what is on the shelf of an ingredient, in g or pieces."""
    item = run.workshop.ingredients[thing]
    if not item.stock:
        return 0.0
    words = list(run.tables.column("units", "word"))
    row = run.tables.row("units", words.index(item.stock_unit))
    density = run.tables.column("ingredients", "density_in_use")[thing]
    return float(item.stock * (row["weight"] + row["volume"] * density + row["count"]))


def amounts(items: Sequence[tuple[Candidate, int, int]]) -> dict[int, float]:
    """Return g or pieces of each ingredient that batches take: (candidate, batches, moulds filled in all)."""
    need: dict[int, float] = {}
    for item, batches, fills in items:
        for size, count in ((item.batch, batches), (item.fill, fills)):
            for thing, amount in size.things.items():
                need[thing] = need.get(thing, 0.0) + amount * count
    return need
