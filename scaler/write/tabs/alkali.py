"""Alkali: how each weight of alkali was worked out, a line an oil from left to right."""

from __future__ import annotations

from scaler.rules.batch import pots
from scaler.rules.batch_lines import BEFORE_LINES
from scaler.write.book import BODY, BRICK, FIGURE_HEADING, HEADING, INK, LETTER, SECTION, Book, Look
from scaler.write.tabs.shared import GREY, Page, Shown, open_page

NAME = "Alkali"

_SAYS = (
    "Each oil's weight times its SAP is the KOH it needs. Less the superfat, as NaOH where that is the base, divided by "
    "purity: what to weigh."
)
_HEADS = ("", "weight g", "SAP mg/g", "KOH need g")
_STEPS = (
    ("oils need, as KOH", "need_koh_g", "g"),
    ("superfat left out", "aimed", "%"),
    ("acids take, as KOH", "acids_koh_g", "g"),
    ("to meet, as KOH", "met_koh_g", "g"),
    ("alkali to weigh, exact", "first_g", "g"),
    ("second alkali, exact", "second_g", "g"),
    ("on the card", "first_weigh_g", "g"),
)

_ROWS_ON_A_PAGE = 48


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "How the alkali was worked out", _SAYS, colour=GREY)
    for number, width in enumerate((30, 11, 11, 11, 3, 26, 20 if page.paper() == LETTER else 12)):
        page.sheet.set_column(number, number, width)
    slots = page.layout.tables.lengths["batch_lines"] // max(page.batches, 1)
    height = max(slots - BEFORE_LINES, len(_STEPS)) + 3
    for index in range(page.batches):
        _block(page, index, 5 + index * height, slots)
        page.hide_further(index, 5 + index * height, 4 + (index + 1) * height)
    fit = max(_ROWS_ON_A_PAGE // height, 1)
    page.sheet.set_h_pagebreaks([4 + index * height for index in pots(page.layout.tables)[fit::fit]][:1023])


def _block(page: Page, index: int, row: int, slots: int) -> None:
    page.show(row, 1, "batches", "batch_name", index, SECTION)
    page.show(row, 2, "batches", "recipe", index, SECTION)
    for number, head in enumerate(_HEADS, 1):
        page.put(row + 1, number, head, FIGURE_HEADING if number > 1 else HEADING)
    for slot in range(BEFORE_LINES, slots):
        at, place = row + 2 + slot - BEFORE_LINES, index * slots + slot
        need = page.cell("batch_lines", "koh_need_g", place)
        value = page.value("batch_lines", "koh_need_g", place)
        name, named = page.cell("batch_lines", "ingredient", place), page.value("batch_lines", "ingredient", place)
        page.live(at, 1, f'=IF({need}="","",{name})', named if value != "" else "", BODY)
        weight, grams = page.cell("batch_lines", "g", place), page.value("batch_lines", "g", place)
        page.live(at, 2, f'=IF({need}="","",{weight})', grams if value != "" else "", Look(unit="g", rule="thin"))
        mark = page.layout.one("constants", "gram_per_mg")
        use, koh = page.cell("batch_lines", "koh_use", place), page.value("batch_lines", "koh_use", place)
        sap = koh / page.layout.tables.one("constants", "gram_per_mg") if value != "" else ""
        page.live(at, 3, f'=IF({need}="","",{use}/{mark})', sap, Look(unit="one digit", rule="thin"))
        page.show(at, 4, "batch_lines", "koh_need_g", place, Look(unit="g", rule="thin"))
    page.leave_white(row + 2, row + 1 + slots - BEFORE_LINES, "D")
    for offset, (words, name, unit) in enumerate(_STEPS, 1):
        last = name == "first_weigh_g"
        page.put(row + offset, 6, words, Look(bold=last, rule="thin"))
        look = Look(unit=unit, bold=last, ink=BRICK if last else INK, rule="thin")
        shown = Shown("", name, unit, imperial="first_weigh_words" if last else "")
        page.measure(row + offset, 7, "batches", shown, index, look)
