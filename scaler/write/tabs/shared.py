"""What every result tab does: open its page, refer to workings, print well."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from xlsxwriter.worksheet import Worksheet

from scaler.write.book import LEAF, Book, Look
from scaler.write.layout import Layout

LETTER, A4 = 1, 9


@dataclass(frozen=True)
class Page:
    """A result tab being written."""

    book: Book
    layout: Layout
    sheet: Worksheet

    @property
    def batches(self) -> int:
        """Number of batches."""
        return self.layout.tables.lengths["batches"]

    @property
    def is_market(self) -> bool:
        """Whether the workbook is that of a market run."""
        return "sold" in self.layout.tables.columns

    @property
    def again(self) -> str:
        """What to do when the engine is needed."""
        return f"give this file to scaler {'market' if self.is_market else 'batch'} again."

    def put(self, row: int, column: int, value: object, look: Look = Look()) -> None:
        """Write words."""
        self.book.put(self.sheet, row, column, value, look)

    def live(self, row: int, column: int, formula: str, value: object, look: Look = Look()) -> None:
        """Write a formula and its value."""
        self.book.live(self.sheet, row, column, formula, value, look)

    def show(self, row: int, column: int, table: str, name: str, index: int, look: Look = Look()) -> None:
        """Show one value of the workings."""
        self.live(row, column, "=" + self._cell(table, name, index), self.value(table, name, index), look)

    def _cell(self, table: str, name: str, index: int) -> str:
        """Return the address of one value, its row open, so that one pattern runs down each column of a table."""
        column, _, row = self.layout.cell(table, name, index).rpartition("$")
        return column + row

    def value(self, table: str, name: str, index: int) -> Any:
        """Return one value as the engine computed it."""
        value = self.layout.tables.column(table, name)[index]
        return "" if value is None else value

    def show_choice(self, row: int, column: int, name: str, index: int, look: Look = Look()) -> None:
        """Show what stands in a batch's row of sheet Batches: nothing for a blank cell, its number for a blank name."""
        cell, place = self._cell("batches", name, index), self._cell("batches", "place", index)
        blank = f'{place}&""' if name == "batch" else '""'
        self.live(row, column, f'=IF({cell}="",{blank},{cell})', self.value("batches", name, index), look)

    def show_of_batch(self, row: int, column: int, name: str, index: int, look: Look = Look()) -> None:
        """Show one value of a batch, or in words why it may not be used."""
        state = self._cell("batches", "state", index)
        formula = f'=IF({state}="",{self._cell("batches", name, index)},{state})'
        self.live(row, column, formula, self.value("batches", name, index), look)

    def show_of_recipe(self, row: int, column: int, name: str, index: int, look: Look = Look()) -> None:
        """Show one value of a batch's recipe, or in words why it may not be used."""
        state, at = self._cell("batches", "state", index), self._cell("batches", "recipe_at", index)
        formula = f'=IF({state}="",INDEX({self.layout.range("recipes", name)},{at}),{state})'
        recipe = int(self.value("batches", "recipe_at", index)) - 1
        self.live(row, column, formula, self.value("recipes", name, recipe), look)

    def setting(self, name: str) -> str:
        """Return the address of a setting's value in use."""
        index = list(self.layout.tables.column("costs", "name")).index(name)
        return self.layout.cell("costs", "in_use", index)

    def paper(self) -> int:
        """Return the paper: Letter where ounces are shown, A4 elsewhere."""
        return LETTER if self.layout.tables.one("costs", "display_units") == "oz" else A4


def open_page(book: Book, name: str, landscape: bool = False) -> Page:
    """Add a result tab, locked without a password, set up to print."""
    assert book.layout
    page = Page(book, book.layout, book.sheet(name, LEAF))
    page.sheet.protect("", {"select_locked_cells": True, "format_columns": True, "format_rows": True, "objects": True})
    if landscape:
        page.sheet.set_landscape()
    page.sheet.set_paper(page.paper())
    page.sheet.fit_to_pages(1, 0)
    page.sheet.set_margins(0.5, 0.5, 0.6, 0.6)
    page.sheet.set_footer("&L&A&RPage &P of &N")
    return page
