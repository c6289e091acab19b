"""The lines of a card, and of tab Alkali, in words: what to weigh, for which portion, and the oils in the pot so far."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import (
    all_of,
    any_of,
    default_to,
    figure,
    given,
    joined,
    opposite,
    round_down,
    round_half_up,
    same,
    when,
)
from scaler.formula.searching import at, pick, tag
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import total_up_to
from scaler.model.records import ALKALI, BLEND, OIL, PACKAGING
from scaler.rules.imperial import OUNCES, ounce_parts, pounds

LINES = StepGroup("batch_lines", when="makes")
RECIPE_LINES = StepGroup("lines")


@LINES.step("")
def shown_steps(kind: Text, shown: Number, ounce_step: Number) -> Number:
    """Weight to weigh, in the least steps of the cards' units; alkali never up. [-] x 3 -> [-]."""
    steps = shown / ounce_step
    return when(same(kind, ALKALI), round_down(steps), round_half_up(steps))


@LINES.step("text")
def weight_words(
    kind: Text, card_g: Number, shown: Number, shown_steps: Number, line_count_each: Number, display_units: Text,
    card_digits: Number, ounce_step: Number, oz_per_lb: Number,
) -> Text:  # fmt: skip
    """What to weigh or count, with its unit; blank for a row that the batch does not need. [g] [-] x 3 -> [-]."""
    ounces = pounds(shown_steps, oz_per_lb / ounce_step, 1 / ounce_step)
    plain = joined(figure(shown, card_digits), " g")
    weight = when(card_g > 0, when(same(display_units, OUNCES), ounces, plain), "")
    count = when(line_count_each > 0, figure(line_count_each, card_digits), "")
    return when(same(kind, PACKAGING), count, weight)


@RECIPE_LINES.step("text")
def portion_name(portion: Text, portion_part: Number, percent: Number, two: Number) -> Text:
    """Which portion the line is for, and its share of the batter; blank for the whole pot. [-] x 3 -> [-]."""
    said = joined(" for ", portion, " (", figure(portion_part * percent, two), " %, in ")
    return when(given(portion), said, "")


@LINES.step("")
def portion_parts(
    line_at: Number, lines_portion_part: Column, batch_at: Number, batches_batter_g: Column, batches_display_g: Column,
    display_units: Text, percent: Number,
) -> Number:  # fmt: skip
    """Batter of the row's portion, as it is said: whole grams or hundredths of an ounce. [-] [g] [g] [-] -> [-]."""
    shown = pick(lines_portion_part, line_at) * at(batches_batter_g, batch_at) / at(batches_display_g, batch_at)
    return round_half_up(shown * when(same(display_units, OUNCES), percent, 1))


@LINES.step("text")
def portion_words(
    line_at: Number, lines_portion_name: Column, portion_parts: Number, display_units: Text, oz_per_lb: Number,
    percent: Number,
) -> Text:  # fmt: skip
    """Which portion the row is for, and how much batter that is; blank for the whole pot. [-] x 3 -> [-]."""
    name = pick(lines_portion_name, line_at, "")
    ounces = pounds(portion_parts, oz_per_lb * percent, percent)
    batter = when(same(display_units, OUNCES), ounces, joined(portion_parts, " g"))
    return when(given(name), joined(name, batter, " of batter)"), "")


@LINES.step("text")
def name_words(
    weight_words: Text, ingredient: Text, kind: Text, weigh_g: Number, display_units: Text, two: Number,
    portion_words: Text, percent: Number,
) -> Text:  # fmt: skip
    """Name on the card, its portion, and grams beside ounces; blank where nothing is weighed. [g] -> [-]."""
    beside = all_of(same(display_units, OUNCES), opposite(same(kind, PACKAGING)))
    grams = when(beside, joined(" · ", _safe_grams(kind, weigh_g, percent, two)), "")
    return when(given(weight_words), joined(ingredient, portion_words, grams), "")


def _safe_grams(kind: Text, weigh_g: Number, percent: Number, two: Number) -> Text:
    """A weight to weigh in grams, in words; alkali never up."""
    weighed = when(same(kind, ALKALI), round_down(weigh_g * percent) / percent, weigh_g)
    return joined(figure(weighed, two), " g")


@LINES.step("")
def shown(card_g: Number, weigh_g: Number, batch_at: Number, batches_display_g: Column) -> Number:
    """Weight to weigh, in the cards' units; 0 for an oil of a blend. [g] [g] [g] -> [-]."""
    return when(card_g > 0, weigh_g / at(batches_display_g, batch_at), 0)


@LINES.step("")
def in_pot(
    kind: Text, card_g: Number, batch_at: Number, slot: Number, batch_lines_part_key: Column, batch_lines_slot: Column,
    batch_lines_shown: Column,
) -> Number:  # fmt: skip
    """Oils in the pot so far, in the cards' units; blank for anything else. [g] [-] -> [-]."""
    oils, blends = (
        total_up_to(batch_lines_part_key, tag(batch_at, held), batch_lines_slot, slot, batch_lines_shown)
        for held in (OIL, BLEND)
    )
    return when(all_of(card_g > 0, any_of(same(kind, OIL), same(kind, BLEND))), oils + blends, "")


@LINES.step("text")
def in_pot_words(in_pot: Number, display_units: Text, percent: Number, oz_per_lb: Number) -> Text:
    """Oils in the pot so far in pounds and ounces, where those are shown. [oz] [-] [oz/lb] [-] -> [-]."""
    shown = all_of(same(display_units, OUNCES), given(in_pot))
    parts = round_half_up(default_to(in_pot, 0) * percent)
    return when(shown, pounds(parts, oz_per_lb * percent, percent), "")


# --- tab Alkali ---


@LINES.step("text")
def worked_words(
    ingredient: Text, g: Number, display_units: Text, g_per_oz: Number, percent: Number, oz_per_lb: Number
) -> Text:
    """An oil's name, with its pounds and ounces where those are shown. [g] [-] [g] [-] [oz/lb] [-] -> [-]."""
    parts = ounce_parts(g, g_per_oz, percent)
    ounces = joined(" · ", pounds(parts, oz_per_lb * percent, percent))
    return joined(ingredient, when(all_of(same(display_units, OUNCES), g > 0), ounces, ""))


@LINES.step("text")
def on_card_words(
    weight_words: Text, kind: Text, weigh_g: Number, display_units: Text, percent: Number, two: Number
) -> Text:
    """What the card says to weigh, grams beside ounces. [-] [-] [g] -> [-]."""
    beside = all_of(same(display_units, OUNCES), given(weight_words), opposite(same(kind, PACKAGING)))
    return joined(weight_words, when(beside, joined(", ", _safe_grams(kind, weigh_g, percent, two)), ""))


@LINES.step("g")
def koh_need_g(g: Number, kind: Text, koh_use: Number) -> Number:
    """KOH that the row needs, blank for alkalis and where it needs none. [g] [g/g] -> [g]."""
    return when(all_of(koh_use > 0, opposite(same(kind, ALKALI))), g * koh_use, "")


STEPS: tuple[Step, ...] = (*LINES.steps, *RECIPE_LINES.steps)
