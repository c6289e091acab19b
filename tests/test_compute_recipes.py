"""Alkali and liquid per gram of oils, against arithmetic written out here."""

from __future__ import annotations

from typing import Any

import pytest
from workshops import grams, koh, made, naoh, oil, part, refused, shop, thing

NAOH_PER_KOH = 39.99712 / 56.10565  # molar masses, IUPAC standard atomic weights


def near(value: float) -> object:
    """Return what is equal to a value within 1e-9 of it."""
    return pytest.approx(value, rel=1e-9)


TWO_OILS = (oil("soft", 190.0), oil("hard", 256.5))
SIX_TO_FOUR = (part("soft", 0.6), part("hard", 0.4))


# --- alkali ---


def test_one_oil_at_190() -> None:
    """An oil of SAP 190 takes 0.13545 g of NaOH a gram (worked_examples.md, derived)."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)]))
    assert batch.alkali_g / batch.oils_g == near(190 / 1000 * 39.99712 / 56.10565)
    assert batch.alkali_g / batch.oils_g == pytest.approx(0.13545, abs=5e-6)


def test_two_oils_with_superfat_and_purity() -> None:
    """600 g at 190 and 400 g at 256.5 take 154.41 g (worked_examples.md, derived), then 5 % less, of 98 % purity."""
    batch = made(shop([*TWO_OILS, naoh(purity=0.98)], SIX_TO_FOUR, superfat=0.05))
    in_full = (600 * 0.190 + 400 * 0.2565) * 39.99712 / 56.10565
    assert in_full == pytest.approx(154.41, abs=0.005)
    assert batch.alkali_g / batch.oils_g * 1000 == near(in_full * 0.95 / 0.98)
    # The example goes on to 149.69, a slip in its last digit: 149.6849 is 149.68.
    assert batch.alkali_g / batch.oils_g * 1000 == pytest.approx(149.68, abs=0.005)


@pytest.mark.parametrize("koh_first", [False, True])
def test_mixed_alkali(koh_first: bool) -> None:
    """KOH share is the share of the need that KOH meets, whichever alkali is named first."""
    first, second = ("potash", "soda") if koh_first else ("soda", "potash")
    things = [*TWO_OILS, naoh(purity=0.98), koh(purity=0.9)]
    batch = made(shop(things, SIX_TO_FOUR, superfat=0.03, alkali=first, second_alkali=second, koh_share=0.25))
    need = (0.6 * 190 + 0.4 * 256.5) / 1000 * 0.97
    assert grams(batch, "potash") / batch.oils_g == near(need * 0.25 / 0.9)
    assert grams(batch, "soda") / batch.oils_g == near(need * 0.75 * NAOH_PER_KOH / 0.98)
    assert [(item.ingredient, item.base) for item in batch.alkalis] == (
        [("potash", "KOH"), ("soda", "NaOH")] if koh_first else [("soda", "NaOH"), ("potash", "KOH")]
    )


def test_koh_alone() -> None:
    """A recipe whose only alkali is KOH takes the need itself over its purity."""
    batch = made(shop([oil(), koh(purity=0.85)], [part("fat", 1.0)], alkali="potash"))
    assert batch.alkali_g / batch.oils_g == near(0.190 / 0.85)


def test_acid_is_met_in_full_whatever_the_superfat() -> None:
    """20 g of citric acid, anhydrous, take 12.49 g of NaOH (worked_examples.md, derived), superfat or not."""
    things = [oil(), naoh(), thing("Citric acid, anhydrous", "acid")]
    with_acid = made(shop(things, [part("fat", 1.0), part("Citric acid, anhydrous", 0.02)], superfat=0.08))
    without = made(shop(things, [part("fat", 1.0)], superfat=0.08))
    extra = (with_acid.alkali_g / with_acid.oils_g - without.alkali_g / without.oils_g) * 1000
    assert extra == near(20 * 0.87609 * NAOH_PER_KOH)
    assert extra == pytest.approx(12.49, abs=0.005)


# --- liquid ---


def test_solution_of_half_water() -> None:
    """A 50 % solution brings its own water, which the liquid weighed in is short of."""
    batch = made(shop([oil(), naoh(purity=0.5, water=0.5)], [part("fat", 1.0)], superfat=0.05, lye_concentration=0.32))
    pure = 0.190 * 0.95 * NAOH_PER_KOH
    weighed = pure / 0.5
    total = weighed * 0.5 * (1 - 0.32) / 0.32
    assert batch.alkali_g / batch.oils_g == near(weighed)
    assert batch.liquid_total_g / batch.oils_g == near(total)
    assert batch.liquid_g / batch.oils_g == near(total - weighed * 0.5)
    assert batch.lye_concentration == near(0.32)
    assert batch.pot_concentration == near(pure / (pure + total))


def test_solution_diluted_to_a_third() -> None:
    """200 g of 50 % NaOH to 33 % takes 103.03 g of water (worked_examples.md, derived)."""
    batch = made(shop([oil(), naoh(purity=0.5, water=0.5)], [part("fat", 1.0)], lye_concentration=0.33))
    assert batch.liquid_g / batch.alkali_g * 200 == pytest.approx(103.03, abs=0.005)


def test_flakes_with_impurity_count_as_dry_alkali() -> None:
    """Lye concentration counts flakes as they are weighed: only their water is liquid."""
    batch = made(shop([oil(), naoh(purity=0.9, water=0.04)], [part("fat", 1.0)], lye_concentration=0.3))
    weighed = 0.190 * NAOH_PER_KOH / 0.9
    dry, own = weighed * 0.96, weighed * 0.04
    assert batch.liquid_g / batch.oils_g == near(dry * 7 / 3 - own)
    assert batch.liquid_total_g / batch.oils_g == near(dry * 7 / 3)


@pytest.mark.parametrize(
    ("column", "value", "total"),
    [
        ("lye_concentration", 0.3, 0.190 * NAOH_PER_KOH * 0.7 / 0.3),
        ("liquid_to_alkali", 2.1, 0.190 * NAOH_PER_KOH * 2.1),
        ("liquid_of_oils", 0.31, 0.31),
    ],
)
def test_three_ways_to_set_the_liquid(column: str, value: float, total: float) -> None:
    """Each of the three columns sets the total liquid its own way."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], **{column: value}))
    assert batch.liquid_total_g / batch.oils_g == near(total)
    assert batch.liquid_g == batch.liquid_total_g
    dry = 0.190 * NAOH_PER_KOH
    assert batch.lye_concentration == near(dry / (dry + total))


