"""What is seen of a project in which the exercises of DEVELOPERS.md were done: written as JSON for test_extension.py."""

from __future__ import annotations

import json
import sys
import tempfile
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
from recalculation import recalculated, unlike
from tables import README, rewritten
from typing_in import type_in, typed_over

import scaler
from scaler.engine import scale
from scaler.market_run import work_out
from scaler.model.records import Workshop
from scaler.model.settings import setting_declared
from scaler.output import DEMO_FILES, shipped
from scaler.read.workshop import load
from scaler.report import as_object
from scaler.write.example import example
from scaler.write.finished import finished
from scaler.write.layout import FIRST_ROW, HEADER_ROW

FOLDER = Path(tempfile.mkdtemp())
TODAY = date(2026, 11, 25)
CONE = {"Shape": "cone", "Diameter": 12, "Length": 30, "Bars": 10} | dict.fromkeys(
    ("Width", "Depth", "Bar cut", "Trim", "Liner")
)


def typed(moulds: dict[str, Any], power: float | None = None) -> Workshop:
    """Return a fresh workbook with cells of its mould and the setting typed over."""
    path = FOLDER / "typed.xlsx"
    path.write_bytes(example("metric"))
    for header, value in moulds.items():
        type_in(path, "Moulds", header, value)
    if power is not None:
        type_in(path, "Costs", "Value", power, 1 + list(setting_declared()).index("stove_power"))
    return load([path], today=TODAY)


def refused(workshop: Workshop) -> list[tuple[str, str]]:
    """Return what stops the job, and what to do."""
    return [(item.says, item.do) for item in scale(workshop).problems]


def asked(workshop: Workshop) -> list[str]:
    """Return what is warned of and asked about."""
    run = scale(workshop)
    warnings = [warning.text for batch in run.batches for warning in batch.warnings]
    return warnings + [warning.text for _, warning in run.workshop.doubts]


def in_the_workbook(content: bytes, sheet: str, header: str, value: Any, row: int = 1) -> list[str]:
    """Return what Checks of a finished workbook says in IronCalc after a value is typed."""
    path = FOLDER / "edited.xlsx"
    path.write_bytes(content)
    page = openpyxl.load_workbook(path)[sheet]
    column = next(cell for cell in page[HEADER_ROW] if str(cell.value).rstrip("*") == header).column_letter
    path.write_bytes(typed_over(content, {(sheet, f"{column}{FIRST_ROW + row - 1}"): value}))
    return [str(value) for (name, _), value in recalculated(path).items() if name == "Checks"]


def main() -> dict[str, Any]:
    """Return everything that the tests look at."""
    fresh, path = FOLDER / "fresh.xlsx", FOLDER / "finished.xlsx"
    fresh.write_bytes(example("metric"))
    book = openpyxl.load_workbook(fresh)
    run = scale(typed(CONE))
    content = finished(run)
    path.write_bytes(content)
    held = openpyxl.load_workbook(path, data_only=True)
    power = 1 + list(setting_declared()).index("stove_power")
    market = work_out(scaler.load(*(shipped() / name for name in DEMO_FILES)))
    assert market.plan is not None
    assert market.task is not None
    jobs = [(job.candidate, job.fills) for job in market.plan.jobs]
    return {
        "package": scaler.__file__,
        "problems": [item.says for item in run.problems],
        "wrong": unlike(path),
        "texts": {
            page.title: [cell.value for row in page.iter_rows() for cell in row if isinstance(cell.value, str)]
            for page in held
        },
        "readme": rewritten(README.read_text(encoding="utf-8")),
        "headers": [str(cell.value).rstrip("*") for cell in book["Moulds"][HEADER_ROW]],
        "settings": [row[0].value for row in book["Costs"].iter_rows()],
        "shapes offered": [rule.formula1 for rule in book["Moulds"].data_validations.dataValidation],
        "volume": run.batches[0].volume_ml,
        "no size": refused(typed(CONE | {"Diameter": None})),
        "no size in the workbook": in_the_workbook(content, "Moulds", "Diameter", None),
        "thick liner": refused(typed(CONE | {"Liner": 9})),
        "cost": asdict(run.batches[0].cost),
        "json": as_object(run)["batches"][0]["cost"],
        "balance": run.tables.column("batches", "cost_balance")[:1],
        "market work": market.run.tables.row("money", 0)["work_cost"],
        "market costs": [asdict(batch.cost) for batch in market.run.batches],
        "planned work": sum(item.batch.money + item.fill.money * count for item, count in jobs),
        "setting too large": refused(typed({}, 21)),
        "setting too large in the workbook": in_the_workbook(content, "Costs", "Value", 21.0, power),
        "setting doubted": asked(typed({}, 9)),
        "weighed in spite of the setting": scale(typed({})).batches[0].oils_g,
        "column too small": refused(typed({"Wall": -1})),
        "column too small in the workbook": in_the_workbook(content, "Moulds", "Wall", -1.0),
        "column doubted": asked(typed({"Wall": 50})),
    }


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(json.dumps(main()), encoding="utf-8")
