"""Helpers that add up, count and rank the cells of columns and rows."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any

from scaler.formula.cells import (
    Cell,
    Column,
    IndexedColumn,
    Number,
    call,
    is_number,
    keyed,
    literal,
    places_of,
    written,
)


def total(column: Column) -> Number:
    """Return the sum of a column.

    >>> total([1.0, 2.0]), total(Cell("B1:B9")).text
    (3.0, 'SUM(B1:B9)')
    """
    return call("SUM", column) if written(column) else math.fsum(value for value in column if is_number(value))


def total_where(keys: Column, key: Any, values: Column) -> Number:
    """Return the sum of the values whose key is this one: a number, or a word of ours. For words that are typed see `total_named`.

    >>> total_where(["a", "b", "A"], "a", [1.0, 2.0, 4.0])
    5.0
    >>> total_where(Cell("A1:A9"), Cell("C1"), Cell("B1:B9")).text
    'SUMIF(A1:A9,C1,B1:B9)'
    """
    if written(keys, key, values):
        return call("SUMIF", keys, key, values)
    return total_named(keys, key, values)


def total_named(keys: Column, key: Any, values: Column) -> Number:
    """Return the sum of the values whose key is this one; it may be a word with a star or a question mark in it.

    >>> total_named(["a*", "b", "A*"], "a*", [1.0, 2.0, 4.0])
    5.0
    >>> total_named(Cell("A1:A9"), Cell("C1"), Cell("B1:B9")).text
    'SUMPRODUCT(--(A1:A9=C1),B1:B9)'
    """
    if written(keys, key, values):
        return Cell(f"SUMPRODUCT(--({literal(keys)}={literal(key)}),{literal(values)})")
    return math.fsum(values[place] for place in places_of(keys, key) if is_number(values[place]))


def total_of_both(keys: Column, key: Any, others: Column, other: Any, values: Column) -> Number:
    """Return the sum of the values whose key is this one and whose other key is that one.

    >>> total_of_both([1, 1, 2], 1, [7, 8, 7], 7, [3.0, 4.0, 5.0])
    3.0
    >>> total_of_both(Cell("A1:A9"), Cell("D1"), Cell("B1:B9"), Cell("E1"), Cell("C1:C9")).text
    'SUMPRODUCT((A1:A9=D1)*(B1:B9=E1),C1:C9)'
    """
    wanted = keyed(other)
    return _total_of_two(keys, key, others, "=", other, values, lambda held: keyed(held) == wanted)


def _total_of_two(
    keys: Column, key: Any, others: Column, sign: str, other: Any, values: Column, holds: Callable[[Any], bool]
) -> Number:
    """Return the sum of the values whose key is this one and whose other column stands so to a value."""
    if written(keys, key, others, other, values):
        alike = f"({literal(keys)}={literal(key)})*({literal(others)}{sign}{literal(other)})"
        return Cell(f"SUMPRODUCT({alike},{literal(values)})")
    held = (place for place in places_of(keys, key) if holds(others[place]))
    return math.fsum(values[place] for place in held if is_number(values[place]))


def total_of_named(keys: Column, key: Any, weights: Column, at_rows: Column, rows: Column, values: Column) -> Number:
    """Return the sum of weight times value where the key is this one, each value found by its row in another table.

    >>> total_of_named([1, 1, 2], 1, [0.5, 0.5, 1.0], [2, 1, 1], [1, 2], [10.0, 30.0])
    20.0
    >>> columns = [Cell(f"{letter}1:{letter}9") for letter in "ABCDE"]
    >>> total_of_named(columns[0], Cell("F1"), *columns[1:]).text
    'SUMPRODUCT(--(A1:A9=F1),B1:B9,SUMIF(D1:D9,C1:C9,E1:E9))'
    """
    if written(keys, key, weights, at_rows, rows, values):
        found = f"SUMIF({literal(rows)},{literal(at_rows)},{literal(values)})"
        return Cell(f"SUMPRODUCT(--({literal(keys)}={literal(key)}),{literal(weights)},{found})")
    held = (place for place in places_of(keys, key) if is_number(weights[place]))
    return math.fsum(weights[place] * _numbered(values, at_rows[place]) for place in held)


def _numbered(values: Column, row: Any) -> float:
    value = values[int(row) - 1] if row else 0.0
    return value if is_number(value) else 0.0


def count_where(keys: Column, key: Any) -> Number:
    """Return how many entries have this key.

    >>> count_where(["a", "b", "A"], "a"), count_where(Cell("A1:A9"), Cell("C1")).text
    (2, 'SUMPRODUCT(--(A1:A9=C1))')
    """
    if written(keys, key):
        return Cell(f"SUMPRODUCT(--({literal(keys)}={literal(key)}))")
    return len(places_of(keys, key))


def count_up_to(keys: Column, key: Any, orders: Column, order: Number) -> Number:
    """Return how many entries have this key and stand no later in the order.

    >>> count_up_to([1, 1, 2], 1, [10.0, 20.0, 5.0], 10.0)
    1
    >>> count_up_to(Cell("A1:A9"), Cell("C1"), Cell("B1:B9"), Cell("D1")).text
    'SUMPRODUCT((A1:A9=C1)*(B1:B9<=D1))'
    """
    if written(keys, key, orders, order):
        return Cell(f"SUMPRODUCT(({literal(keys)}={literal(key)})*({literal(orders)}<={literal(order)}))")
    return sum(1 for held in places_of(keys, key) if is_number(orders[held]) and orders[held] <= order)


def total_up_to(keys: Column, key: Any, orders: Column, order: Number, values: Column) -> Number:
    """Return the sum of the values whose key is this one and that stand no later in the order.

    >>> total_up_to([1, 1, 2], 1, [10.0, 20.0, 5.0], 10.0, [3.0, 4.0, 5.0])
    3.0
    >>> total_up_to(Cell("A1:A9"), Cell("D1"), Cell("B1:B9"), Cell("E1"), Cell("C1:C9")).text
    'SUMPRODUCT((A1:A9=D1)*(B1:B9<=E1),C1:C9)'
    """
    return _total_of_two(keys, key, orders, "<=", order, values, lambda held: is_number(held) and held <= order)


def smallest_where(keys: Column, key: Any, values: Column, big: Number) -> Number:
    """Return the smallest of the values whose key is this one; `big` or more when there is none.

    >>> smallest_where(["a", "b", "a"], "a", [3.0, 1.0, 2.0], 1e99)
    2.0
    >>> smallest_where(Cell("A1:A9"), Cell("C1"), Cell("B1:B9"), Cell("D1")).text
    'SUMPRODUCT(MIN(D1*(A1:A9<>C1)+B1:B9))'
    """
    if written(keys, key, values, big):
        return Cell(f"SUMPRODUCT(MIN({literal(big)}*({literal(keys)}<>{literal(key)})+{literal(values)}))")
    alike = set(places_of(keys, key))
    return min((big * (place not in alike) + value for place, value in enumerate(values)), default=big)


def largest_where(keys: Column, key: Any, values: Column) -> Number:
    """Return the largest of the values whose key is this one, 0 when there is none; values are never negative.

    >>> largest_where(["a", "b", "a"], "a", [3.0, 9.0, 2.0])
    3.0
    >>> largest_where(Cell("A1:A9"), Cell("C1"), Cell("B1:B9")).text
    'SUMPRODUCT(MAX((A1:A9=C1)*B1:B9))'
    """
    if written(keys, key, values):
        return Cell(f"SUMPRODUCT(MAX(({literal(keys)}={literal(key)})*{literal(values)}))")
    return max((values[place] for place in places_of(keys, key)), default=0.0)


def count_given(column: Column) -> Number:
    """Return how many cells of a column are filled.

    >>> count_given(["a", "", None]), count_given(Cell("A1:A9")).text
    (1, 'SUMPRODUCT(--(A1:A9<>""))')
    """
    if written(column):
        return Cell(f'SUMPRODUCT(--({literal(column)}<>""))')
    return sum(1 for value in column if value not in (None, ""))


def outside_at(values: Column, leasts: Column, mosts: Column, positions: Column) -> Number:
    """Return the last position at which a filled cell holds no number from its least to its most; 0 when none does.

    >>> outside_at([5.0, None, "x"], [0, 0, 0], [9, 9, 9], [1, 2, 3]), outside_at([5.0], [6], [9], [1])
    (3, 1)
    >>> outside_at(Cell("A2:C2"), Cell("A$1:C$1"), Cell("A$3:C$3"), Cell("A$4:C$4")).text
    'SUMPRODUCT(MAX((A2:C2<>"")*(1-(A2:C2>=A$1:C$1)*(A2:C2<=A$3:C$3))*A$4:C$4))'
    """
    if written(values, leasts, mosts, positions):
        held, low, high, place = (literal(part) for part in (values, leasts, mosts, positions))
        inside = f"({held}>={low})*({held}<={high})"  # to a spreadsheet a text is larger than any number
        return Cell(f'SUMPRODUCT(MAX(({held}<>"")*(1-{inside})*{place}))')
    rows = zip(values, leasts, mosts, positions, strict=True)
    wrong = (place for value, low, high, place in rows if value not in (None, "") and not _inside(value, low, high))
    return max(wrong, default=0)


def out_of_range(value: Any, least: Number, most: Number) -> Any:
    """Return whether a filled cell holds no number from its least to its most.

    >>> out_of_range(5.0, 0.0, 9.0), out_of_range("x", 0.0, 9.0), out_of_range(Cell("A1"), Cell("B1"), Cell("C1")).text
    (False, True, 'AND(A1<>"",OR(A1<B1,A1>C1))')
    """
    if written(value, least, most):
        held, low, high = literal(value), literal(least), literal(most)
        return Cell(f'AND({held}<>"",OR({held}<{low},{held}>{high}))')  # a text is larger than any number
    return value not in (None, "") and not _inside(value, least, most)


def _inside(value: Any, low: float, high: float) -> bool:
    return is_number(value) and low <= value <= high


def nth_smallest_where(keys: Column, key: Any, values: Column, order: Number, big: Number) -> Number:
    """Return the value at a place (1, 2, ...) of the rising order of those of a key; `big` or more when there is none.

    >>> nth_smallest_where(["a", "b", "a"], "a", [3.0, 1.0, 2.0], 2, 1e99)
    3.0
    >>> nth_smallest_where(Cell("A1:A9"), Cell("C1"), Cell("B1:B9"), Cell("E1"), Cell("D1")).text
    'SUMPRODUCT(SMALL(D1*(A1:A9<>C1)+B1:B9,E1))'
    """
    if written(keys, key, values, order, big):
        return Cell(
            f"SUMPRODUCT(SMALL({literal(big)}*({literal(keys)}<>{literal(key)})+{literal(values)},{literal(order)}))"
        )
    alike = sorted(values[place] for place in places_of(keys, key))
    return alike[int(order) - 1] if order <= len(alike) else big


def smallest(values: Column) -> Number:
    """Return the smallest of the cells of a row, all numbers.

    >>> smallest([5.0, 3.0]), smallest(Cell("A2:C2")).text
    (3.0, 'MIN(A2:C2)')
    """
    return call("MIN", values) if written(values) else min(values)


def nth_smallest(values: Column, order: Number, big: Number) -> Number:
    """Return the value at a place (1, 2, ...) of the rising order, `big` when there are not so many.

    >>> nth_smallest([3.0, 1.0], 2, 1e99), nth_smallest(Cell("A1:A9"), Cell("B1"), Cell("C1")).text
    (3.0, 'IFERROR(SMALL(A1:A9,B1),C1)')
    """
    if written(values, order, big):
        return Cell(f"IFERROR(SMALL({literal(values)},{literal(order)}),{literal(big)})")
    ordered = (values if isinstance(values, IndexedColumn) else IndexedColumn(values)).rising
    return ordered[int(order) - 1] if order <= len(ordered) else big


def nth_largest_where(keys: Column, key: Any, values: Column, order: Number) -> Number:
    """Return the value at a place (1, 2, ...) of the falling order of those of a key; values are never negative.

    >>> nth_largest_where(["a", "b", "a"], "a", [3.0, 9.0, 2.0], 2)
    2.0
    >>> nth_largest_where(Cell("A1:A9"), Cell("C1"), Cell("B1:B9"), Cell("D1")).text
    'SUMPRODUCT(LARGE((A1:A9=C1)*B1:B9,D1))'
    """
    if written(keys, key, values, order):
        return Cell(f"SUMPRODUCT(LARGE(({literal(keys)}={literal(key)})*{literal(values)},{literal(order)}))")
    ordered = sorted((values[place] for place in places_of(keys, key)), reverse=True)
    return ordered[int(order) - 1] if order <= len(ordered) else 0.0


# --- sums over the rows of other tables that only a market run needs ---


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
