"""Where the topics meet: the workshop's records become tables, the steps fill them, and batches come out."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date, timedelta
from functools import cache
from importlib.resources import files
from typing import Any

from scaler import reference, units
from scaler.compute import batter, certainty, costing, moulds, recipes, safety, stock
from scaler.compute.constants import CONSTANTS, Constant
from scaler.compute.costing import COSTS
from scaler.compute.facts import Facts, facts_of
from scaler.compute.safety import REFUSE, RULES, Rule
from scaler.compute.steps import Sheetful, Step, evaluate
from scaler.formula import exceeds
from scaler.model import BATCHES, SHEETS, Workshop, setting_declared
from scaler.problems import Place, Problem, Warning
from scaler.schema import Record, columns

_EPOCH = date(1899, 12, 30)


@dataclass(frozen=True)
class Line:
    """Something weighed or counted for a batch; g and weigh_g are None for packaging, count for the rest."""

    ingredient: str
    kind: str
    stage: str
    g: float | None
    weigh_g: float | None
    count: float | None
    cost: float


@dataclass(frozen=True)
class Alkali:
    """An alkali of a batch, as weighed: exact, and to the scale division, down."""

    ingredient: str
    base: str
    g: float
    weigh_g: float


@dataclass(frozen=True)
class CostParts:
    """What a batch costs, in the workbook's money; per_bar is of a bar fit to sell."""

    ingredients: float
    packaging: float
    labour: float
    overhead: float
    total: float
    per_bar: float


@dataclass(frozen=True)
class Price:
    """The price that makes the margin; before_tax and with_tax belong to the rounded price."""

    target_before_tax: float
    before_tax: float
    with_tax: float
    margin: float
    markup: float


@dataclass(frozen=True)
class Batch:
    """One batch worked out: g, mL, fractions and the workbook's money, unrounded but for weigh_g and the price."""

    batch: str
    recipe: str
    mould: str
    moulds_filled: float
    make_date: date | None
    ready_date: date | None
    volume_ml: float
    batter_g: float
    batter_ml: float
    oils_g: float
    liquid_g: float
    liquid_total_g: float
    alkali_g: float
    alkalis: tuple[Alkali, ...]
    lines: tuple[Line, ...]
    lye_concentration: float
    pot_concentration: float
    superfat: float
    superfat_effective: float
    superfat_low: float
    superfat_high: float
    superfat_likely: tuple[float, float]
    bars: float
    bars_to_sell: float
    bar_fresh_g: float
    bar_cured_g: float
    cost: CostParts
    price: Price
    warnings: tuple[Warning, ...]


@dataclass(frozen=True)
class Run:
    """Everything worked out from a workshop.

    Attributes:
        workshop: what was read.
        tables: every table of workings, filled.
        facts: what is published for each ingredient, in their order.
        batches: the batches, in the order of sheet Batches.
        problems: what stops the job; the batches may not be used when there is any.
    """

    workshop: Workshop
    tables: Sheetful
    facts: tuple[Facts, ...]
    batches: tuple[Batch, ...]
    problems: tuple[Problem, ...]

    def frame(self) -> Any:
        """Return the batches as a pandas DataFrame, one row a batch; lists and parts are left out."""
        import pandas

        plain = [field.name for field in fields(Batch) if field.name not in ("alkalis", "lines", "warnings")]
        rows = []
        for batch in self.batches:
            row = {name: getattr(batch, name) for name in plain if name not in ("cost", "price", "superfat_likely")}
            row |= {f"cost_{part.name}": getattr(batch.cost, part.name) for part in fields(CostParts)}
            row |= {f"price_{part.name}": getattr(batch.price, part.name) for part in fields(Price)}
            rows.append(row)
        return pandas.DataFrame(rows)


STEPS: tuple[Step, ...] = (
    *stock.STEPS,
    *moulds.STEPS,
    *recipes.STEPS,
    *batter.STEPS,
    *certainty.STEPS,
    *costing.STEPS,
    *safety.STEPS,
)
"""Every step, in the order in which it is worked out."""


def scale(workshop: Workshop) -> Run:
    """Return every batch of the workshop worked out, with every problem that stops the job.

    Args:
        workshop: records whose names are resolved, as `load` returns them.
    """
    if workshop.problems:
        return Run(workshop, Sheetful(), (), (), workshop.problems)
    known = [facts_of(ingredient) for ingredient in workshop.ingredients]
    facts = tuple(found for found, _, _ in known)
    problems = [problem for _, found, _ in known for problem in found]
    if problems:
        return Run(workshop, Sheetful(), facts, (), tuple(problems))
    tables = _tables(workshop, facts)
    evaluate(STEPS, tables)
    problems += [*_refusals(workshop, tables), *_mould_problems(workshop, tables), *_price_problems(workshop, tables)]
    doubts = {item.ingredient: found for item, (_, _, found) in zip(workshop.ingredients, known, strict=True)}
    batches = () if problems else tuple(
        _batch(workshop, tables, index, doubts) for index in range(len(workshop.batches))
    )  # fmt: skip
    return Run(workshop, tables, facts, batches, tuple(problems))


