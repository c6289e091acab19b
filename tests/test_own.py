"""What somebody put into a finished workbook comes through: comments, colours, widths, columns, sheets.

`OWN_TRIPS=10 pytest tests/test_own.py` sends ten workbooks through a spreadsheet program.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from made_up import made_up
from openpyxl.chart import BarChart
from openpyxl.comments import Comment
from openpyxl.styles import Color, Font, PatternFill
from partner_edits import FEW, workbook
from recalculation import through_libreoffice

from scaler.cli import main
from scaler.engine import scale
from scaler.write.finished import finished

TRIPS = int(os.environ.get("OWN_TRIPS", "1"))
LIME = PatternFill("solid", fgColor="FFAACC00")


def written_into(path: Path, seed: int) -> dict[str, str]:
    """Put one of everything into a finished workbook; return the comment of a name on sheet Prices."""
    chance = random.Random(seed)
    path.write_bytes(workbook(FEW) if seed == 0 else finished(scale(made_up(seed))))
    book = openpyxl.load_workbook(path)
    page = book["Prices"]
    row = chance.choice([row for row in range(4, 40) if page.cell(row, 1).value and page.cell(row + 1, 1).value])
    page.cell(row, 4).comment = Comment("ask for a rebate", "partner")
    page.cell(row, 4).fill = LIME
    page.cell(3, 8).value = "Shelf"
    page.cell(row, 8).value = "top left"
    page.column_dimensions["F"].width = 44
    notes = book.create_sheet("My notes")
    notes["A1"], notes["A2"], notes["B2"] = "=SUM(1,2)", "a word", 0.25
    notes["A2"].font, notes["A2"].fill, notes["B2"].number_format = Font(bold=True), LIME, "0.0%"
    notes["A2"].comment = Comment("mine", "partner")
    notes.column_dimensions["A"].width = 33
    book.save(path)
    return {str(page.cell(row, 1).value): str(page.cell(row, 2).value)}


@pytest.mark.parametrize("seed", range(TRIPS))
def test_everything_comes_through(tmp_path: Path, seed: int) -> None:
    """Saved by another program and given back, to another file: all there, at the row of its price."""
    path = tmp_path / "mine.xlsx"
    ((name, pack),) = written_into(path, seed).items()
    (saved,) = through_libreoffice(tmp_path, path)
    out = tmp_path / "again.xlsx"
    answer = CliRunner().invoke(main, ["batch", str(saved), "-o", str(out)])
    assert answer.exit_code == 0, answer.output
    book = openpyxl.load_workbook(out)
    page = book["Prices"]
    (row,) = (cell.row for cell in page["D"] if cell.comment)
    assert (page.cell(row, 1).value, str(page.cell(row, 2).value)) == (name, pack)
    assert page.cell(row, 4).comment.text == "ask for a rebate"
    assert page.cell(row, 4).fill.fgColor.rgb == "FFAACC00"
    assert (page.cell(3, 8).value, page.cell(row, 8).value) == ("Shelf", "top left")
    assert page.column_dimensions["F"].width == pytest.approx(44, abs=1)
    notes = book["My notes"]
    assert [notes[cell].value for cell in ("A1", "A2", "B2")] == ["=SUM(1,2)", "a word", 0.25]
    assert openpyxl.load_workbook(out, data_only=True)["My notes"]["A1"].value == 3
    assert (notes["A2"].font.bold, notes["A2"].fill.fgColor.rgb, notes["B2"].number_format) == (
        True,
        "FFAACC00",
        "0.0%",
    )
    assert notes["A2"].comment.text == "mine"
    assert notes.column_dimensions["A"].width == pytest.approx(33, abs=1)


@pytest.mark.parametrize("same", [True, False])
def test_what_cannot_come_through_is_named(tmp_path: Path, same: bool) -> None:
    """A chart, and a comment on a result: named, nothing written, unless it is forced."""
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook(FEW))
    book = openpyxl.load_workbook(path)
    book["Overview"]["B8"].comment = Comment("dear!", "partner")
    book.create_sheet("My notes").add_chart(BarChart(), "B2")
    book.save(path)
    before = path.read_bytes()
    out = path if same else tmp_path / "again.xlsx"
    answer = CliRunner().invoke(main, ["batch", str(path), "-o", str(out)])
    assert answer.exit_code == 3
    said = " ".join(answer.output.split())
    assert "the comment on Overview B8, a chart or picture on My notes would be lost." in said
    assert (path.read_bytes(), out.exists()) == (before, same)
    assert CliRunner().invoke(main, ["batch", str(path), "-o", str(out), "--force"]).exit_code == 0


def test_fill_in_a_colour_of_the_theme_comes_through(tmp_path: Path) -> None:
    """Most programs offer the theme's colours first; accent 2 made half as light, and one of the old palette."""
    path, out = tmp_path / "mine.xlsx", tmp_path / "again.xlsx"
    path.write_bytes(workbook(FEW))
    book = openpyxl.load_workbook(path)
    page = book["Prices"]
    page["D4"].fill = PatternFill("solid", fgColor=Color(theme=5, tint=0.5))
    page["D5"].fill = PatternFill("solid", fgColor=Color(indexed=5))
    book.loaded_theme = book.loaded_theme.replace(_accent(book.loaded_theme), b"804020")
    book.save(path)
    answer = CliRunner().invoke(main, ["batch", str(path), "-o", str(out)])
    assert answer.exit_code == 0, answer.output
    page = openpyxl.load_workbook(out)["Prices"]
    assert [page[cell].fill.fgColor.rgb for cell in ("D4", "D5")] == ["FFDC9673", "FFFFFF00"]


