"""What is published for each ingredient, what was taken for its blank cells, and what the oils of a recipe are by it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from scaler.formula.cells import Number
from scaler.formula.steps import Rule, Step, handed
from scaler.formula.sums import total_of_named
from scaler.model import reference
from scaler.model.records import ACID, ALKALI, LIQUID, OIL, Ingredient
from scaler.model.reference import Published

OIL_DENSITY, OTHER_DENSITY = 0.92, 1.00
"""Density taken where nothing is published (g/mL); the contract's defaults."""


def said_of(ingredient: Ingredient) -> list[str]:
    """Return what was taken for which blank cell of an ingredient, in words."""
    found = reference.find(ingredient.ingredient or "", ingredient.inci or "", ingredient.kind)
    published = found if isinstance(found, Published) else None
    return [*_said_of_sap(ingredient, published), *_said_of_density(ingredient, published), *_said_of_rest(ingredient)]


def published_row(thing: Published) -> dict[str, float | str]:
    """Return what is published for a thing as a row of workings."""
    row: dict[str, float | str] = {
        "thing": thing.name, "sap_low": thing.sap_low, "sap_high": thing.sap_high, "density": thing.density or 0.0,
        "source": thing.source, "mark": thing.mark, "is_doubted": float(thing.mark == "doubt"), "is_solid": float("of the solid" in thing.note),
    }  # fmt: skip
    return row | _profile(thing)


@dataclass(frozen=True)
class FattyClass:
    """Fatty acids of one structure.

    Attributes:
        says: its words on the tab.
        holds: whether an acid of so many carbons and double bonds, hydroxy or not, belongs to it.
    """

    says: str
    holds: Callable[[int, int, bool], bool]


FATTY_CLASSES = {
    "short_saturated": FattyClass(
        "Saturated to C14", lambda carbons, bonds, hydroxy: carbons <= 14 and not bonds and not hydroxy
    ),
    "long_saturated": FattyClass(
        "Saturated from C16", lambda carbons, bonds, hydroxy: carbons > 14 and not bonds and not hydroxy
    ),
    "one_double_bond": FattyClass("One double bond", lambda carbons, bonds, hydroxy: bonds == 1 and not hydroxy),
    "more_double_bonds": FattyClass("Two or more", lambda carbons, bonds, hydroxy: bonds > 1 and not hydroxy),
    "hydroxy": FattyClass("Hydroxy (ricinoleic)", lambda carbons, bonds, hydroxy: hydroxy),
}
"""Classes by structure: every acid of the tables belongs to exactly one."""


def class_of(acid: str) -> str:
    """Return the class of an acid written as C18:1 (18 carbons, 1 double bond) or C18:1-OH.

    >>> class_of("C12:0"), class_of("C18:3"), class_of("C18:1-OH")
    ('short_saturated', 'more_double_bonds', 'hydroxy')
    """
    carbons, bonds = re.findall("[0-9]+", acid)[:2]
    parts = int(carbons), int(bonds), acid.endswith("-OH")
    return next(name for name, found in FATTY_CLASSES.items() if found.holds(*parts))


def _profile(published: Published) -> dict[str, float]:
    """Return iodine value [g I2/100 g], classes [share of all fatty acids], low and high, and the share covered.

    Covered is the share of the fatty acids that the table speaks of: the middles of its ranges added up, at most 1.
    """
    profile = dict.fromkeys(("iodine_low", "iodine_high", "fatty_acids_covered"), 0.0)
    profile |= {f"{name}_{end}": 0.0 for name in FATTY_CLASSES for end in ("low", "high")}
    if published.iodine_low is not None and published.iodine_high is not None:
        profile |= {"iodine_low": published.iodine_low, "iodine_high": published.iodine_high}
    acids = reference.fatty_acids(published.name)
    for acid, (low, high) in acids.items():
        profile[f"{class_of(acid)}_low"] += low / 100
        profile[f"{class_of(acid)}_high"] += high / 100
        profile["fatty_acids_covered"] += (low + high) / 200
    return {name: value if name.startswith("iodine") else min(value, 1.0) for name, value in profile.items()}


def _needs_sap(ingredient: Ingredient) -> bool:
    return ingredient.kind in (OIL, ACID)


def _said_of_sap(ingredient: Ingredient, published: Published | None) -> list[str]:
    if not _needs_sap(ingredient):
        return []
    said = []
    if ingredient.sap is None and published:
        which = "lowest published value" if ingredient.kind == ACID else "middle of the published range"
        said.append(f"SAP blank: {which}")
    if ingredient.sap_low is None or ingredient.sap_high is None:
        said.append("SAP range blank: " + ("published range" if published else "SAP ± 3 %"))
    return said


def _said_of_density(ingredient: Ingredient, published: Published | None) -> list[str]:
    if ingredient.density is not None or ingredient.kind == "packaging":
        return []
    if ingredient.kind == ALKALI:
        return ["Density blank: published, at the strength of the solution"] if ingredient.water else []
    if published and published.density:
        solid = ", of the solid" if "of the solid" in published.note else ""
        return [f"Density blank: published {published.density:.4g} g/mL{solid}"]
    return [f"Density blank: {OIL_DENSITY if ingredient.kind == OIL else OTHER_DENSITY:.2f} g/mL"]


def _said_of_rest(ingredient: Ingredient) -> list[str]:
    said = []
    if ingredient.kind == ALKALI:
        if ingredient.purity is None:
            said.append("Purity blank: 100 %")
        if ingredient.purity_high is None and ingredient.purity is not None:
            said.append("Purity high blank: at worst all of it but its water is base")
    if ingredient.kind == LIQUID and ingredient.water is None:
        said.append("Water blank: 100 %")
    if ingredient.fat and ingredient.sap is None:
        said.append("SAP of its fat blank: published milk fat")
    return said


NAMES = (
    "fatty_acids_covered",
    "iodine_low",
    "iodine_high",
    *(f"{name}_{end}" for name in FATTY_CLASSES for end in ("low", "high")),
)
"""What is averaged over the oils; `fatty_acids_covered` is the share of their fatty acids that the tables speak of."""


def _mean(*read: Any) -> Number:
    return total_of_named(*read)


def _recipe(name: str) -> Rule:
    reads = ("lines_recipe_at", "place", "lines_oil_part", "lines_published_at", "published_place", f"published_{name}")
    says = "Mean over the oils by weight; oils without a published range count 0. [-] [-] -> [-]."
    return handed(_mean, reads, says)


STEPS: tuple[Step, ...] = tuple(
    Step("recipes", name, "" if name.startswith("iodine") else "%", _recipe(name)) for name in NAMES
)
