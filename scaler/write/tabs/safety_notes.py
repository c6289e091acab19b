"""Safety notes: this run's lye, and what everybody at the table must know."""

from __future__ import annotations

import csv
from importlib.resources import files

from scaler.write.book import BRICK, HEADING, HINT, TITLE, Book, Look
from scaler.write.tabs.shared import open_page

NAME = "Safety notes"

_COLUMNS = (
    ("Alkali g", "alkali_g", "g"),
    ("Liquid g", "liquid_g", "g"),
    ("Lye mL", "jug_ml", "whole"),
    ("Lye jug, at least mL", "jug_vessel_ml", "whole"),
    ("Batter pot, at least mL", "pot_vessel_ml", "whole"),
)


def notes() -> list[dict[str, str]]:
    """Return the notes: section, text, source and mark of each."""
    text = (files("scaler.model") / "data" / "safety_notes.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME)
    for number, width in enumerate((16, 74, 12, 12, 14, 14)):
        page.sheet.set_column(number, number, width)
    page.put(1, 1, "Safety notes", TITLE)
    page.put(2, 1, "Sodium and potassium hydroxide burn skin and eyes. Your supplier's safety data sheet, local codes and "
                   "licensed practice come before anything on this page.", Look(bold=True, ink=BRICK))  # fmt: skip
    for number, header in enumerate(("Batch", "Recipe", *(column[0] for column in _COLUMNS)), 1):
        page.put(4, number, header, HEADING)
    page.sheet.set_row(3, 32)
    for index in range(page.batches):
        page.show_choice(5 + index, 1, "batch", index, Look(box=True))
        page.show_choice(5 + index, 2, "recipe", index, Look(box=True))
        for number, (_, name, unit) in enumerate(_COLUMNS, 3):
            page.show_of_batch(5 + index, number, name, index, Look(unit=unit, box=True))
    row = 6 + page.batches
    section = ""
    for note in notes():
        if note["section"] != section:
            section = note["section"]
            page.put(row, 1, section, Look(bold=True, size=13, ink=TITLE.ink))
            row += 1
        page.put(row, 1, note["mark"], HINT)
        page.put(row, 2, note["text"], Look(wrap=True))
        page.put(row, 3, note["source"], Look(size=9, ink=HINT.ink, italic=True))
        page.sheet.set_row(row - 1, 15 * (1 + len(note["text"]) // 78))
        row += 1
