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
from messy.base import FILE, TODAY, base, edited, faults, messages, save

from scaler.model.problems import Problem, say
from scaler.model.records import setting_declared
from scaler.read import workshop as module
from scaler.read.files import ErrorValue, RawBook, RawCell, RawSheet, read_book
from scaler.read.tables import letter_of
from scaler.read.workshop import Wanted, load
from scaler.rules.results import Run


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


def with_cells(raw_book: RawBook, edits: Sequence[tuple[tuple[int, int, int], RawCell]]) -> tuple[Run, list[Problem]]:
    """Return the run and the problems of the workbook with other cells, each at (sheet, row, column)."""
    sheets = [RawSheet(sheet.file, sheet.name, dict(sheet.cells)) for sheet in raw_book.sheets]
    for (sheet, row, column), cell in edits:
        sheets[sheet].cells[row, column] = cell
    changed = RawBook(raw_book.file, tuple(sheets), raw_book.names)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(module, "read_book", lambda _path, _wanted: (changed, []))
        return faults(Path(FILE))


# --- sheets ---


def test_sheets_are_found_across_files(tmp_path: Path) -> None:
    """It does not matter which of the files a sheet is in."""
    together, _ = load([save(base(), tmp_path)], today=TODAY)
    apart, problems = load(parted(base(), tmp_path), today=TODAY)
    assert problems == []
    assert apart == together


def test_sheet_names_match_without_case_and_outer_spaces(tmp_path: Path) -> None:
    """PRICES with spaces around it is sheet Prices; other sheets are nobody's business."""
    book = base()
    book["Prices"].title = " PRICES "
    book.create_sheet("My notes")["A1"] = "Prices"
    assert messages(save(book, tmp_path)) == []


def test_missing_sheet_is_a_problem_of_the_files(tmp_path: Path) -> None:
    """A sheet that must be there and is not is said once, with the sheets that are there."""
    book = base()
    del book["Prices"]
    assert messages(save(book, tmp_path)) == [
        (
            "sheet_missing",
            f"{FILE}, sheet Prices: found no sheet Prices, expected a sheet named Prices. Give the workbook that has "
            "it, too; here are only Ingredients, Moulds, Recipes, Recipe lines, Batches, Costs, Market.",
        )
    ]


@pytest.mark.parametrize(("sheet", "name"), [("Ingredients", "Ingrediants"), ("Recipe lines", "Recipe-lines")])
def test_misspelt_sheet_is_a_problem_at_that_sheet(tmp_path: Path, sheet: str, name: str) -> None:
    """A sheet whose name is nearly right is pointed at, and what hangs on it is not called unknown."""
    book = base()
    book[sheet].title = name
    assert messages(save(book, tmp_path)) == [
        (
            "sheet_missing",
            f"{FILE}, sheet {name}: found no sheet {sheet}, expected a sheet named {sheet}. "
            f"Is '{name}' meant? Then rename it {sheet}.",
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
            f"more.xlsx, sheet {sheet}: found sheet {sheet} a second time, expected each sheet once. "
            f"Sheet '{sheet}' of {FILE} is the same: delete or rename one of the two.",
        )
    ]


def test_prices_may_come_in_several_files(tmp_path: Path) -> None:
    """Every sheet Prices is read, as one table in the order of the files."""
    first, second = edited("Prices!A2=; Prices!B2=; Prices!C2=; Prices!D2=; Prices!F2="), base()
    for other in set(second.sheetnames) - {"Prices"}:
        del second[other]
    second["Prices"].delete_rows(3, 20)
    run, problems = faults(save(first, tmp_path), save(second, tmp_path, "shop.xlsx"))
    assert problems == []
    assert [(price.where.file, price.ingredient) for price in run.workshop.prices[7:]] == [
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
    _, problems = load([save(book, tmp_path), tmp_path / "moulds.xlsx"], today=TODAY)
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
        "Ingredients!B2=oyl; Prices!C10=kg; Prices!D3=x; Moulds!D2=-1; Recipe lines!E9=stone; "
        "Recipe lines!G6=no; Batches!E2=soon; Costs!B8=Blueday; Market!B2=0"
    )
    _, problems = faults(save(edited(edits), tmp_path))
    assert codes(problems) == [
        ("Batches", "E2", "date_wanted"),
        ("Costs", "B8", "weekday_unknown"),
        ("Ingredients", "B2", "choice_unknown"),
        ("Market", "B2", "number_small"),
        ("Moulds", "D2", "number_small"),
        ("Prices", "D3", "number_wanted"),
        ("Prices", "C10", "unit_wrong"),
        ("Recipe lines", "G6", "in_lye_wrong"),
        ("Recipe lines", "E9", "unit_unknown"),
    ]


