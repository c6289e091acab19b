"""What must hold between the cells of a row, and between rows: one function a sheet, each yielding problems."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from scaler import units
from scaler.model import (
    ALKALI,
    LIQUID,
    OIL,
    PACKAGING,
    Ingredient,
    Mould,
    Recipe,
    RecipeLine,
    Workshop,
    headers,
    INGREDIENTS,
    MOULDS,
    RECIPES,
)
from scaler.problems import Place, Problem
from scaler.schema import Record, columns
from scaler.shapes import shape_of

SHARES_WITHIN = 1e-4
"""Shares add up to 100 % within 0.01 %."""

_LIQUID_COLUMNS = ("lye_concentration", "liquid_to_alkali", "liquid_of_oils")
_PAIRS = (("division", "division_unit"), ("stock", "stock_unit"), ("capacity", "capacity_unit"), ("amount", "unit"))


def check(workshop: Workshop, alone: bool = False) -> list[Problem]:
    """Return every problem between cells and rows.

    Args:
        workshop: records with names resolved.
        alone: look at each row by itself only, since others are broken.
    """
    problems: list[Problem] = []
    for rule in _ROW_RULES:
        for record in getattr(workshop, rule.__name__.removeprefix("_")):
            problems += rule(record)
    if not alone:
        for across in _CROSS_RULES:
            problems += across(workshop)
    return problems


def _problem(record: Record, name: str, code: str, found: str, expected: str, do: str) -> Problem:
    return Problem(record.where.place(name), code, found, expected, do)


def _units_beside(record: Record) -> Iterator[Problem]:
    declared = columns(type(record))
    for number, unit in _PAIRS:
        if number in declared and unit in declared:
            value, word = getattr(record, number), getattr(record, unit)
            if value is not None and word is None:
                yield _problem(record, unit, "unit_missing", f"{declared[number].header} without a unit", "a unit", f"Fill {declared[unit].header}.")


def _ingredients(item: Ingredient) -> Iterator[Problem]:
    yield from _units_beside(item)
    if item.kind == ALKALI:
        yield from _alkali(item)
    elif item.base is not None:
        yield _problem(item, "base", "base_not_alkali", f"Base {item.base} of kind {item.kind}", "a blank cell", "Only an alkali has a Base. Is Kind right?")
    if item.kind == LIQUID and item.water is not None and item.water + (item.fat or 0) > 1:
        yield _problem(item, "water", "over_whole", "water and fat of more than 100 %", "100 % or less together", "Correct Water % or Fat %.")
    if item.kind == PACKAGING and item.stock_unit not in (None, "each"):
        yield _problem(item, "stock_unit", "unit_wrong", f"'{item.stock_unit}'", "each", "Packaging is counted.")
    yield from _range(item, "sap_low", "sap", "sap_high")
    yield from _range(item, "purity_low", "purity", "purity_high")


def _alkali(item: Ingredient) -> Iterator[Problem]:
    if item.base is None:
        yield _problem(item, "base", "cell_blank", "a blank cell", "NaOH or KOH", "Say which base this alkali is.")
    if item.water and item.purity is None:
        do = "Give Purity: grams of base in 1 g as weighed. A 50 % solution has Purity 50 % and Water 50 %."
        yield _problem(item, "purity", "purity_missing", "Water without Purity", "a percentage", do)
    if item.purity is not None and item.purity < 0.2:
        yield _problem(item, "purity", "purity_low", f"a purity of {item.purity:.1%}", "20 % or more", "Give the base in 1 g as weighed.")
    if (item.purity or 0) + (item.water or 0) > 1 + 1e-12:
        do = "Purity is of the thing as weighed, its water included: 98 % flakes have Purity 98 %, Water blank."
        yield _problem(item, "water", "over_whole", "base and water of more than 100 %", "100 % or less together", do)


def _range(item: Ingredient, low: str, middle: str, high: str) -> Iterator[Problem]:
    names = [name for name in (low, middle, high) if getattr(item, name) is not None]
    shown = headers(INGREDIENTS)
    for first, second in zip(names, names[1:], strict=False):
        if getattr(item, first) > getattr(item, second):
            found = f"{shown[first]} above {shown[second]}"
            yield _problem(item, first, "range_crossed", found, "a range that holds its value", "Correct one of the cells.")


def _prices(price: Any) -> Iterator[Problem]:
    yield from _units_beside(price)


def _moulds(mould: Mould) -> Iterator[Problem]:
    yield from _units_beside(mould)
    shape = shape_of(mould.shape)
    shown = headers(MOULDS)
    for name in shape.needs:
        if getattr(mould, name) is None:
            yield _problem(mould, name, "size_missing", f"a {mould.shape} without {shown[name]}", "a size", f"Fill {shown[name]}. {shape.says}")
    if shape.log is None and mould.liner:
        do = "Measure the mould by water fill with its liner in, and leave Liner blank."
        yield _problem(mould, "liner", "liner_not_used", f"a Liner of a {mould.shape} mould", "a blank cell", do)


def _recipes(recipe: Recipe) -> Iterator[Problem]:
    shown = headers(RECIPES)
    filled = [name for name in _LIQUID_COLUMNS if getattr(recipe, name) is not None]
    if len(filled) > 1:
        found = " and ".join(shown[name] for name in filled)
        yield _problem(recipe, filled[1], "liquid_twice", found, "one of the three liquid columns", "Clear all but one.")
    if recipe.superfat >= 1:
        yield _problem(recipe, "superfat", "superfat_whole", "a superfat of 100 %", "less than 100 %", "Most bars have 3 to 8 %.")
    if recipe.lye_concentration == 1:
        yield _problem(recipe, "lye_concentration", "lye_too_strong", "lye without liquid", "50 % or less", "Most lye is 25 to 40 %.")
    if recipe.second_alkali and recipe.koh_share is None:
        yield _problem(recipe, "koh_share", "koh_share_missing", "a second alkali without KOH share", "a percentage", "Fill KOH share %.")
    if recipe.koh_share and not recipe.second_alkali:
        yield _problem(recipe, "second_alkali", "second_missing", "a KOH share without Second alkali", "the KOH's name", "Fill Second alkali, or clear KOH share %.")


def _lines(line: RecipeLine) -> Iterator[Problem]:
    yield from _units_beside(line)
    if line.share is not None and line.amount is not None:
        yield _problem(line, "amount", "amount_twice", "both Share and Amount", "one of the two", "Clear one of the two cells.")
    if line.share is None and line.amount is None:
        yield _problem(line, "share", "amount_missing", "neither Share nor Amount", "one of the two", "Fill Share %, or Amount and Unit.")


_ROW_RULES: tuple[Callable[[Any], Iterator[Problem]], ...] = (_ingredients, _prices, _moulds, _recipes, _lines)


# --- across rows ---


def _alkalis(workshop: Workshop) -> Iterator[Problem]:
    things = {item.ingredient: item for item in workshop.ingredients}
    naoh = [item.ingredient for item in workshop.ingredients if item.base == "NaOH"]
    for recipe in workshop.recipes:
        if recipe.alkali is None and len(naoh) != 1:
            found = f"a blank cell, and {len(naoh)} NaOH on Ingredients" if naoh else "a blank cell, and no NaOH on Ingredients"
            do = f"Name the alkali: {' or '.join(naoh)}." if naoh else "Add the NaOH to sheet Ingredients."
            yield _problem(recipe, "alkali", "alkali_unclear", found, "the name of the alkali", do)
        for name in ("alkali", "second_alkali"):
            thing = things.get(getattr(recipe, name) or "")
            if thing and thing.kind != ALKALI:
                yield _problem(recipe, name, "not_alkali", f"'{thing.ingredient}', a {thing.kind}", "an alkali", "Name an ingredient of Kind alkali.")
        yield from _two_bases(recipe, things, naoh)


def _two_bases(recipe: Recipe, things: dict[str, Ingredient], naoh: list[str]) -> Iterator[Problem]:
    first = recipe.alkali or (naoh[0] if len(naoh) == 1 else "")
    if first in things and recipe.second_alkali and things[first].base == things[recipe.second_alkali].base:
        found = f"two alkalis of base {things[first].base}"
        yield _problem(recipe, "second_alkali", "bases_same", found, "one NaOH and one KOH", "Name the other base.")


def _line_kinds(workshop: Workshop) -> Iterator[Problem]:
    things = {item.ingredient: item for item in workshop.ingredients}
    seen: dict[tuple[str, str, str], RecipeLine] = {}
    for line in workshop.lines:
        thing = things[line.ingredient]
        first = seen.setdefault((line.recipe, line.ingredient, (line.stage or "").casefold()), line)
        if first is not line:
            do = f"Row {first.where.row} has it in the same Stage: add the two, or name another Stage."
            yield _problem(line, "ingredient", "line_twice", f"'{line.ingredient}' again in {line.recipe}", "each thing once a stage", do)
        yield from _line_kind(line, thing)


def _line_kind(line: RecipeLine, thing: Ingredient) -> Iterator[Problem]:
    unit = units.find(line.unit) if line.unit else None
    counted = unit is not None and unit.kind in (units.PER_BAR, units.PER_BATCH)
    if thing.kind == ALKALI:
        yield _problem(line, "ingredient", "alkali_on_line", f"'{line.ingredient}', an alkali", "anything but an alkali", "The alkali is worked out: name it on sheet Recipes and delete this row.")
    elif thing.kind == PACKAGING and not counted:
        name = "share" if line.share is not None else "unit"
        yield _problem(line, name, "packing_counted", "packaging by share or weight", "Amount with each/bar or each/batch", "Count it for each bar or each batch.")
    elif thing.kind != PACKAGING and counted:
        yield _problem(line, "unit", "not_counted", f"'{line.unit}' of a {thing.kind}", "a weight, a volume or an amount per weight of oils", "Only packaging is counted.")
    if line.in_lye == "no" and thing.kind != LIQUID:
        yield _problem(line, "in_lye", "in_lye_wrong", f"In lye of a {thing.kind}", "a blank cell", "Only a liquid can be held back from the lye pot.")


def _recipe_lines(workshop: Workshop) -> Iterator[Problem]:
    things = {item.ingredient: item for item in workshop.ingredients}
    for recipe in workshop.recipes:
        lines = [line for line in workshop.lines if line.recipe == recipe.recipe]
        oils = [line for line in lines if things[line.ingredient].kind == OIL]
        liquids = [line for line in lines if things[line.ingredient].kind == LIQUID]
        others = [line for line in lines if line not in oils and line not in liquids]
        if not oils:
            yield _problem(recipe, "recipe", "oils_missing", f"no oil in {recipe.recipe}", "at least one oil", "Add its oils to sheet Recipe lines.")
            continue
        yield from _one_way(recipe, oils, "oils")
        yield from _one_way(recipe, liquids, "liquids")
        by_weight = all(line.amount is not None for line in oils)
        yield from _own_size(recipe, oils, [*liquids, *others], by_weight)
        yield from _liquid_set(recipe, liquids)


def _one_way(recipe: Recipe, lines: list[RecipeLine], what: str) -> Iterator[Problem]:
    shares = [line.share for line in lines if line.share is not None]
    amounts = [line for line in lines if line.amount is not None]
    if shares and amounts:
        yield _problem(amounts[0], "amount", "mixed_amounts", f"{what} of {recipe.recipe} by Share and by Amount", "one way for all", f"Give all {what} as Share, or all as Amount.")
    elif shares and abs(sum(shares) - 1) > SHARES_WITHIN:
        first = next(line for line in lines if line.share is not None)
        yield _problem(first, "share", "shares_off", f"{what} of {recipe.recipe} that add up to {sum(shares) * 100:.2f} %", "100 %", "Correct the shares.")
    elif amounts and not sum(line.amount or 0 for line in amounts):
        yield _problem(amounts[0], "amount", "amounts_zero", f"{what} of {recipe.recipe} that add up to nothing", "an amount above 0", "Fill the amounts.")


def _own_size(recipe: Recipe, oils: list[RecipeLine], others: list[RecipeLine], by_weight: bool) -> Iterator[Problem]:
    for line in oils:
        unit = units.find(line.unit) if line.unit else None
        if unit and unit.kind == units.RATIO:
            yield _problem(line, "unit", "oil_ratio", f"'{line.unit}' of an oil", "Share, or a weight or volume", "An oil cannot be an amount per weight of oils.")
    for line in others:
        unit = units.find(line.unit) if line.unit else None
        if unit and unit.kind in (units.WEIGHT, units.VOLUME) and not by_weight:
            do = "The recipe's oils are by Share, so it has no size of its own: use Share, or a unit such as g/kg or tsp/lb."
            yield _problem(line, "unit", "no_own_size", f"{line.amount:g} {line.unit} in {recipe.recipe}", "a share or an amount per weight of oils", do)


def _liquid_set(recipe: Recipe, liquids: list[RecipeLine]) -> Iterator[Problem]:
    if any(getattr(recipe, name) is not None for name in _LIQUID_COLUMNS):
        return
    if not liquids or any(line.amount is None for line in liquids):
        do = "Fill one of Lye concentration %, Liquid to alkali, Liquid of oils %, or give the liquids as Amounts."
        yield _problem(recipe, "lye_concentration", "liquid_missing", "three blank liquid columns", "one of the three", do)


def _pack_units(workshop: Workshop) -> Iterator[Problem]:
    things = {item.ingredient: item for item in workshop.ingredients}
    for price in workshop.prices:
        counted = things[price.ingredient].kind == PACKAGING
        if counted != (price.pack_unit == "each"):
            kind = things[price.ingredient].kind
            expected = "each" if counted else "a weight or a volume"
            yield _problem(price, "pack_unit", "unit_wrong", f"'{price.pack_unit}' of a {kind}", expected, f"Write {expected}.")


def _unpriced(workshop: Workshop) -> Iterator[Problem]:
    priced = {price.ingredient for price in workshop.prices}
    naoh = [item.ingredient for item in workshop.ingredients if item.base == "NaOH"]
    used = [line.ingredient for line in workshop.lines]
    for recipe in workshop.recipes:
        used += [name for name in (recipe.alkali or (naoh[0] if len(naoh) == 1 else None), recipe.second_alkali) if name]
    for name in dict.fromkeys(used):
        if name not in priced:
            do = f"Add a row for {name} to sheet Prices. A price of 0 is allowed."
            yield Problem(_next_row(workshop), "price_missing", f"no price for {name}", "a row on sheet Prices", do)


def _next_row(workshop: Workshop) -> Place:
    """Return the free cell under the last price, where a missing row belongs."""
    last = max((price.where for price in workshop.prices), key=lambda where: where.row, default=None)
    if last is None:
        return Place("", "Prices")
    return Place(last.file, last.sheet, f"{last.letters.get('ingredient', 'A')}{last.row + 1}")


_CROSS_RULES: tuple[Callable[[Workshop], Iterator[Problem]], ...] = (
    _alkalis,
    _line_kinds,
    _recipe_lines,
    _pack_units,
    _unpriced,
)
