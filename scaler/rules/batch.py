"""Where the topics meet: the workshop's records become tables, the steps fill them, and batches come out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

from scaler.formula.steps import Step, Tables, evaluate
from scaler.model.problems import Warning
from scaler.model.records import Workshop
from scaler.rules import (
    batch_lines,
    batches,
    costing,
    cure,
    drawing,
    entries,
    fatty_acids,
    flags,
    ingredients,
    lye_heat,
    moulds,
    recipe_lines,
    recipes,
    selling,
    soundness,
    superfat_uncertainty,
    uncertainty_budget,
)
from scaler.rules.costing import COSTS
from scaler.rules.published_defaults import facts_of
from scaler.rules.refusals import refusals
from scaler.rules.results import Alkali, Batch, CostParts, Line, LyeHeat, Part, Price, Run
from scaler.rules.safety import REFUSE, RULES
from scaler.rules.tables import day_of, tables_of

STEPS: tuple[Step, ...] = (
    *ingredients.STEPS,
    *moulds.STEPS,
    *recipe_lines.STEPS,
    *recipes.STEPS,
    *cure.STEPS,
    *batches.STEPS,
    *batch_lines.STEPS,
    *superfat_uncertainty.STEPS,
    *uncertainty_budget.STEPS,
    *lye_heat.STEPS,
    *fatty_acids.STEPS,
    *costing.STEPS,
    *selling.STEPS,
    *drawing.STEPS,
    *flags.STEPS,
    *soundness.STEPS,
    *entries.STEPS,
)
"""Every step, in the order in which it is worked out."""


def scale(workshop: Workshop) -> Run:
    """Return every batch of the workshop worked out, with every problem that stops the job.

    Args:
        workshop: records whose names are resolved, as `load` returns them.
    """
    if workshop.problems:
        return Run(workshop, Tables(), (), (), workshop.problems)
    known = [facts_of(ingredient) for ingredient in workshop.ingredients]
    facts = tuple(found for found, _, _ in known)
    problems = [problem for _, found, _ in known for problem in found]
    if problems:
        return Run(workshop, Tables(), facts, (), tuple(problems))
    tables = tables_of(workshop, facts)
    evaluate(STEPS, tables)
    problems += refusals(workshop, tables)
    doubts = {item.ingredient: found for item, (_, _, found) in zip(workshop.ingredients, known, strict=True)}
    batches = () if problems else tuple(
        _batch(workshop, tables, index, doubts) for index in range(len(workshop.batches))
    )  # fmt: skip
    return Run(workshop, tables, facts, batches, tuple(problems))


# --- tables to results ---


def _batch(workshop: Workshop, tables: Tables, index: int, doubts: Mapping[str, list[Warning]]) -> Batch:
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
        cost=CostParts(
            **{part.key: row[part.step] for part in COSTS}, total=row["total_cost"], per_bar=row["cost_per_bar"]
        ),
        price=Price(**{part.name: row[part.name] for part in fields(Price)}),
        superfat_parts=_parts(tables, index),
        lye_hottest=LyeHeat(recipe["lye_hottest"], recipe["lye_hottest_cold"], recipe["lye_hottest_ice"]),
        warnings=(*_doubt_warnings(row, slots, doubts), *_warnings(row, recipe, slots)),
    )


_PLAIN = (
    "volume_ml", "batter_g", "batter_ml", "oils_g", "liquid_g", "liquid_total_g", "alkali_g", "superfat_low",
    "superfat_high", "bars", "bars_to_sell", "bar_fresh_g", "bar_cured_g", "superfat_weighed", "superfat_safe", "jug_ml",
)  # fmt: skip


def _parts(tables: Tables, index: int) -> tuple[Part, ...]:
    rows = [
        tables.row("effects", place) for place, of in enumerate(tables.column("effects", "batch_at")) if of == index + 1
    ]
    return tuple(Part(row["ranked_thing"], row["ranked_share"]) for row in rows if row["ranked_share"] > 0)


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
