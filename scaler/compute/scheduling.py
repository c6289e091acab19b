"""Scheduling: a make day for every batch, as late as demand, moulds, hours, shelf and days off allow."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from scaler.compute.candidates import Candidate
from scaler.compute.choosing import Chosen, CostProgram, Terms, add, meet
from scaler.compute.solver import Effort, Program, Solution
from scaler.compute.task import ANY, Limits, Task, Wish
from scaler.formula import exceeds

FARTHEST = 1500
"""Days that a batch without a first make day may be made before its last one."""
HORIZON = 300
"""Days before the last one that are looked at where batches and days must be chosen together."""


@dataclass(frozen=True)
class Job:
    """A batch to be made: a candidate, the moulds it fills, and its make day (or, before that is known, its last one)."""

    candidate: Candidate
    fills: int
    day: int

    @property
    def hours(self) -> float:
        """Hours of work."""
        return self.candidate.batch.hours + self.fills * self.candidate.fill.hours

    @property
    def bars(self) -> float:
        """Bars cut."""
        return self.fills * self.candidate.fill.bars

    @property
    def to_sell(self) -> float:
        """Bars fit to sell, not rounded."""
        return self.fills * self.candidate.fill.to_sell

    @property
    def order(self) -> tuple[int, int, int, int]:
        """Order of a plan: day, recipe, mould, the most moulds first."""
        return self.day, self.candidate.recipe, self.candidate.mould, -self.fills


def jobs_of(chosen: Sequence[Chosen]) -> Iterator[tuple[Candidate, int, int]]:
    """Yield the sizes of the batches: candidate, moulds filled, how many such batches; as even as may be."""
    for item in chosen:
        small, larger = divmod(item.fills, item.batches)
        for fills, count in ((small + 1, larger), (small, item.batches - larger)):
            if count:
                yield item.candidate, fills, count


def deadlines(task: Task, wish: Wish, sizes: Sequence[tuple[Candidate, int, int]]) -> list[Job] | None:
    """Return a recipe's batches with the last day on which each may be made, all in all as late as demand allows.

    None when these batches do not meet the demand.
    """
    last = [task.limits.latest(date - wish.cure) for date in wish.dates]
    program = Program()
    counts: list[list[int]] = []
    ready: dict[int, list[Terms]] = {}
    for item, fills, count in sizes:
        sums = ready.setdefault(item.mould, [{} for _ in wish.dates])
        counts.append([])
        for place, day in enumerate(last):
            late = -(day - min(day for day in last if day is not None)) if day is not None else 0
            variable = program.variable(late, 0, count if day is not None else 0, True)
            counts[-1].append(variable)
            for later in sums[place:]:
                add(later, {variable: fills * item.fill.to_sell})
        program.row(dict.fromkeys(counts[-1], 1.0), count, count)
    meet(program, wish, ready)
    found = program.solve()
    if sizes and not found.found:
        return None
    return [
        Job(item, fills, last[place] or 0)
        for (item, fills, _), variables in zip(sizes, counts, strict=True)
        for place, variable in enumerate(variables)
        for _ in range(int(found.values[variable]))
    ]


@dataclass
class Diary:
    """What is taken on each day."""

    limits: Limits
    moulds: Counter[tuple[int, int]] = field(default_factory=Counter)
    hours: dict[int, float] = field(default_factory=dict)
    shelf: dict[int, float] = field(default_factory=dict)

    def fits(self, job: Job, day: int, cure: int) -> bool:
        """Return whether a batch can be made on a day beside what is there already."""
        mould, limits = job.candidate.mould, self.limits
        return (
            limits.works(day)
            and not exceeds(self.hours.get(day, 0.0) + job.hours, limits.hours)
            and all(
                self.moulds[mould, day + after] + job.fills <= limits.owned[mould] for after in range(limits.in_mould)
            )
            and (
                limits.shelf is None
                or not any(
                    exceeds(self.shelf.get(day + after, 0.0) + job.bars, limits.room(day + after))
                    for after in range(cure)
                )
            )
        )

    def take(self, job: Job, cure: int) -> None:
        """Write a batch down."""
        for after in range(self.limits.in_mould):
            self.moulds[job.candidate.mould, job.day + after] += job.fills
        self.hours[job.day] = self.hours.get(job.day, 0.0) + job.hours
        for after in range(cure if self.limits.shelf is not None else 0):
            self.shelf[job.day + after] = self.shelf.get(job.day + after, 0.0) + job.bars


def latest(task: Task, chosen: Sequence[Chosen]) -> list[Job] | None:
    """Return the batches with their make days, each as late as it may beside the others; None when they do not fit."""
    jobs: list[Job] = []
    for wish in task.wishes:
        own = [item for item in chosen if item.candidate.recipe == wish.recipe]
        found = deadlines(task, wish, list(jobs_of(own)))
        if found is None:
            return None
        jobs += found
    diary, placed = Diary(task.limits), []
    cures = {wish.recipe: wish.cure for wish in task.wishes}
    for job in sorted(jobs, key=lambda job: (-job.day, *job.order[1:])):
        cure = cures[job.candidate.recipe]
        earliest = job.day - FARTHEST if task.limits.first is None else task.limits.first
        day = next((day for day in range(job.day, earliest - 1, -1) if diary.fits(job, day, cure)), None)
        if day is None:
            return None
        placed.append(Job(job.candidate, job.fills, day))
        diary.take(placed[-1], cure)
    return sorted(placed, key=lambda job: job.order)


# --- counts and days together ---


@dataclass(frozen=True)
class Slack:
    """How far a limit may be overstepped in a program, and what that costs: to find what would make a plan possible."""

    demand: bool = False
    moulds: bool = False
    hours: bool = False
    shelf: bool = False

    @property
    def any(self) -> bool:
        """Whether any limit may be overstepped."""
        return self.demand or self.moulds or self.hours or self.shelf


class TimedProgram:
    """A program that chooses batches and their make days at once."""

    def __init__(self, task: Task, candidates: Sequence[Candidate], slack: Slack = Slack()) -> None:
        """Begin with a variable for each candidate and day."""
        self.task, self.slack = task, slack
        self.costs = CostProgram(task, candidates)
        self.program = self.costs.program
        if slack.any:
            self.program.costs = [0.0] * len(self.program.costs)
        self.wishes = {wish.recipe: wish for wish in task.wishes}
        self.days = [self._days(item) for item in self.costs.candidates]
        self.fills: list[dict[int, int]] = []
        self.batches: list[dict[int, int]] = []
        for place, item in enumerate(self.costs.candidates):
            self._spread(place, item)
        self.over: dict[tuple[str, int], int] = {}
        self._demand()
        self._moulds()
        self._by_day("hours", {day: task.limits.hours for day in self._all_days()})
        if task.limits.shelf is not None:
            self._by_day("shelf", {day: task.limits.room(day) for day in self._all_days()})

    def _days(self, item: Candidate) -> list[int]:
        wish, limits = self.wishes[item.recipe], self.task.limits
        last = wish.dates[-1] - wish.cure
        first = limits.first if limits.first is not None else last - HORIZON
        return [day for day in range(first, last + 1) if limits.works(day)]

    def _all_days(self) -> list[int]:
        return sorted({day for days in self.days for day in days})

    def _spread(self, place: int, item: Candidate) -> None:
        """Split a candidate's batches and fills by day."""
        most = min(self.task.limits.owned[item.mould] + (99 if self.slack.moulds else 0), self.program.upper[self.costs.fills[place]])
        fills = {day: self.program.variable(0, 0, most, True) for day in self.days[place]}
        batches = fills if item.fewest == item.most == 1 else {
            day: self.program.variable(0, 0, most, True) for day in self.days[place]
        }  # fmt: skip
        for total, parts in ((self.costs.fills[place], fills), (self.costs.batches[place], batches)):
            terms: Terms = dict.fromkeys(parts.values(), -1.0)
            terms[total] = 1.0
            self.program.row(terms, 0, 0)
        if batches is not fills:
            for day in self.days[place]:
                self.program.row({fills[day]: 1, batches[day]: -item.fewest}, 0)
                self.program.row({fills[day]: 1, batches[day]: -item.most}, upper=0)
        self.fills.append(fills)
        self.batches.append(batches)

    def _excess(self, key: tuple[str, int], terms: Terms) -> None:
        """Let a row overstep its limit, at a cost."""
        if key not in self.over:
            self.over[key] = self.program.variable(1.0, 0, whole=key[0] in ("moulds", "demand"))
        terms[self.over[key]] = -1.0

    def _demand(self) -> None:
        for wish in self.task.wishes:
            ready: dict[int, list[Terms]] = {}
            for place, item in enumerate(self.costs.candidates):
                if item.recipe == wish.recipe:
                    ready[item.mould] = [
                        {
                            variable: item.fill.to_sell
                            for day, variable in self.fills[place].items()
                            if day + wish.cure <= date
                        }
                        for date in wish.dates
                    ]
            if self.slack.demand:
                short = self.over.setdefault(("demand", wish.recipe), self.program.variable(1.0))
                for sums in ready.values():
                    for terms in sums:
                        terms[short] = 1.0
            meet(self.program, wish, ready)

    def _moulds(self) -> None:
        for mould, owned in self.task.limits.owned.items():
            places = [place for place, item in enumerate(self.costs.candidates) if item.mould == mould]
            for day in sorted({day for place in places for day in self.days[place]}):
                window = range(day - self.task.limits.in_mould + 1, day + 1)
                terms = {
                    self.fills[place][start]: 1.0 for place in places for start in window if start in self.fills[place]
                }
                if self.slack.moulds:
                    self._excess(("moulds", mould), terms)
                self.program.row(terms, upper=owned)

    def _by_day(self, what: str, most: Mapping[int, float]) -> None:
        """Hold each day to the hours there are, or to the room on the shelf."""
        for day, limit in most.items():
            terms: Terms = {}
            for place, item in enumerate(self.costs.candidates):
                cure = self.wishes[item.recipe].cure
                for start in [day] if what == "hours" else range(day - cure + 1, day + 1):
                    if start not in self.fills[place]:
                        continue
                    if what == "shelf":
                        terms[self.fills[place][start]] = item.fill.bars
                        continue
                    add(terms, {self.fills[place][start]: item.fill.hours})
                    add(terms, {self.batches[place][start]: item.batch.hours})
            if getattr(self.slack, what):
                self._excess((what, 0), terms)
            if terms and not math.isinf(limit):
                self.program.row(terms, upper=limit)

    def solve(self, effort: Effort) -> tuple[Solution, tuple[Chosen, ...], list[Job]]:
        """Return what was found, what is made, and when."""
        found, chosen = self.costs.solve(effort)
        return found, chosen, list(self._jobs(found)) if found.found else []

    def _jobs(self, found: Solution) -> Iterator[Job]:
        for place, item in enumerate(self.costs.candidates):
            for day, variable in self.fills[place].items():
                fills, batches = int(found.values[variable]), int(found.values[self.batches[place][day]])
                if fills:
                    for _, size, count in jobs_of([Chosen(item, batches, fills)]):
                        yield from [Job(item, size, day)] * count


