"""Ingredients, prices and moulds whose names, kinds, values or dates do not go together."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, exceeds, given, opposite, same
from scaler.formula.searching import pick
from scaler.formula.steps import handed
from scaler.model.records import ACID, ADDITIVE, ALKALI, COLOUR, FRAGRANCE, LIQUID, OIL, PACKAGING
from scaler.rules.watchwords import ACIDIC, CITRUS, FATTY, LYE, METAL, SOAP, SOUR, SPIRIT
from scaler.validation.rule import LOOK, NOTE, REFUSE, RuleGroup

INGREDIENTS = RuleGroup("ingredients")
MOULDS = RuleGroup("moulds")
_PRACTICE = "common practice, no source"


def _kind_in(kind: Text, *kinds: str) -> Truth:
    return any_of(*(same(kind, held) for held in kinds))


# --- names against kinds ---


@INGREDIENTS.rule("soap_base", REFUSE, "ingredient",
    "{ingredient} is soap already: melting a soap base and rebatching soap are not covered here.",
    "Take it out, or give pieces of finished soap the Kind additive.")  # fmt: skip
def soap_base(kind: Text, watch: Text) -> Truth:
    return all_of(same(watch, SOAP), _kind_in(kind, OIL, LIQUID))


@INGREDIENTS.rule("kind_wrong", REFUSE, "kind_typed", "{ingredient} is Kind {kind}, so its alkali would not be counted.",
    "Set Kind to alkali, and fill Base, Purity % and Water %.", "mass balance")  # fmt: skip
def lye_not_alkali(kind: Text, watch: Text, inci: Text) -> Truth:
    lye = any_of(same(watch, LYE), same(inci, "Sodium Hydroxide"), same(inci, "Potassium Hydroxide"))
    return all_of(lye, _kind_in(kind, LIQUID, ADDITIVE, ACID, OIL))


@INGREDIENTS.rule("kind_doubtful", LOOK, "kind_typed", "{ingredient} takes up alkali, but as Kind {kind} it counts for none.",
    "Set Kind to acid; a blank SAP takes its published value.", "stoichiometry")  # fmt: skip
def acid_not_acid(kind: Text, watch: Text) -> Truth:
    return all_of(same(watch, ACIDIC), _kind_in(kind, LIQUID, ADDITIVE, COLOUR))


@INGREDIENTS.rule("kind_doubtful", LOOK, "sap", "{ingredient} takes up alkali, but it has no acid value.",
    "As Kind liquid, fill SAP: 9.3 for each 1 % of acetic acid, 8.8 for each 1 % of citric acid.", "stoichiometry")  # fmt: skip
def sour_without_value(kind: Text, watch: Text, sap: Number) -> Truth:
    liquid = all_of(same(kind, LIQUID), blank(sap), any_of(same(watch, SOUR), same(watch, CITRUS)))
    return any_of(liquid, all_of(same(kind, ADDITIVE), same(watch, SOUR)))


@INGREDIENTS.rule("kind_doubtful", LOOK, "kind_typed",
    "{ingredient} is a fatty acid and takes up alkali, but Kind {kind} counts for none.", "Set Kind to oil.",
    "definition of the saponification value")  # fmt: skip
def fatty_not_oil(kind: Text, watch: Text) -> Truth:
    return all_of(same(watch, FATTY), _kind_in(kind, LIQUID, ADDITIVE))


@INGREDIENTS.rule("sap_unused", LOOK, "sap", "{ingredient} has a SAP, which Kind {kind} does not use.",
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
    INGREDIENTS.rule(
        "value_unused", LOOK, _at, f"{{ingredient}} has a {_words}, which Kind {{kind}} does not use.",
        "Clear it, or correct Kind.", channel="number_doubt",
    )(handed(
        lambda kind, *cells, _idle=_idle: all_of(_idle(kind), any_of(*map(given, cells))),
        ("kind", *_held), f"Whether a thing has a {_words} that its Kind does not use. -> [-]; our own rule.", f"unused_{_at}",
    ))  # fmt: skip


@INGREDIENTS.rule("water_missing", LOOK, "water", "{ingredient} has a Purity of {purity:%1} and no Water.",
    "If it is a solution fill Water %, 50 % for a 50 % solution; dry alkali is usually 85 % or purer.", _PRACTICE)  # fmt: skip
def dry_alkali_weak(kind: Text, purity: Number, water: Number, dry_purity_least: Number) -> Truth:
    return all_of(same(kind, ALKALI), blank(water), exceeds(dry_purity_least, default_to(purity, 1)))


@INGREDIENTS.rule("sap_unusual", LOOK, "sap",
    "{ingredient} has a SAP of {@value}; most fats need 165 to 270 mg of KOH for 1 g.",
    "Is it of NaOH, or per ounce? Take mg KOH per g from the certificate. Waxes and jojoba do have less.",
    "Codex CXS 210, Table 2")  # fmt: skip
def sap_unusual(kind: Text, known: Number, sap: Number, sap_usual_least: Number, sap_usual_most: Number) -> Truth:
    held = default_to(sap, sap_usual_least)
    out = any_of(exceeds(sap_usual_least, held), exceeds(held, sap_usual_most))
    return all_of(same(kind, OIL), same(known, 0), out)


@INGREDIENTS.rule("density_unusual", LOOK, "density",
    "{ingredient} has a Density of {@value}; oils have 0.85 to 0.99 g/mL and float on water.",
    "Weigh 100 mL of it, and correct Density.", _PRACTICE, channel="number_doubt")  # fmt: skip
def density_unusual(kind: Text, density: Number, oil_density_least: Number) -> Truth:
    held = default_to(density, 1)
    return all_of(same(kind, OIL), any_of(exceeds(oil_density_least, held), exceeds(held, 1)))


# --- what is in it, how old it is ---


@INGREDIENTS.rule("alcohol", LOOK, "ingredient",
    "{ingredient} holds alcohol: it makes batter set at once, and its vapour burns.",
    "Keep flames and hot plates away, add little of it to cool batter, and never put it into hot lye.", _PRACTICE)  # fmt: skip
def alcohol(kind: Text, watch: Text) -> Truth:
    return all_of(same(watch, SPIRIT), _kind_in(kind, LIQUID, ADDITIVE))


@INGREDIENTS.rule("limit_missing", LOOK, "limit", "{ingredient} has no Limit.",
    "Ask its supplier how much of it a bar that is rinsed off may hold, and fill Limit %.", "supplier's limit",
    channel="label_doubt")  # fmt: skip
def limit_missing(kind: Text, limit: Number) -> Truth:
    return all_of(same(kind, FRAGRANCE), blank(limit))


@INGREDIENTS.rule("opened_future", LOOK, "opened", "{ingredient} was opened after the day this was worked out.",
    "Correct Opened.", channel="age_doubt")  # fmt: skip
def thing_opened_future(kind: Text, opened_on: Number, worked_out_on: Number) -> Truth:
    return all_of(opposite(same(kind, ALKALI)), opened_on > worked_out_on)


@INGREDIENTS.rule("oil_old", LOOK, "opened", "{ingredient} has been open for more than 12 months and may be rancid.",
    "Smell it: if it is sharp or smells of paint, use fresh oil.", _PRACTICE, channel="age_doubt")  # fmt: skip
def oil_old(kind: Text, opened_on: Number, worked_out_on: Number, old_after: Number, days_per_month: Number) -> Truth:
    return all_of(same(kind, OIL), opened_on > 0, exceeds(worked_out_on - opened_on, old_after * days_per_month))


@INGREDIENTS.rule("price_future", LOOK, "ingredient", "The price of {ingredient} has a date that is still to come.",
    "Correct Date on Prices.", channel="price_doubt")  # fmt: skip
def price_future(price_date: Number, worked_out_on: Number) -> Truth:
    return price_date > worked_out_on


@INGREDIENTS.rule("stock_short", LOOK, "stock", "The batches need {planned_said} of {ingredient}; {stock_said} is in stock.",
    "Buy more, or make less.", "mass balance", channel="stock_doubt")  # fmt: skip
def stock_short(stock: Number, planned: Number, stock_held: Number, bought_for: Number) -> Truth:
    """Whether all batches need more than the stock; a market run buys what it lacks. [g] [g] [g] [-] -> [-]."""
    return all_of(given(stock), same(bought_for, 0), exceeds(planned, stock_held))


@INGREDIENTS.rule("density_solid", NOTE, "density",
    "The published density of {ingredient} is that of the solid; molten it is less.",
    "Weigh 100 mL of it molten, and fill Density.", "published density, see Sources", channel="label_doubt")  # fmt: skip
def density_solid(density: Number, published_at: Number, published_is_solid: Column) -> Truth:
    return all_of(blank(density), pick(published_is_solid, published_at) > 0)


@INGREDIENTS.rule("purity_open", NOTE, "purity_high",
    "{ingredient} has no Purity high: at worst it is taken as {purity_high_in_use:%1} base, likely as {purity_likely:%1} at most.",
    "Fill Purity high from the certificate.", channel="label_doubt")  # fmt: skip
def purity_open(kind: Text, purity_high: Number, purity_in_use: Number, purity_high_in_use: Number) -> Truth:
    return all_of(same(kind, ALKALI), blank(purity_high), exceeds(purity_high_in_use, purity_in_use))


@MOULDS.rule("mould_metal", LOOK, "mould",
    "Is {mould} made of aluminium, tin or zinc? Raw soap dissolves them and gives off hydrogen.",
    "Use silicone, wood, plastic or stainless steel, or line it so that no soap touches the metal.",
    "ICSC 0360, sodium hydroxide", channel="metal_doubt")  # fmt: skip
def mould_metal(watch: Text) -> Truth:
    return same(watch, METAL)


RULES = (*INGREDIENTS.rules, *MOULDS.rules)
