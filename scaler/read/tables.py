"""A raw sheet becomes typed records by its schema; every problem of every cell is collected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from scaler.model import units
from scaler.model.problems import LOOK, Place, Problem, Warning
from scaler.model.schema import ANY, NUMBER, PERCENT, WHOLE, Column, Record, Sheet, Where, columns
from scaler.read.cells import blank, expected, plain_text, read_cell, shown_number
from scaler.read.files import RawCell, RawSheet
from scaler.read.headers import Doubt, letter_of, read_headers
from scaler.read.numbers import split_amount


@dataclass
class Table:
    """What a sheet gave.

    Attributes:
        records: the rows that are whole as far as was looked.
        broken: what could be read of each other row, by field name.
        whole: whether the rows were found at all; nothing can be said to be missing from a sheet that was not.
        free: the cell under the last row, where a row would be added.
        doubts: what is not read, and numbers that are asked about.
    """

    records: list[Any] = field(default_factory=list)
    broken: list[Mapping[str, Any]] = field(default_factory=list)
    whole: bool = True
    free: Place = field(default_factory=Place)
    doubts: list[Doubt] = field(default_factory=list)

    def set_aside(self, record: Record) -> None:
        """Count a record among the broken rows."""
        self.records = [other for other in self.records if other is not record]
        self.broken.append(vars(record))

    def names(self, name: str) -> dict[str, str]:
        """Return the values of a field of the whole rows by how they compare, which is without case."""
        return {getattr(record, name).casefold(): getattr(record, name) for record in self.records}

    def broken_names(self, name: str) -> set[str | None]:
        """Return the values of a field of the broken rows as they compare, None among them when one is not known."""
        return {row[name].casefold() if row.get(name) is not None else None for row in self.broken}

    def all_names(self, name: str) -> set[str]:
        """Return the values of a field of all rows, whole or broken, as they compare."""
        return {*self.names(name), *(text for text in self.broken_names(name) if text is not None)}

    def in_doubt(self, name: str, known: set[str]) -> set[str]:
        """Return those of the known names that a broken or unread row may be about: all, when it does not say."""
        said = self.broken_names(name)
        sure = self.whole and said <= known
        return {text for text in said if text is not None} if sure else known


def rows_of(raw: RawSheet) -> dict[int, dict[int, RawCell]]:
    """Return the filled cells by row and column, both in their order."""
    rows: dict[int, dict[int, RawCell]] = {}
    for (row, number), cell in sorted(raw.cells.items(), key=lambda item: item[0]):
        if not blank(cell):
            rows.setdefault(row, {})[number] = cell
    return rows


def read_table(sheet: Sheet, raw: RawSheet) -> tuple[Table, list[Problem]]:
    """Return the table of a raw sheet, and every problem of its headers and cells."""
    declared, rows = columns(sheet.record), rows_of(raw)
    headers = read_headers(sheet, raw, rows)
    problems = list(headers.problems)
    table = Table(doubts=list(headers.doubts))
    if problems:
        table.whole = False
        return table, problems
    letters = {name: letter_of(headers.found[name]) for name in declared if name in headers.found}
    last = headers.row
    for row, cells in rows.items():
        known = {name: cells[number] for name, number in headers.found.items() if number in cells}
        if row <= headers.row or not known:
            continue
        last, where = row, Where(raw.file, raw.name, row, letters)
        values, faults = _read_row(declared, known, headers.units, where)
        problems += faults
        table.doubts += _doubts(declared, values, where)
        extra = {header: _carried(cells[number]) for number, header in headers.own.items() if number in cells}
        if faults:
            table.broken.append(values)
        else:
            table.records.append(sheet.record(**values, where=where, extra=extra))
    table.free = Where(raw.file, raw.name, last + 1, letters).place()
    return table, problems


def _carried(cell: RawCell) -> object:
    """Return what is carried to the finished workbook of a cell that is not read."""
    return cell.value if isinstance(cell.value, str | int | float) else plain_text(cell.value or "")


# --- rows ---


def _read_row(
    declared: Mapping[str, Column], cells: Mapping[str, RawCell], over: Mapping[str, str], where: Where
) -> tuple[dict[str, Any], list[Problem]]:
    """Return the values of a row by field name, without those that could not be read, and their problems."""
    cells, problems = _with_units(declared, cells, over, where)
    values: dict[str, Any] = {}
    for name, column in declared.items():
        if name in cells:
            value, problem = read_cell(cells[name], column, where.place(name))
            if problem:
                problems.append(problem)
            else:
                values[name] = value
        elif column.required and column.kind != ANY:
            do = f"Fill {column.header}, or clear the row if it is not needed."
            says = f"{column.header} is blank."
            problems.append(Problem(where.place(name), "cell_blank", "a blank cell", expected(column), do, says))
    return values, problems


def _with_units(
    declared: Mapping[str, Column], cells: Mapping[str, RawCell], over: Mapping[str, str], where: Where
) -> tuple[dict[str, RawCell], list[Problem]]:
    """Return the cells with units where they belong: from over the column, or from behind the number.

    Args:
        declared: the columns of the sheet.
        cells: the filled cells of the row.
        over: unit words of headers by the field of their number.
        where: the row.
    """
    held, problems = dict(cells), []
    for name, column in declared.items():
        if not column.unit_in or name not in cells:
            continue
        beside = cells.get(column.unit_in)
        said = units.find(plain_text(beside.value)) if beside else units.find(over.get(name, ""))
        problem = _from_header(over.get(name), said, where, column) if beside else None
        typed = split_amount(cells[name].value)
        if typed and not problem and (said or not beside):
            problem = _from_cell(held, name, column, typed, said, where)
        elif not beside and said:
            held[column.unit_in] = RawCell(said.word, "General")
        problems += [problem] if problem else []
    return held, problems


def _from_header(over: str | None, said: units.Unit | None, where: Where, column: Column) -> Problem | None:
    if over is None or said is None or said.word == over:
        return None
    says = f"The header gives {column.header} in {over}, and this cell says {said.word}."
    place = where.place(column.unit_in)
    return Problem(place, "unit_disagrees", f"'{said.word}'", over, "Correct one of the two.", says)


def _from_cell(
    held: dict[str, RawCell], name: str, column: Column, typed: tuple[tuple[float, str], ...], said: units.Unit | None,
    where: Where,
) -> Problem | None:  # fmt: skip
    """Put an amount with its unit, such as 1 lb 4 oz, into the cells of number and unit; refuse one that disagrees."""
    own = [word for _, word in typed]
    word = said.word if said else own[-1]
    if word not in (("lb", "oz") if len(own) > 1 else own):
        both = " and ".join(own)
        says = f"{column.header} is typed in {both}, and its unit is {word}."
        return Problem(
            where.place(name), "unit_disagrees", f"'{held[name].value}'", word, "Keep one of the two units.", says
        )
    total = sum(number * units.factor(of) for number, of in typed) / units.factor(word) if len(own) > 1 else typed[0][0]
    held[name] = RawCell(float(f"{total:.15g}"), "General")
    held[column.unit_in] = RawCell(word, "General")
    return None


def _doubts(declared: Mapping[str, Column], values: Mapping[str, Any], where: Where) -> list[Doubt]:
    found = ((name, doubt_of(values.get(name), column)) for name, column in declared.items())
    return [(where.place(name), doubt) for name, doubt in found if doubt]


def doubt_of(value: Any, column: Column) -> Warning | None:
    """Return what is asked about a number, None when it is a usual one.

    >>> doubt_of(0.03, Column("Fill %", PERCENT, "", doubt_below=0.4, slip="Is it the share left empty?")).text
    'Fill % is 3 %. Is it the share left empty?'
    """
    if column.kind not in (NUMBER, WHOLE, PERCENT) or value is None:
        return None
    below = column.doubt_below is not None and value < column.doubt_below
    if not below and (column.doubt_above is None or value <= column.doubt_above):
        return None
    return Warning("number_doubted", f"{column.header} is {shown_number(value, column)}. {column.slip}", LOOK)
