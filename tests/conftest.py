"""What holds for every test."""

from __future__ import annotations

import gc
from pathlib import Path

import pytest

collect_ignore = ["look_at_extension.py"]  # run in a copy of the project, by test_extension

# A workbook is many small objects, none of them in circles: looking for those takes a fifth of the time.
gc.set_threshold(300_000, 50, 50)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in an empty folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path