@pytest.mark.parametrize(
    ("column", "value"), [("lye_concentration", 0.3), ("liquid_to_alkali", 2.2), ("liquid_of_oils", 0.4)]
)
def test_solution_water_counts_in_each_of_the_three(column: str, value: float) -> None:
    """Total liquid holds the solution's water whichever column sets it."""
    batch = made(shop([oil(), naoh(purity=0.5, water=0.5)], [part("fat", 1.0)], **{column: value}))
    pure = 0.190 * NAOH_PER_KOH
    totals = {"lye_concentration": pure * 0.7 / 0.3, "liquid_to_alkali": pure * 2.2, "liquid_of_oils": 0.4}
    assert batch.liquid_total_g / batch.oils_g == near(totals[column])
    assert batch.liquid_g / batch.oils_g == near(totals[column] - pure)


def test_liquid_by_amounts() -> None:
    """With the three columns blank the liquid amounts themselves are weighed in, beside the solution's water."""
    things = [oil(), naoh(purity=0.5, water=0.5), thing("tea", "liquid"), thing("milk", "liquid", water=0.87)]
    lines = [part("fat", amount=800, unit="g"), part("tea", amount=160, unit="g"), part("milk", amount=40, unit="g")]
    batch = made(shop(things, lines, lye_concentration=None))
    assert grams(batch, "tea") / batch.oils_g == near(160 / 800)
    assert grams(batch, "milk") / batch.oils_g == near(40 / 800)
    assert batch.liquid_total_g / batch.oils_g == near(200 / 800 + 0.190 * NAOH_PER_KOH)


