"""Shopping list: packs to buy, which the maker may change, and whether they are enough of everything."""

from __future__ import annotations

from scaler.market.report import GEAR
from scaler.write.book import BRICK, HEADING, HINT, SAND, TITLE, Book, Look
from scaler.write.layout import FIRST_ROW, HEADER_ROW, HINT_ROW, TITLE_ROW
from scaler.write.tabs.plan import write_stale
from scaler.write.tabs.shared import Page, open_page

NAME = "Shopping list"
_SECTION = Look(bold=True, size=13, ink=TITLE.ink)
_PACKS = ("Ingredient", "Supplier", "Pack", "Unit", "One pack, delivery in", "Packs", "Money", "Holds g or pieces")
_THINGS = (
    ("Needed", "need", "g or each"),
    ("On the shelf", "stock", "g or each"),
    ("Bought", "bought_of_it", "g or each"),
    ("Left", "left", "g or each"),
    ("Money", "cost", "money"),
)


def write(book: Book) -> None:
    """Write the tab: packs begin in the row of the table's first row, where their workings look for them."""
    page = open_page(book, NAME)
    for number, width in enumerate((30, 24, 12, 14, 13, 12, 12, 14)):
        page.sheet.set_column(number, number, width)
    page.put(TITLE_ROW, 1, NAME, TITLE)
    write_stale(page, 2)
    hint = (
        "The planner chose the packs, which stand first: least money for what all batches take, less what is on the shelf. "
        "Another number of packs may be typed; money and what is left follow."
    )
    page.put(HINT_ROW, 1, hint, Look(italic=True, size=9, ink=HINT.ink))
    for number, header in enumerate(_PACKS, 1):
        page.put(HEADER_ROW, number, header, HEADING)
    page.sheet.set_row(HEADER_ROW - 1, 32)
    count = page.layout.tables.lengths["packs"]
    for index in range(count):
        _pack(page, index)
    row = FIRST_ROW + count
    if count:
        rule = {"validate": "integer", "criteria": ">=", "value": 0, "error_message": "A whole number of packs."}
        page.sheet.data_validation(FIRST_ROW - 1, 5, row - 2, 5, rule)
    page.live(row, 2, _cheaper(page), "", Look(bold=True, ink=BRICK))
    page.put(row, 1, "All packs", Look(bold=True, rule_above=True))
    page.show(row, 7, "money", "packs_cost", 0, Look(unit="money", bold=True, box=True))
    row = _enough(page, row + 2)
    _gear(page, row + 1)
    page.sheet.freeze_panes(HEADER_ROW, 1)


def _cheaper(page: Page) -> str:
    changed = page.layout.range("packs", "price_changed")
    return f'=IF(SUM({changed})>0,"Prices changed: scaler market may find cheaper packs","")'


def _pack(page: Page, index: int) -> None:
    row = FIRST_ROW + index
    price = int(page.value("packs", "price_at", index)) - 1
    page.show(row, 1, "prices", "ingredient", price, Look(box=True, wrap=True))
    supplier = page.layout.cell("prices", "supplier", price)
    page.live(
        row, 2, f'=IF({supplier}="","",{supplier})', page.value("prices", "supplier", price), Look(box=True, wrap=True)
    )
    page.show(row, 3, "prices", "pack", price, Look(unit="count", box=True))
    page.show(row, 4, "prices", "pack_unit", price, Look(box=True))
    page.show(row, 5, "packs", "pack_cost", index, Look(unit="money", box=True))
    page.put(
        row,
        6,
        page.value("packs", "packs_to_buy", index),
        Look(unit="whole", box=True, ground=SAND, unlocked=True, bold=True),
    )
    page.show(row, 7, "packs", "money", index, Look(unit="money or none", box=True))
    page.show(row, 8, "packs", "bought", index, Look(unit="one digit or none", box=True))


def _enough(page: Page, row: int) -> int:
    """Write need, stock, packs and rest of each thing, and return the next free row."""
    page.put(row, 1, "Is it enough of everything (g, packaging in pieces)", _SECTION)
    for number, header in enumerate(("Ingredient", "Says", *(column[0] for column in _THINGS)), 1):
        page.put(row + 1, number, header, HEADING)
    for index in range(page.layout.tables.lengths["buying"]):
        at = row + 2 + index
        thing = int(page.value("buying", "ingredient_at", index)) - 1
        page.show(at, 1, "ingredients", "ingredient", thing, Look(box=True, wrap=True))
        lacking = page.layout.cell("buying", "lacking", index)
        says = "buy more" if page.value("buying", "lacking", index) else "enough"
        page.live(at, 2, f'=IF({lacking}>0,"buy more","enough")', says, Look(box=True, bold=True))
        for number, (_, name, unit) in enumerate(_THINGS, 3):
            page.show(at, number, "buying", name, index, Look(unit=unit, box=True))
    return row + 2 + page.layout.tables.lengths["buying"]


def _gear(page: Page, row: int) -> None:
    page.put(row, 1, "At hand before the lye is mixed", _SECTION)
    for offset, text in enumerate(GEAR, 1):
        page.put(row + offset, 1, f"☐  {text}")
