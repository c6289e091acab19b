"""Batches: what must not be made, and what to look at before it is."""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    Text,
    Truth,
    all_of,
    any_of,
    count_where,
    default_to,
    exceeds,
    given,
    opposite,
    same,
    total_where,
)
from scaler.validation.moulds import broken
from scaler.validation.rule import LOOK, MONEY, NOTE, REFUSE, RuleGroup

ENTRIES = RuleGroup("batches")
BATCHES = RuleGroup("batches", when="ready")
_PRACTICE = "common practice, no source"


@ENTRIES.rule("number_broken", REFUSE, "moulds_filled", "A batch fills a part of a mould.", "Round Moulds filled, or set Fill % on Moulds.", channel="entry")
def moulds_broken(moulds_filled: Number) -> Truth:
    """Whether Moulds filled is no whole number. [-] -> [-]."""
    return broken(moulds_filled)


@ENTRIES.rule("name_twice", REFUSE, "batch", "There is more than one batch {batch_name}.", "Rename one of them.", channel="entry")
def batch_twice(batch_name: Text, batches_batch_name: Column) -> Truth:
    """Whether another batch has the name too. -> [-]."""
    return count_where(batches_batch_name, batch_name) > 1


@BATCHES.rule(
    "batch_tiny", REFUSE, "mould", "The batch has {oils_g:1} g of oils and {alkali_g:2} g of alkali: less than the scale can weigh.",
    "Check the mould's sizes and Unit, or use a finer scale.",
)  # fmt: skip
def batch_tiny(
    place: Number, volume_ml: Number, first_weigh_g: Number, first_g: Number, second_weigh_g: Number, second_g: Number,
    slots_batch_at: Column, slots_oil_need_least: Column,
) -> Truth:  # fmt: skip
    """Whether an alkali, or all the oils, are less than one division of their scale. [mL] [g] x 5 -> [-]."""
    nothing = any_of(all_of(first_g > 0, same(first_weigh_g, 0)), all_of(second_g > 0, same(second_weigh_g, 0)))
    return all_of(volume_ml > 0, any_of(nothing, same(total_where(slots_batch_at, place, slots_oil_need_least), 0)))


@BATCHES.rule("pot_small", REFUSE, "mould", "{batter_ml:0} mL of batter is more than the pot holds.", "Fill fewer moulds, or use a larger pot.", _PRACTICE)
def pot_small(batter_ml: Number, pot_size: Number) -> Truth:
    """Whether the batter is more than the pot. [mL] [mL] -> [-]."""
    return all_of(given(pot_size), exceeds(batter_ml, default_to(pot_size, 0)))


@BATCHES.rule("jug_small", REFUSE, "mould", "{jug_ml:0} mL of lye is more than the jug holds.", "Fill fewer moulds, or use a larger jug.", _PRACTICE)
def jug_small(jug_ml: Number, jug_size: Number) -> Truth:
    """Whether the lye is more than the jug. [mL] [mL] -> [-]."""
    return all_of(given(jug_size), exceeds(jug_ml, default_to(jug_size, 0)))


@BATCHES.rule(
    "price_impossible", REFUSE, "recipe", "Margin and card fee leave nothing of the price for the cost.",
    "Lower Target margin % on Costs.", scope=MONEY,
)  # fmt: skip
def price_impossible(price_bracket: Number) -> Truth:
    """Whether margin and card fee leave nothing of the price for the cost. [-] -> [-]."""
    return opposite(exceeds(price_bracket, 0))


@BATCHES.rule(
    "superfat_worst_negative", NOTE, "recipe", "At worst the superfat is {superfat_low:%1}, which is lye-heavy.",
    "Set Superfat to {superfat_safe:%1} or more, or narrow the SAP and purity ranges with certificates.",
    "worst corner of the ranges, see Sources", channel="superfat_doubt",
)  # fmt: skip
def superfat_worst_negative(superfat_low: Number) -> Truth:
    """Whether the batch may be lye-heavy in the worst case. [-] -> [-]."""
    return exceeds(0, superfat_low)


@BATCHES.rule(
    "made_past", LOOK, "make_date", "The make date of this batch has passed.",
    "Correct Make date; for a market run set First make day on Costs, or move the market day.", channel="day_doubt",
)  # fmt: skip
def made_past(make_date: Number, worked_out_on: Number) -> Truth:
    """Whether the batch would have to be made before the day it is worked out. [d] [d] -> [-]."""
    return all_of(given(make_date), exceeds(worked_out_on, default_to(make_date, worked_out_on)))


@BATCHES.rule("bar_odd", LOOK, "mould", "A bar weighs {bar_fresh_g:0} g.", "Check the mould's sizes, Unit and Bar cut.", channel="bar_doubt")
def bar_odd(bar_fresh_g: Number, bar_heaviest: Number, bar_lightest: Number) -> Truth:
    """Whether a bar is heavier or lighter than bars are. [g] [g] [g] -> [-]; our own rule."""
    return any_of(exceeds(bar_fresh_g, bar_heaviest), exceeds(bar_lightest, bar_fresh_g))


@BATCHES.rule(
    "pot_tight", LOOK, "mould", "{batter_ml:0} mL of batter leaves little headspace in the pot.", "Use a pot of {pot_vessel_ml:0} mL or more.",
    _PRACTICE, channel="pot_doubt",
)  # fmt: skip
def pot_tight(pot_vessel_ml: Number, pot_size: Number) -> Truth:
    """Whether the pot leaves no headspace. [mL] [mL] -> [-]."""
    return all_of(given(pot_size), exceeds(pot_vessel_ml, default_to(pot_size, 0)))


@BATCHES.rule(
    "jug_tight", LOOK, "mould", "{jug_ml:0} mL of lye leaves little headspace in the jug.",
    "Use a jug of {jug_vessel_ml:0} mL or more: lye heats, steams and may foam.", _PRACTICE, channel="jug_doubt",
)  # fmt: skip
def jug_tight(jug_vessel_ml: Number, jug_size: Number) -> Truth:
    """Whether the jug leaves no headspace. [mL] [mL] -> [-]."""
    return all_of(given(jug_size), exceeds(jug_vessel_ml, default_to(jug_size, 0)))


RULES = (*ENTRIES.rules, *BATCHES.rules)
