"""Ingredients and packs on offer: what may not be, and what is asked about."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, opposite, same
from scaler.formula.searching import pick
from scaler.formula.sums import count_where
from scaler.model.records import ACID, ALKALI, LIQUID, OIL, PACKAGING
from scaler.validation.rule import LOOK, MONEY, NOTE, REFUSE, RuleGroup

INGREDIENTS = RuleGroup("ingredients")
STOCK = RuleGroup("ingredients")
PRICES = RuleGroup("prices")


def _needs_sap(kind: Text) -> Truth:
    return any_of(same(kind, OIL), same(kind, ACID))


def _crossed(low: Number, high: Number) -> Truth:
    return all_of(given(low), given(high), exceeds(default_to(low, 0), default_to(high, 0)))


# --- saponification and acid values ---


@INGREDIENTS.rule("sap_missing", REFUSE, "sap", "{ingredient} has no SAP, and nothing is published for that name.",
    "Take the SAP from the supplier's certificate.")  # fmt: skip
def sap_missing(kind: Text, sap: Number, known: Number) -> Truth:
    """Whether an oil or an acid has no SAP and nothing is published for it; a typed 0 is one. -> [-]."""
    return all_of(_needs_sap(kind), blank(sap), same(known, 0))


@INGREDIENTS.rule("sap_basis", REFUSE, "sap", "{ingredient} has a SAP of {@value}; in mg KOH per g it cannot be so low.",
    "Type the milligrams of KOH that 1 g needs, such as 190 for olive oil.")  # fmt: skip
def sap_too_low(kind: Text, sap: Number, sap_least: Number) -> Truth:
    return all_of(_needs_sap(kind), default_to(sap, 0) > 0, exceeds(sap_least, default_to(sap, 0)))


@INGREDIENTS.rule("sap_basis", REFUSE, "sap", "{ingredient} has a SAP of {@value}; no fat needs so much KOH.",
    "Type the milligrams of KOH that 1 g needs, such as 190 for olive oil.")  # fmt: skip
def sap_too_high(kind: Text, sap: Number, oil_sap_most: Number) -> Truth:
    return all_of(same(kind, OIL), exceeds(default_to(sap, 0), oil_sap_most))


@INGREDIENTS.rule("sap_basis", REFUSE, "sap", "{ingredient} has an acid value of {@value}; no acid needs so much KOH.",
    "Type the milligrams of KOH that 1 g takes, such as 876 for dry citric acid.")  # fmt: skip
def acid_too_high(kind: Text, sap: Number, acid_sap_most: Number) -> Truth:
    return all_of(same(kind, ACID), exceeds(default_to(sap, 0), acid_sap_most))


@INGREDIENTS.rule("sap_basis", REFUSE, "sap",
    "{ingredient} has a SAP of {@value}; published values are {published_low:1} to {published_high:1}.",
    "It may be milligrams of NaOH, or another unit. Type it as mg KOH per g.")  # fmt: skip
def sap_far_below(
    kind: Text, sap: Number, known: Number, published_low: Number, published_high: Number, sap_far_below: Number
) -> Truth:
    below = exceeds(sap_far_below * published_high, default_to(sap, published_high))
    return all_of(_needs_sap(kind), known > 0, exceeds(published_low, default_to(sap, published_low)), below)


@INGREDIENTS.rule("sap_basis", REFUSE, "sap",
    "{ingredient} has a SAP of {@value}; published values are {published_low:1} to {published_high:1}.",
    "It may have been turned from NaOH to KOH twice. Check the certificate.")  # fmt: skip
def sap_far_above(
    kind: Text, sap: Number, known: Number, published_low: Number, published_high: Number, sap_far_above: Number
) -> Truth:
    above = exceeds(default_to(sap, 0), sap_far_above * published_low)
    return all_of(_needs_sap(kind), known > 0, exceeds(default_to(sap, 0), published_high), above)


@INGREDIENTS.rule("range_crossed", REFUSE, "sap_low", "The SAP range of {ingredient} is not in order: low, value, high.",
    "Correct SAP low, SAP or SAP high.")  # fmt: skip
def sap_range_crossed(sap: Number, sap_low: Number, sap_high: Number) -> Truth:
    return any_of(_crossed(sap_low, sap), _crossed(sap, sap_high), _crossed(sap_low, sap_high))


@INGREDIENTS.rule("range_crossed", REFUSE, "sap",
    "The SAP range of {ingredient} contradicts the published value that a blank cell takes.",
    "Fill SAP, SAP low and SAP high from the certificate.")  # fmt: skip
def sap_range_contradicted(
    kind: Text, known: Number, sap: Number, sap_low: Number, sap_high: Number, sap_in_use: Number,
    sap_low_in_use: Number, sap_high_in_use: Number,
) -> Truth:  # fmt: skip
    ends = any_of(given(sap_low), given(sap_high))
    out = any_of(exceeds(sap_low_in_use, sap_in_use), exceeds(sap_in_use, sap_high_in_use))
    own = all_of(given(sap), opposite(exceeds(sap_low_in_use, sap_high_in_use)))
    return all_of(_needs_sap(kind), known > 0, ends, out, opposite(own))


@INGREDIENTS.rule("sap_basis", REFUSE, "sap", "{ingredient} has an acid value of {@value}; no drink is so sour.",
    "Correct SAP and Water %. If it is a milk, fill Fat %: then SAP is that of its fat and adds no alkali.")  # fmt: skip
def too_sour(
    kind: Text, sap: Number, fat_in_use: Number, water: Number, water_in_use: Number, sourest_liquid: Number,
    sourest_dry: Number,
) -> Truth:  # fmt: skip
    from scaler.formula.helpers import when

    most = when(given(water), (1 - water_in_use) * sourest_dry, sourest_liquid)
    return all_of(same(kind, LIQUID), same(fat_in_use, 0), exceeds(default_to(sap, 0), most))


@INGREDIENTS.rule("sap_outside", LOOK, "sap",
    "{ingredient} has a SAP of {@value}; published values are {published_low:1} to {published_high:1}.",
    "Check the certificate. The superfat at worst uses the published range: fill SAP low and SAP high to use yours.",
    "published range, see Sources")  # fmt: skip
def sap_outside(
    kind: Text, sap: Number, known: Number, published_low: Number, published_high: Number, sap_far_below: Number,
    sap_far_above: Number,
) -> Truth:  # fmt: skip
    value = default_to(sap, published_low)
    above = all_of(exceeds(value, published_high), opposite(exceeds(value, sap_far_above * published_low)))
    below = all_of(exceeds(published_low, value), opposite(exceeds(sap_far_below * published_high, value)))
    return all_of(_needs_sap(kind), known > 0, given(sap), any_of(above, below))


@INGREDIENTS.rule("sap_doubtful", LOOK, "sap",
    "The published SAP of {ingredient}, {published_low:1} to {published_high:1}, is doubtful.",
    "Take it from the supplier's certificate.", "one weak route, see Sources")  # fmt: skip
def sap_doubtful(sap: Number, published_doubt: Number) -> Truth:
    return all_of(published_doubt > 0, blank(sap))


# --- alkalis, liquids, scales, stock ---


@INGREDIENTS.rule("cell_blank", REFUSE, "base_typed", "{ingredient} is an alkali without a Base.", "Type NaOH or KOH.")
def base_missing(kind: Text, base: Text) -> Truth:
    return all_of(same(kind, ALKALI), blank(base))


@INGREDIENTS.rule("base_not_alkali", REFUSE, "base_typed", "{ingredient} has a Base but is Kind {kind}.",
    "Clear Base, or set Kind to alkali.")  # fmt: skip
def base_stray(kind: Text, base: Text) -> Truth:
    return all_of(given(base), opposite(same(kind, ALKALI)))


@INGREDIENTS.rule("purity_missing", REFUSE, "purity", "{ingredient} has Water but no Purity.",
    "Fill Purity: grams of base in 1 g as weighed, 50 % for a 50 % solution.")  # fmt: skip
def purity_missing(kind: Text, purity: Number, water: Number) -> Truth:
    return all_of(same(kind, ALKALI), given(water), blank(purity))


@INGREDIENTS.rule("purity_low", REFUSE, "purity",
    "{ingredient} has a Purity of {purity_in_use:%1}; that is too weak for an alkali.",
    "Purity is grams of base in 1 g as weighed. Correct it, or use a stronger alkali.")  # fmt: skip
def purity_low(kind: Text, purity_in_use: Number, purity_least: Number) -> Truth:
    return all_of(same(kind, ALKALI), exceeds(purity_least, purity_in_use))


@INGREDIENTS.rule("over_whole", REFUSE, "water",
    "{ingredient}: Purity {purity_in_use:%1} and Water {water_in_use:%1} are over 100 %.",
    "Purity counts the water in: a 50 % solution has Purity 50 %, Water 50 %; flakes leave Water blank.")  # fmt: skip
def purity_and_water(kind: Text, purity_in_use: Number, water_in_use: Number) -> Truth:
    return all_of(same(kind, ALKALI), exceeds(purity_in_use + water_in_use, 1))


@INGREDIENTS.rule("range_crossed", REFUSE, "purity", "The purity range of {ingredient} is not in order: low, Purity, high.",
    "Correct Purity low, Purity or Purity high.")  # fmt: skip
def purity_range_crossed(kind: Text, purity_low: Number, purity_in_use: Number, purity_high: Number) -> Truth:
    low = exceeds(default_to(purity_low, 0), purity_in_use)
    return all_of(same(kind, ALKALI), any_of(low, exceeds(purity_in_use, default_to(purity_high, 1))))


@INGREDIENTS.rule("over_whole", REFUSE, "purity_high", "{ingredient}: Purity high and Water are over 100 % together.",
    "Correct Purity high or Water %.")  # fmt: skip
def purity_high_and_water(kind: Text, purity_high: Number, water_in_use: Number) -> Truth:
    return all_of(same(kind, ALKALI), exceeds(default_to(purity_high, 0) + water_in_use, 1))


@INGREDIENTS.rule("over_whole", REFUSE, "water", "{ingredient}: Water and Fat are over 100 % together.",
    "Correct Water % or Fat %.")  # fmt: skip
def water_and_fat(kind: Text, water: Number, fat_in_use: Number) -> Truth:
    return all_of(opposite(same(kind, ALKALI)), exceeds(default_to(water, 0) + fat_in_use, 1))


@INGREDIENTS.rule("unit_wrong", REFUSE, "division_unit", "The Scale division of {ingredient} needs a unit of weight.",
    "Write g, kg, oz or lb.")  # fmt: skip
def division_unit_missing(division: Number, division_unit: Text) -> Truth:
    return all_of(given(division), blank(division_unit))


def _counted_right(kind: Text, unit_kind: Text) -> Truth:
    weighed = any_of(same(unit_kind, "weight"), same(unit_kind, "volume"))
    packaging = same(kind, PACKAGING)
    return any_of(all_of(packaging, same(unit_kind, "count")), all_of(opposite(packaging), weighed))


@STOCK.rule("unit_wrong", REFUSE, "stock_unit",
    "The Stock of {ingredient} needs a unit: a weight or a volume, each for packaging.", "Correct Stock unit.", scope=MONEY)  # fmt: skip
def stock_unit_wrong(kind: Text, stock: Number, stock_unit: Text, stock_unit_kind: Text) -> Truth:
    known = any_of(*(same(stock_unit_kind, measure) for measure in ("", "weight", "volume", "count")))
    return all_of(any_of(given(stock), given(stock_unit)), known, opposite(_counted_right(kind, stock_unit_kind)))


# --- packs on offer ---


@PRICES.rule("unit_wrong", REFUSE, "pack_unit", "{pack_unit} is not a unit for a pack of {ingredient}.",
    "Packaging is counted: each. Anything else is a weight or a volume.", scope=MONEY)  # fmt: skip
def pack_unit_wrong(ingredient_at: Number, pack_unit_kind: Text, ingredients_kind: Column) -> Truth:
    return all_of(
        ingredient_at > 0, opposite(_counted_right(pick(ingredients_kind, ingredient_at, ""), pack_unit_kind))
    )


@INGREDIENTS.rule("price_missing", LOOK, "ingredient", "Nothing is on offer for {ingredient}: its batches have no cost.",
    "Add a row on Prices: what a pack holds and what it costs, 0 if it is free.", channel="price_doubt")  # fmt: skip
def price_missing(
    place: Number, price_rows: Number, lines_ingredient_at: Column, alkalis_ingredient_at: Column,
) -> Truth:  # fmt: skip
    used = count_where(lines_ingredient_at, place) + count_where(alkalis_ingredient_at, place)
    return all_of(used > 0, same(price_rows, 0))


@INGREDIENTS.rule("price_old", LOOK, "ingredient", "The price of {ingredient} is older than Price age on Costs.",
    "Ask for a new price, or raise Price age.", channel="price_doubt")  # fmt: skip
def price_old(price_date: Number, worked_out_on: Number, price_age: Number, days_per_month: Number) -> Truth:
    return all_of(price_date > 0, exceeds(worked_out_on - price_date, price_age * days_per_month))


@PRICES.rule("price_zero", NOTE, "price", "{ingredient} costs nothing.", "Fill its price, unless it really is free.",
    channel="number_doubt")  # fmt: skip
def price_zero(price: Number) -> Truth:
    return all_of(given(price), same(price, 0))


@PRICES.rule("price_apart", LOOK, "price",
    "This pack of {ingredient} costs over a hundred times as much as another, weight for weight.",
    "Check Pack, Pack unit and Price of both.", channel="number_doubt")  # fmt: skip
def price_apart(
    unit_price: Number, ingredient_at: Number, ingredients_unit_cost: Column, percent: Number, big: Number
) -> Truth:
    cheapest = default_to(pick(ingredients_unit_cost, ingredient_at, big), big)
    return all_of(exceeds(default_to(unit_price, 0), cheapest * percent), cheapest > 0)


RULES = (*INGREDIENTS.rules, *STOCK.rules, *PRICES.rules)
