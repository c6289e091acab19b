"""Cards: what to weigh for each batch, one printed page a batch, one under the other."""

from __future__ import annotations

from dataclasses import dataclass

from scaler.rules.batch import pots
from scaler.rules.batch_lines import BEFORE_LINES
from scaler.validation.issues import WARNING_LINES
from scaler.write.book import AMBER, BRICK, HINT, INPUT, LEAF, RULER, Book, Look
from scaler.write.tabs.shared import Page, open_page

NAME = "Cards"

_WIDTHS = (3, 8, 26, 15, 8, 9, 15)
"""Box, stage, name, weight, in the pot, weighed, lot: 7.2 inches in all."""
_LAST = "G"
_POINTS = 720
"""Height of a page of A4 and of Letter between its margins."""
_TOP = 2
"""Rows above the first card: the link back."""
_LYE_ROWS, _NOTE_ROWS = 3, 6
_TITLE, _LINE, _BAND, _NOTE, _WARNINGS = 30, 17, 24, 15, 66

_BAND_LOOK = Look(bold=True, size=13, ink="#FFFFFF", ground=LEAF, shrink=True)
_BOX = Look(size=14, rule="thin")
_NAME = Look(size=13, rule="thin", shrink=True)
_WEIGHT = Look(bold=True, size=16, align="right", rule="thin", shrink=True)
_ALKALI = Look(bold=True, size=22, ink=BRICK, align="right", rule="brick", shrink=True)
_FILL = Look(ground=INPUT.ground, edge=True, unlocked=True, rule="thin")

CAUTION = "Goggles, gloves, sleeves. Lye goes into the liquid, never liquid onto lye. It steams: open a window."
FIRST_AID = (
    "If lye touches you: water at once, 15 minutes or more. Eyes: water first, lenses out if easy, then medical help."
)


@dataclass(frozen=True)
class _Row:
    """Rows of a card below its first, by what stands in them."""

    lines: int

    @property
    def height(self) -> int:
        """Rows of a card in all."""
        return 6 + 2 + _LYE_ROWS + 2 + self.lines + 4 + _NOTE_ROWS


def _slots(page: Page) -> int:
    return page.layout.tables.lengths["batch_lines"] // max(page.batches, 1) - BEFORE_LINES


def first_row(page: Page, index: int) -> int:
    """Return the row of a batch's card (batch 0, 1, ...)."""
    return _TOP + index * _Row(_slots(page)).height


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "", fit=False)
    for number, width in enumerate(_WIDTHS):
        page.sheet.set_column(number, number, width)
    height = _Row(_slots(page)).height
    for index in range(page.batches):
        _card(page, index, first_row(page, index))
        page.hide_further(index, first_row(page, index), first_row(page, index) + height - 1)
    breaks = [first_row(page, index) - 1 for index in pots(page.layout.tables)[1:]]
    page.sheet.set_h_pagebreaks(breaks[:1023])
    page.sheet.print_area(_TOP - 1, 0, _TOP + height * page.batches - 2, len(_WIDTHS) - 1)
    page.sheet.set_row(0, 13)


def _card(page: Page, index: int, row: int) -> None:
    _head(page, index, row)
    row = _warnings(page, index, row + 4)
    row = _lye(page, index, row)
    row = _lines(page, index, row)
    _foot(page, row)


def _head(page: Page, index: int, row: int) -> None:
    page.show(row, 1, "batches", "recipe", index, Look(bold=True, size=20, ink=LEAF))
    page.show(row, 7, "batches", "batch_name", index, Look(size=12, ink=HINT.ink, align="right"))
    page.sheet.set_row(row - 1, _TITLE)
    page.show(row + 1, 1, "batches", "size_words", index, Look(size=12))
    for at, words, name in ((row + 1, "make", "made_day"), (row + 3, "sell from", "sell_day")):
        page.put(at, 6, words, Look(size=9, ink=HINT.ink, align="right"))
        page.show(at, 7, "batches", name, index, Look(unit="date", align="left"))
    page.wide(row + 2, 7, band_formula(page, index), band_words(page, index), _BAND_LOOK)
    page.sheet.set_row(row + 1, _BAND)
    _colour(page, index, f"A{row + 2}:{_LAST}{row + 2}")
    page.show(row + 3, 3, "batches", "ruler", index, RULER)
    page.put(row + 3, 1, "superfat", HINT)
    page.put(row + 3, 4, "│ 0 %   ● aimed   █ likely", HINT)


