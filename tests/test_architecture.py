"""Who may import whom, how long a module and a function may be, and what a rule's docstring says."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from workbooks import demo

from scaler.engine import steps_of
from scaler.formula.steps import Names, Step
from scaler.model.records import BY_KEY
from scaler.model.schema import CHOICE, NAME, REFERENCE, TEXT, UNIT, YES_NO
from scaler.model.shapes import SHAPES
from scaler.rules import plain
from scaler.rules.batch import STEPS
from scaler.rules.sheets import typed

PACKAGE = Path(__file__).parent.parent / "scaler"
MODULES = {path.relative_to(PACKAGE).as_posix(): path for path in sorted(PACKAGE.rglob("*.py"))}
LONGEST_MODULE, LONGEST_FUNCTION = 400, 60
WORDS = (CHOICE, NAME, REFERENCE, TEXT, UNIT, YES_NO)

# Import -> the only places that may import it; "inside" where it may only be inside a function.
FENCES = {
    "openpyxl": ("read/",),
    "xlsxwriter": ("write/",),
    "pint": ("model/units.py",),
    "pandas": ("inside",),
    "highspy": ("inside",),
    "numpy": ("inside",),
}
# Folder -> the folders that its modules may import; a module at the top may import any.
MAY_IMPORT = {
    "formula": (),
    "model": ("formula",),
    "rules": ("formula", "model"),
    "validation": ("formula", "model", "rules"),
    "read": ("model",),
    "planning": ("formula", "model", "rules", "validation"),
    "market": ("formula", "model", "rules", "planning"),
    "write": ("formula", "model", "rules", "validation", "market"),
}
# Modules at the top that folders may import too: the version, and how a file is sealed.
SHARED = ("scaler", "scaler.output")


def imports(tree: ast.Module) -> Iterator[tuple[str, bool]]:
    """Yield each module that is imported, and whether inside a function; imports for type hints alone are left out."""
    hints = {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    within = {inner for function in functions for inner in ast.walk(function)}
    for node in ast.walk(tree):
        if node in hints:
            continue
        if isinstance(node, ast.Import):
            yield from ((name.name, node in within) for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative import"
            yield node.module or "", node in within
            yield from ((f"{node.module}.{name.name}", node in within) for name in node.names)


def faults(name: str, tree: ast.Module) -> list[str]:
    """Return the imports that a module may not have."""
    found = []
    for module, inside in imports(tree):
        places = FENCES.get(module.split(".")[0])
        if places and not (inside and "inside" in places) and not name.startswith(places):
            found.append(module)
        folder = name.split("/", maxsplit=1)[0]
        target = module.split(".")[1] if module.startswith("scaler.") else ""
        inside_scaler = module.split(".")[0] == "scaler" and not any(
            module.startswith(f"{part}.") for part in SHARED[1:]
        )
        home = folder in MAY_IMPORT and inside_scaler and module not in SHARED
        if home and target not in (folder, "__version__", *MAY_IMPORT[folder]):
            found.append(module)
    return found


@pytest.mark.parametrize("name", MODULES)
def test_imports(name: str) -> None:
    """A module imports only what its floor may."""
    assert faults(name, ast.parse(MODULES[name].read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    ("name", "text", "allowed"),
    [
        ("write/book.py", "import openpyxl", False),
        ("read/files.py", "import openpyxl.reader", True),
        ("read/files.py", "from xlsxwriter import Workbook", False),
        ("write/tabs/costing.py", "import xlsxwriter", True),
        ("rules/batch.py", "import pandas", False),
        ("rules/batch.py", "def frame():\n    import pandas", True),
        ("rules/batch.py", "def frame():\n    import pint", False),
        ("rules/batch.py", "from scaler.read import cells", False),
        ("read/workshop.py", "from scaler.write.book import save", False),
        ("formula/helpers.py", "from scaler.model import units", False),
        ("write/book.py", "from scaler.engine import scale", False),
        ("market/days.py", "from scaler.planning.plan import Plan", True),
        ("model/units.py", "if TYPE_CHECKING:\n    import pandas", True),
    ],
)
def test_fences_hold(name: str, text: str, allowed: bool) -> None:
    """The fences stop what they are for, and let its neighbour through."""
    assert (faults(name, ast.parse(text)) == []) is allowed


@pytest.mark.parametrize("name", MODULES)
def test_module_is_short(name: str) -> None:
    """No module is over 400 lines."""
    assert len(MODULES[name].read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE


@pytest.mark.parametrize("name", MODULES)
def test_functions_are_short(name: str) -> None:
    """No function is over 60 lines, its docstring counted."""
    tree = ast.parse(MODULES[name].read_text(encoding="utf-8"))
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    lengths = {node.name: (node.end_lineno or 0) - node.lineno + 1 for node in functions}
    assert {function: length for function, length in lengths.items() if length > LONGEST_FUNCTION} == {}


@pytest.mark.parametrize("name", [name for name in MODULES if name.startswith(("rules/", "validation/"))])
def test_public_things_are_described(name: str) -> None:
    """Public functions and classes of rules/ and validation/ say in a sentence what they are; a danger in the one it says."""
    tree = ast.parse(MODULES[name].read_text(encoding="utf-8"))
    things = [node for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef) and node.name[0] != "_"]
    public = [node for node in things if not any(".rule(" in ast.unparse(held) for held in node.decorator_list)]
    first = {node.name: (ast.get_docstring(node) or "").split("\n")[0] for node in public}
    assert {name: text for name, text in first.items() if not re.match(r"[A-Z1].*\.", text)} == {}


@pytest.mark.parametrize(
    "step",
    [step for step in STEPS if step.rule.__module__ != plain.__name__],
    ids=lambda step: f"{step.table}.{step.name}",
)
def test_rule_states_its_units(step: Step) -> None:
    """The docstring of a rule that works something out states the unit of its result, as the step declares it."""
    said = re.search(r"-> \[([^\]]+)\]", inspect.getdoc(step.rule) or "")
    assert said, inspect.getdoc(step.rule)
    assert said.group(1) in SAYS.get(step.unit, (step.unit,))


# Declared unit -> what the docstring may call it.
SAYS = {
    "": ("-",),
    "%": ("-", "g/g"),
    "text": ("-",),
    "date": ("d",),
    "day": ("d",),
    "days": ("d",),
    "g or each": ("g",),
}


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.word)
def test_shape_states_its_units(shape: object) -> None:
    """A solid's rules state their units too."""
    for rule, unit in ((shape.volume, "mL"), (shape.log, "cm")):  # type: ignore[attr-defined]
        assert rule is None or f"-> [{unit}]" in (inspect.getdoc(rule) or "")


