"""Raw sheets become typed rows: headers, unknown columns, percentages, what is kept of broken rows."""

from __future__ import annotations

from datetime import datetime

import pytest

from scaler.model.problems import Place, Problem, say
from scaler.model.records import BATCHES, MOULDS, PRICES
from scaler.model.schema import CHOICE, FOOT, PERCENT, TEXT, Column, Sheet, letters
from scaler.read.cells import read_cell, shown
from scaler.read.files import ErrorValue, RawCell, RawSheet
from scaler.read.tables import Read, read_table

HEADERS = ["Ingredient", "Pack", "Pack unit", "Price"]
OIL = ["Olive oil", 5, "kg", 38]


def sheet_of(*rows: list[object], name: str = "Prices") -> RawSheet:
    """Return a sheet with these rows from row 1; None is a blank cell."""
    cells = {
        (row, column): RawCell(value, "General")
        for row, values in enumerate(rows, 1)
        for column, value in enumerate(values, 1)
        if value is not None
    }
    return RawSheet("prices.xlsx", name, cells)


def read(*rows: list[object], sheet: Sheet = PRICES) -> Read:
    """Return what rows that must have no problem are read as."""
    found = read_table(sheet, sheet_of(*rows))
    assert [say(problem) for problem in found.problems] == []
    return found


def refused(*rows: list[object], sheet: Sheet = PRICES) -> list[tuple[str, str]]:
    """Return the cell and code of every problem of these rows."""
    problems = read_table(sheet, sheet_of(*rows)).problems
    return [(problem.place.cell, problem.code) for problem in problems]


def percent(value: object, number_format: str = "General") -> float | str:
    """Return the fraction that a cell of a percent column holds, or the code of its problem."""
    fraction, problem = read_cell(RawCell(value, number_format), Column("Fill %", PERCENT, ""), Place())
    return problem.code if problem else float(fraction)


@pytest.mark.parametrize("above", [0, 2, 19])
def test_headers_may_stand_lower(above: int) -> None:
    """The header row is any of the first twenty rows, under a title and hints for example."""
    table = read(*[["Prices of the year"]] * above, HEADERS, OIL)
    assert [(record.price, record.where.place("price").cell) for record in table.records] == [(38.0, f"D{above + 2}")]


def test_headers_are_not_looked_for_below_row_20() -> None:
    """Headers in row 21 are no headers."""
    assert refused(*[["Prices"]] * 20, HEADERS, OIL) == [("A1", "header_missing")]


def test_first_row_with_all_required_headers_counts() -> None:
    """A row with some of the headers is passed over; headers further down are one problem, not data."""
    records, problems, _ = read_table(PRICES, sheet_of(["Ingredient", "Price"], HEADERS, OIL, HEADERS))
    assert [record.ingredient for record in records] == ["Olive oil"]
    assert [(problem.place.cell, problem.code) for problem in problems] == [("A4", "header_twice")]


@pytest.mark.parametrize("header", ["PRICE", " Price ", "Price*", "Price *", "Price\u00a0*", "\u200bPrice"])
def test_header_matches_as_it_is_seen(header: str) -> None:
    """Case, outer spaces of any kind and a star do not matter in a header."""
    assert read(["Ingredient*", "Pack*", "Pack\u00a0unit*", header], OIL).records[0].price == 38.0


@pytest.mark.parametrize("header", ["Fill %", "Fill%", "fill", "Fill % *"])
def test_percent_sign_of_a_header_may_be_left_out(header: str) -> None:
    """A header without its % sign is the same column: Fill left unread would count as 100 %."""
    table = read(["Mould", "Shape", header], ["Pan", "measured", 90], sheet=MOULDS)
    assert table.records[0].fill == 0.9


@pytest.mark.parametrize("header", ["Prices", "Prise", "Prcie"])
def test_header_that_is_only_alike_is_not_taken(header: str) -> None:
    """A header that is nearly one of ours is pointed at and not read."""
    records, problems, _ = read_table(PRICES, sheet_of(["Ingredient", "Pack", "Pack unit", None, header], OIL))
    assert records == []
    assert [say(problem) for problem in problems] == [
        "prices.xlsx, sheet Prices, cell E1: The header Price is missing. If column E holds it, write Price in E1; "
        "if not, add the column."
    ]


