"""What a bar costs from each mould of a pot: what each bar takes by itself by bars, all else by batter."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, divide, same, scaled, when
from scaler.formula.searching import pick
from scaler.formula.steps import Step, StepGroup
from scaler.rules import costing
from scaler.rules.plain import summed

LINES = StepGroup("lines")
RECIPES = StepGroup("recipes")
ROWS = StepGroup("batches", when="in_pot")
MOULDS = StepGroup("batches", when="priced_here")


@LINES.step("money")
def each_bar_cost(
    each_per_bar: Number, ingredient_at: Number, ingredients_is_priced: Column, ingredients_unit_cost: Column
) -> Number:
    """Cost of the pieces that each bar takes, 0 where they have no price. [-] [money] -> [money]."""
    counted = all_of(each_per_bar > 0, same(pick(ingredients_is_priced, ingredient_at), 1))
    return when(counted, scaled(pick(ingredients_unit_cost, ingredient_at), each_per_bar), 0)


RECIPES.add("pieces_cost", "money", summed("place", "lines_recipe_at", "lines_each_bar_cost",
    "Cost of all pieces that each bar takes."))  # fmt: skip


@ROWS.step("")
def priced_here(in_pot: Number, bars_here: Number, pot_at: Number, batches_by_bar: Column) -> Number:
    """1 where bars come from the row's mould and a bar of the pot has a cost. -> [-]."""
    return when(all_of(same(in_pot, 1), bars_here > 0, same(pick(batches_by_bar, pot_at), 1)), 1, 0)


@MOULDS.step("money")
def own_bar_cost(
    recipe_at: Number, recipes_pieces_cost: Column, recipes_minutes_per_bar_in_use: Column, recipes_wrap_in_use: Column,
    hours_per_minute: Number, labour_rate: Number,
) -> Number:  # fmt: skip
    """Cost of a bar by itself: its pieces and its minutes. [money] [min] [min] [h/min] [money/h] -> [money]."""
    minutes = pick(recipes_minutes_per_bar_in_use, recipe_at) + pick(recipes_wrap_in_use, recipe_at)
    return pick(recipes_pieces_cost, recipe_at) + minutes * hours_per_minute * labour_rate


@MOULDS.step("money")
def cost_here(
    own_bar_cost: Number, share_here: Number, bars_here: Number, pot_at: Number, batches_total_cost: Column,
    batches_bars: Column, batches_bars_to_sell: Column,
) -> Number:  # fmt: skip
    """Cost of a bar from this mould that is fit to sell. [money] [-] [-] [money] [-] [-] -> [money]; contract."""
    bars = pick(batches_bars, pot_at)
    by_batter = divide((pick(batches_total_cost, pot_at) - own_bar_cost * bars) * share_here, bars_here)
    return divide((own_bar_cost + by_batter) * bars, pick(batches_bars_to_sell, pot_at))


@MOULDS.step("money")
def shown_here(
    cost_here: Number, pot_at: Number, batches_price_bracket: Column, sales_tax: Number, price_shown: Text,
    price_step: Number,
) -> Number:  # fmt: skip
    """Price shown of a bar from this mould. [money] [-] [-] [money] -> [money]."""
    target = costing.target_before_tax(cost_here, pick(batches_price_bracket, pot_at))
    return costing.shown(costing.shown_target(target, sales_tax, price_shown), price_step)


@MOULDS.step("money")
def with_tax_here(shown_here: Number, sales_tax: Number, price_shown: Text) -> Number:
    """Price with tax of a bar from this mould. [money] [-] -> [money]."""
    return costing.with_tax(shown_here, costing.before_tax(shown_here, sales_tax, price_shown), sales_tax, price_shown)


STEPS: tuple[Step, ...] = (*LINES.steps, *RECIPES.steps, *ROWS.steps, *MOULDS.steps)