def test_steps_have_names_of_their_own() -> None:
    """No table has two steps of one name, which would overwrite each other."""
    names = [(step.table, step.name) for step in STEPS]
    assert len(names) == len(set(names))


def test_types_say_what_a_rule_reads() -> None:
    """A parameter's type is what stands there: a column of values, a text, or a number; mypy holds the arithmetic to it."""
    tables = demo().tables
    every = steps_of(tables)
    names, unit_of = Names(tables, every), {(step.table, step.name): step.unit for step in every}
    wrong, seen = [], 0
    for step in every:
        for name in step.parameters:
            declared = inspect.signature(step.rule).parameters[name].annotation
            source = names.source(step, name)
            if (
                declared not in ("Number", "Text", "Column", "Truth") or source.table == "costs"
            ):  # settings of every kind
                continue
            kinds = (
                {column: declared.kind for column, declared in typed(BY_KEY[source.table]).items()}
                if source.table in BY_KEY
                else {}
            )
            held = tables.columns.get(source.table, {}).get(source.name, ())
            text = unit_of.get((source.table, source.name)) == "text" or (
                kinds[source.name] in WORDS
                if source.name in kinds
                else any(isinstance(value, str) for value in held) and (source.table, source.name) not in unit_of
            )
            expected = {"row": "Text" if text else "Number", "one": declared}.get(source.kind, "Column")
            seen += 1
            if declared != expected:
                wrong.append((step.table, step.name, name, declared, expected))
    assert seen > 1000
    assert wrong == []
