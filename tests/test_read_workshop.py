"""Files become a workshop: sheets found across them, names resolved, one problem for each mistake."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from messy.base import FILE, TODAY, base, edited, faults, messages, read, save

from scaler.engine import scale
from scaler.model.problems import Problem, say
from scaler.model.records import SHEETS, Workshop
from scaler.model.schema import letters
from scaler.model.settings import setting_declared
from scaler.read import workshop as module
from scaler.read.files import ErrorValue, RawBook, RawCell, RawSheet, read_book
from scaler.read.workshop import Wanted, load


def codes(problems: list[Problem]) -> list[tuple[str, str, str]]:
    """Return the sheet, cell and code of every problem."""
    return [(problem.place.sheet, problem.place.cell, problem.code) for problem in problems]


def parted(book: openpyxl.Workbook, folder: Path) -> list[Path]:
    """Return one file for each sheet of a workbook."""
    paths = []
    for sheet in book.worksheets:
        alone = openpyxl.Workbook()
        copy = alone.worksheets[0]
        copy.title = sheet.title
        for row in sheet.iter_rows():
            for cell in row:
                copied = copy.cell(cell.row, cell.column, cell.value)
                copied.number_format = cell.number_format
        paths.append(save(alone, folder, f"{sheet.title}.xlsx"))
    return paths


@pytest.fixture(scope="module")
def raw_book(tmp_path_factory: pytest.TempPathFactory) -> RawBook:
    """Return the cells of the workbook without a fault."""
    book, _ = read_book(save(base(), tmp_path_factory.mktemp("raw")), lambda _: True)
    assert book is not None
    return book


def with_cells(raw_book: RawBook, edits: Sequence[tuple[tuple[int, int, int], RawCell]]) -> Workshop:
    """Return the workshop of the workbook with other cells, each at (sheet, row, column)."""
    sheets = [RawSheet(sheet.file, sheet.name, dict(sheet.cells)) for sheet in raw_book.sheets]
    for (sheet, row, column), cell in edits:
        sheets[sheet].cells[row, column] = cell
    changed = RawBook(raw_book.file, tuple(sheets), raw_book.names)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(module, "read_book", lambda _path, _wanted: (changed, []))
        return read(Path(FILE))


# --- sheets ---


def test_sheets_are_found_across_files(tmp_path: Path) -> None:
    """It does not matter which of the files a sheet is in."""
    together, apart = read(save(base(), tmp_path)), read(*parted(base(), tmp_path))
    assert apart.problems == ()
    assert {sheet.key: getattr(apart, sheet.key) for sheet in SHEETS} == {
        sheet.key: getattr(together, sheet.key) for sheet in SHEETS
    }


def test_sheet_names_match_without_case_and_outer_spaces(tmp_path: Path) -> None:
    """PRICES with spaces around it is sheet Prices; a filled sheet of the maker's own is named once."""
    book = base()
    book["Prices"].title = " PRICES "
    book.create_sheet("My notes")["A1"] = "Prices"
    book.create_sheet("Empty")
    workshop = read(save(book, tmp_path))
    assert workshop.problems == ()
    assert [warning.text for _, warning in workshop.doubts] == ["Sheet My notes is your own: it is not read."]


@pytest.mark.parametrize(
    ("sheet", "name"),
    [("Costs", "Cost"), ("Moulds", "Molds"), ("Moulds", "Mold"), ("Batches", "Batch"), ("Market", "Markets"),
     ("Recipe lines", "Recipe-lines"), ("Costs", "Settings"), ("Recipes", "recipe")],
)  # fmt: skip
def test_other_words_for_a_sheet(tmp_path: Path, sheet: str, name: str) -> None:
    """A sheet under another usual word is read as ours; beside our own it is named or refused."""
    book = base()
    book[sheet].title = name
    plain, other = read(save(base(), tmp_path, "plain.xlsx")), read(save(book, tmp_path))
    key = next(item.key for item in SHEETS if item.name == sheet)
    assert (other.problems, other.doubts) == ((), ())
    assert getattr(other, key) == getattr(plain, key)
    again = base()
    again.create_sheet(name)["A1"] = "mine"
    beside = read(save(again, tmp_path))
    said = {warning.code for _, warning in beside.doubts} | {problem.code for problem in beside.problems}
    assert said & {"not_read", "sheet_twice", "sheet_unclear"}


