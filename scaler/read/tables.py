"""A raw sheet becomes typed records by its schema; every problem of every cell is collected."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from scaler.model.problems import Place, Problem, nearest
from scaler.model.schema import FOOT, Column, Sheet, Where, columns
from scaler.read.cells import blank, listed, plain_text, read_cell
from scaler.read.files import RawCell, RawSheet
from scaler.read.numbers import clean_text

LAST_HEADER_ROW = 20

Cells = Mapping[int, RawCell]
"""The filled cells of one row, by the number of their column."""


def letter_of(number: int) -> str:
    """Return the letters of a column.

    >>> letter_of(1), letter_of(28)
    ('A', 'AB')
    """
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def rows_of(raw: RawSheet) -> dict[int, dict[int, RawCell]]:
    """Return the filled cells by row and column, both in their order."""
    rows: dict[int, dict[int, RawCell]] = {}
    for (row, number), cell in sorted(raw.cells.items(), key=lambda item: item[0]):
        if not blank(cell):
            rows.setdefault(row, {})[number] = cell
    return rows


def read_table(sheet: Sheet, raw: RawSheet) -> tuple[list[Any], list[Problem]]:
    """Return the records of a sheet, also those with cells that could not be read, and all its problems."""
    declared = columns(sheet.record)
    rows = rows_of(raw)
    header_row, problems = _header_row(raw, rows, declared)
    if problems:
        return [], problems
    found = _known(rows[header_row], declared)
    others = _unknown(rows[header_row], set(found.values()))
    letters = {name: letter_of(number) for name, number in found.items()}
    records = []
    for row, cells in rows.items():
        if row > header_row and any(cell.value == FOOT for cell in cells.values()):
            break
        known = {name: cells[number] for name, number in found.items() if number in cells}
        if row <= header_row or not known:
            continue
        where = Where(raw.file, raw.name, row, letters)
        values, faults = _read_row(declared, known, where)
        problems += faults
        extra = {header: _carried(cells[number]) for header, number in others.items() if number in cells}
        unread = tuple(name for name in known if name not in values)
        records.append(sheet.record(**values, where=where, extra=extra, unread=unread))
    return records, problems


# --- headers ---


def _key(text: object) -> str:
    """Return a header as it compares: without case, and without the marks * and % at its end."""
    return clean_text(text).rstrip("*% ").casefold() if isinstance(text, str) else ""


def _known(cells: Cells, declared: Mapping[str, Column]) -> dict[str, int]:
    """Return the first column of each known header of a row, by field name."""
    names = {_key(column.header): name for name, column in declared.items()}
    found: dict[str, int] = {}
    for number, cell in cells.items():
        name = names.get(_key(cell.value))
        if name:
            found.setdefault(name, number)
    return found


def _unknown(cells: Cells, known: set[int]) -> dict[str, int]:
    """Return the columns that are not ours by their headers; of two with the same header the later is numbered."""
    others: dict[str, int] = {}
    for number, cell in cells.items():
        header = plain_text(cell.value) if number not in known and not cell.uncached else ""
        if header:
            count = sum(1 for other in others if other == header or other.startswith(f"{header} ("))
            others[f"{header} ({count + 1})" if count else header] = number
    return others


def _carried(cell: RawCell) -> object:
    """Return what is carried to the finished workbook of a cell that is not read."""
    return cell.value if isinstance(cell.value, str | int | float) else plain_text(cell.value or "")


def _header_row(raw: RawSheet, rows: Mapping[int, Cells], declared: Mapping[str, Column]) -> tuple[int, list[Problem]]:
    """Return the first row that holds every required header, with the problems of the headers."""
    required = {name for name, column in declared.items() if column.required}
    best = 0
    for row in (row for row in rows if row <= LAST_HEADER_ROW):
        found = _known(rows[row], declared)
        if required <= set(found):
            return row, _twice(raw, row, rows[row], declared)
        if len(found) > (len(_known(rows[best], declared)) if best else 0):
            best = row
    return 0, [_headers_missing(raw, best, rows.get(best, {}), declared)]


def _twice(raw: RawSheet, row: int, cells: Cells, declared: Mapping[str, Column]) -> list[Problem]:
    first = {number: name for name, number in _known(cells, declared).items()}
    headers = {_key(declared[name].header): letter_of(number) for number, name in first.items()}
    problems = []
    for number, cell in cells.items():
        letter = headers.get(_key(cell.value))
        if letter and number not in first:
            place = Place(raw.file, raw.name, f"{letter_of(number)}{row}")
            found = f"the header '{clean_text(str(cell.value))}' a second time"
            do = f"Column {letter} has it too: rename or delete one of the two."
            problems.append(Problem(place, "header_twice", found, "each header once", do))
    return problems


def _headers_missing(raw: RawSheet, row: int, cells: Cells, declared: Mapping[str, Column]) -> Problem:
    found = _known(cells, declared)
    missing = [column.header for name, column in declared.items() if column.required and name not in found]
    required = tuple(column.header for column in declared.values() if column.required)
    code, wanted = "header_missing", f"{listed(required, 'and')} in one of the first {LAST_HEADER_ROW} rows"
    what = f"no header {listed(tuple(missing))}"
    if not row:
        return Problem(Place(raw.file, raw.name, "A1"), code, what, wanted, "Write the headers in row 1.")
    header, number = _meant_column(missing, _others(raw, row, set(found.values())))
    if number:
        cell = f"{letter_of(number)}{row}"
        do = f"If it is column {letter_of(number)}, write {header} in {cell}; if not, add the column."
    else:
        cell = f"{letter_of(max(cells) + 1)}{row}"
        them = ("column that holds it", "column") if len(missing) == 1 else ("columns that hold them", "columns")
        do = f"Write {listed(tuple(missing), 'and')} over the {them[0]}, or add the {them[1]}."
    return Problem(Place(raw.file, raw.name, cell), code, what, wanted, do)


def _others(raw: RawSheet, row: int, known: set[int]) -> dict[int, str]:
    """Return the columns that are not ours by their headers, "" for one that has only cells below."""
    below = {number: "" for (at, number), cell in raw.cells.items() if at > row and not blank(cell)}
    headers = {number: plain_text(cell.value or "") for (at, number), cell in raw.cells.items() if at == row}
    return {number: header for number, header in (below | headers).items() if number not in known}


def _meant_column(missing: list[str], others: dict[int, str]) -> tuple[str, int]:
    """Return the missing header and the column that is nearest to it, or the only one; column 0 when none is."""
    for header in missing:
        for near in nearest(header, others.values(), 1):
            return header, next(number for number, other in others.items() if other == near)
    return missing[0], next(iter(others)) if len(others) == len(missing) == 1 else 0


# --- rows ---


def _read_row(
    declared: Mapping[str, Column], cells: Mapping[str, RawCell], where: Where
) -> tuple[dict[str, Any], list[Problem]]:
    """Return the values of a row by field name, without those that could not be read, and their problems."""
    values: dict[str, Any] = {}
    problems = []
    for name, column in declared.items():
        if name in cells:
            value, problem = read_cell(cells[name], column, where.place(name))
            if problem:
                problems.append(problem)
            else:
                values[name] = value
    return values, problems
