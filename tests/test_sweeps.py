"""Random sweeps, each for as long as its budget lasts, 8 seconds without another: the suite's share of what the commands do at length.

SWEEP_SECONDS=600 SWEEP_FIRST=1000 .venv/bin/python -m pytest -m sweep
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from fuzz import damaged, in_process, through_commands
from parity import WRONG, held_against, sample
from partner_edits import tried
from tamperings import tampering

from scaler.audit import verify

SECONDS, FIRST = (float(os.environ.get(name, usual)) for name, usual in (("SWEEP_SECONDS", "8"), ("SWEEP_FIRST", "31")))
pytestmark = pytest.mark.sweep


def seeds(step: int = 1) -> Iterator[int]:
    """Yield seeds until the budget is spent, one at least."""
    end, seed = time.monotonic() + SECONDS, int(FIRST)
    while seed == FIRST or time.monotonic() < end:
        yield seed
        seed += step


@pytest.mark.parametrize("kind", [in_process, through_commands, damaged], ids=lambda kind: kind.__name__)
def test_whatever_is_typed_is_told(tmp_path: Path, kind: object) -> None:
    """Cells, sheets and parts of files mutated at random: each command answers, and nothing is half-written."""
    assert callable(kind)
    assert [said for seed in seeds() if (said := kind(seed, tmp_path))] == []


def test_tamperings_are_found(tmp_path: Path) -> None:
    """A constant, a label, a formula or a stored result that was typed over, cleared or swapped."""
    path = tmp_path / "tampered.xlsx"
    for seed in seeds():
        done = tampering(seed)
        path.write_bytes(done.content)
        assert not verify(path).sound, f"{seed}: {done.says}"


def test_engine_and_workbook_say_the_same() -> None:
    """Values of every kind typed into any column: both refuse, both warn, or neither."""
    found = [(edit, both) for seed in seeds() for edit, both in held_against(sample(6, seed))]
    assert [(edit, both) for edit, both in found if both.kind in WRONG] == []


def test_partner_edits_come_to_what_scaler_makes(tmp_path: Path) -> None:
    """Edits of finished workbooks, in LibreOffice and IronCalc: no error value, no other figure, what is not concerned kept."""
    for first in seeds(3):
        for seed, edit, engine, came, wrong, kept in tried(range(first, first + 3), tmp_path):
            assert not wrong, f"{seed} in {engine}: {edit.sheet} {edit.says} {came}"
            assert all(kept), f"{seed} in {engine}: {edit.sheet} {edit.says}"
