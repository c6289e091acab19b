"""Which column of a sheet is which: headers in the maker's words, near misses, and the maker's own columns."""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from scaler.model import units
from scaler.model.problems import NOTE, Place, Problem, Warning, listed
from scaler.model.schema import NUMBER, PERCENT, WHOLE, Column, Sheet, columns, key_of, letters
from scaler.read.cells import blank, plain_text
from scaler.read.files import RawCell, RawSheet
from scaler.read.numbers import clean_text

LAST_HEADER_ROW = 20
NEAR = 0.8
"""Likeness of letters, from 0 to 1, above which a header may be one of ours that is misspelt."""

Cells = Mapping[int, RawCell]
"""The filled cells of one row, by the number of their column."""

Doubt = tuple[Place, Warning]
"""Something to look at, and where."""

_BRACKET = re.compile(r"(.+?)[ *]*[(\[]([^()\[\]]+)[)\]][ *]*")
_UNIT_BEHIND = re.compile(r"(.+?)(?:,| in)? ([^ ,]+|fl oz|imp [a-z ]+)")
_SPELLINGS = {
    "mg KOH/g": ("mg koh/g", "mg koh per g", "mg/g", "koh", "mg koh"),
    "g/mL": ("g/ml", "g/cm3", "g/cm\u00b3", "g/cc", "kg/l", "g per ml"),
    "days": ("d", "day", "days"),
    "min": ("min", "mins", "minute", "minutes"),
}
"""What may stand in the brackets of a header whose column has one unit, by that unit."""
_IGNORED = frozenset({"of", "to", "in", "the", "a", "per", "no"})


class Match(NamedTuple):
    """A header that is one of ours: the field, what stands in its brackets, and whether it is spelt as ours is."""

    field: str
    bracket: str
    exact: bool


@dataclass(frozen=True)
class Headers:
    """Where the columns of a sheet are.

    Attributes:
        row: the header row, 0 when it was not found.
        found: number of the column of each field.
        units: unit word in the brackets over a column, by the field of the number.
        own: headers of the maker's own columns that hold something, by their numbers.
        problems: what is wrong with the headers.
        doubts: what is not read.
    """

    row: int = 0
    found: Mapping[str, int] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    own: Mapping[int, str] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    doubts: tuple[Doubt, ...] = ()


def read_headers(sheet: Sheet, raw: RawSheet, rows: Mapping[int, Cells]) -> Headers:
    """Return the columns of the first row that holds every required header."""
    declared = columns(sheet.record)
    best, most = 0, 0
    for row in (row for row in rows if row <= LAST_HEADER_ROW):
        found = _known(rows[row], sheet.record)
        given = set(found) | {declared[name].unit_in for name, (_, match) in found.items() if match.bracket}
        if {name for name, column in declared.items() if column.required} <= given:
            return _headers(sheet, raw, row, rows)
        if len(found) > most:
            best, most = row, len(found)
    return Headers(problems=(_missing(sheet, raw, best, rows.get(best, {})),))


# --- what a header says ---


@functools.cache
def _spellings(record: Any) -> dict[str, str]:
    """Return the field of each spelling of a header, ours first."""
    declared = columns(record)
    spelled = {key_of(column.header): name for name, column in declared.items()}
    for name, column in declared.items():
        for word in column.also:
            spelled.setdefault(key_of(word), name)
    return spelled


def match_of(text: str, record: Any) -> Match | None:
    """Return the column that a header is, None when it is none of ours."""
    spelled = _spellings(record)
    key = key_of(text)
    if key in spelled:
        return Match(spelled[key], "", key == key_of(columns(record)[spelled[key]].header))
    for pattern in (_BRACKET, _UNIT_BEHIND):
        parts = pattern.fullmatch(text.strip())
        if parts and (pattern is _BRACKET or units.find(parts[2])) and key_of(parts[1]) in spelled:
            name = spelled[key_of(parts[1])]
            return Match(name, parts[2].strip(), key_of(parts[1]) == key_of(columns(record)[name].header))
    return None


def _known(cells: Cells, record: Any) -> dict[str, tuple[int, Match]]:
    """Return the column of each header of a row: the one spelt as ours is, else the first."""
    found: dict[str, tuple[int, Match]] = {}
    for number, cell in cells.items():
        match = match_of(clean_text(cell.value), record) if isinstance(cell.value, str) else None
        if match and (match.field not in found or (match.exact and not found[match.field][1].exact)):
            found[match.field] = number, match
    return found


# --- the header row ---


