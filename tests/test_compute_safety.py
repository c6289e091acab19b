"""Dangers: each rule speaks where it should and is quiet next door."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

import pytest
from workshops import LITRE, TODAY, koh, made, naoh, oil, pack, part, refused, shop, table, thing, warned, with_superfat

from scaler.model.records import Mould, Workshop
from scaler.engine import scale
from scaler.rules.safety import REFUSE, RULES

SURE = oil("fat", 190.0, sap_low=190.0, sap_high=190.0)
FINE = {"workshop_division": 0.1}
CUP = Mould(mould="cup", shape="measured", capacity=250.0, capacity_unit="mL", bars=1)


def plain(things: list[Any] | None = None, parts: list[Any] | None = None, **cells: Any) -> Workshop:
    """Return a workshop of one well-known oil in which no rule speaks, but for what is said here."""
    settings = FINE | cells.pop("settings", {})
    cells = {"superfat": 0.05} | cells
    return shop(things or [SURE, naoh()], parts or [part("fat", 1.0)], settings=settings, **cells)


def test_plain_workshop_draws_no_warning() -> None:
    """A sound recipe is worked out without a word."""
    assert warned(plain()) == []


def held_back(share: float) -> Workshop:
    """Return a recipe of 34 % lye of which this share of the liquid is held back."""
    things = [SURE, naoh(), thing("tea", "liquid"), thing("milk", "liquid", water=0.87)]
    parts = [part("fat", 1.0), part("tea", 1 - share), part("milk", share, in_lye="no")]
    return plain(things, parts, lye_concentration=0.34)


def acid_slack(liquid: float) -> Workshop:
    """Return a recipe whose flakes are 30 % carbonate, with so much liquid for 1 of flakes."""
    return plain([SURE, naoh(purity=0.7)], liquid_to_alkali=liquid)


def opened(day: date, **batch: Any) -> Workshop:
    """Return a recipe whose alkali was opened that day."""
    return plain([SURE, naoh(opened=day)], batch=batch)


def opened_second(day: date) -> Workshop:
    """Return a mixed recipe whose KOH was opened that day."""
    return plain([SURE, naoh(), koh(opened=day)], second_alkali="potash", koh_share=0.5)


def dated(day: date | None, name: str = "fat", **cells: Any) -> Workshop:
    """Return a recipe in which one price is of that day."""
    return plain(prices=[pack(name, 5.0, date=day)], **cells)


# 1 g of oils makes 1.390 g of batter besides the scent and a bar keeps 90 %: x / (0.9 (1.390 + x)) is 3 % at 0.0386.
def scented(share: float, limit: float = 0.03, kind: str = "fragrance", **cells: Any) -> Workshop:
    """Return a recipe with so much scent, in a bar that loses 10 % in the cure."""
    things = [SURE, naoh(), thing("scent", kind, limit=limit)]
    return plain(things, [part("fat", 1.0), part("scent", share)], cure_loss=0.1, **cells)


def scented_twice(first: float, second: float) -> Workshop:
    """Return a recipe with the same scent at two stages."""
    things = [SURE, naoh(), thing("scent", "fragrance", limit=0.03)]
    lines = [part("fat", 1.0), part("scent", first), part("scent", second, stage="top")]
    return plain(things, lines, cure_loss=0.1)


def olive(sap: float) -> Workshop:
    """Return a recipe of olive oil, published 184-196 mg KOH/g (Codex CXS 33)."""
    return plain([oil("Olive oil", sap, sap_low=sap, sap_high=sap), naoh()], [part("Olive oil", 1.0)])


# 1 mL of this batter holds 0.09 g of NaOH, of which 0.1 as KOH is 0.013 g.
def poured(millilitres: float, division: float = 0.1, **recipe: Any) -> Workshop:
    """Return a batch of so little batter, its alkali and oils weighed to so many grams."""
    mould = Mould(mould="drop", shape="measured", capacity=millilitres, capacity_unit="mL", bars=1)
    return plain([SURE, naoh(), koh()], mould=mould, settings={"workshop_division": division}, **recipe)


BATTER_OF_2_L = {"batch": {"moulds_filled": 2}}


def limited(**sizes: float) -> Workshop:
    """Return a recipe of 2 L in a workshop with vessels of these sizes in litres."""
    return plain(settings=sizes, **BATTER_OF_2_L)


# code, where it speaks, where it is quiet
Case = tuple[str, Callable[[], Workshop], Callable[[], Workshop]]
REFUSALS: list[Case] = [
    ("superfat_negative", lambda: plain(superfat=-0.001), lambda: plain(superfat=0.0)),
    ("lye_too_strong", lambda: plain(lye_concentration=0.501), lambda: plain(lye_concentration=0.5)),
    ("lye_too_strong", lambda: held_back(0.5), lambda: held_back(0.45)),
    ("liquid_short", lambda: acid_slack(0.99), lambda: acid_slack(1.0)),
    ("solution_alone", lambda: plain([SURE, naoh(purity=0.45, water=0.55)], lye_concentration=0.46),
     lambda: plain([SURE, naoh(purity=0.45, water=0.55)], lye_concentration=0.45)),
    ("pot_small", lambda: limited(pot_size=1.99), lambda: limited(pot_size=2.5)),
    ("jug_small", lambda: limited(jug_size=0.40), lambda: limited(jug_size=1.0)),
    ("batch_tiny", lambda: poured(0.8), lambda: poured(1.2)),
    ("batch_tiny", lambda: poured(6.0, second_alkali="potash", koh_share=0.1),
     lambda: poured(12.0, second_alkali="potash", koh_share=0.1)),
    ("batch_tiny", lambda: poured(1.2, division=1.0), lambda: poured(12.0, division=1.0)),
    ("over_limit", lambda: scented(0.0387), lambda: scented(0.0385)),
    ("over_limit", lambda: scented_twice(0.02, 0.0187), lambda: scented_twice(0.02, 0.0185)),
    *(("over_limit", partial(scented, 0.0387, kind=kind), partial(scented, 0.0385, kind=kind))
      for kind in ("additive", "colour")),
]  # fmt: skip
WARNINGS: list[Case] = [
    ("lye_strong", lambda: plain(lye_concentration=0.401), lambda: plain(lye_concentration=0.4)),
    ("superfat_high", lambda: plain(superfat=0.151), lambda: plain(superfat=0.15)),
    ("bar_odd", lambda: plain(mould=replace(LITRE, bars=2)), lambda: plain(mould=replace(LITRE, bars=3))),
    ("bar_odd", lambda: plain(mould=replace(LITRE, bars=120)), lambda: plain(mould=replace(LITRE, bars=100))),
    ("lye_weak", lambda: plain(lye_concentration=0.249), lambda: plain(lye_concentration=0.25)),
    ("superfat_worst_negative", lambda: plain([oil("fat", 190.0, sap_low=180.0, sap_high=200.0), naoh()]),
     lambda: plain([oil("fat", 190.0, sap_low=182.0, sap_high=200.0), naoh()])),
    ("superfat_worst_negative", lambda: plain([SURE, naoh(purity=0.9, purity_high=0.96)]),
     lambda: plain([SURE, naoh(purity=0.9, purity_high=0.94)])),
    ("scale_coarse", lambda: plain(settings={"workshop_division": 1.0}, mould=CUP, superfat=0.15),
     lambda: plain(mould=CUP, settings={"workshop_division": 0.05}, superfat=0.15)),
    ("alkali_old", lambda: opened(date(2025, 11, 24)), lambda: opened(date(2025, 11, 26))),
    ("alkali_old", lambda: opened(date(2025, 11, 30), make_date=date(2026, 12, 24)),
     lambda: opened(date(2025, 11, 30), make_date=date(2026, 11, 28))),
    ("alkali_old", lambda: opened_second(date(2024, 1, 1)), lambda: opened_second(date(2026, 1, 1))),
    ("opened_future", lambda: opened(date(2026, 11, 26)), lambda: opened(TODAY)),
    ("opened_future", lambda: opened_second(date(2026, 11, 26)), lambda: opened_second(TODAY)),
    ("pot_tight", lambda: limited(pot_size=2.4), lambda: limited(pot_size=2.6)),
    ("jug_tight", lambda: limited(jug_size=0.6), lambda: limited(jug_size=1.0)),
    ("price_old", lambda: dated(date(2025, 11, 24)), lambda: dated(date(2025, 11, 26))),
    ("price_old", lambda: dated(date(2026, 1, 1), settings={"price_age": 6.0}),
     lambda: dated(date(2026, 8, 1), settings={"price_age": 6.0})),
    ("price_old", lambda: dated(date(2025, 11, 24), "soda"), lambda: dated(date(2025, 11, 26), "soda")),
    ("price_old", lambda: dated(date(2025, 11, 24)), lambda: dated(None)),
    ("sap_outside", lambda: olive(183.9), lambda: olive(184.0)),
    ("sap_outside", lambda: olive(196.1), lambda: olive(196.0)),
]  # fmt: skip


def named(cases: list[Case]) -> list[Any]:
    """Return the cases, numbered by their code."""
    codes = [code for code, _, _ in cases]
    return [pytest.param(*case, id=f"{case[0]} {codes[:index].count(case[0]) + 1}") for index, case in enumerate(cases)]


@pytest.mark.parametrize(("code", "speaks", "quiet"), named(REFUSALS))
def test_refusal(code: str, speaks: Callable[[], Workshop], quiet: Callable[[], Workshop]) -> None:
    """The rule stops the job where it should, and not next door."""
    assert code in refused(speaks())
    assert refused(quiet()) == []


@pytest.mark.parametrize(("code", "speaks", "quiet"), named(WARNINGS))
def test_warning(code: str, speaks: Callable[[], Workshop], quiet: Callable[[], Workshop]) -> None:
    """The rule warns where it should, alone, and not next door."""
    assert warned(speaks()) == [code]
    assert code not in warned(quiet())


def test_every_rule_is_tried() -> None:
    """Every rule of the list has a case above."""
    tried = {code for code, _, _ in REFUSALS}, {code for code, _, _ in WARNINGS}
    codes = [(rule.code, rule.level == REFUSE) for rule in RULES]
    assert tried == ({code for code, stops in codes if stops}, {code for code, stops in codes if not stops})


def test_every_rule_says_what_and_why() -> None:
    """Each rule has an authority and each warning of a batch is two sentences."""
    assert all(rule.authority and rule.expected for rule in RULES)
    for _, speaks, _ in WARNINGS:
        for warning in made(speaks()).warnings:
            assert warning.text.count(". ") >= 1
            assert warning.text.endswith(".")


# --- the superfat that would be safe ---


RANGES = {
    "SAP range": plain([oil("fat", 190.0, sap_low=180.0, sap_high=200.0), naoh()], superfat=0.02),
    "no range known": plain([oil("fat", 190.0), naoh()], superfat=0.0, settings={"workshop_division": 1.0}),
    "purity range": plain([SURE, naoh(purity=0.93, purity_low=0.9, purity_high=1.0)], superfat=0.03),
    "mixed alkali": plain([oil("fat", 190.0), naoh(purity=0.98, purity_high=1.0), koh(purity=0.88, purity_high=0.93)],
                          superfat=0.01, second_alkali="potash", koh_share=0.4, settings={"workshop_division": 1.0}),
    "an acid": plain([oil("fat", 190.0), naoh(), thing("sour", "acid", sap=800.0, sap_low=700.0, sap_high=880.0)],
                     [part("fat", 1.0), part("sour", 0.02)], superfat=0.0),
    "a sour liquid": plain([oil("fat", 190.0), naoh(),
                            thing("vinegar", "liquid", sap=46.7, sap_low=40.0, sap_high=50.0)],
                           [part("fat", 1.0), part("vinegar", 1.0)], superfat=0.01),
    "two oils": plain([oil("soft", 190.0, sap_low=184.0, sap_high=196.0),
                       oil("hard", 256.5, sap_low=246.0, sap_high=265.0),
                       naoh(purity=0.99, purity_high=1.0)], [part("soft", 0.7), part("hard", 0.3)], superfat=0.02),
    "a small batch": plain([oil("fat", 190.0), naoh()], superfat=0.0, mould=CUP, settings={"workshop_division": 1.0}),
}  # fmt: skip


@pytest.mark.parametrize("name", RANGES)
def test_superfat_safe(name: str) -> None:
    """With the superfat that the warning names the worst case has no free lye, and at most 0.2 % to spare."""
    workshop = RANGES[name]
    run = scale(workshop)
    assert run.batches[0].superfat_low < 0
    safe = table(run, "batches", "superfat_safe")[0]
    assert f"{safe * 100:.1f} %" in " ".join(warning.text for warning in run.batches[0].warnings)
    again = made(with_superfat(workshop, round(safe, 3)))
    assert 0 <= again.superfat_low < 0.002
    assert "superfat_worst_negative" not in [warning.code for warning in again.warnings]


# --- saponification values on another basis ---


@pytest.mark.parametrize(
    ("sap", "basis"),
    [
        (0.1355, "grams of NaOH for 1 g of oil"),  # 190 x 0.712889 / 1000 (worked_examples.md, derived)
        (0.190, "grams of KOH for 1 g of oil"),
        (135.5, "milligrams of NaOH for 1 g of oil"),
        (13.55, "grams of NaOH for 100 g of oil"),
        (19.0, "grams of KOH for 100 g of oil"),
        (266.5, "once more"),  # 190 / 0.712889
    ],
)
def test_sap_on_another_basis_is_refused(sap: float, basis: str) -> None:
    """A SAP of a known oil that only fits on another basis is refused, and the basis is named."""
    problems = scale(plain([oil("Olive oil", sap), naoh()], [part("Olive oil", 1.0)])).problems
    assert [problem.code for problem in problems] == ["sap_basis"]
    assert basis in problems[0].do


def test_small_sap_of_an_unknown_oil_is_refused() -> None:
    """Nobody's oil has a SAP of 0.19, known or not."""
    assert refused(plain([oil("Aunt's oil", 0.19), naoh()], [part("Aunt's oil", 1.0)])) == ["sap_basis"]
    assert refused(plain([oil("Aunt's oil", 92.0), naoh()], [part("Aunt's oil", 1.0)])) == []


