"""What an auditor of spreadsheets looks for: each rule yields the places where a workbook breaks it."""

from __future__ import annotations

import math
import re
import zipfile
from collections.abc import Callable, Iterator
from functools import cache
from io import BytesIO

from opened import MAIN, Cell, Page, Whole
from openpyxl.formula import Tokenizer
from openpyxl.utils import column_index_from_string, get_column_letter

from scaler.model.records import SHEETS
from scaler.write.layout import FIRST_ROW, HEADER_ROW, HINT_ROW

Rule = Callable[[Whole], Iterator[str]]

INPUTS = {sheet.name for sheet in SHEETS}
FUNCTIONS = {
    "ABS", "ACOS", "AND", "COUNTIF", "IF", "IFERROR", "INDEX", "INT", "ISNUMBER", "MATCH", "MAX", "MIN", "OR", "PI", "ROUND",
    "ROUNDUP", "SQRT", "SUM", "SUMPRODUCT",
}  # fmt: skip
"""Functions that Excel 2013, LibreOffice 7 and Google Sheets share, none of them volatile."""
RESERVED = {"history"}
_REFERENCE = re.compile(r"(?<![A-Za-z0-9_.])(\$?[A-Z]{1,3})(\$?)([0-9]+)(?![0-9(A-Za-z_])")
_QUOTED = re.compile(r"('(?:[^']|'')*'!|\"(?:[^\"]|\"\")*\")")
_PART = re.compile(r"(?:('(?:[^']|'')*'|[A-Za-z0-9_.]+)!)?\$?([A-Z]{1,3})\$?([0-9]+)(?::\$?([A-Z]{1,3})\$?([0-9]+))?")


def relative(cell: Cell) -> str:
    """Return a formula with its rows as they are from its cell: the same all down a column that is copied."""
    row = cell.row

    def away(found: re.Match[str]) -> str:
        letters, fixed, digits = found.groups()
        return f"{letters}${digits}" if fixed else f"{letters}[{int(digits) - row}]"

    return _outside_quotes(away, cell.formula)


def _outside_quotes(put: Callable[[re.Match[str]], str] | str, formula: str) -> str:
    """Return a formula whose references outside texts and names of sheets are replaced."""
    if "'" not in formula and '"' not in formula:
        return _REFERENCE.sub(put, formula)
    parts = _QUOTED.split(formula)
    parts[::2] = [_REFERENCE.sub(put, part) for part in parts[::2]]
    return "".join(parts)


def is_workings(sheet: str, book: Whole) -> bool:
    """Return whether a sheet holds workings: neither a result tab, which come first, nor an input sheet."""
    names = list(book.pages)
    return sheet not in INPUTS and names.index(sheet) >= names.index("Constants")


# --- the rules ---


def one_pattern_a_column(book: Whole) -> Iterator[str]:
    """Yield columns of workings that hold two formulas, or a number among formulas."""
    first = {(sheet, cells[0].at) for (sheet, _, _), cells in book.copied.items()}
    for page in book.pages.values():
        if not is_workings(page.title, book):
            continue
        for column, cells in page.columns(FIRST_ROW).items():
            written = {relative(cell) for cell in cells if cell.formula and (page.title, cell.at) in first}
            listed = page.title == "Rows" and page.value(HEADER_ROW, column) == "rows now"
            if (len(written) > 1 and not listed) or (written and not all(cell.formula for cell in cells)):
                yield f"{page.title}!{get_column_letter(column)}"


def one_pattern_a_result(book: Whole) -> Iterator[str]:
    """Yield columns of the tables with one row a batch whose rows hold two formulas."""
    asked = book.pages["Batches"]
    batches = sum(1 for row, column in asked.cells if row >= FIRST_ROW and column == 2)
    for name in ("Overview", "Costing", "Superfat"):
        page = book.pages[name]
        header = min(
            row for row, column in page.cells if (page.value(row, 1), page.value(row, 2)) == ("Batch", "Recipe")
        )
        for column, cells in page.columns(header + 1, header + batches).items():
            written = {relative(cell) if cell.formula else str(cell.value) for cell in cells}
            if len(written) > 1 or any(cell.type != "n" and not cell.formula for cell in cells):
                yield f"{name}!{get_column_letter(column)}: {written}"


