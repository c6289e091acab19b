"""What is somebody's own in a finished workbook beside its inputs: comments, colours, widths, sheets."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from scaler.model.records import SHEETS, Workshop
from scaler.model.schema import columns

_WORDS = re.compile(r'"[^"]*"')
_POINTER = re.compile(
    r"""(?:(?:'([^']+)'|([A-Za-z_][\w.]*))!)?\$?\b([A-Z]{1,3})\$?([0-9]+)\b(?:(:)\$?([A-Z]{1,3})\$?([0-9]+))?"""
)


def pointed_at(formula: str, home: str) -> Iterator[tuple[str, str, int]]:
    """Yield the sheet, the column and the row of every cell, and of both corners of every range, in a formula.

    Args:
        formula: the formula as it is written.
        home: the sheet it stands on, where it names none.

    >>> list(pointed_at("=SUM(Prices!$D$4:D9)*B2", "Mine"))
    [('Prices', 'D', 4), ('Prices', 'D', 9), ('Mine', 'B', 2)]
    """
    for quoted, bare, column, row, is_range, last, end in _POINTER.findall(_WORDS.sub("", formula)):
        sheet = quoted or bare or home
        yield sheet, column, int(row)
        if is_range:
            yield sheet, last, int(end)


@dataclass(frozen=True)
class OwnCell:
    """A cell of somebody's own sheet: what is written, its stored value, and its look by xlsxwriter's property names."""

    row: int
    column: int
    written: Any
    value: Any
    look: Mapping[str, Any]


@dataclass(frozen=True)
class OwnSheet:
    """A sheet of somebody's own: cells, widths by column (1, 2, ...), comments by address."""

    name: str
    cells: tuple[OwnCell, ...]
    widths: Mapping[int, float]
    comments: Mapping[str, str]


CARD_COLUMNS = 7
"""Columns of a card; the last of its first row holds the batch."""
Mark = tuple[str, str, int, int]
"""Where somebody writes on a card: batch, what is weighed in the row ("-" for nothing, "" below the list), which such row, column (1, 2, ...)."""


@dataclass
class Own:
    """Everything that is somebody's own in the workbooks that were read.

    Attributes:
        sheets: their sheets.
        comments: comments on input sheets by sheet and address.
        grounds: fills on input sheets, as #RRGGBB, by sheet and address.
        widths: widths of the columns of input sheets by sheet and letters.
        headers: letters of a column by sheet and what stands at its head.
        formulas: formulas on input sheets, each with its stored result, by sheet and address.
        rows: rows below the headers of input sheets that hold anything, by sheet and row.
        astray: formulas that point where something else stands now, in words.
        marks: what people wrote on cards, and the cell, by batch, what the row is for, which of those rows, and column.
        marked: those of them that found their place.
        placed: comments, formulas and rows that found their place in the new workbook, by sheet and address or row.
        moved: where columns and rows of input sheets went, by sheet and letters or row.
    """

    sheets: list[OwnSheet] = field(default_factory=list)
    comments: dict[tuple[str, str], str] = field(default_factory=dict)
    grounds: dict[tuple[str, str], str] = field(default_factory=dict)
    widths: dict[tuple[str, str], float] = field(default_factory=dict)
    headers: dict[tuple[str, str], str] = field(default_factory=dict)
    formulas: dict[tuple[str, str], tuple[str, Any]] = field(default_factory=dict)
    rows: set[tuple[str, int]] = field(default_factory=set)
    astray: list[str] = field(default_factory=list)
    marks: dict[Mark, tuple[Any, str]] = field(default_factory=dict)
    marked: set[Mark] = field(default_factory=set)
    placed: set[tuple[str, str | int]] = field(default_factory=set)
    moved: dict[tuple[str, str | int], str | int] = field(default_factory=dict)


# --- inputs as they were handed over, a line a row, and what became of them ---


_BETWEEN, _IS = " | ", ": "


@dataclass(frozen=True)
class InputChange:
    """An input that is no longer what it was: its sheet, the row's name, the column, what stood and stands there.

    The column is "" for a whole row that is new (`was` is "") or gone (`now` is "").
    """

    sheet: str
    row: str
    column: str
    was: str
    now: str


def input_lines(workshop: Workshop) -> list[str]:
    """Return every filled row of every input sheet as a line: sheet, then each filled column and its value."""
    return [
        _BETWEEN.join([sheet.name, *filled])
        for sheet in SHEETS
        for record in workshop.rows(sheet)
        if (filled := list(_filled(record)))
    ]


def _filled(record: Any) -> Iterator[str]:
    for name, column in columns(type(record)).items():
        value = getattr(record, name)
        if value not in (None, ""):
            yield f"{column.header}{_IS}{_text(value)}"


def _text(value: Any) -> str:
    return f"{value:.10g}" if isinstance(value, int | float) and not isinstance(value, bool) else str(value)


def input_changes(was: Sequence[str], now: Sequence[str]) -> Iterator[InputChange]:
    """Yield what differs between two lists of lines, rows of one name held against one another.

    >>> list(input_changes(["Prices | Ingredient: Lard | Price: 4"], ["Prices | Ingredient: Lard | Price: 5"]))
    [InputChange(sheet='Prices', row='Lard', column='Price', was='4', now='5')]
    """
    gone, new = (Counter(was) - Counter(now)).elements(), list((Counter(now) - Counter(was)).elements())
    for line in gone:
        sheet, name, before = _parts(line)
        match = next((other for other in new if _parts(other)[:2] == (sheet, name)), None)
        if match is None:
            yield InputChange(sheet, name, "", line, "")
            continue
        new.remove(match)
        after = _parts(match)[2]
        for header in {**before, **after}:
            if before.get(header, "") != after.get(header, ""):
                yield InputChange(sheet, name, header, before.get(header, ""), after.get(header, ""))
    for line in new:
        yield InputChange(*_parts(line)[:2], "", "", line)


def _parts(line: str) -> tuple[str, str, dict[str, str]]:
    """Return the sheet of a line, the name of its row, and its values by heading."""
    sheet, *cells = line.split(_BETWEEN)
    held = {header: value for header, _, value in (cell.partition(_IS) for cell in cells)}
    return sheet, next(iter(held.values()), ""), held
