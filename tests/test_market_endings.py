"""How a search for a plan ends: with the best so far when the maker asks for it, and never said to be impossible then."""

from __future__ import annotations

import os
import random
import signal
from typing import Any

import pytest
from market_checker import Checker
from market_runs import market_run

from scaler.market_report import market_object, problems_object, summary
from scaler.market_run import work_out
from scaler.planning import solver
from scaler.planning.solver import INFEASIBLE, OPTIMAL, STOPPED, Effort, Program, begin, interrupted, watched


def knapsack(things: int = 30) -> Program:
    """Return a program of many things of nearly one value each under five limits, which no first look settles."""
    program, draw = Program(), random.Random(7)
    taken = [program.variable(-draw.uniform(90, 110), 0, 1, whole=True) for _ in range(things)]
    for _ in range(5):
        weights = {thing: draw.uniform(80, 120) for thing in taken}
        program.row(weights, upper=sum(weights.values()) / 2)
    return program


def test_limits_are_steps_and_not_seconds() -> None:
    """A search of few branches ends with what it has and an honest bound; the same twice; whole, it proves the best."""
    first, again = (knapsack().solve(Effort(nodes=1, steps=5)) for _ in range(2))
    assert first == again
    assert first.status == STOPPED
    best = knapsack().solve()
    assert best.status == OPTIMAL
    assert first.bound <= best.objective + 1e-6
    assert not first.found or first.objective >= best.objective - 1e-9


def test_infeasible_is_told_from_stopped() -> None:
    """A program that cannot be met is infeasible; the same program cut short before that is shown is stopped."""
    program = Program()
    program.row({program.variable(1.0, 0, 10, whole=True): 2.0}, 3.0, 3.0)
    assert program.solve().status == INFEASIBLE


def test_interruption_ends_the_search_and_a_second_one_the_program() -> None:
    """The first Ctrl-C once a search has begun is taken for its end; before it, and after it, it is what it was."""
    told: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, frame: told.append(number))
    said: list[str] = []
    try:
        with watched(said.append):
            os.kill(os.getpid(), signal.SIGINT)
            assert told == [signal.SIGINT]  # nothing was looked for yet
            assert not interrupted()
            begin()
            os.kill(os.getpid(), signal.SIGINT)
            assert interrupted()
            assert len(said) == 1
            assert told == [signal.SIGINT]
            os.kill(os.getpid(), signal.SIGINT)
            assert told == [signal.SIGINT] * 2
        assert not interrupted()
    finally:
        signal.signal(signal.SIGINT, before)


@pytest.mark.parametrize("solved", [1, 2])
def test_ended_search_is_the_best_so_far_or_says_that_there_may_be_one(
    monkeypatch: pytest.MonkeyPatch, solved: int
) -> None:
    """Asked to end after some programs are solved, a run gives a plan that keeps to everything, or says it is not known."""
    count = [0]
    solve = Program.solve

    def counted(program: Program, effort: Effort) -> Any:
        count[0] += 1
        solver._search.ended = count[0] > solved
        return solve(program, effort)

    monkeypatch.setattr(solver.Program, "solve", counted)
    kept = 0
    for seed in range(5):
        count[0] = 0
        workshop = market_run(seed, 3, 2, 3)
        found = work_out(workshop)
        solver._search.ended = False
        if found.plan:
            kept += 1
            made = market_object(found)
            assert Checker(workshop, made["plan"]).faults() == [] or found.short
            assert made["solver"]["gap"] is not None or made["solver"]["status"] in ("stopped", "short")
            assert any("batch" in line for line in summary(found))
        else:
            said = problems_object(found.problems)
            codes = {problem.code for problem in found.problems}
            assert said["solver"]["status"] == ("infeasible" if "market_infeasible" in codes else "stopped")
    assert kept >= 2
