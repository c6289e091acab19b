"""Twenty ordinary recipes are hardly asked about: at most one look each, and no danger."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from ordinary_recipes import RECIPES, said_of


@pytest.mark.parametrize("name", RECIPES)
def test_ordinary_recipe_is_at_most_one_look(name: str) -> None:
    """It is no danger, and at most one thing about it needs a look."""
    levels = [warning.level for warning in said_of(RECIPES[name])]
    assert levels.count("danger") == 0
    assert levels.count("look") <= 1


def test_there_are_twenty_and_most_are_quiet() -> None:
    """Twenty recipes; no more than half are asked about, and some are."""
    assert len(RECIPES) == 20
    looks = sum("look" in {warning.level for warning in said_of(recipe)} for recipe in RECIPES.values())
    assert 2 <= looks <= 10


def test_one_command_prints_them() -> None:
    """`python tests/ordinary_recipes.py` prints each recipe, and what is said of it."""
    script = Path(__file__).with_name("ordinary_recipes.py")
    found = subprocess.run(
        [sys.executable, str(script)], capture_output=True, text=True, check=True, cwd=script.parent.parent
    )
    assert [line[:-1] for line in found.stdout.splitlines() if not line.startswith(" ")] == list(RECIPES)
    assert "look: Flat beer goes into the lye" in found.stdout
