"""One cell becomes a value, as its column declares it, or a problem."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from scaler.model import schema, units
from scaler.model.problems import Place, Problem, listed, meant, nearest
from scaler.model.schema import Column, is_out, key_of, read_as, remedy, usual_units
from scaler.read.files import ErrorValue, RawCell
from scaler.read.numbers import NO_NUMBER, clean_text, parse_date, parse_number, parse_percent

LONGEST_NAME = 100
"""Spreadsheets look up no name of more than 255 letters, and no card shows one of 100."""

_SHOWN = 40
"""Letters that are shown of a longer text."""
_WILD = "*?~"
_BEHIND = re.compile(r"has (.+) behind the number")
_SLASHED = re.compile(r"[0-9]{1,2}[-/.][0-9]{1,2}[-/.][0-9]{2,4}")
_NOT_SCALING = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]|_.|\*.')
"""Parts of a number format in which a % sign is only a letter."""


class RefusalError(Exception):
    """A cell that cannot be read. Never leaves this module."""

    def __init__(self, code: str, says: str, do: str, expected: str = "") -> None:
        """Keep the parts of the problem; `says` has @ where what stands in the cell belongs."""
        super().__init__(code)
        self.code, self.says, self.do, self.expected = code, says, do, expected


def blank(cell: RawCell | None) -> bool:
    """Return whether a cell holds nothing, or only spaces."""
    if cell is None or (cell.value is None and not cell.uncached):
        return True
    return isinstance(cell.value, str) and not clean_text(cell.value)


def read_cell(cell: RawCell, column: Column, place: Place, do: str = "") -> tuple[Any, Problem | None]:
    """Return a cell's value as its column declares it, or the problem that it is; `do` is what to do about no number."""
    scaled = "%" in _NOT_SCALING.sub("", cell.number_format)
    try:
        return _READERS[column.kind](_sound(cell), column, scaled), None
    except RefusalError as refused:
        found = shown(cell.value, scaled)
        text = plain_text(cell.value)
        text = text if len(text) <= LONGEST_NAME else f"{text[:_SHOWN]}…"
        says = refused.says.replace("@", found, 1) if "{@}" not in refused.says else refused.says.replace("{@}", text)
        wanted = refused.expected or expected(column)
        return None, Problem(
            place, refused.code, found, wanted, refused.do or do or remedy(column), f"{says[0].upper()}{says[1:]}"
        )


def shown(value: object, scaled: bool = False) -> str:
    """Return what stands in a cell as a maker sees it; `scaled` when its number format is a percentage.

    >>> shown("kilo"), shown(0.25), shown(0.25, scaled=True), shown(None)
    ("'kilo'", '0.25', '25 %', 'a formula without a value')
    """
    if value is None:
        return "a formula without a value"
    if isinstance(value, ErrorValue):
        return f"the error {value.code}"
    if isinstance(value, str):
        text = clean_text(value)
        return f"'{text}'" if len(text) <= LONGEST_NAME else f"'{text[:_SHOWN]}…'"
    if isinstance(value, date):
        return f"the date {plain_text(value)}"
    if scaled and isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value * 100:.15g} %"
    return plain_text(value)


def plain_text(value: object) -> str:
    """Return a value as the text that a maker would type for it.

    >>> plain_text(" Olive  oil "), plain_text(101.0), plain_text(True), plain_text(datetime(2026, 4, 3))
    ('Olive oil', '101', 'TRUE', '2026-04-03')
    """
    if isinstance(value, str):
        return clean_text(value)
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, int | float):
        return f"{value:.15g}"
    if isinstance(value, datetime) and value.time() == time():
        return str(value.date())
    return value.code if isinstance(value, ErrorValue) else str(value)


def expected(column: Column) -> str:
    """Return what a column's cells hold, in words."""
    if column.kind in (schema.NUMBER, schema.WHOLE, schema.PERCENT):
        text = {schema.NUMBER: "a number", schema.WHOLE: "a whole number", schema.PERCENT: "a percentage"}[column.kind]
        if column.above is not None:
            text += f" above {column.above:g}"
        elif column.least is not None:
            text += f" of {column.least:g} or more"
        return f"{text} in {column.unit}" if column.unit and not column.unit.startswith("per ") else text
    if column.kind == schema.CHOICE:
        return listed(column.choices)
    if column.kind == schema.UNIT:
        return f"a unit of {listed(column.choices)}"
    return {schema.NAME: "a name", schema.REFERENCE: "a name", schema.DATE: "a date", schema.YES_NO: "yes or no"}.get(
        column.kind, "a text"
    )


