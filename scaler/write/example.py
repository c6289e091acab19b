"""The small worked example of a fresh input workbook, in metric or in US units; a maker overwrites it."""

from __future__ import annotations

from dataclasses import dataclass

from scaler.model.records import Batch, Ingredient, Mould, Price, Recipe, RecipeLine, SettingLine, Workshop
from scaler.model.settings import default_words, setting_declared
from scaler.write.finished import inputs


@dataclass(frozen=True)
class Flavour:
    """What differs between the two examples: units, sizes and prices that a maker there would write."""

    length: str
    mould: tuple[float, float, float]
    liner: float
    cut: float
    trim: float
    weight: str
    oil_pack: float
    fragrance_amount: float
    fragrance_unit: str
    fragrance_pack: float
    fragrance_pack_unit: str
    settings: dict[str, tuple[object, str | None]]


_COMMON: dict[str, tuple[object, str | None]] = {
    "labour_rate": (15.0, None),
    "overhead": (2.0, None),
    "batter_loss": (0.02, None),
    "reject_share": (0.05, None),
    "target_margin": (0.5, None),
    "price_step": (0.25, None),
}

FLAVOURS = {
    "metric": Flavour(
        "cm", (25.0, 8.0, 7.0), 0.1, 2.5, 0.5, "kg", 5.0, 30.0, "g/kg", 100.0, "mL",
        _COMMON | {"display_units": ("g", None), "workshop_division": (1.0, "g"), "sales_tax": (0.2, None)},
    ),
    "us": Flavour(
        "in", (10.0, 3.5, 2.75), 0.05, 1.0, 0.25, "lb", 7.0, 0.5, "oz/lb", 4.0, "fl oz",
        _COMMON | {"display_units": ("oz", None), "workshop_division": (0.01, "oz"), "sales_tax": (0.0, None),
                   "pot_size": (None, "gal"), "jug_size": (None, "qt"), "least_bar": (None, "oz"),
                   "room_temperature": (68.0, "°F")},
    ),
}  # fmt: skip

_NOTE = "Example row: overwrite or delete it."
_EXAMPLE = " A new workbook holds an example here: write your own."


def example(units: str) -> bytes:
    """Return a fresh input workbook with a worked example.

    Args:
        units: "metric" or "us".
    """
    return inputs(example_workshop(FLAVOURS[units]))


def example_workshop(flavour: Flavour) -> Workshop:
    """Return the example: one recipe in one loaf mould."""
    return Workshop(
        ingredients=_ingredients(),
        prices=_prices(flavour),
        moulds=(_mould(flavour),),
        recipes=(
            Recipe(recipe="First bar", superfat=0.06, lye_concentration=0.33, cure_days=42.0, labour_minutes=60.0,
                   labour_minutes_per_bar=2.0, notes=_NOTE),
        ),
        lines=_lines(flavour),
        batches=(Batch(batch="1", recipe="First bar", mould="Loaf mould"),),
        costs=_settings(flavour),
    )  # fmt: skip


def _ingredients() -> tuple[Ingredient, ...]:
    return (
        Ingredient(ingredient="Olive oil", kind="oil", inci="Olea Europaea Fruit Oil", source=_NOTE),
        Ingredient(ingredient="Coconut oil", kind="oil", inci="Cocos Nucifera Oil"),
        Ingredient(ingredient="Sodium hydroxide flakes", kind="alkali", base="NaOH", purity=0.98, purity_high=0.99,
                   source="Put your supplier's certificate here."),
        Ingredient(ingredient="Lavender oil", kind="fragrance", density=0.885, limit=0.05,
                   source="Put your supplier's limit here."),
        Ingredient(ingredient="Paper band", kind="packaging"),
    )  # fmt: skip


def _prices(flavour: Flavour) -> tuple[Price, ...]:
    weight = flavour.weight
    return (
        Price(ingredient="Olive oil", pack=flavour.oil_pack, pack_unit=weight, price=38.0, delivery=4.0),
        Price(ingredient="Coconut oil", pack=flavour.oil_pack, pack_unit=weight, price=24.0, delivery=4.0),
        Price(ingredient="Sodium hydroxide flakes", pack=2.0, pack_unit=weight, price=9.0),
        Price(
            ingredient="Lavender oil", pack=flavour.fragrance_pack, pack_unit=flavour.fragrance_pack_unit, price=14.0
        ),
        Price(ingredient="Paper band", pack=100.0, pack_unit="each", price=8.0),
    )


def _mould(flavour: Flavour) -> Mould:
    length, width, depth = flavour.mould
    return Mould(
        mould="Loaf mould", shape="box", unit=flavour.length, length=length, width=width, depth=depth,
        liner=flavour.liner, fill=0.95, bar_cut=flavour.cut, trim=flavour.trim, owned=1,
    )  # fmt: skip


def _lines(flavour: Flavour) -> tuple[RecipeLine, ...]:
    return (
        RecipeLine(recipe="First bar", ingredient="Olive oil", share=0.7, stage="oils"),
        RecipeLine(recipe="First bar", ingredient="Coconut oil", share=0.3, stage="oils"),
        RecipeLine(recipe="First bar", ingredient="Lavender oil", amount=flavour.fragrance_amount,
                   unit=flavour.fragrance_unit, stage="trace"),
        RecipeLine(recipe="First bar", ingredient="Paper band", amount=1.0, unit="each/bar"),
    )  # fmt: skip


def _settings(flavour: Flavour) -> tuple[SettingLine, ...]:
    lines = []
    for name, item in setting_declared().items():
        value, unit = flavour.settings.get(name, (None, None))
        meaning = item.help
        if value is None and "Blank:" not in meaning:
            meaning += f" Blank: {default_words(item)}."
        elif name in _COMMON or name == "sales_tax":
            meaning += _EXAMPLE
        lines.append(SettingLine(setting=item.name, value=value, unit=unit or (item.unit or None), meaning=meaning))
    return tuple(lines)