def band_formula(page: Page, index: int) -> str:
    """Return the formula of the band: how the batch stands, in words."""
    code, two = page.cell("batches", "state_code", index), page.layout.one("constants", "two")
    cause, where, sheet = (page.said_cell(page.cause_place(index), name) for name in ("words", "address", "sheet"))
    superfat = page.cell("batches", "superfat_words", index)
    refused = f'"DO NOT MAKE: "&{sheet}&" "&{where}&". "&{cause}'
    warned = f'IF({code}={two},"DANGER. ",IF({code}=1,"Have a look. ","In order. "))&{superfat}'
    return f'=IF({code}="","",IF({code}>{two},{refused},{warned}))'


def band_words(page: Page, index: int) -> str:
    """Return what the band says."""
    code = page.value("batches", "state_code", index)
    if code == "":
        return ""
    if code > 2:
        said = {name: page.said_value(page.cause_place(index), name) for name in ("words", "address", "sheet")}
        return f"DO NOT MAKE: {said['sheet']} {said['address']}. {said['words']}"
    return ("In order. ", "Have a look. ", "DANGER. ")[int(code)] + str(page.value("batches", "superfat_words", index))


def _colour(page: Page, index: int, cells: str) -> None:
    code = page.layout.cell("batches", "state_code", index)
    for held, ground, ink in (("2", BRICK, "#FFFFFF"), ("3", BRICK, "#FFFFFF"), ("1", AMBER, "#1F2D2B")):
        form = page.book.file.add_format({"bg_color": ground, "font_color": ink, "bold": True})
        rule = {"type": "formula", "criteria": f'=AND({code}<>"",{code}={held})', "format": form}
        page.sheet.conditional_format(cells, rule)


def _warnings(page: Page, index: int, row: int) -> int:
    """Write what the batch is warned of, a line each, or how to mend it where it must not be made."""
    code, two = page.cell("batches", "state_code", index), page.layout.one("constants", "two")
    formulas, values = [], []
    for line in range(WARNING_LINES):
        place = page.warning_place(index, line)
        words, do = page.said_cell(place, "words"), page.said_cell(place, "do")
        formulas.append(f'IF({words}="","","• "&{words}&" "&{do}&CHAR(10))')
        if page.said_value(place, "words"):
            values.append(f"• {page.said_value(place, 'words')} {page.said_value(place, 'do')}\n")
    mend = page.cause_place(index)
    formula = f"=IF({code}>{two},{page.said_cell(mend, 'do')},{'&'.join(formulas)})"
    refused = page.value("batches", "state_code", index) == 3
    page.wide(
        row, 7, formula, page.said_value(mend, "do") if refused else "".join(values), Look(size=9, wrap=True, top=True)
    )
    page.sheet.set_row(row - 1, _WARNINGS)
    return row + 1


def _section(page: Page, row: int, number: str, words: str, says: str, brick: bool = False) -> None:
    rule, ink = ("brick", BRICK) if brick else ("leaf", LEAF)
    page.put(row, 1, number, Look(bold=True, size=13, ink=ink, rule=rule))
    page.put(row, 2, words, Look(bold=True, size=13, ink=ink, rule=rule))
    page.put(row, 3, says, Look(size=9, ink=HINT.ink, rule=rule))
    for column, head in ((4, None), (5, None if brick else "in the pot"), (6, "weighed"), (7, "lot")):
        page.put(
            row,
            column,
            head,
            Look(size=9, ink=HINT.ink, rule=rule, align="right" if column == 5 else "", indent=int(column == 5)),
        )
    page.sheet.set_row(row - 1, 19)


