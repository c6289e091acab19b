"""Plan: what to make when, in which moulds, and whether every bar wanted is there on its day."""

from __future__ import annotations

from scaler.write.book import BRICK, HEADING, HINT, TITLE, Book, Look
from scaler.write.layout import TITLE_ROW
from scaler.write.tabs.checks import rows_added
from scaler.write.tabs.shared import Page, open_page

NAME = "Plan"
_SECTION = Look(bold=True, size=13, ink=TITLE.ink)

_BATCH = (
    ("Batch", "batch", "text", 10),
    ("Recipe", "recipe", "text", 28),
    ("Mould", "mould", "text", 22),
    ("Moulds filled", "filled_moulds", "whole", 10),
    ("Make date", "made_on", "date", 12),
    ("Out of the mould", "unmould_on", "date", 12),
    ("Can be sold from", "ready", "date", 12),
    ("Bars", "bars", "whole", 9),
    ("Fit to sell", "bars_to_sell", "one digit", 9),
    ("Cured bar g", "bar_cured_g", "whole", 10),
    ("Alkali g", "alkali_g", "g", 11),
    ("Hours", "labour_hours", "h", 9),
    ("Moulds too few", "moulds_over", "whole", 9),
)
_INPUTS = ("batch", "recipe", "mould")

_DEMAND = (
    ("Recipe", "recipe", "text", 2),
    ("Market", "day", "text", 3),
    ("Bars", "bars", "whole", 4),
    ("Needed by", "needed_by", "date", 5),
    ("Wanted by then", "wanted_by_then", "whole", 6),
    ("On hand by then", "held_by_then", "whole", 7),
    ("Made by then", "made_by_then", "one digit", 8),
    ("Whole bars there", "fit_by_then", "whole", 9),
    ("Missing", "short", "whole", 10),
    ("Changed since plan", "changed", "whole", 11),
)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    page.put(1, 1, "Plan", TITLE)
    write_stale(page, 5)
    hint = (
        "The planner chose these batches: they stand on sheet Batches, where another mould or date may be typed. "
        "Results follow. Another demand on sheet Market needs a new plan: give this file to scaler market again."
    )
    page.put(2, 1, hint, Look(italic=True, size=9, ink=HINT.ink))
    for number, (header, _, _, width) in enumerate(_BATCH, 1):
        page.put(3, number, header, HEADING)
        page.sheet.set_column(number - 1, number - 1, width)
    page.sheet.set_row(2, 32)
    for index in range(page.batches):
        for number, (_, name, unit, _) in enumerate(_BATCH, 1):
            look = Look(unit=unit, box=True, bold=name == "made_on")
            if name in _INPUTS:
                page.show_choice(4 + index, number, name, index, Look(box=True, wrap=True))
            else:
                page.show_of_batch(4 + index, number, name, index, look)
    _demand(page, 6 + page.batches)
    page.sheet.freeze_panes(3, 2)


def write_stale(page: Page, column: int) -> None:
    """Write in the title's row what is said when the plan is no longer that of the demand."""
    added = "+".join(f"ABS({rows_added(page, key)})" for key in ("market", "on_hand"))
    changed = f"SUM({page.layout.range('market', 'changed')})+{added}>0"
    formula = f'=IF({changed},"Demand changed: run scaler market again","")'
    page.live(TITLE_ROW, column, formula, "", Look(bold=True, size=13, ink=BRICK))


def _demand(page: Page, row: int) -> None:
    page.put(row, 1, "Is every bar there on its day", _SECTION)
    for header, _, _, number in _DEMAND:
        page.put(row + 1, number, header, HEADING)
    page.sheet.set_row(row, 46)
    market = page.book.run.workshop.market if page.book.run else ()
    for index, item in enumerate(market):
        for _, name, unit, number in _DEMAND:
            look = Look(unit=unit, box=True, wrap=name in ("recipe", "day"), bold=name in ("fit_by_then", "short"))
            if name == "day":
                cell = page.layout.cell("market", name, index)
                page.live(row + 2 + index, number, f'=IF({cell}="","",{cell})', item.day or "", look)
            else:
                page.show(row + 2 + index, number, "market", name, index, look)
