"""As much as can be: a demand that cannot be met whole is planned with the least shortfall, and says so first."""

from __future__ import annotations

import itertools
import json
import os
import random
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from market_checker import Checker
from market_runs import market_run
from recalculation import unlike

from scaler.cli import main
from scaler.market_report import market_object, summary
from scaler.market_run import work_out
from scaler.model.records import Workshop
from scaler.read.files import stored_values
from scaler.write.finished import finished, inputs

SEEDS = range(int(os.environ.get("MARKET_SHORT", "10")))
PRICE = 6.0
DAYS = 4
"""Make days there are in a small run."""


def crowded(seed: int) -> Workshop:
    """Return a run of one recipe with few make days and many bars wanted, every bar at one price."""
    draw = random.Random(seed)
    drawn = market_run(seed, 1, 2, 2, owned=1, bars=90, named=0.3, reject_share=0.0)
    last = max(item.needed_by for item in drawn.market) - timedelta(days=int(drawn.recipes[0].cure_days or 0))
    first = last - timedelta(days=DAYS - 1)
    market = tuple(replace(item, price=PRICE, bars=item.bars + draw.randint(20, 80)) for item in drawn.market)
    costs = tuple(replace(line, value=first) if line.setting == "First make day" else line for line in drawn.costs)
    return replace(drawn, market=market, costs=costs)


def possible_plans(workshop: Workshop) -> Iterator[list[dict[str, Any]]]:
    """Yield every plan of a small run: each mould filled or not on each of its make days."""
    recipe = workshop.recipes[0]
    first = next(line.value for line in workshop.costs if line.setting == "First make day")
    assert isinstance(first, date)
    cells = [(mould, first + timedelta(days=after)) for mould in workshop.moulds for after in range(DAYS)]
    for chosen in itertools.product((False, True), repeat=len(cells)):
        yield [
            {
                "batch": "", "recipe": recipe.recipe, "mould": mould.mould, "moulds_filled": 1, "bars": mould.bars,
                "make_date": day.isoformat(), "unmould_date": (day + timedelta(days=2)).isoformat(),
                "ready_date": (day + timedelta(days=int(recipe.cure_days or 0))).isoformat(),
            }
            for (mould, day), taken in zip(cells, chosen, strict=True)
            if taken
        ]  # fmt: skip


def least_missing(workshop: Workshop) -> float:
    """Return the fewest bars missing over every plan that keeps to moulds and hours."""
    name = workshop.recipes[0].recipe
    checkers = (Checker(workshop, plan) for plan in possible_plans(workshop))
    return min(held._short(name) for held in checkers if not held._moulds() and not held._days())


def test_shortfall_is_that_of_exhaustive_search() -> None:
    """Over every plan of small runs none misses fewer bars; the batches keep to moulds, hours and days."""
    short = 0
    for seed in SEEDS:
        workshop = crowded(seed)
        found = work_out(workshop)
        least = least_missing(workshop)
        if found.plan is None:
            assert least == pytest.approx(sum(item.bars for item in workshop.market)), seed
            continue
        short += bool(found.short)
        assert sum(found.short.values()) == pytest.approx(least, abs=1e-6), seed
        said = market_object(found)
        held = Checker(workshop, said["plan"])
        assert held._moulds() + held._days() == []
        assert sum(row["short"] for row in said["demand"]) == sum(found.short.values())
        assert said["solver"]["status"] == ("short" if found.short else "optimal")
        assert said["money"]["cost"] == pytest.approx(said["solver"]["objective"], abs=1e-6)
    assert short >= 5


def test_dear_bars_come_first() -> None:
    """Of two recipes that want one mould on one day, the bars that bring less are missing."""
    workshop = crowded(2)
    other = replace(workshop.recipes[0], recipe="dear")
    lines = tuple(replace(line, recipe="dear") for line in workshop.lines)
    day = workshop.market[0].needed_by
    bars = sum(int(mould.bars or 0) for mould in workshop.moulds) * 3
    market = tuple(
        replace(workshop.market[0], recipe=name, bars=bars, price=price, mould=None, needed_by=day)
        for name, price in ((workshop.recipes[0].recipe, 4.0), ("dear", 9.0))
    )
    both = replace(
        workshop, recipes=(workshop.recipes[0], other), lines=(*workshop.lines, *lines), market=market, on_hand=()
    )
    first = day - timedelta(days=int(other.cure_days or 0) + 3)
    costs = tuple(replace(line, value=first) if line.setting == "First make day" else line for line in both.costs)
    found = work_out(replace(both, costs=costs))
    assert found.plan
    assert found.short.get(1, 0) < found.short.get(0, 0) == bars


def test_remedies_are_true() -> None:
    """What is said to make the whole run possible does: the make day or the hours, typed in, leave nothing missing."""
    tried = 0
    for workshop in map(crowded, SEEDS):
        for problem in work_out(workshop).why:
            for setting, value in _REMEDY.findall(problem.do):
                typed = date.fromisoformat(value) if "-" in value else float(value)
                costs = tuple(
                    replace(line, value=typed) if line.setting == setting else line for line in workshop.costs
                )
                assert not work_out(replace(workshop, costs=costs)).short, problem.do
                tried += 1
    assert tried >= 5


_REMEDY = re.compile(r"(?:^|: |; )(?:Set )?(First make day|Hours per day) (?:to )?([0-9.-]+[0-9])")


def test_said_first_and_refused_when_strict(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The terminal begins with what is missing; --strict refuses, with the same words, and writes nothing."""
    monkeypatch.chdir(tmp_path)
    workshop = next(held for held in map(crowded, SEEDS) if work_out(held).short)
    Path("in.xlsx").write_bytes(inputs(workshop))
    found = work_out(workshop)
    assert next(summary(found)).startswith(f"! SHORT: {sum(found.short.values())} of ")
    refused = CliRunner().invoke(main, ["market", "in.xlsx", "--strict"])
    assert refused.exit_code == 1
    assert [path.name for path in tmp_path.iterdir()] == ["in.xlsx"]
    assert " ".join(found.why[0].says.split())[:40] in " ".join(refused.stderr.split())
    planned = CliRunner().invoke(main, ["market", "in.xlsx", "--json"])
    assert planned.exit_code == 0
    assert json.loads(planned.stdout)["solver"]["status"] == "short"


def test_workbook_of_a_short_run_recalculates(tmp_path: Path) -> None:
    """The finished workbook of a short run has the same figures in another program, says bars_not_planned, and balances."""
    found = next(held for held in map(work_out, map(crowded, SEEDS)) if held.short)
    path = tmp_path / "short.xlsx"
    path.write_bytes(finished(found.run))
    assert unlike(path) == []
    assert any(
        str(text).startswith("Not all of these ") for text in stored_values(path.read_bytes())["Checks"].values()
    )
    assert all(value == 0 for value in found.run.tables.column("sold", "bars_balance"))
    assert abs(found.run.tables.row("money", 0)["stock_balance"]) < 1e-9


def test_unpriced_thing_is_named() -> None:
    """A plan is chosen by what it costs: without a price of everything that wanted recipes take there is none."""
    workshop = market_run(5, 1, 1, 1)
    line = next(item for item in workshop.lines if item.recipe == workshop.market[0].recipe)
    left = tuple(price for price in workshop.prices if price.ingredient != line.ingredient)
    run = work_out(replace(workshop, prices=left))
    assert [problem.code for problem in run.problems] == ["price_missing"]
    assert f"{line.ingredient} has no price," in run.problems[0].says