def _lye(page: Page, index: int, row: int) -> int:
    _section(page, row, "1", "Lye", "goggles, gloves on; lye into the liquid, never the other way", brick=True)
    start = index * (_slots(page) + BEFORE_LINES)
    for offset in range(_LYE_ROWS):
        alkali = offset == 0
        look = Look(bold=True, size=13, ink=BRICK, rule="brick", shrink=True) if alkali else _NAME
        _line(page, row + 1 + offset, start + offset, look, _ALKALI if alkali else _WEIGHT, 27 if alkali else _LINE + 3)
    page.leave_white(row + 1, row + _LYE_ROWS, _LAST)
    at = row + _LYE_ROWS + 1
    page.show(at, 2, "batches", "vessel_words", index, Look(size=9, ink=HINT.ink))
    page.sheet.set_row(at - 1, _NOTE)
    return at + 1


def _to_fill(page: Page, row: int) -> None:
    page.put(row, 6, None, _FILL)
    page.put(row, 7, None, _FILL)


def _lines(page: Page, index: int, row: int) -> int:
    _section(page, row, "2", "Liquid, oils and the rest, in this order", "")
    slots = _slots(page)
    fixed = _TITLE + 2 * _LINE + _BAND + _WARNINGS + 2 * 19 + 27 + 2 * 20 + _NOTE * 6 + _NOTE_ROWS * _LINE
    height = max(min(21, (_POINTS - fixed) / slots), 12)
    start = index * (slots + BEFORE_LINES) + BEFORE_LINES
    for slot in range(slots):
        at = row + 1 + slot
        _line(page, at, start + slot, _NAME, _WEIGHT, height)
        page.show(at, 2, "batch_lines", "stage_words", start + slot, Look(size=9, ink=LEAF, rule="thin"))
        page.show(
            at,
            5,
            "batch_lines",
            "in_pot",
            start + slot,
            Look(unit="whole", ink=HINT.ink, align="right", rule="thin", indent=1),
        )
    page.leave_white(row + 1, row + slots, _LAST)
    at = row + 1 + slots
    page.show(at, 2, "batches", "bar_words", index, Look(size=9, ink=HINT.ink))
    page.sheet.set_row(at - 1, _NOTE)
    return at + 1


def _line(page: Page, row: int, place: int, name_look: Look, weight_look: Look, height: float) -> None:
    """Write one thing to weigh: a box to tick, its name, its weight, and what to fill in."""
    cell, value = page.cell("batch_lines", "weight_words", place), page.value("batch_lines", "weight_words", place)
    page.live(row, 1, f'=IF({cell}="","","☐")', "☐" if value else "", _BOX)
    page.put(row, 2, None, _NAME)
    page.show(row, 3, "batch_lines", "name_words", place, name_look)
    page.show(row, 4, "batch_lines", "weight_words", place, weight_look)
    page.put(row, 5, None, _NAME)
    _to_fill(page, row)
    page.sheet.set_row(row - 1, height)


def _foot(page: Page, row: int) -> None:
    page.put(row, 1, CAUTION, Look(size=9))
    page.put(row + 1, 1, FIRST_AID, Look(size=9, bold=True, ink=BRICK))
    for offset, words in enumerate(("Made by, date and time, lye °C, oils °C", "Notes", *[""] * (_NOTE_ROWS - 2))):
        page.put(row + 2 + offset, 1, words, Look(size=9, ink=HINT.ink))
        for column in range(1, 8):
            if column > 1 or not words:
                page.put(row + 2 + offset, column, None, Look(rule="thin", unlocked=True))
        page.sheet.set_row(row + 1 + offset, _LINE)
