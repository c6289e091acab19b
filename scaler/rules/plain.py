"""Plain rules, a line each: a value of another table's row, a sum over its rows, a usual value, one sign of arithmetic.

    POTS.add("boils_at", "°C", picked("recipe_at", "recipes_pot_boils", "Where the batch's lye boils."))

Those that only fetch give the unit of the column that it comes from; those with one sign of arithmetic say their units.
Helpers are called by name, never handed on themselves: the tests that prove units put their own in their place.
"""

from __future__ import annotations

from scaler.formula.helpers import default_to, divide
from scaler.formula.searching import find_name, match, pick, tag
from scaler.formula.steps import Rule, handed
from scaler.formula.sums import count_where, largest_where, smallest_where, total, total_where


def picked(at: str, column: str, says: str, otherwise: int | str = 0) -> Rule:
    """Return the rule that takes the value of a column in the row `at`, or `otherwise` where that is 0."""
    return handed(lambda row, values: pick(values, row, otherwise), (at, column), says)


def summed(place: str, rows: str, column: str, says: str) -> Rule:
    """Return the rule that adds up a column over the rows whose `rows` is `place`."""
    return handed(lambda own, held, values: total_where(held, own, values), (place, rows, column), says)


def smallest(place: str, rows: str, column: str, says: str) -> Rule:
    """Return the rule that takes the smallest of a column over the rows whose `rows` is `place`; `big` for none."""
    return handed(
        lambda own, held, values, big: smallest_where(held, own, values, big), (place, rows, column, "big"), says
    )


def largest(place: str, rows: str, column: str, says: str) -> Rule:
    """Return the rule that takes the largest of a column over the rows whose `rows` is `place`."""
    return handed(lambda own, held, values: largest_where(held, own, values), (place, rows, column), says)


def counted(place: str, rows: str, says: str) -> Rule:
    """Return the rule that counts the rows whose `rows` is `place`."""
    return handed(lambda own, held: count_where(held, own), (place, rows), says)


def in_all(column: str, says: str) -> Rule:
    """Return the rule that adds up a whole column."""
    return handed(lambda values: total(values), (column,), says)  # noqa: PLW0108


def found(name: str, names: str, says: str) -> Rule:
    """Return the rule that gives the row whose name is that of `name`, however it is written; 0 for none."""
    return handed(lambda own, held: find_name(own, held), (name, names), says)  # noqa: PLW0108


def matched(word: str, words: str, says: str) -> Rule:
    """Return the rule that gives the row of a word, 0 for none."""
    return handed(lambda own, held: match(own, held), (word, words), says)  # noqa: PLW0108


def named(name: str, names: str, says: str) -> Rule:
    """Return the rule that gives the row of a name, 0 where it is blank or not there."""
    return handed(lambda own, held: find_name(own, held), (name, names), says)  # noqa: PLW0108


def same_as(value: str, says: str) -> Rule:
    """Return the rule that takes a value as it is."""
    return handed(lambda held: held, (value,), says)


def usual(value: str, otherwise: int | str, says: str) -> Rule:
    """Return the rule that takes a value, and where it is blank a number, blank text or the value of that name."""
    if isinstance(otherwise, int) or not otherwise:
        return handed(lambda typed: default_to(typed, otherwise), (value,), says)
    return handed(lambda typed, other: default_to(typed, other), (value, otherwise), says)  # noqa: PLW0108


def keyed(one: str, other: str, says: str) -> Rule:
    """Return the rule that puts two values together as one word."""
    return handed(lambda first, second: tag(first, second), (one, other), says)  # noqa: PLW0108


def times(one: str, other: str, says: str) -> Rule:
    """Return the rule that multiplies two values."""
    return handed(lambda first, second: first * second, (one, other), says)


def times_picked(one: str, at: str, column: str, says: str) -> Rule:
    """Return the rule that multiplies a value by that of a column in the row `at`, by 0 where that is 0."""
    return handed(lambda first, row, values: first * pick(values, row), (one, at, column), says)


def added(one: str, other: str, says: str) -> Rule:
    """Return the rule that adds two values."""
    return handed(lambda first, second: first + second, (one, other), says)


def less(one: str, other: str, says: str) -> Rule:
    """Return the rule that takes a value from another."""
    return handed(lambda first, second: first - second, (one, other), says)


def over(one: str, other: str, says: str) -> Rule:
    """Return the rule that divides one value by another."""
    return handed(lambda first, second: divide(first, second), (one, other), says)  # noqa: PLW0108
