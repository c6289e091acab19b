"""The tabs of a finished workbook: their order and number, the ways between them, and what can be told apart on paper."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from xml.etree import ElementTree

import pytest
from opened import MAIN, Whole
from workbooks import demo_workbook

import scaler
from scaler.market_run import work_out
from scaler.output import DEMO_FILES, shipped
from scaler.write.finished import finished

RESULTS, MARKET = ["Cards", "Costing", "Checks", "Safety notes"], ["Plan", "Shopping list", "Calendar", "Money"]
INPUTS = [
    "Ingredients", "Prices", "Moulds", "Recipes", "Recipe lines", "Batches", "Costs", "Market", "Market days", "On hand",
]  # fmt: skip
KNOWN = ["Alkali", "Superfat", "Sources"]
MOST_TABS = {"demo": 24, "market": 30}
ENOUGH_CONTRAST = 4.5
"""Of text to its ground: WCAG 2.2, success criterion 1.4.3."""
EDGE_CONTRAST = 3.0
"""Of a line that tells an input cell: WCAG 2.2, success criterion 1.4.11."""
ERRORS = ("#VALUE!", "#REF!", "#NAME?", "#DIV/0!", "#N/A", "#NUM!", "#NULL!")


@cache
def market_workbook() -> Whole:
    """Return the finished workbook of the demo's market run."""
    run = work_out(scaler.load(*(shipped() / name for name in DEMO_FILES))).run
    return Whole.of(finished(run))


@pytest.fixture(params=sorted(MOST_TABS))
def kind(request: pytest.FixtureRequest) -> str:
    """Return which workbook is looked at."""
    return str(request.param)


@pytest.fixture
def book(kind: str) -> Whole:
    """Return the workbook that is looked at."""
    return demo_workbook() if kind == "demo" else market_workbook()


# --- order, number, ways ---


def test_tabs_stand_in_the_order_of_the_contract(kind: str, book: Whole) -> None:
    """Results, safety, the sheets to change, how it is known, then at most four sheets of workings; none a batch."""
    names = list(book.pages)
    market = MARKET if kind == "market" else []
    read = ["Overview", *market, *RESULTS, *INPUTS, *KNOWN]
    assert names[: len(read)] == read
    workings = names[len(read) :]
    assert len(workings) <= 4
    assert all(name.startswith("Workings") for name in workings)
    assert len(names) <= MOST_TABS[kind]


def test_no_tab_is_hidden(book: Whole) -> None:
    """Nothing is kept from the partner."""
    assert {page.state for page in book.pages.values()} == {"visible"}


def links(page: ElementTree.Element) -> dict[str, str]:
    """Return where the cells of a sheet link to, by address."""
    found = page.iter(f"{MAIN}hyperlink")
    return {link.attrib["ref"]: link.get("location", "").replace("'", "") for link in found}


def test_overview_leads_to_every_tab_and_back(book: Whole) -> None:
    """Overview links to each tab that people read and to the workings, and cell A1 of each links back."""
    read = [name for name in book.pages if name != "Overview" and not name.startswith("Workings")]
    assert sorted(links(book.pages["Overview"].root).values()) == sorted(f"{name}!A1" for name in (*read, "Workings"))
    assert {links(book.pages[name].root).get("A1") for name in read} == {"Overview!A1"}


def test_batch_leads_to_its_card(book: Whole) -> None:
    """The name of each batch on Overview links to the row of Cards where its own card begins."""
    cards, found = book.pages["Cards"], 0
    for cell in book.pages["Overview"].cells.values():
        if match := re.search(r'HYPERLINK\("#Cards!A(\d+)"', cell.formula):
            assert cards.value(int(match[1]), 7) == cell.value
            found += 1
    assert found == len(
        {cell.value for cell in cards.cells.values() if cell.column == 7 and isinstance(cell.value, str)} - {"lot"}
    )


def test_no_cell_holds_an_error(book: Whole) -> None:
    """No stored value is an error."""
    wrong = [
        (page.title, cell.at) for page in book.pages.values() for cell in page.cells.values() if cell.value in ERRORS
    ]
    assert wrong == []


# --- what a card says in which order ---


def test_lye_and_its_liquid_stand_together_at_the_head_of_each_card(book: Whole) -> None:
    """The liquid comes first, the alkali that goes into it right after, and nothing to weigh stands below a blank row."""
    cards = book.pages["Cards"]
    heads = [cell.row for cell in cards.cells.values() if cell.value == "Weigh in this order, alkali in a dry cup"]
    assert heads
    for head in heads:
        end = min(cell.row for cell in cards.cells.values() if cell.row > head and str(cell.value).startswith("If lye"))
        shown = [str(cards.value(row, 4)) for row in range(head + 1, end)]
        used = [bool(weight) for weight in shown]
        assert used == sorted(used, reverse=True)
        stages = [stage for row in range(head + 1, end) if (stage := cards.value(row, 2))]
        assert stages[:2] == ["lye liquid", "lye"]
        assert len(stages) == len(set(stages))


