"""What comes out of a workbook file, and how every bad file is turned away."""

from __future__ import annotations

import os
import time as clock
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter  # type: ignore[import-untyped]
from openpyxl.utils import get_column_letter

from scaler.model.problems import Place, say
from scaler.read import archive as archive_module
from scaler.read.files import ErrorValue, RawBook, RawCell, read_book

SHEET = "xl/worksheets/sheet1.xml"
AGAIN = "Open it in the spreadsheet program, save it again as .xlsx, and if it does not open there copy it again."
SAVE_AS = "Open it in the spreadsheet program and save it as Excel Workbook (.xlsx)."


def every(_name: str) -> bool:
    """Want every sheet."""
    return True


def book_of(path: Path, wanted: Callable[[str], bool] = every) -> RawBook:
    """Return the book of a file that must be readable."""
    book, problems = read_book(path, wanted)
    assert problems == []
    assert book is not None
    return book


def reads_as(path: Path, cells: dict[str, object]) -> None:
    """Hold the first sheet's filled cells to the values beside their addresses, types included."""
    found = {name(*address): cell.value for address, cell in book_of(path).sheets[0].cells.items()}
    assert found == cells
    assert {address: type(value) for address, value in found.items()} == {
        address: type(value) for address, value in cells.items()
    }


def refuses(path: Path, code: str, message: str) -> None:
    """Hold the file's one problem to its code and to the whole message a maker reads."""
    book, problems = read_book(path, every)
    assert book is None
    assert [(problem.code, say(problem)) for problem in problems] == [(code, message)]
    assert problems[0].place == Place(path.name)


def name(row: int, column: int) -> str:
    """Return the address of a cell as a maker reads it."""
    return f"{get_column_letter(column)}{row}"


def plain(path: Path, *rows: list[object]) -> Path:
    """Write a workbook of one sheet with these rows."""
    book = openpyxl.Workbook()
    for row in rows or ([1],):
        book.active.append(row)  # type: ignore[union-attr]
    book.save(path)
    return path


def changed(path: Path, parts: dict[str, Callable[[bytes], bytes] | bytes]) -> Path:
    """Rewrite a workbook with some parts replaced, changed or added."""
    with zipfile.ZipFile(path) as archive:
        contents = {part: archive.read(part) for part in archive.namelist()}
    for part, change in parts.items():
        contents[part] = change if isinstance(change, bytes) else change(contents[part])
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for part, content in contents.items():
            archive.writestr(part, content)
    return path


def with_rows(path: Path, xml: str) -> Path:
    """Write a workbook whose one sheet holds these rows, as they are stored."""
    start = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
    return changed(plain(path), {SHEET: f"{start}{xml}</sheetData></worksheet>".encode()})


def test_values_keep_their_kind(tmp_path: Path) -> None:
    """Texts, numbers, dates, times and truth values come out as what they are, and blanks not at all."""
    values: list[object] = ["oil", 5, 2.5, True, datetime(2026, 4, 3), time(12, 30), None, timedelta(hours=30), "x"]
    plain(tmp_path / "a.xlsx", values)
    cells = {f"{letter}1": value for letter, value in zip("ABCDEFGHI", values, strict=True) if value is not None}
    reads_as(tmp_path / "a.xlsx", cells)


def test_text_is_kept_raw(tmp_path: Path) -> None:
    """Spaces, odd spaces, composed accents and texts that look like numbers are handed on as typed."""
    texts = ["  Olive\u00a0 oil ", "12,5", "e\u0301", "NA", "None", " ", "=1+1", "007"]
    with xlsxwriter.Workbook(tmp_path / "a.xlsx") as book:
        sheet = book.add_worksheet()
        for column, text in enumerate(texts):
            sheet.write_string(0, column, text)
    reads_as(tmp_path / "a.xlsx", {name(1, column): text for column, text in enumerate(texts, 1)})


def test_stored_control_characters_are_characters(tmp_path: Path) -> None:
    """A line end that the format stores as _x000D_ is that character; other underscores are text."""
    text = "<is><t>a_x000D_b _x41_ _x0041_</t></is>"
    with_rows(tmp_path / "a.xlsx", f'<row><c t="inlineStr">{text}</c></row>')
    reads_as(tmp_path / "a.xlsx", {"A1": "a\rb _x41_ _x0041_"})


