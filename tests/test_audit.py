"""Every finished workbook passes what auditors of spreadsheets check, and opens everywhere with the same values."""

from __future__ import annotations

import math
import re
import zipfile
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import audit
import openpyxl
import pandas
import pytest
import python_calamine
from openpyxl.utils import get_column_letter
from openxml_audit import FileFormat, OpenXmlValidator
from recalculation import IronCalc, plain, same, through_libreoffice
from workbooks import Whole, demo, demo_workbook, runs, workbooks

from scaler.write.finished import finished

GENERATED = 6


@pytest.mark.parametrize("rule", audit.RULES, ids=lambda rule: rule.__name__)
def test_demo_passes(rule: audit.Rule) -> None:
    """The demo's finished workbook breaks no rule."""
    assert list(rule(demo_workbook())) == []


def test_any_workbook_passes() -> None:
    """The finished workbook of any workshop breaks no rule."""
    faults = [(rule.__name__, fault) for book in workbooks(GENERATED) for rule in audit.RULES for fault in rule(book)]
    assert faults == []


# --- each rule finds what it is for ---


def _put(sheet: str, cell: str, value: object) -> Callable[[Any], None]:
    def plant(book: Any) -> None:
        book[sheet][cell] = value

    return plant


def _set(path: str, value: object) -> Callable[[Any], None]:
    """Return a plant that sets an attribute: Sheet.attribute.attribute."""

    def plant(book: Any) -> None:
        sheet, *names, last = path.split(".")
        held = book[sheet]
        for name in names:
            held = getattr(held, name)
        setattr(held, last, value)

    return plant


def _open_cell(book: Any) -> None:
    book["Overview"]["D2"].protection = openpyxl.styles.Protection(locked=False)


def _lock_input(book: Any) -> None:
    book["Prices"]["D4"].protection = openpyxl.styles.Protection(locked=True)


def _link(book: Any) -> None:
    book["Overview"]["A1"].hyperlink = "https://example.org"


def _circle(book: Any) -> None:
    book["Batch workings"]["A4"] = "=Overview!D2"


PLANTS: dict[str, tuple[audit.Rule, Callable[[Any], None]]] = {
    "a number among formulas": (audit.one_pattern_a_column, _put("Batch workings", "C5", 5)),
    "another formula in a column": (audit.one_pattern_a_column, _put("Batch workings", "C5", "=$A5+1")),
    "another row's value": (audit.one_pattern_a_result, _put("Overview", "D3", "='Batch workings'!$D4")),
    "a number typed into a result": (audit.one_pattern_a_result, _put("Costing", "E5", 3.5)),
    "a factor in a formula": (audit.no_typed_numbers, _put("Overview", "D3", "='Batch workings'!$D4*1.2")),
    "a power of ten": (audit.no_typed_numbers, _put("Overview", "D3", "=1E+99*A1")),
    "a whole number": (audit.no_typed_numbers, _put("Overview", "D3", "=IF(A1>1,12,0)")),
    "a rounded number": (audit.no_typed_numbers, _put("Overview", "D3", "=ROUND(9,0)")),
    "a new function": (audit.shared_functions, _put("Overview", "D3", "=XLOOKUP(A1,A2:A9,B2:B9)")),
    "a volatile function": (audit.shared_functions, _put("Overview", "D3", "=TODAY()")),
    "an indirect reference": (audit.shared_functions, _put("Overview", "D3", '=INDIRECT("A1")')),
    "a whole column": (audit.bounded_references, _put("Overview", "D3", "=SUM(A:A)")),
    "another workbook": (audit.bounded_references, _put("Overview", "D3", "=[1]Prices!A1")),
    "a sheet that is not there": (audit.bounded_references, _put("Overview", "D3", "=Nowhere!A1")),
    "a lost reference": (audit.bounded_references, _put("Overview", "D3", "=#REF!+1")),
    "a hidden sheet": (audit.nothing_hidden, _set("Constants.sheet_state", "hidden")),
    "a merged cell": (audit.nothing_hidden, lambda book: book["Overview"].merge_cells("A20:B20")),
    "a hidden row": (audit.nothing_hidden, lambda book: setattr(book["Prices"].row_dimensions[5], "hidden", True)),
    "a hidden column": (audit.nothing_hidden, lambda book: setattr(book["Prices"].column_dimensions["B"], "hidden", True)),
    "a link": (audit.self_contained, _link),
    "an open formula": (audit.protected, _open_cell),
    "a locked input": (audit.protected, _lock_input),
    "a sheet without protection": (audit.protected, _set("Overview.protection.sheet", False)),
    "a password": (audit.protected, lambda book: book["Overview"].protection.set_password("secret")),
    "a formula on an input sheet": (audit.formulas_stay_off_inputs, _put("Prices", "D4", "=1+1")),
    "a column without a unit": (audit.units_beside, _put("Batch workings", "C2", None)),
    "a column without a heading": (audit.units_beside, _put("Batch workings", "C3", None)),
    "a long name": (audit.sheet_names, _set("Overview.title", "x" * 32)),
    "a reserved name": (audit.sheet_names, _set("Superfat.title", "History")),
    "a circle": (audit.no_circles, _circle),
    "a cell that reads itself": (audit.no_circles, _put("Overview", "D3", "=SUM(D2:D4)")),
}  # fmt: skip