def test_missing_headers_are_one_problem() -> None:
    """A sheet without several of its headers is one problem, at the first free cell of the header row."""
    problems = read_table(PRICES, sheet_of(["Ingredient", "Colour", "Smell"], OIL)).problems
    assert [say(problem) for problem in problems] == [
        "prices.xlsx, sheet Prices, cell D1: The headers Pack, Pack unit and Price are missing. Write Pack, Pack unit "
        "and Price over the columns in row 1, or add the columns."
    ]


def test_columns_may_be_in_any_order() -> None:
    """Values go by their headers."""
    record = read(["Price", "Date", "Pack unit", "Ingredient", "Pack"], [38, None, "kg", "Olive oil", 5]).records[0]
    assert (record.ingredient, record.pack, record.price) == ("Olive oil", 5.0, 38.0)


def test_unknown_columns_are_kept() -> None:
    """A column of the maker's own is carried along under its header, as it stands."""
    row = [*OIL, "dark", 2.5, datetime(2026, 3, 4), ErrorValue("#REF!"), "late", True, None]
    headers = [*HEADERS, "Smell", 2026, "Seen", "Odd", "Smell", "Good", "Empty"]
    assert read(headers, row).records[0].extra == {
        "Smell": "dark",
        "2026": 2.5,
        "Seen": "2026-03-04",
        "Odd": "#REF!",
        "Smell (2)": "late",
        "Good": True,
    }


def test_uncached_formula_of_an_unknown_column_does_not_matter() -> None:
    """What is not read cannot be wrong."""
    raw = sheet_of([*HEADERS, "Sum"], OIL)
    raw.cells[2, 5] = RawCell(None, "General", uncached=True)
    records, problems, doubts = read_table(PRICES, raw)
    assert (problems, records[0].extra, len(doubts)) == ([], {"Sum": ""}, 1)


def test_rows_blank_in_every_known_column_are_skipped() -> None:
    """A gap, a row of spaces and a row with the maker's own remark only are no rows."""
    table = read([*HEADERS, "Smell"], [], OIL, [" ", "\u00a0", None, "\u200b"], [None, None, None, None, "dusty"], OIL)
    assert [record.where.row for record in table.records] == [3, 6]


def test_cell_far_away_does_not_matter() -> None:
    """A stray cell at the far corner of the grid is in no known column, and named."""
    raw = sheet_of(HEADERS, OIL)
    raw.cells[1_048_576, 16_384] = RawCell("stray", "General")
    records, problems, doubts = read_table(PRICES, raw)
    assert (problems, len(records)) == ([], 1)
    assert [warning.text for _, warning in doubts] == [
        "Column XFD, which has no header, is your own: it is kept and not read."
    ]


def test_rows_below_the_foot_are_refused() -> None:
    """A row below the line that ends a sheet of a finished workbook is not dropped in silence."""
    assert refused(HEADERS, OIL, [FOOT], OIL) == [("A4", "row_below")]
    assert len(read(HEADERS, OIL, [FOOT]).records) == 1


def test_every_problem_of_a_row_is_found_at_once() -> None:
    """Each bad cell of a row is a problem."""
    assert refused(HEADERS, ["Olive * oil", -1, "bucket", None], [None, 1, "kg", "x"]) == [
        ("A2", "name_sign"),
        ("C2", "unit_unknown"),
        ("D3", "number_wanted"),
    ]


def test_broken_row_keeps_what_could_be_read() -> None:
    """A row with a bad cell is a record that says which of its fields could not be read."""
    record = read_table(PRICES, sheet_of(HEADERS, ["Olive oil", "lots", "kg", None])).records[0]
    assert (record.ingredient, record.pack, record.pack_unit, record.unread) == ("Olive oil", None, "kg", ("pack",))


