"""The batter as a mixture: densities, volumes that add up, and the oil weight that fills the mould."""

from __future__ import annotations

from datetime import date

import pytest
from workshops import grams, koh, made, naoh, oil, part, refused, shop, table, thing

from scaler.engine import scale
from scaler.model.records import Mould

NAOH_PER_KOH = 39.99712 / 56.10565  # molar masses, IUPAC standard atomic weights


def near(value: float) -> object:
    """Return what is equal to a value within 1e-9 of it."""
    return pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("strength", "density"),
    [
        (0.30, 1.3277),  # CRC Handbook, Concentrative Properties of Aqueous Solutions, NaOH, 30.0 %
        (0.32, 1.3488),  # same, 32.0 %
        (0.40, 1.4299),  # same, 40.0 %
        (0.31, (1.3277 + 1.3488) / 2),  # half way between two rows
        (0.33, 1.3488 + (1.3697 - 1.3488) / 2),  # same
        (0.305, 1.3277 * 0.75 + 1.3488 * 0.25),  # a quarter of the way
        (0.50, 1.5253),  # Perry's Chemical Engineers' Handbook, NaOH, 50 %: the last row
    ],
)
def test_density_of_soda_lye(strength: float, density: float) -> None:
    """Lye has the handbook's density at a row of its table, and lies on the line between two rows."""
    run = scale(shop([oil(), naoh()], [part("fat", 1.0)], lye_concentration=strength))
    assert table(run, "recipes", "solution_strength")[0] == near(strength)
    assert table(run, "recipes", "naoh_density")[0] == near(density)


def test_density_of_potash_lye() -> None:
    """Potash lye of 30 % weighs 1.289 g/mL (Laliberte 2009 correlation, by thermo)."""
    from thermo.electrochem import Laliberte_density  # type: ignore[import-untyped]

    run = scale(shop([oil(), koh()], [part("fat", 1.0)], alkali="potash", lye_concentration=0.30))
    published = Laliberte_density(293.15, [0.30], ["1310-58-3"]) / 1000
    assert table(run, "recipes", "koh_density")[0] == pytest.approx(published, abs=0.0001)


def test_soda_lye_by_volume() -> None:
    """150 g NaOH to 30 % by mass fill 376.6 mL at 1.3277 g/mL (worked_examples.md, derived)."""
    run = scale(shop([oil(), naoh()], [part("fat", 1.0)], lye_concentration=0.30))
    per_gram = table(run, "recipes", "solution_ml")[0] / table(run, "recipes", "alkali_part")[0]
    assert per_gram * 150 == pytest.approx(376.6, abs=0.05)


def test_oils_that_fill_a_litre() -> None:
    """Two oils, 30 % lye of 98 % flakes, clay and scent fill 1 L with 4 % left in the bowls: written out by hand."""
    things = [oil("soft", 190.0, density=0.91), oil("hard", 256.5), naoh(purity=0.98),
              thing("clay", "additive", density=2.2), thing("scent", "fragrance", density=0.95)]  # fmt: skip
    lines = [part("soft", 0.6), part("hard", 0.4), part("clay", 0.01), part("scent", 0.03)]
    batch = made(shop(things, lines, superfat=0.05, lye_concentration=0.30, settings={"batter_loss": 0.04}))
    pure = 0.2166 * 0.95 * NAOH_PER_KOH  # SAP of the blend 216.6
    flakes = pure / 0.98
    water = flakes * 0.7 / 0.3
    strength = pure / (flakes + water)  # 29.4 %, between the rows of 28 % and 30 %
    density = 1.3064 + (1.3277 - 1.3064) * (strength - 0.28) / 0.02
    per_gram = 0.6 / 0.91 + 0.4 / 0.92 + (flakes + water) / density + 0.01 / 2.2 + 0.03 / 0.95
    assert 0.28 < strength < 0.30
    assert batch.oils_g == near(1000 / 0.96 / per_gram)
    assert batch.batter_ml == near(1000 / 0.96)
    assert batch.batter_g == near(1000 / 0.96 / per_gram * (1 + flakes + water + 0.01 + 0.03))
    assert batch.volume_ml == 1000
    readded = (
        grams(batch, "soft") / 0.91 + grams(batch, "hard") / 0.92 + grams(batch, "clay") / 2.2
        + grams(batch, "scent") / 0.95 + (batch.alkali_g + batch.liquid_g) / density
    )  # fmt: skip
    assert readded * 0.96 == near(1000)


def test_mixed_lye_weighs_volumes_by_base() -> None:
    """A mixed lye takes each base's volume at its strength, weighted by the weight of base."""
    things = [oil(), naoh(), koh(purity=0.9)]
    batch = made(shop(things, [part("fat", 1.0)], second_alkali="potash", koh_share=0.4, liquid_of_oils=0.40))
    soda, potash = 0.190 * 0.6 * NAOH_PER_KOH, 0.190 * 0.4
    lye = soda + potash / 0.9 + 0.40
    strength = (soda + potash) / lye  # 27.8 %
    assert 0.26 < strength < 0.28
    of_soda = 1.2848 + (1.3064 - 1.2848) * (strength - 0.26) / 0.02  # CRC Handbook, 26 and 28 %
    of_potash = 1.2375 + (1.2892 - 1.2375) * (strength - 0.25) / 0.05  # Laliberte 2009, 25 and 30 %
    volume = lye * (soda / of_soda + potash / of_potash) / (soda + potash)
    assert batch.oils_g == near(1000 / (1 / 0.92 + volume))


