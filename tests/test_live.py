"""After any edit of an input cell, the recalculated workbook says what the engine says of the edited input."""

from __future__ import annotations

import random
from collections import Counter
from pathlib import Path

import pytest
from live import MASTER, REFUSED, Edit, Tables, differing, edits
from made_up import made_up
from opened import Whole
from recalculation import through_libreoffice
from typing_in import typed_over
from workbooks import EACH_PART, GENERATED, PARTS, content_of, demo, demo_workbook, run_of, seeds

from scaler.model.schema import columns
from scaler.rules.results import Run

IN_LIBREOFFICE, HALVES = 20, 2
IN_DEMO, KINDS = 4, 9
"""Parts of the demo's edits, and how many kinds each part draws: test_refusals.py tries every kind."""


def chosen(run: Run, seed: int, count: int) -> list[Edit]:
    """Return edits of as many columns and kinds, one each."""
    draw = random.Random(seed)
    return [draw.choice(held) for held in draw.sample(list(edits(run.workshop).values()), count)]


@pytest.mark.parametrize("part", range(IN_DEMO))
def test_demo_follows_every_kind_of_edit(part: int, tmp_path: Path) -> None:
    """An edit of any column of the demo gives the engine's figures; where the engine refuses it, Checks do not hold."""
    held = Tables(demo(), tmp_path, demo_workbook().content)
    kinds = list(edits(demo().workshop).values())[part::IN_DEMO]
    draw = random.Random(part)
    faults = [held.fault_of(draw.choice(kind)) for kind in draw.sample(kinds, KINDS)]
    assert [fault for fault in faults if fault] == []


@pytest.mark.parametrize("part", EACH_PART)
def test_any_workshop_follows_edits(part: int, tmp_path: Path) -> None:
    """A workbook of any workshop follows an edit of its cells as the engine does."""
    faults = []
    for seed in seeds(part, PARTS):
        held = Tables(run_of(seed), tmp_path, content_of(seed))
        faults += [f"seed {seed}: {fault}" for fault in map(held.fault_of, chosen(held.run, seed, 1)) if fault]
    assert faults == []


def test_made_up_workshops_are_of_every_sort() -> None:
    """All of the workshops made up from a seed are sound, and between them they use whatever a workshop can have."""
    assert seeds() == list(range(GENERATED))
    shops = [made_up(seed) for seed in range(GENERATED)]
    assert {len(shop.batches) for shop in shops} == {1, 2, 3, 4}
    used = Counter(
        (type(record).__name__, field)
        for shop in shops
        for record in (*shop.ingredients, *shop.prices, *shop.moulds, *shop.recipes, *shop.lines, *shop.batches)
        for field in columns(type(record))
        if getattr(record, field) is not None
    )
    for record in {type(item) for item in (*shops[0].prices, *shops[0].moulds, *shops[0].recipes, *shops[0].lines)}:
        assert [field for field in columns(record) if not used[record.__name__, field]] == [], record.__name__
    assert len({mould.shape for shop in shops for mould in shop.moulds}) == 6
    assert len({thing.kind for shop in shops for thing in shop.ingredients}) == 8


@pytest.mark.parametrize("half", range(HALVES))
def test_libreoffice_follows_edits(tmp_path: Path, half: int) -> None:
    """LibreOffice makes of 20 edited workbooks what the engine makes of them."""
    expected, files = [], []
    for seed in range(half, IN_LIBREOFFICE, HALVES):
        held = Tables(run_of(seed), tmp_path, content_of(seed))
        edit, again = next(
            (edit, again)
            for edit, again in ((edit, held.fed(edit)) for edit in chosen(held.run, seed, 30))
            if not again.problems and edit.kind in ("number", "unit", "name", "blank", "word")
        )
        files.append(tmp_path / f"edited{seed}.xlsx")
        files[-1].write_bytes(typed_over(content_of(seed), {held.cell(edit): edit.value}))
        expected.append((edit, again))
    assert len(files) == IN_LIBREOFFICE // HALVES
    for (edit, again), path in zip(expected, through_libreoffice(tmp_path, *files), strict=True):
        saved = Whole.of(path.read_bytes())
        wrong = differing(again, lambda sheet, row, column: saved.pages[sheet].value(row, column))  # noqa: B023
        assert wrong == [], str(edit)


def test_wrong_figures_and_silence_are_noticed(tmp_path: Path) -> None:
    """The comparison fails for a figure of another input, and for a refusal that Checks do not show."""
    run = next(run for run in map(run_of, range(GENERATED)) if run.workshop.recipes[0].superfat)
    held = Tables(run, tmp_path)
    edit = edits(run.workshop)["recipes", "superfat", "number"][0]
    assert differing(held.fed(edit), held.value) != []
    refused = edits(run.workshop)["prices", "pack", "zero"][0]
    assert held.fed(refused).problems
    assert held.engine.value(*MASTER) != REFUSED
