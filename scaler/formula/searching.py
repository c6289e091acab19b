"""Rows found by what they hold, and words in a name: helpers that read as numbers and as formulas, like `helpers`."""

from __future__ import annotations

import math
from typing import Any

from scaler.formula.cells import (
    GUARD,
    JOIN,
    SUM,
    Cell,
    Column,
    Number,
    Text,
    Truth,
    call,
    guarded,
    is_number,
    literal,
    operand,
    places_of,
    written,
)
from scaler.formula.helpers import default_to, given, when

# --- looking up ---


def match(value: Any, column: Column) -> Number:
    """Return the place (1, 2, ...) of a name in a column, 0 where it is not there.

    >>> match("b", ["A", "B"]), match("c", ["A", "B"]), match(Cell("A1"), Cell("B1:B9")).text
    (2, 0, 'IFERROR(MATCH(A1,B1:B9,0),0)')
    """
    if written(value, column):
        return Cell(f"IFERROR(MATCH({literal(value)},{literal(column)},0),0)")
    found = places_of(column, value) if given(value) else ()
    return found[0] + 1 if found else 0


def find_name(name: Text, column: Column) -> Number:
    """Return the place (1, 2, ...) of a name in a column that may hold blanks, 0 where it is not there or blank.

    >>> find_name("b", ["A", "B"]), find_name("", ["A", ""]), find_name(Cell("A1"), Cell("B1:B9")).text
    (2, 0, 'IFERROR(MATCH(A1,B1:B9,0)*(A1<>""),0)')
    """
    if written(name, column):
        return Cell(f'IFERROR(MATCH({literal(name)},{literal(column)},0)*({operand(name, SUM)}<>""),0)')
    return match(name, column)


def pick(column: Column, place: Number, missing: Any = 0) -> Any:
    """Return what stands at a place of a column, `missing` at place 0.

    >>> pick([5.0, 6.0], 2), pick([5.0], 0), pick(Cell("B1:B9"), Cell("A1")).text
    (6.0, 0, 'IF(A1>0,INDEX(B1:B9,A1),0)')
    """
    if written(column, place):
        return when(place > 0, call("INDEX", column, place), missing)
    return column[int(place) - 1] if place else missing


def translated(word: Number | Text, words: Column, meanings: Column, unknown: Any) -> Any:
    """Return what a word means by two columns, `unknown` where it is not among them.

    >>> translated("loaf", ["box", "loaf"], ["box", "box"], "loaf"), translated("x", ["box"], ["box"], "x")
    ('box', 'x')
    >>> translated(Cell("A1"), Cell("B1:B9"), Cell("C1:C9"), Cell("A1")).text
    'IFERROR(INDEX(C1:C9,MATCH(A1,B1:B9,0)),A1)'
    """
    if written(word, words, meanings, unknown):
        found = f"INDEX({literal(meanings)},MATCH({literal(word)},{literal(words)},0))"
        return Cell(f"IFERROR({found},{literal(unknown)})")
    places = places_of(words, word)
    return meanings[places[0]] if places else default_to(unknown, "")


def row_below(value: Number, column: Column) -> Number:
    """Return the place of the last entry of a rising column that is not above the value, guarded like `round_down`.

    >>> row_below(0.25, [0.0, 0.2, 0.4]), row_below(0.1 + 0.2, [0.0, 0.3]), row_below(Cell("A1"), Cell("B1:B9")).text
    (2, 2, 'MATCH(ROUND(A1,9),B1:B9,1)')
    """
    if written(value, column):
        return Cell(f"MATCH(ROUND({literal(value)},{GUARD}),{literal(column)},1)")
    held = guarded(value)
    return max((place for place, known in enumerate(column, 1) if known <= held), default=math.nan)


def at(column: Column, place: Number) -> Any:
    """Return what stands at a place that is known to be inside the column.

    >>> at([5.0, 6.0], 1), at(Cell("B1:B9"), Cell("A1") + 1).text
    (5.0, 'INDEX(B1:B9,A1+1)')
    """
    if written(column, place):
        return call("INDEX", column, place)
    return column[int(place) - 1] if 1 <= place <= len(column) else math.nan


def tag(first: Any, second: Any) -> Text:
    """Return two numbers or words joined to one key.

    >>> tag(2, 1.0), tag(2.5, None), tag(Cell("A1"), Cell("B1")).text
    ('2|1', '2.5|', 'A1&"|"&B1')
    """
    if written(first, second):
        return Cell(f'{operand(first, JOIN)}&"|"&{operand(second, JOIN)}', JOIN)
    parts = ("" if part is None else part for part in (first, second))
    return "|".join(f"{part:.15g}" if isinstance(part, float) else str(part) for part in parts)


