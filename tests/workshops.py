"""Workshops made in a few words, and batches worked out from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from scaler.engine import scale
from scaler.model.records import Batch, Ingredient, Mould, Price, Recipe, RecipeLine, SettingLine, Workshop
from scaler.model.settings import setting_declared
from scaler.rules.results import Batch as Made
from scaler.rules.results import Run

TODAY = date(2026, 11, 25)
"""The day that every run of these tests takes for today."""

LITRE = Mould(mould="litre", shape="measured", capacity=1000.0, capacity_unit="mL", bars=10)
"""A mould that holds exactly 1 L and makes ten bars."""


def oil(name: str = "fat", sap: float | None = 190.0, **more: Any) -> Ingredient:
    """Return an oil; its SAP is its own unless None."""
    return Ingredient(ingredient=name, kind="oil", sap=sap, **more)


def naoh(name: str = "soda", **more: Any) -> Ingredient:
    """Return a sodium hydroxide."""
    return Ingredient(ingredient=name, kind="alkali", base="NaOH", **more)


def koh(name: str = "potash", **more: Any) -> Ingredient:
    """Return a potassium hydroxide."""
    return Ingredient(ingredient=name, kind="alkali", base="KOH", **more)


def thing(name: str, kind: str, **more: Any) -> Ingredient:
    """Return an ingredient of any kind."""
    return Ingredient(ingredient=name, kind=kind, **more)


def pack(name: str, price: float, holds: float = 1.0, unit: str = "kg", **more: Any) -> Price:
    """Return a pack on offer."""
    return Price(ingredient=name, pack=holds, pack_unit=unit, price=price, **more)


def part(
    name: str, share: float | None = None, amount: float | None = None, unit: str | None = None, **more: Any
) -> RecipeLine:
    """Return a line of the recipe."""
    return RecipeLine(recipe="bar", ingredient=name, share=share, amount=amount, unit=unit, **more)


def shop(
    things: Sequence[Ingredient],
    parts: Sequence[RecipeLine],
    mould: Mould = LITRE,
    prices: Sequence[Price] = (),
    batch: dict[str, Any] | None = None,
    settings: dict[str, Any] | None = None,
    setting_units: dict[str, str] | None = None,
    **recipe: Any,
) -> Workshop:
    """Return a workshop of one recipe called bar and one batch of it.

    Args:
        things: rows of Ingredients.
        parts: rows of Recipe lines.
        mould: the mould that the batch fills.
        prices: rows of Prices; everything without one costs nothing.
        batch: cells of the batch's row.
        settings: values of sheet Costs by field name.
        setting_units: units of sheet Costs by field name.
        recipe: cells of the recipe's row; 0 % superfat and 33 % lye where they say nothing.

    """
    liquid = {"lye_concentration", "liquid_to_alkali", "liquid_of_oils"}
    cells = {"superfat": 0.0} | ({} if liquid & set(recipe) else {"lye_concentration": 0.33}) | recipe
    priced = {price.ingredient for price in prices}
    free = [
        pack(item.ingredient, 0.0, unit="each" if item.kind == "packaging" else "kg")
        for item in things
        if item.ingredient not in priced
    ]
    return Workshop(
        ingredients=tuple(things),
        prices=(*prices, *free),
        moulds=(mould,),
        recipes=(Recipe(recipe="bar", **cells),),
        lines=tuple(parts),
        batches=(Batch(batch="1", recipe="bar", **({"mould": mould.mould} | (batch or {}))),),
        costs=settings_lines(settings or {}, setting_units or {}),
    )


def settings_lines(values: dict[str, Any], units: dict[str, str]) -> tuple[SettingLine, ...]:
    """Return one line a setting in the schema's order, blank where nothing is said, as the reader does."""
    values = {"worked_out_on": TODAY} | values
    unknown = (set(values) | set(units)) - set(setting_declared())
    assert not unknown, f"no such setting: {unknown}"
    return tuple(
        SettingLine(setting=item.name, value=values.get(name), unit=units.get(name), meaning=item.help)
        for name, item in setting_declared().items()
    )


def with_superfat(workshop: Workshop, superfat: float) -> Workshop:
    """Return the workshop with another superfat."""
    return replace(workshop, recipes=tuple(replace(recipe, superfat=superfat) for recipe in workshop.recipes))


def made(workshop: Workshop) -> Made:
    """Return the one batch of a workshop in which nothing is wrong."""
    run = scale(workshop)
    assert run.problems == (), run.problems
    return run.batches[0]


def refused(workshop: Workshop) -> list[str]:
    """Return the codes of what stops the job."""
    return [problem.code for problem in scale(workshop).problems]


def warned(workshop: Workshop) -> list[str]:
    """Return the codes of the batch's warnings."""
    return [warning.code for warning in made(workshop).warnings]


def grams(batch: Made, name: str) -> float:
    """Return the weight of an ingredient over all its lines."""
    found = [line.g for line in batch.lines if line.ingredient == name and line.g is not None]
    assert found, f"no line of {name}"
    return sum(found)


def table(run: Run, name: str, column: str) -> Any:
    """Return a column of workings."""
    return run.tables.column(name, column)
