"""Days: what each day of a run takes and brings."""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    Text,
    count_where,
    default_to,
    exceeds,
    given,
    larger,
    match,
    pick,
    total_where,
    when,
)
from scaler.formula.steps import Step, StepGroup
from scaler.market.conditional_sums import total_after, total_during
from scaler.rules.imperial import in_ounces

DAYS = StepGroup("days")

STAGES = (("made_on", "Make"), ("unmould_on", "Out of the mould, cut"), ("ready_day", "Sell from"))
"""Days of a batch: its column, and what is done."""


# --- table days: each day on which something is made, comes out or is ready ---


@DAYS.step("")
def batches_made(planned_day: Number, batches_made_on: Column) -> Number:
    """Batches made on the day. -> [-]."""
    return count_where(batches_made_on, planned_day)


@DAYS.step("g")
def lye_g(planned_day: Number, batches_made_on: Column, batches_alkali_g: Column) -> Number:
    """Alkali weighed on the day. [g] -> [g]."""
    return total_where(batches_made_on, planned_day, batches_alkali_g)


@DAYS.step("g")
def solution_g(planned_day: Number, lye_g: Number, batches_made_on: Column, batches_liquid_g: Column) -> Number:
    """Alkali and liquid together. [g] [g] -> [g]."""
    return lye_g + total_where(batches_made_on, planned_day, batches_liquid_g)


for _name, _of in (("lye_words", "lye_g"), ("solution_words", "solution_g")):
    DAYS.add(_name, "text", in_ounces(_of))


@DAYS.step("h")
def make_work(planned_day: Number, batches_made_on: Column, batches_make_hours: Column) -> Number:
    """Hours of making on the day. [h] -> [h]."""
    return total_where(batches_made_on, planned_day, batches_make_hours)


@DAYS.step("h")
def cut_work(
    planned_day: Number, batches_unmould_on: Column, batches_cut_hours: Column, lots_lot_free: Column,
    lots_lot_cut: Column,
) -> Number:  # fmt: skip
    """Hours of cutting on the day, batches made before among them. [h] [h] -> [h]."""
    return total_where(batches_unmould_on, planned_day, batches_cut_hours) + total_where(
        lots_lot_free, planned_day, lots_lot_cut
    )


@DAYS.step("h")
def wrap_work(
    planned_day: Number, batches_ready_day: Column, batches_wrap_hours: Column, lots_lot_ready: Column,
    lots_lot_wrap: Column,
) -> Number:  # fmt: skip
    """Hours of wrapping on the day, batches made before among them. [h] [h] -> [h]."""
    return total_where(batches_ready_day, planned_day, batches_wrap_hours) + total_where(
        lots_lot_ready, planned_day, lots_lot_wrap
    )


@DAYS.step("h")
def work_hours(make_work: Number, cut_work: Number, wrap_work: Number) -> Number:
    """Hours of work on the day. [h] [h] [h] -> [h]."""
    return make_work + cut_work + wrap_work


@DAYS.step("h")
def hours_over(work_hours: Number, hours_per_day: Number) -> Number:
    """Hours of work beyond those of a day. [h] [h] -> [h]."""
    return when(exceeds(work_hours, hours_per_day), work_hours - hours_per_day, 0)


@DAYS.step("")
def bars_out(planned_day: Number, batches_unmould_on: Column, batches_bars: Column) -> Number:
    """Bars that come out of the moulds. -> [-]."""
    return total_where(batches_unmould_on, planned_day, batches_bars)


@DAYS.step("")
def bars_ready(planned_day: Number, batches_ready_day: Column, batches_bars_to_sell: Column) -> Number:
    """Bars fit to sell that are ready, not rounded. -> [-]."""
    return total_where(batches_ready_day, planned_day, batches_bars_to_sell)


@DAYS.step("")
def bars_needed(planned_day: Number, market_need_day: Column, market_bars_planned: Column) -> Number:
    """Bars that are to be there on the day. -> [-]."""
    return total_where(market_need_day, planned_day, market_bars_planned)


@DAYS.step("")
def bars_to_bring(planned_day: Number, market_market_on: Column, market_bars_planned: Column) -> Number:
    """Bars to bring to the market of the day. -> [-]."""
    return total_where(market_market_on, planned_day, market_bars_planned)


@DAYS.step("text")
def market_name(planned_day: Number, market_days_date: Column, market_days_day: Column) -> Text:
    """The market of the day: the first that sheet Market days lists, else nothing."""
    return pick(market_days_day, match(planned_day, market_days_date), "")


@DAYS.step("")
def bars_curing(
    planned_day: Number, batches_made_on: Column, batches_ready_day: Column, batches_bars: Column,
    on_hand_ready_in_use: Column, on_hand_bars: Column, lots_lot_ready: Column, lots_lot_bars: Column,
) -> Number:  # fmt: skip
    """Bars on the curing shelf: made by the day and not ready, those on hand that still cure among them. -> [-]."""
    made = total_during(batches_made_on, batches_ready_day, planned_day, batches_bars)
    on_hand = total_after(on_hand_ready_in_use, planned_day, on_hand_bars)
    return made + on_hand + total_after(lots_lot_ready, planned_day, lots_lot_bars)


@DAYS.step("")
def shelf_over(bars_curing: Number, shelf_bars: Number) -> Number:
    """Bars beyond what the shelf holds, 0 without a limit. -> [-]."""
    return when(given(shelf_bars), larger(bars_curing - default_to(shelf_bars, 0), 0), 0)


STEPS: tuple[Step, ...] = (*DAYS.steps,)
"""Steps of the days, in order."""
