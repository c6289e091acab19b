"""What rules of validation ask about: shares of the cured bar, what unit words measure, stock, and ages."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, default_to, divide, given, joined, same, when
from scaler.formula.searching import at, match, pick, tag
from scaler.formula.steps import Step, StepGroup, handed
from scaler.formula.sums import smallest_where, total_named, total_where
from scaler.model.records import LIQUID, OIL
from scaler.rules.plain import keyed, picked, usual

SHARES = StepGroup("lines", when="in_whole")
APART = StepGroup("recipes")


SHARES.add("limit", "%", picked("ingredient_at", "ingredients_limit_in_use",
    "Highest share of the cured bar, 0 where there is no limit; supplier's limit."))  # fmt: skip


@SHARES.step("g/g")
def part(
    kind: Text, oil_part: Number, liquid_share: Number, dosed_part: Number, recipe_at: Number,
    recipes_liquid_part: Column,
) -> Number:  # fmt: skip
    """The line per gram of oils. [g/g] x 4 -> [g/g]."""
    liquid = liquid_share * at(recipes_liquid_part, recipe_at)
    return when(same(kind, OIL), oil_part, when(same(kind, LIQUID), liquid, dosed_part))


@SHARES.step("%")
def share_of_cured(
    thing_key: Text, recipe_at: Number, lines_thing_key: Column, lines_part: Column, recipes_batter_part: Column,
    recipes_cure_loss_in_use: Column,
) -> Number:  # fmt: skip
    """Share of the cured bar that the thing is, over all its lines. [g/g] [g/g] [-] -> [-]."""
    cured = at(recipes_batter_part, recipe_at) * (1 - at(recipes_cure_loss_in_use, recipe_at))
    return divide(total_where(lines_thing_key, thing_key, lines_part), cured)


@APART.step("g/g")
def common_part(
    place: Number, batter_part: Number, lines_recipe_at: Column, lines_portion_key: Column, lines_part: Column
) -> Number:
    """What all of the pot has, without the lines for a portion, per gram of oils. [g/g] [g/g] -> [g/g]."""
    of_pot = total_where(lines_portion_key, tag(place, ""), lines_part)
    return batter_part - (total_where(lines_recipe_at, place, lines_part) - of_pot)


@APART.step("g/g")
def kept_part(cure_loss_in_use: Number) -> Number:
    """Share of the batter that is left after the cure. [-] -> [g/g]."""
    return 1 - cure_loss_in_use


@SHARES.step("%")
def share_in_portion(
    portion: Text, portion_key: Text, portion_part: Number, ingredient_at: Number, dose_key: Text, recipe_at: Number,
    lines_dose_key: Column, lines_part: Column, lines_portion_key: Column, recipes_common_part: Column,
    recipes_kept_part: Column,
) -> Number:  # fmt: skip
    """Share of the cured portion that the thing is, 0 for the whole pot; what the whole pot holds of it counts too.

    [-] [g/g] x 3 [-] -> [-]; mass balance: a portion is its share of what all of the pot has, and its own lines.
    """
    dose = total_named(lines_dose_key, dose_key, lines_part)
    dose_of_pot = portion_part * total_where(lines_dose_key, joined(recipe_at, "||", ingredient_at), lines_part)
    own = total_named(lines_portion_key, portion_key, lines_part)
    cured = (portion_part * at(recipes_common_part, recipe_at) + own) * at(recipes_kept_part, recipe_at)
    return when(given(portion), divide(dose + dose_of_pot, cured), 0)


INGREDIENTS = StepGroup("ingredients")
TAKEN = StepGroup("batch_lines", when="makes", closed=0)
LINES = StepGroup("lines")
RECIPES = StepGroup("recipes")


@INGREDIENTS.step("")
def stock_unit_at(stock_unit: Text, units_word: Column) -> Number:
    """Row of Stock unit on sheet Units. -> [-]."""
    return match(default_to(stock_unit, ""), units_word)


@INGREDIENTS.step("g or each")
def stock_held(
    stock: Number, stock_unit_at: Number, density_in_use: Number, units_weight: Column, units_volume: Column,
    units_count: Column,
) -> Number:  # fmt: skip
    """What is on the shelf, a volume through its density. [-] [g/mL] -> [g]; sheet Units."""
    by_volume = pick(units_volume, stock_unit_at) * density_in_use
    return default_to(stock, 0) * (pick(units_weight, stock_unit_at) + by_volume + pick(units_count, stock_unit_at))


@TAKEN.step("")
def taken_at(ingredient_at: Number) -> Number:
    """Row of the thing, 0 where the batch must not be made and takes nothing. -> [-]."""
    return ingredient_at


@INGREDIENTS.step("g or each")
def planned(
    place: Number, batch_lines_taken_at: Column, batch_lines_g: Column, batch_lines_line_count_each: Column
) -> Number:
    """What all batches take that may be made. [g] [-] -> [g]."""
    weighed = total_where(batch_lines_taken_at, place, batch_lines_g)
    return weighed + total_where(batch_lines_taken_at, place, batch_lines_line_count_each)


@LINES.step("")
def counted(unit_kind: Text) -> Number:
    """1 when the unit counts pieces. -> [-]."""
    return when(any_of(same(unit_kind, "per bar"), same(unit_kind, "per batch")), 1, 0)


LINES.add("line_key", "text", keyed("dose_key", "stage_in_use", "Recipe, portion, thing and stage as one word."))


@RECIPES.step("")
def liquid_columns(lye_concentration: Number, liquid_to_alkali: Number, liquid_of_oils: Number) -> Number:
    """How many of the three liquid columns are filled. -> [-]."""
    first = when(given(lye_concentration), 1, 0) + when(given(liquid_to_alkali), 1, 0)
    return first + when(given(liquid_of_oils), 1, 0)


@RECIPES.step("")
def liquid_set(
    lye_concentration: Number, liquid_to_alkali: Number, liquid_of_oils: Number, liquid_before: Number, two: Number
) -> Number:
    """Which of the recipe's number cells sets the liquid, the first of the three where none does. -> [-]."""
    later = when(given(liquid_to_alkali), two, when(given(liquid_of_oils), 1 + two, 1))
    return liquid_before + when(given(lye_concentration), 1, later)


