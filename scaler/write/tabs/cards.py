"""Cards: what to weigh for each batch, one printed page a batch, one under the other."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import Any

from scaler.model.own import CARD_COLUMNS
from scaler.model.schema import letters
from scaler.model.units import FAHRENHEIT
from scaler.rules.batch import pots
from scaler.rules.imperial import OUNCES
from scaler.validation.issues import WARNING_LINES
from scaler.write.book import A4, AMBER, BRICK, HINT, INPUT, LEAF, LETTER, RULE, RULER, SECTION, Book, Look
from scaler.write.tabs.shared import Page, open_page, ruler_scale

NAME = "Cards"

_WIDTHS = {A4: (4, 9, 32, 15, 7, 9, 12), LETTER: (4, 9, 31, 15, 12, 9, 8)}
"""Box, stage, name, weight, in the pot, weighed, lot: 6.9 inches in all; pounds and ounces in the pot take more."""
_LAST = CARD_COLUMNS
_POINTS = {A4: 755, LETTER: 708}
"""Height of a page between its margins, and a little room."""
_LEAST, _GOOD, _MOST, _LARGE = 12, 15, 21, 29
"""Points of a row of the list: at least, at least where something is weighed, at most, of an alkali."""
_TOP = 2
"""Rows above the first card: the link back."""
_BEFORE_FACTS, _NOTE_ROWS = 3, 5
_TITLE, _LINE, _BAND, _NOTE, _HEAD = 30, 16.5, 24, 15, 22
_PIXEL, _TO_LETTERS = 0.75, 1.3
"""Points of a pixel; of a row, to those of its letters."""

_BAND_LOOK = Look(bold=True, size=13, ink="#FFFFFF", ground=LEAF, shrink=True, indent=1)
_SMALL = Look(size=9, ink=HINT.ink)
_BOX = Look(size=14, rule="thin")
_STAGE = Look(size=10, bold=True, ink=LEAF, rule="thin")
_NAME = Look(size=13, rule="thin", shrink=True)
_WEIGHT = Look(bold=True, size=16, align="right", rule="thin", shrink=True)
_ALKALI_NAME = Look(bold=True, size=13, ink=BRICK, rule="brick", shrink=True)
_ALKALI = Look(bold=True, size=22, ink=BRICK, align="right", rule="brick", shrink=True)
_IN_POT = Look(unit="whole", ink=HINT.ink, align="right", rule="thin", shrink=True, indent=1)
_FILL = Look(ground=INPUT.ground, edge=True, unlocked=True, rule="thin")

_DAY = Look(unit="date", align="left", size=12, top=True, indent=1)
_SIDE = (
    ("superfat", "ruler", replace(RULER, align="left", indent=1), 15),
    ("", None, replace(RULER, align="left", ink=HINT.ink, indent=1), 13),
    ("mould", "mould_side", replace(RULER, align="left", indent=1), 15),
    ("make", "made_day", _DAY, 26),
    ("out of the mould", "unmould_day", _DAY, 26),
    ("sell from", "sell_day", _DAY, 26),
)
"""What stands on the right of the words: its label, its step (none: the scale of the ruler), its look, the height of its row."""
_SIDE_COLUMN, _LABEL, _AIR = 5, 14, 5
"""Column of what stands on the right; points of a label above it, of the blank row above all."""
_VESSELS, _BARS, _NOTES_AT, _TOLD_AT, _FACT_ROWS = 1, 4, 5, 7, 12
"""Rows, from the first below the band, at which the words on the left begin, and how many there are."""
_WORDS = Look(size=10, wrap=True, top=True)
_LETTERS, _LINE_OF_WORDS = 66, 13
"""Letters of a line of words, its points."""

_MORE = "• More: see Checks."
_CALM = "Nothing needs a look."
_ORDER = "Weigh in this order, alkali in a dry cup"
_NO_WEIGHTS = "No weights until this is mended."
CAUTION = "Goggles, gloves, sleeves. Lye goes into the liquid, never liquid onto lye. It steams: open a window."
FIRST_AID = (
    "If lye touches you: water at once, 15 minutes or more. Eyes: water first, lenses out if easy, then medical help."
)


def _rows(page: Page) -> int:
    """Return the rows of a card in all."""
    return _BEFORE_FACTS + _FACT_ROWS + 2 + _listed(page) + 1 + _NOTE_ROWS


def _listed(page: Page) -> int:
    """Return how many things a card has room for: a second alkali and plain water among them."""
    return page.layout.tables.lengths["batch_lines"] // max(page.batches, 1)


def first_row(page: Page, index: int) -> int:
    """Return the row of a batch's card (batch 0, 1, ...)."""
    return _TOP + index * _rows(page)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "", fit=False)
    page.widths(_WIDTHS[page.paper()])
    height, percent = _rows(page), int(100 * _scale(page))
    if percent < 100:
        page.sheet.set_print_scale(percent)
        page.sheet.center_horizontally()
    for index in range(page.batches):
        _card(page, index, first_row(page, index), 100 * _POINTS[page.paper()] / percent)
        page.hide_further(index, first_row(page, index), first_row(page, index) + height - 1)
    breaks = [first_row(page, index) - 1 for index in pots(page.layout.tables)[1:]]
    page.sheet.set_h_pagebreaks(breaks[:1023])
    page.sheet.print_area(_TOP - 1, 0, _TOP + height * page.batches - 2, _LAST - 1)
    page.sheet.set_row(0, 13)


