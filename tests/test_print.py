"""What a finished workbook prints, as LibreOffice prints it: pages, papers, nothing lost, nothing printed over another."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from opened import Whole
from partner_edits import first_two
from recalculation import soffice
from test_tabs import market_workbook
from workbooks import demo, demo_workbook

from scaler.engine import scale
from scaler.model.schema import FOOT
from scaler.model.settings import setting_declared
from scaler.rules.batch import pots
from scaler.write.finished import finished
from scaler.write.layout import FIRST_ROW
from scaler.write.tabs.checks import HANDED_INPUTS

pytestmark = pytest.mark.xdist_group("print")
"""In one process, so that each workbook is printed once."""
MOST_PAGES = 40
"""Of the demo, all tabs together."""
PAPERS = {"A4": (595, 842), "Letter": (612, 792)}
"""Points (ISO 216; ANSI Y14.1)."""
POINT = 2.0
MINOR = ("additive", "fragrance", "colour")
"""Kinds of which a recipe may have many."""
BOX = re.compile(r'xMin="([-0-9.]+)" yMin="([-0-9.]+)" xMax="([-0-9.]+)" yMax="([-0-9.]+)">([^<]*)<')
SIZE = re.compile(r'width="([0-9.]+)" height="([0-9.]+)"')
TOLD = {"&amp;": "&", "&lt;": "<", "&gt;": ">", "&quot;": '"', "&apos;": "'"}


@dataclass(frozen=True)
class Word:
    """A printed word and its box, in points from the top left."""

    left: float
    top: float
    right: float
    low: float
    text: str


@dataclass(frozen=True)
class Sheet:
    """A printed page: its size, the tab it shows, its words."""

    width: float
    height: float
    tab: str
    words: tuple[Word, ...]


@dataclass(frozen=True)
class Printed:
    """A workbook and its pages."""

    book: Whole
    pages: tuple[Sheet, ...]

    def of(self, tab: str) -> list[Sheet]:
        """Return the pages of a tab."""
        return [page for page in self.pages if page.tab == tab]


def in_ounces(more: int = 0) -> bytes:
    """Return two batches' finished workbook with cards in ounces, which is printed on Letter; more lines in a recipe."""
    workshop = first_two(demo().workshop)
    used = {item.ingredient for item in workshop.lines if item.recipe == workshop.recipes[0].recipe}
    things = [item for item in demo().workshop.ingredients if item.kind in MINOR and item.ingredient not in used][:more]
    line = next(item for item in workshop.lines if item.stage == "trace" and item.unit == "g/kg")
    lines = [
        replace(line, recipe=workshop.recipes[0].recipe, ingredient=item.ingredient, amount=1.0) for item in things
    ]
    assert len(lines) == more
    known = {item.ingredient: item for item in (*workshop.ingredients, *things)}
    workshop = replace(workshop, ingredients=tuple(known.values()), lines=(*workshop.lines, *lines))
    names = [item.name for item in setting_declared().values()]
    costs = list(workshop.costs)
    at = names.index("Display units")
    costs[at] = replace(costs[at], value="oz")
    return finished(scale(replace(workshop, costs=tuple(costs))))


def _pages(pdf: Path, tabs: list[str]) -> Iterator[Sheet]:
    text = subprocess.run(["pdftotext", "-bbox", pdf, "-"], check=True, capture_output=True, text=True).stdout
    for part in text.split("<page ")[1:]:
        size = SIZE.search(part)
        assert size
        words = [Word(*map(float, found[:4]), _told(found[4])) for found in BOX.findall(part)]
        foot = max((word.low for word in words), default=0.0) - 3
        said = " ".join(word.text for word in words if word.low > foot)
        tab = next(
            (tab for tab in tabs if re.search(rf"(^|· ){re.escape(tab)} page \d+ of \d+( · worked out .*)?$", said)),
            said,
        )
        yield Sheet(float(size[1]), float(size[2]), tab, tuple(word for word in words if word.low <= foot))


def _told(text: str) -> str:
    for code, sign in TOLD.items():
        text = text.replace(code, sign)
    return text


