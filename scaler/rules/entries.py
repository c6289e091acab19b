"""Whether the rows go together: what the reader refuses between the cells of a row, and between rows.

A finished workbook that was edited into something that the engine refuses says so on Checks.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce
from operator import add
from typing import Any

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
    match,
    pick,
    round_half_up,
    same,
    tag,
    when,
)
from scaler.formula.steps import Step, StepGroup, described
from scaler.model.records import ACID, ALKALI, LIQUID, OIL, PACKAGING
from scaler.model.shapes import SHAPES, Shape

INGREDIENTS = StepGroup("ingredients")
PRICES = StepGroup("prices")
MOULDS = StepGroup("moulds")
LINES = StepGroup("lines")
RECIPES = StepGroup("recipes")
BATCHES = StepGroup("batches")


def _not(condition: Truth) -> Truth:
    """Whether a condition does not hold."""
    return when(condition, 0, 1) > 0


def _neither(first: Truth, second: Truth) -> Truth:
    """Whether neither of two conditions holds."""
    return _not(any_of(first, second))


def _crossed(low: Number, high: Number) -> Truth:
    """Whether two filled cells stand in the wrong order."""
    return all_of(all_of(given(low), given(high)), exceeds(default_to(low, 0), default_to(high, 0)))


# --- ingredients ---


@INGREDIENTS.step("")
def range_crossed(
    sap: Number, sap_low: Number, sap_high: Number, purity_low_in_use: Number, purity_in_use: Number,
    purity_high_in_use: Number,
) -> Number:  # fmt: skip
    """1 when low, value and high are not in order. [mg KOH/g] x 3, [-] x 3 -> [-]."""
    taken = any_of(_crossed(sap_low, sap), any_of(_crossed(sap, sap_high), _crossed(sap_low, sap_high)))
    purity = any_of(exceeds(purity_low_in_use, purity_in_use), exceeds(purity_in_use, purity_high_in_use))
    return when(any_of(taken, purity), 1, 0)


@INGREDIENTS.step("")
def range_astray(
    kind: Text, known: Number, sap: Number, sap_low: Number, sap_high: Number, sap_in_use: Number,
    sap_low_in_use: Number, sap_high_in_use: Number,
) -> Number:  # fmt: skip
    """1 when a filled end of the range contradicts what a blank cell beside it takes. [mg KOH/g] x 6 -> [-]."""
    blank = _not(all_of(given(sap), all_of(given(sap_low), given(sap_high))))
    out = any_of(exceeds(sap_low_in_use, sap_in_use), exceeds(sap_in_use, sap_high_in_use))
    own = all_of(given(sap), _not(exceeds(sap_low_in_use, sap_high_in_use)))
    looked_up = all_of(known > 0, any_of(same(kind, OIL), same(kind, ACID)))
    return when(all_of(all_of(looked_up, blank), all_of(out, _not(own))), 1, 0)


@INGREDIENTS.step("")
def sap_far(
    kind: Text, sap: Number, sap_outside: Number, published_high: Number, sap_least: Number, oil_sap_most: Number,
    acid_sap_most: Number, sap_far_below: Number,
) -> Number:  # fmt: skip
    """1 when a SAP is none in mg KOH/g, or so far below its range that it may be one of NaOH. [mg KOH/g] x 5 -> [-]."""
    value = default_to(sap, 0)
    far = any_of(all_of(sap_outside > 0, exceeds(sap_far_below * published_high, value)), exceeds(sap_least, value))
    oil = all_of(same(kind, OIL), any_of(far, exceeds(value, oil_sap_most)))
    acid = all_of(same(kind, ACID), any_of(far, exceeds(value, acid_sap_most)))
    return when(all_of(value > 0, any_of(oil, acid)), 1, 0)


@INGREDIENTS.step("")
def too_sour(
    kind: Text, sap: Number, fat_in_use: Number, water: Number, water_in_use: Number, sourest_liquid: Number,
    sourest_dry: Number,
) -> Number:  # fmt: skip
    """1 when a liquid without fat is more sour than any drink. [mg KOH/g] [-] [-] [-] [mg KOH/g] x 2 -> [-]."""
    most = when(given(water), (1 - water_in_use) * sourest_dry, sourest_liquid)
    sour = all_of(same(fat_in_use, 0), exceeds(default_to(sap, 0), most))
    return when(all_of(same(kind, LIQUID), sour), 1, 0)


@INGREDIENTS.step("")
def over_whole(kind: Text, water_in_use: Number, water: Number, fat_in_use: Number) -> Number:
    """1 when Water and Fat are more than the whole; a blank Water counts as none here. [-] x 3 -> [-]."""
    both_given = all_of(given(water), exceeds(water_in_use + fat_in_use, 1))
    return when(all_of(both_given, _not(same(kind, ALKALI))), 1, 0)


@INGREDIENTS.step("text")
def division_kind(division_unit: Text, units_word: Column, units_kind: Column) -> Text:
    """What the Division unit measures. -> [-]; sheet Units."""
    return pick(units_kind, match(default_to(division_unit, ""), units_word), "")


@INGREDIENTS.step("text")
def stock_kind(stock_unit: Text, units_word: Column, units_kind: Column) -> Text:
    """What the Stock unit measures. -> [-]; sheet Units."""
    return pick(units_kind, match(default_to(stock_unit, ""), units_word), "")


@INGREDIENTS.step("")
def own_unit_off(
    kind: Text, division: Number, division_unit: Text, division_kind: Text, stock: Number, stock_unit: Text,
    stock_kind: Text,
) -> Number:  # fmt: skip
    """1 when Division unit or Stock unit is missing, unknown, or measures something else. -> [-]."""
    scale = all_of(any_of(given(division), given(division_unit)), _not(same(division_kind, "weight")))
    counted = all_of(same(kind, PACKAGING), same(stock_kind, "count"))
    weighed = all_of(_not(same(kind, PACKAGING)), any_of(same(stock_kind, "weight"), same(stock_kind, "volume")))
    shelf = all_of(any_of(given(stock), given(stock_unit)), _neither(counted, weighed))
    return when(any_of(scale, shelf), 1, 0)


@INGREDIENTS.step("")
def unpriced(
    place: Number, price_rows: Number, lines_ingredient_at: Column, recipes_first_at: Column, recipes_second_at: Column
) -> Number:
    """1 when something that a recipe uses has no price. -> [-]."""
    used = count_where(lines_ingredient_at, place) + count_where(recipes_first_at, place)
    return when(all_of(used + count_where(recipes_second_at, place) > 0, same(price_rows, 0)), 1, 0)


@INGREDIENTS.step("")
def named_twice(ingredient: Text, ingredients_ingredient: Column) -> Number:
    """1 when another ingredient has the name too. -> [-]."""
    return when(all_of(given(ingredient), count_where(ingredients_ingredient, ingredient) > 1), 1, 0)


# --- prices ---


@PRICES.step("text")
def pack_kind(unit_at: Number, units_kind: Column) -> Text:
    """What the Pack unit measures. -> [-]; sheet Units."""
    return pick(units_kind, unit_at, "")


@PRICES.step("")
def pack_off(ingredient_at: Number, pack_kind: Text, ingredients_kind: Column) -> Number:
    """1 when packaging is not counted, or something else is. -> [-]."""
    packaging = same(pick(ingredients_kind, ingredient_at, ""), PACKAGING)
    weighed = any_of(same(pack_kind, "weight"), same(pack_kind, "volume"))
    right = any_of(all_of(packaging, same(pack_kind, "count")), all_of(_not(packaging), weighed))
    return when(right, 0, 1)


# --- moulds ---


def _missing(shape: Shape) -> Callable[..., Any]:
    """Return the rule that counts the blank cells of a shape's sizes, 0 for moulds of any other shape."""

    def missing(**values: Any) -> Any:
        this = values.pop("shape")
        return when(same(this, shape.word), reduce(add, (when(given(cell), 0, 1) for cell in values.values())), 0)

    says = f"Sizes that a {shape.word} needs and that are blank. -> [-]."
    return described(missing, ("shape", *shape.needs), says)


