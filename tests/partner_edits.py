"""Random edits of a partner, recalculated by two engines and held against what scaler makes of the file.

Run as a command it prints how many edits were tried in each engine, what came of them, and what differed:

    .venv/bin/python tests/partner_edits.py 200
"""

from __future__ import annotations

import random
import re
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import time
from functools import cache, partial
from pathlib import Path
from typing import Any, NamedTuple

from made_up import made_up
from market_runs import market_run
from openpyxl.utils.cell import coordinate_to_tuple
from parity import values_of
from recalculation import INPUTS, Cells, Sheets, recalculated, results, same, through_libreoffice
from typing_in import typed_over

import scaler
from scaler.audit import _as_wired, _beyond, lengths_of
from scaler.engine import scale, work_out
from scaler.market_run import work_out as market_work_out
from scaler.model.records import (
    ALKALI,
    BATCHES,
    COSTS,
    INGREDIENTS,
    LINES,
    MOULDS,
    PRICES,
    RECIPES,
    SHEETS,
    Workshop,
    mixed_text,
)
from scaler.model.schema import ANY, DATE, NUMBER, PERCENT, WHOLE, columns, letters
from scaler.output import DEMO_FILES, property_of, shipped
from scaler.read.files import read_cells, stored_values
from scaler.read.workshop import load
from scaler.rules.results import Run
from scaler.rules.sheets import typed
from scaler.rules.tables import day_of
from scaler.stored_plan import PlanLost, kept
from scaler.validation.rule import plain
from scaler.write.finished import DAY, MIXED, ROWS, finished
from scaler.write.layout import FIRST_ROW
from scaler.write.tabs.checks import HANDED_OVER
from scaler.write.tabs.overview import COLUMNS, STATES

OF_MARKET = ("Market", "Market days", "On hand")
OF_BATCH = re.compile(f"Sheet ({'|'.join(OF_MARKET)}) has")
"""Rows of a market are not worked out in a workbook of batches."""
ERRORS = ("#VALUE!", "#REF!", "#NAME?", "#DIV/0!", "#N/A", "#NUM!", "#NULL!", "#CIRC!", "#ERROR!", "Err:")
DEMO, MARKET, FEW, FAIR = 0, -1, -2, -10
"""Seeds that stand for the demo, for its market run, and for its first two batches; those up to FAIR are market runs."""
BOOKS = (DEMO, 1, 2, 3, 5, MARKET, MARKET, FAIR, FAIR - 3)
KINDS = (*["type"] * 6, "paste", "paste", "clear", "row", "new", "new", "packs", "delete", "delete", "insert", "sort", "move")  # fmt: skip
LOSSES = ("column", "sheet")
PASTED = ("£36.50", "36,50 €", "1 lb 4 oz", "twelve", "12.5", " 12 ", "5 %", "12 kg", "n/a", "?")
TOLD = ("are not read: run scaler", STATES[3], "is gone", "has changed", "no price for")
"""How Overview or Plan say that not all is read."""
_NUMBERS = (NUMBER, PERCENT, WHOLE, DATE, ANY)
ENGINES = ("LibreOffice", "IronCalc")


@dataclass(frozen=True)
class Edit:
    """What is typed where; or a job for LibreOffice: rows deleted, inserted, moved, sorted, a column or a sheet taken out."""

    sheet: str
    cells: Mapping[str, Any]
    says: str
    job: str = ""
    rows: tuple[int, ...] = ()


# --- the workbooks ---


@cache
def run_of(seed: int) -> Run:
    """Return the demo, a workshop or a market run made up from a seed, worked out."""
    if seed <= FAIR:
        return market_work_out(market_run(FAIR - seed, recipe_count=3)).run
    if seed > DEMO:
        return scale(made_up(seed, apart=True))
    shop = scaler.load(*(shipped() / name for name in DEMO_FILES))
    return market_work_out(shop).run if seed == MARKET else scale(first_two(shop) if seed == FEW else shop)


@cache
def workbook(seed: int) -> bytes:
    """Return the finished workbook of a seed."""
    return finished(run_of(seed))


@cache
def stored(seed: int) -> Sheets:
    """Return the stored values of a workbook."""
    return stored_values(workbook(seed))