OPENED = StepGroup("ingredients")
PRICES = StepGroup("prices", when="on_offer", closed="big")
BATCHES = StepGroup("batches")


def _dated(outside: Number, day: Number) -> Number:
    return when(same(outside, 0), default_to(day, 0), 0)


OPENED.add(
    "opened_on",
    "day",
    handed(_dated, ("outside", "opened"), "Day the container was opened, 0 where nothing says it. [-] [d] -> [d]."),
)
PRICES.add(
    "dated", "day", handed(_dated, ("outside", "date"), "Date of the price, 0 where nothing says it. [-] [d] -> [d].")
)


@PRICES.step("")
def cheapest_row(
    place: Number, unit_price: Number, ingredient_at: Number, ingredients_unit_cost: Column, big: Number
) -> Number:
    """Row of a price that costs as little as the one in use, else more than any row. [money/g] [money/g] -> [-]."""
    return when(same(unit_price, pick(ingredients_unit_cost, ingredient_at)), place, big)


@OPENED.step("")
def price_at(
    place: Number, price_rows: Number, prices_ingredient_at: Column, prices_cheapest_row: Column, big: Number
) -> Number:
    """Row of the price in use, the first of equally cheap ones; 0 where there is none. -> [-]."""
    found = smallest_where(prices_ingredient_at, place, prices_cheapest_row, big)
    return when(all_of(price_rows > 0, found < big), found, 0)


OPENED.add("price_date", "day", picked("price_at", "prices_dated", "Date of the price in use, 0 where it has none."))  # fmt: skip
BATCHES.add("ages_to", "day", usual("made_day", "worked_out_on",
    "Day that ages are measured to: the make date, else Worked out on."))  # fmt: skip


STEPS: tuple[Step, ...] = (
    *SHARES.steps, *APART.steps, *TAKEN.steps, *INGREDIENTS.steps, *LINES.steps, *RECIPES.steps, *OPENED.steps,
    *PRICES.steps, *BATCHES.steps,
)  # fmt: skip
