"""Random edits of a partner, recalculated by an independent engine and held against what scaler makes of the file.

Run as a command it prints how many edits were tried, and what differed:

    .venv/bin/python tests/partner_edits.py 200
"""

from __future__ import annotations

import math
import random
import re
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import time
from functools import cache
from pathlib import Path
from typing import Any

import ironcalc
from made_up import made_up
from typing_in import typed_over

import scaler
from scaler.demo import FILES, shipped
from scaler.engine import scale, work_out
from scaler.market_run import work_out as market_work_out
from scaler.model.records import COSTS, SHEETS, Workshop
from scaler.model.schema import CHOICE, DATE, NUMBER, PERCENT, REFERENCE, UNIT, WHOLE, YES_NO, Column, columns, letters
from scaler.output import property_of
from scaler.read.formulas import read_cells, stored_values
from scaler.read.workshop import load
from scaler.stored_plan import PlanLost, kept
from scaler.verify import _beyond, lengths_of
from scaler.write.finished import ROWS, finished
from scaler.write.layout import FIRST_ROW
from scaler.write.tabs.checks import HANDED_OVER

OF_MARKET = ("Market", "Market days", "On hand")
OF_BATCH = re.compile(f"Sheet ({'|'.join(OF_MARKET)}) has")
"""Rows of a market are not worked out in a workbook of batches."""
EDITED = tuple(sheet for sheet in SHEETS if sheet.name not in OF_MARKET)
ERRORS = ("#VALUE!", "#REF!", "#NAME?", "#DIV/0!", "#N/A", "#NUM!", "#NULL!", "#CIRC!", "#ERROR!")
DEMO, MARKET, FEW = 0, -1, -2
"""Seeds that stand for the demo, for its market run, and for its first two batches and what they are made of."""


@dataclass(frozen=True)
class Edit:
    """What is typed where."""

    sheet: str
    cells: Mapping[str, Any]
    says: str


@cache
def workbook(seed: int) -> bytes:
    """Return the finished workbook of the demo, or of a workshop made up from a seed."""
    if seed in (DEMO, MARKET, FEW):
        shop = scaler.load(*(shipped() / name for name in FILES))
        return finished(
            market_work_out(shop).run if seed == MARKET else scale(shop if seed == DEMO else first_two(shop))
        )
    return finished(scale(made_up(seed, apart=True)))


def first_two(workshop: Workshop) -> Workshop:
    """Return the first two batches of a workshop, and what they are made of."""
    batches = workshop.batches[:2]
    recipes = tuple(item for item in workshop.recipes if item.recipe in {batch.recipe for batch in batches})
    lines = tuple(item for item in workshop.lines if item.recipe in {recipe.recipe for recipe in recipes})
    used = {item.ingredient for item in lines}
    things = tuple(item for item in workshop.ingredients if item.ingredient in used or item.kind == "alkali")
    prices = tuple(item for item in workshop.prices if item.ingredient in {thing.ingredient for thing in things})
    return replace(
        workshop, batches=batches, recipes=recipes, lines=lines, ingredients=things, prices=prices,
        market=(), market_days=(), on_hand=(),
    )  # fmt: skip


def values_for(column: Column, now: Any, chance: random.Random) -> Any:
    """Return what a partner may type into a cell of a column, rightly or wrongly."""
    if column.kind in (NUMBER, PERCENT, WHOLE) and isinstance(now, int | float) and chance.random() < 0.6:
        return chance.choice([now * 1.1, now * 10, now / 10, now * 100, -now, 0.0, now + 1])
    usual: dict[str, list[Any]] = {
        NUMBER: [0.0, 1.0, 12.5, -3.0, "twelve", 190.0, 262.0, 1e12],
        PERCENT: [0.05, 0.5, 1.0, 1.5, -0.1, "five", 0.0],
        WHOLE: [1.0, 2.0, 2.5, 0.0, -1.0, "two"],
        DATE: [46360.0, 20.0, "tomorrow", 99999.0],
        CHOICE: [*column.choices, *column.choices, "other"],
        YES_NO: ["yes", "no", "perhaps"],
        UNIT: ["g", "kg", "oz", "mL", "cm", "mm", "each", "each/bar", "g/kg", "stone"],
        REFERENCE: ["Olive oil", "nobody"],
    }
    return chance.choice([None, *usual.get(column.kind, ["words"])])


