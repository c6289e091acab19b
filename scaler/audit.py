"""Hold an edited finished workbook against what scaler makes of its inputs: what was typed over, what is out of date."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from scaler.engine import work_out
from scaler.model.own import InputChange, input_changes, input_lines
from scaler.model.problems import Place, Problem, counted
from scaler.model.records import BATCHES, SHEETS, Workshop, mixed_text
from scaler.model.schema import FOOT
from scaler.model.units import UNITS
from scaler.output import is_ours, property_of
from scaler.read.archive import RefusedFile
from scaler.read.files import StoredCell, read_book, read_cells, stored_values
from scaler.read.workshop import load
from scaler.rules.results import Run
from scaler.rules.sheets import WORDS
from scaler.rules.tables import day_of
from scaler.stored_plan import PlanLost, kept
from scaler.write.finished import DAY, MIXED, ROWS, written
from scaler.write.layout import HEADER_ROW
from scaler.write.tabs.checks import HANDED_COLUMN, HANDED_INPUTS, HANDED_OVER, HANDED_SEAL, fingerprint
from scaler.write.tabs.checks import NAME as CHECKS

Sheets = Mapping[str, Mapping[str, StoredCell]]

_BLANK = StoredCell(None)
_INPUTS = frozenset(sheet.name for sheet in SHEETS)


@dataclass(frozen=True)
class Overwritten:
    """A cell that was typed over: where, what stands there now ("" when it was emptied), and what stood there."""

    sheet: str
    cell: str
    found: object
    stood: str


@dataclass(frozen=True)
class Changed:
    """A result that is no longer what it was when the workbook was handed over."""

    result: str
    handed_over: float
    now: float


@dataclass(frozen=True)
class Report:
    """What is known of an edited workbook; it is sound when nothing is overwritten, failing or wrong.

    Attributes:
        changed: results that are not what they were when it was handed over.
        overwritten: cells outside the inputs that hold something else than scaler writes.
        failing: what else is wrong with it, in sentences.
        problems: what is wrong with its inputs.
        stale: cells whose stored result is not that of the inputs: it was not recalculated since it was edited.
        inputs: inputs that are not what they were when it was handed over; it is sound all the same.
    """

    changed: tuple[Changed, ...] = ()
    overwritten: tuple[Overwritten, ...] = ()
    failing: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    stale: tuple[str, ...] = ()
    inputs: tuple[InputChange, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether the workbook may be trusted."""
        return not (self.overwritten or self.failing or self.problems or self.stale)


def verify(path: Path) -> Report:
    """Return what an edited finished workbook is worth, worked out anew from its input sheets."""
    _, unreadable = read_book(path, lambda name: False)
    if unreadable:
        return Report(problems=tuple(unreadable))
    lengths = lengths_of(property_of(path, ROWS))
    if not is_ours(path) or not lengths:
        do = "Only a workbook written by scaler batch or scaler market can be verified."
        says = "This is not a finished workbook of scaler."
        return Report(problems=(Problem(Place(path.name), "not_ours", "another workbook", "", do, says),))
    day = property_of(path, DAY)
    workshop = _as_wired(load([path], gaps=True), lengths)
    workshop = replace(workshop, today=day_of(float(day)) if day.isdigit() else None)
    if any(problem.code.startswith(("file_", "sheet_", "header_")) for problem in workshop.problems):
        return Report(problems=workshop.problems)
    beyond = tuple(_beyond(workshop, lengths))
    if (mixed_text(workshop) or "none") != property_of(path, MIXED):
        beyond += ("A blend has other oils than this workbook was made for. Run scaler batch on the file again.",)
    if beyond:
        return Report(failing=beyond)
    try:
        return _held_against_the_inputs(path, workshop, lengths)
    except RefusedFile as refused:
        return Report(problems=(refused.problem(path.name),))


def lengths_of(text: str) -> dict[str, int]:
    """Return the rows of each table as the workbook says them, {} where it does not.

    >>> lengths_of("prices=3 card=7"), lengths_of("")
    ({'prices': 3, 'card': 7}, {})
    """
    return {name: int(count) for name, count in re.findall(r"([a-z_]+)=([0-9]+)", text)}