def test_error_is_told_from_a_text_that_looks_like_one(tmp_path: Path) -> None:
    """A cell that shows an error is an ErrorValue; the same text typed as a text stays a text."""
    with xlsxwriter.Workbook(tmp_path / "a.xlsx") as book:
        sheet = book.add_worksheet()
        sheet.write_string(0, 0, "#N/A")
        sheet.write_formula(0, 1, "=NA()", None, "#N/A")
    plain(tmp_path / "b.xlsx", ["#REF!"])
    reads_as(tmp_path / "a.xlsx", {"A1": "#N/A", "B1": ErrorValue("#N/A")})
    reads_as(tmp_path / "b.xlsx", {"A1": ErrorValue("#REF!")})


def test_formula_is_its_stored_value(tmp_path: Path) -> None:
    """A formula reads as the value stored with it, and as a blank when that is an empty text."""
    rows = (
        '<row r="1"><c r="A1"><f>1+1</f><v>2</v></c><c r="B1" t="str"><f>"a"</f><v>a</v></c>'
        '<c r="C1" t="str"><f>""</f><v></v></c><c r="D1" t="b"><f>TRUE()</f><v>1</v></c>'
        '<c r="E1"><f>0</f><v>0</v></c><c r="F1" t="str"><f>"#N/A"</f><v>#N/A</v></c></row>'
    )
    with_rows(tmp_path / "a.xlsx", rows)
    reads_as(tmp_path / "a.xlsx", {"A1": 2, "B1": "a", "D1": True, "E1": 0, "F1": "#N/A"})


def test_formula_without_a_stored_value_is_told_from_a_blank(tmp_path: Path) -> None:
    """A formula whose value was never stored is marked, however the program left it out, and keeps its format."""
    rows = (
        '<row r="1"><c r="A1"><f>1+1</f></c><c r="B1"><f>1+1</f><v></v></c><c r="C1"/><c r="D1"><v/></c>'
        '<c r="E1" t="str"><f>"a"</f></c><c r="F1"><f t="shared" si="0"/></c></row>'
    )
    cells = book_of(with_rows(tmp_path / "a.xlsx", rows)).sheets[0].cells
    assert cells == {(1, column): RawCell(None, "General", uncached=True) for column in (1, 2, 5, 6)}
    plain(tmp_path / "b.xlsx", ["=A2*2", 1])
    assert [cell.uncached for cell in book_of(tmp_path / "b.xlsx").sheets[0].cells.values()] == [True, False]


def test_number_format_comes_along(tmp_path: Path) -> None:
    """Built-in and own number formats are handed on beside the value, "General" when there is none."""
    formats = ["0%", "0.00%", '0.00" kg"', "General"]
    with xlsxwriter.Workbook(tmp_path / "a.xlsx") as book:
        sheet = book.add_worksheet()
        for column, code in enumerate(formats):
            sheet.write_number(0, column, 0.05, book.add_format({"num_format": code}))
        sheet.write_string(0, 4, "no format")
    cells = book_of(tmp_path / "a.xlsx").sheets[0].cells
    assert [cell.number_format for cell in cells.values()] == [*formats, "General"]


def test_dates_of_both_calendars_are_the_same_days(tmp_path: Path) -> None:
    """A workbook that counts days from 1904 gives the days its maker sees."""
    for since_1904 in (False, True):
        path = tmp_path / f"{since_1904}.xlsx"
        with xlsxwriter.Workbook(path, {"date_1904": since_1904}) as book:
            day = book.add_format({"num_format": "yyyy-mm-dd"})
            book.add_worksheet().write_datetime(0, 0, date(2026, 4, 3), day)
        reads_as(path, {"A1": datetime(2026, 4, 3)})


def test_number_beyond_all_dates_is_a_number(tmp_path: Path) -> None:
    """A number no calendar holds, in a date cell, reads as the number that was typed, not as an error of a formula."""
    with xlsxwriter.Workbook(tmp_path / "a.xlsx") as book:
        book.add_worksheet().write_number(0, 0, 1e9, book.add_format({"num_format": "yyyy-mm-dd"}))
    reads_as(tmp_path / "a.xlsx", {"A1": 1e9})


