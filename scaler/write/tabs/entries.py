"""What may stand in the cells of each input column, as numbers that are 0 when all is well.

The reader refuses anything else; drop-downs and limits of cells stop it while typing, but not what is pasted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from scaler.model.records import COSTS, SHEETS, setting_declared
from scaler.model.schema import CHOICE, DATE, NUMBER, PERCENT, WHOLE, YES_NO, Column, Setting, Sheet, columns
from scaler.write.layout import FIRST_ROW, SPARE_ROWS, Layout, letters, quoted

_NUMBERS = (NUMBER, PERCENT, WHOLE)
_LEAVES_NOTHING = ("batter_loss", "reject_share")
"""Settings that leave no bar at 100 %."""


@dataclass(frozen=True)
class Entry:
    """What may stand in some cells.

    Attributes:
        says: what is counted, in words.
        formula: counts the cells that hold something else.
        do: what a cell of that kind takes.
    """

    says: str
    formula: str
    do: str


_TAKES = {
    NUMBER: "Type a number alone, such as 12.5.",
    WHOLE: "Type a whole number, such as 12.",
    PERCENT: "Type a percentage: 5 % as 5% or 0.05.",
    DATE: "Type a date, such as 2026-11-25.",
    YES_NO: "Type yes or no, or clear the cell.",
}
"""What a cell of each kind takes."""


def entries(layout: Layout, built: dict[str, int]) -> Iterator[Entry]:
    """Yield what may stand in each input sheet.

    Args:
        layout: where everything stands.
        built: rows of each input sheet by its key.
    """
    for sheet in SHEETS:
        if built.get(sheet.key) and sheet is not COSTS:
            yield from _of_sheet(layout, sheet, built[sheet.key])
    if built.get(COSTS.key):
        yield from _of_settings(layout)


def _of_sheet(layout: Layout, sheet: Sheet, rows: int) -> Iterator[Entry]:
    last = FIRST_ROW + rows + SPARE_ROWS - 1
    declared = list(enumerate(columns(sheet.record).values(), 1))
    for _, group in groupby(declared, lambda item: _alike(item[1])):
        held = list(group)
        (first, column), (final, end) = held[0], held[-1]
        cells = f"{quoted(sheet.name)}!${letters(first)}${FIRST_ROW}:${letters(final)}${last}"
        wrong = _wrong(layout, cells, column.kind, column.least, column.above)
        if wrong:
            name = column.header if len(held) == 1 else f"{column.header} to {end.header}"
            yield Entry(
                f"{sheet.name}, {name}: cells that hold no {_words(column)}",
                f"SUMPRODUCT({wrong})",
                _TAKES[column.kind],
            )
    needed = [number for number, column in declared if column.required]
    for number, column in declared:
        if column.required and len(needed) > 1:
            beside = next(other for other in needed if other != number)
            blank, filled = (
                f"{quoted(sheet.name)}!${letters(at)}${FIRST_ROW}:${letters(at)}${last}" for at in (number, beside)
            )
            formula = f'SUMPRODUCT(({blank}="")*({filled}<>""))'
            yield Entry(
                f"{sheet.name}, {column.header}: cells that are blank in a filled row",
                formula,
                "Fill the cell, or clear its row.",
            )


def _alike(column: Column) -> tuple[object, ...]:
    """Return what neighbouring columns have in common when one formula looks at them all."""
    if column.kind in (*_NUMBERS, DATE):
        return column.kind, column.least, column.above
    return column.header, column.kind


def _words(column: Column | Setting) -> str:
    """Return what a cell holds, after "no" or "not".

    >>> _words(Column("Pack", NUMBER, "", above=0)), _words(Column("Purity %", PERCENT, "", above=0))
    ('number above 0', 'percentage above 0')
    """
    if column.kind in _NUMBERS:
        name = {NUMBER: "number", WHOLE: "whole number", PERCENT: "percentage"}[column.kind]
        if column.above is not None:
            return f"{name} above {column.above:g}"
        return name if column.least is None else f"{name} of {column.least:g} or more"
    return {DATE: "date", YES_NO: "yes and no no"}.get(column.kind, "word of the list")


def _wrong(layout: Layout, cells: str, kind: str, least: float | None, above: float | None) -> str:
    """Return the array that is 1 for each cell that may not stand there; "" when anything may.

    To a spreadsheet a text is larger than any number, so the largest that is allowed keeps texts out.
    """
    if kind == YES_NO:
        return f'({cells}<>"")*({cells}<>"yes")*({cells}<>"no")'
    if kind == DATE:
        first, last = (_constant(layout, name) for name in ("first_day", "last_day"))
        return f'({cells}<>"")*(1-({cells}>={first})*({cells}<={last}))'
    if kind not in _NUMBERS:
        return ""
    most = "1" if kind == PERCENT else _constant(layout, "largest_number")
    smallest = _constant(layout, "smallest_number")
    right = [f"({cells}<={most})"]
    if above is not None:  # every lower end that is left out is 0
        right.append(f"({cells}>={smallest})")
    elif least is not None:
        right += [f"({cells}>={least:g})", f"(({cells}=0)+({cells}>={smallest})>0)"]
    return f'({cells}<>"")*(1-{"*".join(right)})'


def _constant(layout: Layout, name: str) -> str:
    return layout.cell("constants", "value", list(layout.tables.column("constants", "name")).index(name))


# --- sheet Costs: each row is a setting ---


def _of_settings(layout: Layout) -> Iterator[Entry]:
    declared = list(enumerate(setting_declared().items(), FIRST_ROW))
    for _, group in groupby(declared, lambda item: (item[1][1].kind, item[1][1].least, item[1][1].above)):
        held = list(group)
        (first, (_, item)), (final, (_, end)) = held[0], held[-1]
        cells = f"{COSTS.name}!$B${first}:$B${final}"
        wrong = _wrong(layout, cells, item.kind, item.least, item.above)
        if wrong:
            name = item.name if len(held) == 1 else f"{item.name} to {end.name}"
            says = f"{COSTS.name}, {name}: values that are no {_words(item)}"
            yield Entry(says, f"SUMPRODUCT({wrong})", _TAKES[item.kind])
    for row, (_, item) in declared:
        value = f"{COSTS.name}!$B${row}"
        if item.kind == CHOICE:
            others = ",".join(f'{value}<>"{word}"' for word in item.choices)
            says, do = f"{COSTS.name}, {item.name}: not a word of the list", f"Type one of: {', '.join(item.choices)}."
            yield Entry(says, f'IF({value}="",0,IF(AND({others}),1,0))', do)
        if item.unit_kinds:
            says = f"{COSTS.name}, {item.name}: not a unit of {item.unit_kinds[0]}"
            yield Entry(says, _unit(layout, row, item), f"Take a unit of {item.unit_kinds[0]} from sheet Units.")
    rows = [row for row, (name, _) in declared if name in _LEAVES_NOTHING]
    nothing = "+".join(f"IF({COSTS.name}!$B${row}>=1,1,0)" for row in rows)
    yield Entry(f"{COSTS.name}: a batter loss or reject share that leaves no bar", nothing, _TAKES[PERCENT])


def _unit(layout: Layout, row: int, item: Setting) -> str:
    word = f"{COSTS.name}!$C${row}"
    kind = f"INDEX({layout.range('units', 'kind')},MATCH({word},{layout.range('units', 'word')},0))"
    return f'IF({word}="",0,IF(IFERROR({kind},"")="{item.unit_kinds[0]}",0,1))'
