"""Where everything stands in the finished workbook, so that a rule's parameters become cells.

Input sheets are read once, cell by cell, into the tables of workings: through a named block from row 1 to below the
spare rows, by the words of the header. All tables of workings stand one under the other on one sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from scaler.formula.cells import ROW, Cell, Range, literal
from scaler.formula.steps import BLOCK, COLUMN, HEAD, LISTS, ONE, Names, Source, Step, Tables
from scaler.model.records import BATCHES, BY_KEY, COSTS
from scaler.model.schema import columns, letters
from scaler.rules.sheets import HEADS, TYPED, typed_rows
from scaler.validation.issues import ALONE

TITLE_ROW, HINT_ROW, HEADER_ROW, FIRST_ROW = 1, 2, 3, 4
"""Rows of every input sheet (1, 2, ...) as it is written; whoever edits it may move them."""

SPARE_COLUMNS = 8
"""Columns of the block of an input sheet to the right of what is written."""

WORKINGS = "Workings"
"""The sheet of every table of workings: on one sheet, no formula needs to say on which sheet it reads."""
FIRST_PART = 14
"""Column of the first part of a long formula, in the first row of the workings."""
FORMER = tuple(f"{WORKINGS}{letter}" for letter in "ABCD")
"""What the sheets of workings were called while there were four."""
_FIRST = (
    "constants", "costs", "ingredients", "prices", "moulds", "lines", "recipes", "alkalis", "batches", "market",
    "on_hand", "market_days", "batch_lines", "rules", "units",
)  # fmt: skip
"""Tables in the order in which they stand, the others below them: what is read most has the shortest addresses."""


def quoted(sheet: str) -> str:
    """Return a sheet's name as formulas write it.

    >>> quoted("Recipe lines"), quoted("Costs")
    ("'Recipe lines'", 'Costs')
    """
    return sheet if sheet.isalpha() and sheet.isascii() else "'" + sheet.replace("'", "''") + "'"


def heading(name: str) -> str:
    """Return a step's name as a column heading.

    >>> heading("batter_ml")
    'batter ml'
    """
    return name.replace("_", " ")


def title_of(table: str) -> str:
    """Return how the title of a table of workings begins.

    >>> title_of("on_hand")
    'On hand:'
    """
    return f"{heading(table).capitalize()}:"


def block_name(table: str) -> str:
    """Return the name of an input sheet's block.

    >>> block_name("prices")
    'in_prices'
    """
    return f"in_{table}"


SHOPPING_FIRST = 7
"""The row of the first pack on the shopping list."""
_AT_HAND = 4
"""Things that must be at hand on the shopping list."""
SHOPPING_BETWEEN = 14
"""Rows between the packs bought and the others on offer, beside a row for each thing: total, heads, what must be at hand."""


def shopping_row(tables: Tables, index: int) -> int:
    """Return the row of a pack on the shopping list: those bought, whether it is enough, then the others on offer."""
    bought = sum(value > 0 for value in tables.column("packs", "planned_packs"))
    between = SHOPPING_BETWEEN + more_suppliers(tables) + tables.lengths["buying"]
    return SHOPPING_FIRST + index + (between if index >= bought else 0)


def first_of_suppliers(tables: Tables) -> list[int]:
    """Return the first pack of each supplier that has a name, those bought from first."""
    held = tables.column("packs", "planned_supplier")
    return [place for place, name in enumerate(held) if name and name not in held[:place]]


def more_suppliers(tables: Tables) -> int:
    """Return the rows that suppliers take beyond those of what must be at hand, beside which they stand."""
    return max(len(first_of_suppliers(tables)) - _AT_HAND, 0)


@dataclass(frozen=True)
class Stand:
    """Where a table stands: its rows (1, 2, ...), and its columns in order.

    Attributes:
        top: the row of its title.
        first: the row of its first values; the row of the headings is right above it.
        columns: names of its columns, from column A on.
        reads: the input sheet whose cells it reads, None when it reads none.
    """

    top: int
    first: int
    columns: tuple[str, ...]
    reads: Any = None
    sheet: ClassVar[str] = WORKINGS

    @property
    def header_row_cell(self) -> str:
        """The cell that holds the header row's number in the block."""
        return f"B${self.top + 1}"

    @property
    def foot_row_cell(self) -> str:
        """The cell that holds the foot row's number in the block."""
        return f"D${self.top + 1}"

    @property
    def places_row(self) -> int:
        """The row that says in which column of the block each typed column stands."""
        return self.top + 2

    @property
    def letters_row(self) -> int:
        """The row that says the letters of each typed column on its input sheet."""
        return self.top + 3

    def head_row(self, head: str) -> int:
        """The row of one of the limits."""
        return self.top + 4 + HEADS.index(head)


