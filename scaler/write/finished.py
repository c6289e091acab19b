"""The finished workbook: results, safety, the sheets to change, how it is known, workings, in that order."""

from __future__ import annotations

import io
from collections.abc import Collection
from typing import Any

from scaler.model.records import SHEETS, Workshop
from scaler.rules.results import Run
from scaler.write.book import Book
from scaler.write.inputs import write_input
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


def finished(run: Run) -> bytes:
    """Return the finished workbook of a run as the bytes of an .xlsx file."""
    held = io.BytesIO()
    book = Book(held, run)
    layout = book.layout
    assert layout
    describe(book.file, "Finished workbook", run.workshop)
    is_market = "sold" in run.tables.columns
    first = (*(MARKET_TABS if is_market else ()), *RESULT_TABS)
    sheets = [sheet for sheet in SHEETS if _is_there(sheet.key, sheet.optional, run)]
    names = [*(tab.NAME for tab in first), *(sheet.name for sheet in sheets), *(tab.NAME for tab in KNOWN_TABS)]
    overview.write(book, names)
    for tab in first:
        tab.write(book)
    for sheet in sheets:
        write_input(book, sheet, getattr(run.workshop, sheet.key))
    for tab in KNOWN_TABS:
        tab.write(book)
    write_workings(book, layout)
    book.close()
    return held.getvalue()


def _is_there(key: str, optional: bool, run: Run) -> bool:
    """Return whether an input sheet belongs in the workbook: what came in, and what rules read."""
    return bool(getattr(run.workshop, key)) or not optional or key in run.tables.columns


def inputs(workshop: Workshop, keys: Collection[str] = ()) -> bytes:
    """Return an input workbook with the workshop's records in the sheets of these keys; with none given in every sheet."""
    held = io.BytesIO()
    book = Book(held)
    describe(book.file, "Input workbook", workshop)
    for sheet in SHEETS:
        if not keys or sheet.key in keys:
            write_input(book, sheet, getattr(workshop, sheet.key))
    book.close()
    return held.getvalue()