def first_two(workshop: Workshop) -> Workshop:
    """Return the first two batches of a workshop, and what they are made of."""
    batches = workshop.batches[:2]
    recipes = tuple(item for item in workshop.recipes if item.recipe in {batch.recipe for batch in batches})
    lines = tuple(item for item in workshop.lines if item.recipe in {recipe.recipe for recipe in recipes})
    used = {item.ingredient for item in lines}
    things = tuple(item for item in workshop.ingredients if item.ingredient in used or item.kind == "alkali")
    prices = tuple(item for item in workshop.prices if item.ingredient in {thing.ingredient for thing in things})
    return replace(workshop, batches=batches, recipes=recipes, lines=lines, ingredients=things, prices=prices,
                   market=(), market_days=(), on_hand=())  # fmt: skip


# --- the edits ---


def edit_of(seed: int, held: Sheets, kinds: Sequence[str] = KINDS + LOSSES) -> Edit:
    """Return one random edit of a workbook whose values are given."""
    chance = random.Random(seed)
    there = [sheet.name for sheet in SHEETS if "Money" in held or sheet.name not in OF_MARKET]
    at = {name: [coordinate_to_tuple(cell) for cell in held[name]] for name in there}
    filled = {name: sorted(row for row, column in at[name] if column == 1 and row >= FIRST_ROW)[:-1] for name in there}
    what, name = chance.choice(kinds), chance.choice([name for name in there if len(filled[name]) > 1])
    if what == "new" and chance.random() < 0.8:
        name = chance.choice([sheet.name for sheet in (INGREDIENTS, PRICES, MOULDS, LINES)])
    row, last = chance.choice(filled[name]), filled[name][-1]
    fields = list(columns(INPUTS[name].record))
    read = [at for at, field in enumerate(fields, 1) if {field, f"{field}_typed"} & typed(INPUTS[name]).keys()]
    if what == "packs" and "Money" in held:
        return _packs(held["Shopping list"], chance)
    if what in ("type", "paste", "clear", "packs") or (name == COSTS.name and what in ("new", "row")):
        return _typed(name, held[name], row, what, chance)
    if what in ("new", "row"):
        cells = {letters(number): held[name].get(f"{letters(number)}{row}") for number in range(1, len(fields) + 1)}
        cleared = Edit(name, {f"{letter}{row}": None for letter in cells}, f"row {row} cleared")
        return _new(name, cells, last + 1, chance) if what == "new" else cleared
    end = FIRST_ROW + 8  # Costs: without Worked out on scaler takes today, the workbook its hand-over
    numbers = {"insert": (row, 1), "delete": (min(row, end), 1) if name == COSTS.name else (row, chance.randint(1, 2)),
               "move": (row, chance.choice(filled[name])), "sort": (FIRST_ROW, last),
               "column": (chance.choice(read), 1), "sheet": (1, 1)}[what]  # fmt: skip
    job = f"{what}|{name}|{numbers[0]}|{numbers[1]}|{chance.randint(1, 3)}|{chance.choice(('up', 'down'))}"
    return Edit(name, {}, job, job, tuple(range(numbers[0], sum(numbers))) if what == "delete" else ())


def _typed(name: str, cells: Mapping[str, Any], row: int, what: str, chance: random.Random) -> Edit:
    """Return a cell of a row typed over, pasted over or cleared."""
    declared = list(columns(INPUTS[name].record).values())
    at = 2 if name == COSTS.name else chance.randrange(1, len(declared) + 1)
    cell = f"{letters(at)}{row}"
    now = cells.get(cell)
    value = chance.choice([*values_of(declared[at - 1], now), *declared[at - 1].choices, "yes", "other"])
    if name == COSTS.name and isinstance(now, int | float):
        value = chance.choice([now * 2, now / 2, 0.0, -1.0, "words", None])
    if what == "paste":
        value = f" {now.upper()} " if isinstance(now, str) and at == 1 else chance.choice(PASTED)
    value = None if what == "clear" else value
    return Edit(name, {cell: value}, f"{cell} from {now!r} to {value!r}")


def _new(name: str, cells: dict[str, Any], row: int, chance: random.Random) -> Edit:
    """Return a row typed into the first spare place: one of the others, under another name, dearer, cheaper or smaller."""
    if INPUTS[name] in (INGREDIENTS, MOULDS, RECIPES, BATCHES):
        cells["A"] = f"New {chance.randint(1, 99)}"
    sized = {PRICES: "D", LINES: "C"}.get(INPUTS[name], "")
    if isinstance(cells.get(sized), int | float):
        cells[sized] *= chance.choice((0.5, 1, 3))
    new = {f"{at}{row}": value for at, value in cells.items()}
    return Edit(name, new, f"new row {row}: {list(cells.values())[:5]}")


