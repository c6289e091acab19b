"""A raw sheet becomes typed records by its schema; every problem of every cell is collected."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from scaler.model import units
from scaler.model.problems import LOOK, Place, Problem, Warning
from scaler.model.schema import FOOT, NUMBER, PERCENT, WHOLE, Column, Sheet, Where, columns, letters
from scaler.read.cells import blank, plain_text, read_cell, shown_number
from scaler.read.files import RawCell, RawSheet
from scaler.read.headers import Doubt, match_of, read_headers
from scaler.read.numbers import split_amount


class Read(NamedTuple):
    """What a sheet gave: its records, also those with cells that could not be read, its problems, what to look at."""

    records: list[Any]
    problems: list[Problem]
    doubts: list[Doubt]


def rows_of(raw: RawSheet) -> dict[int, dict[int, RawCell]]:
    """Return the filled cells by row and column, both in their order."""
    rows: dict[int, dict[int, RawCell]] = {}
    for (row, number), cell in sorted(raw.cells.items(), key=lambda item: item[0]):
        if not blank(cell):
            rows.setdefault(row, {})[number] = cell
    return rows


def read_table(sheet: Sheet, raw: RawSheet, gaps: bool = False) -> Read:
    """Return the records of a raw sheet, every problem of its headers and cells, and what to look at.

    With gaps a blank row above others is a record too, a blank one, so that each record is where its row is.
    """
    declared, rows = columns(sheet.record), rows_of(raw)
    headers = read_headers(sheet, raw, rows)
    read = Read([], list(headers.problems), list(headers.doubts))
    if read.problems:
        return read
    at = {name: letters(headers.found[name]) for name in declared if name in headers.found}
    foot, last = 0, headers.row
    for row, cells in rows.items():
        known = {name: cells[number] for name, number in headers.found.items() if number in cells}
        if row <= headers.row or not known:
            continue
        if any(cell.value == FOOT for cell in cells.values()):
            foot = row
            continue
        where = Where(raw.file, raw.name, row, at)
        if foot:
            read.problems.append(_below_foot(where, next(iter(known)), foot))
            continue
        if _repeats_headers(sheet, known):
            read.problems.append(_second_headers(where, next(iter(known))))
            continue
        if gaps:
            read.records.extend(
                sheet.record(where=Where(raw.file, raw.name, skipped, at)) for skipped in range(last + 1, row)
            )
            last = row
        values, faults = _read_row(declared, known, headers.units, where)
        read.problems.extend(faults)
        read.doubts.extend(_doubts(declared, values, where))
        extra = {header: _carried(cells[number]) for number, header in headers.own.items() if number in cells}
        unread = tuple(name for name in known if name not in values)
        read.records.append(sheet.record(**values, where=where, extra=extra, unread=unread))
    return read


def _repeats_headers(sheet: Sheet, known: Mapping[str, RawCell]) -> bool:
    """Return whether a row holds the headers of its columns once more."""
    read = {name: match_of(cell.value, sheet.record) for name, cell in known.items() if isinstance(cell.value, str)}
    return len(known) > 1 and all((match := read.get(name)) and match.field == name for name in known)


def _second_headers(where: Where, name: str) -> Problem:
    says = "This row holds the headers once more."
    return Problem(where.place(name), "header_twice", "a second row of headers", "one", "Delete the row.", says)


def _below_foot(where: Where, name: str, foot: int) -> Problem:
    says, do = f"This row stands below the line '{FOOT}'.", f"Move it above row {foot}."
    return Problem(where.place(name), "row_below", "a row below the line", f"rows above row {foot}", do, says)


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
    held, problems, asked = dict(cells), [], set[str]()
    for name, column in declared.items():
        if not column.unit_in or name not in cells:
            continue
        beside = cells.get(column.unit_in)
        said = units.find(plain_text(beside.value)) if beside else units.find(over.get(name, ""))
        typed = split_amount(cells[name].value)
        problem = _from_header(over.get(name), said, where, column) if beside else None
        if typed and not problem and (said or not beside):
            problem = _from_cell(held, name, column, typed, said, where)
        elif not beside and said:
            held[column.unit_in] = RawCell(said.word, "General")
        elif not beside and (other := _typed_beside(declared, cells, column.unit_in)) and column.unit_in not in asked:
            asked.add(column.unit_in)
            problem = _without_unit(column, declared[other], declared[column.unit_in], where.place(name))
        if problem:
            problems.append(problem)
            held.pop(name)
    return held, problems


def _typed_beside(declared: Mapping[str, Column], cells: Mapping[str, RawCell], unit_in: str) -> str:
    """Return the field of a number of the row that has the unit behind it which these numbers share, "" for none."""
    fields = (name for name, column in declared.items() if column.unit_in == unit_in and name in cells)
    return next((name for name in fields if split_amount(cells[name].value)), "")


def _without_unit(column: Column, other: Column, unit: Column, place: Place) -> Problem:
    says = f"{other.header} has its unit behind the number, and {column.header} has none."
    do = f"Fill {unit.header}, or type the unit behind both numbers."
    return Problem(place, "unit_disagrees", "a number without a unit", "a unit for both", do, says)


def _from_header(over: str | None, said: units.Unit | None, where: Where, column: Column) -> Problem | None:
    if over is None or said is None or said.word == over:
        return None
    says = f"The header of {column.header} says {over}, and this cell says {said.word}."
    place = where.place(column.unit_in)
    return Problem(place, "unit_disagrees", f"'{said.word}'", over, "Correct one of the two.", says)


def _from_cell(
    held: dict[str, RawCell], name: str, column: Column, typed: tuple[tuple[float, str], ...], said: units.Unit | None,
    where: Where,
) -> Problem | None:  # fmt: skip
    """Put an amount with its unit, such as 1 lb 4 oz, into the cells of number and unit; refuse one that disagrees."""
    own = [word for _, word in typed]
    shared = held.get(column.unit_in)
    if shared and not said:  # by the unit behind another number of the row
        word = plain_text(shared.value)
        return _converted(held, name, column, typed, word, where)
    word = said.word if said else own[-1]
    if word not in (("lb", "oz") if len(own) > 1 else own):
        both = " and ".join(own)
        says = f"{column.header} has {both} behind the number, and its unit is {word}."
        return Problem(
            where.place(name), "unit_disagrees", f"'{held[name].value}'", word, "Keep one of the two units.", says
        )
    total = sum(number * units.factor(of) for number, of in typed) / units.factor(word) if len(own) > 1 else typed[0][0]
    held[name] = RawCell(float(f"{total:.15g}"), "General")
    held[column.unit_in] = RawCell(word, "General")
    return None


def _converted(
    held: dict[str, RawCell], name: str, column: Column, typed: tuple[tuple[float, str], ...], word: str, where: Where
) -> Problem | None:
    """Put an amount into the unit that another number of its row has behind it; refuse one of another kind."""
    kinds = {units.find(of).kind for of in (word, *(own for _, own in typed))}  # type: ignore[union-attr]
    if len(kinds) > 1:
        says = f"{column.header} has {typed[-1][1]} behind the number, and another number of the row has {word}."
        place = where.place(name)
        return Problem(place, "unit_disagrees", f"'{held[name].value}'", word, "Type both in one unit.", says)
    total = sum(number * units.factor(of) for number, of in typed) / units.factor(word)
    held[name] = RawCell(float(f"{total:.15g}"), "General")
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
    said = shown_number(value, column) if column.kind == PERCENT else f"{value:.15g}"
    return Warning("number_doubted", f"{column.header} is {said}. {column.slip}", LOOK)