# --- words in a name, and the rest ---

_MARKS = (",", "-", "(", ")")
"""Marks that a name may have where a word begins or ends."""


def spread(text: Text, room: Number) -> Text:
    """Return a text with its words so far apart that each is found at a multiple of the room; marks count as spaces.

    >>> spread("Milk, goat", 4), spread(Cell("A1"), Cell("B1")).text[:20]
    ('Milk    goat', 'SUBSTITUTE(TRIM(SUBS')
    """
    if written(text, room):
        held = literal(text)
        for mark in _MARKS:
            held = f'SUBSTITUTE({held},"{mark}"," ")'
        return Cell(f'SUBSTITUTE(TRIM({held})," ",REPT(" ",{literal(room)}))')
    plain = str(text or "")
    for mark in _MARKS:
        plain = plain.replace(mark, " ")
    return (" " * int(room)).join(plain.split())


def word_at(text: Text, order: Number, room: Number) -> Text:
    """Return one word (0, 1, ...) of a spread text, blank when it has no so many.

    >>> word_at(spread("Milk, goat", 20), 1, 20), word_at(Cell("A1"), Cell("B1"), Cell("C1")).text
    ('goat', 'TRIM(MID(A1,B1*C1+1,C1))')
    """
    if written(text, order, room):
        return call("TRIM", call("MID", text, order * room + 1, room))
    return str(text)[int(order * room) :][: int(room)].strip()


def contains(text: Text, word: str) -> Truth:
    """Return whether some letters stand in a text, whatever their case.

    >>> contains("Lye liquid", "lye"), contains(Cell("A1"), "lye").text
    (True, 'ISNUMBER(SEARCH("lye",A1))')
    """
    return call("ISNUMBER", call("SEARCH", word, text)) if written(text) else word.casefold() in str(text).casefold()


def product_where(keys: Column, key: Any, first: Column, second: Column) -> Number:
    """Return the sum of the products of two columns where the key is this one.

    >>> product_where(["a", "b", "A"], "a", [1.0, 2.0, 4.0], [10.0, 10.0, 10.0])
    50.0
    >>> product_where(Cell("A1:A9"), Cell("D1"), Cell("B1:B9"), Cell("C1:C9")).text
    'SUMPRODUCT(--(A1:A9=D1),B1:B9,C1:C9)'
    """
    if written(keys, key, first, second):
        return Cell(f"SUMPRODUCT(--({literal(keys)}={literal(key)}),{literal(first)},{literal(second)})")
    rows = ((first[place], second[place]) for place in places_of(keys, key))
    return math.fsum(one * other for one, other in rows if is_number(one) and is_number(other))


def last_lost(keys: Column, key: Number, exact: Column, shown: Column, places: Column) -> Number:
    """Return the last place, among those of a key, at which a number above 0 is shown as 0; 0 when there is none.

    >>> last_lost([1, 1, 2], 1, [0.4, 5.0, 0.2], [0.0, 5.0, 0.0], [1, 2, 3])
    1
    >>> last_lost(Cell("A1:A9"), Cell("E1"), Cell("B1:B9"), Cell("C1:C9"), Cell("D1:D9")).text
    'SUMPRODUCT(MAX((A1:A9=E1)*(B1:B9>0)*(C1:C9=0)*D1:D9))'
    """
    if written(keys, key, exact, shown, places):
        lost = f"({literal(keys)}={literal(key)})*({literal(exact)}>0)*({literal(shown)}=0)"
        return Cell(f"SUMPRODUCT(MAX({lost}*{literal(places)}))")
    rows = ((exact[place], shown[place], places[place]) for place in places_of(keys, key))
    return max((place for held, seen, place in rows if is_number(held) and held > 0 and seen == 0), default=0)


def chosen(number: Number, *held: Any) -> Any:
    """Return the first, second ... of several values or columns; not every program takes a choice by `when` for a column.

    >>> chosen(2.0, [1.0], [5.0]), chosen(Cell("C1"), Cell("A1:A9"), Cell("B1:B9")).text
    ([5.0], 'CHOOSE(C1,A1:A9,B1:B9)')
    """
    if written(number, *held):
        return call("CHOOSE", number, *held)
    return held[int(number) - 1]


def exponential(value: Number) -> Number:
    """Return e to the power of a number.

    >>> exponential(0.0), exponential(Cell("A1")).text
    (1.0, 'EXP(A1)')
    """
    return call("EXP", value) if written(value) else math.exp(value)
