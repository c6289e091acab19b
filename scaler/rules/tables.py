"""The workshop's records become the tables that the steps fill."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date, timedelta
from functools import cache
from typing import Any

from scaler.formula.steps import Tables
from scaler.model import reference, units
from scaler.model.records import COSTS, RECIPES, SHEETS, SettingLine, Workshop, mixed_lines
from scaler.model.schema import EPOCH, serial, usual_units
from scaler.model.settings import setting_declared
from scaler.rules import recipes, superfat, watchwords
from scaler.rules.batch_lines import BEFORE_LINES
from scaler.rules.constants import CONSTANTS, Constant
from scaler.rules.published import published_row
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
    says = dict.fromkeys(counts, "Rows of a table, less one")
    counts["liquid_before"] = numbers_before(RECIPES, "lye_concentration")
    says["liquid_before"] = "Columns of numbers on Recipes before the three that set the liquid"
    by_us = ("counted by the engine", "computed")
    counted = (Constant(name, float(count), "-", says[name], *by_us) for name, count in counts.items())
    (ratio, heat), known = _solution_heat()[0], ("sheet Heat of solution", "memory")
    fat = reference.milk_fat()
    middle = (fat.sap_low + fat.sap_high) / 2
    return (
        *CONSTANTS,
        *counted,
        Constant("heat_least_ratio", ratio, "mol/mol", "First ratio of the heat table", *known),
        Constant("heat_least", heat, "kJ/mol", "Heat at the first ratio of the table", *known),
        Constant("milk_fat_sap", middle, "mg KOH/g", "SAP of milk fat, middle of its range", fat.source, fat.mark),
    )


_NO_UNIT = ("?", "??", "???")
"""Words that stand for no unit: to a spreadsheet that searches they are any letter, so they must be found first."""


def unit_rows() -> tuple[dict[str, Any], ...]:
    """Return the rows of sheet Units: every spelling, its kind, and its factor in the one column that fits it."""
    rows = [{"word": word, "kind": _NO_UNIT[0]} | dict.fromkeys(UNIT_COLUMNS, 0.0) for word in _NO_UNIT]
    for unit in units.UNITS:
        if unit.kind == units.RATIO:
            name = "ratio_weight" if units.ratio_of_weights(unit) else "ratio_volume"
        else:
            name = unit.kind.replace(" ", "_")
        factors = dict.fromkeys(UNIT_COLUMNS, 0.0) | dict.fromkeys((name, "any"), units.factor(unit.word))
        rows += [{"word": word, "kind": unit.kind} | factors for word in (unit.word, *unit.also)]
    return tuple(rows)


UNIT_COLUMNS = (
    "any", "weight", "volume", "length", "time", "temperature", "ratio_weight", "ratio_volume", "share_of_liquid",
    "count", "per_bar", "per_batch",
)  # fmt: skip


@cache
def _coverage() -> tuple[tuple[float, float], ...]:
    return tuple((float(row["dominance"]), float(row["factor"])) for row in reference.rows_of("coverage.csv"))


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
    tables.start_rows("constants", ("name", "value"), [(item.name, item.value) for item in constants_of()])
    names = ("word", "kind", *UNIT_COLUMNS)
    tables.start_rows("units", names, [[row[name] for name in names] for row in unit_rows()])
    tables.start_rows("naohdensity", ("strength", "density"), reference.lye_density("NaOH"))
    tables.start_rows("kohdensity", ("strength", "density"), reference.lye_density("KOH"))
    tables.start_rows("coverage", ("dominance", "factor"), _coverage())
    tables.start_rows("solutionheat", ("ratio", "heat"), _solution_heat())
    tables.start_rows("heatcapacity", ("strength", "capacity", "koh_capacity"), _specific_heat())
    tables.start_rows("boiling", ("strength", "naoh_boils", "koh_boils"), reference.lye_boiling())
    _start_settings(tables, workshop)
    for table, held in _published().items():
        tables.start(table, held)
    watchwords.start(tables)
    superfat.start(tables)
    watchwords.start_notes(tables)
    start_sheets(tables, workshop, [sheet.key for sheet in SHEETS if sheet is not COSTS], lengths)
    tables.start_rows("words", ("word", "means"), WORDS)
    recipes.start_alkalis(tables)
    slots = lengths.get("card", slots_in_a_card(workshop))
    _start_batch_lines(tables, BEFORE_LINES + slots)
    return tables


def _start_batch_lines(tables: Tables, rows: int) -> None:
    """Begin the lines of each batch, what its superfat hangs on most, and the ladder: a row a margin."""
    batches = [batch + 1.0 for batch in range(tables.lengths["batches"])]
    lines = [
        (batch, slot + 1.0, max(slot + 1.0 - BEFORE_LINES, 0.0), f"{batch:.0f}|{slot + 1}")
        for batch in batches
        for slot in range(rows)
    ]
    names = ("place", "batch_at", "slot", "line_place", "key")
    tables.start_rows("batch_lines", names, [(place + 1.0, *line) for place, line in enumerate(lines)])
    ranks = [(batch, order + 1.0) for batch in batches for order in range(HANGS_ON)]
    tables.start_rows("hangs_on", ("batch_at", "order"), ranks)
    margins = [round(LADDER_FROM + LADDER_STEP * rung, 2) for rung in range(LADDER_RUNGS)]
    rungs = [(batch, margin) for batch in batches for margin in margins]
    tables.start_rows("ladder", ("batch_at", "ladder_margin"), rungs)


HANGS_ON = 3
"""Things named that a superfat hangs on most."""


def _start_settings(tables: Tables, workshop: Workshop) -> None:
    """Begin the settings; one that the workshop does not say is blank, and Worked out on is then the day of the run."""
    declared = setting_declared()
    said = {line.setting: line for line in workshop.costs}
    lines = [said.get(item.name, SettingLine(setting=item.name)) for item in declared.values()]
    values = [UNREAD if "value" in line.unread else cell_value(line.value) for line in lines]
    names = list(declared)
    day = names.index("worked_out_on")
    taken = [setting_limits(item) for item in declared.values()]
    defaults = ["" if item.default is None else cell_value(item.default) for item in declared.values()]
    defaults[day] = values[day] if isinstance(values[day], float) else serial(workshop.today or date.today())
    tables.start(
        "costs",
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


@cache
def _published() -> dict[str, dict[str, list[Any]]]:
    """Return the columns of what is published and of the names, by table; the same for every workshop."""
    things = reference.everything()
    rows = [published_row(thing) for thing in things]
    held: dict[str, list[Any]] = {"place": [place + 1.0 for place in range(len(things))]}
    held |= {name: [row[name] for row in rows] for name in rows[0]}
    words, places = (list(column) for column in zip(*reference.names_of(things), strict=True))
    return {"published": held, "names": {"word": words, "thing_at": places}}
