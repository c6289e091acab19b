"""How sure the superfat is: exhaustive corners, a million draws, and the table of coverage factors."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]
from workshops import TODAY, koh, made, naoh, oil, part, shop, thing

import scaler
from scaler.model.records import Ingredient, Mould, Workshop
from scaler.model.reference import Published, find
from scaler.output import DEMO_FILES, shipped
from scaler.rules.results import Batch

MOLAR_MASS = {"NaOH": 39.99712, "KOH": 56.10565}  # g/mol, IUPAC standard atomic weights
LOAF = Mould(mould="loaf", shape="measured", capacity=1.4, capacity_unit="L", bars=10)
Draws = NDArray[np.float64]


def sap_range(item: Ingredient) -> tuple[float, float]:
    """Return the range of an ingredient's SAP that the contract states: its own, the published, else 3 % either way."""
    known = find(item.ingredient, item.inci or "", item.kind)
    value = item.sap or 0.0
    ends = (known.sap_low, known.sap_high) if isinstance(known, Published) else (value * 0.97, value * 1.03)
    return (ends[0] if item.sap_low is None else item.sap_low, ends[1] if item.sap_high is None else item.sap_high)


def counts(item: Ingredient | None) -> bool:
    """Return whether alkali is reckoned by a thing: an oil, an acid, a liquid with an acid value and no fat."""
    sour = item is not None and item.kind == "liquid" and bool(item.sap) and not item.fat
    return item is not None and (item.kind in ("oil", "acid") or sour)


def purity_range(item: Ingredient, worst: bool) -> tuple[float, float]:
    """Return the range of an alkali's purity; without an upper end all but its water at worst, likely a point more."""
    purity, most = item.purity or 1.0, 1 - (item.water or 0.0)
    high = most if worst else purity + min(0.01, (most - purity) / 2)
    return (item.purity_low or purity, item.purity_high or high)


ONE = [oil(sap_low=184.0, sap_high=196.0), naoh(purity=0.98, purity_low=0.97, purity_high=0.99)]
DOMINANT = [oil("soft", 190.0, sap_low=180.0, sap_high=200.0), oil("hard", 256.5, sap_low=256.0, sap_high=257.0),
            naoh(purity=0.985, purity_low=0.98, purity_high=0.99)]  # fmt: skip
ONLY_TWO = [oil("soft", 190.0, sap_low=184.0, sap_high=196.0), oil("hard", 256.5, sap_low=254.0, sap_high=259.0),
            naoh(division=0.01, division_unit="g")]  # fmt: skip
MIXED = [oil("soft", 190.0), oil("hard", 256.5), naoh(purity=0.98, purity_low=0.97, purity_high=1.0),
         koh(purity=0.9, purity_low=0.86, purity_high=0.92)]  # fmt: skip
SOUR = [oil("soft", 190.0), oil("hard", 256.5, sap_low=248.0, sap_high=265.0), naoh(purity=0.99),
        thing("sour", "acid", sap=800.0, sap_low=790.0, sap_high=876.0)]  # fmt: skip
VINEGAR = [oil("soft", 190.0), naoh(), thing("vinegar", "liquid", sap=46.7, sap_low=42.0, sap_high=52.0, water=0.95)]
FOUR = [oil(f"fat {number}", sap) for number, sap in enumerate((190.0, 193.0, 199.0, 250.0))]
SIX_TO_FOUR = [part("soft", 0.6), part("hard", 0.4)]

WORKSHOPS = {
    "one oil": shop(ONE, [part("fat", 1.0)], superfat=0.05, mould=LOAF),
    "one oil, kitchen scale": shop(ONE, [part("fat", 1.0)], superfat=0.05, settings={"workshop_division": 5.0}),
    "one of two oils dominates": shop(DOMINANT, [part("soft", 0.7), part("hard", 0.3)], superfat=0.05, mould=LOAF),
    "two oils and nothing else": shop(ONLY_TWO, SIX_TO_FOUR, superfat=0.05, mould=LOAF,
                                      settings={"workshop_division": 0.1}),
    "mixed alkali": shop(MIXED, SIX_TO_FOUR, superfat=0.05, mould=LOAF, second_alkali="potash", koh_share=0.3),
    "an acid": shop(SOUR, [*SIX_TO_FOUR, part("sour", 0.02)], superfat=0.05, mould=LOAF),
    "a sour liquid": shop(VINEGAR, [part("soft", 1.0), part("vinegar", 1.0)], superfat=0.06, mould=LOAF),
    "four oils": shop([*FOUR, naoh()], [part(item.ingredient, 0.25) for item in FOUR], superfat=0.06, mould=LOAF),
    "one oil at two stages": shop([oil("soft", 190.0), oil("hard", 256.5), naoh()],
                                  [part("soft", 0.4), part("hard", 0.4), part("soft", 0.2, stage="trace")],
                                  superfat=0.05, mould=LOAF),
}  # fmt: skip
DEMO = scaler.load(*(shipped() / name for name in DEMO_FILES), today=TODAY)
WORKSHOPS |= {f"demo {batch.batch}, {batch.recipe}": replace(DEMO, batches=(batch,)) for batch in DEMO.batches}
EACH = pytest.mark.parametrize("name", WORKSHOPS)


