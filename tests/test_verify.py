"""An edited finished workbook is held against the engine: nothing typed over escapes, nothing sound is blamed."""

from __future__ import annotations

import json
import random
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from recalculation import through_libreoffice
from typing_in import changed, typed_over

import scaler
from scaler.cli import main
from scaler.demo import FILES, shipped
from scaler.model.records import SHEETS
from scaler.verify import verify


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo's finished workbook."""
    path = tmp_path_factory.mktemp("demo") / "finished.xlsx"
    scaler.write(scaler.scale(scaler.load(*(shipped() / name for name in FILES))), path)
    return path


def test_fresh_workbook_is_sound(demo: Path) -> None:
    """A workbook that nobody edited is sound, and nothing in it has changed."""
    report = verify(demo)
    assert (report.sound, report.changed) == (True, ())


def test_saving_in_libreoffice_is_sound(demo: Path, tmp_path: Path) -> None:
    """Saving in another program types over nothing."""
    report = verify(through_libreoffice(tmp_path, demo)[0])
    assert (report.overwritten, report.failing, report.problems, report.changed) == ((), (), (), ())


@pytest.mark.parametrize("seed", range(3))
def test_typed_over_formulas_are_found(demo: Path, tmp_path: Path, seed: int) -> None:
    """Ten formulas typed over with numbers are found, these ten and no other."""
    book = openpyxl.load_workbook(demo)
    formulas = [
        (sheet.title, cell.coordinate)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]
    chosen = random.Random(seed).sample(formulas, 10)
    for number, (sheet, cell) in enumerate(chosen):
        book[sheet][cell] = number + 0.5
    book.save(tmp_path / "edited.xlsx")
    report = verify(tmp_path / "edited.xlsx")
    assert {(item.sheet, item.cell, item.found) for item in report.overwritten} == {
        (sheet, cell, number + 0.5) for number, (sheet, cell) in enumerate(chosen)
    }
    assert not report.sound


def test_changed_price_is_told(demo: Path, tmp_path: Path) -> None:
    """Dearer packs are no fault; the bars they make dearer are named with what they cost then and now."""
    book = openpyxl.load_workbook(demo)
    for row in range(4, 4 + 54):
        price = book["Prices"].cell(row, 4)
        price.value = float(price.value) * 2
    book.save(tmp_path / "edited.xlsx")
    result = CliRunner().invoke(main, ["verify", str(tmp_path / "edited.xlsx"), "--json"])
    told = json.loads(result.stdout)
    assert (result.exit_code, told["sound"]) == (0, True)
    costs = [item for item in told["changed"] if item["result"].endswith("cost per bar")]
    assert costs
    assert all(item["now"] > item["handed_over"] for item in costs)


def test_added_row_needs_the_engine(demo: Path, tmp_path: Path) -> None:
    """A row added to an input sheet makes the workbook unsound until the engine runs."""
    book = openpyxl.load_workbook(demo)
    sheet = book["Prices"]
    row = sheet.max_row
    while sheet.cell(row, 1).value is None:
        row -= 1
    for column in range(1, 5):
        sheet.cell(row + 1, column).value = sheet.cell(row, column).value
    book.save(tmp_path / "edited.xlsx")
    report = verify(tmp_path / "edited.xlsx")
    assert "scaler batch" in report.failing[0]


def test_broken_input_is_a_problem(demo: Path, tmp_path: Path) -> None:
    """An input cell that cannot be read is named, as the batch command names it."""
    book = openpyxl.load_workbook(demo)
    book["Prices"]["C4"] = "stone"
    book.save(tmp_path / "edited.xlsx")
    result = CliRunner().invoke(main, ["verify", str(tmp_path / "edited.xlsx")])
    assert result.exit_code == 1
    assert "cell C4" in result.stdout


def test_workbook_of_another_maker_is_not_ours(tmp_path: Path) -> None:
    """A workbook that scaler did not write cannot be verified, and it is said so."""
    book = openpyxl.Workbook()
    book.create_sheet(SHEETS[0].name)
    book.save(tmp_path / "other.xlsx")
    assert [problem.code for problem in verify(tmp_path / "other.xlsx").problems] == ["not_ours"]


