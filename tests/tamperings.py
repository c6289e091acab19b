"""Random tamperings with a finished workbook outside its input cells, and honest edits inside: what does verify say?

Run as a command it prints how many were found, and every one that was not:

    .venv/bin/python tests/tamperings.py 300 100
"""

from __future__ import annotations

import random
import re
import sys
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from partner_edits import edit_of, first_two
from recalculation import through_libreoffice
from typing_in import changed, typed_over

import scaler
from scaler.audit import Report, verify
from scaler.model.records import SHEETS
from scaler.output import DEMO_FILES, shipped
from scaler.read.files import StoredCell, read_cells, stored_values
from scaler.write.finished import written

INPUTS = {sheet.name for sheet in SHEETS}


@cache
def demo() -> tuple[bytes, Mapping[str, set[str]]]:
    """Return two batches' finished workbook, and the cells of its result sheets that are for people to fill."""
    return written(scaler.scale(first_two(scaler.load(*(shipped() / name for name in DEMO_FILES)))))


@cache
def visible() -> tuple[tuple[str, str, StoredCell, Any], ...]:
    """Return every filled cell outside the inputs: sheet, address, what is written, the stored value."""
    content, free = demo()
    values = stored_values(content)
    return tuple(
        (sheet, cell, held, values[sheet].get(cell))
        for sheet, cells in read_cells(content).items()
        if sheet not in INPUTS
        for cell, held in cells.items()
        if cell not in free.get(sheet, ())
    )


@dataclass(frozen=True)
class Tampering:
    """What was done to a workbook."""

    says: str
    content: bytes


def _retyped(held: StoredCell, value: Any) -> tuple[str, Any]:
    """Return a cell's own result as a plain value, moved a little where it is a number."""
    if held.written:
        return "formula replaced by its result", value if value not in (None, "") else "x"
    if isinstance(value, int | float) and not isinstance(value, bool):
        return "constant raised by 5 %", value * 1.05 or 1.0
    return "words typed over", f"{value} "[:-2] or "x"


def _twisted(held: StoredCell, value: Any) -> tuple[str, Any]:
    """Return a formula with one digit of an address, or a sign, made another."""
    if not held.written:
        return _retyped(held, value)
    digits = [found.start() for found in re.finditer(r"(?<=[A-Z$])[0-9]", held.written)]
    if not digits:
        return "formula negated", f"=-({held.written.removeprefix('=')})"
    at = digits[len(digits) // 2]
    other = str(int(held.written[at]) % 9 + 1)
    return "formula with another row", held.written[:at] + other + held.written[at + 1 :]


def _cleared(_: StoredCell, __: Any) -> tuple[str, Any]:
    return "cleared", None


_KINDS: tuple[Callable[[StoredCell, Any], tuple[str, Any]], ...] = (_retyped, _twisted, _cleared)


def tampering(seed: int) -> Tampering:
    """Return one random tampering: a cell, two cells swapped, a row cleared, or a stored result falsified."""
    chance = random.Random(seed)
    content, cells = demo()[0], visible()
    sheets = sorted({sheet for sheet, *_ in cells})
    sheet = chance.choice(sheets)  # a small tab as often as a large one
    there = [cell for cell in cells if cell[0] == sheet]
    _, at, held, value = chance.choice(there)
    way = seed % 7
    if way < 3:
        says, typed = _KINDS[way](held, value)
        return Tampering(f"{sheet} {at}: {says}", typed_over(content, {(sheet, at): typed}))
    if way == 3:
        others = [cell for cell in there if (cell[2].written or cell[3]) != (held.written or value)]
        _, other, swapped, was = chance.choice(others)
        both = {(sheet, at): swapped.written or was, (sheet, other): held.written or value}
        return Tampering(f"{sheet} {at} and {other} swapped", typed_over(content, both))
    if way == 4:
        row = re.sub("[A-Z]+", "", at)
        gone: dict[tuple[str, str], Any] = {(sheet, c): None for _, c, *_ in there if re.sub("[A-Z]+", "", c) == row}
        return Tampering(f"{sheet} row {row} cleared", typed_over(content, gone))
    if way == 5:
        zeros = [(sheet, cell) for sheet, cell, zero, _ in cells if not zero.written and zero.value == 0]
        blank = (sheet, f"AZ{re.sub('[A-Z]+', '', at)}")
        typed = {chance.choice(zeros): None} if seed % 2 else {blank: 0}
        return Tampering(f"0 cleared or typed into a blank cell: {typed}", typed_over(content, typed))
    numbers = [(cell, was) for _, cell, formula, was in there if formula.written and isinstance(was, int | float)]
    if not numbers:
        return tampering(seed + 7)
    cell, was = chance.choice(numbers)
    return Tampering(f"{sheet} {cell}: stored {was} falsified", _stored_otherwise(content, sheet, cell, was))


def _stored_otherwise(content: bytes, sheet: str, cell: str, was: float) -> bytes:
    """Return a workbook in which a formula's stored result is another."""

    def falsify(text: str) -> str:
        return re.sub(rf'(<c r="{cell}"[^>]*>(?:<f>.*?</f>))<v>[^<]*</v>', rf"\g<1><v>{was * 1.1 + 1}</v>", text)

    return changed(content, sheet, falsify)


def honest(seed: int, folder: Path) -> tuple[str, Report]:
    """Return an edit of one input cell, recalculated by a spreadsheet program, and what verify says of it."""
    edit = edit_of(seed, stored_values(demo()[0]), ("type", "row"))
    source = folder / f"honest{seed}.xlsx"
    source.write_bytes(typed_over(demo()[0], {(edit.sheet, cell): value for cell, value in edit.cells.items()}))
    (saved,) = through_libreoffice(folder, source)
    return f"{edit.sheet} {edit.says}", verify(saved)


def main(tamperings: int, edits: int) -> int:
    """Try so many of both and print what verify missed, and whom it accused in vain."""
    missed, accused = 0, 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for seed in range(tamperings):
            done = tampering(seed)
            path = folder / "tampered.xlsx"
            path.write_bytes(done.content)
            if verify(path).sound:
                missed += 1
                print(f"{seed} missed: {done.says}", flush=True)
        for seed in range(edits):
            says, report = honest(seed, folder)
            if report.overwritten or report.failing or report.stale:
                accused += 1
                print(
                    f"{seed} accused: {says}: {report.overwritten[:2]} {report.failing[:1]} {report.stale[:3]}",
                    flush=True,
                )
    print(f"{tamperings} tamperings, {missed} missed; {edits} honest edits, {accused} accused of more")
    return missed + accused


if __name__ == "__main__":
    raise SystemExit(bool(main(*(int(word) for word in sys.argv[1:]))))
