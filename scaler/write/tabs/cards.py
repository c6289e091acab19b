"""Cards: what to weigh for each batch, one printed page a batch, one under the other."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

from scaler.model.own import CARD_COLUMNS
from scaler.model.schema import letters
from scaler.model.units import FAHRENHEIT
from scaler.rules.batch import pots
from scaler.rules.batch_lines import BEFORE_LINES
from scaler.rules.imperial import OUNCES
from scaler.validation.issues import WARNING_LINES
from scaler.write.book import A4, AMBER, BRICK, HINT, INPUT, LEAF, LETTER, RULE, RULER, Book, Look
from scaler.write.tabs.shared import Page, open_page

NAME = "Cards"

_WIDTHS = {A4: (4, 9, 32, 15, 7, 9, 12), LETTER: (4, 9, 31, 15, 12, 9, 8)}
"""Box, stage, name, weight, in the pot, weighed, lot: 6.9 inches in all; pounds and ounces in the pot take more."""
_LAST = CARD_COLUMNS
_POINTS = 710
"""Height of a page of Letter between its margins, which is less than that of A4, and a little room."""
_LEAST, _SPARE, _MOST = 12, 15, 21
"""Points of a row of the list: at least, where nothing is weighed yet, at most."""
_TOP = 2
"""Rows above the first card: the link back."""
_BEFORE_FACTS, _NOTE_ROWS = 3, 5
_TITLE, _LINE, _BAND, _NOTE, _HEAD = 30, 17, 24, 15, 22
_PIXEL = 0.75

_BAND_LOOK = Look(bold=True, size=13, ink="#FFFFFF", ground=LEAF, shrink=True, indent=1)
_SMALL = Look(size=9, ink=HINT.ink)
_BOX = Look(size=14, rule="thin")
_NAME = Look(size=13, rule="thin", shrink=True)
_WEIGHT = Look(bold=True, size=16, align="right", rule="thin", shrink=True)
_ALKALI_NAME = Look(bold=True, size=13, ink=BRICK, rule="brick", shrink=True)
_ALKALI = Look(bold=True, size=22, ink=BRICK, align="right", rule="brick", shrink=True)
_IN_POT = Look(unit="whole", ink=HINT.ink, align="right", rule="thin", shrink=True, indent=1)
_FILL = Look(ground=INPUT.ground, edge=True, unlocked=True, rule="thin")

_FACTS = (
    ("superfat", "ruler", replace(RULER, align="left"), 15),
    ("", None, replace(RULER, align="left", ink=HINT.ink), 14),
    ("mould", "mould_side", replace(RULER, align="left"), 15),
    ("make", "made_day", Look(unit="date", align="left"), 17),
    ("out of the mould", "unmould_day", Look(unit="date", align="left"), 17),
    ("sell from", "sell_day", Look(unit="date", align="left"), 17),
    ("vessels", "vessel_words", Look(size=9, wrap=True, top=True), 52),
    ("bars", "bar_words", Look(size=9, wrap=True, top=True), 27),
)
"""What stands beside the warnings: its words, its step (none: the scale of the ruler), its look, the height of its row."""

_MORE = "• More: see Checks."
_CALM = "Nothing needs a look."
CAUTION = "Goggles, gloves, sleeves. Lye goes into the liquid, never liquid onto lye. It steams: open a window."
FIRST_AID = (
    "If lye touches you: water at once, 15 minutes or more. Eyes: water first, lenses out if easy, then medical help."
)


def _slots(page: Page) -> int:
    return page.layout.tables.lengths["batch_lines"] // max(page.batches, 1) - BEFORE_LINES


def _rows(page: Page) -> int:
    """Return the rows of a card in all."""
    return _BEFORE_FACTS + len(_FACTS) + 2 + _listed(page) + 1 + _NOTE_ROWS


def _listed(page: Page) -> int:
    """Return how many things a card has room for: a second alkali and plain water among them."""
    return _slots(page) + BEFORE_LINES


def first_row(page: Page, index: int) -> int:
    """Return the row of a batch's card (batch 0, 1, ...)."""
    return _TOP + index * _rows(page)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "", fit=False)
    page.widths(_WIDTHS[page.paper()])
    height = _rows(page)
    for index in range(page.batches):
        _card(page, index, first_row(page, index))
        page.hide_further(index, first_row(page, index), first_row(page, index) + height - 1)
    breaks = [first_row(page, index) - 1 for index in pots(page.layout.tables)[1:]]
    page.sheet.set_h_pagebreaks(breaks[:1023])
    page.sheet.print_area(_TOP - 1, 0, _TOP + height * page.batches - 2, _LAST - 1)
    page.sheet.set_row(0, 13)