def test_only_wanted_sheets_are_parsed(tmp_path: Path) -> None:
    """Every sheet's name is known, hidden ones too; one that is not wanted may even be broken."""
    book = openpyxl.Workbook()
    for title in ("Prices", " prices 2 ", "Notes"):
        sheet = book.create_sheet(title)
        sheet.append([title])
        sheet.sheet_state = "hidden"
    book.save(tmp_path / "a.xlsx")
    changed(tmp_path / "a.xlsx", {SHEET: b"<broken"})
    read = book_of(tmp_path / "a.xlsx", lambda title: "rices" in title)
    assert read.names == ("Sheet", "Prices", " prices 2 ", "Notes")
    assert [(sheet.file, sheet.name, sheet.cells[1, 1].value) for sheet in read.sheets] == [
        ("a.xlsx", "Prices", "Prices"),
        ("a.xlsx", " prices 2 ", " prices 2 "),
    ]


def test_fault_of_the_caller_is_not_blamed_on_the_file(tmp_path: Path) -> None:
    """An exception of the given function comes through."""
    plain(tmp_path / "a.xlsx")
    with pytest.raises(ZeroDivisionError):
        read_book(tmp_path / "a.xlsx", lambda title: bool(1 / 0))


def test_chart_sheet_has_a_name_and_no_cells(tmp_path: Path) -> None:
    """A sheet that is only a chart, even an empty one, is named and passed over."""
    for filled in (True, False):
        path = tmp_path / f"{filled}.xlsx"
        with xlsxwriter.Workbook(path) as book:
            book.add_worksheet("Data").write_number(0, 0, 7)
            chart = book.add_chart({"type": "column"})
            chart.add_series({"values": "=Data!$A$1:$A$1"})
            book.add_chartsheet("Picture").set_chart(chart)
        if not filled:
            bare = b'<chartsheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"/>'
            changed(path, {"xl/chartsheets/sheet1.xml": bare, "xl/chartsheets/_rels/sheet1.xml.rels": b""})
        read = book_of(path)
        assert read.names == ("Data", "Picture")
        assert [sheet.name for sheet in read.sheets] == ["Data"]


def test_far_cells_cost_no_more_than_near_ones(tmp_path: Path) -> None:
    """Cells at the far edges are read at once: gaps between cells take neither time nor memory."""
    far = "".join(f'<row r="{row}"><c r="XFD{row}"><v>1</v></c></row>' for row in range(1, 1_048_577, 200))
    with_rows(tmp_path / "a.xlsx", f'{far}<row r="1048576"><c r="XFD1048576"><v>5</v></c></row>')
    start = clock.perf_counter()
    cells = book_of(tmp_path / "a.xlsx").sheets[0].cells
    assert clock.perf_counter() - start < 3  # 0.1 s; filling the gaps takes tens of seconds
    assert len(cells) == 5244
    assert cells[1_048_576, 16_384].value == 5


def test_stated_size_of_a_sheet_is_not_believed(tmp_path: Path) -> None:
    """Cells outside the range that the sheet claims to fill are read."""
    claim = b'<dimension ref="A1"/><sheetData>'
    plain(tmp_path / "a.xlsx", [1, 2], [3])
    changed(tmp_path / "a.xlsx", {SHEET: lambda xml: xml.replace(b"<sheetData>", claim)})
    reads_as(tmp_path / "a.xlsx", {"A1": 1, "B1": 2, "A2": 3})


def test_cells_without_addresses_are_counted(tmp_path: Path) -> None:
    """Rows and cells that state no address follow one another."""
    with_rows(tmp_path / "a.xlsx", "<row><c><v>1</v></c><c/><c><v>2</v></c></row><row><c><v>3</v></c></row>")
    reads_as(tmp_path / "a.xlsx", {"A1": 1, "C1": 2, "A2": 3})