def test_percentages_by_what_is_typed() -> None:
    """A fraction stands in a percent cell; elsewhere a sign, or a number above 1, says what is meant; rules refuse the size."""
    assert [percent(value, "0%") for value in (0.05, 0.005, 1, 0, 1.5)] == [0.05, 0.005, 1.0, 0.0, 1.5]
    assert [percent(value) for value in (5, 100, 0, 1.01, 100.5)] == [0.05, 1.0, 0.0, 0.0101, 1.005]
    assert [percent(value) for value in (0.5, 1, 0.0001, -0.5)] == ["percent_ambiguous"] * 4
    assert [percent(text) for text in ("5%", "0.5 %", "0,5%", "5", "0")] == [0.05, 0.005, 0.005, 0.05, 0.0]
    assert [percent(text) for text in ("0.5", "1", "150%")] == ["percent_ambiguous"] * 2 + [1.5]
    assert [percent(value) for value in ("%", "five", True)] == ["number_wanted"] * 3


def test_text_in_a_percent_cell_is_read_as_text() -> None:
    """The format of a cell says nothing of a text in it."""
    assert [percent(text, "0%") for text in ("5%", "5", "0.5")] == [0.05, 0.05, "percent_ambiguous"]


@pytest.mark.parametrize("number_format", ["0%", "0.00%", "[Red]0.0%;-0.0%", "0 %", '"about "0%'])
def test_percent_formats_scale(number_format: str) -> None:
    """A number in any percent format is a fraction."""
    assert percent(0.5, number_format) == 0.5


@pytest.mark.parametrize("number_format", ["General", "0.00", '0"%"', r"0\%", "[$%-409]0"])
def test_other_formats_do_not(number_format: str) -> None:
    """A % sign that is only a letter of the format does not scale the number, so that 0.5 is ambiguous there."""
    assert (percent(0.5, number_format), percent(5, number_format)) == ("percent_ambiguous", 0.05)


def test_percentages_are_the_decimals_that_are_typed() -> None:
    """A number of percent becomes the very fraction its decimal is, without a last digit off."""
    for typed in ("33.3", "7", "0.7%", "14.1", "56.7%", "98.6"):
        assert percent(typed) == float(f"{typed.rstrip('%')}e-2")
    assert percent(33.3) == 0.333


def test_what_is_found_is_shown_as_the_maker_sees_it() -> None:
    """Values are named as they look in the spreadsheet, long texts cut short."""
    table: dict[str, object] = {
        "TRUE": True,
        "12.5": 12.5,
        "0.123456789012": 0.123456789012,
        "the date 2026-03-04": datetime(2026, 3, 4),
        "the date 2026-03-04 12:30:00": datetime(2026, 3, 4, 12, 30),
        "the error #N/A": ErrorValue("#N/A"),
        "'#N/A'": "#N/A",
        f"'{'x' * 40}…'": "x" * 200,
    }
    assert {text: shown(value) for text, value in table.items()} == {text: text for text in table}
    assert shown(0.29, scaled=True) == "29 %"


def test_texts_may_be_anything() -> None:
    """Numbers, dates and truths in a column of texts are what they look like."""
    column = Column("Notes", TEXT, "")
    for value, text in (
        (101, "101"),
        (1.5, "1.5"),
        (True, "TRUE"),
        (datetime(2026, 3, 4), "2026-03-04"),
        ("a  b", "a b"),
    ):
        assert read_cell(RawCell(value, "General"), column, Place()) == (text, None)


def test_choice_without_a_near_word_lists_them() -> None:
    """A word like none of the choices gets them all, and is told where to write one."""
    value, problem = read_cell(RawCell("xyz", "General"), Column("Base", CHOICE, "", choices=("NaOH", "KOH")), Place())
    assert value is None
    assert problem == Problem(
        Place(), "choice_unknown", "'xyz'", "NaOH or KOH", "Write NaOH or KOH.", "Base cannot be xyz."
    )


def test_sheet_with_optional_columns_only_needs_its_required_ones() -> None:
    """Columns that are not required may be left out and count as blank."""
    record = read(["Mould", "Recipe"], ["Loaf", "Plain bar"], sheet=BATCHES).records[0]
    assert (record.batch, record.moulds_filled, record.make_date) == (None, None, None)


def test_letters_of_columns() -> None:
    """Columns are lettered as spreadsheets do."""
    assert [letters(number) for number in (1, 26, 27, 702, 703, 16_384)] == ["A", "Z", "AA", "ZZ", "AAA", "XFD"]
