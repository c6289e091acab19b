"""Files become a workshop: sheets gathered by name, names resolved, settings completed, problems collected."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from scaler import units
from scaler.model import (
    BATCHES,
    COSTS,
    INGREDIENTS,
    MOULDS,
    RECIPES,
    SHEETS,
    Batch,
    SettingLine,
    Workshop,
    setting_declared,
)
from scaler.problems import Place, Problem, meant
from scaler.read.checks import check
from scaler.read.files import RawBook, RawCell, RawSheet, read_book
from scaler.read.numbers import clean_text
from scaler.read.tables import Table, blank, read_cell, read_table
from scaler.schema import NAME, REFERENCE, Column, Record, Setting, Sheet, Where, columns

_KNOWN = {sheet.name.casefold(): sheet for sheet in SHEETS}


@dataclass(frozen=True)
class Wanted:
    """Which batches to work out: by name, or one of a recipe in a mould; empty for every batch of the sheet."""

    batches: tuple[str, ...] = ()
    recipe: str = ""
    mould: str = ""


def load(paths: Sequence[Path | str], wanted: Wanted = Wanted(), today: date | None = None) -> tuple[Workshop, list[Problem]]:
    """Return the workshop that the files hold, and every problem in them.

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
    tables: dict[str, Table] = {}
    for sheet in SHEETS:
        if sheet is not COSTS:
            tables[sheet.key], faults = _read_sheets(sheet, raw.get(sheet.key, []))
            problems += faults
    costs, faults = _read_settings(raw.get(COSTS.key, []), today or date.today())
    problems += faults
    problems += _resolve(tables)
    problems += _number_batches(tables[BATCHES.key], wanted, tables, raw)
    held = {key: tuple(table.records) for key, table in tables.items()}
    workshop = Workshop(**held, costs=costs, sheets=tuple(raw))
    if not problems:
        problems = check(workshop)
    else:
        problems += _checked_apart(workshop, tables)
    return workshop, sorted(set(problems))


def _checked_apart(workshop: Workshop, tables: dict[str, Table]) -> list[Problem]:
    """Return the problems of the rows that are whole, leaving out what hangs on rows that are not."""
    bad = {name for table in tables.values() for name in table.broken}
    recipes = {line.recipe.casefold() for line in workshop.lines if line.ingredient.casefold() in bad} | bad
    return [
        problem
        for problem in check(workshop, alone=True)
        if not any(name in f"{problem.found} {problem.do}".casefold() for name in recipes)
    ]


# --- gathering ---


def _read_books(paths: Sequence[Path | str]) -> tuple[list[RawBook], list[Problem]]:
    books, problems = [], []
    for path in dict.fromkeys(Path(path) for path in paths):
        book, faults = read_book(path, lambda name: clean_text(name).casefold() in _KNOWN)
        problems += faults
        books += [book] if book else []
    return books, problems


def _by_name(books: Iterable[RawBook]) -> tuple[dict[str, list[RawSheet]], list[Problem]]:
    raw: dict[str, list[RawSheet]] = {}
    problems = []
    for book in books:
        for found in book.sheets:
            sheet = _KNOWN[clean_text(found.name).casefold()]
            held = raw.setdefault(sheet.key, [])
            if held and not sheet.many_files:
                do = f"It is in {held[0].file} too: keep it in one of the two files."
                problems.append(Problem(Place(found.file, found.name), "sheet_twice", f"sheet {found.name} again", "each sheet once", do))
            else:
                held.append(found)
    return raw, problems


def _missing_sheets(raw: dict[str, list[RawSheet]], books: Sequence[RawBook]) -> list[Problem]:
    names = [name for book in books for name in book.names]
    place = Place(", ".join(dict.fromkeys(book.file for book in books)))
    problems = []
    for sheet in SHEETS:
        if not sheet.optional and sheet.key not in raw:
            near = meant(sheet.name, names)
            do = f"{near} Sheets there: {', '.join(names) or 'none'}. A fresh workbook with every sheet: scaler new."
            missing = Place(place.file, sheet.name)
            problems.append(Problem(missing, "sheet_missing", f"no sheet {sheet.name}", f"a sheet named {sheet.name}", do.strip()))
    return problems


