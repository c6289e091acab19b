"""Plant mistakes in the rules, one at a time, and say which test caught each.

Run as a command it prints a line for each mistake, and at the end how many were caught; a seed draws other mistakes:

    .venv/bin/python tests/mutations.py 40 SEED

A mistake is something turned into its opposite, a term or factor left out, one column read for another, or the data of
one row of a table written into its neighbour: a quarter each. Each is planted in a copy of the project; the tests that
need no other program run against it and stop at the first that fails.
"""

from __future__ import annotations

import ast
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from itertools import chain, zip_longest
from pathlib import Path
from queue import Queue
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[1]
RULES = ("rules/*.py", "validation/*.py", "market/*.py", "model/shapes.py")
TESTS = (
    "test_compute_batter.py", "test_compute_recipes.py", "test_compute_costing.py", "test_compute_moulds.py", "test_safety_notes.py",
    "test_portions.py", "test_blends.py", "test_compute_balance.py", "test_lye_heat.py", "test_certainty.py", "test_profile.py",
    "test_us_units.py", "test_dangers.py", "test_sizing.py", "test_market_days.py", "test_market_work.py", "test_messy.py", "test_market.py",
    "test_buying.py", "test_cli.py", "test_market_plans.py", "test_market_short.py", "test_market_living.py", "test_market_edits.py",
    "test_dangers_live.py",
)  # fmt: skip
"""The quickest first; published numbers and what only another program sees are left out."""
OPERATORS = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Lt: ast.Gt, ast.Gt: ast.Lt,
    ast.LtE: ast.GtE, ast.GtE: ast.LtE,
}  # fmt: skip
HELPERS = {"larger": "smaller", "round_down": "round_up", "all_of": "any_of", "given": "blank"}
OPPOSITES = HELPERS | {new: old for old, new in HELPERS.items()}
NO_DATA = ("name", "base", "unit", "says", "which")
"""What a row of a table is called or says: a mistake there is one of words."""
CELLS = ("Number", "Text", "Column", "Truth")
TURNED, DROPPED, COLUMN, ROW = "turned round", "left out", "wrong column", "wrong row"


class Mistake(NamedTuple):
    """A mistake that can be planted: step, module, line, first byte and the one after the last, text there, mistaken text."""

    step: str
    path: Path
    line: int
    start: int
    end: int
    old: str
    new: str


def mistaken(node: ast.AST, others: dict[str, str]) -> Iterator[tuple[str, ast.AST]]:
    """Yield kinds of mistake, and the node with each; `others` holds for each column read the next of its type."""
    match node:
        case ast.BinOp(left, operator, right) if type(operator) in OPERATORS:
            yield TURNED, ast.BinOp(left, OPERATORS[type(operator)](), right)
            yield DROPPED, left
        case ast.Compare(left, [operator], right) if type(operator) in OPERATORS:
            yield TURNED, ast.Compare(left, [OPERATORS[type(operator)]()], right)
        case ast.Call(ast.Name("when"), [condition, yes, no], keywords):
            yield TURNED, ast.Call(ast.Name("when"), [condition, no, yes], keywords)
        case ast.Call(ast.Name("exceeds"), [first, second], keywords):
            yield TURNED, ast.Call(ast.Name("exceeds"), [second, first], keywords)
        case ast.Call(ast.Name("divide"), [first, second]):
            yield TURNED, ast.BinOp(first, ast.Mult(), second)
            yield DROPPED, first
        case ast.Call(ast.Name("opposite"), [condition]):
            yield TURNED, condition
        case ast.Call(ast.Name(name), arguments, keywords) if name in OPPOSITES:
            yield TURNED, ast.Call(ast.Name(OPPOSITES[name]), arguments, keywords)
            if name in ("all_of", "any_of", "larger", "smaller"):
                yield DROPPED, ast.Call(ast.Name(name), arguments[:-1], keywords) if "of" in name else arguments[0]
        case ast.Name(name, ast.Load()) if name in others:
            yield COLUMN, ast.Name(others[name])


def in_rule(rule: ast.FunctionDef | ast.Lambda) -> Iterator[tuple[str, ast.AST, ast.AST]]:
    """Yield kind, node and mistaken node for every place in a rule."""
    read = defaultdict(list)
    for column in (*rule.args.posonlyargs, *rule.args.args, *rule.args.kwonlyargs):
        read[ast.unparse(column.annotation) if column.annotation else ""].append(column.arg)
    others = {name: names[place - 1] for names in read.values() if len(names) > 1 for place, name in enumerate(names)}
    for node in chain.from_iterable(map(ast.walk, rule.body if isinstance(rule, ast.FunctionDef) else [rule.body])):
        yield from ((kind, node, new) for kind, new in mistaken(node, others))