def test_faults_beside_the_cells_do_not_matter(tmp_path: Path) -> None:
    """Broken properties, links, filters and validations, at which openpyxl gives up, leave the cells readable."""
    to = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    link = b'<externalReferences><externalReference xmlns:r="' + to + b'" r:id="rId99"/></externalReferences>'
    wrong = b"</sheetData><autoFilter ref='nowhere'/><dataValidations><dataValidation type='none'/></dataValidations>"
    parts: dict[str, Callable[[bytes], bytes] | bytes] = {
        "docProps/core.xml": b"<broken",
        "xl/workbook.xml": lambda xml: xml.replace(b"</sheets>", b"</sheets>" + link),
        SHEET: lambda xml: xml.replace(b"</sheetData>", wrong),
    }
    changed(plain(tmp_path / "a.xlsx", [7]), parts)
    reads_as(tmp_path / "a.xlsx", {"A1": 7})


def test_name_of_the_file_is_not_looked_at(tmp_path: Path) -> None:
    """A sound workbook is read whatever its file is called, and shown under its base name."""
    plain(tmp_path / "prices, old.backup", [7])
    assert book_of(tmp_path / "prices, old.backup").file == "prices, old.backup"


def test_text_about_declarations_is_only_text(tmp_path: Path) -> None:
    """A cell, or a picture, that holds a document type is no danger."""
    plain(tmp_path / "a.xlsx", ["<!DOCTYPE html> <!ENTITY a>"])
    changed(tmp_path / "a.xlsx", {"xl/media/image1.svg": b"<!DOCTYPE svg><svg/>"})
    reads_as(tmp_path / "a.xlsx", {"A1": "<!DOCTYPE html> <!ENTITY a>"})


def test_small_archive_may_be_packed_tightly(tmp_path: Path) -> None:
    """Four megabytes are harmless however tightly they are packed."""
    changed(plain(tmp_path / "a.xlsx", [7]), {"xl/media/image1.bmp": bytes(3 * 2**20)})
    assert 200 * (tmp_path / "a.xlsx").stat().st_size < 3 * 2**20
    reads_as(tmp_path / "a.xlsx", {"A1": 7})


def test_missing_file_is_refused(tmp_path: Path) -> None:
    """A path with nothing there is refused, with the workbooks beside it of nearly that name."""
    do = "Check the name and the folder."
    refuses(tmp_path / "oil.xlsx", "file_missing", f"oil.xlsx: There is no such file. {do}")
    for other in ("oils.xlsx", "~$oils.xlsx", "moulds.xlsx"):
        plain(tmp_path / other)
    message = f"oil.xlsx: There is no such file. {do} Did you mean oils.xlsx?"
    refuses(tmp_path / "oil.xlsx", "file_missing", message)


def test_name_that_no_disk_holds_is_a_missing_file(tmp_path: Path) -> None:
    """A name too long for the disk, or with a character it cannot hold, is no crash."""
    for bad in ("a" * 300, "a\0b"):
        message = f"{bad}: There is no such file. Check the name and the folder."
        refuses(tmp_path / bad, "file_missing", message)


def test_what_is_not_a_file_is_refused(tmp_path: Path) -> None:
    """A folder is refused even when it is called .xlsx, and so is anything that could be read forever."""
    (tmp_path / "a.xlsx").mkdir()
    message = "a.xlsx: This is a folder. Name the workbook inside it."
    refuses(tmp_path / "a.xlsx", "file_not_xlsx", message)
    if Path("/dev/zero").exists():
        message = "zero: This is not a file. Give the path of a workbook."
        refuses(Path("/dev/zero"), "file_not_xlsx", message)


@pytest.mark.parametrize("lock", ["~$oils.xlsx", ".~lock.oils.xlsx#"])
def test_lock_file_is_refused(tmp_path: Path, lock: str) -> None:
    """The mark beside an open workbook is refused with the name of that workbook."""
    plain(tmp_path / lock)
    message = (
        f"{lock}: This is the mark that a spreadsheet program leaves beside an open workbook. "
        "Give oils.xlsx instead, and close it in the spreadsheet program first."
    )
    refuses(tmp_path / lock, "file_not_xlsx", message)


