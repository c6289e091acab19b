"""Hostile and careless inputs at random: what is read, refused or crashes.

Run as a command it prints how many were tried and every one that went wrong:

    .venv/bin/python tests/fuzz.py 20000 1000 500

cells mutated in process (ten a workshop), workbooks through the commands, and workbooks with damaged XML.
"""

from __future__ import annotations

import io
import json
import math
import random
import re
import sys
import tempfile
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable, Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from made_up import made_up
from partner_edits import DEMO, workbook
from typing_in import typed_over

import scaler
from scaler.cli import main
from scaler.engine import scale
from scaler.model.records import SHEETS
from scaler.output import DEMO_FILES, shipped
from scaler.read.files import read_cells
from scaler.read.workshop import load
from scaler.rules.results import Run
from scaler.write.finished import finished, inputs

VALUES: tuple[Any, ...] = (
    None, 0.0, -1.0, 1.0, 5.0, 0.05, 100.0, 1e-9, 1e9, 1e300, -1e300, 262.0, 1900.0, 0.1340, "", " ", "x", "nan", "inf", "1e999",
    "5 %", "5%", "£36.50", "36,50", "1 lb 4 oz", "2 x 25", "Olive oil", "olive  OIL", "\u00a0Olive oil", "oil", "lye", "NaOH", "yes",
    "box", "g", "kg", "furlong", "% of liquid", "g/kg", "each/bar", "2026-12-01", "March 4, 2026", "31.2.2026", "tomorrow",
    "Rows above this line are read.", "=1+1", "=A1", "'", "\u202e", "a" * 300, "#REF!", "TRUE", 45_000.0, 46_357.5, date(2026, 12, 1),
)  # fmt: skip
"""What is typed: numbers, words, dates and nonsense."""

SHEET_NAMES = {sheet.name for sheet in SHEETS}


@cache
def input_book(seed: int) -> bytes:
    """Return an input workbook: the demo's, or one of a workshop made up from a seed."""
    if seed == DEMO:
        return inputs(scaler.load(*(shipped() / name for name in DEMO_FILES)))
    return inputs(made_up(seed))


@cache
def cells_of(seed: int) -> tuple[tuple[str, str], ...]:
    """Return sheet and address of every filled cell of an input workbook from its header row on."""
    found = read_cells(input_book(seed))
    return tuple(
        (sheet, cell) for sheet, cells in found.items() for cell in cells if int(re.sub("[A-Z]", "", cell)) > 2
    )


def mutated(seed: int, count: int) -> tuple[bytes, Mapping[tuple[str, str], Any]]:
    """Return an input workbook with so many cells typed over, and what was typed where."""
    chance = random.Random(seed)
    source = (DEMO, 1, 2, 3, 4)[seed % 5]
    typed = {chance.choice(cells_of(source)): chance.choice(VALUES) for _ in range(count)}
    return typed_over(input_book(source), typed), typed


def not_finite(run: Run) -> list[str]:
    """Return every figure of a run that is no number."""
    return [
        f"{table}.{name}"
        for table, held in run.tables.columns.items()
        for name, values in held.items()
        if any(isinstance(value, float) and not math.isfinite(value) for value in values)
    ]


def in_process(seed: int, folder: Path) -> str:
    """Read and work out one workbook with ten cells typed over; return what is wrong with what came of it, "" for nothing."""
    content, _ = mutated(seed, 10)
    path = folder / "fuzz.xlsx"
    path.write_bytes(content)
    workshop = load([path])
    run = scale(workshop)
    problems = [*workshop.problems, *run.problems]
    for problem in problems:
        if problem.place.cell and not re.fullmatch("[A-Z]{1,3}[1-9][0-9]*", problem.place.cell):
            return f"no cell: {problem}"
        if problem.place.sheet and problem.place.sheet not in SHEET_NAMES:
            return f"no sheet: {problem}"
    if not problems:
        bad = not_finite(run)
        if bad:
            return f"not finite: {bad[:4]}"
        if seed % 20 == 0:
            finished(run)
    return ""


