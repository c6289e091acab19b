"""Blends: a recipe of oils alone as an ingredient of another, weighed as one, worked out as its oils."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import pytest
from partner_edits import Edit, differences
from typing_in import typed_over
from workshops import grams, made, naoh, oil, pack, part, refused, shop, table, thing

import scaler
from scaler.audit import verify
from scaler.engine import scale
from scaler.model.records import Recipe, RecipeLine, Workshop
from scaler.rules.results import Batch, Run
from scaler.write.finished import finished

THINGS = (
    oil("olive", 189.0, sap_low=184.0, sap_high=196.0, density=0.912), oil("coconut", 257.0, sap_low=248.0, sap_high=265.0, density=0.92),
    oil("shea", 180.0, sap_low=170.0, sap_high=190.0, density=0.91), naoh(), thing("clay", "additive"),
)  # fmt: skip
PRICES = (pack("olive", 7.0), pack("coconut", 4.0), pack("shea", 11.0))
MASTER = (("olive", 0.625), ("coconut", 0.375))


def of(recipe: str, parts: Sequence[RecipeLine]) -> list[RecipeLine]:
    """Return the lines as those of another recipe."""
    return [replace(line, recipe=recipe) for line in parts]


def blended(
    parts: Sequence[RecipeLine], blend: Sequence[RecipeLine] | None = None, name: str = "Master batch", **more: Any
) -> Workshop:
    """Return a workshop whose recipe has a blend among its lines."""
    mixed = of(name, blend if blend is not None else [part(oil, share) for oil, share in MASTER])
    held = shop(THINGS, [*parts, *mixed], prices=PRICES, superfat=0.05, **more)
    return replace(held, recipes=(*held.recipes, Recipe(recipe=name, superfat=0.05)))


def plain(shares: dict[str, float], more: Sequence[RecipeLine] = (), **others: Any) -> Batch:
    """Return the batch of a recipe that has its oils by themselves."""
    parts = [part(oil, share) for oil, share in shares.items()]
    return made(shop(THINGS, [*parts, *more], prices=PRICES, superfat=0.05, **others))


def same(first: Batch, second: Batch) -> None:
    """Hold every figure of two batches against one another but for what the scale does."""
    apart = (
        "lines", "superfat_weighed", "superfat_low", "superfat_high", "superfat_likely", "superfat_safe", "warnings",
        "moulds", "superfat_parts", "alkalis",
    )  # fmt: skip
    one, other = (
        {name: value for name, value in asdict(batch).items() if name not in apart} for batch in (first, second)
    )
    for name, value in one.items():
        assert value == pytest.approx(other[name], rel=1e-12), name
    assert [item.g for item in first.alkalis] == pytest.approx([item.g for item in second.alkalis], rel=1e-12)
    assert {line.ingredient for line in first.lines} == {line.ingredient for line in second.lines}
    for line in second.lines:
        assert grams(first, line.ingredient) == pytest.approx(line.g, rel=1e-12)


def test_worked_out_as_its_oils() -> None:
    """80 % of a blend of 62.5 and 37.5 % is 50 and 30 %: alkali, volumes, costs, price."""
    batch = made(blended([part("Master batch", 0.8), part("shea", 0.2), part("clay", 0.01)]))
    same(batch, plain({"olive": 0.5, "coconut": 0.3, "shea": 0.2}, [part("clay", 0.01)]))


def test_equal_oils_are_added_up() -> None:
    """Olive in the blend and beside it is one olive."""
    batch = made(blended([part("olive", 0.2), part("Master batch", 0.8)]))
    same(batch, plain({"olive": 0.7, "coconut": 0.3}))
    assert [line.ingredient for line in batch.lines].count("olive") == 1


LOW, MID = {"olive": 184.0, "coconut": 248.0, "shea": 170.0}, {"olive": 190.0, "coconut": 256.5, "shea": 180.0}
"""Lowest SAP, and the middle of its range."""


def both(parts: Sequence[RecipeLine], shares: dict[str, float], division: float) -> tuple[Run, Run]:
    """Return the run of a recipe with a blend, and of its oils by themselves, on a scale of a division (g)."""
    scales = {"settings": {"workshop_division": division}}
    alone = shop(THINGS, [part(oil, share) for oil, share in shares.items()], prices=PRICES, superfat=0.05, **scales)
    return scale(blended(parts, **scales)), scale(alone)


@pytest.mark.parametrize(
    ("parts", "apart", "shares"),
    [
        ([part("Master batch", 0.8), part("shea", 0.2)], {"shea"}, {"olive": 0.5, "coconut": 0.3, "shea": 0.2}),
        ([part("olive", 0.2), part("Master batch", 0.8)], {"olive"}, {"olive": 0.7, "coconut": 0.3}),
    ],
)  # fmt: skip
def test_a_blend_is_weighed_once(parts: list[RecipeLine], apart: set[str], shares: dict[str, float]) -> None:
    """At worst a division of each thing weighed is missing, one of the blend; likely its half, as one rectangular error."""
    division, blend = 5.0, dict(MASTER)
    mixed, alone = both(parts, shares, division)
    (one,), (other,) = mixed.batches, alone.batches
    need = sum(share * one.oils_g * LOW[oil] for oil, share in shares.items())
    weighed = sum(LOW[oil] for oil in apart) + sum(share * LOW[oil] for oil, share in blend.items())
    by_itself = sum(LOW[oil] for oil in shares)
    alkali = [(1 - item.superfat_low) * (need - division * sums) for item, sums in ((one, weighed), (other, by_itself))]
    assert alkali[0] == pytest.approx(alkali[1], rel=1e-12)
    combined = [table(run, "batches", "combined")[0] for run in (mixed, alone)]
    lever = (1 - table(alone, "batches", "superfat_mid")[0]) / table(alone, "batches", "oils_need_mid")[0]
    effect = division / 2 / math.sqrt(3) * lever / 1000
    errors = sum(MID[oil] ** 2 for oil in apart) + sum(share * MID[oil] for oil, share in blend.items()) ** 2
    more = effect**2 * (errors - sum(MID[oil] ** 2 for oil in shares))
    assert combined[0] ** 2 - combined[1] ** 2 == pytest.approx(more, rel=1e-9)


def test_fine_scale_leaves_no_difference() -> None:
    """On a scale that hardly errs the superfat at worst and likely are those of the oils by themselves."""
    mixed, alone = both([part("olive", 0.2), part("Master batch", 0.8)], {"olive": 0.7, "coconut": 0.3}, 1e-6)
    (one,), (other,) = mixed.batches, alone.batches
    for name in ("superfat_low", "superfat_high", "superfat_likely"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), abs=1e-8)


def test_random_blends() -> None:
    """20 drawn recipes of one or two blends and oils beside them agree with the same oils by themselves."""
    draw = random.Random(4)
    for _ in range(20):
        weights = [draw.uniform(0.1, 1) for _ in range(3)]
        blend = {oil: weight / sum(weights) for oil, weight in zip(("olive", "coconut", "shea"), weights, strict=True)}
        share = draw.uniform(0.05, 0.95)
        parts = [part("Master batch", share), part("shea", 1 - share)]
        batch = made(blended(parts, [part(oil, held) for oil, held in blend.items()]))
        total = {oil: held * share for oil, held in blend.items()}
        same(batch, plain(total | {"shea": total["shea"] + 1 - share}))


def test_by_weight() -> None:
    """Blend and recipe written in grams, the blend in millilitres of one of its oils too."""
    parts = [part("Master batch", None, 800.0, "g"), part("shea", None, 200.0, "g")]
    blend = [part("olive", None, 625.0 / 0.912, "mL"), part("coconut", None, 375.0, "g")]
    same(made(blended(parts, blend)), plain({"olive": 0.5, "coconut": 0.3, "shea": 0.2}))


def test_use_up_counts_what_is_in_the_blend() -> None:
    """Olive on the shelf is used up by the blend that holds it."""
    things = tuple(
        replace(item, stock=700.0, stock_unit="g") if item.ingredient == "olive" else item for item in THINGS
    )
    workshop = blended([part("Master batch", 0.8), part("shea", 0.2)], batch={"mould": None, "use_up": "olive"})
    assert grams(made(replace(workshop, ingredients=things)), "olive") == pytest.approx(700.0, rel=1e-12)


def test_card_weighs_the_blend() -> None:
    """The card has the blend on one line, to a division of the scale, and none of its oils; the running total counts it once."""
    run = scale(blended([part("Master batch", 0.8), part("shea", 0.2)]))
    oils = run.batches[0].oils_g
    names, weights, running = (table(run, "batch_lines", name) for name in ("name_words", "shown", "in_pot"))
    shown = {name: weight for name, weight in zip(names, weights, strict=True) if name}
    assert set(shown) == {"Master batch", "shea", "soda", "Water"}
    assert shown["Master batch"] == round(0.8 * oils)
    last = [total for name, total in zip(names, running, strict=True) if name and total != ""][-1]
    assert last == shown["Master batch"] + shown["shea"]
    bare = table(run, "batch_lines", "weight_words")
    assert not any(total != "" for total, weight in zip(running, bare, strict=True) if not weight)
    stages, rows = table(run, "batch_lines", "stage_words"), table(run, "batch_lines", "card_row")
    assert not any(stage for stage, row in zip(stages, rows, strict=True) if not row or not bare[row - 1])
    filled = [bool(weight) for weight in bare[4:]]  # after the alkalis, water, and the rows of the recipe's lines
    assert filled == sorted(filled, reverse=True)
    weighed = {line.ingredient: line.weigh_g for line in run.batches[0].lines}
    assert weighed["olive"] == pytest.approx(0.625 * shown["Master batch"], rel=1e-12)


def _priced(workshop: Workshop) -> Workshop:
    return replace(workshop, prices=(*workshop.prices, pack("Master batch", 5.0)))


BLEND = [part("Master batch", 0.8), part("shea", 0.2)]


@pytest.mark.parametrize(
    ("workshop", "codes"),
    [
        (blended(BLEND, [part("olive", 1.0), part("clay", 0.1)]), {"blend_not_oils"}),
        (blended(BLEND, [part("Master batch", 1.0)]), {"blend_not_oils"}),
        (blended(BLEND, [part("clay", 0.1)]), {"blend_not_oils"}),
        (blended(BLEND, [part("olive", 0.6), part("coconut", 0.3)]), {"shares_off"}),
        (blended(BLEND, [part("olive", 0.6), part("coconut", None, 300.0, "g")]), {"amounts_mixed"}),
        (blended([part("olive", 0.5), part("shea", 0.5)], name="olive"), {"blend_unclear"}),
        (blended([part("Master batch", None, 800.0, "mL"), part("shea", None, 200.0, "g")]), {"unit_wrong"}),
        (blended([part("Master batch", 0.4), part("Master batch", 0.4), part("shea", 0.2)]), {"line_twice"}),
        (_priced(blended(BLEND)), {"blend_priced"}),
        (blended([part("Master bath", 0.8), part("shea", 0.2)]), {"name_unknown"}),
        (blended(BLEND), set()),
    ],
)  # fmt: skip
def test_refused(workshop: Workshop, codes: set[str]) -> None:
    """What cannot be mixed ahead is refused, each in its own words."""
    assert set(refused(workshop)) == codes


def test_a_blend_that_is_made_by_itself_needs_liquid() -> None:
    """A recipe that others have as an ingredient may be a soap too, and then is asked for its liquid."""
    workshop = blended(BLEND)
    alone = replace(workshop.batches[0], batch="2", recipe="Master batch")
    assert refused(replace(workshop, batches=(*workshop.batches, alone))) == ["liquid_missing"]


@pytest.fixture(scope="module")
def content() -> bytes:
    """Return the finished workbook of a recipe with a blend."""
    return finished(scale(blended([part("Master batch", 0.6), part("olive", 0.4), part("clay", 0.01)])))


EDITS: tuple[dict[str, Any], ...] = (
    {"C4": 0.5, "C5": 0.5}, {"C7": 0.5, "C8": 0.5}, {"C7": 0.5}, {"B4": "shea"}, {"B8": "shea"}, {"B7": "Master batch"}, {"C4": None},
    {"A7": None, "B7": None, "C7": None}, {"B5": "coconut"}, {"A9": "Master batch", "B9": "shea", "C9": 0.1}, {"B4": "nothing"},
)  # fmt: skip


@pytest.mark.parametrize("cells", EDITS, ids=str)
def test_live_in_the_workbook(content: bytes, cells: dict[str, Any], tmp_path: Path) -> None:
    """What a partner types into a recipe with a blend, and into the blend, is worked out as by scaler, or refused: blend_unwired."""
    assert differences(content, Edit("Recipe lines", cells, str(cells)), tmp_path) == []


def test_verify_says_that_a_blend_has_other_oils(content: bytes, tmp_path: Path) -> None:
    """As it was made it is sound; with another oil in the blend it must be made again."""
    path = tmp_path / "made.xlsx"
    path.write_bytes(content)
    assert verify(path).sound
    path.write_bytes(typed_over(content, {("Recipe lines", "B8"): "shea"}))
    assert verify(path).failing[0].startswith("A blend has other oils")


def test_given_back_it_reads_the_same(content: bytes, tmp_path: Path) -> None:
    """The finished workbook, read again, has the same blend."""
    path = tmp_path / "again.xlsx"
    path.write_bytes(content)
    run = scale(scaler.load(path))
    assert run.problems == ()
    assert len(run.workshop.lines) == 5
