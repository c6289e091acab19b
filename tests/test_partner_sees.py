"""What a partner who was handed the workbook must see: cards that say all that is needed, and a list that counts right."""

from __future__ import annotations

import io
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from market_runs import market_run
from partner_edits import FEW, workbook
from recalculation import IronCalc, same, unlike
from test_tabs import market_workbook
from typing_in import typed_over
from workshops import made, naoh, oil, part, shop, table, thing

from scaler.audit import verify
from scaler.engine import scale
from scaler.market_run import work_out
from scaler.model.records import Batch, Mould
from scaler.planning import plan
from scaler.read.files import stored_values
from scaler.write.finished import finished
from scaler.write.tabs.overview import STATES


def seen_on(folder: Path, cells: dict[tuple[str, str], Any], *sheets: str) -> list[dict[str, Any]]:
    """Return what each of some tabs shows once something is typed, recalculated by another engine."""
    path = folder / "typed.xlsx"
    path.write_bytes(typed_over(workbook(FEW), cells))
    book, stored = IronCalc(path), stored_values(workbook(FEW))
    return [{cell: book.value(sheet, cell) for cell in (*stored[sheet], "E3")} for sheet in sheets]


def seen(folder: Path, cells: dict[tuple[str, str], Any], sheet: str) -> dict[str, Any]:
    """Return what one tab shows once something is typed."""
    return seen_on(folder, cells, sheet)[0]


def row_of_batch(name: str) -> int:
    """Return the row of a batch on sheet Batches."""
    cells = stored_values(workbook(FEW))["Batches"]
    return int(next(cell for cell, value in cells.items() if value == name and cell.startswith("A"))[1:])


def test_cleared_batch_is_not_in_order(tmp_path: Path) -> None:
    """A row that is cleared is no batch: Overview counts one fewer and says nothing of it."""
    row = row_of_batch("SK-102")
    found = seen(tmp_path, {("Batches", f"{column}{row}"): None for column in "ABCDEFGHIJKLM"}, "Overview")
    band = next(str(value) for value in found.values() if str(value).endswith(" bars"))
    states = Counter(value for cell, value in found.items() if re.fullmatch(r"O([6-9]|1[0-4])", cell))
    assert states["✓ in order"] == int(re.search(r"(\d+) in order", band)[1])  # type: ignore[index]
    assert "–" in states


def test_bars_of_a_refused_batch_are_not_counted(tmp_path: Path) -> None:
    """A superfat that cannot be refuses a batch: its bars are not among those of Overview's first line."""
    before = stored_values(workbook(FEW))["Overview"]
    cells = stored_values(workbook(FEW))["Recipes"]
    (row,) = [cell[1:] for cell, value in cells.items() if cell.startswith("A") and value == before["B6"]]
    found = seen(tmp_path, {("Recipes", f"B{row}"): 5.0}, "Overview")
    bars = [re.search(r"(\d+) bars", str(held["A4"]))[1] for held in (before, found)]  # type: ignore[index]
    lost = [cell for cell in before if re.fullmatch(r"O([6-9]|1[0-4])", cell) and found[cell] == "✕ do not make"]
    assert lost
    assert int(bars[0]) - int(bars[1]) == sum(before["H" + cell[1:]] for cell in lost)


@pytest.mark.parametrize("sheet", ["Batches", "Recipes"])
def test_new_row_says_that_it_needs_scaler(tmp_path: Path, sheet: str) -> None:
    """A row typed below a table that cannot grow is not passed over in silence."""
    held = stored_values(workbook(FEW))[sheet]
    foot = max(int(at[1:]) for at in held if re.fullmatch(r"A\d+", at))
    assert not any("are not read" in str(value) for value in stored_values(workbook(FEW))["Overview"].values())
    found = seen(tmp_path, {(sheet, f"B{foot}"): "Harvest bar"}, "Overview")
    assert any("are not read: run scaler" in str(value) for value in found.values())


def test_notes_of_recipes_are_on_their_cards() -> None:
    """What a recipe's Notes say stands on the card of each of its batches."""
    book = stored_values(workbook(FEW))
    header = next(cell[0] for cell, value in book["Recipes"].items() if value == "Notes")
    notes = [
        str(value)
        for cell, value in book["Recipes"].items()
        if re.fullmatch(f"{header}\\d+", cell) and value != "Notes"
    ]
    cards = {str(value) for value in book["Cards"].values()}
    assert notes
    assert all(f"Notes: {note}" in cards for note in notes)


