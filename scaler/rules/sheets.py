"""The input sheets as tables: typed cells row by row, spare rows below them, and the limits of every number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from scaler.formula.cells import Column, Number
from scaler.formula.helpers import all_of, same, when
from scaler.formula.searching import find_name, tag, translated
from scaler.formula.steps import Rule, Step, Tables, handed
from scaler.formula.sums import count_given, count_where, outside_at
from scaler.model import records, schema
from scaler.model.records import Mixed, Workshop, mixed_lines
from scaler.model.schema import Column as Declared
from scaler.model.schema import Setting, Sheet, columns, limits, question, remedy, remedy_of_setting, serial
from scaler.model.settings import setting_declared

SPARE = {records.INGREDIENTS.key: 10, records.PRICES.key: 15, records.MOULDS.key: 4, records.LINES.key: 12}
"""Rows below the last record that are already wired, by the key of the sheet."""

TYPED = "_typed"
"""End of the name of a column whose words are translated: `kind_typed` holds what stands there, `kind` what it means."""

UNREAD = "(an error)"
"""What a cell of workings holds where a cell cannot be read, or its column is gone: a text that nobody types."""

DATE_APART = {records.INGREDIENTS.key: "opened", records.PRICES.key: "date", records.BATCHES.key: "make_date"}
"""The date of a row that says when and not how much: the first of its numbers, and at fault it takes away dates alone."""

_NUMBERS = (schema.NUMBER, schema.PERCENT, schema.WHOLE, schema.DATE)
_CHOSEN = (schema.CHOICE, schema.YES_NO)
HEADS = ("leasts", "mosts", "doubts_below", "doubts_above", "positions", "remedies", "questions")


def _words(name: str, column: Declared) -> dict[str, str]:
    """Return every word that a column of words takes, after its name, and what it means."""
    choices = column.choices if column.kind == schema.CHOICE else ("yes", "no")
    known = {word: word for word in choices} | dict(column.words)
    return {f"{name}|{word}": means for word, means in known.items()}


WORDS = tuple(
    pair
    for sheet in records.SHEETS
    for name, column in columns(sheet.record).items()
    if column.kind in _CHOSEN
    for pair in _words(name, column).items()
) + tuple((f"{name}|{word}", word) for name, item in setting_declared().items() for word in item.choices)
"""Every word that a drop-down offers and its other words, after the name of its column, and what each means."""

WORKED = tuple(sheet for sheet in records.SHEETS if sheet is not records.COSTS)
"""Sheets whose rows are records of their own; a row of Costs is a setting."""


def cell_value(value: object) -> object:
    """Return a record's value as its cell of workings holds it."""
    if isinstance(value, date):
        return serial(value)
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def typed(sheet: Sheet) -> dict[str, Declared]:
    """Return the columns of a sheet that rules read, by the names they have in workings: words, a date apart, numbers."""
    words, dates, numbers = {}, {}, {}
    for name, column in columns(sheet.record).items():
        if name == DATE_APART.get(sheet.key):
            dates[name] = column
        elif column.kind in _NUMBERS:
            numbers[name] = column
        elif column.kind in _CHOSEN:
            words[name + TYPED] = column
        elif column.kind != schema.TEXT or column.worked:
            words[name] = column
    return words | dates | numbers


def numbers_before(sheet: Sheet, name: str) -> int:
    """Return how many columns of numbers a sheet has before one."""
    numbers = [field for field, column in columns(sheet.record).items() if column.kind in _NUMBERS]
    return numbers.index(name)


def _doubts(column: Declared) -> tuple[float, float]:
    low, high = limits(column)
    below = low if column.doubt_below is None else column.doubt_below
    return below, high if column.doubt_above is None else column.doubt_above


SETTING_COLUMNS = ("takes", "least", "most", "doubt_below", "doubt_above", "remedy", "question")


def setting_limits(item: Setting) -> tuple[Any, ...]:
    """Return what a setting takes ("number", "percent", "words" or "anything"), its limits and doubts, and what to do beyond them."""
    if item.kind in _NUMBERS:
        takes, column = "percent" if item.kind == schema.PERCENT else "number", item.column
        return takes, *limits(column), *_doubts(column), remedy_of_setting(item), question(column)
    words = f"Choose one of: {', '.join(item.choices)}." if item.kind in _CHOSEN else ""
    return ("words" if item.kind in _CHOSEN else "anything"), 0.0, 0.0, 0.0, 0.0, words, ""


def start_sheets(tables: Tables, workshop: Workshop, keys: Sequence[str], lengths: Mapping[str, int] = {}) -> None:
    """Begin the tables of some input sheets: rows, then the spare rows, blank."""
    for sheet in records.SHEETS:
        if sheet.key in keys:
            rows = getattr(workshop, sheet.key)
            length = lengths.get(sheet.key, len(rows) + SPARE.get(sheet.key, 0))
            mixed = mixed_lines(workshop) if sheet is records.LINES else ()
            held: dict[str, list[Any]] = {"place": [float(row + 1) for row in range(length + len(mixed))]}
            for name in typed(sheet):
                field = name.removesuffix(TYPED)
                values = [UNREAD if field in item.unread else cell_value(getattr(item, field)) for item in rows]
                held[name] = values + [None] * (length - len(rows)) + [mixed_value(item, name) for item in mixed]
            if sheet is records.LINES:
                held["blend"] = [""] * length + [item.blend for item in mixed]
            tables.start(sheet.key, held)
            _describe(tables, sheet)


