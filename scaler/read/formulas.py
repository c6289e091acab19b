"""What stands in the result sheets of a finished workbook: the formulas, and what was typed over them."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

_OUTSIDE_QUOTES = re.compile(r'("[^"]*")')


@dataclass(frozen=True)
class Held:
    """What a cell holds: a formula as it is compared and as it is written, or a plain value."""

    formula: str
    value: object
    written: str = ""


def read_cells(source: Path | bytes) -> dict[str, dict[str, Held]]:
    """Return every filled cell by sheet and address; the file has passed `read_book` before."""
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(source) if isinstance(source, bytes) else source)
    return {
        sheet.title: {
            cell.coordinate: _held(cell) for row in sheet.iter_rows() for cell in row if cell.value is not None
        }
        for sheet in book.worksheets
    }


def _held(cell: Any) -> Held:
    if cell.data_type != "f":
        return Held("", cell.value)
    text = str(getattr(cell.value, "text", cell.value))  # an array formula is an object that holds its text
    return Held(plain(text), None, text)


def stored(content: bytes, sheet: str) -> dict[str, object]:
    """Return the stored value of every filled cell of a sheet by address."""
    import openpyxl

    page = openpyxl.load_workbook(io.BytesIO(content), data_only=True)[sheet]
    return {cell.coordinate: cell.value for row in page.iter_rows() for cell in row if cell.value is not None}


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


def differing(fresh: Mapping[str, Held], edited: Mapping[str, Held]) -> dict[str, Held | None]:
    """Return the cells whose formula was typed over, with what stands there now; None for an emptied cell."""
    return {
        cell: edited.get(cell)
        for cell, held in fresh.items()
        if held.formula and (cell not in edited or edited[cell].formula != held.formula)
    }