def test_liquid_amounts_beside_a_column_are_proportions() -> None:
    """Where a liquid column is filled, liquid amounts only share it out."""
    things = [oil(), naoh(), thing("tea", "liquid"), thing("milk", "liquid")]
    lines = [part("fat", amount=800, unit="g"), part("tea", amount=30, unit="g"), part("milk", amount=10, unit="g")]
    batch = made(shop(things, lines, liquid_of_oils=0.3))
    assert grams(batch, "tea") / batch.oils_g == near(0.3 * 0.75)
    assert grams(batch, "milk") / batch.oils_g == near(0.3 * 0.25)


@pytest.mark.parametrize("purity", [None, 0.5])
def test_sour_liquid_is_solved(purity: float | None) -> None:
    """A sour liquid needs alkali, which needs more of the liquid: the answer is where going round settles."""
    soda = naoh(purity=purity, water=None if purity is None else 1 - purity)
    things = [oil(), soda, thing("vinegar", "liquid", sap=46.7, water=0.95)]
    batch = made(shop(things, [part("fat", 1.0), part("vinegar", 1.0)], superfat=0.05, lye_concentration=0.3))
    liquid = 0.0
    for _ in range(200):
        base = (0.190 * 0.95 + liquid * 46.7 / 1000) * NAOH_PER_KOH
        weighed = base / (purity or 1)
        own_water = weighed * (0 if purity is None else 1 - purity)
        liquid = (weighed - own_water) * 0.7 / 0.3 - own_water
    assert batch.alkali_g / batch.oils_g == near(weighed)
    assert batch.liquid_g / batch.oils_g == near(liquid)
    assert batch.superfat_effective == near(0.05)


def test_milk_fat_adds_no_alkali() -> None:
    """The fat of milk raises the effective superfat and leaves the alkali alone."""
    milk = thing("milk", "liquid", water=0.87, fat=0.04, sap=230.0)
    batch = made(shop([oil(), naoh(), milk], [part("fat", 1.0), part("milk", 1.0)], superfat=0.05, liquid_of_oils=0.35))
    assert batch.alkali_g / batch.oils_g == near(0.190 * 0.95 * NAOH_PER_KOH)
    assert batch.superfat == 0.05
    assert batch.superfat_effective == near(1 - 0.190 * 0.95 / (0.190 + 0.35 * 0.04 * 0.230))


def test_fat_of_a_powder_counts_as_milk_fat() -> None:
    """An additive's fat raises the effective superfat as a milk's does."""
    powder = thing("milk powder", "additive", fat=0.26, sap=230.0)
    batch = made(shop([oil(), naoh(), powder], [part("fat", 1.0), part("milk powder", 0.03)], superfat=0.05))
    assert batch.alkali_g / batch.oils_g == near(0.190 * 0.95 * NAOH_PER_KOH)
    assert batch.superfat_effective == near(1 - 0.190 * 0.95 / (0.190 + 0.03 * 0.26 * 0.230))


def test_liquid_held_back_makes_the_pot_stronger() -> None:
    """Pot strength counts only the water that goes into the lye pot."""
    things = [oil(), naoh(purity=0.98), thing("tea", "liquid"), thing("milk", "liquid", water=0.87, fat=0.04)]
    lines = [part("fat", 1.0), part("tea", 0.6), part("milk", 0.4, in_lye="no")]
    batch = made(shop(things, lines, superfat=0.05, liquid_of_oils=0.35))
    pure = 0.190 * 0.95 * NAOH_PER_KOH
    assert batch.pot_concentration == near(pure / (pure + 0.35 * 0.6))
    assert batch.lye_concentration == near(pure / 0.98 / (pure / 0.98 + 0.35))


def test_pot_strength_counts_water_of_milk_only() -> None:
    """In the pot a milk counts for its water; in Lye concentration for its whole weight."""
    things = [oil(), naoh(), thing("milk", "liquid", water=0.87)]
    batch = made(shop(things, [part("fat", 1.0), part("milk", 1.0)], liquid_of_oils=0.4))
    pure = 0.190 * NAOH_PER_KOH
    assert batch.pot_concentration == near(pure / (pure + 0.4 * 0.87))
    assert batch.lye_concentration == near(pure / (pure + 0.4))


