"""Costing: what a bar costs, where the money goes, and what the price does to the margin."""

from __future__ import annotations

from typing import Any

from scaler.model.schema import letters
from scaler.rules.costing import COSTS
from scaler.rules.selling import LADDER_RUNGS
from scaler.write.book import BODY, FIGURE_HEADING, INK, SECTION, Book, Look
from scaler.write.tabs.shared import ON_A_PAGE, Page, Shown, open_page

NAME = "Costing"

_COLUMNS = (
    Shown("Bars", "bars", "whole", 7),
    Shown("Bars to sell", "whole_bars", "whole", 8),
    *(Shown(cost.says, cost.step, "money", 11) for cost in COSTS),
    Shown("Total cost", "total_cost", "money", 10),
    Shown("Cost per bar", "cost_per_bar", "money", 12, bold=True),
    Shown("Price before tax", "before_tax", "money", 11),
    Shown("Price with tax", "with_tax", "money", 9, bold=True),
    Shown("Margin", "margin", "whole %", 9),
    Shown("Mark-up", "markup", "whole %", 9),
    Shown("Wholesale price", "wholesale_price", "money", 10),
    Shown("Wholesale margin", "wholesale_margin", "whole %", 10),
    Shown("Bars to cover a stall fee", "bars_for_stall", "whole", 10),
)
_HERE = (("bars_here", "whole"), ("cost_here", "money"), ("with_tax_here", "money"))
_SAYS = "Margin is a share of the price before tax, after the card fee; mark-up is on the cost. Money is in the currency on Costs."
_CHART_ROWS = 18
_MOST_CHARTED = 12

_SHADES = ("#2F5D50", "#D8C98B", "#8FA8A0", "#6B4E3D", "#C9C3B4", "#1F2D2B")
_PATTERNS = ("wide_upward_diagonal", "small_grid", "wide_downward_diagonal")
_FONT = {"name": "Calibri", "size": 10, "color": INK}
_NO_TICKS = {"major_tick_mark": "none", "minor_tick_mark": "none"}


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "What a bar costs", _SAYS, landscape=True)
    row = page.batch_table(5, _COLUMNS, height=46) + 1
    row = _by_mould(page, row)
    if page.batches < _MOST_CHARTED:
        _costs_chart(page, row)
        row += _CHART_ROWS
    if page.batches > ON_A_PAGE:
        page.sheet.set_h_pagebreaks([row - 1])
    _ladder(page, row)
    page.sheet.freeze_panes(5, 2)


def _by_mould(page: Page, row: int) -> int:
    """Write what a bar costs from each mould of a pot that has several, and return the row below."""
    pots = page.layout.tables.column("batches", "pot_at")
    rows = [index for index, pot in enumerate(pots) if pot and list(pots).count(pot) > 1]
    if not rows:
        return row
    page.put(row, 1, "One pot in several moulds: a bar from each", SECTION)
    page.heads(row + 1, ("Batch", "Mould", "Bars", "Cost per bar", "Price with tax"), figures=range(3, 6))
    for at, index in enumerate(rows, row + 2):
        page.show(at, 1, "batches", "batch_name", int(pots[index]) - 1, BODY)
        page.show(at, 2, "batches", "mould", index, BODY)
        for number, (name, unit) in enumerate(_HERE, 3):
            page.figure(at, number, "batches", name, index, Look(unit=unit, rule="thin"))
    return row + 3 + len(rows)


def _costs_chart(page: Page, row: int) -> None:
    """Draw what each batch's cost is made of, from live cells."""
    last = 5 + page.batches
    first = 3 + [column.name for column in _COLUMNS].index(COSTS[0].step)
    chart = page.book.file.add_chart({"type": "bar", "subtype": "stacked"})
    for number in range(len(COSTS)):
        column = letters(first + number)
        cells = {"categories": f"={NAME}!$A$6:$A${last}", "values": f"={NAME}!${column}$6:${column}${last}"}
        look = {"name": f"={NAME}!${column}$5", "border": {"color": INK, "width": 0.5}, "gap": 50} | _fill_of(number)
        chart.add_series(cells | look)
    chart.set_y_axis({"reverse": True, "num_font": _FONT} | _NO_TICKS)
    gridlines = {"visible": True, "line": {"color": "#D9D4C7"}}
    chart.set_x_axis({"num_font": _FONT, "label_position": "high", "major_gridlines": gridlines} | _NO_TICKS)
    title = {"name": "Calibri", "size": 12, "bold": True, "color": INK}
    chart.set_title({"name": "Where the money of each batch goes", "name_font": title})
    chart.set_legend({"position": "bottom", "font": _FONT})
    chart.set_size({"width": 900, "height": 340})
    words = {"description": "Stacked bars: what each batch's cost is made of"}
    page.sheet.insert_chart(row - 1, 0, chart, words | {"object_position": 2})


def _fill_of(number: int) -> dict[str, Any]:
    """Return the shade of a part, with a pattern where shades alone would be alike in grey print."""
    shade = _SHADES[number % len(_SHADES)]
    if number % 2 == 0:
        return {"fill": {"color": shade}}
    return {"pattern": {"pattern": _PATTERNS[number // 2 % len(_PATTERNS)], "fg_color": INK, "bg_color": shade}}


def _ladder(page: Page, row: int) -> None:
    """Write the price with tax at other margins."""
    page.put(row, 1, "Price with tax at other margins", SECTION)
    page.heads(row + 1, ("Batch", "Recipe"))
    for rung in range(LADDER_RUNGS):
        look = Look(unit="whole %", bold=True, ground=FIGURE_HEADING.ground, rule="leaf", align="right")
        page.show(row + 1, 3 + rung, "ladder", "ladder_margin", rung, look)
    for index in range(page.batches):
        at = row + 2 + index
        page.show(at, 1, "batches", "batch_name", index, BODY)
        page.show(at, 2, "batches", "recipe", index, BODY)
        for rung in range(LADDER_RUNGS):
            place = index * LADDER_RUNGS + rung
            page.figure(at, 3 + rung, "ladder", "with_tax", place, Look(unit="money or none", rule="thin"))
        page.hide_further(index, at, at)
