"""Where every table stands in the finished workbook, so that a rule's parameters become cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scaler.formula.helpers import ROW, Cell, Range
from scaler.formula.steps import CONSTANTS, SETTING_COLUMN, Source, Step, Tables, resolve
from scaler.model.records import SHEETS
from scaler.model.schema import columns

TITLE_ROW, HINT_ROW, HEADER_ROW, FIRST_ROW = 1, 2, 3, 4
"""Rows of every input sheet and every sheet of workings (1, 2, ...): a record stands in the same row on both."""

SPARE_ROWS = 200
"""Rows below an input sheet's last record that have drop-downs too, and that Checks looks at for added rows."""

WORKINGS = {
    "constants": "Constants",
    "costs": "Settings in use",
    "naohdensity": "NaOH density",
    "kohdensity": "KOH density",
    "coverage": "Coverage",
    "solutionheat": "Heat of solution",
    "heatcapacity": "Specific heat",
    "growth": "Rows",
    "ingredients": "Ingredient workings",
    "prices": "Price workings",
    "moulds": "Mould workings",
    "lines": "Line workings",
    "recipes": "Recipe workings",
    "batches": "Batch workings",
    "slots": "Weigh-out workings",
    "effects": "Certainty workings",
    "oilshares": "Oil shares",
    "ladder": "Margin ladder",
    "drawing": "Drawing workings",
}
"""Name of the sheet of workings of each table; table units stands on the result sheet Units."""

MARKET_WORKINGS = {
    "market": "Market workings",
    "on_hand": "On hand workings",
    "packs": "Pack workings",
    "buying": "Shopping workings",
    "sold": "Sales workings",
    "money": "Money workings",
    "through": "Shares sold",
    "days": "Day workings",
    "stages": "Stage workings",
}
"""Sheets of workings that only a market run has."""

UNITS_SHEET = "Units"


def letters(number: int) -> str:
    """Return the letters of a column.

    >>> letters(1), letters(28)
    ('A', 'AB')
    """
    text = ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text


def quoted(sheet: str) -> str:
    """Return a sheet's name as formulas write it.

    >>> quoted("Recipe lines"), quoted("Costs")
    ("'Recipe lines'", 'Costs')
    """
    return sheet if sheet.isalpha() and sheet.isascii() else "'" + sheet.replace("'", "''") + "'"


def heading(name: str) -> str:
    """Return a step's name as a column heading.

    >>> heading("batter_ml")
    'batter ml'
    """
    return name.replace("_", " ")


def workings_of(table: str) -> str:
    """Return the sheet on which a table's worked-out columns stand."""
    return WORKINGS.get(table) or MARKET_WORKINGS.get(table, UNITS_SHEET)


@dataclass(frozen=True)
class Spot:
    """A column of a table: its sheet and its number (1, 2, ...)."""

    sheet: str
    number: int

    @property
    def letters(self) -> str:
        """Letters of the column."""
        return letters(self.number)


ON_TABS = {("packs", "packs_to_buy"): Spot("Shopping list", 6)}
"""Columns for the maker to fill that stand on a result tab: its first row is that of a table of workings."""


class Layout:
    """The spot of every column of every table."""

    def __init__(self, tables: Tables) -> None:
        """Place input columns on their sheets, and every other column on its table's sheet of workings."""
        self.tables = tables
        self.spots: dict[tuple[str, str], Spot] = {}
        inputs = {sheet.key: (sheet.name, list(columns(sheet.record))) for sheet in SHEETS}
        self.spots |= {column: spot for column, spot in ON_TABS.items() if column[0] in tables.columns}
        for table, held in tables.columns.items():
            input_name, input_fields = inputs.get(table, ("", []))
            for number, name in enumerate(input_fields, 1):
                self.spots[table, name] = Spot(input_name, number)
            own = [name for name in held if (table, name) not in self.spots]
            sheet = workings_of(table)
            for number, name in enumerate(own, 1):
                self.spots[table, name] = Spot(sheet, number)

    def own_columns(self, table: str) -> list[str]:
        """Return the columns that stand on the table's sheet of workings, in order."""
        sheet = workings_of(table)
        held = [(spot.number, name) for (of, name), spot in self.spots.items() if of == table and spot.sheet == sheet]
        return [name for _, name in sorted(held)]

    def cell(self, table: str, name: str, index: int) -> str:
        """Return the absolute address of one value (row 0, 1, ...), its sheet included."""
        spot = self.spots[table, name]
        return f"{quoted(spot.sheet)}!${spot.letters}${FIRST_ROW + index}"

    def range(self, table: str, name: str, spare: int = 0) -> str:
        """Return the absolute address of a whole column, at least one cell."""
        spot = self.spots[table, name]
        last = FIRST_ROW + max(self.tables.lengths[table], 1) - 1 + spare
        return f"{quoted(spot.sheet)}!${spot.letters}${FIRST_ROW}:${spot.letters}${last}"

    def argument(self, source: Source, on_sheet: str) -> Cell | Range:
        """Return what stands for a parameter in the formula of a cell on a sheet."""
        if source.kind == "column":
            return Range(self.range(source.table, source.name))
        if source.kind == "one":
            index = list(self.tables.column(source.table, "name")).index(source.name)
            return Cell(self.cell(source.table, "value" if source.table == CONSTANTS else SETTING_COLUMN, index))
        spot = self.spots[source.table, source.name]
        sheet = "" if spot.sheet == on_sheet else f"{quoted(spot.sheet)}!"
        return Cell(f"{sheet}${spot.letters}{ROW}")

    def formula(self, step: Step, before: Mapping[str, Mapping[str, Any]]) -> Any:
        """Return a step's formula, its row number still open.

        Args:
            step: the step.
            before: the columns that were there before it, as `evaluate` saw them.
        """
        on_sheet = self.spots[step.table, step.name].sheet
        return step.rule(**{name: self.argument(resolve(step, name, before), on_sheet) for name in step.parameters})
