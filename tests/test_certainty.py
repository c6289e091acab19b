"""How sure the superfat is: exhaustive corners, a million draws, and the table of coverage factors."""

from __future__ import annotations

import csv
import itertools
import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]
from workshops import koh, made, naoh, oil, part, shop, thing

from scaler.compute.results import Batch
from scaler.model import Ingredient, Mould, Workshop

MOLAR_MASS = {"NaOH": 39.99712, "KOH": 56.10565}  # g/mol, IUPAC standard atomic weights
LOAF = Mould(mould="loaf", shape="measured", capacity=1.4, capacity_unit="L", bars=10)
Draws = NDArray[np.float64]


def sap_range(item: Ingredient) -> tuple[float, float]:
    """Return the range of an ingredient's SAP that the contract states: its own, else 3 % to either side."""
    assert item.sap is not None
    return (item.sap_low or item.sap * 0.97, item.sap_high or item.sap * 1.03)


def purity_range(item: Ingredient) -> tuple[float, float]:
    """Return the range of an alkali's purity."""
    purity = item.purity or 1.0
    return (item.purity_low or purity, item.purity_high or purity)


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
EACH = pytest.mark.parametrize("name", WORKSHOPS)


# --- lowest and highest ---


def corners(workshop: Workshop, batch: Batch) -> list[float]:
    """Return the superfat at every corner: each weighing a division off, each SAP and purity at an end of its range."""
    things = {item.ingredient: item for item in workshop.ingredients}
    weighed = [line for line in batch.lines if line.ingredient in things and things[line.ingredient].sap]
    names = sorted({line.ingredient for line in weighed})
    superfats = []
    for ends in itertools.product(*(sap_range(things[name]) for name in names)):
        sap = dict(zip(names, ends, strict=True))
        for offs in itertools.product((-1, 1), repeat=len(weighed) + len(batch.alkalis)):
            for pure in itertools.product(*(purity_range(things[item.ingredient]) for item in batch.alkalis)):
                moved = [
                    max(0.0, item.g + off * division(workshop, item.ingredient))
                    for item, off in zip([*weighed, *batch.alkalis], offs, strict=True)
                    if item.g is not None
                ]
                need = {"oil": 0.0, "acid": 0.0}
                for line, weight in zip(weighed, moved, strict=False):
                    need["oil" if line.kind == "oil" else "acid"] += weight * sap[line.ingredient] / 1000
                alkali = math.fsum(
                    weight * purity * MOLAR_MASS["KOH"] / MOLAR_MASS[item.base]
                    for item, weight, purity in zip(batch.alkalis, moved[len(weighed) :], pure, strict=True)
                )
                superfats.append(1 - (alkali - need["acid"]) / need["oil"])
    return superfats


def division(workshop: Workshop, name: str) -> float:
    """Return the scale division that a thing is weighed to [g]."""
    item = next(item for item in workshop.ingredients if item.ingredient == name)
    setting = next(line.value for line in workshop.costs if line.setting == "Scale division")
    return item.division or (float(str(setting)) if setting else 1.0)


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
    things = {item.ingredient: item for item in workshop.ingredients}
    sap: dict[str, Draws] = {}
    oils, left = np.zeros(count), np.zeros(count)
    for line in batch.lines:
        item = things.get(line.ingredient)
        if item is None or line.g is None or line.kind == "alkali" or not item.sap:
            continue
        if line.ingredient not in sap:
            sap[line.ingredient] = rng.uniform(*sap_range(item), count)
        half = division(workshop, line.ingredient) / 2
        need = rng.uniform(line.g - half, line.g + half, count) * sap[line.ingredient] / 1000
        if line.kind == "oil":
            oils += need
        else:
            left -= need
    for alkali in batch.alkalis:
        half = division(workshop, alkali.ingredient) / 2
        purity = rng.uniform(*purity_range(things[alkali.ingredient]), count)
        weight = rng.uniform(alkali.g - half, alkali.g + half, count)
        left += weight * purity * MOLAR_MASS["KOH"] / MOLAR_MASS[alkali.base]
    return 1 - left / oils


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
    path = Path(__file__).parent.parent / "scaler" / "data" / "coverage.csv"
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
    """The table's ends are 1.960 (normal) and 1.645 (0.95 of a rectangular half-width, root 3)."""
    rows = table_rows()
    assert rows == sorted(rows)
    assert [round(rows[0][1], 3), round(rows[-1][1], 3)] == [1.960, 1.645]
    assert [rows[0][0], rows[-1][0]] == [0, 1]
    assert math.sqrt(3) * 0.95 == pytest.approx(1.645, abs=0.0005)
