"""Rewrite the tables of README.md, the output that it shows, and the map of DEVELOPERS.md: python docs/tables.py.

Each table stands between `<!-- name -->` and `<!-- end of name -->`, and everything between is replaced.
"""

from __future__ import annotations

import ast
import re
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path

from scaler.model import units
from scaler.model.records import SHEETS, Mould
from scaler.model.schema import CHOICE, PERCENT, UNIT, Column, Sheet, columns
from scaler.model.settings import default_words, setting_declared
from scaler.model.shapes import SHAPES

ROOT = Path(__file__).parent.parent
README, DEVELOPERS = ROOT / "README.md", ROOT / "DEVELOPERS.md"


def table(headers: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table as Markdown.

    >>> print(table(["a", "b"], [["1", "2"]]))
    | a | b |
    | --- | --- |
    | 1 | 2 |
    """
    lines = [headers, ["---"] * len(headers), *rows]
    return "\n".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |" for line in lines)


def holds(column: Column) -> str:
    """Return what a column's cells hold, in a few words.

    >>> holds(Column("Depth", "number", "", unit="cm", above=0)), holds(Column("Base", "choice", "", choices=("a", "b")))
    ('number above 0, cm', 'a, b')
    """
    if column.kind == CHOICE:
        return ", ".join(column.choices)
    if column.kind == UNIT:
        return f"unit: {', '.join(column.choices)}"
    parts = [f"name on {_sheet_of(column.refers)}" if column.refers else column.kind]
    if column.above is not None:
        parts.append(f"above {column.above:g}")
    elif column.least is not None and column.kind != PERCENT:
        parts.append(f"{column.least:g} or more")
    return " ".join(parts) + (f", {column.unit}" if column.unit else "")


def _sheet_of(header: str) -> str:
    return next(sheet.name for sheet in SHEETS if next(iter(columns(sheet.record).values())).header == header)


def sheets() -> str:
    """Return every input sheet with its columns."""
    return "\n\n".join(_sheet(sheet) for sheet in SHEETS)


def _sheet(sheet: Sheet) -> str:
    optional = " This sheet may be left out." if sheet.optional else ""
    rows = [
        (column.header + ("\\*" if column.required else ""), holds(column), column.help)
        for column in columns(sheet.record).values()
    ]
    return f"#### {sheet.name}\n\n{sheet.help}{optional}\n\n{table(('column', 'holds', 'meaning'), rows)}"


def settings() -> str:
    """Return every setting of sheet Costs with its default."""
    rows = [(item.name, default_words(item), item.help) for item in setting_declared().values()]
    return table(("setting", "when blank", "meaning"), rows)


def shapes() -> str:
    """Return every mould shape with the columns it needs."""
    headers = columns(Mould)
    rows = [(shape.word, ", ".join(headers[name].header for name in shape.needs), shape.says) for shape in SHAPES]
    return table(("Shape", "fill", "what it is"), rows)


def unit_words() -> str:
    """Return every unit word by what it measures."""
    kinds = (
        units.WEIGHT,
        units.VOLUME,
        units.LENGTH,
        units.TIME,
        units.RATIO,
        units.LIQUID_SHARE,
        units.COUNT,
        units.PER_BAR,
        units.PER_BATCH,
    )
    return table(("measures", "words"), ((kind, ", ".join(units.words(kind))) for kind in kinds))


def batch_output() -> str:
    """Return what the terminal says when a fresh workbook is worked out."""
    from scaler.engine import scale
    from scaler.read.workshop import load
    from scaler.report import summary
    from scaler.write.example import example

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "my.xlsx"
        path.write_bytes(example("metric"))
        workshop = load([path])
    return "```text\n" + "\n".join(summary(scale(workshop))) + "\n```"


TABLES = {"batch output": batch_output, "sheets": sheets, "settings": settings, "shapes": shapes, "units": unit_words}
"""Every table by the name in its markers."""


def module_map() -> str:
    """Return every module of the package with the first line of its docstring."""
    paths = sorted(path for path in (ROOT / "scaler").rglob("*.py") if path.name != "__init__.py")
    lines = ((path, ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or "") for path in paths)
    rows = [[f"`{path.relative_to(ROOT).as_posix()}`", says.split("\n")[0].rstrip(".")] for path, says in lines]
    return table(["module", "what it is"], rows)


def mapped(text: str) -> str:
    """Return DEVELOPERS.md with its map made anew."""
    return re.sub(
        r"(<!-- map -->).*(<!-- end of map -->)",
        lambda found: f"{found[1]}\n{module_map()}\n{found[2]}",
        text,
        flags=re.DOTALL,
    )


def rewritten(text: str) -> str:
    """Return the README with every table made anew.

    Raises:
        LookupError: a table's markers are not there, or there twice.
    """
    for name, make in TABLES.items():
        pattern = re.compile(f"(<!-- {name} -->\n).*?(<!-- end of {name} -->)", re.DOTALL)
        if len(pattern.findall(text)) != 1:
            raise LookupError(f"README.md needs <!-- {name} --> and <!-- end of {name} --> once")
        made = make()
        text = pattern.sub(lambda found, made=made: f"{found[1]}\n{made}\n\n{found[2]}", text)  # type: ignore[misc]
    return text


if __name__ == "__main__":
    before = README.read_text(encoding="utf-8")
    README.write_text(rewritten(before), encoding="utf-8")
    DEVELOPERS.write_text(mapped(DEVELOPERS.read_text(encoding="utf-8")), encoding="utf-8")