def _accent(theme: bytes) -> bytes:
    """Return the second accent of a theme, RRGGBB."""
    return theme.split(b"accent2>")[1].split(b'val="')[1][:6]


def _given_back(
    tmp_path: Path, edit: Callable[[openpyxl.Workbook], None], *more: str, recalculate: bool = True
) -> tuple[str, Path]:
    """Return what is said when an edited and recalculated workbook is given back, and the new file."""
    path, out = tmp_path / "mine.xlsx", tmp_path / "again.xlsx"
    path.write_bytes(workbook(FEW))
    book = openpyxl.load_workbook(path)
    edit(book)
    book.save(path)
    saved = through_libreoffice(tmp_path, path)[0] if recalculate else path
    answer = CliRunner().invoke(main, ["batch", str(saved), "-o", str(out), *more])
    return " ".join(answer.output.split()), out


def _formulas(book: openpyxl.Workbook) -> None:
    """Put a formula into a price, into a column of one's own, and into a sheet of one's own."""
    book["Prices"]["D5"], book["Prices"]["H3"], book["Prices"]["H4"] = "=2*9", "Per gram", "=D4/B4"
    book.create_sheet("Mine")["A1"] = "=SUM(Prices!D4:D9)+Overview!B8"


def test_formulas_come_through(tmp_path: Path) -> None:
    """Nothing moved: every formula stands as it stood, with its result."""
    _, out = _given_back(tmp_path, _formulas)
    written, stored = (openpyxl.load_workbook(out, data_only=data_only) for data_only in (False, True))
    assert [written["Prices"][cell].value for cell in ("D5", "H4")] == ["=2*9", "=D4/B4"]
    assert written["Mine"]["A1"].value == "=SUM(Prices!D4:D9)+Overview!B8"
    assert stored["Prices"]["D5"].value == 18


def _moved(book: openpyxl.Workbook) -> None:
    """Leave a blank row among the prices, above the row that a formula points at."""
    page = book["Prices"]
    for row in range(12, 4, -1):
        for column in range(1, 8):
            page.cell(row + 1, column).value = page.cell(row, column).value
    for column in range(1, 8):
        page.cell(5, column).value = None
    page["H3"], page["H9"] = "Twice", "=D9*2"
    book.create_sheet("Mine")["A1"] = "=Prices!D9"


def test_formulas_that_would_point_elsewhere_are_named(tmp_path: Path) -> None:
    """A blank row is not written again, so that what stood below it moves up; forced, their results stand there."""
    said, out = _given_back(tmp_path, _moved)
    assert "the formula in Mine A1, the formula in Prices H9 would be lost." in said
    assert not out.exists()
    CliRunner().invoke(main, ["batch", str(tmp_path / "out" / "mine.xlsx"), "-o", str(out), "--force"])
    book = openpyxl.load_workbook(out)
    assert book["Mine"]["A1"].value == book["Prices"]["D8"].value


def test_results_that_move_are_named(tmp_path: Path) -> None:
    """The first batch is cleared, so that the row of the second is the third's in the new workbook."""
    (tmp_path / "demo.xlsx").write_bytes(workbook(FEW))
    column = openpyxl.load_workbook(tmp_path / "demo.xlsx", data_only=True)["Overview"]["A"]
    row = next(cell.row for cell in column if str(cell.value).startswith("SK-102"))

    def edit(book: openpyxl.Workbook) -> None:
        book.create_sheet("Mine")["A1"] = f"=Overview!C{row}"
        for (cell,) in book["Batches"].iter_cols(max_col=12, min_row=4, max_row=4):
            cell.value = None

    said, _ = _given_back(tmp_path, edit)
    assert "the formula in Mine A1, whose row now holds something else, would be lost" in said


def test_a_word_on_a_row_that_is_none_is_named(tmp_path: Path) -> None:
    """A note without a heading, on one of the spare rows of sheet Moulds."""

    def edit(book: openpyxl.Workbook) -> None:
        book["Moulds"]["Y14"] = "ask the joiner for a second one"

    said, out = _given_back(tmp_path, edit, recalculate=False)
    assert "row 14 of Moulds" in said
    assert not out.exists()


def test_what_is_written_on_cards_is_kept(tmp_path: Path) -> None:
    """Weights, lots and notes that people wrote stand on the card of the same batch, beside the same thing."""
    marks: dict[str, Any] = {}

    def edit(book: openpyxl.Workbook) -> None:
        page = book["Cards"]
        free = [cell for row in page.iter_rows() for cell in row if not cell.protection.locked]
        for cell, value in zip((free[0], free[3], free[-1]), (181.9, "lot 7", "set slowly"), strict=True):
            cell.value = marks[cell.coordinate] = value

    said, out = _given_back(tmp_path, edit)
    assert "would be lost" not in said
    page = openpyxl.load_workbook(out)["Cards"]
    assert {cell: page[cell].value for cell in marks} == marks


def test_what_is_written_for_a_thing_that_is_gone_is_named(tmp_path: Path) -> None:
    """The line of an oil is taken out of the recipe after its weight was written down."""

    def edit(book: openpyxl.Workbook) -> None:
        cards, lines = book["Cards"], book["Recipe lines"]
        shown = openpyxl.load_workbook(tmp_path / "mine.xlsx", data_only=True)["Cards"]
        row = next(cell.row for cell in shown["C"] if cell.value == "White kaolin")
        cards.cell(row, 6).value = 8.1
        for cells in lines.iter_rows():
            if cells[1].value == "White kaolin":
                for cell in cells[:9]:
                    cell.value = None

    said, out = _given_back(tmp_path, edit, recalculate=False)
    assert "what is written in Cards F" in said
    assert not out.exists()