def _card(page: Page, index: int, row: int) -> None:
    _head(page, index, row)
    _facts(page, index, row + _BEFORE_FACTS)
    _warnings(page, index, row + _BEFORE_FACTS)
    row = _lines(page, index, row + _BEFORE_FACTS + len(_FACTS) + 1)
    _foot(page, index, row)


def _head(page: Page, index: int, row: int) -> None:
    page.show(row, 1, "batches", "recipe", index, Look(bold=True, size=20, ink=LEAF))
    page.show(row, _LAST, "batches", "batch_name", index, Look(size=12, ink=HINT.ink, align="right"))
    page.sheet.set_row(row - 1, _TITLE)
    cell, words = page.both("batches", "size_words", index)
    page.wide(row + 1, _LAST, f"={cell}", words, Look(size=12, wrap=True, top=True))
    page.sheet.set_row(row, _size_height(page, index))
    page.wide(row + 2, _LAST, band_formula(page, index), band_words(page, index), _BAND_LOOK)
    page.sheet.set_row(row + 1, _BAND)
    _colour(page, index, f"A{row + 2}:{letters(_LAST)}{row + 2}")


def _size_height(page: Page, index: int) -> int:
    """Return the points of bars and moulds, on one line or two."""
    return _LINE * (1 + (len(str(page.value("batches", "size_words", index))) > _LONG_SIZE))


def band_formula(page: Page, index: int) -> str:
    """Return the formula of the band: how the batch stands, in words."""
    code, two = page.cell("batches", "state_code", index), page.layout.one("constants", "two")
    cause, where, sheet = (page.said_cell(page.cause_place(index), name) for name in ("words", "address", "sheet"))
    words = page.cell("batches", "verdict_words", index)
    refused = f'IF({code}={two}+{two},"","DO NOT MAKE: "&{sheet}&" "&{where}&". ")&{cause}'
    return f'=IF({code}="","",IF({code}>{two},{refused},{words}))'


def band_words(page: Page, index: int) -> str:
    """Return what the band says."""
    code = page.value("batches", "state_code", index)
    if code == "":
        return ""
    if code > 2:
        said = {name: page.said_value(page.cause_place(index), name) for name in ("words", "address", "sheet")}
        where = f"DO NOT MAKE: {said['sheet']} {said['address']}. " if code == 3 else ""
        return f"{where}{said['words']}"
    return str(page.value("batches", "verdict_words", index))


def _colour(page: Page, index: int, cells: str) -> None:
    code = page.layout.cell("batches", "state_code", index)
    for held, ground in (("2", BRICK), ("3", BRICK), ("1", AMBER)):
        page.alert(cells, ground, {"type": "formula", "criteria": f'=AND({code}<>"",{code}={held})'})


def _facts(page: Page, index: int, row: int) -> None:
    """Write on the left what must be known before weighing."""
    for at, (words, name, look, height) in enumerate(_FACTS, row):
        if words:
            held, value = page.both("batches", name or "ruler", index)
            said = words if value != "" else ""
            page.live(at, 1, f'=IF({held}="","","{words}")', said, replace(_SMALL, top=look.top))
        if name:
            page.show(at, 3, "batches", name, index, look)
        else:
            (there, ruler), scale = page.both("batches", "ruler", index), ruler_scale(page)
            page.live(at, 3, f'=IF({there}="","","{scale}")', scale if ruler else "", look)
        page.sheet.set_row(at - 1, height)


def ruler_scale(page: Page) -> str:
    """Return the scale of the superfat ruler: its zero and every 5 %."""
    value = {name: page.layout.tables.one("constants", f"ruler_{name}") for name in ("from", "step", "letters")}
    text = list(" " * int(value["letters"]))
    for percent in (0, 5, 10):
        at = round((percent / 100 - value["from"]) / value["step"])
        for offset, sign in enumerate(f"{percent}%"):
            if at + offset < len(text):
                text[at + offset] = sign
    return "".join(text)