def serial(day: date | None) -> float | None:
    """Return a date as the number that spreadsheets keep.

    >>> serial(date(2026, 11, 25))
    46351.0
    """
    return None if day is None else float((day - _EPOCH).days)


def day_of(number: object) -> date | None:
    """Return the date that a spreadsheet's number stands for.

    >>> day_of(46351.0)
    datetime.date(2026, 11, 25)
    """
    return _EPOCH + timedelta(days=int(number)) if isinstance(number, int | float) else None


# --- records to tables ---


def constants_of(workshop: Workshop) -> tuple[Constant, ...]:
    """Return the fixed numbers, those that count rows included."""
    counts = {
        "line_count": len(workshop.lines) + 1,
        "naoh_rows_but_one": len(reference.lye_density("NaOH")) - 1,
        "koh_rows_but_one": len(reference.lye_density("KOH")) - 1,
        "coverage_rows_but_one": len(_coverage()) - 1,
    }
    says = "Rows of a table, less one"
    counted = [Constant(name, float(count), "-", says, "counted by the engine", "computed") for name, count in counts.items()]
    return (*CONSTANTS, *counted)


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


UNIT_COLUMNS = ("any", "weight", "volume", "length", "time", "ratio_weight", "ratio_volume", "count", "per_bar", "per_batch")


@cache
def _coverage() -> tuple[tuple[float, float], ...]:
    text = (files("scaler") / "data" / "coverage.csv").read_text(encoding="utf-8")
    return tuple((float(row["dominance"]), float(row["factor"])) for row in csv.DictReader(text.splitlines()))


def _value(value: object) -> object:
    if isinstance(value, date):
        return serial(value)
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _inputs(records: Sequence[Record], record: type[Record]) -> dict[str, list[Any]]:
    return {name: [_value(getattr(item, name)) for item in records] for name in columns(record)}


def _by_column(rows: Iterable[Mapping[str, Any]], names: Iterable[str]) -> dict[str, list[Any]]:
    held = list(rows)
    return {name: [row[name] for row in held] for name in names}


def slots_in_a_card(workshop: Workshop) -> int:
    """Return the lines of the longest recipe: every card is laid out for it."""
    counts: dict[str, int] = {}
    for line in workshop.lines:
        counts[line.recipe] = counts.get(line.recipe, 0) + 1
    return max(counts.values(), default=1)


def _tables(workshop: Workshop, facts: Sequence[Facts]) -> Sheetful:
    tables = Sheetful()
    constants = constants_of(workshop)
    tables.start("constants", len(constants), _by_column([vars(item) for item in constants], ("name", "value")))
    tables.start("units", len(units.UNITS), _by_column(unit_rows(), ("word", "kind", *UNIT_COLUMNS)))
    for table, rows in (("naohdensity", reference.lye_density("NaOH")), ("kohdensity", reference.lye_density("KOH"))):
        tables.start(table, len(rows), {"strength": [row[0] for row in rows], "density": [row[1] for row in rows]})
    coverage = _coverage()
    tables.start("coverage", len(coverage), {"dominance": [row[0] for row in coverage], "factor": [row[1] for row in coverage]})
    _start_settings(tables, workshop)
    _start_records(tables, workshop, facts)
    slots = slots_in_a_card(workshop)
    pairs = [(float(batch + 1), float(slot + 1)) for batch in range(len(workshop.batches)) for slot in range(slots)]
    tables.start("slots", len(pairs), {"batch_at": [pair[0] for pair in pairs], "slot": [pair[1] for pair in pairs]})
    return tables


def _start_settings(tables: Sheetful, workshop: Workshop) -> None:
    declared = setting_declared()
    tables.start(
        "costs",
        len(declared),
        {
            "name": list(declared),
            "value": [_value(line.value) for line in workshop.costs],
            "unit": [line.unit for line in workshop.costs],
            "default": ["" if item.default is None else _value(item.default) for item in declared.values()],
            "default_unit": [item.unit if item.unit_kinds else "" for item in declared.values()],
        },
    )


