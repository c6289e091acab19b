"""Money: what the run costs, what it earns at which share sold, and each recipe's price asked."""

from __future__ import annotations

from scaler.write.book import BODY, SECTION, Book, Look
from scaler.write.tabs.plan import write_packs, write_stale
from scaler.write.tabs.shared import Page, Shown, open_page

NAME = "Money"

_RUN = (
    ("Packs to buy, delivery in", "packs_cost", "money"),
    ("Stall fees", "stall_fees", "money"),
    ("Cash needed before the market", "cash_before", "money"),
    ("Your own pay, overhead and other costs of making", "work_cost", "money"),
    ("Ingredients: what the shelf gains, at Leftover value", "shelf_gain", "money"),
    ("Bars: what the shelf gains, at Leftover value", "bars_gain", "money"),
    ("Cost of the run: packs and work, less what the shelf gains", "run_cost", "money"),
    ("Bars to sell", "all_to_sell", "whole"),
    ("Income when every bar sells, with tax", "income_of_all", "money"),
    ("after tax and card fees", "net_of_all", "money"),
    ("The run pays from", "break_even_words", "text"),
    ("Profit when every bar sells", "profit_full", "money"),
    ("Profit at Sell-through % on Costs", "profit_expected", "money"),
    ("Hours of work", "hours_of_all", "h"),
    ("Profit per hour of work, after pay", "profit_per_hour_full", "money"),
    ("On the shelf before the run, at Leftover value", "stock_before", "money"),
    ("On the shelf once every bar is sold", "stock_after", "money"),
)
_SHARES = (
    ("Share sold", "share_sold", "whole %"),
    ("Bars", "bars_sold", "one digit"),
    ("Income with tax", "income_at", "money"),
    ("Sales tax", "tax_at", "money"),
    ("Card fees", "card_at", "money"),
    ("Unsold bars, at Leftover value", "unsold_at", "money"),
    ("Profit", "profit_at", "money"),
    ("Profit an hour", "profit_per_hour_at", "money"),
)
_RECIPES = (
    ("Bars wanted", "wanted", "whole"),
    ("Bars to sell", "to_sell", "whole"),
    ("Bars made, fit to sell", "made", "one digit"),
    ("Hours", "hours", "h"),
    ("Cost of a bar", "cost_per_bar", "money"),
    ("Price asked", "asked_price", "money"),
    ("Price that makes the margin", "with_tax", "money"),
    ("Above target by", "asked_over_margin_price", "money"),
    ("Margin of the price asked", "asked_margin", "whole %"),
    ("Income, all sold", "income", "money"),
    ("Profit before stall fees", "profit", "money"),
    ("Profit an hour", "profit_per_hour", "money"),
)


_WAY = (
    ("Profit of all recipes, each bar at its cost", "recipes_profit"),
    ("less stall fees", "stall_fees"),
    ("what the cost of a bar leaves out: whole packs, leftovers, stock", "not_by_the_bar"),
    ("Profit of the run when every bar sells", "profit_full"),
)


def write(book: Book) -> None:
    """Write the tab."""
    says = "Prices, fees and pay on the sheets to change move everything here at once. A bar that is not sold is worth Leftover value % of its cost in its cheapest mould."
    if book.layout and book.layout.tables.lengths["lots"]:
        says += " What batches made or failed before took and cost is not in these figures."
    page = open_page(book, NAME, "Money of the run", says, landscape=True)
    page.sheet.fit_to_pages(1, 1)
    page.sheet.set_column(0, 0, 54)
    page.sheet.set_column(1, len(_RECIPES), 14)
    write_packs(page)
    write_stale(page)
    for row, (words, name, unit) in enumerate(_RUN, 5):
        bold = name in ("run_cost", "cash_before", "profit_full")
        label(page, row, words, unit, Look(bold=bold, rule="thin"))
        look = Look(unit="" if unit == "text" else unit, bold=bold, rule="thin", align="right")
        page.show(row, 2, "money", name, 0, look)
    row = _shares(page, 6 + len(_RUN))
    _recipes(page, row + 1)


def _shares(page: Page, row: int) -> int:
    """Write the run at each share sold, and return the next free row."""
    page.put(row, 1, "If not every bar sells", SECTION)
    for number, (head, name, unit) in enumerate(_SHARES, 1):
        page.heading(row + 1, number, Shown(head, name, unit if number > 1 else "text"))
    page.sheet.set_row(row, 46)
    count = page.layout.tables.lengths["through"]
    for index in range(count):
        for number, (_, name, unit) in enumerate(_SHARES, 1):
            look = Look(unit=unit, rule="thin", bold=name == "profit_at", align="left" if number == 1 else "")
            page.show(row + 2 + index, number, "through", name, index, look)
    return row + 2 + count


def _recipes(page: Page, row: int) -> None:
    page.put(row, 1, "Recipe by recipe, if every bar sells", SECTION)
    for number, column in enumerate((("Recipe", "recipe", "text"), *_RECIPES), 1):
        page.heading(row + 1, number, Shown(*column))
    page.sheet.set_row(row, 46)
    for index in range(page.layout.tables.lengths["sold"]):
        page.show(row + 2 + index, 1, "sold", "sold_recipe", index, BODY)
        for number, (_, name, unit) in enumerate(_RECIPES, 2):
            look = Look(unit=unit, bold=name in ("asked_price", "with_tax"), rule="thin")
            page.show(row + 2 + index, number, "sold", name, index, look)
    row += 3 + page.layout.tables.lengths["sold"]
    for offset, (says, name) in enumerate(_WAY):
        label(page, row + offset, says, "money")
        page.show(row + offset, 2, "money", name, 0, Look(unit="money", bold=name == "profit_full"))


def label(page: Page, row: int, words: str, unit: str, look: Look = Look()) -> None:
    """Write what a figure is, of money with its sign."""
    if unit != "money":
        page.put(row, 1, words, look)
        return
    sign = page.layout.tables.one("costs", "currency") or ""
    page.live(row, 1, f'="{words}"&", "&{page.setting("currency")}', f"{words}, {sign}", look)
