"""Superfat: how sure it is, what makes it unsure, and what the oils are."""

from __future__ import annotations

from scaler.rules.published_defaults import FATTY_CLASSES
from scaler.write.book import HEADING, HINT, TITLE, Book, Look
from scaler.write.layout import letters
from scaler.write.tabs.charts import Series, bars
from scaler.write.tabs.shared import Page, open_page

NAME = "Superfat"

_COLUMNS = (
    ("Aimed at", "superfat", "%", True),
    ("With milk fat", "superfat_effective", "%", True),
    ("Of the weights on the card", "superfat_weighed", "%", False),
    ("Lowest: worst case", "superfat_low", "%", False),
    ("Most likely from", "likely_low", "%", False),
    ("Most likely to", "likely_high", "%", False),
    ("Highest", "superfat_high", "%", False),
    ("Never lye-heavy from", "superfat_safe", "%", False),
    ("Lye in the pot", "pot_strength", "%", True),
    ("Lye at most °C", "lye_hottest", "whole", True),
    ("with cold liquid", "lye_hottest_cold", "whole", True),
    ("half of it ice", "lye_hottest_ice", "whole", True),
)

_CLASSES = {
    "lauric": "Lauric + myristic",
    "palmitic": "Palmitic + stearic",
    "oleic": "Oleic + ricinoleic",
    "linoleic": "Linoleic + linolenic",
}

_WORDS = (
    "Lowest and highest: every saponification value, purity and weighing at its worst end at once.  Most likely: about 95 %, each "
    "range taken as equally likely throughout, combined by the rules of the GUM (JCGM 100:2008).",
    "Lye at most: an upper bound from published heats of solution and specific heats, with nothing lost to the jug, the room or the "
    "steam, all liquid at room temperature, then from the fridge (5 °C), then half of it as ice.",
)


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    page.put(1, 1, "How sure the superfat is", TITLE)
    for offset, text in enumerate(_WORDS, 2):
        page.put(offset, 1, text, Look(italic=True, size=9, ink=HINT.ink))
    headers = ("Batch", "Recipe", *(column[0] for column in _COLUMNS))
    for number, header in enumerate(headers, 1):
        page.put(5, number, header, HEADING)
        page.sheet.set_column(number - 1, number - 1, {1: 12, 2: 28}.get(number, 11))
    page.sheet.set_row(4, 45)
    for index in range(page.batches):
        page.show_choice(6 + index, 1, "batch", index, Look(box=True))
        page.show_choice(6 + index, 2, "recipe", index, Look(box=True))
        for number, (_, name, unit, of_recipe) in enumerate(_COLUMNS, 3):
            show = page.show_of_recipe if of_recipe else page.show_of_batch
            show(6 + index, number, name, index, Look(unit=unit, box=True, bold=name == "superfat_low"))
    row = _ranking(page, 8 + page.batches)
    row = _oils(page, row + 1)
    _shares(page, row + 1)
    page.sheet.freeze_panes(5, 2)


def _ranking(page: Page, row: int) -> int:
    """Write what makes each batch unsure, the five largest parts, and return the next free row."""
    page.put(
        row, 1, "What makes it unsure: share of the variance, largest first", Look(bold=True, size=13, ink=TITLE.ink)
    )
    shown = min(5, page.layout.tables.lengths["effects"] // page.batches)
    for number, header in enumerate(("Batch", "First", "share", "Second", "share", "Third", "share", "Fourth", "share", "Fifth", "share")[: 1 + 2 * shown], 1):  # fmt: skip
        page.put(row + 1, number, header, HEADING)
    each = page.layout.tables.lengths["effects"] // page.batches
    for index in range(page.batches):
        at = row + 2 + index
        page.show_choice(at, 1, "batch", index, Look(box=True))
        for place in range(shown):
            page.show(
                at, 2 + 2 * place, "effects", "ranked_thing", index * each + place, Look(box=True, wrap=True, size=9)
            )
            page.show(at, 3 + 2 * place, "effects", "ranked_share", index * each + place, Look(unit="%", box=True))
        page.sheet.set_row(at - 1, 26)
    return row + 2 + page.batches


def _oils(page: Page, row: int) -> int:
    """Write iodine value and fatty-acid classes of each recipe: plain published ranges, no score and no verdict."""
    page.put(row, 1, "What the oils are: published ranges, averaged by weight", Look(bold=True, size=13, ink=TITLE.ink))
    headers: tuple[str, ...] = ("", "Recipe", "Oils with published fatty acids", "Iodine value from", "to")
    headers += tuple(word for name in _CLASSES.values() for word in (f"{name} from", "to"))
    for number, header in enumerate(headers, 1):
        page.put(row + 1, number, header, HEADING)
    page.sheet.set_row(row, 45)
    names = ["profile_known", "iodine_low", "iodine_high"]
    names += [f"{name}_{end}" for name in FATTY_CLASSES for end in ("low", "high")]
    for index in range(page.layout.tables.lengths["recipes"]):
        page.show(row + 2 + index, 2, "recipes", "recipe", index, Look(box=True))
        for number, name in enumerate(names, 3):
            unit = "one digit" if name.startswith("iodine") else "%"
            page.show(row + 2 + index, number, "recipes", name, index, Look(unit=unit, box=True))
    return row + 2 + page.layout.tables.lengths["recipes"]


def _shares(page: Page, row: int) -> None:
    """Write the share of each oil in each recipe, one row an oil, and draw it."""
    page.put(row, 1, "Share of each oil", Look(bold=True, size=13, ink=TITLE.ink))
    recipes = page.layout.tables.lengths["recipes"]
    oils = page.layout.tables.lengths["oilshares"] // recipes
    for recipe in range(recipes):
        page.show(row + 1, 3 + recipe, "recipes", "recipe", recipe, HEADING)
    page.sheet.set_row(row, 45)
    for oil in range(oils):
        place = int(page.value("oilshares", "ingredient_at", oil)) - 1
        page.show(row + 2 + oil, 2, "ingredients", "ingredient", place, Look(box=True))
        for recipe in range(recipes):
            page.show(row + 2 + oil, 3 + recipe, "oilshares", "share", recipe * oils + oil, Look(unit="%", box=True))
    last = letters(2 + recipes)
    categories = f"={NAME}!$C${row + 1}:${last}${row + 1}"
    series = [
        Series(f"={NAME}!$B${at}", categories, f"={NAME}!$C${at}:${last}${at}") for at in range(row + 2, row + 2 + oils)
    ]
    chart = bars(page.book, "Share of each oil in each recipe", "Share of the oils", series, whole=True)
    chart.set_size({"width": 1000, "height": 420})
    words = {"description": "Stacked bars: the share of each oil in each recipe's oils"}
    page.sheet.insert_chart(row + 2 + oils, 1, chart, words | {"object_position": 2})
    page.sheet.set_h_pagebreaks([row - 1])
