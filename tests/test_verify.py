"""What verify says of a finished workbook: every tampering is found, and nobody who edits inputs is accused of it.

`python tests/tamperings.py 300 100` tries more.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from partner_edits import MARKET, workbook
from recalculation import through_libreoffice
from tamperings import demo, honest, visible
from typing_in import typed_over

from scaler.audit import Report, verify
from scaler.cli import main
from scaler.read.formulas import read_cells

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
    """An input edited by a program that does not recalculate."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {("Prices", _PRICE): 99.0}))
    report = verify(path)
    assert (report.sound, bool(report.stale), report.overwritten) == (False, True, ())


def test_published_sap_typed_over_is_found(tmp_path: Path) -> None:
    """The SAP of olive oil in the table of what is published, 5 % up: lye 5 % up."""
    sheet, cell, *_, value = next(held for held in visible() if held[0] == "Workings" and held[3] == 184.0)
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {(sheet, cell): value * 1.05}))
    assert [(item.sheet, item.cell) for item in verify(path).overwritten] == [(sheet, cell)]


@pytest.mark.parametrize("typed", ["0 cleared", "0 typed"])
def test_nought_is_not_a_blank(tmp_path: Path, typed: str) -> None:
    """A 0 of the workings cleared, and a 0 typed where a result sheet holds nothing."""
    zero = next((sheet, cell) for sheet, cell, held, _ in visible() if not held.written and held.value == 0)
    at, value = (zero, None) if typed == "0 cleared" else (("Overview", "Z8"), 0)
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {at: value}))
    assert [(item.sheet, item.cell) for item in verify(path).overwritten] == [at]


@pytest.mark.parametrize("cell", ["A2", "B1", "B3"])
def test_words_of_an_input_sheet_are_held(tmp_path: Path, cell: str) -> None:
    """The title, the hint and a heading of sheet Moulds."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {("Moulds", cell): "something else"}))
    report = verify(path)
    assert [(item.sheet, item.cell) for item in report.overwritten] == [("Moulds", cell)] or report.problems


def test_cells_typed_over_are_counted(tmp_path: Path) -> None:
    """Of many cells twenty are said, and what it means when nobody typed there."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {("Workings", f"B{row}"): "" for row in range(3, 26)}))
    said = " ".join(CliRunner().invoke(main, ["verify", str(path)]).output.split())
    assert said.count("stood there.") == 20
    assert "And 3 more cells. If nobody typed there, another version of scaler wrote this workbook" in said


def test_verdict_says_what_was_not_recalculated(tmp_path: Path) -> None:
    """In the terminal and in JSON, with what to do."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {("Prices", _PRICE): 99.0}))
    answer = CliRunner().invoke(main, ["verify", str(path)])
    assert answer.exit_code == 1
    assert "was not recalculated since it was edited" in " ".join(answer.output.split())
    assert json.loads(CliRunner().invoke(main, ["verify", str(path), "--json"]).output)["stale"]


@pytest.mark.parametrize("typed", [("12.5", "?", True, "12.5", 1e12), ("?", 1e12, "12.5", 1e12, "12.5")])
def test_verify_survives_whatever_is_typed(tmp_path: Path, typed: tuple[object, ...]) -> None:
    """A text, a truth or a far too large number in inputs of a market workbook: they are told, and nothing crashes."""
    at = (("Ingredients", "C4"), ("Recipe lines", "F4"), ("Batches", "A5"), ("Market", "C4"), ("On hand", "C4"))
    path = tmp_path / "market.xlsx"
    path.write_bytes(typed_over(workbook(MARKET), dict(zip(at, typed, strict=True))))
    answer = CliRunner().invoke(main, ["verify", str(path)])
    assert isinstance(answer.exception, SystemExit)
    assert "sheet Market, cell C4: Needed by cannot be" in answer.stdout


def test_a_cell_is_told_of_once(tmp_path: Path) -> None:
    """What the reader says of a cell is not said again in other words."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(typed_over(demo()[0], {("Costs", "B9"): "two", ("Costs", "B10"): "=1/0", ("Recipes", "B4"): "?"}))
    problems = verify(path).problems
    assert len({problem.place for problem in problems}) == len(problems) > 2
