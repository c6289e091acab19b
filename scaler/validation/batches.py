"""Batches: what must not be made, and what to look at before it is."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, default_to, exceeds, given, opposite, same
from scaler.formula.searching import pick, tag
from scaler.formula.sums import count_where, largest_where, total_where
from scaler.model.records import FAILED, MADE, OIL
from scaler.validation.rule import LOOK, MONEY, REFUSE, RuleGroup

ENTRIES = RuleGroup("batches", channel="entry")
BATCHES = RuleGroup("batches", when="ready")
PARTS = RuleGroup("batches", when="in_pot")
_PRACTICE = "common practice, no source"


@ENTRIES.rule("got_of_planned", REFUSE, "bars_got", "Bars got counts only for a batch that is made.",
    "Fill State with made, or clear Bars got.")  # fmt: skip
def got_of_planned(bars_got: Number, state: Text) -> Truth:
    return all_of(given(bars_got), opposite(any_of(same(state, MADE), same(state, FAILED))))


@ENTRIES.rule("got_of_planned", REFUSE, "done_on", "Made on counts only for a batch that is made.",
    "Fill State with made, or clear Made on.")  # fmt: skip
def made_of_planned(done_on: Number, state: Text) -> Truth:
    return all_of(given(done_on), opposite(any_of(same(state, MADE), same(state, FAILED))))


@ENTRIES.rule("batch_done", REFUSE, "state_typed", "Batch {batch_name} is {state}: nothing of it is weighed out any more.",
    "Run scaler market on this file again: it plans the rest anew.")  # fmt: skip
def batch_done(state: Text) -> Truth:
    return any_of(same(state, MADE), same(state, FAILED))


@ENTRIES.rule("name_twice", REFUSE, "batch", "There is more than one batch {batch_name}.", "Rename one of them.")
def batch_twice(batch_name: Text, batches_batch_name: Column, pot_key: Text, batches_pot_key: Column) -> Truth:
    return count_where(batches_batch_name, batch_name) > count_where(batches_pot_key, pot_key)


@BATCHES.rule("batch_tiny", REFUSE, "mould",
    "The batch has {oils_g:1} g of oils and {alkali_g:2} g of alkali: less than the scale can weigh.",
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
    opened = [pick(alkalis_opened_day, recipe_at * two - order) for order in (1, 0)]
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
    "Correct Make date; for a market run set First make day on Costs, or move the market day.", channel="day_doubt")  # fmt: skip
def made_past(make_date: Number, worked_out_on: Number) -> Truth:
    return all_of(given(make_date), exceeds(worked_out_on, default_to(make_date, worked_out_on)))


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


RULES = (*ENTRIES.rules, *BATCHES.rules, *PARTS.rules)
