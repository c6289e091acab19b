"""Texts, numbers, percentages and dates as makers type them."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaler.read.numbers import clean_text, parse_date, parse_number, parse_percent


def reads_as(table: dict[object, float]) -> None:
    """Hold every value of the table to the number beside it."""
    got = {value: parse_number(value, money=True) for value in table}
    assert got == table
    assert all(type(number) is float for number in got.values())


def refuses(table: dict[object, str]) -> None:
    """Hold every value of the table to the whole reason beside it."""
    assert {value: parse_number(value, money=True) for value in table} == table


def test_clean_text_shows_what_is_seen() -> None:
    """Odd spaces become plain ones, invisible characters go, runs become one, ends are trimmed."""
    table = {
        "  Olive  oil ": "Olive oil",
        "Olive\u00a0oil": "Olive oil",
        "Olive\u202f\u2009oil": "Olive oil",
        "Olive\r\n\toil": "Olive oil",
        "\ufeffOlive\u200b \u200doil\u2060": "Olive oil",
        "Ol\u00adive\x00 \x1boil\x7f\x9f": "Olive oil",
        "Cafe\u0301": "Caf\u00e9",
        "e\u200b\u0301": "\u00e9",
        "\u00a0\u200b ": "",
    }
    assert {text: clean_text(text) for text in table} == table


def test_clean_text_keeps_what_can_be_seen() -> None:
    """Case, hyphens, accents, leading zeros, superscripts and other alphabets stay as they are."""
    for text in ("Olive-oil", "OLIVE oil", "Bébé n\u00ba 2", "00123", "m\u00b2", "Zeytinyağı", "橄榄油", "NA", "#N/A"):
        assert clean_text(text) == text


@given(st.text())
def test_clean_text_is_done_in_one_go(text: str) -> None:
    """Cleaning a clean text changes nothing."""
    assert clean_text(clean_text(text)) == clean_text(text)


def test_numbers_pass_through() -> None:
    """A number cell is its number."""
    reads_as({0: 0.0, 7: 7.0, -2.5: -2.5, 0.1: 0.1, 10**15: 1e15})


def test_point_is_a_decimal_point() -> None:
    """A point before the last digits is a decimal point, three digits or not."""
    reads_as({"12.5": 12.5, " 12.5 ": 12.5, ".5": 0.5, "1.234": 1.234, "0.1": 0.1, "007": 7.0, "12\u200b.5": 12.5})
    refuses({"12.": "is not a number", ".": "is not a number", "1..5": "is not a number", "1_000": "is not a number"})


def test_currency_stands_with_money_alone() -> None:
    """A currency sign beside a number that is no money is refused."""
    reason = "has a currency sign, and no money belongs here: type the number alone"
    assert {text: parse_number(text) for text in ("£5", "5 €", "-$3")} == dict.fromkeys(("£5", "5 €", "-$3"), reason)


def test_one_comma_is_a_decimal_comma_when_it_can_be_nothing_else() -> None:
    """A single comma is read unless it could as well mark thousands."""
    reads_as({"12,5": 12.5, "12,50": 12.5, "0,125": 0.125, "1234,567": 1234.567, "1,2345": 1.2345, ",5": 0.5})
    refuses(
        {
            "1,234": "could be 1234 or 1.234",
            "-12,500": "could be -12500 or -12.500",
            "£999,999": "could be 999999 or 999.999",
            "12,": "is not a number",
        }
    )


def test_thousands_marks_are_read_when_the_text_shows_which_they_are() -> None:
    """Spaces and apostrophes mark thousands; of comma and point the last one is the decimal mark."""
    reads_as(
        {
            "1 234,50": 1234.5,
            "1 234.50": 1234.5,
            "1\u00a0234\u00a0567": 1234567.0,
            "1\u202f234,567": 1234.567,
            "1'234.50": 1234.5,
            "1\u2019234": 1234.0,
            "1,234.5": 1234.5,
            "1.234,5": 1234.5,
            "1,234,567": 1234567.0,
            "1.234.567": 1234567.0,
            "1.234.567,89": 1234567.89,
        }
    )


def test_groups_of_other_than_three_digits_are_no_thousands() -> None:
    """A number broken at any other place may be two numbers or a slip, so it is refused."""
    for text in ("1 23", "1 2", "12 3456", "1234 567", "1 234'567", "1,00,000", "1,234,5", "12,34.5", "0,125,000"):
        refuses({text: "is not a number"})


def test_signs_and_currency_stand_before_or_behind() -> None:
    """Any minus sign, a plus and one currency sign are fine around a number."""
    reads_as(
        {
            "\u22125": -5.0,
            "\u20135.5": -5.5,
            "- 5": -5.0,
            "+5": 5.0,
            "£3.50": 3.5,
            "3,50 €": 3.5,
            "$ 1,234.50": 1234.5,
            "-£3.50": -3.5,
            "£-3.50": -3.5,
            "₹12": 12.0,
        }
    )
    for text in ("--5", "-£-5", "5-", "-", "£", "£3£", "3€50", "\u20145"):
        refuses({text: "is not a number"})


def test_brackets_are_refused() -> None:
    """Bookkeepers' brackets for an amount below zero are not guessed at."""
    refuses({"(5.00)": "is in brackets: for an amount below zero write a minus sign", "(5.00": "is not a number"})


def test_other_digits_are_refused() -> None:
    """Full-width and Arabic digits are refused, though Python itself would read them."""
    reason = "holds digits other than 0 to 9: type them again"
    refuses({"\uff11\uff12": reason, "\u0663": reason, "1\u0662": reason, "m\u00b2": "is not a number"})


