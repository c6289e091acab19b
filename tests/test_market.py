"""The market command: its JSON, its words, its files, and why there is no plan."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import icalendar
import openpyxl
import pytest
from market_checker import Checker
from market_runs import market_run
from recalculation import IronCalc
from typing_in import fresh, run, typed_over
from workshops import settings_lines

import scaler
from scaler.cli import DONE, NOT_REPLACED, PROBLEMS
from scaler.market.calendar_file import LONGEST_LINE, calendar, escaped, folded
from scaler.market.demand import dated
from scaler.market_report import market_object, summary
from scaler.market_run import work_out
from scaler.model.problems import say
from scaler.model.records import Batch, Demand, OnHand, Workshop
from scaler.output import copy_to
from scaler.read.files import stored_values
from scaler.read.workshop import shown_in
from scaler.write.finished import finished, inputs

pytestmark = pytest.mark.usefixtures("folder")
SHAPE = {
    "plan": {"batch", "recipe", "mould", "moulds_filled", "make_date", "unmould_date", "ready_date", "bars", "state"},
    "shopping": {"ingredient", "need", "stock", "unit", "buy", "cost", "left"},
    "demand": {"recipe", "day", "needed_by", "wanted", "made", "short"},
}
MONEY = {
    "cost", "cash_before", "own_pay", "stall_fees", "income_full", "break_even_bars", "profit_full", "profit_at_sell_through", "hours",
}  # fmt: skip


def asked(bars: int = 20, days: int = 60, **more: Any) -> Workshop:
    """Return a run of one recipe of 42 days' cure in one mould of 12 bars, for one day after 1 March 2027."""
    workshop = market_run(5, 1, 1, 1, owned=1, bars=5, named=0.0, on_hand=0.0, reject_share=0.0, **more)
    moulds = tuple(replace(item, bars=12, owned=1) for item in workshop.moulds)
    recipes = tuple(replace(item, cure_days=42.0) for item in workshop.recipes)
    market = (Demand(recipe="recipe 0", bars=bars, needed_by=date(2027, 3, 1) + timedelta(days=days)),)
    return replace(workshop, moulds=moulds, recipes=recipes, market=market)


def written(workshop: Workshop, name: str = "in.xlsx") -> str:
    """Write a workshop's input workbook and return its name."""
    Path(name).write_bytes(inputs(workshop))
    return name


# --- JSON ---


def test_json_has_the_shape_it_is_said_to_have() -> None:
    """`scaler market --json` prints one object with plan, shopping, demand, money, solver, batches and problems."""
    name = written(market_run(11))
    result = run("market", name, "--json")
    assert result.exit_code == DONE
    said = json.loads(result.stdout)
    assert list(said) == ["plan", "changes", "shopping", "demand", "money", "solver", "batches", "problems"]
    for key, names in SHAPE.items():
        assert said[key], key
        assert {frozenset(row) for row in said[key]} == {frozenset(names)}
    packs = [pack for row in said["shopping"] for pack in row["buy"]]
    assert {frozenset(pack) for pack in packs} == {frozenset({"supplier", "pack", "pack_unit", "packs", "price"})}
    assert set(said["money"]) == MONEY
    assert set(said["solver"]) == {"status", "objective", "gap"}
    assert said["problems"] == []
    assert [row["batch"] for row in said["plan"]] == [batch["batch"] for batch in said["batches"]]
    assert Path.cwd().joinpath("finished.xlsx").exists() is False


def test_json_agrees_with_itself() -> None:
    """Stock and packs less the need are left, packs cost what they cost, and there are bars for every day."""
    workshop = market_run(11)
    said = market_object(work_out(workshop))
    holds = {"kg": 1000.0, "mL": 0.9, "each": 1.0}
    for row in said["shopping"]:
        bought = sum(pack["packs"] * pack["pack"] * holds[pack["pack_unit"]] for pack in row["buy"])
        assert row["left"] == pytest.approx(row["stock"] + bought - row["need"], abs=1e-9)
        assert row["left"] >= -1e-9
        assert row["cost"] == pytest.approx(sum(pack["packs"] * pack["price"] for pack in row["buy"]), abs=1e-9)
        assert (row["unit"] == "each") == (row["ingredient"] == "band")
    assert all(row["made"] >= row["wanted"] for row in said["demand"])
    assert sum(row["wanted"] for row in said["demand"]) == sum(item.bars for item in workshop.market)
    lines = [line for batch in said["batches"] for line in batch["lines"]]
    soda = next(row for row in said["shopping"] if row["ingredient"] == "soda")
    assert soda["need"] == pytest.approx(sum(line["g"] for line in lines if line["ingredient"] == "soda"), rel=1e-12)


