"""Batches: sizes that do not go together, lye-heavy ones with what would help, and what to look at before one is made."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, opposite, same
from scaler.formula.searching import at, pick, tag
from scaler.formula.sums import count_where, largest_where, total_where
from scaler.model.records import ALKALI, FAILED, MADE, OIL, PACKAGING
from scaler.validation.rule import DANGER, LOOK, MONEY, NOTE, REFUSE, RuleGroup

SIZES = RuleGroup("batches", channel="entry")
SIZED = RuleGroup("batches", when="ready")
SIZED_PARTS = RuleGroup("batches", when="in_pot")


@SIZES.rule("size_missing", REFUSE, "mould", "Nothing says how large batch {batch_name} is.",
    "Fill Mould, or Oil weight, or Use up, or Bars wanted with Bar weight.")  # fmt: skip
def size_missing(mould: Text, oil_weight: Number, use_up: Text, bars_wanted: Number, bar_weight: Number) -> Truth:
    by_bars = all_of(given(bars_wanted), given(bar_weight))
    return all_of(blank(mould), blank(oil_weight), blank(use_up), opposite(by_bars))


@SIZES.rule("size_twice", REFUSE, "moulds_filled", "Moulds filled and Bars wanted both say how many moulds.",
    "Clear one of the two.")  # fmt: skip
def moulds_twice(moulds_filled: Number, bars_wanted: Number) -> Truth:
    return all_of(given(moulds_filled), given(bars_wanted))


@SIZES.rule("size_twice", REFUSE, "oil_weight", "Oil weight and Use up both say how large the batch is.",
    "Clear one of the two.")  # fmt: skip
def oils_twice(oil_weight: Number, use_up: Text) -> Truth:
    return all_of(given(oil_weight), given(use_up))


@SIZES.rule("size_twice", REFUSE, "bars_wanted",
    "Bars wanted stands beside Oil weight or Use up: both say how large the batch is.", "Clear Bars wanted, or the other.")  # fmt: skip
def bars_twice(bars_wanted: Number, pot_at: Number, batches_oil_weight: Column, batches_use_up: Column) -> Truth:
    oils = any_of(given(pick(batches_oil_weight, pot_at, "")), given(pick(batches_use_up, pot_at, "")))
    return all_of(given(bars_wanted), oils)


@SIZES.rule("pot_apart", REFUSE, "batch", "The rows of batch {batch_name} do not stand together.",
    "Put them one under the other, or rename one.")  # fmt: skip
def pot_apart(pot_key: Text, pot_at: Number, place: Number, batches_pot_key: Column) -> Truth:
    return all_of(pot_at < place, opposite(same(pick(batches_pot_key, place - 1, ""), pot_key)))


@SIZES.rule("size_twice", REFUSE, "oil_weight", "Oil weight and Use up stand on the first row of batch {batch_name}.",
    "Clear them on this row.")  # fmt: skip
def pot_size_again(oil_weight: Number, use_up: Text, pot_at: Number, place: Number) -> Truth:
    return all_of(pot_at < place, any_of(given(oil_weight), given(use_up)))


@SIZES.rule("mould_missing", REFUSE, "mould", "Batch {batch_name} is poured into several moulds, and this row names none.",
    "Fill Mould.")  # fmt: skip
def pot_mould(mould: Text, pot_at: Number, batches_pot_at: Column) -> Truth:
    return all_of(blank(mould), count_where(batches_pot_at, pot_at) > 1)


@SIZES.rule("mould_missing", REFUSE, "moulds_filled", "Moulds filled says how many, but not of which mould.",
    "Fill Mould, or clear Moulds filled.")  # fmt: skip
def filled_without_mould(moulds_filled: Number, mould: Text) -> Truth:
    return all_of(given(moulds_filled), blank(mould))


@SIZES.rule("use_up_wrong", REFUSE, "use_up", "{use_up} cannot set the size: it is an alkali or packaging.",
    "Name an oil or a liquid, or clear Use up.")  # fmt: skip
def use_up_kind(use_up_at: Number, ingredients_kind: Column) -> Truth:
    kind = pick(ingredients_kind, use_up_at, "")
    return any_of(same(kind, ALKALI), same(kind, PACKAGING))


@SIZES.rule("stock_missing", REFUSE, "use_up", "{use_up} has no Stock to use up.",
    "Fill its Stock and Stock unit on Ingredients.")  # fmt: skip
def use_up_stock(use_up_at: Number, ingredients_stock_held: Column) -> Truth:
    return all_of(use_up_at > 0, same(pick(ingredients_stock_held, use_up_at), 0))


@SIZED.rule("use_up_not_in", REFUSE, "use_up", "{recipe} has no {use_up} to use up.",
    "Name one of its ingredients, or clear Use up.")  # fmt: skip
def use_up_not_in(use_up_at: Number, use_up_part: Number) -> Truth:
    return all_of(use_up_at > 0, same(use_up_part, 0))


@SIZED_PARTS.rule("bar_weight_twice", REFUSE, "bar_weight", "The oils are set, so bars of {mould} cannot have a weight of their own.",
    "Clear Bar weight, or clear Oil weight and Use up.")  # fmt: skip
def bar_weight_twice(bar_wanted_g: Number, pot_oils_g: Number, mould_at: Number, moulds_log_cm: Column) -> Truth:
    uncut = all_of(mould_at > 0, opposite(pick(moulds_log_cm, mould_at) > 0))
    return all_of(bar_wanted_g > 0, pot_oils_g > 0, uncut)


@SIZED_PARTS.rule("bar_weight_none", REFUSE, "bar_weight", "{mould} gives no bar of {wanted_said}: {most_said} is the heaviest.",
    "Lower Bar weight, or choose another mould.")  # fmt: skip
def bar_weight_none(bar_wanted_g: Number, bar_most_g: Number, mould_at: Number) -> Truth:
    return all_of(mould_at > 0, exceeds(bar_wanted_g, bar_most_g))


@SIZED_PARTS.rule("bar_weight_none", REFUSE, "bar_weight", "The batch gives no bar of {wanted_said}: it cures to {cured_here_said}.",
    "Lower Bar weight, or check Weight unit.")  # fmt: skip
def bars_too_heavy(bar_wanted_g: Number, bars_here: Number, mould_at: Number) -> Truth:
    return all_of(same(mould_at, 0), bar_wanted_g > 0, same(bars_here, 0))


@SIZED.rule("mould_overfull", REFUSE, "mould", "The batter is {fill:%1} of what {mould} holds to its fill line.",
    "Fill {moulds_needed:0} of it, or make less.")  # fmt: skip
def mould_overfull(fill: Number, pot_oils_g: Number, fullest: Number) -> Truth:
    return all_of(pot_oils_g > 0, opposite(exceeds(fullest, fill)))


DANGERS = RuleGroup("batches", when="ready")
DANGER_PARTS = RuleGroup("batches", when="in_pot")
_LIKELY = "GUM 6.3: about 95 %, errors independent"
_WORST = "worst corner of the ranges, see Sources"
_HEAVY = (
    "The chance that this batch is lye-heavy is {heavy_odds}: superfat is likely to be as low as {likely_low_said:%1}."
)
_AT_WORST = "At worst the superfat is {superfat_low_said:%1}: lye-heavy. The chance of lye left over is {heavy_odds}."
_HEAT = "heat table and boiling table, see Sources"
_SCALE = "The scale is why: weigh on a finer one, or make a larger batch."
_RANGES = "The SAP or purity ranges are why: narrow them with the suppliers' certificates."


@DANGERS.rule("superfat_likely_negative", DANGER, "recipe", _HEAVY, _SCALE, _LIKELY, channel="superfat_doubt")
def likely_negative_by_scale(likely_low: Number, likely_fine: Number) -> Truth:
    return all_of(exceeds(0, likely_low), opposite(exceeds(0, likely_fine)))


@DANGERS.rule("superfat_likely_negative", DANGER, "recipe", _HEAVY, "Set Superfat to {superfat_sure:%1} or more.", _LIKELY,
    channel="superfat_doubt")  # fmt: skip
def likely_negative(likely_low: Number, superfat_sure: Number, superfat_advice_most: Number) -> Truth:
    return all_of(exceeds(0, likely_low), opposite(exceeds(superfat_sure, superfat_advice_most)))


@DANGERS.rule("superfat_likely_negative", DANGER, "recipe", _HEAVY, _RANGES, _LIKELY, channel="superfat_doubt")
def likely_negative_by_ranges(likely_low: Number) -> Truth:
    return exceeds(0, likely_low)


@DANGERS.rule("superfat_worst_negative", NOTE, "recipe", _AT_WORST, _SCALE, _WORST, channel="superfat_doubt")
def worst_negative_by_scale(superfat_low: Number, superfat_fine: Number) -> Truth:
    return all_of(exceeds(0, superfat_low), opposite(exceeds(0, superfat_fine)))


@DANGERS.rule("superfat_worst_negative", NOTE, "recipe", _AT_WORST, "With a superfat of {superfat_safe:%1} it never is.",
    _WORST, channel="superfat_doubt")  # fmt: skip
def worst_negative(superfat_low: Number, superfat_safe: Number, superfat_advice_most: Number) -> Truth:
    return all_of(exceeds(0, superfat_low), opposite(exceeds(superfat_safe, superfat_advice_most)))


@DANGERS.rule("superfat_worst_negative", NOTE, "recipe", _AT_WORST, _RANGES, _WORST, channel="superfat_doubt")
def worst_negative_by_ranges(superfat_low: Number) -> Truth:
    return exceeds(0, superfat_low)


@DANGERS.rule("lye_boils", DANGER, "recipe",
    "Even from cold liquid the lye can boil, at about {boils_said}, and throw caustic drops.",
    "Take half of the liquid as ice, add the alkali in small portions, and let it cool between them; or use more liquid.",
    _HEAT, channel="heat_doubt")  # fmt: skip
def lye_boils(hottest_cold: Number, boils_at: Number) -> Truth:
    """Whether lye from cold liquid may boil: the upper bound is capped there. [°C] [°C] -> [-]."""
    return opposite(exceeds(boils_at, hottest_cold))


@DANGERS.rule("lye_boils", DANGER, "recipe",
    "With liquid at room temperature the lye is likely to boil, at about {boils_said}, and throw caustic drops.",
    "Use liquid from the fridge, and ice for half of it; add the alkali in small portions, and let it cool between them.",
    _HEAT, channel="heat_doubt")  # fmt: skip
def lye_likely_boils(hottest_likely: Number, boils_at: Number) -> Truth:
    """Whether lye from liquid at room temperature boils though an open jug loses heat. [°C] [°C] -> [-]."""
    return opposite(exceeds(boils_at, hottest_likely))


@DANGERS.rule("lye_may_boil", LOOK, "recipe",
    "With liquid at room temperature the lye gets to about {likely_said} in an open jug; if it lost no heat it would boil, at {boils_said}.",
    "Use liquid from the fridge or ice, and add the alkali in small portions.", _HEAT, channel="heat_doubt")  # fmt: skip
def lye_may_boil(hottest: Number, boils_at: Number) -> Truth:
    return opposite(exceeds(boils_at, hottest))


@DANGERS.rule("lye_hot", LOOK, "recipe",
    "With liquid at room temperature the lye gets to about {likely_said} in an open jug, {hottest_said} at most.",
    "Use liquid from the fridge, or ice for part of it, or add the alkali in two steps and let it cool between them.", _HEAT,
    channel="heat_doubt")  # fmt: skip
def lye_hot(hottest_likely: Number, lye_hot_from: Number) -> Truth:
    return exceeds(hottest_likely, lye_hot_from)


@DANGERS.rule("line_lost", LOOK, "recipe", "{lost_name} weighs less than its scale shows.",
    "Weigh it on a finer scale (Scale division on Ingredients), or make a larger batch.", channel="line_doubt")  # fmt: skip
def line_lost(lost_at: Number) -> Truth:
    return lost_at > 0


@DANGERS.rule("batch_huge", LOOK, "recipe", "The batch has {oils_said} of oils, more than one pot holds.",
    "Check Weight unit, Moulds filled and the mould's sizes.", channel="bar_doubt")  # fmt: skip
def batch_huge(oils_g: Number, oils_most: Number) -> Truth:
    return exceeds(oils_g, oils_most)


@DANGER_PARTS.rule("moulds_short", LOOK, "moulds_filled", "This batch fills {moulds_in_pot:0} of {mould}, which is more than you own.",
    "Fill fewer, or correct Owned on Moulds.", channel="mould_doubt")  # fmt: skip
def moulds_short(moulds_in_pot: Number, mould_at: Number, moulds_owned: Column) -> Truth:
    owned = pick(moulds_owned, mould_at, "")
    return all_of(given(owned), exceeds(moulds_in_pot, default_to(owned, moulds_in_pot)))


ENTRIES = RuleGroup("batches", channel="entry")
BATCHES = RuleGroup("batches", when="ready")
PARTS = RuleGroup("batches", when="in_pot")
_PRACTICE = "common practice, no source"
_SAYS_DONE = "Batch {batch_name} is {state}: nothing of it is weighed out any more."
_DO_DONE = "Run scaler market on this file again: it plans the rest anew."


@ENTRIES.rule("got_of_planned", REFUSE, "bars_got", "Bars got counts only for a batch that is made.",
    "Fill State with made, or clear Bars got.")  # fmt: skip
def got_of_planned(bars_got: Number, state: Text) -> Truth:
    return all_of(given(bars_got), opposite(any_of(same(state, MADE), same(state, FAILED))))


@ENTRIES.rule("got_of_planned", REFUSE, "done_on", "Made on counts only for a batch that is made.",
    "Fill State with made, or clear Made on.")  # fmt: skip
def made_of_planned(done_on: Number, state: Text) -> Truth:
    return all_of(given(done_on), opposite(any_of(same(state, MADE), same(state, FAILED))))


@ENTRIES.rule("batch_done", REFUSE, "state_typed", _SAYS_DONE, _DO_DONE)
def batch_failed(state: Text) -> Truth:
    return same(state, FAILED)


@BATCHES.rule("batch_done", REFUSE, "state_typed", _SAYS_DONE, _DO_DONE)
def batch_made(state: Text) -> Truth:
    return same(state, MADE)


@ENTRIES.rule("name_twice", REFUSE, "batch", "There is more than one batch {batch_name}.", "Rename one of them.")
def batch_twice(batch_name: Text, batches_batch_name: Column, pot_key: Text, batches_pot_key: Column) -> Truth:
    return count_where(batches_batch_name, batch_name) > count_where(batches_pot_key, pot_key)


@BATCHES.rule("batch_tiny", REFUSE, "mould",
    "The batch has {oils_said} of oils and {alkali_said} of alkali: less than the scale can weigh.",
    "Check the mould's sizes and Unit, or use a finer scale.")  # fmt: skip
def batch_tiny(
    place: Number, alkali_g: Number, first_g: Number, first_weigh_g: Number, alkali_weigh_g: Number,
    batch_lines_part_key: Column, batch_lines_koh_least: Column,
) -> Truth:  # fmt: skip
    first = all_of(first_g > 0, same(first_weigh_g, 0))
    second = all_of(exceeds(alkali_g, first_g), same(alkali_weigh_g, first_weigh_g))
    oils = same(total_where(batch_lines_part_key, tag(place, OIL), batch_lines_koh_least), 0)
    return any_of(first, second, oils)


@BATCHES.rule("scale_coarse", LOOK, "recipe", "{first_name} ({first_said}) is fewer than 100 divisions of its scale.",
    "Make a larger batch, or weigh the alkali on a finer scale (Scale division on Ingredients).", _PRACTICE,
    channel="scale_doubt")  # fmt: skip
def scale_coarse(first_g: Number, first_division_g: Number, coarse_below: Number) -> Truth:
    return all_of(first_g > 0, exceeds(coarse_below, first_g / first_division_g))


@BATCHES.rule("scale_coarse", LOOK, "recipe", "{second_name} ({second_said}) is fewer than 100 divisions of its scale.",
    "Make a larger batch, or weigh the alkali on a finer scale (Scale division on Ingredients).", _PRACTICE,
    channel="second_doubt")  # fmt: skip
def second_scale_coarse(second_g: Number, second_division_g: Number, coarse_below: Number) -> Truth:
    return all_of(second_g > 0, exceeds(coarse_below, second_g / second_division_g))


@BATCHES.rule("opened_future", LOOK, "recipe", "An alkali was opened after the day it is used.",
    "Correct Opened on Ingredients.", channel="age_doubt")  # fmt: skip
def opened_future(recipe_at: Number, ages_to: Number, alkalis_recipe_at: Column, alkalis_opened_day: Column) -> Truth:
    return largest_where(alkalis_recipe_at, recipe_at, alkalis_opened_day) > ages_to


@BATCHES.rule("alkali_old", LOOK, "recipe",
    "The alkali has been open for more than 12 months: it may have drawn damp and be weaker than its label.", "Buy fresh.",
    _PRACTICE, channel="age_doubt")  # fmt: skip
def alkali_old(
    recipe_at: Number, ages_to: Number, old_after: Number, days_per_month: Number, alkalis_opened_day: Column,
    two: Number,
) -> Truth:  # fmt: skip
    latest = ages_to - old_after * days_per_month
    opened = [at(alkalis_opened_day, place) for place in (recipe_at * two - 1, recipe_at * two)]
    return any_of(*(all_of(day > 0, day < latest) for day in opened))


@BATCHES.rule("pot_small", REFUSE, "mould", "{batter_said} of batter is more than the pot holds.",
    "Make less at a time, or use a larger pot.", _PRACTICE)  # fmt: skip
def pot_small(batter_ml: Number, pot_size: Number) -> Truth:
    return all_of(given(pot_size), exceeds(batter_ml, default_to(pot_size, 0)))


@BATCHES.rule("jug_small", REFUSE, "mould", "{lye_said} of lye is more than the jug holds.",
    "Make less at a time, or use a larger jug.", _PRACTICE)  # fmt: skip
def jug_small(jug_ml: Number, jug_size: Number) -> Truth:
    return all_of(given(jug_size), exceeds(jug_ml, default_to(jug_size, 0)))


@BATCHES.rule("price_impossible", REFUSE, "recipe", "Margin and card fee leave nothing of the price for the cost.",
    "Lower Target margin % on Costs.", scope=MONEY)  # fmt: skip
def price_impossible(price_bracket: Number) -> Truth:
    return opposite(exceeds(price_bracket, 0))


@BATCHES.rule("made_past", LOOK, "make_date", "The make date of this batch has passed.",
    "Fill State if it is made or failed, else correct Make date; for a market run set First make day on Costs, or move the market day.",
    channel="day_doubt")  # fmt: skip
def made_past(made_day: Number, worked_out_on: Number) -> Truth:
    return all_of(given(made_day), exceeds(worked_out_on, default_to(made_day, worked_out_on)))


@PARTS.rule("bar_odd", LOOK, "mould", "A bar weighs {fresh_said}.", "Check the mould's sizes, Unit and Bar cut.",
    channel="bar_doubt")  # fmt: skip
def bar_odd(bar_fresh_g: Number, bar_heaviest: Number, bar_lightest: Number) -> Truth:
    return all_of(bar_fresh_g > 0, any_of(exceeds(bar_fresh_g, bar_heaviest), exceeds(bar_lightest, bar_fresh_g)))


@BATCHES.rule("pot_tight", LOOK, "mould", "{batter_said} of batter leaves little headspace in the pot.",
    "Use a pot of {pot_said} or more.", _PRACTICE, channel="pot_doubt")  # fmt: skip
def pot_tight(pot_vessel_ml: Number, pot_size: Number) -> Truth:
    return all_of(given(pot_size), exceeds(pot_vessel_ml, default_to(pot_size, 0)))


@BATCHES.rule("jug_tight", LOOK, "mould", "{lye_said} of lye leaves little headspace in the jug.",
    "Use a jug of {jug_said} or more: lye heats, steams and may foam.", _PRACTICE, channel="jug_doubt")  # fmt: skip
def jug_tight(jug_vessel_ml: Number, jug_size: Number) -> Truth:
    return all_of(given(jug_size), exceeds(jug_vessel_ml, default_to(jug_size, 0)))


RULES = (
    *SIZES.rules, *SIZED.rules, *SIZED_PARTS.rules, *DANGERS.rules, *DANGER_PARTS.rules, *ENTRIES.rules, *BATCHES.rules,
    *PARTS.rules,
)  # fmt: skip
