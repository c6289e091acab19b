"""Recalculate a workbook in an independent engine, and hold its stored values to what that engine finds."""

from __future__ import annotations

import math
import os
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from datetime import time
from pathlib import Path
from typing import Any

import ironcalc
import pytest
from openpyxl.utils.cell import coordinate_to_tuple

from scaler.model.records import SHEETS
from scaler.read.files import read_cells, stored_values

WITHIN = 1e-9
INPUTS = {sheet.name: sheet for sheet in SHEETS}
Cells = Mapping[tuple[str, str], Any]
Sheets = Mapping[str, Mapping[str, Any]]

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


def formulas(path: Path) -> Cells:
    """Return the stored value of every formula of a workbook, blank text for none."""
    stored, cells = stored_values(path), read_cells(path)
    return {(name, at): stored[name].get(at, "") for name, held in cells.items() for at, cell in held.items()
            if cell.written}  # fmt: skip


def same(stored: Any, found: Any) -> bool:
    """Return whether two values are one, numbers to 1e-9 of their size; a 0 that is shown as a date is 0, None is blank."""
    stored, found = (0.0 if item == time() else "" if item is None else item for item in (stored, found))
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
        """Return the value of a cell, blank text for none."""
        value = self.model.get_cell_value(self.sheets[sheet], *coordinate_to_tuple(cell))
        return "" if value is None else value


def recalculated(path: Path, cells: Sheets | None = None) -> Cells:
    """Return every cell of a workbook outside its input sheets as IronCalc works it out, those too that show nothing."""
    engine = IronCalc(path)
    return {at: engine.value(*at) for at in results(cells or read_cells(path))}


def results(cells: Sheets) -> Cells:
    """Return the cells of a workbook outside its input sheets."""
    return {(name, at): value for name, held in cells.items() if name not in INPUTS for at, value in held.items()}


def unlike(path: Path) -> list[tuple[str, str]]:
    """Return the formulas of a workbook whose stored value is not what IronCalc finds."""
    engine = IronCalc(path)
    return [at for at, value in formulas(path).items() if not same(value, engine.value(*at))]


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
