"""Sheet Costs becomes one line a setting: in the schema's order, blank where the workbook does not say."""

from __future__ import annotations

import re
from calendar import day_name
from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from scaler.model import units
from scaler.model.problems import Problem, listed, meant
from scaler.model.records import COSTS, SettingLine
from scaler.model.schema import UNIT, Column, Setting, key_of, letters, remedy_of_setting
from scaler.model.settings import setting_declared
from scaler.read.cells import read_cell, shown
from scaler.read.files import RawCell, RawSheet
from scaler.read.headers import Doubt
from scaler.read.numbers import clean_text, parse_date, split_amount
from scaler.read.tables import read_table

_WORDS_OF = {
    "h": {"h", "hr", "hrs", "hour", "hours"},
    "hour": {"h", "hr", "hrs", "hour", "hours"},
    "day": {"day", "days"},
    "months": {"month", "months"},
}
"""Spellings of the units that cannot be chosen."""


def read_settings(
    raw: RawSheet | None, today: date | None
) -> tuple[tuple[SettingLine, ...], list[Problem], list[Doubt]]:
    """Return one line a setting, the problems of the sheet, and what is asked about.

    Args:
        raw: the sheet, None when there is none.
        today: what "Worked out on" is where the workbook does not say; None leaves it blank.
    """
    declared = setting_declared()
    given: dict[str, SettingLine] = {}
    problems: list[Problem] = []
    doubts: list[Doubt] = []
    if raw:
        records, problems, doubts = read_table(COSTS, raw)
        by_key = {_key(word): name for name, item in declared.items() for word in (*item.also, item.name)}
        for line in records:
            if not line.setting:
                continue
            name = by_key.get(_key(line.setting), "")
            if not name or name in given:
                problems.append(_again(line, given[name]) if name else _unknown(line, declared))
                continue
            given[name], faults = _read_line(line, name, declared[name], raw)
            problems += faults
    lines = {
        name: given.get(name) or SettingLine(setting=item.name, meaning=item.help) for name, item in declared.items()
    }
    if lines["worked_out_on"].value is None:
        lines["worked_out_on"] = replace(lines["worked_out_on"], value=today)
    return tuple(lines.values()), problems, doubts


def _key(text: str) -> str:
    """Return the name of a setting as it compares: as headers do, and without what stands in brackets.

    >>> _key("Batter loss % (left in the bowls)")
    'batterloss'
    """
    return key_of(text.split("(", maxsplit=1)[0])


def _unknown(line: SettingLine, declared: Mapping[str, Setting]) -> Problem:
    do = meant(line.setting, [item.name for item in declared.values()]) or "Delete the row, or correct the name."
    says = f"{line.setting} is not a setting that scaler knows."
    place = line.where.place("setting")
    return Problem(place, "setting_unknown", f"'{line.setting}'", "the name of a setting", do, says)


def _again(line: SettingLine, first: SettingLine) -> Problem:
    says = f"{line.setting} is here twice: {first.where.place('setting').cell} has it too."
    found, do = f"'{line.setting}' a second time", "Delete one of the two rows."
    return Problem(line.where.place("setting"), "setting_twice", found, "each setting once", do, says)


def _read_line(line: SettingLine, name: str, item: Setting, raw: RawSheet) -> tuple[SettingLine, list[Problem]]:
    """Return the line with its value and unit as the setting declares them; a value that is refused is left blank."""
    line = _with_unit_apart(replace(line, setting=item.name, meaning=line.meaning or item.help), item)
    value, problem = _value(line, item, raw)
    problem = problem or _value_problem(line, name, value)
    line = replace(line, value=None if problem else _tidy(name, value), unread=("value",) if problem else ())
    unit, unit_problem = _unit(line, item)
    return replace(line, unit=unit), [found for found in (problem, unit_problem) if found]


