"""Dangers: what is refused, what is warned of, and what the maker does about it.

A danger is one flag step (so that the finished workbook's Checks live) and one entry of `RULES`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

REFUSE, WARN = "refuse", "warn"


# --- what each rule says ---

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Rule:
    """A danger.

    Attributes:
        code: its lasting name, for programs.
        level: refuse or warn.
        table: whose rows it looks at.
        flag: the step that is more than 0 where it speaks.
        field: the input field where the maker mends it.
        found: what is wrong, in words, from the row's values.
        expected: what would be right.
        do: what to do.
        authority: who says so.
    """

    code: str
    level: str
    table: str
    flag: str
    field: str
    found: Callable[[Row], str]
    expected: str
    do: Callable[[Row], str]
    authority: str


def percent(value: float, digits: int = 1) -> str:
    """Return a fraction as words.

    >>> percent(0.0523)
    '5.2 %'
    """
    return f"{value * 100:.{digits}f} %"


_PRACTICE = "common practice, no source"
_SOLUBILITY = "CRC Handbook, solubility of NaOH (memory)"


_SAFE_MOST = 0.2
"""Above this much superfat the answer to an unsafe worst case is another batch or scale, not more superfat."""


def _safer(row: Row) -> str:
    narrow = "narrow the SAP and purity ranges with the supplier's certificates"
    if row["superfat_safe"] > _SAFE_MOST:
        return f"Make a larger batch, weigh on a finer scale, or {narrow}: superfat alone does not mend it."
    return f"Set Superfat to {percent(row['superfat_safe'])} or more, or {narrow}."


def _alkalis(row: Row) -> str:
    first = f"{row['first_g']:.3g} g of {row['first_name']}"
    return f"{first} and {row['second_g']:.3g} g of {row['second_name']}" if row["second_g"] else first


RULES = (
    Rule("superfat_negative", REFUSE, "recipes", "superfat_negative", "superfat",
         lambda row: f"a superfat of {percent(row['superfat'])}", "0 % or more",
         lambda row: "Less than 0 % leaves free lye in the bar and burns skin. Set it to 3 % or more.", _PRACTICE),
    Rule("superfat_high", WARN, "recipes", "superfat_high", "superfat",
         lambda row: f"The superfat is {percent(row['superfat'])}.", "15 % or less",
         lambda row: "Most bars have 3 to 8 %: look for a digit or a point astray in Superfat %.", _PRACTICE),
    Rule("bar_odd", WARN, "batches", "bar_odd", "mould",
         lambda row: f"A bar weighs {row['bar_fresh_g']:,.0f} g.", "10 to 500 g",
         lambda row: "Check the mould's sizes, Unit and Bar cut.", "our own rule"),
    Rule("lye_too_strong", REFUSE, "recipes", "lye_too_strong", "strength",
         lambda row: f"lye of {percent(row['pot_strength'])} base in the lye pot (its water counted alone)",
         "50 % or less, which is about what dissolves at room temperature",
         lambda row: "Put more liquid in the lye pot: a lower concentration, or less liquid held back.", _SOLUBILITY),
    Rule("liquid_short", REFUSE, "recipes", "liquid_short", "strength",
         lambda row: f"{row['liquid_total_part'] / row['dry_part']:.2f} g of liquid for 1 g of alkali",
         "at least as much liquid as alkali", lambda row: "Raise the liquid.", _PRACTICE),
    Rule("solution_alone", REFUSE, "recipes", "solution_alone", "strength",
         lambda row: (f"an alkali solution that alone brings {row['solution_water_part'] * 1000:.0f} g of water per kg of oils, "
                      f"more than the {row['liquid_total_part'] * 1000:.0f} g of liquid asked for"),
         "no more water than the liquid asked for",
         lambda row: ("This recipe can go no stronger than "
                      f"{percent(row['dry_part'] / (row['dry_part'] + row['solution_water_part']))} with this alkali."),
         "mass balance"),
    Rule("lye_strong", WARN, "recipes", "lye_strong", "strength",
         lambda row: f"The lye in the pot is {percent(row['pot_strength'])}.", "40 % or less",
         lambda row: "It is hot and thick and the batter sets fast. Use more liquid unless you mean it.", _PRACTICE),
    Rule("lye_weak", WARN, "recipes", "lye_weak", "strength",
         lambda row: f"The lye in the pot is only {percent(row['pot_strength'])}.", "25 % or more",
         lambda row: "Bars stay soft for long and shrink. Use less liquid unless you mean it.", _PRACTICE),
    Rule("superfat_worst_negative", WARN, "batches", "superfat_worst_negative", "recipe",
         lambda row: (f"In the worst case the superfat is {percent(row['superfat_low'])}, which is lye-heavy."), "0 % or more",
         _safer, "worst corner of the ranges, see Sources"),
    Rule("batch_tiny", REFUSE, "batches", "batch_tiny", "mould",
         lambda row: f"{_alkalis(row)} for {row['oils_g']:.3g} g of oils, some of it less than its scale can weigh",
         "at least one scale division of each", lambda row: "Check the mould's sizes and Unit, or use a finer scale.", "our own rule"),
    Rule("scale_coarse", WARN, "batches", "scale_coarse", "recipe",
         lambda row: (f"The alkali ({row['alkali_g']:.1f} g) is fewer than 100 divisions of its scale."), "100 divisions or more",
         lambda row: "Make a larger batch, or weigh the alkali on a finer scale (Scale division on Ingredients).", _PRACTICE),
    Rule("alkali_old", WARN, "batches", "alkali_old", "recipe",
         lambda row: "The alkali has been open for more than 12 months.", "a younger container",
         lambda row: "It draws water and gains weight, so it is weaker than its label. Buy fresh.", _PRACTICE),
    Rule("opened_future", WARN, "batches", "opened_future", "recipe",
         lambda row: "An alkali's Opened date lies in the future.", "a past date",
         lambda row: "Correct Opened on sheet Ingredients.", "our own rule"),
    Rule("pot_small", REFUSE, "batches", "pot_small", "mould",
         lambda row: f"{row['batter_ml'] / 1000:.2f} L of batter", "no more than Pot size on Costs",
         lambda row: "Fill fewer moulds, or use a larger pot.", _PRACTICE),
    Rule("jug_small", REFUSE, "batches", "jug_small", "mould",
         lambda row: f"{row['jug_ml'] / 1000:.2f} L of lye", "no more than Lye jug size on Costs",
         lambda row: "Fill fewer moulds, or use a larger jug.", _PRACTICE),
    Rule("pot_tight", WARN, "batches", "pot_tight", "mould",
         lambda row: f"The batter ({row['batter_ml'] / 1000:.2f} L) leaves little headspace in the pot.", "a larger pot",
         lambda row: f"Use a pot of at least {row['pot_vessel_ml'] / 1000:.1f} L.", _PRACTICE),
    Rule("jug_tight", WARN, "batches", "jug_tight", "mould",
         lambda row: f"The lye ({row['jug_ml'] / 1000:.2f} L) leaves little headspace in the jug.", "a larger jug",
         lambda row: f"Use a jug of at least {row['jug_vessel_ml'] / 1000:.1f} L: lye heats, steams and may foam.", _PRACTICE),
    Rule("over_limit", REFUSE, "slots", "over_limit", "share",
         lambda row: f"{row['ingredient']} at {percent(row['share_of_cured'], 2)} of the cured bar",
         "no more than its Limit", lambda row: f"Keep it to {percent(row['limit'], 2)} of the cured bar or less.",
         "the supplier's limit"),
    Rule("price_old", WARN, "slots", "price_old", "ingredient",
         lambda row: f"The price of {row['ingredient']} is old.", "a recent price",
         lambda row: "Ask for a new price, or raise Price age on Costs.", "our own rule"),
    Rule("price_old", WARN, "batches", "alkali_price_old", "recipe",
         lambda row: "The price of an alkali is old.", "a recent price",
         lambda row: "Ask for a new price, or raise Price age on Costs.", "our own rule"),
    Rule("sap_outside", WARN, "slots", "sap_doubted", "ingredient",
         lambda row: f"The SAP of {row['ingredient']} lies outside its published range.", "a value inside the range",
         lambda row: ("Check it against the supplier's certificate: a wrong one makes the bar lye-heavy or greasy. "
                      "The worst case is of the published range; fill SAP low and SAP high to have yours in it."),
         "published range, see Sources"),
)  # fmt: skip