def _warnings(page: Page, index: int, row: int) -> None:
    """Write on the right what the batch is warned of, a line each, or how to mend it where it must not be made."""
    (code, state), two = page.both("batches", "state_code", index), page.layout.one("constants", "two")
    places = [page.warning_place(index, line) for line in range(WARNING_LINES)]
    told, more = places[:-1], page.said_cell(places[-1], "words")
    listed = "&".join(page.said_cell(place, "told") for place in told) + f'&IF({more}="","","{_MORE}")'
    values = [page.said_value(place, "told") for place in told] + [_MORE * bool(page.said_value(places[-1], "words"))]
    mend = page.cause_place(index)
    calm = f'IF(AND({code}=0,{page.said_cell(places[0], "words")}=""),"{_CALM}",{listed})'
    formula = f"=IF({code}>{two},{page.said_cell(mend, 'do')},{calm})"
    refused = state in ("", 3)  # "": a further mould of the pot above it
    said = "".join(values) or (_CALM if state == 0 else "")
    value = page.said_value(mend, "do") if refused else said
    look = Look(size=9, wrap=True, top=True)
    page.sheet.merge_range(row - 1, 3, row + len(_FACTS) - 2, _LAST - 1, "", page.book.look(look))
    page.live(row, 4, formula, value, look)


def _heads(page: Page, row: int) -> None:
    """Write the caution, and the heads of what is weighed."""
    page.put(row - 1, 1, CAUTION, Look(size=10, bold=True, ink=BRICK))
    page.put(row, 1, "Weigh in this order, alkali in a dry cup", Look(bold=True, size=13, ink=LEAF, rule="leaf"))
    for column in range(2, _LAST + 1):
        head = {6: "weighed", 7: "lot"}.get(column)
        look = replace(_SMALL, rule="leaf", align="right" if column == 5 else "", indent=int(column == 5))
        if column == 5:
            unit = page.layout.tables.one("costs", "display_units")
            said = "in the pot" if unit == OUNCES else f"in the pot {unit}"
            shown = page.setting("display_units")
            page.live(row, column, f'=IF({shown}="{OUNCES}","in the pot","in the pot "&{shown})', said, look)
        else:
            page.put(row, column, head, look)
    page.sheet.set_row(row - 1, _HEAD)


def _lines(page: Page, index: int, row: int) -> int:
    """Write everything to weigh in its order, liquids first, the alkali large; what is not weighed takes no row."""
    _heads(page, row)
    listed = _listed(page)
    start = index * listed
    large = _large(page, index)
    fixed = _TITLE + _size_height(page, index) + _BAND + sum(fact[-1] for fact in _FACTS) + _HEAD + 30 * len(large)
    fixed += 2 * _NOTE + (_NOTE_ROWS + 1) * _LINE
    used = sum(page.value("batch_lines", "listed", start + slot) == 1 for slot in range(listed)) - len(large)
    spare = max(min(_SPARE, (_POINTS - fixed) / (listed - len(large))), _LEAST)
    height = max(min(_MOST, (_POINTS - fixed - spare * (listed - len(large) - used)) / max(used, 1)), _LEAST)
    seen = Counter[str]()
    for number in range(listed):
        at, alkali = row + 1 + number, number in large
        page.show(at, 2, "batch_lines", "stage_words", start + number, Look(size=10, bold=True, ink=LEAF, rule="thin"))
        name = _listed_cell(page, at, 3, "name_words", start + number, _ALKALI_NAME if alkali else _NAME)
        weight = _listed_cell(page, at, 4, "weight_words", start + number, _ALKALI if alkali else _WEIGHT)
        _in_pot(page, at, start + number)
        page.live(at, 1, f'=IF(D{at}="","","☐")', "☐" if weight else "", _BOX)
        label = str(name or "-")
        seen[label] += 1
        for column in (6, 7):
            page.put(at, column, _mark(page, index, label, seen[label], column), _FILL)
        page.sheet.set_row(at - 1, 30 if alkali else _in_pixels(height if number < used + len(large) else spare))
    page.leave_white(row + 1, row + listed, letters(_LAST))
    _list_colours(page, index, row)
    return row + 1 + listed