def edit_of(seed: int, content: bytes) -> Edit:
    """Return one random edit of a workbook: a cell, or a row cleared."""
    chance = random.Random(seed)
    held = stored_values(content)
    sheet = chance.choice([item for item in SHEETS if item.name in held] if "Money" in held else EDITED)
    cells = held[sheet.name]
    rows = sorted({int(cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")) for cell in cells})
    filled = [row for row in rows if row >= FIRST_ROW and f"A{row}" in cells][:-1]
    row = chance.choice(filled)
    declared = list(columns(sheet.record).values())
    if chance.random() < 0.1 and sheet is not COSTS:
        return Edit(
            sheet.name, {f"{letters(at)}{row}": None for at in range(1, len(declared) + 1)}, f"row {row} cleared"
        )
    at = 2 if sheet is COSTS else chance.randrange(1, len(declared) + 1)
    cell = f"{letters(at)}{row}"
    value = values_for(declared[at - 1], cells.get(cell), chance)
    if sheet is COSTS and isinstance(cells.get(cell), int | float):
        value = chance.choice([cells[cell] * 2, cells[cell] / 2, 0.0, -1.0, "words", None])
    return Edit(sheet.name, {cell: value}, f"{cell} from {cells.get(cell)!r} to {value!r}")


def recalculated(path: Path) -> Iterator[tuple[str, str, Any]]:
    """Yield every cell of a workbook outside its input sheets as an independent engine works it out."""
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    model.evaluate()
    inputs = {sheet.name for sheet in SHEETS}
    cells = read_cells(path)  # also those that show nothing as yet
    for number, properties in enumerate(model.get_worksheets_properties()):
        name = properties["name"]
        for cell in () if name in inputs else cells[name]:
            letter = cell.rstrip("0123456789")
            column = sum((ord(sign) - 64) * 26**place for place, sign in enumerate(reversed(letter)))
            yield name, cell, model.get_cell_value(number, int(cell[len(letter) :]), column)


def differences(content: bytes, edit: Edit, folder: Path) -> list[str]:
    """Return the cells in which the recalculated workbook and scaler disagree after an edit, and every error value."""
    path = folder / "edited.xlsx"
    path.write_bytes(typed_over(content, {(edit.sheet, cell): value for cell, value in edit.cells.items()}))
    there = {(sheet, cell): value for sheet, cell, value in recalculated(path)}
    return disagreements(path, there, any(isinstance(value, str) for value in edit.cells.values()))


def disagreements(
    path: Path, there: Mapping[tuple[str, str], Any], converted: bool = False, rows_moved: bool = False
) -> list[str]:
    """Return the cells in which a recalculated workbook and scaler disagree, and every error value.

    Args:
        path: the workbook.
        there: what each cell outside the input sheets holds, recalculated.
        converted: whether words were typed, which the reader may take otherwise than a cell does; errors alone count then.
        rows_moved: whether rows were moved: of workings, Sources and Alkali errors alone count then.
    """
    wrong = [f"{sheet} {cell}: {value}" for (sheet, cell), value in there.items() if str(value) in ERRORS]
    workshop = load([path], gaps=True)
    if any(problem.code.startswith(("file_", "sheet_", "header_")) for problem in workshop.problems):
        return wrong
    market = None
    if "Money" in {sheet for sheet, _ in there}:
        try:
            market = kept(read_cells(path), workshop)
        except PlanLost:
            return wrong
    beyond = [
        says for says in _beyond(workshop, lengths_of(property_of(path, ROWS))) if market or not OF_BATCH.search(says)
    ]
    if beyond:
        told = any(
            "are not read: run scaler" in str(value) for (sheet, _), value in there.items() if sheet == "Overview"
        )
        return wrong if told else [*wrong, "Overview: rows are not read, and nothing says so"]
    fresh = stored_values(finished(work_out(workshop, market, lengths=lengths_of(property_of(path, ROWS)))))
    handed_over = next(int(cell[1:]) for (_, cell), value in there.items() if value == HANDED_OVER)
    for (sheet, cell), value in there.items():
        stays = sheet == "Checks" and int(re.sub("[A-Z]", "", cell)) > handed_over
        # Workings say where rows stand; Sources and Alkali keep their order of the hand-over.
        moved = rows_moved and sheet.startswith(("Workings", "Sources", "Alkali"))
        if not stays and not moved and not converted and not _same(fresh[sheet].get(cell), value):
            wrong.append(f"{sheet} {cell}: workbook {value!r}, scaler {fresh[sheet].get(cell)!r}")
    return wrong


def _same(first: Any, second: Any) -> bool:
    first, second = (0.0 if value == time() else value for value in (first, second))  # a 0 that is shown as a date
    if isinstance(first, int | float) and isinstance(second, int | float):
        return math.isclose(first, second, rel_tol=1e-9, abs_tol=1e-9)
    return (first or "") == (second or "") or str(first or "") == str(second or "")


def main(count: int, first: int = 0) -> int:
    """Try so many edits and print what differed."""
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(first, first + count):
            content = workbook((DEMO, 1, 2, 3, 5, MARKET, MARKET)[number % 7])
            edit = edit_of(number, content)
            wrong = differences(content, edit, Path(folder))
            if wrong:
                bad += 1
                print(f"{number}: {edit.sheet} {edit.says}: {len(wrong)} cells", *wrong[:3], sep="\n    ")
    print(f"{count} edits, {bad} with differences")
    return bad


if __name__ == "__main__":
    sys.exit(min(main(int(sys.argv[1]) if len(sys.argv) > 1 else 200, int(sys.argv[2]) if len(sys.argv) > 2 else 0), 1))
