"""The workshop as records: one frozen class an input sheet, each field carrying its column."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from scaler.model import shapes
from scaler.model.problems import Place, Problem, Warning
from scaler.model.schema import (
    ANY,
    CHOICE,
    DATE,
    NAME,
    NUMBER,
    PERCENT,
    REFERENCE,
    TEXT,
    UNIT,
    WHOLE,
    YES_NO,
    Record,
    Sheet,
    column,
    read_as,
)
from scaler.model.units import COUNT, LENGTH, LIQUID_SHARE, PER_BAR, PER_BATCH, RATIO, VOLUME, WEIGHT

OIL, ALKALI, ACID, LIQUID, ADDITIVE, FRAGRANCE, COLOUR, PACKAGING = KINDS = (
    "oil", "alkali", "acid", "liquid", "additive", "fragrance", "colour", "packaging",
)  # fmt: skip
BLEND = "blend"
"""Kind of a line that names a recipe of oils alone."""
BASES = ("NaOH", "KOH")
PLANNED, MADE, FAILED = STATES = ("planned", "made", "failed")
"""What has become of a batch."""

# A column is two or three lines: what it is, what it takes, what is asked about.
# fmt: off

_SAP: dict[str, Any] = {"unit": "mg KOH/g", "least": 0, "most": 1300, "doubt_below": 1, "doubt_above": 1000, "slip": "Is it mg of KOH for 1 g?"}
_PURITY: dict[str, Any] = {"above": 0, "doubt_below": 0.3, "slip": "Is it a solution this weak?"}
_LENGTH: dict[str, Any] = {"above": 0, "most": 1e4, "doubt_below": 0.1, "doubt_above": 2000, "slip": "Is Unit right?", "unit_in": "unit"}
"""What several columns take and are asked about alike."""


@dataclass(frozen=True, kw_only=True)
class Ingredient(Record):
    """Something the workshop buys."""

    ingredient: str = column("Ingredient", NAME, "Name of the thing, each only once.", required=True)
    kind: str = column("Kind", CHOICE, "What it is in the pot. Fatty acids such as stearic are oils.",
        required=True, choices=KINDS, words=read_as("Kind"))
    inci: str | None = column("INCI", TEXT, "Name for the label.", worked=True)
    sap: float | None = column("SAP", NUMBER,
        "Saponification value of an oil, acid value of an acid. Blank: the published value, when it is known.", **_SAP)
    sap_low: float | None = column("SAP low", NUMBER,
        "Lowest value on the supplier's certificate. Blank: published range.", **_SAP)
    sap_high: float | None = column("SAP high", NUMBER,
        "Highest value on the supplier's certificate. Blank: published range.", **_SAP)
    density: float | None = column("Density", NUMBER,
        "Weight of 1 mL at room temperature. Blank: published, else 0.92 for an oil, 1.00 otherwise.",
        unit="g/mL", above=0, most=6, doubt_below=0.25, doubt_above=3, slip="Has the point slipped?")
    base: str | None = column("Base", CHOICE, "Alkali only: which base it is.", choices=BASES, words=read_as("Base"))
    purity: float | None = column("Purity %", PERCENT,
        "Alkali: base in 1 g as weighed, its water included. Blank with Water blank: 100 %.", **_PURITY)
    purity_low: float | None = column("Purity low %", PERCENT, "From the certificate. Blank: Purity.", **_PURITY)
    purity_high: float | None = column("Purity high %", PERCENT, "From the certificate. Blank: all but its water, at worst.", **_PURITY)
    water: float | None = column("Water %", PERCENT,
        "Water in a liquid (blank: 100 %) or in an alkali solution (blank: 0 %).",
        least=0)
    fat: float | None = column("Fat %", PERCENT, "Fat in a liquid or an additive, such as milk.",
        least=0, doubt_above=0.5, slip="Is it an oil, with Kind oil?")
    limit: float | None = column("Limit %", PERCENT,
        "Highest share of the cured bar: a fragrance supplier's limit.",
        above=0, doubt_below=0.0005, slip="Is the % sign right?")
    division: float | None = column("Scale division", NUMBER,
        "Smallest step of the scale this thing is weighed on. Blank: the one on Costs.",
        above=0, most=1000, doubt_below=0.0001, doubt_above=10, slip="Is Division unit right?", unit_in="division_unit")
    division_unit: str | None = column("Division unit", UNIT, "Unit of Scale division.", choices=(WEIGHT,))
    opened: date | None = column("Opened", DATE, "Date the container was opened.")
    stock: float | None = column("Stock", NUMBER, "How much is on the shelf now.",
        least=0, most=1e7, doubt_above=200_000, slip="Is Stock unit right?", unit_in="stock_unit")
    stock_unit: str | None = column("Stock unit", UNIT, "Unit of Stock.", choices=(WEIGHT, VOLUME, COUNT))
    source: str | None = column("Source", TEXT, "Where the numbers of this row come from.")


@dataclass(frozen=True, kw_only=True)
class Price(Record):
    """A pack on offer."""

    ingredient: str = column("Ingredient", REFERENCE, "What is in the pack.", required=True, refers="Ingredient")
    pack: float = column("Pack", NUMBER, "How much is in the pack.", required=True,
        above=0, most=1e7, doubt_below=0.01, doubt_above=200_000, slip="Is Pack unit right?", unit_in="pack_unit")
    pack_unit: str = column("Pack unit", UNIT, "Any weight or volume; each for packaging.",
        required=True, choices=(WEIGHT, VOLUME, COUNT))
    price: float = column("Price", NUMBER, "Price of one pack, without tax that is reclaimed.", required=True,
        least=0, most=1e8, doubt_above=1e6, slip="Has the point slipped?", money=True)
    delivery: float | None = column("Delivery", NUMBER, "Delivery for one pack.",
        least=0, most=1e8, doubt_above=1e5, slip="Is it for the whole order?", money=True)
    supplier: str | None = column("Supplier", TEXT, "Who sells it.", worked=True)
    date: date | None = column("Date", DATE, "Date of the price.")


@dataclass(frozen=True, kw_only=True)
class Mould(Record):
    """A mould, measured inside."""

    mould: str = column("Mould", NAME, "Name of the mould, each only once.", required=True)
    shape: str = column("Shape", CHOICE, "Which solid it is.", required=True, choices=shapes.WORDS, words=read_as("Shape"))
    unit: str | None = column("Unit", UNIT, "Unit of every length in this row.", choices=(LENGTH,))
    length: float | None = column("Length", NUMBER, "Inside length; of a taper at the bottom.", **_LENGTH)
    width: float | None = column("Width", NUMBER, "Inside width; of a taper at the bottom.", **_LENGTH)
    depth: float | None = column("Depth", NUMBER, "Inside depth.", **_LENGTH)
    top_length: float | None = column("Top length", NUMBER, "Inside length of a taper at its top.", **_LENGTH)
    top_width: float | None = column("Top width", NUMBER, "Inside width of a taper at its top.", **_LENGTH)
    diameter: float | None = column("Diameter", NUMBER, "Inside diameter of a cylinder or half cylinder.", **_LENGTH)
    cavities: int | None = column("Cavities", WHOLE, "Number of equal cavities.",
        least=1, most=10_000, doubt_above=200, slip="Is it the number of cavities of one tray?")
    capacity: float | None = column("Capacity", NUMBER,
        "Measured by water fill: the whole mould, or one of its cavities.",
        above=0, most=1e6, doubt_below=0.05, doubt_above=50_000, slip="Is Capacity unit right?", unit_in="capacity_unit")
    capacity_unit: str | None = column("Capacity unit", UNIT, "Unit of Capacity; a weight is grams of water.",
        choices=(VOLUME, WEIGHT))
    liner: float | None = column("Liner", NUMBER, "Thickness of the liner.",
        least=0, most=1000, doubt_above=20, slip="Is Unit right?", unit_in="unit")
    fill: float | None = column("Fill %", PERCENT, "Share of the depth that is filled. Blank: 100 %.",
        above=0, doubt_below=0.4, slip="Is it the share that is left empty?")
    bar_cut: float | None = column("Bar cut", NUMBER, "Thickness of one bar along the log.",
        above=0, most=1e4, doubt_below=0.1, doubt_above=200, slip="Is Unit right?", unit_in="unit")
    trim: float | None = column("Trim", NUMBER, "Total length cut off the ends of the log.",
        least=0, most=1e4, doubt_above=200, slip="Is Unit right?", unit_in="unit")
    bars: int | None = column("Bars", WHOLE, "Bars from one fill; when filled, Bar cut is not used.",
        least=1, most=10_000, doubt_above=400, slip="Is it the bars of one mould?")
    owned: int | None = column("Owned", WHOLE, "How many of this mould there are. Blank: 1.",
        least=0, most=10_000, doubt_above=200, slip="Is it the number of moulds, not of cavities?")


@dataclass(frozen=True, kw_only=True)
class Recipe(Record):
    """A recipe: how much alkali, how much liquid, how long a cure."""

    recipe: str = column("Recipe", NAME, "Name of the recipe, each only once.", required=True)
    superfat: float = column("Superfat %", PERCENT, "Share of the oils' alkali need that is left out.",
        required=True, doubt_above=0.2, slip="Is it the superfat, in percent of the oils?")
    lye_concentration: float | None = column("Lye concentration %", PERCENT,
        "Alkali in alkali and liquid together. Fill one of the three.",
        above=0, doubt_below=0.15, slip="Is it liquid of oils, or liquid to alkali?")
    liquid_to_alkali: float | None = column("Liquid to alkali", NUMBER,
        "Weight of liquid for 1 of alkali. Fill one of the three.",
        above=0, most=30, doubt_above=5, slip="Is it a percentage of the oils, or of the lye?")
    liquid_of_oils: float | None = column("Liquid of oils %", PERCENT,
        "Liquid as a share of the oils. Fill one of the three.",
        above=0, doubt_below=0.1, doubt_above=0.6, slip="Is it a share of the oils?")
    alkali: str | None = column("Alkali", REFERENCE,
        "Which alkali. Blank: the only NaOH on Ingredients.", refers="Ingredient")
    second_alkali: str | None = column("Second alkali", REFERENCE, "The KOH of a mixed recipe.", refers="Ingredient")
    koh_share: float | None = column("KOH share %", PERCENT, "Share of the alkali need that the KOH meets.",
        least=0, doubt_below=0.02, slip="Was 0.6 typed for 60 %?")
    cure_days: float | None = column("Cure days", NUMBER, "Days of cure. Blank: 42.",
        unit="days", least=0, most=3650, doubt_above=400, slip="Are they hours?")
    cure_loss: float | None = column("Cure loss %", PERCENT,
        "Share of the fresh weight lost in the cure. Blank: estimated.",
        least=0, doubt_above=0.3, slip="Is it the share of the water?")
    labour_minutes: float | None = column("Labour minutes", NUMBER, "Hands-on minutes for one batch.",
        unit="min", least=0, most=10_000, doubt_above=600, slip="Are they seconds, or for several batches?")
    labour_minutes_per_bar: float | None = column("Labour minutes per bar", NUMBER,
        "Hands-on minutes for each bar cut.",
        unit="min", least=0, most=600, doubt_above=20, slip="Are they for the whole batch?")
    notes: str | None = column("Notes", TEXT, "Anything to remember; printed on the card.", worked=True)
    usual_mould: str | None = column("Usual mould", REFERENCE, "The mould of a market run where Market leaves Mould blank.",
        refers="Mould")
    cut_minutes: float | None = column("Cut minutes", NUMBER,
        "Minutes to cut a batch on the day it comes out of the mould; not part of Labour minutes.",
        unit="min", least=0, most=10_000, doubt_above=600, slip="Are they seconds, or for several batches?")
    wrap_minutes_per_bar: float | None = column("Wrap minutes per bar", NUMBER,
        "Minutes to wrap each bar on the day it is ready; not part of Labour minutes per bar.",
        unit="min", least=0, most=600, doubt_above=20, slip="Are they for the whole batch?")


@dataclass(frozen=True, kw_only=True)
class RecipeLine(Record):
    """One thing in a recipe."""

    recipe: str = column("Recipe", REFERENCE, "Which recipe the line belongs to.", required=True, refers="Recipe")
    ingredient: str = column("Ingredient", REFERENCE, "Which ingredient, or which recipe of oils alone: a blend mixed ahead.", required=True, refers="Ingredient")
    share: float | None = column("Share %", PERCENT,
        "Share of the oils; on a liquid line, of the liquid weighed in.",
        least=0, doubt_below=0.0002, slip="Is the point in its place?")
    amount: float | None = column("Amount", NUMBER, "Amount in Unit, instead of a share.",
        least=0, most=1e6, doubt_above=50_000, slip="Is Unit right?", unit_in="unit")
    unit: str | None = column("Unit", UNIT,
        "Weight or volume as the recipe was written, an amount per weight of oils, % of liquid, each/bar or each/batch.",
        choices=(WEIGHT, VOLUME, RATIO, LIQUID_SHARE, PER_BAR, PER_BATCH))
    stage: str | None = column("Stage", TEXT, "When it goes in, in your words: oils, lye liquid, trace, top.", worked=True)
    in_lye: str | None = column("In lye", YES_NO,
        "Liquids only. No: held back from the lye pot, added later. Blank: yes.")
    portion: str | None = column("Portion", TEXT,
        "Part of the batter that this additive, fragrance or colour is for. Blank: the whole pot.", worked=True)
    portion_share: float | None = column("Portion share %", PERCENT,
        "Share of the batter that the portion is; on its first line.", above=0,
        doubt_below=0.02, slip="Was 0.5 typed for 50 %?")


@dataclass(frozen=True, kw_only=True)
class Batch(Record):
    """A batch to make."""

    batch: str | None = column("Batch", TEXT, "Name or number of the batch. Blank: numbered.", worked=True)
    recipe: str = column("Recipe", REFERENCE, "Which recipe.", required=True, refers="Recipe")
    mould: str | None = column("Mould", REFERENCE,
        "Which mould. May be blank with Oil weight, with Use up, or with Bars wanted and Bar weight.", refers="Mould")
    moulds_filled: int | None = column("Moulds filled", WHOLE, "How many of this mould. Blank: 1, or as many as Bars wanted takes.",
        least=1, most=1000, doubt_above=60, slip="Is it the number of moulds, not of bars?")
    bars_wanted: int | None = column("Bars wanted", WHOLE, "Bars to cut; the batch gives at least as many.",
        least=1, most=100_000, doubt_above=2000, slip="Is it bars, not grams?")
    oil_weight: float | None = column("Oil weight", NUMBER, "The batch has this weight of oils, whatever its moulds hold.",
        above=0, most=1_000_000, doubt_below=0.1, doubt_above=100_000, slip="Is Weight unit right?", unit_in="weight_unit")
    use_up: str | None = column("Use up", REFERENCE, "Ingredient whose whole Stock goes into this batch.", refers="Ingredient")
    bar_weight: float | None = column("Bar weight", NUMBER, "Weight that a cured bar shall have: a log is cut, a tray filled to it.",
        above=0, most=10_000, doubt_below=0.05, doubt_above=500, slip="Is Weight unit right?", unit_in="weight_unit")
    weight_unit: str | None = column("Weight unit", UNIT, "Unit of Oil weight and Bar weight. Blank: g.", choices=(WEIGHT,))
    make_date: date | None = column("Make date", DATE, "Day it is made.")
    state: str | None = column("State", CHOICE, "planned, made or failed. Blank: planned. Only planned ones have a card.",
        choices=STATES)
    bars_got: int | None = column("Bars got", WHOLE, "Of a batch that is made: bars fit to sell. Blank: bars less rejects.",
        least=0, most=100_000, doubt_above=2000, slip="Is it bars, not grams?")
    done_on: date | None = column("Made on", DATE, "Of a batch that is made or failed: the day. Blank: Make date.")

    @property
    def done(self) -> bool:
        """Whether it is made, or was and failed: nothing of it is weighed out any more."""
        return self.state in (MADE, FAILED)


# fmt: on


@dataclass(frozen=True, kw_only=True)
class SettingLine(Record):
    """A line of sheet Costs."""

    setting: str = column("Setting", NAME, "Which setting.", required=True)
    value: object = column("Value", ANY, "Its value. Blank: the default.", required=True)
    unit: str | None = column("Unit", TEXT, "Unit of the value, where it has one.", worked=True)
    meaning: str | None = column("Meaning", TEXT, "What it is for.")


@dataclass(frozen=True, kw_only=True)
class Demand(Record):
    """Bars wanted on a market day."""

    recipe: str = column("Recipe", REFERENCE, "Which recipe.", required=True, refers="Recipe")
    bars: int = column("Bars", WHOLE, "Saleable bars wanted.", required=True, least=1,
        most=1_000_000, doubt_above=10_000, slip="Is it the number of bars?")  # fmt: skip
    needed_by: date | None = column(
        "Needed by", DATE, "Day on which the bars must be cured. Blank: Date less Days ahead of the Day on Market days."
    )
    mould: str | None = column(
        "Mould", REFERENCE, "Which mould. Blank: the recipe's Usual mould, else the planner's choice.", refers="Mould"
    )
    price: float | None = column(
        "Price", NUMBER, "Price asked, with tax. Blank: the price that makes the margin.",
        least=0, most=1e7, doubt_above=1e5, slip="Has the point slipped?", money=True,
    )  # fmt: skip
    day: str | None = column("Day", TEXT, "Which market, by its name on Market days.", worked=True)


@dataclass(frozen=True, kw_only=True)
class MarketDay(Record):
    """A market: when it is and what the stall costs."""

    day: str = column("Day", NAME, "Name of the market, each only once.", required=True)
    date: date = column("Date", DATE, "Day of the market.", required=True)
    stall_fee: float | None = column("Stall fee", NUMBER, "Fee for that day. Blank: Stall fee on Costs.",
        least=0, most=1e7, doubt_above=1e4, slip="Has the point slipped?", money=True)  # fmt: skip
    days_ahead: int | None = column("Days ahead", WHOLE, "Days before it on which the bars must be ready. Blank: Spare days on Costs.",
        least=0, most=365, doubt_above=30, slip="Is it in days?")  # fmt: skip
    opens: str | None = column("Opens", TEXT, "When it opens, for the calendar.")


@dataclass(frozen=True, kw_only=True)
class OnHand(Record):
    """Bars already made or curing."""

    recipe: str = column("Recipe", REFERENCE, "Which recipe.", required=True, refers="Recipe")
    bars: int = column("Bars", WHOLE, "How many bars.", required=True, least=0, most=1_000_000,
        doubt_above=20_000, slip="Is it the number of bars?")  # fmt: skip
    ready_date: date | None = column("Ready date", DATE, "Cure date. Leave blank if cured.")


INGREDIENTS = Sheet("Ingredients", "ingredients", Ingredient, "Everything you weigh or count, one row each.")
PRICES = Sheet("Prices", "prices", Price, "Packs on offer; several rows for one ingredient are fine.", many_files=True)
MOULDS = Sheet("Moulds", "moulds", Mould, "Your moulds, measured inside.")
RECIPES = Sheet("Recipes", "recipes", Recipe, "One row a recipe: superfat, liquid, alkali, cure and labour.")
LINES = Sheet("Recipe lines", "lines", RecipeLine, "What goes into each recipe, one row a thing.")
BATCHES = Sheet("Batches", "batches", Batch, "What is to be made: a recipe in a mould.", optional=True)
COSTS = Sheet(
    "Costs", "costs", SettingLine, "Settings of the workshop; a missing one takes its default.", optional=True
)
MARKET = Sheet("Market", "market", Demand, "Bars wanted on a day.", optional=True)
MARKET_DAYS = Sheet("Market days", "market_days", MarketDay, "When each market is, and its fee.", optional=True)
ON_HAND = Sheet("On hand", "on_hand", OnHand, "Bars already made or curing.", optional=True)

SHEETS = (INGREDIENTS, PRICES, MOULDS, RECIPES, LINES, BATCHES, COSTS, MARKET, MARKET_DAYS, ON_HAND)
"""Every input sheet, in the order of the finished workbook."""
BY_KEY = {sheet.key: sheet for sheet in SHEETS}


@dataclass(frozen=True, repr=False)
class Workshop:
    """Everything that was read, with names resolved and blanks left blank.

    Attributes:
        ingredients .. on_hand: the records of each sheet, in order.
        done: rows of sheet Batches that are made or failed; `batches` are the others.
        sheets: keys of the sheets that were there.
        today: the day of the run, where Costs does not say it; None for the real one.
        problems: what was wrong with the input; the records may not be used when there is any.
        doubts: what was not read, and numbers that are asked about, each where it stands.
    """

    ingredients: tuple[Ingredient, ...] = ()
    prices: tuple[Price, ...] = ()
    moulds: tuple[Mould, ...] = ()
    recipes: tuple[Recipe, ...] = ()
    lines: tuple[RecipeLine, ...] = ()
    batches: tuple[Batch, ...] = ()
    costs: tuple[SettingLine, ...] = ()
    done: tuple[Batch, ...] = ()
    market: tuple[Demand, ...] = ()
    market_days: tuple[MarketDay, ...] = ()
    on_hand: tuple[OnHand, ...] = ()
    sheets: tuple[str, ...] = ()
    today: date | None = None
    problems: tuple[Problem, ...] = ()
    doubts: tuple[tuple[Place, Warning], ...] = ()

    def __repr__(self) -> str:
        """Return how many rows each sheet has, and a line a problem."""
        counted = (f"{len(self.rows(sheet))} {sheet.name}" for sheet in SHEETS if self.rows(sheet))
        return "\n".join((f"Workshop: {', '.join(counted) or 'empty'}", *map(repr, self.problems)))

    def rows(self, sheet: Sheet) -> tuple[Record, ...]:
        """Return every record of a sheet; the done batches stand below the others."""
        held: tuple[Record, ...] = getattr(self, sheet.key)
        return (*held, *self.done) if sheet is BATCHES else held


# --- blends: recipes of oils alone that other recipes name as an ingredient ---


@dataclass(frozen=True)
class Mixed:
    """An oil that a recipe has through a blend: the recipe, the oil, the blend."""

    recipe: str
    ingredient: str
    blend: str


def mixed_lines(workshop: Workshop) -> tuple[Mixed, ...]:
    """Return every oil that a recipe has through a blend, each once a recipe and blend, in the order of the lines."""
    return tuple({(item.recipe, item.ingredient, item.blend): item for item in _mixed(workshop)}.values())


def mixed_text(workshop: Workshop) -> str:
    """Return a fingerprint of those oils, "" for none, so that a workbook that was made for others can be told."""
    names = "|".join(f"{item.recipe}/{item.blend}/{item.ingredient}".casefold() for item in mixed_lines(workshop))
    return hashlib.sha256(names.encode()).hexdigest() if names else ""


def _mixed(workshop: Workshop) -> Iterator[Mixed]:
    things = {_key(item.ingredient) for item in workshop.ingredients}
    recipes = {_key(item.recipe) for item in workshop.recipes} - things - {""}
    for line in workshop.lines:
        if _key(line.ingredient) in recipes:
            for part in workshop.lines:
                if _key(part.recipe) == _key(line.ingredient) and _key(part.ingredient) in things:
                    yield Mixed(line.recipe, part.ingredient, line.ingredient)


def _key(name: str | None) -> str:
    return (name or "").casefold()