def test_file_that_cannot_be_opened_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that the system does not hand out is refused with the system's reason."""
    plain(tmp_path / "a.xlsx")

    def denied(*_args: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", denied)
    monkeypatch.setattr(Path, "is_dir", denied)  # as in a folder that is closed to us
    message = (
        "a.xlsx: The file cannot be opened: Permission denied. Close it in "
        "other programs, make sure it is on this computer and may be read, and run again."
    )
    refuses(tmp_path / "a.xlsx", "file_unreadable", message)


OLE = bytes.fromhex("D0CF11E0A1B11AE1")


@pytest.mark.parametrize(
    ("content", "code", "found", "do"),
    [
        (b"", "file_not_xlsx", "an empty file", "Save the workbook again, or copy it again."),
        (b"a,b\n1,2\n", "file_not_xlsx", "a file that is not a workbook inside, whatever its name says", SAVE_AS),
        (OLE + bytes(512), "file_not_xlsx", "a workbook in the old .xls format", SAVE_AS),
        (
            OLE + bytes(512) + "EncryptedPackage".encode("utf-16-le"),
            "file_encrypted",
            "a workbook with a password",
            "Save a copy without the password and give that.",
        ),
    ],
    ids=["empty", "csv", "xls", "password"],
)
def test_other_kinds_of_file_are_refused(tmp_path: Path, content: bytes, code: str, found: str, do: str) -> None:
    """What the first bytes show to be no zip archive is refused by what it is."""
    (tmp_path / "a.xlsx").write_bytes(content)
    refuses(tmp_path / "a.xlsx", code, f"a.xlsx: This is {found}. {do}")


@pytest.mark.parametrize(
    ("parts", "found"),
    [
        (["photo.jpg"], "a zip archive that is not a workbook"),
        (["mimetype", "content.xml"], "an OpenDocument file"),
        (["[Content_Types].xml", "word/document.xml"], "an Office document that is not an .xlsx workbook"),
        (["[Content_Types].xml", "xl/workbook.bin", "xl/theme.xml"], "a workbook in the binary .xlsb format"),
    ],
    ids=["zip", "ods", "docx", "xlsb"],
)
def test_other_kinds_of_archive_are_refused(tmp_path: Path, parts: list[str], found: str) -> None:
    """A zip archive with another document in it is refused by what it is."""
    with zipfile.ZipFile(tmp_path / "a.xlsx", "w") as archive:
        for part in parts:
            archive.writestr(part, "x")
    refuses(tmp_path / "a.xlsx", "file_not_xlsx", f"a.xlsx: This is {found}. {SAVE_AS}")


def test_workbook_with_macros_is_refused(tmp_path: Path) -> None:
    """A workbook that carries a program is refused, whatever its name."""
    changed(plain(tmp_path / "a.xlsx"), {"xl/vbaProject.bin": b"x"})
    message = f"a.xlsx: This is a workbook with macros. {SAVE_AS}"
    refuses(tmp_path / "a.xlsx", "file_unsafe", message)


def test_strict_dialect_is_refused(tmp_path: Path) -> None:
    """A workbook in the format's Strict dialect is refused, since its parts go by other names."""

    def strict(xml: bytes) -> bytes:
        return xml.replace(
            b"http://schemas.openxmlformats.org/spreadsheetml/2006/main",
            b"http://purl.oclc.org/ooxml/spreadsheetml/main",
        )

    changed(plain(tmp_path / "a.xlsx"), {"xl/workbook.xml": strict, SHEET: strict})
    message = f"a.xlsx: This is a workbook in the format Strict Open XML. {SAVE_AS}"
    refuses(tmp_path / "a.xlsx", "file_not_xlsx", message)


LAUGHS = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]>'


@pytest.mark.parametrize(
    ("part", "content"),
    [
        (SHEET, LAUGHS + b"<worksheet/>"),
        ("xl/sharedStrings.xml", LAUGHS + b"<sst/>"),
        ("docProps/core.xml", b'<!DOCTYPE x SYSTEM "file:///dev/null"><x/>'),
        ("xl/_rels/workbook.xml.rels", b'<!ENTITY a "b">'),
        (SHEET, ("\ufeff" + LAUGHS.decode()).encode("utf-16-le")),
        (SHEET, b"<!--" + b" " * (2**20 - 12) + b"--><!DOCTYPE x><worksheet/>"),
    ],
    ids=["sheet", "strings", "properties", "links", "utf-16", "across two chunks"],
)
def test_declarations_are_refused(tmp_path: Path, part: str, content: bytes) -> None:
    """A document type or an entity in any part is refused before anything is parsed."""
    changed(plain(tmp_path / "a.xlsx"), {part: content})
    message = (
        "a.xlsx: The file holds a declaration that no spreadsheet program writes. "
        "Copy the cells into a new workbook and give that."
    )
    refuses(tmp_path / "a.xlsx", "file_unsafe", message)


