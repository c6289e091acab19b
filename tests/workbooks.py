"""Finished workbooks to look into: the demo's, and those of workshops made at random."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from io import BytesIO
from typing import Any

import openpyxl
from hypothesis import HealthCheck, Phase, given, settings
from openpyxl.worksheet.worksheet import Worksheet
from test_compute_balance import workshops

import scaler
from scaler.compute.batch import scale
from scaler.compute.results import Run
from scaler.demo import FILES, shipped
from scaler.model import Workshop
from scaler.write.finished import finished

TINY = 1e-9
"""The reader refuses numbers that are nearer to nothing."""


@cache
def demo() -> Run:
    """Return the demo worked out."""
    return scaler.scale(scaler.load(*(shipped() / name for name in FILES)))


@cache
def runs(count: int) -> tuple[Run, ...]:
    """Return workshops made at random and worked out, always the same ones: any shape, mixed alkali, milk, costs."""
    found: list[Run] = []

    @settings(
        max_examples=4 * count + 20,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(workshops())
    def collect(workshop: Workshop) -> None:
        run = scale(workshop)
        if not run.problems and len(found) < count and not _is_dust(run):
            found.append(run)

    collect()
    assert len(found) == count
    return tuple(found)


def _is_dust(run: Run) -> bool:
    """Return whether money is so little that spreadsheets, and our reader, take it for nothing."""
    prices = [value for price in run.workshop.prices for value in (price.price, price.delivery or 0)]
    numbers = [
        *prices,
        *(batch.cost.per_bar for batch in run.batches),
        *(recipe.superfat for recipe in run.workshop.recipes),
    ]
    return any(0 < value < TINY for value in numbers)


@dataclass(frozen=True)
class Whole:
    """A finished workbook: its bytes, and as openpyxl sees it, with formulas and with stored values."""

    content: bytes
    written: Any
    stored: Any

    @classmethod
    def of(cls, content: bytes) -> Whole:
        """Return a workbook opened twice."""
        return cls(
            content, openpyxl.load_workbook(BytesIO(content)), openpyxl.load_workbook(BytesIO(content), data_only=True)
        )

    def formulas(self) -> list[tuple[Worksheet, Any]]:
        """Return every formula cell with its sheet."""
        return [
            (sheet, cell)
            for sheet in self.written
            for row in sheet.iter_rows()
            for cell in row
            if cell.data_type == "f"
        ]


@cache
def demo_workbook() -> Whole:
    """Return the demo's finished workbook."""
    return Whole.of(finished(demo()))


@cache
def workbooks(count: int) -> tuple[Whole, ...]:
    """Return finished workbooks of workshops made at random."""
    return tuple(Whole.of(finished(run)) for run in runs(count))
