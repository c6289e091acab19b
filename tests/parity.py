"""The parity table: whatever is typed, the engine refuses and warns exactly when the recalculated workbook does.

Every number, percentage, date, unit and name column of the sheets of a finished workbook, and every setting, takes at
least twelve values: blank, zero, negative, a text, ten and a hundred times too much and too little, and both sides of
each limit. Run as a command it prints the counts, and what disagrees:

    .venv/bin/python tests/parity.py
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import ironcalc
from opened import Whole
from typing_in import typed_over

from scaler.engine import scale
from scaler.model import records, schema
from scaler.model.records import Demand, MarketDay, OnHand
from scaler.model.schema import Column, columns, letters, limits, serial
from scaler.model.settings import setting_declared
from scaler.read.workshop import load
from scaler.validation.issues import TODO_LINES
from scaler.write.example import example
from scaler.write.finished import finished
from scaler.write.layout import FIRST_ROW
from scaler.write.tabs.checks import FIRST_LINE

TABLES = (
    records.INGREDIENTS, records.PRICES, records.MOULDS, records.RECIPES, records.LINES, records.BATCHES,
    records.MARKET, records.MARKET_DAYS, records.ON_HAND,
)  # fmt: skip
KINDS = (schema.NUMBER, schema.PERCENT, schema.WHOLE, schema.DATE, schema.UNIT, schema.NAME, schema.REFERENCE)
Cell = tuple[str, str]
Said = set[tuple[str, str]]


@dataclass(frozen=True)
class Typed:
    """What is typed into which cell, and what the cell is."""

    sheet: str
    cell: str
    header: str
    value: Any


@dataclass(frozen=True)
class Both:
    """What the engine and the workbook say of an edit: refusals as (cell, words), and warnings that the edit brought."""

    refused: Said
    refused_there: Said
    warned: set[str] = field(default_factory=set)
    warned_there: set[str] = field(default_factory=set)

    @property
    def kind(self) -> str:
        """Where the two agree or differ."""
        if bool(self.refused) != bool(self.refused_there):
            return "engine alone refuses" if self.refused else "workbook alone refuses"
        if self.refused:
            here = {cell for cell, _ in self.refused_there} <= {cell for cell, _ in self.refused}
            same = self.refused_there <= self.refused  # of a row the workbook says the first that is wrong
            return (
                "both refuse, same sentence"
                if same
                else "both refuse, other words"
                if here
                else "both refuse, elsewhere"
            )
        if bool(self.warned) != bool(self.warned_there):
            return "engine alone warns" if self.warned else "workbook alone warns"
        if self.warned != self.warned_there:
            return "both warn, other words"
        return "both warn" if self.warned else "both silent"


WRONG = (
    "engine alone refuses",
    "workbook alone refuses",
    "both refuse, elsewhere",
    "engine alone warns",
    "workbook alone warns",
)


def values_of(column: Column, now: Any) -> list[Any]:
    """Return what is typed into a cell of a column."""
    if column.kind in (schema.UNIT, schema.NAME, schema.REFERENCE):
        return [
            None, 0.0, -1.0, "twelve", 12.5, "g", "grams", "kg", "mL", "litres", "cm", "each", "each/bar", "g/kg", "h", "?",
            "???", "Olive oil", "Loaf mould", "First bar", "x" * 300,
        ]  # fmt: skip
    most = limits(column)[1]
    size = now if isinstance(now, int | float) and now else 1.0
    found = [None, 0.0, -size, "twelve", size, size * 10, size * 100, size / 10, size / 100, 1.0, 1e12]
    marks = [column.least, column.above, column.most, most, column.doubt_below, column.doubt_above]
    if column.kind == schema.DATE:
        marks, found = (
            [serial(schema.FIRST_DAY), serial(schema.LAST_DAY)],
            [None, 0.0, -1.0, "twelve", 46360.0, 4.6e5, 4.6e6, 4636.0, 463.6, 46360.5],
        )
    step = 1.0 if column.kind in (schema.WHOLE, schema.DATE) else 1e-4
    for mark in marks:
        if mark is not None and mark < 1e9:
            found += (
                [mark - step * max(abs(mark), 1.0), mark, mark + step * max(abs(mark), 1.0)]
                if step < 1
                else [mark - 1, mark, mark + 1]
            )
    return list(dict.fromkeys(found))


@cache
def handed_over() -> bytes:
    """Return a fresh workbook's finished one, with a market."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "fresh.xlsx"
        path.write_bytes(example("metric"))
        fresh = load([path])
    recipe, fair = fresh.recipes[0].recipe, date(2027, 6, 12)
    market = (Demand(recipe=recipe, bars=12, day="Fair", price=6.0), Demand(recipe=recipe, bars=5, needed_by=fair))
    days = (MarketDay(day="Fair", date=fair, stall_fee=30.0, days_ahead=2),)
    held = (OnHand(recipe=recipe, bars=8, ready_date=date(2027, 1, 2)),)
    return finished(scale(replace(fresh, market=market, market_days=days, on_hand=held)))


