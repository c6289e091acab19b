"""Calendar: what to do on each day, the lye it takes, what comes out of the moulds and what is ready."""

from __future__ import annotations

from scaler.market.days import STAGES
from scaler.write.book import HEADING, HINT, TITLE, Book, Look
from scaler.write.tabs.plan import write_stale
from scaler.write.tabs.shared import Page, open_page

NAME = "Calendar"
_SECTION = Look(bold=True, size=13, ink=TITLE.ink)

_DAYS = (
    ("Day", "planned_day", "date"),
    ("Batches to make", "batches_made", "count"),
    ("Alkali g", "lye_g", "one digit or none"),
    ("Lye g", "solution_g", "one digit or none"),
    ("Hours of work", "work_hours", "one digit or none"),
    ("Bars out of moulds", "bars_out", "count"),
    ("Ready, fit to sell", "bars_ready", "one digit or none"),
    ("Bars wanted", "bars_needed", "count"),
    ("Bars curing", "bars_curing", "count"),
    ("Hours too many", "hours_over", "count"),
    ("Shelf too full by", "shelf_over", "count"),
)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    page.put(1, 1, NAME, TITLE)
    write_stale(page, 4)
    hint = "Days are those of the plan; amounts follow sheet Batches. The same events stand in the .ics file beside this one."
    page.put(2, 1, hint, Look(italic=True, size=9, ink=HINT.ink))
    for number, (header, _, _) in enumerate(_DAYS, 1):
        page.put(3, number, header, HEADING)
        page.sheet.set_column(number - 1, number - 1, {2: 24, 3: 28, 4: 24}.get(number, 12))
    page.sheet.set_row(2, 32)
    count = page.layout.tables.lengths["days"]
    for index in range(count):
        for number, (_, name, unit) in enumerate(_DAYS, 1):
            page.show(4 + index, number, "days", name, index, Look(unit=unit, box=True, bold=number == 1))
    _steps(page, 6 + count)
    page.sheet.freeze_panes(3, 1)


def _steps(page: Page, row: int) -> None:
    """Write every step of every batch, in the order of the planned days."""
    page.put(row, 1, "Step by step, in the order of the plan", _SECTION)
    for number, header in enumerate(("Day", "What", "Recipe", "Mould", "Batch", "Moulds filled", "Bars"), 1):
        page.put(row + 1, number, header, HEADING)
    for place in range(page.layout.tables.lengths["stages"]):
        at, index = row + 2 + place, int(page.value("stages", "batch_at", place)) - 1
        name, says = STAGES[int(page.value("stages", "stage", place)) - 1]
        page.show_of_batch(at, 1, name, index, Look(unit="date", box=True, bold=True))
        page.put(at, 2, says, Look(box=True))
        page.show_choice(at, 3, "recipe", index, Look(box=True, wrap=True))
        page.show_choice(at, 4, "mould", index, Look(box=True, wrap=True))
        page.show_choice(at, 5, "batch", index, Look(box=True))
        page.show_of_batch(at, 6, "filled_moulds", index, Look(unit="whole", box=True))
        page.show_of_batch(at, 7, "bars", index, Look(unit="whole", box=True))
