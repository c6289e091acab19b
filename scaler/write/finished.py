"""The finished workbook: results, safety, the sheets to change, how it is known, workings, in that order."""

from __future__ import annotations

import io
from collections.abc import Collection, Mapping
from typing import Any

from scaler.model.own import Own
from scaler.model.records import LINES, SHEETS, Workshop, mixed_text
from scaler.model.settings import setting_declared
from scaler.rules.batch_lines import BEFORE_LINES
from scaler.rules.imperial import OUNCES
from scaler.rules.results import Run
from scaler.rules.sheets import typed_rows
from scaler.write.book import Book
from scaler.write.inputs import find_inputs, write_input
from scaler.write.layout import FORMER, WORKINGS
from scaler.write.own import write_sheets
from scaler.write.properties import describe
from scaler.write.tabs import (
    alkali,
    calendar,
    cards,
    checks,
    costing,
    market_money,
    overview,
    plan,
    safety_notes,
    shopping,
    sources,
    superfat,
)
from scaler.write.workings import write_workings

MARKET_TABS: tuple[Any, ...] = (plan, shopping, calendar, market_money)
RESULT_TABS: tuple[Any, ...] = (cards, costing, checks, safety_notes)
KNOWN_TABS: tuple[Any, ...] = (alkali, superfat, sources)
"""Tabs after Overview, in order: of a market run, of every run, and of how it is known."""

OURS = frozenset(
    [
        overview.NAME,
        *(tab.NAME for tab in (*MARKET_TABS, *RESULT_TABS, *KNOWN_TABS)),
        *(s.name for s in SHEETS),
        WORKINGS,
        *FORMER,
    ]
)
"""Names of every sheet that a finished workbook may have of ours."""

DRAWN = "drawn"
"""Custom property that says how many charts each sheet was written with."""

MIXED = "mixed"
"""Custom property that says which oils of blends have rows of their own."""

DAY = "day"
"""Custom property that says on which day it was worked out, as a spreadsheet counts days: a blank Worked out on."""

ROWS = "rows"
"""Custom property that says how many rows each table was written with, so that verify lays them out alike."""


def finished(run: Run, own: Own | None = None) -> bytes:
    """Return the finished workbook of a run as the bytes of an .xlsx file, with what is somebody's own in it."""
    return written(run, own)[0]


def written(run: Run, own: Own | None = None) -> tuple[bytes, dict[str, set[str]]]:
    """Return the finished workbook of a run as bytes, and the cells of each sheet that are for people to fill."""
    held = io.BytesIO()
    book = Book(held, run, own)
    layout = book.layout
    assert layout
    describe(book.file, "Finished workbook", run.workshop)
    book.file.set_custom_property(ROWS, rows_text(run.tables.lengths | {LINES.key: typed_rows(run.tables, LINES.key)}))
    defaults = dict(zip(*(run.tables.column("costs", name) for name in ("name", "default")), strict=True))
    book.file.set_custom_property(DAY, f"{defaults['worked_out_on']:.0f}")
    book.file.set_custom_property(MIXED, mixed_text(run.workshop) or "none")
    is_market = "sold" in run.tables.columns
    first = (*(MARKET_TABS if is_market else ()), *RESULT_TABS)
    sheets = [sheet for sheet in SHEETS if _is_there(sheet.key, sheet.optional, run)]
    names = [*(tab.NAME for tab in first), *(sheet.name for sheet in sheets), *(tab.NAME for tab in KNOWN_TABS)]
    for sheet in sheets:
        find_inputs(book, sheet, run.workshop.rows(sheet))
    overview.write(book, names)
    for tab in first:
        tab.write(book)
    letter = run.tables.one("costs", "display_units") == OUNCES
    for sheet in sheets:
        write_input(book, sheet, run.workshop.rows(sheet), letter)
    for tab in KNOWN_TABS:
        tab.write(book)
    write_workings(book, layout)
    write_sheets(book, book.own.sheets)
    drawn = {sheet.get_name(): len(sheet.charts) for sheet in book.file.worksheets() if sheet.charts}
    book.file.set_custom_property(DRAWN, "; ".join(f"{name}={count}" for name, count in drawn.items()))
    book.close()
    return held.getvalue(), book.unlocked


def rows_text(lengths: Mapping[str, int]) -> str:
    """Return the rows of the tables that read input sheets, and of a batch, as text.

    >>> rows_text({"prices": 3, "batches": 2, "batch_lines": 20})
    'prices=3 batches=2 card=7'
    """
    held = {sheet.key: lengths[sheet.key] for sheet in SHEETS if sheet.key in lengths}
    card = lengths["batch_lines"] // max(lengths["batches"], 1) - BEFORE_LINES
    return " ".join(f"{name}={count}" for name, count in (held | {"card": card}).items())


def _is_there(key: str, optional: bool, run: Run) -> bool:
    """Return whether an input sheet belongs in the workbook: what came in, and what rules read."""
    return bool(getattr(run.workshop, key)) or not optional or key in run.tables.columns


def inputs(workshop: Workshop, keys: Collection[str] = ()) -> bytes:
    """Return an input workbook with the workshop's records in the sheets of these keys; with none given in every sheet."""
    held = io.BytesIO()
    book = Book(held)
    describe(book.file, "Input workbook", workshop)
    units = setting_declared()["display_units"].name
    letter = any(line.setting == units and line.value == OUNCES for line in workshop.costs)
    for sheet in SHEETS:
        if not keys or sheet.key in keys:
            write_input(book, sheet, workshop.rows(sheet), letter)
    book.close()
    return held.getvalue()
