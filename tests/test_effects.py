"""What makes the superfat unsure, what the rounded weights give, and how heavy a cured bar may be."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from itertools import pairwise

import pytest
from test_certainty import EACH, MOLAR_MASS, WORKSHOPS, counts, division, purity_range, sap_range
from workshops import made, naoh, oil, part, shop, table, thing, with_superfat

from scaler.model.records import Mould, Workshop
from scaler.engine import scale
from scaler.rules.results import Batch

Values = dict[tuple[str, str], float]
"""Uncertain quantities by what they are (sap, g, purity) and whose: the thing, or line and number."""


def middles(workshop: Workshop, batch: Batch) -> tuple[Values, Values, Callable[[Values], float]]:
    """Return every uncertain quantity in the middle of its range, its half-width, and the superfat they make."""
    things = {item.ingredient: item for item in workshop.ingredients}
    lines = [(f"{number}", line) for number, line in enumerate(batch.lines) if counts(things.get(line.ingredient))]
    middle: Values = {}
    half: Values = {}
    for number, line in lines:
        low, high = sap_range(things[line.ingredient])
        middle["sap", line.ingredient], half["sap", line.ingredient] = (low + high) / 2, (high - low) / 2
        middle["g", number], half["g", number] = line.g or 0.0, division(workshop, line.ingredient) / 2
    for alkali in batch.alkalis:
        low, high = purity_range(things[alkali.ingredient])
        middle["purity", alkali.ingredient], half["purity", alkali.ingredient] = (low + high) / 2, (high - low) / 2
        middle["g", alkali.ingredient] = alkali.g
        half["g", alkali.ingredient] = division(workshop, alkali.ingredient) / 2

    def superfat(values: Values) -> float:
        need = {"oil": 0.0, "acid": 0.0}
        for number, line in lines:
            taken = values["g", number] * values["sap", line.ingredient] / 1000
            need["oil" if line.kind == "oil" else "acid"] += taken
        met = math.fsum(
            values["g", item.ingredient] * values["purity", item.ingredient] / MOLAR_MASS[item.base]
            for item in batch.alkalis
        )
        return 1 - (met * MOLAR_MASS["KOH"] - need["acid"]) / need["oil"]

    return middle, half, superfat


def gum(workshop: Workshop, batch: Batch) -> tuple[float, Mapping[str, float]]:
    """Return the combined variance of superfat and each thing's part of it, by slopes taken numerically.

    JCGM 100:2008 (GUM) 5.1.2, a rectangular half-width counting its third root part (4.3.7); memory.
    """
    middle, half, superfat = middles(workshop, batch)
    parts: dict[str, float] = {}
    for (what, whose), value in middle.items():
        step = value * 1e-4
        up, down = (superfat(middle | {(what, whose): value + move}) for move in (step, -step))
        variance = ((up - down) / (2 * step) * half[what, whose]) ** 2 / 3
        name = batch.lines[int(whose)].ingredient if whose.isdigit() else whose
        parts[name] = parts.get(name, 0.0) + variance
    return math.fsum(parts.values()), parts


@EACH
def test_parts_are_those_of_the_gum(name: str) -> None:
    """Each thing's share of the variance, and the combined uncertainty, are those of an independent GUM calculation."""
    workshop = WORKSHOPS[name]
    batch = made(workshop)
    variance, parts = gum(workshop, batch)
    ours: dict[str, float] = {}
    for item in batch.superfat_parts:
        ours[item.thing] = ours.get(item.thing, 0.0) + item.share
    assert ours == pytest.approx({thing: part / variance for thing, part in parts.items() if part}, rel=1e-5, abs=1e-9)
    assert table(scale(workshop), "batches", "combined")[0] == pytest.approx(math.sqrt(variance), rel=1e-6)


@EACH
def test_parts_add_up_and_come_in_order(name: str) -> None:
    """The shares of the variance add up to 1 and the largest comes first."""
    shares = [item.share for item in made(WORKSHOPS[name]).superfat_parts]
    assert math.fsum(shares) == pytest.approx(1, abs=1e-12)
    assert all(first >= second - 1e-9 for first, second in pairwise(shares))


@EACH
def test_ranks_are_each_given_once(name: str) -> None:
    """The ranks of a batch's things are 1, 2, 3 ... in some order, equals too."""
    run = scale(WORKSHOPS[name])
    ranks = table(run, "effects", "rank")
    assert sorted(ranks) == list(range(1, len(ranks) + 1))
    shares, ordered = table(run, "effects", "share"), table(run, "effects", "ranked_share")
    assert sorted(ordered, reverse=True) == pytest.approx(sorted(shares, reverse=True), abs=1e-12)


def test_ranking_keeps_batches_apart() -> None:
    """A second batch of the same recipe has the parts of the first."""
    workshop = WORKSHOPS["mixed alkali"]
    first, second = scale(replace(workshop, batches=workshop.batches * 2)).batches
    assert first.superfat_parts == second.superfat_parts
    assert len(first.superfat_parts) == 4