def _read_sheets(sheet: Sheet, raw: Iterable[RawSheet]) -> tuple[Table, list[Problem]]:
    together, problems = Table(), []
    for found in raw:
        table, faults = read_table(sheet, found)
        together.records += table.records
        together.broken |= table.broken
        problems += faults
    return together, problems


# --- names ---


def _resolve(tables: dict[str, Table]) -> list[Problem]:
    """Make every reference the name as it is written where it is defined; report doubles and unknown names."""
    known: dict[str, dict[str, str]] = {}
    broken: dict[str, set[str]] = {}
    problems = []
    for sheet in (INGREDIENTS, MOULDS, RECIPES):
        name, column = next((name, column) for name, column in columns(sheet.record).items() if column.kind == NAME)
        known[column.header], faults = _unique(tables[sheet.key], name, column.header)
        broken[column.header] = tables[sheet.key].broken
        problems += faults
    for sheet in SHEETS:
        references = {name: column for name, column in columns(sheet.record).items() if column.kind == REFERENCE}
        if sheet.key in tables and references:
            faults = _point(tables[sheet.key], references, known, broken)
            problems += faults
    return problems


def _unique(table: Table, name: str, header: str) -> tuple[dict[str, str], list[Problem]]:
    seen: dict[str, Record] = {}
    problems = []
    for record in table.records:
        text = getattr(record, name)
        first = seen.setdefault(text.casefold(), record)
        if first is not record:
            do = f"It stands in cell {first.where.place(name).cell} too: rename or delete one."
            problems.append(Problem(record.where.place(name), "name_twice", f"'{text}' again", f"each {header} once", do))
    table.records = list(seen.values())
    return {key: getattr(record, name) for key, record in seen.items()}, problems


def _point(
    table: Table, references: dict[str, Column], known: dict[str, dict[str, str]], broken: dict[str, set[str]]
) -> list[Problem]:
    problems: list[Problem] = []
    records = []
    for record in table.records:
        names: dict[str, str] = {}
        whole = True
        for field, column in references.items():
            text = getattr(record, field)
            if text is None:
                continue
            names[field] = known[column.refers].get(text.casefold(), "")
            if not names[field]:
                whole = False
                if text.casefold() not in broken[column.refers]:
                    problems.append(_unknown(record, field, text, column, known[column.refers]))
        if whole:
            records.append(replace(record, **names))
        else:
            table.broken |= {str(text).casefold() for text in names.values() if text}
            if hasattr(record, "recipe"):
                table.broken.add(str(record.recipe).casefold())
    table.records = records
    return problems


def _unknown(record: Record, field: str, text: str, column: Column, known: dict[str, str]) -> Problem:
    sheet = {"Ingredient": "Ingredients", "Mould": "Moulds", "Recipe": "Recipes"}[column.refers]
    near = meant(text, known.values())
    do = f"{near} Or add it to sheet {sheet}." if near else f"Add it to sheet {sheet}, or correct the name."
    return Problem(record.where.place(field), "name_unknown", f"'{text}'", f"a name on sheet {sheet}", do)


# --- batches ---


def _number_batches(
    table: Table, wanted: Wanted, tables: dict[str, Table], raw: dict[str, list[RawSheet]]
) -> list[Problem]:
    if wanted.recipe or wanted.mould:
        return _one_batch(table, wanted, tables)
    problems = _named_batches(table)
    if wanted.batches:
        names = {record.batch.casefold(): record for record in table.records}
        for name in wanted.batches:
            if name.casefold() not in names:
                do = f"{meant(name, [record.batch for record in table.records])} See column Batch of sheet Batches.".strip()
                problems.append(Problem(Place("", BATCHES.name), "batch_unknown", f"--batch {name}", "a batch of the sheet", do))
        keep = {name.casefold() for name in wanted.batches}
        table.records = [record for record in table.records if record.batch.casefold() in keep]
    return problems


