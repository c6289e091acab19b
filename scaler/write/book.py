"""The workbook being written: styles, guarded cells, and the values that stand behind formulas."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from scaler.formula.cells import text_of
from scaler.model.own import Own
from scaler.model.schema import letters
from scaler.rules.results import Run
from scaler.rules.tables import day_of
from scaler.write.layout import Layout
from scaler.write.properties import COLOURS, SignedFile

INK, LEAF, CHALK, SAND, BRICK, AMBER = (f"#{colour}" for colour in COLOURS)
RULE = "#B9B3A5"
"""Colours of our own: text, headings, calm ground, ground of input cells, danger, a look; lines."""
EDGE, QUIET, LINKED = "#2C5AA0", "#5A5F58", "#000080"
"""The left edge of an input cell; ink of what is said aside, of a link, which some programs draw so in any case."""

FONT = "Calibri"
LETTER, A4 = 1, 9
"""Paper, as workbooks number it."""

NUMBER_FORMATS = {
    "g": "#,##0.0#", "g or each": "#,##0.00", "mL": "#,##0.0", "cm": "0.00", "money": "#,##0.00",
    "money or none": "#,##0.00;-#,##0.00;", "typed": "General_)_)", "typed %": "0.0%_)_)",
    "typed date": "ddd d mmm yyyy_)_)", "typed money": "#,##0.00##_)_)", "money/g": "0.000000", "g/g": "0.000000",
    "mL/g": "0.000000", "g/mL": "0.0000", "mg KOH/g": "0.0", "SAP": "0.0;-0.0;", "%": "0.0%", "whole %": "0%",
    "factor": "0.0000", "date": "ddd d mmm yyyy", "day": "0;-0;", "days": "General", "h": "0.00", "min": "General",
    "count": "General;-General;", "whole": "#,##0", "two digits": "#,##0.00", "weigh": "General;-General;",
    "weigh to 0.1": "#,##0.0##;-#,##0.0##;", "weigh to 0.01": "#,##0.00#;-#,##0.00#;",
    "weigh in ounces": "#,##0.000;-#,##0.000;", "none": "#,##0;-#,##0;", "fine": "0.000", "one digit": "#,##0.0",
    "one digit or none": "#,##0.0;-#,##0.0;", "balance": "0.000000000", "text": "@", "": "General",
}  # fmt: skip
"""Number format of each unit. Formats that end in ; show nothing for 0: an unused line of a card. None leaves a lone point.