def test_letters_fit_the_rows_of_a_card() -> None:
    """No row of a card is lower than its letters, those that are ready for one more line among them."""
    sheet = openpyxl.load_workbook(io.BytesIO(workbook(FEW)))["Cards"]
    low = [
        cell.coordinate
        for row in sheet.iter_rows(max_col=5)
        for cell in row
        if (height := sheet.row_dimensions[cell.row].height) and not cell.alignment.wrap_text and cell.value is not None
        if height < 1.2 * cell.font.sz
    ]
    assert low == []


def test_refused_card_says_how_to_mend_it(tmp_path: Path) -> None:
    """A card without weights says what to do where it would say what to weigh in, and nothing that it does not need."""
    before = stored_values(workbook(FEW))["Cards"]
    row = row_of_batch("SK-102")
    after = seen(tmp_path, {("Batches", f"C{row}"): "no such mould"}, "Cards")
    head = next(int(cell[1:]) for cell, value in before.items() if value == "SK-102")
    assert str(before[f"A{head + 4}"]).startswith("Jug of ")
    assert after[f"A{head + 4}"] == "Correct the name, or add it to Moulds."
    changed = {cell: value for cell, value in after.items() if before.get(cell) != value}
    assert "No weights until this is mended." in changed.values()
    side = [changed.get(f"E{head + place}") for place in range(4, 16) if before.get(f"E{head + place}")]
    assert side
    assert set(side) == {""}


def test_pot_of_two_moulds_says_how_much_goes_into_each() -> None:
    """What is poured into the moulds of a pot is the batter less what stays in the bowls; each says what a bar weighs."""
    moulds = {"loaf": {"length": 25.0, "width": 8.0, "depth": 7.0}, "tin": {"length": 12.0, "width": 8.0, "depth": 7.0}}
    boxes = [Mould(mould=name, shape="box", unit="cm", bar_cut=2.5, **sizes) for name, sizes in moulds.items()]
    workshop = shop([oil(), naoh()], [part("fat", 1.0)], mould=boxes[0], settings={"batter_loss": 0.04})
    both = tuple(Batch(batch="A", recipe=workshop.recipes[0].recipe, mould=box.mould) for box in boxes)
    run = scale(replace(workshop, moulds=tuple(boxes), batches=both))
    assert run.problems == ()
    words = str(table(run, "batches", "size_words")[0])
    poured = [float(grams) for grams in re.findall(r"pour (\d+) g", words)]
    assert len(poured) == 2
    assert sum(poured) == pytest.approx(run.batches[0].batter_g * 0.96, abs=1.1)
    assert len(re.findall(r"a fresh bar \d+ g", words)) == 2


@pytest.mark.parametrize("in_lye", ["yes", "no"])
def test_milk_note_only_for_milk_in_the_lye(in_lye: str) -> None:
    """Milk that is held back from the lye needs no freezing; in the lye it does."""
    milk = thing("Goat milk", "liquid", water=0.87)
    run = scale(
        shop(
            [oil(), naoh(), milk, thing("Rain water", "liquid")],
            [part("fat", 1.0), part("Rain water", 0.7), part("Goat milk", 0.3, in_lye=in_lye)],
        )
    )
    notes = " ".join(str(text) for text in table(run, "notes", "note_text"))
    assert ("Milk: freeze it" in notes) == (in_lye == "yes")


def test_half_ounces_are_halves_in_every_program() -> None:
    """0.25 oz of salt for each pound of 40 oz of oils are 0.625 oz: on a scale of 0.01 oz 0.63, though binary says 62.49."""
    lines = [part("fat", 1.0), part("salt", amount=0.25, unit="oz/lb", stage="trace")]
    workshop = shop(
        [oil(), naoh(), thing("salt", "additive", density=2.1)], lines, batch={"oil_weight": 40.0, "weight_unit": "oz", "mould": None},
        settings={"display_units": "oz", "workshop_division": 0.01}, setting_units={"workshop_division": "oz"},
    )  # fmt: skip
    weighed = next(line.weigh_g for line in made(workshop).lines if line.ingredient == "salt")
    assert weighed / 28.349523125 == pytest.approx(0.63, abs=1e-9)


