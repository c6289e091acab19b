"""Ingredients and prices: the values in use where cells are blank, and what one gram costs."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import (
    all_of,
    any_of,
    blank,
    default_to,
    divide,
    given,
    joined,
    lowered,
    opposite,
    same,
    scaled,
    smaller,
    when,
)
from scaler.formula.searching import match, pick, tag, translated
from scaler.formula.steps import SETTING_COLUMN, Step, StepGroup
from scaler.formula.sums import out_of_range
from scaler.model.records import ACID, ALKALI, FRAGRANCE, LIQUID, OIL, PACKAGING
from scaler.model.units import FAHRENHEIT, TEMPERATURE
from scaler.rules.interpolation import add_lye_density
from scaler.rules.plain import counted, found, matched, picked, smallest, usual
from scaler.rules.sheets import UNREAD

SETTINGS = StepGroup("costs")
INGREDIENTS = StepGroup("ingredients")
PRICES = StepGroup("prices")
OFFERS = StepGroup("prices", when="on_offer", closed="big")
UNIT_PRICES = StepGroup("ingredients")
PRICED = StepGroup("ingredients", when="is_priced")


@SETTINGS.step("")
def factor(value: Number, unit: Text, default_unit: Text, units_word: Column, units_any: Column) -> Number:
    """The setting in the engine's own units: g, mL, h; 1 for one that takes no unit. [-] -> [-]; sheet Units."""
    place = match(when(blank(value), default_unit, default_to(unit, default_unit)), units_word)
    return when(given(default_unit), pick(units_any, place, 1), 1)


@SETTINGS.step("")
def measure(
    value: Number, unit: Text, unit_kind: Text, fahrenheit_of_ice: Number, fahrenheit_per_degree: Number
) -> Number:
    """The value as its limits are given: a temperature in °C, anything else as typed. [-] [-] [°F] -> [-]."""
    celsius = scaled(lowered(value, fahrenheit_of_ice), divide(1, fahrenheit_per_degree))
    return when(all_of(same(unit, FAHRENHEIT), same(unit_kind, TEMPERATURE)), celsius, value)


@SETTINGS.step("")
def in_use(measure: Number, default: Number, factor: Number, wrong: Number, other_unit: Number) -> Number:
    """The value, or the default where it is blank or wrong. [-] [-] -> [-]; our own rule."""
    return scaled(when(any_of(wrong > 0, other_unit > 0, blank(measure)), default, measure), factor)


@SETTINGS.step("")
def wrong(
    name: Text, takes: Text, value: Number, measure: Number, least: Number, most: Number, words_word: Column
) -> Number:
    """1 where the value is no number that it can be, or no word of its list. -> [-]; sheet Settings."""
    number = all_of(any_of(same(takes, "number"), same(takes, "percent")), out_of_range(measure, least, most))
    word = all_of(same(takes, "words"), given(value), same(match(tag(name, value), words_word), 0))
    return when(any_of(number, word, same(value, UNREAD)), 1, 0)


@SETTINGS.step("")
def other_unit(unit: Text, unit_kind: Text, units_word: Column, units_kind: Column, two: Number) -> Number:
    """1 where its unit measures something else, 2 where it is none. -> [-]; sheet Units."""
    measures = translated(unit, units_word, units_kind, "")
    wrong = all_of(given(unit_kind), given(unit), opposite(same(measures, unit_kind)))
    return when(wrong, when(given(measures), 1, two), 0)


assert in_use.__name__ == SETTING_COLUMN


def _is(kind: Text, wanted: str) -> Truth:
    return same(kind, wanted)


@INGREDIENTS.step("")
def published_at(kind: Text, ingredient: Text, inci: Text, names_word: Column, names_thing_at: Column) -> Number:
    """Row of what is published for the thing: by its whole name, else its whole label name; 0 for none. -> [-]."""
    by_label = translated(tag(kind, default_to(inci, "")), names_word, names_thing_at, 0)
    return translated(tag(kind, default_to(ingredient, "")), names_word, names_thing_at, by_label)


INGREDIENTS.add("range_source", "text", picked("published_at", "published_source",
    "Who published the range, blank where nobody did.", ""))  # fmt: skip


@INGREDIENTS.step("text")
def range_mark(published_at: Number, sap: Number, published_mark: Column) -> Text:
    """How far the SAP in use can be trusted: the mark of the published one, or supplier. -> [-]."""
    return when(given(sap), "supplier", pick(published_mark, published_at, "supplier"))