def test_missing_sheet_is_a_problem_of_the_files(tmp_path: Path) -> None:
    """A sheet that must be there and is not is said once, with the sheets that are there."""
    book = base()
    del book["Prices"]
    assert messages(save(book, tmp_path)) == [
        (
            "sheet_missing",
            f"{FILE}, sheet Prices: There is no sheet Prices. Give the workbook that has "
            "it, too; here are only Ingredients, Moulds, Recipes, Recipe lines, Batches, Costs, Market.",
        )
    ]


@pytest.mark.parametrize(
    ("sheet", "name"),
    [("Ingredients", "Ingrediants"), ("Costs", "Cossts"), ("On hand", "On hands"), ("Market", "Marcket")],
)
def test_misspelt_sheet_is_a_problem_at_that_sheet(tmp_path: Path, sheet: str, name: str) -> None:
    """A filled sheet whose name is nearly right is pointed at, whether it must be there or not."""
    book = base()
    if sheet in book.sheetnames:
        book[sheet].title = name
    else:
        book.create_sheet(name)["A1"] = "Recipe"
    assert messages(save(book, tmp_path)) == [
        (
            "sheet_unclear",
            f"{FILE}, sheet {name}: {name} is not a sheet that scaler knows. Did you mean {sheet}? Then rename it. "
            "If it is your own, give it another name.",
        )
    ]


@pytest.mark.parametrize("sheet", ["Batches", "Costs", "Market"])
def test_optional_sheet_may_be_left_out(tmp_path: Path, sheet: str) -> None:
    """Without batches, settings or a market the rest is read."""
    book = base()
    del book[sheet]
    assert messages(save(book, tmp_path)) == []


@pytest.mark.parametrize("sheet", ["Ingredients", "Recipes", "Recipe lines", "Moulds", "Batches", "Costs"])
def test_sheet_in_two_files_is_one_problem(tmp_path: Path, sheet: str) -> None:
    """The same sheet in a second file is said once, and nothing in it counts as double or unknown."""
    again = base()
    for other in set(again.sheetnames) - {sheet}:
        del again[other]
    assert messages(save(base(), tmp_path), save(again, tmp_path, "more.xlsx")) == [
        (
            "sheet_twice",
            f"more.xlsx, sheet {sheet}: This is a second sheet {sheet}: '{sheet}' of {FILE} is the same. "
            "Delete or rename one of the two.",
        )
    ]


def test_prices_may_come_in_several_files(tmp_path: Path) -> None:
    """Every sheet Prices is read, as one table in the order of the files."""
    first, second = edited("Prices!A2=; Prices!B2=; Prices!C2=; Prices!D2=; Prices!F2="), base()
    for other in set(second.sheetnames) - {"Prices"}:
        del second[other]
    second["Prices"].delete_rows(3, 20)
    workshop = read(save(first, tmp_path), save(second, tmp_path, "shop.xlsx"))
    assert workshop.problems == ()
    assert [(price.where.file, price.ingredient) for price in workshop.prices[7:]] == [
        (FILE, "Paper band"),
        ("shop.xlsx", "Olive oil"),
    ]


