"""The exercises of DEVELOPERS.md, done as they are written: one file is touched, and the new thing arrives everywhere."""

from __future__ import annotations

import json
import math
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from tempfile import mkdtemp
from textwrap import dedent, indent
from typing import Any

import pytest

pytestmark = pytest.mark.xdist_group("extension")
ROOT = Path(__file__).parents[1]
KINDS = ("shape", "cost", "setting", "column")
Seen = dict[str, Any]
_CODE = re.compile(r"(?:^(?:    .*)?\n)+", re.MULTILINE)


def exercise(kind: str) -> tuple[str, list[tuple[str, str]]]:
    """Return the file that an exercise touches, and its pairs of a line and what goes above it."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    text = text.split(f"### A {kind}\n")[1].split("\n#")[0] + "\n"
    files = set(re.findall(r"In `(scaler/\S+\.py)`", text))
    assert len(files) == 1, f"A {kind} touches {files}"
    blocks = [dedent(block).strip("\n") for block in _CODE.findall(text) if block.strip()]
    return files.pop(), list(zip(blocks[::2], blocks[1::2], strict=True))


def done(project: Path, kind: str) -> None:
    """Do an exercise in a copy of the project: each block goes above the line named, with that line's margin."""
    file, changes = exercise(kind)
    path = project / file
    lines = path.read_text(encoding="utf-8").split("\n")
    for line, new in changes:
        at = next(number for number, held in enumerate(lines) if held.strip() == line)
        margin = lines[at][: len(lines[at]) - len(lines[at].lstrip())]
        lines[at:at] = [*indent(new, margin).split("\n"), *([] if margin else ["", ""])]
    path.write_text("\n".join(lines), encoding="utf-8")


@pytest.fixture(scope="module", name="seen")
def grown() -> Seen:
    """Return what is seen of a copy of the project in which every exercise was done."""
    folder = Path(mkdtemp())
    project = folder / "project"
    shutil.copytree(ROOT, project, ignore=shutil.ignore_patterns(".venv", ".git", ".*_cache", "__pycache__"))
    for kind in KINDS:
        done(project, kind)
    rule = project / "scaler/rules/costing.py"
    text = rule.read_text(encoding="utf-8")
    text = text.replace(
        "def overhead_cost(overhead: Number)", "def overhead_cost(overhead: Number, stove_power: Number)"
    )
    rule.write_text(text.replace("return overhead + 0", "return overhead + stove_power"), encoding="utf-8")
    command = [sys.executable, "tests/look_at_extension.py", str(folder / "seen.json")]
    paths = (project, project / "docs", project / "tests")
    room = os.environ | {"PYTHONPATH": os.pathsep.join(map(str, paths))}
    ran = subprocess.run(command, cwd=project, env=room, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    seen: Seen = json.loads((folder / "seen.json").read_text(encoding="utf-8"))
    shutil.rmtree(folder)
    return seen


def test_grown_project_is_right_in_itself(seen: Seen) -> None:
    """Nothing is refused, and IronCalc finds every number of the grown workbook."""
    assert seen["package"].endswith("project/scaler/__init__.py")
    assert seen["problems"] == []
    assert seen["wrong"] == []


def test_shape_arrives(seen: Seen) -> None:
    """A cone has a volume, a word in the drop-down, refusals of its own, here and in the workbook, and a row in the README."""
    radius, height = 6.0, 30.0
    assert seen["volume"] == pytest.approx(math.pi * radius**2 * height / 3 * (1 - 0.05**3), rel=1e-12)
    assert any("cone" in words for words in seen["shapes offered"])
    assert ["Loaf mould (Shape cone) has no Diameter.", "Fill it."] in seen["no size"]
    assert ["The liner of Loaf mould leaves no room inside.", "Make Liner smaller, or check Unit."] in seen[
        "thick liner"
    ]
    assert "Loaf mould (Shape cone) has no Diameter." in " ".join(seen["no size in the workbook"])
    assert "cone ml" in seen["texts"]["Workings"]
    assert "| cone | Unit, Diameter, Length | Cone on its base: Diameter x Length. |" in seen["readme"]


def test_cost_arrives(seen: Seen) -> None:
    """A cost is in the total, the JSON, Costing, and what the planner and Money reckon with, and costs balance."""
    cost = seen["cost"]
    assert cost["insurance"] == pytest.approx(cost["labour"] / 2)
    parts = ("ingredients", "packaging", "labour", "overhead", "insurance")
    assert cost["total"] == pytest.approx(sum(cost[part] for part in parts))
    assert seen["balance"] == pytest.approx([0.0], abs=1e-9)
    assert seen["json"]["insurance"] == cost["insurance"]
    assert "Insurance" in [text.strip() for text in seen["texts"]["Costing"]]
    every = [sum(batch[part] for part in ("labour", "overhead", "insurance")) for batch in seen["market costs"]]
    assert seen["market work"] == pytest.approx(sum(every))
    assert seen["planned work"] == pytest.approx(sum(every))


def test_setting_arrives(seen: Seen) -> None:
    """A setting has its default, its line on Costs and in the README, its limits, its question, and is read by rules."""
    assert seen["cost"]["overhead"] == 2.0 + 2.0
    assert "Stove power" in seen["settings"]
    assert "| Stove power | 2 kW | Power of the stove. |" in seen["readme"]
    assert "Stove power" in " ".join(says for says, _ in seen["setting too large"])
    assert "Stove power" in " ".join(seen["setting too large in the workbook"])
    assert "Is it in kW, not W?" in " ".join(seen["setting doubted"])
    assert seen["weighed in spite of the setting"] > 0


def test_column_arrives(seen: Seen) -> None:
    """A column is in the template, the workings and the README; what cannot be is refused, what may not is asked about."""
    assert "Wall" in seen["headers"]
    assert "wall" in [text.casefold() for text in seen["texts"]["Workings"]]
    assert re.search(r"^\| Wall \| number .* \| Thickness of the mould's wall\. \|$", seen["readme"], re.MULTILINE)
    assert ["Wall cannot be -1.", "Type the number alone: from 0 to 100."] in seen["column too small"]
    assert "Wall cannot be -1." in " ".join(seen["column too small in the workbook"])
    assert "Is it in mm?" in " ".join(seen["column doubted"])
