"""Helpers that put words together, as text here and as text in a cell."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from functools import reduce
from typing import Any

from scaler.formula.cells import JOIN, Cell, Number, Text, call, is_number, literal, operand, written


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
