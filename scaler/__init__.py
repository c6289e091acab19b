"""Scale cold-process soap recipes to a mould, cost the bars, and hand over one finished workbook.

    workshop = scaler.load("oils.xlsx", "moulds.xlsx", "recipes.xlsx")
    run = scaler.scale(workshop)
    scaler.write(run, "finished.xlsx")

`run.batches` holds the results as records, `run.frame()` as a pandas table. A problem in the workbooks raises
`scaler.InputError`, which lists them all; with `quiet=True` they stand in `problems` of the result instead.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import scaler.write  # noqa: F401  # first, so that loading the package of this name later does not hide the function below
from scaler.model.problems import InputError

if TYPE_CHECKING:
    from scaler.model.records import Workshop
    from scaler.rules.results import Run

__version__ = "0.1.0"
__all__ = ["InputError", "load", "scale", "write"]


def load(
    *paths: str | Path, recipe: str = "", mould: str = "", today: date | None = None, quiet: bool = False
) -> Workshop:
    """Return what the workbooks hold.

    Args:
        paths: .xlsx files; sheets are found by name across them.
        recipe: work out this recipe, in `mould`, instead of sheet Batches.
        mould: the mould of that batch.
        today: the day of the run, for workbooks that do not say it; None for the real one.
        quiet: return a workshop whose `problems` say what is wrong, instead of raising.

    Raises:
        InputError: something in the workbooks cannot be read; all problems of the workbooks are in it.
    """
    from scaler.engine import scale as work_out
    from scaler.read.workshop import Wanted
    from scaler.read.workshop import load as read

    workshop = read(paths, Wanted(recipe=recipe, mould=mould), today)
    if workshop.problems and not quiet:
        raise InputError(work_out(workshop).problems)
    return workshop


def scale(workshop: Workshop, quiet: bool = False) -> Run:
    """Return every batch worked out: weights in g, volumes in mL, shares as fractions, money as on the sheets.

    Args:
        workshop: as `load` returns it, or made by hand.
        quiet: return a run whose `problems` say what is wrong, instead of raising.

    Raises:
        InputError: what the workshop says cannot be made; all problems are in it.
    """
    from scaler.engine import scale as work_out

    run = work_out(workshop)
    if run.problems and not quiet:
        raise InputError(run.problems)
    return run


def write(run: Run, path: str | Path, force: bool = False) -> None:
    """Write the finished workbook.

    Raises:
        InputError: the run has problems, so there is nothing to write.
        scaler.output.NotReplaced: the file exists and is not ours to replace, or is open elsewhere.
    """
    from scaler.output import hand_over

    if run.problems:
        raise InputError(run.problems)
    hand_over(run, Path(path), force)
