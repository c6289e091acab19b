"""Recalculate a workbook in an independent engine, and hold its stored values to what that engine finds."""

from __future__ import annotations

import math
import os
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ironcalc
import openpyxl
import pytest
from openpyxl.utils.datetime import to_excel

WITHIN = 1e-9

_ALWAYS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">
<value>0</value></prop></item></oor:items>
"""
"""LibreOffice trusts stored values unless its profile says otherwise."""


@dataclass(frozen=True)
class Formula:
    """A formula cell and the value stored behind it."""

    sheet: str
    cell: str
    text: str
    value: Any


def plain(value: Any) -> Any:
    """Return a stored value as engines give it: dates as numbers, blanks as ""."""
    if hasattr(value, "toordinal") or hasattr(value, "hour"):
        return to_excel(value)
    return "" if value is None else value


def formulas(path: Path) -> list[Formula]:
    """Return every formula of a workbook with its stored value."""
    written, stored = openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)
    return [
        Formula(sheet.title, cell.coordinate, str(cell.value), plain(stored[sheet.title][cell.coordinate].value))
        for sheet in written
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]


def same(stored: Any, found: Any) -> bool:
    """Return whether two values are one, numbers to 1e-9 of their size."""
    if isinstance(stored, int | float) and isinstance(found, int | float):
        return math.isclose(stored, found, rel_tol=WITHIN, abs_tol=WITHIN)
    return bool(stored == found)


class IronCalc:
    """A workbook recalculated by IronCalc."""

    def __init__(self, path: Path) -> None:
        """Load and recalculate."""
        self.model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
        self.sheets = {sheet["name"]: number for number, sheet in enumerate(self.model.get_worksheets_properties())}
        self.model.evaluate()

    def value(self, sheet: str, cell: str) -> Any:
        """Return the value of a cell."""
        column, row = openpyxl.utils.cell.coordinate_from_string(cell)
        number = openpyxl.utils.column_index_from_string(column)
        return plain(self.model.get_cell_value(self.sheets[sheet], row, number))


def soffice() -> str:
    """Return LibreOffice's program; where there is none, skip, but never in CI."""
    found = shutil.which("soffice")
    if not found:
        assert not os.environ.get("CI"), "CI must install LibreOffice Calc"
        pytest.skip("LibreOffice is not installed")
    return found


def through_libreoffice(folder: Path, *paths: Path) -> list[Path]:
    """Return workbooks as LibreOffice recalculates and saves them."""
    program = soffice()
    profile = folder / "profile"
    (profile / "user").mkdir(parents=True, exist_ok=True)
    (profile / "user" / "registrymodifications.xcu").write_text(_ALWAYS, encoding="utf-8")
    made = [folder / "out" / path.name for path in paths]
    command = [program, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to"]
    command += ["xlsx:Calc MS Excel 2007 XML", "--outdir", str(folder / "out"), *map(str, paths)]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    assert all(path.exists() for path in made), "LibreOffice wrote nothing"
    return made