def test_solution_that_brings_too_much_water_is_refused() -> None:
    """A recipe stronger than the solution it is made from is refused."""
    things = [oil(), naoh(purity=0.4, water=0.6)]
    assert refused(shop(things, [part("fat", 1.0)], lye_concentration=0.41)) == ["solution_alone"]
    assert refused(shop(things, [part("fat", 1.0)], lye_concentration=0.40)) == []


# --- amounts ---


def test_recipe_by_weight_in_ounces() -> None:
    """A recipe written in ounces keeps its proportions: 20 oz and 12 oz of oils, 0.8 oz of clay, 10 oz of water."""
    things = [*TWO_OILS, naoh(), thing("clay", "additive"), thing("tea", "liquid")]
    lines = [part("soft", amount=20.0, unit="oz"), part("hard", amount=12.0, unit="oz"),
             part("clay", amount=0.8, unit="oz"), part("tea", amount=10.0, unit="oz")]  # fmt: skip
    batch = made(shop(things, lines, superfat=0.05, lye_concentration=None))
    assert batch.alkali_g / batch.oils_g == near((20 * 190 + 12 * 256.5) / 32 / 1000 * 0.95 * NAOH_PER_KOH)
    assert grams(batch, "clay") / batch.oils_g == near(0.8 / 32)
    assert grams(batch, "tea") / batch.oils_g == near(10 / 32)


def test_recipe_by_volume_goes_through_density() -> None:
    """An oil by the cup weighs its density: 2 cups at 0.90 g/mL and 1 lb."""
    things = [oil("soft", 190.0, density=0.90), oil("hard", 256.5), naoh()]
    batch = made(shop(things, [part("soft", amount=2.0, unit="cup"), part("hard", amount=1.0, unit="lb")]))
    soft = 2 * 236.5882365 * 0.90
    assert grams(batch, "soft") / grams(batch, "hard") == near(soft / 453.59237)


@pytest.mark.parametrize(
    ("amount", "unit", "per_gram"),
    [
        (1.0, "tsp/lb", 4.92892159375 * 0.4 / 453.59237),
        (2.0, "tbsp/lb", 2 * 14.78676478125 * 0.4 / 453.59237),
        (5.0, "mL/kg", 5 * 0.4 / 1000),
        (12.0, "g/kg", 0.012),
        (0.5, "oz/lb", 0.5 / 16),
    ],
)
def test_amount_per_weight_of_oils(amount: float, unit: str, per_gram: float) -> None:
    """An amount per weight of oils grows with the oils, a volume of it through its density."""
    things = [oil(), naoh(), thing("clay", "additive", density=0.4)]
    batch = made(shop(things, [part("fat", 1.0), part("clay", amount=amount, unit=unit)]))
    assert grams(batch, "clay") / batch.oils_g == near(per_gram)


def test_amount_in_percent_of_the_liquid() -> None:
    """A salt at 3 % of the total liquid, water of a bought lye included; it makes no liquid more."""
    things = [oil(), naoh(purity=0.5, water=0.5), thing("salt", "additive")]
    batch = made(shop(things, [part("fat", 1.0), part("salt", amount=3.0, unit="% of liquid")], lye_concentration=0.3))
    assert grams(batch, "salt") == near(0.03 * batch.liquid_total_g)
    plain = made(shop(things, [part("fat", 1.0)], lye_concentration=0.3))
    assert batch.liquid_total_g / batch.oils_g == near(plain.liquid_total_g / plain.oils_g)


@pytest.mark.parametrize("kind", ["oil", "acid", "liquid"])
def test_percent_of_the_liquid_is_for_what_makes_none(kind: str) -> None:
    """An oil, an acid or a liquid in % of liquid would change the liquid it is a share of: refused at its unit."""
    things = [oil(), naoh(), thing("other", kind, **({} if kind == "liquid" else {"sap": 200.0}))]
    assert refused(shop(things, [part("fat", 1.0), part("other", amount=3.0, unit="% of liquid")])) == ["unit_wrong"]


