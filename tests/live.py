"""Edits of a finished workbook's input cells, made in an independent engine and fed to ours."""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from recalculation import IronCalc, plain, same
from typing_in import typed_over

from scaler import load, scale
from scaler.model import units
from scaler.model.records import BATCHES, COSTS, SHEETS, Workshop, setting_declared
from scaler.model.schema import (
    CHOICE,
    DATE,
    NAME,
    NUMBER,
    PERCENT,
    REFERENCE,
    UNIT,
    WHOLE,
    YES_NO,
    Column,
    Sheet,
    columns,
)
from scaler.rules.results import Run
from scaler.rules.sheets import serial
from scaler.write.book import Book
from scaler.write.finished import TABS, finished, inputs
from scaler.write.layout import FIRST_ROW, Layout, Spot
from scaler.write.tabs.checks import NAME as CHECKS

REFUSED = "NOT ALL CHECKS HOLD"
MASTER = (CHECKS, "B1")
NEEDS_ENGINE = ("choice", "rename", "text", "thing")
"""Kinds of edit after which the workbook may ask for the engine instead of following."""


@dataclass(frozen=True)
class Edit:
    """One input cell typed over; `kind` says in what way."""

    sheet: Sheet
    index: int
    field: str
    value: Any
    kind: str

    def __str__(self) -> str:
        """Say what was typed where."""
        return f"{self.sheet.name} row {FIRST_ROW + self.index}, {self.field} = {self.value!r}"


def values(column: Column, old: Any, names: dict[str, list[str]]) -> Iterator[tuple[str, Any]]:
    """Yield what a partner may type over a cell, with the kind of edit."""
    if old is None:
        yield from ((f"fill: {kind}", value) for kind, value in values(column, _PLAUSIBLE.get(column.kind, ""), names))
        return
    if not column.required and column.kind not in (CHOICE, NAME, "text", "any"):
        yield "blank", None
    match column.kind:
        case "number" | "percent":
            yield from (("number", old * 0.93), ("zero", 0.0))
        case "whole number":
            yield "number", old + 1
        case "date":
            yield "date", old.replace(day=old.day % 28 + 1)
        case _:
            yield from _words(column, old, names)


def _words(column: Column, old: Any, names: dict[str, list[str]]) -> Iterator[tuple[str, Any]]:
    """Yield the other words that a partner may choose or type."""
    match column.kind:
        case "unit":
            yield from (("unit", word) for word in units.words(*column.choices) if word != old)
        case "reference":
            kind = "thing" if column.refers == "Ingredient" and "lkali" not in column.header else "name"
            yield from ((kind, word) for word in names[column.refers] if word != old)
        case "yes or no":
            yield from (("word", word) for word in ("yes", "no") if word != old)
        case "choice":
            yield from (("choice", word) for word in column.choices if word != old)
        case "name":
            yield "rename", f"{old} two"
        case _ if old:
            yield "text", "Helianthus annuus seed oil"


_PLAUSIBLE = {NUMBER: 3.0, PERCENT: 0.4, WHOLE: 1, REFERENCE: "-", UNIT: "-", YES_NO: "-"}
assert DATE not in _PLAUSIBLE


def edits(workshop: Workshop) -> dict[tuple[str, str, str], list[Edit]]:
    """Return every edit of a workshop, by sheet, column and kind."""
    names = {
        "Mould": [record.mould for record in workshop.moulds],
        "Recipe": [record.recipe for record in workshop.recipes],
        "Ingredient": [record.ingredient for record in workshop.ingredients],
    }
    found: dict[tuple[str, str, str], list[Edit]] = defaultdict(list)
    for sheet in SHEETS:
        if sheet.key in ("market", "on_hand", COSTS.key):
            continue
        for index, record in enumerate(getattr(workshop, sheet.key)):
            for field, column in columns(sheet.record).items():
                if (sheet, field) == (BATCHES, "batch") or (column.kind == DATE and getattr(record, field) is None):
                    continue
                for kind, value in values(column, getattr(record, field), names):
                    found[sheet.key, field, kind].append(Edit(sheet, index, field, value, kind))
    for edit in _of_settings(workshop):
        found[COSTS.key, str(edit.index), edit.kind].append(edit)
    return found