def _packs(cells: Mapping[str, Any], chance: random.Random) -> Edit:
    """Return another number of packs on the shopping list."""
    packs = [cell for cell in cells if cell[0] == "F" and isinstance(cells.get(f"C{cell[1:]}"), int | float)]
    cell = chance.choice([cell for cell in packs if str(cells.get(f"D{cell[1:]}", "?"))[0].isalpha()])
    value = chance.choice((0, 1, 2, 5, None, -1, 0.5, "two", "2", 1e6))
    return Edit("Shopping list", {cell: value}, f"{cell} from {cells[cell]!r} to {value!r}")


# --- what the workbook shows, and what it should ---


class Expected(NamedTuple):
    """What scaler makes of a workbook: why it is not worked out, whether rows are not wired, what is read, shown, written.

    Of a blend with other oils than at the hand-over (`mixed`) only scaler can say all; what is shown must be right.
    """

    lost: str
    beyond: bool
    workshop: Workshop
    sheets: Sheets
    cells: Sheets
    mixed: bool = False


def expected(path: Path, edit: Edit, as_is: bool) -> Expected:
    """Return what scaler makes of a workbook, of the rows that are wired; if that is asked, of its cells as they are typed."""
    lengths = lengths_of(property_of(path, ROWS))
    shop = replace(_as_wired(load([path], gaps=True), lengths), today=day_of(float(property_of(path, DAY))))
    cells, codes = read_cells(path), [problem.code for problem in shop.problems]
    lost = next((code for code in codes if code.startswith(("file_", "sheet_", "header_"))), "")
    if lost or edit.job.startswith(LOSSES):
        return Expected(lost or edit.job, False, shop, {}, cells)
    mixed = (mixed_text(shop) or "none") != property_of(path, MIXED)
    beyond = any("Money" in cells or not OF_BATCH.search(says) for says in _beyond(shop, lengths))
    keys = [sheet.key for sheet in SHEETS if sheet.key in lengths and sheet is not COSTS]
    wired = replace(shop, **{key: getattr(shop, key)[: lengths[key]] for key in keys})
    wired = as_typed(wired, stored_values(path), edit) if as_is else wired
    try:
        plan = kept(cells, wired) if "Money" in cells else None
    except PlanLost as error:
        return Expected(str(error), beyond, shop, {}, cells)
    return Expected("", beyond, shop, stored_values(finished(work_out(wired, plan, lengths))), cells, mixed)


def as_typed(workshop: Workshop, cells: Sheets, edit: Edit) -> Workshop:
    """Return a workshop with what stands in cells that were not read, and in rows where a text may be read as something else."""
    rows, held = {coordinate_to_tuple(at)[0] for at, value in edit.cells.items() if isinstance(value, str)}, {}
    for sheet in SHEETS:
        records = []
        for item in getattr(workshop, sheet.key):
            raw: dict[str, Any] = {}
            for name, column in columns(sheet.record).items():
                at = item.where.place(name).cell if name in item.where.letters else ""
                numeric, here = column.kind in _NUMBERS, sheet.name == edit.sheet and item.where.row in rows
                if at and (name in item.unread or here or (sheet is COSTS and name == "unit")):
                    value = cells[item.where.sheet].get(at)
                    value = 0.0 if value == time() else value  # a 0 that is shown as a date
                    raw[name] = value if numeric or value is None else " ".join(plain(value).split())
            records.append(replace(item, unread=(), **raw) if raw else item)
        held[sheet.key] = tuple(records)
    return replace(workshop, **held)


def differences(content: bytes, edit: Edit, folder: Path) -> list[str]:
    """Return where the workbook that IronCalc recalculates and scaler disagree after an edit, and every error value."""
    path = folder / "edited.xlsx"
    path.write_bytes(typed_over(content, {(edit.sheet, cell): value for cell, value in edit.cells.items()}))
    return disagreements(partial(expected, path, edit), recalculated(path), edit)


