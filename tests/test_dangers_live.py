"""Dangers that a partner types into the finished workbook: said there as scaler says them, by another engine."""

from __future__ import annotations

import os
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from parity import handed_over
from partner_edits import DEMO, ERRORS, FEW, Edit, disagreements, expected, workbook
from recalculation import recalculated
from typing_in import typed_over

from scaler.engine import scale
from scaler.model.records import SHEETS
from scaler.read.files import stored_values
from scaler.read.workshop import load

THINGS, MOULDS, RECIPES, LINES = "Ingredients", "Moulds", "Recipes", "Recipe lines"


def renamed(old: str, new: str) -> dict[tuple[str, str], Any]:
    """Return the cells of input sheets that hold a name, with another name."""
    held = stored_values(workbook(DEMO))
    return {
        (sheet.name, cell): new for sheet in SHEETS for cell, value in held.get(sheet.name, {}).items() if value == old
    }


LIVE_EDITS = int(os.environ.get("LIVE_EDITS", "2"))
"""Edits whose workbook is recalculated whole; LIVE_EDITS=10 takes all, the suite has a budget."""

EDITS: dict[str, tuple[dict[tuple[str, str], Any], str, str]] = {
    # what is typed, the code, and words that Cards or Checks then hold
    "citric acid as an additive": (
        {(THINGS, "B19"): "additive"},
        "kind_doubtful",
        "Citric acid, anhydrous takes up alkali",
    ),
    "a fragrance without its limit": ({(THINGS, "N29"): None}, "limit_missing", "Sweet orange oil has no Limit"),
    "milk in the lye": ({(LINES, "G21"): "yes"}, "milk_in_lye", "Goat milk goes into the lye"),
    "water becomes pale ale": (renamed("Distilled water", "Pale ale"), "drink_in_lye", "Pale ale goes into the lye"),
    "tea tree becomes clove": (
        renamed("Tea tree oil", "Clove bud oil"),
        "spice_oils",
        "spice oils of Coal Scuttle are 2 %",
    ),
    "a mould of aluminium": (renamed("Oak loaf", "Aluminium loaf"), "mould_metal", "Is Aluminium loaf made of"),
    "superfat of 1 %": (
        {(RECIPES, "B4"): 0.01},
        "superfat_likely_negative",
        "The chance that this batch is lye-heavy is about 1 in",
    ),
    "a scale of 30 g": ({("Costs", "B19"): 30.0}, "superfat_likely_negative", "The scale is why"),
    "a cure of three weeks": ({(RECIPES, "I4"): 21.0}, "cure_short", "has only 21 in Cure days"),
    "fewer moulds owned": ({(MOULDS, "R4"): 1.0}, "moulds_short", "fills 2 of Oak loaf"),
}


def said(path: Path) -> set[str]:
    """Return the codes of what scaler warns of or refuses in a file."""
    run = scale(load([path]))
    return {problem.code for problem in run.problems} | {item.code for batch in run.batches for item in batch.warnings}


@pytest.mark.parametrize("name", EDITS)
def test_partner_is_told_of_the_danger(name: str, tmp_path: Path) -> None:
    """What is typed draws the same words in the workbook as from scaler, and every cell agrees."""
    cells, code, words = EDITS[name]
    path = tmp_path / "edited.xlsx"
    path.write_bytes(typed_over(workbook(DEMO), cells))
    assert code in said(path)
    if list(EDITS).index(name) >= LIVE_EDITS:
        return
    edit, there = Edit(RECIPES, {}, name), recalculated(path)
    assert disagreements(partial(expected, path, edit), there, edit) == []
    assert any(words in str(value) for (sheet, _), value in there.items() if sheet == "Cards")


@pytest.mark.parametrize("cells", [{("Batches", "B4"): None}, {("Batches", "B4"): "nobody"}, {(LINES, "C4"): 9.0}])
def test_batch_that_cannot_be_worked_out_leaves_no_error(cells: dict[tuple[str, str], Any], tmp_path: Path) -> None:
    """What concerns a batch that is refused, or its things, is words or nothing: never an error value."""
    path = tmp_path / "edited.xlsx"
    path.write_bytes(typed_over(workbook(FEW), cells))
    assert [at for at, value in recalculated(path).items() if str(value) in ERRORS] == []


@pytest.mark.parametrize(
    ("cell", "value", "words"),
    [(("Recipes", "A4"), "Coal", "Coal has no oil."), (("Batches", "F4"), 0.1, "less than the scale can weigh")],
)
def test_refused_batch_is_named_among_what_to_fix(
    cell: tuple[str, str], value: Any, words: str, tmp_path: Path
) -> None:
    """A recipe without lines, or a batch too small to weigh, leaves no error value and stands in the list of Checks."""
    path = tmp_path / "edited.xlsx"
    path.write_bytes(typed_over(handed_over(), {cell: value}))
    there = recalculated(path)
    assert [at for at, value in there.items() if str(value) in ERRORS] == []
    assert any(words in str(text) for (sheet, _), text in there.items() if sheet == "Checks")
