"""What cards and Overview say in words: names, weights with their unit, superfat, and the superfat ruler."""

from __future__ import annotations

from typing import Any

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import (
    all_of,
    any_of,
    default_to,
    divide,
    exceeds,
    figure,
    given,
    joined,
    larger,
    opposite,
    put_at,
    repeated,
    round_down,
    round_half_up,
    round_up,
    same,
    smaller,
    when,
)
from scaler.formula.searching import at, pick, tag
from scaler.formula.steps import Step, StepGroup, handed
from scaler.formula.sums import total_up_to
from scaler.model.records import ALKALI, BLEND, OIL, PACKAGING
from scaler.rules.imperial import OUNCES, ounce_parts, pounds
from scaler.rules.plain import picked, times_picked

NAMES = StepGroup("batches")
POTS = StepGroup("batches")
COUNTED = StepGroup("batches", when="counts")
BATCHES = StepGroup("batches", when="makeable")


@NAMES.step("text")
def batch_name(batch: Text, place: Number, used: Number) -> Text:
    """Name of the batch, its number where none is given; blank for a row that is not used. -> [-]."""
    return when(used > 0, default_to(batch, figure(place, 0)), "")


BATCHES.add("aimed", "%", picked("recipe_at", "recipes_superfat", "Superfat of the recipe."))


@BATCHES.step("text")
def superfat_words(
    aimed: Number, likely_low: Number, likely_high: Number, superfat_low_said: Number, percent: Number
) -> Text:
    """How sure the superfat is, in words. [-] x 4 -> [-]."""
    likely = joined(": likely ", figure(likely_low * percent, 0), " to ", figure(likely_high * percent, 0), " %")
    worst = joined(", at worst ", figure(superfat_low_said * percent, 1), " %")
    return joined("Superfat ", figure(aimed * percent, 1), " %", likely, worst)


@BATCHES.step("text")
def mould_names(mould: Text, mould_next: Text, next_at: Number, batches_mould_next: Column) -> Text:
    """The moulds of the pot, the first three. -> [-]."""
    return joined(default_to(mould, ""), mould_next, pick(batches_mould_next, next_at, ""))


@BATCHES.step("")
def oils_steps(oils_g: Number, g_per_oz: Number, ounce_step: Number) -> Number:
    """Weight of the oils in the least steps of an ounce that a card shows. [g] [g] [-] -> [-]."""
    return round_half_up(oils_g / g_per_oz / ounce_step)


@BATCHES.step("text")
def loose_words(oils_g: Number, oils_steps: Number, display_units: Text, ounce_step: Number, oz_per_lb: Number) -> Text:
    """What the oils weigh, in words, for a batch of no bars. [g] [-] x 4 -> [-]."""
    ounces = joined(pounds(oils_steps, oz_per_lb / ounce_step, 1 / ounce_step), ", ")
    return joined("oils ", when(same(display_units, OUNCES), ounces, ""), figure(oils_g, 0), " g · ")


@BATCHES.step("text")
def size_words(
    bars: Number, loose_words: Text, poured_words: Text, poured_next: Text, next_at: Number, batches_poured_next: Column,
) -> Text:  # fmt: skip
    """Bars, moulds, and where to cut, in words; the first three moulds. [-] -> [-]."""
    many = when(bars > 0, joined(figure(bars, 0), when(same(bars, 1), " bar · ", " bars · ")), loose_words)
    return joined(many, poured_words, poured_next, pick(batches_poured_next, next_at, ""))


def _place(share: Number, start: Number, step: Number, letters: Number) -> Number:
    """Place of a superfat on the ruler, from 1 to its letters. [-] x 3 -> [-]."""
    return larger(smaller(round_half_up(divide(share - start, step)) + 1, letters), 1)


for _name, _of, _says in (
    ("worst_at", "superfat_low", "Place of the lowest superfat on the ruler. [-] -> [-]."),
    ("likely_from", "likely_low", "Place of the low end of the likely band on the ruler. [-] -> [-]."),
    ("likely_to", "likely_high", "Place of the high end of the likely band on the ruler. [-] -> [-]."),
    ("best_at", "superfat_high", "Place of the highest superfat on the ruler. [-] -> [-]."),
):
    BATCHES.add(_name, "", handed(_place, (_of, "ruler_from", "ruler_step", "ruler_letters"), _says))


