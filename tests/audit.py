"""What an auditor of spreadsheets looks for: each rule yields the places where a workbook breaks it."""

from __future__ import annotations

import math
import re
import zipfile
from collections.abc import Callable, Iterator
from io import BytesIO
from xml.etree import ElementTree

from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.utils import column_index_from_string, get_column_letter
from workbooks import Whole

from scaler.model import SHEETS
from scaler.write.layout import FIRST_ROW, HEADER_ROW, HINT_ROW

Rule = Callable[[Whole], Iterator[str]]

INPUTS = {sheet.name for sheet in SHEETS}
FUNCTIONS = {
    "ABS", "ACOS", "AND", "COUNTIF", "IF", "IFERROR", "INDEX", "INT", "ISNUMBER", "MATCH", "MAX", "MIN", "OR", "PI", "ROUND",
    "ROUNDUP", "SQRT", "SUM", "SUMPRODUCT",
}  # fmt: skip
"""Functions that Excel 2013, LibreOffice 7 and Google Sheets share, none of them volatile."""
RESERVED = {"history"}
_REFERENCE = re.compile(r"(?<![A-Za-z0-9_.])(\$?)([A-Z]{1,3})(\$?)([0-9]+)(?![0-9(A-Za-z_])")
_QUOTED = re.compile(r"('(?:[^']|'')*'!|\"(?:[^\"]|\"\")*\")")
_PART = re.compile(r"(?:('(?:[^']|'')*'|[A-Za-z0-9_.]+)!)?\$?([A-Z]{1,3})\$?([0-9]+)(?::\$?([A-Z]{1,3})\$?([0-9]+))?")


def relative(text: str, row: int, column: int) -> str:
    """Return a formula with its references as they are from its cell: the same all down a column that is copied."""

    def away(found: re.Match[str]) -> str:
        fixed_column, letters, fixed_row, digits = found.groups()
        at_column = column_index_from_string(letters)
        across = f"C{at_column}" if fixed_column else f"C[{at_column - column}]"
        down = f"R{digits}" if fixed_row else f"R[{int(digits) - row}]"
        return down + across

    parts = _QUOTED.split(text)
    parts[::2] = [_REFERENCE.sub(away, part) for part in parts[::2]]
    return "".join(parts)


def is_workings(sheet: str, book: Whole) -> bool:
    """Return whether a sheet holds workings: neither a result tab, which come first, nor an input sheet."""
    names = book.written.sheetnames
    return sheet not in INPUTS and names.index(sheet) >= names.index("Constants")


# --- the rules ---


def one_pattern_a_column(book: Whole) -> Iterator[str]:
    """Yield columns of workings that hold two formulas, or a number among formulas."""
    for sheet in book.written:
        if not is_workings(sheet.title, book):
            continue
        for cells in sheet.iter_cols(min_row=FIRST_ROW):
            held = [cell for cell in cells if cell.value is not None]
            written = {relative(str(cell.value), cell.row, cell.column) for cell in held if cell.data_type == "f"}
            listed = sheet.title == "Rows" and sheet.cell(HEADER_ROW, cells[0].column).value == "rows now"
            if (len(written) > 1 and not listed) or (written and any(cell.data_type != "f" for cell in held)):
                yield f"{sheet.title}!{cells[0].column_letter}"


def one_pattern_a_result(book: Whole) -> Iterator[str]:
    """Yield columns of the tables with one row a batch whose rows hold two formulas."""
    batches = sum(1 for row in book.written["Batches"].iter_rows(min_row=FIRST_ROW, max_col=3) if row[1].value)
    for name in ("Overview", "Costing", "Superfat"):
        sheet = book.written[name]
        header = next(row[0].row for row in sheet.iter_rows() if row[0].value == "Batch" and row[1].value == "Recipe")
        for cells in sheet.iter_cols(min_row=header + 1, max_row=header + batches):
            written = {relative(str(cell.value), cell.row, cell.column) for cell in cells if cell.value is not None}
            if len(written) > 1 or any(cell.data_type not in "fn" for cell in cells):
                yield f"{name}!{cells[0].column_letter}: {written}"


def _tokens(book: Whole) -> Iterator[tuple[str, list[Token]]]:
    """Yield each formula, once for all the cells that it was copied to, with the place where it stands first."""
    seen = set()
    for sheet, cell in book.formulas():
        pattern = relative(str(cell.value), cell.row, cell.column)
        if (sheet.title, pattern) not in seen:
            seen.add((sheet.title, pattern))
            yield f"{sheet.title}!{cell.coordinate}", Tokenizer(str(cell.value)).items


