"""What every tab does: open its page, link back to Overview, show figures of the workings, print well."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from xlsxwriter.worksheet import Worksheet

from scaler.formula.cells import is_number
from scaler.model.schema import letters
from scaler.rules.imperial import OUNCES
from scaler.validation.issues import TODO_LINES, WARNING_LINES
from scaler.write.book import A4, BODY, BRICK, FIGURE_HEADING, HEADING, HINT, INK, LEAF, LETTER, TITLE, Book, Look
from scaler.write.layout import FIRST_PART, WORKINGS, Layout
from scaler.write.said import Line, beside, beside_all, column_number, lines, said_of, shown_from

SAFETY, GREY = BRICK, "#9AA5A0"
"""Colours of the tabs: safety; how it is known, and workings. Results are leaf."""
ON_A_PAGE = 20
"""Batches of a table that leave room on its printed page for what stands below it."""
NOTHING = "–"
"""What stands where a figure is refused."""
_WORDS = ("text", "")
_WIDER = 10
"""Letters that ounces take more than grams."""


@dataclass(frozen=True)
class Shown:
    """A column of a table on a tab: its heading, the step it shows, the unit, its width.

    Attributes:
        imperial: the step that says it in ounces, fluid ounces or °F where those are shown, "" elsewhere; the
            heading ends in the metric unit then.
    """

    heading: str
    name: str
    unit: str = ""
    width: int = 10
    bold: bool = False
    of: str = "batches"
    imperial: str = ""

    @property
    def is_figure(self) -> bool:
        """Whether its cells hold numbers, which stand on the right."""
        return self.unit not in _WORDS


@dataclass(frozen=True)
class Page:
    """A tab being written."""

    book: Book
    layout: Layout
    sheet: Worksheet
    name: str

    @property
    def batches(self) -> int:
        """Number of batches."""
        return self.layout.tables.lengths["batches"]

    def leave_white(self, first: int, last: int, letter: str) -> None:
        """Leave rows white, from column A to a column, whose first cell shows nothing."""
        bare = {f"{side}_color": "#FFFFFF" for side in ("bottom", "left", "right")}  # colours without lines: no lines
        white = self.book.file.add_format({"bg_color": "#FFFFFF"} | bare)
        rule = {"type": "formula", "criteria": f'=$A{first}=""', "format": white}
        self.sheet.conditional_format(f"A{first}:{letter}{last}", rule)

    def alert(self, cells: str, ground: str, rule: dict[str, Any]) -> None:
        """Put cells on brick or amber where a rule holds; their words say it too."""
        ink = "#FFFFFF" if ground == BRICK else INK
        form = self.book.file.add_format({"bg_color": ground, "font_color": ink, "bold": True})
        self.sheet.conditional_format(cells, rule | {"format": form})

    def hide_further(self, index: int, first: int, last: int) -> None:
        """Hide rows of a tab that speak of a row of Batches which only names a further mould of the pot above it."""
        if self.value("batches", "pot_at", index) not in ("", index + 1):
            for row in range(first, last + 1):
                self.sheet.set_row(row - 1, None, None, {"hidden": True})

    @property
    def is_market(self) -> bool:
        """Whether the workbook is that of a market run."""
        return "sold" in self.layout.tables.columns

    @property
    def again(self) -> str:
        """What to do when scaler is needed."""
        return f"run scaler {'market' if self.is_market else 'batch'} on this file again, or ask whoever made it."

    def put(self, row: int, column: int, value: object, look: Look = Look()) -> None:
        """Write words."""
        self.book.put(self.sheet, row, column, value, look)

    def live(self, row: int, column: int, formula: str, value: object, look: Look = Look()) -> None:
        """Write a formula and its value."""
        self.book.live(self.sheet, row, column, formula, value, look)

    def wide(self, row: int, last: int, formula: str, value: object, look: Look) -> None:
        """Write a sentence across the columns up to the last."""
        self.book.wide(self.sheet, row, last, formula, value, look)

    def cell(self, table: str, name: str, index: int) -> str:
        """Return the address of one value of the workings, its row open so that one pattern runs down a column."""
        column, _, row = self.layout.cell(table, name, index).rpartition("$")
        return column + row

    def value(self, table: str, name: str, index: int) -> Any:
        """Return one value as the engine computed it."""
        value = self.layout.tables.column(table, name)[index]
        return "" if value is None else value

    def both(self, table: str, name: str, index: int) -> tuple[str, Any]:
        """Return the address of one value of the workings, and the value."""
        return self.cell(table, name, index), self.value(table, name, index)

    def widths(self, widths: Iterable[float]) -> None:
        """Set the widths of the first columns."""
        for number, width in enumerate(widths):
            self.sheet.set_column(number, number, width)

    def heads(self, row: int, words: Iterable[str], first: int = 1, figures: Container[int] = ()) -> None:
        """Write plain headings from a column on; those of figures stand on the right."""
        for number, head in enumerate(words, first):
            self.put(row, number, head, FIGURE_HEADING if number in figures else HEADING)

    def show(self, row: int, column: int, table: str, name: str, index: int, look: Look = Look()) -> None:
        """Show one value of the workings as it is."""
        cell, value = self.both(table, name, index)
        self.live(row, column, f"={cell}", value, look)

    def measure(self, row: int, column: int, table: str, shown: Shown, index: int, look: Look = Look()) -> None:
        """Show one value of the workings, in ounces where those are shown and a step says it so."""
        if not shown.imperial:
            self.show(row, column, table, shown.name, index, look)
            return
        cell, words = (self.cell(table, name, index) for name in (shown.name, shown.imperial))
        value = self.value(table, shown.imperial, index) or self.value(table, shown.name, index)
        self.live(row, column, f'=IF({words}="",{cell},{words})', value, replace(look, align="right"))

    def figure(self, row: int, column: int, table: str, name: str, index: int, look: Look = Look()) -> None:
        """Show one figure of the workings, a dash where it is refused."""
        cell, value = self.both(table, name, index)
        shown = NOTHING if value == "" else value
        self.live(row, column, f'=IF({cell}="","{NOTHING}",{cell})', shown, replace(look, align="right"))

    def of_batch(self, row: int, column: int, shown: Shown, index: int) -> None:
        """Show one figure of a batch or of its recipe, a dash where it must not be made."""
        unit = self.weighing() if shown.unit == "weigh" else shown.unit
        look = replace(BODY, bold=shown.bold)
        if shown.is_figure:
            look = replace(look, unit=unit, align="right")
        if shown.of == "batches":
            cell, value = self.both("batches", shown.name, index)
        else:
            at = self.cell("batches", "recipe_at", index)
            cell = f"INDEX({self.layout.range('recipes', shown.name)},{at})"
            value = self.value("recipes", shown.name, int(self.value("batches", "recipe_at", index) or 1) - 1)
        ok = self.cell("batches", "makeable", index)
        made = self.value("batches", "makeable", index) == 1 and value != ""
        test = f"ISNUMBER({cell})" if shown.is_figure else f'{cell}<>""'
        there = f'IF({test},{cell},"{NOTHING}")'
        if shown.imperial:
            words = self.cell("batches", shown.imperial, index)
            there = f'IF({words}="",{there},{words})'
            value = self.value("batches", shown.imperial, index) or value
        formula = f'=IF({ok}=1,{there},"{NOTHING}")'
        self.live(row, column, formula, value if made else NOTHING, look)

    def weighing(self) -> str:
        """Return the unit of alkali as it is weighed: its decimals are the scale's; ounces have no end of them."""
        divisions = [item for item in self.layout.tables.column("batches", "first_division_g") if is_number(item)]
        whole = [(digits for digits in range(4) if round(item * 10**digits, 9).is_integer()) for item in divisions]
        digits = [next(found, 4) for found in whole]
        return ("weigh", "weigh to 0.1", "weigh to 0.01", "weigh", "weigh in ounces")[max(digits, default=0)]

    def setting(self, name: str) -> str:
        """Return the address of a setting's value in use."""
        return self.layout.one("costs", name)

    def paper(self) -> int:
        """Return the paper: Letter where ounces are shown, A4 elsewhere."""
        return LETTER if self.layout.tables.one("costs", "display_units") == OUNCES else A4

    def part(self, formula: str, value: object) -> str:
        """Write a part of a long formula among the workings and return its address."""
        self.book.parts.append((f"={formula}", value))
        return f"{WORKINGS}!${letters(FIRST_PART - 1 + len(self.book.parts))}$1"

    # --- words of issues ---

    @cached_property
    def _listed(self) -> tuple[list[Line], list[int]]:
        return lines(self.layout), shown_from(self.layout)

    def listed(self, row: int, column: int, line: int, name: str, look: Look = Look()) -> None:
        """Show one part of a line of the list of things to mend."""
        formula = f'=IF({beside(self.layout, "shown from", line)}=0,"",{self.listed_cell(line, name)})'
        self.live(row, column, formula, self.listed_value(line, name), look)

    def said_cell(self, place: int, name: str) -> str:
        """Return the address of one part of an issue in words."""
        stand = self.layout.stands["said"]
        return f"{stand.sheet}!${letters(column_number(self.layout, name))}${stand.first + place}"

    def said_value(self, place: int, name: str) -> Any:
        """Return one part of an issue in words as the engine says it."""
        said = said_of(self.layout, self.layout.tables.column("said", "said_key")[place])
        return getattr(said, "cell" if name == "address" else name)

    def listed_cell(self, line: int, name: str) -> str:
        """Return the formula of one part of a line that people see of the list of things to mend, where it shows one."""
        stand = self.layout.stands["said"]
        letter = letters(column_number(self.layout, name)) if name != "for batches" else ""
        all_of_it = f"{stand.sheet}!${letter}${stand.first}:${letter}${stand.first + TODO_LINES - 1}"
        held = all_of_it if letter else beside_all(self.layout, name)
        return f"INDEX({held},{beside(self.layout, 'shown from', line)})"

    def listed_value(self, line: int, name: str) -> Any:
        """Return one part of a line of the list as the engine says it."""
        held, shown = self._listed
        place = shown[line] - 1
        if place < 0:
            return ""
        return held[place].batches if name == "for batches" else self.said_value(place, name)

    def cause_place(self, index: int) -> int:
        """Return the place of the words why a batch must not be made."""
        return TODO_LINES + index

    def warning_place(self, index: int, line: int) -> int:
        """Return the place of the words of a batch's warning (0, 1, ...)."""
        return TODO_LINES + self.batches + WARNING_LINES * index + line

    # --- tables ---

    def head(self, row: int, columns: Sequence[Shown], height: int = 32) -> None:
        """Write the headings of a table and set its widths."""
        for number, column in enumerate(columns, 1):
            self.heading(row, number, column)
            wider = _WIDER if column.imperial and self.paper() == LETTER else 0
            self.sheet.set_column(number - 1, number - 1, column.width + wider)
        self.sheet.set_row(row - 1, height)

    def heading(self, row: int, number: int, column: Shown) -> None:
        """Write the heading of a column, of money with its sign."""
        look = FIGURE_HEADING if column.is_figure else HEADING
        if column.unit.startswith("money"):
            sign = self.layout.tables.one("costs", "currency")
            formula = f'="{column.heading} "&{self.setting("currency")}'
            self.live(row, number, formula, f"{column.heading} {sign or ''}", look)
        elif column.imperial:
            bare = column.heading.rpartition(" ")[0]
            formula = f'=IF({self.setting("display_units")}="{OUNCES}","{bare}","{column.heading}")'
            self.live(row, number, formula, bare if self.paper() == LETTER else column.heading, look)
        else:
            self.put(row, number, column.heading, look)

    def batch_table(self, row: int, columns: Sequence[Shown], height: int = 32) -> int:
        """Write a table with a row a batch, and return the row below it."""
        names = (Shown("Batch", "batch_name", "text", 11), Shown("Recipe", "recipe", "text", 25))
        self.head(row, (*names, *columns), height=height)
        for index in range(self.batches):
            at = row + 1 + index
            self.show(at, 1, "batches", "batch_name", index, BODY)
            self.show(at, 2, "batches", "recipe", index, BODY)
            for number, column in enumerate(columns, 3):
                self.of_batch(at, number, column, index)
            self.hide_further(index, at, at)
        return row + 1 + self.batches


