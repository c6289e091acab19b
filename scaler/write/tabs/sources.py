"""Sources: what was used for each ingredient, which blanks took a default, and who says so."""

from __future__ import annotations

from scaler.model.records import setting_declared
from scaler.write.book import HEADING, HINT, TITLE, Book, Look
from scaler.write.tabs.shared import Page, open_page

NAME = "Sources"

_NUMBERS = (
    ("SAP in use", "sap_in_use", "SAP"),
    ("Lowest", "sap_low_in_use", "SAP"),
    ("Highest", "sap_high_in_use", "SAP"),
    ("Density", "density_in_use", "g/mL"),
)
_MARKS = (
    "read: seen in a stored text of the publication.  computed: arithmetic from atomic weights.  memory: recalled, not seen.  "
    "doubt: two routes disagree; take the supplier's value.  supplier: your own number."
)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    for number, width in enumerate((28, 9, 9, 9, 9, 40, 50, 9, 40), 0):
        page.sheet.set_column(number, number, width)
    page.put(1, 1, "Sources", TITLE)
    page.put(2, 1, _MARKS, Look(italic=True, size=9, ink=HINT.ink))
    row = _ingredients(page, 3)
    row = _settings(page, row + 2)
    _tables(page, row + 2)
    page.sheet.freeze_panes(3, 1)


def _ingredients(page: Page, row: int) -> int:
    assert page.book.run
    headers = (
        "Ingredient",
        *(number[0] for number in _NUMBERS),
        "Taken for blank cells",
        "Published range",
        "Mark",
        "Your own source",
    )
    for number, header in enumerate(headers, 1):
        page.put(row, number, header, HEADING)
    small = Look(box=True, wrap=True, size=9)
    for index, (item, facts) in enumerate(zip(page.book.run.workshop.ingredients, page.book.run.facts, strict=True)):
        at = row + 1 + index
        page.show(at, 1, "ingredients", "ingredient", index, Look(box=True, wrap=True))
        for number, (_, name, unit) in enumerate(_NUMBERS, 2):
            page.show(at, number, "ingredients", name, index, Look(unit=unit, box=True))
        words = (". ".join(facts.said), facts.source, facts.mark if item.kind in ("oil", "acid") else "supplier")
        for number, text in enumerate(words, 6):
            page.put(at, number, text, small)
        own = page.layout.cell("ingredients", "source", index)
        page.live(at, 9, f'=IF({own}="","",{own})', item.source or "", small)
        page.sheet.set_row(at - 1, 13 * max(1, -(-len(facts.source) // 52), -(-len(words[0]) // 42)) + 3)
    return row + 1 + len(page.book.run.facts)


def _settings(page: Page, row: int) -> int:
    assert page.book.run
    page.put(row, 1, "Settings that took their default", Look(bold=True, size=13, ink=TITLE.ink))
    lines = zip(page.book.run.workshop.costs, setting_declared().values(), strict=True)
    missing = [item for line, item in lines if line.value is None]
    for offset, item in enumerate(missing, 1):
        default = "no limit" if item.default is None else item.default
        shown = f"{default * 100:g} %" if item.kind == "percent" and isinstance(default, float) else str(default)
        page.put(row + offset, 1, item.name)
        page.put(row + offset, 2, f"{shown} {item.unit}".strip() if shown != "" else "blank")
    return row + 1 + len(missing)


_TABLES = (
    (
        "Density of NaOH solution",
        "CRC Handbook to 40 %, above it Perry's Chemical Engineers' Handbook; 0 %: Laliberté 2009",
        "memory",
    ),
    ("Density of KOH solution", "Laliberté 2009 correlation, J. Chem. Eng. Data 54", "read"),
    (
        "Heat of solution of NaOH",
        "Felder and Rousseau, Elementary Principles of Chemical Processes, Appendix B",
        "memory, one row read",
    ),
    ("Specific heat of NaOH solution", "Laliberté 2009 correlation", "read"),
    (
        "Coverage of the likely interval",
        "JCGM 100:2008 (GUM), convolution of rectangular ranges worked out here",
        "computed",
    ),
    ("Molar masses and every other constant", "sheet Constants, line by line", ""),
)


def _tables(page: Page, row: int) -> None:
    page.put(row, 1, "Tables", Look(bold=True, size=13, ink=TITLE.ink))
    for offset, (what, source, mark) in enumerate(_TABLES, 1):
        page.put(row + offset, 1, what)
        page.put(row + offset, 6, source)
        page.put(row + offset, 8, mark)
