"""What a finished workbook of a market run holds of its plan: packs chosen, and the demand that was planned for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from scaler.market.days import STAGES
from scaler.model.records import MARKET, ON_HAND
from scaler.read.formulas import StoredCell
from scaler.rules.results import Run
from scaler.rules.sheets import serial
from scaler.write.layout import FIRST_ROW, HEADER_ROW, MARKET_WORKINGS, ON_TABS, heading

if TYPE_CHECKING:
    from scaler.market.tables import Given  # which brings the planner

Sheets = Mapping[str, Mapping[str, StoredCell]]

COLUMNS = {
    MARKET.key: ("planned_recipe", "planned_bars", "planned_day", "planned_mould"),
    "packs": ("price_at", "packs_to_buy", "planned_cost"),
    "buying": ("ingredient_at",),
    "sold": ("recipe_at", "usual_bar_cost"),
    "through": ("share_sold",),
    "days": ("planned_day",),
    "stages": ("batch_at", "stage"),
}
"""Columns that no formula gives, by table: what `scaler.market.tables.given` names."""
_ROWS_OF = {"price_at": "prices", "ingredient_at": "ingredients", "recipe_at": "recipes", "batch_at": "batches"}
_TEXTS = ("planned_recipe", "planned_mould")


class PlanLost(Exception):
    """The workbook no longer holds its plan; the message says where."""


def kept(sheets: Sheets, run: Run) -> Given:
    """Return the plan that a finished workbook holds.

    Args:
        sheets: every cell of the workbook, as `read_cells` returns them.
        run: what its input sheets give, of as many rows as it was written for.

    Raises:
        PlanLost: rows were added to Market or On hand, or a cell that holds the plan holds something else.
    """
    for sheet, held in ((MARKET, run.workshop.market), (ON_HAND, run.workshop.on_hand)):
        rows = _rows(sheets, MARKET_WORKINGS[sheet.key])
        if rows != len(held):
            raise PlanLost(f"Sheet {sheet.name} has {len(held)} rows; {rows} were planned for.")
    return {
        table: {name: list(_values(sheets, table, name, run)) for name in names} for table, names in COLUMNS.items()
    }


def _values(sheets: Sheets, table: str, name: str, run: Run) -> Iterator[Any]:
    """Yield what stands in a column, on its sheet of workings or where the maker fills it."""
    workings = MARKET_WORKINGS[table]
    spot = ON_TABS.get((table, name))
    sheet, at = (spot.sheet, spot.letters) if spot else (workings, _letters(sheets, workings, name))
    for row in range(FIRST_ROW, FIRST_ROW + _rows(sheets, workings)):
        held = sheets.get(sheet, {}).get(f"{at}{row}", StoredCell("", None))
        try:
            yield _read(name, held.written or held.value, run)
        except ValueError as error:
            raise PlanLost(f"Sheet {sheet}, cell {at}{row} holds {error}.") from None


def _read(name: str, value: Any, run: Run) -> Any:
    """Return a value of the plan; what it cannot be is a ValueError."""
    if name in _TEXTS:
        return "" if value is None else str(value)
    number = serial(value) if hasattr(value, "toordinal") else value
    if number is None and name == "packs_to_buy":
        return None
    if isinstance(number, bool) or not isinstance(number, int | float):
        raise ValueError(f"{'nothing' if value is None else value}, not a number")
    if name in _ROWS_OF and not 1 <= number <= len(getattr(run.workshop, _ROWS_OF[name])):
        raise ValueError(f"{number}, which is no row of the workbook")
    if name == "stage" and not 1 <= number <= len(STAGES):
        raise ValueError(f"{number}, which is no stage of a batch")
    return float(number)


def _letters(sheets: Sheets, sheet: str, name: str) -> str:
    """Return the letters of the column of workings that is headed by a name."""
    for cell, held in sheets.get(sheet, {}).items():
        if held.value == heading(name) and _row(cell) == HEADER_ROW:
            return cell.removesuffix(str(HEADER_ROW))
    raise PlanLost(f"Sheet {sheet} has no column {heading(name)}.")


def _rows(sheets: Sheets, sheet: str) -> int:
    """Return how many rows a sheet of workings has."""
    return max((_row(cell) for cell in sheets.get(sheet, {})), default=HEADER_ROW) - HEADER_ROW


def _row(cell: str) -> int:
    return int(cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
