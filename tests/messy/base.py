"""A small workbook without a fault, written as a maker types it, and what one edit makes of it.

What is typed is read as a spreadsheet program reads it: 5% becomes 0.05 in a percent cell, 2026-11-25 a date, TRUE a
truth, #REF! an error, =1+1 a formula (whose value was never stored), and an apostrophe keeps the rest a text.
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from scaler.engine import scale
from scaler.model.problems import Problem, say, where
from scaler.model.records import Workshop
from scaler.read.workshop import load
from scaler.rules.results import Run

TODAY = date(2026, 11, 25)
FILE = "workshop.xlsx"

TABLES = (Path(__file__).parent / "base.txt").read_text(encoding="utf-8")
"""The sheets of the workbook, each under its name, one line a row and a stroke between cells."""


def value_of(typed: str) -> tuple[Any, str]:
    """Return the value and the number format of what is typed into a cell."""
    if typed.startswith("'"):
        return typed[1:], "@"
    if typed in ("", "TRUE", "FALSE"):
        return {"": None, "TRUE": True, "FALSE": False}[typed], "General"
    if re.fullmatch(r"-?[0-9.]+%", typed):
        return float(typed[:-1]) / 100, "0.00%"
    if re.fullmatch(r"-?[0-9]*\.?[0-9]+", typed):
        return float(typed) if "." in typed else int(typed), "General"
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", typed):
        return date.fromisoformat(typed), "yyyy-mm-dd"
    return typed, "General"


def type_in(sheet: Worksheet, address: str, typed: str) -> None:
    """Type into a cell."""
    cell = sheet[address]
    cell.value, cell.number_format = value_of(typed)
    if typed.startswith("'"):
        cell.data_type = "s"


def base() -> openpyxl.Workbook:
    """Return the workbook without a fault."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for part in TABLES.split("# ")[1:]:
        name, *lines = part.strip().splitlines()
        sheet = book.create_sheet(name)
        for row, line in enumerate(lines, 1):
            for column, typed in enumerate(line.split("|"), 1):
                type_in(sheet, sheet.cell(row, column).coordinate, typed.strip())
    return book


def edited(edits: str) -> openpyxl.Workbook:
    """Return the workbook after edits such as "Prices!C2=kilo" or, for two, "Prices!C2=kg; Prices!B2=1"."""
    book = base()
    for edit in edits.split("; ") if edits else ():
        place, typed = edit.split("=", 1)
        sheet, address = place.split("!")
        type_in(book[sheet], address, typed)
    return book


def save(book: openpyxl.Workbook, folder: Path, name: str = FILE) -> Path:
    """Return the file of a workbook."""
    book.save(folder / name)
    return folder / name


def read(*paths: Path) -> Workshop:
    """Return the workshop that workbooks hold, as of one day."""
    return load(paths, today=TODAY)


def messages(*paths: Path) -> list[tuple[str, str]]:
    """Return the code and the whole message of every problem of reading."""
    return [(problem.code, say(problem)) for problem in read(*paths).problems]


def faults(*paths: Path) -> tuple[Run, list[Problem]]:
    """Return the run of workbooks and every problem, of reading and of working out."""
    run = scale(read(*paths))
    return run, list(run.problems)


def refuses(folder: Path, edits: str, code: str, message: str) -> None:
    """Hold the one problem of an edit to its code and its whole message, which begins with where to mend it."""
    path = save(edited(edits), folder)
    found = messages(path) or [(problem.code, say(problem)) for problem in faults(path)[1]]
    assert found == [(code, f"{FILE}, sheet {message}")]


def reads_as(folder: Path, edits: str, field: str, expected: object) -> None:
    """Hold what an edit makes of a field, named as "prices.0.pack_unit", and that it makes no problem."""
    workshop = read(save(edited(edits), folder))
    assert [say(problem) for problem in workshop.problems] == []
    key, index, name = field.split(".")
    value = getattr(getattr(workshop, key)[int(index)], name)
    assert (value, type(value)) == (expected, type(expected))


def doubts(folder: Path, edits: str, message: str) -> None:
    """Hold the one thing that an edit makes a reader ask about, or leave unread, to its place and words."""
    run = scale(read(save(edited(edits), folder)))
    assert [say(problem) for problem in run.workshop.problems] == []
    assert [f"{where(place)}: {warning.text}" for place, warning in run.workshop.doubts] == [f"{FILE}, sheet {message}"]