Words = tuple[tuple[str, str], ...]


@cache
def _words(form: str) -> tuple[Words, Words]:
    """Return what a formula reads, as (kind, word): its functions, lone numbers and errors; and its references."""
    inside: list[str] = []
    words, references = [], []
    tokens = Tokenizer(form).items
    for before, token in zip([None, *tokens], tokens, strict=False):
        if token.subtype == "OPEN":
            inside.append(token.value)
            words.append((token.type, token.value.rstrip("(")))
        elif token.subtype == "CLOSE":
            inside.pop()
        elif token.subtype == "NUMBER" and token.value not in ("0", "1"):
            digits = bool(inside) and inside[-1] == "ROUND(" and before is not None and before.type == "SEP"
            if not digits:
                words.append(("NUMBER", token.value))
        elif token.subtype == "ERROR":
            words.append(("ERROR", token.value))
        elif token.subtype == "RANGE":
            references.append(("RANGE", token.value))
    return tuple(words), tuple(references)


def _forms(book: Whole) -> Iterator[tuple[str, str]]:
    """Yield each form of formula, every reference in it written A1, with a place where it stands."""
    for (sheet, _, _), cells in book.copied.items():
        yield f"{sheet}!{cells[0].at}", _outside_quotes("A1", cells[0].formula)


def no_typed_numbers(book: Whole) -> Iterator[str]:
    """Yield formulas with a number in them other than 0, 1 and the digits of a rounding."""
    for place, form in _forms(book):
        yield from (f"{place}: {word}" for kind, word in _words(form)[0] if kind == "NUMBER")


def shared_functions(book: Whole) -> Iterator[str]:
    """Yield formulas with a function that not every spreadsheet program has."""
    for place, form in _forms(book):
        found = (word for kind, word in _words(form)[0] if kind == "FUNC" and word not in FUNCTIONS)
        yield from (f"{place}: {word}" for word in found)


def bounded_references(book: Whole) -> Iterator[str]:
    """Yield formulas that refer to a whole column or row, to another workbook, to a name, or to nothing."""
    for place, form in _forms(book):
        words, references = _words(form)
        yield from (f"{place}: {word}" for kind, word in words if kind == "ERROR")
        for _, word in references:
            found = _PART.fullmatch(word)
            if not found or (found[1] and found[1].strip("'").replace("''", "'") not in book.pages):
                yield f"{place}: {word}"


def nothing_hidden(book: Whole) -> Iterator[str]:
    """Yield hidden sheets, rows and columns, and merged cells."""
    for page in book.pages.values():
        if page.state != "visible":
            yield f"{page.title} is {page.state}"
        for part in ("col", "row"):
            hidden = (item for item in page.root.iter(f"{MAIN}{part}") if item.get("hidden") == "1")
            yield from (f"{page.title}: {part} {item.attrib} is hidden" for item in hidden)
        yield from (f"{page.title} merges {item.get('ref')}" for item in page.root.iter(f"{MAIN}mergeCell"))


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
    for page in book.pages.values():
        held = page.root.find(f"{MAIN}sheetProtection")
        if held is not None and {"password", "hashValue"} & set(held.attrib):
            yield f"{page.title} has a password"
        if page.title in INPUTS:
            yield from (f"{page.title}!{cell.at} is locked" for cell in _to_fill(page) if book.locked[cell.style])
        elif held is None or held.get("sheet") != "1":
            yield f"{page.title} is not protected"
    yield from (f"{page.title}!{cell.at} is open" for page, cell in book.formulas() if not book.locked[cell.style])


def _to_fill(page: Page) -> Iterator[Cell]:
    """Yield the filled cells of an input sheet but those that are there to be read."""
    for cell in page.cells.values():
        header = str(page.value(HEADER_ROW, cell.column)).rstrip("*")
        if cell.row >= FIRST_ROW and not (page.title == "Costs" and header in ("Setting", "Meaning")):
            yield cell


