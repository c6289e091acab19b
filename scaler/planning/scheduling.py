"""Scheduling: a make day for every batch, as late as demand, moulds, hours, shelf and days off allow."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from scaler.formula.helpers import exceeds
from scaler.planning.candidates import Candidate
from scaler.planning.cost_program import Chosen, CostProgram, Ranges, Terms, add, meet, served
from scaler.planning.problem import Limits, Taken, Task, Wish
from scaler.planning.solver import Effort, Solution

FARTHEST = 1500
"""Days that a batch without a first make day may be made before its last one."""
HORIZON = 300
"""Days before the last one that are looked at where batches and days must be chosen together."""
TIMED = 6_000
"""Most candidates times days that are looked at together."""


def broad(task: Task) -> bool:
    """Return whether a task has more candidates and days than are looked at together."""
    first = task.limits.first
    days = HORIZON if first is None else max((wish.dates[-1] - first for wish in task.wishes), default=0)
    return len(task.candidates) * days > TIMED


def promising(task: Task, chosen: Sequence[Chosen] = ()) -> tuple[Candidate, ...]:
    """Return what a choice makes, the two cheapest moulds of each recipe, and the moulds asked for by name."""
    kept = {(item.candidate.recipe, item.candidate.mould) for item in chosen}
    for wish in task.wishes:
        cheap = sorted(task.of(wish), key=lambda item: (item.bar_cost, item.mould))
        kept |= {(item.recipe, item.mould) for item in cheap[:2]}
        kept |= {(wish.recipe, mould) for mould in wish.asked}
    return tuple(item for item in task.candidates if (item.recipe, item.mould) in kept)


@dataclass(frozen=True)
class Job:
    """A batch to be made: a candidate, the moulds it fills, and its make day (or, before that is known, its last one)."""

    candidate: Candidate
    fills: int
    day: int

    def work(self, limits: Limits, cure: int) -> dict[int, float]:
        """Return the hours of work by days after the make day: making, cutting, wrapping. -> [h]."""
        found: dict[int, float] = {}
        hours = zip(self.candidate.batch.hours, self.candidate.fill.hours, strict=True)
        for after, (batch, fill) in zip((0, limits.unmould, cure), hours, strict=True):
            if batch or fill:
                found[after] = found.get(after, 0.0) + batch + self.fills * fill
        return found

    def cure(self, task: Task) -> int:
        """Return whole days from make date to ready date."""
        return task.by_recipe[self.candidate.recipe].cure

    def taken(self, task: Task) -> Taken:
        """Return what it keeps from other batches once it is not to be changed."""
        work = {self.day + after: hours for after, hours in self.work(task.limits, self.cure(task)).items()}
        free, ready = self.day + task.limits.in_mould, self.day + self.cure(task)
        return Taken(self.candidate.mould, self.day, free, self.fills, work, self.bars, ready)

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
    """Return a recipe's batches with the last day on which each may be made; None when they do not meet the demand.

    Small batches are put off first, each for as many dates as the rest can do without it.
    """
    last = [task.limits.latest(date - wish.cure) for date in wish.dates]
    open_dates = [place for place, day in enumerate(last) if day is not None]
    batches = [(item, fills) for item, fills, count in sizes for _ in range(count)]
    batches.sort(key=lambda batch: (batch[1] * batch[0].fill.to_sell, batch[0].mould))
    if not open_dates:
        return [] if not batches and served(wish, {}) else None
    ready = {item.mould: [0.0] * len(wish.dates) for item, _ in batches}
    for item, fills in batches:
        ready[item.mould][open_dates[0]] += fills * item.fill.to_sell
    if not served(wish, ready):
        return None
    jobs = []
    for item, fills in batches:
        place = _put_off(wish, ready[item.mould], ready, fills * item.fill.to_sell, open_dates)
        jobs.append(Job(item, fills, last[place] or 0))
    return jobs


def _put_off(
    wish: Wish, own: list[float], ready: Mapping[int, list[float]], bars: float, open_dates: Sequence[int]
) -> int:
    """Move bars from the first date to the last that they may come ready for, and return that date's place."""
    low, high = 0, len(open_dates) - 1
    own[open_dates[0]] -= bars
    while low < high:
        middle = (low + high + 1) // 2
        own[open_dates[middle]] += bars
        fine = served(wish, ready)
        own[open_dates[middle]] -= bars
        low, high = (middle, high) if fine else (low, middle - 1)
    own[open_dates[low]] += bars
    return open_dates[low]