def disagreements(way: Callable[[bool], Expected], there: Cells, edit: Edit) -> list[str]:
    """Return every error value of a recalculated workbook, and the cells in which it and scaler disagree.

    Args:
        way: what scaler makes of the file: its cells as they are read, or as they are typed. The workbook holds to one.
        there: what each cell outside the input sheets holds, recalculated.
        edit: what was done.
    """
    wrong = [f"{sheet} {cell}: {value}" for (sheet, cell), value in there.items() if str(value).startswith(ERRORS)]
    says = {str(value) for (sheet, _), value in there.items() if sheet in ("Overview", "Plan")}
    found = way(False)
    if (found.lost or found.beyond) and not any(sign in words for words in says for sign in TOLD):
        wrong.append(f"Overview: {found.lost or 'rows are not read'}, and nothing says so")
    differ = [] if found.lost else _differing(found, there, edit)
    return [*wrong, *(min(differ, _differing(way(True), there, edit), key=len) if differ else [])]


def _differing(found: Expected, there: Cells, edit: Edit) -> list[str]:
    handed_over = next((coordinate_to_tuple(cell)[0] for (_, cell), value in there.items() if value == HANDED_OVER), 0)
    ours = results(found.sheets)
    if found.mixed:
        pairs = {name: zip(held, _figures(ours).get(name, held), strict=True) for name, held in _figures(there).items()}
        shown = [(name, *pair) for name, held in pairs.items() for pair in held if isinstance(pair[0], int | float)]
        return [f"{name}: workbook {now!r}, scaler {our!r}" for name, now, our in shown if not same(now, our)]
    wrong: dict[str, list[str]] = {}
    for at in {**ours, **there}:
        pair = [ours.get(at), there.get(at)]
        stays = at[0] == "Checks" and coordinate_to_tuple(at[1])[0] > handed_over
        if at[0].startswith("Workings"):  # names as they are typed, 0 for blanks, where rows stand and what lies beyond
            stays, as_text = bool(edit.job) or found.beyond, any(isinstance(value, str) and value for value in pair)
            pair = [plain(value).casefold() if as_text else value or 0 for value in pair]
        if not stays and not same(*pair) and not (found.beyond and at == ("Overview", "E3")):
            wrong.setdefault(at[0], []).append(f"{' '.join(at)}: workbook {pair[1]!r}, scaler {pair[0]!r}")
    if "Alkali" in wrong and not _rows(there, "Alkali") - _rows(ours, "Alkali"):  # it keeps its order of the hand-over
        del wrong["Alkali"]
    return [line for lines in wrong.values() for line in lines]


def _rows(cells: Cells, sheet: str) -> Counter[tuple[Any, ...]]:
    """Return the rows of a sheet, in whatever order, numbers to eight digits."""
    rows: dict[int, list[Any]] = {}
    for (name, cell), value in cells.items():
        if name == sheet and value not in (None, ""):
            row, column = coordinate_to_tuple(cell)
            rows.setdefault(row, []).append((column, f"{value:.8g}" if isinstance(value, int | float) else str(value)))
    return Counter(tuple(sorted(row)) for row in rows.values())


# --- batches that an edit does not concern ---


def _figures(there: Cells) -> dict[str, list[Any]]:
    """Return the figures of each batch on Overview, by its name."""
    rows = [cell[1:] for (sheet, cell), value in there.items() if sheet == "Overview" and value in STATES]
    places = range(4, 4 + len(COLUMNS))
    return {str(there["Overview", f"A{row}"]): [there.get(("Overview", f"{letters(at)}{row}")) for at in places] for row in rows}  # fmt: skip


def concerned(workshop: Workshop, words: Iterable[Any]) -> set[str]:
    """Return the batches that hang on things, moulds or recipes of these names; a blank Alkali hangs on any alkali."""
    names = {str(word).strip().casefold() for word in words if word is not None}

    def hit(*held: Any) -> bool:
        return bool({str(word).casefold() for word in held if word is not None} & names)

    if any(item.kind == ALKALI and hit(item.ingredient) for item in workshop.ingredients):
        names.add("")
    for _ in range(2):  # a blend is an ingredient of other recipes
        names |= {str(line.recipe).casefold() for line in workshop.lines if hit(line.ingredient)}
    names |= {str(item.recipe).casefold() for item in workshop.recipes if hit(item.alkali or "", item.second_alkali)}
    batches = (*workshop.batches, *workshop.done)
    return {str(item.batch) for item in batches if hit(item.batch, item.recipe, item.mould, item.use_up)}


