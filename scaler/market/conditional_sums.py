"""Sums over the rows of other tables that only a market run needs; as numbers here, as cells in the workbook."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from scaler.formula.cells import Cell, Column, Number, is_number, literal, places_of, written


def _reached(start: object, day: object) -> bool:
    """Return whether a day, blank or not, has come by another."""
    return isinstance(start, int | float) and isinstance(day, int | float) and start <= day


def _sum(values: Iterable[Any]) -> float:
    """Return the sum of the numbers among some values: a row that is refused has none."""
    return math.fsum(value for value in values if is_number(value))


def total_by(keys: Column, key: Number, days: Column, day: Number, values: Column) -> Number:
    """Return the sum of the values whose key is this one and whose day is not later; blank days never come.

    >>> total_by([1, 1, 2], 1, [10.0, 20.0, 5.0], 10.0, [3.0, 4.0, 5.0])
    3.0
    >>> total_by(Cell("A1:A9"), Cell("D1"), Cell("B1:B9"), Cell("E1"), Cell("C1:C9")).text
    'SUMPRODUCT((A1:A9=D1)*(B1:B9<=E1)*ISNUMBER(E1),C1:C9)'
    """
    if written(keys, key, days, day, values):
        alike, come = f"({literal(keys)}={literal(key)})", f"({literal(days)}<={literal(day)})*ISNUMBER({literal(day)})"
        return Cell(f"SUMPRODUCT({alike}*{come},{literal(values)})")
    return _sum(values[place] for place in places_of(keys, key) if _reached(days[place], day))


def total_during(starts: Column, ends: Column, day: Number, values: Column) -> Number:
    """Return the sum of the values that have begun by a day and not ended on it.

    >>> total_during([1.0, 2.0], [2.0, 9.0], 2.0, [3.0, 4.0])
    4.0
    >>> total_during(Cell("A1:A9"), Cell("B1:B9"), Cell("D1"), Cell("C1:C9")).text
    'SUMPRODUCT((A1:A9<=D1)*(B1:B9>D1),C1:C9)'
    """
    if written(starts, ends, day, values):
        begun, lasts = f"({literal(starts)}<={literal(day)})", f"({literal(ends)}>{literal(day)})"
        return Cell(f"SUMPRODUCT({begun}*{lasts},{literal(values)})")
    rows = zip(starts, ends, values, strict=True)
    return _sum(value for start, end, value in rows if _reached(start, day) and not _reached(end, day))


def total_after(days: Column, day: Number, values: Column) -> Number:
    """Return the sum of the values whose day is later.

    >>> total_after([1.0, 2.0], 1.0, [3.0, 4.0])
    4.0
    >>> total_after(Cell("A1:A9"), Cell("D1"), Cell("B1:B9")).text
    'SUMPRODUCT(--(A1:A9>D1),B1:B9)'
    """
    if written(days, day, values):
        return Cell(f"SUMPRODUCT(--({literal(days)}>{literal(day)}),{literal(values)})")
    return _sum(value for held, value in zip(days, values, strict=True) if not _reached(held, day))


def total_of_during(keys: Column, key: Number, starts: Column, ends: Column, day: Number, values: Column) -> Number:
    """Return the sum of the values of one key that have begun by a day and not ended on it.

    >>> total_of_during([1, 2], 1, [1.0, 2.0], [3.0, 9.0], 2.0, [3.0, 4.0])
    3.0
    >>> total_of_during(Cell("A1:A9"), Cell("E1"), Cell("B1:B9"), Cell("C1:C9"), Cell("F1"), Cell("D1:D9")).text
    'SUMPRODUCT((A1:A9=E1)*(B1:B9<=F1)*(C1:C9>F1),D1:D9)'
    """
    if written(keys, key, starts, ends, day, values):
        alike = f"({literal(keys)}={literal(key)})"
        begun, lasts = f"({literal(starts)}<={literal(day)})", f"({literal(ends)}>{literal(day)})"
        return Cell(f"SUMPRODUCT({alike}*{begun}*{lasts},{literal(values)})")
    return _sum(
        values[place]
        for place in places_of(keys, key)
        if _reached(starts[place], day) and not _reached(ends[place], day)
    )
