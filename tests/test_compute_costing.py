"""What a bar costs and the price that makes the margin, against arithmetic written out here."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from workshops import grams, koh, made, naoh, oil, pack, part, refused, shop, thing

from scaler.engine import scale
from scaler.model.records import Ingredient, Mould, Price
from scaler.rules import costing
from scaler.rules.results import Batch


def near(value: float) -> object:
    """Return what is equal to a value within 1e-9 of it."""
    return pytest.approx(value, rel=1e-9, abs=1e-12)


def cost_per_gram(*packs: Price) -> float:
    """Return what a gram of fat (0.92 g/mL) costs when these packs are on offer."""
    batch = made(shop([oil(density=0.92), naoh()], [part("fat", 1.0)], prices=packs))
    return next(line.cost for line in batch.lines if line.ingredient == "fat") / grams(batch, "fat")


@pytest.mark.parametrize(
    ("pack_of_one", "per_gram"),
    [
        (pack("fat", 12.0, 5.0, "kg"), 12 / 5000),
        (pack("fat", 12.0, 5.0, "kg", delivery=3.0), 15 / 5000),
        (pack("fat", 40.0, 35.0, "lb"), 40 / (35 * 453.59237)),
        (pack("fat", 6.5, 16.0, "oz"), 6.5 / (16 * 28.349523125)),
        (pack("fat", 9.0, 5.0, "L"), 9 / (5000 * 0.92)),
        (pack("fat", 9.0, 128.0, "fl oz", delivery=1.0), 10 / (128 * 29.5735295625 * 0.92)),
        (pack("fat", 9.0, 1.0, "imp gal"), 9 / (4546.09 * 0.92)),
        (pack("fat", 0.0, 5.0, "kg"), 0),
        (pack("fat", 0.0, 5.0, "kg", delivery=2.0), 2 / 5000),
    ],
)
def test_price_of_a_gram(pack_of_one: Price, per_gram: float) -> None:
    """A pack's price and delivery over what it holds, a volume through the density."""
    assert cost_per_gram(pack_of_one) == near(per_gram)


@pytest.mark.parametrize(
    ("lye", "g_per_ml"),
    [
        (naoh(purity=0.5, water=0.5), 1.5253),
        (naoh(purity=0.33, water=0.67), (1.3488 + 1.3697) / 2),
        (koh("soda", purity=0.45, water=0.55), 1.4538),
        (naoh(purity=0.5, water=0.5, density=1.49), 1.49),
    ],
)
def test_lye_bought_by_the_litre(lye: Ingredient, g_per_ml: float) -> None:
    """A litre of bought lye weighs what is published at its strength, unless the row says."""
    batch = made(shop([oil(), lye], [part("fat", 1.0)], prices=[pack("soda", 3.6, unit="L")], alkali="soda"))
    assert batch.cost.ingredients / batch.alkali_g == near(3.6 / (1000 * g_per_ml))


def test_cheapest_pack_counts_delivery() -> None:
    """The cheapest per gram is taken, delivery in: 4.00 + 5.00 for 2 kg beats 5.00 for 1 kg, 40.00 + 60.00 does not."""
    dear = pack("fat", 5.0, 1.0, "kg")
    assert cost_per_gram(dear, pack("fat", 4.0, 2.0, "kg", delivery=5.0)) == near(9 / 2000)
    assert cost_per_gram(dear, pack("fat", 40.0, 18.0, "kg", delivery=60.0)) == near(5 / 1000)


def test_prices_of_other_things_do_not_mix() -> None:
    """Each thing takes the cheapest of its own packs."""
    prices = [pack("soda", 3.0), pack("fat", 7.0), pack("soda", 2.0), pack("fat", 8.0)]
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], prices=prices))
    cost = {line.ingredient: line.cost for line in batch.lines}
    assert cost == {"fat": near(batch.oils_g * 0.007), "soda": near(batch.alkali_g * 0.002), "Water": 0}


