"""Whatever stands in an input cell, the finished workbook says what the engine says, or that its checks do not hold."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from opened import Whole
from recalculation import IronCalc, plain, same
from typing_in import typed_over
from workbooks import demo
from workshops import LITRE, TODAY, koh, naoh, oil, pack, settings_lines, thing

import scaler
from scaler.model import units
from scaler.model.records import COSTS, SHEETS, Batch, Mould, Recipe, RecipeLine, Workshop, setting_declared
from scaler.model.schema import (
    CHOICE,
    DATE,
    NAME,
    NUMBER,
    PERCENT,
    REFERENCE,
    TEXT,
    UNIT,
    WHOLE,
    YES_NO,
    Sheet,
    columns,
)
from scaler.read import cells
from scaler.read.checks import LONGEST_CURE, LOWEST_PURITY, SHARES_WITHIN
from scaler.engine import scale
from scaler.rules.results import Run
from scaler.rules.sheets import serial
from scaler.write.finished import finished, inputs
from scaler.write.layout import FIRST_ROW, Layout
from scaler.write.tabs import checks

REFUSED = "NOT ALL CHECKS HOLD"
NOT_TRIED = {
    ("costs", "Days off"): "a list of weekdays, which no formula reads",
}
LAID_OUT = ("constants", "slots", "effects")
"""Tables that have as many rows as the longest recipe asks for, or hold that number."""
EARLY, LATE = date(2019, 1, 1), date(2027, 6, 1)


def shop() -> Workshop:
    """Return a small workshop with every kind of ingredient, shape, unit and way to write a recipe."""
    things = (
        oil("Olive oil", None), oil("Coconut oil", 255.0, sap_low=248.0, sap_high=265.0), oil("hedge fat", 195.0, density=0.9),
        naoh(purity=0.98, purity_high=0.99, opened=date(2026, 3, 1)), koh(purity=0.9),
        thing("liquor", "alkali", base="NaOH", purity=0.4, water=0.6),
        thing("goat", "liquid", water=0.87, fat=0.04), thing("vinegar", "liquid", sap=45.0, water=0.95),
        thing("Citric acid", "acid"), thing("scent", "fragrance", density=0.9, limit=0.05),
        thing("clay", "colour", density=2.4), thing("honey", "additive", density=1.4, division=0.1, division_unit="g"),
        thing("band", "packaging", stock=40.0, stock_unit="each"),
    )  # fmt: skip
    prices = [pack(item.ingredient, 9.0 + place, holds=2.0, unit="each" if item.kind == "packaging" else "kg", delivery=1.0)
              for place, item in enumerate(things)]  # fmt: skip
    prices.append(pack("Olive oil", 30.0, holds=5.0, unit="L", date=date(2026, 1, 5)))
    moulds = (
        LITRE,
        Mould(
            mould="box",
            shape="box",
            unit="cm",
            length=25.0,
            width=8.0,
            depth=7.0,
            liner=0.1,
            fill=0.9,
            bar_cut=2.5,
            trim=0.5,
        ),
        Mould(
            mould="taper",
            shape="taper",
            unit="in",
            length=9.0,
            width=3.0,
            depth=3.0,
            top_length=10.0,
            top_width=4.0,
            bars=9,
        ),
        Mould(mould="tube", shape="cylinder", unit="cm", diameter=7.0, length=30.0, bar_cut=2.0, owned=2),
        Mould(mould="trough", shape="half cylinder", unit="mm", diameter=90.0, length=400.0, fill=0.8, bar_cut=25.0),
        Mould(mould="tray", shape="cavities", cavities=6, capacity=110.0, capacity_unit="g"),
    )
    recipes = (
        Recipe(recipe="by share", superfat=0.06, lye_concentration=0.3, alkali="soda", second_alkali="potash", koh_share=0.1,
               labour_minutes=60.0, labour_minutes_per_bar=2.0, cure_days=30.0),
        Recipe(recipe="by weight", superfat=0.08, alkali="soda", cure_loss=0.1),
        Recipe(recipe="solution", superfat=0.05, liquid_to_alkali=2.5, alkali="liquor"),
    )  # fmt: skip
    return Workshop(
        ingredients=things, prices=tuple(prices), moulds=moulds, recipes=recipes, lines=tuple(_lines()),
        batches=(
            Batch(batch="1", recipe="by share", mould="box", moulds_filled=2, make_date=date(2026, 12, 1)),
            Batch(batch="2", recipe="by weight", mould="trough"),
            Batch(batch="3", recipe="solution", mould="tray", moulds_filled=3),
        ),
        costs=settings_lines(
            {"labour_rate": 14.0, "overhead": 2.0, "batter_loss": 0.02, "reject_share": 0.05, "sales_tax": 0.2,
             "card_fee": 0.02, "workshop_division": 0.1, "pot_size": 9.0, "price_step": 0.25}, {}),
    )  # fmt: skip


def _lines() -> Iterator[RecipeLine]:
    for name, share in (("Olive oil", 0.6), ("Coconut oil", 0.3), ("hedge fat", 0.1)):
        yield RecipeLine(recipe="by share", ingredient=name, share=share)
    yield RecipeLine(recipe="by share", ingredient="goat", share=0.5)
    yield RecipeLine(recipe="by share", ingredient="vinegar", share=0.5)
    yield RecipeLine(recipe="by share", ingredient="Citric acid", share=0.01)
    yield RecipeLine(recipe="by share", ingredient="scent", amount=20.0, unit="g/kg", stage="trace")
    yield RecipeLine(recipe="by share", ingredient="clay", amount=1.0, unit="tsp/lb", stage="trace")
    yield RecipeLine(recipe="by share", ingredient="band", amount=1.0, unit="each/bar")
    yield RecipeLine(recipe="by weight", ingredient="Olive oil", amount=20.0, unit="oz")
    yield RecipeLine(recipe="by weight", ingredient="Coconut oil", amount=1.0, unit="cup")
    yield RecipeLine(recipe="by weight", ingredient="goat", amount=3.0, unit="oz", in_lye="no")
    yield RecipeLine(recipe="by weight", ingredient="vinegar", amount=7.0, unit="oz")
    yield RecipeLine(recipe="by weight", ingredient="honey", amount=2.0, unit="tbsp")
    yield RecipeLine(recipe="by weight", ingredient="band", amount=2.0, unit="each/batch")
    yield RecipeLine(recipe="solution", ingredient="Olive oil", share=1.0)


# --- edits ---

Edit = tuple[Sheet, int, str, Any]


def typed(kind: str, old: Any, choices: Sequence[str], names: Sequence[str]) -> list[Any]:
    """Return what somebody may type into a cell: right, wrong, or nothing."""
    number = old if isinstance(old, int | float) else 0.4
    values: dict[str, list[Any]] = {
        NUMBER: [number * 0.93, 0.0, -1.0, number * 1000, 2e9, 1e-10, "word"],
        PERCENT: [number * 0.93, 0.0, 1.0, -0.05, 1.5, "word"],
        WHOLE: [int(number) + 1, 0, -1, 1.5, "word"],
        UNIT: [*units.words(*choices), "stone", "cm", "kg", "each", "min"],
        REFERENCE: [*names, "nobody"],
        NAME: [f"{old} new", *names[:1]],
        DATE: [EARLY, LATE, date(1950, 1, 1), "word"],
        CHOICE: [*choices, "nonsense"],
        YES_NO: ["yes", "no", "maybe"],
        TEXT: ["oils", "words"],
    }  # fmt: skip
    return [value for value in [*values.get(kind, []), None] if value != old]


def edits(workshop: Workshop) -> Iterator[Edit]:
    """Yield every edit of every input cell, filled or blank."""
    names = {
        "Ingredient": [item.ingredient for item in workshop.ingredients],
        "Recipe": [item.recipe for item in workshop.recipes],
        "Mould": [item.mould for item in workshop.moulds],
    }
    for sheet in SHEETS:
        for index, record in enumerate(getattr(workshop, sheet.key)):
            if sheet is COSTS:
                item = list(setting_declared().values())[index]
                if (sheet.key, item.name) in NOT_TRIED:
                    continue
                old = record.value if record.value is not None else item.default
                yield from ((sheet, index, "value", value) for value in typed(item.kind, old, item.choices, []))
                if item.unit_kinds:
                    yield from ((sheet, index, "unit", word) for word in typed(UNIT, record.unit, item.unit_kinds, []))
                continue
            for name, column in columns(sheet.record).items():
                known = names.get(column.refers or column.header, [])
                values = typed(column.kind, getattr(record, name), column.choices, known)
                yield from ((sheet, index, name, value) for value in values)


def kind_of(workshop: Workshop, edit: Edit) -> tuple[Any, ...]:
    """Return what kind of edit it is: the column, whether it was blank, and what sort of value is typed."""
    sheet, index, name, value = edit
    old = getattr(getattr(workshop, sheet.key)[index], name)
    sort: Any = value
    if isinstance(value, str):
        unit, column = units.find(value), columns(sheet.record)[name]
        sort = unit.kind if unit else "name" if column.kind == REFERENCE and value != "nobody" else value
    elif value is not None:
        sort = "date" if hasattr(value, "year") else (value > 1e-9, value < 0, value == 0, value > 1e9)
    return sheet.key, index if sheet is COSTS else name, name, old is None, sort


def made(workshop: Workshop, edit: Edit) -> Workshop:
    """Return the workshop with an edit in it."""
    sheet, index, name, value = edit
    records = list(getattr(workshop, sheet.key))
    records[index] = replace(records[index], **{name: value})
    return replace(workshop, **{sheet.key: tuple(records)})


def chosen(workshop: Workshop, each: int) -> list[Edit]:
    """Return so many edits of each kind, chosen at random, always the same ones."""
    shuffled = list(edits(workshop))
    random.Random(0).shuffle(shuffled)
    found: dict[tuple[Any, ...], list[Edit]] = {}
    for edit in shuffled:
        found.setdefault(kind_of(workshop, edit), []).append(edit)
    return [edit for held in found.values() for edit in held[:each]]


class StoredCell:
    """The workshop's finished workbook in an independent engine."""

    def __init__(self, run: Run, folder: Path) -> None:
        """Write and load it."""
        self.run, self.folder, self.layout = run, folder, Layout(run.tables)
        scaler.write(run, folder / "finished.xlsx")
        self.engine = IronCalc(folder / "finished.xlsx")
        self.inputs = inputs(run.workshop)
        self.spots = [
            (name, spot)
            for name, spot in self.layout.spots.items()
            if spot.sheet not in {sheet.name for sheet in SHEETS}
        ]

    def type_in(self, edit: Edit) -> None:
        """Type an edit's value into its cell."""
        sheet, index, name, value = edit
        spot = self.layout.spots[sheet.key, name]
        place = (self.engine.sheets[spot.sheet], FIRST_ROW + index, spot.number)
        if value is None:
            self.engine.model.clear_cell_contents(*place)
        elif isinstance(value, str):
            self.engine.model.update_cell_with_text(*place, value)
        else:
            self.engine.model.update_cell_with_number(*place, float(serial(value) if hasattr(value, "year") else value))

    def differs(self, again: Run) -> str:
        """Return a figure of the recalculated workings that is not the engine's, "" when there is none."""
        for (table, name), spot in self.spots:
            held = again.tables.column(table, name)
            if len(held) != self.run.tables.lengths[table] and table not in LAID_OUT:
                return f"{spot.sheet} has {len(held)} rows"
            if again.tables.lengths["slots"] != self.run.tables.lengths["slots"] and table in LAID_OUT:
                continue
            for index, value in enumerate(held):
                found = self.engine.model.get_cell_value(self.engine.sheets[spot.sheet], FIRST_ROW + index, spot.number)
                if not same(float(value) if isinstance(value, int) else plain(value), plain(found)):
                    return f"{spot.sheet}, {name}: {found!r}, engine {value!r}"
        return ""

    def fault_of(self, edit: Edit) -> str:
        """Return in what the workbook lies after an edit, "" when it does not; take the edit back."""
        sheet, index, name, value = edit
        cell = f"{self.layout.spots[sheet.key, name].letters}{FIRST_ROW + index}"
        (self.folder / "edited.xlsx").write_bytes(typed_over(self.inputs, {(sheet.name, cell): value}))
        again = scale(scaler.load(self.folder / "edited.xlsx", today=TODAY))
        old = getattr(getattr(self.run.workshop, sheet.key)[index], name)
        self.type_in(edit)
        self.engine.model.evaluate()
        says = self.engine.value("Checks", "B1")
        what = f"{sheet.name}, row {FIRST_ROW + index}, {name}: {old!r} -> {value!r}"
        fault = ""
        if again.problems:
            fault = "" if says == REFUSED else f"{what}: refused ({again.problems[0].code}), but {says}"
        elif says != REFUSED:
            wrong = self.differs(again)
            fault = f"{what}: {wrong}" if wrong else ""
        self.type_in((sheet, index, name, old))
        return fault


