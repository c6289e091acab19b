"""Names become what they name, and what hangs on a faulty row is set aside without a word.

A record is whole when its own cells are, and all that it names is. Only whole records are worked with, so that
one mistake is one problem: a row that is faulty is known by its name and is neither used nor called unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from scaler.model.problems import Problem, meant
from scaler.model.records import ALKALI, INGREDIENTS, MOULDS, RECIPES, SHEETS
from scaler.model.schema import NAME, REFERENCE, Column, Record, Sheet, columns
from scaler.read.checks import (
    ROW_RULES,
    alkali_problems,
    line_problems,
    price_problems,
    recipe_problems,
    repeated,
    unpriced,
)
from scaler.read.tables import Table

Tables = dict[str, Table]

_NAMED = (INGREDIENTS, MOULDS, RECIPES)
"""Sheets whose rows are referred to by name."""


def link(tables: Tables) -> list[Problem]:
    """Leave only whole records in the tables, and return every problem found on the way."""
    problems: list[Problem] = []
    for key, rule in ROW_RULES.items():
        problems += _refuse(tables[key], tables[key].records, rule)
    for sheet in _NAMED:
        problems += _once(sheet, tables[sheet.key])
    for sheet in SHEETS:  # ingredients before recipes, recipes before lines
        if sheet.key in tables:
            problems += _point(sheet, tables)
    problems += _check_lines(tables)
    problems += _check_prices(tables)
    problems += _check_recipes(tables)
    _drop(tables)
    return problems


def _refuse(table: Table, records: Iterable[Any], rule: Callable[[Any], Iterable[Problem]]) -> list[Problem]:
    """Return the problems that a rule finds, and set aside the records that have one."""
    problems: list[Problem] = []
    for record in list(records):
        found = list(rule(record))
        problems += found
        if found:
            table.set_aside(record)
    return problems


# --- names ---


def once(table: Table, name: str, header: str) -> list[Problem]:
    """Return a problem for each record whose name another has before it, and set both aside.

    Which of the two is named rightly is not known, so the later one may be what an unknown name elsewhere means.
    """
    first: dict[str, Record] = {}
    problems = []
    doubled: dict[int, Record] = {}
    for record in table.records if table.whole else ():
        text = getattr(record, name)
        held = first.setdefault(text.casefold(), record)
        if held is not record:
            do = f"It is in cell {held.where.place(name).cell} too: rename or delete one of the two."
            problems.append(
                Problem(record.where.place(name), "name_twice", f"'{text}' a second time", f"each {header} once", do)
            )
            doubled |= {id(held): held, id(record): record}
    for record in doubled.values():
        table.set_aside(record)
    table.broken += [{}] if doubled else []
    return problems


def _once(sheet: Sheet, table: Table) -> list[Problem]:
    name, column = _name_column(sheet)
    return once(table, name, column.header)


def _name_column(sheet: Sheet) -> tuple[str, Column]:
    return next((name, column) for name, column in columns(sheet.record).items() if column.kind == NAME)


def _point(sheet: Sheet, tables: Tables) -> list[Problem]:
    """Spell every reference as the name it means, and set aside the records that name nothing whole."""
    table, problems = tables[sheet.key], []
    for field, column in columns(sheet.record).items():
        if column.kind != REFERENCE:
            continue
        target = next(named for named in _NAMED if _name_column(named)[1].header == column.refers)
        name = _name_column(target)[0]
        known, broken = tables[target.key].names(name), tables[target.key].broken_names(name)
        kept = []
        for record in table.records:
            text = getattr(record, field)
            if text is None or text.casefold() in known:
                kept.append(record if text is None else replace(record, **{field: known[text.casefold()]}))
                continue
            table.broken.append(vars(record))
            if tables[target.key].whole and text.casefold() not in broken and None not in broken:
                problems.append(_unknown(record, field, text, target, known.values()))
        table.records = kept
    return problems


def _unknown(record: Record, field: str, text: str, target: Sheet, known: Iterable[str]) -> Problem:
    near = meant(text, known)
    do = f"{near} If not, add it to sheet {target.name}." if near else f"Correct it, or add it to sheet {target.name}."
    return Problem(record.where.place(field), "name_unknown", f"'{text}'", f"a name on sheet {target.name}", do)


# --- what the rows are to each other ---


def _check_lines(tables: Tables) -> list[Problem]:
    lines, things = tables["lines"], _things(tables)
    problems = _refuse(lines, lines.records, lambda line: line_problems(line, things[line.ingredient]))
    for line, problem in list(repeated(lines.records, things)) if lines.whole else ():
        problems.append(problem)
        lines.set_aside(line)
    return problems


def _check_prices(tables: Tables) -> list[Problem]:
    prices, things = tables["prices"], _things(tables)
    problems = _refuse(prices, prices.records, lambda price: price_problems(price, things[price.ingredient]))
    used = [line.ingredient for line in tables["lines"].records]
    usual = usual_alkalis(tables)
    for recipe in tables["recipes"].records:
        first = recipe.alkali or (usual[0] if usual and len(usual) == 1 else None)
        used += [name for name in (first, recipe.second_alkali) if name and things[name].kind == ALKALI]
    doubted = prices.in_doubt("ingredient", tables["ingredients"].all_names("ingredient"))
    priced = prices.names("ingredient").keys() | doubted
    problems += unpriced((name for name in used if name.casefold() not in priced), prices.free)
    return problems


def _check_recipes(tables: Tables) -> list[Problem]:
    """Return the problems of recipes as a whole, and set aside every recipe that is not whole."""
    recipes, lines, things = tables["recipes"], tables["lines"], _things(tables)
    doubted = lines.in_doubt("recipe", recipes.all_names("recipe"))
    usual = usual_alkalis(tables)
    problems = []
    for recipe in list(recipes.records):
        found: list[Problem] = []
        if recipe.alkali or usual is not None:
            found += alkali_problems(recipe, things, usual or [])
        if recipe.recipe.casefold() not in doubted:
            own = [line for line in lines.records if line.recipe == recipe.recipe]
            found += recipe_problems(recipe, own, things)
        problems += found
        if found or recipe.recipe.casefold() in doubted or not (recipe.alkali or usual):
            recipes.set_aside(recipe)
    return problems


def _things(tables: Tables) -> dict[str, Any]:
    return {item.ingredient: item for item in tables["ingredients"].records}


def usual_alkalis(tables: Tables) -> list[str] | None:
    """Return every NaOH that a blank Alkali may mean; None when a faulty row of Ingredients may be another."""
    table = tables["ingredients"]
    may_be = (row.get("kind") in (None, ALKALI) and row.get("base") != "KOH" for row in table.broken)
    if not table.whole or any(may_be):
        return None
    return [item.ingredient for item in table.records if item.base == "NaOH"]


def _drop(tables: Tables) -> None:
    """Leave out the rows of recipes that turned out not to be whole."""
    whole = set(tables["recipes"].names("recipe").values())
    for key in ("lines", "batches", "market", "on_hand"):
        tables[key].records = [record for record in tables[key].records if record.recipe in whole]