SMALLER = "Delete unused sheets, pictures and cell formats, or copy the sheets into a new workbook."


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """Set the limits low, so that a test need not write a file of a hundred megabytes."""
    monkeypatch.setattr(archive_module, "LARGEST_FILE", 20 * 2**20)
    monkeypatch.setattr(archive_module, "LARGEST_UNPACKED", 64 * 2**20)


@pytest.mark.usefixtures("small")
def test_too_big_file_is_refused(tmp_path: Path) -> None:
    """A file of more than the largest size is refused without being looked into."""
    (tmp_path / "a.xlsx").write_bytes(b"PK" + bytes(20 * 2**20 - 1))
    message = f"a.xlsx: This is a file of more than 20 MB. {SMALLER}"
    refuses(tmp_path / "a.xlsx", "file_too_big", message)


@pytest.mark.usefixtures("small")
def test_file_of_the_largest_size_is_looked_into(tmp_path: Path) -> None:
    """A file of exactly the largest size is not too big."""
    path = plain(tmp_path / "a.xlsx", [7])
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr("xl/media/image1.png", os.urandom(20 * 2**20 - 2000 - path.stat().st_size))
        archive.comment = b"x"
    missing = 20 * 2**20 - path.stat().st_size
    with zipfile.ZipFile(path, "a") as archive:
        archive.comment = b"x" * (missing + 1)
    assert path.stat().st_size == 20 * 2**20
    reads_as(path, {"A1": 7})


@pytest.mark.parametrize(
    ("unpacked", "found"),
    [(65, "a file that unpacks to 65 MB"), (10, "a file that unpacks to TIMES times its size")],
    ids=["size", "ratio"],
)
@pytest.mark.usefixtures("small")
def test_file_that_unpacks_to_too_much_is_refused(tmp_path: Path, unpacked: int, found: str) -> None:
    """An archive that swells beyond the limit, or more than 200 times, is refused before it is unpacked."""
    changed(plain(tmp_path / "a.xlsx"), {"xl/media/image1.bmp": bytes(unpacked * 2**20)})
    with zipfile.ZipFile(tmp_path / "a.xlsx") as archive:
        total = sum(part.file_size for part in archive.infolist())
    found = found.replace("TIMES", f"{total / (tmp_path / 'a.xlsx').stat().st_size:.0f}")
    message = f"a.xlsx: This is {found}. {SMALLER}"
    refuses(tmp_path / "a.xlsx", "file_too_big", message)


def test_file_with_too_many_cells_is_refused(tmp_path: Path) -> None:
    """A small file that would keep the parser busy for a minute is refused; a quarter of a million cells are read."""
    with_rows(tmp_path / "b.xlsx", "<row>" + "<c/>" * 9 + "</row>" + ("<row>" + "<c/>" * 249 + "</row>") * 1000)
    reads_as(tmp_path / "b.xlsx", {})
    noise = f"<!--{os.urandom(100_000).hex()}-->"
    with_rows(tmp_path / "a.xlsx", noise + ("<row>" + "<c/>" * 998 + "</row>") * 4000)
    message = f"a.xlsx: This is a file with a million cells or more. {SMALLER}"
    refuses(tmp_path / "a.xlsx", "file_too_big", message)


def broken(found: str) -> str:
    """Return the message for a broken a.xlsx."""
    return f"a.xlsx: This is {found}. {AGAIN}"


def test_archive_that_lies_about_its_sizes_is_refused(tmp_path: Path) -> None:
    """A part that is larger than its header says is found out while it is checked, not while it is parsed."""
    plain(tmp_path / "a.xlsx")
    with zipfile.ZipFile(tmp_path / "a.xlsx", "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/bomb.xml", bytes(100 * 2**20))
        archive.getinfo("xl/bomb.xml").file_size = 10
    refuses(tmp_path / "a.xlsx", "file_unreadable", broken("a damaged or incomplete file"))


