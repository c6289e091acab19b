"""Read what a maker typed: texts made plain, numbers, percentages and dates.

A spreadsheet often holds a number as a text: pasted from a supplier's page, typed in another country's way, or
with its currency sign. What can only mean one number is read; what could mean two is refused, with the reason.

A reason is a phrase that reads on after the quoted text: '1,234' could be 1234 or 1.234.
"""

from __future__ import annotations

import re
import unicodedata
from calendar import day_name, month_name
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction

from scaler.model.units import find

# Dropped: control characters that are no white space, and characters that show nothing and take no room.
_INVISIBLE = dict.fromkeys(
    code
    for span in (
        (0x00, 0x08), (0x0E, 0x1B), (0x7F, 0x84), (0x86, 0x9F),  # control characters
        (0xAD, 0xAD), (0x180E, 0x180E), (0x200B, 0x200F),  # soft hyphen, zero-width spaces and joiners, direction
        (0x202A, 0x202E), (0x2060, 0x2064), (0x2066, 0x2069), (0xFEFF, 0xFEFF),  # direction, word joiner, byte order
    )
    for code in range(span[0], span[1] + 1)
)  # fmt: skip
_MINUSES = str.maketrans(dict.fromkeys("\u2212\u2010\u2011\u2013", "-"))  # minus sign, hyphens, en dash

_CURRENCY = "\u00a4"  # stands for any currency sign while a number is taken apart
_NUMBER = re.compile(rf"(-|\+)? ?({_CURRENCY})? ?(-|\+)? ?([0-9.,' \u2019eE+-]*?) ?({_CURRENCY})?")
_AMBIGUOUS = re.compile(r"([1-9][0-9]{0,2}),([0-9]{3})")
_POINT = re.compile(r"[0-9]+|[0-9]*\.[0-9]+")
_POWER_OF_TEN = re.compile(r"[0-9]+(?:[.,][0-9]+)?[eE][+-]?[0-9]{1,3}")
_COMMA = re.compile(r"[0-9]*,[0-9]+")
_SPACED = re.compile(r"[0-9]{1,3}(?:([ '\u2019])[0-9]{3})(?:\1[0-9]{3})*(?:[.,][0-9]+)?")
_COMMA_GROUPS = re.compile(r"[1-9][0-9]{0,2}(?:(?:,[0-9]{3})+\.[0-9]+|(?:,[0-9]{3}){2,})")
_POINT_GROUPS = re.compile(r"[1-9][0-9]{0,2}(?:(?:\.[0-9]{3})+,[0-9]+|(?:\.[0-9]{3}){2,})")

_FRACTION = re.compile(r"(?:([0-9]{1,6}) )?([0-9]{1,6}) ?[/\u2044] ?([0-9]{1,6})( [^\W\d_][^0-9/]*)?")
_DATE_LIKE = re.compile(r"[0-9]{1,4}([-./ ])[0-9]{1,2}\1[0-9]{1,4}")
_WITH_WORD = re.compile(r"(.*[0-9]) ?([^\W\d_].*|[%\u00b0][^0-9]+)")
_RATIO = re.compile(r"([0-9.,]+) ?: ?1")
_SPAN = re.compile(r"[0-9.,]+ ?%? ?(?:-|to|up to) ?[0-9.,]*[0-9] ?%?")
_BOUND = re.compile(r"[<>\u2264\u2265~] ?[0-9.,]+ ?%?|[0-9.,]+ ?\+|[0-9.,]+ ?% ?(?:min|max)\.?")
_TIMES = re.compile(r"([0-9.,]+) ?[x\u00d7*] ?([0-9.,]+)(?: ?[^\W\d_].*)?", re.IGNORECASE)
_POUNDS = re.compile(r"([0-9.,]+) ?(?:lbs?|pounds?)\.?,? (?:and )?([0-9.,]+) ?(?:oz|ounces?)\.?", re.IGNORECASE)
_OUNCES_IN_POUND = 16
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})")
_WEEKDAY = r"(?:([^\W\d_]{3,9})\.?,? )?"
_DAY_FIRST = re.compile(rf"{_WEEKDAY}([0-9]{{1,2}})(?:st|nd|rd|th)?[ -]([^\W\d_]+)\.?,?[ -]([0-9]{{4}})", re.IGNORECASE)
_MONTH_FIRST = re.compile(rf"{_WEEKDAY}([^\W\d_]+)\.? ([0-9]{{1,2}})(?:st|nd|rd|th)?,? ([0-9]{{4}})", re.IGNORECASE)

