"""Every step of a market run, in the order in which it is worked out: after those of the batches.

In the workbook each is a live formula, on a sheet of workings of its own table.
"""

from __future__ import annotations

from scaler.formula.steps import Step
from scaler.market import days, demand, money, sell_through, shopping

STEPS: tuple[Step, ...] = (*demand.STEPS, *shopping.STEPS, *money.STEPS, *sell_through.STEPS, *days.STEPS)
"""Every step of a market run."""
