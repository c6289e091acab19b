"""The tables of a workshop with their rules: every step of a run of batches, and the tables ready for them."""

from __future__ import annotations

from collections.abc import Sequence

from scaler.formula.steps import Step, Tables
from scaler.model.records import Workshop
from scaler.rules import batch, sheets
from scaler.rules.tables import tables_of
from scaler.validation import gates, issues


def steps_of(tables: Tables, more: Sequence[Step] = ()) -> tuple[Step, ...]:
    """Return every step of the tables that are there, and more that stand behind the same gates."""
    every = (*sheets.STEPS, *gates.behind_gates((*batch.STEPS, *more)), *gates.STEPS, *issues.steps_of(tables))
    return tuple(step for step in every if step.table in tables.columns)


def started(workshop: Workshop) -> Tables:
    """Return the tables of a run of batches, ready for their steps."""
    tables = tables_of(workshop)
    issues.start(tables)
    return tables