def edits() -> Iterator[Typed]:
    """Yield every edit: of the first row of each column, and of the value of each setting."""
    pages = Whole.of(handed_over()).pages
    for sheet in TABLES:
        for at, column in enumerate(columns(sheet.record).values(), 1):
            if column.kind in KINDS:
                now = pages[sheet.name].value(FIRST_ROW, at)
                for value in values_of(column, now):
                    yield Typed(sheet.name, f"{letters(at)}{FIRST_ROW}", column.header, value)
    for row, item in enumerate(setting_declared().values(), FIRST_ROW):
        column = Column(item.name, item.kind, "", least=item.least, above=item.above, most=item.most,
                        doubt_below=item.doubt_below, doubt_above=item.doubt_above)  # fmt: skip
        if item.kind in (*KINDS, schema.CHOICE):
            now = pages[records.COSTS.name].value(row, 2)
            for value in values_of(column, now) if item.kind != schema.CHOICE else [None, 0.0, "twelve", *item.choices]:
                yield Typed(records.COSTS.name, f"B{row}", item.name, value)
            if item.unit_kinds:
                for value in values_of(Column("Unit", schema.UNIT, ""), None):
                    yield Typed(records.COSTS.name, f"C{row}", f"{item.name} unit", value)


class Workbook:
    """The handed-over workbook, edited and recalculated by IronCalc."""

    def __init__(self, folder: Path) -> None:
        """Load it."""
        self.path = folder / "edited.xlsx"
        self.path.write_bytes(handed_over())
        self.model = ironcalc.load_from_xlsx(str(self.path), "en", "UTC", "en")
        names = [item["name"] for item in self.model.get_worksheets_properties()]
        self.number = {name: place for place, name in enumerate(names)}
        self.usual = self.engine()[1], self.there()[1]

    def engine(self) -> tuple[Said, set[str]]:
        """Return what the engine refuses and warns of."""
        run = scale(load([self.path]))
        refused = {(f"{item.place.sheet} {item.place.cell}", f"{item.says} {item.do}") for item in run.problems}
        warned = {warning.text for batch in run.batches for warning in batch.warnings}
        return refused, warned | {warning.text for _, warning in run.workshop.doubts}

    def there(self) -> tuple[Said, set[str]]:
        """Return what Checks refuses and warns of, recalculated."""
        self.model.evaluate()
        refused, warned = set(), set()
        for row in range(FIRST_LINE, FIRST_LINE + TODO_LINES):
            where, _, says, do = (
                str(self.model.get_cell_value(self.number["Checks"], row, at) or "") for at in range(1, 5)
            )
            level, _, cell = where.partition(": ")
            if level in ("do not make", "no cost", "no date", "not counted"):
                refused.add((cell, f"{says} {do}"))
            elif level:
                warned.add(f"{says} {do}")
        return refused, warned

    def both(self, edit: Typed) -> Both:
        """Return what both say of an edit, which is taken back."""
        at = (self.number[edit.sheet], int(edit.cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")), _column(edit.cell))
        was = self.model.get_cell_value(*at)
        self._type(at, edit.value)
        self.path.write_bytes(typed_over(handed_over(), {(edit.sheet, edit.cell): edit.value}))
        refused, warned = self.engine()
        refused_there, warned_there = self.there()
        self._type(at, was)
        return Both(refused, refused_there, warned - self.usual[0], warned_there - self.usual[1])

    def _type(self, at: tuple[int, int, int], value: Any) -> None:
        if value is None or value == "":
            self.model.clear_cell_contents(*at)
        elif isinstance(value, str):
            self.model.update_cell_with_text(*at, value)
        else:
            self.model.update_cell_with_number(*at, float(value))


def _column(cell: str) -> int:
    found = 0
    for sign in cell.rstrip("0123456789"):
        found = found * 26 + ord(sign) - 64
    return found


def held_against(chosen: list[Typed]) -> list[tuple[Typed, Both]]:
    """Return edits with what both say of them."""
    with tempfile.TemporaryDirectory() as folder:
        book = Workbook(Path(folder))
        return [(edit, book.both(edit)) for edit in chosen]


def sample(count: int, seed: int = 0) -> list[Typed]:
    """Return so many of the edits."""
    every = list(edits())
    return random.Random(seed).sample(every, min(count, len(every)))


def main(count: int) -> int:
    """Hold so many edits against one another and print what was counted."""
    found = held_against(sample(count))
    counts = Counter(both.kind for _, both in found)
    for edit, both in found:
        if both.kind in (*WRONG, "both refuse, other words", "both warn, other words"):
            print(f"{both.kind}: {edit.sheet} {edit.cell} ({edit.header}) {str(edit.value)[:30]!r}")
            print(f"    engine   {sorted(both.refused) or sorted(both.warned - both.warned_there)}"[:400])
            print(f"    workbook {sorted(both.refused_there) or sorted(both.warned_there - both.warned)}"[:400])
    print(f"{len(found)} edits of {len({(edit.sheet, edit.header) for edit, _ in found})} columns and settings")
    for kind, number in counts.most_common():
        print(f"{number:6} {kind}")
    return sum(counts[kind] for kind in WRONG)


if __name__ == "__main__":
    sys.exit(min(main(int(sys.argv[1]) if len(sys.argv) > 1 else 10**6), 1))
