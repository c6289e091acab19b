"""Files become a workshop: sheets gathered by name, rows read, names resolved, every problem collected."""

from __future__ import annotations

import os.path
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from scaler.model.problems import Place, Problem, meant, nearest
from scaler.model.records import BATCHES, COSTS, MOULDS, RECIPES, SHEETS, Batch, Workshop
from scaler.model.schema import Sheet
from scaler.read.cells import listed
from scaler.read.files import RawBook, RawSheet, read_book
from scaler.read.links import Tables, link, once
from scaler.read.numbers import clean_text
from scaler.read.settings import read_settings
from scaler.read.tables import Table, read_table

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
) -> tuple[Workshop, list[Problem]]:
    """Return the workshop that the files hold, and every problem in them.

    The workshop holds only what is whole, so what `scale` finds wrong with it is wrong whatever the other problems.

    Args:
        paths: .xlsx files; sheets are found by name across them.
        wanted: which batches to keep.
        today: the day of the run, for a workbook that does not say it; None for the real one.
    """
    books, problems = _read_books(paths)
    raw, doubled = _by_name(books)
    problems += doubled
    unread = any(problem.code.startswith("file_") for problem in problems)
    if not unread:
        problems += _missing_sheets(raw, books)
    tables: Tables = {}
    for sheet in SHEETS:
        if sheet is not COSTS:
            tables[sheet.key], faults = _read_sheets(sheet, raw.get(sheet.key, []), unread)
            problems += faults
    costs, faults = read_settings(next(iter(raw.get(COSTS.key, [])), None), today or date.today())
    problems += faults
    problems += _number_batches(tables, wanted)
    problems += link(tables)
    problems += _choose_batches(tables, wanted)
    records = {key: tuple(table.records) for key, table in tables.items()}
    return Workshop(**records, costs=costs, sheets=tuple(raw)), sorted(set(problems), key=_in_reading_order)


def _in_reading_order(problem: Problem) -> tuple[object, ...]:
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


def _read_sheets(sheet: Sheet, raw: Sequence[RawSheet], unread: bool) -> tuple[Table, list[Problem]]:
    """Return all sheets of one name as one table; it is not whole when there may be more of it, or one too many."""
    alone = len(raw) == 1 or (sheet.many_files and bool(raw))
    together = Table(whole=alone or (sheet.optional and not raw), free=Place("", sheet.name))
    together.whole &= not (unread and (sheet.many_files or not raw))
    problems = []
    for found in raw:
        table, faults = read_table(sheet, found)
        together.records += table.records
        together.broken += table.broken
        together.whole &= table.whole
        together.free = table.free
        problems += faults
    return together, problems


# --- batches ---


def _number_batches(tables: Tables, wanted: Wanted) -> list[Problem]:
    """Give every batch a name: its own, else its number, else the next number that no other has."""
    table = tables[BATCHES.key]
    if wanted.recipe or wanted.mould:
        return _one_batch(tables, wanted)
    taken = {record.batch.casefold() for record in table.records if record.batch}
    records = []
    for position, record in enumerate(table.records, 1):
        name = record.batch or next(text for text in map(str, range(position, 2**31)) if text not in taken)
        taken.add(name)
        records.append(replace(record, batch=name))
    table.records = records
    return once(table, "batch", "Batch")


def _one_batch(tables: Tables, wanted: Wanted) -> list[Problem]:
    """Put the one batch that was asked for in the place of the sheet's."""
    problems = []
    for field, text, sheet in (("recipe", wanted.recipe, RECIPES), ("mould", wanted.mould, MOULDS)):
        table, name = tables[sheet.key], clean_text(text)
        known = table.names(field)
        broken = table.broken_names(field)
        if name.casefold() not in known and table.whole and not {name.casefold(), None} & broken:
            do = meant(name, known.values()) or f"Write {listed(tuple(known.values()) or ('a name that is there',))}."
            found, expected = f"--{field} '{name}'", f"a name on sheet {sheet.name}"
            problems.append(Problem(Place("", sheet.name), "name_unknown", found, expected, do))
    batch = Batch(batch="1", recipe=clean_text(wanted.recipe), mould=clean_text(wanted.mould))
    tables[BATCHES.key] = Table([] if problems else [batch])
    return problems


def _choose_batches(tables: Tables, wanted: Wanted) -> list[Problem]:
    """Keep the batches that were asked for by name."""
    if not wanted.batches:
        return []
    table, problems = tables[BATCHES.key], []
    names = {clean_text(name).casefold(): name for name in wanted.batches}
    known = table.names("batch")
    for key, name in names.items():
        if key not in known and table.whole and not {key, None} & table.broken_names("batch"):
            do = meant(name, known.values()) or f"Write {listed(tuple(known.values()) or ('a batch that is there',))}."
            problems.append(
                Problem(Place("", BATCHES.name), "batch_unknown", f"--batch '{name}'", "the name of a batch", do)
            )
    table.records = [record for record in table.records if record.batch.casefold() in names]
    return problems