@INGREDIENTS.step("text")
def blank_saps(kind: Text, sap: Number, sap_low: Number, sap_high: Number, fat: Number) -> Text:
    """Headers of the blank cells of an oil, an acid or a fatty thing that took a published or a usual SAP. -> [-]."""
    ranged = when(any_of(blank(sap_low), blank(sap_high)), "SAP range. ", "")
    said = joined(when(blank(sap), "SAP. ", ""), ranged)
    fatty = when(all_of(given(fat), blank(sap)), "SAP of its fat. ", "")
    return joined(when(any_of(_is(kind, OIL), _is(kind, ACID)), said, ""), fatty)


@INGREDIENTS.step("text")
def blank_cells(
    kind: Text, density: Number, purity: Number, purity_high: Number, water: Number, blank_saps: Text
) -> Text:
    """Headers of the blank cells that took a published or a usual value. -> [-]."""
    of_alkali = when(blank(purity), "Purity. ", when(blank(purity_high), "Purity high. ", ""))
    dry = all_of(_is(kind, ALKALI), blank(water))
    dense = when(any_of(blank(kind), _is(kind, PACKAGING), given(density), dry), "", "Density. ")
    wet = when(all_of(_is(kind, LIQUID), blank(water)), "Water. ", "")
    return joined(blank_saps, when(_is(kind, ALKALI), of_alkali, ""), dense, wet)


INGREDIENTS.add("published_low", "mg KOH/g", picked("published_at", "published_sap_low", "Lowest published SAP, 0 where none is."))  # fmt: skip
INGREDIENTS.add("published_high", "mg KOH/g", picked("published_at", "published_sap_high", "Highest published SAP, 0 where none is."))  # fmt: skip
INGREDIENTS.add("density_published", "g/mL", picked("published_at", "published_density", "Published density, 0 where none is."))  # fmt: skip
INGREDIENTS.add("published_doubt", "", picked("published_at", "published_is_doubted", "1 where the published SAP is doubtful."))  # fmt: skip


@INGREDIENTS.step("mg KOH/g")
def sap_in_use(kind: Text, sap: Number, published_low: Number, published_high: Number, two: Number) -> Number:
    """SAP; blank: the middle of an oil's published range, the low end of an acid's. [mg KOH/g] x 3 -> [mg KOH/g]."""
    usual = when(_is(kind, ACID), published_low, (published_low + published_high) / two)
    return default_to(sap, usual)


@INGREDIENTS.step("mg KOH/g")
def sap_low_in_use(
    sap_low: Number, published_at: Number, published_low: Number, sap_in_use: Number, sap_spread: Number
) -> Number:
    """Lowest SAP: certificate, published range, else SAP less its spread. -> [mg KOH/g]; row's Source."""
    return default_to(sap_low, when(published_at > 0, published_low, sap_in_use * (1 - sap_spread)))


@INGREDIENTS.step("mg KOH/g")
def sap_high_in_use(
    sap_high: Number, published_at: Number, published_high: Number, sap_in_use: Number, sap_spread: Number
) -> Number:
    """Highest SAP: certificate, published range, else SAP and its spread. -> [mg KOH/g]; row's Source."""
    return default_to(sap_high, when(published_at > 0, published_high, sap_in_use * (1 + sap_spread)))


add_lye_density(INGREDIENTS, "purity_in_use", "own_", "as bought")


@INGREDIENTS.step("g/mL")
def density_known(
    kind: Text, base: Text, water: Number, density_published: Number, own_naoh_density: Number, own_koh_density: Number
) -> Number:
    """Published density, of an alkali solution at its strength; 0 where none is. [-] [g/mL] x 3 -> [g/mL]."""
    is_solution = all_of(_is(kind, ALKALI), default_to(water, 0) > 0)
    return when(is_solution, when(same(base, "KOH"), own_koh_density, own_naoh_density), density_published)


@INGREDIENTS.step("g/mL")
def density_in_use(
    density: Number, kind: Text, density_known: Number, oil_density: Number, other_density: Number
) -> Number:
    """Density, or the published one, or the usual one. [g/mL] x 4 -> [g/mL]; row's Source."""
    usual = when(_is(kind, OIL), oil_density, other_density)
    return default_to(density, when(density_known > 0, density_known, usual))


@INGREDIENTS.step("")
def density_guessed(kind: Text, water: Number, density: Number, density_known: Number) -> Number:
    """1 where neither the row nor a publication gives a density, and it is not plain water. [-] [g/mL] x 2 -> [-]."""
    is_water = all_of(same(kind, LIQUID), same(default_to(water, 1), 1))
    return when(all_of(blank(density), same(density_known, 0), opposite(is_water)), 1, 0)


