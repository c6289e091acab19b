"""Cutting and wrapping: their minutes are paid for, and take up the days on which they are done."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from market_checker import Checker
from market_runs import market_run
from recalculation import IronCalc
from typing_in import typed_over

from scaler.market_report import market_object
from scaler.market_run import MarketRun, work_out
from scaler.model.problems import say
from scaler.model.records import Demand, MarketDay, Workshop
from scaler.read.files import stored_values
from scaler.rules.tables import day_of
from scaler.write.finished import finished

NEEDED = date(2027, 6, 12)


def asked(bars: int, cut: float | None, wrap: float | None, **more: Any) -> Workshop:
    """Return a run of one recipe, 45 minutes a batch, in four moulds of 12 bars a batch, unmoulded after two days."""
    workshop = market_run(5, 1, 1, 1, 1, 5, named=0.0, on_hand=0.0, reject_share=0.0, unmould_after=48.0, **more)
    moulds = tuple(replace(item, bars=12, owned=4) for item in workshop.moulds)
    recipes = tuple(
        replace(item, cure_days=42.0, labour_minutes=45.0, labour_minutes_per_bar=None, cut_minutes=cut, wrap_minutes_per_bar=wrap)
        for item in workshop.recipes
    )  # fmt: skip
    market = (Demand(recipe="recipe 0", bars=bars, needed_by=NEEDED),)
    return replace(workshop, moulds=moulds, recipes=recipes, market=market)


def hours(found: MarketRun) -> dict[date | None, float]:
    """Return the hours of work by day, as the tab Calendar has them."""
    tables = found.run.tables
    days = zip(tables.column("days", "planned_day"), tables.column("days", "work_hours"), strict=True)
    return {day_of(day): work for day, work in days if work}


def test_each_work_on_its_day() -> None:
    """45 minutes on the make day, 30 of cutting two days later, a minute a bar when they are cured; all are paid."""
    found = work_out(asked(12, 30.0, 1.0, labour_rate=20.0))
    (batch,) = market_object(found)["batches"]
    made = NEEDED - timedelta(days=42)
    assert hours(found) == pytest.approx({made: 0.75, made + timedelta(days=2): 0.5, NEEDED: 0.2}, rel=1e-12)
    assert batch["cost"]["labour"] == pytest.approx(20 * (45 + 30 + 12) / 60, rel=1e-12)
    assert market_object(found)["money"]["hours"] == pytest.approx(1.45, rel=1e-12)


@pytest.mark.parametrize(("cut", "wrap", "days"), [(None, None, 1), (60.0, None, 2), (None, 5.0, 2), (60.0, 5.0, 2)])
def test_a_day_is_not_overfilled_by_cutting_or_wrapping(cut: float | None, wrap: float | None, days: int) -> None:
    """Two hours a day are enough to make two small batches, not to cut or wrap both: these are then made apart."""
    workshop = asked(24, cut, wrap, hours_per_day=1.9)
    workshop = replace(workshop, moulds=tuple(replace(item, capacity=100.0) for item in workshop.moulds))
    two = replace(workshop, recipes=(workshop.recipes[0], replace(workshop.recipes[0], recipe="recipe 1")))
    lines = (*two.lines, *(replace(line, recipe="recipe 1") for line in two.lines))
    market = tuple(Demand(recipe=item.recipe, bars=12, needed_by=NEEDED) for item in two.recipes)
    found = work_out(replace(two, lines=lines, market=market))
    said = market_object(found)
    assert len({row["make_date"] for row in said["plan"]}) == days
    assert max(hours(found).values()) <= 1.9
    assert not Checker(found.run.workshop, said["plan"]).faults()


def test_refused_when_wrapping_takes_longer_than_a_day() -> None:
    """48 bars at 20 minutes each are 16 hours, which no day of 8 has; a batch of 12 fits."""
    found = work_out(asked(24, None, 20.0, hours_per_day=8.0))
    assert all(row["moulds_filled"] <= 2 for row in market_object(found)["plan"])
    none = work_out(asked(24, None, 60.0, hours_per_day=8.0))
    assert "one batch takes longer than Hours per day" in " ".join(map(say, none.problems))


def test_a_recipe_that_no_day_has_time_for_is_short_and_the_others_are_made() -> None:
    """Its bars are missing, with the reason; nothing crashes."""
    workshop = asked(12, None, None, hours_per_day=8.0)
    slow = replace(workshop.recipes[0], recipe="slow", wrap_minutes_per_bar=60.0)
    lines = (*workshop.lines, *(replace(line, recipe="slow") for line in workshop.lines))
    market = (*workshop.market, Demand(recipe="slow", bars=7, needed_by=NEEDED))
    found = work_out(replace(workshop, recipes=(*workshop.recipes, slow), lines=lines, market=market))
    assert found.short == {1: 7}
    assert [batch.recipe for batch in found.run.batches] == ["recipe 0"]
    assert "one batch takes longer than Hours per day" in " ".join(map(say, found.why))


def test_live_in_the_workbook(tmp_path: Path) -> None:
    """Cut minutes typed into the finished workbook change the hours of that day, the pay and the cost of a bar."""
    run = work_out(asked(12, 30.0, 1.0, labour_rate=20.0)).run
    content = finished(run)
    column = next(at for at, held in stored_values(content)["Recipes"].items() if held == "Cut minutes").rstrip(
        "0123456789"
    )
    edited = typed_over(content, {("Recipes", f"{column}4"): 90.0})
    path = tmp_path / "edited.xlsx"
    path.write_bytes(edited)
    there = IronCalc(path)
    assert [there.value("Calendar", f"E{row}") for row in range(6, 9)] == pytest.approx([0.75, 1.5, 0.2], rel=1e-12)


def test_market_of_a_day_ahead_has_a_row_of_its_own() -> None:
    """Where bars must be ready three days before a market, Calendar has the day for both."""
    fair = MarketDay(day="Fair", date=NEEDED, days_ahead=3)
    workshop = replace(asked(12, None, None), market_days=(fair,))
    workshop = replace(workshop, market=(Demand(recipe="recipe 0", bars=12, day="fair"),))
    tables = work_out(workshop).run.tables
    names = ("planned_day", "bars_needed", "bars_to_bring", "market_name")
    rows = list(zip(*(tables.column("days", name) for name in names), strict=True))
    wanted = [(day_of(day), *rest) for day, *rest in rows if rest[0] or rest[1]]
    assert wanted == [(NEEDED - timedelta(days=3), 12, 0, ""), (NEEDED, 0, 12, "Fair")]
