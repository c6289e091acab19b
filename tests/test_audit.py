"""Every finished workbook passes what auditors of spreadsheets check, and opens everywhere with the same values."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import audit
import pandas
import pytest
import python_calamine
from opened import Whole
from openpyxl.utils import get_column_letter
from openxml_audit import FileFormat, OpenXmlValidator
from recalculation import IronCalc, plain, same, through_libreoffice
from typing_in import changed, typed_over
from workbooks import EACH_PART, PARTS, content_of, demo, demo_workbook, run_of, seeds

from scaler.write.finished import finished


@pytest.mark.parametrize("rule", audit.RULES, ids=lambda rule: rule.__name__)
def test_demo_passes(rule: audit.Rule) -> None:
    """The demo's finished workbook breaks no rule."""
    assert list(rule(demo_workbook())) == []


@pytest.mark.parametrize("part", EACH_PART)
def test_any_workbook_passes(part: int) -> None:
    """The finished workbook of any workshop breaks no rule."""
    faults = []
    for seed in seeds(part, PARTS):
        book = Whole.of(content_of(seed))
        faults += [(seed, rule.__name__, fault) for rule in audit.RULES for fault in rule(book)]
    assert faults == []


# --- each rule finds what it is for ---


Plant = Callable[[bytes], bytes]


def _put(sheet: str, cell: str, value: object) -> Plant:
    """Return a plant that types a value over a cell."""
    return lambda content: typed_over(content, {(sheet, cell): value})


def _edit(part: str, old: str, new: str) -> Plant:
    """Return a plant that changes a sheet, or another part, at the first place that a pattern fits."""
    return lambda content: changed(content, part, lambda text: re.sub(old, new, text, count=1))


def _style(sheet: str, cell: str, locked: bool) -> Plant:
    """Return a plant that gives a cell a style that is locked or open."""
    style = demo_workbook().locked.index(locked)
    return _edit(sheet, rf'(<c r="{cell}") s="[0-9]+"', rf'\1 s="{style}"')


def _link(content: bytes) -> bytes:
    link = (
        '<Relationship Id="rId99" Type="hyperlink" Target="https://example.org" TargetMode="External"/></Relationships>'
    )
    return changed(content, "xl/worksheets/_rels/sheet1.xml.rels", lambda text: text.replace("</Relationships>", link))


PLANTS: dict[str, tuple[audit.Rule, Plant]] = {
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
    "a hidden sheet": (audit.nothing_hidden, _edit("xl/workbook.xml", 'name="Constants"', 'name="Constants" state="hidden"')),
    "a merged cell": (audit.nothing_hidden, _edit("Overview", "</sheetProtection>|<sheetProtection[^>]*/>", r'\g<0><mergeCells><mergeCell ref="A20:B20"/></mergeCells>')),
    "a hidden row": (audit.nothing_hidden, _edit("Prices", '<row r="5"', '<row r="5" hidden="1"')),
    "a hidden column": (audit.nothing_hidden, _edit("Prices", '<col min="2"', '<col hidden="1" min="2"')),
    "a link": (audit.self_contained, _link),
    "an open formula": (audit.protected, _style("Overview", "D2", locked=False)),
    "a locked input": (audit.protected, _style("Prices", "D4", locked=True)),
    "a sheet without protection": (audit.protected, _edit("Overview", "<sheetProtection[^>]*>", "")),
    "a password": (audit.protected, _edit("Overview", "<sheetProtection", '<sheetProtection password="83AF"')),
    "a formula on an input sheet": (audit.formulas_stay_off_inputs, _put("Prices", "D4", "=1+1")),
    "a column without a unit": (audit.units_beside, _put("Batch workings", "C2", None)),
    "a column without a heading": (audit.units_beside, _put("Batch workings", "C3", None)),
    "a long name": (audit.sheet_names, _edit("xl/workbook.xml", 'name="Overview"', f'name="{"x" * 32}"')),
    "a reserved name": (audit.sheet_names, _edit("xl/workbook.xml", 'name="Superfat"', 'name="History"')),
    "a circle": (audit.no_circles, _put("Batch workings", "A4", "=Overview!D2")),
    "a cell that reads itself": (audit.no_circles, _put("Overview", "D3", "=SUM(D2:D4)")),
}  # fmt: skip


@pytest.mark.parametrize("name", PLANTS)
def test_rule_finds_its_fault(name: str) -> None:
    """A workbook with one fault planted in it breaks the rule that is there for it."""
    rule, plant = PLANTS[name]
    assert list(rule(Whole.of(plant(demo_workbook().content)))) != []


