"""The inputs of a workbook as they were handed over, a line a row, and what became of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from scaler.model.records import SHEETS, Workshop
from scaler.model.schema import columns

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
