"""Whole-number programs, built row by row and solved by HiGHS through scipy, which is imported here and nowhere else."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

OPTIMAL, INFEASIBLE, STOPPED = "optimal", "infeasible", "stopped"


@dataclass(frozen=True)
class Effort:
    """How hard to look: the share of the objective that may be left on the table, and when to stop.

    Attributes:
        gap: relative distance to the proven bound at which a solution is good enough.
        nodes: branches looked at before stopping; the same on every machine.
        seconds: time before stopping, whatever is found: the last resort.
    """

    gap: float = 1e-9
    nodes: int = 200_000
    seconds: float = 60.0


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

    def solve(self, effort: Effort = Effort(), whole: bool = True) -> Solution:
        """Return the solution of least cost; without `whole`, as if every variable could be broken."""
        if not self.costs:
            return Solution(OPTIMAL, (), 0.0, 0.0)
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp  # type: ignore[import-untyped]
        from scipy.sparse import csr_array  # type: ignore[import-untyped]

        starts: list[int] = [0]
        places: list[int] = []
        factors: list[float] = []
        for terms, _, _ in self.rows:
            places += terms.keys()
            factors += terms.values()
            starts.append(len(places))
        shape = (len(self.rows), len(self.costs))
        matrix = csr_array(
            (np.array(factors), np.array(places, dtype=np.int64), np.array(starts, dtype=np.int64)), shape=shape
        )
        limits = LinearConstraint(matrix, [row[1] for row in self.rows], [row[2] for row in self.rows])
        options = {"mip_rel_gap": effort.gap, "node_limit": effort.nodes, "time_limit": effort.seconds}
        found = milp(
            self.costs,
            integrality=self.whole if whole else [0] * len(self.whole),
            bounds=Bounds(self.lower, self.upper),
            constraints=limits,
            options=options,
        )
        return self._solution(found, whole)

    def _solution(self, found: object, rounded: bool) -> Solution:
        values, status = getattr(found, "x", None), getattr(found, "status", 4)
        if values is None:
            return Solution(INFEASIBLE if status == 2 else STOPPED)
        tidy = tuple(
            float(round(value)) if whole and rounded else float(value)
            for value, whole in zip(values, self.whole, strict=True)
        )
        objective = math.fsum(cost * value for cost, value in zip(self.costs, tidy, strict=True))
        bound = getattr(found, "mip_dual_bound", None)
        return Solution(
            OPTIMAL if status == 0 else STOPPED, tidy, objective, objective if bound is None else float(bound)
        )
