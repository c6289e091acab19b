"""The text of a formula, built by plain arithmetic on cells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeAlias

ROW = "{r}"
"""Stands for the row number in the text of a cell, so that a column's formula is worked out once."""

GUARD = 9
"""Digits kept before rounding up or down: 0.3 / 0.1 is 3 to a scale, whatever a computer makes of it."""

COMPARISON, JOIN, SUM, PRODUCT, SIGN, ATOM = range(6)


@dataclass(frozen=True, eq=False)
class Cell:
    """The text of a formula, with the rank of its outermost operator."""

    text: str
    rank: int = ATOM
    opposed: str = ""
    """The text of the opposite of a comparison."""

    def __bool__(self) -> bool:
        """Refuse to be a condition: a formula's value is not known when it is written."""
        raise TypeError(f"a rule may not branch on {self.text}: use when()")

    def __add__(self, other: object) -> Cell:
        return infix(self, "+", other, SUM)

    def __radd__(self, other: object) -> Cell:
        return infix(other, "+", self, SUM)

    def __sub__(self, other: object) -> Cell:
        return infix(self, "-", other, SUM)

    def __rsub__(self, other: object) -> Cell:
        return infix(other, "-", self, SUM)

    def __mul__(self, other: object) -> Cell:
        return infix(self, "*", other, PRODUCT)

    def __rmul__(self, other: object) -> Cell:
        return infix(other, "*", self, PRODUCT)

    def __truediv__(self, other: object) -> Cell:
        return infix(self, "/", other, PRODUCT)

    def __rtruediv__(self, other: object) -> Cell:
        return infix(other, "/", self, PRODUCT)

    def __neg__(self) -> Cell:
        return Cell(f"(-{operand(self, SIGN)})")

    def __gt__(self, other: object) -> Cell:
        return infix(self, ">", other, COMPARISON)

    def __ge__(self, other: object) -> Cell:
        return infix(self, ">=", other, COMPARISON)

    def __lt__(self, other: object) -> Cell:
        return infix(self, "<", other, COMPARISON)

    def __le__(self, other: object) -> Cell:
        return infix(self, "<=", other, COMPARISON)


_OPPOSED = {"=": "<>", "<>": "=", ">": "<=", "<=": ">", "<": ">=", ">=": "<"}


@dataclass(frozen=True)
class Range:
    """The cells of one column, as a formula names them."""

    text: str


Number: TypeAlias = float | Cell
"""A float, or a Cell that stands for one; a cell that may be blank is a Number too, and `given` tells."""
Text: TypeAlias = str | Cell
"""A str, or a Cell that stands for one."""
Truth: TypeAlias = bool | Cell
"""A bool, or a Cell that stands for one."""
Column: TypeAlias = Sequence[Any] | Range
"""A sequence of values, or the Range that stands for them."""


def literal(value: object) -> str:
    """Return a value as a formula writes it.

    Raises:
        TypeError: a number other than 0 and 1, which must stand in a cell.
    """
    if isinstance(value, Cell | Range):
        return value.text
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if value in (0, 1):
        return str(int(value))
    raise TypeError(f"{value!r} may not be typed inside a formula: give it a cell")


def operand(value: object, rank: int) -> str:
    """Return a value as one side of an operator of a rank, in brackets where it needs them."""
    text = literal(value)
    return f"({text})" if isinstance(value, Cell) and value.rank < rank else text


def infix(left: object, sign: str, right: object, rank: int) -> Cell:
    """Return two values with an operator between them."""
    # The right side of - and / needs brackets at the same rank: a-(b-c), a/(b*c).
    one, other = operand(left, rank), operand(right, rank + (sign in "-/"))
    return Cell(f"{one}{sign}{other}", rank, f"{one}{_OPPOSED[sign]}{other}" if sign in _OPPOSED else "")


def call(name: str, *arguments: object) -> Cell:
    """Return a call of a spreadsheet's function."""
    return Cell(f"{name}({','.join(literal(argument) for argument in arguments)})")


_CELLS = (Cell, Range)


def written(*values: object) -> bool:
    """Return whether any of the values stands for cells, so that the result is a formula."""
    for value in values:  # noqa: SIM110  # called for every figure: a loop takes half the time of any(...)
        if isinstance(value, _CELLS):
            return True
    return False


def text_of(formula: Any, row: int) -> str:
    """Return the formula as it stands in one row.

    >>> text_of(Cell("A{r}*B{r}"), 7)
    '=A7*B7'
    """
    return "=" + literal(formula).replace(ROW, str(row))


_ALL_SEEN = 1e5
"""Below it the guard's digits are among the 15 that a spreadsheet sees."""


def guarded(value: float) -> float:
    """Return a number to the guard's digits, as a spreadsheet rounds it: of a large number it sees 15 digits only."""
    return round(value if abs(value) < _ALL_SEEN else float(f"{value:.15g}"), GUARD)


def is_number(value: object) -> bool:
    """Return whether a value is a number, which a truth is not."""
    return isinstance(value, int | float) and not isinstance(value, bool)


# --- keys of a column ---


def keyed(value: object) -> object:
    """Return a value as spreadsheets compare it: words whatever their case."""
    return value.casefold() if isinstance(value, str) else value


class IndexedColumn(list[Any]):
    """A whole column as numbers and words; where a key stands is found once for all of its rows."""

    @cached_property
    def _places(self) -> dict[object, list[int]]:
        found: dict[object, list[int]] = {}
        for place, value in enumerate(self):
            found.setdefault(keyed(value), []).append(place)
        return found

    @cached_property
    def rising(self) -> list[float]:
        """The numbers of the column, the least first."""
        return sorted(value for value in self if is_number(value))

    def places(self, key: object) -> Sequence[int]:
        """Return the places (0, 1, ...) of a key, in order."""
        return self._places.get(keyed(key), ())

    def index(self, value: Any, *_: Any) -> int:
        """Return the first place of a value (0, 1, ...)."""
        return self.places(value)[0]


def places_of(column: Any, key: object) -> Sequence[int]:
    """Return the places (0, 1, ...) of a key in a column, in order.

    >>> places_of(["a", "b", "A"], "a"), places_of(IndexedColumn(["a", "b", "A"]), "A")
    ([0, 2], [0, 2])
    """
    if isinstance(column, IndexedColumn):
        return column.places(key)
    wanted = keyed(key)
    return [place for place, value in enumerate(column) if keyed(value) == wanted]
