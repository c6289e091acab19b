"""Packs: the cheapest whole ones that cover a need, held against trying every combination."""

from __future__ import annotations

import itertools
import math
import random

import pytest

from scaler.planning.candidates import NOTHING, Offer, cheapest, levels


def everything(offers: list[Offer], need: float) -> float:
    """Return the least money that covers a need, by trying every number of every pack."""
    counts = [range(math.ceil(need / offer.holds) + 1) for offer in offers]
    return min(
        sum(count * offer.price for count, offer in zip(choice, offers, strict=True))
        for choice in itertools.product(*counts)
        if sum(count * offer.holds for count, offer in zip(choice, offers, strict=True)) >= need - 1e-9
    )


def price_table(seed: int) -> tuple[list[Offer], float]:
    """Return offers of two to four packs, and a need of at most seven of the smallest."""
    draw = random.Random(seed)
    sizes = [draw.choice((100, 250, 453.59237, 500, 750, 1000, 2500, 5000)) for _ in range(draw.randint(2, 4))]
    offers = [
        Offer(row, float(size), round(size * draw.uniform(0.004, 0.03) + draw.choice((0, 0, 3.5, 9)), 2))
        for row, size in enumerate(sizes)
    ]
    return offers, round(draw.uniform(1, 7) * min(sizes), draw.choice((0, 1, 6)))


def test_packs_equal_exhaustive_search() -> None:
    """On 500 price tables no combination of packs is cheaper, and the chosen one covers the need and costs what it says."""
    for seed in range(500):
        offers, need = price_table(seed)
        chosen = cheapest(offers, need)
        assert chosen.cost == pytest.approx(everything(offers, need), abs=1e-9), seed
        assert chosen.quantity >= need - 1e-9, seed
        assert chosen.cost == pytest.approx(sum(offers[row].price * count for row, count in chosen.packs), abs=1e-9)
        assert chosen.quantity == pytest.approx(sum(offers[row].holds * count for row, count in chosen.packs), abs=1e-9)


def test_levels_are_the_cheapest_for_every_need() -> None:
    """Between two needs, the first level that holds a need costs what that need costs alone."""
    for seed in range(0, 500, 5):
        offers, most = price_table(seed)
        least = most * 0.4
        found = levels(offers, least, most)
        for part in range(21):
            need = least + (most - least) * part / 20
            level = next(level for level in found if level.quantity >= need - 1e-9)
            assert level.cost == pytest.approx(cheapest(offers, need).cost, abs=1e-9), (seed, need)


def test_levels_rise() -> None:
    """Each level holds more and costs more than the one before it."""
    for seed in range(100):
        offers, most = price_table(seed)
        found = levels(offers, 0.0, most)
        assert found[0] == NOTHING
        for lower, upper in itertools.pairwise(found):
            assert lower.quantity < upper.quantity
            assert lower.cost < upper.cost


@pytest.mark.parametrize(
    ("offers", "need", "packs"),
    [
        ([(1000.0, 10.0), (5000.0, 12.0)], 900.0, ((0, 1),)),
        ([(1000.0, 10.0), (5000.0, 12.0)], 1000.0, ((0, 1),)),
        ([(1000.0, 10.0), (5000.0, 12.0)], 1000.001, ((1, 1),)),
        ([(0.1, 1.0)], 0.3, ((0, 3),)),
        ([(1000.0, 10.0), (1000.0, 10.0)], 1500.0, ((0, 2),)),
        ([(1000.0, 10.0), (2000.0, 20.0)], 1500.0, ((1, 1),)),
        ([(1000.0, 10.0), (3000.0, 20.0)], 1500.0, ((1, 1),)),
        ([(1000.0, 0.0), (3000.0, 0.0)], 7000.0, ((1, 3),)),
        ([(1000.0, 10.0)], 0.0, ()),
        ([(1000.0, 10.0)], -5.0, ()),
    ],
)
def test_packs_bought(offers: list[tuple[float, float]], need: float, packs: tuple[tuple[int, int], ...]) -> None:
    """The least money decides, then the most in the packs, then the fewest packs, then the first row."""
    assert cheapest([Offer(row, *offer) for row, offer in enumerate(offers)], need).packs == packs


def test_many_small_packs_are_quick() -> None:
    """A need of ten thousand packs is covered exactly, too."""
    chosen = cheapest([Offer(0, 50.0, 1.0), Offer(1, 70.0, 1.45)], 500_010.0)
    assert chosen.cost == pytest.approx(10_000.35)
    assert chosen.packs == ((0, 9996), (1, 3))