def test_money_by_hand() -> None:
    """Cost, cash, income, break-even bars, profit and hours of a run with round numbers are those of a pocket calculator."""
    workshop = asked(
        10, labour_rate=12.0, overhead=2.5, leftover_value=0.5, sales_tax=0.2, card_fee=0.02, stall_fee=30.0, sell_through=0.8,
    )  # fmt: skip
    workshop = replace(workshop, market=(replace(workshop.market[0], price=40.0),))
    found = work_out(workshop)
    said = market_object(found)
    (batch,) = said["batches"]
    recipe = workshop.recipes[0]
    assert recipe.labour_minutes
    assert recipe.labour_minutes_per_bar is not None
    hours = (recipe.labour_minutes + 12 * recipe.labour_minutes_per_bar) / 60
    packs = sum(row["cost"] for row in said["shopping"])
    money = said["money"]
    assert money["hours"] == pytest.approx(hours, rel=1e-12)
    assert money["cash_before"] == pytest.approx(packs + 30, rel=1e-12)
    assert (money["own_pay"], money["stall_fees"]) == (pytest.approx(hours * 12 + 2.5, rel=1e-12), 30)
    assert money["income_full"] == 400.0
    per_gram = {
        line["ingredient"]: line["cost"] / (line["g"] or line["count"]) for line in batch["lines"] if line["cost"]
    }
    gained = sum((row["left"] - row["stock"]) * per_gram[row["ingredient"]] for row in said["shopping"])
    worth = 0.5 * batch["cost"]["per_bar"]  # the one mould is the cheapest
    cost = packs + money["own_pay"] - 0.5 * gained - 2 * worth
    assert money["cost"] == pytest.approx(cost, rel=1e-9)
    net = 400 / 1.2 - 0.02 * 400
    assert money["profit_full"] == pytest.approx(net - cost - 30, rel=1e-9)
    through = [found.run.tables.column("through", name) for name in ("share_sold", "profit_at")]
    assert len(through[0]) > 3
    for share, profit in [*zip(*through, strict=True), (0.8, money["profit_at_sell_through"])]:
        assert profit == pytest.approx(share * net - cost - 30 + (1 - share) * 10 * worth, rel=1e-9)
    bars = money["break_even_bars"]
    assert (bars - 1) * (net / 10 - worth) < cost + 30 - 10 * worth <= bars * (net / 10 - worth)
    assert money["cost"] == pytest.approx(said["solver"]["objective"], rel=1e-9)


def test_bars_on_hand_are_no_profit() -> None:
    """A million bars on hand change nothing but what need not be made: only the change in stock counts."""
    workshop = asked(10, leftover_value=0.5)
    usual = market_object(work_out(workshop))["money"]
    heap = replace(workshop, on_hand=(OnHand(recipe=workshop.recipes[0].recipe, bars=1_000_000, ready_date=None),))
    found = work_out(heap)
    money = market_object(found)["money"]
    assert market_object(found)["plan"] == []
    assert money["cost"] == pytest.approx(market_object(found)["solver"]["objective"], rel=1e-9)
    assert 0 < money["cost"] < usual["cost"]
    row = found.run.tables.row("money", 0)
    assert row["stock_balance"] == pytest.approx(0, abs=1e-6)
    assert row["stock_before"] - row["stock_after"] == pytest.approx(money["cost"], rel=1e-6)


def test_not_even_all_of_them_pay() -> None:
    """A run that no number of its bars pays for says so, and names no number of bars beyond those wanted."""
    workshop = asked(10, stall_fee=5000.0)
    assert market_object(work_out(workshop))["money"]["break_even_bars"] is None
    said = " ".join(run("market", written(workshop), "-o", "out.xlsx").stdout.split())
    assert "does not pay, not even if every bar sells" in said


@pytest.mark.parametrize("seed", range(12))
def test_stock_and_money_balance(seed: int) -> None:
    """What there was and came in is what went out and is left, in bars and in money; one cost for solver and Money."""
    found = work_out(market_run(seed, on_hand=0.5))
    tables = found.run.tables
    assert all(value == 0 for value in tables.column("sold", "bars_balance"))
    for row in (tables.row("sold", place) for place in range(tables.lengths["sold"])):
        work = row["hours"] * row["wanted"] / row["made"] if row["made"] else 0
        assert row["profit_per_hour"] == pytest.approx(row["profit"] / work if work else 0, rel=1e-9)
    money = tables.row("money", 0)
    assert money["stock_balance"] == pytest.approx(0, abs=1e-9 * (abs(money["income_of_all"]) + 1))
    assert found.plan
    assert money["run_cost"] == pytest.approx(found.plan.cost, rel=1e-9)


