"""Checks: what to fix, the heaviest first, and below it every check with what it found."""

from __future__ import annotations

import hashlib
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from scaler.model.own import input_lines
from scaler.model.records import BY_KEY
from scaler.validation.issues import TODO_LINES, channels_of
from scaler.write.book import BODY, BRICK, FIGURE_HEADING, HEADING, LEAF, LINK, SECTION, Book, Look
from scaler.write.layout import quoted
from scaler.write.said import beside
from scaler.write.tabs.shared import SAFETY, Page, open_page

NAME = "Checks"

HANDED_OVER = "When it was handed over"
HANDED_COLUMN = "C"
HANDED_INPUTS = "Inputs as they were handed over"
HANDED_SEAL = "handed_over"
"""Custom property that holds the fingerprint of results and inputs as they were handed over."""
RESULTS = (
    ("alkali (g)", "alkali_g", "g"),
    ("superfat at worst", "superfat_low", "%"),
    ("cost per bar", "cost_per_bar", "money"),
)
"""Results that are kept as they were handed over: words, step, unit."""
_DIGITS = 6
"""Digits of a balance that count: beyond them a large batch shows the last digits of a computer."""
IN_ORDER, FIX, LOOK = "in order", "needs fixing", "look"
FIRST_LINE = 6
_WIDTHS = (46, 22, 60, 58, 8)
_LETTERS = 52
"""Letters that a line of the first column holds."""
_INDENTED_HEADING = replace(HEADING, indent=1)


@dataclass(frozen=True)
class Check:
    """A number that is 0 when all is well.

    Attributes:
        says: what is checked.
        formula: the number, a formula without its equals sign.
        value: the number as the engine knows it.
        bad: what is said when it is not 0.
    """

    says: str
    formula: str
    value: float
    bad: str


def write(book: Book) -> None:
    """Write the tab."""
    says = "What needs fixing stands on top; go to the cell, and put it right."
    page = open_page(book, NAME, "Checks", says, True, SAFETY)
    page.widths(_WIDTHS)
    _to_fix(page)
    held = list(checks(page))
    row = FIRST_LINE + TODO_LINES + 3
    page.put(row, 1, "Every check", SECTION)
    page.sheet.set_h_pagebreaks([row - 1])
    for number, head in enumerate(("What is checked", "Found", "So it is"), 1):
        page.put(row + 1, number, head, FIGURE_HEADING if number == 2 else _INDENTED_HEADING)
    for at, check in enumerate(held, row + 2):
        page.put(at, 1, check.says, Look(wrap=True, rule="thin"))
        page.sheet.set_row(at - 1, 15 * len(textwrap.wrap(check.says, _LETTERS)))
        page.live(at, 2, f"={check.formula}", check.value, Look(rule="thin", align="right"))
        says = f'=IF(ISNUMBER(B{at}),IF(B{at}=0,"{IN_ORDER}","{check.bad}"),"{FIX}")'
        page.live(at, 3, says, IN_ORDER if check.value == 0 else check.bad, Look(rule="thin", indent=1))
    last = row + 1 + len(held)
    _handed_over(page, last + 2)
    right = f'=COUNTIF(C{row + 2}:C{last},"{IN_ORDER}")&" of {len(held)} checks in order"'
    said = f"{sum(check.value == 0 for check in held)} of {len(held)} checks in order"
    page.live(4, 1, right, said, Look(bold=True, size=13, ink=LEAF))
    page.sheet.set_row(3, 24)


def _handed_over(page: Page, row: int) -> None:
    """Write what some results were when the workbook was handed over, beside what they are now; then every input."""
    for number, head in enumerate(("Result", "Now", HANDED_OVER, "Batch"), 1):
        page.put(row, number, head, FIGURE_HEADING if number == 2 else _INDENTED_HEADING)
    names = page.layout.range("batches", "batch_name")
    held = []
    places = {page.value("batches", "batch_name", index): index for index in reversed(range(page.batches))}
    for batch, index in sorted(places.items(), key=lambda item: item[1]):  # a pot in several moulds stands once
        for words, name, unit in RESULTS:
            row += 1
            page.put(row, 1, f"{batch}: {words}", BODY)
            now = f'=IFERROR(INDEX({page.layout.range("batches", name)},MATCH(D{row},{names},0)),"")'
            page.live(row, 2, now, page.value("batches", name, index), Look(unit=unit, rule="thin"))
            page.put(row, 4, batch, BODY)
            was = page.value("batches", name, index)
            held += [f"{batch}: {words}", was, batch]
            page.put(row, 3, was, Look(unit=unit, rule="thin", align="left", indent=1))
    page.sheet.print_area(0, 0, row - 1, len(_WIDTHS) - 1)
    page.put(row + 2, 1, HANDED_INPUTS, HEADING)
    assert page.book.run
    lines = input_lines(page.book.run.workshop)
    for number, line in enumerate(lines, row + 3):
        page.put(number, 1, line, BODY)
    page.book.file.set_custom_property(HANDED_SEAL, fingerprint([*held, *lines]))