STORED = {
    "an error": _edit("Overview", r'(<c r="D2"[^>]*)(>.*?<v>)[^<]*', r'\1 t="e"\2#DIV/0!'),
    "infinity": _edit("Overview", r'(<c r="D2".*?<v>)[^<]*', r"\1inf"),
    "nothing": _edit("Overview", r'(<c r="D2".*?</f>)<v>[^<]*</v>', r"\1"),
}


@pytest.mark.parametrize("name", STORED)
def test_errors_are_found(name: str) -> None:
    """A formula behind which an error, infinity or nothing is stored is found."""
    assert list(audit.computed_values(Whole.of(STORED[name](demo_workbook().content)))) != []


# --- the file ---


def test_same_input_gives_same_bytes() -> None:
    """Two workbooks of one input are the same, byte for byte."""
    assert finished(demo()) == demo_workbook().content
    assert finished(run_of(0)) == content_of(0)


def _values(whole: Whole) -> dict[str, dict[tuple[int, int], Any]]:
    return {
        page.title: {place: cell.value for place, cell in page.cells.items() if cell.value not in (None, "")}
        for page in whole.pages.values()
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
    """A reader finds the values that are stored, cell by cell."""
    for whole in (demo_workbook(), *(Whole.of(content_of(seed)) for seed in range(3))):
        found = dict(reader(whole.content))
        expected = _values(whole)
        assert list(found) == list(expected)
        for sheet, cells in expected.items():
            assert found[sheet].keys() == cells.keys(), sheet
            wrong = {place: value for place, value in cells.items() if not same(value, found[sheet][place])}
            assert wrong == {}, sheet


def test_engines_see_the_same_constants(tmp_path: Path) -> None:
    """IronCalc and LibreOffice, which saves the workbook anew, hold every cell's value as it is stored."""
    path = tmp_path / "finished.xlsx"
    path.write_bytes(demo_workbook().content)
    engine = IronCalc(path)
    again = dict(_calamine(through_libreoffice(tmp_path, path)[0].read_bytes()))
    assert list(again) == list(demo_workbook().pages)
    for sheet, cells in _values(demo_workbook()).items():
        for (row, column), value in cells.items():
            place = f"{sheet}!{get_column_letter(column)}{row}"
            assert same(value, engine.value(sheet, f"{get_column_letter(column)}{row}")), place
            assert same(value, again[sheet][row, column]), place


# --- the format ---


def _faults(path: Path) -> list[str]:
    """Return what a general validator of Office Open XML has against a file that Excel 2013 is to open."""
    found = OpenXmlValidator(FileFormat.OFFICE_2013).validate(path)
    return [str(error) for error in found.errors]


def test_format_is_valid(tmp_path: Path) -> None:
    """A validator of Office Open XML, schema and meaning, finds nothing in any finished workbook."""
    for number, content in enumerate((demo_workbook().content, *map(content_of, range(3)))):
        path = tmp_path / f"{number}.xlsx"
        path.write_bytes(content)
        assert _faults(path) == []


DAMAGE = {
    "elements in another order": _edit(
        "Overview", r"(?s)(<sheetData>.*</sheetData>)(<sheetProtection[^>]*/>)", r"\2\1"
    ),
    "a relationship to nothing": _edit("xl/_rels/workbook.xml.rels", "sheet2.xml", "sheet222.xml"),
}

UNSOUND = {
    "a stored None": _edit("Overview", "</f><v>[0-9.]+</v>", "</f><v>None</v>"),
    "a stored nan": _edit("Overview", "</f><v>[0-9.]+</v>", "</f><v>nan</v>"),
    "a style that is not there": _edit("Overview", ' s="1"', ' s="99999"'),
}


@pytest.mark.parametrize("name", UNSOUND)
def test_unsound_cells_are_found(name: str) -> None:
    """A stored value or a style that no program can show is found, which the validator passes over."""
    assert list(audit.sound_cells(Whole.of(UNSOUND[name](demo_workbook().content)))) != []


@pytest.mark.parametrize("name", DAMAGE)
def test_validator_finds_damage(name: str, tmp_path: Path) -> None:
    """The validator finds the damage that makes a spreadsheet program ask for a repair."""
    path = tmp_path / "damaged.xlsx"
    path.write_bytes(DAMAGE[name](content_of(0)))
    assert _faults(path) != []


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