# --- demand ---


def test_bars_on_hand_count() -> None:
    """Bars that are ready by the day are not made again; those that are not are."""
    workshop = asked(20)
    day = workshop.market[0].needed_by
    for ready, batches in ((None, 1), (day, 1), (day + timedelta(days=1), 2)):
        held = replace(workshop, on_hand=(OnHand(recipe="recipe 0", bars=9, ready_date=ready),))
        assert len(market_object(work_out(held))["plan"]) == batches


def test_named_mould_is_used() -> None:
    """A row that names a mould gets its bars from that mould, even where another is cheaper."""
    workshop = market_run(4, 1, 2, 1, owned=1, bars=5, named=0.0, on_hand=0.0)
    for mould in workshop.moulds:
        named = replace(workshop, market=tuple(replace(item, mould=mould.mould) for item in workshop.market))
        assert {row["mould"] for row in market_object(work_out(named))["plan"]} == {mould.mould}


def test_make_day_in_the_past_is_warned_of() -> None:
    """Without a first make day, a batch that would have to be made before today is planned, with a warning that says so."""
    workshop = replace(asked(10), costs=settings_lines({"worked_out_on": date(2027, 3, 1)}, {}))
    for needed, codes in ((date(2027, 4, 12), []), (date(2027, 4, 11), ["made_past"])):
        found = work_out(replace(workshop, market=(replace(workshop.market[0], needed_by=needed),)))
        (batch,) = found.run.batches
        assert [warning.code for warning in batch.warnings if warning.code == "made_past"] == codes, needed
        assert found.run.problems == ()


def sized(*bars: int, least: float, **demand: Any) -> Workshop:
    """Return a run of one recipe in moulds of 1 L that are cut into more or fewer bars, for 20 bars on one day."""
    workshop = asked(least_bar=least)
    moulds = tuple(replace(workshop.moulds[0], mould=f"of {count}", capacity=1000.0, bars=count) for count in bars)
    return replace(workshop, moulds=moulds, market=tuple(replace(item, **demand) for item in workshop.market))


def test_lighter_bars_are_not_planned_where_the_mould_is_open() -> None:
    """A mould of bars lighter than Least bar weight is left out, unless a row of Market names it."""
    used = {row["mould"] for row in market_object(work_out(sized(8, 40, least=80.0)))["plan"]}
    assert used == {"of 8"}
    assert {row["mould"] for row in market_object(work_out(sized(8, 40, least=1.0)))["plan"]} == {"of 40"}
    named = work_out(sized(8, 40, least=80.0, mould="of 40"))
    assert {row["mould"] for row in market_object(named)["plan"]} == {"of 40"}
    assert "of 40: its bars are lighter than Least bar weight" in why(sized(40, least=80.0))


def test_nothing_to_make(folder: Path) -> None:
    """Where bars on hand meet the demand, nothing is planned, nothing is written, and it is no problem."""
    name = written(replace(asked(5), on_hand=(OnHand(recipe="recipe 0", bars=5),)))
    result = run("market", name)
    assert result.exit_code == DONE
    assert "nothing to make" in result.stdout
    assert {path.name for path in folder.iterdir()} == {name}


# --- no plan ---


def why(workshop: Workshop) -> str:
    """Return the one problem of a run that has no plan, in words."""
    found = work_out(workshop, strict=True)
    assert found.plan is None
    assert [problem.code for problem in found.problems] == ["market_infeasible"]
    return say(found.problems[0])


def test_too_late_for_the_cure() -> None:
    """A day that the cure cannot reach from the first make day is named, with the make day it needs."""
    workshop = asked(10, days=0, first_make_day=date(2027, 2, 20))
    cure = int(workshop.recipes[0].cure_days or 0)
    latest = date(2027, 3, 1) - timedelta(days=cure)
    text = why(workshop)
    assert f"10 bars of recipe 0 by 2027-03-01 need a make day by {latest}; First make day is 2027-02-20" in text
    assert f"Set First make day to {latest} or earlier: then every bar can be there" in text
    moved = replace(workshop, market=(replace(workshop.market[0], needed_by=date(2027, 2, 20) + timedelta(days=cure)),))
    assert work_out(moved).plan


