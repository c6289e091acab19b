"""Steps: the columns of workings, each one rule, worked out in the order in which they read one another.

A step fills one column of one table. Its parameters are named after what it reads:

- a column of its own table, typed or worked out: the value in the same row;
- `<table>_<column>`: that whole column of another table;
- a constant or a setting: its one value;
- a block of its own table, such as `inputs`: the typed cells of the same row; or one of the heads of a block.

A step with a gate (`when`) is worked out only in rows where that column is 1, and is blank text elsewhere, so that a
row that is wrong takes away what hangs on it and nothing else.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Any

from scaler.formula.cells import IndexedColumn

CONSTANTS, SETTINGS, RULES = "constants", "costs", "rules"
SETTING_COLUMN = "in_use"
"""The column of the settings' table that holds the value in use."""
LISTS = {CONSTANTS: "value", SETTINGS: SETTING_COLUMN, RULES: "number"}
"""Tables whose rows have a name, and the column that holds what the name stands for."""
REFUSED = ""
"""What stands where a gate is closed."""

ROW, COLUMN, ONE, BLOCK, HEAD = "row", "column", "one", "block", "head"


@dataclass(frozen=True)
class Source:
    """Where a parameter's value comes from: one row's cell, a whole column, one cell of a list, a block or its head."""

    kind: str
    table: str
    name: str


@cache
def parameters_of(rule: Callable[..., Any]) -> tuple[str, ...]:
    """Return the names of what a rule reads."""
    return tuple(inspect.signature(rule).parameters)


@dataclass(frozen=True)
class Step:
    """One column of workings.

    Attributes:
        table: key of the table.
        name: the column's name.
        unit: unit of its values; "" for plain numbers, "text", "date", "%".
        rule: the arithmetic.
        when: the column of the table that must be 1; "" for a step that every row has.
        closed: what stands where it is not: blank text, 0, or the name of a constant.
        gathers: columns, as table and column, that it lists one under the other instead of working anything out.
    """

    table: str
    name: str
    unit: str
    rule: Callable[..., Any]
    when: str = ""
    closed: str | int = REFUSED
    gathers: tuple[tuple[str, str], ...] = ()

    @cached_property
    def parameters(self) -> tuple[str, ...]:
        """Names of what the rule reads."""
        return () if self.gathers else parameters_of(self.rule)

    @property
    def meaning(self) -> str:
        """First sentence of the rule's docstring."""
        return (inspect.getdoc(self.rule) or "").split("\n")[0]


Rule = Callable[..., Any]


def described(rule: Rule, parameters: Sequence[str], says: str) -> Rule:
    """Give a rule that takes its values by name the parameters it reads and its docstring, and return it."""
    rule.__doc__ = says
    held = [inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY) for name in parameters]
    rule.__signature__ = inspect.Signature(held)  # type: ignore[attr-defined]
    return rule


def handed(rule: Rule, parameters: Sequence[str], says: str, name: str = "") -> Rule:
    """Return a rule of a name that hands what it reads, in this order, to another."""
    held = described(lambda **read: rule(*(read[parameter] for parameter in parameters)), parameters, says)
    held.__module__, held.__name__ = rule.__module__, name or rule.__name__
    return held


class StepGroup:
    """Collects the steps of one table behind one gate."""

    def __init__(self, table: str, when: str = "", closed: str | int = REFUSED) -> None:
        """Start with no step."""
        self.table, self.when, self.closed = table, when, closed
        self.steps: list[Step] = []

    def step(self, unit: str) -> Callable[[Rule], Rule]:
        """Declare a function as a step; its name is the column's name."""

        def declare(rule: Rule) -> Rule:
            self.add(rule.__name__, unit, rule)
            return rule

        return declare

    def add(self, name: str, unit: str, rule: Rule) -> None:
        """Add a step whose rule was made, not written."""
        self.steps.append(Step(self.table, name, unit, rule, self.when, self.closed))


