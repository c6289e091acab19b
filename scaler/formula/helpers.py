"""One arithmetic for numbers and for spreadsheet cells.

A rule is written once, as plain arithmetic plus the helpers below. Called with floats it is the number; called
with `Cell`s it is the text of the formula that a spreadsheet works out to the same number. Rules therefore never
branch on a value with `if`: they use `when`, and `Cell.__bool__` raises to say so.

Only functions that Excel 2013, LibreOffice 7 and Google Sheets share are ever written, and no number is typed
inside a formula but 0, 1 and the digits of a rounding guard: constants stand in cells.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from scaler.formula.cells import (
    COMPARISON,
    GUARD,
    JOIN,
    PRODUCT,
    ROW,
    SUM,
    Cell,
    Column,
    Number,
    Range,
    Text,
    Truth,
    call,
    guarded,
    infix,
    keyed,
    literal,
    operand,
    places_of,
    text_of,
    written,
)
from scaler.formula.sums import (
    count_given,
    count_up_to,
    count_where,
    largest_where,
    nth_largest_where,
    nth_smallest,
    nth_smallest_where,
    out_of_range,
    outside_at,
    smallest_filled,
    smallest_where,
    total,
    total_of_named,
    total_up_to,
    total_where,
)
from scaler.formula.words import (
    figure,
    joined,
    put_at,
    repeated,
)

__all__ = [
    "GUARD", "ROW", "Cell", "Column", "Number", "Range", "Text", "Truth", "all_of", "any_of", "arc_cosine", "at", "blank",
    "count_given", "count_up_to", "count_where", "default_to", "divide", "exceeds", "figure", "find_name", "given", "joined", "larger", "largest_where",
    "match", "nth_largest_where", "nth_smallest", "nth_smallest_where", "opposite", "out_of_range", "outside_at", "pi", "pick", "put_at", "repeated", "root", "round_down",
    "round_half_up", "round_up", "row_below", "same", "scaled", "smaller", "smallest_filled", "smallest_where", "tag",
    "text_of", "total", "total_of_named", "total_up_to", "total_where", "translated", "when",
]  # fmt: skip

# --- choosing ---


def when(condition: Truth, yes: Any, no: Any) -> Any:
    """Return `yes` where the condition holds, else `no`.

    >>> when(2 > 1, 10.0, 20.0), when(Cell("A1") > 1, Cell("B1"), 0).text
    (10.0, 'IF(A1>1,B1,0)')
    """
    if written(condition, yes, no):
        return call("IF", condition, yes, no)
    return yes if condition else no


def all_of(*conditions: Truth) -> Truth:
    """Return whether every condition holds.

    >>> all_of(True, False, True), all_of(Cell("A1"), Cell("B1")).text
    (False, 'AND(A1,B1)')
    """
    return call("AND", *conditions) if written(*conditions) else all(conditions)


def any_of(*conditions: Truth) -> Truth:
    """Return whether at least one of the conditions holds.

    >>> any_of(False, False, True), any_of(Cell("A1"), Cell("B1")).text
    (True, 'OR(A1,B1)')
    """
    return call("OR", *conditions) if written(*conditions) else any(conditions)


def opposite(condition: Truth) -> Truth:
    """Return whether a condition does not hold.

    >>> opposite(True), opposite(Cell("A1") > 0).text
    (False, 'NOT(A1>0)')
    """
    return call("NOT", condition) if written(condition) else not condition


def same(first: Text, second: Text) -> Truth:
    """Return whether two words are the same, whatever their case, as spreadsheets compare.

    >>> same("Box", "box"), same(Cell("A1"), "box").text
    (True, 'A1="box"')
    """
    return infix(first, "=", second, COMPARISON) if written(first, second) else keyed(first) == keyed(second)


def given(value: Any) -> Truth:
    """Return whether an input cell is filled.

    >>> given(None), given(0.0), given(Cell("A1")).text
    (False, True, 'A1<>""')
    """
    return infix(value, "<>", "", COMPARISON) if written(value) else value not in (None, "")


def blank(value: Any) -> Truth:
    """Return whether an input cell is not filled.

    >>> blank(None), blank(0.0), blank(Cell("A1")).text
    (True, False, 'A1=""')
    """
    return infix(value, "=", "", COMPARISON) if written(value) else value in (None, "")


def default_to(value: Any, default: Any) -> Any:
    """Return the value of an input cell, or the default where it is blank.

    >>> default_to(None, 5.0), default_to(0.0, 5.0), default_to(Cell("A1"), Cell("B1")).text
    (5.0, 0.0, 'IF(A1<>"",A1,B1)')
    """
    return when(given(value), value, default)


# --- looking up ---


def match(value: Any, column: Column) -> Number:
    """Return the place (1, 2, ...) of a name in a column, 0 where it is not there.

    >>> match("b", ["A", "B"]), match("c", ["A", "B"]), match(Cell("A1"), Range("B1:B9")).text
    (2, 0, 'IFERROR(MATCH(A1,B1:B9,0),0)')
    """
    if written(value, column):
        return Cell(f"IFERROR(MATCH({literal(value)},{literal(column)},0),0)")
    found = places_of(column, value) if given(value) else ()
    return found[0] + 1 if found else 0


def find_name(name: Text, column: Column) -> Number:
    """Return the place (1, 2, ...) of a name in a column that may hold blanks, 0 where it is not there or blank.

    >>> find_name("b", ["A", "B"]), find_name("", ["A", ""]), find_name(Cell("A1"), Range("B1:B9")).text
    (2, 0, 'IFERROR(MATCH(A1,B1:B9,0)*(A1<>""),0)')
    """
    if written(name, column):
        return Cell(f'IFERROR(MATCH({literal(name)},{literal(column)},0)*({operand(name, SUM)}<>""),0)')
    return match(name, column)


def pick(column: Column, place: Number, missing: Any = 0) -> Any:
    """Return what stands at a place of a column, `missing` at place 0.

    >>> pick([5.0, 6.0], 2), pick([5.0], 0), pick(Range("B1:B9"), Cell("A1")).text
    (6.0, 0, 'IF(A1>0,INDEX(B1:B9,A1),0)')
    """
    if written(column, place):
        return when(place > 0, call("INDEX", column, place), missing)
    return column[int(place) - 1] if place else missing


def translated(word: Text, words: Column, meanings: Column, unknown: Any) -> Any:
    """Return what a word means by two columns, `unknown` where it is not among them.

    >>> translated("loaf", ["box", "loaf"], ["box", "box"], "loaf"), translated("x", ["box"], ["box"], "x")
    ('box', 'x')
    >>> translated(Cell("A1"), Range("B1:B9"), Range("C1:C9"), Cell("A1")).text
    'IFERROR(INDEX(C1:C9,MATCH(A1,B1:B9,0)),A1)'
    """
    if written(word, words, meanings, unknown):
        found = f"INDEX({literal(meanings)},MATCH({literal(word)},{literal(words)},0))"
        return Cell(f"IFERROR({found},{literal(unknown)})")
    places = places_of(words, word)
    return meanings[places[0]] if places else default_to(unknown, "")


def row_below(value: Number, column: Column) -> Number:
    """Return the place of the last entry of a rising column that is not above the value, guarded like `round_down`.

    >>> row_below(0.25, [0.0, 0.2, 0.4]), row_below(0.1 + 0.2, [0.0, 0.3]), row_below(Cell("A1"), Range("B1:B9")).text
    (2, 2, 'MATCH(ROUND(A1,9),B1:B9,1)')
    """
    if written(value, column):
        return Cell(f"MATCH(ROUND({literal(value)},{GUARD}),{literal(column)},1)")
    held = guarded(value)
    return max((place for place, known in enumerate(column, 1) if known <= held), default=math.nan)


def at(column: Column, place: Number) -> Number:
    """Return what stands at a place that is known to be inside the column.

    >>> at([5.0, 6.0], 1), at(Range("B1:B9"), Cell("A1") + 1).text
    (5.0, 'INDEX(B1:B9,A1+1)')
    """
    if written(column, place):
        return call("INDEX", column, place)
    return column[int(place) - 1] if 1 <= place <= len(column) else math.nan


def tag(first: Any, second: Any) -> Text:
    """Return two whole numbers or words joined to one key.

    >>> tag(2, 1), tag(2, None), tag(Cell("A1"), Cell("B1")).text
    ('2|1', '2|', 'A1&"|"&B1')
    """
    if written(first, second):
        return Cell(f'{operand(first, JOIN)}&"|"&{operand(second, JOIN)}', JOIN)
    parts = ("" if part is None else part for part in (first, second))
    return "|".join(str(int(part)) if isinstance(part, float) else str(part) for part in parts)


# --- numbers ---


def divide(dividend: Number, divisor: Number) -> Number:
    """Return the quotient; not a number where the divisor is 0, which a `when` around it must not choose.

    >>> divide(6.0, 3.0), divide(1.0, 0.0), divide(Cell("A1"), Cell("B1") + 1).text
    (2.0, nan, 'A1/(B1+1)')
    """
    if written(dividend, divisor):
        return infix(dividend, "/", divisor, PRODUCT)
    return dividend / divisor if divisor else math.nan


def scaled(value: Any, factor: Number) -> Any:
    """Return a number times a factor, and a word as it is.

    >>> scaled(2.0, 28.0), scaled("oz", 28.0), scaled(Cell("A1"), Cell("B1")).text
    (56.0, 'oz', 'IF(ISNUMBER(A1),A1*B1,A1)')
    """
    if written(value, factor):
        return when(call("ISNUMBER", value), value * factor, value)
    return value * factor if isinstance(value, int | float) else value


def lowered(value: Any, by: Number) -> Any:
    """Return a number less another, and a word as it is.

    >>> lowered(68.0, 32.0), lowered("oz", 32.0), lowered(Cell("A1"), Cell("B1")).text
    (36.0, 'oz', 'IF(ISNUMBER(A1),A1-B1,A1)')
    """
    if written(value, by):
        return when(call("ISNUMBER", value), value - by, value)
    return value - by if isinstance(value, int | float) else value


def larger(first: Number, second: Number) -> Number:
    """Return the larger of two numbers.

    >>> larger(1.0, 2.0), larger(Cell("A1"), 0).text
    (2.0, 'MAX(A1,0)')
    """
    return call("MAX", first, second) if written(first, second) else max(first, second)


def smaller(first: Number, second: Number) -> Number:
    """Return the smaller of two numbers.

    >>> smaller(1.0, 2.0), smaller(Cell("A1"), 1).text
    (1.0, 'MIN(A1,1)')
    """
    return call("MIN", first, second) if written(first, second) else min(first, second)


def root(value: Number) -> Number:
    """Return the square root.

    >>> root(9.0), root(Cell("A1")).text
    (3.0, 'SQRT(A1)')
    """
    return call("SQRT", value) if written(value) else value**0.5


def exceeds(first: Number, second: Number) -> Truth:
    """Return whether the first is larger, guarded against the last digits: 0.1 + 0.2 does not exceed 0.3.

    >>> exceeds(0.1 + 0.2, 0.3), exceeds(0.31, 0.3), exceeds(Cell("A1"), Cell("B1")).text
    (False, True, 'ROUND(A1-B1,9)>0')
    """
    if written(first, second):
        return Cell(f"ROUND({infix(first, '-', second, SUM).text},{GUARD})") > 0
    return bool(guarded(first - second) > 0)


def arc_cosine(value: Number) -> Number:
    """Return the angle in radians whose cosine this is; value from -1 to 1.

    >>> arc_cosine(1.0), arc_cosine(Cell("A1")).text
    (0.0, 'ACOS(A1)')
    """
    if written(value):
        return call("ACOS", value)
    return math.acos(value) if -1 <= value <= 1 else math.nan


def pi(like: Number) -> Number:
    """Return the number pi, as a float beside a float and as PI() beside a cell.

    >>> round(pi(1.0), 4), pi(Cell("A1")).text
    (3.1416, 'PI()')
    """
    return Cell("PI()") if written(like) else math.pi


def round_down(value: Number) -> Number:
    """Return the whole part, guarded against the last digits of a quotient.

    >>> round_down(0.3 / 0.1), round_down(Cell("A1") / Cell("B1")).text
    (3.0, 'INT(ROUND(A1/B1,9))')
    """
    if written(value):
        return Cell(f"INT(ROUND({literal(value)},{GUARD}))")
    return value if math.isnan(value) else float(math.floor(guarded(value)))


def round_up(value: Number) -> Number:
    """Return the next whole number away from 0, guarded against the last digits of a quotient.

    >>> round_up(0.6 / 0.2), round_up(2.1), round_up(-0.5), round_up(Cell("A1") / Cell("B1")).text
    (3.0, 3.0, -1.0, 'ROUNDUP(ROUND(A1/B1,9),0)')
    """
    if written(value):
        return Cell(f"ROUNDUP(ROUND({literal(value)},{GUARD}),0)")
    return value if math.isnan(value) else math.copysign(math.ceil(guarded(abs(value))), value) + 0.0


def round_half_up(value: Number) -> Number:
    """Return the nearest whole number, half up; what is a half but for its tenth digit is a half.

    >>> round_half_up(2.5), round_half_up(62.4999999999999), round_half_up(Cell("A1") / Cell("B1")).text
    (3.0, 63.0, 'ROUND(ROUND(A1/B1,9),0)')
    """
    if written(value):
        return Cell(f"ROUND(ROUND({literal(value)},9),0)")
    if math.isnan(value):
        return value
    near = Decimal(f"{value:.15g}").quantize(Decimal("1e-9"), ROUND_HALF_UP)
    return float(near.quantize(Decimal(1), ROUND_HALF_UP))
