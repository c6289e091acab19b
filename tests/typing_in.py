"""Workbooks edited as a maker edits them: by sheet, column and row."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl

from scaler.write.example import example
from scaler.write.layout import FIRST_ROW, HEADER_ROW


def fresh(folder: Path, name: str = "my.xlsx", units: str = "metric") -> Path:
    """Return a fresh input workbook, as `scaler new` writes it."""
    path = folder / name
    path.write_bytes(example(units))
    return path


def type_in(path: Path, sheet: str, header: str, value: Any, row: int = 1) -> str:
    """Type into a row (1, 2, ...) of a column, save, and return the cell's address."""
    book = openpyxl.load_workbook(path)
    page = book[sheet]
    headers = {str(cell.value).rstrip("*"): cell.column for cell in page[HEADER_ROW] if cell.value}
    cell = page.cell(FIRST_ROW + row - 1, headers[header])
    cell.value = value
    book.save(path)
    return str(cell.coordinate)


def drop(path: Path, sheet: str) -> None:
    """Delete a sheet."""
    book = openpyxl.load_workbook(path)
    del book[sheet]
    book.save(path)
