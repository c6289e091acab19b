"""Costing: where the money in a bar goes, and the price that makes the margin."""

from __future__ import annotations

from scaler.compute.costing import COSTS
from scaler.compute.tables import slots_in_a_card
from scaler.write.book import HEADING, HINT, TITLE, Book, Look
from scaler.write.layout import letters
from scaler.write.tabs.shared import Page, open_page

NAME = "Costing"

_COLUMNS = (
    ("Bars", "bars", "whole"),
    ("Bars to sell", "bars_to_sell", "count"),
    *((cost.says, cost.step, "money") for cost in COSTS),
    ("Total cost", "total_cost", "money"),
    ("Cost per bar", "cost_per_bar", "money"),
    ("Target before tax", "target_before_tax", "money"),
    ("Price before tax", "before_tax", "money"),
    ("Price with tax", "with_tax", "money"),
    ("Margin", "margin", "%"),
    ("Mark-up", "markup", "%"),
)

_LINE_COLUMNS = (("Weight g", "g", "weigh"), ("Count", "line_count_each", "count"), ("Cost", "cost", "money"))


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    page.put(1, 1, "What a bar costs", TITLE)
    page.put(2, 1, "Margin is of the price before tax; mark-up is on the cost. Lines are costed on exact grams.", Look(italic=True, ink=HINT.ink))
    for number, header in enumerate(("Batch", "Recipe", *(column[0] for column in _COLUMNS)), 1):
        page.put(3, number, header, HEADING)
        page.sheet.set_column(number - 1, number - 1, 28 if number == 2 else 11)
    page.sheet.set_row(2, 32)
    for index in range(page.batches):
        page.show(4 + index, 1, "batches", "batch", index, Look(box=True))
        page.show(4 + index, 2, "batches", "recipe", index, Look(box=True))
        for number, (_, name, unit) in enumerate(_COLUMNS, 3):
            page.show_of_batch(4 + index, number, name, index, Look(unit=unit, box=True, bold=name in ("cost_per_bar", "with_tax")))
    _chart(page)
    _lines(page, 4 + page.batches + 19)
    page.sheet.freeze_panes(3, 2)


def _chart(page: Page) -> None:
    """Draw what each batch's cost is made of; the cells are read live."""
    chart = page.book.file.add_chart({"type": "bar", "subtype": "stacked"})
    last = 4 + page.batches - 1
    first_cost = 3 + [name for _, name, _ in _COLUMNS].index(COSTS[0].step)
    fills = ("#2F5D50", "#C9B458", "#8FA8A0", "#6B4E3D", "#B9B3A5", "#1F2D2B")
    for offset, cost in enumerate(COSTS):
        column = letters(first_cost + offset)
        chart.add_series(
            {
                "name": f"={NAME}!${column}$3",
                "categories": f"={NAME}!$A$4:$B${last}",
                "values": f"={NAME}!${column}$4:${column}${last}",
                "fill": {"color": fills[offset % len(fills)]},
                "border": {"color": "#1F2D2B", "width": 0.5},
                "gap": 60,
            }
        )
    chart.set_title({"name": "Where the money of a batch goes", "name_font": {"size": 12}})
    chart.set_y_axis({"reverse": True})
    chart.set_x_axis({"name": "Money", "major_gridlines": {"visible": True, "line": {"color": "#D9D4C7"}}})
    chart.set_legend({"position": "bottom"})
    chart.set_size({"width": 900, "height": 340})
    words = {"description": "Stacked bars: ingredients, packaging, labour and overhead of each batch"}
    page.sheet.insert_chart(4 + page.batches, 0, chart, words | {"object_position": 2})


def _lines(page: Page, row: int) -> None:
    assert page.book.run
    slots = slots_in_a_card(page.book.run.workshop)
    page.put(row, 1, "Every line of every batch", Look(bold=True, size=13, ink=TITLE.ink))
    for number, header in enumerate(("Batch", "Ingredient", *(column[0] for column in _LINE_COLUMNS)), 1):
        page.put(row + 1, number, header, HEADING)
    at = row + 2
    for index in range(page.batches):
        for name in ("first", "second"):
            page.show(at, 1, "batches", "batch", index)
            page.show(at, 2, "batches", f"{name}_name", index)
            page.show_of_batch(at, 3, f"{name}_g", index, Look(unit="weigh"))
            page.show_of_batch(at, 5, f"{name}_cost", index, Look(unit="money"))
            at += 1
        for slot in range(slots):
            page.show(at, 1, "batches", "batch", index)
            page.show(at, 2, "slots", "ingredient", index * slots + slot)
            for number, (_, name, unit) in enumerate(_LINE_COLUMNS, 3):
                page.show(at, number, "slots", name, index * slots + slot, Look(unit=unit))
            at += 1
