"""A workbook as its file holds it: every cell's formula, stored value and style, read from the sheets' XML."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from io import BytesIO
from typing import Any
from xml.etree import ElementTree

from openpyxl.utils import column_index_from_string

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell: its address, its formula with an equals sign ("" for a constant), what is stored, and its style.

    Attributes:
        raw: the stored text as the file has it; None when nothing is stored.
        value: what a program shows: a number, a text, a truth; None for a blank.
    """

    at: str
    row: int
    column: int
    formula: str
    type: str
    raw: str | None
    value: Any
    style: int


@cache
def _own_row(row: int) -> re.Pattern[str]:
    return re.compile(rf"(?<![$0-9]){row}(?![0-9])")


@dataclass(frozen=True)
class Page:
    """A sheet: its name, whether it is shown, and its XML."""

    title: str
    state: str
    root: ElementTree.Element
    texts: tuple[str, ...]

    @cached_property
    def cells(self) -> dict[tuple[int, int], Cell]:
        """Every cell that is not blank, by row and column."""
        found = {}
        columns: dict[str, int] = {}
        for row in self.root.iter(f"{MAIN}row"):
            number, digits = int(row.attrib["r"]), len(row.attrib["r"])
            for held in row:
                if len(held):
                    at = held.attrib["r"]
                    letters = at[:-digits]
                    column = columns.get(letters) or columns.setdefault(letters, column_index_from_string(letters))
                    found[number, column] = self._cell(held, at, number, column)
        return found

    def _cell(self, held: ElementTree.Element, at: str, row: int, column: int) -> Cell:
        formula = held.findtext(f"{MAIN}f")
        kind, raw = held.get("t", "n"), held.findtext(f"{MAIN}v")
        value: Any = raw
        if kind == "s" and raw is not None:
            value = self.texts[int(raw)]
        elif kind == "inlineStr":
            value = "".join(part.text or "" for part in held.iter(f"{MAIN}t"))
        elif kind == "b":
            value = raw == "1"
        elif kind == "n" and raw is not None:
            value = _number(raw)
        style = int(held.get("s", 0))
        return Cell(at, row, column, "" if formula is None else f"={formula}", kind, raw, value, style)

    def value(self, row: int, column: int) -> Any:
        """Return what a cell shows, "" for a blank."""
        cell = self.cells.get((row, column))
        return "" if cell is None or cell.value is None else cell.value

    def columns(self, first: int, last: int = 2**20) -> dict[int, list[Cell]]:
        """Return the cells from one row to another, by column."""
        found: dict[int, list[Cell]] = {}
        for (row, column), cell in self.cells.items():
            if first <= row <= last:
                found.setdefault(column, []).append(cell)
        return found


def _number(raw: str) -> Any:
    """Return a stored number; what is none stays a text."""
    try:
        return float(raw)
    except ValueError:
        return raw


@dataclass(frozen=True)
class Whole:
    """A workbook: its bytes, its sheets in order, and which styles are locked."""

    content: bytes
    pages: dict[str, Page]
    locked: tuple[bool, ...]

    @classmethod
    def of(cls, content: bytes) -> Whole:
        """Return a workbook opened."""
        with zipfile.ZipFile(BytesIO(content)) as parts:
            texts = tuple(
                "".join(part.text or "" for part in item.iter(f"{MAIN}t"))
                for item in ElementTree.fromstring(parts.read("xl/sharedStrings.xml"))
            )
            styles = ElementTree.fromstring(parts.read("xl/styles.xml")).find(f"{MAIN}cellXfs")
            assert styles is not None
            locked = tuple(
                all(item.get("locked") != "0" for item in style.iter(f"{MAIN}protection")) for style in styles
            )
            pages = {
                name: Page(name, state, ElementTree.fromstring(parts.read(path)), texts)
                for name, state, path in sheets_of(parts)
            }
        return cls(content, pages, locked)

    def formulas(self) -> Iterator[tuple[Page, Cell]]:
        """Yield every formula cell with its sheet."""
        for page in self.pages.values():
            yield from ((page, cell) for cell in page.cells.values() if cell.formula)

    @cached_property
    def copied(self) -> dict[tuple[str, int, str], list[Cell]]:
        """Every formula by sheet, column and its text with # for its own row: the cells that it was copied down to."""
        found: dict[tuple[str, int, str], list[Cell]] = {}
        for page, cell in self.formulas():
            text = _own_row(cell.row).sub("#", cell.formula) if cell.row > 1 else cell.formula
            found.setdefault((page.title, cell.column, text), []).append(cell)
        return found


def sheets_of(parts: zipfile.ZipFile) -> Iterator[tuple[str, str, str]]:
    """Yield name, state and part of every sheet, in order."""
    links = {
        link.get("Id"): link.get("Target", "")
        for link in ElementTree.fromstring(parts.read("xl/_rels/workbook.xml.rels"))
    }
    for sheet in ElementTree.fromstring(parts.read("xl/workbook.xml")).iter(f"{MAIN}sheet"):
        yield sheet.attrib["name"], sheet.get("state", "visible"), f"xl/{links[sheet.get(LINK)]}"
