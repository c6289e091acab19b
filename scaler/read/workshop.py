"""Files become a workshop: sheets gathered by name, rows read, names resolved, every problem collected."""

from __future__ import annotations

import difflib
import os.path
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

from scaler.model.problems import NOTE, OPTIONS, Place, Problem, Warning, listed, meant
from scaler.model.records import BATCHES, COSTS, SHEETS, Batch, Workshop
from scaler.model.schema import Sheet, Where, columns, key_of, other_words
from scaler.model.settings import setting_declared
from scaler.read.files import RawBook, RawSheet, read_book
from scaler.read.headers import NEAR, Doubt
from scaler.read.numbers import clean_text
from scaler.read.settings import read_settings
from scaler.read.tables import Read, read_table

_KNOWN = {key_of(sheet.name): sheet for sheet in SHEETS}
_ALSO = {key_of(word): sheet for sheet in SHEETS for word in other_words("sheet").get(sheet.key, ())}

RawSheets = dict[str, list[RawSheet]]
"""Raw sheets by key."""


@dataclass(frozen=True)
class Wanted:
    """Which batches to work out: by name, or one of a recipe; empty for every batch of the sheet.

    Attributes:
        batches: names of batches of the sheet.
        recipe: the recipe of one batch, whatever the sheet says.
        mould: its mould, "" for none.
        size: what else says how large it is, by field of a batch; weights in g.
    """

    batches: tuple[str, ...] = ()
    recipe: str = ""
    mould: str = ""
    size: Mapping[str, Any] = field(default_factory=dict)


def load(
    paths: Sequence[Path | str], wanted: Wanted = Wanted(), today: date | None = None, gaps: bool = False
) -> Workshop:
    """Return the workshop that the files hold; its problems are of reading alone, `scale` finds the others.

    Args:
        paths: .xlsx files; sheets are found by name across them.
        wanted: which batches to keep.
        today: the day of the run, for a workbook that does not say it; None for the real one.
        gaps: keep blank rows between others, as blank records, and a blank Worked out on.
    """
    books, problems = _read_books(paths)
    raw, doubled = _by_name(books)
    near, doubts = _own_sheets(raw, books)
    problems += doubled + near
    if not any(problem.code.startswith("file_") for problem in problems):
        problems += _missing_sheets(raw, books, {problem.expected for problem in near})
    records: dict[str, list[Any]] = {}
    for sheet in SHEETS:
        if sheet is not COSTS:
            read = _read_sheets(sheet, raw.get(sheet.key, []), gaps)
            records[sheet.key] = read.records
            problems += read.problems
            doubts += read.doubts
    costs, faults, asked = read_settings(
        next(iter(raw.get(COSTS.key, [])), None), None if gaps else today or date.today()
    )
    problems += faults
    doubts += asked
    if wanted.recipe or wanted.mould:
        where = Where("", OPTIONS)
        one = Batch(
            batch="1",
            recipe=clean_text(wanted.recipe),
            mould=clean_text(wanted.mould) or None,
            where=where,
            **wanted.size,
        )
        records[BATCHES.key] = [one]
    problems += _choose_batches(records, wanted)
    _resolve(records)
    records["done"] = [item for item in records[BATCHES.key] if item.done]
    records[BATCHES.key] = [item for item in records[BATCHES.key] if not item.done]
    held = {key: tuple(found) for key, found in records.items()}
    ordered = tuple(sorted(set(problems), key=in_reading_order))
    said = tuple(dict.fromkeys(doubts))
    return Workshop(**held, costs=costs, sheets=tuple(raw), today=None, problems=ordered, doubts=said)


_SHOWN_IN = {"metric": "g", "us": "oz"}
"""What each word for units is as Display units."""


def shown_in(workshop: Workshop, units: str | None) -> Workshop:
    """Return the workshop with its Display units set to metric or us units; None leaves them as they are."""
    if units is None:
        return workshop
    name = setting_declared()["display_units"].name
    costs = (replace(line, value=_SHOWN_IN[units]) if line.setting == name else line for line in workshop.costs)
    return replace(workshop, costs=tuple(costs))


def in_reading_order(problem: Problem) -> tuple[object, ...]:
    """Return what problems are sorted by: file, sheet, row, column."""
    place = problem.place
    letters, row = re.fullmatch(r"([A-Z]*)([0-9]*)", place.cell).groups()  # type: ignore[union-attr]
    return place.file, place.sheet, int(row or 0), len(letters), letters, problem


# --- gathering ---


