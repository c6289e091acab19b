"""What somebody put into a finished workbook comes through: comments, colours, widths, columns, sheets.

`OWN_TRIPS=10 pytest tests/test_own.py` sends ten workbooks through a spreadsheet program.
"""

from __future__ import annotations

import os
import random
from dataclasses import dataclass
from functools import cached_property
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
from scaler.read.files import stored_values
from scaler.write.finished import finished

TRIPS = int(os.environ.get("OWN_TRIPS", "1"))
LIME = PatternFill("solid", fgColor="FFAACC00")


@dataclass(frozen=True)
class Trip:
    """A workbook with one of everything somebody may put into it, saved by another program, and given back to another file.

    Attributes:
        row: the row of Prices that was written on, and the thing and the pack that stand there.
        marks: what was written on the cards, by cell.
        path: the new file.
    """

    row: int
    pack: tuple[str, str]
    marks: dict[str, Any]
    path: Path

    @cached_property
    def book(self) -> openpyxl.Workbook:
        """The new workbook."""
        return openpyxl.load_workbook(self.path)


def written_into(path: Path, seed: int, out: Path) -> Trip:
    """Put one of everything into a finished workbook."""
    chance = random.Random(seed)
    path.write_bytes(workbook(FEW) if seed == 0 else finished(scale(made_up(seed))))
    book = openpyxl.load_workbook(path)
    page = book["Prices"]
    row = chance.choice([row for row in range(4, 40) if page.cell(row, 1).value and page.cell(row + 1, 1).value])
    page.cell(row, 4).comment = Comment("ask for a rebate", "partner")
    page.cell(row, 4).fill = LIME
    page["H3"], page[f"H{row}"], page["I3"], page[f"I{row}"] = "Shelf", "top left", "Per gram", f"=D{row}/B{row}"
    page.column_dimensions["F"].width = 44
    page[f"D{row + 1}"] = "=2*9"
    notes = book.create_sheet("My notes")
    notes["A1"], notes["A2"], notes["B2"] = "=SUM(1,2)", "a word", 0.25
    notes["A3"] = "=SUM(Prices!D4:D9)+Overview!B8"
    notes["A2"].font, notes["A2"].fill, notes["B2"].number_format = Font(bold=True), LIME, "0.0%"
    notes["A2"].comment = Comment("mine", "partner")
    notes.column_dimensions["A"].width = 33
    free = [cell for cells in book["Cards"].iter_rows() for cell in cells if not cell.protection.locked]
    marks = dict(zip((free[place].coordinate for place in (0, 3, -1)), (181.9, "lot 7", "set slowly"), strict=True))
    for cell, value in marks.items():
        book["Cards"][cell] = value
    book.save(path)
    return Trip(row, (str(page.cell(row, 1).value), str(page.cell(row, 2).value)), marks, out)


