"""The finished workbook of a market run: live, proven by another engine, sound, and fed back to the tool."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

import audit
import openpyxl
import pytest
from click.testing import CliRunner
from market_runs import market_run
from opened import Whole
from recalculation import IronCalc, formulas, plain, same
from typing_in import typed_over

import scaler
from scaler.cli import main
from scaler.demo import FILES, shipped
from scaler.market.calendar_file import events
from scaler.market.report import market_object
from scaler.market.run import MarketRun, planned, work_out
from scaler.market.stored_plan import kept
from scaler.market.tables import given, refill
from scaler.model.records import COSTS, MARKET, PRICES, RECIPES, SHEETS, Workshop
from scaler.model.schema import Sheet
from scaler.planning.plan import Plan
from scaler.planning.problem import Task
from scaler.read.formulas import read_cells
from scaler.verify import verify
from scaler.write.layout import FIRST_ROW, Layout
from scaler.write.market import finished_market
from scaler.write.tabs import calendar, market_money, plan, shopping

RUNS = ("demo", "two recipes", "nothing on hand")


@cache
def made(name: str) -> MarketRun:
    """Return a market run: the demo's, or a generated one."""
    if name == "demo":
        return work_out(scaler.load(*(shipped() / file for file in FILES)))
    more = {"named": 0.5} if name == "two recipes" else {"on_hand": 0.0, "shelf_bars": None}
    return work_out(market_run(11, **more))


@cache
def book(name: str) -> bytes:
    """Return the finished workbook of a market run."""
    return finished_market(made(name).run)


def parts(name: str) -> tuple[Workshop, Task, Plan]:
    """Return what a market run was made of."""
    found = made(name)
    assert found.task
    assert found.plan
    return found.run.workshop, found.task, found.plan


def saved(folder: Path, name: str) -> Path:
    """Write the finished workbook of a market run."""
    path = folder / "run.xlsx"
    path.write_bytes(book(name))
    return path


@pytest.mark.parametrize("name", RUNS)
def test_ironcalc_finds_every_stored_value(name: str, tmp_path: Path) -> None:
    """IronCalc's value of every formula of the market workbook is the stored one, to 1e-9, and every check holds."""
    path = saved(tmp_path, name)
    engine = IronCalc(path)
    held = formulas(path)
    assert {plan.NAME, shopping.NAME, calendar.NAME, market_money.NAME} <= {item.sheet for item in held}
    wrong = [(item, engine.value(item.sheet, item.cell)) for item in held]
    assert [pair for pair in wrong if not same(pair[0].value, pair[1])] == []
    assert str(engine.value("Checks", "B1")).startswith("All checks hold")


@pytest.mark.parametrize("rule", audit.RULES, ids=lambda rule: rule.__name__)
def test_workbook_passes_the_audit(rule: audit.Rule) -> None:
    """The market workbook breaks no rule of the spreadsheet auditors."""
    assert list(rule(Whole.of(book("two recipes")))) == []


def test_same_run_gives_the_same_bytes() -> None:
    """The workbook of a run is the same, byte by byte, when it is made again."""
    assert finished_market(work_out(market_run(11, named=0.5)).run) == book("two recipes")


# --- live ---


@dataclass(frozen=True)
class Edit:
    """One input cell typed over."""

    sheet: Sheet
    index: int
    field: str
    value: Any

    def made(self, workshop: Workshop) -> Workshop:
        """Return the workshop with the edit in it."""
        records = list(getattr(workshop, self.sheet.key))
        records[self.index] = replace(records[self.index], **{self.field: self.value})
        return replace(workshop, **{self.sheet.key: tuple(records)})


