"""What can be made for the market: each recipe in each owned mould, worked out by the same steps as any batch."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from scaler.formula.helpers import exceeds
from scaler.formula.steps import Names, Step, Tables, evaluate, steps_to
from scaler.model.records import Batch, Workshop
from scaler.validation.issues import issue_of, started, steps_of

HOURS = ("make_hours", "cut_hours", "wrap_hours")
"""Work on a batch by the day it is done: the make day, the day out of the mould, the ready day."""
_AMOUNTS = ("bars", "bars_to_sell", *HOURS, "work_cost", "total_cost")
_BATCH = (*_AMOUNTS, "bar_cured_g", "with_tax")
_SLOT = ("ingredient_at", "g", "line_count_each")


@dataclass(frozen=True)
class Size:
    """What one batch holds: all of it a fixed part and a part for each mould filled; hours are those of HOURS."""

    bars: float
    to_sell: float
    hours: tuple[float, ...]
    money: float
    things: Mapping[int, float]


@dataclass(frozen=True)
class Candidate:
    """A recipe in a mould.

    Attributes:
        recipe, mould: their rows (0, 1, ...).
        fewest, most: moulds that one batch may fill.
        batch: what a batch takes, however many moulds it fills: bars, bars to sell, hours, money for labour and
            overhead, and g or pieces of each ingredient by its row (0, 1, ...).
        fill: what each mould filled adds.
        bar_g: weight of a cured bar.
        bar_cost: what a bar to sell costs in the largest batch.
        bar_price: the price with tax that makes the margin on it.
    """

    recipe: int
    mould: int
    fewest: int
    most: int
    batch: Size
    fill: Size
    bar_g: float
    bar_cost: float
    bar_price: float


class Kitchen:
    """Works out batches of a workshop without what only a finished workbook needs."""

    def __init__(self, workshop: Workshop) -> None:
        """Find the steps once."""
        self.workshop = replace(workshop, batches=(), market=(), market_days=(), on_hand=())
        self._blends = {item.recipe for item in workshop.recipes}
        tables = started(self.workshop)
        steps = steps_of(tables)
        names = Names(tables, steps)
        self._limits = steps_to([("batches", "fault_key")], steps, names)
        targets = [("batches", name) for name in _BATCH] + [("batch_lines", name) for name in _SLOT]
        self._sizes = steps_to(targets, steps, names)

    def _tables(self, batches: Sequence[Batch], steps: Sequence[Step]) -> Tables:
        """Return batches of one recipe worked out, without the lines of other recipes."""
        named = {batch.recipe for batch in batches}
        while more := {line.ingredient for line in self.workshop.lines if line.recipe in named} & self._blends - named:
            named |= more
        recipes = tuple(item for item in self.workshop.recipes if item.recipe in named)
        lines = tuple(line for line in self.workshop.lines if line.recipe in named)
        tables = started(replace(self.workshop, recipes=recipes, lines=lines, batches=tuple(batches)))
        evaluate(steps, tables)
        return tables

    def candidates(self, recipe: int, moulds: Sequence[int]) -> tuple[list[Candidate], dict[int, str]]:
        """Return a recipe in each mould where it can be made, and of the others why not, by the mould's row."""
        limits, refused = self._limits_of(recipe, moulds)
        pairs = [(mould, count) for mould, ends in limits.items() for count in ends]
        batches = [self._batch(recipe, *pair, str(place)) for place, pair in enumerate(pairs)]
        tables = self._tables(batches, self._sizes)
        made = []
        for place, (mould, (fewest, most)) in enumerate(limits.items()):
            small, large = _size(tables, 2 * place), _size(tables, 2 * place + 1)
            fill = _divided(_less(large, small), most - fewest) if most > fewest else _divided(small, fewest)
            batch = _less(small, _times(fill, fewest))
            row = tables.row("batches", 2 * place + 1)
            bar = row["bar_cured_g"], row["total_cost"] / row["bars_to_sell"], row["with_tax"]
            made.append(Candidate(recipe, mould, fewest, most, batch, fill, *bar))
        return made, refused

    def _batch(self, recipe: int, mould: int, count: int, name: str) -> Batch:
        names = self.workshop.recipes[recipe].recipe, self.workshop.moulds[mould].mould
        return Batch(batch=name, recipe=names[0], mould=names[1], moulds_filled=count)

    def _limits_of(self, recipe: int, moulds: Sequence[int]) -> tuple[dict[int, tuple[int, int]], dict[int, str]]:
        owned = {mould: owned_of(self.workshop, mould) for mould in moulds}
        pairs = [(mould, count) for mould in moulds for count in range(1, owned[mould] + 1)]
        tables = self._tables(
            [self._batch(recipe, *pair, str(place)) for place, pair in enumerate(pairs)], self._limits
        )
        issues = [issue_of(key, tables) for key in tables.column("batches", "fault_key")]
        limits: dict[int, tuple[int, int]] = {}
        refused: dict[int, str] = {}
        for mould in moulds:
            found = [(count, issue) for (of, count), issue in zip(pairs, issues, strict=True) if of == mould]
            good = [count for count, issue in found if issue is None]
            if good:
                limits[mould] = good[0], good[-1]
            elif found and found[0][1]:
                refused[mould] = found[0][1].rule.code
        return limits, refused


def owned_of(workshop: Workshop, mould: int) -> int:
    """Return how many there are of a mould; blank: 1."""
    owned = workshop.moulds[mould].owned
    return 1 if owned is None else owned


def _size(tables: Tables, place: int) -> Size:
    row, things = tables.row("batches", place), taken_by(tables, place)
    return Size(row["bars"], row["bars_to_sell"], tuple(row[name] for name in HOURS), row["work_cost"], things)