def _headers(sheet: Sheet, raw: RawSheet, row: int, rows: Mapping[int, Cells]) -> Headers:
    known, cells = _known(rows[row], sheet.record), rows[row]
    problems = _twice(sheet, raw, row, cells, known)
    words, faults = _bracket_units(sheet, raw, row, known)
    numbers = {number for number, _ in known.values()}
    filled = {number for at, held in rows.items() if at > row for number in held} - numbers
    own = {number: _own_header(number, cells.get(number)) for number in sorted(filled)}
    absent = set(columns(sheet.record)) - set(known) - {columns(sheet.record)[name].unit_in for name in words}
    doubts: list[Doubt] = []
    for number, header in own.items():
        place = Place(raw.file, raw.name, f"{letters(number)}{row}")
        lost = _nameless(sheet, number, known, absent, place) if number not in cells else None
        problem = _merged(raw, row, number, cells, place) or lost or _near_miss(sheet, header, absent, place)
        if problem:
            problems.append(problem)
        else:
            doubts.append((place, _not_read(header, number, number in cells)))
    found = {name: number for name, (number, _) in known.items()}
    return Headers(row, found, words, _numbered(own), tuple(problems + faults), tuple(doubts))


def _own_header(number: int, cell: RawCell | None) -> str:
    text = plain_text(cell.value) if cell and not cell.uncached else ""
    return text or f"Column {letters(number)}"


def _numbered(own: Mapping[int, str]) -> dict[int, str]:
    """Return the maker's own headers, the later of two equal ones with a number."""
    found: dict[int, str] = {}
    for number, header in own.items():
        count = sum(1 for other in found.values() if other == header or other.startswith(f"{header} ("))
        found[number] = f"{header} ({count + 1})" if count else header
    return found


def _not_read(header: str, number: int, has_header: bool) -> Warning:
    what = f"{header} (column {letters(number)})" if has_header else f"Column {letters(number)}, which has no header,"
    return Warning("not_read", f"{what} is your own: it is kept and not read.", NOTE)


def _twice(
    sheet: Sheet, raw: RawSheet, row: int, cells: Cells, known: Mapping[str, tuple[int, Match]]
) -> list[Problem]:
    """Refuse a second column of the same header; another word beside our own is the maker's own column."""
    problems = []
    for number, cell in cells.items():
        match = match_of(clean_text(cell.value), sheet.record) if isinstance(cell.value, str) else None
        if match is None or known[match.field][0] == number:
            continue
        first, held = known[match.field]
        if match.exact or not held.exact:
            header, letter = columns(sheet.record)[match.field].header, letters(first)
            says = f"Column {letter} and column {letters(number)} are both read as {header}."
            place = Place(raw.file, raw.name, f"{letters(number)}{row}")
            found = f"the header '{clean_text(str(cell.value))}'"
            problems.append(
                Problem(place, "header_twice", found, "each header once", "Rename or delete one of them.", says)
            )
    return problems


def _bracket_units(
    sheet: Sheet, raw: RawSheet, row: int, known: Mapping[str, tuple[int, Match]]
) -> tuple[dict[str, str], list[Problem]]:
    """Return the unit words in brackets, and a problem for each that its column cannot have, or that disagrees."""
    declared = columns(sheet.record)
    words: dict[str, str] = {}
    problems = []
    for name, (number, match) in known.items():
        column = declared[name]
        if not match.bracket or column.kind not in (NUMBER, WHOLE, PERCENT):
            continue
        place = Place(raw.file, raw.name, f"{letters(number)}{row}")
        unit = units.find(match.bracket)
        beside = declared[column.unit_in].choices if column.unit_in else ()
        earlier = next((word for other, word in words.items() if declared[other].unit_in == column.unit_in), None)
        if unit and unit.kind in beside and earlier in (None, unit.word):
            words[name] = unit.word
        elif unit and unit.kind in beside:
            says = f"The headers give two units for one row: {earlier} and {unit.word}."
            problems.append(Problem(place, "header_unit", match.bracket, earlier or "", "Give them one unit.", says))
        elif not _suits(match.bracket, column):
            problems.append(_no_such_unit(place, match.bracket, column))
    return words, problems


def _suits(bracket: str, column: Column) -> bool:
    """Return whether what stands in brackets is the one unit that a column has."""
    plain = bracket.casefold()
    if column.money:
        return len(bracket) <= 3 and units.find(bracket) is None
    unit = units.find(bracket)
    counted = column.kind == WHOLE and unit is not None and unit.kind == units.COUNT
    return counted or plain in _SPELLINGS.get(column.unit, ())


def _no_such_unit(place: Place, bracket: str, column: Column) -> Problem:
    fixed = "a share in percent" if column.kind == PERCENT else f"in {column.unit}" if column.unit else "a plain number"
    holds = "money" if column.money else "in the unit of its own column" if column.unit_in else fixed
    says = f"The header says {bracket}, and {column.header} is {holds}."
    do = f"Convert the numbers if they are in {bracket}, and write {column.header} alone."
    return Problem(place, "header_unit", f"'{bracket}'", column.header, do, says)


# --- what is nearly ours ---


def _near_miss(sheet: Sheet, header: str, absent: Iterable[str], place: Place) -> Problem | None:
    """Return the problem of a header that is nearly one that is not there."""
    declared = columns(sheet.record)
    near = tuple(declared[name].header for name in declared if name in absent and _is_near(header, declared[name]))
    if not near:
        return None
    do = f"Did you mean {listed(near)}? If the column is your own, give it another name."
    return Problem(
        place, "header_unclear", f"'{header}'", listed(near), do, f"{header} is not a column that scaler knows."
    )


