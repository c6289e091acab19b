"""What cards and Overview say in words: names, weights with their unit, superfat, and the superfat ruler."""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    Text,
    all_of,
    default_to,
    divide,
    figure,
    given,
    joined,
    larger,
    match,
    pick,
    put_at,
    repeated,
    round_half_up,
    same,
    smaller,
    tag,
    total_up_to,
    when,
)
from scaler.formula.steps import Step, StepGroup
from scaler.model.records import OIL, PACKAGING

NAMES = StepGroup("batches")
BATCHES = StepGroup("batches", when="makeable")
LINES = StepGroup("slots", when="makes")


@NAMES.step("text")
def batch_name(batch: Text, place: Number, used: Number) -> Text:
    """Name of the batch, its number where none is given; blank for a row that is not used. -> [-]."""
    return when(used > 0, default_to(batch, figure(place, 0)), "")


@BATCHES.step("%")
def aimed(recipe_at: Number, recipes_superfat: Column) -> Number:
    """Superfat of the recipe. [-] -> [-]."""
    return pick(recipes_superfat, recipe_at)


@BATCHES.step("text")
def superfat_words(
    aimed: Number, likely_low: Number, likely_high: Number, superfat_low: Number, percent: Number
) -> Text:
    """How sure the superfat is, in words. [-] x 4 -> [-]."""
    likely = joined(": likely ", figure(likely_low * percent, 0), " to ", figure(likely_high * percent, 0), " %")
    worst = joined(", at worst ", figure(superfat_low * percent, 1), " %")
    return joined("Superfat ", figure(aimed * percent, 1), " %", likely, worst)


def _place(share: Number, start: Number, step: Number, letters: Number) -> Number:
    """Place of a superfat on the ruler, from 1 to its letters. [-] x 3 -> [-]."""
    return larger(smaller(round_half_up(divide(share - start, step)) + 1, letters), 1)


@BATCHES.step("")
def worst_at(superfat_low: Number, ruler_from: Number, ruler_step: Number, ruler_letters: Number) -> Number:
    """Place of the lowest superfat on the ruler. [-] -> [-]."""
    return _place(superfat_low, ruler_from, ruler_step, ruler_letters)


@BATCHES.step("")
def likely_from(likely_low: Number, ruler_from: Number, ruler_step: Number, ruler_letters: Number) -> Number:
    """Place of the low end of the likely band on the ruler. [-] -> [-]."""
    return _place(likely_low, ruler_from, ruler_step, ruler_letters)


@BATCHES.step("")
def likely_to(likely_high: Number, ruler_from: Number, ruler_step: Number, ruler_letters: Number) -> Number:
    """Place of the high end of the likely band on the ruler. [-] -> [-]."""
    return _place(likely_high, ruler_from, ruler_step, ruler_letters)


@BATCHES.step("")
def best_at(superfat_high: Number, ruler_from: Number, ruler_step: Number, ruler_letters: Number) -> Number:
    """Place of the highest superfat on the ruler. [-] -> [-]."""
    return _place(superfat_high, ruler_from, ruler_step, ruler_letters)


@BATCHES.step("text")
def ruler_line(
    worst_at: Number, likely_from: Number, likely_to: Number, best_at: Number, ruler_letters: Number
) -> Text:
    """The ruler's line: thin from worst to best, thick where the superfat likely is. -> [-]."""
    left = joined(repeated(" ", worst_at - 1), repeated("─", likely_from - worst_at))
    right = joined(repeated("─", best_at - likely_to), repeated(" ", ruler_letters - best_at))
    return joined(left, repeated("█", likely_to - likely_from + 1), right)


@BATCHES.step("text")
def ruler(
    ruler_line: Text, aimed: Number, ruler_from: Number, ruler_step: Number, ruler_letters: Number
) -> Text:
    """The superfat ruler: the line, the bar at zero, and the mark where the superfat is aimed. -> [-]."""
    zero = _place(0, ruler_from, ruler_step, ruler_letters)
    return put_at(put_at(ruler_line, zero, "│"), _place(aimed, ruler_from, ruler_step, ruler_letters), "●")


def _weight(weigh: Number, shown: Number, display_units: Text, card_digits: Number) -> Text:
    return when(weigh > 0, joined(figure(shown, card_digits), " ", display_units), "")


@BATCHES.step("text")
def lye_first_name(first_name: Text) -> Text:
    """The alkali. -> [-]."""
    return default_to(first_name, "")


@BATCHES.step("text")
def lye_second_name(second_name: Text, second_weigh_g: Number) -> Text:
    """The second alkali, blank where there is none. [g] -> [-]."""
    return when(second_weigh_g > 0, second_name, "")


@BATCHES.step("text")
def lye_water_name(plain_water_weigh_g: Number) -> Text:
    """Water, where the recipe names no liquid. [g] -> [-]."""
    return when(plain_water_weigh_g > 0, "Water", "")


@BATCHES.step("text")
def lye_first_words(first_weigh_g: Number, first_shown: Number, display_units: Text, card_digits: Number) -> Text:
    """Alkali to weigh, with its unit. [g] -> [-]."""
    return _weight(first_weigh_g, first_shown, display_units, card_digits)