def _card(page: Page, index: int, row: int, points: float) -> None:
    _head(page, index, row)
    for offset, height in enumerate(_heights(page, index)):
        page.sheet.set_row(row + _BEFORE_FACTS + offset - 1, height)
    _side(page, index, row + _BEFORE_FACTS)
    _words(page, index, row + _BEFORE_FACTS)
    row = _lines(page, index, row + _BEFORE_FACTS + _FACT_ROWS + 1, points)
    _foot(page, index, row)


def _head(page: Page, index: int, row: int) -> None:
    page.show(row, 1, "batches", "recipe", index, Look(bold=True, size=20, ink=LEAF))
    page.show(row, _LAST, "batches", "batch_name", index, Look(size=12, ink=HINT.ink, align="right"))
    page.sheet.set_row(row - 1, _TITLE)
    words = page.value("batches", "size_words", index)
    page.wide(
        row + 1, _LAST, "=" + page.cell("batches", "size_words", index), words, Look(size=12, wrap=True, top=True)
    )
    page.sheet.set_row(row, _size_height(page, index))
    page.wide(row + 2, _LAST, band_formula(page, index), band_words(page, index), _BAND_LOOK)
    page.sheet.set_row(row + 1, _BAND)
    _colour(page, index, f"A{row + 2}:{letters(_LAST)}{row + 2}")


def _size_height(page: Page, index: int) -> float:
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


def _refused(page: Page, index: int) -> str:
    """Return the test whether a card shows no weights."""
    return f"{page.cell('batches', 'state_code', index)}>{page.layout.one('constants', 'two')}"


def _shows(page: Page, index: int) -> bool:
    """Return whether a card shows weights; that of a further mould of the pot above it does not."""
    code = page.value("batches", "state_code", index)
    return bool(code != "" and code <= 2)


def _heights(page: Page, index: int) -> list[int]:
    """Return the points of the rows between band and list: a label above each thing on the right, room for long notes."""
    heights = [_AIR, *(points for label, *_, height in _SIDE for points in ((_LABEL, height) if label else (height,)))]
    lines = math.ceil(len(str(page.value("batches", "notes_words", index))) / _LETTERS)
    more = lines * _LINE_OF_WORDS - sum(heights[_NOTES_AT:_TOLD_AT])
    heights[_NOTES_AT] += max(more, 0)
    return heights


def _side(page: Page, index: int, row: int) -> None:
    """Write on the right how much room the superfat has, the mould from the side, and the days."""
    refused, shows = _refused(page, index), _shows(page, index)
    row += 1
    for label, name, look, _ in _SIDE:
        held, value = page.both("batches", name or "ruler", index)
        if label:
            said = label if value != "" and shows else ""
            page.live(row, _SIDE_COLUMN, f'=IF(OR({held}="",{refused}),"","{label}")', said, replace(_SMALL, indent=1))
            row += 1
        page.sheet.merge_range(row - 1, _SIDE_COLUMN - 1, row - 1, _LAST - 1, "", page.book.look(look))
        shown = f'IF({held}="","","{ruler_scale(page)}")' if not name else f'IF({refused},"",{held})'
        value = ruler_scale(page) if not name and value != "" else value
        page.live(row, _SIDE_COLUMN, f"={shown}", value if shows else "", look)
        row += 1


