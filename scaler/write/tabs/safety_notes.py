"""Safety notes: this run's lye, and what everybody at the table must know."""

from __future__ import annotations

import textwrap

from scaler.rules.watchwords import authority, notes
from scaler.write.book import BRICK, HINT, SECTION, Book, Look
from scaler.write.tabs.shared import SAFETY, Shown, open_page

NAME = "Safety notes"

_COLUMNS = (
    Shown("Alkali g", "alkali_weigh_g", "weigh", 10, imperial="alkali_words"),
    Shown("Liquid g", "liquid_g", "one digit", 10, imperial="liquid_words"),
    Shown("Lye mL", "jug_ml", "whole", 10, imperial="lye_words"),
    Shown("Jug holds", "jug_vessel_ml", "whole", 13, imperial="jug_holds"),
    Shown("Pot holds", "pot_vessel_ml", "whole", 13, imperial="pot_holds"),
    Shown("Lye at its hottest °C", "hottest", "whole", 10, imperial="hottest_words"),
)
FIRST = (
    "Sodium and potassium hydroxide burn skin and eyes. Your supplier's safety data sheet, local codes and licensed "
    "practice come before anything on this page."
)


_SECOND_PAGE = "If it touches you"
"""The section that a printed page begins with."""
_AUTHORITY = 9
"""The column that says who says so: out of the way, beside the table of batches."""
_LETTERS = 118
"""Letters of a line of a note: it runs on under the table of batches, up to who says so."""


def write(book: Book) -> None:
    """Write the tab: what the recipes at hand make necessary, then what always holds."""
    page = open_page(book, NAME, "Safety notes", landscape=True, colour=SAFETY)
    page.put(3, 1, FIRST[:92], Look(bold=True, ink=BRICK))
    page.put(4, 1, FIRST[92:], Look(bold=True, ink=BRICK))
    row = page.batch_table(6, _COLUMNS) + 1
    page.sheet.set_column(1, 1, 36)
    page.sheet.set_column(_AUTHORITY - 1, _AUTHORITY - 1, 44)
    section = ""
    needed = 0
    for note in notes():
        if note["section"] != section:
            section = note["section"]
            page.put(row, 1, section, SECTION)
            page.sheet.set_row(row - 1, 24)
            if section == _SECOND_PAGE:
                page.sheet.set_h_pagebreaks([row - 1])
            row += 1
        if note["need"]:
            page.show(row, 2, "notes", "note_text", needed, Look(bold=True))
            page.show(row, _AUTHORITY, "notes", "note_authority", needed, HINT)
            needed += 1
        else:
            page.put(row, _AUTHORITY, authority(note), HINT)
            lines = textwrap.wrap(note["text"], _LETTERS)
            for offset, line in enumerate(lines):
                page.put(row + offset, 2, line)
            row += len(lines) - 1
        row += 1
