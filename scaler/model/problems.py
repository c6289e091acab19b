"""What can be wrong with an input, where it stands, and what the maker does about it.

Nothing in this package raises at a maker. Every stage returns what it could make **and** its problems;
`say` and `to_json` are the only places that turn a problem into words or into an object.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

CELL = re.compile(r"([A-Z]+)([0-9]+)")
"""Column and row of a cell's address."""
MOST_RANGES = 6
"""Ranges of cells, and batches, that are named; the rest are counted."""


@dataclass(frozen=True, order=True)
class Place:
    """Where a maker mends it: the file, the sheet and the cell, each "" when there is none to name."""

    file: str = ""
    sheet: str = ""
    cell: str = ""


@dataclass(frozen=True, order=True, repr=False)
class Problem:
    """Something that stops the job.

    Attributes:
        place: where the maker mends it.
        code: short lasting name of the kind of problem, for programs.
        found: what stands there.
        expected: what would be right.
        do: one sentence: what to do now.
        says: one sentence: what is wrong; "" when found and expected say it.
    """

    place: Place
    code: str
    found: str
    expected: str
    do: str
    says: str = ""

    def __repr__(self) -> str:
        """Return the problem as one line."""
        return f"<{self.code}: {say(self)}>"


DANGER, LOOK, NOTE = LEVELS = "danger", "look", "note"
"""How much a warning weighs, the heaviest first: may hurt someone; may be a mistake; good to know."""


@dataclass(frozen=True)
class Warning:
    """Something that may be wrong; the job goes on and every output says it."""

    code: str
    text: str
    level: str = LOOK


def nearest(word: str, known: Iterable[str]) -> list[str]:
    """Return the known words that may be this one misspelt, best first, three at most; an empty list when none may.

    Names are compared word by word: most letters of two that share "fat" or "oil" may be alike and the things are not.

    >>> nearest("olive oyl", ["Olive oil", "Palm oil", "Water"]), nearest("Epice", ["Épice"])
    (['Olive oil'], ['Épice'])
    >>> nearest("Duck fat", ["Hard fat"]), nearest("Palm kernel oil", ["Palm oil"])
    ([], [])
    """
    spelled = {_plain(name): name for name in known}
    near = difflib.get_close_matches(_plain(word), spelled, 10, 0.6)
    return [spelled[match] for match in near if _may_be(_plain(word).split(), match.split())][:3]


def _plain(name: str) -> str:
    """Return a name without case and accents."""
    return "".join(sign for sign in unicodedata.normalize("NFKD", name.casefold()) if not unicodedata.combining(sign))


def _may_be(words: Sequence[str], others: Sequence[str]) -> bool:
    """Return whether each word of the shorter name has one in the other that it may be."""
    if "".join(words) == "".join(others):
        return True
    shorter, longer = sorted((words, others), key=len)
    if len(longer) - len(shorter) > 1:
        return False
    if len(longer) > len(shorter):  # palm kernel oil is no palm oil
        return any(all(map(_alike, shorter, part)) for part in (longer[1:], longer[:-1]))
    return all(any(_alike(word, other) for other in longer) for word in shorter)


def _alike(word: str, other: str) -> bool:
    return word[:1] == other[:1] and difflib.SequenceMatcher(None, word, other).ratio() >= 0.6


def listed(items: tuple[str, ...], joined: str = "or") -> str:
    """Return words as a choice, or as a list.

    >>> listed(("box", "taper", "cylinder")), listed(("NaOH", "KOH"), "and"), listed(("NaOH",))
    ('box, taper or cylinder', 'NaOH and KOH', 'NaOH')
    """
    *most, last = items
    return f"{', '.join(most)} {joined} {last}" if most else last


def counted(count: float, one: str, many: str = "") -> str:
    """Return how many there are of a thing.

    >>> counted(1, "batch", "batches"), counted(1200, "bar")
    ('1 batch', '1,200 bars')
    """
    return f"{count:,.0f} {one if count == 1 else many or one + 's'}"


