"""How a sheet, a column and a setting are declared.

A record class of `model.py` carries its columns in its fields. The reader, the templates, the finished
workbook's input tabs and the README's tables are all made from these declarations.
"""

from __future__ import annotations

import dataclasses
import functools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from scaler.model.problems import Place, listed
from scaler.model.reference import rows_of
from scaler.model.units import FAHRENHEIT, TEMPERATURE, words

NAME, REFERENCE, TEXT, NUMBER, WHOLE, PERCENT, DATE, CHOICE, UNIT, YES_NO, ANY = (
    "name", "reference", "text", "number", "whole number", "percent", "date", "choice", "unit", "yes or no", "any",
)  # fmt: skip

FOOT = "Rows above this line are read."
"""What stands in the first column under the rows of an input sheet of a finished workbook."""


@functools.cache
def other_words(of: str) -> Mapping[str, tuple[str, ...]]:
    """Return what makers write for words of ours: over the columns of a record, in a cell of a kind, on a tab.

    A word of `data/words.csv` is read as ours without a question, so it must mean nothing else on that sheet. Case,
    spaces, signs and spellings of the United States (mold, labor, color) need no word of their own.

    >>> other_words("Base")["KOH"]
    ('potassium hydroxide', 'caustic potash')
    """
    return {row["ours"]: tuple(row["others"].split(", ")) for row in rows_of("words.csv") if row["of"] == of}


def read_as(of: str) -> Mapping[str, str]:
    """Return the word of ours that each other word in a cell of a kind is read as.

    >>> read_as("yes or no")["yep"]
    'yes'
    """
    return {word: ours for ours, others in other_words(of).items() for word in others}


@dataclass(frozen=True)
class Column:
    """One column of an input sheet.

    Attributes:
        header: the words in the header row.
        kind: what its cells hold: one of the kinds above.
        help: one sentence for the maker; shown as a note on the header and in the README.
        required: the header must be there and every row filled.
        unit: unit of the number as typed, "" when it has none or another column holds it.
        unit_in: field of the column that holds the unit of this number, "" when none does.
        money: whether a currency sign may stand in its cells.
        choices: the words allowed (kind choice), or the unit kinds allowed (kind unit).
        words: other words and the choice that each is read as.
        least: smallest number allowed, in the column's unit as typed; a percentage as a fraction.
        above: number that must be exceeded.
        most: largest number allowed.
        doubt_below, doubt_above: numbers outside these are asked about.
        slip: the mistake that usually makes such a number, as a question ("Is Unit mm?").
        refers: header of the name column that a reference points at.
        worked: whether rules read it (kind text); the others stand on their sheet only.
        also: other words for the header that are read as it.
    """

    header: str
    kind: str
    help: str
    required: bool = False
    unit: str = ""
    unit_in: str = ""
    money: bool = False
    choices: tuple[str, ...] = ()
    words: Mapping[str, str] = field(default_factory=dict, compare=False)
    least: float | None = None
    above: float | None = None
    most: float | None = None
    doubt_below: float | None = None
    doubt_above: float | None = None
    slip: str = ""
    refers: str = ""
    worked: bool = False
    also: tuple[str, ...] = ()


def letters(number: int) -> str:
    """Return the letters of a column.

    >>> letters(1), letters(28)
    ('A', 'AB')
    """
    text = ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text


@dataclass(frozen=True)
class Where:
    """Where a record stands: the file, the sheet, the row, and the letter of each field's column."""

    file: str = ""
    sheet: str = ""
    row: int = 0
    letters: Mapping[str, str] = field(default_factory=dict)

    def place(self, name: str = "") -> Place:
        """Return the place of a field's cell; of the record's first cell when the column is not there."""
        if not self.row:
            return Place(self.file, self.sheet)
        letter = self.letters.get(name) or next(iter(self.letters.values()), "A")
        return Place(self.file, self.sheet, f"{letter}{self.row}")


@dataclass(frozen=True, kw_only=True)
class Record:
    """One row of an input sheet: its fields, where it stands, cells of columns unknown to us, fields that could not be read."""

    where: Where = field(default_factory=Where, compare=False, repr=False)
    extra: Mapping[str, object] = field(default_factory=dict, compare=False, repr=False)
    unread: tuple[str, ...] = field(default=(), compare=False, repr=False)

    def __init_subclass__(cls) -> None:
        """Let the docstring say of each field what its column holds."""
        held = {
            name: part.metadata["column"] for name, part in vars(cls).items() if isinstance(part, dataclasses.Field)
        }
        said = [f"    {name}: {_holds(column)}. {column.help}" for name, column in held.items()]
        cls.__doc__ = "\n".join((cls.__doc__ or "", "", "Attributes:", *said))