@BATCHES.step("text")
def ruler_line(
    worst_at: Number, likely_from: Number, likely_to: Number, best_at: Number, ruler_letters: Number
) -> Text:
    """The ruler's line: thin from worst to best, thick where the superfat likely is. -> [-]."""
    left = joined(repeated(" ", worst_at - 1), repeated("─", likely_from - worst_at))
    right = joined(repeated("─", best_at - likely_to), repeated(" ", ruler_letters - best_at))
    return joined(left, repeated("█", likely_to - likely_from + 1), right)


@BATCHES.step("text")
def ruler(ruler_line: Text, aimed: Number, ruler_from: Number, ruler_step: Number, ruler_letters: Number) -> Text:
    """The superfat ruler: the line, the bar at zero, and the mark where the superfat is aimed. -> [-]."""
    zero = _place(0, ruler_from, ruler_step, ruler_letters)
    return put_at(put_at(ruler_line, zero, "│"), _place(aimed, ruler_from, ruler_step, ruler_letters), "●")


POTS.add("boils_at", "°C", picked("recipe_at", "recipes_pot_boils", "Where the batch's lye boils."))
POTS.add("hottest", "°C", picked("recipe_at", "recipes_lye_hottest",
    "Upper bound of the lye's temperature from liquid at room temperature."))  # fmt: skip


@POTS.step("°C")
def hottest_likely(
    recipe_at: Number, recipes_lye_unboiled: Column, room_temperature: Number, lye_heat_kept: Number, boils_at: Number
) -> Number:
    """About where lye gets in an open jug, which loses heat while the alkali goes in. [°C] x 2 [-] [°C] -> [°C]; common practice."""
    rise = pick(recipes_lye_unboiled, recipe_at) - room_temperature
    return smaller(room_temperature + lye_heat_kept * rise, boils_at)


POTS.add("hottest_cold", "°C", picked("recipe_at", "recipes_lye_hottest_cold",
    "Upper bound of the lye's temperature from cold liquid."))  # fmt: skip
POTS.add("hottest_ice", "°C", picked("recipe_at", "recipes_lye_hottest_ice",
    "Upper bound of the lye's temperature with half of the liquid as ice."))  # fmt: skip


@BATCHES.step("text")
def notes_words(recipe_at: Number, recipes_notes: Column) -> Text:
    """The recipe's notes, for the card. -> [-]."""
    notes = pick(recipes_notes, recipe_at, "")
    return when(given(notes), joined("Notes: ", notes), "")


@BATCHES.step("text")
def cooler_words(hottest: Number, cold_said: Text, ice_said: Text, lye_hot_from: Number) -> Text:
    """How cold liquid keeps hot lye cooler, in words. [°C] [°C] -> [-]."""
    words = joined(" (with cold liquid ", cold_said, ", with half of it ice ", ice_said, ")")
    return when(hottest > lye_hot_from, words, "")


@BATCHES.step("text")
def heat_words(hottest: Number, boils_at: Number, likely_said: Text, hottest_said: Text, cooler_words: Text) -> Text:
    """How hot the lye gets, in words. [°C] [°C] -> [-]."""
    reaches = joined("reach about ", likely_said, ", at most ")
    return joined("; the lye can ", when(hottest < boils_at, reaches, "boil at "), hottest_said, cooler_words)


def _holds(ml: Number, display_units: Text, ml_per_fl_oz: Number, vessel_step: Number, ml_per_l: Number) -> Text:
    ounces = joined(round_up(ml / ml_per_fl_oz), " fl oz, ")
    litres = round_up(ml / vessel_step) * vessel_step / ml_per_l
    return joined(when(same(display_units, OUNCES), ounces, ""), figure(litres, 1), " L or more")