def test_no_remedy_lies_in_the_past() -> None:
    """Where the run is worked out on its first make day, no earlier one is offered."""
    day = date(2027, 2, 20)
    text = why(asked(10, days=0, first_make_day=day, worked_out_on=day))
    assert "Set First make day" not in text
    assert "Move the day to 2027-04-03 or later, or take the bars off." in text
    workshop = asked(36, first_make_day=date(2027, 4, 1), worked_out_on=date(2027, 4, 1))
    workshop = replace(workshop, market=(replace(workshop.market[0], needed_by=date(2027, 5, 15)),))
    assert "1 more of mould mould 0" in why(workshop)
    assert "First make day" not in why(workshop)


def test_week_without_work() -> None:
    """Seven days off are named as what they are, at their cell."""
    week = "Monday, Tuesday, Wednesday, Thursday, Friday, Saturday, Sunday"
    result = run("market", written(asked(10, days_off=week)))
    assert result.exit_code == PROBLEMS
    said = " ".join(result.stderr.split())
    assert "sheet Costs, cell B" in said
    assert "very weekday" in said


def test_largest_demand_of_the_day_is_named() -> None:
    """Where a day cannot be met, the row of that day with the most bars is named and pointed at."""
    workshop = asked(200, first_make_day=date(2027, 3, 1))
    (row,) = workshop.market
    few = tuple(replace(row, bars=bars, needed_by=row.needed_by) for bars in (3, 2))
    name = written(replace(workshop, market=(few[0], row, few[1])))
    said = " ".join(run("market", name, "--strict").stderr.split())
    assert "205 bars wanted by 2027-04-30, on that day 200 of recipe 0" in said
    assert "sheet Market, cell B5" in said


def test_too_few_moulds() -> None:
    """Where one mould cannot be filled often enough, how many more would do is said, and they do."""
    workshop = asked(36, first_make_day=date(2027, 4, 1))
    cure = int(workshop.recipes[0].cure_days or 0)
    workshop = replace(
        workshop, market=(replace(workshop.market[0], needed_by=date(2027, 4, 1) + timedelta(days=cure + 2)),)
    )
    text = why(workshop)
    assert "1 more of mould mould 0" in text
    assert "First make day 2027-03-30 or earlier" in text
    assert work_out(replace(workshop, moulds=(replace(workshop.moulds[0], owned=2),))).plan


def test_shelf_too_small() -> None:
    """Where the curing shelf is too small, the size that would do is said, and one bar less would not."""
    workshop = asked(24, days=80, shelf_bars=12.0, first_make_day=date(2027, 4, 1))
    assert "Shelf bars 24" in why(workshop)
    for bars, possible in ((24.0, True), (23.0, False)):
        lines = tuple(replace(o, value=bars) if o.setting == "Shelf bars" else o for o in workshop.costs)
        assert (work_out(replace(workshop, costs=lines), strict=True).plan is not None) is possible


def test_day_too_short() -> None:
    """A batch that takes longer than a day of work is refused with its reason."""
    assert "one batch takes longer than Hours per day" in why(asked(10, hours_per_day=0.1))


def test_strict_refuses_batches_of_the_past() -> None:
    """A plan whose batches would have to be made before today is written, with --strict it is refused and says why."""
    late = asked(10, days=0, worked_out_on=date(2027, 2, 20))
    assert work_out(late).plan is not None
    assert "today is 2027-02-20" in why(late)


def test_problem_in_the_terminal_and_in_json() -> None:
    """Without a plan the status is 1, nothing is written, and the JSON has the same shape with the problem in it."""
    name = written(asked(10, days=0, first_make_day=date(2027, 2, 20)))
    result = run("market", name, "-o", "out.xlsx")
    assert result.exit_code == PROBLEMS
    assert "First make day is 2027-02-20" in " ".join(result.stderr.split())
    assert not Path("out.xlsx").exists()
    assert not Path("out.ics").exists()
    said = json.loads(run("market", name, "--json").stdout)
    assert said["plan"] == said["batches"] == []
    assert said["solver"]["status"] == "infeasible"
    (problem,) = said["problems"]
    assert (problem["code"], problem["sheet"], problem["cell"]) == ("market_infeasible", "Market", "C4")


def test_no_market_is_a_problem(folder: Path) -> None:
    """A workbook without bars wanted is said to be one."""
    result = run("market", fresh(folder).name, "--json")
    assert result.exit_code == PROBLEMS
    assert [problem["code"] for problem in json.loads(result.stdout)["problems"]] == ["market_missing"]


# --- files ---


