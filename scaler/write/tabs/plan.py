"""Plan: what to make when, in which moulds, and whether the bars are ready on their day."""

from __future__ import annotations

from collections.abc import Sequence

from scaler.market.before import NOT_COUNTED
from scaler.write.book import BRICK, SECTION, Book, Look
from scaler.write.tabs.shared import Page, Shown, open_page

NAME = "Plan"

_COLUMNS = (
    Shown("Mould", "mould", "text", 20),
    Shown("Moulds filled", "filled_moulds", "whole", 8),
    Shown("Make", "made_on", "date", 15),
    Shown("Out of the mould", "unmould_on", "date", 15),
    Shown("Sell from", "ready_day", "date", 15),
    Shown("Bars", "bars", "whole", 8),
    Shown("Bars to sell", "whole_bars", "whole", 12),
    Shown("Cured bar g", "bar_cured_g", "whole", 12, imperial="cured_words"),
    Shown("Alkali g", "alkali_weigh_g", "weigh", 9, imperial="alkali_words"),
    Shown("Hours", "labour_hours", "one digit", 8),
    Shown("Moulds missing", "moulds_over", "none", 9),
)
_DEMAND = (
    Shown("Recipe", "recipe", "text"), Shown("Market", "day", "text"), Shown("Bars", "bars", "whole"),
    Shown("Needed by", "need_day", "date"), Shown("Wanted by then", "wanted_by_then", "whole"),
    Shown("On hand by then", "held_by_then", "whole"), Shown("Made by then", "made_whole", "whole"),
    Shown("Ready by then", "fit_by_then", "whole"), Shown("Missing", "short", "none"),
    Shown("Cannot be made", "planned_short", "none"),
)  # fmt: skip
_CHANGES = (Shown("Batch", "change_batch", "text"), Shown("What changed", "change_words", "text"))
_SIZES = (Shown("Recipe", "size_recipes", "text"), Shown("Bar size", "size_words", "text"))
_LOTS = (
    Shown("Batch", "lot_name", "text"), Shown("State", "lot_state", "text"), Shown("Bars to sell", "lot_bars", "whole"),
    Shown("Made", "lot_made", "date"), Shown("Out of the mould", "lot_free", "date"), Shown("Sell from", "lot_ready", "date"),
)  # fmt: skip
_PACKS = "A number of packs on Shopping list is not 0, 1, 2 or more, so none are counted: correct it."
_SAYS = "These batches stand on sheet Batches: a different mould or date may be typed there, and everything follows."


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "Plan", _SAYS, landscape=True)
    write_stale(page)
    top = _table(page, 5, "Since the last plan", "changes", _CHANGES)
    row = page.batch_table(top, _COLUMNS) + 1
    row = _table(page, row, "Made already, or failed", "lots", _LOTS)
    row = _table(page, row, "One bar size for each soap", "sizes", _SIZES)
    _table(page, row, "Bars ready on time?", "market", _DEMAND)
    page.sheet.freeze_panes(5 if top == 5 else 3, 2)


def _table(page: Page, row: int, title: str, table: str, shown: Sequence[Shown]) -> int:
    """Write a table of workings below its title, and return the next free row; nothing when it is empty."""
    count = page.layout.tables.lengths[table]
    if not count:
        return row
    page.put(row, 1, title, SECTION)
    figures = [number for number, column in enumerate(shown, 2) if column.is_figure]
    page.heads(row + 1, (column.heading for column in shown), 2, figures)
    page.sheet.set_row(row, 32)
    for index in range(count):
        for number, column in enumerate(shown, 2):
            look = Look(unit=column.unit if column.is_figure else "", rule="thin")
            page.show(row + 2 + index, number, table, column.name, index, look)
    return row + count + 3


def write_stale(page: Page) -> None:
    """Write what is said when the demand is no longer the one that was planned for."""
    changed = f"SUM({page.layout.range('market', 'changed')})>0"
    two = page.layout.one("constants", "two")
    done = f"COUNTIF({page.layout.range('batches', 'state_code')},{two}+{two})>0"
    words = f"The demand has changed: {page.again}", f"A batch is made or failed: {page.again}"
    said = [page.part(f'"{word}"', word) for word in words]
    tables = page.layout.tables
    uncounted = f'IF({page.setting("stock_counted")}="","{NOT_COUNTED}","")' if tables.lengths["lots"] else '""'
    formula = f"=IF({changed},{said[0]},IF({done},{said[1]},{uncounted}))"
    value = NOT_COUNTED if tables.lengths["lots"] and not tables.one("costs", "stock_counted") else ""
    value = words[1] if 4 in tables.column("batches", "state_code") else value
    value = words[0] if 1 in tables.column("market", "changed") else value
    page.live(4, 1, formula, value, Look(bold=True, ink=BRICK))


def write_packs(page: Page) -> None:
    """Write beside the title what is said when a number of packs cannot be."""
    formula = f'=IF(SUM({page.layout.range("packs", "packs_wrong")})>0,"{_PACKS}","")'
    value = _PACKS if 1 in page.layout.tables.column("packs", "packs_wrong") else ""
    page.live(2, 3, formula, value, Look(bold=True, ink=BRICK))
