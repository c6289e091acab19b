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
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scaler.model.problems import Place, Problem, nearest

if TYPE_CHECKING:
    from openpyxl.reader.excel import ExcelReader

LARGEST_FILE = 20 * 2**20  # bytes on the disk; a workshop's own workbook is about 0.1 MB
LARGEST_UNPACKED = 64 * 2**20  # bytes of all parts together
LARGEST_RATIO = 200  # unpacked to packed; real sheets reach about 50
RATIO_FLOOR = 4 * 2**20  # below this many unpacked bytes no ratio can do harm
LARGEST_MARKUP = 4_000_000  # tags in all parts, about a million cells; what bounds the time that parsing takes
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384  # the grid of every spreadsheet program

_CHUNK = 2**20
_OLE_HEADER = bytes.fromhex("D0CF11E0A1B11AE1")  # .xls, and .xlsx with a password
_ENCRYPTED_PART = "EncryptedPackage".encode("utf-16-le")
_STRICT_NAMESPACE = b"http://purl.oclc.org/ooxml/spreadsheetml/main"
_DECLARATION = re.compile(rb"<!(?:DOCTYPE|ENTITY)")
_ESCAPED_CONTROL = re.compile(r"_x00([01][0-9A-Fa-f])_")  # how the format stores a control character in a text
_WORKBOOK = "an .xlsx workbook"
_SAVE_AS = "Open it in the spreadsheet program and save it as Excel Workbook (.xlsx)."


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


class _Refused(Exception):
    """Carries the reason a file cannot be read, up to the one place that makes a Problem of it."""

    def __init__(self, code: str, found: str, do: str, expected: str = _WORKBOOK) -> None:
        super().__init__(found)
        self.code, self.found, self.do, self.expected = code, found, do, expected

    def problem(self, file: str) -> Problem:
        """Return the problem that stands at this file."""
        return Problem(Place(file), self.code, self.found, self.expected, self.do)


def read_book(path: Path, wanted: Callable[[str], bool]) -> tuple[RawBook | None, list[Problem]]:
    """Return the wanted sheets of a workbook, or no book and the one problem that keeps it from being read.

    Args:
        path: the file.
        wanted: whether a sheet of this name, as written in the file, is to be read.
    """
    try:
        data = _content(path)
        _check_archive(data)
        return _parse(path.name, data, wanted), []
    except _Refused as refused:
        return None, [refused.problem(path.name)]


def _content(path: Path) -> bytes:
    """Return the bytes of the file, refusing what is surely no workbook.

    The file is read once and closed: what was checked is what is parsed, and no spreadsheet program is locked out.
    """
    _check_name(path)
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except OSError as error:
        found = f"a file that cannot be opened ({error.strerror or 'no reason given'})"
        do = "Close it in other programs, make sure it is on this computer and may be read, and run again."
        raise _Refused("file_unreadable", found, do) from error
    if len(data) > LARGEST_FILE:
        raise _too_big(f"a file of more than {LARGEST_FILE // 2**20} MB")
    _check_head(data)
    return data


def _check_name(path: Path) -> None:
    """Refuse what its name or its place on the disk tells to be no workbook."""
    lock = re.fullmatch(r"~\$(.+)|\.~lock\.(.+)#", path.name)
    if lock:
        do = f"Give {lock[1] or lock[2]} instead, and close it in the spreadsheet program first."
        raise _Refused("file_not_xlsx", "the mark that a spreadsheet program leaves beside an open workbook", do)
    try:
        if path.is_dir():
            raise _Refused("file_not_xlsx", "a folder", "Name the workbook inside it.")
        if path.is_file():
            return
        there = path.exists()
    except PermissionError:  # opening it says so
        return
    except (OSError, ValueError):  # a name no disk can hold
        there = False
    if there:
        raise _Refused("file_not_xlsx", "something that is not a file", "Give the path of a workbook.")
    do = "Check the name and the folder."
    raise _Refused("file_missing", "no such file", " ".join(part for part in (do, _near_file(path)) if part))


