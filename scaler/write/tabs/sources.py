"""Sources: what was used for each ingredient, who says so, and every fixed number."""

from __future__ import annotations

from scaler.model.settings import setting_declared
from scaler.write.book import BODY, FIGURE_HEADING, HEADING, SECTION, Book, Look
from scaler.write.tabs.shared import GREY, Page, open_page

NAME = "Sources"

_NUMBERS = (
    ("SAP in use", "sap_in_use", "SAP"), ("Lowest", "sap_low_in_use", "SAP"), ("Highest", "sap_high_in_use", "SAP"),
    ("Density g/mL", "density_in_use", "g/mL"),
)  # fmt: skip
_MARKS = (
    "read: seen in a stored text of the publication · computed: from atomic weights · memory: recalled, not checked · "
    "doubt: sources disagree, take the supplier's value · supplier: your own number"
)
_TABLES = (
    ("Density of NaOH solution", "CRC Handbook to 40 %, above it Perry's Chemical Engineers' Handbook; 0 %: Laliberté 2009", "memory"),
    ("Density of KOH solution", "Laliberté 2009 correlation, J. Chem. Eng. Data 54", "read"),
    ("Heat of solution of NaOH", "Felder and Rousseau, Elementary Principles of Chemical Processes, Appendix B, moved by 1.64 kJ/mol to KOH's convention", "memory, one row read"),
    ("Where lye boils", "producers' handbooks of caustic soda and caustic potash", "memory"),
    ("Specific heat of NaOH solution", "Laliberté 2009 correlation", "read"),
    ("Coverage of the likely interval", "JCGM 100:2008 (GUM), convolution of rectangular ranges worked out here", "computed"),
)  # fmt: skip


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "Where the numbers come from", _MARKS, landscape=True, colour=GREY)
    for number, width in enumerate((30, 9, 9, 9, 9, 44, 58, 10)):
        page.sheet.set_column(number, number, width)
    row = _ingredients(page, 5)
    row = _settings(page, row + 1)
    row = _tables(page, row + 1)
    page.put(row + 1, 1, "Every other fixed number stands at the top of WorkingsA, with its unit and its source.")
    page.sheet.freeze_panes(5, 1)
    page.sheet.repeat_rows(1, 4)


def _ingredients(page: Page, row: int) -> int:
    run = page.book.run
    assert run
    heads = ("Ingredient", *(number[0] for number in _NUMBERS), "Used for blank cells", "Published range", "Mark")
    for number, head in enumerate(heads, 1):
        page.put(row, number, head, FIGURE_HEADING if 1 < number < 6 else HEADING)
    small = Look(wrap=True, size=9, rule="thin")
    for index, (item, facts) in enumerate(zip(run.workshop.ingredients, run.facts, strict=True)):
        at = row + 1 + index
        page.show(at, 1, "ingredients", "ingredient", index, BODY)
        for number, (_, name, unit) in enumerate(_NUMBERS, 2):
            page.show(at, number, "ingredients", name, index, Look(unit=unit, rule="thin"))
        words = (". ".join(facts.said), facts.source, facts.mark if item.kind in ("oil", "acid") else "supplier")
        for number, text in enumerate(words, 6):
            page.put(at, number, text, small)
        page.sheet.set_row(at - 1, 13 * max(1, -(-len(facts.source) // 62), -(-len(words[0]) // 48)) + 3)
    return row + 1 + len(run.facts)


def _settings(page: Page, row: int) -> int:
    run = page.book.run
    assert run
    page.put(row, 1, "Settings that took their default", SECTION)
    lines = zip(run.workshop.costs, setting_declared().values(), strict=True)
    missing = [item for line, item in lines if line.value is None]
    for offset, item in enumerate(missing, 1):
        default = "no limit" if item.default is None else item.default
        shown = f"{default * 100:g} %" if item.kind == "percent" and isinstance(default, float) else str(default)
        page.put(row + offset, 1, item.name, BODY)
        page.put(row + offset, 2, f"{shown} {item.unit}".strip() if shown != "" else "blank", BODY)
    return row + 1 + len(missing)


def _tables(page: Page, row: int) -> int:
    page.put(row, 1, "Tables", SECTION)
    for offset, (what, source, mark) in enumerate(_TABLES, 1):
        page.put(row + offset, 1, what)
        page.put(row + offset, 6, source)
        page.put(row + offset, 8, mark)
    return row + 1 + len(_TABLES)