def test_sap_that_nothing_has_is_refused() -> None:
    """No fat or fatty acid needs more than 400 mg KOH/g, no acid more than 2000, known or not."""
    for name in ("Aunt's oil", "Olive oil"):
        assert refused(plain([oil(name, 1900.0), naoh()], [part(name, 1.0)])) == ["sap_basis"]
        assert refused(plain([oil(name, 401.0), naoh()], [part(name, 1.0)])) == ["sap_basis"]
    caprylic = 56.10565 / 144.214 * 1000  # molar mass of C8H16O2, computed
    assert refused(plain([oil("Goat acid", caprylic), naoh()], [part("Goat acid", 1.0)])) == []
    for value, codes in ((8760.0, ["sap_basis"]), (1718.0, [])):
        sour = thing("Grandmother's crystals", "acid", sap=value)
        lines = [part("fat", 1.0), part(sour.ingredient, 0.001)]
        assert refused(plain([SURE, naoh(), sour], lines)) == codes


def certificate(**cells: Any) -> Workshop:
    """Return a recipe of olive oil, published 184 to 196, with these cells of a certificate."""
    return plain([oil("Olive oil", cells.pop("sap", None), **cells), naoh()], [part("Olive oil", 1.0)])


@pytest.mark.parametrize(
    ("cells", "sound"),
    [
        ({"sap_low": 184.0, "sap_high": 187.0}, {"sap_low": 184.0, "sap_high": 191.0}),
        ({"sap_low": 192.0, "sap_high": 195.0}, {"sap": 193.0, "sap_low": 192.0, "sap_high": 195.0}),
        ({"sap_high": 188.0}, {"sap": 187.0, "sap_high": 188.0}),
        ({"sap_low": 200.0}, {"sap_low": 189.0}),
        ({"sap": 202.0, "sap_low": 200.0}, {"sap": 202.0, "sap_low": 200.0, "sap_high": 204.0}),
    ],
)
def test_certificate_that_a_blank_contradicts_is_refused(cells: dict[str, Any], sound: dict[str, Any]) -> None:
    """Where a blank SAP or end of its range would take a published value beside the certificate's, it must be filled."""
    assert refused(certificate(**cells)) == ["range_crossed"]
    assert refused(certificate(**sound)) == []


