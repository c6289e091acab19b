"""Input sheets: in the finished workbook with their records, in a template with none or with an example."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from xlsxwriter.worksheet import Worksheet

from scaler.model import schema, units
from scaler.model.records import COSTS
from scaler.model.schema import Column, Setting, Sheet, columns, letters
from scaler.model.settings import setting_declared
from scaler.rules.sheets import SPARE
from scaler.write.book import A4, FIGURE_HEADING, HEADING, HINT, LETTER, SAND, TITLE, Book, Look
from scaler.write.layout import FIRST_ROW, HEADER_ROW, HINT_ROW, SPARE_COLUMNS, TITLE_ROW, block_name, quoted
from scaler.write.own import find_places, formula_for, put_comment, set_width, where_it_stood, with_ground

SPARE_ROWS = 200
"""Rows below the last record of a template that have drop-downs too."""

TAB_COLOUR = "#D9A441"
_WIDTHS = {
    "Ingredient": 30, "Recipe": 26, "Mould": 22, "INCI": 32, "Source": 46, "Notes": 40, "Supplier": 25, "Stage": 14,
    "Day": 20, "Setting": 24, "Shape": 15, "Value": 24, "Unit": 15, "Meaning": 60,
}  # fmt: skip
_PORTRAIT = 130
"""Widths of a page that is printed upright."""
_ROOM = {False: (494, 734), True: (511, 684)}
"""Points of a page of A4 and of Letter (True) between its margins."""
_WIDTH, _TOP, _READABLE = 5.4, 70, 0.6
"""Points of a width, of title and headings; the smallest scale at which a page is read without a glass."""
_FIGURES = (schema.NUMBER, schema.WHOLE, schema.PERCENT, schema.DATE)
"""Kinds of columns whose cells and headings stand on the right."""
_WIDE, _LINE = 0.95, 15
"""Widths of a column that a letter takes on average, lines broken at words; points of a line."""
_FORMATS = {schema.PERCENT: "typed %", schema.DATE: "typed date"}
_HEADING = replace(HEADING, indent=1)
_NOTHING = (0, SPARE_ROWS, 0, SPARE_ROWS)
"""Row and column, twice, of a cell that stays blank."""
_HINT = "In % columns type 5 or 5%; below 1 % type the sign."


def write_input(book: Book, sheet: Sheet, records: Sequence[Any], letter: bool = False) -> None:
    """Write one input sheet: title, hint, headers with notes, records, drop-downs, columns unknown to us.

    Args:
        book: the workbook.
        sheet: the sheet.
        records: its rows.
        letter: whether it is printed on Letter paper, A4 elsewhere.
    """
    page = book.sheet(sheet.name, TAB_COLOUR)
    declared = columns(sheet.record)
    extra = own_headers(records)
    has_shares = sheet.key == COSTS.key or any(column.kind == schema.PERCENT for column in declared.values())
    hint = _HINT if has_shares else ""
    if book.layout:
        book.link(page, TITLE_ROW, 1, "Overview!A1", "‹ Overview")
        book.put(page, HINT_ROW, 1, sheet.name, Look(bold=True, size=16, ink=TITLE.ink))
        spare = SPARE.get(sheet.key, 0)
        ready = f"  The {spare} rows below the last are ready for more."
        more = ready if spare else "  New row? Run scaler again, or ask whoever made this workbook."
        book.put(page, TITLE_ROW, 2, sheet.help, HINT)
        book.put(page, HINT_ROW, 2, f"{hint}{more}".strip(), HINT)
    else:
        book.put(page, TITLE_ROW, 1, sheet.name, TITLE)
        book.put(page, HINT_ROW, 1, f"{sheet.help}  {hint}".strip(), HINT)
    for number, column in enumerate(declared.values(), 1):
        _header(book, page, number, column)
        set_width(book.own, sheet, page, number, column.header, _width(column))
    for number, header in enumerate(extra, len(declared) + 1):
        book.put(page, HEADER_ROW, number, header, Look(bold=True, ground="#E4E0D4", box=True))
        page.set_column(number - 1, number - 1, 16)
        set_width(book.own, sheet, page, number, header, 16)
    settings = list(setting_declared().values()) if sheet.key == "costs" else []
    heights = [
        _record(book, page, sheet, FIRST_ROW + index, record, declared, extra, settings[index] if settings else None)
        for index, record in enumerate(records)
    ]
    spare_rows = SPARE.get(sheet.key, 0) if book.layout else SPARE_ROWS
    _blank_rows(book, page, declared, FIRST_ROW + len(records), spare_rows)
    if book.layout and sheet.key in book.layout.stands:
        foot = book.layout.foot_row(sheet.key)
        book.put(page, foot, 1, schema.FOOT, Look(italic=True, size=9, ink=HINT.ink))
        last = letters(len(declared) + len(extra) + SPARE_COLUMNS)
        book.file.define_name(block_name(sheet.key), f"={quoted(sheet.name)}!$A$1:${last}${foot}")
    for number, column in enumerate(declared.values(), 1):
        _validate(book, page, number, column, FIRST_ROW + len(records) + spare_rows)
    for index, item in enumerate(settings):
        _validate_setting(book, page, FIRST_ROW + index, item)
    page.set_row(HEADER_ROW - 1, 32)
    page.freeze_panes(HEADER_ROW, 1)
    _fit_paper(page, sum(_width(column) for column in declared.values()), heights, spare_rows, letter)
    page.repeat_rows(TITLE_ROW - 1, HEADER_ROW - 1)
    if book.layout and sheet.optional and not records:
        page.print_area(*_NOTHING)  # a page with headings alone would be printed
    book.footer(page, sheet.name)


def _fit_paper(page: Worksheet, width: int, heights: Sequence[int], spare: int, letter: bool) -> None:
    """Choose the paper and how many pages: two side by side where one is too small to read; none for spare rows alone."""
    upright = width <= _PORTRAIT
    if not upright:
        page.set_landscape()
    page.set_paper(LETTER if letter else A4)
    across, down = _ROOM[letter] if upright else _ROOM[letter][::-1]
    beside = 1 if across >= _READABLE * width * _WIDTH else 2
    if beside > 1:
        page.repeat_columns(0)
    scale = min(beside * across / (width * _WIDTH), 1)
    pages = math.ceil(sum(heights) / max(down / scale - _TOP, 1)) if heights and spare else 0
    page.fit_to_pages(beside, pages)


def own_headers(records: Sequence[Any]) -> list[str]:
    """Return the headers of columns that are somebody's own."""
    return list(dict.fromkeys(header for record in records for header in record.extra))