def computed_values(book: Whole) -> Iterator[str]:
    """Yield formula cells without a stored value, or with an error or no finite number."""
    for page, cell in book.formulas():
        wrong = isinstance(cell.value, float) and not math.isfinite(cell.value)
        if cell.type == "e" or cell.raw is None or wrong:
            yield f"{page.title}!{cell.at}: {cell.value}"


def formulas_stay_off_inputs(book: Whole) -> Iterator[str]:
    """Yield formulas on input sheets."""
    yield from (f"{page.title}!{cell.at}" for page, cell in book.formulas() if page.title in INPUTS)


def units_beside(book: Whole) -> Iterator[str]:
    """Yield columns of workings without a heading or a unit ("-" for a plain number)."""
    for page in book.pages.values():
        if not is_workings(page.title, book):
            continue
        headed = set(page.columns(HEADER_ROW, HEADER_ROW))
        for column in headed:
            given = page.title == "Constants" and column > 2
            if not given and not page.value(HINT_ROW, column):
                yield f"{page.title}!{get_column_letter(column)}{HINT_ROW}"
        filled = set(page.columns(FIRST_ROW))
        yield from (f"{page.title} column {number} has no heading" for number in filled - headed)


def sheet_names(book: Whole) -> Iterator[str]:
    """Yield sheet names that some program refuses."""
    for name in book.pages:
        if len(name) > 31 or re.search(r"[\\/?*\[\]:]", name) or name.strip("'") != name or name.casefold() in RESERVED:
            yield name
    if len({name.casefold() for name in book.pages}) < len(book.pages):
        yield "two sheets of one name"


_KINDS = {"str", "e", "inlineStr"}
_A_NUMBER = re.compile(r"(-?[0-9.]+(E[+-]?[0-9]+)?)?", re.IGNORECASE)


def sound_cells(book: Whole) -> Iterator[str]:
    """Yield stored cells that make a program ask for a repair: a value that is no number, a style that is not there."""
    for page in book.pages.values():
        for cell in page.cells.values():
            number = cell.raw is None or cell.type in _KINDS or _A_NUMBER.fullmatch(cell.raw)
            if not number or cell.style >= len(book.locked):
                yield f"{page.title}!{cell.at}: {cell.raw}, style {cell.style}"


# --- circles ---

_TEXT = re.compile(r'"(?:[^"]|"")*"')


def _references(formula: str, sheet: str) -> Iterator[tuple[str, re.Match[str]]]:
    """Yield every reference of a formula with its sheet."""
    for found in _PART.finditer(_TEXT.sub("", formula)):
        yield (found[1] or sheet).strip("'").replace("''", "'"), found


def _entangled(book: Whole) -> set[tuple[str, int]]:
    """Return the columns that may be in a circle: those that read each other, or themselves, by whatever rows."""
    reads: dict[tuple[str, int], set[tuple[str, int]]] = {}
    for (sheet, column, _), cells in book.copied.items():
        for of, found in _references(cells[0].formula, sheet):
            left = column_index_from_string(found[2])
            right = column_index_from_string(found[4]) if found[4] else left
            reads.setdefault((sheet, column), set()).update((of, number) for number in range(left, right + 1))
    while True:
        ends = {column for column, others in reads.items() if not others & reads.keys()}
        if not ends:
            return set(reads)
        for column in ends:
            del reads[column]


def no_circles(book: Whole) -> Iterator[str]:
    """Yield a cell that a circle of references runs through."""
    suspect = _entangled(book)
    cells = {
        (page.title, cell.row, cell.column): cell
        for page, cell in book.formulas()
        if (page.title, cell.column) in suspect
    }
    spans: dict[tuple[str, str], list[tuple[str, int, int]]] = {}

    def reads(place: tuple[str, int, int]) -> Iterator[tuple[str, int, int]]:
        for sheet, found in _references(cells[place].formula, place[0]):
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
