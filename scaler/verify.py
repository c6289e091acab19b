"""Hold an edited finished workbook against the engine: what changed, what was typed over, what does not hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scaler.compute.batch import scale
from scaler.model import SHEETS
from scaler.output import is_ours
from scaler.problems import Place, Problem
from scaler.read.files import read_book
from scaler.read.formulas import Held, differing, read_cells
from scaler.read.workshop import load
from scaler.write.finished import finished
from scaler.write.layout import HEADER_ROW
from scaler.write.tabs.checks import HANDED_OVER
from scaler.write.tabs.checks import NAME as CHECKS

_ENGINE = "Give the file to scaler batch again."


@dataclass(frozen=True)
class Overwritten:
    """A formula that was typed over: where, and what stands there now ("" when the cell was emptied)."""

    sheet: str
    cell: str
    found: object


@dataclass(frozen=True)
class Changed:
    """A result that is no longer what it was when the workbook was handed over."""

    result: str
    handed_over: float
    now: float


@dataclass(frozen=True)
class Report:
    """What is known of an edited workbook; it is sound when nothing is overwritten, failing or wrong."""

    changed: tuple[Changed, ...] = ()
    overwritten: tuple[Overwritten, ...] = ()
    failing: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether the workbook may be trusted."""
        return not (self.overwritten or self.failing or self.problems)


def verify(path: Path) -> Report:
    """Return what an edited finished workbook is worth, worked out anew from its input sheets."""
    _, unreadable = read_book(path, lambda name: False)
    if unreadable:
        return Report(problems=tuple(unreadable))
    if not is_ours(path):
        do = "Only a workbook written by scaler batch can be verified."
        return Report(
            problems=(Problem(Place(path.name), "not_ours", "a workbook of another maker", "a finished one", do),)
        )
    workshop, problems = load([path])
    run = scale(workshop)
    if problems or run.problems:
        return Report(problems=(*problems, *run.problems))
    edited, fresh = read_cells(path), read_cells(finished(run))
    stale = tuple(_stale(fresh, edited))
    if stale:  # the formulas are those of another number of rows, so comparing them says nothing
        return Report(failing=stale)
    return Report(tuple(_changed(fresh, edited)), tuple(_overwritten(fresh, edited)))


def _overwritten(
    fresh: Mapping[str, Mapping[str, Held]], edited: Mapping[str, Mapping[str, Held]]
) -> Iterator[Overwritten]:
    for sheet, cells in fresh.items():
        for cell, held in differing(cells, edited.get(sheet, {})).items():
            found = "" if held is None else f"={held.formula}" if held.formula else held.value
            yield Overwritten(sheet, cell, found)


def _stale(fresh: Mapping[str, Mapping[str, Held]], edited: Mapping[str, Mapping[str, Held]]) -> Iterator[str]:
    """Yield what needs the engine: other rows, kinds, bases or shapes than when the workbook was written."""
    inputs = {sheet.name for sheet in SHEETS}
    for sheet, cells in fresh.items():
        if sheet in inputs or sheet == CHECKS:
            continue
        there = edited.get(sheet)
        if there is None:
            yield f"Sheet {sheet} is gone. {_ENGINE}"
            continue
        for cell, held in cells.items():
            if (
                not held.formula
                and _is_built(cells, cell)
                and not _same(held.value, there.get(cell, Held("", None)).value)
            ):
                yield f"Rows were added, or a Kind, Base or Shape changed, since the engine ran ({sheet}, {cell}). {_ENGINE}"
                return


def _is_built(cells: Mapping[str, Held], cell: str) -> bool:
    """Return whether a cell stands under a heading of what the engine noted of rows, kinds, bases and shapes."""
    letters = cell.rstrip("0123456789")
    heading = cells.get(f"{letters}{HEADER_ROW}")
    noted = heading is not None and str(heading.value) in ("rows built", "built kind", "built base", "built shape")
    return noted and int(cell.removeprefix(letters)) > HEADER_ROW


def _changed(fresh: Mapping[str, Mapping[str, Held]], edited: Mapping[str, Mapping[str, Held]]) -> Iterator[Changed]:
    now = dict(_handed_over(fresh[CHECKS]))
    for result, was in _handed_over(edited[CHECKS]):
        if result in now and abs(now[result] - was) > 1e-6:
            yield Changed(result, was, now[result])


def _handed_over(cells: Mapping[str, Held]) -> Iterator[tuple[str, float]]:
    """Yield each result and its value on sheet Checks, below the heading of what was handed over."""
    start = next((int(cell[1:]) for cell, held in cells.items() if held.value == HANDED_OVER), None)
    row = start + 1 if start else 0
    while row and f"A{row}" in cells:
        value: Any = cells.get(f"D{row}", Held("", None)).value
        if isinstance(value, int | float):
            yield str(cells[f"A{row}"].value), float(value)
        row += 1


def _same(first: object, second: object) -> bool:
    return (first or "") == (second or "")
