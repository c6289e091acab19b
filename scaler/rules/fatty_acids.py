"""Iodine value and fatty-acid classes of a recipe's oils, as plain published ranges: no score and no verdict."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scaler.formula.helpers import Column, Number, pick, tag, total_where
from scaler.formula.steps import Step, described
from scaler.rules.published_defaults import FATTY_CLASSES

NAMES = (
    "fatty_acids_covered",
    "iodine_low",
    "iodine_high",
    *(f"{name}_{end}" for name in FATTY_CLASSES for end in ("low", "high")),
)
"""What is averaged over the oils; `fatty_acids_covered` is the share of their fatty acids that the tables speak of."""


def _line(name: str) -> Callable[..., Any]:
    def of_line(**values: Any) -> Any:
        return values["oil_part"] * pick(values[f"ingredients_{name}"], values["ingredient_at"])

    parameters = ("oil_part", "ingredient_at", f"ingredients_{name}")
    return described(of_line, parameters, "The line's part of the recipe's published range. [g/g] [-] -> [-].")


def _recipe(name: str) -> Callable[..., Any]:
    def of_recipe(**values: Any) -> Any:
        return total_where(values["lines_recipe_at"], values["place"], values[f"lines_{name}"])

    parameters = ("place", "lines_recipe_at", f"lines_{name}")
    says = "Mean over the oils by weight; oils without a published range count 0. [-] -> [-]."
    return described(of_recipe, parameters, says)


def share(recipe_at: Number, ingredient_at: Number, lines_thing_key: Column, lines_oil_part: Column) -> Number:
    """Share of one oil in one recipe's oils, 0 where it holds none. [g/g] -> [-]."""
    return total_where(lines_thing_key, tag(recipe_at, ingredient_at), lines_oil_part)


def _unit(name: str) -> str:
    return "" if name.startswith("iodine") else "%"


STEPS: tuple[Step, ...] = (
    *(Step("lines", name, _unit(name), _line(name)) for name in NAMES),
    *(Step("recipes", name, _unit(name), _recipe(name)) for name in NAMES),
    Step("oilshares", "share", "%", share),
)
