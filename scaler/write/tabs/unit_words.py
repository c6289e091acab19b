"""Units: every unit word and how much it is; input cells look their words up here."""

from __future__ import annotations

from scaler.model import units
from scaler.write.book import HEADING, HINT, TITLE, Book, Look
from scaler.write.layout import FIRST_ROW, HEADER_ROW, HINT_ROW, TITLE_ROW
from scaler.write.tabs.shared import open_page

NAME = "Units"

_SAYS = {
    "word": "Unit", "kind": "Measures", "any": "Factor", "weight": "g", "volume": "mL", "length": "cm", "time": "h",
    "ratio_weight": "g per g of oils", "ratio_volume": "mL per g of oils", "count": "pieces", "per_bar": "a bar",
    "per_batch": "a batch",
}  # fmt: skip


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    layout = page.layout
    page.put(TITLE_ROW, 1, "Units", TITLE)
    page.put(HINT_ROW, 1, "Factors to g, mL, cm and h, from the exact definitions (NIST Handbook 44, SI), through pint.",
             Look(italic=True, size=9, ink=HINT.ink))  # fmt: skip
    names = layout.own_columns("units")
    for number, name in enumerate(names, 1):
        page.put(HEADER_ROW, number, _SAYS[name], HEADING)
        for index, value in enumerate(layout.tables.column("units", name)):
            page.put(FIRST_ROW + index, number, value, Look(box=True))
    page.put(HEADER_ROW, len(names) + 1, "Also read as", HEADING)
    for index, unit in enumerate(units.UNITS):
        page.put(FIRST_ROW + index, len(names) + 1, ", ".join(unit.also))
    page.sheet.set_column(0, len(names) - 1, 14)
    page.sheet.set_column(1, 1, 20)
    page.sheet.set_column(len(names), len(names), 60)
    page.sheet.freeze_panes(HEADER_ROW, 1)