INGREDIENTS.add("purity_in_use", "%", usual("purity", 1, "Purity, 100 % where it is blank; supplier's label."))
INGREDIENTS.add("purity_low_in_use", "%", usual("purity_low", "purity_in_use",
    "Lowest purity of the certificate, else the purity; supplier's certificate."))  # fmt: skip


@INGREDIENTS.step("%")
def purity_high_in_use(purity_high: Number, water_in_use: Number) -> Number:
    """Highest purity of the certificate, else all that is not water: a label states a least purity. [g/g] [g/g] -> [g/g]."""
    return default_to(purity_high, 1 - water_in_use)


@INGREDIENTS.step("%")
def purity_likely(
    purity_high: Number, purity_in_use: Number, water_in_use: Number, purity_point: Number, two: Number
) -> Number:
    """Highest likely purity: a label states a least one. [g/g] x 4 [-] -> [g/g]; our own rule."""
    beyond = smaller(purity_point, (1 - purity_in_use - water_in_use) / two)
    return default_to(purity_high, purity_in_use + beyond)


@INGREDIENTS.step("%")
def water_in_use(water: Number, kind: Text) -> Number:
    """Water in it: a liquid's blank is 100 %, any other's 0. [g/g] -> [g/g]; our own rule."""
    return default_to(water, when(_is(kind, LIQUID), 1, 0))


INGREDIENTS.add("fat_in_use", "%", usual("fat", 0, "Fat in it, 0 where it is blank; supplier's label."))


@INGREDIENTS.step("g/g")
def fat_koh(fat_in_use: Number, sap: Number, milk_fat_sap: Number, gram_per_mg: Number) -> Number:
    """KOH that the fat in 1 g of a milk would take. [g/g] [mg KOH/g] x 2 [g/mg] -> [g/g]; published milk fat."""
    return when(fat_in_use > 0, fat_in_use * default_to(sap, milk_fat_sap) * gram_per_mg, 0)


@INGREDIENTS.step("")
def sour(kind: Text, fat_in_use: Number) -> Number:
    """1 for an acid, and for a liquid whose SAP is an acid value: it holds no fat. -> [-]; our own rule."""
    return when(any_of(_is(kind, ACID), all_of(_is(kind, LIQUID), same(fat_in_use, 0))), 1, 0)


@INGREDIENTS.step("mg KOH/g")
def counted_sap(kind: Text, sour: Number, sap_in_use: Number) -> Number:
    """SAP of an oil, acid value of an acid or a sour liquid, 0 for anything else. [-] [mg KOH/g] -> [mg KOH/g]; our own rule."""
    return when(any_of(_is(kind, OIL), sour > 0), sap_in_use, 0)


INGREDIENTS.add("limit_in_use", "%", usual("limit", 0,
    "Highest share of the cured bar, 0 where there is no limit; supplier's limit."))  # fmt: skip


@INGREDIENTS.step("")
def never_up(kind: Text, limit_in_use: Number) -> Number:
    """1 for what is never weighed up: alkali, and a fragrance with a limit. -> [-]; our own rule."""
    limited = all_of(_is(kind, FRAGRANCE), limit_in_use > 0)
    return when(any_of(_is(kind, ALKALI), limited), 1, 0)


@INGREDIENTS.step("g/g")
def base_per_koh(kind: Text, base: Text, naoh_molar_mass: Number, koh_molar_mass: Number) -> Number:
    """Grams of this base that do the work of 1 g of KOH. [g/mol] [g/mol] -> [g/g]; IUPAC atomic weights."""
    ratio = when(same(default_to(base, ""), "NaOH"), naoh_molar_mass / koh_molar_mass, 1)
    return when(_is(kind, ALKALI), ratio, 0)


def _koh(kind: Text, sap: Number, purity: Number, sour: Number, base_per_koh: Number, gram_per_mg: Number) -> Number:
    """KOH that 1 g stands for: an alkali brings it, an oil, an acid or a sour liquid needs it. -> [g/g]."""
    need = when(any_of(_is(kind, OIL), sour > 0), sap * gram_per_mg, 0)
    return when(_is(kind, ALKALI), divide(purity, base_per_koh), need)


@INGREDIENTS.step("g/g")
def koh_use(
    kind: Text, sap_in_use: Number, purity_in_use: Number, sour: Number, base_per_koh: Number, gram_per_mg: Number
) -> Number:
    """KOH that 1 g of it brings or needs. [mg KOH/g] [g/g] [-] [g/g] [g/mg] -> [g/g]."""
    return _koh(kind, sap_in_use, purity_in_use, sour, base_per_koh, gram_per_mg)


