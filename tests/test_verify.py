"""What verify says of a finished workbook: every tampering is found, and nobody who edits inputs is accused of it.

`python tests/tamperings.py 300 100` tries more.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from partner_edits import FAIR, workbook
from recalculation import through_libreoffice
from tamperings import demo, honest, visible
from typing_in import typed_over

from scaler.audit import Report, verify
from scaler.cli import main
from scaler.read.files import StoredCell, read_cells

_PRICE = "D5"
"""The price of the pack of olive oil that is cheapest by the gram."""


def test_workbook_as_it_was_written_is_sound(tmp_path: Path) -> None:
    """Nothing is said of it, saved anew by another program or not."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(demo()[0])
    (saved,) = through_libreoffice(tmp_path, path)
    assert verify(path) == verify(saved) == Report()


@pytest.mark.parametrize("seed", [4])
def test_honest_edit_is_no_tampering(tmp_path: Path, seed: int) -> None:
    """An input cell edited and the workbook recalculated: at most problems of the inputs, and results that changed."""
    says, report = honest(seed, tmp_path)
    assert (report.overwritten, report.failing, report.stale) == ((), (), ()), says


def test_changed_price_changes_results(tmp_path: Path) -> None:
    """Results that are no longer as they were handed over are named, with both values; a day cleared is the day it had."""
    path = tmp_path / "finished.xlsx"
    costs = read_cells(demo()[0])["Costs"].items()
    (day,) = [cell.replace("A", "B") for cell, held in costs if held.value == "Worked out on"]
    path.write_bytes(typed_over(demo()[0], {("Prices", _PRICE): 99.0, ("Costs", day): None}))
    (saved,) = through_libreoffice(tmp_path, path)
    report = verify(saved)
    assert report.sound
    assert {change.result.split(": ")[1] for change in report.changed} == {"cost per bar"}, report
    assert all(change.now < change.handed_over for change in report.changed)
    assert [(item.sheet, item.row, item.column, item.now) for item in report.inputs] == [
        ("Prices", "Olive oil", "Price", "99"),
        ("Costs", "Worked out on", "Value", ""),
    ]


def test_workbook_that_was_not_recalculated_is_stale(tmp_path: Path) -> None:
    """An input edited by a program that does not recalculate: said in the terminal and in JSON, with what to do."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {("Prices", _PRICE): 99.0}))
    answer = CliRunner().invoke(main, ["verify", str(path)])
    assert answer.exit_code == 1
    assert "was not recalculated since it was edited" in " ".join(answer.output.split())
    report = json.loads(CliRunner().invoke(main, ["verify", str(path), "--json"]).output)
    assert (report["sound"], bool(report["stale"]), report["overwritten"]) == (False, True, [])


def test_each_cell_that_is_typed_over_is_found(tmp_path: Path) -> None:
    """Each of them and no other.

    The published SAP of olive oil, 5 % up: lye 5 % up; a 0 of the workings cleared, and a 0 typed where a result sheet
    holds nothing, for nought is no blank; the title and the hint of sheet Moulds.
    """
    sap, zero = (next(held for held in visible() if fits(held)) for fits in (_is_olive, _is_nought))
    typed = {
        sap[:2]: sap[3] * 1.05, zero[:2]: None, ("Overview", "Z8"): 0, ("Moulds", "A2"): "else", ("Moulds", "B1"): "else",
    }  # fmt: skip
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], typed))
    assert {(item.sheet, item.cell) for item in verify(path).overwritten} == set(typed)


def _is_olive(held: tuple[str, str, StoredCell, Any]) -> bool:
    return held[0] == "Workings" and bool(held[3] == 184.0)


def _is_nought(held: tuple[str, str, StoredCell, Any]) -> bool:
    return not held[2].written and bool(held[2].value == 0)


def test_cells_typed_over_are_counted(tmp_path: Path) -> None:
    """Of many cells twenty are said, and what it means when nobody typed there."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {("Workings", f"B{row}"): "" for row in range(3, 26)}))
    said = " ".join(CliRunner().invoke(main, ["verify", str(path)]).output.split())
    assert said.count("stood there.") == 20
    assert "And 3 more cells. If nobody typed there, another version of scaler wrote this workbook" in said


def test_heading_of_an_input_sheet_is_held(tmp_path: Path) -> None:
    """A heading of sheet Moulds that was typed over is a problem of the reader, or is found as words that are gone."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {("Moulds", "B3"): "something else"}))
    report = verify(path)
    assert [(item.sheet, item.cell) for item in report.overwritten] == [("Moulds", "B3")] or report.problems


@pytest.mark.parametrize("typed", [("12.5", "?", True, "12.5", 1e12), ("?", 1e12, "12.5", 1e12, "12.5")])
def test_verify_survives_whatever_is_typed(tmp_path: Path, typed: tuple[object, ...]) -> None:
    """A text, a truth or a far too large number in inputs of a market workbook: they are told, and nothing crashes."""
    at = (("Ingredients", "C4"), ("Recipe lines", "F4"), ("Batches", "A5"), ("Market", "C4"), ("On hand", "C4"))
    path = tmp_path / "market.xlsx"
    path.write_bytes(typed_over(workbook(FAIR), dict(zip(at, typed, strict=True))))
    answer = CliRunner().invoke(main, ["verify", str(path)])
    assert isinstance(answer.exception, SystemExit)
    assert "sheet Market, cell C4: Needed by cannot be" in answer.stdout


def test_a_cell_is_told_of_once(tmp_path: Path) -> None:
    """What the reader says of a cell is not said again in other words."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {("Costs", "B9"): "two", ("Costs", "B10"): "=1/0", ("Recipes", "B4"): "?"}))
    problems = verify(path).problems
    assert len({problem.place for problem in problems}) == len(problems) > 2