def through_commands(seed: int, folder: Path) -> str:
    """Give one workbook to a command; return what is wrong with what it does."""
    command = ("check", "batch", "market", "verify")[seed % 4]
    if command == "verify":
        chance = random.Random(seed)
        content = workbook(DEMO)
        cells = [(sheet, cell) for sheet, held in read_cells(content).items() for cell in held]
        typed = {chance.choice(cells): chance.choice(VALUES) for _ in range(3)}
        content = typed_over(content, typed)
    else:
        content, typed = mutated(seed, 3)
    path, out = folder / "fuzz.xlsx", folder / "out.xlsx"
    path.write_bytes(content)
    out.unlink(missing_ok=True)
    words = [command, str(path), "--json"] + (["-o", str(out), "--force"] if command in ("batch", "market") else [])
    answer = CliRunner().invoke(main, words)
    return _judged(answer, out) and f"{command} {typed}: {_judged(answer, out)}"


def _judged(answer: Any, out: Path) -> str:
    if answer.exception and not isinstance(answer.exception, SystemExit):
        return "".join(traceback.format_exception(answer.exception))[-600:]
    if answer.exit_code not in (0, 1, 2, 3):
        return f"exit status {answer.exit_code}"
    if answer.exit_code and out.exists():
        return "a file on failure"
    if not isinstance(json.loads(answer.stdout), dict):
        return "JSON is no object"
    if re.search(r"\b(NaN|Infinity)\b", answer.stdout):
        return "a figure that is no number"
    return ""


def damaged(seed: int, folder: Path) -> str:
    """Give a workbook with one damaged part to a command; return what is wrong with what it does."""
    chance = random.Random(seed)
    content = workbook(DEMO) if seed % 4 == 3 else input_book(DEMO)
    held = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(held, "w") as new:
        victim = chance.choice([name for name in old.namelist() if name.endswith((".xml", ".rels"))])
        for name in old.namelist():
            new.writestr(name, _hurt(old.read(name), chance) if name == victim else old.read(name))
    path, out = folder / "fuzz.xlsx", folder / "out.xlsx"
    path.write_bytes(held.getvalue())
    out.unlink(missing_ok=True)
    command = "verify" if seed % 4 == 3 else ("check", "batch", "market")[seed % 3]
    words = [command, str(path), "--json"] + (["-o", str(out), "--force"] if command in ("batch", "market") else [])
    said = _judged(CliRunner().invoke(main, words), out)
    return said and f"{command} {victim}: {said}"


def _hurt(data: bytes, chance: random.Random) -> bytes:
    """Return a part with a piece lost, doubled, swapped for another, or one byte changed."""
    at = chance.randrange(len(data))
    piece = data[at : at + chance.choice((1, 5, 40, 400))]
    tags = re.findall(rb"<[^>]+>", data)
    way = chance.randrange(5)
    if way == 0:
        return data.replace(piece, b"", 1)
    if way == 1:
        return data[:at] + piece + data[at:]
    if way == 2:
        return data[:at] + bytes([chance.randrange(256)]) + data[at + 1 :]
    if way == 3:
        return data.replace(chance.choice(tags), b"", 1)
    return re.sub(
        rb'"([0-9]+)"', lambda found: b'"%d"' % (int(found[1]) * chance.choice((0, 1, 1, 10**9)) - 1), data, count=20
    )


def main_(counts: tuple[int, ...], first: int = 0) -> int:
    """Try so many of each kind and print what went wrong."""
    wrong: Counter[str] = Counter()
    kinds: tuple[tuple[Callable[[int, Path], str], int], ...] = (
        (in_process, counts[0] // 10), (through_commands, counts[1]), (damaged, counts[2]),
    )  # fmt: skip
    with tempfile.TemporaryDirectory() as name:
        for kind, count in kinds:
            for seed in range(first, first + count):
                try:
                    said = kind(seed, Path(name))
                except Exception:
                    said = traceback.format_exc()[-700:]
                if said:
                    wrong[kind.__name__] += 1
                    print(f"{kind.__name__} {seed}: {said}", flush=True)
    print(
        f"{counts[0]} cells in process, {counts[1]} workbooks through commands, {counts[2]} damaged; wrong: {dict(wrong)}"
    )
    return sum(wrong.values())


if __name__ == "__main__":
    raise SystemExit(
        bool(main_(tuple(int(word) for word in sys.argv[1:4]), int(sys.argv[4]) if len(sys.argv) > 4 else 0))
    )
