"""Problems that only the arithmetic shows, each at the cell where the maker mends it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from scaler.formula.helpers import exceeds
from scaler.formula.steps import Tables
from scaler.model.problems import Place, Problem
from scaler.model.records import Workshop
from scaler.rules.safety import REFUSE, RULES, Rule


def refusals(workshop: Workshop, tables: Tables) -> list[Problem]:
    """Return every problem that the filled tables show: refused by a rule, impossible moulds, an impossible price."""
    found = [*_by_rule(workshop, tables), *_mould_problems(workshop, tables), *_price_problems(workshop, tables)]
    return list(dict.fromkeys(found))


def _by_rule(workshop: Workshop, tables: Tables) -> list[Problem]:
    problems = []
    for rule in RULES:
        if rule.level != REFUSE:
            continue
        for index, flag in enumerate(tables.column(rule.table, rule.flag)):
            if flag:
                row = tables.row(rule.table, index)
                problems.append(
                    Problem(
                        _mended_at(rule, workshop, tables, index),
                        rule.code,
                        rule.found(row),
                        rule.expected,
                        rule.do(row),
                    )
                )
    return problems


def _mended_at(rule: Rule, workshop: Workshop, tables: Tables, index: int) -> Place:
    if rule.table == "slots":
        line = workshop.lines[int(tables.column("slots", "line_at")[index]) - 1]
        return line.where.place("share" if line.share is not None else "amount")
    record = getattr(workshop, rule.table)[index]
    name = rule.field
    if name == "strength":
        filled = [
            held
            for held in ("lye_concentration", "liquid_to_alkali", "liquid_of_oils")
            if getattr(record, held) is not None
        ]
        name = filled[0] if filled else "recipe"
    place: Place = record.where.place(name)
    return place


def _mould_problems(workshop: Workshop, tables: Tables) -> list[Problem]:
    problems = []
    for index, mould in enumerate(workshop.moulds):
        row = tables.row("moulds", index)
        size = _narrowest(mould.shape, row)
        if size is not None:
            found, do = "a liner as thick as the mould", "Make Liner smaller, or check Unit."
            problems.append(Problem(mould.where.place("liner"), "liner_thick", found, "room inside the liner", do))
        elif row["bars_in_one"] < 1 or _cut_is_the_log(mould, row):
            problems.append(_no_bars(mould, row))
    return problems


def _narrowest(shape: str, row: Mapping[str, Any]) -> str | None:
    inside = {
        "box": ("inside_length", "inside_width", "inside_depth"),
        "taper": ("inside_length", "inside_width", "inside_depth", "inside_top_length", "inside_top_width"),
        "cylinder": ("inside_diameter", "inside_height"),
        "half cylinder": ("inside_diameter", "inside_length"),
    }.get(shape, ())
    return next((name for name in inside if row[name] <= 0), None)


def _no_bars(mould: Any, row: Mapping[str, Any]) -> Problem:
    if mould.bar_cut is None:
        do = "Fill Bar cut (thickness of a bar) or Bars (how many one fill makes)."
        return Problem(mould.where.place("bars"), "bars_missing", "no Bars and no Bar cut", "one of the two", do)
    name = "trim" if mould.trim and row["log_cm"] <= mould.trim * row["cm"] else "bar_cut"
    log = f"{row['log_cm'] / row['cm']:g} {mould.unit}" if row["cm"] else "no log to cut"
    found = f"a log of {log} that gives no whole bar"
    if name == "bar_cut" and _cut_is_the_log(mould, row):
        found = f"a Bar cut not shorter than the log of {log}"
    return Problem(mould.where.place(name), "bars_none", found, "at least one bar", "Check Bar cut, Trim and Unit.")


def _price_problems(workshop: Workshop, tables: Tables) -> list[Problem]:
    if all(exceeds(bracket, 0) for bracket in tables.column("batches", "price_bracket")):
        return []
    line = next(line for line in workshop.costs if line.setting.casefold().startswith("target margin"))
    found, expected = (
        "a margin and a card fee that leave nothing for the cost",
        "margin + card fee x (1 + tax) below 100 %",
    )
    do = "Lower Target margin %."
    return [Problem(line.where.place("value"), "price_impossible", found, expected, do)]


def _cut_is_the_log(mould: Any, row: Mapping[str, Any]) -> bool:
    """Return whether the bars come from Bar cut, and it is not shorter than the log."""
    cut = mould.bar_cut is not None and mould.bars is None and row["log_cm"] > 0
    return cut and not exceeds(row["log_cm"], mould.bar_cut * row["cm"])
