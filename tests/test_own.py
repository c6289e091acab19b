"""What somebody put into a finished workbook comes through: comments, colours, widths, columns, sheets.

`OWN_TRIPS=10 pytest tests/test_own.py` sends ten workbooks through a spreadsheet program.
"""

from __future__ import annotations

import os
import random
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from made_up import made_up
from openpyxl.chart import BarChart
from openpyxl.comments import Comment
from openpyxl.styles import Color, Font, PatternFill
from partner_edits import DEMO, workbook
from recalculation import through_libreoffice

from scaler.cli import main
from scaler.engine import scale
from scaler.write.finished import finished

TRIPS = int(os.environ.get("OWN_TRIPS", "2"))
LIME = PatternFill("solid", fgColor="FFAACC00")


def written_into(path: Path, seed: int) -> dict[str, str]:
    """Put one of everything into a finished workbook; return the comment of a name on sheet Prices."""
    chance = random.Random(seed)
    path.write_bytes(workbook(DEMO) if seed == 0 else finished(scale(made_up(seed))))
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
    path.write_bytes(workbook(DEMO))
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
    path.write_bytes(workbook(DEMO))
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
