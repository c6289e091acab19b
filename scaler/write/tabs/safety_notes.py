"""Safety notes: this run's lye, and what everybody at the table must know."""

from __future__ import annotations

import csv
from importlib.resources import files

from scaler.write.book import BRICK, HINT, SECTION, Book, Look
from scaler.write.tabs.shared import SAFETY, Shown, open_page

NAME = "Safety notes"

_COLUMNS = (
    Shown("Alkali g", "alkali_g", "g", 10),
    Shown("Liquid g", "liquid_g", "g", 10),
    Shown("Lye mL", "jug_ml", "whole", 10),
    Shown("Jug, at least mL", "jug_vessel_ml", "whole", 10),
    Shown("Pot, at least mL", "pot_vessel_ml", "whole", 10),
    Shown("Lye at its hottest °C", "lye_hottest", "whole", 10, of="recipes"),
)
FIRST = (
    "Sodium and potassium hydroxide burn skin and eyes. Your supplier's safety data sheet, local codes and licensed "
    "practice come before anything on this page."
)


def notes() -> list[dict[str, str]]:
    """Return the notes: section, text, source and mark of each."""
    text = (files("scaler.model") / "data" / "safety_notes.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, "Safety notes", colour=SAFETY)
    page.put(3, 1, FIRST[:92], Look(bold=True, ink=BRICK))
    page.put(4, 1, FIRST[92:], Look(bold=True, ink=BRICK))
    row = page.batch_table(6, _COLUMNS) + 1
    page.sheet.set_column(1, 1, 60)
    section = ""
    for note in notes():
        if note["section"] != section:
            section = note["section"]
            page.put(row, 1, section, SECTION)
            row += 1
        lines = -(-len(note["text"]) // 66)
        page.put(row, 1, note["mark"], HINT)
        page.put(row, 2, note["text"], Look(wrap=True))
        page.put(row, 3, note["source"], HINT)
        page.sheet.set_row(row - 1, 15 * lines)
        row += 1