PARTS = 4


@pytest.mark.parametrize("part", range(PARTS))
def test_workbook_never_lies(part: int, tmp_path: Path) -> None:
    """After any edit the workbook has the engine's figures of the edited file, or says that its checks do not hold."""
    run = scale(scaler.load(_saved(shop(), tmp_path), today=TODAY))
    assert run.problems == ()
    held = StoredCell(run, tmp_path)
    assert held.engine.value("Checks", "B1") != REFUSED
    mine = chosen(run.workshop, 1)[part::PARTS]
    assert len(mine) > 100
    faults = [fault for fault in map(held.fault_of, mine) if fault]
    assert faults == []


def _saved(workshop: Workshop, folder: Path) -> Path:
    (folder / "my.xlsx").write_bytes(inputs(workshop))
    return folder / "my.xlsx"


RENAMED = (("ingredients", "Olive oil", "Sunflower oil"), ("recipes", "by share", "best"), ("moulds", "box", "crate"))


@pytest.mark.parametrize(("key", "old", "new"), RENAMED)
def test_renamed_everywhere(key: str, old: str, new: str, tmp_path: Path) -> None:
    """A name changed wherever it stands is followed; an ingredient's, which published values hang on, needs the engine."""
    run = scale(scaler.load(_saved(shop(), tmp_path), today=TODAY))
    held = StoredCell(run, tmp_path)
    workshop = run.workshop
    for sheet in SHEETS:
        for index, record in enumerate(getattr(workshop, sheet.key)):
            for name, column in columns(sheet.record).items():
                if column.kind in (NAME, REFERENCE) and getattr(record, name) == old:
                    edit = (sheet, index, name, new)
                    workshop = made(workshop, edit)
                    held.type_in(edit)
    held.engine.model.evaluate()
    again = scale(scaler.load(_saved(workshop, tmp_path), today=TODAY))
    assert again.problems == ()
    if key == "ingredients":
        assert held.engine.value("Checks", "B1") == REFUSED
    else:
        assert held.engine.value("Checks", "B1") != REFUSED
        assert held.differs(again) == ""


