"""Iodine value and fatty-acid classes of a recipe, worked by hand from the published ranges."""

from __future__ import annotations

import pytest
from test_published import DATA, rows
from workshops import naoh, oil, part, shop, table

from scaler.engine import scale
from scaler.rules.published import FATTY_CLASSES
from scaler.rules.results import Run

# Iodine value (g I2/100 g) and fatty acids (% of all of them) as published. Olive: Codex Alimentarius CXS 33-1981
# (read). Coconut, palm: Codex CXS 210-1999 (read); iodine value of coconut to 11 by the Japanese Pharmacopoeia (memory).
# Castor: iodine value 80 to 90 by the pharmacopoeias (BP read, JP memory), acids by the European Pharmacopoeia (memory).
# Saturated to C14, saturated from C16, one double bond, two or more, hydroxy; iodine value first.
OLIVE = {
    "iodine": (75, 94),
    "short_saturated": (0, 0.05),
    "long_saturated": (8, 25.9),
    "one_double_bond": (55.3, 87.2),
    "more_double_bonds": (3.5, 21),
    "hydroxy": (0, 0),
}
COCONUT = {
    "iodine": (6.3, 11),
    "short_saturated": (71.5, 92.9),
    "long_saturated": (9.5, 14.4),
    "one_double_bond": (5, 10.2),
    "more_double_bonds": (1, 2.7),
    "hydroxy": (0, 0),
}
PALM = {
    "iodine": (50, 55),
    "short_saturated": (0.5, 2.5),
    "long_saturated": (42.8, 54.9),
    "one_double_bond": (36, 45.0),
    "more_double_bonds": (9, 12.5),
    "hydroxy": (0, 0),
}
CASTOR = {
    "iodine": (80, 90),
    "short_saturated": (0, 0),
    "long_saturated": (0, 4.5),
    "one_double_bond": (2.5, 7),
    "more_double_bonds": (2.5, 8),
    "hydroxy": (85, 92),
}
Ranges = dict[str, tuple[float, float]]


def worked(shares: dict[str, float]) -> Run:
    """Return a recipe of known oils in these shares."""
    things = [oil(name, None) for name in shares]
    return scale(shop([*things, naoh()], [part(name, share) for name, share in shares.items()], superfat=0.05))


def profile(run: Run) -> dict[str, tuple[float, float]]:
    """Return the recipe's ranges: the iodine value, and the classes in %."""
    found = {}
    for name in ("iodine", *FATTY_CLASSES):
        low, high = (table(run, "recipes", f"{name}_{end}")[0] for end in ("low", "high"))
        found[name] = (low, high) if name == "iodine" else (low * 100, high * 100)
    return found


def close(found: Ranges, expected: Ranges) -> None:
    """Check that ranges are the same."""
    assert set(found) == set(expected)
    for name, ends in expected.items():
        assert found[name] == pytest.approx(ends, abs=1e-9), name


@pytest.mark.parametrize(
    ("name", "published"), [("Olive oil", OLIVE), ("Coconut oil", COCONUT), ("Palm oil", PALM), ("Castor oil", CASTOR)]
)
def test_one_oil_has_its_published_ranges(name: str, published: Ranges) -> None:
    """A recipe of one oil has that oil's iodine value, and the sums of its published fatty acids, class by class."""
    close(profile(worked({name: 1.0})), published)


def test_three_oils_by_hand() -> None:
    """Half olive, three tenths coconut and two tenths palm have the mean of their ranges, by weight."""
    by_hand = {
        "iodine": (0.5 * 75 + 0.3 * 6.3 + 0.2 * 50, 0.5 * 94 + 0.3 * 11 + 0.2 * 55),
        "short_saturated": (0.3 * 71.5 + 0.2 * 0.5, 0.5 * 0.05 + 0.3 * 92.9 + 0.2 * 2.5),
        "long_saturated": (0.5 * 8 + 0.3 * 9.5 + 0.2 * 42.8, 0.5 * 25.9 + 0.3 * 14.4 + 0.2 * 54.9),
        "one_double_bond": (0.5 * 55.3 + 0.3 * 5 + 0.2 * 36, 0.5 * 87.2 + 0.3 * 10.2 + 0.2 * 45),
        "more_double_bonds": (0.5 * 3.5 + 0.3 * 1 + 0.2 * 9, 0.5 * 21 + 0.3 * 2.7 + 0.2 * 12.5),
        "hydroxy": (0, 0),
    }
    assert by_hand["iodine"] == pytest.approx((49.39, 61.3))
    close(profile(worked({"Olive oil": 0.5, "Coconut oil": 0.3, "Palm oil": 0.2})), by_hand)


def test_unknown_oil_is_said_to_be_unknown() -> None:
    """An oil that nothing is published of adds nothing, and the share that is known says so."""
    things = [oil("Olive oil", None), oil("Hedge fat", 195.0), naoh()]
    run = scale(shop(things, [part("Olive oil", 0.7), part("Hedge fat", 0.3)]))
    assert table(run, "recipes", "fatty_acids_covered")[0] == pytest.approx(0.7)
    assert profile(run)["one_double_bond"] == pytest.approx((0.7 * 55.3, 0.7 * 87.2))


def test_coverage_is_what_the_table_speaks_of() -> None:
    """Cocoa butter's four published acids are 98.2 % of its fatty acids, at the middle of their ranges."""
    run = worked({"Cocoa butter": 1.0})
    assert table(run, "recipes", "fatty_acids_covered")[0] == pytest.approx((26.5 + 34 + 34.5 + 3.2) / 100)


@pytest.mark.parametrize("oil_name", sorted({row["thing"] for row in rows(DATA / "fatty_acids.csv")}))
def test_classes_add_up_to_the_table(oil_name: str) -> None:
    """Every acid of every published oil is in exactly one class: the classes add up to the acids, end by end."""
    published = [row for row in rows(DATA / "fatty_acids.csv") if row["thing"] == oil_name]
    found = profile(worked({oil_name: 1.0}))
    for end, column in enumerate(("low", "high")):
        classes = sum(found[name][end] for name in FATTY_CLASSES)
        assert classes == pytest.approx(sum(float(row[column]) for row in published), abs=1e-9)


def test_own_sap_keeps_the_published_profile() -> None:
    """A supplier's SAP changes the alkali, not the oil's fatty acids."""
    run = scale(shop([oil("Olive oil", 190.0), naoh()], [part("Olive oil", 1.0)]))
    close(profile(run), OLIVE)


def test_no_class_is_more_than_all() -> None:
    """No oil of the tables has a class of more than 100 %, or a low above its high."""
    run = worked({"Olive oil": 1.0})
    assert len(table(run, "published", "hydroxy_low")) > 60
    for name in FATTY_CLASSES:
        ranges = zip(*(table(run, "published", f"{name}_{end}") for end in ("low", "high")), strict=True)
        assert all(0 <= low <= high <= 1 for low, high in ranges)
