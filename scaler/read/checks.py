"""What must hold between the cells of a row, and between the rows of a recipe: each rule yields problems.

A rule sees only what is whole: rows whose own cells are right (`ROW_RULES`), lines whose ingredient is right
(`line_problems`), recipes whose lines are all right (`recipe_problems`). So no problem is the shadow of another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from scaler.model import units
from scaler.model.problems import Place, Problem
from scaler.model.records import (
    ALKALI,
    KINDS,
    LIQUID,
    OIL,
    PACKAGING,
    STAGES,
    Ingredient,
    Mould,
    Price,
    Recipe,
    RecipeLine,
)
from scaler.model.schema import Record, columns
from scaler.model.shapes import shape_of
from scaler.read.cells import listed

SHARES_WITHIN = 1e-4
"""Shares add up to 100 % within 0.01 %."""
LOWEST_PURITY = 0.2
LONGEST_CURE = 3650
"""Days; a longer cure is a slip of the hand."""

_BINARY = 1e-9
"""What adding decimals in binary may be off."""
_LIQUID_COLUMNS = ("lye_concentration", "liquid_to_alkali", "liquid_of_oils")

Things = Mapping[str, Ingredient]
"""Whole ingredients by name."""


def _at(record: Record, name: str, code: str, found: str, expected: str, do: str) -> Problem:
    if name not in record.where.letters:
        do = f"Add the column {_header(record, name)}. {do}"
    return Problem(record.where.place(name), code, found, expected, do)


def _header(record: Record, name: str) -> str:
    return columns(type(record))[name].header


def _with_article(kind: str) -> str:
    """Return a kind of ingredient as words.

    >>> _with_article("oil"), _with_article("liquid"), _with_article("packaging")
    ('an oil', 'a liquid', 'packaging')
    """
    return kind if kind == PACKAGING else f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def _percent(part: float) -> str:
    return f"{part * 100:.10g} %"


def _unit_beside(record: Record, number: str, unit: str) -> Iterator[Problem]:
    if getattr(record, number) is not None and getattr(record, unit) is None:
        found = f"{_header(record, number)} without a unit"
        yield _at(record, unit, "unit_missing", found, "a unit", f"Fill {_header(record, unit)}.")


# --- one row ---


def _ingredient(item: Ingredient) -> Iterator[Problem]:
    yield from _unit_beside(item, "division", "division_unit")
    yield from _unit_beside(item, "stock", "stock_unit")
    if item.stock_unit and (item.kind == PACKAGING) != (item.stock_unit == "each"):
        yield _pack_unit(item, "stock_unit", item.stock_unit, item.kind)
    yield from _in_order(item, ("sap_low", "sap", "sap_high"), {})
    if item.kind == ALKALI:
        yield from _alkali(item)
        return
    if item.base is not None:
        do = "Clear Base, or make Kind alkali."
        yield _at(item, "base", "base_not_alkali", f"a Base on {_with_article(item.kind)}", "a blank cell", do)
    if (item.water or 0) + (item.fat or 0) > 1 + _BINARY:
        found = f"Water {_percent(item.water or 0)} and Fat {_percent(item.fat or 0)}"
        yield _at(item, "water", "over_whole", found, "100 % or less together", "Correct Water % or Fat %.")


def _pack_unit(record: Record, name: str, unit: str, kind: str) -> Problem:
    expected = "each" if kind == PACKAGING else "a unit of weight or volume"
    do = "Packaging is counted: write each." if kind == PACKAGING else "Only packaging is counted: write g or mL, say."
    return _at(record, name, "unit_wrong", f"'{unit}' for {_with_article(kind)}", expected, do)


def _alkali(item: Ingredient) -> Iterator[Problem]:
    if item.base is None:
        yield _at(item, "base", "cell_blank", "an alkali without Base", "NaOH or KOH", "Fill Base.")
    if item.water is not None and item.purity is None:
        do = "Fill Purity %: grams of base in 1 g as weighed, such as 50 % for a 50 % solution."
        yield _at(item, "purity", "purity_missing", "Water without Purity", "a percentage", do)
        return
    purity, water = 1.0 if item.purity is None else item.purity, item.water or 0.0
    if purity < LOWEST_PURITY:
        do = "Purity is grams of base in 1 g as weighed: correct it, or use a stronger alkali."
        yield _at(
            item, "purity", "purity_low", f"a Purity of {_percent(purity)}", f"{_percent(LOWEST_PURITY)} or more", do
        )
    elif purity + water > 1 + _BINARY:
        found = f"Purity {_percent(purity)} and Water {_percent(water)}"
        do = "Purity counts the water in: a 50 % solution has Purity 50 %, Water 50 %; 98 % flakes leave Water blank."
        yield _at(item, "water", "over_whole", found, "100 % or less together", do)
    yield from _in_order(item, ("purity_low", "purity", "purity_high"), {"purity": purity})


def _in_order(item: Ingredient, names: Sequence[str], taken: Mapping[str, float]) -> Iterator[Problem]:
    """Refuse a range that is upside down or leaves out its own value; `taken` says what blanks count as."""
    values = {name: getattr(item, name) for name in names} | dict(taken)
    names = [name for name in names if values[name] is not None]
    for first, second in pairwise(names):
        if values[first] > values[second]:
            below, above = _header(item, first), _header(item, second)
            do = f"Correct {below} or {above}."
            yield _at(item, first, "range_crossed", f"{below} above {above}", "low, value and high in order", do)


def _mould(mould: Mould) -> Iterator[Problem]:
    shape = shape_of(mould.shape)
    for name in shape.needs:
        if getattr(mould, name) is None:
            header = _header(mould, name)
            needs = listed(tuple(_header(mould, needed) for needed in shape.needs), "and")
            do = f"Fill {header}: this shape needs {needs}."
            yield _at(mould, name, "size_missing", f"the shape {mould.shape} without {header}", "a filled cell", do)
    if shape.log is None and mould.liner is not None:
        do = "Measure its volume with the liner in, and leave Liner blank."
        yield _at(mould, "liner", "liner_not_used", f"a Liner on the shape {mould.shape}", "a blank cell", do)


def _recipe(recipe: Recipe) -> Iterator[Problem]:
    filled = [name for name in _LIQUID_COLUMNS if getattr(recipe, name) is not None]
    if len(filled) > 1:
        found = " and ".join(_header(recipe, name) for name in filled)
        expected = f"one of {listed(tuple(_header(recipe, name) for name in _LIQUID_COLUMNS))}"
        yield _at(recipe, filled[1], "liquid_twice", found, expected, "Clear all but one.")
    if recipe.superfat == 1:
        do = "Correct Superfat %: 3 to 8 % is usual."
        yield _at(recipe, "superfat", "percent_whole", "a superfat of 100 %", "less than 100 %", do)
    if recipe.lye_concentration == 1:
        do = "Correct Lye concentration %: 25 to 40 % is usual."
        yield _at(recipe, "lye_concentration", "lye_too_strong", "lye without any liquid", "50 % or less", do)
    if recipe.cure_loss == 1:
        do = "Write the share of the fresh weight that dries off, or leave it blank."
        yield _at(recipe, "cure_loss", "percent_whole", "a cure loss of 100 %", "less than 100 %", do)
    if recipe.cure_days is not None and recipe.cure_days > LONGEST_CURE:
        found, expected = f"{recipe.cure_days:g} days of cure", f"{LONGEST_CURE} days or less"
        yield _at(recipe, "cure_days", "number_absurd", found, expected, "Correct Cure days.")
    if recipe.second_alkali and recipe.koh_share is None:
        found = "a Second alkali without KOH share %"
        yield _at(recipe, "koh_share", "koh_share_missing", found, "a percentage", "Fill KOH share %.")
    if recipe.koh_share and not recipe.second_alkali:
        do = "Fill Second alkali, or clear KOH share %."
        yield _at(recipe, "second_alkali", "second_missing", "KOH share % without a Second alkali", "its name", do)


def _line(line: RecipeLine) -> Iterator[Problem]:
    if line.share is not None and line.amount is not None:
        yield _at(line, "amount", "amount_twice", "both Share % and Amount", "one of the two", "Clear one of them.")
    elif line.share is None and line.amount is None:
        do = "Fill Share %, or Amount and Unit."
        yield _at(line, "share", "amount_missing", "neither Share % nor Amount", "one of the two", do)
    elif line.share is None:
        yield from _unit_beside(line, "amount", "unit")


ROW_RULES: dict[str, Callable[[Any], Iterator[Problem]]] = {
    "ingredients": _ingredient,
    "moulds": _mould,
    "recipes": _recipe,
    "lines": _line,
}
"""The rule for one row, by the key of its sheet."""


# --- a row and the ingredient it names ---


def price_problems(price: Price, thing: Ingredient) -> Iterator[Problem]:
    """Refuse a pack whose unit does not suit what is in it."""
    if (thing.kind == PACKAGING) != (price.pack_unit == "each"):
        yield _pack_unit(price, "pack_unit", price.pack_unit, thing.kind)


def line_problems(line: RecipeLine, thing: Ingredient) -> Iterator[Problem]:
    """Refuse an amount that does not suit the kind of the ingredient."""
    what = _with_article(thing.kind)
    unit = units.find(line.unit or "") if line.amount is not None else None
    counted = unit is not None and unit.kind in (units.PER_BAR, units.PER_BATCH)
    if thing.kind == ALKALI:
        do = "Delete the row: the alkali is worked out, and its name stands in Alkali on sheet Recipes."
        expected = listed(tuple(_with_article(kind) for kind in KINDS if kind != ALKALI))
        yield _at(line, "ingredient", "alkali_on_line", f"'{line.ingredient}', an alkali", expected, do)
    elif thing.kind == PACKAGING and not counted:
        name, how = ("share", "by share") if line.share is not None else ("unit", f"in '{line.unit}'")
        do = "Count it for each bar or each batch."
        yield _at(line, name, "packaging_not_counted", f"packaging {how}", "Amount in each/bar or each/batch", do)
    elif thing.kind != PACKAGING and counted:
        do = "Only packaging is counted: write a weight, a volume, or g/kg, say."
        yield _at(
            line, "unit", "unit_wrong", f"'{line.unit}' for {what}", "a unit of weight, volume or weight of oils", do
        )
    elif thing.kind == OIL and unit is not None and unit.kind == units.RATIO:
        do = "The oils are what it is reckoned by: write Share %, or a weight or volume."
        yield _at(line, "unit", "unit_wrong", f"'{line.unit}' for an oil", "a unit of weight or volume", do)
    if line.in_lye == "no" and thing.kind != LIQUID:
        do = "Only a liquid is held back from the lye pot: clear In lye and say when in Stage."
        yield _at(line, "in_lye", "in_lye_wrong", f"no for {what}", "a blank cell", do)


def repeated(lines: Iterable[RecipeLine], things: Things) -> Iterator[tuple[RecipeLine, Problem]]:
    """Yield each line that has the same thing at the same stage as a line before it."""
    seen: dict[tuple[str, str, str], RecipeLine] = {}
    for line in lines:
        stage = line.stage or STAGES.get(things[line.ingredient].kind, "trace")
        first = seen.setdefault((line.recipe, line.ingredient, stage.casefold()), line)
        if first is not line:
            found = f"'{line.ingredient}' a second time in {line.recipe}"
            do = f"It is in row {first.where.row} too: add the two up in one row, or write another Stage."
            yield line, _at(line, "ingredient", "line_twice", found, "each thing once at a stage", do)


# --- a recipe ---


def alkali_problems(recipe: Recipe, things: Things, usual: Sequence[str]) -> Iterator[Problem]:
    """Refuse alkalis that are none, or of one base; `usual` holds every NaOH that a blank Alkali may mean."""
    named = {name: things[getattr(recipe, name)] for name in ("alkali", "second_alkali") if getattr(recipe, name)}
    wrong = {name: thing for name, thing in named.items() if thing.kind != ALKALI}
    for name, thing in wrong.items():
        found, do = f"'{thing.ingredient}', {_with_article(thing.kind)}", "Name an ingredient of Kind alkali."
        yield _at(recipe, name, "not_alkali", found, "an alkali", do)
    if recipe.alkali is None and len(usual) != 1:
        found = f"a blank cell, with {len(usual) or 'no'} NaOH on sheet Ingredients"
        do = f"Write {listed(tuple(usual))}." if usual else "Add the NaOH to sheet Ingredients, or name another alkali."
        yield _at(recipe, "alkali", "alkali_unclear", found, "the name of the alkali", do)
        return
    first = named.get("alkali") or things[usual[0]]
    second = named.get("second_alkali")
    if second and not wrong and first.base == second.base:
        found, do = f"'{second.ingredient}', a second {second.base}", "Name an alkali of the other base, or clear it."
        yield _at(recipe, "second_alkali", "bases_same", found, "one NaOH and one KOH", do)


def recipe_problems(recipe: Recipe, lines: Sequence[RecipeLine], things: Things) -> Iterator[Problem]:
    """Refuse lines that do not make a recipe together; every one of them must be whole."""
    oils = [line for line in lines if things[line.ingredient].kind == OIL]
    liquids = [line for line in lines if things[line.ingredient].kind == LIQUID]
    if not oils:
        do = "Add its oils to sheet Recipe lines."
        yield _at(recipe, "recipe", "oils_missing", f"no oil in {recipe.recipe}", "at least one oil", do)
        return
    mixed = list(_one_way(recipe, oils, "oils"))
    yield from mixed
    yield from _one_way(recipe, liquids, "liquids")
    if not mixed and oils[0].share is not None:
        for line in lines:
            yield from _own_size(line)
    filled = any(getattr(recipe, name) is not None for name in _LIQUID_COLUMNS)
    if not filled and (not liquids or any(line.amount is None for line in liquids)):
        names = listed(tuple(_header(recipe, name) for name in _LIQUID_COLUMNS))
        do = f"Fill one of {names}, or give the liquids of {recipe.recipe} as Amounts."
        yield _at(recipe, _LIQUID_COLUMNS[0], "liquid_missing", "nothing that sets the liquid", "a filled cell", do)


def _one_way(recipe: Recipe, lines: Sequence[RecipeLine], what: str) -> Iterator[Problem]:
    shares = [line for line in lines if line.share is not None]
    amounts = [line for line in lines if line.amount is not None]
    total = sum(line.share or 0 for line in shares)
    if shares and amounts:
        found, do = f"{what} of {recipe.recipe} by Share % and by Amount", f"Give all its {what} the same way."
        yield _at(amounts[0], "amount", "amounts_mixed", found, "one way for all of them", do)
    elif shares and abs(total - 1) > SHARES_WITHIN + _BINARY:
        found = f"{what} of {recipe.recipe} that add up to {_percent(total)}"
        do = f"Correct their shares: {_percent(abs(total - 1))} too {'much' if total > 1 else 'little'}."
        yield _at(shares[0], "share", "shares_off", found, "100 %", do)
    elif amounts and not sum(line.amount or 0 for line in amounts):
        found = f"{what} of {recipe.recipe} that add up to nothing"
        yield _at(amounts[0], "amount", "amounts_zero", found, "an amount above 0", f"Fill the amounts of its {what}.")


def _own_size(line: RecipeLine) -> Iterator[Problem]:
    unit = units.find(line.unit or "") if line.amount is not None else None
    if unit is not None and unit.kind in (units.WEIGHT, units.VOLUME):
        found, expected = (
            f"{line.amount:g} {line.unit} in a recipe whose oils are shares",
            "an amount that grows with it",
        )
        do = "Write Share %, or a unit per weight of oils such as g/kg or tsp/lb."
        yield _at(line, "unit", "no_own_size", found, expected, do)


# --- sheet Prices as a whole ---


def unpriced(used: Iterable[str], place: Place) -> Iterator[Problem]:
    """Yield a problem for each thing that has no price, at the cell where its row would be added."""
    for name in dict.fromkeys(used):
        do = f"Add a row for {name}: what a pack holds and what it costs, 0 if it costs nothing."
        yield Problem(place, "price_missing", f"no price of {name}", "a row for everything that a recipe uses", do)