def test_files_are_written_beside_each_other(folder: Path) -> None:
    """-o writes the workbook and the calendar of the same name, twice in a row, but never over another's calendar."""
    name = written(asked())
    for _ in range(2):
        assert run("market", name, "-o", "run.xlsx").exit_code == DONE
    assert {path.name for path in folder.iterdir()} == {name, "run.xlsx", "run.ics"}
    Path("other.ics").write_text("BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n", encoding="utf-8")
    result = run("market", name, "-o", "other.xlsx")
    assert result.exit_code == NOT_REPLACED
    assert not Path("other.xlsx").exists()
    assert run("market", name, "-o", "other.xlsx", "--force").exit_code == DONE


def test_demo_plan_keeps_to_the_demand(folder: Path) -> None:
    """The demo's market run is planned within its moulds, hours and shelf, and to the last penny."""
    files = [str(path) for path in copy_to(folder)]
    workshop = scaler.load(*files)
    found = work_out(workshop)
    assert found.plan
    assert (found.plan.status, found.plan.gap) == ("optimal", 0.0)
    sized = {batch.mould: int(batch.bars / batch.moulds_filled) for batch in found.run.batches}
    moulds = tuple(replace(item, bars=sized.get(item.mould, 1)) for item in workshop.moulds)
    asked = replace(workshop, moulds=moulds, market=dated(found.run))
    assert Checker(asked, market_object(found)["plan"]).faults() == []


