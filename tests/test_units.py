"""Unit words against the exact definitions of NIST SP 811 (2008), Appendix B, and NIST Handbook 44, Appendix C."""

from __future__ import annotations

from fractions import Fraction

import pytest

from scaler.model import units
from scaler.rules.tables import UNIT_COLUMNS, unit_rows

POUND = Fraction("453.59237")  # g, exact: SP 811 B.8, pound (avoirdupois)
INCH = Fraction("2.54")  # cm, exact: SP 811 B.8
GALLON = 231 * INCH**3  # mL, exact: Handbook 44 App. C, 1 US gallon = 231 cubic inches
IMPERIAL_GALLON = Fraction("4546.09")  # mL, exact: SP 811 B.8, gallon [Canadian and U.K. (Imperial)]

EXACT = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "oz": POUND / 16,
    "lb": POUND,
    "mL": Fraction(1),
    "cL": Fraction(10),
    "L": Fraction(1000),
    "fl oz": GALLON / 128,  # Handbook 44 App. C: 128 fluid ounces a gallon
    "pt": GALLON / 8,
    "qt": GALLON / 4,
    "gal": GALLON,
    "imp fl oz": IMPERIAL_GALLON / 160,  # UK Weights and Measures Act 1985, Schedule 1
    "imp pt": IMPERIAL_GALLON / 8,
    "imp gal": IMPERIAL_GALLON,
    "tsp": GALLON / 128 / 6,  # Handbook 44 App. C: 3 teaspoons a tablespoon, 2 tablespoons a fluid ounce
    "tbsp": GALLON / 128 / 2,
    "cup": GALLON / 16,
    "mm": Fraction("0.1"),
    "cm": Fraction(1),
    "m": Fraction(100),
    "in": INCH,
    "ft": 12 * INCH,
    "min": Fraction(1, 60),
    "h": Fraction(1),
    "d": Fraction(24),
}
KINDS = {
    "weight": ("g", "kg", "oz", "lb"),
    "volume": ("mL", "cL", "L", "fl oz", "pt", "qt", "gal", "imp fl oz", "imp pt", "imp gal", "tsp", "tbsp", "cup"),
    "length": ("mm", "cm", "m", "in", "ft"),
    "time": ("min", "h", "d"),
}


def digits(value: Fraction) -> float:
    """Return a number to the 15 digits that a decimal keeps in a spreadsheet."""
    return float(f"{float(value):.15g}")


@pytest.mark.parametrize("word", EXACT)
def test_factor_is_the_exact_definition(word: str) -> None:
    """One of the word is what the definition says in g, mL, cm or h, to 15 digits."""
    assert units.factor(word) == digits(EXACT[word])


@pytest.mark.parametrize(
    ("word", "printed"),
    [
        ("oz", 28.34952),  # SP 811 B.8, ounce (avoirdupois): 2.834952 E-02 kg
        ("lb", 453.59237),  # same, pound (avoirdupois): 4.535924 E-01 kg
        ("fl oz", 29.57353),  # same, ounce (U.S. fluid): 2.957353 E-05 m3
        ("gal", 3785.412),  # same, gallon (U.S.): 3.785412 E-03 m3
        ("imp gal", 4546.09),  # same, gallon (Imperial): 4.54609 E-03 m3
        ("imp fl oz", 28.41306),  # same, ounce [Canadian and U.K. fluid (Imperial)]: 2.841306 E-05 m3
        ("tsp", 4.928922),  # same, teaspoon: 4.928922 E-06 m3
        ("tbsp", 14.78676),  # same, tablespoon: 1.478676 E-05 m3
        ("cup", 236.5882),  # same, cup (U.S.): 2.365882 E-04 m3
        ("in", 2.54),  # same, inch: 2.54 E-02 m
        ("ft", 30.48),  # same, foot: 3.048 E-01 m
    ],
)
def test_factor_is_the_printed_one(word: str, printed: float) -> None:
    """The factor agrees with the seven digits that the guide prints."""
    assert float(f"{units.factor(word):.7g}") == float(f"{printed:.7g}")


