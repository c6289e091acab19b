"""Recalculate a workbook in an independent engine, and hold its stored values to what that engine finds."""

from __future__ import annotations

import math
import os
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ironcalc
import openpyxl
import pytest
from openpyxl.utils.datetime import to_excel

WITHIN = 1e-9

_MODULE = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE script:module PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "module.dtd">
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Module1" script:language="StarBasic"><![CDATA[
Sub Edit(jobs As String)
  Dim hidden(0) As New com.sun.star.beans.PropertyValue, kept(0) As New com.sun.star.beans.PropertyValue
  hidden(0).Name = "Hidden": hidden(0).Value = True
  kept(0).Name = "FilterName": kept(0).Value = "Calc MS Excel 2007 XML"
  Open jobs For Input As #1
  Do While Not Eof(1)
    Line Input #1, job
    part = Split(job, "|")
    doc = StarDesktop.loadComponentFromURL(ConvertToURL(part(0)), "_blank", 0, hidden())
    If part(2) <> "" Then Change(doc, part)
    doc.calculateAll()
    doc.storeToURL(ConvertToURL(part(1)), kept())
    doc.close(True)
  Loop
  Close #1
End Sub
Sub Change(doc, part)
  Dim keys(0) As New com.sun.star.table.TableSortField, order(1) As New com.sun.star.beans.PropertyValue
  sheet = doc.Sheets.getByName(part(3))
  sheet.unprotect("")
  a = CLng(part(4)) - 1: b = CLng(part(5)): area = sheet.getCellRangeByPosition(0, a, 60, IIf(b > a, b - 1, a))
  If part(2) = "delete" Then sheet.Rows.removeByIndex(a, b)
  If part(2) = "insert" Then sheet.Rows.insertByIndex(a, b)
  If part(2) = "column" Then sheet.Columns.removeByIndex(a, b)
  If part(2) = "sheet" Then doc.Sheets.removeByName(part(3))
  If part(2) = "move" Then
    sheet.Rows.insertByIndex(b - 1, 1)
    If b - 1 <= a Then a = a + 1
    area = sheet.getCellRangeByPosition(0, a, 60, a)
    sheet.moveRange(sheet.getCellByPosition(0, b - 1).CellAddress, area.RangeAddress)
    sheet.Rows.removeByIndex(a, 1)
  End If
  If part(2) <> "sort" Then Exit Sub
  keys(0).Field = CLng(part(6)) - 1: keys(0).IsAscending = (part(7) = "up")
  order(0).Name = "SortFields": order(0).Value = keys()
  order(1).Name = "BindFormatsToContent": order(1).Value = True
  area.sort(order())
End Sub
]]></script:module>
"""
"""A macro that works through a list of jobs: it edits, recalculates and saves a workbook each."""


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


def through_libreoffice(folder: Path, *paths: Path, jobs: Sequence[str] = ()) -> list[Path]:
    """Return workbooks as LibreOffice recalculates and saves them, after a job for each: what, sheet and numbers."""
    profile, out = folder / "profile", folder / "out"
    command = [soffice(), f"-env:UserInstallation={profile.as_uri()}", "--headless"]
    if not profile.exists():
        subprocess.run([*command, "--terminate_after_init"], check=True, capture_output=True, timeout=120)
        (profile / "user" / "basic" / "Standard" / "Module1.xba").write_text(_MODULE, encoding="utf-8")
    out.mkdir(exist_ok=True)
    made = [out / path.name for path in paths]
    lines = zip(paths, made, jobs or [""] * len(paths), strict=True)
    (folder / "jobs").write_text("".join(f"{path}|{after}|{job}\n" for path, after, job in lines), encoding="utf-8")
    macro = f'macro:///Standard.Module1.Edit("{folder}/jobs")'
    subprocess.run([*command, macro], check=True, capture_output=True, timeout=60 + 60 * len(paths))
    assert all(path.exists() for path in made), "LibreOffice wrote nothing"
    return made