def test_progress_is_said_after_a_second(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is being done is said on stderr once it takes longer than a second, and not before."""
    name = written(asked())
    monkeypatch.setattr("scaler.market_run.PATIENCE", 1e9)
    assert run("market", name, "--json").stderr == ""
    monkeypatch.setattr("scaler.market_run.PATIENCE", 0.0)
    assert "Choosing among" in run("market", name, "--json").stderr


# --- days ---


def two_moulds(today: date, **more: Any) -> Workshop:
    """Return a run of two batches: 24 bars, 1 mould of 12, and a dearer one of 12; the last make day is 19 March 2027."""
    workshop = asked(24, worked_out_on=today, **more)
    (mould,) = workshop.moulds
    assert mould.capacity
    return replace(workshop, moulds=(mould, replace(mould, mould="dearer", capacity=mould.capacity * 1.5)))


def made_on(workshop: Workshop) -> list[tuple[str, str]]:
    """Return make day and mould of every batch that is planned."""
    return [(row["make_date"], row["mould"]) for row in market_object(work_out(workshop))["plan"]]


def test_plan_begins_today_where_it_can() -> None:
    """With First make day blank the cheapest mould is filled twice; when today is too late for that, another is used."""
    assert made_on(two_moulds(date(2027, 3, 1))) == [("2027-03-17", "mould 0"), ("2027-03-19", "mould 0")]
    late = two_moulds(date(2027, 3, 18))
    assert sorted(made_on(late)) == [("2027-03-19", "dearer"), ("2027-03-19", "mould 0")]
    assert "made_past" not in {warning.code for batch in work_out(late).run.batches for warning in batch.warnings}


def test_plan_in_the_past_says_so_first() -> None:
    """Where bars cannot be ready in time any more, that is the first line that is said, and each batch is warned of."""
    result = run("market", written(two_moulds(date(2027, 3, 20))), "-o", "out.xlsx")
    assert result.exit_code == DONE
    assert result.stdout.startswith("! NOT IN TIME: 2 of 2 batches would have to be made before today.")
    assert result.stdout.count("The make date") >= 1


def on_two_days(**more: Any) -> Workshop:
    """Return a run with a market on 30 April 2027 and one 42 days later: the cure's length."""
    workshop = asked(10, **more)
    (row,) = workshop.market
    return replace(workshop, market=(row, replace(row, needed_by=row.needed_by + timedelta(days=42))))


def test_nothing_is_made_on_a_market_day() -> None:
    """A batch whose last make day is a market day is made the day before, unless there is no other way."""
    assert [day for day, _ in made_on(on_two_days())] == ["2027-03-19", "2027-04-29"]
    only = replace(on_two_days(first_make_day=date(2027, 4, 30)))
    only = replace(only, market=only.market[1:])
    assert [day for day, _ in made_on(only)] == ["2027-04-30"]


def test_same_warning_is_said_once() -> None:
    """A warning that several batches share is one line that names them all."""
    workshop = two_moulds(date(2027, 3, 1), price_age=1.0)
    old = tuple(replace(item, date=date(2026, 1, 1)) for item in workshop.prices)
    said = run("market", written(replace(workshop, prices=old)), "-o", "out.xlsx").stdout
    assert said.count("look: 1, 2: ") >= 1
    assert len([line for line in said.splitlines() if re.match("  (danger|look|note): ", line)]) == len(
        {warning.text for batch in work_out(replace(workshop, prices=old)).run.batches for warning in batch.warnings}
    )


def test_warnings_of_a_run_say_how_much_they_weigh() -> None:
    """The terminal names danger, look and note, dangers first: lye of KOH that boils leads, weak lye comes last."""
    workshop = two_moulds(date(2027, 3, 1))
    things = tuple(
        replace(item, base="KOH", purity=0.9, purity_high=None) if item.kind == "alkali" else item
        for item in workshop.ingredients
    )
    (alkali,) = (item.ingredient for item in things if item.kind == "alkali")
    recipes = tuple(replace(item, lye_concentration=0.36, alkali=alkali) for item in workshop.recipes)
    hot = replace(workshop, ingredients=things, recipes=recipes)
    said = run("market", written(hot), "-o", "out.xlsx").stdout
    levels = re.findall("^  (danger|look|note): ", said, re.MULTILINE)
    assert levels[0] == "danger"
    assert "note" in levels
    assert levels == sorted(levels)  # by the alphabet too
    assert "  ! " not in said


def test_profit_at_the_share_expected_is_said() -> None:
    """With Sell-through below 100 % the profit at that share stands beside the one when every bar sells."""
    workshop = asked(10, sell_through=0.8)
    expected = work_out(workshop).run.tables.row("money", 0)["profit_expected"]
    said = " ".join(run("market", written(workshop), "-o", "out.xlsx").stdout.split())
    assert f"at 80% sold (Costs) {expected:,.2f}" in said


@pytest.mark.parametrize(
    ("change", "code", "cell"),
    [({}, "row_twice", "B4"), ({"mould": "mould 0", "price": 9.0}, "price_differs", "E5"), ({"needed_by": date(2036, 3, 1)}, "day_far", "C5")],
)  # fmt: skip
def test_rows_of_the_market_are_asked_about(change: dict[str, Any], code: str, cell: str) -> None:
    """A row that is there twice, two prices of one soap on a day and a day in a far year are asked about at their cell."""
    workshop = asked(10)
    row = replace(workshop.market[0], price=6.0)
    name = written(replace(workshop, market=(row, replace(row, **change))))
    doubts = scaler.scale(scaler.load(name)).workshop.doubts
    assert (code, cell) in {(warning.code, place.cell) for place, warning in doubts}
    assert not scaler.scale(scaler.load(written(workshop))).workshop.doubts
    priced = replace(row, mould="mould 0")
    other = replace(workshop, market=(priced, replace(priced, mould=None, price=None)))
    assert not scaler.scale(scaler.load(written(other))).workshop.doubts


def test_names_are_the_same_in_any_case() -> None:
    """A recipe and a mould spelled in capitals on Market are those that they name."""
    workshop = asked(20)
    row = replace(workshop.market[0], mould=workshop.moulds[0].mould)
    shouted = replace(row, recipe=row.recipe.upper(), mould=f"  {str(row.mould).upper()} ")
    plans = [
        market_object(work_out(scaler.load(written(replace(workshop, market=(held,))))))["plan"]
        for held in (row, shouted)
    ]
    assert plans[0]
    assert plans[0] == plans[1]


def test_usual_mould_of_a_recipe() -> None:
    """Where Market leaves Mould blank, the recipe's usual mould is used, though another is cheaper; a row's own comes first."""
    drawn = market_run(5, 1, 2, 1, named=0.0, on_hand=0.0)
    usual = {mould.mould: replace(drawn.recipes[0], usual_mould=mould.mould) for mould in drawn.moulds}
    for name, recipe in usual.items():
        plan = market_object(work_out(replace(drawn, recipes=(recipe,))))["plan"]
        assert {row["mould"] for row in plan} == {name}
    first, second = usual
    named = replace(drawn, recipes=(usual[first],), market=tuple(replace(row, mould=second) for row in drawn.market))
    assert {row["mould"] for row in market_object(work_out(named))["plan"]} == {second}


def test_mould_is_in_use_until_its_batch_is_out() -> None:
    """A mould is in use for the two days of 48 h, and a batch poured on the first of them is one mould too many."""
    workshop = asked(20)
    tables = work_out(workshop).run.tables
    made, free = tables.column("batches", "made_on"), tables.column("batches", "occupied_until")
    assert len(made) >= 2
    assert [until - day for day, until in zip(made, free, strict=True)] == [2.0] * len(made)
    assert all(moulds == 0 for moulds in tables.column("batches", "moulds_over"))


FULL, LATE = "On one of its days there is more work than Hours per day", "is ready after the last market"
SHARED = "On its make day 1 more mould 0 would be in use"
"""What day_full, ready_late and moulds_in_use say."""


@pytest.mark.parametrize(
    ("setting", "value", "moved", "told"),
    [
        ("", None, None, set()), ("", None, 0, {SHARED}), ("", None, 100, {LATE}), ("Shelf bars", 23.0, None, {FULL}),
        ("Shelf bars", 24.0, None, set()), ("Hours per day", 0.1, None, {FULL}),
    ],
)  # fmt: skip
def test_full_days_and_moulds_in_use_are_told(
    folder: Path, setting: str, value: float | None, moved: int | None, told: set[str]
) -> None:
    """Of two batches of 12 bars the second moved onto the day of the first or past the market, a shelf or a day too small."""
    content = finished(work_out(asked(20)).run)
    cells = {
        (sheet, cell): value for sheet in ("Batches", "Costs") for cell, value in stored_values(content)[sheet].items()
    }
    at = {held: cell for (_, cell), held in cells.items() if held in ("Make date", setting)}
    column = at["Make date"].rstrip("0123456789")
    edits: dict[tuple[str, str], Any] = {("Costs", f"B{at[setting][1:]}"): value} if setting else {}
    if moved is not None:
        edits["Batches", f"{column}5"] = cells["Batches", f"{column}4"] + moved
    (folder / "moved.xlsx").write_bytes(typed_over(content, edits))
    again = IronCalc(folder / "moved.xlsx")
    checks = [[again.value("Checks", f"{letter}{row}") for letter in "ABCDE"] for row in range(1, 120)]
    said = " ".join(str(text) for row in checks for text in row)
    assert {words for words in (FULL, LATE, SHARED) if words in said} == told
    assert [row[1] for row in checks if row[0] == "Moulds in use beyond those owned"] == [2 if moved == 0 else 0]


def test_dates_off_are_kept_free() -> None:
    """Days off takes dates and spans of dates beside weekdays, as they are typed."""
    workshop = asked(20, days_off="Sunday")
    made = {row["make_date"] for row in market_object(work_out(workshop))["plan"]}
    latest = max(made)
    span = f"sun, {date.fromisoformat(latest) - timedelta(days=3):%d %B %Y} to {latest}"
    name = written(asked(20, days_off=span))
    found = work_out(scaler.load(name))
    plan = market_object(found)["plan"]
    assert plan
    assert Checker(found.run.workshop, plan).faults() == []
    free = [str(date.fromisoformat(latest) - timedelta(days=days)) for days in range(4)]
    assert not {row["make_date"] for row in plan} & set(free)
    refused = run("market", written(asked(20, days_off="Sunday, Yule")))
    assert "'Yule' is neither a weekday nor a date." in " ".join(refused.stderr.split())


# --- calendar ---


def test_calendar_names_its_events_alike_after_replanning() -> None:
    """Another demand for the same market day moves a batch, and its events keep their names: a phone moves them too."""

    def names(workshop: Workshop) -> dict[str, date]:
        events = icalendar.Calendar.from_ical(calendar(work_out(workshop).run)).walk("VEVENT")
        return {str(event["UID"]): event["DTSTART"].dt for event in events}

    few, more = names(asked(10)), names(asked(20))
    assert few.keys() < more.keys()
    assert any(few[name] != more[name] for name in few)
    assert not names(asked(10, days=70)).keys() & few.keys()


def test_calendar_says_ounces_where_those_are_shown() -> None:
    """The lye of a make day is in ounces, never rounded up, the grams beside them, as on the card."""
    metric = work_out(asked(20)).run
    ounces = work_out(shown_in(asked(20), "us")).run
    said = b"".join(calendar(ounces).split(b"\r\n ")).decode()
    (oz, grams), *_ = re.findall(r"Lye: soda ([0-9.]+) oz\\, ([0-9.]+) g\.", said)
    weighed = ounces.batches[0].alkalis[0].weigh_g
    assert float(grams) == pytest.approx(weighed, abs=0.0005)
    assert 0 <= weighed - float(oz) * 28.349523125 < 0.001 * 28.4
    assert b" oz" not in calendar(metric)


def test_tab_calendar_never_rounds_alkali_up() -> None:
    """The alkali of a day is never said to be more than is weighed: in ounces, and in grams on a fine scale."""
    higher = 0
    for division in (0.1, 1.0, 2.0, 3.0, 5.0, 7.0):
        days = work_out(shown_in(asked(20, workshop_division=division), "us")).run.tables
        for grams, words in zip(days.column("days", "lye_g"), days.column("days", "lye_words"), strict=True):
            if words:
                pounds, oz = re.fullmatch(r"(?:(\d+) lb )?([\d.]+) oz, .*", words).groups(default="0")  # type: ignore[union-attr]
                assert (float(pounds) * 16 + float(oz)) * 28.349523125 <= grams + 1e-9
                higher += round(grams / 28.349523125, 2) * 28.349523125 > grams
    assert higher  # two digits, half up, would have been more
    fine = asked(20, workshop_division=0.01)
    book = openpyxl.load_workbook(io.BytesIO(finished(work_out(fine).run)))
    assert book["Calendar"]["C6"].number_format.startswith("#,##0.00#")


def test_bars_on_hand_are_ready_in_the_calendar() -> None:
    """Bars on hand that still cure have a day in the calendar; those that are cured have none."""
    ready = date(2027, 4, 3)
    on_hand = (OnHand(recipe="recipe 0", bars=3, ready_date=ready), OnHand(recipe="recipe 0", bars=2))
    content = calendar(work_out(replace(asked(20), on_hand=on_hand)).run)
    titles = {str(e["SUMMARY"]): e["DTSTART"].dt for e in icalendar.Calendar.from_ical(content).walk("VEVENT")}
    assert {title: day for title, day in titles.items() if "on hand" in title} == {"Ready: recipe 0, on hand": ready}


def test_calendar_is_read_by_a_library() -> None:
    """Another library reads the calendar: every event of every batch and market, all day, each with a name of its own."""
    found = work_out(market_run(11))
    content = calendar(found.run)
    held = icalendar.Calendar.from_ical(content)
    events = held.walk("VEVENT")
    names = [str(event["UID"]) for event in events]
    assert len(set(names)) == len(names)
    assert all(type(event["DTSTART"].dt) is date for event in events)
    assert all(event["DTEND"].dt - event["DTSTART"].dt == timedelta(days=1) for event in events)
    plan = market_object(found)["plan"]
    for kind, key in (("MAKE", "make_date"), ("UNMOULD", "unmould_date"), ("READY", "ready_date")):
        days = sorted(e["DTSTART"].dt.isoformat() for e in events if kind in e["CATEGORIES"].cats)
        held = [i.ready_date.isoformat() for i in found.run.workshop.on_hand if kind == "READY" and i.ready_date]
        assert days == sorted([*(row[key] for row in plan), *held])
    markets = {event["DTSTART"].dt for event in events if "MARKET" in event["CATEGORIES"].cats}
    assert markets == {item.needed_by for item in found.run.workshop.market}
    assert calendar(work_out(market_run(11)).run) == content


def test_calendar_keeps_signs_and_short_lines() -> None:
    """Commas, semicolons and letters of any script come back as they were, and no line is over 75 octets."""
    workshop = asked(10)
    odd = "Färöer; salt, oats \\ 塩 " + "very " * 20 + "long"
    market = (replace(workshop.market[0], day=odd),)
    content = calendar(work_out(replace(workshop, market=market)).run)
    lines = content.split(b"\r\n")
    assert max(map(len, lines)) <= LONGEST_LINE
    assert b"\n" not in b"".join(lines)
    titles = {str(event["SUMMARY"]) for event in icalendar.Calendar.from_ical(content).walk("VEVENT")}
    assert odd in titles


def test_folding_breaks_no_sign() -> None:
    """A line is folded between signs, each part but the first begins with a space, and unfolding gives it back."""
    line = "SUMMARY:" + "é塩" * 60
    parts = list(folded(line))
    assert all(len(part.encode()) <= LONGEST_LINE for part in parts)
    assert parts[0] + "".join(part[1:] for part in parts[1:]) == line
    assert escaped("a\nb") == "a\\nb"


def test_one_bar_is_a_bar() -> None:
    """What the terminal and the calendar say of one bar is not said of bars."""
    done = (Batch(batch="1", recipe="recipe 0", mould="mould 0", state="made", make_date=date(2027, 2, 1), bars_got=1),)
    found = work_out(replace(asked(1, worked_out_on=date(2027, 2, 20)), done=done))
    said = "\n".join(summary(found)) + calendar(found.run).decode()
    assert "1 bar ready" in said
    assert not re.search(r"(?<![0-9.,])1 (bars|batches)\b", said)


def test_half_a_day_of_cure_is_a_day() -> None:
    """A cure of 30.5 days is one of 31: bars are ready on whole days, in the plan as in the tables."""
    workshop = asked(20)
    found, whole = (
        work_out(replace(workshop, recipes=tuple(replace(item, cure_days=days) for item in workshop.recipes)))
        for days in (30.5, 31.0)
    )
    assert [batch.ready_date for batch in found.run.batches] == [batch.ready_date for batch in whole.run.batches]
    assert len(found.run.batches) > 0
