"""Costing: where the money in a bar goes, the price that makes the margin, and what a rise of each price does."""

from __future__ import annotations

from scaler.rules.costing import COSTS
from scaler.rules.selling import LADDER_RUNGS
from scaler.rules.tables import slots_in_a_card
from scaler.write.book import HEADING, HINT, TITLE, Book, Look
from scaler.write.layout import letters
from scaler.write.tabs.charts import Series, bars, line
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
    ("Wholesale price", "wholesale_price", "money"),
    ("Wholesale margin", "wholesale_margin", "%"),
    ("Bars to cover a stall fee", "bars_for_stall", "whole"),
)

_LINE_COLUMNS = (
    ("Weight g", "g", "one digit or none"),
    ("Count", "line_count_each", "count"),
    ("Cost", "cost", "money or none"),
)
_SHOWN_RISES = 6
_CHART_ROWS = 19
_SECTION = Look(bold=True, size=13, ink=TITLE.ink)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    page.put(1, 1, "What a bar costs", TITLE)
    hint = "Margin is of the price before tax; mark-up is on the cost. Lines are costed on exact grams. Money is as on Costs."
    page.put(2, 1, hint, Look(italic=True, size=9, ink=HINT.ink))
    _table(page)
    row = 5 + page.batches
    _costs_chart(page, row)
    row = _ladder(page, row + _CHART_ROWS)
    row = _rises(page, row + 1)
    page.sheet.set_h_pagebreaks([row])
    _lines(page, row + 1)
    page.sheet.freeze_panes(3, 2)


def _table(page: Page) -> None:
    for number, header in enumerate(("Batch", "Recipe", *(column[0] for column in _COLUMNS)), 1):
        page.put(3, number, header, HEADING)
        page.sheet.set_column(number - 1, number - 1, {1: 12, 2: 28}.get(number, 11))
    page.sheet.set_row(2, 45)
    for index in range(page.batches):
        page.show_choice(4 + index, 1, "batch", index, Look(box=True))
        page.show_choice(4 + index, 2, "recipe", index, Look(box=True))
        for number, (_, name, unit) in enumerate(_COLUMNS, 3):
            bold = name in ("cost_per_bar", "with_tax")
            page.show_of_batch(4 + index, number, name, index, Look(unit=unit, box=True, bold=bold))


def _costs_chart(page: Page, row: int) -> None:
    """Draw what each batch's cost is made of."""
    last = 3 + page.batches
    first = 3 + [name for _, name, _ in _COLUMNS].index(COSTS[0].step)
    series = []
    for offset in range(len(COSTS)):
        column = letters(first + offset)
        values = f"={NAME}!${column}$4:${column}${last}"
        series.append(Series(f"={NAME}!${column}$3", f"={NAME}!$A$4:$A${last}", values))
    chart = bars(page.book, "Where the money of each batch goes", f"={page.setting('currency')}", series)
    chart.set_size({"width": 760, "height": 350})
    words = {"description": "Stacked bars: ingredients, packaging, labour and overhead of each batch"}
    page.sheet.insert_chart(row - 1, 0, chart, words | {"object_position": 2})


def _ladder(page: Page, row: int) -> int:
    """Write the price with tax at each margin, draw it beside the costs, and return the next free row."""
    page.put(row, 1, "Price with tax at other margins; 0 where the card fee leaves no room", _SECTION)
    page.put(row + 1, 1, "Batch", HEADING)
    page.put(row + 1, 2, "Recipe", HEADING)
    for rung in range(LADDER_RUNGS):
        page.show(row + 1, 3 + rung, "ladder", "ladder_margin", rung, _rung_look())
    for index in range(page.batches):
        at = row + 2 + index
        page.show_choice(at, 1, "batch", index, Look(box=True))
        page.show_choice(at, 2, "recipe", index, Look(box=True))
        for rung in range(LADDER_RUNGS):
            page.show(at, 3 + rung, "ladder", "with_tax", index * LADDER_RUNGS + rung, Look(unit="money", box=True))
    last = letters(2 + LADDER_RUNGS)
    series = [
        Series(f"={NAME}!$A${at}", f"={NAME}!$C${row + 1}:${last}${row + 1}", f"={NAME}!$C${at}:${last}${at}")
        for at in range(row + 2, row + 2 + min(page.batches, 8))
    ]
    chart = line(page.book, "Price with tax at each margin", "Margin", f"={page.setting('currency')}", series)
    chart.set_size({"width": 640, "height": 350})
    words = {"description": "Lines: price with tax of each batch at margins from 30 % to 70 %"}
    page.sheet.insert_chart(row - _CHART_ROWS - 1, 8, chart, words | {"object_position": 2})
    return row + 3 + page.batches


def _rung_look() -> Look:
    return Look(unit="%", bold=True, ink="#FFFFFF", ground=HEADING.ground, box=True)


def _rises(page: Page, row: int) -> int:
    """Write what a rise of each price does to a bar, the dearest things first, and return the next free row."""
    each = page.layout.tables.lengths["effects"] // page.batches
    shown = min(_SHOWN_RISES, each)
    page.put(row, 1, "What a bar costs more when a price rises by", _SECTION)
    rise = list(page.layout.tables.column("constants", "name")).index("price_rise")
    page.show(row, 6, "constants", "value", rise, Look(unit="%", bold=True, size=13))
    page.put(row + 1, 1, "Batch", HEADING)
    for place in range(shown):
        page.put(row + 1, 2 + 2 * place, ("Most", "second", "third", "fourth", "fifth", "sixth")[place], HEADING)
        page.put(row + 1, 3 + 2 * place, "a bar", HEADING)
    for index in range(page.batches):
        at = row + 2 + index
        page.sheet.set_row(at - 1, 26)
        page.show_choice(at, 1, "batch", index, Look(box=True))
        for place in range(shown):
            page.show(
                at, 2 + 2 * place, "effects", "dearest_thing", index * each + place, Look(box=True, wrap=True, size=9)
            )
            page.show(at, 3 + 2 * place, "effects", "dearest_rise", index * each + place, Look(unit="fine", box=True))
    return row + 3 + page.batches


def _lines(page: Page, row: int) -> None:
    assert page.book.run
    slots = slots_in_a_card(page.book.run.workshop)
    page.put(row, 1, "Every line of every batch", _SECTION)
    for number, header in enumerate(("Batch", "Ingredient", *(column[0] for column in _LINE_COLUMNS)), 1):
        page.put(row + 1, number, header, HEADING)
    at = row + 2
    for index in range(page.batches):
        for name in ("first", "second"):
            page.show_choice(at, 1, "batch", index)
            page.show(at, 2, "batches", f"{name}_name", index)
            page.show_of_batch(at, 3, f"{name}_g", index, Look(unit="one digit or none"))
            page.show_of_batch(at, 5, f"{name}_cost", index, Look(unit="money or none"))
            at += 1
        for slot in range(slots):
            page.show_choice(at, 1, "batch", index)
            page.show(at, 2, "slots", "ingredient", index * slots + slot)
            for number, (_, name, unit) in enumerate(_LINE_COLUMNS, 3):
                page.show(at, number, "slots", name, index * slots + slot, Look(unit=unit))
            at += 1