def _words(page: Page, index: int, row: int) -> None:
    """Write on the left vessels, bars, notes and what the batch is warned of, or how to mend it where it must not be made."""
    vessels, mend = page.cell("batches", "vessel_words", index), page.cause_place(index)
    do, said = page.said_cell(mend, "do"), page.said_value(mend, "do")
    formula = f"=IF({_refused(page, index)},{do},{vessels})"
    value = page.value("batches", "vessel_words", index) if _shows(page, index) else said
    _across(page, row + _VESSELS, row + _BARS, formula, value, _WORDS)
    bold = {
        "type": "formula",
        "criteria": f"={_refused(page, index)}",
        "format": page.book.file.add_format({"bold": True}),
    }
    page.sheet.conditional_format(f"A{row + _VESSELS}", bold)
    for first, end, name in ((_BARS, _NOTES_AT, "bar_words"), (_NOTES_AT, _TOLD_AT, "notes_words")):
        held, value = page.both("batches", name, index)
        _across(page, row + first, row + end, f"={held}", value, _WORDS)
    formula, value = _told(page, index)
    _across(page, row + _TOLD_AT, row + _FACT_ROWS, formula, value, replace(_WORDS, size=9))


def _across(page: Page, row: int, end: int, formula: str, value: object, look: Look) -> None:
    """Write words across the left of a card, over the rows before another."""
    page.sheet.merge_range(row - 1, 0, end - 2, _SIDE_COLUMN - 2, "", page.book.look(look))
    page.live(row, 1, formula, value, look)


def _told(page: Page, index: int) -> tuple[str, str]:
    """Return what the batch is warned of, a line each: the formula and its value."""
    code = page.cell("batches", "state_code", index)
    places = [page.warning_place(index, line) for line in range(WARNING_LINES)]
    told, more = places[:-1], page.said_cell(places[-1], "words")
    listed = "&".join(page.said_cell(place, "told") for place in told) + f'&IF({more}="","","{_MORE}")'
    calm = f'IF(AND({code}=0,{page.said_cell(places[0], "words")}=""),"{_CALM}",{listed})'
    values = [page.said_value(place, "told") for place in told] + [_MORE * bool(page.said_value(places[-1], "words"))]
    value = "".join(values) or (_CALM if page.value("batches", "state_code", index) == 0 else "")
    return f'=IF({_refused(page, index)},"",{calm})', value if _shows(page, index) else ""


def _heads(page: Page, index: int, row: int) -> None:
    """Write the caution, and the heads of what is weighed."""
    page.put(row - 1, 1, CAUTION, Look(size=10, bold=True, ink=BRICK))
    done, two = page.cell("batches", "state_code", index), page.layout.one("constants", "two")
    words = _ORDER if _shows(page, index) else "" if page.value("batches", "state_code", index) == 4 else _NO_WEIGHTS
    none = f'IF({done}={two}+{two},"","{_NO_WEIGHTS}")'
    page.live(row, 1, f'=IF({_refused(page, index)},{none},"{_ORDER}")', words, replace(SECTION, rule="leaf"))
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
    nothing = page.book.file.add_format({"num_format": ";;;"})
    hide = {"type": "formula", "criteria": f"={_refused(page, index)}", "format": nothing}
    page.sheet.conditional_format(f"{letters(_SIDE_COLUMN)}{row}:{letters(_LAST)}{row}", hide)
    page.sheet.set_row(row - 1, _HEAD)


def _lines(page: Page, index: int, row: int, points: float) -> int:
    """Write everything to weigh in its order, liquids first, the alkali large; what is not weighed takes no row."""
    _heads(page, index, row)
    listed = _listed(page)
    start = index * listed
    large = _large(page, index)
    used, spare = _used(page, index, len(large))
    height, free = _row_heights(points - _fixed(page, index), used, spare)
    seen = Counter[str]()
    for number in range(listed):
        at, alkali = row + 1 + number, number in large
        tall = _LARGE if alkali else height if number < used + len(large) else free
        rule = "brick" if alkali else "thin"
        box, stage, pot = (_fitting(replace(look, rule=rule), tall) for look in (_BOX, _STAGE, _IN_POT))
        page.show(at, 2, "batch_lines", "stage_words", start + number, stage)
        name = _listed_cell(
            page, at, 3, "name_words", start + number, _ALKALI_NAME if alkali else _fitting(_NAME, tall)
        )
        weight = _listed_cell(
            page, at, 4, "weight_words", start + number, _ALKALI if alkali else _fitting(_WEIGHT, tall)
        )
        _in_pot(page, at, start + number, pot)
        page.live(at, 1, f'=IF(D{at}="","","☐")', "☐" if weight else "", box)
        label = str(name or "-")
        seen[label] += 1
        for column in (6, 7):
            page.put(at, column, _mark(page, index, label, seen[label], column), _FILL)
        page.sheet.set_row(at - 1, tall)
    page.leave_white(row + 1, row + listed, letters(_LAST))
    _list_colours(page, index, row)
    return row + 1 + listed