def _read_books(paths: Sequence[Path | str]) -> tuple[list[RawBook], list[Problem]]:
    books, problems = [], []
    for path in {os.path.abspath(path): Path(path) for path in paths}.values():
        book, faults = read_book(path, lambda name: _sheet_of(name) is not None)
        problems += faults
        books += [book] if book else []
    return books, problems


def _sheet_of(name: str) -> Sheet | None:
    """Return the input sheet that a tab is by its name, in our words or another."""
    return _KNOWN.get(key_of(name)) or _ALSO.get(key_of(name))


def _by_name(books: Sequence[RawBook]) -> tuple[RawSheets, list[Problem]]:
    """Return the raw sheets by key; a tab in another word counts only where none has our own."""
    ours = {key_of(sheet.name) for book in books for sheet in book.sheets}
    raw: RawSheets = {}
    problems = []
    for found in (sheet for book in books for sheet in book.sheets):
        sheet = _sheet_of(found.name)
        if sheet is None or (key_of(found.name) not in _KNOWN and key_of(sheet.name) in ours):
            continue
        held = raw.setdefault(sheet.key, [])
        if held and not sheet.many_files:
            where = f"'{held[0].name}' of {held[0].file}"
            says, do = f"This is a second sheet {sheet.name}: {where} is the same.", "Delete or rename one of the two."
            place = Place(found.file, found.name)
            found_words = f"sheet {sheet.name} a second time"
            problems.append(Problem(place, "sheet_twice", found_words, "each sheet once", do, says))
        held.append(found)
    return raw, problems


def _own_sheets(raw: RawSheets, books: Sequence[RawBook]) -> tuple[list[Problem], list[Doubt]]:
    """Return a problem for each tab that is nearly one of ours that is not there, and name the maker's own tabs."""
    taken = {(sheet.file, sheet.name) for held in raw.values() for sheet in held}
    problems: list[Problem] = []
    doubts: list[Doubt] = []
    for book in books:
        unused = [sheet.name for sheet in book.sheets if (book.file, sheet.name) not in taken and sheet.cells]
        for name in (*book.own, *unused):
            place, near = (
                Place(book.file, name),
                [sheet for sheet in SHEETS if sheet.key not in raw and _near(name, sheet)],
            )
            if near:
                says, do = f"{name} is not a sheet that scaler knows.", f"Did you mean {near[0].name}? Then rename it."
                do += " If it is your own, give it another name."
                problems.append(Problem(place, "sheet_unclear", f"sheet {name}", near[0].name, do, says))
            else:
                doubts.append((place, Warning("not_read", f"Sheet {name} is your own: it is not read.", NOTE)))
    return problems, doubts


def _near(name: str, sheet: Sheet) -> bool:
    return difflib.SequenceMatcher(None, key_of(name), key_of(sheet.name)).ratio() >= NEAR


def _missing_sheets(raw: RawSheets, books: Sequence[RawBook], near: set[str]) -> list[Problem]:
    """Return a problem for each sheet that must be there and is not, but for one whose name is nearly there."""
    names = tuple(dict.fromkeys(name for book in books for name in book.names))
    files = ", ".join(dict.fromkeys(book.file for book in books))
    do = f"Give the workbook that has it, too; here are only {', '.join(names)}." if names else "Give a workbook."
    return [
        Problem(
            Place(files, sheet.name), "sheet_missing", f"no sheet {sheet.name}", f"a sheet named {sheet.name}", do,
            f"There is no sheet {sheet.name}.",
        )
        for sheet in SHEETS
        if not sheet.optional and sheet.key not in raw and sheet.name not in near
    ]  # fmt: skip


def _read_sheets(sheet: Sheet, raw: Sequence[RawSheet], gaps: bool) -> Read:
    """Return all sheets of one name as one table."""
    together = Read([], [], [])
    for found in raw:
        records, problems, doubts = read_table(sheet, found, gaps)
        together.records.extend(records)
        together.problems.extend(problems)
        together.doubts.extend(doubts)
    return together


def _resolve(records: dict[str, list[Any]]) -> None:
    """Spell names of other rows as they are spelled there, whatever their case."""
    known = {
        field: {name.casefold(): name for item in records[f"{field}s"] if (name := getattr(item, field))}
        for field in ("ingredient", "mould", "recipe")
    }
    for sheet in SHEETS:
        referring = {name: column.refers.lower() for name, column in columns(sheet.record).items() if column.refers}
        for place, record in enumerate(records[sheet.key] if referring else ()):
            typed = {name: getattr(record, name) for name in referring}
            spelled = {
                name: known[referring[name]].get(text.casefold(), text)
                for name, text in typed.items()
                if text is not None
            }
            if any(spelled[name] != typed[name] for name in spelled):
                records[sheet.key][place] = replace(record, **spelled)


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