def test_working_out_goes_on_with_what_is_whole(tmp_path: Path) -> None:
    """A mistake in one recipe does not hide what is wrong with another, even where only arithmetic shows it."""
    _, problems = faults(save(edited("Recipe lines!C2=60%; Recipes!B3=-2%; Moulds!K2="), tmp_path))
    assert codes(problems) == [
        ("Recipe lines", "C2", "shares_off"),
        ("Recipes", "B3", "superfat_negative"),
        ("Moulds", "M2", "bars_missing"),
    ]


def test_no_problem_is_the_shadow_of_another(raw_book: RawBook) -> None:
    """An error in any one cell of any sheet is the one problem at that very cell, whatever hangs on the cell."""
    for at, sheet in enumerate(raw_book.sheets):
        for row, column in sheet.cells:
            if row > 1:
                _, problems = with_cells(raw_book, [((at, row, column), RawCell(ErrorValue("#REF!"), "General"))])
                assert codes(problems) == [(sheet.name, f"{letter_of(column)}{row}", "cell_error")]


def test_no_blank_casts_a_shadow(raw_book: RawBook) -> None:
    """A cell cleared by mistake is one problem on its own sheet, or none where a blank is fine."""
    for at, sheet in enumerate(raw_book.sheets):
        for row, column in sheet.cells:
            if row > 1:
                _, problems = with_cells(raw_book, [((at, row, column), RawCell("", "General"))])
                assert len(problems) <= 1, (sheet.name, row, column, codes(problems))


@pytest.mark.parametrize(
    ("edits", "left"),
    [
        ("Ingredients!B2=oyl", []),  # Olive oil is in both recipes
        ("Ingredients!B3=oyl", ["Old card"]),
        ("Ingredients!B4=oyl", []),  # a row without a Kind may be another NaOH
        ("Ingredients!C4=x", ["Plain bar"]),
        ("Ingredients!F5=", []),  # the only NaOH, which a blank Alkali means
        ("Ingredients!G6=1", ["Plain bar"]),
        ("Recipes!I2=x", ["Old card"]),
        ("Recipe lines!C4=x", ["Old card"]),
        ("Recipe lines!A4=", []),  # the line may belong to either
        ("Moulds!B2=loaf", ["Plain bar", "Old card"]),
    ],
)
def test_recipe_is_left_out_with_what_it_hangs_on(tmp_path: Path, edits: str, left: list[str]) -> None:
    """A recipe is worked with only when its row, its lines, its ingredients and its alkalis are all right."""
    workshop, problems = load([save(edited(edits), tmp_path)], today=TODAY)
    assert len(problems) == 1
    assert [recipe.recipe for recipe in workshop.recipes] == left
    assert {line.recipe for line in workshop.lines} == set(left)


def test_batch_of_a_broken_mould_is_left_out(tmp_path: Path) -> None:
    """A batch is worked with only when its mould is right."""
    workshop, _ = load([save(edited("Moulds!B2=loaf"), tmp_path)], today=TODAY)
    assert [batch.mould for batch in workshop.batches] == ["Pebble pan"]


def test_cell_of_a_column_that_is_not_there_is_at_its_row(tmp_path: Path) -> None:
    """What belongs in a column that the sheet lacks is asked for at the row's first cell, column included."""
    book = base()
    book["Ingredients"].delete_cols(6)
    assert messages(save(book, tmp_path)) == [
        (
            "cell_blank",
            f"{FILE}, sheet Ingredients, cell A{row}: found an alkali without Base, expected NaOH or KOH. "
            "Add the column Base. Fill Base.",
        )
        for row in (5, 6)
    ]


