"""Making days: the batches of a plan brought together on fewer days, so that lye is mixed and cleared away less often."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scaler.planning.problem import Task
from scaler.planning.scheduling import Diary, Job, met

TOGETHER = 6
"""Days that a batch may be moved to be made with others: our own rule."""
MANY = 100
"""Batches from which a plan is left as it is: its days are full anyway, and each move is held against all the others."""


def together(task: Task, jobs: Sequence[Job]) -> list[Job]:
    """Return the batches on fewer days: days with little work are emptied onto those near them, where all still holds.

    What is made, and what it costs, stays as it is; moulds, hours, shelf, days off and demand are kept to.
    """
    held, diary = list(jobs), Diary(task.limits)
    if len(held) > MANY:
        return sorted(held, key=lambda job: job.order)
    cures = {wish.recipe: wish.cure for wish in task.wishes}
    for job in held:
        diary.take(job, cures[job.candidate.recipe])
    for day in sorted({job.day for job in held}, key=lambda day: (diary.hours.get(day, 0.0), -day)):
        held = _emptied(task, held, diary, cures, day) or held
    return sorted(held, key=lambda job: job.order)


def _emptied(task: Task, jobs: list[Job], diary: Diary, cures: dict[int, int], day: int) -> list[Job] | None:
    """Return the batches with those of a day on other making days; None, and the diary as it was, where that cannot be."""
    held = list(jobs)
    moves: list[tuple[Job, Job, int]] = []
    near = sorted(
        {job.day for job in jobs if 0 < abs(job.day - day) <= TOGETHER}, key=lambda other: (abs(other - day), -other)
    )
    for place, job in enumerate(jobs):
        if job.day != day:
            continue
        cure, wish = (
            cures[job.candidate.recipe],
            next(item for item in task.wishes if item.recipe == job.candidate.recipe),
        )
        diary.take(job, cure, -1)
        moved = None
        for other in near:
            tried = replace(job, day=other)
            if diary.fits(tried, other, cure) and (
                other < day or met(wish, [*held[:place], tried, *held[place + 1 :]])
            ):
                moved = tried
                break
        diary.take(moved or job, cure)
        if moved is None:
            for before, after, days in moves:
                diary.take(after, days, -1)
                diary.take(before, days)
            return None
        held[place] = moved
        moves.append((job, moved, cure))
    return held
