"""The certainty of the superfat lives in the finished workbook: edit it in a spreadsheet and it says what the engine says."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest
from messy.base import TODAY, edited, save
from openpyxl.worksheet.worksheet import Worksheet
from recalculation import IronCalc
from test_warnings import GOOD

import scaler
from scaler.rules.results import Run
from scaler.write.layout import FIRST_ROW, HEADER_ROW

SHEET = "Batch workings"
FIGURES = ("superfat low", "superfat high", "likely low", "likely high")
WITHIN = 1e-9

# sheet, row (by its first cell), column, new value
Edit = tuple[str, str, str, Any]
EDITS: dict[str, list[Edit]] = {
    "a SAP": [("Ingredients", "Coconut oil", "SAP", 252.0)],
    "a SAP that only one recipe knows": [("Ingredients", "Hedge fat", "SAP", 201.0)],
    "the low end of a SAP": [("Ingredients", "Coconut oil", "SAP low", 241.0)],
    "a SAP filled in where it was blank": [("Ingredients", "Olive oil", "SAP", 188.5)],
    "the high end of a SAP filled in": [("Ingredients", "Olive oil", "SAP high", 193.0)],
    "a purity": [("Ingredients", "Lye flakes", "Purity %", 0.965)],
    "the high end of a purity": [("Ingredients", "Lye flakes", "Purity high %", 0.998)],
    "the low end of a purity filled in": [("Ingredients", "Lye flakes", "Purity low %", 0.95)],
    "the other alkali's purity": [("Ingredients", "Potash flakes", "Purity %", 0.87)],
    "the scale division": [("Costs", "Scale division", "Value", 5.0)],
    "the unit of the scale division": [("Costs", "Scale division", "Unit", "oz")],
    "everything at once": [
        ("Ingredients", "Coconut oil", "SAP", 259.0), ("Ingredients", "Lye flakes", "Purity %", 0.97),
        ("Ingredients", "Lye flakes", "Purity high %", 0.985), ("Costs", "Scale division", "Value", 2.0),
        ("Recipes", "Plain bar", "Superfat %", 0.065),
    ],
}  # fmt: skip


class Finished:
    """The finished workbook of two recipes, one of mixed alkali: as a file, and open in IronCalc."""

    def __init__(self, folder: Path) -> None:
        """Write and open it."""
        self.path = folder / "finished.xlsx"
        self.run = scaler.scale(scaler.load(save(edited(GOOD), folder), today=TODAY))
        scaler.write(self.run, self.path)
        self.book, self.engine = openpyxl.load_workbook(self.path), IronCalc(self.path)

    def spot(self, edit: Edit) -> tuple[Worksheet, int, int]:
        """Return sheet, row and column of an edit, by the row's first cell and the column's header."""
        name, row_name, column_name, _ = edit
        sheet = self.book[name]
        headers = {str(cell.value).rstrip("* "): cell.column for cell in sheet[HEADER_ROW] if cell.value}
        row = next(row for row in range(FIRST_ROW, sheet.max_row + 1) if sheet.cell(row, 1).value == row_name)
        return sheet, row, headers[column_name]

    def after(self, edits: list[Edit], to: Path) -> tuple[Run, list[dict[str, float]]]:
        """Return what the engine makes of the edited and saved file, and what IronCalc finds after the same edits.

        The edits are typed into IronCalc itself: of a file that openpyxl saved it takes blank cells for 0.
        """
        places = [self.spot(edit) for edit in edits]
        old = [sheet.cell(row, column).value for sheet, row, column in places]
        new = [edit[3] for edit in edits]
        assert all(first != second for first, second in zip(old, new, strict=True))
        try:
            self.type_in(places, new)
            self.book.save(to)
            found = self.figures()
        finally:
            self.type_in(places, old)
        run = scaler.scale(scaler.load(to, today=TODAY))
        assert run.problems == ()
        return run, found

    def type_in(self, places: list[tuple[Worksheet, int, int]], values: list[Any]) -> None:
        """Type values into the workbook and into IronCalc, and recalculate."""
        for (sheet, row, column), value in zip(places, values, strict=True):
            sheet.cell(row, column).value = value
            place = (self.engine.sheets[sheet.title], row, column)
            if value is None:
                self.engine.model.clear_cell_contents(*place)
            elif isinstance(value, str):
                self.engine.model.update_cell_with_text(*place, value)
            else:
                self.engine.model.update_cell_with_number(*place, value)
        self.engine.model.evaluate()

    def figures(self) -> list[dict[str, float]]:
        """Return the figures of each batch as IronCalc finds them, from formulas."""
        sheet = self.book[SHEET]
        columns = {cell.value: cell.column_letter for cell in sheet[HEADER_ROW]}
        rows = range(FIRST_ROW, FIRST_ROW + len(self.run.batches))
        cells = [{name: f"{columns[name]}{row}" for name in FIGURES} for row in rows]
        assert all(str(sheet[cell].value).startswith("=") for held in cells for cell in held.values())
        return [{name: self.engine.value(SHEET, cell) for name, cell in held.items()} for held in cells]


def by_engine(run: Run) -> list[dict[str, float]]:
    """Return the figures of each batch as the engine has them."""
    return [
        dict(zip(FIGURES, (item.superfat_low, item.superfat_high, *item.superfat_likely), strict=True))
        for item in run.batches
    ]


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Finished:
    """Return the finished workbook."""
    return Finished(tmp_path_factory.mktemp("finished"))


@pytest.mark.parametrize("name", EDITS)
def test_edit_moves_the_certainty(name: str, finished: Finished, tmp_path: Path) -> None:
    """After an edit the recalculated worst cases and likely ends are the engine's of the edited file, and have moved."""
    run, theirs = finished.after(EDITS[name], tmp_path / "edited.xlsx")
    ours, before = by_engine(run), by_engine(finished.run)
    for engine, spreadsheet in zip(ours, theirs, strict=True):
        assert spreadsheet == pytest.approx(engine, abs=WITHIN)
    moved = [
        abs(now[figure] - then[figure]) > 1e-5 for now, then in zip(ours, before, strict=True) for figure in FIGURES
    ]
    assert any(moved)


def test_unedited_workbook_says_the_same(finished: Finished) -> None:
    """Recalculated without an edit, the workbook's figures are those of the run that wrote it."""
    for engine, spreadsheet in zip(by_engine(finished.run), finished.figures(), strict=True):
        assert spreadsheet == pytest.approx(engine, abs=WITHIN)