def edited(demo: Path, tmp_path: Path, *cells: tuple[str, str, object]) -> Path:
    """Return the demo's finished workbook with cells typed over."""
    path = tmp_path / "edited.xlsx"
    path.write_bytes(typed_over(demo.read_bytes(), {(sheet, cell): value for sheet, cell, value in cells}))
    return path


def test_what_stood_there_is_told(demo: Path, tmp_path: Path) -> None:
    """The report names the sheet, the cell, what it holds and the formula that stood there."""
    path = edited(demo, tmp_path, ("Batch workings", "B4", 7.5))
    stood = openpyxl.load_workbook(demo)["Batch workings"]["B4"].value
    assert [(item.found, item.stood) for item in verify(path).overwritten] == [(7.5, stood)]
    said = " ".join(CliRunner().invoke(main, ["verify", str(path)]).stdout.split())
    assert f"Formula typed over: sheet Batch workings, cell B4 holds 7.5; {stood} stood there." in said


def test_fixed_number_typed_over_is_found(demo: Path, tmp_path: Path) -> None:
    """A molar mass or a unit factor that was typed over is found, with the number that stood there."""
    book = openpyxl.load_workbook(demo)
    numbers = [("Constants", "B4"), ("Units", "C5"), ("NaOH density", "B6")]
    was = [float(book[sheet][cell].value) for sheet, cell in numbers]
    path = edited(
        demo, tmp_path, *((sheet, cell, number * 1.01) for (sheet, cell), number in zip(numbers, was, strict=True))
    )
    report = verify(path)
    assert {(item.sheet, item.cell): float(item.stood) for item in report.overwritten} == pytest.approx(
        dict(zip(numbers, was, strict=True)), rel=1e-14
    )


def test_another_formula_counts_as_typed_over(demo: Path, tmp_path: Path) -> None:
    """A formula bent to another result, and one emptied, are found as numbers are; blanks and dollars are no change."""
    formula = str(openpyxl.load_workbook(demo)["Batch workings"]["C4"].value)
    path = edited(
        demo,
        tmp_path,
        ("Overview", "K2", "=1+1"),
        ("Overview", "K3", None),
        ("Batch workings", "C4", formula.replace(",", " , ")),
    )
    assert {(item.cell, item.found) for item in verify(path).overwritten} == {("K2", "=1+1"), ("K3", "")}


def test_missing_sheet_is_told(demo: Path, tmp_path: Path) -> None:
    """A workbook without one of its result sheets is not sound."""
    for sheet in ("Checks", "Costing", "Batch workings"):
        renamed = changed(demo.read_bytes(), "xl/workbook.xml", lambda text: text.replace(f'"{sheet}"', '"Other"'))  # noqa: B023
        (tmp_path / "edited.xlsx").write_bytes(renamed)
        assert verify(tmp_path / "edited.xlsx").failing[0].startswith(f"Sheet {sheet} is gone.")


def test_renamed_batch_keeps_its_results(demo: Path, tmp_path: Path) -> None:
    """What a batch gave when it was handed over is found again when the batch got another name."""
    path = edited(demo, tmp_path, ("Batches", "A4", "Another name"), ("Costs", "B7", 500.0))
    report = verify(path)
    assert report.sound
    assert sum(1 for item in report.changed if item.result.endswith("cost per bar")) == 8


def test_workbook_without_its_mark_is_still_ours(demo: Path, tmp_path: Path) -> None:
    """A program that drops the maker's mark leaves what was handed over on Checks: the workbook can be verified."""
    book = openpyxl.load_workbook(demo)
    for name in list(book.custom_doc_props.names):
        del book.custom_doc_props[name]
    book.save(tmp_path / "edited.xlsx")
    report = verify(tmp_path / "edited.xlsx")
    assert (report.problems, report.overwritten, report.failing) == ((), (), ())


def test_no_batch_left_needs_the_engine(demo: Path, tmp_path: Path) -> None:
    """A workbook whose batches were cleared is told so."""
    book = openpyxl.load_workbook(demo)
    for row in book["Batches"].iter_rows(min_row=4):
        for cell in row:
            cell.value = None
    book.save(tmp_path / "edited.xlsx")
    assert verify(tmp_path / "edited.xlsx").failing == (
        "Sheet Batches has no batch. Give the file to scaler batch again.",
    )
