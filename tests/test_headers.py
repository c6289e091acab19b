"""No filled column and no filled sheet is dropped in silence: it is read, refused or named."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import pytest

from scaler.model.records import PRICES, SHEETS
from scaler.model.schema import Column, Sheet, columns, key_of
from scaler.read.files import RawCell, RawSheet
from scaler.read.headers import match_of
from scaler.read.tables import read_table

COLUMNS = [(sheet, name) for sheet in SHEETS for name in columns(sheet.record)]
AMERICAN = (("ould", "old"), ("abour", "abor"), ("olour", "olor"))


def american(text: str) -> str:
    """Return a text in the spelling of the United States."""
    for british, theirs in AMERICAN:
        text = text.replace(british, theirs)
    return text


def slips(column: Column) -> list[str]:
    """Return five ways to get a header wrong: a letter lost, two swapped, one doubled, other words, a unit behind it."""
    header = column.header
    middle = len(header) // 2
    return [
        header[:middle] + header[middle + 1 :],
        header[: middle - 1] + header[middle] + header[middle - 1] + header[middle + 1 :],
        header[:middle] + header[middle] + header[middle:],
        american(header) if american(header) != header else f"My {header.lower()} here",
        f"{header} (furlongs)",
    ]


def outcome(sheet: Sheet, name: str, header: str) -> str:
    """Return what becomes of a sheet with one row, every column filled, one of them under another header."""
    declared = columns(sheet.record)
    cells = {}
    for number, (field, column) in enumerate(declared.items(), 1):
        cells[1, number] = RawCell(header if field == name else column.header, "General")
        cells[2, number] = RawCell("x", "General")
    place = list(declared).index(name)
    read = read_table(sheet, RawSheet("book.xlsx", sheet.name, cells))
    at_header = [problem for problem in read.problems if problem.code.startswith("header_")]
    if at_header:
        said = f"{at_header[0].says} {at_header[0].do}"
        assert declared[name].header in said
        return "refused"
    if any(warning.code == "not_read" and header in warning.text for _, warning in read.doubts):
        return "named"
    letter = chr(65 + place)
    read_there = [record for record in read.records if record.where.letters.get(name) == letter]
    return "read" if read_there else "dropped"


def outcomes() -> Iterator[tuple[str, str]]:
    """Yield what becomes of five slips in every header, with what was slipped."""
    for sheet, name in COLUMNS:
        for header in slips(columns(sheet.record)[name]):
            yield f"{sheet.name}: {header}", outcome(sheet, name, header)


def test_no_slip_in_a_header_is_dropped() -> None:
    """Five slips in every column of every sheet: each is read, refused with our name in the message, or named."""
    found = dict(outcomes())
    assert [slip for slip, what in found.items() if what == "dropped"] == []
    counted = Counter(found.values())
    assert counted["read"] + counted["refused"] > counted["named"]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_every_other_word_is_read_as_its_column(sheet: Sheet) -> None:
    """A listed word is read as its own column, with United States spelling and a star too, and as no other."""
    for name, column in columns(sheet.record).items():
        for word in (column.header, *column.also):
            for text in (word, f"{word} *", word.upper(), american(word)):
                match = match_of(text, sheet.record)
                assert match is not None, text
                assert match.field == name, text


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_no_word_means_two_columns(sheet: Sheet) -> None:
    """No spelling stands for two columns of one sheet."""
    keys = Counter(
        key
        for column in columns(sheet.record).values()
        for key in {key_of(word) for word in (column.header, *column.also)}
    )
    assert [key for key, count in keys.items() if count > 1] == []


def test_merged_headers_are_named_as_such() -> None:
    """A column whose header is merged with its neighbour's is not called the maker's own."""
    cells = {
        (1, number): RawCell(text, "General")
        for number, text in enumerate(("Ingredient", "Pack", "Pack unit", "Price"), 1)
    }
    cells |= {(2, number): RawCell(value, "General") for number, value in enumerate(("Olive oil", 5, "kg", 38, 4), 1)}
    read = read_table(PRICES, RawSheet("book.xlsx", "Prices", cells, ("D1:E1",)))
    assert [(problem.place.cell, problem.code, problem.says) for problem in read.problems] == [
        ("E1", "header_merged", "The headers D1:E1 are merged into one.")
    ]