IN_BLOCK = "row"
"""The column of a table that reads an input sheet: the row of the block it reads."""


class Layout:
    """The place of every column of every table."""

    def __init__(self, tables: Tables, steps: tuple[Step, ...], done: int = 0) -> None:
        """Stack the tables; `done` batches stand on sheet Batches below those of its table."""
        self.tables, self.done = tables, done
        self.names = Names(tables, steps)
        self.steps = {(step.table, step.name): step for step in steps if step.table in tables.columns}
        self.stands: dict[str, Stand] = {}
        self._numbers: dict[tuple[str, str], int] = {}
        below = 1
        for table in sorted(tables.columns, key=lambda name: _FIRST.index(name) if name in _FIRST else len(_FIRST)):
            stand = self._stand(table, below)
            self.stands[table] = stand
            self._numbers |= {(table, name): number for number, name in enumerate(stand.columns, 1)}
            below = stand.first + max(tables.lengths[table], 1) + 1

    def _stand(self, table: str, top: int) -> Stand:
        held = list(self.tables.columns[table])
        given = [name for name in held if (table, name) not in self.steps]
        blocks = self.tables.blocks.get(table, {})
        held = [name for name in held if has_column(table, name)]
        packs = [name for block, names in blocks.items() if block not in ("inputs", "numbers") for name in names]
        worked = [name for name in held if (table, name) in self.steps and name not in packs] + packs
        if table == COSTS.key:
            return Stand(top, top + 5, (given[0], IN_BLOCK, *given[1:], *worked), COSTS)
        reads = BY_KEY.get(table) if table in self.tables.blocks else None
        if reads is None:
            return Stand(top, top + 2, (*given, *worked))
        inputs = self.tables.blocks[table]["inputs"]
        others = [name for name in given if name not in inputs and name != "place"]
        return Stand(top, top + 12, ("place", IN_BLOCK, *inputs, *others, *worked), reads)

    def letters_of(self, table: str, name: str) -> str:
        """Return the letters of a column of workings."""
        return letters(self._numbers[table, name])

    def number_of(self, table: str, name: str) -> int:
        """Return the number of a column of workings (1, 2, ...)."""
        return self._numbers[table, name]

    def cell(self, table: str, name: str, index: int, on_sheet: str = "") -> str:
        """Return the absolute address of one value (row 0, 1, ...), with its sheet unless it is on the same."""
        row, letter = self.stands[table].first + index, self.letters_of(table, name)
        return f"{letter}${row}" if on_sheet == WORKINGS else f"{WORKINGS}!${letter}${row}"

    def range(self, table: str, name: str, on_sheet: str = "") -> str:
        """Return the absolute address of a whole column, at least one cell."""
        first, letter = self.stands[table].first, self.letters_of(table, name)
        last = first + max(self.tables.lengths[table], 1) - 1
        near, far = f"{letter}${first}:{letter}${last}", f"{WORKINGS}!${letter}${first}:${letter}${last}"
        return near if on_sheet == WORKINGS else far

    def one(self, table: str, name: str, on_sheet: str = "") -> str:
        """Return the address of the value of a named line of a list: a constant, a setting, a rule."""
        index = self.tables.column(table, "name").index(name)
        return self.cell(table, LISTS[table], index, on_sheet)

    def argument(self, step: Step, source: Source) -> Cell | Range:
        """Return what stands for a parameter in the formula of a step."""
        stand = self.stands[step.table]
        if source.kind == COLUMN:
            return Range(self.range(source.table, source.name, WORKINGS))
        if source.kind == ONE:
            return Cell(self.one(source.table, source.name, WORKINGS))
        if source.kind == BLOCK:
            first, last = self._ends(step.table, source.name)
            return Range(f"{first}{ROW}:{last}{ROW}")
        if source.kind == HEAD:
            first, last = self._ends(step.table, "numbers")
            row = stand.head_row(source.name)
            return Range(f"{first}${row}:{last}${row}")
        if not has_column(source.table, source.name):
            read = self.steps[source.table, source.name]
            return self.formula(read) if read.closed else self._worked(read)
        return Cell(f"{self.letters_of(source.table, source.name)}{ROW}")

    def _worked(self, step: Step) -> Any:
        """Return the formula of a step behind an open gate."""
        return step.rule(**{name: self.argument(step, self.names.source(step, name)) for name in step.parameters})

    def _ends(self, table: str, block: str) -> tuple[str, str]:
        held = self.tables.blocks[table][block]
        return self.letters_of(table, held[0]), self.letters_of(table, held[-1])

    def formula(self, step: Step) -> Any:
        """Return a step's formula, its row number still open."""
        found = self._worked(step)
        if not step.when:
            return found
        gate = f"{self.letters_of(step.table, step.when)}{ROW}"
        closed = self.one("constants", step.closed, WORKINGS) if isinstance(step.closed, str) and step.closed else None
        return Cell(f"IF({gate}=1,{literal(found)},{closed or literal(step.closed)})")

    # --- input sheets ---

    def header(self, table: str, name: str) -> str:
        """Return the header of a typed column."""
        return columns(BY_KEY[table].record)[name.removesuffix(TYPED)].header

    def column_on_sheet(self, table: str, name: str) -> int:
        """Return the column (1, 2, ...) of a typed column on its input sheet, as it is written."""
        return list(columns(BY_KEY[table].record)).index(name.removesuffix(TYPED)) + 1

    @property
    def quoted_rows(self) -> int:
        """The last row of workings that a sentence can quote from: of the tables of input sheets."""
        return max(stand.first + self.tables.lengths[table] for table, stand in self.stands.items() if table in BY_KEY)

    def foot_row(self, table: str) -> int:
        """Return the row of the foot of an input sheet, as it is written: below the spare rows and the done batches."""
        return FIRST_ROW + typed_rows(self.tables, table) + (self.done if table == BATCHES.key else 0)