@dataclass
class Diary:
    """What is taken on each day."""

    task: Task
    moulds: Counter[tuple[int, int]] = field(default_factory=Counter)
    hours: dict[int, float] = field(default_factory=dict)
    shelf: dict[int, float] = field(default_factory=dict)

    def fits(self, job: Job) -> bool:
        """Return whether a batch can be made on its day beside what is there already."""
        mould, day, limits, cure = job.candidate.mould, job.day, self.task.limits, job.cure(self.task)
        return (
            limits.works(day)
            and not any(
                exceeds(self.hours.get(day + after, 0.0) + hours, limits.hours_on(day + after))
                for after, hours in job.work(limits, cure).items()
            )
            and all(
                self.moulds[mould, day + after] + job.fills <= limits.moulds_on(mould, day + after)
                for after in range(limits.in_mould)
            )
            and (
                limits.shelf is None
                or not any(
                    exceeds(self.shelf.get(day + after, 0.0) + job.bars, limits.room(day + after))
                    for after in range(cure)
                )
            )
        )

    def take(self, job: Job, times: int = 1) -> None:
        """Write a batch down, or with -1 strike it out."""
        limits, cure = self.task.limits, job.cure(self.task)
        for after in range(limits.in_mould):
            self.moulds[job.candidate.mould, job.day + after] += times * job.fills
        for after, hours in job.work(limits, cure).items():
            self.hours[job.day + after] = self.hours.get(job.day + after, 0.0) + times * hours
        for after in range(cure if limits.shelf is not None else 0):
            self.shelf[job.day + after] = self.shelf.get(job.day + after, 0.0) + times * job.bars


def latest(task: Task, chosen: Sequence[Chosen]) -> list[Job] | None:
    """Return the batches with their make days, each as late as it may beside the others; None when they do not fit."""
    jobs: list[Job] = []
    for wish in task.wishes:
        own = [item for item in chosen if item.candidate.recipe == wish.recipe]
        found = deadlines(task, wish, list(jobs_of(own)))
        if found is None:
            return None
        jobs += found
    diary, placed = Diary(task), []
    for job in sorted(jobs, key=lambda job: (-job.day, *job.order[1:])):
        earliest = job.day - FARTHEST if task.limits.first is None else task.limits.first
        moved = (replace(job, day=day) for day in range(job.day, earliest - 1, -1))
        fit = next((other for other in moved if diary.fits(other)), None)
        if fit is None:
            return None
        placed.append(fit)
        diary.take(fit)
    return sorted(placed, key=lambda job: job.order)


# --- counts and days together ---


