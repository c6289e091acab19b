"""Overview: one row a batch, whether all checks hold, and where to look next."""

from __future__ import annotations

from scaler.write.book import BRICK, HEADING, HINT, SAND, TITLE, Book, Look
from scaler.write.layout import letters
from scaler.write.tabs.charts import Series, bars
from scaler.write.tabs.checks import MASTER
from scaler.write.tabs.checks import NAME as CHECKS
from scaler.write.tabs.shared import Page, open_page

NAME = "Overview"

COLUMNS = (
    ("Batch", "batch", "text", 12),
    ("Recipe", "recipe", "text", 26),
    ("Mould", "mould", "text", 20),
    ("Oils g", "oils_g", "g", 11),
    ("Liquid g", "liquid_g", "g", 11),
    ("Alkali g", "alkali_g", "g", 11),
    ("Batter g", "batter_g", "g", 11),
    ("Bars", "bars", "whole", 8),
    ("Superfat", "superfat", "%", 10),
    ("Lowest superfat", "superfat_low", "%", 10),
    ("Cost per bar", "cost_per_bar", "money", 10),
    ("Price before tax", "before_tax", "money", 10),
    ("Price with tax", "with_tax", "money", 10),
    ("Margin", "margin", "%", 10),
)

_INPUTS = ("batch", "recipe", "mould")


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    for number, (header, _, _, width) in enumerate(COLUMNS, 1):
        page.put(1, number, header, HEADING)
        page.sheet.set_column(number - 1, number - 1, width)
    page.sheet.set_row(0, 32)
    for index in range(page.batches):
        for number, (_, name, unit, _) in enumerate(COLUMNS, 1):
            _cell(page, 2 + index, number, name, unit, index)
    _below(page, 4 + page.batches)
    page.sheet.freeze_panes(1, 2)
    page.sheet.repeat_rows(0)


def _cell(page: Page, row: int, number: int, name: str, unit: str, index: int) -> None:
    look = Look(unit=unit, box=True, bold=name in ("alkali_g", "with_tax"))
    if name in _INPUTS:
        page.show_choice(row, number, name, index, Look(box=True, wrap=True))
    elif name == "superfat":
        page.show_of_recipe(row, number, name, index, look)
    else:
        page.show_of_batch(row, number, name, index, look)


def _below(page: Page, row: int) -> None:
    book = page.book
    assert book.run
    page.put(row, 1, "Checks", Look(bold=True))
    formula, value = MASTER.formula(page), MASTER.value(page)
    page.live(row, 2, formula, value, Look(bold=True, box=True))
    page.put(row, 4, f"One line a check on sheet {CHECKS}.", Look(italic=True, size=9, ink=HINT.ink))
    page.live(row + 1, 2, MASTER.first_formula(page), MASTER.first(page), Look(ink=BRICK))
    currency = book.layout.tables.one("costs", "currency") if book.layout else ""
    lines = (
        "How this workbook works",
        "Result tabs come first, then the workings, then the sheets you fill. Change a number, a unit or a name on a "
        "sheet you fill and everything here follows.",
        "A new row, or another Shape, Kind or Base, needs the engine: " + page.again,
        "Weights are grams; money is as on Costs" + (f" ({currency})." if currency else "."),
        "Lye is caustic. Read Safety notes before the first batch, and weigh everything twice.",
    )
    page.put(row + 2, 1, lines[0], Look(bold=True, size=13, ink=TITLE.ink))
    for offset, text in enumerate(lines[1:], row + 3):
        page.put(offset, 1, text)
    _charts(page, row + 11)
    page.put(row + 8, 1, None, Look(ground=SAND, box=True))
    page.put(row + 8, 2, "a cell for you to fill")
    page.put(row + 9, 1, "1,234.00", Look(box=True, align="right"))
    page.put(row + 9, 2, "a worked-out cell: locked, no password")


def _charts(page: Page, row: int) -> None:
    """Draw what a bar costs and the price asked, batch by batch."""
    last = 1 + page.batches
    column = {name: letters(number) for number, (_, name, _, _) in enumerate(COLUMNS, 1)}
    batches = f"={NAME}!$A$2:$A${last}"
    for place, (name, title) in enumerate((("cost_per_bar", "What a bar costs"), ("with_tax", "Price with tax"))):
        at = column[name]
        series = [Series(f"={NAME}!${at}$1", batches, f"={NAME}!${at}$2:${at}${last}")]
        chart = bars(page.book, title, f"={page.setting('currency')}", series)
        chart.set_size({"width": 560, "height": 320})
        words = {"description": f"Bars: {title.lower()} of each batch"}
        page.sheet.insert_chart(row - 1, 7 * place, chart, words | {"object_position": 2})
