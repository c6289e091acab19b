"""Every formula of the finished workbook is what an independent engine makes of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from recalculation import IronCalc, formulas, plain, same, through_libreoffice

import scaler
from scaler.demo import FILES, shipped


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo's finished workbook."""
    path = tmp_path_factory.mktemp("demo") / "finished.xlsx"
    scaler.write(scaler.scale(scaler.load(*(shipped() / name for name in FILES))), path)
    return path


def test_ironcalc_finds_every_stored_value(demo: Path) -> None:
    """IronCalc's value of every formula is the stored one, to 1e-9."""
    engine = IronCalc(demo)
    held = formulas(demo)
    assert len(held) > 10_000
    wrong = [(item, engine.value(item.sheet, item.cell)) for item in held]
    assert [pair for pair in wrong if not same(pair[0].value, pair[1])] == []


def test_libreoffice_finds_every_stored_value(demo: Path, tmp_path: Path) -> None:
    """LibreOffice's value of every formula, recalculated on loading, is the stored one, to 1e-9."""
    again = openpyxl.load_workbook(through_libreoffice(tmp_path, demo)[0], data_only=True)
    wrong = [(item, plain(again[item.sheet][item.cell].value)) for item in formulas(demo)]
    assert [pair for pair in wrong if not same(pair[0].value, pair[1])] == []


def test_stale_values_do_not_pass(demo: Path, tmp_path: Path) -> None:
    """The comparison notices a formula whose stored value is not what it works out to."""
    book = openpyxl.load_workbook(demo)
    book["Prices"]["D4"] = 1.0 + float(book["Prices"]["D4"].value)
    book.save(tmp_path / "edited.xlsx")
    engine = IronCalc(tmp_path / "edited.xlsx")
    assert any(not same(item.value, engine.value(item.sheet, item.cell)) for item in formulas(demo))


@pytest.mark.parametrize("count", [1])
def test_checks_hold_for_any_number_of_batches(tmp_path: Path, count: int) -> None:
    """A workbook of one batch or of a few recalculates to what is stored, as one of many does."""
    workshop = scaler.load(*(shipped() / name for name in FILES))
    path = tmp_path / "finished.xlsx"
    scaler.write(scaler.scale(replace(workshop, batches=workshop.batches[:count])), path)
    engine = IronCalc(path)
    wrong = [(item, engine.value(item.sheet, item.cell)) for item in formulas(path)]
    assert [pair for pair in wrong if not same(pair[0].value, pair[1])] == []
