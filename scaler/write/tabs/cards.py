"""Weigh-out cards: one printed page a batch, to stand on a wet worktop."""

from __future__ import annotations

from scaler.rules.tables import slots_in_a_card
from scaler.write.book import BRICK, CHALK, HEADING, HINT, INK, LEAF, Book, Look
from scaler.write.tabs.charts import SIDE_VIEW, side_view
from scaler.write.tabs.shared import Page, open_page

_BIG = Look(unit="weigh", bold=True, size=18, box=True, align="right")
_COUNT = Look(unit="count", bold=True, size=14, box=True, align="right")
_BOX = Look(box=True, wrap=True)
_WATER = Look(size=12, bold=True)
_NAME = Look(box=True, wrap=True, size=12)
_LABEL = Look(italic=True, size=9, ink=HINT.ink)
_TICK = "☐"
_WIDTHS = (4, 32, 12, 15, 10, 15, 16)
_LAST = len(_WIDTHS)

_ESSENTIALS = (
    "Goggles, gloves, long sleeves, trousers, closed shoes. Nobody else and no pets in the room, 45 minutes without a break.",
    "Weigh the alkali in its own container. Lye goes into the liquid, never liquid onto lye. Air the room: it steams.",
    "Skin: rinse at once, 15 minutes. Eyes: lenses out, 15 minutes of water, then medical help. Never vinegar.",
)


def write(book: Book) -> None:
    """Write a card for every batch."""
    assert book.run
    slots = slots_in_a_card(book.run.workshop)
    for index in range(len(book.run.workshop.batches)):
        _card(open_page(book, f"Card {index + 1}"), index, slots)


def _card(page: Page, index: int, slots: int) -> None:
    for number, width in enumerate(_WIDTHS):
        page.sheet.set_column(number, number, width)
    row = _facts(page, index)
    row = _alkali(page, row, index)
    row = _lines(page, row, index, slots)
    row = _foot(page, row, index)
    page.sheet.fit_to_pages(1, 1)
    page.sheet.center_horizontally()
    page.sheet.print_area(0, 0, row, _LAST - 1)


_FACTS = (
    (("Batch", "batch", "text", False), ("Mould", "mould", "text", False)),
    (("Make date", "make_date", "date", False), ("Can be sold from", "ready", "date", True)),
    (("Bars", "bars", "whole", True), ("A bar, fresh (g)", "bar_fresh_g", "one digit", True)),
    (("Batter (g)", "batter_g", "g", True), ("Moulds filled", "filled_moulds", "whole", True)),
    (
        ("Lye jug, at least (mL)", "jug_vessel_ml", "whole", True),
        ("Batter pot, at least (mL)", "pot_vessel_ml", "whole", True),
    ),
    (("Superfat of these weights", "superfat_weighed", "%", True), ("Worst case", "superfat_low", "%", True)),
    (
        ("Alkali taken by acids (g KOH)", "acids_take", "one digit or none", True),
        ("Water in the alkali (g)", "solution_water_g", "one digit or none", True),
    ),
)


def _facts(page: Page, index: int) -> int:
    """Write the head of the card and return the next free row."""
    page.show_choice(1, 2, "recipe", index, Look(bold=True, size=22, ink=LEAF))
    page.sheet.set_row(0, 30)
    for row, pair in enumerate(_FACTS, 2):
        for column, (label, name, unit, guarded) in zip((2, 4), pair, strict=True):
            if pair is not _FACTS[-1]:
                page.put(row, column, label, _LABEL)
            look = Look(unit=unit, bold=True, align="left")
            if guarded:
                page.show_of_batch(row, column + 1 if column == 2 else 6, name, index, look)
            else:
                page.show_choice(row, column + 1 if column == 2 else 6, name, index, look)
    row = 2 + len(_FACTS)
    for column, (label, name, _, _) in zip((2, 4), _FACTS[-1], strict=True):
        there = f'=IF({page.layout.cell("batches", name, index)}>0,"{label}","")'
        page.live(row - 1, column, there, label if page.value("batches", name, index) > 0 else "", _LABEL)
    page.put(row, 2, "Superfat aimed at", _LABEL)
    page.show_of_recipe(row, 3, "superfat", index, Look(unit="%", bold=True, align="left"))
    page.put(row, 4, "With milk fat counted in", _LABEL)
    page.show_of_recipe(row, 6, "superfat_effective", index, Look(unit="%", bold=True, align="left"))
    page.put(row + 1, 2, "Lye can reach, at most (°C)", _LABEL)
    page.show_of_recipe(row + 1, 3, "lye_hottest", index, Look(unit="whole", bold=True, align="left"))
    page.put(row + 1, 4, "Weights are in", _LABEL)
    page.live(
        row + 1,
        6,
        "=" + page.setting("display_units"),
        page.layout.tables.one("costs", "display_units"),
        Look(bold=True, size=14),
    )
    return row + 3


