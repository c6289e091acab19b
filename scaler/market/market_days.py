"""Market days: on which day the bars of a row of Market must be ready, and on which day its market is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from scaler.model.records import Demand, MarketDay
from scaler.rules.results import Run
from scaler.rules.tables import day_of


def need_days(run: Run) -> list[float]:
    """Return the day by which the bars of each row of Market must be ready, as serial numbers [d]."""
    return [float(day or 0.0) for day in run.tables.column("market", "need_day")][: len(run.workshop.market)]


def dated(run: Run) -> tuple[Demand, ...]:
    """Return the rows of Market, each with the day by which its bars must be ready as Needed by."""
    days = need_days(run)
    rows: Sequence[Demand] = run.workshop.market
    return tuple(replace(row, needed_by=day_of(day)) for row, day in zip(rows, days, strict=True))


def listed_day(run: Run, place: int) -> MarketDay | None:
    """Return the row of Market days that a row (0, 1, ...) of Market names."""
    at = int(run.tables.column("market", "day_at")[place] or 0)
    return run.workshop.market_days[at - 1] if at else None


def market_date(run: Run, place: int) -> date:
    """Return the day of the market of a row (0, 1, ...) of Market: where it is not listed, the day its bars are needed."""
    listed = listed_day(run, place)
    found = listed.date if listed else day_of(need_days(run)[place])
    assert found
    return found
