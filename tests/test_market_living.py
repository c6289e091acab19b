"""A plan that lives: made batches count, failed ones are made up, names and calendar entries last, little else changes."""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from market_checker import Checker
from market_runs import market_run
from recalculation import formulas, unlike

from scaler.cli import main
from scaler.market.before import LastPlan, numbered
from scaler.market.calendar_file import calendar
from scaler.market_report import market_object, summary
from scaler.market_run import MarketRun, work_out
from scaler.model.records import MADE, Batch, OnHand, Workshop
from scaler.write.finished import finished, inputs
from scaler.write.layout import FIRST_ROW, HEADER_ROW

SEEDS = range(int(os.environ.get("MARKET_REPLANS", "4")))
"""MARKET_REPLANS=100 tries a hundred; the suite tries fewer, for time."""
WORKED_OUT = date(2026, 11, 25)


def last_of(run: MarketRun) -> LastPlan:
    """Return what a finished workbook of a run says of its plan."""
    row = run.run.tables.row("money", 0)
    return LastPlan(row["first_market"], int(row["last_number"]))


@cache
def replanned(seed: int) -> tuple[MarketRun, Workshop, MarketRun]:
    """Return a plan, the workshop after some batches were made or failed and a row changed, and the plan made then."""
    draw = random.Random(seed)
    first = work_out(market_run(seed, 2, 2, 2, 2, 60, stock_counted=date(2026, 11, 1), keep_plan=0.1))
    assert first.plan, first.problems
    batches, done = [], []
    for item in first.run.workshop.batches:
        state = draw.choice(("made", "failed", None, None))
        day = WORKED_OUT - timedelta(days=draw.randint(0, 20))
        if state:
            got = draw.choice((None, 3)) if state == "made" else None
            done.append(replace(item, state=state, done_on=day, bars_got=got))
        else:
            batches.append(item)
    market = [replace(row, bars=row.bars + draw.choice((0, 0, 7))) for row in first.run.workshop.market]
    edited = replace(first.run.workshop, batches=tuple(batches), done=tuple(done), market=tuple(market))
    return first, edited, work_out(edited, last=last_of(first))


@pytest.mark.parametrize("seed", SEEDS)
def test_done_batches_stand(seed: int) -> None:
    """Made and failed batches keep name, recipe, mould and day; made ones give Bars got, or bars less rejects."""
    _, edited, second = replanned(seed)
    assert second.plan, second.problems
    rows = market_object(second)["plan"]
    rejects = next(line.value for line in edited.costs if line.setting == "Reject share %") or 0.0
    for row, item in zip(rows, edited.done, strict=False):
        cut = next(mould.bars for mould in edited.moulds if mould.mould == item.mould) * item.moulds_filled
        bars = (
            0 if item.state == "failed" else int(cut * (1 - rejects) + 1e-9) if item.bars_got is None else item.bars_got
        )
        assert (row["batch"], row["recipe"], row["mould"], row["state"]) == (
            item.batch,
            item.recipe,
            item.mould,
            item.state,
        )
        assert row["make_date"] == item.done_on.isoformat()
        assert row["bars"] == bars
    assert [row["state"] for row in rows[len(edited.done) :]] == ["planned"] * len(second.run.batches)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_name_is_used_again(seed: int) -> None:
    """A name stands for one soap for ever: a kept batch has the recipe it had, a new one a number never used."""
    first, edited, second = replanned(seed)
    were = {item.batch: item.recipe for item in first.run.workshop.batches}
    done = {item.batch for item in edited.done}
    names = [item.batch for item in second.run.workshop.batches]
    assert len(names) == len(set(names))
    assert not done & set(names)
    for item in second.run.workshop.batches:
        assert were.get(item.batch, item.recipe) == item.recipe
        assert item.batch in were or int(item.batch or 0) > len(were)


@pytest.mark.parametrize("seed", SEEDS)
def test_new_plan_is_feasible_and_near_the_cheapest(seed: int) -> None:
    """Bars made count as on hand, and keeping to the plan costs no more than Keep plan % beyond planning afresh."""
    _, edited, second = replanned(seed)
    lots = [row for row in market_object(second)["plan"] if row["state"] == "made"]
    held = [
        OnHand(recipe=row["recipe"], bars=row["bars"], ready_date=date.fromisoformat(row["ready_date"])) for row in lots
    ]
    there = replace(edited, on_hand=(*edited.on_hand, *held))
    assert Checker(there, [row for row in market_object(second)["plan"] if row["state"] == "planned"]).faults() == []
    afresh = work_out(edited)
    assert second.plan
    assert afresh.plan
    assert second.plan.cost <= afresh.plan.cost + 0.1 * abs(afresh.plan.cost) + 1e-6
    assert second.run.tables.row("money", 0)["run_cost"] == pytest.approx(second.plan.cost, abs=1e-6)


def test_what_was_made_is_off_the_shelf() -> None:
    """Stock is less what made and failed batches took since it was counted, and untouched when that day is blank."""
    seen = 0
    for seed in SEEDS[:6]:
        _, edited, second = replanned(seed)
        counted = {row["ingredient"]: row["stock"] for row in market_object(second)["shopping"]}
        costs = tuple(
            replace(line, value=None) if line.setting == "Stock counted on" else line for line in edited.costs
        )
        blank = market_object(work_out(replace(edited, costs=costs), last=last_of(second)))["shopping"]
        soda = next((row["stock"] for row in blank if row["ingredient"] == "soda"), 0.0)
        if edited.done and soda > 0:
            seen += 1
            assert counted.get("soda", 0.0) < soda
    assert seen >= 1


