"""Where the topics meet: the workshop's records become tables, the steps fill them, and batches come out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from scaler.formula.steps import Step, Tables
from scaler.model.problems import Warning
from scaler.model.records import ALKALI, BLEND
from scaler.model.records import Batch as Entry
from scaler.rules import (
    asked_about,
    batch_lines,
    blends,
    costing,
    filled_moulds,
    imperial,
    ingredients,
    lye_heat,
    moulds,
    on_cards,
    published,
    recipe_lines,
    recipes,
    selling,
    sizing,
    superfat,
    vessels,
    watchwords,
)
from scaler.rules.costing import COSTS, CostParts
from scaler.rules.results import Alkali, Batch, Line, LyeHeat, Part, Poured, Price, Run
from scaler.rules.tables import day_of

STEPS: tuple[Step, ...] = tuple(
    step for topic in (
        ingredients, moulds, recipe_lines, blends, recipes, sizing, batch_lines, superfat,
        watchwords, lye_heat, published, costing, selling, vessels,
        asked_about, filled_moulds, on_cards, imperial,
    )
    for step in topic.STEPS
)  # fmt: skip
"""Every step, in the order in which it is worked out."""


# --- tables to results ---


def pots(tables: Tables) -> list[int]:
    """Return the rows (0, 1, ...) of table batches that begin a pot; the others are further moulds of one."""
    return [index for index, pot in enumerate(tables.column("batches", "pot_at")) if pot == index + 1]


def batch_of(run: Run, index: int, warnings: tuple[Warning, ...]) -> Batch:
    """Return one batch (0, 1, ...) of a run whose tables are filled, with what it is warned of."""
    tables, record = run.tables, run.workshop.batches[index]
    row = tables.row("batches", index)
    recipe = tables.row("recipes", int(row["recipe_at"]) - 1)
    moulds = _poured(tables, index)
    lines = [line for line in _rows(tables, "batch_lines", batch_at=index + 1) if line["kind"]]
    alkalis = [line for line in lines if line["kind"] == ALKALI]
    mixed = ["", *tables.column("lines", "blend")]
    named = [line for line in lines if line["line_at"] and line["kind"] != BLEND]
    others = _equal_added_up([line | {"mixed": mixed[int(line["line_at"])]} for line in named])
    water = [line for line in lines if not line["line_at"] and line["kind"] != ALKALI]
    return Batch(
        batch=row["batch_name"],
        recipe=recipe["recipe"],
        mould=" + ".join(item.mould for item in moulds) or None,
        moulds_filled=row["filled_moulds"] or None,
        volume_ml=row["volume_ml"] or None,
        bar_fresh_g=row["bar_fresh_g"] or None,
        bar_cured_g=row["bar_cured_g"] or None,
        make_date=record.make_date,
        ready_date=day_of(row["ready_day"]),
        **{name: row[name] for name in _PLAIN},
        alkalis=tuple(_alkali(tables, line) for line in alkalis),
        lines=tuple(_line(line, tables) for line in (*others, *water, *alkalis)),
        lye_concentration=recipe["lye_strength"],
        pot_concentration=recipe["pot_strength"],
        superfat=recipe["superfat"],
        superfat_effective=recipe["superfat_effective"],
        superfat_likely=(row["likely_low"], row["likely_high"]),
        cost=CostParts(
            **{part.key: _known(row[part.step]) for part in COSTS},
            total=_known(row["total_cost"]),
            per_bar=_known(row["cost_per_bar"]),
            per_kg=_known(row["cost_per_kg"]),
        ),
        price=Price(**{part.name: _known(row[part.name]) for part in fields(Price)}),
        superfat_parts=_parts(tables, index),
        lye_hottest=LyeHeat(recipe["lye_hottest"], recipe["lye_hottest_cold"], recipe["lye_hottest_ice"]),
        warnings=warnings,
        sized_by=_sized_by(record),
        fill=row["fill"] or None,
        moulds=moulds,
    )


def _equal_added_up(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the lines with an oil of a blend added to the line that brings it already, and to one line otherwise."""
    found: list[dict[str, Any]] = []
    for line in lines:
        same = next((other for other in found if other["ingredient_at"] == line["ingredient_at"]), None)
        if line["mixed"] and same:
            same |= {name: line[name] + same[name] for name in ("g", "weigh_g")}
            same["cost"] = "" if "" in (line["cost"], same["cost"]) else line["cost"] + same["cost"]
        else:
            found.append(line | {"stage": "oils"} if line["mixed"] else line)
    return found


def _sized_by(record: Entry) -> str:
    """Return what says how large the batch is."""
    if record.oil_weight is not None:
        return "oil weight"
    return "use up" if record.use_up else "bars" if record.bars_wanted is not None else "mould"


def _poured(tables: Tables, index: int) -> tuple[Poured, ...]:
    """Return the moulds of a pot."""
    names, units = (tables.column("moulds", name) for name in ("mould", "unit"))
    return tuple(
        Poured(
            names[int(row["mould_at"]) - 1], row["filled_moulds"], row["fill_here"], bars=row["bars_here"],
            cut=row["cut_in_use"] or None, cut_unit=units[int(row["mould_at"]) - 1] or None if row["cut_in_use"] else None, cost_per_bar=_known(row["cost_here"]), price=_known(row["with_tax_here"]),
            bar_fresh_g=row["bar_fresh_g"], bar_cured_g=row["bar_cured_g"],
        )
        for row in _rows(tables, "batches", pot_at=index + 1)
        if row["mould_at"]
    )  # fmt: skip


def _rows(tables: Tables, table: str, **at: float) -> list[dict[str, Any]]:
    """Return the rows of a table that belong to one row of another."""
    ((name, place),) = at.items()
    return [tables.row(table, index) for index, value in enumerate(tables.column(table, name)) if value == place]


_PLAIN = (
    "batter_g", "batter_ml", "oils_g", "liquid_g", "liquid_total_g", "alkali_g", "superfat_low",
    "superfat_high", "bars", "bars_to_sell", "superfat_weighed", "superfat_safe", "jug_ml",
)  # fmt: skip


def _known(value: Any) -> Any:
    """Return a figure, None where there is none."""
    return None if value == "" else value


def _parts(tables: Tables, index: int) -> tuple[Part, ...]:
    rows = _rows(tables, "hangs_on", batch_at=index + 1)
    return tuple(Part(row["thing"], row["share"]) for row in rows if row["share"] > 0)


def _on_scale(grams: float) -> float:
    """Return whole divisions of a scale without the digits that binary arithmetic leaves behind: 139.7 of 139.70000000000002."""
    return float(f"{grams:.15g}")


def _alkali(tables: Tables, line: Mapping[str, Any]) -> Alkali:
    base = tables.column("ingredients", "base")[int(line["ingredient_at"]) - 1]
    return Alkali(line["ingredient"], base, line["g"], _on_scale(line["weigh_g"]))


def _line(slot: Mapping[str, Any], tables: Tables) -> Line:
    counted = slot["kind"] == "packaging"
    return Line(
        slot["ingredient"],
        slot["kind"],
        slot["stage"],
        None if counted else slot["g"],
        None if counted else _on_scale(slot["weigh_g"]),
        slot["line_count_each"] if counted else None,
        _known(slot["cost"]),
        tables.column("lines", "portion")[int(slot["line_at"]) - 1] or None if slot["line_at"] else None,
    )