MOULDS.steps += [Step("moulds", f"{shape.name}_lacks", "", _missing(shape)) for shape in SHAPES]


def _size_off(**values: Any) -> Any:
    liner, shape = values.pop("liner"), values.pop("shape")
    whole = any_of(same(shape, "measured"), same(shape, "cavities"))
    return reduce(add, values.values()) + when(all_of(given(liner), whole), 1, 0)


MOULDS.steps.append(
    Step("moulds", "size_off", "", described(
        _size_off, ("liner", "shape", *(f"{shape.name}_lacks" for shape in SHAPES)),
        "More than 0 when a size is missing, or a Liner is filled that is not used. -> [-].",
    ))
)  # fmt: skip


@MOULDS.step("text")
def length_kind(unit: Text, units_word: Column, units_kind: Column) -> Text:
    """What the Unit measures. -> [-]; sheet Units."""
    return pick(units_kind, match(default_to(unit, ""), units_word), "")


@MOULDS.step("text")
def capacity_kind(capacity_unit: Text, units_word: Column, units_kind: Column) -> Text:
    """What the Capacity unit measures. -> [-]; sheet Units."""
    return pick(units_kind, match(default_to(capacity_unit, ""), units_word), "")


@MOULDS.step("")
def mould_unit_off(unit: Text, length_kind: Text, capacity_unit: Text, capacity_kind: Text) -> Number:
    """1 when Unit or Capacity unit measures something else. -> [-]."""
    length = all_of(given(unit), _not(same(length_kind, "length")))
    capacity = all_of(given(capacity_unit), _neither(same(capacity_kind, "weight"), same(capacity_kind, "volume")))
    return when(any_of(length, capacity), 1, 0)