NO_NUMBER = "is not a number"
"""Why a text without any number is none; other reasons say more."""


def clean_text(text: str) -> str:
    r"""Return the text as it looks: composed, trimmed, with single plain spaces and nothing invisible.

    >>> clean_text(" Olive\u00a0 oil\u200b ")
    'Olive oil'
    """
    return unicodedata.normalize("NFC", " ".join(text.translate(_INVISIBLE).split()))


def parse_number(value: object, money: bool = False) -> float | str:
    """Return the number a cell's value means, or the reason why it is none.

    Args:
        value: what the cell holds.
        money: whether a currency sign may stand beside it.

    >>> parse_number("1 234,50"), parse_number("£3.50", money=True), parse_number(7)
    (1234.5, 3.5, 7.0)
    >>> parse_number("1,234")
    'could be 1234 or 1.234'
    """
    if isinstance(value, str):
        number = _decimal(clean_text(value), money)
        return number if isinstance(number, str) else _finite(number)
    if isinstance(value, bool):
        return NO_NUMBER
    if isinstance(value, int | float):
        return _finite(value)
    if isinstance(value, date):
        return "stands where a number belongs: a spreadsheet makes a date of 3-4 or 3/4, so type the number again"
    if isinstance(value, time | timedelta):
        return "is a time: type the number again and give the cell a number format"
    return NO_NUMBER


def parse_percent(text: str) -> float | str:
    """Return the fraction that a text with a % sign means, or the reason why it means none.

    >>> parse_percent("0,5 %"), parse_percent("98%")
    (0.005, 0.98)
    """
    cleaned = clean_text(text)
    if not cleaned.endswith("%"):
        return "has no % sign at its end"
    # Decimals, so that 0.7% is the very number 0.007 and not 0.7 / 100, a last digit off.
    percent = _decimal(cleaned[:-1].rstrip(), False)
    return percent if isinstance(percent, str) else _finite(percent / 100)


def split_amount(value: object) -> tuple[tuple[float, str], ...]:
    """Return the numbers and unit words of an amount typed with its unit; () when it is typed in no such way.

    >>> split_amount("1 lb 4 oz"), split_amount("250 g"), split_amount("250")
    (((1.0, 'lb'), (4.0, 'oz')), ((250.0, 'g'),), ())
    """
    text = clean_text(value) if isinstance(value, str) else ""
    pounds = _POUNDS.fullmatch(text)
    if pounds:
        both = parse_number(pounds[1]), parse_number(pounds[2])
        whole = isinstance(both[0], float) and isinstance(both[1], float)
        fits = whole and float(both[0]).is_integer() and float(both[1]) < _OUNCES_IN_POUND
        return ((float(both[0]), "lb"), (float(both[1]), "oz")) if fits else ()
    match = _WITH_WORD.fullmatch(text)
    number, unit = (parse_number(match[1]), find(match[2])) if match else ("", None)
    return ((number, unit.word),) if unit and isinstance(number, float) else ()


def parse_date(value: object) -> date | None:
    """Return the date of a date cell, or of a text that is the same day in every country; None for anything else.

    A text such as 03/04/2026 is another day in another country, so it is never guessed at.

    >>> parse_date("2026-04-03"), parse_date("April 3, 2026"), parse_date("03/04/2026")
    (datetime.date(2026, 4, 3), datetime.date(2026, 4, 3), None)
    """
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    text = clean_text(value) if isinstance(value, str) else ""
    year_first, day_first, month_first = (form.fullmatch(text) for form in (_YEAR_FIRST, _DAY_FIRST, _MONTH_FIRST))
    try:
        if year_first:
            return date(int(year_first[1]), int(year_first[3]), int(year_first[4]))
        weekday, day, month, year = ("", "0", "", "0")
        if day_first:
            weekday, day, month, year = day_first.groups("")
        elif month_first:
            weekday, month, day, year = month_first.groups("")
        found = date(int(year), _place(month, month_name), int(day))
    except ValueError:  # the 31st of February, or no month
        return None
    return found if not weekday or _place(weekday, day_name) == found.weekday() else None


def _place(word: str, names: Iterable[str]) -> int:
    """Return which of the names a word is, or is the first three letters or more of; -1 for any other word.

    >>> _place("Sept", month_name), _place("Smarch", month_name)
    (9, -1)
    """
    found = [
        number for number, name in enumerate(names) if len(word) > 2 and name.casefold().startswith(word.casefold())
    ]
    return found[0] if found else -1


