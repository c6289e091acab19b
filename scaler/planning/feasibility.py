"""Why there is no plan, in words: which day, which limit, and what would make it possible."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date

from scaler.formula.steps import Tables
from scaler.model.problems import Place, Problem, counted
from scaler.model.records import MARKET, Workshop
from scaler.model.schema import serial
from scaler.model.settings import setting_declared
from scaler.planning.problem import WEEK, Task, Wish
from scaler.planning.remedies import (
    EARLIER,
    hours_needed,
    limited,
    moulds_needed,
    possible,
    shelf_needed,
    shown_impossible,
)
from scaler.planning.solver import interrupted
from scaler.rules.tables import day_of

Progress = Callable[[str], None]

STOPPED_CODE = "market_stopped"
"""Code of the problem that no plan was found, though there may be one."""

_REASONS = {
    "pot_small": "its batter does not fit the pot",
    "jug_small": "its lye does not fit the jug",
    "batch_tiny": "its alkali is less than the scale can weigh",
    "bar_light": "its bars are lighter than Least bar weight of Costs",
    "hours_short": "one batch takes longer than Hours per day of Costs",
    "shelf_small": "one batch has more bars than Shelf bars of Costs",
}


def nothing_wanted(workshop: Workshop) -> Iterator[Problem]:
    """Yield the problem of a workshop without a market."""
    if not workshop.market:
        do = "Fill Recipe, Bars and Day, or Needed by instead of Day."
        says = "No bars are wanted: sheet Market has no row."
        if MARKET.key not in workshop.sheets:
            says, do = (
                "No bars are wanted: there is no sheet Market.",
                f"Add it, and in it fill{do.removeprefix('Fill')}",
            )
        yield Problem(Place("", "Market"), "market_missing", "no bars wanted", "at least one row", do, says)


def unpriced(workshop: Workshop, tables: Tables) -> Iterator[Problem]:
    """Yield everything without a price that a wanted recipe takes: plans are chosen by what they cost."""
    wanted = {item.recipe for item in workshop.market}
    recipes = [place + 1 for place, item in enumerate(workshop.recipes) if item.recipe in wanted]
    rows = (
        zip(tables.column(table, "recipe_at"), tables.column(table, "ingredient_at"), strict=True)
        for table in ("lines", "alkalis")
    )
    for thing in sorted({int(thing) for held in rows for recipe, thing in held if recipe in recipes and thing}):
        if tables.column("ingredients", "is_priced")[thing - 1] != 1:
            item = workshop.ingredients[thing - 1]
            says = f"{item.ingredient} has no price, and scaler plans a market run by cost."
            do = "Add a row on Prices: what a pack holds and what it costs, 0 if it is free."
            yield Problem(item.where.place("ingredient"), "price_missing", "no price", "a row on Prices", do, says)


def impossible(workshop: Workshop, task: Task) -> Iterator[Problem]:
    """Yield what no plan can meet, whatever else is made: no mould for a recipe, too little time for a cure."""
    if len(task.limits.days_off) == WEEK:
        lines = (item for item in workshop.costs if item.setting == setting_declared()["days_off"].name)
        place = next((item.where.place("value") for item in lines), Place("", "Costs"))
        do = "Take a weekday out of Days off."
        yield _problem(place, "Every weekday is a day off", do)
        return
    late: list[Problem] = []
    for wish in task.wishes:
        if wish.needs[-1] <= 0 and not any(mould >= 0 for mould in wish.asked):
            continue
        made_in = {item.mould for item in task.of(wish)}
        if not made_in:
            yield _no_mould(workshop, task, wish)
            continue
        missing = [mould for mould in wish.asked if mould >= 0 and mould not in made_in]
        yield from (_no_such_mould(workshop, task, wish, mould) for mould in missing)
        if not missing:
            late += _too_late(workshop, task, wish)
    for first in late[:1]:
        helps = [f"Set {day}: then every bar can be there. Or" for day in _earlier(task)]
        do = f"{helps[0]} {first.do[:1].lower()}{first.do[1:]}" if helps else first.do
        yield replace(first, do=do)
    yield from late[1:]


def _problem(place: Place, says: str, do: str) -> Problem:
    return Problem(place, "market_infeasible", says, "", do, f"{says}.")


def _place(workshop: Workshop, recipe: str, mould: str | None = None, day: date | None = None) -> Place:
    for item in workshop.market:
        if item.recipe == recipe and mould in (None, item.mould) and day in (None, item.needed_by):
            place: Place = item.where.place("mould" if mould else "needed_by" if day else "recipe")
            return place
    return Place("", "Market")


def _no_mould(workshop: Workshop, task: Task, wish: Wish) -> Problem:
    name = workshop.recipes[wish.recipe].recipe
    reasons = [
        f"{workshop.moulds[mould].mould}: {_REASONS.get(reason, reason)}"
        for (recipe, mould), reason in task.refused.items()
        if recipe == wish.recipe
    ]
    do = f"{'; '.join(reasons) or 'No mould is owned'}. Change that limit, or own another mould."
    place = _place(workshop, name)
    return _problem(place, f"{name} can be made in no mould", do)


def _no_such_mould(workshop: Workshop, task: Task, wish: Wish, mould: int) -> Problem:
    name, named = workshop.recipes[wish.recipe].recipe, workshop.moulds[mould].mould
    reason = task.refused.get((wish.recipe, mould), "")
    why = _REASONS.get(reason, "none is owned")
    found = f"{name} cannot be made in mould {named}: {why}"
    do = "Change that limit, name another mould, or leave Mould blank."
    return _problem(_place(workshop, name, named), found, do)


def _too_late(workshop: Workshop, task: Task, wish: Wish) -> Iterator[Problem]:
    """Yield the first day for which a batch would have to be made before the first make day."""
    first = task.limits.first
    for day, need in zip(wish.dates, wish.needs, strict=True):
        if need > 0 and first is not None and task.limits.latest(day - wish.cure) is None:
            name, needed = workshop.recipes[wish.recipe].recipe, day_of(day)
            anyway = replace(task.limits, first=None).latest(day - wish.cure)
            what = "First make day" if first > task.limits.today else "today"
            latest = f"a make day by {day_of(anyway)}" if anyway is not None else "a day of work"
            found = f"{counted(need, 'bar')} of {name} by {needed} need{'s' * (need == 1)} {latest}; {what} is {day_of(first)}"
            do = f"Move the day to {day_of(first + wish.cure)} or later, or take the bars off."
            if anyway is None:
                do = f"Take fewer Days off. {do}"
            yield _problem(_place(workshop, name, None, needed), found, do)
            return


def not_found(workshop: Workshop, task: Task, progress: Progress) -> Problem:
    """Return the problem of a run whose search ended before a plan was found: there may be one."""
    place = workshop.market[0].where.place("bars")
    says = "The search ended before a plan for all bars was found; there may be one."
    if interrupted():
        return Problem(place, STOPPED_CODE, says, "", "Run the command again, and let it search on.", says)
    progress("Looking for what would make it possible")
    helps = list(_remedies(workshop, task))
    do = (
        f"With one of these there is a plan: {'; '.join(helps)}."
        if helps
        else "Naming the mould in more rows of Market makes the search shorter."
    )
    return Problem(place, STOPPED_CODE, says, "", do, says)


def why_not(workshop: Workshop, task: Task, progress: Progress) -> Problem:
    """Return the problem of a run that has no plan: its first day that cannot be met, and what would help."""
    progress("Looking for the day that cannot be met")
    day = _first_unmet(task)
    progress("Looking for what would make it possible")
    helps = list(_remedies(workshop, task))
    bars = sum(item.bars for item in workshop.market if (serial(item.needed_by) or 0) <= day)
    most = max((item for item in workshop.market if serial(item.needed_by) == day), key=lambda item: item.bars)
    what = f"{counted(bars, 'bar')} wanted by {day_of(day)}, on that day {most.bars} of {most.recipe}"
    found = f"{what}, which moulds, hours, shelf and make days do not allow"
    do = f"One of these makes the whole run possible: {'; '.join(helps)}." if helps else (
        "No single limit is to blame: ask for fewer bars, or give more moulds, hours and days at once."
    )  # fmt: skip
    return _problem(most.where.place("bars"), found, do)


def _first_unmet(task: Task) -> int:
    """Return the first date whose demand, with all before it, cannot be met."""
    days = sorted({day for wish in task.wishes for day in wish.dates})
    return days[_least(0, len(days) - 1, lambda place: shown_impossible(up_to(task, days[place])))]


def _least(low: int, high: int, holds: Callable[[int], bool]) -> int:
    """Return the least number from low to high for which something holds, when it holds for high and all above it.

    >>> _least(0, 100, lambda number: number >= 37)
    37
    """
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return low


def up_to(task: Task, day: int) -> Task:
    """Return the task with the demand of a day and of those before it."""
    wishes = []
    for wish in task.wishes:
        count = sum(1 for date in wish.dates if date <= day)
        if count:
            asked = {mould: bars[:count] for mould, bars in wish.asked.items() if any(bars[:count])}
            wishes.append(replace(wish, dates=wish.dates[:count], asked=asked, on_hand=wish.on_hand[:count]))
    kept = {wish.recipe for wish in wishes}
    return replace(task, wishes=tuple(wishes), candidates=tuple(i for i in task.candidates if i.recipe in kept))


def _remedies(workshop: Workshop, task: Task) -> Iterator[str]:
    """Yield each single limit whose change makes the task possible, and by how much."""
    yield from (day.replace(" to ", " ", 1) for day in _earlier(task))
    for mould in sorted({item.mould for item in task.candidates}):
        more = moulds_needed(task, mould)
        if more:
            yield f"{more} more of mould {workshop.moulds[mould].mould}"
    hours = hours_needed(task)
    if hours is not None:
        yield f"Hours per day {hours:g}"
    shelf = shelf_needed(task)
    if shelf is not None:
        yield f"Shelf bars {shelf:g}"
    free = task.limits.days_off or task.limits.closed
    if free and possible(limited(task, days_off=frozenset(), closed=frozenset())):
        yield "no Days off"


def _earlier(task: Task) -> Iterator[str]:
    """Yield the latest first make day, not before today, with which there is a plan for everything."""
    first = task.limits.first
    most = 0 if first is None else min(EARLIER, first - task.limits.today)
    if first is None or most < 1 or not possible(limited(task, first=first - most)):
        return
    days = _least(1, most, lambda days: possible(limited(task, first=first - days)))
    yield f"First make day to {day_of(first - days)} or earlier"
