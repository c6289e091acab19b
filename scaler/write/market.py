"""The finished workbook of a market run: that of its batches, with plan, shopping list, calendar and money."""

from __future__ import annotations

from scaler.rules.results import Run
from scaler.write.finished import TABS, finished
from scaler.write.tabs import calendar, market_money, plan, shopping

MARKET_TABS = (TABS[0], plan.write, shopping.write, calendar.write, market_money.write, *TABS[1:])
"""Every result tab of a market run, in order: Overview stays first."""


def finished_market(run: Run) -> bytes:
    """Return the finished workbook of a market run as the bytes of an .xlsx file."""
    return finished(run, MARKET_TABS)