@pytest.fixture(scope="module")
def trip(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Trip:
    """Return a workbook that went through another program and back."""
    folder = tmp_path_factory.mktemp("trip")
    found = written_into(folder / "mine.xlsx", request.param, folder / "again.xlsx")
    (saved,) = through_libreoffice(folder, folder / "mine.xlsx")
    answer = CliRunner().invoke(main, ["batch", str(saved), "-o", str(found.path)])
    assert answer.exit_code == 0, answer.output
    return found


TRIP = pytest.mark.parametrize(
    "trip",
    [pytest.param(seed, marks=pytest.mark.xdist_group(f"trip {seed}")) for seed in range(TRIPS)],
    indirect=True,
    scope="module",
)


@TRIP
def test_everything_comes_through(trip: Trip) -> None:
    """Saved by another program and given back, to another file: all there, at the row of its price."""
    page, notes = trip.book["Prices"], trip.book["My notes"]
    (row,) = (cell.row for cell in page["D"] if cell.comment)
    assert (page.cell(row, 1).value, str(page.cell(row, 2).value)) == trip.pack
    assert page.cell(row, 4).comment.text == "ask for a rebate"
    assert page.cell(row, 4).fill.fgColor.rgb == "FFAACC00"
    assert (page.cell(3, 8).value, page.cell(row, 8).value) == ("Shelf", "top left")
    assert page.column_dimensions["F"].width == pytest.approx(44, abs=1)
    assert [notes[cell].value for cell in ("A1", "A2", "B2")] == ["=SUM(1,2)", "a word", 0.25]
    shown = (notes["A2"].font.bold, notes["A2"].fill.fgColor.rgb, notes["B2"].number_format)
    assert shown == (True, "FFAACC00", "0.0%")
    assert notes["A2"].comment.text == "mine"
    assert notes.column_dimensions["A"].width == pytest.approx(33, abs=1)


@TRIP
def test_formulas_come_through(trip: Trip) -> None:
    """In a price, in a column and on a sheet of one's own: nothing moved, so each stands as it stood, with its result."""
    page, row = trip.book["Prices"], trip.row
    assert [page[cell].value for cell in (f"D{row + 1}", f"I{row}")] == ["=2*9", f"=D{row}/B{row}"]
    assert trip.book["My notes"]["A3"].value == "=SUM(Prices!D4:D9)+Overview!B8"
    stored = stored_values(trip.path)
    assert (stored["Prices"][f"D{row + 1}"], stored["My notes"]["A1"]) == (18, 3)


@TRIP
def test_what_is_written_on_cards_is_kept(trip: Trip) -> None:
    """Weights, lots and notes that people wrote stand on the card of the same batch, beside the same thing."""
    assert {cell: trip.book["Cards"][cell].value for cell in trip.marks} == trip.marks


def test_what_cannot_come_through_is_named(tmp_path: Path) -> None:
    """Nothing is written, here or over the file itself, unless it is forced.

    A chart; a comment on a result; a note without a heading on a spare row; a weight of an oil that left the recipe.
    """
    path, out = tmp_path / "mine.xlsx", tmp_path / "again.xlsx"
    path.write_bytes(workbook(FEW))
    shown = stored_values(path)["Cards"]
    book = openpyxl.load_workbook(path)
    book["Overview"]["B8"].comment = Comment("dear!", "partner")
    book.create_sheet("My notes").add_chart(BarChart(), "B2")
    book["Moulds"]["Y14"] = "ask the joiner for a second one"
    row = next(cell[1:] for cell, value in shown.items() if cell[0] == "C" and value == "White kaolin")
    book["Cards"][f"F{row}"] = 8.1
    for cells in book["Recipe lines"].iter_rows():
        if cells[1].value == "White kaolin":
            for cell in cells[:9]:
                cell.value = None
    book.save(path)
    before = path.read_bytes()
    for to in (path, out):
        answer = CliRunner().invoke(main, ["batch", str(path), "-o", str(to)])
        assert answer.exit_code == 3
        said = " ".join(answer.output.split())
        assert f"row 14 of Moulds, which is not read, what is written in Cards F{row}, " in said
        assert "the comment on Overview B8, a chart or picture on My notes would be lost." in said
        assert (path.read_bytes(), out.exists()) == (before, False)
    assert CliRunner().invoke(main, ["batch", str(path), "-o", str(path), "--force"]).exit_code == 0


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


def test_formulas_that_would_point_elsewhere_are_named(tmp_path: Path) -> None:
    """A blank row is not written again, so that what stood below it moves up; forced, their results stand there.

    The first batch is cleared too, so that the row of the second on Overview is the third's in the new workbook.
    """
    path, out = tmp_path / "mine.xlsx", tmp_path / "again.xlsx"
    path.write_bytes(workbook(FEW))
    names = {cell: value for cell, value in stored_values(path)["Overview"].items() if cell[0] == "A"}
    second = next(cell[1:] for cell, value in names.items() if str(value).startswith("SK-102"))
    book = openpyxl.load_workbook(path)
    page = book["Prices"]
    for row in range(12, 4, -1):
        for column in range(1, 8):
            page.cell(row + 1, column).value = page.cell(row, column).value
    for column in range(1, 8):
        page.cell(5, column).value = None
    page["H3"], page["H9"] = "Twice", "=D9*2"
    book.create_sheet("Mine")["A1"] = "=Prices!D9"
    book.create_sheet("Theirs")["A1"] = f"=Overview!C{second}"
    for (cell,) in book["Batches"].iter_cols(max_col=12, min_row=4, max_row=4):
        cell.value = None
    book.save(path)
    (saved,) = through_libreoffice(tmp_path, path)
    answer = CliRunner().invoke(main, ["batch", str(saved), "-o", str(out)])
    said = " ".join(answer.output.split())
    assert (
        "the formula in Mine A1, the formula in Prices H9, the formula in Theirs A1, whose row now holds something else"
        in said
    )
    assert not out.exists()
    CliRunner().invoke(main, ["batch", str(saved), "-o", str(out), "--force"])
    book = openpyxl.load_workbook(out)
    assert book["Mine"]["A1"].value == book["Prices"]["D8"].value
