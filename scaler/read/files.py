"""Open a workbook file and take its cells out raw; a broken or hostile file stops here.

Nothing in this module knows what a sheet means. It bounds what a file may cost, refuses what cannot be
read in safety, and hands on every filled cell with its address, its number format and its plain value.

Only the workbook's list of sheets, its styles, its shared texts and the cells of the wanted sheets are parsed.
Everything else a file may hold (charts, filters, validations, document properties) is passed over, since a
fault there would make openpyxl give up on cells that are perfectly well.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scaler.model.problems import Problem
from scaler.model.schema import letters
from scaler.read.archive import LARGEST_MARKUP, RefusedFile, broken, check_archive, content_of, too_big

if TYPE_CHECKING:
    from openpyxl.reader.excel import ExcelReader

_LOOKED_INTO = 64 * 2**20  # bytes of a sheet beyond which nobody looks for merged cells
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384  # the grid of every spreadsheet program

_BEGINNING = 2**20
_ESCAPED_CONTROL = re.compile(r"_x00([01][0-9A-Fa-f])_")  # how the format stores a control character in a text


@dataclass(frozen=True)
class ErrorValue:
    """An error a cell shows, such as #REF!; a text that only looks like one stays a str."""

    code: str


@dataclass(frozen=True)
class RawCell:
    """One filled cell.

    Attributes:
        value: str, int, float, bool, date, datetime, time, timedelta or ErrorValue; None only when uncached.
        number_format: the format code, "General" when none is set.
        uncached: whether it is a formula whose value was never stored.
    """

    value: object
    number_format: str
    uncached: bool = False


@dataclass(frozen=True)
class RawSheet:
    """One sheet as it stands.

    Attributes:
        file: the file's name to show.
        name: the sheet's name as written.
        cells: filled cells by (row, column) from 1.
        merged: ranges of merged cells, such as "A1:C1".
    """

    file: str
    name: str
    cells: dict[tuple[int, int], RawCell]
    merged: tuple[str, ...] = ()


@dataclass(frozen=True)
class RawBook:
    """One workbook.

    Attributes:
        file: the file's name to show.
        sheets: the sheets that were wanted, in the file's order.
        names: the names of all its sheets, in the file's order.
        own: names of the sheets that were not wanted and hold something; () for a workbook that scaler wrote.
    """

    file: str
    sheets: tuple[RawSheet, ...]
    names: tuple[str, ...]
    own: tuple[str, ...] = ()


Parsed = dict[str, Any]
"""A cell as openpyxl parses it: row, column, value, data_type, style_id."""


def read_book(path: Path, wanted: Callable[[str], bool]) -> tuple[RawBook | None, list[Problem]]:
    """Return the wanted sheets of a workbook, or no book and the one problem that keeps it from being read.

    Args:
        path: the file.
        wanted: whether a sheet of this name, as written in the file, is to be read.
    """
    try:
        data = content_of(path)
        return _parse(path.name, data, wanted, check_archive(data)), []
    except RefusedFile as refused:
        return None, [refused.problem(path.name)]


def _parse(file: str, data: bytes, wanted: Callable[[str], bool], markup: Mapping[str, int]) -> RawBook:
    """Return the book of a checked archive; `markup` says how many tags each of its parts has."""
    always = sum(
        tags for part, tags in markup.items() if part.endswith(("workbook.xml", "sharedStrings.xml", "styles.xml"))
    )
    if always > LARGEST_MARKUP:
        raise too_big("a file with a million cells or more")
    with guarded():
        reader = _opened(data)
        names, listed = tuple(str(sheet.name) for sheet, _ in reader.parser.find_sheets()), _worksheets(reader)
    if not names:
        raise broken("a workbook without sheets")
    chosen = [(name, part) for name, part in listed if wanted(name)]
    if always + sum(markup.get(part, 0) for _, part in chosen) > LARGEST_MARKUP:
        raise too_big("a file with a million cells or more")
    with guarded():
        sheets = tuple(
            RawSheet(file, name, _filled(reader, part), _merged(reader.archive, part)) for name, part in chosen
        )
        others = () if _ours(reader.archive) else ((name, part) for name, part in listed if not wanted(name))
        own = tuple(name for name, part in others if _HOLDS.search(_beginning(reader.archive, part)))
        return RawBook(file, sheets, names, own)


_HOLDS = re.compile(rb"<(?:\w+:)?(?:v|is|f)[ >/]")
_MERGED = re.compile(rb'<(?:\w+:)?mergeCell [^>]*ref="([A-Z0-9:]+)"')
_MARK = b">scaler</vt:lpwstr>"
"""How a workbook that scaler wrote says so, in its custom properties."""