def test_fractions_are_refused_with_the_decimal() -> None:
    """A fraction is refused and the reason says what to write."""
    refuses(
        {
            "1/2": "is a fraction: write 0.5",
            "2 1/2": "is a fraction: write 2.5",
            "1 / 4": "is a fraction: write 0.25",
            "½": "is a fraction: write 0.5",
            "2½": "is a fraction: write 2.5",
            "1/3": "is a fraction: write 0.333333",
            "1/0": "is not a number",
            "1/2/3/4": "is not a number",
        }
    )


def test_dates_are_no_numbers() -> None:
    """A date, in a cell or as a text, is refused: the spreadsheet may have made it of 3-4."""
    reason = "stands where a number belongs: a spreadsheet makes a date of 3-4 or 3/4, so type the number again"
    refuses({date(2026, 4, 3): reason, datetime(2026, 4, 3): reason})
    refuses(dict.fromkeys(("2026-04-03", "3/4/2026", "12.05.2026", "03\u201104\u201126"), "looks like a date"))


def test_times_are_no_numbers() -> None:
    """A time or a duration is refused, since a spreadsheet shows it unlike the number it stores."""
    reason = "is a time: type the number again and give the cell a number format"
    refuses({time(12, 0): reason, timedelta(hours=30): reason})


def test_words_behind_a_number_are_refused() -> None:
    """A unit in the number's cell is refused with what to leave there, unless the number itself is in doubt."""
    refuses(
        {
            "250 g": "has g behind the number: write 250 alone",
            "250fl oz": "has fl oz behind the number: write 250 alone",
            "3,50 EUR": "has EUR behind the number: write 3,50 alone",
            "£3 per kg": "has per kg behind the number: write £3 alone",
            "1,234 g": "could be 1234 or 1.234",
            "g 250": "is not a number",
            "250 g 3": "has g 3 behind the number: write 250 alone",
            "1 23 g": "is not a number",
        }
    )


def test_true_and_false_are_no_numbers() -> None:
    """TRUE and FALSE are refused, though Python counts with them."""
    reason = "is not a number"
    assert parse_number(True) == parse_number(False) == parse_number("true") == parse_number("FALSE") == reason


def test_numbers_without_a_size_are_refused() -> None:
    """Infinity and not-a-number are refused, as a cell's value, as a word and as a power of ten."""
    large = "is too large to be a number here"
    refuses({float("inf"): large, float("-inf"): large, 10**400: large, "1e999": large, "9" * 400: large})
    assert parse_number(float("nan")) == large
    refuses(dict.fromkeys(("inf", "-inf", "nan", "NaN", "Infinity"), "is not a number"))


def test_powers_of_ten_are_read() -> None:
    """The notation a spreadsheet exports small numbers in is a number."""
    reads_as({"1.5E-3": 0.0015, "2e3": 2000.0, "1,5e+2": 150.0})
    refuses({"e5": "is not a number", "1 500e3": "has e3 behind the number: write 1 500 alone"})


def test_blank_is_no_number() -> None:
    """A text that shows nothing is told to be blank."""
    refuses({"": "is blank", " \u00a0\u200b": "is blank", None: "is not a number"})


def test_percentage_is_no_plain_number() -> None:
    """A % sign where a plain number belongs is refused."""
    refuses({"5%": "is a percentage: type a plain number"})


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_number_as_python_writes_it_is_read_back(number: float) -> None:
    """Reading a written number gives the very same number."""
    assert parse_number(repr(number)) == number


def test_percent_texts_are_fractions() -> None:
    """A text with a % sign is the nearest number to that many hundredths, exactly as if typed with a point."""
    table = {"5%": 0.05, "0.5 %": 0.005, "0,7\u00a0%": 0.007, "98%": 0.98, "100%": 1.0, "0%": 0.0, "-5%": -0.05}
    assert {text: parse_percent(text) for text in table} == table


def test_other_texts_are_no_percentages() -> None:
    """Without a % sign at the end, with two, or with something else beside it a text is refused."""
    table = {
        "5": "has no % sign at its end",
        "%5": "has no % sign at its end",
        "5% of oils": "has no % sign at its end",
        "5%%": "is a percentage: type a plain number",
        "%": "is blank",
        "£5%": "has a currency sign, and no money belongs here: type the number alone",
        "1,234%": "could be 1234 or 1.234",
        "1/2%": "is a fraction: write 0.5",
    }
    assert {text: parse_percent(text) for text in table} == table


def test_dates_are_read_from_date_cells_and_iso_texts() -> None:
    """A date cell is its day whatever the hour; a text is a date when it is written year-month-day."""
    day = date(2026, 4, 3)
    for value in (day, datetime(2026, 4, 3), datetime(2026, 4, 3, 23, 59), "2026-04-03", " 2026-04-03\u00a0"):
        assert parse_date(value) == day
        assert type(parse_date(value)) is date


@pytest.mark.parametrize(
    "value",
    [
        "03/04/2026",
        "3.4.2026",
        "20260403",
        "2026-W14-5",
        "2026-02-31",
        "\u0662\u0660\u0662\u0666-04-03",
        "2026-04-03T10:00",
        "3 Aprul 2026",
        "",
        46115,
        46115.0,
        True,
        None,
        time(1, 2),
    ],
)
def test_other_values_are_no_dates(value: object) -> None:
    """A date that could be another day elsewhere, a serial number and anything else is no date."""
    assert parse_date(value) is None