def in_tables(module: ast.AST) -> Iterator[tuple[str, ast.AST, ast.AST]]:
    """Yield kind, node and mistaken node for the data of every row of a table of steps, and of every step of one line."""
    alike: dict[Any, list[ast.AST]] = defaultdict(list)
    for node in ast.walk(module):
        match node:
            case ast.For(ast.Tuple(names), ast.Tuple([ast.Tuple(), *_] as rows)):
                for name, *held in zip(names, *(row.elts for row in rows), strict=True):  # type: ignore[attr-defined]
                    called = ast.unparse(name)
                    alike[node, called] = [] if called.strip("_") in NO_DATA else held
            case ast.Call(ast.Attribute(_, "add"), [_, _, ast.Call(ast.Name(plain), [ast.Constant(), *_] as held)]):
                for place, value in enumerate(held[:-1]):  # a column of another table would not be found
                    alike[plain, place, ast.unparse(value).split("_")[0]].append(value)
    for held in alike.values():
        for old, new in zip(held, held[1:] + held[:1], strict=True):
            if ast.dump(old) != ast.dump(new):
                yield ROW, old, new


def mistakes() -> dict[str, list[Mistake]]:
    """Return every mistake that can be planted, by kind: in rules, which read numbers, texts and columns, and in tables."""
    found: dict[str, dict[tuple[Path, int, str], Mistake]] = defaultdict(dict)
    for path in sorted(chain.from_iterable((ROOT / "scaler").glob(rules) for rules in RULES)):
        text = path.read_bytes()
        lines = [0, *(place + 1 for place, byte in enumerate(text) if byte == ord("\n"))]
        module = ast.parse(text)
        for rule in ast.walk(module):
            places = in_rule(rule) if is_rule(rule) else in_tables(rule) if rule is module else ()
            for kind, old, new in places:
                start, end = lines[old.lineno - 1] + old.col_offset, lines[old.end_lineno - 1] + old.end_col_offset
                was, written = text[start:end].decode(), _with_new_helper(ast.unparse(ast.fix_missing_locations(new)))
                step = getattr(rule, "name", was.strip('"'))
                written = f"({written})" if kind == TURNED else written
                found[kind][path, start, written] = Mistake(step, path, old.lineno, start, end, was, written)
    return {kind: list(held.values()) for kind, held in found.items()}


def is_rule(node: ast.AST) -> bool:
    """Return whether a node is a rule: a lambda, or a function of cells."""
    if not isinstance(node, ast.FunctionDef):
        return isinstance(node, ast.Lambda)
    return any(ast.unparse(column.annotation or node) in CELLS for column in node.args.args)


def _with_new_helper(text: str) -> str:
    """Return the text with a helper that the module may not import written with the place it stands in."""
    for name in OPPOSITES:
        text = re.sub(rf"\b{name}\(", f"__import__('scaler.formula.helpers', fromlist='x').{name}(", text)
    return text


def caught(project: Path, mistake: Mistake) -> str:
    """Plant one mistake, run the tests, take it out again, and return the test that failed, blank when none did.

    Tests that name the mistaken step or its module come first.
    """
    module = project / mistake.path.relative_to(ROOT)
    right = module.read_bytes()
    word = re.compile(rf"\b{re.escape(mistake.step)}\b|{module.stem}")
    told = {name for name in TESTS if word.search(f"{name} {(project / 'tests' / name).read_text(encoding='utf-8')}")}
    of_market = "market" in mistake.path.parts
    tests = sorted(TESTS, key=lambda name: (("market" in name) != of_market, name not in told))
    module.write_bytes(right[: mistake.start] + mistake.new.encode() + right[mistake.end :])
    found = failing(project, "-k", "not live_in_the and not is_live", *(f"tests/{name}" for name in tests))
    module.write_bytes(right)
    return f"{found}, WHICH FAILS WITHOUT IT TOO" if found and failing(project, found) else found


def failing(project: Path, *words: str) -> str:
    """Return the first test that fails, blank when none does."""
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-n0", "-p", "no:cacheprovider", *words]
    room = {"PYTHONPATH": str(project), "PATH": "/usr/bin:/bin"}
    done = subprocess.run(command, cwd=project, capture_output=True, text=True, env=room, check=False)
    failed = re.search(r"^(?:FAILED|ERROR) (.+?)(?: - .*)?$", done.stdout, re.MULTILINE)
    return failed[1] if failed else "" if done.returncode == 0 else "the tests could not run"


def main(count: int, seed: int = 0, beside: int = 2) -> None:
    """Plant `count` mistakes, as many of each kind as there are, `beside` one another, and print which test caught each."""
    generator = random.Random(seed)
    by_kind = [generator.sample(held, len(held)) for _, held in sorted(mistakes().items())]
    chosen = [mistake for drawn in zip_longest(*by_kind) for mistake in drawn if mistake][:count]
    projects: Queue[Path] = Queue()

    def told(mistake: Mistake) -> str:
        project = projects.get()
        test = caught(project, mistake)
        projects.put(project)
        place = f"{mistake.path.relative_to(ROOT)}:{mistake.line}"
        old, new = (re.sub(r"__import__\([^)]*\)\.|\s+(?=\s)", "", text) for text in (mistake.old, mistake.new))
        print(f"{place}: {old}  ->  {new}: {test or 'NOT CAUGHT'}", flush=True)
        return test

    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(beside) as workers:
        for number in range(beside):
            projects.put(Path(folder) / str(number))
            shutil.copytree(
                ROOT,
                Path(folder) / str(number),
                ignore=shutil.ignore_patterns(".venv", ".git", ".*_cache", "__pycache__"),
            )
        missed = sum(not test or "WITHOUT" in test for test in workers.map(told, chosen))
    print(f"{len(chosen) - missed} of {len(chosen)} mistakes caught")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:] or ["40"]))