def later(task: Task, jobs: Sequence[Job]) -> list[Job]:
    """Return the batches, each moved to the latest day that demand, moulds, hours and shelf leave it."""
    cures = {wish.recipe: wish for wish in task.wishes}
    held = sorted(jobs, key=lambda job: job.order, reverse=True)
    moved = True
    while moved:
        moved = False
        for place, job in enumerate(held):
            wish = cures[job.candidate.recipe]
            rest = held[:place] + held[place + 1 :]
            diary = Diary(task.limits)
            for other in rest:
                diary.take(other, cures[other.candidate.recipe].cure)
            for day in range(wish.dates[-1] - wish.cure, job.day, -1):
                if diary.fits(job, day, wish.cure) and met(wish, [*rest, Job(job.candidate, job.fills, day)]):
                    held[place] = Job(job.candidate, job.fills, day)
                    moved = True
                    break
    return sorted(held, key=lambda job: job.order)


def met(wish: Wish, jobs: Sequence[Job]) -> bool:
    """Return whether batches meet a recipe's demand."""
    own = [job for job in jobs if job.candidate.recipe == wish.recipe]
    if set(wish.asked) <= {ANY}:
        made = (math.fsum(job.to_sell for job in own if job.day + wish.cure <= date) for date in wish.dates)
        return not any(exceeds(need, bars) for need, bars in zip(wish.needs, made, strict=True))
    program = Program()
    one = program.variable(0.0, 1.0, 1.0)
    ready: dict[int, list[Terms]] = {}
    for job in own:
        sums = ready.setdefault(job.candidate.mould, [{} for _ in wish.dates])
        for terms, date in zip(sums, wish.dates, strict=True):
            if job.day + wish.cure <= date:
                add(terms, {one: job.to_sell})
    meet(program, wish, ready)
    return program.solve().found