def taken_by(tables: Tables, place: int) -> dict[int, float]:
    """Return g or pieces of each ingredient (row) that a batch (0, 1, ...) takes."""
    found: dict[int, float] = {}
    columns = (tables.column("batch_lines", name) for name in ("batch_at", *_SLOT))
    for of, thing, grams, each in zip(*columns, strict=True):
        if of == place + 1 and thing:
            found[int(thing) - 1] = found.get(int(thing) - 1, 0.0) + (grams or 0.0) + (each or 0.0)
    return found


def _each(of: Callable[..., float], *sizes: Size) -> Size:
    """Return the size of which every figure is worked out from the same figure of other sizes."""
    things = {key: of(*(size.things[key] for size in sizes)) for key in sizes[0].things}
    bars, to_sell, money = (of(*(getattr(size, name) for size in sizes)) for name in ("bars", "to_sell", "money"))
    return Size(bars, to_sell, tuple(map(of, *(size.hours for size in sizes))), money, things)


def _less(one: Size, other: Size) -> Size:
    return _each(lambda more, less: _tidy(more - less, more), one, other)


def _tidy(difference: float, size: float) -> float:
    """Return 0 for what only rounding left of a number of a size."""
    return 0.0 if abs(difference) <= 1e-9 * abs(size) else difference


def _times(one: Size, count: float) -> Size:
    return _each(lambda figure: figure * count, one)


def _divided(one: Size, count: int) -> Size:
    return _each(lambda figure: figure / count, one)


# --- what can be bought: whole packs that cover a need, for the least money over every supplier ---


@dataclass(frozen=True)
class Offer:
    """A pack on offer: its row on sheet Prices (0, 1, ...), what it holds (g or pieces), its price, delivery in."""

    row: int
    holds: float
    price: float


@dataclass(frozen=True)
class Purchase:
    """Packs bought together.

    Attributes:
        quantity: what they hold (g or pieces).
        cost: what they cost, delivery in.
        packs: (row on sheet Prices, how many), in the order of the rows, none of 0.
    """

    quantity: float
    cost: float
    packs: tuple[tuple[int, int], ...] = ()


NOTHING = Purchase(0.0, 0.0)


def cheapest(offers: Sequence[Offer], need: float) -> Purchase:
    """Return the packs that cover a need for the least money. [g] -> [g] [money]; our own rule, exact.

    Of purchases that cost the same it is the one that holds most, then the one of fewest packs, then the one of
    the earliest rows.

    >>> kilo, sack = Offer(0, 1000.0, 10.0), Offer(1, 5000.0, 38.0)
    >>> cheapest([kilo, sack], 6200.0)
    Purchase(quantity=7000.0, cost=58.0, packs=((0, 2), (1, 1)))
    """
    if not exceeds(need, 0):
        return NOTHING
    return next(level for level in levels(offers, need, need) if not exceeds(need, level.quantity))


def levels(offers: Sequence[Offer], least: float, most: float) -> list[Purchase]:
    """Return every purchase that is the cheapest for some need from least to most, the smallest first.

    A need is covered by the first of them that holds it. [g] [g] -> [g] [money]; our own rule, exact.

    >>> [(level.quantity, level.cost) for level in levels([Offer(0, 1.0, 10.0), Offer(1, 5.0, 38.0)], 3.0, 6.0)]
    [(3.0, 30.0), (5.0, 38.0), (6.0, 48.0)]
    """
    useful = _undominated(offers)
    best = min(useful, key=lambda offer: (offer.price / offer.holds, -offer.holds, offer.row))
    budget = min(_count(offer, most) * offer.price for offer in useful)
    rate = best.price / best.holds
    begun = [NOTHING]
    for offer in useful:
        if offer is not best:
            begun = _front(
                more
                for held in begun
                for more in _topped_up(held, offer, 0, most)
                if not exceeds(more.cost + rate * (least - more.quantity), budget)
            )
    found = _front(more for held in begun for more in _topped_up(held, best, least, most))
    last = next(place for place, level in enumerate(found) if not exceeds(most, level.quantity))
    return [*([] if exceeds(least, 0) else [NOTHING]), *(level for level in found[: last + 1] if level.quantity > 0)]


def _count(offer: Offer, need: float) -> int:
    return max(0, math.ceil(round(need / offer.holds, 9)))


def _undominated(offers: Sequence[Offer]) -> list[Offer]:
    """Leave out packs that hold no more than another and cost no less."""
    kept: list[Offer] = []
    for offer in sorted(offers, key=lambda offer: (-offer.holds, offer.price, offer.row)):
        if all(other.price > offer.price for other in kept):
            kept.append(offer)
    return kept


def _plus(held: Purchase, offer: Offer, count: int) -> Purchase:
    if not count:
        return held
    packs = tuple(sorted((*held.packs, (offer.row, count))))
    return Purchase(held.quantity + count * offer.holds, held.cost + count * offer.price, packs)


def _topped_up(held: Purchase, offer: Offer, least: float, most: float) -> Iterable[Purchase]:
    first, last = _count(offer, least - held.quantity), _count(offer, most - held.quantity)
    return (_plus(held, offer, count) for count in range(first, last + 1))


def _front(purchases: Iterable[Purchase]) -> list[Purchase]:
    """Return the purchases than which none holds as much for less, the smallest first."""
    kept: list[Purchase] = []
    order = sorted(
        purchases, key=lambda one: (round(one.cost, 9), -one.quantity, sum(n for _, n in one.packs), one.packs)
    )
    for purchase in order:
        if not kept or exceeds(purchase.quantity, kept[-1].quantity):
            kept.append(purchase)
    return kept