def test_what_is_certain_has_no_part() -> None:
    """An oil whose certificate knows one value only, weighed to the microgram, makes nothing unsure."""
    exact = {"division": 1e-6, "division_unit": "g"}
    things = [oil("sure", 190.0, sap_low=190.0, sap_high=190.0, **exact), oil("unsure", 190.0, **exact), naoh(**exact)]
    parts = made(shop(things, [part("sure", 0.5), part("unsure", 0.5)], superfat=0.05)).superfat_parts
    assert parts[0].thing == "unsure"
    assert parts[0].share == pytest.approx(1, abs=1e-9)


# --- what the rounded weights give ---


@EACH
def test_superfat_of_the_weights_on_the_card(name: str) -> None:
    """The superfat of the weights to the scale is worked out again from the weights, the alkali's purity and the SAPs."""
    workshop = WORKSHOPS[name]
    batch = made(workshop)
    run = scale(workshop)
    in_use = dict(zip(table(run, "ingredients", "ingredient"), table(run, "ingredients", "sap_in_use"), strict=True))
    things = {item.ingredient: item for item in workshop.ingredients}
    need = {"oil": 0.0, "acid": 0.0}
    for line in batch.lines:
        if counts(things.get(line.ingredient)):
            need["oil" if line.kind == "oil" else "acid"] += (line.weigh_g or 0) * in_use[line.ingredient] / 1000
    koh = math.fsum(
        item.weigh_g * (things[item.ingredient].purity or 1) * MOLAR_MASS["KOH"] / MOLAR_MASS[item.base]
        for item in batch.alkalis
    )
    assert batch.superfat_weighed == pytest.approx(1 - (koh - need["acid"]) / need["oil"], abs=1e-12)


def test_rounding_of_the_alkali_never_lowers_superfat() -> None:
    """With oils that weigh out evenly, alkali rounded down leaves the superfat at or above what was aimed at."""
    base = shop([oil(division=1e-6, division_unit="g"), naoh()], [part("fat", 1.0)], mould=Mould(
        mould="loaf", shape="measured", capacity=1.4, capacity_unit="L", bars=10))  # fmt: skip
    for division_g in (0.1, 1.0, 2.0, 5.0):
        settings = tuple(
            replace(line, value=division_g) if line.setting == "Scale division" else line for line in base.costs
        )
        batch = made(with_superfat(replace(base, costs=settings), 0.05))
        assert batch.superfat_weighed + 1e-9 >= 0.05
        assert batch.superfat_weighed < 0.05 + division_g / batch.alkali_g
    assert batch.superfat_weighed > 0.0501, "the coarsest scale shows"


def test_weights_by_hand() -> None:
    """719.98 g of oil of SAP 190 and 97.52 g of NaOH weigh out as 720 g and 97 g, which is 0.54 % superfat."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)]))
    oils, alkali = math.floor(batch.oils_g + 0.5), math.floor(batch.alkali_g)
    by_hand = 1 - alkali / 39.99712 * 56.10565 / (oils * 0.190)
    assert batch.superfat_weighed == pytest.approx(by_hand, abs=1e-12)
    assert (oils, alkali, round(by_hand, 4)) == (720, 97, 0.0054)


# --- the cure ---


def cured(**cells: float | None) -> tuple[Batch, float, float]:
    """Return a batch with 28 % of water, and the lightest and the heaviest its cured bar should be [g]."""
    run = scale(shop([oil(), naoh()], [part("fat", 1.0)], **cells))
    return run.batches[0], *(table(run, "batches", name)[0] for name in ("cured_least_g", "cured_most_g"))


def test_cured_weight_by_hand() -> None:
    """A bar loses 0.6 of its water in the cure, at least 0.4 and at most 0.8: common practice, no source."""
    batch, least, most = cured()
    water = batch.bar_fresh_g * batch.liquid_g / batch.batter_g
    assert least == pytest.approx(batch.bar_fresh_g - 0.8 * water)
    assert batch.bar_cured_g == pytest.approx(batch.bar_fresh_g - 0.6 * water)
    assert most == pytest.approx(batch.bar_fresh_g - 0.4 * water)


def test_given_cure_loss_has_no_range() -> None:
    """A Cure loss that the maker gives stands for itself, 0 % too."""
    for loss in (0.1, 0.0):
        batch, least, most = cured(cure_loss=loss)
        assert batch.bar_cured_g == pytest.approx(batch.bar_fresh_g * (1 - loss))
        assert (least, most) == (batch.bar_cured_g, batch.bar_cured_g)


def test_only_water_dries_off() -> None:
    """Of milk of 87 % water, the bar loses of the water only."""
    milk = thing("milk", "liquid", water=0.87)
    run = scale(shop([oil(), naoh(), milk], [part("fat", 1.0), part("milk", 1.0)]))
    batch, least = run.batches[0], table(run, "batches", "cured_least_g")[0]
    water = batch.bar_fresh_g * batch.liquid_g * 0.87 / batch.batter_g
    assert least == pytest.approx(batch.bar_fresh_g - 0.8 * water)