# --- what can be read, and told apart ---


@dataclass(frozen=True)
class Style:
    """How a cell looks: ink, ground, its left edge and that edge's colour, and whether it is locked."""

    ink: str
    ground: str
    edge: str
    edge_ink: str
    ruled: bool
    locked: bool


def _colour(holder: ElementTree.Element | None, path: str, default: str) -> str:
    found = holder.find(path, {"m": MAIN.strip("{}")}) if holder is not None else None
    return found.get("rgb", f"FF{default}")[2:] if found is not None and not found.get("theme") else default


def styles_of(book: Whole) -> tuple[list[Style], list[tuple[str, str]]]:
    """Return the styles of a workbook by number, and ink and ground of each conditional format that has both."""
    root = ElementTree.fromstring(zipfile.ZipFile(BytesIO(book.content)).read("xl/styles.xml"))
    fonts, fills, borders = (list(root.find(f"{MAIN}{name}") or ()) for name in ("fonts", "fills", "borders"))
    found = []
    for style, locked in zip(root.find(f"{MAIN}cellXfs") or (), book.locked, strict=True):
        font, fill, border = (
            held[int(style.get(name, 0))]
            for held, name in ((fonts, "fontId"), (fills, "fillId"), (borders, "borderId"))
        )
        left, bottom = border.find(f"{MAIN}left"), border.find(f"{MAIN}bottom")
        assert left is not None
        found.append(
            Style(
                _colour(font, "m:color", "000000"),
                _colour(fill, "m:patternFill/m:fgColor", "FFFFFF"),
                left.get("style", ""),
                _colour(left, "m:color", "000000"),
                bottom is not None and bool(bottom.get("style")),
                locked,
            )
        )
    shown = [
        (
            _colour(item.find(f"{MAIN}font"), "m:color", "000000"),
            _colour(item.find(f"{MAIN}fill"), "m:patternFill/m:bgColor", "FFFFFF"),
        )
        for item in root.find(f"{MAIN}dxfs") or ()
        if item.find(f"{MAIN}font") is not None
    ]
    return found, shown


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour such as 2F5D50 (WCAG 2.2, relative luminance)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours (WCAG 2.2, contrast ratio)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_that_of_the_standard() -> None:
    """Black on white is 21 : 1, a colour on itself 1 : 1 (WCAG 2.2)."""
    assert contrast("000000", "FFFFFF") == pytest.approx(21.0)
    assert contrast("2F5D50", "2F5D50") == 1.0
    assert contrast("777777", "FFFFFF") < ENOUGH_CONTRAST < contrast("767676", "FFFFFF")


def styled(book: Whole) -> Iterator[tuple[str, str, int]]:
    """Yield sheet, address and style of every cell, blank ones too."""
    for page in book.pages.values():
        for cell in page.root.iter(f"{MAIN}c"):
            yield page.title, cell.attrib["r"], int(cell.get("s", 0))


def test_all_text_can_be_read(book: Whole) -> None:
    """Every ink has contrast enough with its ground, conditional formats too."""
    styles, conditional = styles_of(book)
    pairs = {(styles[number].ink, styles[number].ground) for _, _, number in styled(book)} | set(conditional)
    assert {pair: contrast(*pair) for pair in pairs if contrast(*pair) < ENOUGH_CONTRAST} == {}
    assert len(pairs) > 5


def test_inputs_are_told_from_results_in_grey(book: Whole) -> None:
    """A cell to fill has a strong left edge that stands out in grey, or is a line to write on; no other cell has either."""
    styles, _ = styles_of(book)
    faint, edged_results, inputs = [], [], 0
    for sheet, at, number in styled(book):
        style = styles[number]
        edged = style.edge == "medium" and contrast(style.edge_ink, style.ground) >= EDGE_CONTRAST
        if style.locked and (edged or style.ground == "FBF6D9") and at != _key_of_colours(book, sheet):
            edged_results.append((sheet, at))
        elif not style.locked:
            inputs += 1
            faint += [(sheet, at)] if not edged and not (sheet == "Cards" and style.ruled) else []
    assert edged_results == []
    assert faint == []
    assert inputs > 100


def _key_of_colours(book: Whole, sheet: str) -> str:
    """Return the cell of Overview that shows what an input looks like."""
    cells = book.pages[sheet].cells.values() if sheet == "Overview" else ()
    return next((cell.at for cell in cells if cell.value == "yours"), "")