def _nameless(
    sheet: Sheet, number: int, known: Mapping[str, tuple[int, Match]], absent: Iterable[str], place: Place
) -> Problem | None:
    """Return the problem of a filled column without a header where one of ours is missing: it may be that one."""
    declared = list(columns(sheet.record))
    at = {column: declared.index(name) for name, (column, _) in known.items()}
    left, right = (max((c for c in at if c < number), default=0), min((c for c in at if c > number), default=0))
    between = declared[at[left] + 1 : at[right]] if left and right else []
    lost = tuple(columns(sheet.record)[name].header for name in between if name in absent)
    if not lost:
        return None
    says = f"Column {letters(number)} is filled and has no header."
    names = f"{listed(lost)} is missing: write that" if len(lost) == 1 else "Write its header"
    do = f"{names} in {place.cell}, or a name of your own if it is not to be read."
    return Problem(place, "header_unclear", "no header", listed(lost), do, says)


def _is_near(header: str, column: Column) -> bool:
    """Return whether a header is misspelt, or one part of ours.

    >>> _is_near("Delivry", Column("Delivery", NUMBER, "")), _is_near("Labour", Column("Labour minutes", NUMBER, ""))
    (True, True)
    >>> _is_near("Smell", Column("Delivery", NUMBER, ""))
    False
    """
    bracket, unit = _BRACKET.fullmatch(header), _UNIT_BEHIND.fullmatch(header)
    bare = bracket[1] if bracket else unit[1] if unit and units.find(unit[2]) else header
    for text in dict.fromkeys((header, bare)):
        key = key_of(text)
        if any(_alike(key, key_of(word)) for word in (column.header, *column.also)):
            return True
        words = {key_of(word) for word in text.split()} - _IGNORED - {""}
        if words and words < {key_of(word) for word in column.header.split()}:
            return True
    return False


def _alike(key: str, other: str) -> bool:
    swapped = key[:1] == other[:1] and sorted(key) == sorted(other)
    return len(key) > 2 and (swapped or difflib.SequenceMatcher(None, key, other).ratio() >= NEAR)


def _merged(raw: RawSheet, row: int, number: int, cells: Cells, place: Place) -> Problem | None:
    """Return the problem of a column whose header cell is merged with the one beside it."""
    if number in cells:
        return None
    for span in raw.merged:
        first, last = (re.fullmatch(r"([A-Z]+)([0-9]+)", end) for end in (*span.split(":"), span)[:2])
        if (
            first
            and last
            and _number_of(first[1]) <= number <= _number_of(last[1])
            and int(first[2]) <= row <= int(last[2])
        ):
            says, do = f"The headers {span} are merged into one.", "Unmerge them and give each column its own header."
            return Problem(place, "header_merged", f"the merged cells {span}", "a header over each column", do, says)
    return None


def _number_of(column: str) -> int:
    number = 0
    for letter in column:
        number = number * 26 + ord(letter) - 64
    return number


# --- no header row ---


def _missing(sheet: Sheet, raw: RawSheet, row: int, cells: Cells) -> Problem:
    declared, known = columns(sheet.record), _known(cells, sheet.record)
    missing = tuple(column for name, column in declared.items() if column.required and name not in known)
    names = listed(tuple(column.header for column in missing), "and")
    wanted = f"{listed(tuple(column.header for column in declared.values() if column.required), 'and')} in one row"
    are = "is" if len(missing) == 1 else "are"
    says = f"The header{'s' * (len(missing) > 1)} {names} {are} missing."
    if not row:
        do = f"Write {wanted}, in one of the first {LAST_HEADER_ROW} rows."
        return Problem(Place(raw.file, raw.name, "A1"), "header_missing", "no headers", wanted, do, says)
    others = {
        number: header for number, header in _others(raw, row).items() if number not in {n for n, _ in known.values()}
    }
    column, number = _meant_column(missing, others)
    letter = letters(number or max(cells) + 1)
    do = f"If column {letter} holds it, write {column.header} in {letter}{row}; if not, add the column."
    if not number:
        them = "column" if len(missing) == 1 else "columns"
        do = f"Write {names} over the {them} in row {row}, or add the {them}."
    return Problem(
        Place(raw.file, raw.name, f"{letter}{row}"), "header_missing", f"no header {names}", wanted, do, says
    )


def _others(raw: RawSheet, row: int) -> dict[int, str]:
    """Return the headers of all columns, "" for one that has only cells below."""
    below = {number: "" for (at, number), cell in raw.cells.items() if at > row and not blank(cell)}
    return below | {number: plain_text(cell.value or "") for (at, number), cell in raw.cells.items() if at == row}


def _meant_column(missing: tuple[Column, ...], others: Mapping[int, str]) -> tuple[Column, int]:
    """Return the missing header and the column that is nearest to it, or the only one; column 0 when none is."""
    for column in missing:
        for number, header in others.items():
            if header and _is_near(header, column):
                return column, number
    return missing[0], next(iter(others)) if len(others) == len(missing) == 1 else 0
