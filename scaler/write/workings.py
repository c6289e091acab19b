"""The sheet of workings: tables one under the other, one column a step, one formula down each column."""

from __future__ import annotations

from scaler.formula.cells import ROW, Cell
from scaler.formula.steps import Step
from scaler.model.records import COSTS
from scaler.model.schema import CHOICE, FOOT, NAME, REFERENCE, TEXT, UNIT, YES_NO, columns, letters
from scaler.rules.sheets import TYPED, UNREAD, typed_rows
from scaler.rules.tables import constants_of
from scaler.write.book import HEADING, HINT, Book, Look, PlainSheet
from scaler.write.layout import (
    FIRST_PART,
    FIRST_ROW,
    HEADER_ROW,
    IN_BLOCK,
    WORKINGS,
    Layout,
    Stand,
    block_name,
    heading,
    shopping_row,
    title_of,
)
from scaler.write.said import write_listed, write_said

TAB_COLOUR = "#9AA5A0"
NO_BREAK = "\u00a0"
NO_BREAK_CELL = "F$1"
"""The cell that holds a no-break space, which some programs paste for a space."""

_WORDS = (NAME, REFERENCE, TEXT, UNIT, CHOICE, YES_NO)
_NOTHING_TO_PRINT = (0, 16_383, 0, 16_383)
"""A cell that stays blank: nobody needs the workings on paper."""
_BACK = 12
"""The column of the link back, right of every title."""
_TITLE = Look(bold=True, size=13)

ABOUT = {
    "constants": "Every fixed number of the arithmetic, with its source",
    "rules": "What may not be and what is asked about: the weight of each rule, and its words",
    "words": "Words of the drop-downs, and what they mean",
    "units": "Unit words, and how much of scaler's own units each is",
    "alkalis": "The alkalis of every recipe, two rows a recipe, for 1 g of KOH need",
    "costs": "Settings in use: the value on Costs, or the default where it is blank",
    "naohdensity": "Density of sodium hydroxide solution at 20 °C; between rows straight lines",
    "kohdensity": "Density of potassium hydroxide solution at 20 °C; between rows straight lines",
    "coverage": "How many standard uncertainties make about 95 %, by how far one range dominates",
    "issues": "Every row of every sheet and recipe that a rule can speak of, and the one that does",
    "line_concerns": "What may concern a recipe in its lines and in what they are made of",
    "concerns": "What may concern each batch",
    "said": "Issues in words: the list of things to mend, then each batch's own",
    "batch_lines": "Every line of every batch; a batch has as many as the longest recipe",
}


def write_workings(book: Book, layout: Layout) -> None:
    """Write the sheet of workings."""
    page = _page(book)
    book.put(page, 1, 5, "a no-break space:", HINT)
    book.put(page, 1, 6, NO_BREAK, Look())
    for table, stand in layout.stands.items():
        _write_table(book, layout, page, table, stand)
    write_said(book, layout, page)
    write_listed(book, layout)
    for number, (formula, value) in enumerate(book.parts, FIRST_PART):
        book.live(page, 1, number, formula, value)


def _page(book: Book) -> PlainSheet:
    page = book.sheet(WORKINGS, TAB_COLOUR)
    page.protect("", {"select_locked_cells": True, "format_columns": True, "format_rows": True})
    page.set_column(0, 0, 24)
    page.set_column(1, 120, 12)
    page.set_landscape()
    page.print_area(*_NOTHING_TO_PRINT)
    book.link(page, 1, _BACK, "Overview!A1", "‹ Overview")
    return page


def _write_table(book: Book, layout: Layout, page: PlainSheet, table: str, stand: Stand) -> None:
    usual = f"Read from sheet {stand.reads.name}, row by row" if stand.reads else "Worked out, row by row"
    book.put(page, stand.top, 1, f"{title_of(table)} {ABOUT.get(table, usual)}", _TITLE)
    if stand.reads:
        _write_reading_heads(book, layout, page, table, stand)
    for number, name in enumerate(stand.columns, 1):
        step = layout.steps.get((table, name))
        typed = stand.reads and name in _reading(layout, table)
        words = layout.header(table, name) if typed else heading(name)
        book.put(page, stand.first - 1, number, words, HEADING)
        if step:
            _write_step(book, layout, page, stand, number, step)
        else:
            _write_given(book, layout, page, table, stand, number, name)
    if table == "constants":
        _describe_constants(book, page, stand)


def _write_step(book: Book, layout: Layout, page: PlainSheet, stand: Stand, number: int, step: Step) -> None:
    book.note(page, stand.first - 1, number, heading(step.name), step.meaning)
    values = layout.tables.column(step.table, step.name)
    look = book.look(Look(unit="" if step.unit == "text" else step.unit))
    if step.gathers:
        cells = (
            layout.cell(table, name, index, WORKINGS)
            for table, name in step.gathers
            for index in range(layout.tables.lengths[table])
        )
        big = layout.one("constants", "big", WORKINGS)  # a row that goes wrong hides no other
        for index, (cell, value) in enumerate(zip(cells, values, strict=True)):
            book.live(page, stand.first + index, number, f"=IFERROR({cell},{big})", value, look)
        return
    book.live_column(page, stand.first, number, layout.formula(step), values, look)


# --- reading an input sheet ---


