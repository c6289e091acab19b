"""The market command: read, plan, write the workbook and its calendar, say what came of it."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from scaler.market.before import LastPlan, of_today
from scaler.market_run import MarketRun, work_out
from scaler.output import NotReplaced, put
from scaler.planning.solver import watched
from scaler.read.formulas import read_cells
from scaler.read.workshop import load, shown_in
from scaler.stored_plan import PLAN_SHEETS, PlanLost, stored

PATIENCE = 1.0
"""Seconds of silence after which a command says what it is doing."""


def market_run(
    files: Sequence[Path], say: Callable[[str], None], strict: bool = False, units: str | None = None
) -> MarketRun:
    """Return the market run of workbooks; its problems are those of reading too.

    Args:
        files: .xlsx files.
        say: told what is being done, once a second at most, and not in the first.
        strict: refuse a demand that cannot be met whole.
        units: metric or us, None for those of the workbook.
    """
    said = [time.monotonic()]

    def progress(text: str) -> None:
        if time.monotonic() - said[0] >= PATIENCE:
            say(f"{text} ...")
            said[0] = time.monotonic()

    workshop = shown_in(load(files), units)
    unread = any(problem.code.startswith("file_") for problem in workshop.problems)
    last = None if unread else last_plan(files)
    with watched(say):
        return work_out(of_today(workshop, date.today()) if last else workshop, progress, last, strict)


def last_plan(paths: Sequence[Path]) -> LastPlan | None:
    """Return what the finished market workbook among the files says of its plan, None where none is one."""
    for path in paths:
        try:
            found = stored(read_cells(path, PLAN_SHEETS), "money", ("first_market", "last_number"))
        except PlanLost:
            continue
        if all(found.values()):
            return LastPlan(found["first_market"][0], int(found["last_number"][0]))
    return None


def deliver(found: MarketRun, path: Path, force: bool, files: Sequence[Path]) -> Path:
    """Write the finished workbook and its calendar, and return the calendar's path.

    Raises:
        scaler.output.NotReplaced: one of the two exists and is not ours to replace, or is open elsewhere.
    """
    from scaler.handing_over import hand_over
    from scaler.market.calendar_file import calendar

    beside = path.with_suffix(".ics")
    _refuse_foreign(beside, force)
    hand_over(found.run, path, force, files)
    put(calendar(found.run, _calendars([beside, *(file.with_suffix(".ics") for file in files)])), beside)
    return beside


def _calendars(paths: Sequence[Path]) -> list[bytes]:
    """Return what calendars hold, of those that are there."""
    return [path.read_bytes() for path in dict.fromkeys(paths) if path.is_file()]


def _refuse_foreign(path: Path, force: bool) -> None:
    from scaler.market.calendar_file import PRODUCT

    if not path.exists() or force:
        return
    try:
        ours = path.is_file() and PRODUCT.encode() in path.read_bytes()
    except OSError:
        ours = False
    if not ours:
        raise NotReplaced(f"{path} exists and scaler did not make it. Write to another file, or use --force.")