def _headers(page: Page, row: int, first: str, look: Look) -> None:
    second = "Base" if look.ground == BRICK else "Stage"
    for number, header in enumerate(("", first, second, "Weigh", "Count", "Really weighed", "Lot number"), 1):
        page.put(row, number, header, look)
    unit = page.layout.tables.one("costs", "display_units")
    page.live(row, 4, f'="Weigh ("&{page.setting("display_units")}&")"', f"Weigh ({unit})", look)
    page.sheet.set_row(row - 1, 20)


def _alkali(page: Page, row: int, index: int) -> int:
    _headers(page, row, "ALKALI - caustic", Look(bold=True, ink="#FFFFFF", ground=BRICK, box=True))
    for offset, name in enumerate(("first", "second"), 1):
        at = row + offset
        page.sheet.set_row(at - 1, 30)
        _tick(
            page,
            at,
            f'{page.layout.cell("batches", f"{name}_name", index)}<>""',
            bool(page.value("batches", f"{name}_name", index)),
        )
        page.show_of_batch(at, 2, f"{name}_name", index, Look(bold=True, size=14, box=True, wrap=True))
        page.show_of_batch(at, 3, f"{name}_base", index, _BOX)
        page.show_of_batch(
            at, 4, f"{name}_shown", index, Look(unit="weigh", bold=True, size=22, box=True, align="right")
        )
        for number in (5, 6, 7):
            page.put(at, number, None, _BOX)
    text = "Rounded down to the scale, never up. Check the weight again as you pour. A blank second line means there is none."
    page.put(row + 3, 2, text, Look(italic=True, size=9, ink=BRICK))
    _plain_water(page, row + 4, index)
    return row + 5


def _lines(page: Page, row: int, index: int, slots: int) -> int:
    _headers(page, row, "In the order it is weighed", HEADING)
    for slot in range(slots):
        at = row + 1 + slot
        place = index * slots + slot
        page.sheet.set_row(at - 1, 24)
        _tick(
            page,
            at,
            f'{page.layout.cell("slots", "ingredient", place)}<>""',
            bool(page.value("slots", "ingredient", place)),
        )
        page.show(at, 2, "slots", "ingredient", place, _NAME)
        page.show(at, 3, "slots", "stage", place, _BOX)
        _weight(page, at, 4, "shown", place, index, _BIG)
        _weight(page, at, 5, "line_count_each", place, index, _COUNT)
        page.put(at, 6, None, _BOX)
        page.put(at, 7, None, _BOX)
    return row + 2 + slots


def _plain_water(page: Page, at: int, index: int) -> None:
    """Write, beside the alkali, the water of a recipe that names no liquid; nothing shows where one is named."""
    plain = page.layout.cell("batches", "plain_water_g", index)
    there = bool(page.value("batches", "plain_water_g", index))
    page.sheet.set_row(at - 1, 24)
    _tick(page, at, f"{plain}>0", there, box=False)
    page.live(at, 2, f'=IF({plain}>0,"Water","")', "Water" if there else "", _WATER)
    page.live(at, 3, f'=IF({plain}>0,"lye liquid","")', "lye liquid" if there else "", _WATER)
    page.show_of_batch(at, 4, "plain_water_shown", index, Look(unit="weigh", bold=True, size=18, align="right"))


def _tick(page: Page, row: int, condition: str, there: bool, box: bool = True) -> None:
    """Write the box to tick, where there is something to weigh."""
    look = Look(box=box, size=16, align="center")
    page.live(row, 1, f'=IF({condition},"{_TICK}","")', _TICK if there else "", look)


def _weight(page: Page, row: int, column: int, name: str, place: int, index: int, look: Look) -> None:
    state = page.layout.cell("batches", "state", index)
    formula = f'=IF({state}="",{page.layout.cell("slots", name, place)},{state})'
    page.live(row, column, formula, page.value("slots", name, place), look)


def _foot(page: Page, row: int, index: int) -> int:
    for offset, text in enumerate(_ESSENTIALS):
        page.put(row + offset, 2, text, Look(ground=CHALK, size=10))
        for number in range(3, _LAST + 1):
            page.put(row + offset, number, None, Look(ground=CHALK))
    row += len(_ESSENTIALS) + 1
    page.show_of_recipe(row, 2, "notes_in_use", index, Look(italic=True, size=10))
    row += 1
    for column, label in ((2, "Made by, date and time"), (4, "Lye and oils, °C"), (6, "Notes")):
        page.put(row, column, label, _LABEL)
    for number in range(2, _LAST + 1):
        page.put(row + 1, number, None, Look(rule_above=True, ink=INK))
    view, mould_at = page.layout.range("moulds", "view_height"), page.layout.cell("batches", "mould_at", index)
    seen = page.layout.tables.column("moulds", "view_height")[int(page.value("batches", "mould_at", index)) - 1] > 0
    legend = f'=IFERROR(IF(INDEX({view},{mould_at})>0,"{SIDE_VIEW}",""),"")'
    page.live(row + 2, 2, legend, SIDE_VIEW if seen else "", _LABEL)
    chart, height = side_view(page, index, 640)
    words = {
        "description": "The batch's mould seen from the side, to scale, with its fill line and the cuts of its bars"
    }
    page.sheet.insert_chart(row + 2, 1, chart, words | {"object_position": 2})
    return row + 3 + height // 20
