"""The solver HiGHS: a program of whole numbers and the effort put into it; Ctrl-C ends the search with the best that was found."""

from __future__ import annotations

import math
import signal
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import FrameType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import highspy  # type: ignore[import-untyped]  # the library has no hints

OPTIMAL, INFEASIBLE, STOPPED = "optimal", "infeasible", "stopped"

_OPTIONS = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 0,
    "mip_abs_gap": 1e-9,
    "mip_feasibility_tolerance": 1e-7,
}
"""One thread, one seed, no clock: one file has one answer, on any machine."""


@dataclass(frozen=True)
class Effort:
    """How hard to look, in steps that are the same on every machine.

    Attributes:
        gap: relative distance to the proven bound at which a solution is good enough.
        nodes: branches looked at before stopping.
        steps: steps of the simplex method before stopping.
    """

    gap: float = 1e-9
    nodes: int = 200_000
    steps: int = 1_000_000


@dataclass(frozen=True)
class Solution:
    """What the solver found.

    Attributes:
        status: optimal (within the gap), infeasible, or stopped early.
        values: one value a variable; empty when nothing was found.
        objective: the least value found.
        bound: what no solution can be under.
    """

    status: str
    values: tuple[float, ...] = ()
    objective: float = math.inf
    bound: float = -math.inf

    @property
    def found(self) -> bool:
        """Whether there is a solution at all."""
        return bool(self.values)


@dataclass
class Program:
    """A program being built: least cost, rows between bounds, some variables whole."""

    costs: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    rows: list[tuple[Mapping[int, float], float, float]] = field(default_factory=list)

    def variable(self, cost: float = 0.0, lower: float = 0.0, upper: float = math.inf, whole: bool = False) -> int:
        """Add a variable and return its number."""
        self.costs.append(cost)
        self.lower.append(lower)
        self.upper.append(upper)
        self.whole.append(int(whole))
        return len(self.costs) - 1

    def row(self, terms: Mapping[int, float], lower: float = -math.inf, upper: float = math.inf) -> None:
        """Hold a sum of variables between two bounds."""
        self.rows.append((terms, lower, upper))

    def solve(self, effort: Effort = Effort()) -> Solution:
        """Return the solution of least cost, or the best that was found when the effort, or the maker, ended the search."""
        if not self.costs:
            return Solution(OPTIMAL, (), 0.0, 0.0)
        begin()
        if interrupted():
            return Solution(STOPPED)
        solver = _solver()
        for option, value in (_OPTIONS | {"mip_rel_gap": effort.gap, "mip_max_nodes": effort.nodes}).items():
            solver.setOptionValue(option, value)
        solver.passModel(self._model())

        def look(event: highspy.highs.HighsCallbackEvent) -> None:
            if interrupted() or event.data_out.simplex_iteration_count > effort.steps:
                event.interrupt()

        solver.cbMipInterrupt += look
        solver.cbSimplexInterrupt += look
        solver.run()
        return self._solution(solver)

    def _model(self) -> highspy.HighsLp:
        import highspy
        import numpy as np

        starts: list[int] = [0]
        places: list[int] = []
        factors: list[float] = []
        for terms, _, _ in self.rows:
            places += terms.keys()
            factors += terms.values()
            starts.append(len(places))
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = len(self.costs), len(self.rows)
        model.col_cost_, model.col_lower_, model.col_upper_ = map(np.array, (self.costs, self.lower, self.upper))
        model.row_lower_ = np.array([low for _, low, _ in self.rows], dtype=float)
        model.row_upper_ = np.array([high for _, _, high in self.rows], dtype=float)
        matrix = model.a_matrix_
        matrix.format_ = highspy.MatrixFormat.kRowwise
        matrix.start_, matrix.index_ = np.array(starts, dtype=np.int32), np.array(places, dtype=np.int32)
        matrix.value_ = np.array(factors, dtype=float)
        kinds = highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger
        model.integrality_ = [kinds[whole] for whole in self.whole]
        return model

    def _solution(self, solver: highspy.Highs) -> Solution:
        import highspy

        held, status, info = solver.getSolution(), solver.getModelStatus(), solver.getInfo()
        if status == highspy.HighsModelStatus.kInfeasible:
            return Solution(INFEASIBLE)
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return Solution(STOPPED)
        values = tuple(
            float(round(value)) if whole else float(value)
            for value, whole in zip(held.col_value, self.whole, strict=True)
        )
        objective = math.fsum(cost * value for cost, value in zip(self.costs, values, strict=True))
        optimal = status == highspy.HighsModelStatus.kOptimal
        bound = info.mip_dual_bound if any(self.whole) else objective
        return Solution(OPTIMAL if optimal else STOPPED, values, objective, bound)


def _solver() -> highspy.Highs:
    """Return a solver that says nothing; it would name itself on the terminal as soon as it is watched."""
    import highspy

    class Silent(highspy.Highs):  # type: ignore[misc]
        def enableCallbacks(self) -> None:  # noqa: N802  # the library's name
            self.silent()
            super().enableCallbacks()

    return Silent()


@dataclass
class _Search:
    """Whether a search has begun, and whether the maker asked for its end."""

    begun: bool = False
    ended: bool = False


_search = _Search()


def begin() -> None:
    """Say that a search begins: from now on Ctrl-C ends it."""
    _search.begun = True


def interrupted() -> bool:
    """Return whether the maker asked for an end of the search."""
    return _search.ended


@contextmanager
def watched(say: Callable[[str], None]) -> Iterator[None]:
    """Take Ctrl-C for the wish to end a search, as long as this lasts; before one begins, and a second time, it is what it was.

    Args:
        say: told that the search ends.
    """
    try:
        before = signal.getsignal(signal.SIGINT)
        _search.begun = _search.ended = False

        def ask(number: int, frame: FrameType | None) -> None:
            if _search.begun and not _search.ended:
                _search.ended = True
                say("Ending the search with the best plan so far. Ctrl-C again stops at once.")
            elif callable(before):
                before(number, frame)
            else:
                raise KeyboardInterrupt

        signal.signal(signal.SIGINT, ask)
    except ValueError:  # not the main thread, which alone is told of signals
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
        _search.begun = _search.ended = False
