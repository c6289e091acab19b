"""One arithmetic for numbers and for spreadsheet cells.

A rule is written once, as plain arithmetic plus the helpers here and in `searching`, `sums` and `words`. Called with
floats it is the number; called with `Cell`s it is the text of the formula that a spreadsheet works out to the same
number. Rules therefore never branch on a value with `if`: they use `when`, and `Cell.__bool__` raises to say so.

Only functions that Excel 2013, LibreOffice 7 and Google Sheets share are ever written, and no number is typed
inside a formula but 0, 1 and the digits of a rounding guard: constants stand in cells.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from functools import reduce
from typing import Any, overload

from scaler.formula.cells import (
    COMPARISON,
    GUARD,
    JOIN,
    PRODUCT,
    SUM,
    Cell,
    Number,
    Text,
    Truth,
    call,
    guarded,
    infix,
    is_number,
    keyed,
    literal,
    operand,
    written,
)

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

    >>> opposite(True), opposite(Cell("A1") > 0).text, opposite(Cell("A1")).text
    (False, 'A1<=0', 'NOT(A1)')
    """
    if isinstance(condition, Cell) and condition.opposed:
        return Cell(condition.opposed, COMPARISON, condition.text)
    return call("NOT", condition) if written(condition) else not condition


def same(first: Number | Text, second: Number | Text) -> Truth:
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
    >>> default_to(Cell("A1"), 0).text, default_to(Cell("A1"), "").text
    ('N(A1)', 'A1')
    """
    if isinstance(value, Cell) and default in (0, ""):  # cells of workings hold blank text, never nothing
        return value if default == "" else call("N", value)
    return when(given(value), value, default)


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
    """Return a number times a factor, and a word as it is, blank text for nothing.

    >>> scaled(2.0, 28.0), scaled("oz", 28.0), scaled(None, 28.0), scaled(Cell("A1"), Cell("B1")).text
    (56.0, 'oz', '', 'IF(ISNUMBER(A1),A1*B1,A1&"")')
    """
    if written(value, factor):
        return when(call("ISNUMBER", value), value * factor, infix(value, "&", "", JOIN))
    return value * factor if is_number(value) else default_to(value, "")


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


def size_of(value: Number) -> Number:
    """Return a number without its sign.

    >>> size_of(-9.0), size_of(Cell("A1")).text
    (9.0, 'ABS(A1)')
    """
    return call("ABS", value) if written(value) else abs(value)


def remainder(value: Number, divisor: Number) -> Number:
    """Return what is left of a whole number after whole ones of another.

    >>> remainder(1700.0, 1600.0), remainder(Cell("A1"), Cell("B1")).text
    (100.0, 'MOD(A1,B1)')
    """
    return call("MOD", value, divisor) if written(value, divisor) else math.fmod(value, divisor)


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


@overload
def round_down(value: float) -> float: ...
@overload
def round_down(value: Number) -> Number: ...
def round_down(value: Number) -> Number:
    """Return the whole part, guarded against the last digits of a quotient.

    >>> round_down(0.3 / 0.1), round_down(Cell("A1") / Cell("B1")).text
    (3.0, 'INT(ROUND(A1/B1,9))')
    """
    if written(value):
        return Cell(f"INT(ROUND({literal(value)},{GUARD}))")
    return value if math.isnan(value) else float(math.floor(guarded(value)))


@overload
def round_up(value: float) -> float: ...
@overload
def round_up(value: Number) -> Number: ...
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


# --- words put together, as text here and as text in a cell ---


def joined(*parts: Any) -> Text:
    """Return words and numbers one after the other.

    >>> joined("Superfat ", "5", " %"), joined(3.0, " lb"), joined("Superfat ", Cell("A1")).text
    ('Superfat 5 %', '3 lb', '"Superfat "&A1')
    """
    if written(*parts):
        texts = [operand(part, JOIN) for part in parts]
        if len(texts) > 1:  # beside other words a number needs no & of its own to be one
            texts = [text.removesuffix('&""') for text in texts]
        return Cell(reduce(_beside, texts), JOIN)
    return "".join(f"{part:.15g}" if is_number(part) else str(part) for part in parts)


def _beside(one: str, other: str) -> str:
    """Return two texts of a formula joined, as one word where a word meets a word.

    >>> _beside('A1&" oz"', '", "'), _beside('A1', '" oz"')
    ('A1&" oz, "', 'A1&" oz"')
    """
    return one[:-1] + other[1:] if one[-1] == other[0] == '"' else f"{one}&{other}"


def figure(value: Number, digits: Number) -> Text:
    """Return a number as words show it, half up to some digits.

    >>> figure(5.25, 1), figure(12.0, 1), figure(-0.01, 0), figure(Cell("A1"), 1).text
    ('5.3', '12', '0', '(ROUND(A1,1)+0)&""')
    """
    if written(value, digits):
        return Cell(f'(ROUND({literal(value)},{literal(digits)})+0)&""', JOIN)
    exact = Decimal(f"{value:.15g}").quantize(Decimal(1).scaleb(-int(digits)), ROUND_HALF_UP)
    return f"{float(exact) + 0.0:.15g}"


def repeated(word: Text, times: Number) -> Text:
    """Return a word so many times, none for fewer than one.

    >>> repeated("-", 3.0), repeated("-", -1.0), repeated("-", Cell("A1")).text
    ('---', '', 'REPT("-",MAX(A1,0))')
    """
    if written(word, times):
        return call("REPT", word, call("MAX", times, 0))
    return str(word) * max(int(times), 0)


def put_at(text: Text, place: Number, sign: str) -> Text:
    """Return a text with the letter at a place (1, 2, ...) replaced.

    >>> put_at("----", 2.0, "o"), put_at(Cell("A1"), Cell("B1"), "o").text
    ('-o--', 'REPLACE(A1,B1,1,"o")')
    """
    if written(text, place):
        return call("REPLACE", text, place, 1, sign)
    return text[: int(place) - 1] + sign + text[int(place) :]