def _ours(archive: zipfile.ZipFile) -> bool:
    return "docProps/custom.xml" in archive.namelist() and _MARK in archive.read("docProps/custom.xml")


def _beginning(archive: zipfile.ZipFile, part: str) -> bytes:
    with archive.open(part) as stream:
        return stream.read(_BEGINNING)


def _merged(archive: zipfile.ZipFile, part: str) -> tuple[str, ...]:
    if archive.getinfo(part).file_size > _LOOKED_INTO:
        return ()
    return tuple(span.decode() for span in _MERGED.findall(archive.read(part)))


def _filled(reader: ExcelReader, part: str) -> dict[tuple[int, int], RawCell]:
    """Return the filled cells of a sheet by address."""
    number_format = _formats(reader.wb)
    found = ((cell, _raw(cell, number_format)) for cell in _cells(reader, part))
    return {_address(cell): raw for cell, raw in found if raw is not None}


@contextmanager
def guarded() -> Iterator[None]:
    """Turn whatever openpyxl raises into a refusal, and keep its warnings about features we do not read to itself."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except Exception as error:  # a broken part makes openpyxl stumble in any way: AttributeError, KeyError, ParseError
        raise broken("a file whose contents cannot be made out") from error


def parsed(data: bytes, wanted: Callable[[str], bool], data_only: bool) -> Iterator[tuple[str, Iterator[Parsed]]]:
    """Yield name and filled cells of each wanted sheet of a file that `read_book` took, stored values or formulas."""
    reader = _opened(data, data_only)
    for name, part in _worksheets(reader):
        if wanted(name):
            yield name, (cell for cell in _cells(reader, part) if cell["value"] is not None)


def _worksheets(reader: ExcelReader) -> list[tuple[str, str]]:
    """Return name and part of each sheet; one of another type is a chart alone: it has a name and no cells."""
    listed = reader.parser.find_sheets()
    return [(str(sheet.name), part.target) for sheet, part in listed if part.Type.endswith("/worksheet")]


def _opened(data: bytes, data_only: bool = True) -> ExcelReader:
    """Return openpyxl's reader with all that cells need: the list of sheets, shared texts and styles.

    These are the steps of openpyxl's `load_workbook` without document properties, themes, charts and links.
    """
    from openpyxl.reader.excel import ExcelReader
    from openpyxl.styles.stylesheet import apply_stylesheet

    reader = ExcelReader(io.BytesIO(data), read_only=True, data_only=data_only, keep_links=False)
    reader.read_manifest()
    reader.read_strings()
    reader.read_workbook()
    apply_stylesheet(reader.archive, reader.wb)
    return reader


def _cells(reader: ExcelReader, part: str) -> Iterator[Parsed]:
    """Yield the cells of a sheet.

    This walks the rows that are there instead of openpyxl's `iter_rows`, which fills every gap with empty cells: one
    cell at the far corner of the grid would cost seventeen thousand million of them.
    """
    from openpyxl.worksheet._reader import ROW_TAG  # there is no public way to the stored rows
    from openpyxl.xml.functions import iterparse

    parser = _parser(reader)
    with reader.archive.open(part) as source:
        for _, element in iterparse(source):
            if element.tag == ROW_TAG:
                _, cells = parser.parse_row(element)
                element.clear()
                yield from cells


def _parser(reader: ExcelReader) -> Any:
    """Return openpyxl's parser of rows, taught to tell a formula without a stored value from a blank."""
    from openpyxl.worksheet._reader import FORMULA_TAG, VALUE_TAG, WorkSheetParser

    class Parser(WorkSheetParser):
        """Marks an uncached formula as one, and leaves a number beyond all dates a number, in the same pass over the sheet."""

        def parse_cell(self, element: Any) -> dict[str, Any]:
            cell: dict[str, Any] = super().parse_cell(element)
            if cell["value"] is None and element.find(FORMULA_TAG) is not None:
                # An empty text that a formula gave is stored as the type "str" and an empty value: that one is blank.
                empty_text = element.get("t") == "str" and element.find(VALUE_TAG) is not None
                cell["data_type"] = "s" if empty_text else "f"
            if cell["data_type"] == "e" and element.get("t") != "e":  # a number in a date's format that no day has
                cell |= {"value": float(element.findtext(VALUE_TAG)), "data_type": "n"}
            return cell

    book: Any = reader.wb
    return Parser(
        None,  # type: ignore[arg-type]  # rows are handed in one by one
        reader.shared_strings,
        data_only=reader.data_only,
        epoch=book.epoch,
        date_formats=book._date_formats,
        timedelta_formats=book._timedelta_formats,
    )


