"""What a name says a thing is (a metal, milk, sugar, an acid, lye), and what the safety notes must therefore say."""

from __future__ import annotations

from functools import cache, reduce

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, default_to, larger, opposite, same, when
from scaler.formula.searching import at, contains, last_lost, match, spread, word_at
from scaler.formula.steps import Step, StepGroup, Tables
from scaler.formula.sums import count_where, nth_smallest, total, total_where
from scaler.model.records import ADDITIVE, LIQUID
from scaler.model.reference import Row, rows_of
from scaler.rules.plain import keyed, picked, summed

INGREDIENTS = StepGroup("ingredients")
MOULDS = StepGroup("moulds")
LINES = StepGroup("lines")
BATCHES = StepGroup("batches")

METAL, CITRUS, SALT, SUGAR, MILK, DRINK, SPIRIT, SPICE, SOUR, ACIDIC, FATTY, LYE, SOAP = (
    "metal", "citrus", "salt", "sugar", "milk", "drink", "spirit", "spice", "sour", "acid", "fatty", "lye", "soap",
)  # fmt: skip
"""Meanings of words; where a name has several, the last of the table's rows counts."""


@cache
def watchwords() -> tuple[tuple[str, str], ...]:
    """Return the words and their meanings; the first row stands for a name that holds none.

    >>> watchwords()[1], watchwords()[-1]
    (('aluminium', 'metal'), ('magnesium', 'plain'))
    """
    return tuple((row["word"], row["meaning"]) for row in rows_of("watchwords.csv"))


def start(tables: Tables) -> None:
    """Begin the table of words."""
    tables.start_rows("watchwords", ("word", "meaning"), watchwords())


def _last_of(words: Text, orders: tuple[Number, ...], room: Number, known: Column) -> Number:
    """Place of the last of the known words among some words of a spread name, 0 when none is."""
    return reduce(larger, [match(word_at(words, order, room), known) for order in orders])


def first_words(name_words: Text, word_room: Number, two: Number, watchwords_word: Column) -> Number:
    """Place of the last watched word among the first three of the name, 0 for none. [-] [-] -> [-]."""
    return _last_of(name_words, (0, 1, two), word_room, watchwords_word)


def more_words(name_words: Text, word_room: Number, two: Number, three: Number, watchwords_word: Column) -> Number:
    """Place of the last watched word among the fourth to sixth of the name, 0 for none. [-] [-] -> [-]."""
    return _last_of(name_words, (three, 1 + three, two + three), word_room, watchwords_word)


def watch(first_words: Number, more_words: Number, watchwords_meaning: Column) -> Text:
    """What the name says the thing is, "none" for nothing that is watched. -> [-]; common practice, no source."""
    return at(watchwords_meaning, larger(larger(first_words, more_words), 1))


@INGREDIENTS.step("text")
def name_words(ingredient: Text, word_room: Number) -> Text:
    """The name with its words far apart. [-] -> [-]."""
    return spread(ingredient, word_room)


def mould_words(mould: Text, word_room: Number) -> Text:
    """The name with its words far apart. [-] -> [-]."""
    return spread(mould, word_room)


MOULDS.add("name_words", "text", mould_words)
for _rule in (first_words, more_words, watch):
    INGREDIENTS.add(_rule.__name__, "text" if _rule is watch else "", _rule)
    MOULDS.add(_rule.__name__, "text" if _rule is watch else "", _rule)


LINES.add("line_watch", "text", picked("ingredient_at", "ingredients_watch", "What the thing's name says it is.", ""))


@LINES.step("")
def beside_lye(kind: Text, in_lye: Text, stage_in_use: Text) -> Number:
    """1 for a liquid that goes into the lye, and for an additive at a stage of that name. -> [-]; our own rule."""
    poured = all_of(same(kind, LIQUID), opposite(same(default_to(in_lye, "yes"), "no")))
    return when(any_of(poured, all_of(same(kind, ADDITIVE), contains(stage_in_use, "lye"))), 1, 0)


LINES.add("watch_key", "text", keyed("recipe_at", "line_watch", "Recipe and what the name says, as one word."))
LINES.add("watch_part", "g/g", summed("watch_key", "lines_watch_key", "lines_part",
    "All things of the recipe whose names say the same, per gram of oils."))  # fmt: skip


@BATCHES.step("")
def lost_at(
    place: Number, batch_lines_batch_at: Column, batch_lines_g: Column, batch_lines_weigh_g: Column,
    batch_lines_place: Column,
) -> Number:  # fmt: skip
    """Row of a line that weighs less than its scale shows, 0 for none. [g] [g] -> [-]."""
    return last_lost(batch_lines_batch_at, place, batch_lines_g, batch_lines_weigh_g, batch_lines_place)


BATCHES.add("lost_name", "text", picked("lost_at", "batch_lines_ingredient",
    "Name of a thing that weighs less than its scale shows.", ""))  # fmt: skip


NOTES = StepGroup("notes")
KOH, SOLUTION = "KOH", "solution"
"""Needs that no watched word of a name says."""


def notes() -> tuple[Row, ...]:
    """Return the safety notes: section, text, need ("" for one that always holds), source and mark of each."""
    return rows_of("safety_notes.csv")


def start_notes(tables: Tables) -> None:
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


STEPS: tuple[Step, ...] = (*INGREDIENTS.steps, *MOULDS.steps, *LINES.steps, *BATCHES.steps, *NOTES.steps)