def test_weak_acid_with_a_blank_value_is_refused() -> None:
    """An acid of 495 to 505 by its certificate is not reckoned as pure citric acid because its SAP is blank."""
    lines = [part("fat", 1.0), part("Citric acid", 0.02)]
    weak = {"sap_low": 495.0, "sap_high": 505.0}
    assert refused(plain([SURE, naoh(), thing("Citric acid", "acid", **weak)], lines)) == ["range_crossed"]
    assert refused(plain([SURE, naoh(), thing("Citric acid", "acid", sap=500.0, **weak)], lines)) == []


@pytest.mark.parametrize(
    ("milk", "codes"),
    [
        ({"sap": 230.0, "water": 0.87}, ["sap_basis"]),
        ({"sap": 230.0, "water": 0.87, "fat": 0.0}, ["sap_basis"]),
        ({"sap": 230.0}, ["sap_basis"]),
        ({"sap": 230.0, "water": 0.87, "fat": 0.04}, []),
        ({"sap": 47.0, "water": 0.95}, []),
        ({"sap": 47.0}, []),
    ],
)
def test_fat_of_milk_is_no_acid(milk: dict[str, float], codes: list[str]) -> None:
    """Milk with its fat's SAP but without its Fat % would be alkali for an acid that is not there: it is refused."""
    lines = [part("fat", 1.0), part("drink", 1.0)]
    assert refused(plain([SURE, naoh(), thing("drink", "liquid", **milk)], lines, lye_concentration=0.3)) == codes


