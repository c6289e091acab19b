"""Portions: parts of the batter with additives, fragrances and colours of their own, and what does not go together."""

from __future__ import annotations

from scaler.formula.cells import Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, opposite, same
from scaler.formula.searching import contains
from scaler.model.records import ADDITIVE, COLOUR, FRAGRANCE
from scaler.validation.rule import REFUSE, RuleGroup

LINES = RuleGroup("lines", when="asked")
PARTS = RuleGroup("lines", when="asked_whole")
RECIPES = RuleGroup("recipes", when="whole")


@LINES.rule("portion_kind", REFUSE, "portion",
    "{ingredient} is not an additive, fragrance or colour, so it cannot be for a portion.",
    "Clear Portion: oils, liquids and lye are those of the whole pot.")  # fmt: skip
def portion_kind(kind: Text, portion: Text) -> Truth:
    apart = any_of(same(kind, ADDITIVE), same(kind, FRAGRANCE), same(kind, COLOUR))
    return all_of(given(portion), opposite(apart))


@LINES.rule("portion_in_lye", REFUSE, "stage",
    "At stage {stage} the pot is still whole, so {ingredient} cannot be for a portion.",
    "Clear Portion, or type the stage at which the batter is parted, such as trace.")  # fmt: skip
def portion_in_lye(portion: Text, stage: Text) -> Truth:
    return all_of(given(portion), contains(default_to(stage, ""), "lye"))


@LINES.rule("portion_missing", REFUSE, "portion", "{ingredient} has a Portion share but no Portion.",
    "Name the portion, or clear Portion share %.")  # fmt: skip
def portion_missing(portion: Text, portion_share: Number) -> Truth:
    return all_of(blank(portion), given(portion_share))


@LINES.rule("portion_share_missing", REFUSE, "portion_share", "Nothing says how much of the batter portion {portion} is.",
    "Fill Portion share % on its first line.")  # fmt: skip
def portion_share_missing(portion: Text, portion_part: Number) -> Truth:
    return all_of(given(portion), portion_part <= 0)


@LINES.rule("portion_share_twice", REFUSE, "portion_share", "Portion {portion} has its share on more than one line.",
    "Keep Portion share % on its first line.")  # fmt: skip
def portion_share_twice(portion: Text, portion_share: Number, portion_part: Number) -> Truth:
    return all_of(given(portion), given(portion_share), exceeds(portion_part, default_to(portion_share, 0)))


@PARTS.rule("over_limit", REFUSE, "share",
    "{ingredient} is {share_in_portion:%2} of the cured portion that it is for; its limit is {limit:%2}.",
    "Use less of it, or for a larger portion.", "the supplier's limit", channel="limit_fault")  # fmt: skip
def over_limit_in_portion(limit: Number, share_in_portion: Number) -> Truth:
    return all_of(limit > 0, exceeds(share_in_portion, limit))


@RECIPES.rule("portions_over", REFUSE, "recipe", "The portions of {recipe} are {portion_shares:%2} of the batter.",
    "Correct Portion share % on Recipe lines to 100 % together, or less: the rest stays plain.")  # fmt: skip
def portions_over(portion_shares: Number, shares_within: Number) -> Truth:
    return exceeds(portion_shares - 1, shares_within)


RULES = (*LINES.rules, *PARTS.rules, *RECIPES.rules)