def fingerprint(values: Iterable[Any]) -> str:
    """Return the fingerprint of results, to the digits that every program keeps.

    >>> fingerprint([1.0, ""]) == fingerprint([1, None]) != fingerprint([1.1, ""])
    True
    """
    words = [f"{value:.10g}" if isinstance(value, int | float) else str(value or "") for value in values]
    return hashlib.sha256("|".join(words).encode()).hexdigest()


def _to_fix(page: Page) -> None:
    for number, head in enumerate(("Where", "What stands there", "What is wrong", "What to do", "Go"), 1):
        page.put(FIRST_LINE - 1, number, head, _INDENTED_HEADING if head == "What to do" else HEADING)
    for line in range(TODO_LINES):
        row = FIRST_LINE + line
        page.sheet.set_row(row - 1, 30)
        shown = beside(page.layout, "shown from", line)
        sheet, cell, place, batches = (
            page.listed_cell(line, name) for name in ("sheet", "address", "where", "for batches")
        )
        where = f'=IF({shown}=0,"",{place}&IF({batches}="",""," · "&{batches}))'
        named = page.listed_value(line, "for batches")
        said = page.listed_value(line, "where") + (f" · {named}" if named else "")
        page.live(row, 1, where, said, Look(bold=True, rule="thin", wrap=True))
        for number, name in enumerate(("value", "words", "do"), 2):
            page.listed(row, number, line, name, Look(wrap=True, rule="thin", align="left", indent=int(name == "do")))
        link = f'=IF({shown}=0,"",HYPERLINK("#\'"&{sheet}&"\'!"&{cell},"→ go"))'
        page.live(row, 5, link, "→ go" if said else "", Look(ink=LINK.ink, rule="thin"))
    page.leave_white(FIRST_LINE, FIRST_LINE + TODO_LINES - 1, "E")
    keys, big = page.layout.range("issues", "key"), page.layout.one("constants", "big")
    count = sum(value < 1e98 for value in page.layout.tables.column("issues", "key"))
    more = f'=IF(SUMPRODUCT(--({keys}<{big}))>{_lines(page)},"and "&SUMPRODUCT(--({keys}<{big}))-{_lines(page)}&" more","")'
    said = f"and {count - TODO_LINES} more" if count > TODO_LINES else ""
    page.live(FIRST_LINE + TODO_LINES, 1, more, said, Look(ink=BRICK))


def _lines(page: Page) -> str:
    """Return how many lines the list has, as a formula."""
    return f"ROWS({quoted(page.layout.stands['todo'].sheet)}!{page.layout.range('todo', 'line').split('!')[1]})"


def checks(page: Page) -> Iterator[Check]:
    """Yield every check, in order."""
    for name, says in (
        ("mass_balance_g", "Mass balance: all lines less the batter (g)"),
        ("volume_balance_ml", "Volume balance: all volumes less the batter (mL)"),
        ("cost_balance", "Cost balance: all cost lines less the total"),
    ):
        held = page.layout.range("batches", name)
        values = [abs(value) for value in page.layout.tables.column("batches", name) if value != ""]
        found = float(round(max(values, default=0.0), _DIGITS))
        yield Check(says, f"ROUND(MAX(MAX({held}),0-MIN({held})),{_DIGITS})", found, FIX)
    big = page.layout.one("constants", "big")
    filled = [found for found in channels_of(page.layout.tables) if page.layout.tables.lengths[found[0]]]
    for table, channel in filled:
        keys = page.layout.range(table, f"{channel}_key")
        found = float(sum(value < 1e98 for value in page.layout.tables.column(table, f"{channel}_key")))
        doubt = channel.endswith("doubt")
        what = "rows to look at" if doubt else "rows that need fixing"
        kind = channel.removesuffix("_doubt").removesuffix("_fault").replace("_", " ")
        about = f" ({_KINDS.get(kind, kind)})" if kind not in ("doubt", "fault") else ""
        yield Check(
            f"{BY_KEY[table].name}: {what}{about}", f"SUMPRODUCT(--({keys}<{big}))", found, LOOK if doubt else FIX
        )
    if page.is_market:
        yield from _market(page)


_KINDS = {"koh": "potassium hydroxide", "entry": "what is typed"}
"""Channels of rules whose names are not a maker's words."""
_MARKET = (
    ("market", "planned_short", "Market: bars that no plan can have there on their day", FIX),
    ("sold", "missing", "Market: bars missing on their day", FIX),
    ("buying", "lacking", "Shopping list: things that run short", FIX),
    ("packs", "price_changed", "Prices changed since the packs were chosen", LOOK),
    ("sold", "bars_balance", "Bars: those there were and those made, less those sold and left", FIX),
    ("money", "stock_balance", "Money: stock before and what comes in, less what goes out and stock after", FIX),
    ("batches", "moulds_over", "Moulds in use beyond those owned", FIX),
)


def _market(page: Page) -> Iterator[Check]:
    for table, name, says, bad in _MARKET:
        held = page.layout.range(table, name)
        total = sum(value for value in page.layout.tables.column(table, name) if value != "")
        yield Check(says, f"ROUND(SUM({held}),{_DIGITS})", round(float(total), _DIGITS) + 0.0, bad)