def shown_number(value: float, column: Column) -> str:
    """Return a number as it is said, with its unit.

    >>> shown_number(0.03, Column("Fill %", schema.PERCENT, "")), shown_number(9.114, Column("Density", schema.NUMBER, "", unit="g/mL"))
    ('3 %', '9.114 g/mL')
    """
    if column.kind == schema.PERCENT:
        return f"{value * 100:.10g} %"
    return f"{value:,.10g} {column.unit}".strip()


def _sound(cell: RawCell) -> object:
    if cell.uncached:
        do = "Open the workbook in the spreadsheet program, save it, and run again."
        raise RefusalError("formula_uncached", "The formula in this cell has no stored value.", do, "its value")
    if isinstance(cell.value, ErrorValue):
        do = "Mend the formula, or type the value in its place."
        raise RefusalError("cell_error", f"This cell shows the error {cell.value.code}.", do, "a value")
    return clean_text(cell.value) if isinstance(cell.value, str) else cell.value


def _text(value: object, _column: Column, _scaled: bool) -> str:
    return plain_text(value)


def _name(value: object, _column: Column, _scaled: bool) -> str:
    if isinstance(value, date | time | timedelta):
        do = "Type an apostrophe before the name."
        raise RefusalError("name_date", "The spreadsheet program made a date of this name.", do)
    text = plain_text(value)
    if any(sign in text for sign in _WILD):
        says = "@ has a sign in it that a spreadsheet takes for any letter."
        raise RefusalError("name_sign", says, "Take * ? and ~ out of the name.", "a name without * ? ~")
    if len(text) > LONGEST_NAME:
        raise RefusalError("name_long", f"This name has more than {LONGEST_NAME} letters.", "Shorten it.")
    return text


def _number(value: object, column: Column, scaled: bool) -> float:
    if scaled and isinstance(value, int | float) and value:
        do = f"Type a plain number in {column.header}, in a cell without percent format."
        raise RefusalError("number_wanted", "@ is a percentage, and a plain number belongs here.", do)
    return _parsed(parse_number(value, column.money), column)


def _parsed(read: float | str, column: Column) -> float:
    """Return the number, or refuse with the reason; a reason with a colon says itself what to do."""
    if isinstance(read, str):
        what, _, do = read.partition(": ")
        if column.kind == schema.PERCENT and "percentage" in what:  # a % sign, but not at its end
            what, do = NO_NUMBER, ""
        if not do and what == NO_NUMBER:
            raise RefusalError("number_wanted", f"{column.header} cannot be {{@}}.", "")
        behind = _BEHIND.fullmatch(what)
        do = _in_its_unit(behind[1], do, column) if behind else do
        example = "a percentage, such as 5%" if column.kind == schema.PERCENT else "a plain number, such as 12.5"
        raise RefusalError("number_wanted", f"@ {what}.", f"{do[:1].upper()}{do[1:]}." if do else f"Type {example}.")
    return read


def _in_its_unit(word: str, do: str, column: Column) -> str:
    """Return what to do about a number with a word behind it, which is not to be left out where it changes the number."""
    own = {part.rstrip("s") for part in re.findall(r"[^\W\d_]+", f"{column.header} {column.unit}".casefold())}
    money = column.money and word.isupper() and len(word) == len("EUR")
    if money or {part.rstrip("s") for part in re.findall(r"[^\W\d_]+", word.casefold())} <= own:
        return do
    if column.unit_in:
        return "type the number alone, and beside it a unit that scaler knows"
    return f"convert it{f' to {column.unit}' if column.unit else ''}, and type the number alone"


def _whole(value: object, column: Column, scaled: bool) -> float:
    number = _number(value, column, scaled)
    if not number.is_integer() and not is_out(number, column):
        raise RefusalError("number_broken", f"{column.header} counts whole things, and @ is not whole.", "Round it.")
    return int(number) if number.is_integer() else number