def meant(word: str, known: Iterable[str]) -> str:
    """Return the sentence that offers the nearest known words.

    >>> meant("olive oyl", ["Olive oil", "Water"])
    'Did you mean Olive oil?'
    """
    near = nearest(word, known)
    return f"Did you mean {' or '.join(near)}?" if near else ""


OPTIONS = "command line"
"""What stands for a sheet where a batch is named by options."""


def where(place: Place) -> str:
    """Return a place in words.

    >>> where(Place("oils.xlsx", "Prices", "C4"))
    'oils.xlsx, sheet Prices, cell C4'
    """
    if place.sheet == OPTIONS:
        return OPTIONS
    many = "cells" if " " in place.cell else "cell"
    parts = (place.file, f"sheet {place.sheet}" if place.sheet else "", f"{many} {place.cell}" if place.cell else "")
    return ", ".join(part for part in parts if part)


def span(cells: Iterable[str]) -> str:
    """Return cells of one column as ranges.

    >>> span(["C5", "C6", "C7", "C9"])
    'C5 to C7, C9'
    """
    found = [match for match in (CELL.fullmatch(cell) for cell in dict.fromkeys(cells)) if match]
    runs: list[list[int]] = []
    for row in sorted(int(match[2]) for match in found):
        if runs and row == runs[-1][-1] + 1:
            runs[-1].append(row)
        else:
            runs.append([row])
    letter = found[0][1]
    texts = [f"{letter}{rows[0]}" + (f" to {letter}{rows[-1]}" if len(rows) > 1 else "") for rows in runs]
    left = sum(len(rows) for rows in runs[MOST_RANGES:])
    return ", ".join(texts[:MOST_RANGES]) + (f" and {left} more" if left else "")


def asked_of(doubts: Iterable[tuple[Place, Warning]]) -> Iterator[tuple[Place, Warning]]:
    """Return what is asked about, notes apart, and where: cells of one column that are asked the same as ranges.

    >>> [place.cell for place, _ in asked_of((Place(cell=cell), Warning("day_past", "Over.")) for cell in ("C4", "C5", "D5"))]
    ['C4 to C5', 'D5']
    """
    asked: dict[tuple[str, ...], list[tuple[Place, Warning]]] = {}
    for number, (place, warning) in enumerate(doubts):
        cell = CELL.fullmatch(place.cell)
        own = (place.file, place.sheet, cell[1], warning.text) if cell else (str(number),)
        if warning.level != NOTE:
            asked.setdefault(own, []).append((place, warning))
    for (first, warning), *others in asked.values():
        cells = span([first.cell, *(place.cell for place, _ in others)]) if others else first.cell
        yield replace(first, cell=cells), warning


def say(problem: Problem) -> str:
    """Return the problem as the sentences a maker reads.

    >>> print(say(Problem(Place("oils.xlsx", "Prices", "C4"), "unit_unknown", "", "", "Write kg.", "'kilo' is no unit.")))
    oils.xlsx, sheet Prices, cell C4: 'kilo' is no unit. Write kg.
    """
    at = where(problem.place)
    text = problem.says or f"{problem.found[:1].upper()}{problem.found[1:]}: it should be {problem.expected}."
    return " ".join(part for part in (f"{at}:" if at else "", text, problem.do) if part)


class InputError(ValueError):
    """The input has problems; the message lists them all.

    Attributes:
        problems: what is wrong, in reading order.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems, and say them."""
        self.problems = tuple(problems)
        super().__init__("\n".join(say(problem) for problem in self.problems))


def to_json(problem: Problem) -> dict[str, str]:
    """Return the problem as the object of the command line's JSON."""
    return {
        "code": problem.code,
        "file": problem.place.file,
        "sheet": problem.place.sheet,
        "cell": problem.place.cell,
        "found": problem.found,
        "expected": problem.expected,
        "text": say(problem),
    }