class TimedProgram:
    """A program that chooses batches and their make days at once."""

    def __init__(self, task: Task, candidates: Sequence[Candidate], ranges: Ranges) -> None:
        """Begin with a variable for each candidate and day."""
        self.task = task
        self.costs = CostProgram(task, candidates, ranges)
        self.program = self.costs.program
        self.days = [self._days(item) for item in self.costs.candidates]
        self.fills: list[dict[int, int]] = []
        self.batches: list[dict[int, int]] = []
        self.held: dict[str, range] = {}
        for place, item in enumerate(self.costs.candidates):
            self._spread(place, item)
        self._demand()
        self._moulds()
        self._by_day("hours", self._work(), task.limits.hours_on)
        if task.limits.shelf is not None:
            self._by_day("shelf", self._shelf(), task.limits.room)

    def _days(self, item: Candidate) -> list[int]:
        wish, limits = self.task.by_recipe[item.recipe], self.task.limits
        last = wish.dates[-1] - wish.cure
        first = limits.first if limits.first is not None else last - HORIZON
        return [day for day in range(first, last + 1) if limits.works(day)]

    def _spread(self, place: int, item: Candidate) -> None:
        """Split a candidate's batches and fills by day."""
        most = min(self.task.limits.owned[item.mould], self.program.upper[self.costs.fills[place]])
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

    def _demand(self) -> None:
        for wish in self.task.wishes:
            ready: dict[int, list[Terms]] = {}
            for place, item in enumerate(self.costs.candidates):
                if item.recipe == wish.recipe:
                    ready[item.mould] = [
                        {
                            variable: item.fill.to_sell
                            for day, variable in self.fills[place].items()
                            if since < day + wish.cure <= date
                        }
                        for since, date in zip((-math.inf, *wish.dates), wish.dates, strict=False)
                    ]
            self._meet(wish, ready)

    def _meet(self, wish: Wish, ready: dict[int, list[Terms]]) -> None:
        meet(self.program, wish, ready)

    def _moulds(self) -> None:
        limits = self.task.limits
        for mould in limits.owned:
            places = [place for place, item in enumerate(self.costs.candidates) if item.mould == mould]
            for day in sorted({day for place in places for day in self.days[place]}):
                window = range(day - limits.in_mould + 1, day + 1)
                terms = {
                    self.fills[place][start]: 1.0 for place in places for start in window if start in self.fills[place]
                }
                self.program.row(terms, upper=limits.moulds_on(mould, day))

    def _work(self) -> dict[int, Terms]:
        """Return the hours of work on each day."""
        found: dict[int, Terms] = {}
        for place, item in enumerate(self.costs.candidates):
            stages = (0, self.task.limits.unmould, self.task.by_recipe[item.recipe].cure)
            for after, fill, batch in zip(stages, item.fill.hours, item.batch.hours, strict=True):
                for start in self.fills[place] if fill or batch else ():
                    terms = found.setdefault(start + after, {})
                    add(terms, {self.fills[place][start]: fill})
                    add(terms, {self.batches[place][start]: batch})
        return found

    def _shelf(self) -> dict[int, Terms]:
        """Return the bars that cure on each day."""
        found: dict[int, Terms] = {day: {} for day in sorted({day for days in self.days for day in days})}
        for place, item in enumerate(self.costs.candidates):
            cure = self.task.by_recipe[item.recipe].cure
            for start, variable in self.fills[place].items():
                for day in range(start, start + cure):
                    if day in found:
                        found[day][variable] = item.fill.bars
        return found

    def _by_day(self, what: str, taken: Mapping[int, Terms], most: Callable[[int], float]) -> None:
        """Hold each day to the hours there are, or to the room on the shelf."""
        before = len(self.program.rows)
        for day in sorted(taken):
            if taken[day] and not math.isinf(most(day)):
                self.program.row(taken[day], upper=most(day))
        self.held[what] = range(before, len(self.program.rows))

    def solve(self, effort: Effort) -> tuple[Solution, tuple[Chosen, ...], list[Job]]:
        """Return what was found, what is made, and when."""
        found, chosen = self.costs.solve(effort)
        return found, chosen, list(self.jobs(found)) if found.found else []

    def jobs(self, found: Solution) -> Iterator[Job]:
        """Yield the batches of a solution."""
        for place, item in enumerate(self.costs.candidates):
            for day, variable in self.fills[place].items():
                fills, batches = int(found.values[variable]), int(found.values[self.batches[place][day]])
                if fills:
                    for _, size, count in jobs_of([Chosen(item, batches, fills)]):
                        yield from [Job(item, size, day)] * count


def later(task: Task, jobs: Sequence[Job]) -> list[Job]:
    """Return the batches, each moved to the latest day that demand, moulds, hours and shelf leave it."""
    held = sorted(jobs, key=lambda job: job.order, reverse=True)
    moved = True
    while moved:
        moved = False
        for place, job in enumerate(held):
            wish = task.by_recipe[job.candidate.recipe]
            rest = held[:place] + held[place + 1 :]
            diary = Diary(task)
            for other in rest:
                diary.take(other)
            ways = (replace(job, day=day) for day in range(wish.dates[-1] - wish.cure, job.day, -1))
            found = next((other for other in ways if diary.fits(other) and met(wish, [*rest, other])), None)
            if found:
                held[place] = found
                moved = True
    return sorted(held, key=lambda job: job.order)


def met(wish: Wish, jobs: Sequence[Job]) -> bool:
    """Return whether batches meet a recipe's demand."""
    own = [job for job in jobs if job.candidate.recipe == wish.recipe]
    ready = {job.candidate.mould: [0.0] * len(wish.dates) for job in own}
    for job in own:
        place = next((place for place, date in enumerate(wish.dates) if job.day + wish.cure <= date), None)
        if place is not None:
            ready[job.candidate.mould][place] += job.to_sell
    return served(wish, ready)
