"""Files become a workshop: sheets gathered by name, rows read, names resolved, every problem collected."""

from __future__ import annotations

import os.path
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from scaler.model.problems import Place, Problem, meant, nearest
from scaler.model.records import BATCHES, COSTS, SHEETS, Batch, Workshop
from scaler.model.schema import Sheet, Where
from scaler.read.cells import listed
from scaler.read.files import RawBook, RawSheet, read_book
from scaler.read.numbers import clean_text
from scaler.read.settings import read_settings
from scaler.read.tables import read_table

_KNOWN = {sheet.name.casefold(): sheet for sheet in SHEETS}

RawSheets = dict[str, list[RawSheet]]
"""Raw sheets by key."""


@dataclass(frozen=True)
class Wanted:
    """Which batches to work out: by name, or one of a recipe in a mould; empty for every batch of the sheet."""

    batches: tuple[str, ...] = ()
    recipe: str = ""
    mould: str = ""


def load(
    paths: Sequence[Path | str], wanted: Wanted = Wanted(), today: date | None = None
) -> Workshop:
    """Return the workshop that the files hold; its problems are of reading alone, `scale` finds the others.

    Args:
        paths: .xlsx files; sheets are found by name across them.
        wanted: which batches to keep.
        today: the day of the run, for a workbook that does not say it; None for the real one.
    """
    books, problems = _read_books(paths)
    raw, doubled = _by_name(books)
    problems += doubled
    if not any(problem.code.startswith("file_") for problem in problems):
        problems += _missing_sheets(raw, books)
    records: dict[str, list[Any]] = {}
    for sheet in SHEETS:
        if sheet is not COSTS:
            records[sheet.key], faults = _read_sheets(sheet, raw.get(sheet.key, []))
            problems += faults
    costs, faults = read_settings(next(iter(raw.get(COSTS.key, [])), None), today or date.today())
    problems += faults
    if wanted.recipe or wanted.mould:
        where = Where("", BATCHES.name)
        records[BATCHES.key] = [Batch(batch="1", recipe=clean_text(wanted.recipe), mould=clean_text(wanted.mould), where=where)]
    problems += _choose_batches(records, wanted)
    held = {key: tuple(found) for key, found in records.items()}
    ordered = tuple(sorted(set(problems), key=in_reading_order))
    return Workshop(**held, costs=costs, sheets=tuple(raw), problems=ordered)


def in_reading_order(problem: Problem) -> tuple[object, ...]:
    """Return what problems are sorted by: file, sheet, row, column."""
    place = problem.place
    letters, row = re.fullmatch(r"([A-Z]*)([0-9]*)", place.cell).groups()  # type: ignore[union-attr]
    return place.file, place.sheet, int(row or 0), len(letters), letters, problem


# --- gathering ---


def _read_books(paths: Sequence[Path | str]) -> tuple[list[RawBook], list[Problem]]:
    books, problems = [], []
    for path in {os.path.abspath(path): Path(path) for path in paths}.values():
        book, faults = read_book(path, lambda name: clean_text(name).casefold() in _KNOWN)
        problems += faults
        books += [book] if book else []
    return books, problems


def _by_name(books: Iterable[RawBook]) -> tuple[RawSheets, list[Problem]]:
    raw: RawSheets = {}
    problems = []
    for found in (sheet for book in books for sheet in book.sheets):
        sheet = _KNOWN[clean_text(found.name).casefold()]
        held = raw.setdefault(sheet.key, [])
        if held and not sheet.many_files:
            do = f"Sheet '{held[0].name}' of {held[0].file} is the same: delete or rename one of the two."
            place = Place(found.file, found.name)
            problems.append(Problem(place, "sheet_twice", f"sheet {sheet.name} a second time", "each sheet once", do))
        held.append(found)
    return raw, problems


def _missing_sheets(raw: RawSheets, books: Sequence[RawBook]) -> list[Problem]:
    return [_missing_sheet(sheet, books) for sheet in SHEETS if not sheet.optional and sheet.key not in raw]


def _missing_sheet(sheet: Sheet, books: Sequence[RawBook]) -> Problem:
    """Return the problem at the sheet whose name is nearly right, else at the files."""
    others = {name: book.file for book in books for name in book.names if clean_text(name).casefold() not in _KNOWN}
    found, expected = f"no sheet {sheet.name}", f"a sheet named {sheet.name}"
    for near in nearest(sheet.name, others, 1):
        do = f"Is '{near}' meant? Then rename it {sheet.name}."
        return Problem(Place(others[near], near), "sheet_missing", found, expected, do)
    names = tuple(dict.fromkeys(name for book in books for name in book.names))
    do = f"Give the workbook that has it, too; here are only {', '.join(names)}." if names else "Give a workbook."
    files = ", ".join(dict.fromkeys(book.file for book in books))
    return Problem(Place(files, sheet.name), "sheet_missing", found, expected, do)


def _read_sheets(sheet: Sheet, raw: Sequence[RawSheet]) -> tuple[list[Any], list[Problem]]:
    """Return the records of all sheets of one name."""
    records: list[Any] = []
    problems: list[Problem] = []
    for found in raw:
        held, faults = read_table(sheet, found)
        records += held
        problems += faults
    return records, problems


def _choose_batches(records: dict[str, list[Any]], wanted: Wanted) -> list[Problem]:
    """Keep the batches that were asked for by name; a batch without a name has its number."""
    if not wanted.batches:
        return []
    held = [replace(item, batch=item.batch or str(place)) for place, item in enumerate(records[BATCHES.key], 1)]
    known = {item.batch.casefold(): item.batch for item in held}
    asked = {clean_text(name).casefold(): name for name in wanted.batches}
    records[BATCHES.key] = [item for item in held if item.batch.casefold() in asked]
    problems = []
    for key, name in asked.items():
        if key not in known:
            do = meant(name, known.values()) or f"Type {listed(tuple(known.values()) or ('a batch that is there',))}."
            found = f"--batch '{name}'"
            says = f"There is no batch {name}."
            problems.append(Problem(Place("", BATCHES.name), "batch_unknown", found, "the name of a batch", do, says))
    return problems