def ruler_scale(page: Page) -> str:
    """Return the scale of the superfat ruler: its zero and every 5 %."""
    value = {name: page.layout.tables.one("constants", f"ruler_{name}") for name in ("from", "step", "letters")}
    text = list(" " * int(value["letters"]))
    for percent in (0, 5, 10):
        at = round((percent / 100 - value["from"]) / value["step"])
        for offset, sign in enumerate(f"{percent}%"):
            if at + offset < len(text):
                text[at + offset] = sign
    return "".join(text)


def open_page(
    book: Book, name: str, title: str, says: str = "", landscape: bool = False, colour: str = LEAF, fit: bool = True
) -> Page:
    """Add a tab, locked without a password: link back in A1, title in row 2, one line of what it answers in row 3."""
    assert book.layout
    page = Page(book, book.layout, book.sheet(name, colour), name)
    page.sheet.protect("", {"select_locked_cells": True, "format_columns": True, "format_rows": True, "objects": True})
    if name != "Overview":
        book.link(page.sheet, 1, 1, "Overview!A1", "‹ Overview")
    page.put(2, 1, title, TITLE)
    page.sheet.set_row(1, 28)
    if says:
        page.put(3, 1, says, HINT)
    if landscape:
        page.sheet.set_landscape()
    page.sheet.set_paper(page.paper())
    if fit:
        page.sheet.fit_to_pages(1, 0)
        page.sheet.repeat_rows(1)
    page.sheet.set_margins(0.5, 0.5, 0.5, 0.6)
    book.footer(page.sheet, name)
    return page
