"""Commands run, and workbooks edited, as a maker does it: by sheet, column and row."""

from __future__ import annotations

import zipfile
from collections import defaultdict
from collections.abc import Callable, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import openpyxl
from click.testing import CliRunner, Result
from opened import MAIN, sheets_of
from openpyxl.utils import column_index_from_string
from openpyxl.utils.cell import coordinate_from_string

from scaler.cli import main
from scaler.model.schema import serial
from scaler.write.example import example
from scaler.write.layout import FIRST_ROW, HEADER_ROW


def run(*words: str) -> Result:
    """Return what a command did."""
    result = CliRunner().invoke(main, list(words))
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


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


# --- the same without a spreadsheet program, which takes seconds for a large workbook ---

ElementTree.register_namespace("", MAIN.strip("{}"))
ElementTree.register_namespace("r", "http://schemas.openxmlformats.org/officeDocument/2006/relationships")


def typed_over(content: bytes, cells: Mapping[tuple[str, str], Any]) -> bytes:
    """Return a workbook with cells, by sheet and address, typed over in its XML; their styles stay.

    A value is a number, a day, a truth value, a text, a formula that begins with =, or None, which empties the cell.
    """
    by_sheet: dict[str, dict[str, Any]] = defaultdict(dict)
    for (sheet, cell), value in cells.items():
        by_sheet[sheet][cell] = value
    held = BytesIO()
    with zipfile.ZipFile(BytesIO(content)) as old, zipfile.ZipFile(held, "w") as new:
        parts = {path: by_sheet[name] for name, _, path in sheets_of(old) if name in by_sheet}
        assert len(parts) == len(by_sheet)
        for name in old.namelist():
            data = old.read(name)
            new.writestr(name, _typed(data, parts[name]) if name in parts else data)
    return held.getvalue()


def changed(content: bytes, part: str, change: Callable[[str], str]) -> bytes:
    """Return a workbook with the XML of one part changed: a part by its name, or a sheet by the sheet's name."""
    held = BytesIO()
    with zipfile.ZipFile(BytesIO(content)) as old, zipfile.ZipFile(held, "w") as new:
        where = {name: path for name, _, path in sheets_of(old)}.get(part, part)
        for name in old.namelist():
            data = old.read(name)
            if name == where:
                after = change(data.decode())
                assert after != data.decode(), f"nothing changed in {part}"
                data = after.encode()
            new.writestr(name, data)
    return held.getvalue()


def _typed(data: bytes, cells: Mapping[str, Any]) -> bytes:
    """Return a sheet's XML with cells typed over."""
    root = ElementTree.fromstring(data)
    rows = {row.attrib["r"]: row for row in root.iter(f"{MAIN}row")}
    for at, value in cells.items():
        letters, number = coordinate_from_string(at)
        row = rows[str(number)]
        cell = next((cell for cell in row if cell.attrib["r"] == at), None)
        if cell is None:
            cell = ElementTree.Element(f"{MAIN}c", r=at)
            row.insert(sum(1 for other in row if _column(other) < column_index_from_string(letters)), cell)
        _fill(cell, value)
    return ElementTree.tostring(root, encoding="UTF-8", xml_declaration=True)


def _column(cell: ElementTree.Element) -> int:
    return column_index_from_string(coordinate_from_string(cell.attrib["r"])[0])


def _fill(cell: ElementTree.Element, value: Any) -> None:
    """Put a value into a cell of a sheet's XML."""
    for child in list(cell):
        cell.remove(child)
    cell.attrib.pop("t", None)
    if isinstance(value, str) and value.startswith("="):
        ElementTree.SubElement(cell, f"{MAIN}f").text = value.removeprefix("=")
    elif isinstance(value, str):
        cell.set("t", "inlineStr")
        ElementTree.SubElement(ElementTree.SubElement(cell, f"{MAIN}is"), f"{MAIN}t").text = value
    elif isinstance(value, bool):
        cell.set("t", "b")
        ElementTree.SubElement(cell, f"{MAIN}v").text = str(int(value))
    elif value is not None:
        number = serial(value) if hasattr(value, "year") else value
        ElementTree.SubElement(cell, f"{MAIN}v").text = repr(number)
