"""Rows that a partner deletes or inserts in LibreOffice, and tables she sorts: no error value, and what scaler makes of it.

Run as a command it prints how many edits were tried, and what differed:

    .venv/bin/python tests/partner_rows.py 200
"""

from __future__ import annotations

import random
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from partner_edits import DEMO, MARKET, disagreements, workbook
from recalculation import soffice
from typing_in import typed_over

from scaler.model.records import COSTS, SHEETS
from scaler.model.schema import columns, letters
from scaler.read.formulas import stored_values
from scaler.write.layout import FIRST_ROW

BOOKS = (DEMO, MARKET, 1, MARKET, 2)
INPUTS = {sheet.name for sheet in SHEETS}

_MODULE = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE script:module PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "module.dtd">
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Module1" script:language="StarBasic">
Sub Edit(jobs As String)
  Dim part() As String, job As String, doc As Object, sheet As Object
  Dim hidden(0) As New com.sun.star.beans.PropertyValue
  Dim kept(0) As New com.sun.star.beans.PropertyValue
  hidden(0).Name = "Hidden"
  hidden(0).Value = True
  kept(0).Name = "FilterName"
  kept(0).Value = "Calc MS Excel 2007 XML"
  Open jobs For Input As #1
  Do While Not Eof(1)
    Line Input #1, job
    part = Split(job, "|")
    doc = StarDesktop.loadComponentFromURL(ConvertToURL(part(0)), "_blank", 0, hidden())
    sheet = doc.Sheets.getByName(part(2))
    sheet.unprotect("")
    If part(3) = "delete" Then sheet.Rows.removeByIndex(CLng(part(4)) - 1, CLng(part(5)))
    If part(3) = "insert" Then sheet.Rows.insertByIndex(CLng(part(4)) - 1, CLng(part(5)))
    doc.calculateAll()
    doc.storeToURL(ConvertToURL(part(1)), kept())
    doc.close(True)
  Loop
  Close #1
End Sub
</script:module>
"""
"""A macro that works through a list of edits and recalculates each workbook."""


@dataclass(frozen=True)
class RowEdit:
    """What is done to which rows of which sheet of which workbook."""

    book: int
    sheet: str
    what: str
    row: int
    count: int = 1


def edit_of(seed: int) -> RowEdit:
    """Return one random edit: rows deleted, a row inserted, or a table sorted the other way round."""
    chance, book = random.Random(seed), BOOKS[seed % len(BOOKS)]
    held = stored_values(workbook(book))
    # Costs is not sorted: a date would stand in a cell that shows numbers, which scaler asks about.
    sheet = chance.choice([item for item in SHEETS if item.name in held and last_row(held[item.name]) >= FIRST_ROW])
    last = last_row(held[sheet.name])
    what = chance.choice(("delete", "delete", "insert", "insert" if sheet is COSTS else "sort"))
    row = chance.randint(FIRST_ROW, last)
    if (
        sheet is COSTS and what == "delete"
    ):  # without Worked out on scaler takes today, the workbook the day it was made
        row = min(row, FIRST_ROW + 8)
    return RowEdit(book, sheet.name, what, row, chance.randint(1, 2) if what == "delete" else 1)


def last_row(cells: dict[str, Any]) -> int:
    """Return the last filled row of an input sheet: the line that ends what is read stands below."""
    return max(int(cell[1:]) for cell in cells if cell[0] == "A" and cell[1:].isdigit()) - 1


def turned(content: bytes, sheet: str) -> bytes:
    """Return a workbook with the rows of one input sheet the other way round."""
    held = stored_values(content)[sheet]
    width = len(columns(next(item for item in SHEETS if item.name == sheet).record)) + (sheet == COSTS.name)
    last = max((row for row in range(FIRST_ROW, last_row(held) + 1) if held.get(f"A{row}")), default=FIRST_ROW)
    cells = {}
    for row in range(FIRST_ROW, last + 1):
        for at in range(1, width + 1):
            cells[sheet, f"{letters(at)}{row}"] = held.get(f"{letters(at)}{FIRST_ROW + last - row}")
    return typed_over(content, cells)


def recalculated(folder: Path, edits: Sequence[RowEdit]) -> list[Path]:
    """Return the workbooks as LibreOffice edits, recalculates and saves them."""
    profile, jobs, made = folder / "profile", [], []
    for number, edit in enumerate(edits):
        before, after = folder / f"in{number}.xlsx", folder / f"out{number}.xlsx"
        content = workbook(edit.book)
        before.write_bytes(turned(content, edit.sheet) if edit.what == "sort" else content)
        jobs.append(f"{before}|{after}|{edit.sheet}|{edit.what}|{edit.row}|{edit.count}\n")
        made.append(after)
    (folder / "jobs").write_text("".join(jobs), encoding="utf-8")
    command = [soffice(), f"-env:UserInstallation={profile.as_uri()}", "--headless"]
    subprocess.run(
        [*command, "--terminate_after_init"], check=True, capture_output=True, timeout=120
    )  # makes the profile
    (profile / "user" / "basic" / "Standard" / "Module1.xba").write_text(_MODULE, encoding="utf-8")
    macro = f'macro:///Standard.Module1.Edit("{folder}/jobs")'
    subprocess.run([*command, macro], check=True, capture_output=True, timeout=3000)
    return made


def main(count: int, first: int = 0, at_once: int = 20) -> int:
    """Try so many edits and print what differed."""
    bad = errors = 0
    for start in range(first, first + count, at_once):
        edits = [edit_of(seed) for seed in range(start, min(start + at_once, first + count))]
        with tempfile.TemporaryDirectory() as folder:
            for seed, edit, path in zip(
                range(start, start + at_once), edits, recalculated(Path(folder), edits), strict=False
            ):
                cells = stored_values(path.read_bytes())
                there = {
                    (sheet, cell): value
                    for sheet, held in cells.items()
                    if sheet not in INPUTS
                    for cell, value in held.items()
                }
                wrong = disagreements(path, there, rows_moved=True)
                bad += bool(wrong)
                errors += any(": #" in line for line in wrong)
                if wrong:
                    print(
                        f"{seed}: {edit}: {len(wrong)} cells",
                        *(line[:200] for line in wrong[:3]),
                        sep="\n    ",
                        flush=True,
                    )
    print(f"{count} edits, {bad} with differences, {errors} with error values")
    return bad


if __name__ == "__main__":
    sys.exit(min(main(int(sys.argv[1]) if len(sys.argv) > 1 else 200, int(sys.argv[2]) if len(sys.argv) > 2 else 0), 1))
