"""Which safety notes the things of the recipes make necessary: milk, sugar, acid, spirits, KOH, ready-made lye."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import any_of, same, when
from scaler.formula.searching import at
from scaler.formula.steps import Step, StepGroup, Tables
from scaler.formula.sums import count_where, nth_smallest, total, total_where
from scaler.model.reference import Row, rows_of

NOTES = StepGroup("notes")
MILK = "milk"
"""Needs a note where it is in the lye."""
KOH, SOLUTION = "KOH", "solution"
"""Needs that no watched word of a name says."""


def notes() -> tuple[Row, ...]:
    """Return the safety notes: section, text, need ("" for one that always holds), source and mark of each."""
    return rows_of("safety_notes.csv")


def start(tables: Tables) -> None:
    """Begin the table of notes that not every batch needs."""
    rows = [note for note in notes() if note["need"]]
    held = [(note["need"], note["text"], authority(note), place + 1.0) for place, note in enumerate(rows)]
    tables.start_rows("notes", ("need", "text", "authority", "place"), held)


def authority(note: Row) -> str:
    """Return who says a note, and how that is known.

    >>> authority({"source": "ISO 695", "mark": "memory"}), authority({"source": "", "mark": "common practice"})
    ('ISO 695 (from memory, not checked)', 'common practice, no source')
    """
    if note["mark"] == "common practice":
        return "common practice, no source"
    return note["source"] + (" (from memory, not checked)" if note["mark"] == "memory" else "")


@NOTES.step("")
def needed(
    need: Text, lines_line_watch: Column, lines_beside_lye: Column, recipes_koh_part: Column,
    recipes_solution_water_part: Column,
) -> Number:  # fmt: skip
    """1 where a recipe holds what the note is about. [g/g] [g/g] -> [-]."""
    koh, solution = total(recipes_koh_part) > 0, total(recipes_solution_water_part) > 0
    alkali = when(same(need, KOH), koh, solution)
    held = count_where(lines_line_watch, need)
    named = when(same(need, MILK), total_where(lines_line_watch, need, lines_beside_lye), held) > 0
    return when(when(any_of(same(need, KOH), same(need, SOLUTION)), alkali, named), 1, 0)


@NOTES.step("")
def note_order(needed: Number, place: Number, big: Number) -> Number:
    """Place of a note that is needed, more than any place for one that is not. -> [-]."""
    return when(needed > 0, place, big)


@NOTES.step("")
def note_at(place: Number, notes_note_order: Column, big: Number) -> Number:
    """Row of the note that comes at this place of those needed, 0 when there are not so many. -> [-]."""
    found = nth_smallest(notes_note_order, place, big)
    return when(found < big, found, 0)


def _shown(note_at: Number, column: Column) -> Text:
    return when(note_at > 0, at(column, note_at), "")


@NOTES.step("text")
def note_text(note_at: Number, notes_text: Column) -> Text:
    """Words of the note, blank for none. -> [-]."""
    return _shown(note_at, notes_text)


@NOTES.step("text")
def note_authority(note_at: Number, notes_authority: Column) -> Text:
    """Who says so, and how that is known: read, from memory, common practice. -> [-]."""
    return _shown(note_at, notes_authority)


STEPS: tuple[Step, ...] = tuple(NOTES.steps)
