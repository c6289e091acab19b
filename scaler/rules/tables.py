"""The workshop's records become the tables that the steps fill."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from functools import cache
from importlib.resources import files
from typing import Any

from scaler.formula.steps import Tables
from scaler.model import reference, units
from scaler.model.blends import mixed_lines
from scaler.model.limits import EPOCH, serial, usual_units
from scaler.model.records import COSTS, RECIPES, SHEETS, SettingLine, Workshop
from scaler.model.settings import setting_declared
from scaler.rules import alkalis, safety_needs, superfat_odds, watchwords
from scaler.rules.batch_lines import BEFORE_LINES
from scaler.rules.constants import CONSTANTS, Constant
from scaler.rules.published_defaults import published_row
from scaler.rules.selling import LADDER_FROM, LADDER_RUNGS, LADDER_STEP
from scaler.rules.sheets import SETTING_COLUMNS, UNREAD, WORDS, cell_value, numbers_before, setting_limits, start_sheets


def day_of(number: object) -> date | None:
    """Return the date that a spreadsheet's number stands for.

    >>> day_of(46351.0)
    datetime.date(2026, 11, 25)
    """
    return EPOCH + timedelta(days=int(number)) if isinstance(number, int | float) else None


def constants_of() -> tuple[Constant, ...]:
    """Return the fixed numbers, those that count rows included."""
    counts = {
        "line_count": 10_000,
        "bought_for": 0,
        "naoh_rows_but_one": len(reference.lye_density("NaOH")) - 1,
        "koh_rows_but_one": len(reference.lye_density("KOH")) - 1,
        "coverage_rows_but_one": len(_coverage()) - 1,
        "heat_rows_but_one": len(_solution_heat()) - 1,
        "capacity_rows_but_one": len(_specific_heat()) - 1,
        "boiling_rows_but_one": len(reference.lye_boiling()) - 1,
    }
    says = "Rows of a table, less one"
    counted = [
        Constant(name, float(count), "-", says, "counted by the engine", "computed") for name, count in counts.items()
    ]
    before = float(numbers_before(RECIPES, "lye_concentration"))
    says = "Columns of numbers on Recipes before the three that set the liquid"
    counted.append(Constant("liquid_before", before, "-", says, "counted by the engine", "computed"))
    ratio, heat = _solution_heat()[0]
    first = (
        Constant(
            "heat_least_ratio", ratio, "mol/mol", "First ratio of the heat table", "sheet Heat of solution", "memory"
        ),
        Constant(
            "heat_least", heat, "kJ/mol", "Heat at the first ratio of the table", "sheet Heat of solution", "memory"
        ),
    )
    fat = reference.milk_fat()
    milk = Constant(
        "milk_fat_sap",
        (fat.sap_low + fat.sap_high) / 2,
        "mg KOH/g",
        "SAP of milk fat, middle of its range",
        fat.source,
        fat.mark,
    )
    return (*CONSTANTS, *counted, *first, milk)


def unit_rows() -> tuple[dict[str, Any], ...]:
    """Return the rows of sheet Units: each word, its kind, and its factor in the one column that fits it."""
    rows = []
    for unit in units.UNITS:
        row: dict[str, Any] = {"word": unit.word, "kind": unit.kind} | dict.fromkeys(UNIT_COLUMNS, 0.0)
        if unit.kind == units.RATIO:
            name = "ratio_weight" if units.ratio_of_weights(unit) else "ratio_volume"
        else:
            name = unit.kind.replace(" ", "_")
        row[name] = row["any"] = units.factor(unit.word)
        rows.append(row)
    return tuple(rows)


UNIT_COLUMNS = (
    "any",
    "weight",
    "volume",
    "length",
    "time",
    "temperature",
    "ratio_weight",
    "ratio_volume",
    "share_of_liquid",
    "count",
    "per_bar",
    "per_batch",
)


@cache
def _coverage() -> tuple[tuple[float, float], ...]:
    text = (files("scaler.model") / "data" / "coverage.csv").read_text(encoding="utf-8")
    return tuple((float(row["dominance"]), float(row["factor"])) for row in csv.DictReader(text.splitlines()))


@cache
def _solution_heat() -> tuple[tuple[float, float], ...]:
    """Return (mol water per mol NaOH, kJ given off per mol), infinite dilution left out."""
    return tuple((ratio, -heat) for ratio, heat in reference.lye_solution_heat("NaOH") if math.isfinite(ratio))


@cache
def _specific_heat() -> tuple[tuple[float, float, float], ...]:
    """Return (strength, specific heat of NaOH lye, of KOH lye) at the strengths that both tables hold."""
    koh = dict(reference.lye_specific_heat("KOH"))
    naoh = reference.lye_specific_heat("NaOH")
    return tuple((strength, held, koh[strength]) for strength, held in naoh if strength in koh)


def _by_column(rows: Iterable[Mapping[str, Any]], names: Iterable[str]) -> dict[str, list[Any]]:
    held = list(rows)
    return {name: [row[name] for row in held] for name in names}


SPARE_LINES = 4
"""Lines that a card has beside those of the longest recipe."""


def slots_in_a_card(workshop: Workshop) -> int:
    """Return the lines of the longest recipe, oils of blends among them: every card is laid out for it."""
    counts: dict[str, int] = {}
    recipes = [item.recipe for item in workshop.lines] + [item.recipe for item in mixed_lines(workshop)]
    for recipe in recipes:
        counts[recipe] = counts.get(recipe, 0) + 1
    return max(counts.values(), default=1) + SPARE_LINES


def tables_of(workshop: Workshop, lengths: Mapping[str, int] = {}) -> Tables:
    """Return every table with its input columns and what is published beside them, ready for the steps."""
    tables = Tables()
    constants = constants_of()
    tables.start("constants", len(constants), _by_column([vars(item) for item in constants], ("name", "value")))
    tables.start("units", len(units.UNITS), _by_column(unit_rows(), ("word", "kind", *UNIT_COLUMNS)))
    for table, rows in (("naohdensity", reference.lye_density("NaOH")), ("kohdensity", reference.lye_density("KOH"))):
        tables.start(table, len(rows), {"strength": [row[0] for row in rows], "density": [row[1] for row in rows]})
    coverage = _coverage()
    tables.start(
        "coverage", len(coverage), {"dominance": [row[0] for row in coverage], "factor": [row[1] for row in coverage]}
    )
    heat = _solution_heat()
    tables.start("solutionheat", len(heat), {"ratio": [row[0] for row in heat], "heat": [row[1] for row in heat]})
    capacity = _specific_heat()
    names = ("strength", "capacity", "koh_capacity")
    columns_held = {name: [row[number] for row in capacity] for number, name in enumerate(names)}
    tables.start("heatcapacity", len(capacity), columns_held)
    boiling = reference.lye_boiling()
    names = ("strength", "naoh_boils", "koh_boils")
    columns_held = {name: [row[number] for row in boiling] for number, name in enumerate(names)}
    tables.start("boiling", len(boiling), columns_held)
    _start_settings(tables, workshop)
    _start_published(tables)
    watchwords.start(tables)
    superfat_odds.start(tables)
    safety_needs.start(tables)
    _start_records(tables, workshop, lengths)
    alkalis.start(tables)
    slots = lengths.get("card", slots_in_a_card(workshop))
    _start_batch_lines(tables, BEFORE_LINES + slots)
    _start_ladder(tables, tables.lengths["batches"])
    return tables


def _start_batch_lines(tables: Tables, rows: int) -> None:
    """Begin the lines of each batch, and what its superfat hangs on most."""
    pairs = [(batch + 1.0, slot + 1.0) for batch in range(tables.lengths["batches"]) for slot in range(rows)]
    held: dict[str, list[Any]] = {
        "place": [place + 1.0 for place in range(len(pairs))],
        "batch_at": [batch for batch, _ in pairs],
        "slot": [slot for _, slot in pairs],
        "line_place": [max(slot - BEFORE_LINES, 0.0) for _, slot in pairs],
        "key": [f"{batch:.0f}|{slot:.0f}" for batch, slot in pairs],
    }
    tables.start("batch_lines", len(pairs), held)
    ranks = [(batch + 1.0, order + 1.0) for batch in range(tables.lengths["batches"]) for order in range(HANGS_ON)]
    tables.start("hangs_on", len(ranks), {"batch_at": [row[0] for row in ranks], "order": [row[1] for row in ranks]})


HANGS_ON = 3
"""Things named that a superfat hangs on most."""


def _start_ladder(tables: Tables, batches: int) -> None:
    """Begin the ladder: for each batch a row a margin."""
    rows = [(batch + 1.0, rung) for batch in range(batches) for rung in range(LADDER_RUNGS)]
    margins = [round(LADDER_FROM + LADDER_STEP * rung, 2) for _, rung in rows]
    tables.start("ladder", len(rows), {"batch_at": [batch for batch, _ in rows], "ladder_margin": margins})


def _start_settings(tables: Tables, workshop: Workshop) -> None:
    """Begin the settings; one that the workshop does not say is blank, and Worked out on is then today."""
    declared = setting_declared()
    said = {line.setting: line for line in workshop.costs}
    lines = [said.get(item.name, SettingLine(setting=item.name)) for item in declared.values()]
    values = [UNREAD if "value" in line.unread else cell_value(line.value) for line in lines]
    names = list(declared)
    day = names.index("worked_out_on")
    taken = [setting_limits(item) for item in declared.values()]
    today = serial(date.today())
    values[day] = today if values[day] is None else values[day]
    defaults = ["" if item.default is None else cell_value(item.default) for item in declared.values()]
    defaults[day] = values[day] if isinstance(values[day], float) else today
    tables.start(
        "costs",
        len(declared),
        {
            "name": names,
            "setting": [item.name for item in declared.values()],
            "value": values,
            "unit": [line.unit for line in lines],
            "default": defaults,
            "default_unit": [item.unit if item.unit_kinds else "" for item in declared.values()],
            "unit_kind": [item.unit_kinds[0] if item.unit_kinds else "" for item in declared.values()],
            "unit_remedy": [usual_units(item.unit_kinds) if item.unit_kinds else "" for item in declared.values()],
            "place": [place + 1.0 for place in range(len(declared))],
            "touches": ["weights" if item.weighs else "money" for item in declared.values()],
            **{name: [row[at] for row in taken] for at, name in enumerate(SETTING_COLUMNS)},
        },
    )


def _start_records(tables: Tables, workshop: Workshop, lengths: Mapping[str, int]) -> None:
    start_sheets(tables, workshop, [sheet.key for sheet in SHEETS if sheet is not COSTS], lengths)
    tables.start("words", len(WORDS), {"word": [word for word, _ in WORDS], "means": [means for _, means in WORDS]})


def _start_published(tables: Tables) -> None:
    """Begin what is published, a row a thing, and the names it is found by."""
    for table, held in _published().items():
        tables.start(table, len(next(iter(held.values()))), {name: list(values) for name, values in held.items()})


@cache
def _published() -> dict[str, dict[str, list[Any]]]:
    """Return the columns of what is published and of the names, by table; the same for every workshop."""
    things = reference.everything()
    rows = [published_row(thing) for thing in things]
    held: dict[str, list[Any]] = {"place": [place + 1.0 for place in range(len(things))]}
    held |= {name: [row[name] for row in rows] for name in rows[0]}
    names = reference.names_of(things)
    columns_held = {name: [row[at] for row in names] for at, name in enumerate(("word", "oil_at", "acid_at"))}
    return {"published": held, "names": columns_held}
