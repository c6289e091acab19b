"""Where rules and validation meet: a workshop becomes tables, the steps fill them, and batches or problems come out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from scaler.formula.steps import Step, Tables, evaluate
from scaler.market import tables as market_tables
from scaler.market.tables import Given
from scaler.model.problems import Place, Problem, Warning, meant
from scaler.model.records import BY_KEY, COSTS, MARKET, SettingLine, Workshop
from scaler.model.reference import suggestions
from scaler.model.schema import REFERENCE, Sheet, Where, columns
from scaler.read.workshop import in_reading_order
from scaler.rules import batch
from scaler.rules.results import Run
from scaler.rules.sheets import TYPED
from scaler.rules.tables import tables_of
from scaler.validation import inputs, issues, market
from scaler.validation.issues import Issue
from scaler.validation.rule import REFUSE

_UNREAD = ("file_", "sheet_", "header_")
"""Codes of problems that leave rows unread, so that nothing can be said of what hangs on them."""
_OF_ITS_ROW = ("number_wrong", "number_broken", "cell_blank", "name_twice", "choice_unknown", "unit_unknown")
"""Codes of problems that a row has whatever the other sheets hold."""


def steps_of(tables: Tables) -> tuple[Step, ...]:
    """Return every step of the tables that are there."""
    return issues.steps_of(tables, market_tables.STEPS if "sold" in tables.columns else ())


def work_out(workshop: Workshop, market: Given | None = None, lengths: Mapping[str, int] | None = None) -> Run:
    """Return the run of a workshop with its tables filled and its problems found, and no batches yet.

    Args:
        workshop: records as `load` returns them, or made by hand.
        market: what a plan gives the tables of a market run; None for a run of batches alone.
        lengths: rows of each sheet's table, spare ones counted; None for the usual.
    """
    tables = tables_of(workshop, lengths or {})
    if market is not None:
        market_tables.start(tables, market)
    issues.start(tables)
    steps = steps_of(tables)
    evaluate(steps, tables)
    return Run(workshop, tables, (), tuple(problems_of(workshop, tables)), steps)


def scale(workshop: Workshop, market: Given | None = None) -> Run:
    """Return every batch of the workshop worked out, with every problem that stops the job.

    Args: as of `work_out`, each table with its usual rows.
    """
    if any(problem.code.startswith("file_") for problem in workshop.problems):
        return Run(workshop, Tables(), (), workshop.problems)
    run = work_out(workshop, market)
    unread = {problem.place.sheet for problem in workshop.problems if problem.code.startswith(_UNREAD)}
    if unread:
        found = {
            problem for problem in run.problems if problem.code in _OF_ITS_ROW and problem.place.sheet not in unread
        }
        return Run(workshop, Tables(), (), tuple(sorted({*workshop.problems, *found}, key=in_reading_order)))
    doubts = dict.fromkeys((*workshop.doubts, *_doubts(workshop, run.tables)))
    asked = replace(workshop, doubts=tuple(doubts))
    if run.problems or workshop.problems:
        read = {problem.place for problem in workshop.problems}  # the reader says better what is wrong with a cell
        found = {problem for problem in run.problems if problem.place not in read}
        every = sorted({*workshop.problems, *found}, key=in_reading_order)
        return replace(run, workshop=asked, problems=tuple(every))
    made = tuple(batch.batch_of(run, index, warnings_of(run, index)) for index in batch.pots(run.tables))
    return replace(run, batches=made, workshop=asked)


def _doubts(workshop: Workshop, tables: Tables) -> Iterator[tuple[Place, Warning]]:
    """Yield what is asked about settings, rows of sheet Market and the plan, which no card says."""
    for issue in issues.speaking(
        tables, [rule for rule in (*inputs.SETTING_RULES, *market.RULES) if rule.level != REFUSE]
    ):
        problem = _problem(workshop, tables, issue)
        yield problem.place, Warning(issue.rule.code, f"{problem.says} {problem.do}", issue.rule.level)


# --- what is refused, what is warned of ---


def problems_of(workshop: Workshop, tables: Tables) -> list[Problem]:
    """Return every refusal at the cell where it is mended; of several in one cell the first."""
    found: dict[Place, Problem] = {}
    for issue in issues.speaking(tables, [rule for rule in issues.RULES if rule.level == REFUSE]):
        if not _said_by_the_reader(workshop, tables, issue):
            problem = _problem(workshop, tables, issue)
            found.setdefault(problem.place, problem)
    return list(found.values())


def _record(workshop: Workshop, table: str, index: int, row: dict[str, Any]) -> Any:
    if table != COSTS.key:
        return getattr(workshop, table)[index]
    said = {line.setting: line for line in workshop.costs}
    return said.get(row["setting"], SettingLine(where=Where("", COSTS.name)))


def _said_by_the_reader(workshop: Workshop, tables: Tables, issue: Issue) -> bool:
    """Return whether the reader has named the cell, or what is missed may stand in a cell it could not read."""
    if issue.rule.code == "cell_unread":
        return True
    if issue.rule.table != COSTS.key:
        unread = getattr(workshop, issue.rule.table)[issue.index].unread
        if issue.column(tables).removesuffix(TYPED) in unread:
            return True
    if issue.rule.code == "alkali_unclear":
        return any("base" in item.unread for item in workshop.ingredients)
    if (issue.rule.table, issue.rule.code, issue.rule.at) == (MARKET.key, "cell_blank", "needed_by"):
        return bool(tables.row(MARKET.key, issue.index)["day_at"])  # its row on Market days is refused
    if issue.rule.code != "name_unknown":
        return False
    column = columns(BY_KEY[issue.rule.table].record)[issue.rule.at]
    field = column.refers.lower()
    return any(field in item.unread for item in getattr(workshop, f"{field}s"))


def _problem(workshop: Workshop, tables: Tables, issue: Issue) -> Problem:
    rule, row, name = issue.rule, tables.row(issue.rule.table, issue.index), issue.column(tables)
    says, do = issue.words(tables)
    if rule.code == "name_unknown":
        do = f"{_suggestion(workshop, BY_KEY[rule.table], name, row)} {do}".strip()
    if rule.code == "sap_missing" and (near := suggestions(str(row["ingredient"]))):
        do = f"Did you mean {' or '.join(near[:2])}? {do}"
    place = _record(workshop, rule.table, issue.index, row).where.place(name.removesuffix(TYPED))
    return Problem(place, rule.code, _found(row.get(name)), "", do, says)


def _found(value: Any) -> str:
    return "a blank cell" if value in (None, "") else f"{value:g}" if isinstance(value, float) else f"'{value}'"


def _suggestion(workshop: Workshop, sheet: Sheet, name: str, row: dict[str, Any]) -> str:
    column = columns(sheet.record)[name]
    if column.kind != REFERENCE:
        return ""
    field = column.refers.lower()
    known = {getattr(item, field) or "" for item in getattr(workshop, f"{field}s")} - {str(row[name])}
    return meant(str(row[name]), known)


def warnings_of(run: Run, index: int) -> tuple[Warning, ...]:
    """Return what concerns a batch (0, 1, ...), the heaviest first, each once."""
    tables = run.tables
    found = issues.concerning(tables, index)
    return tuple(Warning(issue.rule.code, " ".join(issue.words(tables)), issue.rule.level) for issue in found)