@pytest.fixture(scope="module")
def all_printed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Printed]:
    """Return the demo on A4 and on Letter, and its market run, printed in one go."""
    assert shutil.which("pdftotext"), "poppler-utils is not installed"
    folder = tmp_path_factory.mktemp("printed")
    books = {"A4": demo_workbook(), "Letter": Whole.of(in_ounces()), "market": market_workbook()}
    books["long"] = Whole.of(in_ounces(more=8))
    for name, book in books.items():
        (folder / f"{name}.xlsx").write_bytes(book.content)
    command = [soffice(), f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to", "pdf"]
    files = [str(folder / f"{name}.xlsx") for name in books]
    subprocess.run([*command, "--outdir", str(folder), *files], check=True, capture_output=True, timeout=300)
    return {
        name: Printed(book, tuple(_pages(folder / f"{name}.pdf", list(book.pages)))) for name, book in books.items()
    }


@pytest.fixture(params=["A4", "Letter", "market"])
def printed(all_printed: dict[str, Printed], request: pytest.FixtureRequest) -> Printed:
    """Return one of them."""
    return all_printed[request.param]


@pytest.mark.parametrize("paper", PAPERS)
def test_card_is_one_page(all_printed: dict[str, Printed], paper: str) -> None:
    """Each batch has its card on a page of its own, of the right paper, upright."""
    names = [str(demo().tables.column("batches", "batch_name")[index]) for index in pots(demo().tables)]
    names = names[:2] if paper == "Letter" else names
    pages = all_printed[paper].of("Cards")
    assert [[word.text for word in page.words if word.text in names] for page in pages] == [[name] for name in names]
    for page in pages:
        assert abs(page.width - PAPERS[paper][0]) < POINT
        assert abs(page.height - PAPERS[paper][1]) < POINT


def test_card_of_a_long_recipe_is_one_page(all_printed: dict[str, Printed]) -> None:
    """A recipe of twenty things takes no second page, and neither do the cards of the others."""
    printed = all_printed["long"]
    assert not [cell.at for cell in printed.book.pages["Cards"].cells.values() if str(cell.value).startswith("DO NOT")]
    assert len(printed.of("Cards")) == 2


def test_overview_of_the_demo_is_one_page(all_printed: dict[str, Printed]) -> None:
    """Overview, Costing and Money fit a page each."""
    for name, tab in (("A4", "Overview"), ("Letter", "Overview"), ("A4", "Costing"), ("market", "Money")):
        assert len(all_printed[name].of(tab)) == 1, (name, tab)


def test_demo_prints_few_pages(all_printed: dict[str, Printed]) -> None:
    """The demo prints no more pages than were promised; the workings print none."""
    for name in PAPERS:
        assert len(all_printed[name].pages) <= MOST_PAGES


def test_every_page_says_its_tab_and_no_workings_print(printed: Printed) -> None:
    """The foot of each page names a tab that people read, and each of those prints but a market's that nothing is on."""
    empty = {
        name for name in ("Market", "Market days", "On hand") if printed.book.pages[name].value(FIRST_ROW, 1) == FOOT
    }
    read = {name for name in printed.book.pages if not name.startswith("Workings")} - empty
    assert {page.tab for page in printed.pages} == read


def test_titles_are_repeated(printed: Printed) -> None:
    """A tab of several pages has its title on each, an input sheet its headings too; a card is a page of its own."""
    several = {page.tab for page in printed.pages if len(printed.of(page.tab)) > 1} - {"Cards"}
    assert several
    for tab in several:
        rows = (2, 3) if printed.book.pages[tab].value(3, 1) in ("Recipe", "Ingredient", "Mould", "Batch") else (2,)
        title = " ".join(str(printed.book.pages[tab].value(row, 1)) for row in rows).split()
        for page in printed.of(tab):
            assert not Counter(title) - Counter(word.text for word in page.words), (tab, title)


def test_no_word_is_lost(printed: Printed) -> None:
    """Every word of every cell with text is on the pages of its tab as often as there; but for the link back in A1."""
    lost = {}
    for tab in {page.tab for page in printed.pages}:
        cells = [cell for cell in printed.book.pages[tab].cells.values() if cell.at != "A1"]
        kept = next((place for place, cell in enumerate(cells) if cell.value == HANDED_INPUTS), len(cells))
        texts = [cell.value for cell in cells[:kept]]  # inputs as they were are not printed
        words = (word for text in texts if isinstance(text, str) for word in text.split())
        there = Counter(word for word in words if any(map(str.isalnum, word)))
        lost[tab] = there - Counter(word.text for page in printed.of(tab) for word in page.words)
    assert {tab: dict(words) for tab, words in lost.items() if words} == {}


def test_no_word_is_printed_over_another(printed: Printed) -> None:
    """Each word has its own place, and is within the page: what a cell has no room for would run into its neighbours."""
    for number, page in enumerate(printed.pages, 1):
        words = sorted(page.words, key=lambda word: word.top)
        for place, one in enumerate(words):
            within = one.left >= 0 and one.right <= page.width and one.low <= page.height
            assert within, (page.tab, number, one.text)
            for other in words[place + 1 :]:
                if other.top >= one.low:
                    break
                across = min(one.right, other.right) - max(one.left, other.left)
                down = min(one.low, other.low) - max(one.top, other.top)
                least = min(one.low - one.top, other.low - other.top)
                assert across < 0.5 or down < 0.35 * least, (page.tab, number, one.text, other.text)