def _in_pixels(points: float) -> float:
    """Return a height that no program rounds up: many rows would be more than a page."""
    return int(points / _PIXEL) * _PIXEL


def _large(page: Page, index: int) -> range:
    """Return the rows of the list on which the alkalis stand as it is written; the second where nothing is weighed."""
    first = page.value("batches", "before_alkali", index)
    count = page.value("batches", "alkalis_listed", index)
    return range(int(first), int(first + count)) if count else range(1, 2)


def _list_colours(page: Page, index: int, row: int) -> None:
    """Colour the alkalis, wherever they stand, and rule off each stage."""
    listed = _listed(page)
    brick = page.book.file.add_format({"font_color": BRICK, "bold": True})
    before, alkalis = (page.layout.cell("batches", name, index) for name in ("before_alkali", "alkalis_listed"))
    place = f"ROW()-ROW($A${row})"
    page.sheet.conditional_format(
        f"B{row + 1}:D{row + listed}",
        {"type": "formula", "criteria": f"=AND({place}>{before},{place}<={before}+{alkalis})", "format": brick},
    )
    stage = page.book.file.add_format({"top": 1, "top_color": LEAF, "bottom": 7, "bottom_color": RULE})
    page.sheet.conditional_format(
        f"A{row + 2}:E{row + listed}", {"type": "formula", "criteria": f'=$B{row + 2}<>""', "format": stage}
    )


def _listed_cell(page: Page, row: int, column: int, name: str, place: int, look: Look) -> Any:
    """Show a value of what stands on a row of the card, and return it."""
    at, there = page.both("batch_lines", "card_row", place)
    value = page.layout.tables.column("batch_lines", name)[int(there) - 1] if there else ""
    page.live(row, column, f'=IF({at}=0,"",INDEX({page.layout.range("batch_lines", name, NAME)},{at}))', value, look)
    return value


def _in_pot(page: Page, row: int, place: int) -> None:
    """Show the oils in the pot so far: pounds and ounces where those are shown, else grams."""
    at, there = page.both("batch_lines", "card_row", place)
    names = ("in_pot_words", "in_pot")
    words, plain = (f"INDEX({page.layout.range('batch_lines', name, NAME)},{at})" for name in names)
    held = [page.layout.tables.column("batch_lines", name)[int(there) - 1] if there else "" for name in names]
    page.live(row, 5, f'=IF({at}=0,"",IF({words}="",{plain},{words}))', held[0] or held[1], _IN_POT)


_NOTES = replace(_SMALL, wrap=True, top=True, rule="thin")
_LONG_SIZE = 95
"""Letters of bars and moulds that one line holds."""
_MADE_BY = "Made by, date and time, lye °C, oils °C"


def _mark(page: Page, index: int, label: str, place: int, column: int) -> Any:
    """Return what somebody wrote on the card before, None for nothing."""
    mark = str(page.value("batches", "batch_name", index)), label, place, column
    if mark in page.book.own.marks:
        page.book.own.marked.add(mark)
    return page.book.own.marks.get(mark, (None, ""))[0]


def _foot(page: Page, index: int, row: int) -> None:
    page.put(row, 1, FIRST_AID, Look(size=9, bold=True, ink=BRICK))
    notes, lines = row + 2, 0
    for offset, words in enumerate((_MADE_BY, *[""] * (_NOTE_ROWS - 1))):
        if row + 1 + offset == notes:
            said = page.both("batches", "notes_words", index)
            page.wide(notes, _LAST, f'=IF({said[0]}="","Notes",{said[0]})', said[1] or "Notes", _NOTES)
            page.sheet.set_row(notes - 1, 2 * _LINE)
            continue
        page.put(row + 1 + offset, 1, words, _SMALL)
        lines += 1
        for column in range(1, _LAST + 1):
            if column > 1 or not words:
                mark = _mark(page, index, "", lines, column)
                page.put(row + 1 + offset, column, mark, Look(rule="thin", unlocked=True))
        page.sheet.set_row(row + offset, _LINE)
    in_fahrenheit = _MADE_BY.replace("°C", FAHRENHEIT)
    formula = f'=IF({page.setting("display_units")}="{OUNCES}","{in_fahrenheit}","{_MADE_BY}")'
    page.live(row + 1, 1, formula, in_fahrenheit if page.paper() == LETTER else _MADE_BY, _SMALL)