@pytest.mark.parametrize(
    ("alkali", "codes"),
    [
        (koh("Sodium hydroxide flakes"), ["base_contradicted"]),
        (koh("flakes", inci="Sodium Hydroxide"), ["base_contradicted"]),
        (naoh("Caustic potash"), ["base_contradicted"]),
        (naoh("Sodium hydroxide flakes", inci="Sodium Hydroxide"), []),
        (koh("KOH"), []),
        (naoh("lye"), []),
    ],
)
def test_base_that_the_name_contradicts_is_refused(alkali: Any, codes: list[str]) -> None:
    """NaOH that is entered as KOH would be weighed 40 % too heavy: a name or label name that says the other base stops."""
    assert refused(plain([SURE, alkali], alkali=alkali.ingredient)) == codes


def test_alkali_that_is_not_used_is_not_too_little() -> None:
    """A mixed recipe that is all KOH, or none, is no tiny batch and no coarse one."""
    for share in (0.0, 1.0):
        workshop = plain([SURE, naoh(), koh()], second_alkali="potash", koh_share=share)
        assert warned(workshop) == []


def test_blank_sap_of_an_unknown_oil_is_refused() -> None:
    """Without a published value there is no alkali to work out."""
    assert refused(plain([oil("Aunt's oil", None), naoh()], [part("Aunt's oil", 1.0)])) == ["sap_missing"]


