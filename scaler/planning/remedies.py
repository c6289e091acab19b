"""Where not all can be met: what would help, any plan at all, and how much can be met, dear bars before cheap ones."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from scaler.planning.cost_program import Terms, meet
from scaler.planning.problem import Limits, Task, Wish
from scaler.planning.scheduling import Job, TimedProgram, broad, later, promising
from scaler.planning.solver import INFEASIBLE, OPTIMAL, Effort, Solution

EFFORT = Effort(gap=0.01, nodes=500, steps=50_000)
"""Each question is given so much; what is not answered with it is not offered as a remedy."""
MORE_MOULDS = 20
"""Most moulds of a kind that are thought of in addition."""
EARLIER = 128
"""Most days before the first make day that are thought of."""


def limited(task: Task, **changed: object) -> Task:
    """Return the task with other limits."""
    limits: Limits = replace(task.limits, **changed)  # type: ignore[arg-type]  # fields of Limits
    return replace(task, limits=limits)


def possible(task: Task) -> bool:
    """Return whether some plan was found, whatever it costs."""
    return _solved(Free(task)).found


def shown_impossible(task: Task) -> bool:
    """Return whether it is shown that there is no plan; where a search ended early, or not all was looked at, it is not."""
    return not broad(task) and _solved(Free(task)).status == INFEASIBLE


def any_plan(task: Task) -> list[Job] | None:
    """Return the batches of some plan, each as late as it may; None when none was found."""
    program = Free(task)
    found = _solved(program)
    return later(task, list(program.jobs(found))) if found.found else None


def hours_needed(task: Task) -> float | None:
    """Return hours of work in a day with which there is a plan, to a tenth of an hour up. [h]."""
    found = _overstepped(task, "hours")
    return None if found is None else math.ceil(round((task.limits.hours + found) * 10, 6)) / 10


def shelf_needed(task: Task) -> float | None:
    """Return bars on the curing shelf with which there is a plan. -> [-]."""
    found = _overstepped(task, "shelf") if task.limits.shelf is not None else None
    return None if found is None else math.ceil(round((task.limits.shelf or 0.0) + found, 6))


def moulds_needed(task: Task, mould: int) -> int | None:
    """Return how many more of one mould make a plan possible. -> [-]."""
    program = _MoreMoulds(task, mould)
    found = _solved(program)
    return int(found.values[program.over]) if found.found else None


def _solved(program: TimedProgram) -> Solution:
    return program.program.solve(EFFORT)


def _overstepped(task: Task, what: str) -> float | None:
    program = _Overstep(task, what)
    found = _solved(program)
    return found.values[program.over] if found.found else None


class Free(TimedProgram):
    """A program in which nothing costs anything."""

    def __init__(self, task: Task) -> None:
        """Leave out what is bought."""
        super().__init__(replace(task, offers={}), promising(task) if broad(task) else task.candidates, {})
        self.program.costs = [0.0] * len(self.program.costs)


class _Overstep(Free):
    """A program that pays for each hour, or each bar on the shelf, beyond the limit of a day."""

    def __init__(self, task: Task, what: str) -> None:
        """Build the program; the limit's rows may be overstepped by one amount for all days."""
        super().__init__(task)
        self.over = self.program.variable()
        self.program.costs[self.over] = 1.0
        rows = self.program.rows
        for place in self.held[what]:
            terms, low, high = rows[place]
            rows[place] = {**terms, self.over: -1.0}, low, high


class _MoreMoulds(Free):
    """A program that pays for each mould of one kind beyond those owned."""

    def __init__(self, task: Task, mould: int) -> None:
        """Own many more of the mould, and pay for those that are used."""
        self.mould, self.over = mould, -1
        super().__init__(limited(task, owned={**task.limits.owned, mould: task.limits.owned[mould] + MORE_MOULDS}))
        self.program.costs[self.over] = 1.0

    def _moulds(self) -> None:
        before = len(self.program.rows)
        super()._moulds()
        self.over = self.program.variable(0.0, 0.0, MORE_MOULDS, True)
        of = {
            variable
            for place, item in enumerate(self.costs.candidates)
            if item.mould == self.mould
            for variable in self.fills[place].values()
        }
        rows = self.program.rows
        rows[before:] = [
            ({**terms, self.over: -1.0}, low, high - MORE_MOULDS) if of & terms.keys() else (terms, low, high)
            for terms, low, high in rows[before:]
        ]


LONGER = Effort(gap=1e-6, nodes=5_000, steps=500_000)

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
    found = program.program.solve(LONGER)
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
