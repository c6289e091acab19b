"""What each command imports: nothing that it does not use, and nothing that need not be installed."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest
from typing_in import fresh

from scaler.cli import main
from scaler.output import copy_to

ROOT = Path(__file__).parent.parent

OPTIONAL = ("numpy", "scipy", "PIL", "defusedxml", "lxml", "dask", "xarray", "uncertainties", "babel")
"""What libraries of ours import when it happens to be installed; kept out here, as on a maker's machine."""

WATCHED = """
import sys
for name in {optional!r}:
    sys.modules[name] = None
sys.argv = ["scaler", *{words!r}]
from scaler.cli import main
try:
    main()
except SystemExit as stop:
    status = stop.code
found = {{name.split(".")[0] for name in sys.modules if sys.modules[name]}} - set(sys.stdlib_module_names) - {{"__main__"}}
print(status, *sorted(found), file=sys.stderr)
"""

READ = {"openpyxl", "et_xmlfile"}
WRITE = {"xlsxwriter"}
UNITS = {"pint", "flexcache", "flexparser", "platformdirs", "typing_extensions"}

IMPORTS = {
    "": set(),
    "--help": set(),
    "--version": set(),
    "batch --help": set(),
    "new other.xlsx": WRITE,
    "check my.xlsx": READ | UNITS,
    "check my.xlsx --json": READ | UNITS,
    "check nosuch.xlsx": set(),
    "batch my.xlsx --json": READ | UNITS,
    "batch my.xlsx": READ | UNITS | WRITE,
    "verify my.xlsx": READ | WRITE,
    "market my.xlsx": READ | UNITS,
    "demo": READ | UNITS | WRITE,
}
"""What each command imports beside Python's own library, scaler and click."""

STATUS = {"": "2", "check nosuch.xlsx": "1", "verify my.xlsx": "1", "market my.xlsx": "1"}


def test_every_command_is_listed() -> None:
    """No command is left out of the list."""
    assert {words.split()[0] for words in IMPORTS if words and not words.startswith("-")} == set(main.commands)


def python(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Return what a fresh Python does with some code."""
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-S", "-c", f"import sys; sys.path += {sys.path!r}\n{code}"]
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=True)


@pytest.mark.parametrize("words", IMPORTS, ids=lambda words: words or "no command")
def test_command_imports_what_it_uses(tmp_path: Path, words: str) -> None:
    """A command imports what the list says and no more, and does its work without what need not be installed."""
    fresh(tmp_path)
    done = python(WATCHED.format(optional=OPTIONAL, words=words.split()), tmp_path)
    status, *found = done.stderr.splitlines()[-1].split()
    assert status == STATUS.get(words, "0"), done.stderr
    assert set(found) - {"click", "scaler"} == IMPORTS[words]


def test_library_imports_nothing_until_it_is_used(tmp_path: Path) -> None:
    """`import scaler` imports nothing heavy; the table of results is where pandas comes in."""
    code = """
import sys, scaler
heavy = {"openpyxl", "xlsxwriter", "pint", "pandas", "click"}
print(sorted(heavy & set(sys.modules)))
run = scaler.scale(scaler.load(*sys.argv[1:] or ["oils.xlsx", "moulds.xlsx", "recipes.xlsx"]))
print(sorted(heavy & set(sys.modules)))
run.frame()
print(sorted(heavy & set(sys.modules)))
"""
    copy_to(tmp_path)
    assert python(code, tmp_path).stdout.splitlines() == [
        "[]",
        "['openpyxl', 'pint']",
        "['openpyxl', 'pandas', 'pint']",
    ]


def worked(*command: str) -> float:
    """Return how many seconds of work a fresh Python does, which other programs beside it make no longer."""
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *command], env=environment, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def test_help_is_quick() -> None:
    """`scaler --help` works at most 150 ms more than a Python that does nothing, each at its quickest of nine."""
    helped = min(worked("-m", "scaler.cli", "--help") for _ in range(9))
    idle = min(worked("-c", "pass") for _ in range(9))
    assert helped - idle < 0.150
