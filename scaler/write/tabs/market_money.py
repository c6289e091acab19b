"""Money: what the run costs, what it earns at which share sold, and each recipe's price asked."""

from __future__ import annotations

from scaler.write.book import HEADING, HINT, TITLE, Book, Look
from scaler.write.layout import letters
from scaler.write.tabs.charts import Series, line
from scaler.write.tabs.plan import write_stale
from scaler.write.tabs.shared import Page, open_page

NAME = "Money"
_SECTION = Look(bold=True, size=13, ink=TITLE.ink)

_RUN = (
    ("Packs to buy, delivery in", "packs_cost", "money"),
    ("Pay and overhead", "work_cost", "money"),
    ("Cash needed before the market", "cash_before", "money"),
    ("What the shelf gains in ingredients, at leftover value", "shelf_gain", "money"),
    ("Bars left over, at leftover value", "bars_gain", "money"),
    ("Cost of the run: packs and work, less what leftovers are worth", "run_cost", "money"),
    ("Stall fees", "stall_fees", "money"),
    ("Bars wanted", "bars_wanted", "whole"),
    ("Income when every bar sells, with tax", "income_of_all", "money"),
    ("of it after tax and card fees", "net_of_all", "money"),
    ("Bars to sell until run and fees are paid (0: none will)", "break_even_bars", "whole"),
    ("Profit when every bar sells", "profit_full", "money"),
    ("Profit at Sell-through % of Costs", "profit_expected", "money"),
    ("Hours of work", "hours_of_all", "h"),
    ("Profit for an hour of work, pay taken off already", "profit_per_hour_full", "money"),
)
_SHARES = (
    ("Share sold", "share_sold", "%"),
    ("Bars", "bars_sold", "count"),
    ("Income with tax", "income_at", "money"),
    ("Sales tax", "tax_at", "money"),
    ("Card fees", "card_at", "money"),
    ("Profit", "profit_at", "money"),
    ("Profit an hour", "profit_per_hour_at", "money"),
)
_RECIPES = (
    ("Bars wanted", "wanted", "whole"),
    ("Bars made, fit to sell", "made", "count"),
    ("Hours", "hours", "h"),
    ("Cost of a bar", "cost_per_bar", "money"),
    ("Price asked", "asked_price", "money"),
    ("Price that makes the margin", "with_tax", "money"),
    ("Asked is over it by", "asked_over_margin_price", "money"),
    ("Margin of the price asked", "asked_margin", "%"),
    ("Income, all sold", "income", "money"),
    ("Profit before stall fees", "profit", "money"),
    ("Profit an hour", "profit_per_hour", "money"),
)


_WAY = (
    ("Profit of all recipes, each bar at its cost", "recipes_profit"),
    ("less stall fees", "stall_fees"),
    ("plus what those bars cost, less cost of the run: bars on hand are paid already", "not_by_the_bar"),
    ("Profit of the run when every bar sells", "profit_full"),
)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    page.sheet.set_column(0, 0, 30)
    page.sheet.set_column(1, len(_RECIPES), 12)
    page.put(1, 1, "Money of the run", TITLE)
    write_stale(page, 3)
    hint = "Prices, fees and pay on the input sheets move everything here at once. What is not sold counts nothing."
    page.put(2, 1, hint, Look(italic=True, size=9, ink=HINT.ink))
    for row, (says, name, unit) in enumerate(_RUN, 4):
        page.put(row, 1, says)
        bold = name in ("run_cost", "cash_before", "profit_full")
        page.show(row, 6, "money", name, 0, Look(unit=unit, box=True, bold=bold))
    row = _shares(page, 5 + len(_RUN))
    _recipes(page, row + 1)


def _shares(page: Page, row: int) -> int:
    """Write and draw the run at each share sold, and return the next free row."""
    page.put(row, 1, "When not every bar sells", _SECTION)
    for number, (header, _, _) in enumerate(_SHARES, 1):
        page.put(row + 1, number, header, HEADING)
    page.sheet.set_row(row, 32)
    count = page.layout.tables.lengths["through"]
    for index in range(count):
        for number, (_, name, unit) in enumerate(_SHARES, 1):
            page.show(
                row + 2 + index, number, "through", name, index, Look(unit=unit, box=True, bold=name == "profit_at")
            )
    first, last = row + 2, row + 1 + count
    categories = f"={NAME}!$A${first}:$A${last}"
    names = [name for _, name, _ in _SHARES]
    series = []
    for name in ("income_at", "profit_at"):
        at = letters(names.index(name) + 1)
        series.append(Series(f"={NAME}!${at}${row + 1}", categories, f"={NAME}!${at}${first}:${at}${last}"))
    chart = line(
        page.book, "Income and profit of the run", "Share of the bars sold", f"={page.setting('currency')}", series
    )
    chart.set_size({"width": 520, "height": 320})
    words = {"description": "Lines: income and profit of the run when 40 % to 100 % of the bars sell"}
    page.sheet.insert_chart(2, 7, chart, words | {"object_position": 2})
    return row + 2 + count


def _recipes(page: Page, row: int) -> None:
    page.put(row, 1, "Recipe by recipe, every bar sold", _SECTION)
    for number, header in enumerate(("Recipe", *(column[0] for column in _RECIPES)), 1):
        page.put(row + 1, number, header, HEADING)
    page.sheet.set_row(row, 45)
    for index in range(page.layout.tables.lengths["sold"]):
        recipe = int(page.value("sold", "recipe_at", index)) - 1
        page.show(row + 2 + index, 1, "recipes", "recipe", recipe, Look(box=True, wrap=True))
        for number, (_, name, unit) in enumerate(_RECIPES, 2):
            look = Look(unit=unit, box=True, bold=name in ("asked_price", "with_tax"))
            page.show(row + 2 + index, number, "sold", name, index, look)
    _to_the_run(page, row + 3 + page.layout.tables.lengths["sold"])


def _to_the_run(page: Page, row: int) -> None:
    """Write the way from the recipes' profits to that of the run."""
    for offset, (says, name) in enumerate(_WAY):
        page.put(row + offset, 1, says)
        page.show(row + offset, 6, "money", name, 0, Look(unit="money", box=True, bold=name == "profit_full"))