def test_archive_with_a_password_is_refused(tmp_path: Path) -> None:
    """A zip archive whose parts are encrypted is refused as a workbook with a password."""
    plain(tmp_path / "a.xlsx")
    with zipfile.ZipFile(tmp_path / "a.xlsx", "a") as archive:
        archive.writestr("more.xml", b"x")
        archive.getinfo("more.xml").flag_bits |= 1
    message = "a.xlsx: This is a workbook with a password. Save a copy without the password and give that."
    refuses(tmp_path / "a.xlsx", "file_encrypted", message)


def test_damaged_archive_is_refused_wherever_it_is_cut(tmp_path: Path) -> None:
    """A workbook cut short at any place, or with a byte changed inside a part, is refused."""
    whole = plain(tmp_path / "b.xlsx", ["a", 1]).read_bytes()
    for cut in range(2, len(whole), 97):
        (tmp_path / "a.xlsx").write_bytes(whole[:cut])
        refuses(tmp_path / "a.xlsx", "file_unreadable", broken("a damaged or incomplete file"))
    with zipfile.ZipFile(tmp_path / "b.xlsx") as archive:
        inside = archive.getinfo(SHEET).header_offset + 80
    (tmp_path / "a.xlsx").write_bytes(whole[:inside] + bytes([whole[inside] ^ 255]) + whole[inside + 1 :])
    refuses(tmp_path / "a.xlsx", "file_unreadable", broken("a damaged or incomplete file"))


@pytest.mark.parametrize(
    "parts",
    [
        {SHEET: b"<worksheet><sheetData>"},
        {"xl/workbook.xml": b"not xml"},
        {"xl/_rels/workbook.xml.rels": b'<Relationships xmlns="x"/>'},
        {"[Content_Types].xml": b"<Types/>"},
        {"xl/styles.xml": b"<styleSheet><"},
    ],
    ids=["sheet", "workbook", "links", "types", "styles"],
)
def test_workbook_with_a_broken_part_is_refused(tmp_path: Path, parts: dict[str, bytes]) -> None:
    """Whatever openpyxl stumbles over becomes one problem in plain words."""
    changed(plain(tmp_path / "a.xlsx"), dict(parts))
    refuses(tmp_path / "a.xlsx", "file_unreadable", broken("a file whose contents cannot be made out"))


@pytest.mark.parametrize(
    "cell",
    [
        '<c r="A0"><v>1</v></c>',
        '<c r="XFE1"><v>1</v></c>',
        '<c r="A1048577"><v>1</v></c>',
        '<c r="1"><v>1</v></c>',
        '<c r="A1"><v>nan</v></c>',
        '<c r="A1" t="s"><v>99</v></c>',
        '<c r="A1" s="99"><v>1</v></c>',
    ],
)
def test_cell_that_no_program_writes_is_refused(tmp_path: Path, cell: str) -> None:
    """A cell outside the grid, or that points to a text or style that is not there, means a broken file."""
    with_rows(tmp_path / "a.xlsx", f"<row>{cell}</row>")
    refuses(tmp_path / "a.xlsx", "file_unreadable", broken("a file whose contents cannot be made out"))


def test_workbook_without_sheets_is_refused(tmp_path: Path) -> None:
    """A workbook that lists no sheet at all is refused."""
    empty = b'<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheets/></workbook>'
    changed(plain(tmp_path / "a.xlsx"), {"xl/workbook.xml": empty})
    refuses(tmp_path / "a.xlsx", "file_unreadable", broken("a workbook without sheets"))


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="open files are listed here only")
def test_file_is_closed_after_reading(tmp_path: Path) -> None:
    """Neither a read nor a refused file stays open, so the maker can save it."""
    plain(tmp_path / "a.xlsx")
    changed(plain(tmp_path / "b.xlsx"), {SHEET: b"<"})
    kept = [read_book(tmp_path / file, every) for file in ("a.xlsx", "b.xlsx")]
    links = [Path("/proc/self/fd", number) for number in os.listdir("/proc/self/fd")]
    opened = {os.readlink(link) for link in links if link.is_symlink()}
    assert len(kept) == 2
    assert not opened & {str(tmp_path / "a.xlsx"), str(tmp_path / "b.xlsx")}
