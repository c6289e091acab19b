"""The finished workbook: result tabs, workings, input sheets, in that order."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from datetime import datetime

from scaler import __version__
from scaler.model.records import SHEETS, Workshop
from scaler.output import BLANK_SEAL
from scaler.rules.results import Run
from scaler.write.book import Book
from scaler.write.inputs import write_input, write_inputs
from scaler.write.tabs import cards, checks, costing, overview, safety_notes, sources, superfat, unit_words
from scaler.write.workings import write_workings

TABS: tuple[Callable[[Book], None], ...] = (
    overview.write,
    cards.write,
    costing.write,
    superfat.write,
    checks.write,
    safety_notes.write,
    unit_words.write,
    sources.write,
)
"""Every result tab, in order."""

MADE_BY = "made_by"
MAKER = "scaler"
_CREATED = datetime(2026, 1, 1)
"""Fixed, so that the same input gives the same bytes."""


def finished(run: Run, tabs: Sequence[Callable[[Book], None]] = TABS) -> bytes:
    """Return the finished workbook of a run, with these result tabs, as the bytes of an .xlsx file."""
    held = io.BytesIO()
    book = Book(held, run)
    _describe(book, "Finished workbook")
    assert book.layout
    for write in tabs:
        write(book)
    write_workings(book, book.layout)
    write_inputs(book, run.workshop)
    book.close()
    return held.getvalue()


def inputs(workshop: Workshop) -> bytes:
    """Return an input workbook with every sheet, and the workshop's records in them."""
    held = io.BytesIO()
    book = Book(held)
    _describe(book, "Input workbook")
    for sheet in SHEETS:
        write_input(book, sheet, getattr(workshop, sheet.key))
    book.close()
    return held.getvalue()


def _describe(book: Book, title: str) -> None:
    book.file.set_properties({"title": title, "created": _CREATED, "comments": f"Written by scaler {__version__}"})
    book.file.set_custom_property(MADE_BY, MAKER)
    book.file.set_custom_property("seal", BLANK_SEAL)