class Loaded:
    """A market workbook in an independent engine, where one edit at a time is made."""

    def __init__(self, found: MarketRun, path: Path) -> None:
        """Load the workbook."""
        self.run, self.path, self.engine, self.layout = found.run, path, IronCalc(path), Layout(found.run.tables)

    def at(self, table: str, name: str, index: int) -> tuple[int, int, int]:
        """Return where a value stands, as the engine counts."""
        spot = self.layout.spots[table, name]
        return self.engine.sheets[spot.sheet], FIRST_ROW + index, spot.number

    def cell(self, table: str, name: str, index: int) -> Any:
        """Return the value of a cell."""
        return plain(self.engine.model.get_cell_value(*self.at(table, name, index)))

    def number(self, table: str, name: str, index: int, value: float) -> None:
        """Type a number into a cell and recalculate."""
        self.engine.model.update_cell_with_number(*self.at(table, name, index), float(value))
        self.engine.model.evaluate()

    def type_in(self, edit: Edit) -> None:
        """Make an edit."""
        self.number(edit.sheet.key, edit.field, edit.index, edit.value)

    def differences(self, tables: Any) -> list[str]:
        """Return the workings whose recalculated value is not what the engine has in its tables."""
        wrong = []
        for (table, name), spot in self.layout.spots.items():
            if spot.sheet in {sheet.name for sheet in SHEETS}:
                continue
            for index, held in enumerate(tables.column(table, name)):
                got = self.cell(table, name, index)
                if not same(float(held) if isinstance(held, int) else plain(held), got):
                    wrong.append(f"{spot.sheet} row {index}, {name}: {got!r}, engine {held!r}")
        return wrong


def setting(workshop: Workshop, name: str, value: object) -> Edit:
    """Return an edit of a setting."""
    index = next(index for index, line in enumerate(workshop.costs) if line.setting == name)
    return Edit(COSTS, index, "value", value)


def edits(workshop: Workshop) -> list[Edit]:
    """Return edits that money must follow at once."""
    return [
        Edit(PRICES, 0, "price", 17.5),
        Edit(PRICES, 1, "delivery", 3.25),
        Edit(RECIPES, 0, "labour_minutes", 75.0),
        Edit(MARKET, 0, "price", 9.5),
        setting(workshop, "Labour rate", 21.0),
        setting(workshop, "Card fee %", 0.03),
        setting(workshop, "Stall fee", 44.0),
        setting(workshop, "Sales tax %", 0.1),
        setting(workshop, "Sell-through %", 0.7),
        setting(workshop, "Leftover value %", 0.25),
        setting(workshop, "Overhead per batch", 6.0),
    ]


def test_results_follow_every_edit(tmp_path: Path) -> None:
    """After each edit of a price, fee, wage or share, every figure is what the engine makes of the same plan."""
    workshop, task, found = parts("two recipes")
    for edit in edits(workshop):
        sheet = Loaded(made("two recipes"), saved(tmp_path, "two recipes"))
        sheet.type_in(edit)
        again = scaler.scale(replace(edit.made(workshop), batches=planned(workshop, found.jobs)))
        refill(again, given(sheet.run, task, found))
        assert sheet.differences(again.tables) == [], edit


def test_differences_are_noticed(tmp_path: Path) -> None:
    """The comparison with the engine finds an edit that the engine was not told of."""
    workshop, _, _ = parts("two recipes")
    sheet = Loaded(made("two recipes"), saved(tmp_path, "two recipes"))
    assert sheet.differences(sheet.run.tables) == []
    edit = setting(workshop, "Labour rate", 21.0)
    sheet.type_in(edit)
    assert sheet.differences(sheet.run.tables)


def test_changed_demand_says_run_again(tmp_path: Path) -> None:
    """Another number of bars on Market makes Plan say what to do and Checks fail, and it says how many are missing."""
    sheet = Loaded(made("two recipes"), saved(tmp_path, "two recipes"))
    assert sheet.engine.value("Plan", "E1") == ""
    sheet.type_in(Edit(MARKET, 0, "bars", 400))
    assert sheet.engine.value("Plan", "E1") == "Demand changed: run scaler market again"
    assert sheet.engine.value("Checks", "B1") == "NOT ALL CHECKS HOLD"
    short = max(sheet.cell("market", "short", row) for row in range(sheet.layout.tables.lengths["market"]))
    assert short > 0
    checks = openpyxl.load_workbook(sheet.path)["Checks"]
    row = next(row for row in range(4, checks.max_row) if checks.cell(row, 1).value == "Bars missing on their day")
    assert sheet.engine.value("Checks", f"B{row}") == short


def test_moved_day_is_noticed(tmp_path: Path) -> None:
    """Longer in the mould, the unmould date moves at once, and a check says that the calendar has no row for it."""
    found = made("two recipes")
    sheet = Loaded(found, saved(tmp_path, "two recipes"))
    before = sheet.cell("batches", "unmould_on", 0)
    sheet.type_in(setting(found.run.workshop, "Unmould after", 72.0))
    assert sheet.cell("batches", "unmould_on", 0) == before + 1
    assert sheet.engine.value("Checks", "B1") == "All checks hold; some need a look"