def test_batches_are_made_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """Brought together, plans have the same batches at the same cost on no more, and here and there on fewer, days."""
    fewer = 0
    for seed in range(6):
        workshop = market_run(seed, 4, 3, 3)
        close = work_out(workshop).plan
        with monkeypatch.context() as patch:
            patch.setattr(plan, "together", lambda _task, jobs: list(jobs))
            apart = work_out(workshop).plan
        if not close or not apart:
            assert bool(close) == bool(apart)
            continue
        batches = [
            Counter((job.candidate.recipe, job.candidate.mould, job.fills) for job in held.jobs)
            for held in (close, apart)
        ]
        assert batches[0] == batches[1]
        assert close.cost == pytest.approx(apart.cost, rel=1e-12)
        days = [len({job.day for job in held.jobs}) for held in (close, apart)]
        assert days[0] <= days[1]
        fewer += days[0] < days[1]
    assert fewer >= 1


def test_hidden_card_of_a_further_mould_is_as_it_recalculates(tmp_path: Path) -> None:
    """A pot in two moulds with a warning, untouched: every cell of Cards and Overview is what another engine works out."""
    boxes = [Mould(mould=name, shape="box", unit="cm", length=20.0, width=8.0, depth=7.0, bar_cut=2.5) for name in "ab"]
    workshop = shop([oil(), naoh()], [part("fat", 1.0)], mould=boxes[0], lye_concentration=0.42)
    rows = tuple(Batch(batch="A", recipe=workshop.recipes[0].recipe, mould=box.mould) for box in boxes)
    run = scale(replace(workshop, moulds=tuple(boxes), batches=rows))
    assert run.batches[0].warnings
    path = tmp_path / "two.xlsx"
    path.write_bytes(finished(run))
    book, held = IronCalc(path), stored_values(path.read_bytes())
    for sheet in ("Cards", "Overview"):
        other = {cell: book.value(sheet, cell) for cell in held[sheet]}
        assert [cell for cell, value in held[sheet].items() if not same(value, other[cell])] == []
    assert unlike(path) == []
    path.write_bytes(typed_over(path.read_bytes(), {("Ingredients", "D4"): 200.0}))
    assert [change.result for change in verify(path).changed if "alkali" in change.result] == ["A: alkali (g)"]


def test_renamed_setting_is_said(tmp_path: Path) -> None:
    """A setting whose name nobody knows takes its default, and not in silence."""
    cells = stored_values(workbook(FEW))["Costs"]
    (at,) = [cell for cell, value in cells.items() if value == "Batter loss %"]
    assert "unknown name, so its default is used" in str(
        seen(tmp_path, {("Costs", at): "Batter los %"}, "Overview")["E3"]
    )
    assert stored_values(workbook(FEW))["Overview"].get("E3", "") == ""


@pytest.mark.parametrize("recipe", ["Oatmeal Moon", "Harbour Lavender"])
def test_sentence_about_several_batches_is_said_once(tmp_path: Path, recipe: str) -> None:
    """Two batches made alike are warned of in one sentence that names both, and one alone in its own."""
    cells = stored_values(workbook(FEW))["Batches"]
    first, second = row_of_batch("SK-101"), row_of_batch("SK-102")
    typed: dict[tuple[str, str], Any] = {("Batches", f"B{first}"): recipe}
    typed |= {("Batches", f"{column}{first}"): cells[f"{column}{second}"] for column in "CD"}
    heat = "With liquid at room temperature the lye gets to about"
    overview, checks = seen_on(tmp_path, typed, "Overview", "Checks")
    said = [str(value) for value in overview.values() if heat in str(value)]
    alike = recipe == cells[f"B{second}"]
    assert len(said) == 1
    assert said[0].startswith(f"SK-101, SK-102: {heat}" if alike else f"SK-102: {heat}")
    where = [value for cell, value in checks.items() if re.fullmatch(r"A\d+", cell)]
    named = f"look: Batches B{first} · SK-101, SK-102" if alike else f"look: Batches B{second} · SK-102"
    assert where.count(named) == 1


def test_overview_of_a_market_shows_the_price_asked() -> None:
    """Beside each batch stands the price that its bars are asked for, as Money has it for the recipe."""
    sheets = stored_values(market_workbook().content)
    money, seen_there = sheets["Money"], sheets["Overview"]
    column = next(cell[0] for cell, value in money.items() if str(value).startswith("Price asked"))
    prices = {value: money.get(f"{column}{cell[1:]}") for cell, value in money.items() if cell.startswith("A")}
    head = next(cell for cell, value in seen_there.items() if str(value).startswith("Price asked"))
    batches = sum(value in STATES for value in seen_there.values())
    assert batches
    rows = range(int(head[1:]) + 1, int(head[1:]) + 1 + batches)
    assert [seen_there[f"{head[0]}{row}"] for row in rows] == [prices[seen_there[f"B{row}"]] for row in rows]
