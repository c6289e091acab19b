"""The shipped templates and demo workbooks: as a fresh `scaler new` writes them, and green from end to end."""

from __future__ import annotations

import json
import runpy
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.cell.cell import Cell

from scaler.cli import main
from scaler.model.records import SHEETS, Mould
from scaler.model.schema import columns
from scaler.model.shapes import SHAPES
from scaler.output import DEMO_FILES, shipped

ROOT = Path(__file__).parent.parent
UNITS = ("metric", "us")


def run(*words: str | Path) -> str:
    """Return what a command prints; it must succeed."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == 0, result.output
    return result.stdout


def cells(path: Path) -> dict[tuple[str, str], tuple[object, ...]]:
    """Return what every cell of a workbook holds and how it looks, by sheet and address."""
    book = openpyxl.load_workbook(path)
    return {
        (sheet.title, cell.coordinate): (cell.value, *look(cell))
        for sheet in book.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell, Cell)
    }


def look(cell: Cell) -> Iterator[object]:
    """Yield what can be seen of a cell beside its value."""
    yield cell.number_format
    yield cell.font.b
    yield cell.fill.fgColor.rgb
    yield cell.protection.locked
    yield cell.comment.text if cell.comment else None


def lists(path: Path) -> dict[str, set[tuple[str, str]]]:
    """Return the drop-downs and limits of every sheet: where, and what may be typed."""
    book = openpyxl.load_workbook(path)
    return {
        sheet.title: {
            (str(rule.sqref), f"{rule.type} {rule.formula1}") for rule in sheet.data_validations.dataValidation
        }
        for sheet in book.worksheets
    }


MADE = runpy.run_path(str(ROOT / "docs" / "make.py"))["workbooks"]()
"""Every workbook that is shipped, as `python docs/make.py` writes it today."""


@pytest.mark.parametrize("shipped_as", MADE, ids=str)
def test_shipped_workbook_is_current(tmp_path: Path, shipped_as: Path) -> None:
    """A shipped template or demo workbook is what the command writes today, cell by cell and list by list."""
    (tmp_path / "fresh.xlsx").write_bytes(MADE[shipped_as])
    assert cells(ROOT / shipped_as) == cells(tmp_path / "fresh.xlsx")
    assert lists(ROOT / shipped_as) == lists(tmp_path / "fresh.xlsx")


def test_nothing_else_is_shipped() -> None:
    """The command writes every workbook in the folders of templates and demo, and no other."""
    there = {path.relative_to(ROOT) for folder in ("templates", "demo_workbooks") for path in (ROOT / folder).iterdir()}
    assert there == set(MADE)


@pytest.mark.parametrize("units", UNITS)
def test_new_writes_the_template(tmp_path: Path, units: str) -> None:
    """`scaler new` writes the template of its units."""
    run("new", tmp_path / "fresh.xlsx", "--units", units)
    assert cells(ROOT / "templates" / f"{units}.xlsx") == cells(tmp_path / "fresh.xlsx")


@pytest.mark.parametrize("units", UNITS)
def test_template_has_every_sheet_and_column(units: str) -> None:
    """A template has the sheets of the schema in order, and their headers with a star where they must be filled."""
    book = openpyxl.load_workbook(ROOT / "templates" / f"{units}.xlsx")
    assert book.sheetnames == [sheet.name for sheet in SHEETS]
    for sheet in SHEETS:
        headers = [cell.value for cell in book[sheet.name][3]]
        assert headers == [column.header + "*" * column.required for column in columns(sheet.record).values()]


@pytest.mark.parametrize("units", UNITS)
def test_template_runs_green(tmp_path: Path, units: str) -> None:
    """A template is checked and worked out without a problem or a warning, and its finished workbook again."""
    template = ROOT / "templates" / f"{units}.xlsx"
    assert run("check", template).startswith("No problems.")
    said = run("batch", template, "-o", tmp_path / "finished.xlsx")
    assert "!" not in said
    assert run("batch", tmp_path / "finished.xlsx", "-o", tmp_path / "finished.xlsx") == said


def test_templates_differ_in_their_units() -> None:
    """The US template is measured in inches and priced by the pound, the metric one in cm and kg."""
    for units, length, weight in (("metric", "cm", "kg"), ("us", "in", "lb")):
        book = openpyxl.load_workbook(ROOT / "templates" / f"{units}.xlsx")
        assert (book["Moulds"]["C4"].value, book["Prices"]["C4"].value) == (length, weight)


def test_demo_workbooks_show_what_there_is() -> None:
    """The invented workshop has every shape, 25 ingredients, 5 recipes, mixed price units and both alkalis."""
    held = {}
    for name in DEMO_FILES:
        for sheet in openpyxl.load_workbook(ROOT / "demo_workbooks" / name).worksheets:
            held[sheet.title] = sheet
    rows = {
        title: [[cell.value for cell in row] for row in sheet.iter_rows(min_row=4)] for title, sheet in held.items()
    }
    names = {title: [row for row in lines if row[0]] for title, lines in rows.items()}
    shape = list(columns(Mould)).index("shape")
    assert {row[shape] for row in names["Moulds"]} == {shape.word for shape in SHAPES}
    assert len(names["Ingredients"]) >= 25
    assert len(names["Recipes"]) >= 5
    assert len({row[2] for row in names["Prices"]}) >= 4
    assert {cell for row in names["Ingredients"] for cell in row} >= {"NaOH", "KOH"}
    assert "oz" in {row[4] for row in names["Recipe lines"]}


def test_demo_has_two_things_to_look_at(tmp_path: Path) -> None:
    """The demo is checked without a problem; all there is to look at is strong lye, and an old price with what hangs on it."""
    assert shipped() == ROOT / "demo_workbooks"
    found = json.loads(run("batch", *(ROOT / "demo_workbooks" / name for name in DEMO_FILES), "--json"))
    assert found["problems"] == []
    said = {
        (batch["batch"], warning["code"])
        for batch in found["batches"]
        for warning in batch["warnings"]
        if warning["level"] != "note"
    }
    hot = {("SK-102", "lye_hot"), ("SK-104", "lye_may_boil"), ("SK-106", "lye_hot")}
    assert said == hot | {("SK-104", "price_old"), ("SK-106", "price_old")}
    assert run("demo", tmp_path).count("\n  ALKALI ") >= 8


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel, without fetching anything."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "pip", "wheel", "--no-build-isolation", "--no-deps", "--no-index", "-q", "-w"]
    subprocess.run([*command, folder, ROOT], check=True, capture_output=True)
    (built,) = folder.glob("*.whl")
    return built


def test_wheel_works_anywhere(wheel: Path, tmp_path: Path) -> None:
    """`scaler new` and `scaler demo` work from the wheel, unpacked, in a folder far from the checkout."""
    with zipfile.ZipFile(wheel) as held:
        names = set(held.namelist())
        held.extractall(tmp_path / "site")
    assert names >= {f"scaler/templates/{units}.xlsx" for units in UNITS}
    assert names >= {f"scaler/demo_workbooks/{name}" for name in DEMO_FILES}
    assert names >= {"scaler/py.typed", "scaler/model/data/oils.csv"}
    assert not {name for name in names if name.startswith(("tests", "docs", "benchmarks"))}
    code = "import sys; sys.path.insert(0, sys.argv.pop(1)); from scaler.cli import main; main(prog_name='scaler')"
    for words in (["new", "my.xlsx"], ["batch", "my.xlsx"], ["demo"]):
        command: list[str | Path] = [sys.executable, "-I", "-c", code, tmp_path / "site", *words]
        subprocess.run(command, cwd=tmp_path, check=True, capture_output=True)
    assert {path.name for path in (tmp_path / "soap-demo").iterdir()} == {*DEMO_FILES, "finished.xlsx"}
    assert (tmp_path / "my-finished.xlsx").is_file()


def test_what_scaler_takes_is_never_stopped(tmp_path: Path) -> None:
    """A fresh workbook asks about a word that is not on its list or a number with its unit, and lets it in."""
    fresh = tmp_path / "fresh.xlsx"
    run("new", fresh)
    styles = {
        (sheet.title, rule.type): rule.errorStyle
        for sheet in openpyxl.load_workbook(fresh).worksheets
        for rule in sheet.data_validations.dataValidation
    }
    assert {("Recipe lines", "decimal"), ("Recipe lines", "list"), ("Batches", "date")} <= set(styles)
    assert set(styles.values()) == {"warning"}
