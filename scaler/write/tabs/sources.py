"""Sources: what was used for each ingredient, which blanks took a default, and who says so."""

from __future__ import annotations

from scaler.model import setting_declared
from scaler.write.book import HEADING, HINT, TITLE, Book, Look
from scaler.write.tabs.shared import Page, open_page

NAME = "Sources"

_NUMBERS = (
    ("SAP in use", "sap_in_use", "mg KOH/g"),
    ("Lowest", "sap_low_in_use", "mg KOH/g"),
    ("Highest", "sap_high_in_use", "mg KOH/g"),
    ("Density", "density_in_use", "g/mL"),
)
_MARKS = (
    "read: seen in a stored text of the publication.  computed: arithmetic from atomic weights.  memory: recalled, not seen.  "
    "doubt: two routes disagree; take the supplier's value.  supplier: your own number."
)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    for number, width in enumerate((30, 11, 11, 11, 11, 46, 60, 11), 0):
        page.sheet.set_column(number, number, width)
    page.put(1, 1, "Sources", TITLE)
    page.put(2, 1, _MARKS, Look(italic=True, size=9, ink=HINT.ink))
    row = _ingredients(page, 3)
    _settings(page, row + 2)


def _ingredients(page: Page, row: int) -> int:
    assert page.book.run
    headers = ("Ingredient", *(number[0] for number in _NUMBERS), "Taken for blank cells", "Source", "Mark")
    for number, header in enumerate(headers, 1):
        page.put(row, number, header, HEADING)
    for index, (item, facts) in enumerate(zip(page.book.run.workshop.ingredients, page.book.run.facts, strict=True)):
        at = row + 1 + index
        page.show(at, 1, "ingredients", "ingredient", index, Look(box=True))
        for number, (_, name, unit) in enumerate(_NUMBERS, 2):
            page.show(at, number, "ingredients", name, index, Look(unit=unit, box=True))
        words = (". ".join(facts.said), facts.source, facts.mark if item.kind in ("oil", "acid") else "supplier")
        for number, text in enumerate(words, 6):
            page.put(at, number, text, Look(box=True, wrap=True, size=9))
    return row + 1 + len(page.book.run.facts)


def _settings(page: Page, row: int) -> None:
    assert page.book.run
    page.put(row, 1, "Settings that took their default", Look(bold=True, size=13, ink=TITLE.ink))
    lines = zip(page.book.run.workshop.costs, setting_declared().values(), strict=True)
    missing = [item for line, item in lines if line.value is None]
    for offset, item in enumerate(missing, 1):
        default = "no limit" if item.default is None else item.default
        shown = f"{default * 100:g} %" if item.kind == "percent" and isinstance(default, float) else str(default)
        page.put(row + offset, 1, item.name)
        page.put(row + offset, 2, f"{shown} {item.unit}".strip() if shown != "" else "blank")
