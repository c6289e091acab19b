"""Market runs made at random, and an independent checker of plans."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from workshops import settings_lines

from scaler.model.records import Batch, Demand, Ingredient, Mould, OnHand, Price, Recipe, RecipeLine, Workshop

MARKET_DAY = date(2027, 6, 12)
OILS = ("olive", "coconut", "rape", "shea", "castor", "sunflower")


def ingredients(draw: random.Random, oils: int, stocked: bool = True) -> tuple[Ingredient, ...]:
    """Return oils, an alkali, a fragrance and a band; some with stock."""

    def stock(most: float, unit: str) -> dict[str, Any]:
        has = stocked and draw.random() < 0.4
        return {"stock": round(draw.uniform(0, most), 1), "stock_unit": unit} if has else {}

    return (
        *(
            Ingredient(ingredient=f"{OILS[number % 6]} {number}", kind="oil", sap=180.0 + number, **stock(3, "kg"))
            for number in range(oils)
        ),
        Ingredient(ingredient="soda", kind="alkali", base="NaOH", **stock(1, "kg")),
        Ingredient(ingredient="scent", kind="fragrance", density=0.9, **stock(80, "mL")),
        Ingredient(ingredient="band", kind="packaging", **stock(50, "each")),
    )


def prices(draw: random.Random, things: tuple[Ingredient, ...]) -> tuple[Price, ...]:
    """Return one to three packs of each thing, from two suppliers."""
    rows = []
    for item in things:
        sizes = {"packaging": ("each", (20, 50, 100)), "fragrance": ("mL", (50, 100, 500))}
        unit, packs = sizes.get(item.kind, ("kg", (1, 5, 25)))
        for pack in draw.sample(packs, draw.randint(1, 3)):
            rate = (
                draw.uniform(0.03, 0.1)
                if unit == "each"
                else draw.uniform(0.05, 0.15)
                if unit == "mL"
                else draw.uniform(3, 12)
            )
            rows.append(
                Price(
                    ingredient=item.ingredient, pack=float(pack), pack_unit=unit, price=round(rate * pack**0.92, 2),
                    delivery=draw.choice((None, 0.0, 2.5)), supplier=draw.choice(("North", "South")),
                )
            )  # fmt: skip
    return tuple(rows)


def moulds(draw: random.Random, count: int, owned: int) -> tuple[Mould, ...]:
    """Return moulds of 0.5 to 4 litres."""
    return tuple(
        Mould(mould=f"mould {number}", shape="measured", capacity=float(draw.randint(500, 4000)), capacity_unit="mL",
              bars=draw.randint(6, 30), owned=draw.randint(1, owned))
        for number in range(count)
    )  # fmt: skip


def recipes(draw: random.Random, count: int, things: tuple[Ingredient, ...]) -> tuple[list[Recipe], list[RecipeLine]]:
    """Return recipes of two or three oils, some scented, all with a band a bar."""
    oils = [item.ingredient for item in things if item.kind == "oil"]
    made, lines = [], []
    for number in range(count):
        name = f"recipe {number}"
        late = random.Random(f"{name} {len(things)}")  # its own draws, so that the others stay what they were
        made.append(
            Recipe(recipe=name, cut_minutes=late.choice((None, 20.0)), wrap_minutes_per_bar=late.choice((None, 0.5)), superfat=0.05, lye_concentration=0.33, cure_days=float(draw.choice((28, 35, 42))),
                   labour_minutes=float(draw.choice((30, 45, 60))), labour_minutes_per_bar=draw.choice((0.0, 1.0, 1.5)))
        )  # fmt: skip
        chosen = draw.sample(oils, min(len(oils), draw.choice((2, 3))))
        shares = {1: (1.0,), 2: (0.7, 0.3), 3: (0.5, 0.3, 0.2)}[len(chosen)]
        lines += [
            RecipeLine(recipe=name, ingredient=oil, share=share) for oil, share in zip(chosen, shares, strict=True)
        ]
        if draw.random() < 0.6:
            lines.append(RecipeLine(recipe=name, ingredient="scent", amount=25.0, unit="g/kg", stage="trace"))
        lines.append(RecipeLine(recipe=name, ingredient="band", amount=1.0, unit="each/bar"))
    return made, lines


def market_run(
    seed: int, recipe_count: int = 2, mould_count: int = 2, dates: int = 2, owned: int = 2, bars: int = 40, **more: Any
) -> Workshop:
    """Return a workshop with a market.

    Args:
        seed: what it is drawn from.
        recipe_count: how many recipes.
        mould_count: how many kinds of mould.
        dates: how many market days.
        owned: most moulds of a kind.
        bars: most bars of a recipe on a date.
        more: values of sheet Costs; `named` and `on_hand` as chances that a row names a mould, that a recipe is on hand.
    """
    draw = random.Random(seed)
    named, held = more.pop("named", 0.2), more.pop("on_hand", 0.4)
    things = ingredients(draw, 3 + recipe_count // 4)
    own_moulds = moulds(draw, mould_count, owned)
    made, lines = recipes(draw, recipe_count, things)
    days = sorted(MARKET_DAY + timedelta(days=7 * draw.randint(0, 2 * dates)) for _ in range(dates))
    market = tuple(
        Demand(recipe=recipe.recipe, bars=draw.randint(5, bars), needed_by=day, day="market",
               mould=draw.choice(own_moulds).mould if draw.random() < named else None,
               price=draw.choice((None, 6.0, 7.5)))
        for recipe in made for day in days if draw.random() < 0.7
    )  # fmt: skip
    if not market:
        market = (Demand(recipe=made[0].recipe, bars=10, needed_by=days[0]),)
    on_hand = tuple(
        OnHand(recipe=recipe.recipe, bars=draw.randint(1, 15),
               ready_date=draw.choice((None, MARKET_DAY - timedelta(days=draw.randint(0, 60)))))
        for recipe in made if draw.random() < held
    )  # fmt: skip
    settings = {
        "labour_rate": draw.choice((0.0, 12.0)), "overhead": draw.choice((0.0, 2.5)),
        "reject_share": draw.choice((0.0, 0.05, 0.1)), "leftover_value": draw.choice((0.0, 0.5, 0.8)),
        "worked_out_on": date(2026, 11, 25),
    }  # fmt: skip
    return Workshop(
        ingredients=things, prices=prices(draw, things), moulds=own_moulds, recipes=tuple(made), lines=tuple(lines),
        batches=(Batch(batch="1", recipe=made[0].recipe, mould=own_moulds[0].mould),),
        costs=settings_lines(settings | more, {}), market=market, on_hand=on_hand,
    )  # fmt: skip