def test_packs_may_be_typed(tmp_path: Path) -> None:
    """A pack less makes the list say that there is too little and Checks fail; a pack more costs its price."""
    found = made("two recipes")
    sheet = Loaded(found, saved(tmp_path, "two recipes"))
    counts = found.run.tables.column("packs", "packs_to_buy")
    index = next(index for index, count in enumerate(counts) if count)
    before = sheet.cell("money", "packs_cost", 0)
    for packs, master in ((0.0, "NOT ALL CHECKS HOLD"), (counts[index] + 1, "All checks hold")):
        sheet.number("packs", "packs_to_buy", index, packs)
        assert str(sheet.engine.value("Checks", "B1")).startswith(master)
    price = sheet.cell("packs", "pack_cost", index)
    assert sheet.cell("money", "packs_cost", 0) == pytest.approx(before + price, rel=1e-12)


def test_packs_are_the_only_cells_to_fill_on_result_tabs() -> None:
    """On the four tabs of a market run only the counts of packs are unlocked, and they hold numbers."""
    written = openpyxl.load_workbook(BytesIO(book("two recipes")))
    tabs = [written[name] for name in (plan.NAME, shopping.NAME, calendar.NAME, market_money.NAME)]
    open_cells = [cell for tab in tabs for row in tab.iter_rows() for cell in row if not cell.protection.locked]
    packs = made("two recipes").run.tables.lengths["packs"]
    assert [cell.coordinate for cell in open_cells] == [f"F{row}" for row in range(4, 4 + packs)]
    assert all(isinstance(cell.value, int | float) for cell in open_cells)


# --- fed back ---


