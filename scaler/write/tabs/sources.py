"""Sources: what was used for each ingredient, who says so, and every fixed number."""

from __future__ import annotations

from dataclasses import replace

from scaler.model.records import PACKAGING
from scaler.write.book import FIGURE_HEADING, HEADING, SECTION, Book, Look
from scaler.write.tabs.shared import GREY, Page, open_page

NAME = "Sources"

_COLUMNS = (
    ("Ingredient", "ingredient", ""), ("SAP in use", "sap_in_use", "SAP"), ("Lowest", "sap_low_in_use", "SAP"),
    ("Highest", "sap_high_in_use", "SAP"), ("Density g/mL", "density_in_use", "g/mL"),
    ("Blank cells that took a usual value", "blank_cells", "text"), ("Published range", "range_source", "text"),
    ("Mark", "range_mark", "text"),
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
    page.widths((30, 9, 9, 9, 13, 44, 58, 10))
    row = _ingredients(page, 5)
    row = _tables(page, row + 1)
    page.put(row + 1, 1, "Every other fixed number stands at the top of Workings, with its unit and its source.")
    page.sheet.freeze_panes(5, 1)
    page.sheet.repeat_rows(1, 4)


def _ingredients(page: Page, row: int) -> int:
    for number, (head, _, _) in enumerate(_COLUMNS, 1):
        page.put(row, number, head, FIGURE_HEADING if 1 < number < 6 else replace(HEADING, indent=int(number > 1)))
    count = page.layout.tables.lengths["ingredients"]  # spare rows too: what is typed there is listed here
    for index in range(count):
        at = row + 1 + index
        for number, (_, name, unit) in enumerate(_COLUMNS, 1):
            look = Look(wrap=True, size=9, rule="thin", indent=1) if unit == "text" else Look(unit=unit, rule="thin")
            if name in ("density_in_use", "range_mark"):  # packaging has neither
                (cell, value), (kind, of) = (page.both("ingredients", held, index) for held in (name, "kind"))
                said = "" if of == PACKAGING else value
                page.live(at, number, f'=IF({kind}="{PACKAGING}","",{cell})', said, look)
            else:
                page.show(at, number, "ingredients", name, index, look)
        words = (page.value("ingredients", "range_source", index), page.value("ingredients", "blank_cells", index))
        if any(words):
            page.sheet.set_row(at - 1, 13 * max(1, -(-len(words[0]) // 76), -(-len(words[1]) // 54)) + 3)
    page.leave_white(row + 1, row + count, "H")
    return row + 1 + count


def _tables(page: Page, row: int) -> int:
    page.put(row, 1, "Tables", SECTION)
    for offset, (what, source, mark) in enumerate(_TABLES, 1):
        page.put(row + offset, 1, what)
        page.put(row + offset, 6, source, Look(indent=1))
        page.put(row + offset, 8, mark, Look(indent=1))
    return row + 1 + len(_TABLES)
