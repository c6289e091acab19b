"""Batches that may be lye-heavy, with what would help; and what the mould or the scale cannot do."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Truth
from scaler.formula.helpers import all_of, default_to, exceeds, given, opposite
from scaler.formula.searching import pick
from scaler.validation.rule import DANGER, LOOK, NOTE, RuleGroup

BATCHES = RuleGroup("batches", when="ready")
PARTS = RuleGroup("batches", when="in_pot")
_LIKELY = "GUM 6.3: about 95 %, errors independent"
_WORST = "worst corner of the ranges, see Sources"
_HEAVY = "The chance that this batch is lye-heavy is {heavy_odds}: superfat is likely to be as low as {likely_low:%1}."
_AT_WORST = "At worst the superfat is {superfat_low:%1}: lye-heavy. The chance of lye left over is {heavy_odds}."
_HEAT = "heat table and boiling table, see Sources"
_SCALE = "The scale is why: weigh on a finer one, or make a larger batch."
_RANGES = "The SAP or purity ranges are why: narrow them with the suppliers' certificates."


@BATCHES.rule("superfat_likely_negative", DANGER, "recipe", _HEAVY, _SCALE, _LIKELY, channel="superfat_doubt")
def likely_negative_by_scale(likely_low: Number, likely_fine: Number) -> Truth:
    return all_of(exceeds(0, likely_low), opposite(exceeds(0, likely_fine)))


@BATCHES.rule("superfat_likely_negative", DANGER, "recipe", _HEAVY, "Set Superfat to {superfat_sure:%1} or more.", _LIKELY,
    channel="superfat_doubt")  # fmt: skip
def likely_negative(likely_low: Number, superfat_sure: Number, superfat_advice_most: Number) -> Truth:
    return all_of(exceeds(0, likely_low), opposite(exceeds(superfat_sure, superfat_advice_most)))


@BATCHES.rule("superfat_likely_negative", DANGER, "recipe", _HEAVY, _RANGES, _LIKELY, channel="superfat_doubt")
def likely_negative_by_ranges(likely_low: Number) -> Truth:
    return exceeds(0, likely_low)


@BATCHES.rule("superfat_worst_negative", NOTE, "recipe", _AT_WORST, _SCALE, _WORST, channel="superfat_doubt")
def worst_negative_by_scale(superfat_low: Number, superfat_fine: Number) -> Truth:
    return all_of(exceeds(0, superfat_low), opposite(exceeds(0, superfat_fine)))


@BATCHES.rule("superfat_worst_negative", NOTE, "recipe", _AT_WORST, "With a superfat of {superfat_safe:%1} it never is.",
    _WORST, channel="superfat_doubt")  # fmt: skip
def worst_negative(superfat_low: Number, superfat_safe: Number, superfat_advice_most: Number) -> Truth:
    return all_of(exceeds(0, superfat_low), opposite(exceeds(superfat_safe, superfat_advice_most)))


@BATCHES.rule("superfat_worst_negative", NOTE, "recipe", _AT_WORST, _RANGES, _WORST, channel="superfat_doubt")
def worst_negative_by_ranges(superfat_low: Number) -> Truth:
    return exceeds(0, superfat_low)


@BATCHES.rule("lye_boils", DANGER, "recipe",
    "Even from cold liquid the lye can boil, at about {boils_said}, and throw caustic drops.",
    "Take half of the liquid as ice, add the alkali in small portions, and let it cool between them; or use more liquid.",
    _HEAT, channel="heat_doubt")  # fmt: skip
def lye_boils(hottest_cold: Number, boils_at: Number) -> Truth:
    """Whether lye from cold liquid may boil: the upper bound is capped there. [°C] [°C] -> [-]."""
    return opposite(exceeds(boils_at, hottest_cold))


@BATCHES.rule("lye_may_boil", LOOK, "recipe", "With liquid at room temperature the lye can boil, at about {boils_said}.",
    "Use liquid from the fridge or ice, and add the alkali in small portions.", _HEAT, channel="heat_doubt")  # fmt: skip
def lye_may_boil(hottest: Number, boils_at: Number) -> Truth:
    return opposite(exceeds(boils_at, hottest))


@BATCHES.rule("lye_hot", LOOK, "recipe",
    "With liquid at room temperature the lye gets to about {likely_said} in an open jug, {hottest_said} at most.",
    "Use liquid from the fridge, or ice for part of it, or add the alkali in two steps and let it cool between them.", _HEAT,
    channel="heat_doubt")  # fmt: skip
def lye_hot(hottest_likely: Number, lye_hot_from: Number) -> Truth:
    return exceeds(hottest_likely, lye_hot_from)


@BATCHES.rule("line_lost", LOOK, "recipe", "{lost_name} weighs less than its scale shows.",
    "Weigh it on a finer scale (Scale division on Ingredients), or make a larger batch.", channel="line_doubt")  # fmt: skip
def line_lost(lost_at: Number) -> Truth:
    return lost_at > 0


@BATCHES.rule("batch_huge", LOOK, "recipe", "The batch has {oils_g:0} g of oils, more than one pot holds.",
    "Check Weight unit, Moulds filled and the mould's sizes.", channel="bar_doubt")  # fmt: skip
def batch_huge(oils_g: Number, oils_most: Number) -> Truth:
    return exceeds(oils_g, oils_most)


@PARTS.rule("moulds_short", LOOK, "moulds_filled", "This batch fills {filled_moulds:0} of {mould}, which is more than you own.",
    "Fill fewer, or correct Owned on Moulds.", channel="mould_doubt")  # fmt: skip
def moulds_short(filled_moulds: Number, mould_at: Number, moulds_owned: Column) -> Truth:
    owned = pick(moulds_owned, mould_at, "")
    return all_of(given(owned), exceeds(filled_moulds, default_to(owned, filled_moulds)))


RULES = (*BATCHES.rules, *PARTS.rules)
