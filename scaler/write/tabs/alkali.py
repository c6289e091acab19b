"""Alkali: how each weight of alkali was worked out, a line an oil from left to right."""

from __future__ import annotations

from dataclasses import replace

from scaler.rules.batch import pots
from scaler.rules.batch_lines import BEFORE_LINES
from scaler.rules.recipes import A_RECIPE
from scaler.write.book import A4, BODY, BRICK, INK, LETTER, RULE, SECTION, Book, Look
from scaler.write.tabs.shared import GREY, Page, open_page

NAME = "Alkali"

_SAYS = (
    "Each oil's weight times its SAP is the KOH it needs. Less the superfat, as NaOH where that is the base, divided by "
    "purity: what to weigh."
)
_HEADS = ("oil", "weight g", "SAP mg/g", "KOH need g")
_NEED = (
    ("oils need, as KOH", "need_koh_g", "two digits"),
    ("superfat left out", "aimed", "%"),
    ("acids take, as KOH", "acids_koh_g", "two digits"),
    ("to meet, as KOH", "met_koh_g", "two digits"),
)
_OF_ALKALI = 5
"""Rows in which the need becomes an alkali to weigh."""

_ROW, _TITLE, _ROOM = 13.5, 17.25, {A4: 755, LETTER: 735}
"""Points of a row, of a batch's name above, and of the first page of a paper below its title."""


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "How the alkali was worked out", _SAYS, colour=GREY)
    page.widths((30, 11, 11, 11, 3, 26, 20 if page.paper() == LETTER else 12))
    slots = page.layout.tables.lengths["batch_lines"] // max(page.batches, 1)
    height = max(slots - BEFORE_LINES, len(_NEED) + A_RECIPE * _OF_ALKALI) + 3
    for index in range(page.batches):
        for row in range(height):
            page.sheet.set_row(4 + index * height + row, _ROW if row else _TITLE)
        _block(page, index, 5 + index * height, slots)
        page.hide_further(index, 5 + index * height, 4 + (index + 1) * height)
    fit = max(int(_ROOM[page.paper()] / (_TITLE + _ROW * (height - 1))), 1)
    page.sheet.set_h_pagebreaks([4 + index * height for index in pots(page.layout.tables)[fit::fit]][:1023])


def _block(page: Page, index: int, row: int, slots: int) -> None:
    page.show(row, 1, "batches", "batch_name", index, SECTION)
    page.show(row, 2, "batches", "recipe", index, SECTION)
    page.heads(row + 1, _HEADS, figures=range(2, 5))
    mark, two_digits = page.layout.one("constants", "gram_per_mg"), Look(unit="two digits", rule="thin")
    for slot in range(BEFORE_LINES, slots):
        at, place = row + 2 + slot - BEFORE_LINES, index * slots + slot
        names = ("koh_need_g", "worked_words", "g", "koh_use")
        (need, value), (name, named), (weight, grams), (use, koh) = (page.both("batch_lines", n, place) for n in names)
        page.live(at, 1, f'=IF({need}="","",{name})', named if value != "" else "", BODY)
        page.live(at, 2, f'=IF({need}="","",{weight})', grams if value != "" else "", two_digits)
        sap = koh / page.layout.tables.one("constants", "gram_per_mg") if value != "" else ""
        page.live(at, 3, f'=IF({need}="","",{use}/{mark})', sap, Look(unit="one digit", rule="thin"))
        page.show(at, 4, "batch_lines", "koh_need_g", place, two_digits)
    page.leave_white(row + 2, row + 1 + slots - BEFORE_LINES, "D")
    for offset, (words, name, unit) in enumerate(_NEED, 1):
        page.put(row + offset, 6, words, Look(rule="thin"))
        page.show(row + offset, 7, "batches", name, index, Look(unit=unit, rule="thin"))
    for order in range(A_RECIPE):
        _alkali(page, index, index * slots + order, row + 1 + len(_NEED) + order * _OF_ALKALI)


def _alkali(page: Page, index: int, place: int, row: int) -> None:
    """Write how the need becomes one alkali to weigh; nothing where the recipe has none, or must not be made."""
    (code, state), two = page.both("batches", "state_code", index), page.layout.one("constants", "two")
    (at, where), (thing, of) = (page.both("batch_lines", name, place) for name in ("alkali_at", "ingredient_at"))
    is_there = state != "" and state < 3 and of not in ("", 0)  # as the formulas say it
    column = {
        (table, name): (f"INDEX({page.layout.range(table, name)},{held})", int(number or 0) - 1)
        for table, name, held, number in (
            ("alkalis", "base_per_koh", at, where), ("ingredients", "base", thing, of), ("ingredients", "purity_in_use", thing, of),
        )
    }  # fmt: skip
    per_koh, base, purity = column.values()
    held = [page.layout.tables.column(*key)[number] if is_there else "" for key, (_, number) in column.items()]
    met, need = page.both("batches", "met_koh_g", index)
    name, (grams, exact), (weighed, on_card) = (
        page.both("batch_lines", which, place) for which in ("ingredient", "g", "on_card_words")
    )
    lines = (
        (f'"for 1 g of that, "&{base[0]}', f"for 1 g of that, {held[1]}", per_koh[0], held[0], "factor"),
        (f'"as "&{base[0]}', f"as {held[1]}", f"{met}*{per_koh[0]}", need * held[0] if is_there else "", "two digits"),
        ('"divided by its purity"', "divided by its purity", purity[0], held[2], "%"),
        (name[0], name[1], grams, exact, "two digits"),
        ('"on the card"', "on the card", weighed, on_card, "g"),
    )  # fmt: skip
    for offset, (words, said, formula, value, unit) in enumerate(lines):
        last = offset == _OF_ALKALI - 1
        plain = Look(bold=last, ink=BRICK if last else INK)
        figure = replace(plain, unit=unit, align="right")
        for number, shown, result, look in ((6, words, said, plain), (7, formula, value, figure)):
            guarded = f'=IF({code}="","",IF(OR({code}>{two},{thing}=0),"",{shown}))'
            page.live(row + offset, number, guarded, result if is_there else "", look)
    line = page.book.file.add_format({"bottom": 7, "bottom_color": RULE})
    when_there = {"type": "formula", "criteria": f'=$F{row}<>""', "format": line}
    page.sheet.conditional_format(f"F{row}:G{row + _OF_ALKALI - 1}", when_there)
