"""Plant mistakes in the rules, one at a time, and say which test caught each.

Run as a command it prints a line for each mistake, and at the end how many were caught:

    .venv/bin/python tests/mutations.py 40

A mistake is one operator, helper or choice taken for its opposite, at a place drawn from a seed. Each is planted in a
copy of the project; the tests that need no other program run against it and stop at the first that fails.
"""

from __future__ import annotations

import ast
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
FOLDERS = ("rules", "validation", "market")
TESTS = (
    "test_compute_batter.py", "test_compute_recipes.py", "test_compute_moulds.py", "test_compute_costing.py", "test_published.py",
    "test_lye_heat.py", "test_certainty.py", "test_dangers.py", "test_messy.py", "test_cli.py", "test_market.py", "test_buying.py",
    "test_compute_balance.py", "test_market_plans.py", "test_sizing.py", "test_market_short.py", "test_market_living.py",
    "test_market_work.py", "test_market_days.py", "test_portions.py", "test_blends.py", "test_safety_notes.py", "test_market_edits.py",
)  # fmt: skip
OPERATORS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Lt: ast.Gt, ast.Gt: ast.Lt}
HELPERS = {"larger": "smaller", "round_down": "round_up", "all_of": "any_of"}
OPPOSITES = HELPERS | {new: old for old, new in HELPERS.items()}


def mistaken(node: ast.AST) -> ast.AST | None:
    """Return the node with its operator, helper or choice turned into the opposite, None where there is none."""
    match node:
        case ast.BinOp(left, operator, right) if type(operator) in OPERATORS:
            return ast.BinOp(left, OPERATORS[type(operator)](), right)
        case ast.Compare(left, [operator], right) if type(operator) in OPERATORS:
            return ast.Compare(left, [OPERATORS[type(operator)]()], right)
        case ast.Call(ast.Name("when"), [condition, yes, no], keywords):
            return ast.Call(ast.Name("when"), [condition, no, yes], keywords)
        case ast.Call(ast.Name(name), arguments, keywords) if name in OPPOSITES:
            return ast.Call(ast.Name(OPPOSITES[name]), arguments, keywords)
    return None


def mutations() -> Iterator[tuple[Path, str, str]]:
    """Yield module, text there and mistaken text, for every place on one line where a mistake can be planted."""
    for folder in FOLDERS:
        for path in sorted((ROOT / "scaler" / folder).glob("*.py")):
            text = path.read_text(encoding="utf-8")
            for function in ast.walk(ast.parse(text)):
                if not isinstance(function, ast.FunctionDef) or not function.decorator_list:
                    continue
                for node in (inner for statement in function.body for inner in ast.walk(statement)):
                    new, old = mistaken(node), ast.get_source_segment(text, node)
                    if new is not None and old and "\n" not in old and text.count(old) == 1:
                        yield path, old, _with_new_helper(ast.unparse(ast.fix_missing_locations(new)))


def _with_new_helper(text: str) -> str:
    """Return the text with a helper that the module may not import written with the place it stands in."""
    for name in OPPOSITES:
        text = re.sub(rf"\b{name}\(", f"__import__('scaler.formula.helpers', fromlist='x').{name}(", text)
    return text


def caught(project: Path, path: Path, old: str, new: str) -> str:
    """Plant one mistake, run the tests, take it out again, and return the test that failed, blank when none did."""
    module = project / path.relative_to(ROOT)
    right = module.read_text(encoding="utf-8")
    module.write_text(right.replace(old, new), encoding="utf-8")
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-x",
        "-p",
        "no:cacheprovider",
        *(f"tests/{name}" for name in TESTS),
    ]
    room = {"PYTHONPATH": str(project), "PATH": "/usr/bin:/bin"}
    done = subprocess.run(command, cwd=project, capture_output=True, text=True, env=room, check=False)
    module.write_text(right, encoding="utf-8")
    failed = re.search(r"^(?:FAILED|ERROR) (\S+)", done.stdout, re.MULTILINE)
    return failed[1] if failed else "" if done.returncode == 0 else "the tests could not run"


def main(count: int, seed: int = 0) -> None:
    """Plant `count` mistakes and print which test caught each."""
    chosen = random.Random(seed).sample(list(mutations()), count)
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        project = Path(folder) / "project"
        shutil.copytree(ROOT, project, ignore=shutil.ignore_patterns(".venv", ".git", ".*_cache", "__pycache__"))
        for path, old, new in chosen:
            test = caught(project, path, old, new)
            missed += not test
            shown = re.sub(r"__import__\([^)]*\)\.", "", new)
            print(f"{path.relative_to(ROOT)}: {old}  ->  {shown}: {test or 'NOT CAUGHT'}", flush=True)
    print(f"{count - missed} of {count} mistakes caught")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:] or ["40"]))
