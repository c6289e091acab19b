"""The list of things to mend as people see it: what is said of several batches stands there once, with their names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scaler.model.records import BATCHES
from scaler.model.schema import letters
from scaler.validation.issues import TODO_LINES, issue_of
from scaler.validation.rule import LEVEL_WEIGHT
from scaler.write.book import HEADING, Book
from scaler.write.layout import Layout
from scaler.write.said import column_number, said_of

_COLUMNS = ("of batch", "sentence", "said above", "for batches", "order", "shown from")
"""What stands beside table todo: of the issue on a line, and in the last column which of them that line shows."""


@dataclass(frozen=True)
class Line:
    """A line of the list of issues, the heaviest first.

    Attributes:
        batch: the batch whose row it is about, "" for something else; a refusal is said for each cell, so it has none.
        sentence: what stands in the cell and what is said of it; alike for several batches.
        is_there: whether there is an issue.
        above: how often the sentence stands on lines above.
        batches: names of the batches of which it is said, from this line down.
    """

    batch: str = ""
    sentence: str = ""
    is_there: bool = False
    above: int = 0
    batches: str = ""


def lines(layout: Layout) -> list[Line]:
    """Return the lines of the list of issues."""
    keys = layout.tables.column("said", "said_key")[:TODO_LINES]
    held = [_batch_and_sentence(layout, key) for key in keys]
    found = []
    for place, (key, (batch, sentence)) in enumerate(zip(keys, held, strict=True)):
        above = sum(_alike(one, sentence) for _, one in held[:place])
        named = [batch, *(name for name, one in held[place + 1 :] if _alike(one, sentence))]
        is_there = issue_of(key, layout.tables) is not None
        found.append(Line(batch, sentence, is_there, above, ", ".join(named) if batch else ""))
    return found


def shown_from(layout: Layout) -> list[int]:
    """Return for each line that people see which line of the list of issues it shows (1, 2, ...), 0 for none."""
    found = [place for place, line in enumerate(lines(layout), 1) if line.is_there and not line.above]
    return found + [0] * (TODO_LINES - len(found))


def _batch_and_sentence(layout: Layout, key: float) -> tuple[str, str]:
    issue = issue_of(key, layout.tables)
    if issue is None or issue.rule.table != BATCHES.key or key < LEVEL_WEIGHT:
        return "", ""
    said = said_of(layout, key)
    name = str(layout.tables.column("batches", "batch_name")[issue.index] or "")
    stands = said.value if isinstance(said.value, str) else ""
    return name, f"{stands}: {said.words}" if name else ""


def _alike(one: str, other: str) -> bool:
    """Return whether a workbook takes two sentences for the same."""
    return bool(one) and one.casefold() == other.casefold()


def beside(layout: Layout, name: str, line: int) -> str:
    """Return the address of what stands beside a line (0, 1, ...) of the list of issues."""
    stand = layout.stands["todo"]
    letter = letters(len(stand.columns) + 1 + _COLUMNS.index(name))
    return f"{stand.sheet}!${letter}${stand.first + line}"


def beside_all(layout: Layout, name: str, first: int = 0, last: int = TODO_LINES - 1) -> str:
    """Return the address of what stands beside lines of the list of issues."""
    return f"{beside(layout, name, first)}:{beside(layout, name, last).rpartition('!')[2]}"


def write_listed(book: Book, layout: Layout) -> None:
    """Write beside the list of issues which batches each is about, and which lines people see."""
    stand = layout.stands["todo"]
    page = book.file.get_worksheet_by_name(stand.sheet)
    for number, name in enumerate(_COLUMNS, len(stand.columns) + 1):
        book.put(page, stand.first - 1, number, name, HEADING)
    held, shown = lines(layout), shown_from(layout)
    for place, line in enumerate(held):
        order = sum(one.is_there and not one.above for one in held[: place + 1])
        values = line.batch, line.sentence, line.above, line.batches, order, shown[place]
        _write_line(book, layout, place, values)


def _write_line(book: Book, layout: Layout, place: int, values: Sequence[str | int]) -> None:
    stand = layout.stands["todo"]
    page = book.file.get_worksheet_by_name(stand.sheet)
    for number, (formula, value) in enumerate(
        zip(_formulas(layout, place), values, strict=True), len(stand.columns) + 1
    ):
        book.live(page, stand.first + place, number, f"={formula}", value)


def _formulas(layout: Layout, place: int) -> Iterator[str]:
    """Yield the formulas that stand beside a line of the list of issues."""
    stand, said = layout.stands["todo"], layout.stands["said"]
    names = (
        *(layout.letters_of("said", name) for name in ("said_key", "issue_at")),
        *(letters(column_number(layout, name)) for name in ("line", "value", "sheet", "words")),
    )
    key, issue, row, value, sheet, words = (f"{said.sheet}!${letter}${said.first + place}" for letter in names)
    batches, weight = layout.range("batches", "batch_name"), layout.one("constants", "level_weight")
    of, sentence, above = (beside(layout, name, place) for name in _COLUMNS[:3])
    name = f"INDEX({batches},{row}-ROW({batches.rpartition(':')[0]})+1)"
    yield f'IF({issue}=0,"",IF(OR({key}<{weight},{sheet}<>"{BATCHES.name}"),"",{name}&""))'
    yield f'IF({of}="","",IF(ISTEXT({value}),{value},"")&": "&{words})'
    over = beside_all(layout, "sentence", 0, place - 1)
    yield f'IF({sentence}="",0,SUMPRODUCT(--({over}={sentence})))' if place else "0"
    if place + 1 < TODO_LINES:
        same = f"{beside_all(layout, 'sentence', place + 1)}={sentence}"
        rows = beside_all(layout, "sentence", place + 1)
        big = layout.one("constants", "big")
        first = f"SUMPRODUCT(MIN({big}*(1-({same}))+ROW({rows})))-ROW({sentence})"
        below = f"INDEX({beside_all(layout, 'for batches', place + 1)},{first})"
        yield f'IF({of}="","",{of}&IFERROR(", "&{below},""))'
    else:
        yield of
    counts = f"IF(OR({issue}=0,{above}>0),0,1)"
    yield f"{beside(layout, 'order', place - 1)}+{counts}" if place else counts
    line = f"{stand.sheet}!${layout.letters_of('todo', 'line')}${stand.first + place}"
    yield f"IFERROR(MATCH({line},{beside_all(layout, 'order')},0),0)"