def _start_records(tables: Sheetful, workshop: Workshop, facts: Sequence[Facts]) -> None:
    for sheet in SHEETS:
        if sheet.key in ("costs", "market", "on_hand"):
            continue
        records = getattr(workshop, sheet.key)
        held = _inputs(records, sheet.record)
        tables.start(sheet.key, len(records), held | {"place": [float(index + 1) for index in range(len(records))]})
    things = tables.columns["ingredients"]
    things["built_kind"] = list(things["kind"])
    things["built_base"] = [base or "" for base in things["base"]]
    for column, name in _FACT_COLUMNS.items():
        things[column] = [getattr(found, name) for found in facts]
    tables.columns["moulds"]["built_shape"] = list(tables.columns["moulds"]["shape"])
    usual = usual_alkali(workshop)
    tables.columns["recipes"]["usual_alkali"] = [usual] * len(workshop.recipes)
    counted = [(sheet, len(getattr(workshop, sheet.key))) for sheet in SHEETS if sheet.key in tables.columns and sheet.key != "costs"]
    tables.start(
        "growth",
        len(counted),
        {
            "sheet": [sheet.name for sheet, _ in counted],
            "rows_built": [float(count) for _, count in counted],
            "rows_now": [float(count) for _, count in counted],
            "counts": [0.0 if sheet is BATCHES else 1.0 for sheet, _ in counted],
        },
    )


_FACT_COLUMNS = {
    "known": "known",
    "published_sap": "sap",
    "published_low": "sap_low",
    "published_high": "sap_high",
    "published_density": "density",
    "published_fat_sap": "fat_sap",
}


def usual_alkali(workshop: Workshop) -> str:
    """Return the alkali of a recipe that names none: the only NaOH, "" when there is none or more than one."""
    found = [item.ingredient for item in workshop.ingredients if item.base == "NaOH"]
    return found[0] if len(found) == 1 else ""


# --- problems that only the arithmetic shows ---


def _refusals(workshop: Workshop, tables: Sheetful) -> list[Problem]:
    problems = []
    for rule in RULES:
        if rule.level != REFUSE:
            continue
        for index, flag in enumerate(tables.column(rule.table, rule.flag)):
            if flag:
                row = tables.row(rule.table, index)
                problems.append(
                    Problem(_mended_at(rule, workshop, tables, index), rule.code, rule.found(row), rule.expected, rule.do(row))
                )
    return list(dict.fromkeys(problems))


def _mended_at(rule: Rule, workshop: Workshop, tables: Sheetful, index: int) -> Place:
    if rule.table == "slots":
        line = workshop.lines[int(tables.column("slots", "line_at")[index]) - 1]
        return line.where.place("share" if line.share is not None else "amount")
    record = getattr(workshop, rule.table)[index]
    name = rule.field
    if name == "strength":
        filled = [held for held in ("lye_concentration", "liquid_to_alkali", "liquid_of_oils") if getattr(record, held) is not None]
        name = filled[0] if filled else "recipe"
    place: Place = record.where.place(name)
    return place


def _mould_problems(workshop: Workshop, tables: Sheetful) -> list[Problem]:
    problems = []
    for index, mould in enumerate(workshop.moulds):
        row = tables.row("moulds", index)
        size = _narrowest(mould.shape, row)
        if size is not None:
            found, do = "a liner as thick as the mould", "Make Liner smaller, or check Unit."
            problems.append(Problem(mould.where.place("liner"), "liner_thick", found, "room inside the liner", do))
        elif row["bars_in_one"] < 1 or _cut_is_the_log(mould, row):
            problems.append(_no_bars(mould, row))
    return problems


def _cut_is_the_log(mould: Any, row: Mapping[str, Any]) -> bool:
    """Return whether the bars come from Bar cut, and it is not shorter than the log."""
    cut = mould.bar_cut is not None and mould.bars is None and row["log_cm"] > 0
    return cut and not exceeds(row["log_cm"], mould.bar_cut * row["cm"])


def _narrowest(shape: str, row: Mapping[str, Any]) -> str | None:
    inside = {
        "box": ("inside_length", "inside_width", "inside_depth"),
        "taper": ("inside_length", "inside_width", "inside_depth", "inside_top_length", "inside_top_width"),
        "cylinder": ("inside_diameter", "inside_height"),
        "half cylinder": ("inside_diameter", "inside_length"),
    }.get(shape, ())
    return next((name for name in inside if row[name] <= 0), None)


def _no_bars(mould: Any, row: Mapping[str, Any]) -> Problem:
    if mould.bar_cut is None:
        do = "Fill Bar cut (thickness of a bar) or Bars (how many one fill makes)."
        return Problem(mould.where.place("bars"), "bars_missing", "no Bars and no Bar cut", "one of the two", do)
    name = "trim" if mould.trim and row["log_cm"] <= mould.trim * row["cm"] else "bar_cut"
    log = f"{row['log_cm'] / row['cm']:g} {mould.unit}" if row["cm"] else "no log to cut"
    found = f"a log of {log} that gives no whole bar"
    if name == "bar_cut" and _cut_is_the_log(mould, row):
        found = f"a Bar cut not shorter than the log of {log}"
    return Problem(mould.where.place(name), "bars_none", found, "at least one bar", "Check Bar cut, Trim and Unit.")


