"""Tables of published values: the row at or below a value, and straight lines between rows."""

from __future__ import annotations

from scaler.formula.cells import Column, Number
from scaler.formula.helpers import divide, smaller
from scaler.formula.searching import at, row_below
from scaler.formula.steps import Rule, StepGroup, handed


def between(value: Number, row: Number, knots: Column, heights: Column) -> Number:
    """Return the height at a value, linear between a row of a table and the next.

    >>> between(0.25, 1, [0.0, 0.5], [1.0, 1.2])
    1.1
    """
    slope = divide(at(heights, row + 1) - at(heights, row), at(knots, row + 1) - at(knots, row))
    return at(heights, row) + (value - at(knots, row)) * slope


def row_known(value: Number, knots: Column, rows_but_one: Number) -> Number:
    """Return the row of a table at or below a value, the last but one at most. [-] [-] -> [-].

    >>> row_known(0.6, [0.0, 0.5], 1)
    1
    """
    return smaller(row_below(value, knots), rows_but_one)


def known_row(value: str, knots: str, rows_but_one: str, says: str) -> Rule:
    """Return the rule that gives the row of a table at or below a value."""
    return handed(row_known, (value, knots, rows_but_one), f"{says} [-] -> [-].")


def add_lye_density(group: StepGroup, strength: str, before: str, of_what: str) -> None:
    """Add the density of NaOH and of KOH solution at a strength: the row of its table, and the density."""
    for base, of in (("NaOH", "naoh"), ("KOH", "koh")):
        says = f"Row of the {base} density table at or below the strength {of_what}."
        knots, row = f"{of}density_strength", f"{before}{of}_row"
        group.add(row, "", known_row(strength, knots, f"{of}_rows_but_one", says))
        says = f"Density of {base} solution {of_what}, linear between table rows. [-] [g/mL] -> [g/mL]; sheet of {base} densities."
        group.add(
            f"{before}{of}_density", "g/mL", handed(between, (strength, row, knots, f"{of}density_density"), says)
        )
