"""What a check says: problems with the same slip said once, what needs a decision, what blanks took."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from scaler.model.problems import LEVELS, NOTE, Problem, Warning, counted, say, where
from scaler.report import SHOWN, not_read, wrapped
from scaler.rules.published import said_of
from scaler.rules.results import Run

if TYPE_CHECKING:
    from scaler.model.records import Recipe

_MOST_RANGES = 6
"""Ranges of cells, and batches, that are named; the rest are counted."""

_LIQUID_COLUMNS = ("lye_concentration", "liquid_to_alkali", "liquid_of_oils")
"""Columns of Recipes that say how much liquid there is."""

_QUOTE = "'"
_VARIES = re.compile(r"'[^']*'|-?[0-9][0-9.,]*")
_CELL = re.compile(r"([A-Z]+)([0-9]+)")


# --- problems ---


def problem_lines(problems: Sequence[Problem], everything: bool = False, ending: str = "") -> Iterator[str]:
    """Return the lines that say what stopped a run: the first 20 in full, unless everything is asked for.

    Args:
        problems: what is wrong, in reading order.
        everything: say all of them.
        ending: what follows the count, such as ", nothing written".
    """
    groups = folded(problems)
    shown = groups if everything else groups[:SHOWN]
    yield f"{counted(len(problems), 'problem')}{ending}:"
    for group in shown:
        yield from wrapped(f"- {_said(group)}")
    left = sum(len(group) for group in groups[len(shown) :])
    if left:
        yield f"And {left} more: --all shows them."


def folded(problems: Iterable[Problem]) -> list[list[Problem]]:
    """Return the problems in groups of the same slip in one column of a sheet, in the order of their first."""
    groups: dict[tuple[str, ...], list[Problem]] = {}
    for number, problem in enumerate(problems):
        place, cell = problem.place, _CELL.fullmatch(problem.place.cell)
        says = (problem.says or problem.found).replace(f" {problem.found.strip(_QUOTE)}.", " #.")
        slip = _VARIES.sub("#", f"{says} {problem.do}")
        own = (place.file, place.sheet, cell[1], problem.code, slip) if cell else (str(number),)
        groups.setdefault(own, []).append(problem)
    return list(groups.values())


def _said(group: Sequence[Problem]) -> str:
    first = group[0]
    if len(group) == 1:
        return say(first)
    cells = f"{span(problem.place.cell for problem in group)} ({len(group)} cells)"
    alike = "The others are alike." if len({problem.says or problem.found for problem in group}) > 1 else ""
    return f"{say(replace(first, place=replace(first.place, cell=cells)))} {alike}".strip()


def span(cells: Iterable[str]) -> str:
    """Return cells of one column as ranges.

    >>> span(["C5", "C6", "C7", "C9"])
    'C5 to C7, C9'
    """
    found = [match for match in (_CELL.fullmatch(cell) for cell in dict.fromkeys(cells)) if match]
    runs: list[list[int]] = []
    for row in sorted(int(match[2]) for match in found):
        if runs and row == runs[-1][-1] + 1:
            runs[-1].append(row)
        else:
            runs.append([row])
    letter = found[0][1]
    texts = [f"{letter}{rows[0]}" + (f" to {letter}{rows[-1]}" if len(rows) > 1 else "") for rows in runs]
    left = sum(len(rows) for rows in runs[_MOST_RANGES:])
    return ", ".join(texts[:_MOST_RANGES]) + (f" and {left} more" if left else "")


# --- a workbook without a problem ---


def findings(run: Run, defaults: bool = False) -> Iterator[str]:
    """Return the lines of a check without problems: what needs a decision, what there is, what blanks took.

    Args:
        run: the run, its batches worked out.
        defaults: say what each blank cell took, instead of a short table.
    """
    asked: dict[tuple[str, str], list[str]] = {}
    for at, warning in sorted(_asked(run), key=lambda item: LEVELS.index(item[1].level)):
        asked.setdefault((warning.level, warning.text), []).append(at)
    for title, notes in (("To decide before you make it:", False), ("Good to know:", True)):
        lines = [item for item in asked.items() if (item[0][0] == NOTE) == notes]
        yield from (title,) * bool(lines)
        for (level, text), places in lines:
            more = f" and {len(places) - _MOST_RANGES} more" if len(places) > _MOST_RANGES else ""
            yield from wrapped(f"  {level}: {', '.join(places[:_MOST_RANGES])}{more}: {text}", "    ")
    yield from not_read(run.workshop.doubts)
    held = run.workshop
    counts = (
        counted(len(held.ingredients), "ingredient"),
        counted(len(held.prices), "price"),
        counted(len(held.moulds), "mould"),
        counted(len(held.recipes), "recipe"),
        counted(len(held.batches), "batch", "batches"),
        *([f"{len(held.done)} made or failed"] if held.done else []),
    )
    yield from wrapped(f"No problems. {', '.join(counts)}.")
    yield from _taken(run, defaults)


def _asked(run: Run) -> Iterator[tuple[str, Warning]]:
    """Return what to think about, each with where or which batch; numbers asked about stand at their cell alone."""
    yield from ((where(place), warning) for place, warning in run.workshop.doubts if warning.level != NOTE)
    yield from (
        (batch.batch, warning)
        for batch in run.batches
        for warning in batch.warnings
        if warning.code != "number_doubted"
    )


def _taken(run: Run, defaults: bool) -> Iterator[str]:
    held = run.workshop
    said = [(item.ingredient, words) for item in held.ingredients for words in said_of(item)]
    said += [
        (item.recipe, words) for row, item in enumerate(held.recipes) for words in _taken_of_recipe(run, row, item)
    ]
    if not said:
        return
    yield "Taken for blank cells:" if defaults else "Taken for blank cells (--defaults says each):"
    if defaults:
        for name, words in said:
            yield from wrapped(f"  {name}: {words}.", "    ")
        return
    table: dict[str, list[str]] = {}
    for name, words in said:
        table.setdefault(re.sub(r"(published) [0-9.]+ \S+", r"\1", words), []).append(name)
    for words, names in table.items():
        some = ", ".join(names[:2]) + (f" and {len(names) - 2} more" if len(names) > 2 else "")
        yield from wrapped(f"  {words}: {some}", "    ")


def _taken_of_recipe(run: Run, row: int, item: Recipe) -> Iterator[str]:
    """Return what the blank cells of a recipe took, and what its liquid's weights are taken for."""
    from scaler.model.records import LIQUID  # what only a sound workbook needs
    from scaler.model.schema import columns

    value = {name: run.tables.column("recipes", name)[row] for name in ("cure_days_in_use", "cure_loss_in_use")}
    if item.cure_days is None:
        yield f"Cure days blank: {value['cure_days_in_use']:g}"
    if item.cure_loss is None and value["cure_loss_in_use"] != "":
        yield f"Cure loss blank: estimated from its water, {value['cure_loss_in_use']:.0%}".replace("%", " %")
    liquids = [thing.ingredient for thing in run.workshop.ingredients if thing.kind == LIQUID]
    lines = (line for line in run.workshop.lines if line.recipe == item.recipe and line.ingredient in liquids)
    sized = next((name for name in _LIQUID_COLUMNS if getattr(item, name) is not None), None)
    if sized and any(line.amount is not None for line in lines):
        yield f"Amounts of liquids: their proportions alone; {columns(type(item))[sized].header} says how much in all"