def events_of(text: bytes) -> Iterator[dict[str, str]]:
    """Yield the events of a calendar by RFC 5545's rules: unfolded lines, the alarm's left out."""
    for part in text.decode().replace("\r\n ", "").split("BEGIN:VEVENT\r\n")[1:]:
        own = part.split("BEGIN:VALARM")[0].split("END:VEVENT")[0]
        yield dict(line.split(":", 1) for line in own.split("\r\n") if line)


@pytest.mark.parametrize("seed", SEEDS)
def test_calendar_leaves_no_double(seed: int) -> None:
    """Reading the second calendar over the first leaves each day of the new plan once, and what fell away cancelled."""
    first, _, second = replanned(seed)
    old = calendar(first.run)
    new = calendar(second.run, [old])
    was = {event["UID"]: event for event in events_of(old)}
    now = list(events_of(new))
    assert len({event["UID"] for event in now}) == len(now)
    assert set(was) <= {event["UID"] for event in now}
    live = {event["UID"] for event in events_of(calendar(second.run))}
    assert live == {event["UID"] for event in now if "STATUS" not in event}
    for event in now:
        before = was.get(event["UID"])
        other = before and {**before, "SEQUENCE": "", "DTSTAMP": ""} != {**event, "SEQUENCE": "", "DTSTAMP": ""}
        assert not other or int(event["SEQUENCE"]) > int(before["SEQUENCE"])
    assert calendar(second.run, [new]) == new


def test_nothing_changes_when_nothing_happened() -> None:
    """Planned again as it is, a run keeps every batch, its name and its day."""
    first = work_out(market_run(4))
    second = work_out(first.run.workshop, last=last_of(first))
    assert second.run.workshop.batches == first.run.workshop.batches
    assert second.changes == ()


def written_again(path: Path, edits: dict[tuple[int, str], object]) -> None:
    """Type into sheet Batches of a workbook, by row (0, 1, ...) and header."""
    book = openpyxl.load_workbook(path)
    sheet = book["Batches"]
    at = {cell.value: cell.column for cell in sheet[HEADER_ROW]}
    for (row, header), value in edits.items():
        sheet.cell(FIRST_ROW + row, at[header]).value = value
    book.save(path)


def test_weeks_later_at_the_command_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A workbook of weeks ago is planned again as of today: what is made since counts, what is overdue is asked about."""
    monkeypatch.chdir(tmp_path)
    today = date.today()
    drawn = market_run(4, worked_out_on=today - timedelta(days=30))
    late = max(item.needed_by for item in drawn.market)
    market = tuple(
        replace(item, needed_by=item.needed_by + (today + timedelta(days=200) - late)) for item in drawn.market
    )
    Path("in.xlsx").write_bytes(inputs(replace(drawn, market=market, batches=())))
    assert CliRunner().invoke(main, ["market", "in.xlsx", "-o", "run.xlsx"]).exit_code == 0
    yesterday = datetime.combine(today - timedelta(days=1), datetime.min.time())
    written_again(tmp_path / "run.xlsx", {(0, "State"): "made", (0, "Made on"): yesterday, (1, "Make date"): yesterday})
    result = CliRunner().invoke(main, ["market", "run.xlsx", "-o", "run.xlsx", "--force"])
    said = " ".join(result.output.split())
    assert result.exit_code == 0, said
    assert f"1: recipe 0, made {yesterday:%Y-%m-%d}" in said or f"1: recipe 1, made {yesterday:%Y-%m-%d}" in said
    assert "2: its day is past" in said
    batches = openpyxl.load_workbook("run.xlsx")["Batches"]
    names = [str(row[0]) for row in batches.iter_rows(min_row=FIRST_ROW, values_only=True) if row[1]]
    assert "2" not in names
    tomorrow = yesterday + timedelta(days=2)
    written_again(tmp_path / "run.xlsx", {(0, "State"): "made", (0, "Made on"): tomorrow})
    refused = CliRunner().invoke(main, ["market", "run.xlsx", "-o", "other.xlsx"])
    assert refused.exit_code == 1
    assert "which is still to come. Fill Made on" in " ".join(refused.output.split())


def test_workbook_recalculates_with_done_batches(tmp_path: Path) -> None:
    """A finished workbook with made and failed batches has the same figures in another program as in scaler."""
    _, _, second = next(found for found in map(replanned, SEEDS) if len(found[1].done) >= 2 and found[2].plan)
    path = tmp_path / "run.xlsx"
    path.write_bytes(finished(second.run))
    assert len(formulas(path)) > 5000
    assert unlike(path) == []


def test_more_bars_than_were_cut_are_asked_about() -> None:
    """Bars got beyond what the batch is cut into is counted as typed, and said."""
    _, before, _ = replanned(
        next(seed for seed in SEEDS if any(item.state == "made" for item in replanned(seed)[1].done))
    )
    done = tuple(replace(item, bars_got=9999) if item.state == "made" else item for item in before.done)
    found = work_out(replace(before, done=done))
    assert "got_many" in {warning.code for _, warning in found.run.workshop.doubts}
    assert "but Bars got says 9999. Correct it." in " ".join(" ".join(summary(found)).split())


def test_made_batch_without_a_name_is_numbered() -> None:
    """Its number is one that no other batch has."""
    rows = (Batch(batch=None, recipe="bar", state=MADE), Batch(batch="1", recipe="bar", state=MADE))
    assert [item.batch for item in numbered(Workshop(done=rows, batches=(Batch(batch="2", recipe="bar"),))).done] == [
        "3",
        "1",
    ]
