"""Iodine value and fatty-acid classes of a recipe's oils, as plain published ranges: no score and no verdict."""

from __future__ import annotations

from typing import Any

from scaler.formula.cells import Number
from scaler.formula.steps import Rule, Step, handed
from scaler.formula.sums import total_of_named
from scaler.rules.published_defaults import FATTY_CLASSES

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