def _as_wired(workshop: Workshop, lengths: Mapping[str, int]) -> Workshop:
    """Return the workshop with as many rows of Batches as are wired, whatever their State; the others count as done."""
    rows = sorted((*workshop.batches, *workshop.done), key=lambda item: item.where.row)
    wired = lengths.get(BATCHES.key, len(workshop.batches))
    return replace(workshop, batches=tuple(rows[:wired]), done=tuple(rows[wired:]))


def _beyond(workshop: Workshop, lengths: Mapping[str, int]) -> Iterator[str]:
    """Yield each sheet with more rows than the workbook was wired for."""
    for sheet in SHEETS:
        rows = getattr(workshop, sheet.key)
        count = len(rows) + (sum(not item.done for item in workshop.done) if sheet is BATCHES else 0)
        if sheet.key in lengths and count > lengths[sheet.key]:
            more = f"Sheet {sheet.name} has {counted(count, 'row')}, and {lengths[sheet.key]} can be read here."
            yield f"{more} Run scaler batch on the file again to read them all."


def _held_against_the_inputs(path: Path, workshop: Workshop, lengths: Mapping[str, int]) -> Report:
    edited = read_cells(path)
    try:
        run = _worked_out(workshop, lengths, edited)
    except PlanLost as lost:
        return Report(failing=(f"{lost} Run scaler market on the file again.",))
    anew, free = written(run)
    fresh = read_cells(anew)
    gone = tuple(f"Sheet {name} is gone." for name in fresh if name not in edited)
    if gone:
        return Report(failing=gone)
    kept_cells = _handed_cells(edited[CHECKS])
    spared = {**free, CHECKS: free.get(CHECKS, set()) | set(kept_cells) | set(_handed_cells(fresh[CHECKS]))}
    overwritten = tuple(_overwritten(fresh, edited, spared))
    if fingerprint(kept_cells.values()) != property_of(path, HANDED_SEAL):
        at = min(kept_cells, key=_number, default="A1")
        overwritten += (Overwritten(CHECKS, at, "", "what was handed over, from here down"),)
    read = {problem.place for problem in workshop.problems}  # the reader says better what is wrong with a cell
    problems = (*workshop.problems, *(problem for problem in run.problems if problem.place not in read))
    values = stored_values(anew)
    stale = () if overwritten or workshop.problems else tuple(_stale(fresh, values, stored_values(path)))
    changed = tuple(_changed(edited, values))
    lines = [
        str(value)
        for value in list(kept_cells.values())[len(_HANDED_COLUMNS) * len(list(_handed_rows(edited[CHECKS]))) :]
    ]
    inputs = tuple(input_changes(lines, input_lines(workshop)))
    return Report(changed, overwritten, (), problems, stale, inputs)


def _worked_out(workshop: Workshop, lengths: Mapping[str, int], edited: Sheets) -> Run:
    """Return the run of the inputs; of a market run with the plan that the workbook holds, not the best of today."""
    if "Shopping list" not in edited:
        return work_out(workshop, lengths=lengths)
    return work_out(workshop, kept(edited, workshop), lengths)


def _overwritten(fresh: Sheets, edited: Sheets, free: Mapping[str, set[str]]) -> Iterator[Overwritten]:
    """Yield every cell outside the inputs that does not hold what scaler writes there."""
    for sheet, cells in fresh.items():
        there = edited[sheet]
        if sheet in _INPUTS:
            yield from _words_gone(sheet, cells, there)
            continue
        for cell in {**cells, **there}:
            if cell in free.get(sheet, ()):
                continue
            was, now = cells.get(cell, _BLANK), there.get(cell, _BLANK)
            if not _same(was, now):
                found = now.written or ("" if now.value is None else now.value)
                yield Overwritten(sheet, cell, found, was.written or _plain(was.value))


def _words_gone(sheet: str, cells: Mapping[str, StoredCell], there: Mapping[str, StoredCell]) -> Iterator[Overwritten]:
    """Yield each title, hint and heading of an input sheet, and its last line, that stands nowhere in its row or column.

    Columns may have been put in between, and rows: it may stand further right, the last line further down.
    """
    heads = {(_number(cell), held.value) for cell, held in there.items() if _number(cell) <= HEADER_ROW}
    for cell, held in cells.items():
        row = _number(cell)
        is_foot = held.value == FOOT and not any(other.value == FOOT for other in there.values())
        if is_foot or (row <= HEADER_ROW and held.value is not None and (row, held.value) not in heads):
            yield Overwritten(sheet, cell, there.get(cell, _BLANK).value or "", _plain(held.value))


