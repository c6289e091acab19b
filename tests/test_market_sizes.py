"""One bar size for each recipe where that costs little, and what it costs is said."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from market_runs import market_run
from test_market_plans import Exhaustive, small

from scaler.market_report import summary
from scaler.market_run import MarketRun, work_out
from scaler.model.records import Workshop
from scaler.planning.keeping import ALIKE
from scaler.read.files import stored_values
from scaler.write.finished import finished


def sizes(found: MarketRun) -> dict[str, set[float]]:
    """Return the weights of the bars that are planned of each recipe."""
    held: dict[str, set[float]] = {}
    for batch in found.run.batches:
        held.setdefault(batch.recipe, set()).add(round(batch.bar_cured_g or 0.0, 6))
    return held


def mixed(found: MarketRun) -> set[str]:
    """Return the recipes whose bars do not weigh alike."""
    return {recipe for recipe, held in sizes(found).items() if max(held) > min(held) * (1 + ALIKE)}


def kept_to(workshop: Workshop, share: float) -> Workshop:
    """Return the workshop with a share that one size may cost."""
    costs = tuple(replace(line, value=share) if line.setting == "Keep sizes %" else line for line in workshop.costs)
    return replace(workshop, costs=costs)


def unnamed(seed: int, **more: Any) -> Workshop:
    """Return a run in which no mould is named."""
    return market_run(seed, 2, 3, 2, 2, 90, named=0.0, **more)


def test_one_size_is_kept_where_it_costs_little_enough() -> None:
    """Of 10 runs some have several sizes; with a large share every one that can has one, and none costs more than its share."""
    several, mended = 0, 0
    for seed in range(10, 20):
        workshop = unnamed(seed)
        cheapest, kept = work_out(kept_to(workshop, 0.0)), work_out(kept_to(workshop, 0.2))
        assert cheapest.plan, cheapest.problems
        assert kept.plan
        assert kept.plan.cost <= cheapest.plan.cost + 0.2 * abs(cheapest.plan.cost) + 1e-6
        several += bool(mixed(cheapest))
        mended += bool(mixed(cheapest)) and not mixed(kept)
        if mixed(cheapest):
            tables = kept.run.tables
            said = dict(zip(tables.column("sizes", "size_words"), tables.column("sizes", "size_recipes"), strict=True))
            one = [
                words for words in said if f"in one bar size: {kept.plan.cost - cheapest.plan.cost:,.2f} more" in words
            ]
            several_sizes = [words for words in said if "in several bar sizes" in words]
            assert {name for words in several_sizes for name in said[words].split(", ")} == mixed(kept)
            assert bool(one) == bool(mixed(cheapest) - mixed(kept))
            assert len(said) == len(one) + len(several_sizes)
            in_words = " ".join(" ".join(summary(kept)).split())
            on_plan = set(stored_values(finished(kept.run))["Plan"].values())
            for words, recipes in said.items():
                assert f"{recipes} {words}" in in_words
                assert {recipes, words} <= on_plan
    assert several >= 3
    assert mended >= 1


def test_nothing_is_paid_for_it_where_the_share_is_0() -> None:
    """With Keep sizes 0 % small runs cost what exhaustive search finds."""
    for seed in range(1040, 1043):
        workshop = kept_to(small(seed), 0.0)
        found = work_out(workshop)
        assert found.plan
        assert found.plan.cost == pytest.approx(Exhaustive(workshop).best(), rel=1e-5, abs=1e-9)


def test_named_moulds_are_left_alone() -> None:
    """Where a row of Market names its mould, the sizes of that recipe are as asked."""
    for seed in range(6):
        workshop = market_run(seed, 2, 3, 2, 2, 90, named=1.0)
        found = work_out(kept_to(workshop, 0.5))
        assert not found.run.tables.column("sizes", "size_words")