def test_unpriced_wrapper_of_no_bars() -> None:
    """A batch without a mould cuts no bars, so a wrapper that nobody sells costs it nothing."""
    things = [oil(), naoh(), thing("band", "packaging")]
    lines = [part("fat", 1.0), part("band", amount=1.0, unit="each/bar")]
    batch = made(
        shop(things, lines, prices=[pack("fat", 7.0), pack("soda", 2.0)], batch={"mould": None, "oil_weight": 500.0})
    )
    assert batch.cost.packaging == 0
    assert batch.cost.total == near(500 * 0.007 + batch.alkali_g * 0.002)


OLD, RECENT = date(2024, 1, 1), date(2026, 11, 1)


@pytest.mark.parametrize(("first", "second", "warns"), [(OLD, RECENT, True), (RECENT, OLD, False)])
def test_tie_takes_the_first_row(first: date, second: date, warns: bool) -> None:
    """Of two packs as cheap as each other the first row is the one whose date counts."""
    prices = [pack("fat", 10.0, 5.0, date=first), pack("fat", 4.0, 2.0, date=second)]
    run = scale(shop([oil(), naoh()], [part("fat", 1.0)], prices=prices))
    assert ("price_old" in [warning.code for warning in run.batches[0].warnings]) is warns


def test_mixed_alkali_is_costed_by_its_own_prices() -> None:
    """Each alkali costs its own price, on exact grams."""
    prices = [pack("soda", 4.0), pack("potash", 9.0)]
    things = [oil(), naoh(), koh(purity=0.9)]
    batch = made(shop(things, [part("fat", 1.0)], prices=prices, second_alkali="potash", koh_share=0.4))
    soda, potash = batch.alkalis
    assert batch.cost.ingredients == near(soda.g * 0.004 + potash.g * 0.009)


def test_cost_of_a_bar() -> None:
    """57.60 for 24 bars of which 1 in 12 is rejected is 2.618 a bar fit to sell (worked_examples.md, derived)."""
    mould = Mould(mould="litre", shape="measured", capacity=1000.0, capacity_unit="mL", bars=24)
    settings = {"overhead": 57.60, "reject_share": 2 / 24}
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], mould=mould, settings=settings))
    assert batch.cost.total == near(57.60)
    assert batch.cost.per_bar == pytest.approx(2.618, abs=0.0005)
    assert batch.cost.per_bar == near(57.60 / 22)