def _same(was: StoredCell, now: StoredCell) -> bool:
    if was.written or now.written:
        return was.same_formula(now)
    return _close(was.value, now.value)


def _close(first: Any, second: Any) -> bool:
    """Return whether two values are one, numbers to the digits that every program keeps."""
    if isinstance(first, int | float) and isinstance(second, int | float):
        return math.isclose(first, second, rel_tol=1e-9, abs_tol=1e-12)
    return _text(first) == _text(second)


def _text(value: Any) -> str:
    """Return a value as text: a name that is a number, such as 1789, may stand as either."""
    return f"{value:.15g}" if isinstance(value, int | float) else str(value or "")


def _plain(value: object) -> str:
    return f"{value:.15g}" if isinstance(value, int | float) else str(value or "nothing")


def _stale(fresh: Sheets, was: Mapping[str, Mapping[str, Any]], now: Mapping[str, Mapping[str, Any]]) -> Iterator[str]:
    """Yield each formula whose stored result is not that of the inputs."""
    beside = {CHECKS: {f"B{row}" for row in _handed_rows(fresh[CHECKS])}}
    for sheet, cells in fresh.items():
        for cell, held in cells.items():
            values = was[sheet].get(cell), now.get(sheet, {}).get(cell)
            if cell in beside.get(sheet, ()):
                continue  # what is now beside what was handed over stands where its batch stood then
            if held.written and not _close(*map(_meaning, values)):
                yield f"{sheet} {cell}"


_MEANS = {word.partition("|")[2].casefold(): means for word, means in WORDS} | {
    word.casefold(): unit.word for unit in UNITS for word in unit.also
}
"""What other words of the drop-downs and of units mean, which a maker may type and scaler writes."""


def _meaning(value: Any) -> Any:
    return _MEANS.get(value.casefold(), value) if isinstance(value, str) else value


def _changed(edited: Sheets, now: Mapping[str, Mapping[str, Any]]) -> Iterator[Changed]:
    """Yield each result that stands on Checks as it was handed over, where it is another now."""
    cells = edited[CHECKS]
    there = {value: now[CHECKS].get(f"B{cell[1:]}") for cell, value in now[CHECKS].items() if cell[0] == "A"}
    for row in _handed_rows(cells):
        what, was = (cells.get(f"{letter}{row}", _BLANK).value for letter in ("A", HANDED_COLUMN))
        held = there.get(what)
        if isinstance(was, int | float) and isinstance(held, int | float) and not _close(was, held):
            yield Changed(str(what), float(was), float(held))


_HANDED_COLUMNS = ("A", HANDED_COLUMN, "D")
"""What a result that is kept is called, what it was, and whose it is."""


def _handed_cells(cells: Mapping[str, StoredCell]) -> dict[str, Any]:
    """Return the cells of Checks that keep results and inputs as they were handed over, from the first to the last."""
    places = [f"{letter}{row}" for row in _handed_rows(cells) for letter in _HANDED_COLUMNS]
    results = {cell: cells.get(cell, _BLANK).value for cell in places}
    first = next((_number(cell) for cell, held in cells.items() if held.value == HANDED_INPUTS), None)
    below = sorted((cell for cell in cells if first and _number(cell) > first), key=_place)
    return results | {cell: cells[cell].value for cell in below}


def _place(cell: str) -> tuple[int, str]:
    return _number(cell), cell


def _handed_rows(cells: Mapping[str, StoredCell]) -> Iterator[int]:
    """Yield each row of Checks that keeps a result as it was handed over."""
    row = next(
        (_number(cell) + 1 for cell, held in cells.items() if held.value == HANDED_OVER and cell[0] == HANDED_COLUMN), 0
    )
    while row and f"A{row}" in cells:
        yield row
        row += 1


def _number(cell: str) -> int:
    return int(cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