@BATCHES.step("text")
def lye_second_words(second_weigh_g: Number, second_shown: Number, display_units: Text, card_digits: Number) -> Text:
    """Second alkali to weigh, with its unit. [g] -> [-]."""
    return _weight(second_weigh_g, second_shown, display_units, card_digits)


@BATCHES.step("text")
def lye_water_words(
    plain_water_weigh_g: Number, plain_water_shown: Number, display_units: Text, card_digits: Number
) -> Text:
    """Water to weigh, with its unit. [g] -> [-]."""
    return _weight(plain_water_weigh_g, plain_water_shown, display_units, card_digits)


@BATCHES.step("text")
def vessel_words(
    jug_vessel_ml: Number, pot_vessel_ml: Number, recipe_at: Number, recipes_lye_hottest: Column, ml_per_l: Number
) -> Text:
    """Vessels and heat, in words. [mL] [mL] [°C] -> [-]."""
    jug = joined("jug of ", figure(jug_vessel_ml / ml_per_l, 1), " L or more; the lye can reach ")
    heat = joined(figure(pick(recipes_lye_hottest, recipe_at), 0), " °C; pot of ")
    return joined(jug, heat, figure(pot_vessel_ml / ml_per_l, 1), " L or more")


@BATCHES.step("text")
def bar_words(bar_fresh_g: Number, bar_cured_g: Number) -> Text:
    """What a bar weighs, in words. [g] [g] -> [-]."""
    return joined("a fresh bar weighs about ", figure(bar_fresh_g, 0), " g, a cured one ", figure(bar_cured_g, 0), " g")


@NAMES.step("date")
def made_day(make_date: Number) -> Number:
    """Make date, blank without one. [d] -> [d]."""
    return default_to(make_date, "")


@BATCHES.step("date")
def sell_day(ready_day: Number) -> Number:
    """Day from which the bars may be sold, blank without a make date. [d] -> [d]."""
    return ready_day


# --- the lines of a card ---


@LINES.step("text")
def weight_words(
    kind: Text, shown: Number, line_count_each: Number, line_at: Number, display_units: Text, card_digits: Number
) -> Text:
    """What to weigh or count, with its unit. [-] -> [-]."""
    weight = joined(figure(shown, card_digits), " ", display_units)
    return when(line_at > 0, when(same(kind, PACKAGING), figure(line_count_each, card_digits), weight), "")


@LINES.step("")
def in_pot(
    kind: Text, batch_at: Number, slot: Number, slots_oil_of: Column, slots_slot: Column, slots_shown: Column
) -> Number:
    """Oils in the pot so far, in the cards' units; blank for anything else. [-] -> [-]."""
    return when(same(kind, OIL), total_up_to(slots_oil_of, batch_at, slots_slot, slot, slots_shown), "")


@LINES.step("")
def oil_of(kind: Text, batch_at: Number) -> Number:
    """The batch, for an oil. -> [-]."""
    return when(same(kind, OIL), batch_at, "")


# --- tab Alkali ---


@LINES.step("mg KOH/g")
def sap(ingredient_at: Number, ingredients_oil_sap: Column, ingredients_acid_sap: Column) -> Number:
    """SAP of an oil or acid value of an acid, blank for anything else. [mg KOH/g] -> [mg KOH/g]."""
    value = pick(ingredients_oil_sap, ingredient_at) + pick(ingredients_acid_sap, ingredient_at)
    return when(value > 0, value, "")


@LINES.step("g")
def koh_need_g(sap: Number, g: Number, gram_per_mg: Number) -> Number:
    """KOH that the line needs, blank where it needs none. [mg KOH/g] [g] [g/mg] -> [g]."""
    return when(given(sap), g * default_to(sap, 0) * gram_per_mg, "")


@BATCHES.step("g")
def need_koh_g(oils_g: Number, recipe_at: Number, recipes_oils_need: Column) -> Number:
    """KOH that the oils need. [g] [g/g] -> [g]."""
    return oils_g * pick(recipes_oils_need, recipe_at)


@BATCHES.step("g")
def met_koh_g(oils_g: Number, recipe_at: Number, recipes_koh_met: Column) -> Number:
    """KOH need that is met: the oils' less superfat, and the acids'. [g] [g/g] -> [g]."""
    return oils_g * pick(recipes_koh_met, recipe_at)


@BATCHES.step("g")
def acids_koh_g(need_koh_g: Number, met_koh_g: Number, aimed: Number) -> Number:
    """KOH that acids and sour liquids take. [g] [g] [-] -> [g]."""
    return met_koh_g - need_koh_g * (1 - aimed)


@LINES.step("text")
def stage_words(batch_at: Number, slot: Number, stage: Text, slots_key: Column, slots_stage: Column) -> Text:
    """The stage, where it is another than on the line above. -> [-]."""
    above = pick(slots_stage, match(tag(batch_at, slot - 1), slots_key), "")
    return when(all_of(given(above), same(above, stage)), "", stage)


STEPS: tuple[Step, ...] = (*NAMES.steps, *BATCHES.steps, *LINES.steps)