def _write_reading_heads(book: Book, layout: Layout, page: PlainSheet, table: str, stand: Stand) -> None:
    """Write where the header row, the foot and each column stand, and the limits of each number."""
    block = block_name(table)
    first = next(iter(columns(stand.reads.record).values())).header
    row = stand.top + 1
    book.put(page, row, 1, "header row", HINT)
    found = f'=IFERROR(MATCH("{first}",INDEX({block},0,1),0),0)'
    book.live(page, row, 2, found, float(HEADER_ROW))
    book.put(page, row, 3, "foot row", HINT)
    foot = f'=IFERROR(MATCH("{FOOT}",INDEX({block},0,1),0),IFERROR(ROWS({block}),0)+1)'  # 1: the sheet is gone
    book.live(page, row, 4, foot, float(layout.foot_row(table)))
    for at, words in ((stand.places_row, "column of the block"), (stand.letters_row, "letters on the sheet")):
        book.put(page, at, 1, words, HINT)
    for name in _reading(layout, table):
        number = layout.number_of(table, name)
        header, letter = layout.header(table, name), letters(number)
        at = layout.column_on_sheet(table, name)
        beyond = f"IFERROR(COLUMNS({block}),0)+1"  # where its column is gone: no cell stands there
        places = f'=IFERROR(MATCH("{header}",INDEX({block},{stand.header_row_cell},0),0),{beyond})'
        book.live(page, stand.places_row, number, places, float(at))
        cell = f"{letter}{stand.places_row}"
        spelled = f'SUBSTITUTE(ADDRESS(1,{cell}+COLUMN({block})-1,4),"1","")'
        spelled = f'=IFERROR(IF({cell}>COLUMNS({block}),"",{spelled}),"")'
        book.live(page, stand.letters_row, number, spelled, letters(at))
    if table in layout.tables.heads:
        for head, values in layout.tables.heads[table].items():
            book.put(page, stand.head_row(head), 1, heading(head), HINT)
            for name, value in zip(layout.tables.blocks[table]["numbers"], values, strict=True):
                book.put(page, stand.head_row(head), layout.number_of(table, name), value, Look())


def _reading(layout: Layout, table: str) -> tuple[str, ...]:
    return ("value", "unit") if table == COSTS.key else layout.tables.blocks[table]["inputs"]


def _write_given(
    book: Book, layout: Layout, page: PlainSheet, table: str, stand: Stand, number: int, name: str
) -> None:
    if name == IN_BLOCK:
        _write_rows(book, layout, page, table, stand, number)
        return
    values = layout.tables.column(table, name)
    if stand.reads and name in _reading(layout, table):
        column = columns(stand.reads.record)[name.removesuffix(TYPED)]
        read, rows = _read(layout, table, stand, number, column.kind in _WORDS), typed_rows(layout.tables, table)
        book.live_column(page, stand.first, number, read, values[:rows])
        for index, value in enumerate(values[rows:], rows):
            if value is None:  # blank text, as in the rows that are read
                book.live(page, stand.first + index, number, '=""', "")
            else:
                book.put(page, stand.first + index, number, value, Look())
        return
    if table == "batch_lines" and name != "key":
        book.live_column(page, stand.first, number, None, values)
        return
    for index, value in enumerate(values):
        if (table, name) == ("packs", "packs_to_buy"):
            typed = f"='Shopping list'!$F${shopping_row(layout.tables, index)}"
            book.live(page, stand.first + index, number, typed, value)
        else:
            book.put(page, stand.first + index, number, value, Look())
    if (table, name) == (COSTS.key, "default"):  # the day that a blank Worked out on takes follows the inputs
        day = list(layout.tables.column(table, "name")).index("worked_out_on")
        book.unlocked.setdefault(WORKINGS, set()).add(layout.cell(table, name, day).replace("$", ""))


def _write_rows(book: Book, layout: Layout, page: PlainSheet, table: str, stand: Stand, number: int) -> None:
    """Write which row of the block each row of the table reads."""
    head = stand.header_row_cell
    for index in range(layout.tables.lengths[table]):
        row = stand.first + index
        if table == COSTS.key:
            setting = f"{layout.letters_of(table, 'setting')}{row}"
            none = f"{stand.foot_row_cell}-({head}=0)"  # below the last, unless the header is lost
            formula = f"=IFERROR(MATCH({setting},INDEX({block_name(table)},0,1),0),{none})"
            at = FIRST_ROW + index
        else:
            formula, at = f"=IF({head}=0,0,{head}+A{row})", FIRST_ROW + index
        book.live(page, row, number, formula, float(at))


def _read(layout: Layout, table: str, stand: Stand, number: int, words: bool) -> Cell:
    """Return the formula that reads a cell, its row open: UNREAD for an error or a lost column, "" for a blank."""
    row = f"{layout.letters_of(table, IN_BLOCK)}{ROW}"
    place = f"{letters(number)}${stand.places_row}"
    cell = f"INDEX({block_name(table)},{row},{place})"
    held = f'TRIM(SUBSTITUTE({cell},{NO_BREAK_CELL}," "))' if words else f'IF({cell}="","",{cell})'
    return Cell(f'IF({row}<{stand.foot_row_cell},IFERROR({held},"{UNREAD}"),"")')


def _describe_constants(book: Book, page: PlainSheet, stand: Stand) -> None:
    """Write unit, meaning, source and mark beside the list of constants."""
    assert book.run
    width = len(stand.columns)
    for number, header in enumerate(("unit", "what it is", "source", "mark"), width + 1):
        book.put(page, stand.first - 1, number, header, HEADING)
    for index, item in enumerate(constants_of()):
        for number, text in enumerate((item.unit, item.says, item.source, item.mark), width + 1):
            book.put(page, stand.first + index, number, text, Look())