def test_labour() -> None:
    """90 minutes a batch and 3 a bar cut, at 18.00 an hour, rejects too: 20 bars are 150 minutes."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], batch={"moulds_filled": 2}, labour_minutes=90.0,
                      labour_minutes_per_bar=3.0, settings={"labour_rate": 18.0, "reject_share": 0.1}))  # fmt: skip
    assert batch.cost.labour == near(2.5 * 18)


def test_packaging() -> None:
    """Two bands for every bar cut at 0.05 and one crate a batch at 1.20, delivery in the pack."""
    things = [oil(), naoh(), thing("band", "packaging"), thing("crate", "packaging")]
    lines = [part("fat", 1.0), part("band", amount=2.0, unit="each/bar"), part("crate", amount=1.0, unit="each/batch")]
    prices = [pack("band", 4.0, 100.0, "each", delivery=1.0), pack("crate", 12.0, 10.0, "each")]
    batch = made(shop(things, lines, prices=prices, batch={"moulds_filled": 3}))
    assert batch.cost.packaging == near(3 * 10 * 2 * 0.05 + 1.2)
    assert batch.cost.ingredients == 0


def test_parts_are_the_total() -> None:
    """Ingredients, packaging, labour and overhead are the total."""
    things = [oil(), naoh(), thing("band", "packaging")]
    lines = [part("fat", 1.0), part("band", amount=1.0, unit="each/bar")]
    prices = [pack("fat", 6.0), pack("soda", 3.0), pack("band", 0.1, unit="each")]
    settings = {"labour_rate": 15.0, "overhead": 4.0}
    batch = made(shop(things, lines, prices=prices, labour_minutes=60.0, settings=settings))
    expected = batch.oils_g * 0.006 + batch.alkali_g * 0.003 + 1.0 + 15 + 4
    assert batch.cost.total == near(expected)
    assert batch.cost.per_bar == near(expected / 10)


# --- price ---


def priced(per_bar: float, **settings: Any) -> Batch:
    """Return a batch whose bars cost this much each."""
    return made(shop([oil(), naoh()], [part("fat", 1.0)], settings={"overhead": per_bar * 10} | settings))


def test_margin_is_not_markup() -> None:
    """Cost 2.40 and price 6.00 are a margin of 60 % and a mark-up of 150 % (worked_examples.md, derived)."""
    price = priced(2.40, target_margin=0.6).price
    assert (price.before_tax, price.with_tax) == (near(6.00), near(6.00))
    assert (price.margin, price.markup) == (near(0.60), near(1.50))


def test_markup_of_a_margin() -> None:
    """A margin of 40 % is a mark-up of 66.67 % (worked_examples.md, derived)."""
    price = priced(2.40, target_margin=0.4, price_step=0).price
    assert price.markup == pytest.approx(0.6667, abs=0.00005)


@pytest.mark.parametrize(
    ("settings", "target", "before", "with_tax"),
    [
        # 2.40 / (1 - 0.5) = 4.80; with 20 % tax 5.76
        ({}, 4.80, 4.80, 4.80),
        ({"sales_tax": 0.2}, 4.80, 4.80, 5.76),
        ({"sales_tax": 0.2, "price_step": 0.5}, 4.80, 6 / 1.2, 6.0),
        ({"sales_tax": 0.2, "price_step": 0.5, "price_shown": "before tax"}, 4.80, 5.0, 6.0),
        ({"sales_tax": 0.2, "price_step": 0.25, "price_shown": "before tax"}, 4.80, 5.0, 6.0),
        # the card fee is of the price with tax: 2.40 / (1 - 0.5 - 0.025 x 1.2) = 2.40 / 0.47
        ({"sales_tax": 0.2, "card_fee": 0.025, "price_step": 0.1}, 2.40 / 0.47, 6.2 / 1.2, 6.2),
        ({"sales_tax": 0.2, "card_fee": 0.025, "price_step": 0}, 2.40 / 0.47, 2.40 / 0.47, 2.40 / 0.47 * 1.2),
    ],
)
def test_price(settings: dict[str, Any], target: float, before: float, with_tax: float) -> None:
    """The shown price is rounded up to the step, and the other one belongs to the rounded price."""
    price = priced(2.40, **settings).price
    assert price.target_before_tax == near(target)
    assert (price.before_tax, price.with_tax) == (near(before), near(with_tax))
    fee = settings.get("card_fee", 0) * with_tax
    assert price.margin == near((before - fee - 2.40) / before)
    assert price.markup == near((before - 2.40) / 2.40)


def test_price_without_step_makes_the_margin_exactly() -> None:
    """Not rounded, the price makes the target margin to the last digit, card fee and tax in."""
    price = priced(1.7, target_margin=0.37, sales_tax=0.19, card_fee=0.019, price_step=0).price
    assert price.margin == near(0.37)


@pytest.mark.parametrize("shown", ["with tax", "before tax"])
@pytest.mark.parametrize("margin", [0.7, 0.9])  # to a computer 1 - 0.7 is over 0.3, and 1 - 0.9 under 0.1
@pytest.mark.parametrize("step", [0.01, 0.05, 0.1, 0.2, 0.25, 0.5, 1.0])
def test_price_already_on_a_step_stays(step: float, margin: float, shown: str) -> None:
    """A target that lies on a step is not pushed to the next one by the last digits of binary numbers."""
    for count in range(1, 120):
        cost = step * count * {0.7: 0.3, 0.9: 0.1}[margin]
        target = costing.target_before_tax(cost, costing.price_bracket(margin, 0.0, 0.0))
        price = costing.shown(costing.shown_target(target, 0.0, shown), step)
        assert costing.before_tax(price, 0.0, shown) == near(step * count)
    price = priced(cost, target_margin=margin, price_step=step, price_shown=shown).price
    assert price.before_tax == near(step * count)


@pytest.mark.parametrize("count", [3, 7, 19])
def test_price_a_little_over_a_step_goes_up(count: int) -> None:
    """A target a millionth over a step takes the next step, so the margin is never missed."""
    price = priced((count * 0.25 + 1e-6) * 0.5, price_step=0.25).price
    assert price.with_tax == near((count + 1) * 0.25)
    assert price.margin >= 0.5


@pytest.mark.parametrize(
    ("margin", "fee", "tax", "possible"),
    [
        (0.5, 0.5, 0.0, False),
        (0.7, 0.3, 0.0, False),  # 1 - 0.7 - 0.3 is 5.6e-17 to a computer
        (0.9, 0.1, 0.0, False),
        (0.7, 0.25, 0.2, False),
        (0.7, 0.2, 0.2, True),
        (1.0, 0.0, 0.0, False),
        (0.99, 0.0, 0.0, True),
    ],
)
def test_impossible_margin_is_refused(margin: float, fee: float, tax: float, possible: bool) -> None:
    """A margin and a card fee that leave nothing for the cost are refused."""
    settings = {"target_margin": margin, "card_fee": fee, "sales_tax": tax}
    found = refused(shop([oil(), naoh()], [part("fat", 1.0)], settings=settings))
    assert found == ([] if possible else ["price_impossible"])


def test_unit_of_a_setting_that_takes_none_changes_nothing() -> None:
    """A word beside the labour rate, which is per hour, does not turn it into something else."""
    units = {"labour_rate": "min"}
    run = scale(shop([oil(), naoh()], [part("fat", 1.0)], settings={"labour_rate": 18.0}, setting_units=units))
    assert run.tables.one("costs", "labour_rate") == 18.0


@pytest.mark.parametrize(
    ("name", "value", "unit", "ours"),
    [
        ("workshop_division", 0.1, "oz", 2.8349523125),
        ("workshop_division", 2.0, None, 2.0),
        ("pot_size", 8.0, None, 8000.0),
        ("pot_size", 2.0, "gal", 2 * 3785.411784),
        ("jug_size", 64.0, "fl oz", 64 * 29.5735295625),
        ("unmould_after", 2.0, "d", 48.0),
        ("unmould_after", 36.0, None, 36.0),
        ("unmould_after", None, None, 48.0),
    ],
)
def test_setting_in_its_unit(name: str, value: float | None, unit: str | None, ours: float) -> None:
    """A setting with a unit is taken in the engine's own units, its default too."""
    units = {name: unit} if unit else {}
    run = scale(shop([oil(), naoh()], [part("fat", 1.0)], settings={name: value}, setting_units=units))
    assert run.tables.one("costs", name) == near(ours)


def test_price_of_zero_is_a_note() -> None:
    """A price of 0 is allowed and said."""
    run = scale(shop([oil(), naoh()], [part("fat", 1.0)], prices=[pack("soda", 2.0), pack("fat", 0.0)]))
    assert math.isclose(run.batches[0].cost.total, run.batches[0].alkali_g * 0.002)
    assert ("price_zero", "note") in {(warning.code, warning.level) for warning in run.batches[0].warnings}


def test_thing_without_a_price_has_no_cost() -> None:
    """Where something used has no price, the batch has no cost and no price, and its weights stand."""
    workshop = shop([oil(), naoh()], [part("fat", 1.0)], prices=[pack("soda", 2.0)])
    run = scale(replace(workshop, prices=workshop.prices[:1]))
    batch = run.batches[0]
    assert (batch.cost.total, batch.cost.per_bar, batch.price.with_tax) == (None, None, None)
    assert batch.alkali_g > 0
    assert ("price_missing", "look") in {(warning.code, warning.level) for warning in batch.warnings}
