"""What a partner changes in a finished market workbook: no error value, figures that follow, and words that say so."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from partner_edits import ERRORS, MARKET, recalculated, workbook
from typing_in import typed_over

from scaler.read.formulas import stored_values

Cells = Mapping[tuple[str, str], Any]

FAILED = {("Batches", "K11"): "failed"}
GONE = {("Market", f"{letter}4"): None for letter in "ABCDEF"} | {("Market", "E9"): "6,50 each"}
LATE = {("Batches", "J13"): 46440.0, ("Batches", "I13"): None}


@cache
def _edited(folder: Path, name: str) -> dict[tuple[str, str], Any]:
    path = folder / f"{name}.xlsx"
    path.write_bytes(
        typed_over(workbook(MARKET), {"failed": FAILED, "gone": GONE, "late": LATE, "sorted": _sorted()}[name])
    )
    return {(sheet, cell): value for sheet, cell, value in recalculated(path)}


def _sorted() -> Cells:
    """Return the rows of Market and Batches the other way round."""
    held = stored_values(workbook(MARKET))
    cells: dict[tuple[str, str], Any] = {}
    for sheet, last, columns in (("Market", 13, "ABCDEF"), ("Batches", 15, "ABCDJ")):
        for row in range(4, last + 1):
            cells |= {(sheet, f"{letter}{row}"): held[sheet].get(f"{letter}{4 + last - row}") for letter in columns}
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


@pytest.mark.parametrize("name", ["failed", "gone", "late", "sorted"])
def test_no_error_value(folder: Path, name: str) -> None:
    """Whatever is changed, no cell holds an error."""
    assert not [at for at, value in _edited(folder, name).items() if str(value) in ERRORS]


def test_failed_batch_costs_its_bars(folder: Path) -> None:
    """State failed: its 22 bars are missing from income, and Overview, Plan and Money say so."""
    there, before = _edited(folder, "failed"), stored_values(workbook(MARKET))["Money"]
    held = {("Money", cell): value for cell, value in before.items()}
    # 13 on hand and one batch of 21.34: 34 of the 50 that two markets want, so 16 are missing
    assert labelled(there, "Bars to sell") == labelled(held, "Bars to sell") - 16
    assert labelled(there, "Profit when every bar sells") < labelled(held, "Profit when every bar sells")
    assert "A batch is made or failed" in words(there, "Plan")
    assert "made or failed" in words(there, "Overview")
    assert "16 bars of Harbour Lavender will be missing on that day." in words(there, "Checks")


def test_cleared_row_and_price_of_words(folder: Path) -> None:
    """A cleared row of Market is no longer counted, a price of words leaves its row out; both are said, the rest stays."""
    there, before = _edited(folder, "gone"), stored_values(workbook(MARKET))["Money"]
    held = {("Money", cell): value for cell, value in before.items()}
    assert labelled(there, "Bars to sell") == labelled(held, "Bars to sell") - 20 - 10
    assert "The demand has changed" in words(there, "Money")
    assert "20 Harbour Lavender were planned for, and no row wants them now." in words(there, "Checks")
    assert there["Plan", "F25"] == 22.0


def test_later_day_is_followed(folder: Path) -> None:
    """A later Make date moves the days of Calendar, and bars that come after their market are missing."""
    there = _edited(folder, "late")
    title = next(int(at[1:]) for (sheet, at), value in there.items() if sheet == "Calendar" and value == "Step by step")
    column = {int(at[1:]): value for (sheet, at), value in there.items() if sheet == "Calendar" and at[0] == "A"}
    days = [value for row, value in sorted(column.items()) if 5 < row < title and value]
    assert {46440.0, 46442.0, 46482.0} <= set(days)
    assert days == sorted(days)
    steps = [value for row, value in sorted(column.items()) if row > title + 1]
    assert len(steps) == 12 * 3
    assert steps == sorted(steps)
    assert "10 is ready after the last market that wants Coal Scuttle." in words(there, "Checks")
    assert "bars of Coal Scuttle will be missing" in words(there, "Overview")


def test_sorted_rows_change_nothing(folder: Path) -> None:
    """Sorting Market and Batches leaves the money as it is, and nothing is said to have changed."""
    there, before = _edited(folder, "sorted"), stored_values(workbook(MARKET))["Money"]
    held = {("Money", cell): value for cell, value in before.items()}
    for says in ("Profit when every bar sells", "Cost of the run", "Bars to sell"):
        assert labelled(there, says) == pytest.approx(labelled(held, says), rel=1e-9)
    assert "has changed" not in words(there, "Plan") + words(there, "Money")