def no_typed_numbers(book: Whole) -> Iterator[str]:
    """Yield formulas with a number in them other than 0, 1 and the digits of a rounding."""
    for place, tokens in _tokens(book):
        inside: list[str] = []
        for before, token in zip([None, *tokens], tokens, strict=False):
            if token.subtype == "OPEN":
                inside.append(token.value)
            elif token.subtype == "CLOSE":
                inside.pop()
            elif token.subtype == "NUMBER" and token.value not in ("0", "1"):
                digits = bool(inside) and inside[-1] == "ROUND(" and before is not None and before.type == "SEP"
                if not digits:
                    yield f"{place}: {token.value}"


def shared_functions(book: Whole) -> Iterator[str]:
    """Yield formulas with a function that not every spreadsheet program has."""
    for place, tokens in _tokens(book):
        for token in tokens:
            if token.type == "FUNC" and token.subtype == "OPEN" and token.value.rstrip("(") not in FUNCTIONS:
                yield f"{place}: {token.value}"


def bounded_references(book: Whole) -> Iterator[str]:
    """Yield formulas that refer to a whole column or row, to another workbook, to a name, or to nothing."""
    sheets = set(book.written.sheetnames)
    for place, tokens in _tokens(book):
        for token in tokens:
            if token.subtype == "ERROR":
                yield f"{place}: {token.value}"
            if token.subtype == "RANGE":
                found = _PART.fullmatch(token.value)
                if not found or (found[1] and found[1].strip("'").replace("''", "'") not in sheets):
                    yield f"{place}: {token.value}"


def nothing_hidden(book: Whole) -> Iterator[str]:
    """Yield hidden sheets, rows and columns, and merged cells."""
    for sheet in book.written:
        if sheet.sheet_state != "visible":
            yield f"{sheet.title} is {sheet.sheet_state}"
        yield from (f"{sheet.title} column {name}" for name, held in sheet.column_dimensions.items() if held.hidden)
        yield from (f"{sheet.title} row {name}" for name, held in sheet.row_dimensions.items() if held.hidden)
        yield from (f"{sheet.title} merges {held}" for held in sheet.merged_cells.ranges)


def self_contained(book: Whole) -> Iterator[str]:
    """Yield parts that reach out of the workbook or hold programs."""
    with zipfile.ZipFile(BytesIO(book.content)) as parts:
        for name in parts.namelist():
            if re.search(r"vba|external|connections|activeX|embeddings|ctrlProps", name, re.IGNORECASE):
                yield name
            if name.endswith(".rels") and b'TargetMode="External"' in parts.read(name):
                yield f"{name} points outside"


def protected(book: Whole) -> Iterator[str]:
    """Yield computed cells that are not locked, input cells that are, and passwords."""
    for sheet in book.written:
        if sheet.protection.password:
            yield f"{sheet.title} has a password"
        if sheet.title in INPUTS:
            used = [cell for row in sheet.iter_rows(min_row=FIRST_ROW) for cell in row if cell.value is not None]
            named = {cell.column: cell.value for cell in sheet[HEADER_ROW] if cell.value}
            locked = [
                cell for cell in used if cell.protection.locked and not _label(sheet.title, str(named[cell.column]))
            ]
            yield from (f"{sheet.title}!{cell.coordinate} is locked" for cell in locked)
        elif not sheet.protection.sheet:
            yield f"{sheet.title} is not protected"
    open_cells = [f"{sheet.title}!{cell.coordinate}" for sheet, cell in book.formulas() if not cell.protection.locked]
    yield from (f"{place} is open" for place in open_cells)


def _label(sheet: str, header: str) -> bool:
    """Return whether a column of an input sheet is there to be read, not filled."""
    return sheet == "Costs" and header.rstrip("*") in ("Setting", "Meaning")


def computed_values(book: Whole) -> Iterator[str]:
    """Yield formula cells without a stored value, or with an error or no finite number."""
    for sheet, cell in book.formulas():
        value = book.stored[sheet.title][cell.coordinate].value
        if book.stored[sheet.title][cell.coordinate].data_type == "e" or (
            isinstance(value, float) and not math.isfinite(value)
        ):
            yield f"{sheet.title}!{cell.coordinate}: {value}"