def _percent(value: object, column: Column, scaled: bool) -> float:
    if isinstance(value, str) and value.endswith("%"):
        part = _parsed(parse_percent(value), column)
    else:
        part = _parsed(parse_number(value), column)
        if isinstance(value, str) or not scaled:
            part = _of_hundred(part)
    return part


def _of_hundred(number: float) -> float:
    """Return a number typed without its sign as a fraction."""
    if 0 < abs(number) <= 1:
        says = f"@ may mean {number:.15g} % or {number * 100:.15g} %."
        raise RefusalError("percent_ambiguous", says, "Type it with its % sign.", "a percentage with its % sign")
    # Decimals, so that 33.3 is the very fraction that a cell with the text 33.3% has.
    return float(Decimal(repr(number)) / 100)


def _date(value: object, column: Column, _scaled: bool) -> date:
    read = parse_date(value)
    if isinstance(value, time):  # a number below 1 in a date's format
        seconds = timedelta(hours=value.hour, minutes=value.minute, seconds=value.second)
        says = f"{column.header} cannot be {seconds / timedelta(days=1):.6g}."
        raise RefusalError("date_wanted", says, remedy(column))
    if read is None:
        slashed = _SLASHED.fullmatch(plain_text(value))
        says = "@ is another day in another country." if slashed else f"{column.header} cannot be {{@}}."
        raise RefusalError("date_wanted", says, remedy(column))
    return read


def _choice(value: object, column: Column, _scaled: bool) -> str:
    text = plain_text(value)
    known = {key_of(choice): choice for choice in column.choices}
    found = known.get(key_of(text)) or {key_of(word): choice for word, choice in column.words.items()}.get(key_of(text))
    if found is None:
        do = meant(text, column.choices) or f"Write {listed(column.choices)}."
        raise RefusalError("choice_unknown", f"{column.header} cannot be {{@}}.", do)
    return found


def _unit(value: object, column: Column, _scaled: bool) -> str:
    text = plain_text(value)
    unit = units.find(text)
    if text.casefold() == "ppo":
        raise RefusalError("unit_unknown", "@ is per pound of oils, of something.", "Write oz ppo or tsp ppo, say.")
    if unit is None:
        do = _of_what(text, column.choices) or _near_unit(text, column.choices) or usual_units(column.choices)
        raise RefusalError("unit_unknown", f"{column.header} cannot be {{@}}: scaler knows no such unit.", do)
    if unit.kind not in column.choices:
        raise RefusalError("unit_wrong", f"{column.header} cannot be {{@}}.", usual_units(column.choices))
    return unit.word


def _of_what(text: str, kinds: tuple[str, ...]) -> str:
    """Return what to do about a percentage of nothing, "" for another text or where no share can be."""
    if text.casefold() not in ("%", "percent", "per cent", "pct") or units.LIQUID_SHARE not in kinds:
        return ""
    return "Of what? Write % of oils or % of liquid, or type the number in Share % with its % sign."


def _near_unit(text: str, kinds: tuple[str, ...]) -> str:
    """Return the sentence that offers the units whose spellings are nearest."""
    spelled = {word: unit.word for unit in units.UNITS if unit.kind in kinds for word in (unit.word, *unit.also)}
    near = tuple(dict.fromkeys(spelled[word] for word in nearest(text, spelled)))
    return f"Did you mean {listed(near)}?" if near else ""


def _yes_no(value: object, column: Column, _scaled: bool) -> str:
    word = plain_text(value).casefold()
    word = read_as(schema.YES_NO).get(word, word)
    if word not in ("yes", "no"):
        raise RefusalError("choice_unknown", f"{column.header} says @.", "Write yes or no.")
    return word


def _any(value: object, _column: Column, _scaled: bool) -> object:
    return value


_READERS: dict[str, Callable[[object, Column, bool], Any]] = {
    schema.NAME: _name,
    schema.REFERENCE: _name,
    schema.TEXT: _text,
    schema.NUMBER: _number,
    schema.WHOLE: _whole,
    schema.PERCENT: _percent,
    schema.DATE: _date,
    schema.CHOICE: _choice,
    schema.UNIT: _unit,
    schema.YES_NO: _yes_no,
    schema.ANY: _any,
}