@dataclass
class Tables:
    """All tables while they are worked out.

    Attributes:
        columns: table -> column -> one value a row.
        lengths: rows of each table.
        blocks: table -> block -> the columns whose cells stand side by side in each row.
        heads: table -> head -> one value for each column of the block `numbers`.
    """

    columns: dict[str, dict[str, Sequence[Any]]] = field(default_factory=dict)
    lengths: dict[str, int] = field(default_factory=dict)
    blocks: dict[str, dict[str, tuple[str, ...]]] = field(default_factory=dict)
    heads: dict[str, dict[str, tuple[Any, ...]]] = field(default_factory=dict)

    def start(self, table: str, columns: Mapping[str, Sequence[Any]]) -> None:
        """Begin a table with the columns that are given, one at least."""
        self.columns[table] = {name: IndexedColumn(values) for name, values in columns.items()}
        self.lengths[table] = len(next(iter(columns.values())))

    def start_rows(self, table: str, names: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
        """Begin a table with its rows, a value of each for every column."""
        self.start(table, {name: [row[at] for row in rows] for at, name in enumerate(names)})

    def column(self, table: str, name: str) -> Sequence[Any]:
        """Return one value a row."""
        return self.columns[table][name]

    def one(self, table: str, name: str) -> Any:
        """Return the value of a named line of a list of constants or settings."""
        held = self.columns[table]
        return held[LISTS[table]][held["name"].index(name)]

    def row(self, table: str, index: int) -> dict[str, Any]:
        """Return every value of one row (0, 1, ...)."""
        return {name: values[index] for name, values in self.columns[table].items()}


class Names:
    """What steps may read: every column, typed or worked out, every constant and setting."""

    def __init__(self, tables: Tables, steps: Iterable[Step] = ()) -> None:
        """List what the tables hold and the steps will add."""
        self.columns = {table: set(held) for table, held in tables.columns.items()}
        for step in steps:
            self.columns.setdefault(step.table, set()).add(step.name)
        self.lists = {table: set(tables.columns.get(table, {}).get("name", ())) for table in LISTS}
        self.blocks, self.heads = tables.blocks, tables.heads

    @property
    def held(self) -> object:
        """All the names, to tell whether those of another workshop are the same."""
        named = (self.columns, self.lists, self.heads)
        blocks = tuple((table, tuple(held.items())) for table, held in self.blocks.items())
        return (*(tuple((table, frozenset(held)) for table, held in each.items()) for each in named), blocks)

    def source(self, step: Step, name: str) -> Source:
        """Return where a parameter comes from.

        Raises:
            LookupError: nothing is called so: a mistake in the code, not in an input.
        """
        if name in self.columns[step.table]:
            return Source(ROW, step.table, name)
        if name in self.blocks.get(step.table, ()):
            return Source(BLOCK, step.table, name)
        if name in self.heads.get(step.table, ()):
            return Source(HEAD, step.table, name)
        for table, held in self.lists.items():
            if name in held:
                return Source(ONE, table, name)
        for table, columns in self.columns.items():
            column = name.removeprefix(f"{table}_")
            if column != name and column in columns:
                return Source(COLUMN, table, column)
        raise LookupError(f"step {step.name} of {step.table}: nothing is called {name}")


def in_order(steps: Sequence[Step], names: Names) -> tuple[Step, ...]:
    """Return the steps so that each comes after those it reads, else in the order given.

    Raises:
        LookupError: a step reads what is not there, or itself by way of others.
    """
    makes = {(step.table, step.name): step for step in steps}
    if len(makes) < len(steps):
        twice = {key for key in makes if sum((step.table, step.name) == key for step in steps) > 1}
        raise LookupError(f"two steps fill one column: {sorted(twice)}")
    ordered: dict[tuple[str, str], Step] = {}
    waiting: list[tuple[str, str]] = []

    def place(key: tuple[str, str]) -> None:
        step = makes.get(key)
        if step is None or key in ordered:
            return
        if key in waiting:
            raise LookupError(" reads ".join(".".join(one) for one in [*waiting[waiting.index(key) :], key]))
        waiting.append(key)
        for read in reads(step, names):
            place(read)
        waiting.pop()
        ordered[key] = step

    for step in steps:
        place((step.table, step.name))
    return tuple(ordered.values())


def reads(step: Step, names: Names) -> list[tuple[str, str]]:
    """Return the columns that a step reads, as table and column, its gate among them."""
    found = [*step.gathers, *([(step.table, step.when)] if step.when else [])]
    for name in step.parameters:
        source = names.source(step, name)
        if source.kind == BLOCK:
            found += [(step.table, column) for column in names.blocks[step.table][name]]
        elif source.kind == ONE:
            found.append((source.table, LISTS[source.table]))
        elif source.kind != HEAD:
            found.append((source.table, source.name))
    return found


def steps_to(targets: Iterable[tuple[str, str]], steps: Sequence[Step], names: Names) -> tuple[Step, ...]:
    """Return the steps that lead to some columns, given as table and column: the rest need not be worked out."""
    makes = {(step.table, step.name): step for step in steps}
    wanted: set[tuple[str, str]] = set()
    open_ends = list(targets)
    while open_ends:
        column = open_ends.pop()
        if column in makes and column not in wanted:
            wanted.add(column)
            open_ends += reads(makes[column], names)
    return tuple(step for step in steps if (step.table, step.name) in wanted)


def evaluate(steps: Sequence[Step], tables: Tables) -> None:
    """Work out every step as numbers, each after those it reads."""
    names = Names(tables, steps)
    for place in _order(tuple(steps), names):
        step = steps[place]
        tables.columns[step.table][step.name] = IndexedColumn(column_of(step, tables, names))


_orders: dict[object, tuple[int, ...]] = {}
"""Places of steps in the order of `in_order`, by all that the order hangs on: one workshop's order is another's."""


def _order(steps: tuple[Step, ...], names: Names) -> tuple[int, ...]:
    key = tuple((step.table, step.name, step.when, step.parameters, step.gathers) for step in steps), names.held
    if key not in _orders:
        places = {(step.table, step.name): place for place, step in enumerate(steps)}
        _orders[key] = tuple(places[step.table, step.name] for step in in_order(steps, names))
    return _orders[key]


def column_of(step: Step, tables: Tables, names: Names) -> list[Any]:
    """Return one value a row of a step whose sources are filled."""
    if step.gathers:
        return [value for table, column in step.gathers for value in tables.column(table, column)]
    by_row: dict[str, Sequence[Any]] = {}
    fixed: dict[str, Any] = {}
    for name in step.parameters:
        source = names.source(step, name)
        if source.kind == ROW:
            by_row[name] = tables.column(source.table, source.name)
        elif source.kind == BLOCK:
            held = [tables.column(step.table, column) for column in tables.blocks[step.table][name]]
            by_row[name] = list(zip(*held, strict=True)) or [()] * tables.lengths[step.table]
        elif source.kind == HEAD:
            fixed[name] = tables.heads[step.table][name]
        elif source.kind == COLUMN:
            fixed[name] = tables.column(source.table, source.name)
        else:
            fixed[name] = tables.one(source.table, source.name)
    gates = tables.column(step.table, step.when) if step.when else None
    closed = tables.one(CONSTANTS, step.closed) if isinstance(step.closed, str) and step.closed else step.closed
    values = []
    for row in range(tables.lengths[step.table]):
        if gates is not None and gates[row] != 1:
            values.append(closed)
        else:
            values.append(step.rule(**{name: held[row] for name, held in by_row.items()}, **fixed))
    return values
