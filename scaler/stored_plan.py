"""What a finished workbook of a market run holds of its plan: packs chosen, and the demand that was planned for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from string import ascii_uppercase
from typing import Any

from scaler.model.problems import counted
from scaler.model.records import MARKET, Workshop
from scaler.model.schema import serial
from scaler.read.files import StoredCell
from scaler.write.layout import FORMER, WORKINGS, heading, title_of

Sheets = Mapping[str, Mapping[str, StoredCell]]

COLUMNS = {
    MARKET.key: ("planned_recipe", "planned_bars", "planned_day", "planned_mould", "planned_short"),
    "packs": ("planned_at", "planned_offer", "planned_thing", "planned_supplier", "packs_to_buy", "planned_packs", "planned_cost"),
    "buying": ("thing", "used_since"),
    "lots": (
        "lot_name", "lot_state", "lot_recipe", "lot_mould", "lot_made", "lot_free", "lot_ready", "lot_moulds",
        "lot_bars", "lot_cut", "lot_wrap",
    ),
    "changes": ("change_batch", "change_words"),
    "sizes": ("size_recipes", "size_words"),
    "money": ("first_market", "last_number"),
    "sold": ("sold_recipe", "usual_bar_cost"),
    "through": ("share_sold",),
    "days": ("place",),
    "stages": ("place", "batch_at", "stage", "stage_words"),
}  # fmt: skip
"""Columns that no formula gives, by table: what `scaler.market.tables.given` names."""
PLAN_SHEETS = (WORKINGS, FORMER[-1])
"""Sheets that may hold the plan."""
_TEXTS = (
    "planned_recipe", "planned_mould", "planned_offer", "planned_thing", "planned_supplier", "thing", "sold_recipe", "lot_name", "lot_state",
    "lot_recipe", "lot_mould", "change_batch", "change_words", "size_recipes",
    "size_words", "stage_words",
)  # fmt: skip


class PlanLost(Exception):
    """The workbook no longer holds its plan; the message says where."""


def kept(sheets: Sheets, workshop: Workshop) -> Mapping[str, Mapping[str, list[Any]]]:
    """Return the plan that a finished workbook holds.

    Args:
        sheets: every cell of the workbook, as `read_cells` returns them.
        workshop: what its input sheets give.

    Raises:
        PlanLost: rows were added to Market or On hand, or a cell that holds the plan holds something else.
    """
    found = {table: stored(sheets, table, names) for table, names in COLUMNS.items()}
    planned = len(found[MARKET.key]["planned_recipe"])
    if planned != len(workshop.market):
        raise PlanLost(f"Sheet {MARKET.name} has {counted(len(workshop.market), 'row')}; the plan is for {planned}.")
    return found


def stored(sheets: Sheets, table: str, names: Sequence[str]) -> Mapping[str, list[Any]]:
    """Return columns of a table of workings as they stand in the workbook.

    Raises:
        PlanLost: a column or what it holds is gone.
    """
    return {name: list(_column(sheets, table, name)) for name in names}


def _column(sheets: Sheets, table: str, name: str) -> Iterator[Any]:
    """Yield what stands in a column of a table of workings, from its heading down."""
    cells = next((sheets[sheet] for sheet in PLAN_SHEETS if sheet in sheets), {})
    titles = (cell for cell, held in cells.items() if str(held.value or "").startswith(title_of(table)))
    top = next((_row(cell) for cell in titles if cell == f"A{_row(cell)}"), 0)
    row = top + 1
    while top and f"A{row}" in cells and not _headed(cells, row, name):
        row += 1
    letters = _headed(cells, row, name) if top else ""
    if not letters:
        raise PlanLost(f"Sheet {WORKINGS} has no column {heading(name)} of table {heading(table)}.")
    row += 1
    while f"A{row}" in cells:
        yield _read(sheets, name, cells.get(f"{letters}{row}", StoredCell(None)), f"{letters}{row}")
        row += 1


def _headed(cells: Mapping[str, StoredCell], row: int, name: str) -> str:
    """Return the letters of the column that is headed by a name in a row, "" when none is."""
    for cell, held in cells.items():
        if held.value == heading(name) and _row(cell) == row:
            return cell.rstrip("0123456789")
    return ""


def _read(sheets: Sheets, name: str, held: StoredCell, cell: str) -> Any:
    """Return a value of the plan."""
    value = held.value
    if name == "packs_to_buy" and held.written:
        return sheets["Shopping list"].get(held.written.rpartition("!")[2].replace("$", ""), StoredCell(None)).value
    if name in _TEXTS:
        return "" if value is None else str(value)
    number = serial(value) if hasattr(value, "toordinal") else value  # type: ignore[arg-type]  # a date
    if isinstance(number, bool) or not isinstance(number, int | float):
        raise PlanLost(f"Sheet {WORKINGS}, cell {cell} holds {value or 'nothing'}, not a number.")
    return float(number)


def _row(cell: str) -> int:
    return int(cell.lstrip(ascii_uppercase))
