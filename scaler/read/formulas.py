"""What stands in the result sheets of a finished workbook: the formulas, and what was typed over them."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

_OUTSIDE_QUOTES = re.compile(r'("[^"]*")')


@dataclass(frozen=True)
class Held:
    """What a cell holds: a formula without its equals sign, or a plain value."""

    formula: str
    value: object


def read_cells(source: Path | bytes) -> dict[str, dict[str, Held]]:
    """Return every filled cell by sheet and address; the file has passed `read_book` before."""
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(source) if isinstance(source, bytes) else source)
    return {
        sheet.title: {
            cell.coordinate: Held(plain(str(cell.value)), None) if cell.data_type == "f" else Held("", cell.value)
            for row in sheet.iter_rows()
            for cell in row
            if cell.value is not None
        }
        for sheet in book.worksheets
    }


def plain(formula: str) -> str:
    """Return a formula without what programs write differently: blanks, dollars, quotes of names, case, prefixes.

    >>> plain('=IF($A1 > 0, B2, "Two  words")'), plain("='Batch workings'!b2")
    ('IF(A1>0,B2,"Two  words")', 'BATCHWORKINGS!B2')
    """
    parts = _OUTSIDE_QUOTES.split(formula.removeprefix("=").removeprefix("of:="))
    for place in range(0, len(parts), 2):
        parts[place] = re.sub(r"[\s$']|_xlfn\.", "", parts[place]).upper()
    return "".join(parts)


def differing(fresh: Mapping[str, Held], edited: Mapping[str, Held]) -> dict[str, Held | None]:
    """Return the cells whose formula was typed over, with what stands there now; None for an emptied cell."""
    return {
        cell: edited.get(cell)
        for cell, held in fresh.items()
        if held.formula and (cell not in edited or edited[cell].formula != held.formula)
    }
