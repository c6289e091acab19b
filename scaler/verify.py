"""Hold an edited finished workbook against the engine: what changed, what was typed over, what does not hold."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scaler.engine import scale
from scaler.market.stored_plan import PlanLost, kept
from scaler.model.problems import Place, Problem
from scaler.model.records import SHEETS
from scaler.output import is_ours
from scaler.read.files import read_book
from scaler.read.formulas import StoredCell, differing, read_cells, stored
from scaler.read.workshop import load
from scaler.rules.results import Run
from scaler.write.finished import finished
from scaler.write.layout import HEADER_ROW
from scaler.write.tabs.checks import HANDED_OVER, MEND
from scaler.write.tabs.checks import NAME as CHECKS

_FIXED = ("Constants", "NaOH density", "KOH density", "Coverage", "Heat of solution", "Specific heat", "Units")
"""Sheets whose numbers depend on no input."""
_LAID_OUT = ("Weigh-out workings", "Oil shares")
"""Sheets with as many rows as the longest recipe, and the oils, asked for."""


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
    edited = read_cells(path)
    if not is_ours(path) and not list(_handed_over(edited.get(CHECKS, {}))):
        do = "Only a workbook written by scaler batch can be verified."
        return Report(
            problems=(Problem(Place(path.name), "not_ours", "a workbook of another maker", "a finished one", do),)
        )
    workshop, problems = load([path])
    run = scale(workshop)
    if problems or run.problems:
        return Report(problems=(*problems, *run.problems))
    return _held_against_the_engine(run, edited)


def _held_against_the_engine(run: Run, edited: Mapping[str, Mapping[str, StoredCell]]) -> Report:
    again = f"Give the file to scaler {'market' if _is_market(edited) else 'batch'} again."
    if not run.batches:
        return Report(failing=(f"Sheet Batches has no batch. {again}",))
    try:
        anew = _made_anew(run, edited)
    except PlanLost as lost:
        return Report(failing=(f"{lost} {again}",))
    fresh = read_cells(anew)
    stale = tuple(_stale(fresh, edited, again))
    if stale:  # the formulas are those of another number of rows, so comparing them says nothing
        return Report(failing=stale)
    overwritten = (*_overwritten(fresh, edited), *_constants(fresh, edited))
    return Report(tuple(_changed(fresh, edited)), overwritten, tuple(_failing(anew)))


def _failing(anew: bytes) -> Iterator[str]:
    """Yield each check that does not hold with what to do, from the workbook made anew."""
    cells = stored(anew, CHECKS)
    for cell, says in cells.items():
        if says == MEND:
            row = cell[1:]
            yield f"Check: {cells.get(f'A{row}')}: found {cells.get(f'B{row}')}. {cells.get(f'D{row}')}"


def _constants(
    fresh: Mapping[str, Mapping[str, StoredCell]], edited: Mapping[str, Mapping[str, StoredCell]]
) -> Iterator[Overwritten]:
    """Yield fixed numbers of the arithmetic, and unit factors, that were typed over."""
    for sheet in _FIXED:
        for cell, held in fresh.get(sheet, {}).items():
            there = edited[sheet].get(cell, StoredCell("", None))
            was = held.value
            if isinstance(was, int | float) and not held.formula and not _close(was, there.value):
                now = there.written or ("" if there.value is None else there.value)
                yield Overwritten(sheet, cell, now, f"{was:.15g}")


def _close(first: float, second: object) -> bool:
    """Return whether two numbers are one, to the digits that every program keeps."""
    return isinstance(second, int | float) and math.isclose(first, second, rel_tol=1e-12, abs_tol=1e-15)


def _made_anew(run: Run, edited: Mapping[str, Mapping[str, StoredCell]]) -> bytes:
    """Return the workbook as it is written today; of a market run with the plan that it holds, not the best of today."""
    if not _is_market(edited):
        return finished(run)
    from scaler.market.tables import refill
    from scaler.write.market import finished_market

    refill(run, kept(edited, run))
    return finished_market(run)


def _is_market(edited: Mapping[str, Mapping[str, StoredCell]]) -> bool:
    return "Shopping list" in edited


def _overwritten(
    fresh: Mapping[str, Mapping[str, StoredCell]], edited: Mapping[str, Mapping[str, StoredCell]]
) -> Iterator[Overwritten]:
    for sheet, cells in fresh.items():
        for cell, held in differing(cells, edited.get(sheet, {})).items():
            found = "" if held is None else held.written or held.value
            yield Overwritten(sheet, cell, found, cells[cell].written)


def _stale(
    fresh: Mapping[str, Mapping[str, StoredCell]], edited: Mapping[str, Mapping[str, StoredCell]], again: str
) -> Iterator[str]:
    """Yield what needs the engine: other rows, kinds, bases or shapes than when the workbook was written."""
    inputs = {sheet.name for sheet in SHEETS}
    for sheet, cells in fresh.items():
        if sheet in inputs:
            continue
        there = edited.get(sheet)
        if there is None:
            yield f"Sheet {sheet} is gone. {again}"
            continue
        if sheet in _LAID_OUT and _filled(cells) != _filled(there):
            yield f"The recipes' lines are not those that sheet {sheet} was laid out for. {again}"
            return
        for cell, held in cells.items():
            if (
                not held.formula
                and _is_built(cells, cell)
                and not _same(held.value, there.get(cell, StoredCell("", None)).value)
            ):
                yield f"Rows were added, or a Kind, Base or Shape changed, since the engine ran ({sheet}, {cell}). {again}"
                return


def _filled(cells: Mapping[str, StoredCell]) -> int:
    """Return how many cells of the first column are filled."""
    return sum(1 for cell in cells if cell.rstrip("0123456789") == "A")


def _is_built(cells: Mapping[str, StoredCell], cell: str) -> bool:
    """Return whether a cell stands under a heading of what the engine noted of rows, kinds, bases and shapes."""
    letters = cell.rstrip("0123456789")
    heading = cells.get(f"{letters}{HEADER_ROW}")
    noted = heading is not None and str(heading.value) in (
        "rows built",
        "built kind",
        "built base",
        "built name",
        "built inci",
        "built shape",
    )
    return noted and int(cell.removeprefix(letters)) > HEADER_ROW


def _changed(
    fresh: Mapping[str, Mapping[str, StoredCell]], edited: Mapping[str, Mapping[str, StoredCell]]
) -> Iterator[Changed]:
    held = zip(_handed_over(edited[CHECKS]), _handed_over(fresh[CHECKS]), strict=False)
    for (result, was), (_, now) in held:  # by place: a batch may have got another name
        if not math.isclose(was, now, rel_tol=1e-9, abs_tol=1e-12):
            yield Changed(result, was, now)


def _handed_over(cells: Mapping[str, StoredCell]) -> Iterator[tuple[str, float]]:
    """Yield each result and its value on sheet Checks, below the heading of what was handed over."""
    start = next((int(cell[1:]) for cell, held in cells.items() if held.value == HANDED_OVER), None)
    row = start + 1 if start else 0
    while row and f"A{row}" in cells:
        value: Any = cells.get(f"D{row}", StoredCell("", None)).value
        if isinstance(value, int | float):
            yield str(cells[f"A{row}"].value), float(value)
        row += 1


def _same(first: object, second: object) -> bool:
    return (first or "") == (second or "")
