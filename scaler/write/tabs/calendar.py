"""Calendar: what to do on each day."""

from __future__ import annotations

from dataclasses import replace

from scaler.model.schema import letters
from scaler.write.book import HEADING, SECTION, Book, Look
from scaler.write.tabs.plan import write_stale
from scaler.write.tabs.shared import Page, Shown, open_page

NAME = "Calendar"

_DAYS = (
    Shown("Day", "planned_day", "date", 16), Shown("Batches to make", "batches_made", "count", 12),
    Shown("Alkali g", "lye_g", "weigh", 12, imperial="lye_words"),
    Shown("Lye g", "solution_g", "one digit or none", 12, imperial="solution_words"),
    Shown("Hours of work", "work_hours", "one digit or none", 12), Shown("Bars out of moulds", "bars_out", "count", 12),
    Shown("Bars ready to sell", "bars_ready", "one digit or none", 12), Shown("Bars needed", "bars_needed", "count", 12),
    Shown("Bars to bring", "bars_to_bring", "count", 12), Shown("Market", "market_name", "text", 16),
    Shown("Income if all sell", "day_income", "money or none", 12),
    Shown("Bars curing", "bars_curing", "count", 12), Shown("Hours too many", "hours_over", "count", 12),
    Shown("Too many for the shelf", "shelf_over", "count", 12),
)  # fmt: skip
_MARKET = next(number for number, column in enumerate(_DAYS, 1) if column.name == "market_name")
_STEPS = (
    Shown("Day", "step_day", "date"), Shown("What", "step_words", "text"), Shown("Recipe", "step_recipe", "text"),
    Shown("Mould", "step_mould", "text"), Shown("Batch", "step_batch", "text"), Shown("Moulds filled", "step_moulds", "whole"),
    Shown("Bars", "step_bars", "whole"),
)  # fmt: skip
_SAYS = (
    "Days follow sheets Batches, Market, Market days and On hand. The .ics file beside this one has those of the plan."
)
_WIDTHS = (17, 24, 26, 22)
_LOOK = Look(rule="thin")


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "What to do on which day", _SAYS, landscape=True)
    write_stale(page)
    page.head(5, _DAYS)
    page.put(5, 1, "Day", HEADING)
    count = page.layout.tables.lengths["days"]
    for index in range(count):
        for number, column in enumerate(_DAYS, 1):
            left = number == 1 or not column.is_figure
            unit = page.weighing() if column.unit == "weigh" else column.unit if column.is_figure else ""
            look = replace(_LOOK, unit=unit, bold=number == 1)
            look = replace(look, align="left", indent=int(number > 1)) if left else look
            page.measure(6 + index, number, "days", column, index, look)
    page.put(5, _MARKET, "Market", replace(HEADING, indent=1))
    page.leave_white(6, 5 + count, letters(len(_DAYS)))
    _steps(page, 7 + count)
    page.widths(_WIDTHS)
    page.sheet.freeze_panes(5, 1)


def _steps(page: Page, row: int) -> None:
    """Write every step of every batch, in the order of the days."""
    page.put(row, 1, "Step by step", SECTION)
    page.sheet.set_h_pagebreaks([row - 1])
    figures = [number for number, shown in enumerate(_STEPS, 1) if shown.unit == "whole"]
    page.heads(row + 1, (shown.heading for shown in _STEPS), figures=figures)
    for place in range(page.layout.tables.lengths["stages"]):
        for number, shown in enumerate(_STEPS, 1):
            look = replace(_LOOK, unit=shown.unit if shown.unit in ("date", "whole") else "")
            look = replace(look, bold=True, align="left") if number == 1 else look
            page.show(row + 2 + place, number, "stages", shown.name, place, look)
