"""Finished workbooks to look into: the demo's, and those of workshops made up from a seed."""

from __future__ import annotations

from functools import cache

import pytest
from made_up import made_up
from opened import Whole

import scaler
from scaler.engine import scale
from scaler.output import DEMO_FILES, shipped
from scaler.rules.results import Run
from scaler.write.finished import finished

GENERATED, PARTS = 200, 8
"""How many workshops are made up, and into how many parts the tests of all of them are cut."""
EACH_PART = [pytest.param(part, marks=pytest.mark.xdist_group(f"part {part}")) for part in range(PARTS)]
"""The tests of one part run in one process, so that its workbooks are made once."""


@cache
def demo() -> Run:
    """Return the demo worked out."""
    return scaler.scale(scaler.load(*(shipped() / name for name in DEMO_FILES)))


@cache
def demo_workbook() -> Whole:
    """Return the demo's finished workbook."""
    return Whole.of(finished(demo()))


@cache
def run_of(seed: int) -> Run:
    """Return the workshop of a seed worked out."""
    return scale(made_up(seed))


@cache
def content_of(seed: int) -> bytes:
    """Return the finished workbook of a seed."""
    return finished(run_of(seed))


def seeds(part: int = 0, parts: int = 1) -> list[int]:
    """Return the seeds of one part whose workshops the engine takes."""
    return [seed for seed in range(part, GENERATED, parts) if not run_of(seed).problems]
