"""Ingredients and packs on offer: what may not be, and names, kinds, values or dates that do not go together."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, opposite, same
from scaler.formula.searching import pick
from scaler.formula.sums import count_where
from scaler.model.records import ACID, ADDITIVE, ALKALI, COLOUR, FRAGRANCE, LIQUID, OIL, PACKAGING
from scaler.rules.watchwords import ACIDIC, CITRUS, FATTY, LYE, SOAP, SOUR, SPIRIT
from scaler.validation.rule import LOOK, MONEY, NOTE, REFUSE, RuleGroup

INGREDIENTS = RuleGroup("ingredients")
STOCK = RuleGroup("ingredients")
PRICES = RuleGroup("prices")


def _needs_sap(kind: Text) -> Truth:
    return any_of(same(kind, OIL), same(kind, ACID))


def _crossed(low: Number, high: Number) -> Truth:
    return all_of(given(low), given(high), exceeds(default_to(low, 0), default_to(high, 0)))


# --- saponification and acid values ---


@INGREDIENTS.rule("sap_missing", REFUSE, "sap", "{ingredient} has no SAP, and no oil of exactly that name is published.",
    "Take the SAP from the supplier's certificate.")  # fmt: skip
def sap_missing(ingredient: Text, kind: Text, sap: Number, published_at: Number) -> Truth:
    """Whether an oil or an acid with a name has no SAP and nothing is published for it; a typed 0 is one. -> [-]."""
    return all_of(given(ingredient), _needs_sap(kind), blank(sap), same(published_at, 0))


@INGREDIENTS.rule("sap_basis", REFUSE, "sap", "{ingredient} has a SAP of {@value}; in mg KOH per g it cannot be so low.",
    "Type the milligrams of KOH that 1 g needs, such as 190 for olive oil.")  # fmt: skip
def sap_too_low(kind: Text, sap: Number, sap_least: Number) -> Truth:
    return all_of(_needs_sap(kind), default_to(sap, 0) > 0, exceeds(sap_least, default_to(sap, 0)))


@INGREDIENTS.rule("sap_basis", REFUSE, "sap", "{ingredient} has a SAP of {@value}; no fat needs so much KOH.",
    "Type the milligrams of KOH that 1 g needs, such as 190 for olive oil.")  # fmt: skip
def sap_too_high(kind: Text, sap: Number, oil_sap_most: Number) -> Truth:
    return all_of(same(kind, OIL), exceeds(default_to(sap, 0), oil_sap_most))


@INGREDIENTS.rule("sap_basis", REFUSE, "sap",
    "{ingredient} has a SAP of {@value}; published values are {published_low:1} to {published_high:1}.",
    "It may be milligrams of NaOH, or another unit. Type it as mg KOH per g.")  # fmt: skip
def sap_far_below(
    kind: Text, sap: Number, published_at: Number, published_low: Number, published_high: Number, sap_far_below: Number
) -> Truth:
    typed = default_to(sap, 0)
    below = exceeds(sap_far_below * published_high, typed)
    return all_of(_needs_sap(kind), published_at > 0, given(sap), exceeds(published_low, typed), below)


@INGREDIENTS.rule("sap_basis", REFUSE, "sap",
    "{ingredient} has a SAP of {@value}; published values are {published_low:1} to {published_high:1}.",
    "It may have been converted from NaOH to KOH twice. Check the certificate.")  # fmt: skip
def sap_far_above(
    kind: Text, sap: Number, published_at: Number, published_low: Number, published_high: Number, sap_far_above: Number
) -> Truth:
    above = exceeds(default_to(sap, 0), sap_far_above * published_low)
    return all_of(_needs_sap(kind), published_at > 0, exceeds(default_to(sap, 0), published_high), above)


@INGREDIENTS.rule("range_crossed", REFUSE, "sap_low", "The SAP range of {ingredient} is not in order: low, value, high.",
    "Correct SAP low, SAP or SAP high.")  # fmt: skip
def sap_range_crossed(sap: Number, sap_low: Number, sap_high: Number) -> Truth:
    return any_of(_crossed(sap_low, sap), _crossed(sap, sap_high), _crossed(sap_low, sap_high))


@INGREDIENTS.rule("range_crossed", REFUSE, "sap",
    "The SAP range of {ingredient} contradicts the published value that a blank cell takes.",
    "Fill SAP, SAP low and SAP high from the certificate.")  # fmt: skip
def sap_range_contradicted(
    kind: Text, published_at: Number, sap: Number, sap_low: Number, sap_high: Number, sap_in_use: Number,
    sap_low_in_use: Number, sap_high_in_use: Number,
) -> Truth:  # fmt: skip
    ends = any_of(given(sap_low), given(sap_high))
    out = any_of(exceeds(sap_low_in_use, sap_in_use), exceeds(sap_in_use, sap_high_in_use))
    own = all_of(given(sap), opposite(exceeds(sap_low_in_use, sap_high_in_use)))
    return all_of(_needs_sap(kind), published_at > 0, ends, out, opposite(own))


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
    kind: Text, sap: Number, published_at: Number, published_low: Number, published_high: Number, sap_far_below: Number,
    sap_far_above: Number,
) -> Truth:  # fmt: skip
    value = default_to(sap, 0)
    above = all_of(exceeds(value, published_high), opposite(exceeds(value, sap_far_above * published_low)))
    below = all_of(exceeds(published_low, value), opposite(exceeds(sap_far_below * published_high, value)))
    return all_of(_needs_sap(kind), published_at > 0, given(sap), any_of(above, below))


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


@INGREDIENTS.rule("purity_missing", REFUSE, "purity", "{ingredient} has Water or Purity high but no Purity.",
    "Fill Purity: grams of base in 1 g as weighed, 50 % for a 50 % solution.")  # fmt: skip
def purity_missing(kind: Text, purity: Number, purity_high: Number, water: Number) -> Truth:
    weaker = any_of(given(water), exceeds(1, default_to(purity_high, 1)))
    return all_of(same(kind, ALKALI), blank(purity), weaker)


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
def purity_range_crossed(kind: Text, purity: Number, purity_low: Number, purity_high: Number) -> Truth:
    return all_of(same(kind, ALKALI), any_of(_crossed(purity_low, purity), _crossed(purity, purity_high)))


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
def price_apart(unit_price: Number, ingredient_at: Number, ingredients_unit_cost: Column, percent: Number) -> Truth:
    cheapest = default_to(pick(ingredients_unit_cost, ingredient_at), 0)
    return all_of(exceeds(default_to(unit_price, 0), cheapest * percent), cheapest > 0)


DOUBTS = RuleGroup("ingredients")
_PRACTICE = "common practice, no source"


def _kind_in(kind: Text, *kinds: str) -> Truth:
    return any_of(*(same(kind, held) for held in kinds))


# --- names against kinds ---


@DOUBTS.rule("soap_base", REFUSE, "ingredient",
    "{ingredient} is soap already: melting a soap base and rebatching soap are not covered here.",
    "Take it out, or give pieces of finished soap the Kind additive.")  # fmt: skip
def soap_base(kind: Text, watch: Text) -> Truth:
    return all_of(same(watch, SOAP), _kind_in(kind, OIL, LIQUID))


@DOUBTS.rule("kind_wrong", REFUSE, "kind_typed", "{ingredient} is Kind {kind}, so its alkali would not be counted.",
    "Set Kind to alkali, and fill Base, Purity % and Water %.", "mass balance")  # fmt: skip
def lye_not_alkali(kind: Text, watch: Text, inci: Text) -> Truth:
    lye = any_of(same(watch, LYE), same(inci, "Sodium Hydroxide"), same(inci, "Potassium Hydroxide"))
    return all_of(lye, _kind_in(kind, LIQUID, ADDITIVE, ACID, OIL))


@DOUBTS.rule("kind_doubtful", LOOK, "kind_typed", "{ingredient} takes up alkali, but as Kind {kind} it counts for none.",
    "Set Kind to acid; a blank SAP takes its published value.", "stoichiometry")  # fmt: skip
def acid_not_acid(kind: Text, watch: Text) -> Truth:
    return all_of(same(watch, ACIDIC), _kind_in(kind, LIQUID, ADDITIVE, COLOUR))


@DOUBTS.rule("kind_doubtful", LOOK, "sap", "{ingredient} takes up alkali, but it has no acid value.",
    "As Kind liquid, fill SAP: 9.3 for each 1 % of acetic acid, 8.8 for each 1 % of citric acid.", "stoichiometry")  # fmt: skip
def sour_without_value(kind: Text, watch: Text, sap: Number) -> Truth:
    liquid = all_of(same(kind, LIQUID), blank(sap), any_of(same(watch, SOUR), same(watch, CITRUS)))
    return any_of(liquid, all_of(same(kind, ADDITIVE), same(watch, SOUR)))


@DOUBTS.rule("kind_doubtful", LOOK, "kind_typed",
    "{ingredient} is a fatty acid and takes up alkali, but Kind {kind} counts for none.", "Set Kind to oil.",
    "definition of the saponification value")  # fmt: skip
def fatty_not_oil(kind: Text, watch: Text) -> Truth:
    return all_of(same(watch, FATTY), _kind_in(kind, LIQUID, ADDITIVE))


@DOUBTS.rule("sap_unused", LOOK, "sap", "{ingredient} has a SAP, which Kind {kind} does not use.",
    "If it takes up alkali set Kind to oil or acid; if it holds fat fill Fat %; otherwise clear SAP.")  # fmt: skip
def sap_unused(kind: Text, sap: Number, fat_in_use: Number) -> Truth:
    return all_of(default_to(sap, 0) > 0, same(fat_in_use, 0), _kind_in(kind, ADDITIVE, FRAGRANCE, COLOUR))


_UNUSED = (
    ("purity", ("purity", "purity_low", "purity_high"), "Purity", lambda kind: opposite(_kind_in(kind, ALKALI, ""))),
    ("water", ("water",), "Water", lambda kind: opposite(_kind_in(kind, ALKALI, LIQUID, ""))),
    ("fat", ("fat",), "Fat", lambda kind: _kind_in(kind, OIL, ALKALI, PACKAGING)),
    ("sap", ("sap", "limit"), "SAP or Limit", lambda kind: _kind_in(kind, ALKALI, PACKAGING)),
    ("density", ("density", "division"), "Density or Scale division", lambda kind: same(kind, PACKAGING)),
)  # fmt: skip
"""Columns that some kinds do not use: where it is said, the columns, their words, and which kinds."""
for _at, _held, _words, _idle in _UNUSED:
    DOUBTS.add(
        f"unused_{_at}", ("kind", *_held), lambda kind, *cells, _idle=_idle: all_of(_idle(kind), any_of(*map(given, cells))),
        "value_unused", LOOK, _at, f"{{ingredient}} has a {_words}, which Kind {{kind}} does not use.",
        "Clear it, or correct Kind.", channel="number_doubt",
    )  # fmt: skip


@DOUBTS.rule("water_missing", LOOK, "water", "{ingredient} has a Purity of {purity:%1} and no Water.",
    "If it is a solution fill Water %, 50 % for a 50 % solution; dry alkali is usually 85 % or purer.", _PRACTICE)  # fmt: skip
def dry_alkali_weak(kind: Text, purity: Number, water: Number, dry_purity_least: Number) -> Truth:
    return all_of(same(kind, ALKALI), blank(water), exceeds(dry_purity_least, default_to(purity, 1)))


@DOUBTS.rule("sap_unusual", LOOK, "sap",
    "{ingredient} has a SAP of {@value}; most fats need 165 to 270 mg of KOH for 1 g.",
    "Is it of NaOH, or per ounce? Take mg KOH per g from the certificate. Waxes and jojoba do have less.",
    "Codex CXS 210, Table 2")  # fmt: skip
def sap_unusual(
    kind: Text, published_at: Number, sap: Number, sap_usual_least: Number, sap_usual_most: Number
) -> Truth:
    held = default_to(sap, sap_usual_least)
    out = any_of(exceeds(sap_usual_least, held), exceeds(held, sap_usual_most))
    return all_of(same(kind, OIL), same(published_at, 0), out)


@DOUBTS.rule("density_unusual", LOOK, "density",
    "{ingredient} has a Density of {@value}; oils have 0.85 to 0.99 g/mL and float on water.",
    "Weigh 100 mL of it, and correct Density.", _PRACTICE, channel="number_doubt")  # fmt: skip
def density_unusual(kind: Text, density: Number, oil_density_least: Number) -> Truth:
    held = default_to(density, 1)
    return all_of(same(kind, OIL), any_of(exceeds(oil_density_least, held), exceeds(held, 1)))


# --- what is in it, how old it is ---


@DOUBTS.rule("alcohol", LOOK, "ingredient",
    "{ingredient} holds alcohol: it makes batter set at once, and its vapour burns.",
    "Keep flames and hot plates away, add little of it to cool batter, and never put it into hot lye.", _PRACTICE)  # fmt: skip
def alcohol(kind: Text, watch: Text) -> Truth:
    return all_of(same(watch, SPIRIT), _kind_in(kind, LIQUID, ADDITIVE))


@DOUBTS.rule("limit_missing", LOOK, "limit", "{ingredient} has no Limit.",
    "Ask its supplier how much of it a bar that is rinsed off may hold, and fill Limit %.", "supplier's limit",
    channel="label_doubt")  # fmt: skip
def limit_missing(kind: Text, limit: Number) -> Truth:
    return all_of(same(kind, FRAGRANCE), blank(limit))


@DOUBTS.rule("opened_future", LOOK, "opened", "{ingredient} was opened after the day this was worked out.",
    "Correct Opened.", channel="age_doubt")  # fmt: skip
def thing_opened_future(kind: Text, opened_on: Number, worked_out_on: Number) -> Truth:
    return all_of(opposite(same(kind, ALKALI)), opened_on > worked_out_on)


@DOUBTS.rule("oil_old", LOOK, "opened", "{ingredient} has been open for more than 12 months and may be rancid.",
    "Smell it: if it is sharp or smells of paint, use fresh oil.", _PRACTICE, channel="age_doubt")  # fmt: skip
def oil_old(kind: Text, opened_on: Number, worked_out_on: Number, old_after: Number, days_per_month: Number) -> Truth:
    return all_of(same(kind, OIL), opened_on > 0, exceeds(worked_out_on - opened_on, old_after * days_per_month))


@DOUBTS.rule("price_future", LOOK, "ingredient", "The price of {ingredient} has a date that is still to come.",
    "Correct Date on Prices.", channel="price_doubt")  # fmt: skip
def price_future(price_date: Number, worked_out_on: Number) -> Truth:
    return price_date > worked_out_on


@DOUBTS.rule("stock_short", LOOK, "stock", "The batches need {planned_said} of {ingredient}; {stock_said} is in stock.",
    "Buy more, or make less.", "mass balance", channel="stock_doubt")  # fmt: skip
def stock_short(stock: Number, planned: Number, stock_held: Number, bought_for: Number) -> Truth:
    """Whether all batches need more than the stock; a market run buys what it lacks. [g] [g] [g] [-] -> [-]."""
    return all_of(given(stock), same(bought_for, 0), exceeds(planned, stock_held))


@DOUBTS.rule("density_solid", NOTE, "density",
    "The published density of {ingredient} is that of the solid; molten it is less.",
    "Weigh 100 mL of it molten, and fill Density.", "published density, see Sources", channel="label_doubt")  # fmt: skip
def density_solid(density: Number, published_at: Number, published_is_solid: Column) -> Truth:
    return all_of(blank(density), pick(published_is_solid, published_at) > 0)


@DOUBTS.rule("purity_open", NOTE, "purity_high",
    "{ingredient} has no Purity high: at worst it is taken as {purity_high_in_use:%1} base, likely as {purity_likely:%1} at most.",
    "Fill Purity high from the certificate.", channel="label_doubt")  # fmt: skip
def purity_open(kind: Text, purity_high: Number, purity_in_use: Number, purity_high_in_use: Number) -> Truth:
    return all_of(same(kind, ALKALI), blank(purity_high), exceeds(purity_high_in_use, purity_in_use))


RULES = (*INGREDIENTS.rules, *STOCK.rules, *PRICES.rules, *DOUBTS.rules)
