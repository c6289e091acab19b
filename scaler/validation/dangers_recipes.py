"""Recipes whose things, shares or days make trouble in the lye, the batter or the bar."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, round_up, same
from scaler.formula.sums import count_where
from scaler.model.records import ADDITIVE, FRAGRANCE, LIQUID
from scaler.rules.watchwords import DRINK, MILK, SALT, SPICE, SUGAR
from scaler.validation.rule import LOOK, NOTE, REFUSE, RuleGroup

LINES = RuleGroup("lines", when="asked_whole")
TYPED_LINES = RuleGroup("lines", when="asked")
RECIPES = RuleGroup("recipes")
WHOLE = RuleGroup("recipes", when="whole")
_PRACTICE = "common practice, no source"


@LINES.rule("drink_in_lye", LOOK, "ingredient",
    "{ingredient} goes into the lye: beer, wine and cider foam over, and alcohol boils off at once.",
    "Boil it, let it go flat, and chill it; add the alkali a little at a time.", _PRACTICE)  # fmt: skip
def drink_in_lye(line_watch: Text, beside_lye: Number) -> Truth:
    return all_of(same(line_watch, DRINK), beside_lye > 0)


@LINES.rule("milk_in_lye", LOOK, "ingredient",
    "{ingredient} goes into the lye, which scorches milk; its sugar makes the lye hotter.",
    "Freeze it to slush and add the alkali a little at a time, or set In lye to no.", _PRACTICE)  # fmt: skip
def milk_in_lye(line_watch: Text, beside_lye: Number) -> Truth:
    return all_of(same(line_watch, MILK), beside_lye > 0)


@LINES.rule("sugar_in_lye", LOOK, "ingredient", "{ingredient} goes into the lye: sugar makes lye boil up.",
    "Dissolve it in the liquid before any alkali and keep that cold, or add it at trace.", _PRACTICE)  # fmt: skip
def sugar_in_lye(line_watch: Text, beside_lye: Number) -> Truth:
    return all_of(same(line_watch, SUGAR), beside_lye > 0)


@LINES.rule("spice_oils", LOOK, "ingredient",
    "The spice oils of {recipe} are {watch_part:%1} of its oils: they make batter set at once and irritate skin.",
    "Use one of them, 1 % or less, and never more than its Limit.", _PRACTICE)  # fmt: skip
def spice_oils(
    kind: Text, line_watch: Text, watch_key: Text, watch_part: Number, lines_watch_key: Column, spice_most: Number
) -> Truth:
    many = any_of(exceeds(watch_part, spice_most), count_where(lines_watch_key, watch_key) > 1)
    return all_of(same(kind, FRAGRANCE), same(line_watch, SPICE), many)


@LINES.rule("dose_high", LOOK, "ingredient", "{ingredient} is {dosed_part:%1} of the oils; 3 to 6 % of a fragrance is usual.",
    "Is a digit or the point wrong? Never use more than its Limit.", _PRACTICE)  # fmt: skip
def dose_high(kind: Text, dosed_part: Number, fragrance_most: Number) -> Truth:
    return all_of(same(kind, FRAGRANCE), exceeds(dosed_part, fragrance_most))


@LINES.rule("bar_brittle", LOOK, "ingredient",
    "{recipe} has {watch_part:%0} of salt on its oils: the bar sets fast and turns brittle.",
    "Use single cavities, or cut it within hours, while it is warm.", _PRACTICE)  # fmt: skip
def bar_brittle(kind: Text, line_watch: Text, watch_part: Number, salt_most: Number) -> Truth:
    return all_of(same(kind, ADDITIVE), same(line_watch, SALT), exceeds(watch_part, salt_most))


@LINES.rule("sugar_heats", NOTE, "ingredient", "{ingredient} heats the batter.",
    "Pour cool and do not wrap the mould, or the log may crack.", _PRACTICE)  # fmt: skip
def sugar_heats(kind: Text, line_watch: Text) -> Truth:
    return all_of(same(line_watch, SUGAR), any_of(same(kind, ADDITIVE), same(kind, LIQUID)))


@TYPED_LINES.rule("unit_unused", NOTE, "unit", "{ingredient} is a share of the recipe, so its Unit is not used.",
    "Clear Unit, or write an Amount instead of Share %.", channel="number_doubt")  # fmt: skip
def unit_unused(share: Number, amount: Number, unit: Text) -> Truth:
    return all_of(given(share), blank(amount), given(unit))


@RECIPES.rule("cure_too_short", REFUSE, "cure_days",
    "{recipe} has a cure of {cure_days} days: its bars would be ready while still in the mould.",
    "Fill Cure days with 28 or more; raw soap burns skin.", _PRACTICE, channel="entry")  # fmt: skip
def cure_too_short(cure_days: Number, cure_days_usual: Number, unmould_after: Number, days_per_hour: Number) -> Truth:
    held = default_to(cure_days, cure_days_usual)
    return any_of(held <= 0, exceeds(round_up(unmould_after * days_per_hour), held))


@RECIPES.rule("cure_short", LOOK, "cure_days", "{recipe} cures for {cure_days} days only.",
    "Give it 28 or more, and test a bar before it is used or sold.", _PRACTICE, channel="cure_doubt")  # fmt: skip
def cure_short(cure_days: Number, cure_days_least: Number) -> Truth:
    return all_of(given(cure_days), exceeds(cure_days_least, default_to(cure_days, 0)))


@RECIPES.rule("work_free", LOOK, "labour_minutes", "{recipe} has no Labour minutes: its work costs nothing.",
    "Fill Labour minutes, 0 if nobody is paid for it.", channel="work_doubt")  # fmt: skip
def work_free(
    labour_minutes: Number, labour_minutes_per_bar: Number, cut_minutes: Number, wrap_minutes_per_bar: Number,
    place: Number, labour_rate: Number, batches_recipe_at: Column,
) -> Truth:  # fmt: skip
    minutes = (labour_minutes, labour_minutes_per_bar, cut_minutes, wrap_minutes_per_bar)
    return all_of(labour_rate > 0, *map(blank, minutes), count_where(batches_recipe_at, place) > 0)


@WHOLE.rule("koh_alone", LOOK, "alkali", "{recipe} has KOH alone, which makes a soft paste and no bar to cut.",
    "Name a NaOH as Alkali unless you mean it.", _PRACTICE, channel="koh_doubt")  # fmt: skip
def koh_alone(naoh_part: Number) -> Truth:
    return same(naoh_part, 0)


RULES = (*LINES.rules, *TYPED_LINES.rules, *RECIPES.rules, *WHOLE.rules)
