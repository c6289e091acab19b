"""Scale cold-process soap recipes to a mould, cost the bars, and hand over one finished workbook.

    workshop = scaler.load("oils.xlsx", "moulds.xlsx", "recipes.xlsx")
    run = scaler.scale(workshop)
    scaler.write(run, "finished.xlsx")

`run.batches` holds the results as records, `run.frame()` as a pandas table; `market` plans a market run, `verify` says
what became of a finished workbook. Records of the input sheets are classes of this module, from `Ingredient` to `OnHand`:
a `Workshop` can be made of them by hand. A problem in the workbooks raises `InputError`, which lists them all; with
`quiet=True` they stand in `problems` of the result instead.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import scaler.market
import scaler.write  # noqa: F401  # both first, so that loading the packages later does not hide the functions below
from scaler.model.problems import InputError

if TYPE_CHECKING:
    from scaler.audit import Report
    from scaler.market_run import MarketRun
    from scaler.model.records import (
        Batch,
        Demand,
        Ingredient,
        MarketDay,
        Mould,
        OnHand,
        Price,
        Recipe,
        RecipeLine,
        SettingLine,
        Workshop,
    )
    from scaler.rules.results import Run

__version__ = "0.1.0"
__all__ = [
    "Batch", "Demand", "Ingredient", "InputError", "MarketDay", "Mould", "OnHand", "Price", "Recipe", "RecipeLine",
    "SettingLine", "Workshop", "load", "market", "scale", "verify", "write",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    """Return a record class, loaded when it is asked for."""
    if name not in __all__:
        raise AttributeError(f"scaler has no {name}")
    from scaler.model import records

    return getattr(records, name)


def __dir__() -> list[str]:
    """Return what a user is offered."""
    return [*__all__, "__version__"]


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


def market(workshop: Workshop, last: str | Path | None = None, strict: bool = False, quiet: bool = False) -> MarketRun:
    """Return the plan of a market run: what to make in which mould on which day, what to buy, and what it earns.

    Args:
        workshop: with rows in `market`; of its batches the made and failed ones count.
        last: the finished market workbook that it was loaded from; the batches planned there are kept where that costs
            little.
        strict: refuse a demand that cannot be met whole, instead of planning as much of it as can be.
        quiet: return a market run whose `problems` say what is wrong, instead of raising.

    Raises:
        InputError: what the workshop says cannot be planned; all problems are in it.
    """
    from scaler.market.before import of_today
    from scaler.market_run import last_plan, work_out

    before = last_plan([Path(last)]) if last else None
    found = work_out(of_today(workshop, date.today()) if before else workshop, last=before, strict=strict)
    if found.problems and not quiet:
        raise InputError(found.problems)
    return found


def write(run: Run | MarketRun, path: str | Path, force: bool = False) -> None:
    """Write the finished workbook, and beside that of a market run its calendar, of the same name with .ics.

    Raises:
        InputError: the run has problems, so there is nothing to write.
        scaler.output.NotReplaced: the file exists and is not ours to replace, or is open elsewhere.
    """
    from scaler.market_run import deliver
    from scaler.output import hand_over
    from scaler.rules.results import Run

    if run.problems:
        raise InputError(run.problems)
    if isinstance(run, Run):
        hand_over(run, Path(path), force)
    else:
        deliver(run, Path(path), force, ())


def verify(path: str | Path) -> Report:
    """Return what an edited finished workbook is worth: what changed, what was typed over, and whether it is sound."""
    from scaler.audit import verify as hold

    return hold(Path(path))