def _near_file(path: Path) -> str:
    """Return the sentence that offers the workbooks of nearly this name in the same folder."""
    beside: dict[str, str] = {}
    with suppress(OSError, ValueError):
        beside = {other.stem: other.name for other in sorted(path.parent.glob("*.xlsx")) if other.name[:2] != "~$"}
    # Compared without the ending that all of them share, which would make any two names alike.
    near = [beside[stem] for stem in nearest(path.stem, beside)]
    return f"Did you mean {' or '.join(near)}?" if near else ""


def _check_head(data: bytes) -> None:
    """Refuse what the first bytes show to be something other than a zip archive, the wrapping of an .xlsx."""
    if not data:
        raise _Refused("file_not_xlsx", "an empty file", "Save the workbook again, or copy it again.")
    if data.startswith(_OLE_HEADER):
        if _ENCRYPTED_PART in data:
            raise _encrypted()
        raise _Refused("file_not_xlsx", "a workbook in the old .xls format", _SAVE_AS)
    if not data.startswith(b"PK"):
        raise _Refused("file_not_xlsx", "a file that is not a workbook inside, whatever its name says", _SAVE_AS)


def _encrypted() -> _Refused:
    return _Refused("file_encrypted", "a workbook with a password", "Save a copy without the password and give that.")


def _too_big(found: str) -> _Refused:
    do = "Delete unused sheets, pictures and cell formats, or copy the sheets into a new workbook."
    return _Refused("file_too_big", found, do, "a workbook of ordinary size")


def _broken(found: str) -> _Refused:
    do = "Open it in the spreadsheet program, save it again as .xlsx, and if it does not open there copy it again."
    return _Refused("file_unreadable", found, do, "a whole .xlsx workbook")


