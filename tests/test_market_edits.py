"""What a partner changes in a finished market workbook: no error value, figures that follow, and words that say so."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from partner_edits import ERRORS, MARKET, workbook
from recalculation import recalculated, through_libreoffice
from typing_in import typed_over

from scaler.model.schema import FOOT
from scaler.read.files import stored_values
from scaler.write.layout import FIRST_ROW

pytestmark = pytest.mark.xdist_group("market edits")  # each workbook is recalculated once
Cells = Mapping[tuple[str, str], Any]

EDITS: Cells = {
    ("Batches", "K11"): "failed",  # batch 8, 22 bars of Harbour Lavender
    **{("Market", f"{letter}6"): None for letter in "ABCDEF"},  # 18 Old Drawer Kitchen Bars
    ("Batches", "J13"): 46440.0,  # batch 10, 11 bars of Coal Scuttle, ready after the last market
}

LIVED: Cells = {
    ("Batches", "K4"): "made",
    ("Batches", "L4"): 20.0,  # of the 22 bars of batch 1, Harbour Lavender
    ("Batches", "J5"): "tomorrow",  # batch 2, 12 bars of Coal Scuttle
    ("Market", "B5"): 2.5,
    **dict(zip((("Shopping list", f"F{row}") for row in (7, 8, 9)), ("two", 0.5, -1.0), strict=True)),
}
"""Half way through a run: a batch is made, a date is mistyped, numbers of packs are none."""
SHORT: Cells = {
    ("Batches", "J12"): None, ("Shopping list", "F7"): 0.0, ("Market", "F13"): "Village fair", ("Market", "B7"): 29.0,
}  # fmt: skip


@cache
def _edited(folder: Path, name: str) -> dict[tuple[str, str], Any]:
    path = folder / f"{name}.xlsx"
    cells = {"edited": EDITS, "lived": LIVED, "short": SHORT}.get(name) or _sorted()
    path.write_bytes(typed_over(workbook(MARKET), cells))
    return recalculated(path)


TURNED = ("Ingredients", "Prices", "Moulds", "Recipes", "Recipe lines", "Batches", "Market")


def _sorted() -> Cells:
    """Return the rows of every sheet the other way round."""
    cells: dict[tuple[str, str], Any] = {}
    for sheet in TURNED:
        held = {cell: value for cell, value in stored_values(workbook(MARKET))[sheet].items() if value != FOOT}
        rows = [int(cell[1:]) for cell in held if cell[0] == "A" and cell[1:].isdigit() and int(cell[1:]) >= FIRST_ROW]
        columns = {cell.rstrip("0123456789") for cell in held}
        for row, other in zip(rows, reversed(rows), strict=True):
            cells |= {(sheet, f"{letters}{row}"): held.get(f"{letters}{other}") for letters in columns}
    return cells


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder for the edited workbooks."""
    return tmp_path_factory.mktemp("market")


def words(there: Mapping[tuple[str, str], Any], sheet: str) -> str:
    """Return every word of a tab."""
    return "\n".join(str(value) for (held, _), value in there.items() if held == sheet and value)


def labelled(there: Mapping[tuple[str, str], Any], says: str) -> Any:
    """Return the figure of Money beside its label."""
    at = next(cell for (sheet, cell), value in there.items() if sheet == "Money" and str(value).startswith(says))
    return there["Money", f"B{at[1:]}"]


def stored(key: Any) -> dict[tuple[str, str], Any]:
    """Return the cells of Checks as they were written."""
    return {("Checks", cell): value for cell, value in stored_values(workbook(key))["Checks"].items()}


@pytest.mark.parametrize("name", ["edited", "sorted", "lived", "short"])
def test_no_error_value(folder: Path, name: str) -> None:
    """Whatever is changed, no cell holds an error."""
    assert not [at for at, value in _edited(folder, name).items() if str(value) in ERRORS]


def test_money_is_that_of_the_bars_there_are(folder: Path) -> None:
    """A failed batch, a cleared row and a late batch: income without their bars, and words that say so."""
    there, before = _edited(folder, "edited"), stored_values(workbook(MARKET))["Money"]
    held = {("Money", cell): value for cell, value in before.items()}
    # Harbour Lavender: 13 on hand and one batch of 21.34 are 34 of the 50 wanted. Coal Scuttle: 5 and 11.64 are 16 of 26.
    assert labelled(there, "Bars to sell") == labelled(held, "Bars to sell") - 16 - 18 - 10
    assert labelled(there, "Profit when every bar sells") < labelled(held, "Profit when every bar sells")
    assert "The demand has changed" in words(there, "Money")
    assert "made or failed" in words(there, "Overview")
    checks = words(there, "Checks")
    assert "Bars of Harbour Lavender missing on that day: 16." in checks
    assert "18 Old Drawer Kitchen Bar were planned for, but no row asks for them now." in checks
    assert there["Plan", "F25"] == 22.0