def test_every_demo_recipe_is_tried() -> None:
    """The demo workbooks are read without a problem and each of their recipes is in a batch."""
    assert DEMO.problems == ()
    assert {batch.recipe for batch in DEMO.batches} == {recipe.recipe for recipe in DEMO.recipes}
    assert len(DEMO.recipes) >= 5


# --- lowest and highest ---


Uncertain = Callable[[float, float], Draws]
"""What a quantity between two ends may be: both ends in turn, or draws from between them."""


def superfats(workshop: Workshop, batch: Batch, uncertain: Uncertain, divisions: float) -> Draws:
    """Return the superfat for each value of every uncertain quantity: SAP by thing, weighing by line, purity."""
    things = {item.ingredient: item for item in workshop.ingredients}
    sap: dict[str, Draws] = {}
    oils, left = np.zeros(1), np.zeros(1)
    for line in batch.lines:
        if line.g is None or not counts(things.get(line.ingredient)):
            continue
        if line.ingredient not in sap:
            sap[line.ingredient] = uncertain(*sap_range(things[line.ingredient]))
        off = division(workshop, line.ingredient) * divisions
        need = np.maximum(uncertain(line.g - off, line.g + off), 0) * sap[line.ingredient] / 1000
        if line.kind == "oil":
            oils = oils + need
        else:
            left = left - need
    for alkali in batch.alkalis:
        off = division(workshop, alkali.ingredient) * divisions
        weight = np.maximum(uncertain(alkali.g - off, alkali.g + off), 0)
        purity = uncertain(*purity_range(things[alkali.ingredient], worst=divisions == 1))
        left = left + weight * purity * MOLAR_MASS["KOH"] / MOLAR_MASS[alkali.base]
    return 1 - left / oils


class Corners:
    """Both ends of every quantity, each with both of every other: 2 to the power of how many there are."""

    def __init__(self, count: int) -> None:
        """Number the corners; a bit of the number says which end."""
        self.corner, self.asked = np.arange(2**count), 0

    def __call__(self, low: float, high: float) -> Draws:
        """Return an end for each corner."""
        bit = self.corner >> self.asked & 1
        self.asked += 1
        return np.where(bit == 1, high, low)


def corners(workshop: Workshop, batch: Batch) -> Draws:
    """Return the superfat at every corner: each weighing a division off, each SAP and purity at an end of its range."""
    count = Corners(0)
    superfats(workshop, batch, count, 1.0)
    every = Corners(count.asked)
    found = superfats(workshop, batch, every, 1.0)
    assert every.asked == count.asked
    assert len(found) == 2**count.asked
    return found


def division(workshop: Workshop, name: str) -> float:
    """Return the scale division that a thing is weighed to [g]."""
    item = next(item for item in workshop.ingredients if item.ingredient == name)
    setting = next(line for line in workshop.costs if line.setting == "Scale division")
    assert {item.division_unit, setting.unit} <= {None, "g"}
    return item.division or (float(str(setting.value)) if setting.value else 1.0)


@EACH
def test_extremes_are_the_corners(name: str) -> None:
    """Lowest and highest superfat are the lowest and the highest of all the corners of the ranges."""
    workshop = WORKSHOPS[name]
    batch = made(workshop)
    found = corners(workshop, batch)
    assert len(found) >= 2**3
    assert batch.superfat_low == pytest.approx(min(found), abs=1e-12)
    assert batch.superfat_high == pytest.approx(max(found), abs=1e-12)


# --- the likely interval ---


def drawn(workshop: Workshop, batch: Batch, count: int = 1_000_000) -> Draws:
    """Return the superfat of as many draws, every range rectangular, a thing's SAP the same at every stage."""
    rng = np.random.default_rng(20261125)
    return superfats(workshop, batch, lambda low, high: rng.uniform(low, high, count), 0.5)


@EACH
def test_likely_interval_holds_19_of_20_draws(name: str) -> None:
    """The likely interval is as wide as the middle 95 % of a million draws, within 5 %, and never 1 % narrower."""
    workshop = WORKSHOPS[name]
    batch = made(workshop)
    low, high = np.quantile(drawn(workshop, batch), [0.025, 0.975])
    ours = batch.superfat_likely[1] - batch.superfat_likely[0]
    assert ours == pytest.approx(high - low, rel=0.05)
    assert ours > (high - low) * 0.99
    assert batch.superfat_likely == pytest.approx((low, high), abs=0.05 * (high - low))