def test_file_given_twice_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same file by two spellings of its path is one file."""
    monkeypatch.chdir(tmp_path)
    path = save(base(), tmp_path)
    assert messages(path, Path(FILE), tmp_path / "." / FILE) == []


def test_unreadable_file_hushes_what_it_may_hold(tmp_path: Path) -> None:
    """When a file cannot be read, sheets and prices that may be in it are not called missing."""
    book = edited("Prices!A2=; Prices!B2=; Prices!C2=; Prices!D2=; Prices!F2=")
    del book["Moulds"]
    problems = read(save(book, tmp_path), tmp_path / "moulds.xlsx").problems
    assert [(problem.place.file, problem.code) for problem in problems] == [("moulds.xlsx", "file_missing")]


def test_finished_workbook_is_an_input(tmp_path: Path) -> None:
    """A title and hints above the headers, result sheets and own columns do not disturb the input sheets."""
    book = base()
    for sheet in book.worksheets:
        sheet.insert_rows(1, 2)
        sheet["A1"], sheet["A2"] = sheet.title, "a hint for each column"
    book.create_sheet("Overview", 0)["A1"] = "=1/0"
    run, problems = faults(save(book, tmp_path))
    plain, _ = faults(save(base(), tmp_path))
    assert problems == []
    assert run.batches == plain.batches
    assert run.workshop.recipes[0].where.place("superfat").cell == "B4"


# --- one mistake, one problem; several mistakes, all of them ---


def test_every_mistake_is_found_at_once(tmp_path: Path) -> None:
    """Mistakes that have nothing to do with each other are all said in one run, in reading order."""
    edits = (
        "Ingredients!B2=oyl; Prices!C10=stone; Prices!D3=x; Moulds!D2=long; Recipe lines!E9=stone; "
        "Recipe lines!G6=maybe; Batches!E2=soon; Costs!B8=Blueday; Market!B2=many"
    )
    assert codes(list(read(save(edited(edits), tmp_path)).problems)) == [
        ("Batches", "E2", "date_wanted"),
        ("Costs", "B8", "weekday_unknown"),
        ("Ingredients", "B2", "choice_unknown"),
        ("Market", "B2", "number_wanted"),
        ("Moulds", "D2", "number_wanted"),
        ("Prices", "D3", "number_wanted"),
        ("Prices", "C10", "unit_unknown"),
        ("Recipe lines", "G6", "choice_unknown"),
        ("Recipe lines", "E9", "unit_unknown"),
    ]


def test_lost_header_hides_no_mistake_of_another_sheet(tmp_path: Path) -> None:
    """A sheet whose rows cannot be read leaves what is wrong in rows of others, and says nothing of what hangs on it."""
    run = scale(read(save(edited("Recipe lines!B1=Thingamy; Moulds!D2=-5; Ingredients!D3=99999"), tmp_path)))
    assert codes(list(run.problems)) == [
        ("Ingredients", "D3", "number_wrong"), ("Moulds", "D2", "number_wrong"), ("Recipe lines", "B1", "header_missing"),
    ]  # fmt: skip


def test_no_problem_is_the_shadow_of_another(raw_book: RawBook) -> None:
    """An error in any one cell of any sheet is the one problem of reading, at that very cell."""
    for at, sheet in enumerate(raw_book.sheets):
        for row, column in sheet.cells:
            if row > 1:
                problems = with_cells(raw_book, [((at, row, column), RawCell(ErrorValue("#REF!"), "General"))]).problems
                assert codes(list(problems)) == [(sheet.name, f"{letters(column)}{row}", "cell_error")]


# --- settings ---


def test_missing_settings_are_blank(tmp_path: Path) -> None:
    """Each setting has its line, in the order of the schema, blank where the workbook does not say."""
    book = base()
    del book["Costs"]
    workshop = read(save(book, tmp_path))
    assert [line.setting for line in workshop.costs] == [item.name for item in setting_declared().values()]
    assert [line.value for line in workshop.costs if line.value is not None] == [TODAY]


def test_worked_out_on_is_the_day_of_the_run(tmp_path: Path) -> None:
    """A workbook that says its day keeps it, another one takes the day of the run."""
    path = save(edited("Costs!A10=Worked out on; Costs!B10=2026-11-01"), tmp_path)
    days = [line.value for line in load([path]).costs if line.setting == "Worked out on"]
    today = [line.value for line in load([save(base(), tmp_path)]).costs if line.setting == "Worked out on"]
    assert days == [date(2026, 11, 1)]
    assert today in ([date.today()], [date.fromordinal(date.today().toordinal() - 1)])


# --- batches ---


def wanted(folder: Path, **what: Any) -> tuple[list[tuple[str | None, str, str]], list[str]]:
    """Return the batches that are kept and the whole messages."""
    workshop = load([save(base(), folder)], Wanted(**what), TODAY)
    kept = [(batch.batch, batch.recipe, batch.mould) for batch in workshop.batches]
    return kept, [say(problem) for problem in workshop.problems]


def test_every_batch_is_kept_unless_some_are_named(tmp_path: Path) -> None:
    """Batches are chosen by name without case; a blank name is its number."""
    first, second = ("A", "Plain bar", "Oak loaf"), ("2", "Old card", "Pebble pan")
    assert wanted(tmp_path) == ([first, (None, *second[1:])], [])
    assert wanted(tmp_path, batches=("a",)) == ([first], [])
    assert wanted(tmp_path, batches=("2", " A ")) == ([first, second], [])


def test_batch_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """A name that no batch has is refused with the names that there are."""
    message = "sheet Batches: There is no batch C. Type A or 2."
    assert wanted(tmp_path, batches=("C",)) == ([], [message])


def test_recipe_and_mould_make_one_batch(tmp_path: Path) -> None:
    """A recipe and a mould that are named take the place of sheet Batches."""
    assert wanted(tmp_path, recipe="old CARD", mould=" oak loaf") == ([("1", "Old card", "Oak loaf")], [])


# --- anything at all in any cell ---

WORDS = (
    "oil", "alkali", "acid", "liquid", "additive", "packaging", "kg", "g", "L", "each", "each/bar", "g/kg", "tsp/lb",
    "cm", "box", "taper", "cylinder", "half cylinder", "cavities", "measured", "NaOH", "KOH", "Olive oil", "Plain bar",
    "Old card", "Oak loaf", "Lye flakes", "Potash flakes", "yes", "no", "5%", "100%", "0%", "Pot size", "with tax",
)  # fmt: skip
VALUES = st.one_of(
    st.sampled_from(WORDS),
    st.sampled_from((0, 1, 100, 1e9, 1e-9, 1e8, 1e-8, math.inf, math.nan, "", None)),
    st.text(max_size=8),
    st.integers(-3, 120) | st.integers(-(10**12), 10**12),
    st.floats(-2, 200) | st.floats(),
    st.booleans(),
    st.dates().map(lambda day: datetime(day.year, day.month, day.day)) | st.times() | st.timedeltas(),
    st.sampled_from(("#REF!", "#N/A")).map(ErrorValue),
)
CELLS = st.builds(
    lambda value, number_format, uncached: RawCell(value, number_format, uncached and value is None),
    VALUES,
    st.sampled_from(("General", "0.00%")),
    st.booleans(),
)
ADDRESSES = st.tuples(st.integers(0, 7), st.integers(1, 11), st.integers(1, 13))


def numbers(value: object, name: str = "") -> Iterator[tuple[str, float]]:
    """Yield every number in a result with the name of its field."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield from numbers(part, key)
    elif isinstance(value, list | tuple):
        for part in value:
            yield from numbers(part, name)
    elif isinstance(value, int | float):
        yield name, value


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(edits=st.lists(st.tuples(ADDRESSES, CELLS), min_size=1, max_size=2))
def test_anything_in_any_cell_is_a_problem_or_a_result(
    raw_book: RawBook, edits: list[tuple[tuple[int, int, int], RawCell]]
) -> None:
    """Whatever stands in a cell, nothing raises, every problem can be said, and every number worked out is one."""
    run = scale(with_cells(raw_book, edits))
    assert all(say(problem).endswith((".", "?")) for problem in run.problems)
    for batch in run.batches:
        coarse = any(warning.code == "scale_coarse" for warning in batch.warnings)
        for name, number in numbers(dataclasses.asdict(batch)):
            # Of a batch lighter than one division of its scale no lowest superfat can be told.
            assert math.isfinite(number) or (coarse and name == "superfat_low"), name
