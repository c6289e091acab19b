"""Buying: whole packs that cover a need, for the least money over every supplier."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scaler.formula.helpers import exceeds


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
    budget = min(_alone(offer, most) for offer in useful)
    rate = best.price / best.holds
    begun = [NOTHING]
    for offer in useful:
        if offer is not best:
            begun = _front(
                more
                for held in begun
                for more in _added(held, offer, most)
                if not exceeds(more.cost + rate * (least - more.quantity), budget)
            )
    found = _front(more for held in begun for more in _topped_up(held, best, least, most))
    last = next(place for place, level in enumerate(found) if not exceeds(most, level.quantity))
    return [*([] if exceeds(least, 0) else [NOTHING]), *(level for level in found[: last + 1] if level.quantity > 0)]


def _alone(offer: Offer, need: float) -> float:
    return _count(offer, need) * offer.price


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


def _added(held: Purchase, offer: Offer, most: float) -> Iterable[Purchase]:
    return (_plus(held, offer, count) for count in range(_count(offer, most - held.quantity) + 1))


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