@pytest.mark.filterwarnings("ignore:Title is more than 31 characters")
@pytest.mark.parametrize("name", PLANTS)
def test_rule_finds_its_fault(name: str) -> None:
    """A workbook with one fault planted in it breaks the rule that is there for it."""
    rule, plant = PLANTS[name]
    book = openpyxl.load_workbook(BytesIO(demo_workbook().content))
    plant(book)
    held = BytesIO()
    if rule is audit.self_contained:
        book.save(held)
    assert list(rule(Whole(held.getvalue(), book, demo_workbook().stored))) != []


def test_errors_are_found() -> None:
    """A stored error or infinity is found."""
    for value in ("#DIV/0!", math.inf):
        stored = openpyxl.load_workbook(BytesIO(demo_workbook().content), data_only=True)
        stored["Overview"]["D2"] = value
        whole = demo_workbook()
        assert list(audit.computed_values(Whole(whole.content, whole.written, stored))) != []


# --- the file ---


def test_same_input_gives_same_bytes() -> None:
    """Two workbooks of one input are the same, byte for byte."""
    assert finished(demo()) == demo_workbook().content
    assert finished(runs(GENERATED)[0]) == workbooks(GENERATED)[0].content


def _values(whole: Whole) -> dict[str, dict[tuple[int, int], Any]]:
    return {
        sheet.title: {
            (cell.row, cell.column): plain(cell.value)
            for row in sheet.iter_rows()
            for cell in row
            if cell.value not in (None, "")
        }
        for sheet in whole.stored
    }


def _calamine(content: bytes) -> Iterator[tuple[str, dict[tuple[int, int], Any]]]:
    book = python_calamine.CalamineWorkbook.from_filelike(BytesIO(content))
    for name in book.sheet_names:
        rows = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
        yield name, _filled(rows)


def _pandas(content: bytes) -> Iterator[tuple[str, dict[tuple[int, int], Any]]]:
    for name, frame in pandas.read_excel(
        BytesIO(content), sheet_name=None, header=None, na_filter=False, engine="openpyxl"
    ).items():
        yield str(name), _filled(frame.values.tolist())


def _filled(rows: list[list[Any]]) -> dict[tuple[int, int], Any]:
    return {
        (row, column): plain(value)
        for row, values in enumerate(rows, 1)
        for column, value in enumerate(values, 1)
        if value not in (None, "")
    }


@pytest.mark.parametrize("reader", [_calamine, _pandas], ids=["calamine", "pandas"])
def test_readers_see_the_same_values(
    reader: Callable[[bytes], Iterator[tuple[str, dict[tuple[int, int], Any]]]],
) -> None:
    """Another reader finds the values that openpyxl finds, cell by cell."""
    for whole in (demo_workbook(), *workbooks(GENERATED)[:3]):
        found = dict(reader(whole.content))
        expected = _values(whole)
        assert list(found) == list(expected)
        for sheet, cells in expected.items():
            assert found[sheet].keys() == cells.keys(), sheet
            wrong = {place: value for place, value in cells.items() if not same(value, found[sheet][place])}
            assert wrong == {}, sheet