def test_what_falls_short_is_told(folder: Path) -> None:
    """A Make date cleared, a pack left out, a bar fewer and a row moved to another market: each in words of its own."""
    # day_missing, packs_short, market_changed; bars_short and market_gone are told of in `test_money_is_that_of_the_bars_there_are`
    told, before = (words(held, "Checks") for held in (_edited(folder, "short"), stored(MARKET)))
    for says in (
        "Batch 9 has no Make date, so no market counts its bars.", "There is not enough Olive oil: stock and the packs",
        "The plan was made before this row was changed.",
    ):  # fmt: skip
        assert says in told
        assert says not in before


def test_later_day_is_followed(folder: Path) -> None:
    """A later Make date moves the days of Calendar, and bars that come after their market are missing."""
    there = _edited(folder, "edited")
    title = next(int(at[1:]) for (sheet, at), value in there.items() if sheet == "Calendar" and value == "Step by step")
    column = {int(at[1:]): value for (sheet, at), value in there.items() if sheet == "Calendar" and at[0] == "A"}
    days = [value for row, value in sorted(column.items()) if 5 < row < title and value]
    assert {46440.0, 46442.0, 46482.0} <= set(days)
    assert days == sorted(days)
    steps = [value for row, value in sorted(column.items()) if row > title + 1]
    assert len([step for step in steps if step]) == 11 * 3  # all but those of the failed batch
    assert steps == sorted(steps, key=lambda step: step or 1e9)
    assert "Batch 10 is ready after the last market that wants Coal Scuttle." in words(there, "Checks")
    assert "Bars of Coal Scuttle missing" in words(there, "Checks")
    at = next(
        at
        for (sheet, at), value in there.items()
        if sheet == "Checks" and str(value).startswith("Bars: those there were")
    )
    assert there["Checks", f"C{at[1:]}"] == "in order"


def test_sorted_rows_change_nothing(folder: Path) -> None:
    """Whatever is sorted: what is bought, from whom and by when, and the money, stay, and nothing is said to have changed."""
    there, before = _edited(folder, "sorted"), stored_values(workbook(MARKET))
    for sheet in ("Shopping list", "Money"):
        for cell, value in before[sheet].items():
            now = there[sheet, cell]
            assert now == (pytest.approx(value, rel=1e-9) if isinstance(value, float) else value), f"{sheet} {cell}"
    assert "has changed" not in words(there, "Plan") + words(there, "Money")


def test_deleted_pack_is_told(tmp_path: Path) -> None:
    """Of a pack whose row on Prices is gone the list says so, the others stay, and what is short is to be bought."""
    path = tmp_path / "market.xlsx"
    path.write_bytes(workbook(MARKET))
    bought = stored_values(workbook(MARKET))["Shopping list"]
    prices = stored_values(workbook(MARKET))["Prices"]
    pack = [bought[f"{column}7"] for column in "ACDB"]  # thing, pack, unit, supplier
    (row,) = [row for row in range(FIRST_ROW, 60) if [prices.get(f"{column}{row}") for column in "ABCF"] == pack]
    (after,) = through_libreoffice(tmp_path, path, jobs=[f"delete|Prices|{row}|1"])
    there = stored_values(after)["Shopping list"]
    assert (there["A7"], there["B7"], there["G7"]) == (bought["A7"], "no longer on Prices", 0)
    assert all(there[f"{column}{at}"] == bought[f"{column}{at}"] for column in "ABCDEFG" for at in range(8, 16))
    enough = [at[1:] for at, value in there.items() if value == bought["A7"] and at[0] == "A"]
    assert "buy more" in [there.get(f"B{at}") for at in enough]


def test_made_batch_counts_its_bars(folder: Path) -> None:
    """A batch that is made keeps its bars, as many as were got: they are not missing; nothing of it is weighed out."""
    there, before = _edited(folder, "lived"), stored_values(workbook(MARKET))
    assert [before["Plan"][at] for at in ("B21", "H21", "H24")] == [
        "Harbour Lavender",
        21,
        42,
    ]  # of 21.34 and twice as many
    assert [there["Plan", at] for at in ("H21", "H24")] == [20, 41]
    assert there["Overview", "O7"] == "made or failed"
    assert there["Overview", "F7"] == "–"


