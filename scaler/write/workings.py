"""Sheets of workings: one column a step, one formula down each column, beside the input row it belongs to."""

from __future__ import annotations

from typing import Any

from scaler.formula.helpers import Range, count_given, text_of
from scaler.formula.steps import Step
from scaler.market.steps import STEPS as MARKET_STEPS
from scaler.model.records import SHEETS
from scaler.model.schema import NAME, columns
from scaler.rules.batch import STEPS
from scaler.rules.tables import constants_of
from scaler.write.book import HEADING, HINT, TITLE, Book, Look
from scaler.write.layout import (
    FIRST_ROW,
    HEADER_ROW,
    HINT_ROW,
    MARKET_WORKINGS,
    SPARE_ROWS,
    TITLE_ROW,
    WORKINGS,
    Layout,
    heading,
)

TAB_COLOUR = "#9AA5A0"
_GIVEN = "given"
_WIDTH = 12

_ABOUT = {
    "constants": "Every fixed number of the arithmetic, with its source.",
    "costs": "Settings in use: the value on Costs, or the default where it is blank.",
    "naohdensity": "Density of sodium hydroxide solution at 20 °C, between rows straight lines. Sources: sheet Sources.",
    "kohdensity": "Density of potassium hydroxide solution at 20 °C, between rows straight lines. Sources: sheet Sources.",
    "coverage": "How many standard uncertainties make about 95 %, by how far one range dominates the others.",
    "solutionheat": "Heat given off by NaOH: mol of water per mol, kJ per mol. Felder and Rousseau, appendix (one row read, others memory).",
    "heatcapacity": "Specific heat of NaOH solution at 20 °C, J/(g K). Laliberté 2009 correlation.",
    "effects": "What makes each batch's superfat unsure, ranked by its share of the variance.",
    "oilshares": "Share of each oil in each recipe.",
    "ladder": "The price of a bar at other margins.",
    "drawing": "Points of each batch's mould seen from the side, its fill line and its bar cuts (cm).",
    "packs": "Packs on offer of everything that the batches take.",
    "buying": "Everything that the batches take: need, stock, what is bought, what is left.",
    "sold": "Every recipe wanted at a market: bars, cost, price asked and price that makes the margin.",
    "money": "The whole run.",
    "through": "The whole run at other shares of the bars sold.",
    "days": "Every day of the run.",
    "stages": "What is done with every batch, in the order of the planned days.",
    "growth": "Rows of the input sheets when the engine ran, and now.",
    "slots": "Every line of every batch; a batch has as many as the longest recipe.",
}


def write_workings(book: Book, layout: Layout) -> None:
    """Write every sheet of workings."""
    formulas = formulas_of(layout)
    for table, name in (WORKINGS | MARKET_WORKINGS).items():
        if table in layout.tables.columns:
            _write_table(book, layout, table, name, formulas)


def formulas_of(layout: Layout) -> dict[tuple[str, str], tuple[Step, Any]]:
    """Return each step's formula by table and column, its row number still open."""
    started = {table: dict.fromkeys(held) for table, held in layout.tables.columns.items()}
    steps = (*STEPS, *MARKET_STEPS) if "market" in started else STEPS
    for step in steps:
        started[step.table].pop(step.name, None)
    for table in ("constants", "costs"):
        started[table]["name"] = layout.tables.column(table, "name")
    formulas = {}
    for step in steps:
        formulas[step.table, step.name] = (step, layout.formula(step, started))
        started[step.table][step.name] = None
    return formulas


def _write_table(
    book: Book, layout: Layout, table: str, name: str, formulas: dict[tuple[str, str], tuple[Step, Any]]
) -> None:
    page = book.sheet(name, TAB_COLOUR)
    input_sheet = next((sheet.name for sheet in SHEETS if sheet.key == table), "")
    about = _ABOUT.get(table) or f"Worked out from sheet {input_sheet}, row by row."
    book.put(page, TITLE_ROW, 1, f"{name} - {about}", Look(bold=True, size=12, ink=TITLE.ink))
    page.protect("", {"select_locked_cells": True, "format_columns": True, "format_rows": True})
    for number, column in enumerate(layout.own_columns(table), 1):
        step, formula = formulas.get((table, column), (None, None))
        unit = step.unit if step else _GIVEN
        book.put(page, HINT_ROW, number, unit or "-", HINT)
        book.put(page, HEADER_ROW, number, heading(column), HEADING)
        if step:
            book.note(page, HEADER_ROW, number, heading(column), step.meaning)
        values = layout.tables.column(table, column)
        longest = max((len(value) for value in values if isinstance(value, str)), default=0)
        page.set_column(number - 1, number - 1, max(_WIDTH, longest + 1))
        look = book.look(Look(unit=_unit_of(step, column)))
        for index, value in enumerate(values):
            row = FIRST_ROW + index
            if formula is not None:
                book.live(page, row, number, text_of(formula, row), value, look)
            elif (table, column) == ("growth", "rows_now"):
                book.live(page, row, number, _count_of(layout, index), value, look)
            else:
                book.put(page, row, number, value, look)
    if table == "constants":
        _describe(book, page, len(layout.own_columns(table)))
    page.freeze_panes(HEADER_ROW, 1)
    page.set_landscape()
    page.set_paper(9)
    page.fit_to_pages(1, 0)
    page.set_footer("&L&A&RPage &P of &N")


def _unit_of(step: Step | None, column: str) -> str:
    if step:
        return "" if step.unit in ("text", "") else step.unit
    return {"strength": "%", "published_density": "g/mL"}.get(column, "")


def _count_of(layout: Layout, index: int) -> str:
    name = layout.tables.column("growth", "sheet")[index]
    sheet = next(sheet for sheet in SHEETS if sheet.name == name)
    field = next(
        (field for field, column in columns(sheet.record).items() if column.kind == NAME),
        next(field for field, column in columns(sheet.record).items() if column.required),
    )
    formula: str = text_of(count_given(Range(layout.range(sheet.key, field, SPARE_ROWS))), 0)
    return formula


def _describe(book: Book, page: Any, width: int) -> None:
    """Write unit, meaning, source and mark beside the list of constants."""
    assert book.run
    for number, header in enumerate(("unit", "what it is", "source", "mark"), width + 1):
        book.put(page, HEADER_ROW, number, header, HEADING)
    for index, item in enumerate(constants_of(book.run.workshop)):
        for number, text in enumerate((item.unit, item.says, item.source, item.mark), width + 1):
            book.put(page, FIRST_ROW + index, number, text, Look())
    page.set_column(width + 1, width + 2, 52)