def _finite(number: float | Decimal) -> float | str:
    """Return the number as a float, or the reason why it has no size."""
    try:
        result = float(number)
    except OverflowError:
        result = float("inf")
    return result if abs(result) < float("inf") else "is too large to be a number here"


def _decimal(text: str, currency: bool) -> Decimal | str:
    """Return the number that a cleaned text means, or the reason why it is none."""
    text = text.translate(_MINUSES)
    plain = "".join(_CURRENCY if unicodedata.category(sign) == "Sc" else sign for sign in text)
    match = _NUMBER.fullmatch(plain)
    if not match or (match[1] and match[3]) or (match[2] and match[5]):
        return _why_not(text)
    if not currency and _CURRENCY in plain:
        return "has a currency sign, and no money belongs here: type the number alone"
    sign = "-" if "-" in (match[1], match[3]) else ""
    ambiguous = _AMBIGUOUS.fullmatch(match[4])
    if ambiguous:
        whole, rest = ambiguous.groups()
        return f"could be {sign}{whole}{rest} or {sign}{whole}.{rest}"
    digits = _digits(match[4])
    return Decimal(sign + digits) if digits else _why_not(text)


def _digits(body: str) -> str:
    """Return an unsigned number with a decimal point and no thousands marks, "" when it is written in no known way."""
    if _POINT.fullmatch(body):
        return body
    if _COMMA.fullmatch(body) or _POWER_OF_TEN.fullmatch(body):
        return body.replace(",", ".")
    spaced = _SPACED.fullmatch(body)
    if spaced:
        return body.replace(spaced[1], "").replace(",", ".")
    if _COMMA_GROUPS.fullmatch(body):
        return body.replace(",", "")
    if _POINT_GROUPS.fullmatch(body):
        return body.replace(".", "").replace(",", ".")
    return ""


def _why_not(text: str) -> str:
    """Return the reason why a text that is no number is none, the most helpful one first."""
    if not text:
        return "is blank"
    if text.startswith("(") and text.endswith(")"):
        return "is in brackets: for an amount below zero write a minus sign"
    if any(sign.isdecimal() and not sign.isascii() for sign in text):
        return "holds digits other than 0 to 9: type them again"
    if text.upper() in ("TRUE", "FALSE"):
        return NO_NUMBER
    if _DATE_LIKE.fullmatch(text):
        return "looks like a date"
    return _fraction(text) or _times(text) or _two_numbers(text) or _percent(text) or _word(text) or NO_NUMBER


def _two_numbers(text: str) -> str:
    """Return what to do about a ratio such as 2:1, a range such as 98-100 % or a bound such as > 98 %, "" for another text."""
    ratio, span, bound = _RATIO.fullmatch(text), _SPAN.fullmatch(text), _BOUND.fullmatch(text)
    if ratio:
        return f"is a ratio: write {ratio[1]}"
    if span:
        return "is a range: type one number"
    return "is a bound: type one number" if bound else ""


def _times(text: str) -> str:
    """Return the question that a product such as 2 x 25 is, "" when the text is none."""
    match = _TIMES.fullmatch(text)
    numbers = [_digits(part) for part in match.groups()] if match else []
    if not all(numbers) or not numbers:
        return ""
    product = Decimal(numbers[0]) * Decimal(numbers[1])
    return f"could be {product.normalize():f}, or {match[1]} packs of {match[2]}: type the one that the row is for"  # type: ignore[index]


def _fraction(text: str) -> str:
    """Return the reason to refuse a fraction, with the decimal to write; "" when the text is none."""
    spread = "".join(_spread(sign) for sign in text)
    match = _FRACTION.fullmatch(" ".join(spread.split()))
    if not match or int(match[3]) == 0:
        return ""
    value = int(match[1] or 0) + Fraction(int(match[2]), int(match[3]))
    return f"is a fraction: write {float(value):.6g}{match[4] or ''}"


def _spread(sign: str) -> str:
    """Return a one-character fraction such as a half as its digits and stroke, any other character as it is."""
    return " " + unicodedata.normalize("NFKC", sign) if unicodedata.decomposition(sign).startswith("<frac") else sign


def _percent(text: str) -> str:
    """Return the reason to refuse a percentage, "" when the text has no % sign."""
    return "is a percentage: type a plain number" if "%" in text else ""


def _word(text: str) -> str:
    """Return the reason to refuse a number that has a word behind it, "" when the text is no such thing."""
    match = _WITH_WORD.fullmatch(text)
    if not match:
        return ""
    number = _decimal(match[1], True)
    if isinstance(number, str):
        return number if number.startswith("could be") else ""
    return f"has {match[2]} behind the number: write {match[1]} alone"