def spared(before: Sheets, shop: Workshop, found: Expected, there: Cells, edit: Edit) -> list[bool]:
    """Return of each batch that the edit does not concern whether it keeps its figures; no weight is a price's concern."""
    was, now = _figures(results(before)), _figures(there)
    if edit.job.startswith(LOSSES):  # what is shown all the same must be what it was
        pairs = [pair for name in was.keys() & now for pair in zip(was[name], now[name], strict=True)]
        return [same(first, second) for first, second in pairs if isinstance(second, int | float)]
    rows, hit = {coordinate_to_tuple(cell)[0] for cell in edit.cells} | set(edit.rows), set[str]()
    if found.lost or (edit.sheet == COSTS.name and rows):
        return []
    if edit.sheet in INPUTS and edit.sheet not in OF_MARKET:
        held = (before[edit.sheet], {**before[edit.sheet], **edit.cells})
        names = [cells.get(f"A{row}") for row in rows for cells in held]
        hit = concerned(shop, names) | concerned(found.workshop, names)
    money = sum(column.unit == "money" for column in COLUMNS) + 1  # and the margin
    ends = {name: -money if name in hit else None for name in was if name not in hit or edit.sheet == PRICES.name}
    return [all(map(same, was[name][:end], now.get(name, ["gone"] * 99)[:end])) for name, end in ends.items()]


# --- the command ---


def tried(seeds: Sequence[int], folder: Path) -> Iterator[tuple[int, Edit, str, str, list[str], list[bool]]]:
    """Yield of each edit and engine what came of it, what is wrong, and whether batches that it does not concern are kept."""
    edits = {seed: edit_of(seed, stored(BOOKS[seed % len(BOOKS)])) for seed in seeds}
    paths = [folder / f"{seed}.xlsx" for seed in seeds]
    for path, (seed, edit) in zip(paths, edits.items(), strict=True):
        cells = {(edit.sheet, cell): value for cell, value in edit.cells.items()}
        path.write_bytes(typed_over(workbook(BOOKS[seed % len(BOOKS)]), cells))
    saved = through_libreoffice(folder, *paths, jobs=[edit.job for edit in edits.values()])
    for (seed, edit), before, after in zip(edits.items(), paths, saved, strict=True):
        path = after if edit.job else before
        way = cache(partial(expected, path, edit))
        for engine in ENGINES:
            there = recalculated(path, read_cells(path)) if engine == "IronCalc" else results(stored_values(after))
            try:
                wrong = disagreements(way, there, edit)
            except Exception as error:
                yield seed, edit, engine, "crashed", [f"{type(error).__name__}: {error}"], []
                continue
            refused = way(False).lost or STATES[3] in there.values()
            errors = any(str(value).startswith(ERRORS) for value in there.values())
            came = "errors" if errors else "differing" if wrong else "refused" if refused else "equal"
            book = BOOKS[seed % len(BOOKS)]
            yield seed, edit, engine, came, wrong, spared(stored(book), run_of(book).workshop, way(False), there, edit)


def main(count: int, first: int = 0, at_once: int = 20) -> int:
    """Try so many edits in each engine and print what came of them, and what differed."""
    counts: dict[str, Counter[str]] = {engine: Counter() for engine in ENGINES}
    for start in range(first, first + count, at_once):
        with tempfile.TemporaryDirectory() as folder:
            for seed, edit, engine, came, wrong, left in tried(
                range(start, min(start + at_once, first + count)), Path(folder)
            ):
                counts[engine].update({"edits": 1, came: 1, "left": len(left), "kept": sum(left)})
                if wrong or not all(left):
                    what = f"{seed} of {BOOKS[seed % len(BOOKS)]}: {engine}: {edit.sheet} {edit.says}"
                    print(
                        f"{what}: {len(wrong)} cells, {sum(left)} of {len(left)} kept",
                        *(line[:200] for line in wrong[:4]),
                        sep="\n    ",
                        flush=True,
                    )
    for engine, held in counts.items():
        print(f"{engine}: {held['edits']} edits: {held['equal']} equal, {held['refused']} refused, {held['differing']} differing,"
              f" {held['crashed']} at which scaler crashed, {held['errors']} with error values; of figures of batches not concerned, {held['kept']} of {held['left']} kept")  # fmt: skip
    return sum(held["differing"] + held["errors"] + held["crashed"] for held in counts.values())


if __name__ == "__main__":
    sys.exit(min(main(*(int(word) for word in sys.argv[1:3] or ["200"])), 1))