def test_centre_is_at_mid_ranges() -> None:
    """The likely interval is centred on the superfat with every SAP and purity in the middle of its range."""
    things = [oil(sap=190.0, sap_low=184.0, sap_high=200.0), naoh(purity=0.98, purity_low=0.96, purity_high=0.99)]
    batch = made(shop(things, [part("fat", 1.0)], superfat=0.05))
    alkali_at_mid = batch.alkali_g * 0.975 / MOLAR_MASS["NaOH"] * MOLAR_MASS["KOH"]
    assert math.fsum(batch.superfat_likely) / 2 == pytest.approx(1 - alkali_at_mid / (batch.oils_g * 0.192), rel=1e-9)


# --- the table of factors ---


def table_rows() -> list[tuple[float, float]]:
    """Return the rows of the coverage table: dominance and factor."""
    path = Path(__file__).parent.parent / "scaler" / "model" / "data" / "coverage.csv"
    with path.open(encoding="utf-8", newline="") as lines:
        return [(float(row["dominance"]), float(row["factor"])) for row in csv.DictReader(lines)]


def covered(factor: float, dominance: float) -> float:
    """Return how much lies within a factor of a rectangular part of this standard deviation and a normal rest."""
    half, rest = dominance * math.sqrt(3), math.sqrt(1 - dominance**2)
    if half == 0:
        return float(norm.cdf(factor) - norm.cdf(-factor))
    if rest == 0:
        return min(factor / half, 1.0)

    def primitive(value: float) -> float:  # of the normal distribution function
        return float(value * norm.cdf(value) + norm.pdf(value))

    def below(limit: float) -> float:
        return rest / (2 * half) * (primitive((limit + half) / rest) - primitive((limit - half) / rest))

    return below(factor) - below(-factor)


def rectangular_rest(dominance: float) -> float:
    """Return the factor for 95 % of two rectangular parts alone (a trapezoid); 0 where the second is the larger one."""
    rest = math.sqrt(1 - dominance**2)
    if rest > dominance or rest == 0:
        return 0.0
    large, small = math.sqrt(3) * dominance, math.sqrt(3) * rest
    return large + small - math.sqrt(0.05 * 4 * large * small)


@pytest.mark.parametrize(("dominance", "factor"), table_rows())
def test_coverage_factor(dominance: float, factor: float) -> None:
    """A factor of the table covers 95 % of one rectangular range and a rest, be it normal or one more such range."""
    normal_rest = brentq(lambda value: covered(value, dominance) - 0.95, 1.0, 3.0, xtol=1e-12)
    assert factor == pytest.approx(max(normal_rest, rectangular_rest(dominance)), abs=0.00005)


def test_coverage_table_runs_from_none_to_all() -> None:
    """The table begins where all is normal (1.960) and ends where all is one range (1.645)."""
    rows = table_rows()
    assert rows == sorted(rows)
    assert [(rows[at][0], round(rows[at][1], 3)) for at in (0, -1)] == [(0, 1.960), (1, 1.645)]


@pytest.mark.parametrize("cavities", [2, 6, 12, 24])
def test_safe_superfat_is_safe_in_the_same_mould(cavities: int) -> None:
    """Lowered to what is said to be safe, a batch in the same mould has more alkali and less oil: at worst it has free oil still."""
    mould = Mould(mould="tray", shape="cavities", cavities=cavities, capacity=90.0, capacity_unit="mL")
    things = [oil(sap=256.0, sap_low=248.0, sap_high=265.0), naoh(purity=0.98)]

    def tray(superfat: float) -> Batch:
        (found,) = scaler.scale(shop(things, [part("fat", share=1.0)], mould, superfat=superfat)).batches
        return found

    salty = tray(0.2)
    assert 0 <= tray(salty.superfat_safe).superfat_low < 0.005
    assert salty.superfat_safe < 0.12


def test_ruler_and_shares_say_what_the_figures_say() -> None:
    """The likely band of the ruler ends where the likely superfat does, not at worst; all that makes one sure thing unsure is its share."""
    run = scaler.scale(shop([oil(sap=190.0, sap_low=180.0, sap_high=200.0), naoh(purity=1.0)], [part("fat", share=1.0)],
                            superfat=0.05))  # fmt: skip
    (batch,), one = run.batches, run.tables.one
    ends = (batch.superfat_low, *batch.superfat_likely, batch.superfat_high)
    names = ("worst_at", "likely_from", "likely_to", "best_at")
    for name, superfat in zip(names, ends, strict=True):
        place = math.floor((superfat - one("constants", "ruler_from")) / one("constants", "ruler_step") + 0.5) + 1
        assert run.tables.column("batches", name)[0] == min(max(place, 1), one("constants", "ruler_letters"))
    assert len({run.tables.column("batches", name)[0] for name in names}) > 2
    assert batch.superfat_parts[0].thing == "fat"
    assert batch.superfat_parts[0].share == pytest.approx(1, abs=0.02)
