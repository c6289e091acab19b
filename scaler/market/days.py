"""Days: what each day of a run takes and brings."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, default_to, exceeds, given, larger, round_down, same, when
from scaler.formula.searching import match, pick
from scaler.formula.steps import Step, StepGroup
from scaler.formula.sums import count_up_to, nth_smallest, total_after, total_during, total_where
from scaler.rules.imperial import say_weight
from scaler.rules.plain import counted, named, picked, summed

STAGES = ("Make", "Out of the mould, cut", "Ready to wrap and sell")
"""What is done on the days of a batch, in order."""
MOMENTS = (
    ("batches", "made_on"), ("batches", "unmould_on"), ("batches", "ready_day"), ("market", "need_day"),
    ("market", "market_on"), ("on_hand", "held_to_come"), ("lots", "free_to_come"), ("lots", "ready_to_come"),
)  # fmt: skip
"""Columns of days on which something is to be done or comes about."""

DAYS = StepGroup("days")
LOTS = StepGroup("lots")
LOTS.add("lot_recipe_at", "", named("lot_recipe", "recipes_recipe", "Row of its recipe on Recipes."))
LOTS.add("lot_mould_at", "", named("lot_mould", "moulds_mould", "Row of its mould on Moulds."))
MOMENT = StepGroup("moments")
STEPS_OF_BATCHES = StepGroup("stages")


# --- tables stages and moments: every step of every batch, every day ---


@STEPS_OF_BATCHES.step("date")
def happens_on(
    stage: Number, batch_at: Number, two: Number, batches_made_on: Column, batches_unmould_on: Column,
    batches_ready_day: Column,
) -> Number:  # fmt: skip
    """Day of the step. [d] -> [d]."""
    later = when(same(stage, two), pick(batches_unmould_on, batch_at, ""), pick(batches_ready_day, batch_at, ""))
    return when(same(stage, 1), pick(batches_made_on, batch_at, ""), later)


@STEPS_OF_BATCHES.step("")
def order_key(happens_on: Number, place: Number, level_weight: Number) -> Number:
    """Day and place in one number that sorts by day; blank without a day. -> [-]."""
    return when(given(happens_on), round_down(default_to(happens_on, 0)) * level_weight + place, "")


@STEPS_OF_BATCHES.step("")
def row_at(place: Number, level_weight: Number, big: Number, stages_order_key: Column) -> Number:
    """Row of the step that comes at this place in the order of the days, 0 when there is none. -> [-]."""
    key = nth_smallest(stages_order_key, place, big)
    return when(key < big, key - round_down(key / level_weight) * level_weight, 0)


STEPS_OF_BATCHES.add("of_batch", "", picked("row_at", "stages_batch_at", "The batch of that step, 0 when there is none."))  # fmt: skip
STEPS_OF_BATCHES.add("step_day", "date", picked("row_at", "stages_happens_on", "Day of that step.", ""))
STEPS_OF_BATCHES.add("step_words", "text", picked("row_at", "stages_stage_words", "What is done.", ""))


for _name, _of, _unit in (
    ("step_recipe", "recipe", "text"), ("step_mould", "mould_names", "text"), ("step_batch", "batch_name", "text"),
    ("step_moulds", "filled_moulds", ""), ("step_bars", "bars", ""),
):  # fmt: skip
    _rule = picked("of_batch", f"batches_{_of}", f"The batch's {_of.replace('_', ' ')}.", "")
    STEPS_OF_BATCHES.add(_name, _unit, _rule)


def _days() -> None:
    """Every day on which something is to be done or comes about, one under the other. -> [d]."""


@LOTS.step("date")
def free_to_come(lot_free: Number, worked_out_on: Number) -> Number:
    """Day on which a batch made before comes out of its mould, where that is to come. [d] [d] -> [d]."""
    return when(lot_free >= worked_out_on, lot_free, "")


@LOTS.step("date")
def ready_to_come(lot_ready: Number, worked_out_on: Number) -> Number:
    """Day on which a batch made before is ready, where that is to come. [d] [d] -> [d]."""
    return when(lot_ready >= worked_out_on, lot_ready, "")


@MOMENT.step("date")
def first_of_day(moment: Number, place: Number, moments_moment: Column, moments_place: Column) -> Number:
    """The day, where it stands here for the first time. [d] -> [d]."""
    first = same(count_up_to(moments_moment, moment, moments_place, place), 1)
    return when(all_of(default_to(moment, 0) > 0, first), moment, "")


# --- table days: each day on which something is to be done or comes about ---


@DAYS.step("date")
def planned_day(place: Number, big: Number, moments_first_of_day: Column) -> Number:
    """The day, in order; blank when there are no more. [d] -> [d]."""
    found = nth_smallest(moments_first_of_day, place, big)
    return when(found < big, found, "")


@DAYS.step("")
def is_day(planned_day: Number) -> Number:
    """1 where there is a day. -> [-]."""
    return when(given(planned_day), 1, 0)


DAYS.add("batches_made", "", counted("planned_day", "batches_made_on", "Batches made on the day."))
DAYS.add("lye_g", "g", summed("planned_day", "batches_made_on", "batches_alkali_weigh_g", "Alkali weighed on the day."))


@DAYS.step("g")
def solution_g(planned_day: Number, lye_g: Number, batches_made_on: Column, batches_liquid_g: Column) -> Number:
    """Alkali and liquid together. [g] [g] -> [g]."""
    return lye_g + total_where(batches_made_on, planned_day, batches_liquid_g)


say_weight(DAYS, "lye_words", "lye_g", down=True)
say_weight(DAYS, "solution_words", "solution_g")


DAYS.add("make_work", "h", summed("planned_day", "batches_made_on", "batches_make_hours", "Hours of making on the day."))  # fmt: skip


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
def bars_out(
    planned_day: Number, batches_unmould_on: Column, batches_bars: Column, lots_lot_free: Column, lots_lot_bars: Column
) -> Number:
    """Bars that come out of the moulds; of batches made before, those fit to sell. -> [-]."""
    made = total_where(lots_lot_free, planned_day, lots_lot_bars)
    return total_where(batches_unmould_on, planned_day, batches_bars) + made


@DAYS.step("")
def bars_ready(
    planned_day: Number, batches_ready_day: Column, batches_bars_to_sell: Column, on_hand_ready_in_use: Column,
    on_hand_bars: Column, lots_lot_ready: Column, lots_lot_bars: Column,
) -> Number:  # fmt: skip
    """Bars fit to sell that are ready, not rounded, those on hand and of batches made before among them. -> [-]."""
    held = total_where(on_hand_ready_in_use, planned_day, on_hand_bars)
    made = total_where(lots_lot_ready, planned_day, lots_lot_bars)
    return total_where(batches_ready_day, planned_day, batches_bars_to_sell) + held + made


for _name, _unit, _on, _of, _says in (
    ("bars_needed", "", "need_day", "bars_planned", "Bars that are to be there on the day."),
    ("bars_to_bring", "", "market_on", "bars_planned", "Bars to bring to the market of the day."),
    ("day_income", "money", "market_on", "income_full",
     "Income of the day's market if every bar brought sells, with tax."),
):  # fmt: skip
    DAYS.add(_name, _unit, summed("planned_day", f"market_{_on}", f"market_{_of}", _says))


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
def too_much(hours_over: Number, shelf_over: Number) -> Number:
    """1 where the day has more work, or the shelf more bars, than there is room for. [h] [-] -> [-]."""
    return when(any_of(hours_over > 0, shelf_over > 0), 1, 0)


@DAYS.step("")
def shelf_over(bars_curing: Number, shelf_bars: Number) -> Number:
    """Bars beyond what the shelf holds, 0 without a limit. -> [-]."""
    return when(given(shelf_bars), larger(bars_curing - default_to(shelf_bars, 0), 0), 0)


STEPS: tuple[Step, ...] = (
    *STEPS_OF_BATCHES.steps, *LOTS.steps, Step("moments", "moment", "date", _days, gathers=MOMENTS), *MOMENT.steps,
    *DAYS.steps,
)  # fmt: skip
"""Steps of the days, in order."""
