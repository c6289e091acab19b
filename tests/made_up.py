"""Workshops made up from a seed, the same ones everywhere: every shape, kind, unit, base and way to write a recipe."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from workshops import TODAY, koh, naoh, oil, pack, settings_lines, thing

from scaler.model.records import Batch, Ingredient, Mould, Price, Recipe, RecipeLine, Workshop

CM_IN = {"cm": 1.0, "mm": 0.1, "in": 2.54}
WEIGHTS = {"g": 1.0, "kg": 1000.0, "oz": 28.35, "lb": 453.6, "cup": 220.0}
"""Roughly the grams in a unit, so that amounts of several things suit one another."""
LIQUID_COLUMNS = {"lye_concentration": (0.26, 0.34), "liquid_to_alkali": (1.9, 2.9), "liquid_of_oils": (0.3, 0.42)}
PACKS = {
    "oil": ("kg", "g", "lb", "L", "imp gal"), "alkali": ("kg", "lb", "oz"), "liquid": ("L", "cup", "fl oz"), "acid": ("g", "oz"),
    "additive": ("g", "kg"), "fragrance": ("mL", "fl oz", "g"), "colour": ("g", "oz"), "packaging": ("each",),
}  # fmt: skip


@dataclass
class Maker:
    """Draws what a maker types: numbers of three or four digits, and blanks."""

    draw: random.Random

    def number(self, low: float, high: float, digits: int = 3) -> float:
        """Return a number of so many digits."""
        return float(f"{self.draw.uniform(low, high):.{digits}g}")

    def maybe(self, *choices: Any) -> Any:
        """Return one of the choices, or a blank as often as each of them."""
        return self.draw.choice((None, *choices))

    def day(self) -> date:
        """Return a day in the year before today."""
        return TODAY - timedelta(days=self.draw.randint(0, 365))

    def filled(self, **cells: Any) -> dict[str, Any]:
        """Return about half of the cells, the others blank."""
        return {name: value for name, value in cells.items() if self.draw.random() < 0.5}


@dataclass
class Shelf:
    """What is made up so far of one workshop."""

    things: list[Ingredient] = field(default_factory=list)
    recipes: list[Recipe] = field(default_factory=list)
    lines: list[RecipeLine] = field(default_factory=list)

    def of(self, kind: str) -> list[str]:
        """Return the names of a kind."""
        return [item.ingredient for item in self.things if item.kind == kind]


def made_up(seed: int, apart: bool = False) -> Workshop:
    """Return the workshop of a seed: one to four batches of one to three recipes in one to three moulds.

    With `apart` about half of the recipes have a portion, and about half a blend mixed ahead.
    """
    maker = Maker(random.Random(seed))
    draw = maker.draw
    shelf = Shelf(things=_ingredients(maker))
    for number in range(draw.randint(1, 3)):
        _recipe(maker, shelf, f"recipe {number}")
    moulds = [_mould(maker, f"mould {number}") for number in range(draw.randint(1, 3))]
    batches = [
        Batch(batch=f"{number + 1}", recipe=draw.choice(shelf.recipes).recipe, mould=draw.choice(moulds).mould,
              moulds_filled=maker.maybe(1, 2, 3), make_date=maker.maybe(TODAY + timedelta(days=number)))
        for number in range(draw.randint(1, 4))
    ]  # fmt: skip
    if apart:
        _portion_and_blend(Maker(random.Random(f"apart {seed}")), shelf)
    return Workshop(
        ingredients=tuple(shelf.things), prices=tuple(_prices(maker, shelf.things)), moulds=tuple(moulds),
        recipes=tuple(shelf.recipes), lines=tuple(shelf.lines), batches=tuple(batches), costs=_settings(maker),
    )  # fmt: skip


def _ingredients(maker: Maker) -> list[Ingredient]:
    number, draw = maker.number, maker.draw
    oils = [oil("Olive oil", None, **maker.filled(density=0.912)), oil("Coconut oil", None)]
    for name in ("fat", "butter")[: draw.randint(0, 2)]:
        sap = number(150, 240)
        certificate = maker.filled(density=number(0.86, 0.96), sap_low=sap - 4, sap_high=sap + 5)
        oils.append(oil(name, sap, **certificate))
    drinks = [
        thing("milk", "liquid", **maker.filled(water=number(0.8, 0.9), fat=number(0.01, 0.09), density=1.03)),
        thing("cider", "liquid", **maker.filled(water=number(0.9, 0.97), sap=number(1, 30))),
    ]
    flakes = naoh(**maker.filled(purity=number(0.96, 0.98), purity_high=1.0, opened=maker.day()))
    return [
        *oils, *drinks, thing("Citric acid", "acid"), thing("sour salt", "acid", sap=number(400, 800)),
        thing("honey", "additive", **maker.filled(density=number(0.5, 1.5), fat=number(0.01, 0.2))),
        thing("scent", "fragrance", **maker.filled(density=number(0.85, 1.1), limit=0.09)
              | draw.choice(({}, {"stock": number(1, 50), "stock_unit": "mL", "division": 0.1, "division_unit": "g"}))),
        thing("clay", "colour", **maker.filled(density=number(0.8, 2.4))),
        thing("band", "packaging"), thing("carton", "packaging"), flakes,
        koh(**draw.choice(({}, {"purity": number(0.85, 0.9), **maker.filled(purity_low=0.84, purity_high=0.95)}))),
        naoh("liquor", purity=0.5, water=0.5),
    ]  # fmt: skip


def _shares(maker: Maker, count: int) -> list[float]:
    """Return whole percents that add up to 100 %."""
    cuts = sorted(maker.draw.sample(range(1, 20), count - 1))
    return [(high - low) * 5 / 100 for low, high in zip([0, *cuts], [*cuts, 20], strict=True)]


def _recipe(maker: Maker, shelf: Shelf, name: str) -> None:
    """Put a recipe and its lines on the shelf."""
    draw, number = maker.draw, maker.number
    oils, liquids = shelf.of("oil"), shelf.of("liquid")
    chosen = draw.sample(oils, draw.randint(1, len(oils)))
    drinks = draw.sample(liquids, draw.randint(0, 2))
    by_amount = draw.random() < 0.4
    unit = draw.choice(list(WEIGHTS)) if by_amount else None
    own_liquid = bool(by_amount and drinks and draw.random() < 0.7)
    _put(maker, shelf, name, chosen, 1000.0, unit)
    _put(maker, shelf, name, drinks, 330.0, unit if own_liquid else None)
    _others(maker, shelf, name, by_amount)
    cells: dict[str, Any] = {"superfat": draw.choice((0.0, 0.05, number(0.01, 0.12)))}
    if not own_liquid:
        column = draw.choice(list(LIQUID_COLUMNS))
        cells[column] = number(*LIQUID_COLUMNS[column])
    cells["alkali"] = draw.choice(("soda", "soda", "liquor"))
    if draw.random() < 0.35:
        cells |= {"second_alkali": "potash", "koh_share": draw.choice((0.0, number(0.02, 0.6)))}
    cells |= maker.filled(
        cure_days=float(draw.randint(14, 70)), cure_loss=number(0.05, 0.15), labour_minutes=number(20, 150),
        labour_minutes_per_bar=number(0.5, 4), cut_minutes=number(5, 40), wrap_minutes_per_bar=number(0.2, 2), notes="stir gently",
    )  # fmt: skip
    shelf.recipes.append(Recipe(recipe=name, **cells))


def _put(maker: Maker, shelf: Shelf, name: str, chosen: Sequence[str], grams: float, unit: str | None) -> None:
    """Put lines of oils or liquids on the shelf, by share or by amounts of about so many grams together."""
    shares = _shares(maker, len(chosen)) if chosen else []
    for place, (ingredient, share) in enumerate(zip(chosen, shares, strict=True)):
        size = (
            {"share": share}
            if unit is None
            else {"amount": float(f"{share * grams / WEIGHTS[unit]:.3g}"), "unit": unit}
        )
        drink = ingredient in shelf.of("liquid")
        held = "no" if drink and place and share <= 0.3 else maker.maybe("yes") if drink else None
        shelf.lines.append(RecipeLine(recipe=name, ingredient=ingredient, in_lye=held, **size))


def _others(maker: Maker, shelf: Shelf, name: str, by_amount: bool) -> None:
    """Put lines of everything that is neither oil nor liquid on the shelf."""
    draw, number = maker.draw, maker.number
    sizes: dict[str, list[dict[str, Any]]] = {
        "Citric acid": [{"share": number(0.002, 0.02)}, {"amount": number(2, 15), "unit": "g/kg"}],
        "sour salt": [{"share": number(0.002, 0.02)}],
        "honey": [
            {"share": number(0.005, 0.04)},
            {"amount": number(1, 3), "unit": "tsp/lb"},
            {"amount": number(1, 5), "unit": "% of liquid"},
        ],
        "scent": [{"share": number(0.01, 0.04)}, {"amount": number(10, 40), "unit": "mL/kg"}],
        "clay": [{"amount": number(0.1, 0.5), "unit": "oz/lb"}, {"amount": number(1, 3), "unit": "tsp/lb"}],
    }
    if by_amount:
        sizes["honey"].append({"amount": number(1, 2), "unit": "tbsp"})
        sizes["clay"].append({"amount": number(3, 20), "unit": "g"})
    for ingredient, ways in sizes.items():
        if draw.random() < 0.4:
            stage = maker.maybe("top") if ingredient == "honey" else None
            shelf.lines.append(RecipeLine(recipe=name, ingredient=ingredient, stage=stage, **draw.choice(ways)))
    shelf.lines.append(RecipeLine(recipe=name, ingredient="band", amount=1.0, unit="each/bar"))
    if draw.random() < 0.5:
        shelf.lines.append(RecipeLine(recipe=name, ingredient="carton", amount=number(1, 3, 1), unit="each/batch"))


def _portion_and_blend(maker: Maker, shelf: Shelf) -> None:
    """Give recipes a portion of their own, and take some of their oils by way of a blend."""
    blends: list[tuple[Recipe, list[RecipeLine]]] = []
    for recipe in shelf.recipes:
        mine = [place for place, line in enumerate(shelf.lines) if line.recipe == recipe.recipe]
        for place in mine:
            line = shelf.lines[place]
            if line.ingredient in ("scent", "clay") and maker.draw.random() < 0.5:
                more: dict[str, Any] = {"portion": f"part {place}", "portion_share": maker.number(0.2, 0.5)}
                shelf.lines[place] = replace(line, **more)
        oils = [place for place in mine if shelf.lines[place].ingredient in shelf.of("oil")]
        if maker.draw.random() < 0.5 and shelf.lines[oils[0]].unit not in ("cup",):
            name = f"blend of {recipe.recipe}"
            parts = [
                RecipeLine(recipe=name, ingredient="Olive oil", share=0.6),
                RecipeLine(recipe=name, ingredient="Coconut oil", share=0.4),
            ]
            blends.append((Recipe(recipe=name, superfat=0.05), parts))
            shelf.lines[oils[0]] = replace(shelf.lines[oils[0]], ingredient=name)
    for made, parts in blends:
        shelf.recipes.append(made)
        shelf.lines.extend(parts)


def _mould(maker: Maker, name: str) -> Mould:
    draw, number = maker.draw, maker.number
    shape = draw.choice(("box", "taper", "cylinder", "half cylinder", "cavities", "measured"))
    cells: dict[str, Any] = maker.filled(fill=draw.choice((0.75, 0.9, 0.955)), owned=draw.randint(1, 4))
    if shape == "cavities":
        cells |= {
            "cavities": draw.randint(4, 24),
            "capacity": number(80, 250),
            "capacity_unit": draw.choice(("mL", "g")),
        }
        return Mould(mould=name, shape=shape, bars=maker.maybe(12), **cells)
    if shape == "measured":
        word, low, high = draw.choice((("mL", 700, 4000), ("L", 0.8, 4), ("fl oz", 30, 120), ("kg", 0.8, 4)))
        return Mould(
            mould=name, shape=shape, bars=draw.randint(4, 30), capacity=number(low, high), capacity_unit=word, **cells
        )
    unit = draw.choice(list(CM_IN))

    def size(low: float, high: float) -> float:
        return number(low / CM_IN[unit], high / CM_IN[unit])

    cells |= {"unit": unit} | maker.filled(liner=size(0.05, 0.3), trim=size(0.2, 1.0))
    sizes = {"length": size(18, 40)}
    sizes |= {"diameter": size(7, 12)} if "cylinder" in shape else {"width": size(6, 12), "depth": size(6, 10)}
    if shape == "taper":
        sizes |= {"top_length": size(20, 42), "top_width": size(7, 13)}
    cells |= draw.choice(({"bar_cut": size(1.8, 3.2)}, {"bars": draw.randint(4, 20)}))
    return Mould(mould=name, shape=shape, **sizes, **cells)


def _prices(maker: Maker, things: Sequence[Ingredient]) -> list[Price]:
    draw, number = maker.draw, maker.number
    rows = []
    for item in things:
        for unit in draw.sample(PACKS[item.kind], min(draw.randint(1, 2), len(PACKS[item.kind]))):
            many = unit in ("g", "mL", "each")
            holds = number(50, 999) if many else number(0.5, 25)
            more = maker.filled(delivery=draw.choice((0.0, number(1, 9))), supplier="North", date=maker.day())
            rows.append(pack(item.ingredient, draw.choice((0.0, *[number(1, 60, 4)] * 9)), holds, unit, **more))
    return rows


def _settings(maker: Maker) -> Any:
    number, draw = maker.number, maker.draw
    values = maker.filled(
        currency="£", display_units=draw.choice(("g", "oz")), labour_rate=number(8, 30), overhead=number(0.5, 20), batter_loss=number(0.01, 0.09),
        reject_share=number(0.01, 0.2), target_margin=number(0.2, 0.6), sales_tax=draw.choice((0.2, 0.0875)), card_fee=number(0.011, 0.035),
        price_step=draw.choice((0.0, 0.05, 0.25, 0.5)), price_shown=draw.choice(("with tax", "before tax")), stall_fee=number(10, 80),
        room_temperature=number(15, 28), wholesale_share=number(0.4, 0.7), price_age=number(6, 18, 2),
        pot_size=float(draw.randint(60, 99)), jug_size=float(draw.randint(30, 60)),
    )  # fmt: skip
    return settings_lines(values | {"workshop_division": draw.choice((0.01, 0.1))}, {})