def test_engines_see_the_same_constants(tmp_path: Path) -> None:
    """IronCalc and LibreOffice, which saves the workbook anew, hold every cell's value as openpyxl does."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(demo_workbook().content)
    engine = IronCalc(path)
    again = openpyxl.load_workbook(through_libreoffice(tmp_path, path)[0], data_only=True)
    assert again.sheetnames == demo_workbook().written.sheetnames
    for sheet, cells in _values(demo_workbook()).items():
        for (row, column), value in cells.items():
            place = f"{sheet}!{get_column_letter(column)}{row}"
            assert same(value, engine.value(sheet, f"{get_column_letter(column)}{row}")), place
            assert same(value, plain(again[sheet].cell(row, column).value)), place


# --- the format ---


def _faults(path: Path) -> list[str]:
    """Return what a general validator of Office Open XML has against a file that Excel 2013 is to open."""
    found = OpenXmlValidator(FileFormat.OFFICE_2013).validate(path)
    return [str(error) for error in found.errors]


def test_format_is_valid(tmp_path: Path) -> None:
    """A validator of Office Open XML, schema and meaning, finds nothing in any finished workbook."""
    for number, whole in enumerate((demo_workbook(), *workbooks(GENERATED)[:3])):
        path = tmp_path / f"{number}.xlsx"
        path.write_bytes(whole.content)
        assert _faults(path) == []


def _damaged(tmp_path: Path, part: str, change: Callable[[str], str]) -> Path:
    """Return the demo's workbook with one part changed."""
    path = tmp_path / "damaged.xlsx"
    with zipfile.ZipFile(BytesIO(demo_workbook().content)) as old, zipfile.ZipFile(path, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            new.writestr(name, change(text.decode()) if name == part else text)
    return path


DAMAGE: dict[str, tuple[str, Callable[[str], str]]] = {
    "elements in another order": (
        "xl/worksheets/sheet1.xml",
        lambda text: re.sub(r"(<sheetData>.*</sheetData>)(<sheetProtection[^>]*/>)", r"\2\1", text, flags=re.DOTALL),
    ),
    "a relationship to nothing": (
        "xl/_rels/workbook.xml.rels",
        lambda text: text.replace("sheet2.xml", "sheet222.xml"),
    ),
}


UNSOUND: dict[str, Callable[[str], str]] = {
    "a stored None": lambda text: re.sub(r"</f><v>[0-9.]+</v>", "</f><v>None</v>", text, count=1),
    "a stored nan": lambda text: re.sub(r"</f><v>[0-9.]+</v>", "</f><v>nan</v>", text, count=1),
    "a style that is not there": lambda text: text.replace(' s="1"', ' s="99999"', 1),
}


@pytest.mark.parametrize("name", UNSOUND)
def test_unsound_cells_are_found(name: str, tmp_path: Path) -> None:
    """A stored value or a style that no program can show is found, which the validator passes over."""
    whole = demo_workbook()
    content = _damaged(tmp_path, "xl/worksheets/sheet1.xml", UNSOUND[name]).read_bytes()
    assert content != whole.content
    assert list(audit.sound_cells(Whole(content, whole.written, whole.stored))) != []


@pytest.mark.parametrize("name", DAMAGE)
def test_validator_finds_damage(name: str, tmp_path: Path) -> None:
    """The validator finds the damage that makes a spreadsheet program ask for a repair."""
    part, change = DAMAGE[name]
    with zipfile.ZipFile(BytesIO(demo_workbook().content)) as book:
        before = book.read(part).decode()
    assert change(before) != before
    assert _faults(_damaged(tmp_path, part, change)) != []


def test_every_part_is_announced() -> None:
    """Every part is well-formed XML of an announced type, and every relationship leads to a part."""
    with zipfile.ZipFile(BytesIO(demo_workbook().content)) as book:
        names = set(book.namelist())
        types = ElementTree.fromstring(book.read("[Content_Types].xml"))
        announced = {held.get("PartName", "").lstrip("/") for held in types} | {
            f".{held.get('Extension')}" for held in types
        }
        for name in names - {"[Content_Types].xml"}:
            ElementTree.fromstring(book.read(name))
            assert name in announced or Path(name).suffix in announced - {".xml"}, name
            if name.endswith(".rels"):
                folder = Path(name).parent.parent
                for link in ElementTree.fromstring(book.read(name)):
                    target = link.get("Target", "")
                    there = (Path("/") / folder / target).resolve().relative_to("/").as_posix()
                    assert there in names, (name, target)
