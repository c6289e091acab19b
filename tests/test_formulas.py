"""Every formula of the finished workbook is what an independent engine makes of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from recalculation import formulas, same, through_libreoffice, unlike
from typing_in import typed_over

import scaler
from scaler.output import DEMO_FILES, shipped
from scaler.read.files import stored_values


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo's finished workbook."""
    path = tmp_path_factory.mktemp("demo") / "finished.xlsx"
    scaler.write(scaler.scale(scaler.load(*(shipped() / name for name in DEMO_FILES))), path)
    return path


def test_ironcalc_finds_every_stored_value(demo: Path) -> None:
    """IronCalc's value of every formula is the stored one, to 1e-9."""
    assert len(formulas(demo)) > 10_000
    assert unlike(demo) == []


def test_libreoffice_finds_every_stored_value(demo: Path, tmp_path: Path) -> None:
    """LibreOffice's value of every formula, recalculated, is the stored one, to 1e-9."""
    again = stored_values(through_libreoffice(tmp_path, demo)[0])
    assert [at for at, value in formulas(demo).items() if not same(value, again[at[0]].get(at[1]))] == []


def test_no_cell_shows_an_error(demo: Path) -> None:
    """No stored value is an error such as #DIV/0!."""
    assert [value for value in formulas(demo).values() if str(value).startswith("#")] == []


def test_stale_values_do_not_pass(demo: Path, tmp_path: Path) -> None:
    """The comparison notices a formula whose stored value is not what it works out to."""
    edited = typed_over(demo.read_bytes(), {("Prices", "D4"): 1.0 + stored_values(demo)["Prices"]["D4"]})
    (tmp_path / "edited.xlsx").write_bytes(edited)
    assert unlike(tmp_path / "edited.xlsx") != []


@pytest.mark.parametrize("count", [1])
def test_checks_hold_for_any_number_of_batches(tmp_path: Path, count: int) -> None:
    """A workbook of one batch or of a few recalculates to what is stored, as one of many does."""
    workshop = scaler.load(*(shipped() / name for name in DEMO_FILES))
    path = tmp_path / "finished.xlsx"
    scaler.write(scaler.scale(replace(workshop, batches=workshop.batches[:count])), path)
    assert unlike(path) == []