def _check_archive(data: bytes) -> None:
    """Refuse an archive that is broken, too big, unsafe, or not an .xlsx workbook."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            _check_size(parts, len(data))
            _check_kind({part.filename.replace("\\", "/").lower() for part in parts})
            markup = 0
            for part in parts:
                markup += _check_part(archive, part)
                if markup > LARGEST_MARKUP:
                    raise _too_big("a file with a million cells or more")
    except _Refused:
        raise
    except Exception as error:  # zipfile raises a dozen kinds of error for a damaged archive
        raise _broken("a damaged or incomplete file") from error


def _check_size(parts: list[zipfile.ZipInfo], packed: int) -> None:
    """Refuse an archive that says it unpacks to more than a workbook ever needs, or has a password."""
    unpacked = sum(part.file_size for part in parts)
    if unpacked > LARGEST_UNPACKED:
        raise _too_big(f"a file that unpacks to {unpacked / 2**20:.0f} MB")
    if unpacked > RATIO_FLOOR and unpacked > LARGEST_RATIO * packed:
        raise _too_big(f"a file that unpacks to {unpacked / packed:.0f} times its size")
    if any(part.flag_bits & 1 for part in parts):
        raise _encrypted()


def _check_kind(names: set[str]) -> None:
    """Refuse an archive that is another kind of document, or a workbook with macros."""
    if any(name.endswith("vbaproject.bin") for name in names):
        raise _Refused("file_unsafe", "a workbook with macros", _SAVE_AS, "an .xlsx workbook without macros")
    if "[content_types].xml" not in names:
        kind = "an OpenDocument file" if "mimetype" in names else "a zip archive that is not a workbook"
        raise _Refused("file_not_xlsx", kind, _SAVE_AS)
    if "xl/workbook.bin" in names:
        raise _Refused("file_not_xlsx", "a workbook in the binary .xlsb format", _SAVE_AS)
    if not any(name.startswith("xl/") and name.endswith(".xml") for name in names):
        raise _Refused("file_not_xlsx", "an Office document that is not an .xlsx workbook", _SAVE_AS)


def _check_part(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> int:
    """Return how many tags a part holds; refuse one that declares a document type or is in the Strict dialect.

    No spreadsheet program writes a declaration, and it is where entity attacks begin. A cell's text cannot trip this:
    `<` is stored escaped. Pictures are not looked into, since an .svg may have one and is never parsed. The whole part
    is read, in pieces, so that one whose header lies about its size shows up by its checksum before it is parsed.
    """
    picture = part.filename.lower().startswith("xl/media/")
    markup, tail = 0, b""
    with archive.open(part) as stream:
        for number, chunk in enumerate(iter(lambda: stream.read(_CHUNK), b"")):
            text = tail + chunk.replace(b"\0", b"")  # a part in UTF-16 reads the same without its zeros
            if not picture and _DECLARATION.search(text):
                do = "Copy the cells into a new workbook and give that."
                raise _Refused("file_unsafe", "a declaration that no spreadsheet program writes", do)
            if number == 0 and part.filename.endswith("workbook.xml") and _STRICT_NAMESPACE in text[:2000]:
                raise _Refused("file_not_xlsx", "a workbook in the format Strict Open XML", _SAVE_AS)
            markup += 0 if picture else chunk.count(b"<")
            tail = text[-16:]
    return markup


def _parse(file: str, data: bytes, wanted: Callable[[str], bool]) -> RawBook:
    """Return the book of a checked archive."""
    with _guarded():
        reader = _opened(data)
        names, listed = tuple(str(sheet.name) for sheet, _ in reader.parser.find_sheets()), _worksheets(reader)
    if not names:
        raise _broken("a workbook without sheets")
    with _guarded():
        chosen = tuple(
            RawSheet(file, name, _filled(reader, part), _merged(reader.archive.read(part)))
            for name, part in listed
            if wanted(name)
        )
        others = () if _ours(reader.archive) else ((name, part) for name, part in listed if not wanted(name))
        own = tuple(name for name, part in others if _HOLDS.search(reader.archive.read(part)))
        return RawBook(file, chosen, names, own)


_HOLDS = re.compile(rb"<(?:\w+:)?(?:v|is|f)[ >/]")
_MERGED = re.compile(rb'<(?:\w+:)?mergeCell [^>]*ref="([A-Z0-9:]+)"')
_MARK = b">scaler</vt:lpwstr>"
"""How a workbook that scaler wrote says so, in its custom properties."""


def _ours(archive: zipfile.ZipFile) -> bool:
    return "docProps/custom.xml" in archive.namelist() and _MARK in archive.read("docProps/custom.xml")


def _merged(part: bytes) -> tuple[str, ...]:
    return tuple(span.decode() for span in _MERGED.findall(part))


def _filled(reader: ExcelReader, part: str) -> dict[tuple[int, int], RawCell]:
    """Return the filled cells of a sheet by address."""
    number_format = _formats(reader.wb)
    found = ((cell, _raw(cell, number_format)) for cell in _cells(reader, part))
    return {_address(cell): raw for cell, raw in found if raw is not None}


@contextmanager
def _guarded() -> Iterator[None]:
    """Turn whatever openpyxl raises into a refusal, and keep its warnings about features we do not read to itself."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except Exception as error:  # a broken part makes openpyxl stumble in any way: AttributeError, KeyError, ParseError
        raise _broken("a file whose contents cannot be made out") from error


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
        """Marks an uncached formula with the data type of a formula, in the same pass over the sheet."""

        def parse_cell(self, element: Any) -> dict[str, Any]:
            cell: dict[str, Any] = super().parse_cell(element)
            if cell["value"] is None and element.find(FORMULA_TAG) is not None:
                # An empty text that a formula gave is stored as the type "str" and an empty value: that one is blank.
                empty_text = element.get("t") == "str" and element.find(VALUE_TAG) is not None
                cell["data_type"] = "s" if empty_text else "f"
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
