"""After any edit of an input cell, the recalculated workbook says what the engine says of the edited input."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from recalculation import IronCalc, same

import scaler
from scaler import units
from scaler.compute.batch import scale
from scaler.compute.results import Run
from scaler.compute.tables import serial
from scaler.demo import FILES, shipped
from scaler.model import SHEETS, Workshop, setting_declared
from scaler.schema import DATE, NUMBER, PERCENT, REFERENCE, UNIT, WHOLE, Sheet, columns
from scaler.write.layout import FIRST_ROW, Layout

MASTER = ("Checks", "B1")
REFUSED = "NOT ALL CHECKS HOLD"


@dataclass(frozen=True)
class Edit:
    """One input cell typed over."""

    sheet: Sheet
    index: int
    field: str
    value: Any

    def __str__(self) -> str:
        """Say what was typed where."""
        return f"{self.sheet.name} row {FIRST_ROW + self.index}, {self.field} = {self.value}"

    def made(self, workshop: Workshop) -> Workshop:
        """Return the workshop with the edit in it."""
        records = list(getattr(workshop, self.sheet.key))
        records[self.index] = replace(records[self.index], **{self.field: self.value})
        return replace(workshop, **{self.sheet.key: tuple(records)})


def typed_over(workshop: Workshop) -> Iterator[Edit]:
    """Yield an edit of every filled cell that a partner may change: numbers, units, names and dates."""
    names = {
        "Mould": [mould.mould for mould in workshop.moulds],
        "Recipe": [recipe.recipe for recipe in workshop.recipes],
    }
    for sheet in SHEETS:
        if sheet.key in ("market", "on_hand", "costs"):
            continue
        for index, record in enumerate(getattr(workshop, sheet.key)):
            for field, column in columns(sheet.record).items():
                value = getattr(record, field)
                if value is None:
                    continue
                if column.kind in (NUMBER, PERCENT):
                    yield Edit(sheet, index, field, value * 0.93)
                elif column.kind == WHOLE:
                    yield Edit(sheet, index, field, value + 1)
                elif column.kind == UNIT:
                    kind = units.find(value)
                    others = [word for word in units.words(kind.kind if kind else "") if word != value]
                    yield from (Edit(sheet, index, field, word) for word in others[:1])
                elif column.kind == REFERENCE and sheet.key == "batches":
                    yield from (Edit(sheet, index, field, other) for other in names[column.refers] if other != value)
                elif column.kind == DATE:
                    yield Edit(sheet, index, field, value.replace(day=value.day % 28 + 1))


def settings_typed_over(workshop: Workshop) -> Iterator[Edit]:
    """Yield an edit of every numeric setting."""
    costs = next(sheet for sheet in SHEETS if sheet.key == "costs")
    for index, (line, item) in enumerate(zip(workshop.costs, setting_declared().values(), strict=True)):
        if item.kind in (NUMBER, PERCENT):
            value = line.value if isinstance(line.value, int | float) else item.default
            if isinstance(value, float | int):
                yield Edit(costs, index, "value", value * 0.9 + (0.01 if item.kind == PERCENT else 0.0))
        elif item.choices:
            yield Edit(costs, index, "value", item.choices[-1])


class Sheetful:
    """A finished workbook in an engine, where one edit at a time is made and taken back."""

    def __init__(self, run: Run, path: Path) -> None:
        """Write and load the workbook."""
        scaler.write(run, path)
        self.run, self.engine = run, IronCalc(path)
        self.layout = Layout(run.tables)

    def type_in(self, edit: Edit, value: Any) -> None:
        """Type a value into an edit's cell and recalculate."""
        spot = self.layout.spots[edit.sheet.key, edit.field]
        place = (self.engine.sheets[spot.sheet], FIRST_ROW + edit.index, spot.number)
        if isinstance(value, str):
            self.engine.model.update_cell_with_text(*place, value)
        elif hasattr(value, "toordinal"):
            self.engine.model.update_cell_with_number(*place, serial(value))
        else:
            self.engine.model.update_cell_with_number(*place, float(value))
        self.engine.model.evaluate()

    def differences(self, tables: Any) -> list[str]:
        """Return the workings whose recalculated value is not the engine's."""
        found = []
        for (table, name), spot in self.layout.spots.items():
            if spot.sheet in {sheet.name for sheet in SHEETS}:
                continue
            number = self.engine.sheets[spot.sheet]
            for index, wanted in enumerate(tables.column(table, name)):
                got = self.engine.model.get_cell_value(number, FIRST_ROW + index, spot.number)
                wanted = "" if wanted is None else wanted
                if not same(float(wanted) if isinstance(wanted, int) else wanted, "" if got is None else got):
                    found.append(f"{spot.sheet}!{spot.letters}{FIRST_ROW + index} ({name}): {got!r}, engine {wanted!r}")
        return found

    def fault_of(self, edit: Edit) -> str:
        """Return what is wrong after an edit, "" when the workbook and the engine agree; take the edit back."""
        old = getattr(getattr(self.run.workshop, edit.sheet.key)[edit.index], edit.field)
        self.type_in(edit, edit.value)
        again = scale(edit.made(self.run.workshop))
        if again.problems:
            says = self.engine.value(*MASTER)
            fault = "" if says == REFUSED else f"{edit}: the engine refuses ({again.problems[0].code}), Checks say {says}"
        else:
            wrong = self.differences(again.tables)
            fault = f"{edit}: {len(wrong)} differ, such as {wrong[0]}" if wrong else ""
        if old is None:
            place = self.layout.spots[edit.sheet.key, edit.field]
            self.engine.model.clear_cell_contents(self.engine.sheets[place.sheet], FIRST_ROW + edit.index, place.number)
        else:
            self.type_in(edit, old)
        return fault


@pytest.mark.parametrize("part", range(4))
def test_demo_follows_every_edit(part: int, tmp_path: Path) -> None:
    """An edit of a cell of the demo gives what the engine makes of it; where the engine refuses, Checks do not hold."""
    run = scaler.scale(scaler.load(*(shipped() / name for name in FILES)))
    held = Sheetful(run, tmp_path / "finished.xlsx")
    edits = [*typed_over(run.workshop), *settings_typed_over(run.workshop)]
    chosen = random.Random(part).sample(edits, 45)
    assert [fault for fault in map(held.fault_of, chosen) if fault] == []
