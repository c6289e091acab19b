"""Shopping list: packs to buy, which may be changed, and whether they are enough of everything."""

from __future__ import annotations

from dataclasses import replace

from scaler.model.records import PACKAGING
from scaler.write.book import BODY, BRICK, HEADING, HINT, INK, LETTER, SAND, SECTION, Book, Look
from scaler.write.layout import SHOPPING_FIRST, first_of_suppliers, more_suppliers, shopping_row
from scaler.write.tabs.plan import write_packs, write_stale
from scaler.write.tabs.shared import Page, Shown, open_page

NAME = "Shopping list"

_PACKS = (
    Shown("Ingredient", "ingredient", "text"), Shown("Supplier", "supplier", "text"), Shown("Pack", "pack", "count"),
    Shown("Unit", "pack_unit", "text"), Shown("One pack, delivered", "pack_cost", "money"), Shown("Packs", "packs", "count"),
    Shown("Cost", "money", "money"), Shown("Needed by", "buy_by", "date"),
)  # fmt: skip
_THINGS = (
    Shown("Needed g", "need", "one digit", imperial="need_words"),
    Shown("In stock g", "stock", "one digit or none", imperial="stock_words"),
    Shown("Bought g", "bought_of_it", "one digit or none", imperial="bought_of_it_words"),
    Shown("Leftovers g", "left", "one digit or none", imperial="left_words"),
    Shown("Cost", "cost", "money or none"),
)
_HOW_MANY = "how many?"
_SAYS = "Change the number of packs; cost and leftovers follow."
_WIDER = 11
"""Letters that pounds, ounces and grams take more than grams."""
GEAR = (
    "goggles, lye-proof gloves, sleeves", "running water within reach", "scale and fresh battery",
    "lye jug and batter pot of the sizes on the cards",
)  # fmt: skip


def write(book: Book) -> None:
    """Write the tab: chosen packs first, then the others on offer."""
    page = open_page(book, NAME, "What to buy", _SAYS)
    write_packs(page)
    write_stale(page)
    wider = _WIDER if page.paper() == LETTER else 0
    page.widths((28, 22, *(width + wider for width in (10, 10, 11, 11)), 11, 17))
    _heads(page, SHOPPING_FIRST - 1)
    tables = page.layout.tables
    count = tables.lengths["packs"]
    for index in range(count):
        _pack(page, index, shopping_row(tables, index))
    bought = sum(value > 0 for value in tables.column("packs", "planned_packs"))
    row, others = SHOPPING_FIRST + bought, shopping_row(tables, bought)
    more = bought < count
    if more:
        page.put(others - 2, 1, "Other packs on offer: type how many you take instead", SECTION)
        _heads(page, others - 1)
    page.sheet.set_h_pagebreaks([row + 8 + more_suppliers(tables), *([others - 3] if more else [])])
    page.put(row, 1, "All packs", Look(bold=True))
    page.show(row, 7, "money", "packs_cost", 0, Look(unit="money", bold=True))
    days = page.layout.tables.column("batches", "made_on")
    page.put(row + 1, 1, "Have it all by the first make day", Look(ink=HINT.ink))
    made = f"MIN({page.layout.range('batches', 'made_on')})"
    first = min((day for day in days if day != ""), default="")
    page.live(row + 1, 2, f'=IF({made}>0,{made},"")', first, Look(unit="date", align="left"))
    page.put(row + 3, 1, "At hand before the lye is mixed", SECTION)
    for offset, text in enumerate(GEAR, 4):
        page.put(row + offset, 1, f"☐  {text}")
    _suppliers(page, row + 3)
    _enough(page, row + 9 + more_suppliers(tables))
    page.sheet.freeze_panes(SHOPPING_FIRST - 1, 1)


def _heads(page: Page, row: int) -> None:
    """Write the headings of packs."""
    for number, column in enumerate(_PACKS, 1):
        page.heading(row, number, column)
    page.put(row, 4, "Unit", replace(HEADING, indent=1))
    page.sheet.set_row(row - 1, 32)


def _pack(page: Page, index: int, row: int) -> None:
    page.show(row, 1, "packs", "planned_thing", index, BODY)
    page.show(row, 2, "packs", "supplier", index, BODY)
    page.show(row, 3, "packs", "pack", index, Look(unit="count", rule="thin"))
    page.show(row, 4, "packs", "pack_unit", index, Look(rule="thin", indent=1))
    page.show(row, 5, "packs", "pack_cost", index, Look(unit="money", rule="thin"))
    look = Look(unit="count", bold=True, ground=SAND, edge=True, unlocked=True, rule="thin")
    page.put(row, 6, page.value("packs", "packs_to_buy", index), look)
    rule = {"validate": "integer", "criteria": ">=", "value": 0, "error_message": "A whole number of packs."}
    page.sheet.data_validation(row - 1, 5, row - 1, 5, rule)
    (wrong, is_wrong), (money, value) = (page.both("packs", name, index) for name in ("packs_wrong", "money"))
    value = _HOW_MANY if is_wrong else value
    look = Look(unit="money or none", align="right", rule="thin")
    page.live(row, 7, f'=IF({wrong}=1,"{_HOW_MANY}",{money})', value, look)
    page.show(row, 8, "packs", "buy_by", index, Look(unit="date", align="right", rule="thin"))


def _suppliers(page: Page, row: int) -> None:
    """Write what each supplier is paid, beside what must be at hand."""
    page.put(row, 4, "Each supplier", SECTION)
    for at, index in enumerate(first_of_suppliers(page.layout.tables), row + 1):
        for column in range(4, 8):
            page.put(at, column, None, BODY)
        (name, supplier), (sum_of, gets) = (
            page.both("packs", of, index) for of in ("planned_supplier", "supplier_gets")
        )
        if gets:
            page.put(at, 4, supplier, BODY)
        else:  # named once something is bought there
            page.live(at, 4, f'=IF({sum_of}=0,"",{name})', "", BODY)
        page.show(at, 7, "packs", "supplier_gets", index, Look(unit="money or none", rule="thin"))


def _enough(page: Page, row: int) -> None:
    """Write need, stock, packs and leftovers of each thing."""
    page.put(row, 1, "Is it enough? (packaging in pieces)", SECTION)
    page.heads(row + 1, ("Ingredient", ""))
    for number, column in enumerate(_THINGS, 3):
        page.heading(row + 1, number, column)
    for index in range(page.layout.tables.lengths["buying"]):
        at = row + 2 + index
        page.show(at, 1, "buying", "thing", index, BODY)
        lacking, short = page.both("buying", "lacking", index)
        says = "buy more" if short else "enough"
        look = Look(bold=short, rule="thin", ink=BRICK if short else INK)
        page.live(at, 2, f'=IF({lacking}>0,"buy more","enough")', says, look)
        pieces = page.value("buying", "kind", index) == PACKAGING
        for number, column in enumerate(_THINGS, 3):
            unit = "none" if pieces and column.unit.startswith("one digit") else column.unit
            page.measure(at, number, "buying", column, index, Look(unit=unit, rule="thin"))