def test_blank_sap_of_a_known_oil_takes_the_middle() -> None:
    """A blank SAP of olive oil is the middle of 184 to 196 mg KOH/g (Codex CXS 33)."""
    run = scale(plain([oil("Olive oil", None), naoh()], [part("Olive oil", 1.0)]))
    used = {name: table(run, "ingredients", name)[0] for name in ("sap_in_use", "sap_low_in_use", "sap_high_in_use")}
    assert used == {"sap_in_use": 190.0, "sap_low_in_use": 184.0, "sap_high_in_use": 196.0}


def test_blank_acid_takes_the_lowest_published_value() -> None:
    """A blank citric acid is taken at its lowest published value, the monohydrate's, so that no lye is left over."""
    things = [SURE, naoh(), thing("Citric acid", "acid")]
    run = scale(plain(things, [part("fat", 1.0), part("Citric acid", 0.02)]))
    lowest = 3 * 56.10565 / 210.1388 * 1000  # C6H8O7.H2O, three protons; molar mass by IUPAC atomic weights
    assert table(run, "ingredients", "sap_in_use")[2] == pytest.approx(lowest, abs=0.005)


def test_own_certificate_beats_the_published_range() -> None:
    """SAP low and SAP high of the row are used as they stand."""
    run = scale(plain([oil("Olive oil", 190.0, sap_low=189.0, sap_high=191.0), naoh()], [part("Olive oil", 1.0)]))
    assert table(run, "ingredients", "sap_low_in_use")[0] == 189.0
    assert table(run, "ingredients", "sap_high_in_use")[0] == 191.0


def test_unknown_oil_may_be_3_percent_off() -> None:
    """A SAP without any range may be 3 % lower or higher."""
    run = scale(plain([oil("Aunt's oil", 200.0), naoh()], [part("Aunt's oil", 1.0)]))
    assert table(run, "ingredients", "sap_low_in_use")[0] == pytest.approx(194.0)
    assert table(run, "ingredients", "sap_high_in_use")[0] == pytest.approx(206.0)
