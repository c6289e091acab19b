"""How a sheet, a column and a setting are declared.

A record class of `model.py` carries its columns in its fields. The reader, the templates, the finished
workbook's input tabs and the README's tables are all made from these declarations.
"""

from __future__ import annotations

import dataclasses
import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from scaler.model import words as other_words
from scaler.model.problems import Place

NAME, REFERENCE, TEXT, NUMBER, WHOLE, PERCENT, DATE, CHOICE, UNIT, YES_NO, ANY = (
    "name", "reference", "text", "number", "whole number", "percent", "date", "choice", "unit", "yes or no", "any",
)  # fmt: skip

FOOT = "Rows above this line are read."
"""What stands in the first column under the rows of an input sheet of a finished workbook."""


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
    also = other_words.HEADERS.get(record.__name__, {})
    declared = {part.name: part.metadata["column"] for part in dataclasses.fields(record) if "column" in part.metadata}
    return {
        name: dataclasses.replace(column, also=other_words.split(also.get(name, "")))
        for name, column in declared.items()
    }


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
    return {
        name: dataclasses.replace(item, also=other_words.split(other_words.SETTINGS.get(name, "")))
        for name, item in declared.items()
    }


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
