"""Take the pictures of README.md anew, from the demo's finished workbooks: python docs/pictures.py [FOLDER [WORKBOOK...]].

Needs soffice (LibreOffice Calc), pdftoppm and pdftotext (poppler), and the font Carlito, which stands for Calibri.
"""

from __future__ import annotations

import math
import re
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

PICTURES = {
    "finished": {"overview": "Overview", "card": "Cards", "costing": "Costing"},
    "market": {"plan": "Plan", "money": "Money"},
}
"""Workbooks of the demo; file name of each picture, and the sheet whose first page it shows."""

DOTS, MARGIN, LARGEST = 80, 14, 200_000
"""Dots an inch of the pictures; points left free around what is printed; bytes of a picture at most."""

WORD = re.compile(r'xMin="([0-9.]+)" yMin="([0-9.]+)" xMax="([0-9.]+)" yMax="([0-9.]+)">([^<]*)<')


@dataclass(frozen=True)
class Word:
    """A printed word and its box, in points from the top left."""

    left: float
    top: float
    right: float
    bottom: float
    text: str


def finished_demo(folder: Path, of_market: bool = True) -> Path:
    """Write the finished workbooks of the demo, that of its market run among them, and return their folder."""
    demo = folder / "demo"
    for words in (["demo", demo], ["market", demo / "finished.xlsx", "-o", demo / "market.xlsx"])[: 1 + of_market]:
        subprocess.run([sys.executable, "-m", "scaler.cli", *words], check=True, capture_output=True)
    return demo


def printed(book: Path, folder: Path) -> Path:
    """Return a workbook printed to a PDF."""
    profile = (folder / "profile").resolve().as_uri()
    convert = ["--headless", "--convert-to", "pdf", "--outdir"]
    command: list[str | Path] = ["soffice", f"-env:UserInstallation={profile}", *convert, folder, book]
    subprocess.run(command, check=True, capture_output=True)
    return folder / f"{book.stem}.pdf"


def pages(pdf: Path) -> list[list[Word]]:
    """Return the words of each page."""
    command: list[str | Path] = ["pdftotext", "-bbox", pdf, "-"]
    text = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    return [
        [
            Word(float(left), float(top), float(right), float(low), text)
            for left, top, right, low, text in WORD.findall(page)
        ]
        for page in text.split("<page ")[1:]
    ]


def footer(page: list[Word]) -> list[Word]:
    """Return the words of the lowest line: the name of the sheet, then "Page 1 of 9"."""
    lowest = max((word.bottom for word in page), default=0.0)
    return [word for word in page if word.bottom > lowest - 3]


def sheet_of(page: list[Word]) -> str:
    """Return the name of the sheet that a page shows."""
    return re.sub(r" page \d+ of \d+.*$", "", " ".join(word.text for word in footer(page))).rpartition("· ")[2]


def take(pdf: Path, number: int, page: list[Word], name: str, folder: Path) -> None:
    """Write a picture of a page (1, 2, ...), cut off below its last line."""
    foot = set(footer(page))
    low = max(word.bottom for word in page if word not in foot) + MARGIN
    height = math.ceil(low * DOTS / 72)
    page_alone = ["-f", str(number), "-l", str(number), "-singlefile"]
    command: list[str | Path] = [
        "pdftoppm",
        "-png",
        "-r",
        str(DOTS),
        "-H",
        str(height),
        *page_alone,
        pdf,
        folder / name,
    ]
    subprocess.run(command, check=True)
    size = (folder / f"{name}.png").stat().st_size
    if size > LARGEST:
        raise ValueError(f"{name}.png has {size} bytes, more than {LARGEST}")


def main(folder: Path, workbooks: Sequence[str] = tuple(PICTURES)) -> None:
    """Take every picture of some workbooks.

    Raises:
        LookupError: the demo prints no page of a sheet that is to be shown.
    """
    with tempfile.TemporaryDirectory() as held:
        demo = finished_demo(Path(held), "market" in workbooks)
        for workbook in workbooks:
            wanted = PICTURES[workbook]
            pdf = printed(demo / f"{workbook}.xlsx", Path(held))
            shown = pages(pdf)
            sheets = [sheet_of(page) for page in shown]
            for name, sheet in wanted.items():
                if sheet not in sheets:
                    raise LookupError(f"no page of sheet {sheet}, only {', '.join(dict.fromkeys(sheets))}")
                place = sheets.index(sheet)
                take(pdf, place + 1, shown[place], name, folder)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent, sys.argv[2:] or tuple(PICTURES))