Those that are typed stand clear of the edge of the next cell: an indent does it in one program and not in another."""


class NotWritten(Exception):
    """A value or a cell that a workbook cannot hold; a mistake in the code."""


@dataclass(frozen=True)
class Look:
    """How a cell looks."""

    unit: str = ""
    bold: bool = False
    size: int = 11
    ink: str = INK
    ground: str = ""
    box: bool = False
    wrap: bool = False
    align: str = ""
    unlocked: bool = False
    italic: bool = False
    rule: str = ""
    edge: bool = False
    font: str = FONT
    shrink: bool = False
    top: bool = False
    indent: int = 0


HEADING = Look(bold=True, ground=CHALK, wrap=True, rule="leaf")
FIGURE_HEADING = Look(bold=True, ground=CHALK, wrap=True, rule="leaf", align="right")
TITLE = Look(bold=True, size=20, ink=LEAF)
SECTION = Look(bold=True, size=13, ink=LEAF)
HINT = Look(ink=QUIET, size=9)
BODY = Look(rule="thin")
LINK = Look(ink=LINKED, size=9)
INPUT = Look(ground=SAND, edge=True, unlocked=True, rule="thin")
RULER = Look(font="DejaVu Sans Mono", size=9, ink=LEAF)


@dataclass(frozen=True)
class _Column:
    """Formulas, or numbers, of one column below one another, put into cells only when their row is written."""

    first: int
    column: int
    formula: Any
    values: Sequence[Any]
    form: Format


class PlainSheet(Worksheet):  # type: ignore[misc]  # xlsxwriter ships no type hints
    """A worksheet that takes formulas as they are, and whole columns of them that cost no memory but their values."""

    def __init__(self) -> None:
        """Start without columns."""
        super().__init__()
        self.later: list[_Column] = []

    def add_column(self, column: _Column) -> None:
        """Take a column of formulas; rows and columns from 0."""
        if column.values:
            for row in (column.first, column.first + len(column.values) - 1):
                _done(self._check_dimensions(row, column.column), self, row + 1, column.column + 1)
            self.later.append(column)

    def _write_rows(self) -> None:
        """Write row after row, each forgotten once it is written; without the optional spans."""
        waiting = sorted(self.later, key=lambda column: -column.first)
        open_now: list[_Column] = []
        for row in range(self.dim_rowmin, self.dim_rowmax + 1):
            open_now = [column for column in open_now if row < column.first + len(column.values)]
            while waiting and waiting[-1].first == row:
                open_now.append(waiting.pop())
            for held in open_now:
                value = _behind(held.values[row - held.first], held.formula)
                if held.formula is None:
                    self._write_number(row, held.column, value, held.form)
                else:
                    self._write_formula(row, held.column, text_of(held.formula, row + 1), held.form, value)
            cells, info = self.table.pop(row, None), self.row_info.get(row)
            if cells:
                self._write_row(row, None, info)
                for column in sorted(cells):
                    self._write_cell(row, column, cells[column])
                self._xml_end_tag("row")
            elif info or row in self.comments:
                self._write_empty_row(row, None, info)

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002  # theirs
        """Drop the equals sign only.

        xlsxwriter looks here for thirty functions newer than Excel 2013, one search each: a third of the time of a
        run. Ours are all older, which a test proves.
        """
        return formula.removeprefix("=")


class Book:
    """An xlsxwriter workbook with one way to write each kind of cell."""

    def __init__(self, path: str | io.BytesIO, run: Run | None = None, own: Own | None = None) -> None:
        """Open the workbook; nothing is on the disk until `close`."""
        self.own = own or Own()
        self.file = SignedFile(path)
        self.run = run
        self.layout = Layout(run.tables, run.steps, len(run.workshop.done)) if run else None
        self._formats: dict[Look, Format] = {}
        self.unlocked: dict[str, set[str]] = {}
        """Cells of each sheet that are for people to fill."""
        self.parts: list[tuple[str, object]] = []
        """Parts of long formulas, which stand in the first row of the workings, and the value of each."""

    def look(self, look: Look | Format) -> Format:
        """Return the format of a look, made once; a format is one already."""
        if isinstance(look, Format):
            return look
        if look not in self._formats:
            self._formats[look] = self.file.add_format(_properties(look))
        return self._formats[look]

    def sheet(self, name: str, colour: str = "") -> PlainSheet:
        """Add a sheet, in order."""
        sheet: PlainSheet = self.file.add_worksheet(name, worksheet_class=PlainSheet)
        if colour:
            sheet.set_tab_color(colour)
        sheet.hide_gridlines(2)
        return sheet

    def put(self, sheet: Worksheet, row: int, column: int, value: object, look: Look | Format = Look()) -> None:
        """Write a constant; row and column from 1; None leaves a blank cell with its look."""
        form = self.look(look)
        at = (row - 1, column - 1)
        if isinstance(look, Look) and look.unlocked:
            self.unlocked.setdefault(sheet.get_name(), set()).add(f"{letters(column)}{row}")
        if value is None or value == "":
            done = sheet.write_blank(*at, None, form)
        elif isinstance(value, bool):
            done = sheet.write_boolean(*at, value, form)
        elif isinstance(value, datetime | date):
            done = sheet.write_datetime(*at, datetime(value.year, value.month, value.day), form)
        elif isinstance(value, int | float):
            done = sheet.write_number(*at, sound(value), form)
        else:
            done = sheet.write_string(*at, str(value), form)
        _done(done, sheet, row, column)

    def live(
        self, sheet: Worksheet, row: int, column: int, formula: str, value: object, look: Look | Format = Look()
    ) -> None:
        """Write a formula with the value that the engine computed for it; row and column from 1."""
        held = _behind(value, formula)
        _done(sheet.write_formula(row - 1, column - 1, formula, self.look(look), held), sheet, row, column)

    def live_column(
        self, sheet: PlainSheet, row: int, column: int, formula: Any, values: Sequence[Any], look: Look = Look()
    ) -> None:
        """Write one formula down a column, its row number open, each with its value; row and column from 1.

        Without a formula the values, all numbers, stand there themselves.
        """
        sheet.add_column(_Column(row - 1, column - 1, formula, values, self.look(look)))

    def wide(self, sheet: Worksheet, row: int, last: int, formula: str, value: object, look: Look) -> None:
        """Write a sentence across the columns up to the last, in one cell; row and column from 1."""
        _done(sheet.merge_range(row - 1, 0, row - 1, last - 1, "", self.look(look)), sheet, row, 1)
        self.live(sheet, row, 1, formula, value, look)

    def note(self, sheet: Worksheet, row: int, column: int, title: str, text: str) -> None:
        """Put a note on a cell; row and column from 1.

        An input workbook gets a comment. A finished one gets the message that shows when the cell is selected.
        """
        if self.run is None:
            _done(sheet.write_comment(row - 1, column - 1, text, {"x_scale": 1.6, "y_scale": 0.8}), sheet, row, column)
        else:
            message = {"validate": "any", "input_title": title[:32], "input_message": text[:255]}
            _done(sheet.data_validation(row - 1, column - 1, row - 1, column - 1, message), sheet, row, column)

    def link(self, sheet: Worksheet, row: int, column: int, target: str, words: str, look: Look = LINK) -> None:
        """Write a link to a cell of this workbook, such as `Cards!A1`."""
        _done(sheet.write_url(row - 1, column - 1, f"internal:{target}", self.look(look), words), sheet, row, column)

    def footer(self, sheet: Worksheet, name: str) -> None:
        """Say at the foot of each printed page whose it is, which tab, which page, and when it was worked out."""
        held = self.layout.tables if self.layout else None
        said = (
            {} if held is None else dict(zip(*(held.column("costs", name) for name in ("name", "in_use")), strict=True))
        )
        workshop = said.get("workshop")
        owner = f"{str(workshop).replace('&', '&&')} · " if workshop else ""
        day = day_of(said.get("worked_out_on"))
        when = f" · worked out {day.day} {day:%b %Y}" if day else ""
        sheet.set_footer(f"&L{owner}{name}&Rpage &P of &N{when}")

    def close(self) -> None:
        """Write the file."""
        self.file.close()


def sound(value: float) -> float:
    """Return a number that a cell can hold.

    Raises:
        NotWritten: not a number, or infinite: a spreadsheet would not open the file.
    """
    if type(value) not in (int, float) or not math.isfinite(value):
        raise NotWritten(f"{value!r} is no number for a cell")
    return value


def _behind(value: object, formula: Any) -> Any:
    """Return the value that stands behind a formula, blank text for none."""
    if isinstance(value, float | int) and not isinstance(value, bool):
        return sound(value)
    if value is not None and not isinstance(value, str | bool):
        raise NotWritten(f"{value!r} behind {formula}")
    return "" if value is None else value


def _done(code: int | None, sheet: Worksheet, row: int, column: int) -> None:
    """Raise when xlsxwriter says, by its return code only, that a cell was not written."""
    if code:
        raise NotWritten(f"cell {row}, {column} of {sheet.get_name()}: code {code}")


def _properties(look: Look) -> Mapping[str, Any]:
    held: dict[str, Any] = {
        "font_name": look.font,
        "font_size": look.size,
        "font_color": look.ink,
        "valign": "top" if look.top else "vcenter",
    }
    if look.unit:
        held["num_format"] = NUMBER_FORMATS.get(look.unit, "General")
    plain = {"bold": look.bold, "italic": look.italic, "text_wrap": look.wrap, "shrink": look.shrink}
    held |= {name: True for name, is_so in plain.items() if is_so}
    if look.ground:
        held |= {"bg_color": look.ground, "pattern": 1}
    if look.box:
        held |= {"border": 1, "border_color": RULE}
    if look.rule:
        held |= {"leaf": {"bottom": 2, "bottom_color": LEAF}, "thin": {"bottom": 7, "bottom_color": RULE},
                 "brick": {"bottom": 2, "bottom_color": BRICK}}[look.rule]  # fmt: skip
    if look.edge:
        held |= {"left": 2, "left_color": EDGE}
    if look.align:
        held["align"] = look.align
    if look.indent:
        held["indent"] = look.indent
    held["locked"] = not look.unlocked
    return held