def test_names_are_spelled_as_where_they_are_defined(tmp_path: Path) -> None:
    """A reference in other letters becomes the name itself, so that every sheet says the same."""
    workshop, problems = load([save(edited("Recipe lines!B2= olive  OIL; Batches!C2=OAK LOAF"), tmp_path)], today=TODAY)
    assert problems == []
    assert (workshop.lines[0].ingredient, workshop.batches[0].mould) == ("Olive oil", "Oak loaf")


# --- settings ---


def test_missing_settings_are_blank(tmp_path: Path) -> None:
    """Each setting has its line, in the order of the schema, blank where the workbook does not say."""
    book = base()
    del book["Costs"]
    workshop, _ = load([save(book, tmp_path)], today=TODAY)
    assert [line.setting for line in workshop.costs] == [item.name for item in setting_declared().values()]
    assert [line.value for line in workshop.costs if line.value is not None] == [TODAY]


def test_worked_out_on_is_the_day_of_the_run(tmp_path: Path) -> None:
    """A workbook that says its day keeps it, another one takes the day of the run."""
    path = save(edited("Costs!A10=Worked out on; Costs!B10=2026-11-01"), tmp_path)
    days = [line.value for line in load([path])[0].costs if line.setting == "Worked out on"]
    today = [line.value for line in load([save(base(), tmp_path)])[0].costs if line.setting == "Worked out on"]
    assert days == [date(2026, 11, 1)]
    assert today in ([date.today()], [date.fromordinal(date.today().toordinal() - 1)])


# --- batches ---


def wanted(folder: Path, **what: Any) -> tuple[list[tuple[str | None, str, str]], list[str]]:
    """Return the batches that are kept and the whole messages."""
    workshop, problems = load([save(base(), folder)], Wanted(**what), TODAY)
    kept = [(batch.batch, batch.recipe, batch.mould) for batch in workshop.batches]
    return kept, [say(problem) for problem in problems]


def test_every_batch_is_kept_unless_some_are_named(tmp_path: Path) -> None:
    """Batches are chosen by name without case; a blank name is its number."""
    first, second = ("A", "Plain bar", "Oak loaf"), ("2", "Old card", "Pebble pan")
    assert wanted(tmp_path) == ([first, second], [])
    assert wanted(tmp_path, batches=("a",)) == ([first], [])
    assert wanted(tmp_path, batches=("2", " A ")) == ([first, second], [])


def test_batch_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """A name that no batch has is refused with the names that there are."""
    message = "sheet Batches: found --batch 'C', expected the name of a batch. Write A or 2."
    assert wanted(tmp_path, batches=("C",)) == ([], [message])


def test_recipe_and_mould_make_one_batch(tmp_path: Path) -> None:
    """A recipe and a mould that are named take the place of sheet Batches."""
    assert wanted(tmp_path, recipe="old CARD", mould=" oak loaf") == ([("1", "Old card", "Oak loaf")], [])


def test_unknown_recipe_or_mould_is_refused(tmp_path: Path) -> None:
    """Each name that is not there is refused, the nearest one offered."""
    assert wanted(tmp_path, recipe="Plain", mould="Zinc tub")[1] == [
        "sheet Moulds: found --mould 'Zinc tub', expected a name on sheet Moulds. Write Oak loaf or Pebble pan.",
        "sheet Recipes: found --recipe 'Plain', expected a name on sheet Recipes. Did you mean Plain bar?",
    ]


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


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(edits=st.lists(st.tuples(ADDRESSES, CELLS), min_size=1, max_size=2))
def test_anything_in_any_cell_is_a_problem_or_a_result(
    raw_book: RawBook, edits: list[tuple[tuple[int, int, int], RawCell]]
) -> None:
    """Whatever stands in a cell, nothing raises, every problem can be said, and every number worked out is one."""
    run, problems = with_cells(raw_book, edits)
    assert all(say(problem).endswith((".", "?")) for problem in problems)
    for batch in run.batches:
        coarse = any(warning.code == "scale_coarse" for warning in batch.warnings)
        for name, number in numbers(dataclasses.asdict(batch)):
            # Of a batch lighter than one division of its scale no lowest superfat can be told.
            assert math.isfinite(number) or (coarse and name == "superfat_low"), name
