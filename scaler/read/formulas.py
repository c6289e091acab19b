"""What stands in the result sheets of a finished workbook: the formulas, and what was typed over them."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from scaler.model.schema import letters
from scaler.read.files import Parsed, guarded, parsed

_OUTSIDE_QUOTES = re.compile(r'("[^"]*")')


@dataclass(frozen=True)
class StoredCell:
    """What a cell holds: a formula as it is written, or a plain value."""

    value: object
    written: str = ""

    def same_formula(self, other: StoredCell) -> bool:
        """Return whether two cells hold one formula, however their programs write it."""
        return self.written == other.written or plain(self.written) == plain(other.written)


def read_cells(source: Path | bytes, sheets: Collection[str] = ()) -> dict[str, dict[str, StoredCell]]:
    """Return every filled cell by sheet and address, of these sheets or of all; the file has passed `read_book` before."""
    data = source if isinstance(source, bytes) else source.read_bytes()
    with guarded():
        return {
            name: {_address(cell): _held(cell) for cell in cells}
            for name, cells in parsed(data, lambda name: not sheets or name in sheets, data_only=False)
        }


def _address(cell: Parsed) -> str:
    return f"{letters(cell['column'])}{cell['row']}"


def _held(cell: Parsed) -> StoredCell:
    value = cell["value"]
    if cell["data_type"] != "f":
        return StoredCell(value)
    return StoredCell(None, str(getattr(value, "text", value)))  # an array formula is an object that holds its text


def stored_values(source: Path | bytes) -> dict[str, dict[str, object]]:
    """Return the stored value of every filled cell by sheet and address; dates as spreadsheets number them."""
    data = source if isinstance(source, bytes) else source.read_bytes()
    with guarded():
        return {
            name: {_address(cell): _numbered(cell["value"]) for cell in cells}
            for name, cells in parsed(data, lambda name: True, data_only=True)
        }


def _numbered(value: object) -> object:
    from openpyxl.utils.datetime import to_excel

    return to_excel(value) if hasattr(value, "toordinal") else value  # type: ignore[no-untyped-call]


def plain(formula: str) -> str:
    """Return a formula without what programs write differently: blanks, dollars, quotes of names, case, prefixes.

    >>> plain("=A1=FALSE()")
    'A1=FALSE'
    >>> plain('=IF($A1 > 0, B2, "Two  words")'), plain("='Batch workings'!b2")
    ('IF(A1>0,B2,"Two  words")', 'BATCHWORKINGS!B2')
    """
    parts = _OUTSIDE_QUOTES.split(formula.removeprefix("=").removeprefix("of:="))
    for place in range(0, len(parts), 2):
        bare = re.sub(r"[\s$']|_xlfn\.", "", parts[place]).upper()
        parts[place] = re.sub(r"\b(TRUE|FALSE)\(\)", r"\1", bare)
    return "".join(parts)