def _with_unit_apart(line: SettingLine, item: Setting) -> SettingLine:
    """Return the line with the unit that stands behind its number, such as 2 gal, in its own cell, if that is blank."""
    typed = split_amount(line.value) if item.unit_kinds and line.unit is None else ()
    unit = units.find(typed[0][1]) if len(typed) == 1 else None
    return replace(line, value=typed[0][0], unit=unit.word) if unit and unit.kind in item.unit_kinds else line


def _value(line: SettingLine, item: Setting, raw: RawSheet) -> tuple[object, Problem | None]:
    if line.value is None:
        return None, None
    letter = line.where.letters["value"]
    cell = next(cell for (row, number), cell in raw.cells.items() if (row, letters(number)) == (line.where.row, letter))
    if item.unit_kinds and isinstance(line.value, float):  # its unit stood behind it
        cell = RawCell(line.value, "General")
    return read_cell(cell, item.column, line.where.place("value"), remedy_of_setting(item))


def _value_problem(line: SettingLine, name: str, value: object) -> Problem | None:
    place = line.where.place("value")
    days = _days(value) if name == "days_off" else []
    spans = [(word, *map(parse_date, word.split(" to "))) for word in days if " to " in word]
    back = [word for word, *ends in spans if all(ends) and ends != sorted(ends, key=str)]
    if back:
        says, do = f"{shown(back[0])} ends before it begins.", "Write the first day first."
        return Problem(place, "days_backwards", shown(back[0]), "the first day first", do, says)
    wrong = [word for word in days if not _is_day(word)]
    if wrong:
        do = meant(wrong[0], day_name) or f"Write {listed(tuple(day_name))}, or dates: 2026-12-24 to 2026-12-27."
        says = f"{shown(wrong[0])} is neither a weekday nor a date."
        return Problem(place, "weekday_unknown", shown(wrong[0]), "weekdays and dates with commas between", do, says)
    return None


def _days(value: object) -> list[str]:
    """Return the days of a list: weekdays in full, dates and spans of dates as ISO writes them, the rest as it is.

    >>> _days("sunday, Mon; Foo; 24 Dec 2026 to 2026-12-27")
    ['Sunday', 'Monday', 'Foo', '2026-12-24 to 2026-12-27']
    """
    if hasattr(value, "toordinal"):
        return [str(parse_date(value))]
    words = [clean_text(word) for word in re.split(r"[,;]", str(value or ""))]
    return [_day(word) for word in words if word]


def _day(word: str) -> str:
    ends = [parse_date(end) for end in re.split(r"\s+(?:to|until)\s+|\s*\u2013\s*", word)]
    if len(ends) <= 2 and all(ends):
        return " to ".join(str(end) for end in ends)
    full = [day for day in day_name if len(word) > 2 and day.casefold().startswith(word.casefold())]
    return full[0] if full else word


def _is_day(word: str) -> bool:
    return word in day_name or parse_date(word.split(" to ", maxsplit=1)[0]) is not None


def _tidy(name: str, value: object) -> object:
    return ", ".join(_days(value)) if name == "days_off" and value is not None else value


def _unit(line: SettingLine, item: Setting) -> tuple[str | None, Problem | None]:
    """Return the unit beside a value; one that cannot be chosen is only held against what is typed."""
    if line.unit is None:
        return None, None
    place = line.where.place("unit")
    if item.unit_kinds:
        column = Column("Unit", UNIT, item.help, choices=item.unit_kinds)
        return read_cell(RawCell(line.unit, "General"), column, place)
    fixed = item.unit.casefold().removeprefix("per ")
    words = set(re.findall(r"[^\W\d_]+", line.unit.casefold()))
    if fixed and not words & _WORDS_OF.get(fixed, {fixed}):
        wanted = item.unit if item.unit.startswith("per ") else f"in {item.unit}"
        says, do = f"{item.name} is {wanted}, not {line.unit}.", "Convert the value, and write that unit."
        return None, Problem(place, "unit_wrong", f"'{line.unit}'", item.unit, do, says)
    return line.unit, None