def mixed_value(item: Mixed, name: str) -> str | None:
    """Return what the row of an oil in a blend holds in a column of Recipe lines: recipe, oil, a stage of its own."""
    return {"recipe": item.recipe, "ingredient": item.ingredient, "stage": f"in {item.blend}"}.get(name)


def typed_rows(tables: Tables, table: str) -> int:
    """Return how many rows of a sheet's table are read from the sheet: all but those of oils in blends."""
    blends = tables.columns[table].get("blend", ())
    return tables.lengths[table] - sum(1 for blend in blends if blend)


def _describe(tables: Tables, sheet: Sheet) -> None:
    """Add the blocks of a sheet's table and the limits of its numbers."""
    held = typed(sheet)
    numbers = {name: column for name, column in held.items() if column.kind in _NUMBERS}
    tables.blocks[sheet.key] = {"inputs": tuple(held), "numbers": tuple(numbers)}
    low_high = [limits(column) + _doubts(column) for column in numbers.values()]
    heads = [tuple(row[number] for row in low_high) for number in range(4)]
    positions = tuple(float(place) for place in range(1, len(numbers) + 1))
    words = (tuple(map(remedy, numbers.values())), tuple(map(question, numbers.values())))
    tables.heads[sheet.key] = dict(zip(HEADS, (*heads, positions, *words), strict=True))


# --- what every input sheet has worked out ---


def used(inputs: Column) -> Number:
    """Filled cells of the row; 0 and it is not there. -> [-]."""
    return count_given(inputs)


def unread(inputs: Column) -> Number:
    """Cells of the row that hold an error, or whose column is gone. -> [-]."""
    return count_where(inputs, UNREAD)


def _used_beside(inputs: Column, day: Number) -> Number:
    return used(inputs) - when(same(day, UNREAD), 1, 0)


def _unread_beside(inputs: Column, day: Number) -> Number:
    return unread(inputs) - when(same(day, UNREAD), 1, 0)


def outside(numbers: Column, leasts: Column, mosts: Column, positions: Column) -> Number:
    """Which number cell of the row holds none, or one that cannot be; 0 when all are right. -> [-]; the schema."""
    return outside_at(numbers, leasts, mosts, positions)


def doubted(numbers: Column, doubts_below: Column, doubts_above: Column, positions: Column) -> Number:
    """Which number cell of the row holds one that is asked about; 0 when none does. -> [-]; the schema."""
    return outside_at(numbers, doubts_below, doubts_above, positions)


def entered(used: Number, unread: Number, outside: Number) -> Number:
    """1 where the row is filled with what its columns take. -> [-]."""
    return when(all_of(used > 0, same(unread, 0), same(outside, 0)), 1, 0)


def _entered_but_for_date(used: Number, unread: Number, outside: Number) -> Number:
    return when(all_of(used > 0, same(unread, 0), outside <= 1), 1, 0)


NAMED_OTHERWISE = {(records.LINES.key, "recipe"), (records.LINES.key, "ingredient"), (records.RECIPES.key, "alkali"),
                   (records.BATCHES.key, "recipe"), (records.BATCHES.key, "mould"), (records.BATCHES.key, "use_up"), (records.PRICES.key, "ingredient")}  # fmt: skip
"""Columns of names whose rows other steps look up."""


def _of_column(table: str, name: str, column: Declared) -> Iterator[Step]:
    """Yield what is read of the words of one column: what they mean, what they measure, which row they name."""
    if column.kind in _CHOSEN:
        reads = (name + TYPED, "words_word", "words_means")
        says = f"What the word in {column.header} means. -> [-]."
        rule = handed(lambda word, words, means: translated(tag(name, word), words, means, word), reads, says)
        yield Step(table, name, "text", rule)
    if column.kind == schema.UNIT:
        reads = (name, "units_word", "units_kind")
        says = f"What the word in {column.header} measures. -> [-]; sheet Units."
        rule = handed(lambda word, words, kinds: translated(word, words, kinds, ""), reads, says)
        yield Step(table, f"{name}_kind", "text", rule, "entered")
    if column.kind == schema.REFERENCE and (table, name) not in NAMED_OTHERWISE:
        says, names = f"Row of what {column.header} names. -> [-].", column.refers.lower()
        yield Step(table, f"{name}_at", "", handed(find_name, (name, f"{names}s_{names}"), says))


def _of_sheet(sheet: Sheet) -> Iterator[Step]:
    held: tuple[Rule, ...] = (used, unread, outside, entered)
    if day := DATE_APART.get(sheet.key):
        filled = handed(
            _used_beside, ("inputs", day), f"Filled cells of the row, {day} only if it can be read. -> [-].", "used"
        )
        beside = handed(
            _unread_beside, ("inputs", day), f"Cells of the row that cannot be read, but for {day}. -> [-].", "unread"
        )
        says = "1 where the row is filled with what its columns take, whatever its date. -> [-]."
        but = handed(_entered_but_for_date, ("used", "unread", "outside"), says, "entered")
        held = (filled, beside, outside, but)
    yield from (Step(sheet.key, rule.__name__, "", rule) for rule in held)
    yield Step(sheet.key, "doubted", "", doubted, "entered")
    for name, column in columns(sheet.record).items():
        yield from _of_column(sheet.key, name, column)


STEPS = tuple(step for sheet in WORKED for step in _of_sheet(sheet))
