"""Put what is somebody's own into the finished workbook: sheets at its end, comments, colours and widths in their place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from xlsxwriter.worksheet import Worksheet

from scaler.model.own import Own, OwnSheet, pointed_at
from scaler.model.schema import Record, Sheet, letters
from scaler.write.book import Book, Look
from scaler.write.layout import FIRST_ROW

_NARROW = 1.5
"""Letters by which a column must differ from the width it was written with to be somebody's own."""


def find_places(own: Own, sheet: Sheet, records: Sequence[Record], headers: Sequence[str]) -> None:
    """Note where the rows and columns of an input sheet go, for the formulas that point there."""
    for row, record in enumerate(records, FIRST_ROW):
        own.moved[sheet.name, record.where.row] = row
        own.placed.add((sheet.name, record.where.row))
    for number, header in enumerate(headers, 1):
        if letter := own.headers.get((sheet.name, header)):
            own.moved[sheet.name, letter] = letters(number)


def stays(own: Own, formula: str, home: str) -> bool:
    """Return whether everything on input sheets that a formula points at stands where it stood.

    Args:
        own: what was read, with where it goes.
        formula: the formula as it is written.
        home: the sheet it stands on.
    """
    for sheet, column, row in pointed_at(formula, home):
        if own.moved.get((sheet, column), column) != column or own.moved.get((sheet, row), row) != row:
            return False
    return True


def formula_for(own: Own, at: tuple[str, str], value: object) -> str:
    """Return the formula that somebody put into an input cell, "" where there is none that gives this value."""
    formula, stored = own.formulas.get(at, ("", None))
    if not formula or stored != value or not stays(own, formula, at[0]):
        return ""
    own.placed.add(at)
    return formula


def write_sheets(book: Book, sheets: Sequence[OwnSheet]) -> None:
    """Write somebody's own sheets: values, formulas with their stored results, looks, widths, comments."""
    own = book.own
    for held in sheets:
        page = book.file.add_worksheet(held.name)
        formats: dict[tuple[tuple[str, Any], ...], Any] = {}
        for cell in held.cells:
            key = tuple(cell.look.items())
            if key not in formats:
                formats[key] = book.file.add_format(dict(key))
            at = (cell.row - 1, cell.column - 1)
            text = getattr(cell.written, "text", cell.written)
            is_formula = isinstance(text, str) and text.startswith("=") and cell.written != cell.value
            if is_formula and not stays(own, text, held.name):
                own.astray.append(f"the formula in {held.name} {letters(cell.column)}{cell.row}")
                page.write(*at, cell.value, formats[key])
            elif is_formula:
                page.write_formula(*at, text, formats[key], "" if cell.value is None else cell.value)
            elif hasattr(text, "hour") or hasattr(text, "year"):
                page.write_datetime(*at, text, formats[key])
            else:
                page.write(*at, text, formats[key])
        for number, width in held.widths.items():
            page.set_column(number - 1, number - 1, width)
        for address, words in held.comments.items():
            page.write_comment(address, words)


def where_it_stood(own: Own, sheet: Sheet, record: Record, name: str, header: str) -> tuple[str, str]:
    """Return the sheet and the address at which a cell of a record stood in the workbook that was read."""
    letter = record.where.letters.get(name) or own.headers.get((sheet.name, header), "")
    return sheet.name, f"{letter}{record.where.row}"


def with_ground(own: Own, at: tuple[str, str], look: Look) -> Look:
    """Return a look with the fill that somebody gave the cell."""
    ground = own.grounds.get(at, look.ground).upper()
    return look if ground == look.ground.upper() else replace(look, ground=ground)


def put_comment(own: Own, at: tuple[str, str], page: Worksheet, row: int, column: int) -> None:
    """Put somebody's comment on the cell (1, 2, ...) where what it spoke of stands now."""
    if at in own.comments and at not in own.placed:
        page.write_comment(row - 1, column - 1, own.comments[at])
        own.placed.add(at)


def set_width(own: Own, sheet: Sheet, page: Worksheet, number: int, header: str, usual: float) -> None:
    """Give a column (1, 2, ...) the width that somebody gave it."""
    letter = own.headers.get((sheet.name, header)) or letters(number)
    width = own.widths.get((sheet.name, letter), usual)
    if abs(width - usual) > _NARROW:
        page.set_column(number - 1, number - 1, width)
