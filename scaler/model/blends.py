"""Blends: recipes of oils alone that other recipes name as an ingredient, so that their oils stand in for them."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass

from scaler.model.records import Workshop


@dataclass(frozen=True)
class Mixed:
    """An oil that a recipe has through a blend: the recipe, the oil, the blend."""

    recipe: str
    ingredient: str
    blend: str


def mixed_lines(workshop: Workshop) -> tuple[Mixed, ...]:
    """Return every oil that a recipe has through a blend, each once a recipe and blend, in the order of the lines."""
    return tuple({(item.recipe, item.ingredient, item.blend): item for item in _mixed(workshop)}.values())


def mixed_text(workshop: Workshop) -> str:
    """Return a fingerprint of those oils, "" for none, so that a workbook that was made for others can be told."""
    names = "|".join(f"{item.recipe}/{item.blend}/{item.ingredient}".casefold() for item in mixed_lines(workshop))
    return hashlib.sha256(names.encode()).hexdigest() if names else ""


def _mixed(workshop: Workshop) -> Iterator[Mixed]:
    things = {_key(item.ingredient) for item in workshop.ingredients}
    recipes = {_key(item.recipe) for item in workshop.recipes} - things - {""}
    for line in workshop.lines:
        if _key(line.ingredient) in recipes:
            for part in workshop.lines:
                if _key(part.recipe) == _key(line.ingredient) and _key(part.ingredient) in things:
                    yield Mixed(line.recipe, part.ingredient, line.ingredient)


def _key(name: str | None) -> str:
    return (name or "").casefold()
