"""Twenty ordinary recipes and what is said of each: `python tests/ordinary_recipes.py` prints them.

Recipes as makers write them, invented here: shop-bought oils at their published values, flakes with a certificate or
with the label alone, a kitchen scale of 1 g, a loaf or a tray. An ordinary recipe should hardly be asked about.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from workshops import koh, naoh, oil, pack, part, shop, thing

from scaler.engine import scale
from scaler.model.problems import Warning
from scaler.model.records import Ingredient, Mould, RecipeLine, Workshop

LOAF = Mould(
    mould="Loaf", shape="box", unit="cm", length=25.0, width=8.0, depth=7.0, fill=0.9, bar_cut=2.5, trim=0.5, owned=2
)
TRAY = Mould(mould="Silicone tray", shape="cavities", cavities=12, capacity=100.0, capacity_unit="mL", owned=4)
LABEL_ALONE = {"purity": 0.98}
CERTIFICATE = {"purity": 0.985, "purity_low": 0.98, "purity_high": 0.99}


@dataclass(frozen=True)
class Ordinary:
    """A recipe: its oils by share, other things and lines, and cells of its row."""

    oils: dict[str, float]
    things: Sequence[Ingredient] = ()
    lines: Sequence[RecipeLine] = ()
    mould: Mould = LOAF
    flakes: dict[str, float] = field(default_factory=lambda: LABEL_ALONE)
    cells: dict[str, Any] = field(default_factory=dict)

    def workshop(self) -> Workshop:
        """Return the recipe as a workshop of one batch."""
        oils = [oil(name, None) for name in self.oils]
        lines = [part(name, share) for name, share in self.oils.items()]
        cells = {
            "superfat": 0.05,
            "alkali": "Sodium hydroxide flakes",
            "liquid_of_oils": 0.33,
            "cure_days": 42.0,
        } | self.cells
        cells = {name: value for name, value in cells.items() if value is not None}
        flakes = naoh("Sodium hydroxide flakes", opened=date(2026, 9, 1), **self.flakes)
        batch = {"make_date": date(2026, 12, 1)}
        things = [*oils, flakes, *self.things]
        prices = [pack(item.ingredient, 5.0) for item in things]
        return shop(things, [*lines, *self.lines], self.mould, prices, batch, **cells)


def scent(name: str, density: float = 0.9) -> Ingredient:
    """Return an essential oil with its supplier's limit."""
    return thing(name, "fragrance", density=density, limit=0.05)


THREE = {"Olive oil": 0.45, "Coconut oil": 0.3, "Sunflower oil": 0.25}
BUTTERS = {"Olive oil": 0.5, "Coconut oil": 0.25, "Cocoa butter": 0.15, "Castor oil": 0.1}
LAVENDER = scent("Lavender oil", 0.885)
MILK = thing("Goat milk", "liquid", water=0.87, fat=0.04, density=1.03)
WATER = thing("Distilled water", "liquid")

RECIPES = {
    "Kitchen bar": Ordinary(THREE),
    "Lavender bar": Ordinary(THREE, [LAVENDER], [part("Lavender oil", amount=30.0, unit="g/kg")]),
    "Castile bar": Ordinary({"Olive oil": 1.0}, cells={"cure_days": 180.0, "lye_concentration": 0.36, "liquid_of_oils": None}),
    "Coconut bar at 20 %": Ordinary({"Coconut oil": 1.0}, cells={"superfat": 0.2}),
    "Palm and coconut": Ordinary({"Palm oil": 0.4, "Coconut oil": 0.3, "Olive oil": 0.3}, flakes=CERTIFICATE),
    "Butter bar": Ordinary(BUTTERS, flakes=CERTIFICATE),
    "Lard bar": Ordinary({"Lard": 0.6, "Coconut oil": 0.2, "Olive oil": 0.2}),
    "Tallow bar": Ordinary({"Tallow": 0.7, "Coconut oil": 0.2, "Castor oil": 0.1}, cells={"superfat": 0.06}),
    "Shea bar": Ordinary({"Olive oil": 0.6, "Coconut oil": 0.25, "Shea butter": 0.15}, cells={"superfat": 0.06}),
    "Goat milk bar": Ordinary(THREE, [MILK], [part("Goat milk", 1.0)]),
    "Half milk, held back": Ordinary(THREE, [WATER, MILK], [part("Distilled water", 0.7), part("Goat milk", 0.3, in_lye="no")]),
    "Honey and oats": Ordinary(THREE, [thing("Honey", "additive", density=1.42), thing("Ground oats", "additive", density=0.5)],
                               [part("Honey", amount=15.0, unit="g/kg", stage="trace"), part("Ground oats", amount=20.0, unit="g/kg")]),
    "Charcoal bar": Ordinary(THREE, [thing("Charcoal", "colour", density=0.5), scent("Tea tree oil")],
                             [part("Charcoal", amount=8.0, unit="g/kg"), part("Tea tree oil", amount=25.0, unit="g/kg")]),
    "Clay bar in a tray": Ordinary(THREE, [thing("Pink clay", "colour", density=1.2)], [part("Pink clay", amount=15.0, unit="g/kg")], TRAY),
    "Sea salt bar": Ordinary({"Coconut oil": 0.8, "Olive oil": 0.2}, [thing("Sea salt", "additive", density=2.1)],
                             [part("Sea salt", 0.5)], TRAY, cells={"superfat": 0.15}),
    "Citric acid bar": Ordinary(THREE, [thing("Citric acid", "acid")], [part("Citric acid", 0.01, stage="lye liquid")]),
    "Shaving bar": Ordinary({"Stearic acid": 0.4, "Coconut oil": 0.3, "Tallow": 0.3}, [koh("KOH flakes", purity=0.88, purity_high=0.9)],
                            mould=replace(LOAF, length=60.0), cells={"second_alkali": "KOH flakes", "koh_share": 0.6, "lye_concentration": 0.25, "liquid_of_oils": None}),
    "Beer bar": Ordinary(THREE, [thing("Flat beer", "liquid", water=0.95)], [part("Flat beer", 1.0)]),
    "Spice bar": Ordinary(THREE, [scent("Cinnamon leaf oil", 1.04), scent("Sweet orange oil", 0.85)],
                          [part("Cinnamon leaf oil", amount=5.0, unit="g/kg"), part("Sweet orange oil", amount=25.0, unit="g/kg")]),
    "Quick bar": Ordinary(THREE, cells={"cure_days": 28.0, "lye_concentration": 0.35, "liquid_of_oils": None}),
}  # fmt: skip


def said_of(recipe: Ordinary) -> tuple[Warning, ...]:
    """Return the warnings of a recipe in which nothing is wrong."""
    run = scale(recipe.workshop())
    assert run.problems == (), run.problems
    return run.batches[0].warnings


def main() -> None:
    """Print each recipe and what is said of it."""
    for name, recipe in RECIPES.items():
        print(f"{name}:")
        for warning in said_of(recipe) or (Warning("", "nothing to say.", "in order"),):
            print(f"  {warning.level}: {warning.text}")


if __name__ == "__main__":
    main()
