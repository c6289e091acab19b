"""Write docs/labels.txt anew, everything a person can read of scaler in one list: python docs/labels.py.

Read it through before each release: is every word plain, is it ours, is it spelled one way? Left out are the
invented names of the demo, and the sheets of workings, whose rows are named after the steps of the code.
"""

from __future__ import annotations

import ast
import io
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import click
import openpyxl

from scaler import load, scale
from scaler.cli import main
from scaler.market_run import work_out
from scaler.model import units
from scaler.model.records import SHEETS
from scaler.model.schema import columns
from scaler.model.settings import setting_declared
from scaler.model.shapes import SHAPES
from scaler.output import DEMO_FILES, shipped
from scaler.validation.issues import RULES
from scaler.write.finished import finished

ROOT = Path(__file__).parent.parent
LIST = ROOT / "docs" / "labels.txt"
UNIT_KINDS = (
    units.WEIGHT, units.VOLUME, units.LENGTH, units.TIME, units.RATIO, units.COUNT, units.PER_BAR, units.PER_BATCH,
)  # fmt: skip
LITERAL = re.compile(r'"((?:[^"]|"")*)"')


def commands(command: click.Command, name: str) -> Iterator[str]:
    """Yield each command with its arguments and options, then those of its subcommands."""
    context = click.Context(command)
    words = [item.make_metavar(context) for item in command.params if isinstance(item, click.Argument)]
    words += sorted(word for item in command.params if isinstance(item, click.Option) for word in item.opts)
    yield " ".join((name, *words))
    if isinstance(command, click.Group):
        for word, each in sorted(command.commands.items()):
            yield from commands(each, f"{name} {word}")


def headers() -> Iterator[str]:
    """Yield each input sheet with its headers, then the other words read as one of them."""
    for sheet in SHEETS:
        yield f"{sheet.name}: " + ", ".join(column.header for column in columns(sheet.record).values())
        for column in columns(sheet.record).values():
            if column.also:
                yield f"  {column.header}, also: {', '.join(column.also)}"
            if column.choices and column.kind == "choice":
                yield f"  {column.header}, one of: {', '.join(column.choices)}"


def codes() -> list[str]:
    """Return each code: those of the rules with their level and sentence, and those of the reader and the commands."""
    said: dict[str, None] = {}
    seen = set()
    for rule in RULES:
        if rule.says.startswith("{@header}") and (rule.code, rule.says) in seen:
            continue  # a rule of the schema: one of its many lists of words stands for all
        seen.add((rule.code, rule.says))
        said[f"{rule.code} ({rule.level}): {rule.says} {rule.do}"] = None
    found: set[str] = set()
    for path in sorted((ROOT / "scaler").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("Problem", "Refused", "Warning"):
                found |= {word for word in _texts(node.args[:2]) if re.fullmatch("[a-z]+(_[a-z]+)+", word)}
    return sorted({*said, *(found - {rule.code for rule in RULES})})


def _texts(nodes: Iterable[ast.expr]) -> Iterator[str]:
    return (node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str))


def tabs() -> Iterator[tuple[str, list[str]]]:
    """Yield each tab of the finished demo and of its market run, with its labels and the words of its formulas."""
    workshop = load(*(shipped() / name for name in DEMO_FILES))
    records = [record for sheet in SHEETS for record in getattr(workshop, sheet.key)]
    theirs = {str(value) for record in records for value in vars(record).values()}
    batches = tuple(f"{batch.batch}:" for batch in workshop.batches)
    inputs = {sheet.name for sheet in SHEETS}
    seen: set[str] = set()
    for run in (scale(workshop), work_out(workshop).run):
        for page in openpyxl.load_workbook(io.BytesIO(finished(run))).worksheets:
            if page.title in seen:
                continue
            seen.add(page.title)
            plain = page.title in inputs or page.title.startswith("Workings")
            cells = [
                cell.value for row in page.iter_rows() for cell in row if isinstance(cell.value, str) and not plain
            ]
            words = dict.fromkeys(word for cell in cells for word in _words(cell))
            yield page.title, [word for word in words if word not in theirs and not word.startswith(batches)]


def _words(cell: str) -> list[str]:
    """Return a label, or the words inside a formula.

    >>> _words("Bars"), _words('=IF(A1>0,"in order",B2&" bars")')
    (['Bars'], ['in order', 'bars'])
    """
    found = LITERAL.findall(cell) if cell.startswith("=") else [cell]
    return [word.strip() for word in found if re.search("[A-Za-z]{2}", word) and not word.startswith("#")]


def settings() -> Iterator[str]:
    """Yield each setting with its choices and the other words read as it."""
    for item in setting_declared().values():
        yield ", ".join((item.name, *item.choices)) + (f"; also: {', '.join(item.also)}" if item.also else "")


def listed() -> str:
    """Return the whole list."""
    read = list(tabs())
    parts = [
        ("Commands and options", list(commands(main, "scaler"))),
        ("Input sheets and headers", list(headers())),
        ("Settings", list(settings())),
        ("Shapes", [shape.word for shape in SHAPES]),
        ("Unit words", [f"{kind}: {', '.join(units.words(kind))}" for kind in UNIT_KINDS]),
        ("Codes", codes()),
        ("Tabs", [name for name, _ in read]),
        *((f"Tab {name}", words) for name, words in read if words),
    ]
    return "\n\n".join("\n".join((title, "=" * len(title), *lines)) for title, lines in parts) + "\n"


if __name__ == "__main__":
    LIST.write_text(listed(), encoding="utf-8")