@pytest.mark.parametrize("oils", ["kg", "lb"])
@pytest.mark.parametrize("amount", ["g", "oz", "mL", "fl oz", "tsp", "tbsp", "cup"])
def test_amount_per_weight_of_oils(amount: str, oils: str) -> None:
    """An amount per weight of oils is the one definition over the other."""
    unit = units.find(f"{amount}/{oils}")
    assert unit is not None
    assert units.factor(unit.word) == digits(EXACT[amount] / EXACT[oils])
    assert units.ratio_of_weights(unit) == (amount in ("g", "oz"))


def test_percent_of_oils_is_a_hundredth() -> None:
    """One per cent of the oils is 0.01 g for 1 g of oils, by the definition of per cent; the trade says ppo for /lb."""
    unit = units.find("% of oils")
    assert unit is not None
    assert (units.factor(unit.word), units.ratio_of_weights(unit)) == (0.01, True)
    assert [unit.word for unit in map(units.find, ("oz ppo", "tsp PPO")) if unit] == ["oz/lb", "tsp/lb"]


def test_every_word_is_tried() -> None:
    """Every word of the list is in the table above, a ratio of two of them, or a count."""
    ratios = {f"{amount}/{oils}" for amount in EXACT for oils in ("kg", "lb")}
    others = {unit.word for unit in units.UNITS} - set(EXACT) - ratios
    assert others == {"°C", "°F", "each", "each/bar", "each/batch", "% of oils", "% of liquid"}
    assert set(EXACT) <= {unit.word for unit in units.UNITS}


@pytest.mark.parametrize("kind", KINDS)
def test_kinds(kind: str) -> None:
    """Each word measures what the trade means by it: oz is weight, fl oz volume."""
    assert units.words(kind) == KINDS[kind]


@pytest.mark.parametrize("word", ["each", "each/bar", "each/batch"])
def test_counts_are_one(word: str) -> None:
    """A counted thing is one."""
    assert units.factor(word) == 1


@pytest.mark.parametrize(
    ("typed", "word"),
    [("OZ", "oz"), ("ounces", "oz"), ("Fl. oz.", "fl oz"), ("lbs", "lb"), ("ml", "mL"), ("litres", "L"), (" kg ", "kg"),
     ("UK gal", "imp gal"), ("tsp per lb", "tsp/lb"), ('"', "in"), ("pieces", "each")],
)  # fmt: skip
def test_spelling_reads_as(typed: str, word: str) -> None:
    """Other spellings of a word are read as that word."""
    found = units.find(typed)
    assert found is not None
    assert found.word == word


@pytest.mark.parametrize(
    "typed", ["", "stone", "T", "t", "oz t", "troy oz", "dram", "g**2", "kg*m", "2 g", "g/g", "oils", "%"]
)
def test_other_words_are_not_units(typed: str) -> None:
    """A word that is not the trade's, or that has two meanings, is no unit, whatever pint would make of it."""
    assert units.find(typed) is None


def test_no_spelling_has_two_meanings() -> None:
    """No spelling stands for two words."""
    spellings = [spelling.casefold() for unit in units.UNITS for spelling in (unit.word, *unit.also)]
    assert len(spellings) == len(set(spellings))


def test_units_sheet_has_every_spelling_with_the_factor_of_its_kind() -> None:
    """On sheet Units each word that the reader takes has its factor in `any` and in one column more: its kind's."""
    rows = {row["word"].casefold(): row for row in unit_rows()}
    known = {word.casefold(): unit for unit in units.UNITS for word in (unit.word, *unit.also)}
    assert len(rows) == len(unit_rows())
    assert set(known) == {word for word, row in rows.items() if row["any"]}
    for word, unit in known.items():
        filled = [name for name in UNIT_COLUMNS if rows[word][name]]
        assert filled[0] == "any"
        assert filled[1:] in ([unit.kind.replace(" ", "_")], ["ratio_weight"], ["ratio_volume"])
        assert filled[1].startswith("ratio") == (unit.kind == "per weight of oils")
        assert rows[word]["kind"] == unit.kind
        assert rows[word]["any"] == rows[word][filled[1]] == units.factor(unit.word)


def test_question_marks_are_no_unit() -> None:
    """A spreadsheet that looks for ? takes the first word of one letter: that must be no unit, not g."""
    for sign in ("?", "??", "???", "*"):
        first = next(row for row in unit_rows() if sign == "*" or len(row["word"]) == len(sign))
        assert (first["any"], first["kind"]) == (0, "?")