def test_market_workbook_is_an_input(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The finished workbook given to `scaler market` gives the same plan, and to `scaler batch` the planned batches."""
    monkeypatch.chdir(tmp_path)
    path = saved(tmp_path, "two recipes")
    found = made("two recipes")
    assert market_object(work_out(scaler.load(path))) == market_object(found)
    run = scaler.scale(scaler.load(path))
    assert run.problems == ()
    assert run.batches == found.run.batches
    for command, name in (("batch", "batch.xlsx"), ("market", "market.xlsx")):
        result = CliRunner().invoke(main, [command, path.name, "-o", name])
        assert (result.exit_code, result.exception) == (0, None), result.stderr
    assert Path("market.xlsx").exists()


def test_market_workbook_can_be_verified(tmp_path: Path) -> None:
    """`scaler verify` finds nothing wrong with a market workbook as it was handed over, and a formula typed over."""
    path = saved(tmp_path, "two recipes")
    assert verify(path).sound
    edited = openpyxl.load_workbook(path)
    edited[market_money.NAME]["F4"] = 1.0
    edited.save(path)
    assert [(fault.sheet, fault.cell) for fault in verify(path).overwritten] == [(market_money.NAME, "F4")]


def test_plain_workbook_has_no_market_tab() -> None:
    """A finished workbook of batches has none of the tabs and workings of a market run."""
    from scaler.write.finished import finished

    run = made("two recipes").run
    plain_run = scaler.scale(replace(run.workshop, batches=run.workshop.batches[:1]))
    names = openpyxl.load_workbook(BytesIO(finished(plain_run))).sheetnames
    assert {plan.NAME, shopping.NAME, calendar.NAME, market_money.NAME, "Market workings"} & set(names) == set()
    assert {"Market", "Overview"} <= set(names)


def test_calendar_tab_and_file_agree() -> None:
    """The calendar tab lists a step for each event of a batch in the .ics file, on the same days."""
    found = made("demo")
    stored = openpyxl.load_workbook(BytesIO(book("demo")), data_only=True)[calendar.NAME]
    words = {"make": "Make", "unmould": "Out of the mould, cut", "ready": "Can be sold"}
    steps = [(row[0].date(), row[1]) for row in stored.iter_rows(values_only=True) if row[1] in words.values()]
    made_here = {batch.batch for batch in found.run.batches}
    held = [
        (event.day, words[event.kind]) for event in events(found.run) if event.kind in words and event.key in made_here
    ]
    assert sorted(steps) == sorted(held)


def test_plan_is_found_in_the_workbook() -> None:
    """What a finished workbook holds of its plan is what the plan gave it."""
    _, task, found = parts("two recipes")
    run = made("two recipes").run
    held, gave = kept(read_cells(book("two recipes")), run), given(run, task, found)
    assert {table: list(columns) for table, columns in held.items()} == {
        table: list(columns) for table, columns in gave.items()
    }
    for table, columns in gave.items():
        for name, values in columns.items():
            assert len(held[table][name]) == len(values)
            assert all(map(same, values, held[table][name])), (table, name)


AGAIN = "Give this file to scaler market again."
EDITED = {
    "a dearer pack": ("Prices", "D4", 46.5, True, "packs to buy"),
    "a stall fee": ("Costs", "Stall fee", 99.0, True, "profit when every bar sells"),
    "a make date": ("Batches", "E4", date(2026, 1, 7), True, ""),
    "more bars wanted": ("Market", "B4", 99, False, f"Rows of Market changed since the plan: found 1.0. {AGAIN}"),
    "no packs": ("Shopping list", "F4", 0, False, "Ingredients that do not reach"),
    "a word for packs": ("Shopping list", "F4", "two", False, "Sheet Shopping list, cell F4 holds two, not a number."),
    "no such row": ("Pack workings", "A4", 900, False, "cell A4 holds 900, which is no row of the workbook."),
}


@pytest.mark.parametrize("what", EDITED)
def test_edited_market_workbook_is_judged(what: str, tmp_path: Path) -> None:
    """What the maker may change is sound and its results are told; what breaks the plan is named; nothing else is said."""
    sheet, cell, value, sound, says = EDITED[what]
    content = book("two recipes")
    if sheet == "Costs":
        costs = openpyxl.load_workbook(BytesIO(content))[sheet]
        cell = next(f"B{row}" for row in range(4, costs.max_row + 1) if costs.cell(row, 1).value == cell)
    path = tmp_path / "edited.xlsx"
    path.write_bytes(typed_over(content, {(sheet, cell): value}))
    report = verify(path)
    assert (report.overwritten, report.problems, report.sound) == ((), (), sound)
    if sound:
        assert not says or f"The run: {says}" in {item.result for item in report.changed}
    else:
        assert any(says in failing for failing in report.failing)


def test_added_demand_needs_the_engine(tmp_path: Path) -> None:
    """A row added to Market is told on the tabs of the run and by verify."""
    sheet = Loaded(made("two recipes"), saved(tmp_path, "two recipes"))
    row = 4 + sheet.layout.tables.lengths["market"]
    recipe, day = made("two recipes").run.workshop.recipes[0].recipe, date(2026, 12, 24)
    cells: dict[tuple[str, str], Any] = {
        ("Market", f"A{row}"): recipe,
        ("Market", f"B{row}"): 5,
        ("Market", f"C{row}"): day,
    }
    sheet.engine.model.update_cell_with_number(sheet.engine.sheets["Market"], row, 2, 5.0)
    sheet.engine.model.evaluate()
    for tab, at in (("Plan", "E1"), ("Shopping list", "B1"), ("Money", "C1"), ("Calendar", "D1")):
        assert sheet.engine.value(tab, at) == "Demand changed: run scaler market again"
    sheet.path.write_bytes(typed_over(book("two recipes"), cells))
    (failing,) = verify(sheet.path).failing
    assert failing.endswith("were planned for. Give the file to scaler market again.")


def test_changed_price_is_told_beside_the_packs(tmp_path: Path) -> None:
    """Where packs cost another sum than when they were chosen, the list says that others may be cheaper."""
    sheet = Loaded(made("two recipes"), saved(tmp_path, "two recipes"))
    at = f"B{4 + sheet.layout.tables.lengths['packs']}"
    assert sheet.engine.value("Shopping list", at) == ""
    sheet.type_in(Edit(PRICES, 0, "price", 17.5))
    assert sheet.engine.value("Shopping list", at) == "Prices changed: scaler market may find cheaper packs"


def test_money_of_recipes_leads_to_that_of_the_run() -> None:
    """The recipes' profits, less stall fees, plus what is not paid bar by bar, are the profit of the run."""
    money = made("two recipes").run.tables.row("money", 0)
    way = money["recipes_profit"] - money["stall_fees"] + money["not_by_the_bar"]
    assert way == pytest.approx(money["profit_full"], rel=1e-12)
