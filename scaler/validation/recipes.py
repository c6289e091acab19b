"""Recipe lines and recipes: what does not go together, lye that cannot be or is asked about, and what makes trouble in the bar."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, opposite, round_up, same
from scaler.formula.searching import contains, pick
from scaler.formula.sums import count_where
from scaler.model.records import ADDITIVE, ALKALI, BLEND, COLOUR, FRAGRANCE, LIQUID, OIL, PACKAGING
from scaler.rules.watchwords import DRINK, MILK, SALT, SPICE, SUGAR
from scaler.validation.rule import LOOK, NOTE, REFUSE, RuleGroup

DOUBTED_LINES = RuleGroup("lines", when="asked_whole")
TYPED_LINES = RuleGroup("lines", when="asked")
DOUBTS = RuleGroup("recipes")
DOUBTS_WHOLE = RuleGroup("recipes", when="whole")
_PRACTICE = "common practice, no source"


@DOUBTED_LINES.rule("drink_in_lye", LOOK, "ingredient",
    "{ingredient} goes into the lye: beer, wine and cider foam over, and alcohol boils off at once.",
    "Boil it, let it go flat, and chill it; add the alkali a little at a time.", _PRACTICE)  # fmt: skip
def drink_in_lye(line_watch: Text, beside_lye: Number) -> Truth:
    return all_of(same(line_watch, DRINK), beside_lye > 0)


@DOUBTED_LINES.rule("milk_in_lye", LOOK, "ingredient",
    "{ingredient} goes into the lye, which scorches milk; its sugar makes the lye hotter.",
    "Freeze it to slush and add the alkali a little at a time, or set In lye to no.", _PRACTICE)  # fmt: skip
def milk_in_lye(line_watch: Text, beside_lye: Number) -> Truth:
    return all_of(same(line_watch, MILK), beside_lye > 0)


@DOUBTED_LINES.rule("sugar_in_lye", LOOK, "ingredient", "{ingredient} goes into the lye: sugar makes lye boil up.",
    "Dissolve it in the liquid before any alkali and keep that cold, or add it at trace.", _PRACTICE)  # fmt: skip
def sugar_in_lye(line_watch: Text, beside_lye: Number) -> Truth:
    return all_of(same(line_watch, SUGAR), beside_lye > 0)


@DOUBTED_LINES.rule("stage_after_lye", LOOK, "stage",
    "{ingredient} goes in at stage {stage}, and is counted into the lye, since In lye is blank.",
    "Set In lye to no if it is held back, else to yes.", _PRACTICE)  # fmt: skip
def stage_after_lye(kind: Text, in_lye: Text, stage_in_use: Text) -> Truth:
    beside = any_of(contains(stage_in_use, "lye"), contains(stage_in_use, "liquid"))
    return all_of(same(kind, LIQUID), blank(in_lye), opposite(beside))


@DOUBTED_LINES.rule("spice_oils", LOOK, "ingredient",
    "The spice oils of {recipe} are {watch_part:%1} of its oils: they make batter set at once and irritate skin.",
    "Use one of them, 1 % or less, and never more than its Limit.", _PRACTICE)  # fmt: skip
def spice_oils(
    kind: Text, line_watch: Text, watch_key: Text, watch_part: Number, lines_watch_key: Column, spice_most: Number
) -> Truth:
    many = any_of(exceeds(watch_part, spice_most), count_where(lines_watch_key, watch_key) > 1)
    return all_of(same(kind, FRAGRANCE), same(line_watch, SPICE), many)


@DOUBTED_LINES.rule("dose_high", LOOK, "ingredient", "{ingredient} is {dosed_part:%1} of the oils; 3 to 6 % of a fragrance is usual.",
    "Is a digit or the point wrong? Never use more than its Limit.", _PRACTICE)  # fmt: skip
def dose_high(kind: Text, dosed_part: Number, fragrance_most: Number) -> Truth:
    return all_of(same(kind, FRAGRANCE), exceeds(dosed_part, fragrance_most))


@DOUBTED_LINES.rule("bar_brittle", LOOK, "ingredient",
    "{recipe} has {watch_part:%0} of salt on its oils: the bar sets fast and turns brittle.",
    "Use single cavities, or cut it within hours, while it is warm.", _PRACTICE)  # fmt: skip
def bar_brittle(kind: Text, line_watch: Text, watch_part: Number, salt_most: Number) -> Truth:
    return all_of(same(kind, ADDITIVE), same(line_watch, SALT), exceeds(watch_part, salt_most))


@DOUBTED_LINES.rule("sugar_heats", NOTE, "ingredient", "{ingredient} heats the batter.",
    "Pour cool and do not wrap the mould, or the log may crack.", _PRACTICE)  # fmt: skip
def sugar_heats(kind: Text, line_watch: Text) -> Truth:
    return all_of(same(line_watch, SUGAR), any_of(same(kind, ADDITIVE), same(kind, LIQUID)))


@TYPED_LINES.rule("unit_unused", NOTE, "unit", "{ingredient} is a share of the recipe, so its Unit is not used.",
    "Clear Unit, or write an Amount instead of Share %.", channel="number_doubt")  # fmt: skip
def unit_unused(share: Number, amount: Number, unit: Text) -> Truth:
    return all_of(given(share), blank(amount), given(unit))


@DOUBTS.rule("cure_too_short", REFUSE, "cure_days",
    "Cure days of {recipe}: with {cure_days} its bars would be ready while still in the mould.",
    "Fill Cure days with 28 or more; raw soap burns skin.", _PRACTICE, channel="entry")  # fmt: skip
def cure_too_short(cure_days: Number, cure_days_usual: Number, unmould_after: Number, days_per_hour: Number) -> Truth:
    held = default_to(cure_days, cure_days_usual)
    return any_of(held <= 0, exceeds(round_up(unmould_after * days_per_hour), held))


@DOUBTS.rule("cure_short", LOOK, "cure_days", "{recipe} has only {cure_days} in Cure days.",
    "Give it 28 or more, and test a bar before it is used or sold.", _PRACTICE, channel="cure_doubt")  # fmt: skip
def cure_short(cure_days: Number, cure_days_least: Number) -> Truth:
    return all_of(given(cure_days), exceeds(cure_days_least, default_to(cure_days, 0)))


@DOUBTS.rule("work_free", LOOK, "labour_minutes", "{recipe} has no Labour minutes: its work costs nothing.",
    "Fill Labour minutes, 0 if nobody is paid for it.", channel="work_doubt")  # fmt: skip
def work_free(
    labour_minutes: Number, labour_minutes_per_bar: Number, cut_minutes: Number, wrap_minutes_per_bar: Number,
    place: Number, labour_rate: Number, batches_recipe_at: Column,
) -> Truth:  # fmt: skip
    minutes = (labour_minutes, labour_minutes_per_bar, cut_minutes, wrap_minutes_per_bar)
    return all_of(labour_rate > 0, *map(blank, minutes), count_where(batches_recipe_at, place) > 0)


@DOUBTS_WHOLE.rule("koh_alone", LOOK, "alkali", "{recipe} has KOH alone, which makes a soft paste and no bar to cut.",
    "Name a NaOH as Alkali unless you mean it.", _PRACTICE, channel="koh_doubt")  # fmt: skip
def koh_alone(naoh_part: Number) -> Truth:
    return same(naoh_part, 0)


LINES = RuleGroup("lines", when="asked")
PARTS = RuleGroup("lines", when="asked_whole")
ENTRIES = RuleGroup("recipes", channel="entry")
RECIPES = RuleGroup("recipes", when="whole")


# --- recipe lines ---


@LINES.rule("amount_twice", REFUSE, "amount", "{ingredient} has both Share and Amount.", "Clear one of them.")
def amount_twice(share: Number, amount: Number) -> Truth:
    return all_of(given(share), given(amount))


@LINES.rule("amount_missing", REFUSE, "share", "{ingredient} has neither Share nor Amount.",
    "Fill Share %, or Amount and Unit.")  # fmt: skip
def amount_missing(share: Number, amount: Number) -> Truth:
    return all_of(blank(share), blank(amount))


@LINES.rule("alkali_on_line", REFUSE, "ingredient", "{ingredient} is an alkali; scaler works out its weight.",
    "Delete the row, and name the alkali in Alkali on Recipes.")  # fmt: skip
def alkali_on_line(kind: Text) -> Truth:
    return same(kind, ALKALI)


@LINES.rule("packaging_not_counted", REFUSE, "unit", "{ingredient} is packaging and must be counted.",
    "Type an Amount in each/bar or each/batch.")  # fmt: skip
def packaging_not_counted(kind: Text, amount: Number, counted: Number) -> Truth:
    return all_of(same(kind, PACKAGING), opposite(all_of(given(amount), counted > 0)))


@LINES.rule("unit_missing", REFUSE, "unit", "The Amount of {ingredient} has no unit.", "Fill Unit.")
def unit_missing(amount: Number, unit: Text) -> Truth:
    return all_of(given(amount), blank(unit))


@LINES.rule("unit_wrong", REFUSE, "unit", "{unit} does not suit {ingredient}.",
    "Type a weight, a volume or, unless it is an oil, a unit per weight of oils such as g/kg; % of liquid is for additives, "
    "fragrances and colours.")  # fmt: skip
def unit_wrong(kind: Text, unit: Text, unit_kind: Text, counted: Number, mix_other: Number) -> Truth:
    by_oils = all_of(same(unit_kind, "per weight of oils"), mix_other > 0)
    measured = all_of(opposite(same(kind, BLEND)), any_of(same(unit_kind, "volume"), by_oils))
    dosed = any_of(same(kind, ADDITIVE), same(kind, FRAGRANCE), same(kind, COLOUR))
    by_liquid = all_of(same(unit_kind, "share of liquid"), dosed)
    pieces = all_of(counted > 0, same(kind, PACKAGING))
    right = any_of(blank(unit), blank(kind), same(unit_kind, "weight"), measured, by_liquid, pieces)
    return opposite(right)


@LINES.rule("no_own_size", REFUSE, "unit", "{ingredient} has a fixed amount in a recipe whose oils are shares.",
    "Type Share %, or a unit per weight of oils such as g/kg or tsp/lb.")  # fmt: skip
def no_own_size(kind: Text, amount: Number, unit_kind: Text, recipe_at: Number, recipes_oil_shares: Column) -> Truth:
    fixed = any_of(same(unit_kind, "weight"), same(unit_kind, "volume"))
    return all_of(
        given(amount),
        fixed,
        opposite(any_of(same(kind, OIL), same(kind, BLEND))),
        pick(recipes_oil_shares, recipe_at) > 0,
    )


@LINES.rule("in_lye_wrong", REFUSE, "in_lye_typed", "{ingredient} is not a liquid, so it is not held back from the lye.",
    "Clear In lye, and say when it goes in under Stage.")  # fmt: skip
def in_lye_wrong(kind: Text, in_lye: Text) -> Truth:
    return all_of(given(kind), same(default_to(in_lye, "yes"), "no"), opposite(same(kind, LIQUID)))


@LINES.rule("held_back_in_lye", REFUSE, "stage", "In lye says to hold {ingredient} back, and its Stage is {stage}.",
    "Type a later Stage such as trace, or set In lye to yes.")  # fmt: skip
def held_back_in_lye(kind: Text, in_lye: Text, stage_in_use: Text) -> Truth:
    held_back = all_of(same(kind, LIQUID), same(default_to(in_lye, "yes"), "no"))
    return all_of(held_back, contains(stage_in_use, "lye"))


@LINES.rule("line_twice", REFUSE, "ingredient", "{ingredient} is in {recipe} twice at one stage.",
    "Add the two up in one row, or type a different Stage.")  # fmt: skip
def line_twice(line_key: Text, ingredient_at: Number, blend_at: Number, lines_line_key: Column) -> Truth:
    return all_of(ingredient_at + blend_at > 0, count_where(lines_line_key, line_key) > 1)


@PARTS.rule("over_limit", REFUSE, "share", "{ingredient} is {share_of_cured:%2} of the cured bar; its limit is {limit:%2}.",
    "Use less of it.", "the supplier's limit", channel="limit_fault")  # fmt: skip
def over_limit(limit: Number, share_of_cured: Number) -> Truth:
    return all_of(limit > 0, exceeds(share_of_cured, limit))


# --- recipes as they are typed ---


@ENTRIES.rule("liquid_twice", REFUSE, "lye_concentration", "{recipe} sets its liquid more than once.",
    "Keep one of Lye concentration, Liquid to alkali and Liquid of oils.")  # fmt: skip
def liquid_twice(liquid_columns: Number) -> Truth:
    return liquid_columns > 1


@ENTRIES.rule("percent_whole", REFUSE, "superfat", "{recipe} has a superfat of 100 %, which leaves no lye.",
    "3 to 8 % is usual.")  # fmt: skip
def superfat_whole(superfat: Number) -> Truth:
    return default_to(superfat, 0) >= 1


@ENTRIES.rule("lye_too_strong", REFUSE, "lye_concentration", "The lye of {recipe} would have no liquid.",
    "25 to 40 % is usual.")  # fmt: skip
def no_liquid(lye_concentration: Number) -> Truth:
    return default_to(lye_concentration, 0) >= 1


@ENTRIES.rule("percent_whole", REFUSE, "cure_loss", "Nothing of {recipe} would be left after the cure.",
    "Type the share of weight that dries off, or clear the cell.")  # fmt: skip
def cure_loss_whole(cure_loss: Number) -> Truth:
    return default_to(cure_loss, 0) >= 1


@ENTRIES.rule("koh_share_missing", REFUSE, "koh_share", "{recipe} has a Second alkali but no KOH share.", "Fill KOH share %.")  # fmt: skip
def koh_share_missing(second_alkali: Text, koh_share: Number) -> Truth:
    return all_of(given(second_alkali), blank(koh_share))


@ENTRIES.rule("second_missing", REFUSE, "second_alkali", "{recipe} has a KOH share but no Second alkali.",
    "Fill Second alkali, or clear KOH share %.")  # fmt: skip
def second_missing(second_alkali: Text, koh_share: Number) -> Truth:
    return all_of(default_to(koh_share, 0) > 0, blank(second_alkali))


@ENTRIES.rule("name_unknown", REFUSE, "alkali", "Ingredients has no alkali {alkali}.",
    "Correct Alkali, or add it to Ingredients as Kind alkali.")  # fmt: skip
def alkali_unknown(alkali: Text, own_alkali_at: Number, ingredients_kind: Column) -> Truth:
    return all_of(given(alkali), opposite(same(pick(ingredients_kind, own_alkali_at, ""), ALKALI)))


@ENTRIES.rule("alkali_unclear", REFUSE, "alkali", "{recipe} names no alkali, and Ingredients has not exactly one NaOH.",
    "Fill Alkali.")  # fmt: skip
def alkali_unclear(alkali: Text, own_alkali_at: Number, mixed_only: Number) -> Truth:
    return all_of(blank(alkali), same(own_alkali_at, 0), same(mixed_only, 0))


@ENTRIES.rule("name_unknown", REFUSE, "second_alkali", "Ingredients has no alkali {second_alkali}.",
    "Correct Second alkali, or add it to Ingredients as Kind alkali.")  # fmt: skip
def second_unknown(second_alkali: Text, second_alkali_at: Number, ingredients_kind: Column) -> Truth:
    return all_of(given(second_alkali), opposite(same(pick(ingredients_kind, second_alkali_at, ""), ALKALI)))


@ENTRIES.rule("bases_same", REFUSE, "second_alkali", "Both alkalis of {recipe} have the same base.",
    "Name one NaOH and one KOH, or clear Second alkali.")  # fmt: skip
def bases_same(own_alkali_at: Number, second_alkali_at: Number, ingredients_base: Column) -> Truth:
    first, second = (pick(ingredients_base, at, "") for at in (own_alkali_at, second_alkali_at))
    return all_of(own_alkali_at > 0, second_alkali_at > 0, same(first, second))


@ENTRIES.rule("oils_missing", REFUSE, "recipe", "{recipe} has no oil.",
    "Add its oils to Recipe lines. Melting a soap base and rebatching soap are not covered here.")  # fmt: skip
def oils_missing(oils_given: Number, parts_cause: Number, big: Number) -> Truth:
    return all_of(same(parts_cause, big), same(oils_given, 0))


def _not_whole(shares: Number, within: Number) -> Truth:
    return all_of(shares > 0, any_of(exceeds(shares - 1, within), exceeds(1 - shares, within)))


@ENTRIES.rule("amounts_mixed", REFUSE, "recipe", "{recipe} gives some oils as Share and some as Amount.",
    "Give all its oils the same way.")  # fmt: skip
def oils_mixed(oil_shares: Number, mix_total: Number, parts_cause: Number, big: Number) -> Truth:
    return all_of(same(parts_cause, big), oil_shares > 0, exceeds(mix_total, oil_shares))


@ENTRIES.rule("shares_off", REFUSE, "recipe", "The oils of {recipe} add up to {oil_shares:%2}.",
    "Correct their shares to 100 %.")  # fmt: skip
def oil_shares_off(oil_shares: Number, shares_within: Number, parts_cause: Number, big: Number) -> Truth:
    return all_of(same(parts_cause, big), _not_whole(oil_shares, shares_within))


# --- recipes with all their lines sound ---


@RECIPES.rule("amounts_mixed", REFUSE, "recipe", "{recipe} gives some liquids as Share and some as Amount.",
    "Give all its liquids the same way.")  # fmt: skip
def liquids_mixed(liquids_written: Number, liquid_shares: Number) -> Truth:
    return all_of(liquid_shares > 0, exceeds(liquids_written, liquid_shares))


@RECIPES.rule("shares_off", REFUSE, "recipe", "The liquids of {recipe} add up to {liquid_shares:%2}.",
    "Correct their shares on Recipe lines to 100 %, or add a line of water for the rest.")  # fmt: skip
def liquid_shares_off(liquid_shares: Number, shares_within: Number) -> Truth:
    return _not_whole(liquid_shares, shares_within)


@RECIPES.rule("liquid_missing", REFUSE, "lye_concentration", "Nothing says how much liquid {recipe} has.",
    "Fill one of Lye concentration, Liquid to alkali and Liquid of oils, or give its liquids as Amounts.")  # fmt: skip
def liquid_missing(liquid_columns: Number, liquids_written: Number, liquid_shares: Number) -> Truth:
    return all_of(same(liquid_columns, 0), any_of(liquids_written <= 0, liquid_shares > 0))


@RECIPES.rule("superfat_negative", REFUSE, "superfat", "Superfat is {superfat:%1}: lye stays in the bar and burns skin.",
    "Set 3 % or more.", _PRACTICE)  # fmt: skip
def superfat_negative(superfat: Number) -> Truth:
    return exceeds(0, superfat)


@RECIPES.rule("solution_alone", REFUSE, "liquid_set",
    "The alkali solution of {recipe} alone brings more water than the liquid asked for.",
    "This recipe can go no stronger than {strongest:%1} with this alkali.", "mass balance")  # fmt: skip
def solution_alone(liquid_part: Number) -> Truth:
    return exceeds(0, liquid_part)


@RECIPES.rule("lye_too_strong", REFUSE, "liquid_set",
    "The lye of {recipe} is {pot_strength:%1} alkali; about half dissolves at most.",
    "Put more liquid in the lye: a lower concentration, or less liquid held back.", "CRC Handbook, solubility of NaOH (memory)")  # fmt: skip
def lye_too_strong(
    pot_strength: Number, solution_strength: Number, lye_most: Number, solution_room_strength: Number
) -> Truth:
    return any_of(exceeds(pot_strength, lye_most), exceeds(solution_strength, solution_room_strength))


@RECIPES.rule("liquid_short", REFUSE, "liquid_set", "{recipe} has less liquid than alkali.", "Raise the liquid.", _PRACTICE)  # fmt: skip
def liquid_short(dry_part: Number, liquid_total_part: Number) -> Truth:
    return exceeds(dry_part, liquid_total_part)


@RECIPES.rule("superfat_high", LOOK, "superfat", "The superfat of {recipe} is {superfat:%1}; most bars have 3 to 8 %.",
    "Is a digit or the point wrong?", _PRACTICE, channel="superfat_doubt")  # fmt: skip
def superfat_high(superfat: Number, superfat_high_from: Number) -> Truth:
    return exceeds(superfat, superfat_high_from)


@RECIPES.rule("lye_strong", LOOK, "liquid_set",
    "The lye of {recipe} is {pot_strength:%1}: hot and thick, and the batter sets fast.", "Use more liquid unless you mean it.",
    _PRACTICE, channel="lye_doubt")  # fmt: skip
def lye_strong(pot_strength: Number, lye_strong_from: Number) -> Truth:
    return exceeds(pot_strength, lye_strong_from)


@RECIPES.rule("lye_weak", NOTE, "liquid_set",
    "The lye of {recipe} is only {pot_strength:%1}: bars stay soft for long and shrink.", "Use less liquid unless you mean it.",
    _PRACTICE, channel="lye_doubt")  # fmt: skip
def lye_weak(pot_strength: Number, lye_weak_below: Number) -> Truth:
    return exceeds(lye_weak_below, pot_strength)


@RECIPES.rule("density_guessed", LOOK, "recipe",
    "{guessed_share:%0} of the batter of {recipe} has no Density: 0.92 is taken for an oil, 1.00 else.",
    "Weigh 100 mL of each, solid fats molten, and fill Density on Ingredients; Sources says which.", channel="density_doubt")  # fmt: skip
def density_guessed_much(guessed_share: Number, guessed_most: Number) -> Truth:
    return exceeds(guessed_share, guessed_most)


@PARTS.rule("density_guessed", LOOK, "unit", "{ingredient} is measured by volume and has no Density.",
    "Weigh 100 mL of it, and fill Density on Ingredients.", channel="density_doubt")  # fmt: skip
def volume_guessed(
    ingredient_at: Number, unit_kind: Text, unit_at: Number, units_ratio_volume: Column,
    ingredients_density_guessed: Column,
) -> Truth:  # fmt: skip
    by_volume = any_of(same(unit_kind, "volume"), pick(units_ratio_volume, unit_at) > 0)
    return all_of(by_volume, pick(ingredients_density_guessed, ingredient_at) > 0)


RULES = (
    *DOUBTED_LINES.rules, *TYPED_LINES.rules, *DOUBTS.rules, *DOUBTS_WHOLE.rules, *LINES.rules, *PARTS.rules,
    *ENTRIES.rules, *RECIPES.rules,
)  # fmt: skip