for _name in ("jug", "pot"):
    _reads = (f"{_name}_vessel_ml", "display_units", "ml_per_fl_oz", "vessel_step", "ml_per_l")
    _says = f"What the {_name} must hold, rounded up, in words; fluid ounces first where ounces are shown. [mL] -> [-]."
    BATCHES.add(f"{_name}_holds", "text", handed(_holds, _reads, _says))


@BATCHES.step("text")
def vessel_words(jug_holds: Text, pot_holds: Text, heat_words: Text) -> Text:
    """Vessels and heat, in words. -> [-]."""
    return joined("Jug of ", jug_holds, heat_words, "; pot of ", pot_holds)


def _weighs(grams: Number, parts: Number, display_units: Text, oz_per_lb: Number, percent: Number) -> Text:
    ounces = joined(pounds(parts, oz_per_lb * percent, percent), ", ")
    return joined(when(same(display_units, OUNCES), ounces, ""), figure(grams, 0), " g")


for _name, _parts in (("fresh", "fresh_said_parts"), ("cured", "cured_words_parts")):
    _reads = (f"bar_{_name}_g", _parts, "display_units", "oz_per_lb", "percent")
    _says = f"What a {_name} bar weighs, in words; pounds and ounces first where ounces are shown. [g] [-] -> [-]."
    BATCHES.add(f"{_name}_weighs", "text", handed(_weighs, _reads, _says))


@BATCHES.step("text")
def bar_words(bars: Number, fresh_weighs: Text, cured_weighs: Text, share_here: Number) -> Text:
    """What a bar weighs, in words; nothing where no bars are cut, or each mould has its own. [-] -> [-]."""
    one = all_of(bars > 0, opposite(exceeds(1, share_here)))
    return when(one, joined("A fresh bar weighs about ", fresh_weighs, ", cured ", cured_weighs), "")


@NAMES.step("date")
def made_day(make_date: Number, done_on: Number, outside: Number) -> Number:
    """Made on, else Make date, blank without one that can be. [d] [d] [-] -> [d]."""
    return when(same(outside, 0), default_to(done_on, default_to(make_date, "")), "")


@COUNTED.step("date")
def unmould_on(made_day: Number, unmould_after: Number, days_per_hour: Number) -> Number:
    """Day its moulds are free again: hours rounded up to days. [d] [h] [d/h] -> [d]; contract."""
    return when(given(made_day), default_to(made_day, 0) + round_up(unmould_after * days_per_hour), "")


@BATCHES.step("text")
def sell_day(ready_day: Number, recipe_at: Number, recipes_cure_days_in_use: Column) -> Any:
    """Day from which the bars may be sold, or how long they cure without a make date. [d] [-] [d] -> [-]."""
    later = joined(figure(round_up(pick(recipes_cure_days_in_use, recipe_at)), 0), " days after it is made")
    return when(given(ready_day), ready_day, later)


@BATCHES.step("text")
def unmould_day(unmould_on: Number, unmould_after: Number) -> Any:
    """Day on which the bars come out of the mould, or after how many hours without a make date. [d] [h] -> [-]."""
    return when(given(unmould_on), unmould_on, joined(figure(unmould_after, 0), " hours after it is made"))


# --- tab Alkali ---


BATCHES.add("need_koh_g", "g", times_picked("oils_g", "recipe_at", "recipes_oils_need",
    "KOH that the oils need. [g] [g/g] -> [g]."))  # fmt: skip
BATCHES.add("met_koh_g", "g", times_picked("oils_g", "recipe_at", "recipes_koh_met",
    "KOH need that is met: the oils' less superfat, and the acids'. [g] [g/g] -> [g]."))  # fmt: skip


@BATCHES.step("g")
def acids_koh_g(need_koh_g: Number, met_koh_g: Number, aimed: Number) -> Number:
    """KOH that acids and sour liquids take. [g] [g] [-] -> [g]."""
    return met_koh_g - need_koh_g * (1 - aimed)


# --- the lines of a card: what to weigh, for which portion, and the oils in the pot so far ---


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


STEPS: tuple[Step, ...] = (
    *NAMES.steps, *POTS.steps, *COUNTED.steps, *BATCHES.steps, *LINES.steps, *RECIPE_LINES.steps,
)  # fmt: skip
