"""What a number or a date of a column may be, and what to do where it is not that."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from scaler.model.problems import listed
from scaler.model.schema import DATE, PERCENT, Column, Setting
from scaler.model.units import FAHRENHEIT, TEMPERATURE, words

LARGEST, SMALLEST = 1e9, 1e-9
"""Sizes beyond which a number is a slip of the hand."""
FIRST_DAY, LAST_DAY = date(1990, 1, 1), date(2099, 12, 31)
"""Days beyond which a date is a slip of the hand."""
EPOCH, LEAP_DAY = date(1899, 12, 30), date(1900, 3, 1)


def serial(day: date | None) -> float | None:
    """Return a date as the number that spreadsheets keep.

    >>> serial(date(2026, 11, 25)), serial(date(1900, 1, 20))  # to a spreadsheet 1900 was a leap year
    (46351.0, 20.0)
    """
    return None if day is None else float((day - EPOCH).days - (EPOCH < day < LEAP_DAY))


def limits(column: Column) -> tuple[float, float]:
    """Return the least and the most that a number of a column may be.

    >>> limits(Column("Pack", "number", "", above=0)), limits(Column("Fat %", "percent", "", least=0))
    ((1e-09, 1000000000.0), (0, 1.0))
    """
    if column.kind == DATE:
        return serial(FIRST_DAY) or 0.0, serial(LAST_DAY) or 0.0
    least = SMALLEST + column.above if column.above is not None else column.least
    usual = 1.0 if column.kind == PERCENT else LARGEST
    return -LARGEST if least is None else least, usual if column.most is None else column.most


def remedy(column: Column) -> str:
    """Return what to do about a number that cannot be.

    >>> remedy(Column("Fat %", "percent", "", least=0)), remedy(Column("Pack", "number", "", above=0, most=50))
    ('Type the number alone: from 0 % to 100 %.', 'Type the number alone: above 0, 50 at most.')
    """
    least, most = limits(column)
    if column.kind == DATE:
        return f"Type it as a date, from {FIRST_DAY.year} to {LAST_DAY.year}, such as 2026-11-25."
    if column.kind == PERCENT:
        low = f"above {column.above * 100:g} %, " if column.above is not None else f"from {max(least, 0) * 100:g} % to "
        return f"Type the number alone: {low}{most * 100:g} %{' at most' * (column.above is not None)}."
    if column.above is not None:
        return f"Type the number alone: above {column.above:g}, {most:,.10g} at most."
    return f"Type the number alone: from {max(least, 0):,.10g} to {most:,.10g}."


def question(column: Column) -> str:
    """Return what to think about a number that is asked about."""
    return column.slip or "Check the number and its unit."


def remedy_of_setting(item: Setting) -> str:
    """Return what to do about a setting that cannot be, with the unit of its limits where no other can be chosen."""
    do = remedy(item.column)
    if TEMPERATURE in item.unit_kinds:
        do = f"{do.removesuffix('.')} {item.unit}, or the same in {FAHRENHEIT}."
    elif item.unit and not item.unit_kinds and not item.unit.startswith("per "):
        do = f"{do.removesuffix('.')}, in {item.unit}."
    return f"{do} {item.slip}".strip()


def usual_units(kinds: Sequence[str]) -> str:
    """Return the sentence that names the units of one kind, or the first of each of several.

    >>> usual_units(("length",)), usual_units(("weight", "volume"))
    ('Write mm, cm, m, in or ft.', 'Write, for example, g or mL.')
    """
    if len(kinds) == 1:
        return f"Write {listed(words(*kinds))}."
    return f"Write, for example, {listed(tuple(words(kind)[0] for kind in kinds))}."


def is_out(number: float, column: Column) -> bool:
    """Return whether a number is one that a column cannot hold.

    >>> is_out(0.01, Column("Cavities", "whole", "", least=1)), is_out(1.5, Column("Cavities", "whole", "", least=1))
    (True, False)
    """
    least, most = limits(column)
    return not least <= number <= most
