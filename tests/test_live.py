"""After any edit of an input cell, the recalculated workbook says what the engine says of the edited input."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from recalculation import WITHIN, IronCalc, plain, same, through_libreoffice
from test_compute_balance import workshops

import scaler
from scaler import units
from scaler.compute.batch import scale
from scaler.compute.results import Run
from scaler.compute.tables import serial
from scaler.demo import FILES, shipped
from scaler.model import SHEETS, Workshop, setting_declared
from scaler.schema import DATE, NUMBER, PERCENT, REFERENCE, UNIT, WHOLE, Column, Sheet, columns
from scaler.write.layout import FIRST_ROW, Layout

MASTER = ("Checks", "B1")
BALANCES = {"mass_balance_g": "batter_g", "volume_balance_ml": "batter_ml", "cost_balance": "total_cost"}
"""Balances, and what they are balances of."""
TINY = 1e-9
"""The reader refuses numbers that are nearer to nothing."""
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
    """Yield edits of every filled cell that a partner may change: numbers, units, names and dates."""
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
                if value is not None:
                    others = names.get(column.refers, []) if sheet.key == "batches" else []
                    yield from (Edit(sheet, index, field, new) for new in other_values(column, value, others))


def other_values(column: Column, value: Any, names: list[str]) -> list[Any]:
    """Return what a partner might type over a value."""
    if column.kind in (NUMBER, PERCENT):
        return [value * 0.93]
    if column.kind == WHOLE:
        return [value + 1]
    if column.kind == UNIT:
        kind = units.find(value)
        return [word for word in units.words(kind.kind if kind else "") if word != value][:1]
    if column.kind == REFERENCE:
        return [name for name in names if name != value]
    return [value.replace(day=value.day % 28 + 1)] if column.kind == DATE else []


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


def differences(layout: Layout, tables: Any, found: Callable[[str, int, int], Any]) -> list[str]:
    """Return the workings whose recalculated value is not what the engine has in its tables."""
    wrong = []
    for (table, name), spot in layout.spots.items():
        if spot.sheet in {sheet.name for sheet in SHEETS}:
            continue
        for index, held in enumerate(tables.column(table, name)):
            got = plain(found(spot.sheet, FIRST_ROW + index, spot.number))
            if name in BALANCES and isinstance(got, int | float):
                # What is left of a sum that is 0 is the last digits of its parts: held to the size of those.
                whole = max(1.0, abs(tables.column(table, BALANCES[name])[index]))
                if max(abs(got), abs(held)) <= WITHIN * whole:
                    continue
            if not same(float(held) if isinstance(held, int) else plain(held), got):
                wrong.append(f"{spot.sheet}!{spot.letters}{FIRST_ROW + index} ({name}): {got!r}, engine {held!r}")
    return wrong


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
        model, sheets = self.engine.model, self.engine.sheets
        return differences(
            self.layout, tables, lambda sheet, row, column: model.get_cell_value(sheets[sheet], row, column)
        )

    def fault_of(self, edit: Edit) -> str:
        """Return what is wrong after an edit, "" when the workbook and the engine agree; take the edit back."""
        old = getattr(getattr(self.run.workshop, edit.sheet.key)[edit.index], edit.field)
        self.type_in(edit, edit.value)
        again = scale(edit.made(self.run.workshop))
        if again.problems:
            says = self.engine.value(*MASTER)
            fault = (
                "" if says == REFUSED else f"{edit}: the engine refuses ({again.problems[0].code}), Checks say {says}"
            )
        else:
            wrong = self.differences(again.tables)
            fault = f"{edit}: {len(wrong)} differ, such as {wrong[0]}" if wrong else ""
        if old is None:
            place = self.layout.spots[edit.sheet.key, edit.field]
            self.engine.model.clear_cell_contents(self.engine.sheets[place.sheet], FIRST_ROW + edit.index, place.number)
        else:
            self.type_in(edit, old)
        return fault


def demo() -> Run:
    """Return the demo worked out."""
    return scaler.scale(scaler.load(*(shipped() / name for name in FILES)))


@pytest.mark.parametrize("part", range(4))
def test_demo_follows_every_edit(part: int, tmp_path: Path) -> None:
    """An edit of a cell of the demo gives what the engine makes of it; where the engine refuses, Checks do not hold."""
    run = demo()
    held = Sheetful(run, tmp_path / "finished.xlsx")
    edits = [*typed_over(run.workshop), *settings_typed_over(run.workshop)]
    chosen = random.Random(part).sample(edits, 20)
    assert [fault for fault in map(held.fault_of, chosen) if fault] == []


@settings(
    max_examples=200,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
@given(workshop=workshops(), seed=st.integers(0, 2**32))
def test_any_workshop_follows_an_edit(workshop: Workshop, seed: int, tmp_path_factory: pytest.TempPathFactory) -> None:
    """A workbook of any workshop follows edits of its cells as the engine does."""
    assume(all(not 0 < value < TINY for price in workshop.prices for value in (price.price, price.delivery or 0)))
    run = scale(workshop)
    assume(not run.problems)
    assume(all(not 0 < batch.cost.per_bar < TINY for batch in run.batches))
    held = Sheetful(run, tmp_path_factory.mktemp("any") / "finished.xlsx")
    assert held.differences(run.tables) == []
    edits = [*typed_over(run.workshop), *settings_typed_over(run.workshop)]
    chosen = random.Random(seed).sample(edits, 3)
    assert [fault for fault in map(held.fault_of, chosen) if fault] == []


def test_libreoffice_follows_edits(tmp_path: Path) -> None:
    """LibreOffice makes of 20 edited demo workbooks what the engine makes of them."""
    run = demo()
    scaler.write(run, tmp_path / "finished.xlsx")
    layout = Layout(run.tables)
    edits = random.Random(20).sample([*typed_over(run.workshop), *settings_typed_over(run.workshop)], 40)
    pairs = [(edit, scale(edit.made(run.workshop))) for edit in edits]
    sound = [(edit, again) for edit, again in pairs if not again.problems][:20]
    assert len(sound) == 20
    files = []
    for number, (edit, _) in enumerate(sound):
        book = openpyxl.load_workbook(tmp_path / "finished.xlsx")
        spot = layout.spots[edit.sheet.key, edit.field]
        book[spot.sheet].cell(FIRST_ROW + edit.index, spot.number).value = edit.value
        files.append(tmp_path / f"edited{number}.xlsx")
        book.save(files[-1])
    for (edit, again), path in zip(sound, through_libreoffice(tmp_path, *files), strict=True):
        book = openpyxl.load_workbook(path, data_only=True)
        wrong = differences(layout, again.tables, lambda sheet, row, column: book[sheet].cell(row, column).value)  # noqa: B023
        assert wrong == [], str(edit)
