"""Steps: the columns of workings, worked out one after another, as numbers here and as formulas in `write/`.

A step is one rule that fills one column of one table. Its parameters are named after what it reads:

- a column of its own table, input or earlier step: the value in the same row;
- `<table>_<column>`: that whole column of another table;
- a constant or a setting: its one value.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from scaler.formula.cells import IndexedColumn

CONSTANTS, SETTINGS = "constants", "costs"
SETTING_COLUMN = "in_use"
"""The column of the settings' table that holds the value in use."""


@dataclass(frozen=True)
class Source:
    """Where a parameter's value comes from: one row's cell, a whole column, or one cell of a list."""

    kind: str  # "row", "column" or "one"
    table: str
    name: str


@dataclass(frozen=True)
class Step:
    """One column of workings.

    Attributes:
        table: key of the table.
        name: the column's name.
        unit: unit of its values; "" for plain numbers, "text", "date", "%".
        rule: the arithmetic.
    """

    table: str
    name: str
    unit: str
    rule: Callable[..., Any]

    @cached_property
    def parameters(self) -> tuple[str, ...]:
        """Names of what the rule reads."""
        return tuple(inspect.signature(self.rule).parameters)

    @property
    def meaning(self) -> str:
        """First sentence of the rule's docstring."""
        return (inspect.getdoc(self.rule) or "").split("\n")[0]


Rule = Callable[..., Any]


def described(rule: Rule, parameters: tuple[str, ...], says: str) -> Rule:
    """Give a rule that takes its values by name the parameters it reads and its docstring, and return it."""
    rule.__doc__ = says
    held = [inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY) for name in parameters]
    rule.__signature__ = inspect.Signature(held)  # type: ignore[attr-defined]
    return rule


class StepGroup:
    """Collects the steps of one table in the order in which they are written down."""

    def __init__(self, table: str) -> None:
        """Start with no step."""
        self.table = table
        self.steps: list[Step] = []

    def step(self, unit: str) -> Callable[[Rule], Rule]:
        """Declare a function as the next step; its name is the column's name."""

        def declare(rule: Rule) -> Rule:
            self.steps.append(Step(self.table, rule.__name__, unit, rule))
            return rule

        return declare


@dataclass
class Tables:
    """All tables while they are worked out: table -> column -> one value a row."""

    columns: dict[str, dict[str, Sequence[Any]]] = field(default_factory=dict)
    lengths: dict[str, int] = field(default_factory=dict)

    def start(self, table: str, length: int, columns: Mapping[str, Sequence[Any]]) -> None:
        """Begin a table with the columns that are given."""
        self.columns[table] = {name: IndexedColumn(values) for name, values in columns.items()}
        self.lengths[table] = length

    def column(self, table: str, name: str) -> Sequence[Any]:
        """Return one value a row."""
        return self.columns[table][name]

    def one(self, table: str, name: str) -> Any:
        """Return the value of a named line of a list of constants or settings."""
        held = self.columns[table]
        return held["value" if table == CONSTANTS else SETTING_COLUMN][list(held["name"]).index(name)]

    def row(self, table: str, index: int) -> dict[str, Any]:
        """Return every value of one row (0, 1, ...)."""
        return {name: values[index] for name, values in self.columns[table].items()}


def resolve(step: Step, name: str, held: Mapping[str, Mapping[str, Any]]) -> Source:
    """Return where a parameter comes from.

    Raises:
        LookupError: nothing of that name was there before this step: a mistake in the code, not in an input.
    """
    if name in held[step.table]:
        return Source("row", step.table, name)
    for table in (CONSTANTS, SETTINGS):
        if name in held.get(table, {}).get("name", ()):
            return Source("one", table, name)
    for table, columns in held.items():
        column = name.removeprefix(f"{table}_")
        if column != name and column in columns:
            return Source("column", table, column)
    raise LookupError(f"step {step.name} of {step.table}: nothing is called {name}")


def evaluate(steps: Iterable[Step], sheetful: Tables) -> None:
    """Work out every step as numbers, one column after another."""
    for step in steps:
        sheetful.columns[step.table][step.name] = IndexedColumn(_column_of(step, sheetful))


def _column_of(step: Step, sheetful: Tables) -> list[Any]:
    by_row: list[Sequence[Any]] = []
    fixed: dict[str, Any] = {}
    row_names: list[str] = []
    for name in step.parameters:
        source = resolve(step, name, sheetful.columns)
        if source.kind == "row":
            row_names.append(name)
            by_row.append(sheetful.column(source.table, source.name))
        elif source.kind == "column":
            fixed[name] = sheetful.column(source.table, source.name)
        else:
            fixed[name] = sheetful.one(source.table, source.name)
    if not row_names:
        return [step.rule(**fixed) for _ in range(sheetful.lengths[step.table])]
    return [step.rule(**dict(zip(row_names, values, strict=True)), **fixed) for values in zip(*by_row, strict=True)]
