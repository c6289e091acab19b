"""Scale cold-process soap recipes to a mould, cost the bars, and hand over one finished workbook.

    workshop = scaler.load("oils.xlsx", "moulds.xlsx", "recipes.xlsx")
    run = scaler.scale(workshop)
    scaler.write(run, "finished.xlsx")

`run.batches` holds the results as records, `run.frame()` as a pandas table; `run.problems` says what is wrong.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import scaler.write  # noqa: F401  # first, so that loading the package of this name later does not hide the function below

if TYPE_CHECKING:
    from scaler.model.records import Workshop
    from scaler.rules.results import Run

__version__ = "0.1.0"
__all__ = ["load", "scale", "write"]


def load(*paths: str | Path, recipe: str = "", mould: str = "", today: date | None = None) -> Workshop:
    """Return what the workbooks hold; `problems` of the result says what is wrong with them.

    Args:
        paths: .xlsx files; sheets are found by name across them.
        recipe: work out this recipe, in `mould`, instead of sheet Batches.
        mould: the mould of that batch.
        today: the day of the run, for workbooks that do not say it; None for the real one.
    """
    from scaler.read.workshop import Wanted
    from scaler.read.workshop import load as read

    return read(paths, Wanted(recipe=recipe, mould=mould), today)


def scale(workshop: Workshop) -> Run:
    """Return every batch worked out: weights in g, volumes in mL, shares as fractions, money as on the sheets."""
    from scaler.engine import scale as work_out

    return work_out(workshop)


def write(run: Run, path: str | Path, force: bool = False) -> None:
    """Write the finished workbook.

    Raises:
        ValueError: the run has problems, so there is nothing to write.
        scaler.output.NotReplaced: the file exists and is not ours to replace, or is open elsewhere.
    """
    from scaler.model.problems import say
    from scaler.output import save
    from scaler.write.finished import finished

    if run.problems:
        raise ValueError("\n".join(say(problem) for problem in run.problems))
    save(finished(run), Path(path), force=force)