def _holds(column: Column) -> str:
    """Return what a record holds of a column, with its unit."""
    if column.kind == PERCENT:
        return f"{column.header}, as a fraction"
    unit = f"in {column.unit}" if column.unit else f"in `{column.unit_in}`" if column.unit_in else ""
    return ", ".join(filter(None, (column.header, unit, "in the workbook's money" if column.money else "")))


def column(header: str, kind: str, help: str, **options: Any) -> Any:
    """Declare a field of a record as a column; blank cells give None."""
    return field(default=None, metadata={"column": Column(header, kind, help, **options)})


def columns(record: Any) -> Mapping[str, Column]:
    """Return the columns of a record class by field name, in their order on the sheet."""
    return _columns(record)


@functools.cache
def _columns(record: Any) -> Mapping[str, Column]:
    also = other_words(record.__name__)
    declared = {part.name: part.metadata["column"] for part in dataclasses.fields(record) if "column" in part.metadata}
    return {name: dataclasses.replace(column, also=also.get(name, ())) for name, column in declared.items()}


@dataclass(frozen=True)
class Sheet:
    """One input sheet.

    Attributes:
        name: the sheet's name.
        key: the workshop's attribute that holds its records, also the name of its table of workings.
        record: the class of its rows.
        help: one sentence: what a row is.
        optional: a workbook without it is fine.
        many_files: it may come in several files and is read as one table.
    """

    name: str
    key: str
    record: type[Record]
    help: str
    optional: bool = False
    many_files: bool = False


@dataclass(frozen=True)
class Setting:
    """One line of sheet Costs.

    Attributes:
        name: the words in column Setting.
        kind: what its value holds.
        default: what is taken when it is missing; None when there is no limit.
        help: one sentence for column Meaning.
        unit_kinds: kinds of unit word its Unit cell may hold; () when it takes none.
        unit: unit word taken when the Unit cell is blank; also what to print beside a value without one.
        money: whether a currency sign may stand in its value.
        choices: the words allowed.
        least: smallest number allowed.
        above: number that must be exceeded.
        most: largest number allowed.
        doubt_below, doubt_above: numbers outside these are asked about.
        slip: the mistake that usually makes such a number, as a question.
        weighs: whether weights hang on it; where it is wrong they are not shown.
        also: other words for the name that are read as it.
    """

    name: str
    kind: str
    default: object
    help: str
    unit_kinds: tuple[str, ...] = ()
    unit: str = ""
    money: bool = False
    choices: tuple[str, ...] = ()
    least: float | None = None
    above: float | None = None
    most: float | None = None
    doubt_below: float | None = None
    doubt_above: float | None = None
    slip: str = ""
    weighs: bool = True
    also: tuple[str, ...] = ()

    @property
    def column(self) -> Column:
        """The column that its value would be; without a unit where one can be chosen."""
        return Column(
            self.name, self.kind, self.help, unit="" if self.unit_kinds else self.unit, money=self.money,
            choices=self.choices, least=self.least, above=self.above, most=self.most, doubt_below=self.doubt_below,
            doubt_above=self.doubt_above, slip=self.slip,
        )  # fmt: skip


def setting(name: str, kind: str, default: object, help: str, **options: Any) -> Any:
    """Declare a field of `Costs` as a setting."""
    return field(default=None, metadata={"setting": Setting(name, kind, default, help, **options)})


def settings(costs: Any) -> Mapping[str, Setting]:
    """Return the settings of a class by field name, in their order on the sheet."""
    declared = {part.name: part.metadata["setting"] for part in dataclasses.fields(costs) if "setting" in part.metadata}
    also = other_words("Costs")
    return {name: dataclasses.replace(item, also=also.get(name, ())) for name, item in declared.items()}


# --- how a header, a tab or the name of a setting compares ---

_AMERICAN = (("mold", "mould"), ("labor", "labour"), ("color", "colour"))
_SIGNS = re.compile(r"[^\w%]+|_")
_PERCENT_WORDS = ("percent", "percentage", "pct")


