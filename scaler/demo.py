"""The demo workbooks: an invented workshop, shipped with the package."""

from __future__ import annotations

import shutil
from pathlib import Path

FILES = {
    "oils.xlsx": ("ingredients", "prices"),
    "moulds.xlsx": ("moulds",),
    "recipes.xlsx": ("recipes", "lines", "batches", "costs", "market", "market_days", "on_hand"),
}
"""Each workbook, and the keys of the sheets in it; `docs/make.py` writes them."""


def shipped() -> Path:
    """Return the folder of the demo workbooks: in the installed package, else in the checkout."""
    package = Path(__file__).parent
    inside = package / "demo_workbooks"
    return inside if inside.is_dir() else package.parent / "demo_workbooks"


def copy_to(folder: Path) -> list[Path]:
    """Copy the demo workbooks to a folder, keeping files that are there, and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in FILES:
        if not (folder / name).exists():
            shutil.copyfile(shipped() / name, folder / name)
    return [folder / name for name in FILES]
