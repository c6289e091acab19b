"""Superfat: how sure it is, what it hangs on most, and what the oils are."""

from __future__ import annotations

from dataclasses import replace

from scaler.rules.published import FATTY_CLASSES, NAMES
from scaler.write.book import BODY, FIGURE_HEADING, HEADING, HINT, RULER, SECTION, Book, Look
from scaler.write.tabs.shared import GREY, Page, Shown, open_page

NAME = "Superfat"

_COLUMNS = (
    Shown("Aimed", "aimed", "%", 9),
    Shown("With milk fat", "superfat_effective", "%", 9, of="recipes"),
    Shown("As weighed", "superfat_weighed", "%", 9),
    Shown("At worst", "superfat_low", "%", 9, bold=True),
    Shown("Every SAP low", "superfat_leaning", "%", 10),
    Shown("Likely from", "likely_low", "%", 11),
    Shown("to", "likely_high", "%", 9),
    Shown("At best", "superfat_high", "%", 9),
    Shown("Safe superfat at worst", "superfat_safe", "%", 10),
    Shown("Lye in the pot", "pot_strength", "%", 9, of="recipes"),
    Shown("Lye at its hottest °C", "hottest", "whole", 9, imperial="hottest_words"),
    Shown("with cold liquid °C", "hottest_cold", "whole", 9, imperial="cold_words"),
    Shown("half of it ice °C", "hottest_ice", "whole", 9, imperial="ice_words"),
)
_METHOD = (
    "At worst and at best: every SAP, purity and weighing at its worst end at once.",
    "An alkali without Purity high is all base but for its water at worst, and likely up to a point purer than its label (our own rule).",
    "Likely: about 95 %, if the errors are independent. Each range counts as equally likely throughout; they are combined by",
    "the rules of the GUM (JCGM 100:2008). If every SAP leans one way, as it may in one harvest, the superfat can lie outside it:",
    "Every SAP low is the superfat if every oil needs the least that its range allows, and all else is in the middle.",
    "Lye at its hottest: from published heats of solution and specific heats, with no heat lost; liquid at room temperature, from",
    "the fridge (5 °C, 41 °F), or half of it ice.",
)
_HANGS_ON_AT = ((2, 3), (4, 7), (8, 11))
"""Columns of the name and of the share of what the superfat hangs on most, second and third."""


def write(book: Book) -> None:
    """Write the tab."""
    says = "Left of │ a bar is lye-heavy."
    page = open_page(book, NAME, "How sure the superfat is", says, landscape=True, colour=GREY)
    row = page.batch_table(5, _COLUMNS)
    page.put(5, 16, "The ruler", Look(bold=True, ground=HEADING.ground, rule="leaf", indent=1))
    page.sheet.set_column(15, 15, 36)
    for index in range(page.batches):
        page.show(6 + index, 16, "batches", "ruler", index, Look(font=RULER.font, size=9, rule="thin"))
    row = _hangs_on(page, row + 1)
    row = _oils(page, row + 1)
    for offset, text in enumerate(_METHOD):
        page.put(row + 1 + offset, 1, text, HINT)
    page.sheet.freeze_panes(5, 2)


def _hangs_on(page: Page, row: int) -> int:
    """Write what each batch's superfat hangs on most, and return the next free row."""
    page.put(row, 1, "What the superfat hangs on most: its share of the doubt", SECTION)
    each = page.layout.tables.lengths["hangs_on"] // max(page.batches, 1)
    page.put(row + 1, 1, "Batch", HEADING)
    for place, (name, share) in enumerate(_HANGS_ON_AT):
        head = replace(HEADING, indent=int(place > 0))
        for column in range(name, share):
            page.put(row + 1, column, ("most", "second", "third")[place] if column == name else None, head)
        page.put(row + 1, share, "share", FIGURE_HEADING)
    for index in range(page.batches):
        at = row + 2 + index
        page.show(at, 1, "batches", "batch_name", index, BODY)
        for place, (name, share) in enumerate(_HANGS_ON_AT):
            for column in range(name + 1, share):
                page.put(at, column, None, BODY)
            page.show(at, name, "hangs_on", "thing", index * each + place, replace(BODY, indent=int(place > 0)))
            page.show(at, share, "hangs_on", "share", index * each + place, replace(BODY, unit="%"))
        page.hide_further(index, at, at)
    return row + 2 + page.batches


def _oils(page: Page, row: int) -> int:
    """Write iodine value and fatty-acid classes of each recipe: plain published ranges, no score and no verdict."""
    page.put(row, 1, "What the oils are: published ranges, averaged by weight", SECTION)
    classes = (word for says in FATTY_CLASSES.values() for word in (f"{says.says} from", "to"))
    heads = ("Recipe", "Fatty acids covered", "Iodine value from", "to", *classes)
    page.heads(row + 1, heads, first=2, figures=range(3, 2 + len(heads)))
    page.sheet.set_row(row, 48)
    for index in range(page.layout.tables.lengths["recipes"]):
        page.show(row + 2 + index, 2, "recipes", "recipe", index, BODY)
        for number, name in enumerate(NAMES, 3):
            unit = "whole" if name.startswith("iodine") else "%"
            page.figure(row + 2 + index, number, "recipes", name, index, Look(unit=unit, rule="thin"))
    return row + 2 + page.layout.tables.lengths["recipes"]