def key_of(text: str) -> str:
    """Return a header as it compares: without case, spaces, signs, a % sign, and in one spelling of English.

    >>> key_of("Molds  filled *"), key_of("In lye?"), key_of("Superfat (%)"), key_of("%"), key_of("SAP_low")
    ('mouldsfilled', 'inlye', 'superfat', 'percent', 'saplow')
    """
    plain = " ".join(_SIGNS.sub(" ", text.casefold()).replace("%", " percent ").split())
    for american, british in _AMERICAN:
        plain = re.sub(rf"{american}(?!u)", british, plain)
    words = [word for word in plain.split() if word not in _PERCENT_WORDS]
    return "".join(words) or ("percent" if plain else "")


# --- what a number or a date of a column may be ---


LARGEST, SMALLEST = 1e9, 1e-9
"""Sizes beyond which a number is a slip of the hand."""
FIRST_DAY, LAST_DAY = date(1990, 1, 1), date(2099, 12, 31)
"""Days beyond which a date is a slip of the hand."""
EPOCH, LEAP_DAY = date(1899, 12, 30), date(1900, 3, 1)


def serial(day: date | None) -> float | None:
    """Return a date as the number that spreadsheets keep.

    >>> serial(date(2026, 11, 25)), serial(date(1900, 1, 20))  # to a spreadsheet 1900 was a leap year
    (46351.0, 20.0)
    """
    return None if day is None else float((day - EPOCH).days - (EPOCH < day < LEAP_DAY))


def limits(column: Column) -> tuple[float, float]:
    """Return the least and the most that a number of a column may be.

    >>> limits(Column("Pack", "number", "", above=0)), limits(Column("Fat %", "percent", "", least=0))
    ((1e-09, 1000000000.0), (0, 1.0))
    """
    if column.kind == DATE:
        return serial(FIRST_DAY) or 0.0, serial(LAST_DAY) or 0.0
    least = SMALLEST + column.above if column.above is not None else column.least
    usual = 1.0 if column.kind == PERCENT else LARGEST
    return -LARGEST if least is None else least, usual if column.most is None else column.most


def remedy(column: Column) -> str:
    """Return what to do about a number that cannot be.

    >>> remedy(Column("Fat %", "percent", "", least=0)), remedy(Column("Pack", "number", "", above=0, most=50))
    ('Type the number alone: from 0 % to 100 %.', 'Type the number alone: above 0, 50 at most.')
    """
    least, most = limits(column)
    if column.kind == DATE:
        return f"Type it as a date, from {FIRST_DAY.year} to {LAST_DAY.year}, such as 2026-11-25."
    if column.kind == PERCENT:
        low = f"above {column.above * 100:g} %, " if column.above is not None else f"from {max(least, 0) * 100:g} % to "
        return f"Type the number alone: {low}{most * 100:g} %{' at most' * (column.above is not None)}."
    if column.above is not None:
        return f"Type the number alone: above {column.above:g}, {most:,.10g} at most."
    return f"Type the number alone: from {max(least, 0):,.10g} to {most:,.10g}."


def question(column: Column) -> str:
    """Return what to think about a number that is asked about."""
    return column.slip or "Check the number and its unit."


def remedy_of_setting(item: Setting) -> str:
    """Return what to do about a setting that cannot be, with the unit of its limits where no other can be chosen."""
    do = remedy(item.column)
    if TEMPERATURE in item.unit_kinds:
        do = f"{do.removesuffix('.')} {item.unit}, or the same in {FAHRENHEIT}."
    elif item.unit and not item.unit_kinds and not item.unit.startswith("per "):
        do = f"{do.removesuffix('.')}, in {item.unit}."
    return f"{do} {item.slip}".strip()


def usual_units(kinds: Sequence[str]) -> str:
    """Return the sentence that names the units of one kind, or the first of each of several.

    >>> usual_units(("length",)), usual_units(("weight", "volume"))
    ('Write mm, cm, m, in or ft.', 'Write, for example, g or mL.')
    """
    if len(kinds) == 1:
        return f"Write {listed(words(*kinds))}."
    return f"Write, for example, {listed(tuple(words(kind)[0] for kind in kinds))}."


def is_out(number: float, column: Column) -> bool:
    """Return whether a number is one that a column cannot hold.

    >>> is_out(0.01, Column("Cavities", "whole", "", least=1)), is_out(1.5, Column("Cavities", "whole", "", least=1))
    (True, False)
    """
    least, most = limits(column)
    return not least <= number <= most
