"""Weigh-out cards: one printed page a batch, to stand on a wet worktop."""

from __future__ import annotations

from scaler.compute.tables import slots_in_a_card
from scaler.write.book import BRICK, CHALK, HEADING, HINT, Book, Look
from scaler.write.tabs.shared import Page, open_page

_BIG = Look(unit="weigh", bold=True, size=16, box=True, align="right")
_BOX = Look(box=True, wrap=True)
_TICK = "☐"

_ESSENTIALS = (
    "Goggles, gloves, long sleeves, closed shoes. Nobody else in the room, no pets, 45 minutes without interruption.",
    "Weigh the alkali in its own container. Pour lye into liquid, never liquid onto lye. Air the room: it steams.",
    "Skin: rinse at once, 15 minutes. Eyes: lenses out, 15 minutes of water, then medical help. Never vinegar.",
)


def write(book: Book) -> None:
    """Write a card for every batch."""
    assert book.run
    slots = slots_in_a_card(book.run.workshop)
    for index in range(len(book.run.workshop.batches)):
        _card(open_page(book, f"Card {index + 1}"), index, slots)


def _card(page: Page, index: int, slots: int) -> None:
    for number, width in enumerate((4, 31, 12, 15, 14, 14, 16)):
        page.sheet.set_column(number, number, width)
    _head(page, index)
    _alkali(page, 8, index)
    row = _lines(page, 13, index, slots)
    _foot(page, row + 1, index)
    page.sheet.fit_to_pages(1, 1)
    page.sheet.print_area(0, 0, row + 11, 6)


def _head(page: Page, index: int) -> None:
    title = Look(bold=True, size=20, ink="#2F5D50")
    page.show(1, 2, "batches", "recipe", index, title)
    page.put(2, 2, "Batch", HINT)
    page.show(2, 3, "batches", "batch", index, Look(bold=True))
    page.put(2, 4, "Mould", HINT)
    page.show(2, 5, "batches", "mould", index, Look(bold=True))
    page.put(3, 2, "Make date", HINT)
    page.live(3, 3, _date(page, "make_date", index), page.value("batches", "make_date", index), Look(unit="date", bold=True))
    page.put(3, 4, "Can be sold from", HINT)
    page.show_of_batch(3, 5, "ready", index, Look(unit="date", bold=True))
    page.put(4, 2, "Batter (g)", HINT)
    page.show_of_batch(4, 3, "batter_g", index, Look(unit="g"))
    page.put(4, 4, "Moulds filled", HINT)
    page.show_of_batch(4, 5, "filled_moulds", index, Look(unit="whole"))
    page.put(5, 2, "Superfat aimed at", HINT)
    page.show_of_recipe(5, 3, "superfat", index, Look(unit="%"))
    page.put(5, 4, "in the worst case", HINT)
    page.show_of_batch(5, 5, "superfat_low", index, Look(unit="%"))
    page.show_of_batch(5, 6, "superfat_high", index, Look(unit="%"))
    page.put(6, 2, "Weights are in", HINT)
    page.live(6, 3, "=" + _setting(page, "display_units"), page.layout.tables.one("costs", "display_units"), Look(bold=True))


def _date(page: Page, name: str, index: int) -> str:
    cell = page.layout.cell("batches", name, index)
    return f'=IF({cell}="","",{cell})'


def _setting(page: Page, name: str) -> str:
    index = list(page.layout.tables.column("costs", "name")).index(name)
    return page.layout.cell("costs", "in_use", index)


_HEADERS = ("", "Ingredient", "Stage", "Weigh", "Count", "Really weighed", "Lot number")


def _headers(page: Page, row: int, first: str) -> None:
    look = Look(bold=True, ink="#FFFFFF", ground=BRICK, box=True) if first == "ALKALI" else HEADING
    for number, header in enumerate(_HEADERS, 1):
        page.put(row, number, first if number == 2 else header, look)


def _alkali(page: Page, row: int, index: int) -> None:
    _headers(page, row, "ALKALI")
    for offset, name in enumerate(("first", "second"), 1):
        at = row + offset
        page.sheet.set_row(at - 1, 24)
        page.put(at, 1, _TICK, _BOX)
        page.show_of_batch(at, 2, f"{name}_name", index, Look(bold=True, size=13, box=True, wrap=True))
        page.show_of_batch(at, 3, f"{name}_base", index, _BOX)
        page.show_of_batch(at, 4, f"{name}_shown", index, _BIG)
        for number in (5, 6, 7):
            page.put(at, number, None, _BOX)
    page.put(row + 3, 2, "Caustic. Rounded down to the scale, never up. Check the weight again as you pour.", Look(bold=True, ink=BRICK))


def _lines(page: Page, row: int, index: int, slots: int) -> int:
    _headers(page, row, "Everything else, in the order it is weighed")
    at = row + 1
    page.put(at, 1, _TICK, _BOX)
    plain = page.layout.cell("batches", "plain_water_g", index)
    grams = page.value("batches", "plain_water_g", index)
    page.live(at, 2, f'=IF({plain}>0,"Water","")', "Water" if grams else "", Look(box=True))
    page.live(at, 3, f'=IF({plain}>0,"lye liquid","")', "lye liquid" if grams else "", _BOX)
    page.show_of_batch(at, 4, "plain_water_shown", index, _BIG)
    for number in (5, 6, 7):
        page.put(at, number, None, _BOX)
    for slot in range(slots):
        at = row + 2 + slot
        place = index * slots + slot
        page.put(at, 1, _TICK, _BOX)
        page.show(at, 2, "slots", "ingredient", place, Look(box=True))
        page.show(at, 3, "slots", "stage", place, _BOX)
        _weight(page, at, 4, "shown", place, index, _BIG)
        _weight(page, at, 5, "line_count_each", place, index, Look(unit="count", bold=True, size=13, box=True))
        page.put(at, 6, None, _BOX)
        page.put(at, 7, None, _BOX)
    return row + 2 + slots


def _weight(page: Page, row: int, column: int, name: str, place: int, index: int, look: Look) -> None:
    state = page.layout.cell("batches", "state", index)
    formula = f'=IF({state}="",{page.layout.cell("slots", name, place)},{state})'
    page.live(row, column, formula, page.value("slots", name, place), look)


def _foot(page: Page, row: int, index: int) -> None:
    page.put(row, 2, "Lye jug, at least (mL)", HINT)
    page.show_of_batch(row, 3, "jug_vessel_ml", index, Look(unit="whole", bold=True))
    page.put(row, 4, "Batter pot, at least (mL)", HINT)
    page.show_of_batch(row, 5, "pot_vessel_ml", index, Look(unit="whole", bold=True))
    for offset, text in enumerate(_ESSENTIALS, 1):
        page.put(row + offset, 2, text, Look(ground=CHALK))
        for number in range(3, 8):
            page.put(row + offset, number, None, Look(ground=CHALK))
    page.put(row + 5, 2, "Made by", HINT)
    page.put(row + 5, 4, "Temperature of lye and oils", HINT)
    page.put(row + 6, 2, "Notes", HINT)