def _used(page: Page, index: int, large: int) -> tuple[int, int]:
    """Return how many rows of a list are weighed, alkalis aside, and how many are ready for more."""
    listed = _listed(page)
    held = page.layout.tables.column("batch_lines", "listed")[index * listed : (index + 1) * listed]
    used = sum(value == 1 for value in held) - large
    return used, listed - large - used


def _fixed(page: Page, index: int) -> float:
    """Return the points of a card but for the rows of its list that are no alkali."""
    above = _TITLE + _size_height(page, index) + _BAND + sum(_heights(page, index)) + _HEAD
    return above + _LARGE * len(_large(page, index)) + 2 * _NOTE + _NOTE_ROWS * _LINE


def _scale(page: Page) -> float:
    """Return the share of its size at which every card, its rows not too low, fits the paper."""
    tallest = 0.0
    for index in pots(page.layout.tables):
        used, spare = _used(page, index, len(_large(page, index)))
        tallest = max(tallest, _fixed(page, index) + _GOOD * used + _LEAST * spare)
    return min(_POINTS[page.paper()] / max(tallest, 1), 1)


def _row_heights(room: float, used: int, spare: int) -> tuple[float, float]:
    """Return the points of a row of the list that is weighed, and of one that is not yet; in pixels, as no program rounds up."""
    height = max(min(_MOST, (room - _LEAST * spare) / max(used, 1)), _LEAST)
    free = max(min(_MOST, (room - height * used) / max(spare, 1)), _LEAST)
    return int(height / _PIXEL) * _PIXEL, int(free / _PIXEL) * _PIXEL


def _fitting(look: Look, points: float) -> Look:
    """Return a look whose letters fit a row of so many points."""
    return replace(look, size=min(look.size, int(points / _TO_LETTERS)))


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
    at = page.cell("batch_lines", "card_row", place)
    held = page.layout.tables.column("batch_lines", name)
    there = int(page.value("batch_lines", "card_row", place) or 0)
    value = held[there - 1] if there else ""
    page.live(row, column, f'=IF({at}=0,"",INDEX({page.layout.range("batch_lines", name, NAME)},{at}))', value, look)
    return value


def _in_pot(page: Page, row: int, place: int, look: Look) -> None:
    """Show the oils in the pot so far: pounds and ounces where those are shown, else grams."""
    at = page.cell("batch_lines", "card_row", place)
    there = int(page.value("batch_lines", "card_row", place) or 0)
    names = ("in_pot_words", "in_pot")
    words, plain = (f"INDEX({page.layout.range('batch_lines', name, NAME)},{at})" for name in names)
    held = [page.layout.tables.column("batch_lines", name)[there - 1] if there else "" for name in names]
    page.live(row, 5, f'=IF({at}=0,"",IF({words}="",{plain},{words}))', held[0] or held[1], look)


_LONG_SIZE = 102
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
    for lines, words in enumerate((_MADE_BY, "Notes", *[""] * (_NOTE_ROWS - 2)), 1):
        page.put(row + lines, 1, words, _SMALL)
        for column in range(1, _LAST + 1):
            if column > 1 or not words:
                mark = _mark(page, index, "", lines, column)
                page.put(row + lines, column, mark, Look(rule="thin", unlocked=True))
        page.sheet.set_row(row + lines - 1, _LINE)
    in_fahrenheit = _MADE_BY.replace("°C", FAHRENHEIT)
    formula = f'=IF({page.setting("display_units")}="{OUNCES}","{in_fahrenheit}","{_MADE_BY}")'
    page.live(row + 1, 1, formula, in_fahrenheit if page.paper() == LETTER else _MADE_BY, _SMALL)