@INGREDIENTS.step("g/g")
def koh_low(
    kind: Text, sap_low_in_use: Number, purity_low_in_use: Number, sour: Number, base_per_koh: Number,
    gram_per_mg: Number, koh_use: Number,
) -> Number:  # fmt: skip
    """KOH that 1 g of it brings or needs at least. [mg KOH/g] [g/g] [-] [g/g] [g/mg] [g/g] -> [g/g]."""
    found = _koh(kind, sap_low_in_use, purity_low_in_use, sour, base_per_koh, gram_per_mg)
    return when(koh_use > 0, found, 0)


@INGREDIENTS.step("g/g")
def koh_high(
    kind: Text, sap_high_in_use: Number, purity_high_in_use: Number, sour: Number, base_per_koh: Number,
    gram_per_mg: Number, koh_use: Number,
) -> Number:  # fmt: skip
    """KOH that 1 g of it brings or needs at most. [mg KOH/g] [g/g] [-] [g/g] [g/mg] [g/g] -> [g/g]."""
    found = _koh(kind, sap_high_in_use, purity_high_in_use, sour, base_per_koh, gram_per_mg)
    return when(koh_use > 0, found, 0)


@INGREDIENTS.step("g/g")
def koh_likely(kind: Text, purity_likely: Number, base_per_koh: Number, koh_high: Number) -> Number:
    """KOH that 1 g of it brings or needs at most, as far as is likely. [g/g] x 3 -> [g/g]."""
    return when(_is(kind, ALKALI), divide(purity_likely, base_per_koh), koh_high)


@INGREDIENTS.step("g/g")
def koh_mid(koh_low: Number, koh_likely: Number, two: Number) -> Number:
    """KOH that 1 g of it stands for in the middle of its range. [g/g] [g/g] -> [g/g]."""
    return (koh_low + koh_likely) / two


@INGREDIENTS.step("g")
def division_g(
    division: Number, division_unit: Text, units_word: Column, units_weight: Column, workshop_division: Number,
) -> Number:  # fmt: skip
    """Division of the scale it is weighed on. [-] [g] -> [g]; sheet Units."""
    own = default_to(division, 0) * translated(division_unit, units_word, units_weight, 0)
    return when(given(division), own, workshop_division)


PRICES.add("ingredient_at", "", found("ingredient", "ingredients_ingredient", "Row of the ingredient on sheet Ingredients."))  # fmt: skip
PRICES.add("unit_at", "", matched("pack_unit", "units_word", "Row of the pack's unit on sheet Units."))


@PRICES.step("g or each")
def pack_holds(
    pack: Number, unit_at: Number, ingredient_at: Number, units_weight: Column, units_volume: Column,
    units_count: Column, ingredients_density_in_use: Column,
) -> Number:  # fmt: skip
    """What one pack holds, a volume through the thing's density. [-] [g/mL] -> [g]; sheet Units."""
    by_volume = pick(units_volume, unit_at) * pick(ingredients_density_in_use, ingredient_at)
    return pack * (pick(units_weight, unit_at) + by_volume + pick(units_count, unit_at))


@OFFERS.step("money/g")
def unit_price(price: Number, delivery: Number, pack_holds: Number) -> Number:
    """Price of one gram (or piece), delivery in. [money] [money] [g] -> [money/g]."""
    return divide(price + default_to(delivery, 0), pack_holds)


UNIT_PRICES.add("price_rows", "", counted("place", "prices_ingredient_at", "How many packs of it are on offer."))
UNIT_PRICES.add("price_cause", "", smallest("place", "prices_ingredient_at", "prices_money_fault_key",
    "Issue of a pack on offer, for which the thing has no cost."))  # fmt: skip


@UNIT_PRICES.step("")
def is_priced(price_rows: Number, price_cause: Number, big: Number) -> Number:
    """1 where every pack on offer of the thing is sound, and there is one. -> [-]."""
    return when(all_of(price_rows > 0, same(price_cause, big)), 1, 0)


PRICED.add("unit_cost", "money/g", smallest("place", "prices_ingredient_at", "prices_unit_price",
    "Cheapest price of one gram (or piece)."))  # fmt: skip


STEPS: tuple[Step, ...] = (
    *SETTINGS.steps, *INGREDIENTS.steps, *PRICES.steps, *OFFERS.steps, *UNIT_PRICES.steps, *PRICED.steps,
)  # fmt: skip