def _price_problems(workshop: Workshop, tables: Sheetful) -> list[Problem]:
    if all(exceeds(bracket, 0) for bracket in tables.column("batches", "price_bracket")):
        return []
    line = next(line for line in workshop.costs if line.setting.casefold().startswith("target margin"))
    found, expected = "a margin and a card fee that leave nothing for the cost", "margin + card fee x (1 + tax) below 100 %"
    do = "Lower Target margin %."
    return [Problem(line.where.place("value"), "price_impossible", found, expected, do)]


# --- tables to results ---


def _batch(workshop: Workshop, tables: Sheetful, index: int, doubts: Mapping[str, list[Warning]]) -> Batch:
    record = workshop.batches[index]
    row = tables.row("batches", index)
    recipe = tables.row("recipes", int(row["recipe_at"]) - 1)
    slots = [
        tables.row("slots", place)
        for place, batch_at in enumerate(tables.column("slots", "batch_at"))
        if batch_at == index + 1 and tables.column("slots", "line_at")[place]
    ]
    alkalis = tuple(_alkali(row, name) for name in ("first", "second") if row[f"{name}_at"])
    return Batch(
        batch=record.batch or str(index + 1),
        recipe=record.recipe,
        mould=record.mould,
        moulds_filled=row["filled_moulds"],
        make_date=record.make_date,
        ready_date=day_of(row["ready"]),
        **{name: row[name] for name in _PLAIN},
        alkalis=alkalis,
        lines=(*(_line(slot) for slot in slots), *_implied_lines(row, alkalis)),
        lye_concentration=recipe["lye_strength"],
        pot_concentration=recipe["pot_strength"],
        superfat=recipe["superfat"],
        superfat_effective=recipe["superfat_effective"],
        superfat_likely=(row["likely_low"], row["likely_high"]),
        cost=CostParts(**{part.key: row[part.step] for part in COSTS}, total=row["total_cost"], per_bar=row["cost_per_bar"]),
        price=Price(**{part.name: row[part.name] for part in fields(Price)}),
        warnings=(*_doubt_warnings(row, slots, doubts), *_warnings(row, recipe, slots)),
    )


_PLAIN = (
    "volume_ml", "batter_g", "batter_ml", "oils_g", "liquid_g", "liquid_total_g", "alkali_g", "superfat_low",
    "superfat_high", "bars", "bars_to_sell", "bar_fresh_g", "bar_cured_g",
)  # fmt: skip


def _alkali(row: Mapping[str, Any], name: str) -> Alkali:
    return Alkali(row[f"{name}_name"], row[f"{name}_base"], row[f"{name}_g"], row[f"{name}_weigh_g"])


def _line(slot: Mapping[str, Any]) -> Line:
    counted = slot["kind"] == "packaging"
    return Line(
        slot["ingredient"],
        slot["kind"],
        slot["stage"],
        None if counted else slot["g"],
        None if counted else slot["weigh_g"],
        slot["line_count_each"] if counted else None,
        slot["cost"],
    )


def _implied_lines(row: Mapping[str, Any], alkalis: Sequence[Alkali]) -> list[Line]:
    costs = (row["first_cost"], row["second_cost"])
    lines = [
        Line(item.ingredient, "alkali", "lye", item.g, item.weigh_g, None, cost)
        for item, cost in zip(alkalis, costs, strict=False)
    ]
    if row["plain_water_g"]:
        water = Line("Water", "liquid", "lye liquid", row["plain_water_g"], row["plain_water_weigh_g"], None, 0.0)
        lines.insert(0, water)
    return lines


def _doubt_warnings(
    row: Mapping[str, Any], slots: Sequence[Mapping[str, Any]], doubts: Mapping[str, list[Warning]]
) -> list[Warning]:
    names = dict.fromkeys([*(slot["ingredient"] for slot in slots), row["first_name"], row["second_name"]])
    return [warning for name in names for warning in doubts.get(name, [])]


def _warnings(row: Mapping[str, Any], recipe: Mapping[str, Any], slots: Sequence[Mapping[str, Any]]) -> list[Warning]:
    rows: dict[str, Sequence[Mapping[str, Any]]] = {"batches": [row], "recipes": [recipe], "slots": slots}
    return [
        Warning(rule.code, f"{rule.found(held)} {rule.do(held)}")
        for rule in RULES
        if rule.level != REFUSE
        for held in rows[rule.table]
        if held[rule.flag]
    ]