def test_strength_beyond_the_table_is_refused() -> None:
    """Lye beyond the tables' 50 % is refused."""
    assert "lye_too_strong" in refused(shop([oil(), naoh()], [part("fat", 1.0)], lye_concentration=0.51))
    assert refused(shop([oil(), naoh()], [part("fat", 1.0)], lye_concentration=0.50)) == []


@pytest.mark.parametrize("strength", [0.30, 0.31, 0.32, 0.33])
@pytest.mark.parametrize("sap", [188.0, 200.0, 215.0])
def test_loaf_takes_four_tenths_of_an_ounce_a_cubic_inch(strength: float, sap: float) -> None:
    """A loaf mould takes about 0.40 oz of oils per cubic inch (common practice, no source), here within 8 %."""
    loaf = Mould(mould="loaf", shape="box", unit="in", length=10.0, width=3.5, depth=2.5, bar_cut=1.0)
    things = [oil("fat", sap), naoh()]
    batch = made(shop(things, [part("fat", 1.0)], mould=loaf, superfat=0.05, lye_concentration=strength))
    ounces = batch.oils_g / 28.349523125
    assert ounces / (10 * 3.5 * 2.5) == pytest.approx(0.40, rel=0.08)


# --- bars and days ---


def test_rejects_are_not_rounded() -> None:
    """Bars fit to sell are the bars less the reject share, not rounded."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], settings={"reject_share": 0.05}))
    assert (batch.bars, batch.bars_to_sell) == (10, near(9.5))


def test_cure_loss_estimated() -> None:
    """A blank Cure loss is six tenths of the batter's water (common practice, no source), a milk's water alone."""
    things = [oil(), naoh(purity=0.5, water=0.5), thing("milk", "liquid", water=0.87)]
    batch = made(shop(things, [part("fat", 1.0), part("milk", 1.0)], liquid_of_oils=0.35))
    water = grams(batch, "milk") * 0.87 + batch.alkali_g * 0.5
    assert batch.bar_cured_g == near(batch.bar_fresh_g * (1 - 0.6 * water / batch.batter_g))


def test_cure_loss_of_plain_water() -> None:
    """Without a liquid line, the water that is taken for it is lost like any other."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], lye_concentration=0.3))
    assert batch.liquid_g > 0
    assert batch.bar_cured_g == near(batch.bar_fresh_g * (1 - 0.6 * batch.liquid_g / batch.batter_g))


def test_how_full_a_mould_is() -> None:
    """The card says how full a mould is that is not filled, and nothing of one that is."""
    half = shop([oil(), naoh()], [part("fat", 1.0)], batch={"oil_weight": 300.0})
    run = scale(half)
    (words,) = run.tables.column("batches", "filled_words")
    share = run.tables.column("batches", "fill_here")[0]
    assert 0.2 < share < 0.9
    assert words == f"litre × 1, {round(share * 100)} % full"
    assert scale(shop([oil(), naoh()], [part("fat", 1.0)])).tables.column("batches", "filled_words")[0] == "litre × 1"


def test_card_follows_the_stages() -> None:
    """What goes into the lye first, then stages as they first appear in the recipe, a liquid held back at trace, packing last, alkali after."""
    things = [oil("soft", 190.0), oil("hard", 256.5), naoh(), thing("tea", "liquid"), thing("scent", "fragrance"),
              thing("band", "packaging"), thing("clay", "additive"), thing("milk", "liquid")]  # fmt: skip
    lines = [part("band", amount=1.0, unit="each/bar"), part("scent", 0.02, stage="top"), part("soft", 0.6),
             part("tea", 0.6), part("clay", 0.01, stage="top"), part("hard", 0.4), part("milk", 0.4, in_lye="no")]  # fmt: skip
    batch = made(shop(things, lines))
    assert [(line.ingredient, line.stage) for line in batch.lines] == [
        ("tea", "lye liquid"), ("scent", "top"), ("clay", "top"), ("soft", "oils"), ("hard", "oils"),
        ("milk", "trace"), ("band", "packing"), ("soda", "lye"),
    ]  # fmt: skip


def test_cure_loss_as_given() -> None:
    """A cured bar is a fresh one less its Cure loss."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], cure_loss=0.12))
    assert batch.bar_cured_g == near(batch.bar_fresh_g * 0.88)


@pytest.mark.parametrize(("days", "ready"), [(None, date(2026, 12, 13)), (28.0, date(2026, 11, 29))])
def test_ready_date(days: float | None, ready: date) -> None:
    """Bars are ready Cure days after the make date, 42 where it is blank."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], batch={"make_date": date(2026, 11, 1)}, cure_days=days))
    assert batch.ready_date == ready


def test_batch_without_a_make_date_has_no_ready_date() -> None:
    """A batch that no day is set for is worked out all the same."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)]))
    assert (batch.make_date, batch.ready_date) == (None, None)