def test_counted_things() -> None:
    """each/bar counts every bar cut, rejects too; each/batch counts once."""
    things = [oil(), naoh(), thing("band", "packaging"), thing("crate", "packaging")]
    lines = [part("fat", 1.0), part("band", amount=2.0, unit="each/bar"), part("crate", amount=3.0, unit="each/batch")]
    batch = made(shop(things, lines, batch={"moulds_filled": 2}, settings={"reject_share": 0.1}))
    assert {line.ingredient: (line.count, line.g) for line in batch.lines if line.kind == "packaging"} == {
        "band": (40.0, None),
        "crate": (3.0, None),
    }


def test_oil_shares_are_made_whole() -> None:
    """Shares that add up to 100.01 % are taken as proportions, so the oils are the oils."""
    batch = made(shop([*TWO_OILS, naoh()], [part("soft", 0.60006), part("hard", 0.40004)]))
    assert grams(batch, "soft") + grams(batch, "hard") == near(batch.oils_g)


# --- weigh-out ---


@pytest.mark.parametrize(
    ("kind", "name", "rounded"),
    [("alkali", "soda", "down"), ("acid", "sour", "up"), ("oil", "fat", "near"), ("fragrance", "scent", "down")],
)
def test_weigh_out_rounds_to_the_safe_side(kind: str, name: str, rounded: str) -> None:
    """Alkali is weighed down, an acid up, a fragrance with a limit down, the rest to the nearest division."""
    things = [oil(), naoh(), thing("sour", "acid", sap=700.0), thing("scent", "fragrance", limit=0.5)]
    lines = [part("fat", 1.0), part("sour", 0.010), part("scent", 0.021)]
    mould_of = {"settings": {"workshop_division": 5.0}}
    line = next(line for line in made(shop(things, lines, **mould_of)).lines if line.ingredient == name)
    assert line.kind == kind
    assert line.g is not None
    assert line.weigh_g is not None
    steps = line.g / 5
    # Where the nearest would be the unsafe side.
    assert {"down": steps % 1 > 0.5, "up": steps % 1 < 0.5, "near": steps % 1 != 0}[rounded]
    down, up = 5 * (steps // 1), 5 * (steps // 1 + 1)
    assert line.weigh_g == {"down": down, "up": up, "near": down if steps % 1 < 0.5 else up}[rounded]


def test_fragrance_without_limit_is_weighed_to_the_nearest() -> None:
    """Only a limit makes a fragrance round down."""
    things = [oil(), naoh(), thing("scent", "fragrance")]
    weights = []
    for share in (0.02, 0.021, 0.022, 0.023, 0.024):
        batch = made(shop(things, [part("fat", 1.0), part("scent", share)], settings={"workshop_division": 5.0}))
        line = next(line for line in batch.lines if line.ingredient == "scent")
        assert line.g is not None
        assert line.weigh_g is not None
        assert abs(line.weigh_g - line.g) <= 2.5
        weights.append(line.weigh_g > line.g)
    assert any(weights)


def test_own_scale_of_a_thing() -> None:
    """A thing with a Scale division of its own is weighed to that one."""
    things = [oil(), naoh(division=0.1, division_unit="oz")]
    alkali = made(shop(things, [part("fat", 1.0)])).alkalis[0]
    tenths = alkali.g / 2.8349523125
    assert alkali.weigh_g == near(tenths // 1 * 2.8349523125)


@pytest.mark.parametrize("stock", [{"stock": 5.0}, {"stock_unit": "cm"}, {"stock": 5.0, "stock_unit": "each"}])
def test_stock_needs_a_unit_that_suits_it(stock: dict[str, Any]) -> None:
    """A stock without a unit, a unit of length without a stock, oil by the piece: each is refused."""
    assert refused(shop([oil(**stock), naoh()], [part("fat", 1.0)])) == ["unit_wrong"]


@pytest.mark.parametrize(
    ("band", "code"),
    [
        ({"amount": 2.0, "unit": "g"}, "packaging_not_counted"),
        ({"share": 0.1}, "packaging_not_counted"),
        ({"amount": 2.0, "unit": "each/bar"}, ""),
    ],
)
def test_packaging_is_counted(band: dict[str, Any], code: str) -> None:
    """Packaging by weight or by a share is refused; so many each bar are not."""
    things = [oil(), naoh(), thing("band", "packaging")]
    found = refused(shop(things, [part("fat", 1.0), part("band", **band)]))
    assert (code in found) if code else not found, found
