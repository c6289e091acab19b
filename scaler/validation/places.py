"""Where an issue is mended, and the words that its column gives it."""

from __future__ import annotations

from scaler.formula.steps import Tables
from scaler.model.records import SHEETS
from scaler.rules.sheets import typed
from scaler.validation.issues import Issue

_KEYS = {sheet.key: sheet for sheet in SHEETS}

MOVING = ("outside", "doubted", "liquid_set")
"""Steps that name a number cell of their row, counted among the numbers of its sheet."""
HINTS = {"outside": "remedies", "doubted": "questions"}
"""The head that says what to do, by the step that names the cell."""


def column_at(tables: Tables, issue: Issue) -> str:
    """Return the column where an issue is mended."""
    at = issue.rule.at
    if at not in MOVING:
        return at
    place = int(tables.column(issue.rule.table, at)[issue.index])
    return tables.blocks[issue.rule.table]["numbers"][place - 1]


def hint_of(tables: Tables, issue: Issue, name: str) -> str:
    """Return what the schema says to do about a number of a column, "" where the rule has words of its own."""
    head = HINTS.get(issue.rule.at)
    if head is None:
        return ""
    numbers = tables.blocks[issue.rule.table]["numbers"]
    return str(tables.heads[issue.rule.table][head][numbers.index(name)])


def header_of(table: str, name: str) -> str:
    """Return the header of a typed column."""
    return typed(_KEYS[table])[name].header
