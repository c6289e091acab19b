"""Least shortfall: how much of a demand that cannot be met whole can be met, dear bars before cheap ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from scaler.planning.cost_program import Terms, meet
from scaler.planning.problem import Task, Wish
from scaler.planning.remedies import Free
from scaler.planning.scheduling import Job, broad, later
from scaler.planning.solver import OPTIMAL, Effort

EFFORT = Effort(gap=1e-6, nodes=5_000, steps=500_000)

Key = tuple[int, int, int]
"""A recipe's row, a mould's row or ANY, a serial day."""


@dataclass(frozen=True)
class Shortfall:
    """What cannot be there.

    Attributes:
        bars: bars missing of each recipe, mould (or ANY) and date.
        task: the task with what can be met.
        jobs: batches that meet it.
        least: whether it is shown that no plan is short of less.
    """

    bars: Mapping[Key, int]
    task: Task
    jobs: tuple[Job, ...]
    least: bool


def least_shortfall(task: Task, price: Mapping[Key, float]) -> Shortfall | None:
    """Return the shortfall that loses the least money, None when none was found.

    Args:
        task: what is asked.
        price: what a bar brings, by recipe, mould and date. [money]
    """
    program = _Short(task, price)
    found = program.program.solve(EFFORT)
    if not found.found:
        return None
    bars = {key: round(found.values[variable]) for key, variable in program.short.items()}
    rest = replace(task, wishes=tuple(_less(wish, bars) for wish in task.wishes))
    jobs = later(rest, list(program.jobs(found)))
    return Shortfall(
        {key: count for key, count in bars.items() if count},
        rest,
        tuple(jobs),
        found.status == OPTIMAL and not broad(task),
    )


def _less(wish: Wish, bars: Mapping[Key, int]) -> Wish:
    asked = {
        mould: tuple(
            count - bars.get((wish.recipe, mould, date), 0) for count, date in zip(counts, wish.dates, strict=True)
        )
        for mould, counts in wish.asked.items()
    }
    return replace(wish, asked={mould: counts for mould, counts in asked.items() if any(counts)} or asked)


class _Short(Free):
    """A program that pays for each bar that is not there, at its price."""

    def __init__(self, task: Task, price: Mapping[Key, float]) -> None:
        """Build the program; demand may be missed."""
        self.short: dict[Key, int] = {}
        super().__init__(task)
        for key, variable in self.short.items():
            self.program.costs[variable] = max(price.get(key, 1.0), 1e-3)

    def _meet(self, wish: Wish, ready: dict[int, list[Terms]]) -> None:
        missed: dict[tuple[int, int], int] = {}
        meet(self.program, wish, ready, missed)
        self.short |= {(wish.recipe, mould, wish.dates[place]): variable for (mould, place), variable in missed.items()}
