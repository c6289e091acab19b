"""Printed by LibreOffice on A4 and on Letter, every tab can be read, and a card is one page."""

from __future__ import annotations

import re
import runpy
import shutil
import zipfile
from collections import Counter
from itertools import takewhile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from market_runs import market_run
from recalculation import soffice
from workbooks import demo

from scaler.market.run import work_out
from scaler.write.finished import finished
from scaler.write.market import finished_market

ROOT = Path(__file__).parent.parent
PICTURES = runpy.run_path(str(ROOT / "docs" / "pictures.py"))
PAPERS = {"A4": ("9", 595.3, 841.9), "Letter": ("1", 612.0, 792.0)}
"""Number of the paper in Office Open XML; its sides in points."""
TOUCH, SAME_LINE = 1.0, 0.5
"""Points by which words may overlap sideways; part of a word's height by which words of one line overlap at least."""


def on_paper(content: bytes, number: str, path: Path) -> Path:
    """Write a workbook with every sheet set to a paper, and return its path."""
    source = path.with_suffix(".source.xlsx")
    source.write_bytes(content)
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(path, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            if name.startswith("xl/worksheets/sheet"):
                text = re.sub(rb' paperSize="\d+"', b"", text)
                text = text.replace(b"<pageSetup", f'<pageSetup paperSize="{number}"'.encode())
            new.writestr(name, text)
    return path


Printed = dict[str, list[list[Any]]]
"""Words of each page of each sheet."""


PRINTED = [
    pytest.param((book, paper), marks=pytest.mark.xdist_group(f"{book}-{paper}"), id=f"{book}-{paper}")
    for book in ("demo", "market")
    for paper in PAPERS
]
"""The tests of one book on one paper run in one process, so that it is printed once."""


@pytest.fixture(scope="module", params=PRINTED)
def printed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str, Printed]:
    """Return a finished workbook, its paper, and what it prints."""
    soffice()
    assert shutil.which("pdftotext")
    name, paper = request.param
    folder = tmp_path_factory.mktemp(name)
    content = finished(demo()) if name == "demo" else finished_market(work_out(market_run(11)).run)
    path = on_paper(content, PAPERS[paper][0], folder / "printed.xlsx")
    pages: Printed = {}
    for page in PICTURES["pages"](PICTURES["printed"](path, folder)):
        pages.setdefault(PICTURES["sheet_of"](page), []).append(page)
    return path, paper, pages


def test_every_card_is_one_page(printed: tuple[Path, str, Printed]) -> None:
    """Each weigh-out card is one page."""
    path, _, pages = printed
    cards = [name for name in openpyxl.load_workbook(path).sheetnames if name.startswith("Card ")]
    assert cards
    assert {name: len(pages[name]) for name in cards} == dict.fromkeys(cards, 1)


def test_every_sheet_prints(printed: tuple[Path, str, Printed]) -> None:
    """No sheet prints nothing, and no number is too wide for its column."""
    path, _, pages = printed
    assert list(pages) == openpyxl.load_workbook(path).sheetnames
    wide = [(sheet, word.text) for sheet, held in pages.items() for page in held for word in page if "###" in word.text]
    assert wide == []


def test_nothing_runs_off_the_paper(printed: tuple[Path, str, Printed]) -> None:
    """Every word lies between the edges of the paper, upright or across."""
    _, paper, pages = printed
    short, long = PAPERS[paper][1:]
    out = []
    for sheet, held in pages.items():
        for page in held:
            right, low = max(word.right for word in page), max(word.bottom for word in page)
            left, top = min(word.left for word in page), min(word.top for word in page)
            fits = (right <= short and low <= long) or (right <= long and low <= short)
            if not fits or left < 0 or top < 0:
                out.append(sheet)
    assert out == []


def covered(page: list[Any]) -> list[tuple[str, str]]:
    """Return pairs of words that lie over one another: a text is cut off by what stands beside or above it."""

    def over(one: Any, other: Any) -> bool:
        across = min(one.right, other.right) - max(one.left, other.left)
        down = min(one.bottom, other.bottom) - max(one.top, other.top)
        return bool(across > TOUCH and down > SAME_LINE * min(one.bottom - one.top, other.bottom - other.top))

    rows = sorted(page, key=lambda word: word.top)
    near = ((one, other) for place, one in enumerate(rows) for other in takewhile(
        lambda word: word.top < one.bottom, rows[place + 1 :]  # noqa: B023
    ))  # fmt: skip
    return sorted({(one.text, other.text) for one, other in near if over(one, other)})


def test_no_text_is_cut_off(printed: tuple[Path, str, Printed]) -> None:
    """No word of a tab lies over another."""
    pages = printed[2]
    found = {sheet: pairs for sheet, held in pages.items() if (pairs := [p for page in held for p in covered(page)])}
    assert found == {}


def test_words_of_every_result_are_printed(printed: tuple[Path, str, Printed]) -> None:
    """Every word that stands in a cell of a card is on its page, as often as it stands there."""
    path, _, pages = printed
    book = openpyxl.load_workbook(path, data_only=True)
    for name in (name for name in book.sheetnames if name.startswith("Card ")):
        stands = Counter(
            word
            for row in book[name].iter_rows()
            for cell in row
            if isinstance(cell.value, str)
            for word in cell.value.split()
        )
        there = Counter(word.text for page in pages[name] for word in page)
        assert stands - there == Counter(), name


def test_card_says_its_bars(printed: tuple[Path, str, Printed]) -> None:
    """A card's head says how many bars its batch makes, as Overview does."""
    path, _, pages = printed
    sheets = {sheet.title: sheet for sheet in openpyxl.load_workbook(path, data_only=True)}
    bars = next(column[0].column for column in sheets["Overview"].iter_cols() if column[0].value == "Bars")
    for index in range(sum(name.startswith("Card ") for name in sheets)):
        words = pages[f"Card {index + 1}"][0]
        label = next(word for word in words if word.text == "Bars")
        beside = [word for word in words if abs(word.bottom - label.bottom) < 5 and word.left > label.right]
        value = min(beside, key=lambda word: word.left).text
        assert value == f"{sheets['Overview'].cell(2 + index, bars).value:,.0f}"
