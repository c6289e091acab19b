"""Every word a person can read stands in one list, made by one command, so that it can be read at each release."""

from __future__ import annotations

import runpy
from pathlib import Path

from scaler.model.records import SHEETS
from scaler.model.schema import columns
from scaler.model.settings import setting_declared

ROOT = Path(__file__).parent.parent
LABELS = runpy.run_path(str(ROOT / "docs" / "labels.py"))
SHIPPED = (ROOT / "docs" / "labels.txt").read_text(encoding="utf-8")


def test_list_is_current() -> None:
    """The list is what `python docs/labels.py` writes today; after a change of words, run it and read the difference."""
    assert LABELS["listed"]().splitlines() == SHIPPED.splitlines()


def test_list_leaves_nothing_out() -> None:
    """Every header, every setting and a code of each kind stand in the list, and it can be read in one sitting."""
    for sheet in SHEETS:
        assert f"\n{sheet.name}: {', '.join(column.header for column in columns(sheet.record).values())}\n" in SHIPPED
    for item in setting_declared().values():
        assert f"\n{item.name}" in SHIPPED
    for code in ("superfat_negative (refuse)", "sap_doubtful (look)", "header_twice", "market_infeasible"):
        assert f"\n{code}" in SHIPPED
    assert len(SHIPPED.splitlines()) < 1250