def test_checks_have_the_readers_limits() -> None:
    """What Checks takes for a slip of the hand is what the reader does."""
    constants = {
        "largest_number": cells.LARGEST, "smallest_number": cells.SMALLEST,
        "first_day": serial(date(cells.YEARS[0], 1, 1)), "last_day": serial(date(cells.YEARS[-1], 12, 31)),
        "cure_longest": LONGEST_CURE, "purity_least": LOWEST_PURITY, "shares_within": SHARES_WITHIN,
    }  # fmt: skip
    tables = scale(shop()).tables
    assert {name: tables.one("constants", name) for name in constants} == constants


@pytest.mark.parametrize(
    ("says", "do"),
    [
        ("Ingredients, Opened: cells that hold no date", "Type a date, such as 2026-11-25."),
        ("Ingredients, Purity % to Purity high %: cells that hold no percentage above 0", "Type a percentage: 5 % as 5% or 0.05."),
        ("Prices, Pack: cells that hold no number above 0", "Type a number alone, such as 12.5."),
        ("Moulds, Mould: cells that are blank in a filled row", "Fill the cell, or clear its row."),
        ("Recipe lines, In lye: cells that hold no yes and no no", "Type yes or no, or clear the cell."),
        ("Costs, Display units: not a word of the list", "Type one of: g, oz."),
        ("Costs, Pot size: not a unit of volume", "Take a unit of volume from sheet Units."),
        ("Costs, Worked out on: values that are no date", "Type a date, such as 2026-11-25."),
    ],
)  # fmt: skip
def test_hint_suits_the_cell(says: str, do: str) -> None:
    """Beside a refused entry, Checks say what a cell of that kind takes."""
    page = Whole.of(finished(demo(), (checks.write,))).pages["Checks"]
    hints = {page.value(row, 1): page.value(row, 4) for row, column in page.cells if column == 1}
    assert hints[says] == do