def test_wrong_date_takes_away_dates_alone(folder: Path) -> None:
    """A Make date that is none leaves the weights of its batch, which asks to be looked at."""
    there, before = _edited(folder, "lived"), stored_values(workbook(MARKET))["Overview"]
    assert [there["Overview", f"{at}8"] for at in "DEFGH"] == pytest.approx([before[f"{at}8"] for at in "DEFGH"])
    assert there["Overview", "O8"] == "! look"
    assert "Make date cannot be tomorrow." in words(there, "Cards")
    assert "no date: Batches J5" in words(there, "Checks")


def test_packs_that_are_no_number_are_said(folder: Path) -> None:
    """Packs in words, in halves or less than none are not bought, and both tabs of money say so."""
    there = _edited(folder, "lived")
    assert [there["Shopping list", f"G{row}"] for row in (7, 8, 9)] == ["how many?"] * 3
    for tab in ("Shopping list", "Money"):
        assert "A number of packs on Shopping list" in words(there, tab)


def test_wrong_row_of_market_is_not_counted(folder: Path) -> None:
    """Two and a half bars are refused, and none are wanted: the 14 of the other row of that soap are all."""
    there, before = _edited(folder, "lived"), stored_values(workbook(MARKET))["Plan"]
    assert (before["B29"], before["F29"]) == ("Coal Scuttle", 26.0)
    assert "not counted: Market B5" in words(there, "Checks")
    assert there["Plan", "F29"] == 14.0


@pytest.mark.parametrize("name", ["edited", "lived"])
def test_each_supplier_gets_what_its_packs_cost(folder: Path, name: str) -> None:
    """Beside each supplier stands the sum of its packs; those whose number cannot be cost nothing."""
    page = {cell: value for (sheet, cell), value in _edited(folder, name).items() if sheet == "Shopping list"}
    head = next(int(cell[1:]) for cell, value in page.items() if value == "Each supplier")
    said: dict[str, float] = {}
    while name_of := page.get(f"D{head + 1 + len(said)}"):
        said[name_of] = page[f"G{head + 1 + len(said)}"]
    packs: dict[str, float] = dict.fromkeys(said, 0.0)
    for cell, value in page.items():
        if cell.startswith("B") and value in said and isinstance(page.get(f"G{cell[1:]}"), float | int):
            packs[value] += page[f"G{cell[1:]}"]
    assert sum(packs.values()) > 0
    assert said == pytest.approx(packs, abs=1e-9)


@pytest.mark.parametrize("name", ["edited", "lived"])
def test_packs_are_needed_by_the_first_day_they_are_used(folder: Path, name: str) -> None:
    """The day beside a pack is the first Make date of a batch that is not made yet and takes of it."""
    held = {
        (tab, cell): value for tab, cells in stored_values(workbook(MARKET)).items() for cell, value in cells.items()
    }
    there = held | dict({"edited": EDITS, "lived": LIVED}[name]) | _edited(folder, name)
    takes: dict[str, set[str]] = {}
    for sheet, columns in (("Recipe lines", "B"), ("Recipes", "FG")):
        heads = [there[sheet, f"{letter}3"] for letter in columns]
        assert heads == {"B": ["Ingredient"], "FG": ["Alkali", "Second alkali"]}[columns]
        for (tab, cell), value in there.items():
            if tab == sheet and cell[0] in columns and cell[1:].isdigit() and int(cell[1:]) > 3 and value:
                takes.setdefault(str(value), set()).add(str(there.get((sheet, f"A{cell[1:]}"))))
    days: dict[str, float] = {}
    for (sheet, cell), recipe in there.items():
        made, state = there.get(("Batches", f"J{cell[1:]}")), there.get(("Batches", f"K{cell[1:]}"))
        if sheet == "Batches" and cell.startswith("B") and isinstance(made, float | int) and not state:
            days[str(recipe)] = min(days.get(str(recipe), made), made)
    page = {cell: value for (sheet, cell), value in there.items() if sheet == "Shopping list"}
    seen = 0
    for cell, thing in page.items():
        if cell.startswith("A") and isinstance(page.get(f"E{cell[1:]}"), float | int) and page.get(f"B{cell[1:]}"):
            if page.get(f"B{cell[1:]}") in ("enough", "buy more"):
                continue
            first = min((days[recipe] for recipe in takes[str(thing)] if recipe in days), default="")
            assert page.get(f"H{cell[1:]}", "") == first, thing
            seen += 1
    assert seen > 10
