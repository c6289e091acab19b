"""Calendar: what to do on each day."""

from __future__ import annotations

from scaler.market.days import STAGES
from scaler.write.book import BODY, FIGURE_HEADING, HEADING, SECTION, Book, Look
from scaler.write.tabs.plan import write_stale
from scaler.write.tabs.shared import Page, Shown, open_page

NAME = "Calendar"

_DAYS = (
    Shown("Day", "planned_day", "date", 16), Shown("Batches to make", "batches_made", "count", 12),
    Shown("Alkali g", "lye_g", "one digit or none", 12, imperial="lye_words"),
    Shown("Lye g", "solution_g", "one digit or none", 12, imperial="solution_words"),
    Shown("Hours of work", "work_hours", "one digit or none", 12), Shown("Bars out of moulds", "bars_out", "count", 12),
    Shown("Bars ready to sell", "bars_ready", "count", 12), Shown("Bars to have ready", "bars_needed", "count", 12),
    Shown("Bars to bring", "bars_to_bring", "count", 12), Shown("Market", "market_name", "text", 16),
    Shown("Bars curing", "bars_curing", "count", 12), Shown("Hours too many", "hours_over", "count", 12),
    Shown("Too many for the shelf", "shelf_over", "count", 12),
)  # fmt: skip
_SAYS = "Days are those of the plan; amounts follow sheet Batches. The .ics file beside this one holds the same days."
_WIDTHS = (17, 24, 26, 22)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "What to do on which day", _SAYS, landscape=True)
    write_stale(page)
    page.head(5, _DAYS)
    page.put(5, 1, "Day", HEADING)
    count = page.layout.tables.lengths["days"]
    for index in range(count):
        for number, column in enumerate(_DAYS, 1):
            look = Look(unit=column.unit, bold=number == 1, rule="thin", align="left" if number == 1 else "")
            page.measure(6 + index, number, "days", column, index, look)
    _steps(page, 7 + count)
    for number, width in enumerate(_WIDTHS):
        page.sheet.set_column(number, number, width)
    page.sheet.freeze_panes(5, 1)


def _steps(page: Page, row: int) -> None:
    """Write every step of every batch, in the order of the planned days."""
    page.put(row, 1, "Step by step", SECTION)
    for number, head in enumerate(("Day", "What", "Recipe", "Mould", "Batch", "Moulds filled", "Bars"), 1):
        page.put(row + 1, number, head, FIGURE_HEADING if number > 5 else HEADING)
    for place in range(page.layout.tables.lengths["stages"]):
        at, index = row + 2 + place, int(page.value("stages", "batch_at", place)) - 1
        name, says = STAGES[int(page.value("stages", "stage", place)) - 1]
        page.of_batch(at, 1, Shown("", name, "date"), index, Look(unit="date", bold=True, rule="thin", align="left"))
        page.put(at, 2, says, Look(rule="thin", indent=1))
        for number, text in enumerate(("recipe", "mould", "batch_name"), 3):
            page.show(at, number, "batches", text, index, BODY)
        for number, text in enumerate(("filled_moulds", "bars"), 6):
            page.of_batch(at, number, Shown("", text, "whole"), index)