def formulas_stay_off_inputs(book: Whole) -> Iterator[str]:
    """Yield formulas on input sheets."""
    yield from (f"{sheet.title}!{cell.coordinate}" for sheet, cell in book.formulas() if sheet.title in INPUTS)


def units_beside(book: Whole) -> Iterator[str]:
    """Yield columns of workings without a heading or a unit ("-" for a plain number)."""
    for sheet in book.written:
        if not is_workings(sheet.title, book):
            continue
        for cell in sheet[HEADER_ROW]:
            given = sheet.title == "Constants" and cell.column > 2
            if cell.value and not given and not sheet.cell(HINT_ROW, cell.column).value:
                yield f"{sheet.title}!{cell.coordinate}"
        headed = [cell.column for cell in sheet[HEADER_ROW] if cell.value]
        filled = {cell.column for row in sheet.iter_rows(min_row=FIRST_ROW) for cell in row if cell.value is not None}
        yield from (f"{sheet.title} column {number} has no heading" for number in filled - set(headed))


def sheet_names(book: Whole) -> Iterator[str]:
    """Yield sheet names that some program refuses."""
    names = book.written.sheetnames
    for name in names:
        if len(name) > 31 or re.search(r"[\\/?*\[\]:]", name) or name.strip("'") != name or name.casefold() in RESERVED:
            yield name
    if len({name.casefold() for name in names}) < len(names):
        yield "two sheets of one name"


_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_KINDS = {"str", "e", "inlineStr"}


def sound_cells(book: Whole) -> Iterator[str]:
    """Yield stored cells that make a program ask for a repair: a value that is no number, a style that is not there."""
    with zipfile.ZipFile(BytesIO(book.content)) as parts:
        styles = ElementTree.fromstring(parts.read("xl/styles.xml")).find(f"{_MAIN}cellXfs")
        most = 0 if styles is None else len(styles)
        for name in parts.namelist():
            if name.startswith("xl/worksheets/sheet"):
                for cell in ElementTree.fromstring(parts.read(name)).iter(f"{_MAIN}c"):
                    value = cell.findtext(f"{_MAIN}v")
                    number = (
                        value is None
                        or cell.get("t") in _KINDS
                        or re.fullmatch(r"(-?[0-9.]+(E[+-]?[0-9]+)?)?", value, re.I)
                    )
                    if not number or int(cell.get("s", 0)) >= most:
                        yield f"{name} {cell.get('r')}: {value}, style {cell.get('s')}"


# --- circles ---


def no_circles(book: Whole) -> Iterator[str]:
    """Yield a cell that a circle of references runs through."""
    cells = {(sheet.title, cell.row, cell.column): cell for sheet, cell in book.formulas()}
    spans: dict[tuple[str, str], list[tuple[str, int, int]]] = {}

    def reads(place: tuple[str, int, int]) -> Iterator[tuple[str, int, int]]:
        text = _QUOTED.sub(lambda found: "" if found[0].startswith('"') else found[0], str(cells[place].value))
        for found in _PART.finditer(text):
            sheet = (found[1] or place[0]).strip("'").replace("''", "'")
            if (sheet, found[0]) not in spans:
                spans[sheet, found[0]] = [spot for spot in _span(sheet, found) if spot in cells]
            yield from spans[sheet, found[0]]

    done: set[tuple[str, int, int]] = set()
    for start in cells:
        path, open_now = [(start, reads(start))], {start}
        while path:
            place, rest = path[-1]
            below = next((spot for spot in rest if spot not in done), None)
            if below is None:
                path.pop()
                open_now.discard(place)
                done.add(place)
            elif below in open_now:
                yield f"{below[0]}!{get_column_letter(below[2])}{below[1]}"
                return
            else:
                path.append((below, reads(below)))
                open_now.add(below)


def _span(sheet: str, found: re.Match[str]) -> Iterator[tuple[str, int, int]]:
    left, top = column_index_from_string(found[2]), int(found[3])
    right, bottom = (column_index_from_string(found[4]), int(found[5])) if found[4] else (left, top)
    for row in range(top, bottom + 1):
        for column in range(left, right + 1):
            yield sheet, row, column


RULES: tuple[Rule, ...] = (
    one_pattern_a_column, one_pattern_a_result, no_typed_numbers, shared_functions, bounded_references, nothing_hidden, self_contained,
    protected, computed_values, formulas_stay_off_inputs, units_beside, sheet_names, sound_cells, no_circles,
)  # fmt: skip