def _named_batches(table: Table) -> list[Problem]:
    records: list[Batch] = [
        replace(record, batch=record.batch or str(number)) for number, record in enumerate(table.records, 1)
    ]
    table.records = records
    _, problems = _unique(table, "batch", "Batch")
    return problems


def _one_batch(table: Table, wanted: Wanted, tables: dict[str, Table]) -> list[Problem]:
    problems = []
    names = {}
    for field, text, sheet in (("recipe", wanted.recipe, RECIPES), ("mould", wanted.mould, MOULDS)):
        known = {getattr(record, field).casefold(): getattr(record, field) for record in tables[sheet.key].records}
        names[field] = known.get(clean_text(text).casefold(), "")
        if not names[field] and text.casefold() not in tables[sheet.key].broken:
            do = f"{meant(text, known.values())} Known: {', '.join(known.values())}.".strip()
            problems.append(Problem(Place("", sheet.name), "name_unknown", f"--{field} '{text}'", f"a name on sheet {sheet.name}", do))
    whole = all(names.values())
    table.records = [Batch(batch="1", **names)] if whole else []
    return problems


# --- settings ---


def _setting_key(text: object) -> str:
    words = clean_text(str(text)).casefold().split("(")[0]
    return words.replace("%", "").strip()


def _read_settings(raw: Sequence[RawSheet], today: date) -> tuple[tuple[SettingLine, ...], list[Problem]]:
    """Return one line a setting, in the schema's order, blank where the workbook does not say; and the problems."""
    declared = setting_declared()
    by_key = {_setting_key(item.name): name for name, item in declared.items()}
    given: dict[str, SettingLine] = {}
    problems = []
    for sheet in raw:
        table, faults = read_table(COSTS, sheet)
        problems += faults
        number = {line.where.row: line for line in table.records}
        for line in number.values():
            name = by_key.get(_setting_key(line.setting))
            if name is None:
                do = f"{meant(line.setting, [item.name for item in declared.values()])} Delete the row if it is not needed.".strip()
                problems.append(Problem(line.where.place("setting"), "setting_unknown", f"'{line.setting}'", "a setting", do))
            elif name in given:
                do = f"It stands in cell {given[name].where.place('setting').cell} too: keep one."
                problems.append(Problem(line.where.place("setting"), "name_twice", f"'{line.setting}' again", "each setting once", do))
            else:
                given[name], faults = _read_setting(line, declared[name], sheet)
                problems += faults
    lines = [given.get(name) or SettingLine(setting=item.name, meaning=item.help) for name, item in declared.items()]
    dated = [
        replace(line, value=today) if name == "worked_out_on" and line.value is None else line
        for name, line in zip(declared, lines, strict=True)
    ]
    return tuple(dated), problems


def _read_setting(line: SettingLine, item: Setting, sheet: RawSheet) -> tuple[SettingLine, list[Problem]]:
    problems = []
    line = replace(line, setting=item.name, meaning=line.meaning or item.help)
    raw = _raw_cell(sheet, line.where, "value")
    if raw is None or blank(raw):
        line = replace(line, value=None)
    else:
        kind = Column(item.name, item.kind, item.help, choices=item.choices, least=item.least, above=item.above)
        value, problem = read_cell(raw, kind, line.where.place("value"))
        line = replace(line, value=value)
        problems += [problem] if problem else []
    if item.unit_kinds and line.unit:
        unit = units.find(line.unit)
        if unit is None or unit.kind not in item.unit_kinds:
            known = units.words(*item.unit_kinds)
            do = f"{meant(line.unit, known)} Known: {', '.join(known)}.".strip()
            problems.append(Problem(line.where.place("unit"), "unit_unknown", f"'{line.unit}'", f"a unit of {item.unit_kinds[0]}", do))
        else:
            line = replace(line, unit=unit.word)
    return line, problems


def _raw_cell(sheet: RawSheet, where: Where, name: str) -> RawCell | None:
    letters = where.letters.get(name, "")
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return sheet.cells.get((where.row, number))
