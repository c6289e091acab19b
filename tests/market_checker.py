"""Hold a plan to what was asked, from the workshop's records alone: nothing of the planner is used."""

from __future__ import annotations

import math
from collections import defaultdict
from datetime import date, timedelta
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array

from scaler.model.records import Workshop

TINY = 1e-9
NEARLY = 1e-6
"""Bars that a solver's arithmetic may lose."""


def settings_of(workshop: Workshop) -> dict[str, Any]:
    """Return the settings that limit a plan, by their words without signs; None where there is no limit."""
    held = {line.setting.replace("%", "").strip(): line.value for line in workshop.costs}
    defaults = {"Hours per day": 8.0, "Unmould after": 48.0, "Reject share": 0.0}
    return held | {name: value for name, value in defaults.items() if held[name] is None}


class Checker:
    """A plan, as `scaler market --json` gives it, beside the workshop it was made for."""

    def __init__(self, workshop: Workshop, plan: list[dict[str, Any]]) -> None:
        """Look up what each batch is."""
        self.workshop, self.plan, self.settings = workshop, plan, settings_of(workshop)
        self.recipes = {item.recipe: item for item in workshop.recipes}
        self.moulds = {item.mould: item for item in workshop.moulds}

    def faults(self) -> list[str]:
        """Return everything that is wrong with the plan."""
        return [*self._batches(), *self._demand(), *self._moulds(), *self._days(), *self._shelf()]

    def _made(self, row: dict[str, Any]) -> date:
        return date.fromisoformat(row["make_date"])

    def _ready(self, row: dict[str, Any]) -> date:
        cure = self.recipes[row["recipe"]].cure_days
        return self._made(row) + timedelta(days=math.ceil(42 if cure is None else cure))

    def _bars(self, row: dict[str, Any]) -> int:
        return int(self.moulds[row["mould"]].bars) * int(row["moulds_filled"])

    def _unmould(self, row: dict[str, Any]) -> date:
        return self._made(row) + timedelta(days=math.ceil(self.settings["Unmould after"] / 24))

    def _batches(self) -> list[str]:
        found = []
        for row in self.plan:
            if (
                row["ready_date"] != self._ready(row).isoformat()
                or row["unmould_date"] != self._unmould(row).isoformat()
            ):
                found.append(f"batch {row['batch']}: wrong days")
            if row["bars"] != self._bars(row):
                found.append(f"batch {row['batch']}: wrong bars")
        return found

    # --- demand ---

    def _demand(self) -> list[str]:
        names = {item.recipe for item in self.workshop.market}
        return [f"{name}: {short:.3f} bars missing" for name in names if (short := self._short(name)) > NEARLY]

    def _short(self, recipe: str) -> float:
        """Return how many bars of a recipe cannot be handed out, at the best: a transport problem.

        A bar goes to a row of its day or later that names its mould or none; one on hand goes to any row.
        """
        asked = [item for item in self.workshop.market if item.recipe == recipe]
        there = [
            ("", item.ready_date or date.min, float(item.bars))
            for item in self.workshop.on_hand
            if item.recipe == recipe
        ]
        sold = 1 - self.settings["Reject share"]
        there += [
            (row["mould"], self._ready(row), self._bars(row) * sold) for row in self.plan if row["recipe"] == recipe
        ]
        pairs = [
            (source, sink)
            for source, (mould, ready, _) in enumerate(there)
            for sink, row in enumerate(asked)
            if ready <= row.needed_by and (not mould or row.mould in (None, mould))
        ]
        wanted = sum(row.bars for row in asked)
        if not pairs:
            return wanted
        rows = [*(source for source, _ in pairs), *(len(there) + sink for _, sink in pairs)]
        matrix = csr_array(
            (np.ones(len(rows)), (rows, [*range(len(pairs))] * 2)), shape=(len(there) + len(asked), len(pairs))
        )
        most = [bars for _, _, bars in there] + [float(row.bars) for row in asked]
        return float(wanted + linprog(-np.ones(len(pairs)), A_ub=matrix, b_ub=most).fun)

    # --- moulds, hours, days, shelf ---

    def _moulds(self) -> list[str]:
        used: dict[tuple[str, date], int] = defaultdict(int)
        for row in self.plan:
            for after in range(max(1, (self._unmould(row) - self._made(row)).days)):
                used[row["mould"], self._made(row) + timedelta(days=after)] += row["moulds_filled"]
        owned = {name: 1 if item.owned is None else item.owned for name, item in self.moulds.items()}
        return [f"{count} of {mould} on {day}" for (mould, day), count in used.items() if count > owned[mould]]

    def _days(self) -> list[str]:
        hours: dict[date, float] = defaultdict(float)
        for row in self.plan:
            recipe = self.recipes[row["recipe"]]
            minutes = (recipe.labour_minutes or 0) + (recipe.labour_minutes_per_bar or 0) * self._bars(row)
            hours[self._made(row)] += minutes / 60
            hours[self._unmould(row)] += (recipe.cut_minutes or 0) / 60
            hours[self._ready(row)] += (recipe.wrap_minutes_per_bar or 0) * self._bars(row) / 60
        off = [word.strip() for word in str(self.settings["Days off"] or "").split(",")]
        first = self.settings["First make day"]
        found = [
            f"{worked} hours on {day}"
            for day, worked in hours.items()
            if worked > self.settings["Hours per day"] + TINY
        ]
        making = [self._made(row) for row in self.plan]
        found += [f"work on {day}, a {day:%A}" for day in making if f"{day:%A}" in off]
        spans = [word.split(" to ") for word in off if word[:1].isdigit()]
        found += [f"work on {day}, a day off" for day in making for span in spans if span[0] <= str(day) <= span[-1]]
        return found + [f"work on {day}, before {first}" for day in making if first and day < first]

    def _shelf(self) -> list[str]:
        most = self.settings["Shelf bars"]
        if most is None:
            return []
        found = []
        for day in {self._made(row) for row in self.plan}:
            held = sum(self._bars(row) for row in self.plan if self._made(row) <= day < self._ready(row))
            held += sum(item.bars for item in self.workshop.on_hand if item.ready_date and item.ready_date > day)
            if held > most + TINY:
                found.append(f"{held} bars cure on {day}")
        return found
