"""Write the templates and the demo's input workbooks anew: python docs/make.py.

A template is what `scaler new` writes. The demo is one csv file a sheet in docs/demo: an invented workshop, with
invented suppliers and prices.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from scaler.model.records import COSTS, SHEETS, SettingLine, Workshop
from scaler.model.schema import DATE, NUMBER, PERCENT, WHOLE, Column, Setting, Sheet, columns
from scaler.model.settings import setting_declared
from scaler.output import DEMO_FILES
from scaler.write.example import FLAVOURS, example
from scaler.write.finished import inputs

ROOT = Path(__file__).parent.parent
SOURCE = ROOT / "docs" / "demo"


def typed(text: str, kind: str) -> object:
    """Return what a cell of a kind holds; None for an empty one.

    >>> typed("2.5", "number"), typed("2026-12-01", "date"), typed("yes", "yes or no"), typed("", "number")
    (2.5, datetime.date(2026, 12, 1), 'yes', None)
    """
    if not text:
        return None
    if kind == DATE:
        return date.fromisoformat(text)
    if kind == WHOLE:
        return int(text)
    return float(text) if kind in (NUMBER, PERCENT) else text


def lines(sheet: Sheet) -> list[dict[str, str]]:
    """Return the rows of a sheet's csv file."""
    with (SOURCE / f"{sheet.key}.csv").open(encoding="utf-8", newline="") as held:
        return list(csv.DictReader(held))


def record(sheet: Sheet, line: Mapping[str, str], declared: Mapping[str, Column]) -> Any:
    """Return one row as the record of its sheet; a header that the sheet does not have is an error."""
    names = {column.header: name for name, column in declared.items()}
    held: dict[str, Any] = {names[head]: typed(text, declared[names[head]].kind) for head, text in line.items()}
    return sheet.record(**held)


def settings() -> tuple[SettingLine, ...]:
    """Return a line for every setting, in order; those the demo leaves alone are blank."""
    given = {line["Setting"]: line for line in lines(COSTS)}
    made = tuple(_setting(item, given.pop(item.name, {})) for item in setting_declared().values())
    if given:
        raise LookupError(f"no such settings: {', '.join(given)}")
    return made


def _setting(item: Setting, line: Mapping[str, str]) -> SettingLine:
    value = typed(line.get("Value", ""), item.kind)
    unit, meaning = line.get("Unit") or item.unit or None, line.get("Meaning") or item.help
    return SettingLine(setting=item.name, value=value, unit=unit, meaning=meaning)


def demo() -> Workshop:
    """Return the demo's workshop."""
    held = {
        sheet.key: tuple(record(sheet, line, columns(sheet.record)) for line in lines(sheet))
        for sheet in SHEETS
        if sheet is not COSTS and (SOURCE / f"{sheet.key}.csv").is_file()
    }
    return Workshop(**held, costs=settings())


def workbooks() -> dict[Path, bytes]:
    """Return every workbook that is shipped, by its path in the project."""
    templates = {Path("templates") / f"{units}.xlsx": example(units) for units in FLAVOURS}
    workshop = demo()
    return templates | {Path("demo_workbooks") / file: inputs(workshop, keys) for file, keys in DEMO_FILES.items()}


if __name__ == "__main__":
    for path, held in workbooks().items():
        (ROOT / path).write_bytes(held)