@MOULDS.step("")
def mould_twice(mould: Text, moulds_mould: Column) -> Number:
    """1 when another mould has the name too. -> [-]."""
    return when(all_of(given(mould), count_where(moulds_mould, mould) > 1), 1, 0)


@MOULDS.step("")
def cut_off(bars: Number, bar_cut: Number, cm: Number, log_cm: Number) -> Number:
    """1 when the bars come from a Bar cut that is not shorter than the log. [-] [-] [cm] [cm] -> [-]."""
    by_cut = all_of(given(bar_cut), all_of(_not(given(bars)), log_cm > 0))
    return when(all_of(by_cut, _not(exceeds(log_cm, default_to(bar_cut, 0) * cm))), 1, 0)


def _broken(count: Number) -> Truth:
    """Whether a count of things is not a whole number."""
    return _not(same(round_half_up(default_to(count, 0)), default_to(count, 0)))


@MOULDS.step("")
def mould_pieces_off(cavities: Number, bars: Number, owned: Number) -> Number:
    """1 when Cavities, Bars or Owned is no whole number. [-] x 3 -> [-]."""
    return when(any_of(_broken(cavities), any_of(_broken(bars), _broken(owned))), 1, 0)


# --- recipe lines ---


@LINES.step("text")
def unit_kind(unit_at: Number, units_kind: Column) -> Text:
    """What the unit measures. -> [-]; sheet Units."""
    return pick(units_kind, unit_at, "")


@LINES.step("")
def counted(unit_kind: Text) -> Number:
    """1 when the unit counts pieces. -> [-]."""
    return when(any_of(same(unit_kind, "per bar"), same(unit_kind, "per batch")), 1, 0)


@LINES.step("")
def way_off(kind: Text, share: Number, amount: Number, counted: Number) -> Number:
    """1 when a line has both Share and Amount, is an alkali, or packaging that is not counted. -> [-]."""
    twice = all_of(given(share), given(amount))
    packaging = all_of(same(kind, PACKAGING), _not(all_of(given(amount), counted > 0)))
    return when(any_of(twice, any_of(same(kind, ALKALI), packaging)), 1, 0)


@LINES.step("")
def unit_off(kind: Text, amount: Number, unit: Text, unit_kind: Text, counted: Number) -> Number:
    """1 when the unit is missing, measures something else, or does not suit the kind of the thing. -> [-]."""
    weighed = any_of(same(unit_kind, "weight"), same(unit_kind, "volume"))
    by_oils = all_of(same(unit_kind, "per weight of oils"), _not(same(kind, OIL)))
    pieces = all_of(counted > 0, same(kind, PACKAGING))
    suits = any_of(any_of(weighed, by_oils), pieces)
    known = any_of(any_of(weighed, counted > 0), same(unit_kind, "per weight of oils"))
    wrong = all_of(given(amount), _not(suits))
    return when(any_of(wrong, all_of(given(unit), _not(known))), 1, 0)


@LINES.step("")
def own_size_off(kind: Text, amount: Number, unit_kind: Text, recipe_at: Number, recipes_oil_shares: Column) -> Number:
    """1 when a fixed amount stands in a recipe whose oils are shares; liquids too. [g/g] -> [-]."""
    fixed = all_of(given(amount), any_of(same(unit_kind, "weight"), same(unit_kind, "volume")))
    return when(all_of(fixed, all_of(_not(same(kind, OIL)), pick(recipes_oil_shares, recipe_at) > 0)), 1, 0)


@LINES.step("")
def held_off(kind: Text, in_lye: Text) -> Number:
    """1 when something other than a liquid is held back from the lye pot. -> [-]."""
    return when(all_of(same(default_to(in_lye, "yes"), "no"), _not(same(kind, LIQUID))), 1, 0)


