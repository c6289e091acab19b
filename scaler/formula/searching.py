"""Words in a name, and rows found by what they hold: helpers that read as numbers and as formulas, like `helpers`."""

from __future__ import annotations

import math

from scaler.formula.cells import Cell, Column, Number, Range, Text, Truth, call, is_number, literal, places_of, written  # noqa: F401  # Range: the examples

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


def product_where(keys: Column, key: Text, first: Column, second: Column) -> Number:
    """Return the sum of the products of two columns where the key is this one.

    >>> product_where(["a", "b", "A"], "a", [1.0, 2.0, 4.0], [10.0, 10.0, 10.0])
    50.0
    >>> product_where(Range("A1:A9"), Cell("D1"), Range("B1:B9"), Range("C1:C9")).text
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
    >>> last_lost(Range("A1:A9"), Cell("E1"), Range("B1:B9"), Range("C1:C9"), Range("D1:D9")).text
    'SUMPRODUCT(MAX((A1:A9=E1)*(B1:B9>0)*(C1:C9=0)*D1:D9))'
    """
    if written(keys, key, exact, shown, places):
        lost = f"({literal(keys)}={literal(key)})*({literal(exact)}>0)*({literal(shown)}=0)"
        return Cell(f"SUMPRODUCT(MAX({lost}*{literal(places)}))")
    rows = ((exact[place], shown[place], places[place]) for place in places_of(keys, key))
    return max((place for held, seen, place in rows if is_number(held) and held > 0 and seen == 0), default=0)


def chosen(number: Number, *columns: Column) -> Column:
    """Return the first, second ... of several columns; a choice by `when` is not taken for a column by every program.

    >>> chosen(2.0, [1.0], [5.0]), chosen(Cell("C1"), Range("A1:A9"), Range("B1:B9")).text
    ([5.0], 'CHOOSE(C1,A1:A9,B1:B9)')
    """
    if written(number, *columns):
        return call("CHOOSE", number, *columns)
    return columns[int(number) - 1]


def exponential(value: Number) -> Number:
    """Return e to the power of a number.

    >>> exponential(0.0), exponential(Cell("A1")).text
    (1.0, 'EXP(A1)')
    """
    return call("EXP", value) if written(value) else math.exp(value)