def _of_settings(workshop: Workshop) -> Iterator[Edit]:
    for index, (line, item) in enumerate(zip(workshop.costs, setting_declared().values(), strict=True)):
        if item.kind in (NUMBER, PERCENT):
            value = line.value if isinstance(line.value, int | float) else item.default
            number = float(value) if isinstance(value, int | float) else 9000.0
            yield Edit(COSTS, index, "value", number * 0.9 + 0.01, "number")
            if line.value is not None:
                yield Edit(COSTS, index, "value", None, "blank")
                yield from (Edit(COSTS, index, "unit", word, "unit") for word in units.words(*item.unit_kinds or ("",)))
        for word in item.choices:
            yield Edit(COSTS, index, "value", word, "word")


class _Kept(Book):
    """A workbook that is never written: it keeps what the engine computed for each formula of a result tab."""

    def __init__(self, run: Run) -> None:
        super().__init__(io.BytesIO(), run)
        self.values: dict[tuple[str, int, int], Any] = {}

    def live(self, sheet: Any, row: int, column: int, formula: str, value: object, look: Any = None) -> None:  # noqa: ARG002
        self.values[sheet.get_name(), row, column] = value


def results(run: Run) -> dict[tuple[str, int, int], Any]:
    """Return every figure of Overview, cards, Costing and the other result tabs as the engine computes it."""
    book = _Kept(run)
    for write in TABS:
        write(book)
    return {place: value for place, value in book.values.items() if place[0] != CHECKS}


def differing(run: Run, found: Callable[[str, int, int], Any]) -> list[str]:
    """Return the figures that are not the engine's."""
    wrong = []
    for (sheet, row, column), held in results(run).items():
        got, expected = plain(found(sheet, row, column)), plain(held)
        if not same(float(expected) if isinstance(expected, int) else expected, got):
            wrong.append(f"{sheet} row {row}, column {column}: {got!r}, engine {held!r}")
    return wrong


class Tables:
    """A finished workbook in an independent engine, where edits are made and taken back."""

    def __init__(self, run: Run, folder: Path, content: bytes = b"") -> None:
        """Load the workbook, written anew unless its content is given."""
        path = folder / "finished.xlsx"
        path.write_bytes(content or finished(run))
        self.run, self.folder, self.engine, self.layout = run, folder, IronCalc(path), Layout(run.tables)
        self.inputs = inputs(run.workshop)

    def value(self, sheet: str, row: int, column: int) -> Any:
        """Return the value of a cell."""
        return self.engine.model.get_cell_value(self.engine.sheets[sheet], row, column)

    def spot(self, edit: Edit) -> Spot:
        """Return the column of an edit's cell."""
        return self.layout.spots[edit.sheet.key, edit.field]

    def fed(self, *edits: Edit) -> Run:
        """Return what our engine makes of the edited input sheets, read from a file."""
        path = self.folder / "edited.xlsx"
        path.write_bytes(typed_over(self.inputs, {self.cell(edit): edit.value for edit in edits}))
        return scale(load(path))

    def cell(self, edit: Edit) -> tuple[str, str]:
        """Return sheet and address of an edit's cell."""
        spot = self.spot(edit)
        return spot.sheet, f"{spot.letters}{FIRST_ROW + edit.index}"

    def type_in(self, edit: Edit, value: Any) -> None:
        """Type a value into an edit's cell."""
        spot = self.spot(edit)
        place = (self.engine.sheets[spot.sheet], FIRST_ROW + edit.index, spot.number)
        if value is None:
            self.engine.model.clear_cell_contents(*place)
        elif isinstance(value, str):
            self.engine.model.update_cell_with_text(*place, value)
        else:
            self.engine.model.update_cell_with_number(*place, float(serial(value) if hasattr(value, "year") else value))  # type: ignore[arg-type]

    def fault_of(self, *edits: Edit) -> str:
        """Return what is wrong after edits, "" when the workbook and our engine agree; take the edits back."""
        for edit in edits:
            self.type_in(edit, edit.value)
        self.engine.model.evaluate()
        again, says = self.fed(*edits), self.engine.value(*MASTER)
        fault = self._fault(again, says, any(edit.kind.removeprefix("fill: ") in NEEDS_ENGINE for edit in edits))
        for edit in edits:
            self.type_in(edit, getattr(getattr(self.run.workshop, edit.sheet.key)[edit.index], edit.field))
        return f"{', '.join(map(str, edits))}: {fault}; Checks say {says}" if fault else ""

    def _fault(self, again: Run, says: str, may_ask: bool) -> str:
        if again.problems:
            return "" if says == REFUSED else f"the engine refuses ({again.problems[0].code})"
        if says == REFUSED and may_ask:
            return ""
        wrong = differing(again, self.value)
        return f"{len(wrong)} differ, such as {wrong[0]}" if wrong else ""