@LINES.step("")
def line_off(way_off: Number, unit_off: Number, own_size_off: Number, held_off: Number) -> Number:
    """More than 0 when a line does not suit its ingredient. -> [-]."""
    return way_off + unit_off + own_size_off + held_off


@LINES.step("text")
def line_key(recipe_at: Number, ingredient_at: Number, stage_in_use: Text) -> Text:
    """Recipe, ingredient and stage as one word. -> [-]."""
    return tag(tag(recipe_at, ingredient_at), stage_in_use)


@LINES.step("")
def line_twice(line_key: Text, ingredient_at: Number, lines_line_key: Column) -> Number:
    """1 when another line has the same thing at the same stage. -> [-]."""
    return when(all_of(ingredient_at > 0, count_where(lines_line_key, line_key) > 1), 1, 0)


# --- recipes ---


@RECIPES.step("")
def alkali_off(
    first_at: Number, second_at: Number, second_alkali: Text, koh_share: Number, ingredients_kind: Column,
    ingredients_base: Column,
) -> Number:  # fmt: skip
    """1 when an alkali is none, both are of one base, or the KOH share has no second alkali. -> [-]."""
    first_is = same(pick(ingredients_kind, first_at, ""), ALKALI)
    second_is = any_of(same(second_at, 0), same(pick(ingredients_kind, second_at, ""), ALKALI))
    alike = all_of(second_at > 0, same(pick(ingredients_base, first_at, ""), pick(ingredients_base, second_at, "")))
    alone = all_of(given(second_alkali), _not(given(koh_share)))
    without = all_of(default_to(koh_share, 0) > 0, _not(given(second_alkali)))
    wrong = any_of(any_of(alike, alone), without)
    return when(any_of(wrong, _not(all_of(first_is, second_is))), 1, 0)


@RECIPES.step("")
def mixed_ways(oils_written: Number, oil_shares: Number, liquids_written: Number, liquid_shares: Number) -> Number:
    """1 when there is no oil, or oils or liquids are given partly by share, partly by amount. [g/g] x 4 -> [-]."""
    oils = all_of(oil_shares > 0, exceeds(oils_written, oil_shares))
    liquids = all_of(liquid_shares > 0, exceeds(liquids_written, liquid_shares))
    return when(any_of(any_of(oils, liquids), _not(exceeds(oils_written, 0))), 1, 0)


@RECIPES.step("")
def leaves_nothing(
    lye_concentration: Number, cure_loss_in_use: Number, cure_days_in_use: Number, cure_longest: Number
) -> Number:
    """1 when there is no liquid at all, nothing is left after the cure, or it takes for ever. [-] [-] [d] [d] -> [-]."""
    cure = any_of(cure_loss_in_use >= 1, exceeds(cure_days_in_use, cure_longest))
    return when(any_of(default_to(lye_concentration, 0) >= 1, cure), 1, 0)


@RECIPES.step("")
def beyond_card(place: Number, lines_recipe_at: Column, card_lines: Number) -> Number:
    """1 when the recipe has more lines than the cards were laid out for. -> [-]."""
    return when(count_where(lines_recipe_at, place) > card_lines, 1, 0)


@RECIPES.step("")
def recipe_twice(recipe: Text, recipes_recipe: Column) -> Number:
    """1 when another recipe has the name too. -> [-]."""
    return when(all_of(given(recipe), count_where(recipes_recipe, recipe) > 1), 1, 0)


# --- batches ---


@BATCHES.step("")
def batch_twice(batch: Text, batches_batch: Column) -> Number:
    """1 when another batch has the name too. -> [-]."""
    return when(all_of(given(batch), count_where(batches_batch, batch) > 1), 1, 0)


@BATCHES.step("")
def batch_pieces_off(moulds_filled: Number) -> Number:
    """1 when Moulds filled is no whole number. [-] -> [-]."""
    return when(_broken(moulds_filled), 1, 0)


@BATCHES.step("")
def price_impossible(price_bracket: Number) -> Number:
    """1 when margin and card fee leave nothing of the price for the cost. [-] -> [-]."""
    return when(exceeds(price_bracket, 0), 0, 1)


STEPS: tuple[Step, ...] = (
    *INGREDIENTS.steps,
    *PRICES.steps,
    *MOULDS.steps,
    *LINES.steps,
    *RECIPES.steps,
    *BATCHES.steps,
)