def _formats(book: Any) -> Callable[[int], str]:
    """Return the function from a cell's style number to its number format."""
    from openpyxl.styles.numbers import BUILTIN_FORMATS, BUILTIN_FORMATS_MAX_SIZE

    known: dict[int, str] = {}

    def look_up(style: int) -> str:
        number: int = book._cell_styles[style].numFmtId
        if number < BUILTIN_FORMATS_MAX_SIZE:
            return BUILTIN_FORMATS.get(number, "General")
        return str(book._number_formats[number - BUILTIN_FORMATS_MAX_SIZE])

    def number_format(style: int) -> str:
        if style not in known:
            known[style] = look_up(style)
        return known[style]

    return number_format


def _address(cell: dict[str, Any]) -> tuple[int, int]:
    """Return the row and column of a cell; one outside the grid means that the file is broken."""
    row, column = int(cell["row"]), int(cell["column"])
    if not (1 <= row <= LAST_ROW and 1 <= column <= LAST_COLUMN):
        raise ValueError("a cell outside the grid")
    return row, column


def _raw(cell: dict[str, Any], number_format: Callable[[int], str]) -> RawCell | None:
    """Return the cell as it is handed on, None when it is blank."""
    value, kind = cell["value"], cell["data_type"]
    if kind == "f":
        return RawCell(None, number_format(cell["style_id"]), uncached=True)
    if value is None or value == "":
        return None
    if kind == "e":
        value = ErrorValue(str(value))
    elif isinstance(value, str) and "_x00" in value:
        value = _ESCAPED_CONTROL.sub(lambda found: chr(int(found[1], 16)), value)
    return RawCell(value, number_format(cell["style_id"]))


# --- what stands in the result sheets of a finished workbook ---


_OUTSIDE_QUOTES = re.compile(r'("[^"]*")')


@dataclass(frozen=True)
class StoredCell:
    """What a cell holds: a formula as it is written, or a plain value."""

    value: object
    written: str = ""

    def same_formula(self, other: StoredCell) -> bool:
        """Return whether two cells hold one formula, however their programs write it."""
        return self.written == other.written or plain(self.written) == plain(other.written)


def read_cells(source: Path | bytes, sheets: Collection[str] = ()) -> dict[str, dict[str, StoredCell]]:
    """Return every filled cell by sheet and address, of these sheets or of all; the file has passed `read_book` before."""
    data = source if isinstance(source, bytes) else source.read_bytes()
    with guarded():
        return {
            name: {_letters_of(cell): _held(cell) for cell in cells}
            for name, cells in parsed(data, lambda name: not sheets or name in sheets, data_only=False)
        }


def _letters_of(cell: Parsed) -> str:
    return f"{letters(cell['column'])}{cell['row']}"


def _held(cell: Parsed) -> StoredCell:
    value = cell["value"]
    if cell["data_type"] != "f":
        return StoredCell(value)
    return StoredCell(None, str(getattr(value, "text", value)))  # an array formula is an object that holds its text


def stored_values(source: Path | bytes) -> dict[str, dict[str, object]]:
    """Return the stored value of every filled cell by sheet and address; dates as spreadsheets number them."""
    data = source if isinstance(source, bytes) else source.read_bytes()
    with guarded():
        return {
            name: {_letters_of(cell): _numbered(cell["value"]) for cell in cells}
            for name, cells in parsed(data, lambda name: True, data_only=True)
        }


def _numbered(value: object) -> object:
    from openpyxl.utils.datetime import to_excel

    return to_excel(value) if hasattr(value, "toordinal") else value  # type: ignore[no-untyped-call]


def plain(formula: str) -> str:
    """Return a formula without what programs write differently: blanks, dollars, quotes of names, case, prefixes.

    >>> plain("=A1=FALSE()")
    'A1=FALSE'
    >>> plain('=IF($A1 > 0, B2, "Two  words")'), plain("='Batch workings'!b2")
    ('IF(A1>0,B2,"Two  words")', 'BATCHWORKINGS!B2')
    """
    parts = _OUTSIDE_QUOTES.split(formula.removeprefix("=").removeprefix("of:="))
    for place in range(0, len(parts), 2):
        bare = re.sub(r"[\s$']|_xlfn\.", "", parts[place]).upper()
        parts[place] = re.sub(r"\b(TRUE|FALSE)\(\)", r"\1", bare)
    return "".join(parts)
