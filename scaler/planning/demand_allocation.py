"""Serving: whether bars that come ready by and by reach everybody who asked, in time."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from scaler.formula.cells import GUARD
from scaler.planning.problem import ANY, Wish

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
