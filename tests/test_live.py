"""After any edit of an input cell, the recalculated workbook says what the engine says of the edited input."""

from __future__ import annotations

import random
from pathlib import Path

import openpyxl
import pytest
from live import MASTER, REFUSED, Edit, Sheetful, differing, edits, fed
from recalculation import plain, through_libreoffice
from workbooks import demo, runs

from scaler.compute.results import Run
from scaler.write.finished import finished
from scaler.write.layout import FIRST_ROW, Layout

GENERATED, PARTS = 200, 8


def chosen(run: Run, seed: int, count: int) -> list[Edit]:
    """Return edits of as many columns and kinds, one each."""
    draw = random.Random(seed)
    return [draw.choice(held) for held in draw.sample(list(edits(run.workshop).values()), count)]


@pytest.mark.parametrize("part", range(PARTS))
def test_demo_follows_every_kind_of_edit(part: int, tmp_path: Path) -> None:
    """An edit of any column of the demo gives the engine's figures; where the engine refuses it, Checks do not hold."""
    held = Sheetful(demo(), tmp_path)
    kinds = list(edits(demo().workshop).values())[part::PARTS]
    draw = random.Random(part)
    faults = [held.fault_of(draw.choice(kind)) for kind in draw.sample(kinds, min(len(kinds), 9))]
    assert [fault for fault in faults if fault] == []


@pytest.mark.parametrize("part", range(PARTS))
def test_any_workshop_follows_edits(part: int, tmp_path: Path) -> None:
    """A workbook of any workshop follows edits of its cells as the engine does."""
    faults = []
    for seed, run in list(enumerate(runs(GENERATED)))[part::PARTS]:
        held = Sheetful(run, tmp_path)
        faults += [f"workshop {seed}: {fault}" for fault in map(held.fault_of, chosen(run, seed, 2)) if fault]
    assert faults == []


def test_libreoffice_follows_edits(tmp_path: Path) -> None:
    """LibreOffice makes of 20 edited workbooks what the engine makes of them."""
    expected, files = [], []
    for seed, run in enumerate((demo(), demo(), *runs(GENERATED)[:18])):
        edit, again = next(
            (edit, again)
            for edit, again in ((edit, fed(edit, run.workshop, tmp_path)) for edit in chosen(run, seed, 30))
            if not again.problems and edit.kind in ("number", "unit", "name", "blank", "word")
        )
        path = tmp_path / f"edited{seed}.xlsx"
        path.write_bytes(finished(run))
        book = openpyxl.load_workbook(path)
        spot = Layout(run.tables).spots[edit.sheet.key, edit.field]
        book[spot.sheet].cell(FIRST_ROW + edit.index, spot.number).value = edit.value
        book.save(path)
        files.append(path)
        expected.append((edit, again))
    for (edit, again), path in zip(expected, through_libreoffice(tmp_path, *files), strict=True):
        stored = openpyxl.load_workbook(path, data_only=True)
        wrong = differing(again, lambda sheet, row, column: plain(stored[sheet].cell(row, column).value))  # noqa: B023
        assert wrong == [], str(edit)


def test_wrong_figures_and_silence_are_noticed(tmp_path: Path) -> None:
    """The comparison fails for a figure of another input, and for a refusal that Checks do not show."""
    run = next(run for run in runs(GENERATED) if run.workshop.recipes[0].superfat)
    held = Sheetful(run, tmp_path)
    edit = edits(run.workshop)["recipes", "superfat", "number"][0]
    assert differing(fed(edit, run.workshop, tmp_path), held.value) != []
    refused = edits(run.workshop)["lines", "share", "zero"][0]
    assert fed(refused, run.workshop, tmp_path).problems
    assert held.engine.value(*MASTER) != REFUSED
