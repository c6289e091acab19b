"""Recipes as ingredients of others: only blends of oils alone, under names of their own."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, exceeds, given, same
from scaler.formula.searching import find_name, pick
from scaler.model.records import BLEND
from scaler.validation.rule import MONEY, REFUSE, RuleGroup

LINES = RuleGroup("lines", when="asked")
PRICES = RuleGroup("prices")
_OILS_ALONE = "Only a recipe of oils alone can be an ingredient: a blend mixed ahead."


@LINES.rule("name_unknown", REFUSE, "ingredient", "Neither Ingredients nor Recipes has {ingredient}.",
    "Correct the name, or add it to Ingredients.")  # fmt: skip
def thing_unknown(ingredient: Text, ingredient_at: Number, blend_at: Number) -> Truth:
    return all_of(given(ingredient), same(ingredient_at, 0), same(blend_at, 0))


@LINES.rule("blend_unclear", REFUSE, "ingredient", "{ingredient} is on Ingredients and on Recipes.", "Rename one of the two.")  # fmt: skip
def blend_unclear(ingredient: Text, ingredient_at: Number, recipes_recipe: Column) -> Truth:
    return all_of(ingredient_at > 0, find_name(ingredient, recipes_recipe) > 0)


@LINES.rule("blend_not_oils", REFUSE, "ingredient", "{ingredient} is a recipe that has more than oils.", _OILS_ALONE)
def blend_not_oils(kind: Text, blend_at: Number, recipes_mix_others: Column, recipes_mix_total: Column) -> Truth:
    return all_of(
        same(kind, BLEND), any_of(pick(recipes_mix_others, blend_at) > 0, same(pick(recipes_mix_total, blend_at), 0))
    )


@LINES.rule("blend_unwired", REFUSE, "ingredient", "The oils of {ingredient} are not those that this workbook was made for.",
    "Run scaler on this file again.")  # fmt: skip
def blend_unwired(kind: Text, mix_whole: Number, shares_within: Number) -> Truth:
    return all_of(
        same(kind, BLEND), any_of(exceeds(1 - mix_whole, shares_within), exceeds(mix_whole - 1, shares_within))
    )


@PRICES.rule("blend_priced", REFUSE, "ingredient", "{ingredient} is a recipe; its oils have the prices.", "Clear the row.",
    scope=MONEY)  # fmt: skip
def blend_priced(ingredient: Text, ingredient_at: Number, recipes_recipe: Column) -> Truth:
    return all_of(same(ingredient_at, 0), find_name(ingredient, recipes_recipe) > 0)


RULES = (*LINES.rules, *PRICES.rules)