def find_inputs(book: Book, sheet: Sheet, records: Sequence[Any]) -> None:
    """Note where the cells of an input sheet that was read before go."""
    headers = [column.header for column in columns(sheet.record).values()]
    find_places(book.own, sheet, records, [*headers, *own_headers(records)])


def header_of(column: Column) -> str:
    """Return a header as it is written: required ones with a star."""
    return column.header + ("*" if column.required else "")


def _header(book: Book, page: Worksheet, number: int, column: Column) -> None:
    look = FIGURE_HEADING if column.kind in _FIGURES else _HEADING
    book.put(page, HEADER_ROW, number, column.header if book.layout else header_of(column), look)
    unit = f" [{column.unit}]" if column.unit else ""
    book.note(page, HEADER_ROW, number, column.header, column.help + unit)
    page.set_column(number - 1, number - 1, _width(column))


def _width(column: Column) -> int:
    """Return a width for the header on two lines, and for names in full."""
    if column.header in _WIDTHS:
        return _WIDTHS[column.header]
    if column.kind == schema.DATE:
        return 18
    return 24 if column.kind == schema.REFERENCE else max(10, len(column.header) * 2 // 3 + 3)


def _look(column: Column | Setting) -> Look:
    """Return the look of a cell to change."""
    is_figure = column.kind in _FIGURES
    return Look(
        unit=("typed money" if column.money else _FORMATS.get(column.kind, "typed")) if is_figure else "",
        ground=SAND, edge=True, rule="thin", unlocked=True, wrap=column.kind in (schema.TEXT, schema.REFERENCE), indent=int(not is_figure),
    )  # fmt: skip


def _record(
    book: Book, page: Worksheet, sheet: Sheet, row: int, record: Any, declared: Mapping[str, Column],
    extra: Sequence[str], setting: Setting | None,
) -> int:  # fmt: skip
    """Write a record and return the points of its row."""
    lines = 1
    for number, (name, column) in enumerate(declared.items(), 1):
        look = _look(setting if setting and name == "value" else column)
        value = getattr(record, name)
        at = where_it_stood(book.own, sheet, record, name, column.header)
        _filled(book, page, row, number, value, at, look)
        put_comment(book.own, at, page, row, number)
        if look.wrap and isinstance(value, str):
            lines = max(lines, math.ceil(len(value) * _WIDE / _width(column)))
    if lines > 1:
        page.set_row(row - 1, lines * _LINE)
    for number, header in enumerate(extra, len(declared) + 1):
        value = record.extra.get(header)
        known = isinstance(value, str | int | float) or hasattr(value, "year") or value is None
        at = where_it_stood(book.own, sheet, record, "", header)
        _filled(book, page, row, number, value if known else str(value), at, Look(unlocked=True))
        put_comment(book.own, at, page, row, number)
    return lines * _LINE


def _filled(book: Book, page: Worksheet, row: int, number: int, value: object, at: tuple[str, str], look: Look) -> None:
    """Write an input: its value, or the formula that somebody put there for it."""
    look = with_ground(book.own, at, look)
    if formula := formula_for(book.own, at, value):
        book.live(page, row, number, formula, value, look)
    else:
        book.put(page, row, number, value, look)


def _blank_rows(book: Book, page: Worksheet, declared: Mapping[str, Column], first: int, count: int) -> None:
    """Give spare rows their look and formats, so that 5 typed in a percent column is 5 %."""
    for number, column in enumerate(declared.values(), 1):
        if column.kind in _FORMATS or book.layout:
            for row in range(first, first + count):
                book.put(page, row, number, None, _look(column))


# --- what may be typed ---


def _validate(book: Book, page: Worksheet, number: int, column: Column, last: int) -> None:
    rule = _rule(column, book)
    if rule:
        page.data_validation(FIRST_ROW - 1, number - 1, last - 1, number - 1, rule | _words(column.header, column.help))


def _words(header: str, help: str) -> dict[str, Any]:
    return {"error_title": header[:32], "error_message": help[:255], "ignore_blank": True}


def _rule(column: Column, book: Book) -> dict[str, Any] | None:
    """Return what a spreadsheet program asks about; scaler takes more words, and more numbers than the finished workbook."""
    rule = _offered(column)
    if rule and ("list" in rule.values() or not book.layout):
        rule["error_type"] = "warning"
    return rule


def _offered(column: Column) -> dict[str, Any] | None:
    words = {
        schema.CHOICE: column.choices,
        schema.UNIT: units.words(*column.choices),
        schema.YES_NO: ("yes", "no"),
    }.get(column.kind)
    if words or column.kind == schema.REFERENCE:
        named = f"={column.refers}s!$A${FIRST_ROW}:$A${FIRST_ROW + SPARE_ROWS}"
        return {"validate": "list", "source": list(words) if words else named}
    if column.kind == schema.PERCENT:
        return {"validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 1}
    if column.kind == schema.DATE:
        from datetime import date

        return {"validate": "date", "criteria": ">=", "value": date(2000, 1, 1)}
    return _number_rule(column.kind, column.least, column.above)


def _number_rule(kind: str, least: float | None, above: float | None) -> dict[str, Any] | None:
    if kind not in (schema.NUMBER, schema.WHOLE):
        return None
    how = "integer" if kind == schema.WHOLE else "decimal"
    if above is not None:
        return {"validate": how, "criteria": ">", "value": above}
    return {"validate": how, "criteria": ">=", "value": least or 0}


def _validate_setting(book: Book, page: Worksheet, row: int, item: Setting) -> None:
    rule = _rule(item.column, book)
    if rule:
        page.data_validation(row - 1, 1, row - 1, 1, rule | _words(item.name, item.help))
    if item.unit_kinds:
        source = list(units.words(*item.unit_kinds))
        page.data_validation(row - 1, 2, row - 1, 2, {"validate": "list", "source": source, "error_type": "warning"})
