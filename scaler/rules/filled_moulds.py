"""What moulds hold: their names, how full they are and where to cut in words, and the mould seen from its side."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import (
    all_of,
    any_of,
    default_to,
    divide,
    exceeds,
    figure,
    joined,
    opposite,
    repeated,
    round_down,
    round_half_up,
    same,
    when,
)
from scaler.formula.searching import match, pick, translated
from scaler.formula.steps import Step, StepGroup, handed
from scaler.rules.imperial import OUNCES
from scaler.rules.plain import picked

PARTS = StepGroup("batches", when="in_pot")


@PARTS.step("g")
def pour_g(share_here: Number, pot_at: Number, batches_batter_g: Column, batter_loss: Number) -> Number:
    """Batter for the row's moulds, less what stays in the bowls. [-] [g] [-] -> [g]."""
    return pick(batches_batter_g, pot_at) * (1 - batter_loss) * share_here


@PARTS.step("text")
def pour_words(share_here: Number, pour_said: Text, bar_fresh_g: Number, fresh_said: Text) -> Text:
    """How much of a pot of several moulds goes into the row's, and what a bar weighs there. [-] [g] -> [-]."""
    bar = when(bar_fresh_g > 0, joined(", a fresh bar ", fresh_said), "")
    return when(exceeds(1, share_here), joined(": pour ", pour_said, bar), "")


@PARTS.step("text")
def filled_words(
    mould: Text, mould_at: Number, filled_moulds: Number, fill_here: Number, fullest: Number, percent: Number,
    pour_words: Text,
) -> Text:  # fmt: skip
    """Which moulds are filled, and how full where they are not. [-] x 4 -> [-]."""
    part = when(fill_here < 1 / fullest, joined(", ", figure(fill_here * percent, 0), " % full"), "")
    named = joined(mould, " × ", figure(filled_moulds, 0), part, pour_words)
    return when(mould_at > 0, named, "without a mould")


PARTS.add("cut_unit", "text", picked("mould_at", "moulds_unit", "Unit of the row's mould.", ""))


@PARTS.step("")
def inches_each(mould_at: Number, moulds_cm: Column, units_word: Column, units_length: Column) -> Number:
    """One of the mould's Unit in inches. [cm] [cm] -> [-]."""
    return divide(pick(moulds_cm, mould_at), translated("in", units_word, units_length, 1))


@PARTS.step("")
def in_inches(cut_unit: Text, display_units: Text) -> Number:
    """1 where a length is said in inches too: ounces are shown, and the mould is not measured in inches. -> [-]."""
    return when(all_of(same(display_units, OUNCES), opposite(same(cut_unit, "in"))), 1, 0)


@PARTS.step("")
def deep(mould_at: Number, fill_here: Number, moulds_fill_cm: Column, moulds_cm: Column) -> Number:
    """How deep a mould is filled, in its Unit; 0 where it is not filled to its line. [-] x 2 [cm] [cm] -> [-]."""
    to_line = all_of(pick(moulds_cm, mould_at) > 0, opposite(exceeds(1, fill_here)))
    return when(to_line, divide(pick(moulds_fill_cm, mould_at), pick(moulds_cm, mould_at)), 0)


@PARTS.step("")
def bars_over(bars_each: Number, bar_part: Number, ruler_letters: Number) -> Number:
    """What is left of a mould, in bars; 0 for less than a letter of a bar. [-] x 3 -> [-]."""
    left = when(bar_part > 0, divide(1, bar_part) - bars_each, 0)
    return when(exceeds(left, divide(1, ruler_letters)), left, 0)


@PARTS.step("")
def offcut(mould_at: Number, cut_in_use: Number, bars_over: Number) -> Number:
    """What is left of a mould's log, in its Unit. [-] x 3 -> [-]."""
    return when(mould_at > 0, bars_over * cut_in_use, 0)


def _length(length: Number, cut_unit: Text, inches_each: Number, in_inches: Number, two: Number) -> Text:
    typed = joined(figure(length, when(same(cut_unit, "in"), two, 1)), " ", default_to(cut_unit, ""))
    return when(in_inches > 0, joined(figure(length * inches_each, two), " in (", typed, ")"), typed)


for _name, _of in (("deep_length", "deep"), ("cut_length", "cut_in_use"), ("offcut_length", "offcut")):
    PARTS.add(_name, "text", handed(_length, (_of, "cut_unit", "inches_each", "in_inches", "two"),
        f"{_of} in words, in the mould's Unit, and in inches before it where ounces are shown. [-] x 4 -> [-]."))  # fmt: skip


@PARTS.step("text")
def poured_words(
    filled_words: Text, deep: Number, deep_length: Text, cut_in_use: Number, cut_length: Text, offcut: Number,
    offcut_length: Text,
) -> Text:  # fmt: skip
    """The same, how deep, where to cut and what is left of the log, in the mould's Unit. [-] x 6 -> [-]."""
    poured = joined(filled_words, when(deep > 0, joined(", ", deep_length, " deep"), ""))
    left = when(offcut > 0, joined(", offcut ", offcut_length), "")
    return joined(poured, when(cut_in_use > 0, joined(" · cut every ", cut_length, left), ""))


@PARTS.step("")
def next_at(place: Number, batches_place: Column, batches_pot_at: Column) -> Number:
    """The next row where it belongs to the same pot, else 0. -> [-]."""
    below = match(place + 1, batches_place)
    return when(same(pick(batches_pot_at, below), pick(batches_pot_at, place)), below, 0)


@PARTS.step("text")
def poured_next(next_at: Number, batches_poured_words: Column) -> Text:
    """What the pot's next row is poured into. -> [-]."""
    return when(next_at > 0, joined(" · ", pick(batches_poured_words, next_at, "")), "")


@PARTS.step("text")
def mould_next(next_at: Number, batches_mould: Column) -> Text:
    """The mould of the pot's next row. -> [-]."""
    return when(next_at > 0, joined(" + ", pick(batches_mould, next_at, "")), "")


# --- the mould from its side ---


@PARTS.step("")
def bar_letters(
    mould_at: Number, bar_part: Number, moulds_log_cm: Column, moulds_cavity_count: Column, ruler_letters: Number
) -> Number:
    """Letters that one bar of a log or one cavity takes of the drawing, 0 where nothing is cut. [-] x 3 [cm] -> [-]."""
    known = any_of(pick(moulds_log_cm, mould_at) > 0, pick(moulds_cavity_count, mould_at) > 0)
    return when(known, round_down(ruler_letters * bar_part), 0)


@PARTS.step("text")
def mould_side(
    mould_at: Number, bars_each: Number, bars_over: Number, bar_letters: Number, moulds_cavity_count: Column
) -> Text:
    """One mould from its side, to scale along its length: where bars are cut, or its cavities. [-] x 4 -> [-]."""
    apart = when(pick(moulds_cavity_count, mould_at) > 0, " ", "│")
    bars = repeated(joined(repeated("█", bar_letters - 1), apart), bars_each)
    rest = repeated(" ", round_half_up(bars_over * bar_letters))
    return when(all_of(bars_each > 0, bar_letters > 1), joined("║", bars, rest, "║"), "")


STEPS: tuple[Step, ...] = (*PARTS.steps,)
"""Steps of what is poured into which mould, in words."""