# --- steps that have no column in the workings ---


FOLDED: dict[str, frozenset[str]] = {
    table: frozenset(names.split())
    for table, names in {
        "ingredients": "price_cause purity_low_in_use unread used",
        "prices": "unread used",
        "moulds": "bars_cut box_log box_ml cavities_ml cylinder_log cylinder_ml half_cylinder_log liner_cm measured_ml "
        "taper_log unread used watch",
        "lines": "liquid_dose rank ratio_part sound unread used",
        "recipes": "acids_heat acids_need dry_part dry_per_koh guessed_ml koh_boils liquid_by_need liquid_fixed milk_fat_need mixed_in "
        "naoh_capacity others_part pot_heat pot_part pure_part solution_ml unread used water_part water_share",
        "batches": "acid_mid acid_weighed alkali_mid alkali_weighed cold_said combined_at_none first_division_g heat_words heavy_chance lines_g "
        "pour_words range_half second_division_g shown_target target_before_tax water_listed",
        "batch_lines": "koh_high",
        "ladder": "before_tax cost_per_bar price_bracket shown_target",
        "notes": "needed",
        "market": "price_in_use unread used",
        "market_days": "unread used",
        "on_hand": "unread used",
        "packs": "packs_in_use",
        "sold": "bar_worth bars_left batches_cost before_tax income_wanted net_of_a_bar price_bracket target_before_tax",
        "days": "cut_work make_work wrap_work",
    }.items()
}
"""Names of steps by table that stand inside the formula of the step that reads them.

A column that one other step reads, and nothing else, costs a cell in every row and says little; a short rule is as easy
to follow where it is used. No tab, sentence or other table may read such a step: `Layout` does not know where it stands.
"""

UNREAD: dict[str, frozenset[str]] = {
    "recipes": frozenset({"lye_strength"}),
    "batches": frozenset({"liquid_total_g", "cost_per_kg"}),
}
"""Steps that only the JSON and the terminal say: nothing in the workbook reads them."""


def has_column(table: str, name: str) -> bool:
    """Return whether a step has a column of its own in the workings."""
    return (table, name) not in ALONE and name not in FOLDED.get(table, ()) and name not in UNREAD.get(table, ())
