"""What a name says a thing is: a metal, milk, sugar, spirits, spice, an acid, lye. Rules ask when its Kind says otherwise."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files

from scaler.formula.helpers import Column, Number, Text, at, default_to, joined, larger, pick, tag, total_where
from scaler.formula.searching import last_lost, last_word_in
from scaler.formula.steps import Step, StepGroup, Tables

INGREDIENTS = StepGroup("ingredients")
MOULDS = StepGroup("moulds")
LINES = StepGroup("lines")
BATCHES = StepGroup("batches")

METAL, SALT, SUGAR, MILK, DRINK, SPIRIT, SPICE, SOUR, ACIDIC, FATTY, LYE = (
    "metal", "salt", "sugar", "milk", "drink", "spirit", "spice", "sour", "acid", "fatty", "lye",
)  # fmt: skip
"""Meanings of words; where a name has several, the last of the table's rows counts."""


@cache
def watchwords() -> tuple[tuple[str, str], ...]:
    """Return the words and their meanings; the first row stands for a name that holds none.

    >>> watchwords()[1], watchwords()[-1]
    ((' aluminium', 'metal'), (' koh ', 'lye'))
    """
    text = (files("scaler.model") / "data" / "watchwords.csv").read_text(encoding="utf-8")
    return tuple((row["word"], row["meaning"]) for row in csv.DictReader(text.splitlines()))


def start(tables: Tables) -> None:
    """Begin the table of words."""
    rows = watchwords()
    held = {"word": [word for word, _ in rows], "meaning": [meaning for _, meaning in rows]}
    tables.start("watchwords", len(rows), held | {"place": [place + 1.0 for place in range(len(rows))]})


def _meaning(name: Text, words: Column, places: Column, meanings: Column) -> Text:
    return at(meanings, larger(last_word_in(name, words, places), 1))


@INGREDIENTS.step("text")
def watch(
    ingredient: Text, inci: Text, watchwords_word: Column, watchwords_place: Column, watchwords_meaning: Column
) -> Text:
    """What its name or label name says it is, blank for nothing that is watched. -> [-]; common practice, no source."""
    named = joined(ingredient, " ", default_to(inci, ""))
    return _meaning(named, watchwords_word, watchwords_place, watchwords_meaning)


@MOULDS.step("text")
def mould_watch(mould: Text, watchwords_word: Column, watchwords_place: Column, watchwords_meaning: Column) -> Text:
    """What its name says it is made of, blank for nothing that is watched. -> [-]."""
    return _meaning(mould, watchwords_word, watchwords_place, watchwords_meaning)


@LINES.step("text")
def line_watch(ingredient_at: Number, ingredients_watch: Column) -> Text:
    """What the thing's name says it is. -> [-]."""
    return pick(ingredients_watch, ingredient_at, "")


@LINES.step("text")
def watch_key(recipe_at: Number, line_watch: Text) -> Text:
    """Recipe and what the name says, as one word. -> [-]."""
    return tag(recipe_at, line_watch)


@LINES.step("g/g")
def watch_part(watch_key: Text, lines_watch_key: Column, lines_part: Column) -> Number:
    """All things of the recipe whose names say the same, per gram of oils. [g/g] -> [g/g]."""
    return total_where(lines_watch_key, watch_key, lines_part)


@BATCHES.step("")
def lost_at(
    place: Number, batch_lines_batch_at: Column, batch_lines_g: Column, batch_lines_weigh_g: Column,
    batch_lines_place: Column,
) -> Number:  # fmt: skip
    """Row of a line that weighs less than its scale shows, 0 for none. [g] [g] -> [-]."""
    return last_lost(batch_lines_batch_at, place, batch_lines_g, batch_lines_weigh_g, batch_lines_place)


@BATCHES.step("text")
def lost_name(lost_at: Number, batch_lines_ingredient: Column) -> Text:
    """Name of a thing that weighs less than its scale shows. -> [-]."""
    return pick(batch_lines_ingredient, lost_at, "")


STEPS: tuple[Step, ...] = (*INGREDIENTS.steps, *MOULDS.steps, *LINES.steps, *BATCHES.steps)
