"""Lye-heavy or not: a million draws of what may really be in the pot, against the level that is given, for 30 recipes.

The draws follow the contract and nothing else: every SAP and purity rectangular over its range, every weighing
rectangular over half a scale division either way, all independent. A certificate without Purity high is taken as purer
by the smaller of 1 point and half of what is left beside its water.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy
import pytest
from workshops import koh, naoh, oil, part, shop, thing

from scaler.engine import scale
from scaler.model.records import Mould, Workshop
from scaler.rules.results import Batch
from scaler.rules.superfat import odds

DRAWS, CHUNK = 1_000_000, 250_000
NAOH_PER_KOH = 39.99712 / 56.10565
"""Molar masses, IUPAC atomic weights."""
IN_VAIN, MISSED = 0.02, 0.03
"""A danger below the first is cried in vain, none above the second is missed; the interval ends at a chance of 0.025."""

WIDE = [oil("Olive oil", None), oil("Coconut oil", None), oil("Palm oil", None)]
KITCHEN = [part("Olive oil", 0.45), part("Coconut oil", 0.3), part("Palm oil", 0.25)]
SHARP = [oil("sure", 190.0, sap_low=189.5, sap_high=190.5)]
ALONE = [oil("Castor oil", None)]
VAGUE = [oil("found fat", 190.0)]
FLAKES = {"purity": 0.98, "purity_high": 0.99}


def mould(litres: float) -> Mould:
    """Return a mould of so many litres."""
    return Mould(
        mould="tub", shape="measured", capacity=litres * 1000, capacity_unit="mL", bars=max(round(litres * 10), 1)
    )


def recipe(
    superfat: float,
    things: list[Any],
    parts: list[Any],
    base: Any,
    litres: float = 1.5,
    scale_g: float = 1.0,
    **more: Any,
) -> Workshop:
    """Return a workshop of one recipe at a superfat."""
    alkalis = base if isinstance(base, list) else [base]
    return shop(
        [*things, *alkalis], parts, mould(litres), settings={"workshop_division": scale_g}, superfat=superfat, **more
    )


def one(name: str) -> list[Any]:
    """Return the line of a recipe of one oil."""
    return [part(name, 1.0)]


def sour(superfat: float) -> Workshop:
    """Return a recipe with citric acid of unknown water."""
    things = [*WIDE, thing("Citric acid", "acid")]
    return recipe(superfat, things, [*KITCHEN, part("Citric acid", 0.02)], naoh(**FLAKES))


def mixed(superfat: float) -> Workshop:
    """Return a recipe of two alkalis."""
    alkalis = [naoh(**FLAKES), koh(purity=0.87, purity_low=0.85, purity_high=0.9)]
    return recipe(superfat, WIDE, KITCHEN, alkalis, alkali="soda", second_alkali="potash", koh_share=0.4)


RECIPES = {
    **{f"kitchen bar at {share:.0%}": recipe(share, WIDE, KITCHEN, naoh(**FLAKES)) for share in (0, 0.01, 0.02, 0.03, 0.05, 0.08)},
    **{f"one sure oil at {share:.1%}": recipe(share, SHARP, one("sure"), naoh(purity=0.99, purity_high=0.991), scale_g=0.1) for share in (0, 0.002, 0.005, 0.02)},
    **{f"one wide oil at {share:.1%}": recipe(share, ALONE, one("Castor oil"), naoh(**FLAKES)) for share in (0.005, 0.015, 0.03, 0.06)},
    **{f"a fat without a range at {share:.0%}": recipe(share, VAGUE, one("found fat"), naoh(**FLAKES)) for share in (0.01, 0.02, 0.03, 0.04, 0.1)},
    **{f"a cup on a coarse scale at {share:.0%}": recipe(share, WIDE, KITCHEN, naoh(**FLAKES), 0.12) for share in (0.02, 0.04, 0.06, 0.1)},
    **{f"with citric acid at {share:.1%}": sour(share) for share in (0, 0.025, 0.05)},
    **{f"two alkalis at {share:.0%}": mixed(share) for share in (0.01, 0.03, 0.07)},
    "certificate without an upper end at 2 %": recipe(0.02, WIDE, KITCHEN, naoh(purity=0.97)),
}  # fmt: skip


@dataclass(frozen=True)
class Truth:
    """What a million draws show: how often the bar is lye-heavy, and the lowest superfat drawn."""

    chance: float
    lowest: float


def drawn(workshop: Workshop, batch: Batch, used: dict[str, tuple[float, float]], seed: int) -> Truth:
    """Return how often the batch is lye-heavy.

    Args:
        workshop: what was weighed.
        batch: its exact weights.
        used: lowest and highest SAP of each oil and acid [mg KOH/g], purity of each alkali [g/g].
        seed: of the draws.
    """
    random = numpy.random.default_rng(seed)
    division = next(line.value for line in workshop.costs if line.setting == "Scale division")
    heavy, lowest = 0, math.inf
    for _ in range(DRAWS // CHUNK):
        pure = {name: random.uniform(low, high, CHUNK) for name, (low, high) in used.items()}
        brought, needed, acids = numpy.zeros(CHUNK), numpy.zeros(CHUNK), numpy.zeros(CHUNK)
        for line in batch.lines:
            if line.ingredient in used:
                grams = line.g + random.uniform(-division / 2, division / 2, CHUNK)
                if line.kind == "alkali":
                    base = next(item.base for item in workshop.ingredients if item.ingredient == line.ingredient)
                    brought += grams * pure[line.ingredient] / (NAOH_PER_KOH if base == "NaOH" else 1.0)
                else:
                    total = acids if line.kind == "acid" else needed
                    total += grams * pure[line.ingredient] / 1000
        superfat = 1 - (brought - acids) / needed
        heavy += int((superfat < 0).sum())
        lowest = min(lowest, float(superfat.min()))
    return Truth(heavy / DRAWS, lowest)


PUBLISHED = {
    "Olive oil": (184.0, 196.0), "Coconut oil": (246.0, 265.0), "Palm oil": (190.0, 209.0), "Castor oil": (176.0, 187.0),
    "Citric acid": (800.98, 876.09),
}  # fmt: skip
"""CXS 33 and 210 with the Japanese Pharmacopoeia, USP and stoichiometry, as the tables join them."""


def ranges(workshop: Workshop) -> dict[str, tuple[float, float]]:
    """Return what each thing may really be, by the contract."""
    found = {}
    for item in workshop.ingredients:
        if item.kind == "alkali":
            likely = item.purity + min(0.01, (1 - item.purity) / 2)
            found[item.ingredient] = (item.purity_low or item.purity, item.purity_high or likely)
        elif item.sap is None:
            found[item.ingredient] = PUBLISHED[item.ingredient]
        else:
            found[item.ingredient] = (item.sap_low or item.sap * 0.97, item.sap_high or item.sap * 1.03)
    return found


@cache
def judged(name: str) -> tuple[Batch, Truth]:
    """Return the batch of a recipe and what the draws say of it."""
    workshop = RECIPES[name]
    run = scale(workshop)
    assert run.problems == ()
    seed = list(RECIPES).index(name)
    return run.batches[0], drawn(workshop, run.batches[0], ranges(workshop), seed)


def levels(batch: Batch) -> dict[str, str]:
    """Return the level of each warning about superfat."""
    return {warning.code: warning.level for warning in batch.warnings if warning.code.startswith("superfat")}


@pytest.mark.parametrize("name", RECIPES)
def test_no_danger_is_missed_and_none_is_cried_in_vain(name: str) -> None:
    """A danger is said where lye is left in at least 3 of 100 draws, and not where it is left in fewer than 2."""
    batch, truth = judged(name)
    danger = levels(batch).get("superfat_likely_negative") == "danger"
    assert danger or truth.chance < MISSED
    assert not danger or truth.chance > IN_VAIN


@pytest.mark.parametrize("name", RECIPES)
def test_what_is_no_danger_and_not_impossible_is_a_note(name: str) -> None:
    """Where a draw is lye-heavy and it is no danger, a note says so; no look is spent on it."""
    batch, truth = judged(name)
    if truth.lowest < 0:
        assert levels(batch) in ({"superfat_likely_negative": "danger"}, {"superfat_worst_negative": "note"})
    else:
        assert levels(batch).get("superfat_likely_negative") is None


def words_for(chance: float) -> str:
    """Return the words for a chance."""
    return [words for least, words in odds() if least <= chance][-1]


@pytest.mark.parametrize("name", RECIPES)
def test_chance_in_words_is_the_drawn_one(name: str) -> None:
    """The words fit the drawn chance, or one of its neighbours 6 % to either side where it lies near an edge."""
    batch, truth = judged(name)
    for warning in batch.warnings:
        if warning.code == "superfat_likely_negative":
            near = {words_for(truth.chance * part) for part in (0.94, 1.0, 1.06)}
            assert any(words in warning.text for words in near), (truth.chance, warning.text)


def test_thirty_recipes_are_of_every_sort() -> None:
    """There are 30, from 0 to 10 % superfat, and dangers, notes and quiet ones among them."""
    assert len(RECIPES) == 30
    shares = {workshop.recipes[0].superfat for workshop in RECIPES.values()}
    assert (min(shares), max(shares)) == (0.0, 0.1)
    seen = [tuple(levels(judged(name)[0]).values()) for name in RECIPES]
    assert min(seen.count(("danger",)), seen.count(("note",)), seen.count(())) >= 4
