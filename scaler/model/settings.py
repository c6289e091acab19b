"""Settings of sheet Costs: what each is, what it takes, and what stands for it where it is blank."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from scaler.model.schema import CHOICE, DATE, NUMBER, PERCENT, TEXT, Setting, setting, settings
from scaler.model.units import TEMPERATURE, TIME, VOLUME, WEIGHT


@dataclass(frozen=True, kw_only=True)
class Costs:
    """Every setting of sheet Costs; None where a setting has no limit."""

    workshop: str = setting("Workshop", TEXT, "", "Name of the workshop, for titles and footers.")
    currency: str = setting("Currency", TEXT, "", "Sign or letters of the money.", weighs=False)
    display_units: str = setting("Display units", CHOICE, "g", "Units of the cards. oz: pounds, ounces, fluid ounces, inches and °F, the metric figure beside.",
        choices=("g", "oz"))  # fmt: skip
    labour_rate: float = setting("Labour rate", NUMBER, 0.0, "Pay for one hour of work.", unit="per hour",
        least=0, most=1e7, doubt_above=1e5, slip="Is it for one hour?", money=True, weighs=False)  # fmt: skip
    overhead: float = setting(
        "Overhead per batch", NUMBER, 0.0, "Rent, power, insurance: what one batch bears.",
        least=0, most=1e8, doubt_above=1e6, slip="Is it for one batch?", money=True, weighs=False,
    )  # fmt: skip
    batter_loss: float = setting("Batter loss %", PERCENT, 0.0, "Batter left in the bowls.", least=0,
        doubt_above=0.15, slip="Is it the batter that stays in the bowls?")  # fmt: skip
    reject_share: float = setting("Reject share %", PERCENT, 0.0, "Bars not fit to sell.", least=0,
        doubt_above=0.3, slip="Is it the share that is not fit to sell?")  # fmt: skip
    target_margin: float = setting("Target margin %", PERCENT, 0.5, "Margin wanted, of the price before tax.", least=0,
        doubt_above=0.9, slip="Is it mark-up on the cost?", weighs=False)  # fmt: skip
    sales_tax: float = setting("Sales tax %", PERCENT, 0.0, "Tax put on the price.", least=0,
        doubt_above=0.3, slip="Is it the rate of the tax?", weighs=False)  # fmt: skip
    card_fee: float = setting("Card fee %", PERCENT, 0.0, "Fee of a card payment, of the price with tax.", least=0,
        doubt_above=0.1, slip="Is the % sign right?", weighs=False)  # fmt: skip
    price_step: float = setting(
        "Price step", NUMBER, 0.01, "The price shown is rounded up to this. 0: not rounded.",
        least=0, most=1e6, doubt_above=1e4, slip="Is it the step of the price?", money=True, weighs=False,
    )  # fmt: skip
    price_shown: str = setting(
        "Price shown",
        CHOICE,
        "with tax",
        "Which price the step rounds.",
        choices=("with tax", "before tax"),
        weighs=False,
    )
    pot_size: float | None = setting(
        "Pot size", NUMBER, None, "Volume of the batter pot; a batch beyond it is refused.",
        unit_kinds=(VOLUME,), unit="L", above=0, most=1e6, doubt_below=0.3, doubt_above=200_000, slip="Is its unit right?",
    )  # fmt: skip
    jug_size: float | None = setting(
        "Lye jug size", NUMBER, None, "Volume of the lye jug; a batch beyond it is refused.",
        unit_kinds=(VOLUME,), unit="L", above=0, most=1e6, doubt_below=0.2, doubt_above=100_000, slip="Is its unit right?",
    )  # fmt: skip
    worked_out_on: date = setting("Worked out on", DATE, None, "The day of the run; ages are measured to it.")
    workshop_division: float = setting(
        "Scale division", NUMBER, 1.0, "Smallest step of the scale.", unit_kinds=(WEIGHT,), unit="g",
        above=0, most=1000, doubt_below=0.0001, doubt_above=10, slip="Is its unit right?",
    )  # fmt: skip
    stall_fee: float = setting("Stall fee", NUMBER, 0.0, "Fee of a market day.", unit="per day",
        least=0, most=1e8, doubt_above=1e6, slip="Is it for one day?", money=True, weighs=False)  # fmt: skip
    room_temperature: float = setting("Room temperature", NUMBER, 20.0, "Of the workshop.", unit_kinds=(TEMPERATURE,), unit="°C",
        least=0, most=50, doubt_below=10, doubt_above=35, slip="Is its unit, °C or °F, right?")  # fmt: skip
    unmould_after: float = setting(
        "Unmould after", NUMBER, 48.0, "Time in the mould.", unit_kinds=(TIME,), unit="h",
        least=0, most=50_000, doubt_above=5000, slip="Is its unit right?",
    )  # fmt: skip
    first_make_day: date | None = setting(
        "First make day",
        DATE,
        None,
        "No batch is made before it. Blank: today, where the bars can still be ready in time.",
    )
    hours_per_day: float = setting("Hours per day", NUMBER, 8.0, "Hours of work in a day.", unit="h",
        above=0, most=24, doubt_above=14, slip="Is it for one day?")  # fmt: skip
    days_off: str | None = setting("Days off", TEXT, None, "Days without work: Sunday, 2026-12-24 to 2026-12-27.")
    shelf_bars: float | None = setting("Shelf bars", NUMBER, None, "Bars that fit on the curing shelf.",
        least=0, most=1e6, doubt_above=50_000, slip="Is it the number of bars?")  # fmt: skip
    sell_through: float = setting("Sell-through %", PERCENT, 1.0, "Share of the bars expected to sell.", least=0,
        doubt_below=0.2, slip="Is it the share that sells?", weighs=False)  # fmt: skip
    wholesale_share: float = setting(
        "Wholesale share %", PERCENT, 0.5, "Wholesale price, of the retail price before tax.",
        least=0, doubt_below=0.2, slip="Is it the discount?", weighs=False,
    )  # fmt: skip
    leftover_value: float = setting(
        "Leftover value %", PERCENT, 0.5, "What leftovers are worth, of their cost.", least=0, weighs=False
    )
    price_age: float = setting("Price age", NUMBER, 12.0, "Warn about prices older than this.", unit="months",
        above=0, most=240, doubt_above=60, slip="Is it in days?", weighs=False)  # fmt: skip
    stock_counted: date | None = setting(
        "Stock counted on", DATE, None, "Batches made or failed from this day on are taken off Stock. Blank: none is."
    )
    spare_days: float = setting(
        "Spare days", NUMBER, 0.0, "Days before a market on which its bars must be ready, where Market days says none.", unit="days",
        least=0, most=365, doubt_above=30, slip="Is it in days?", weighs=False,
    )  # fmt: skip
    keep_plan: float = setting(
        "Keep plan %", PERCENT, 0.03, "A new plan keeps the batches of the last one where that costs no more than this.",
        least=0, doubt_above=0.5, slip="Is it a share of the cost?", weighs=False,
    )  # fmt: skip
    keep_sizes: float = setting(
        "Keep sizes %", PERCENT, 0.03, "A recipe's bars are all one size where that costs no more of the plan than this.",
        least=0, doubt_above=0.5, slip="Is it a share of the cost?", weighs=False,
    )  # fmt: skip
    least_bar: float | None = setting(
        "Least bar weight", NUMBER, None, "Cured. Where Market leaves Mould blank, no lighter bar is planned.",
        unit_kinds=(WEIGHT,), unit="g", above=0, most=10_000, doubt_below=0.5, doubt_above=500, slip="Is its unit right?",
    )  # fmt: skip


def setting_declared() -> Mapping[str, Setting]:
    """Return the settings of sheet Costs by field name."""
    return settings(Costs)


_WHEN_BLANK = {
    "Worked out on": "the day of the run",
    "First make day": "today",
    "Stock counted on": "none",
    "Days off": "none",
}


def default_words(item: Setting) -> str:
    """Return in words what is taken where a setting is blank.

    >>> [default_words(setting_declared()[name]) for name in ("target_margin", "pot_size", "worked_out_on")]
    ['50 %', 'no limit', 'the day of the run']
    """
    if item.default is None:
        return _WHEN_BLANK.get(item.name, "none" if item.kind == TEXT else "no limit")
    if isinstance(item.default, float):
        return f"{item.default * 100:g} %" if item.kind == PERCENT else f"{item.default:g} {item.unit}".strip()
    return str(item.default) or "none"
