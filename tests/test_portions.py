"""Part of a pot: additives, fragrances and colours that are dosed against their share of the batter."""

from __future__ import annotations

import random
import re
from pathlib import Path
from typing import Any

import pytest
from partner_edits import Edit, differences
from workshops import grams, made, naoh, oil, part, refused, shop, table, thing

import scaler
from scaler.engine import scale
from scaler.model.records import RecipeLine, Workshop
from scaler.write.finished import finished

CURE_LOSS = 0.14
THINGS = (
    oil("fat", density=0.92), naoh(), thing("milk", "liquid", water=0.87), thing("scent", "fragrance", density=0.9),
    thing("mint", "fragrance", density=0.9, limit=0.03), thing("pink", "colour"), thing("coal", "colour"), thing("honey", "additive"),
    thing("sour", "acid", sap=800.0), thing("band", "packaging"),
)  # fmt: skip


def workshop(*lines: RecipeLine) -> Workshop:
    """Return a workshop of one oil by share, and what else is in the pot."""
    return shop(THINGS, [part("fat", 1.0), *lines], superfat=0.05, cure_loss=CURE_LOSS)


TWO = (
    part("honey", 0.02),
    part("pink", None, 12.0, "g/kg", portion="Rose", portion_share=0.4),
    part("coal", 0.01, portion="Night", portion_share=0.25),
    part("scent", 0.03, portion="ROSE"),
    part("scent", None, 20.0, "mL/kg", portion="Night"),
)


def test_dosed_against_its_share() -> None:
    """12 g/kg of a 40 % portion of 1 kg of oils are 4.8 g; the whole pot's things are not touched."""
    batch = made(workshop(*TWO))
    held = {(line.ingredient, line.portion): line.g for line in batch.lines}
    expected = {
        ("honey", None): 0.02, ("pink", "Rose"): 0.012 * 0.4, ("coal", "Night"): 0.01 * 0.25,
        ("scent", "ROSE"): 0.03 * 0.4, ("scent", "Night"): 0.020 * 0.9 * 0.25,
    }  # fmt: skip
    for key, of_oils in expected.items():
        assert held[key] == pytest.approx(of_oils * batch.oils_g, rel=1e-12)
    assert sum(line.g or 0.0 for line in batch.lines) == pytest.approx(batch.batter_g, rel=1e-9)


def test_a_portion_of_all_is_the_whole_pot() -> None:
    """One portion of 100 % weighs what no portion weighs."""
    whole = made(workshop(part("pink", 0.013), part("scent", 0.03)))
    one = made(workshop(part("pink", 0.013, portion="all", portion_share=1.0), part("scent", 0.03, portion="all")))
    for name in ("fat", "soda", "pink", "scent"):
        assert grams(one, name) == pytest.approx(grams(whole, name), rel=1e-12)


def test_portions_weigh_what_small_pots_would() -> None:
    """What a portion takes is what a pot of that share of the oils would take, in 12 drawn recipes."""
    draw = random.Random(15)
    for _ in range(12):
        shares = (draw.uniform(0.1, 0.5), draw.uniform(0.1, 0.5))
        doses = [draw.uniform(0.001, 0.05) for _ in shares]
        batch = made(workshop(*(
            part("scent", dose, portion=str(place), portion_share=share)
            for place, (share, dose) in enumerate(zip(shares, doses, strict=True))
        )))  # fmt: skip
        for place, (share, dose) in enumerate(zip(shares, doses, strict=True)):
            small = made(
                shop(THINGS, [part("fat", 1.0), part("scent", dose)], superfat=0.05, batch={"mould": None, "oil_weight": batch.oils_g * share})
            )  # fmt: skip
            (line,) = (line for line in batch.lines if line.portion == str(place))
            assert line.g == pytest.approx(grams(small, "scent"), rel=1e-9)


def test_written_weights_stay() -> None:
    """A weight in a recipe of weights is for the portion as it is written."""
    lines = [part("fat", None, 1000.0, "g"), part("pink", None, 7.0, "g", portion="A", portion_share=0.3)]
    batch = made(shop(THINGS, lines, superfat=0.05))
    assert grams(batch, "pink") == pytest.approx(0.007 * batch.oils_g, rel=1e-12)


def test_card_goes_portion_by_portion() -> None:
    """On the card the lines of a portion stand together, its share beside each name."""
    held = table(scale(workshop(*TWO)), "batch_lines", "name_words")
    names = [str(name).partition(",")[0] for name in held if " (" in str(name)]
    assert all(re.search(r", in [0-9]+ g of batter\)", str(name)) for name in held if " (" in str(name))
    assert names == [
        "pink for Rose (40 %", "scent for ROSE (40 %", "coal for Night (25 %",
        "scent for Night (25 %",
    ]  # fmt: skip


def limit_of_portion(dose: float, share: float) -> float:
    """Return the share of a cured portion that a fragrance is, from weights."""
    batch = made(workshop(part("scent", dose, portion="A", portion_share=share)))
    mine = next(line.g for line in batch.lines if line.portion)
    assert mine
    portion = (batch.batter_g - mine) * share + mine
    return mine / (portion * (1 - CURE_LOSS))


def test_limit_holds_in_the_portion() -> None:
    """A fragrance below its limit in the bar as a whole is refused where its portion is above it, and just below is not."""
    at_limit = 0.03 / (limit_of_portion(0.03, 0.2) / 0.03)
    assert limit_of_portion(at_limit, 0.2) == pytest.approx(0.03, rel=0.01)
    for _ in range(3):  # the share is nearly, not quite, in proportion to the dose
        at_limit *= 0.03 / limit_of_portion(at_limit, 0.2)
    assert refused(workshop(part("mint", at_limit * 1.001, portion="A", portion_share=0.2))) == ["over_limit"]
    assert refused(workshop(part("mint", at_limit * 0.999, portion="A", portion_share=0.2))) == []
    both = (part("mint", at_limit / 2, portion="A", portion_share=0.2), part("mint", at_limit * 0.6))
    assert refused(workshop(*both)) == ["over_limit"]


@pytest.mark.parametrize(
    ("lines", "code"),
    [
        ([part("milk", 1.0, portion="A", portion_share=0.5)], "portion_kind"),
        ([part("sour", 0.01, portion="A", portion_share=0.5)], "portion_kind"),
        ([part("band", None, 1.0, "each/bar", portion="A", portion_share=0.5)], "portion_kind"),
        ([part("pink", 0.01, stage="In the Lye", portion="A", portion_share=0.5)], "portion_in_lye"),
        ([part("pink", 0.01, portion="A")], "portion_share_missing"),
        ([part("pink", 0.01, portion_share=0.4)], "portion_missing"),
        ([part("pink", 0.01, portion="A", portion_share=0.4), part("coal", 0.01, portion="a", portion_share=0.4)], "portion_share_twice"),
        ([part("pink", 0.01, portion="A", portion_share=0.6), part("coal", 0.01, portion="B", portion_share=0.41)], "portions_over"),
        ([part("pink", 0.01, portion="A", portion_share=0.6), part("pink", 0.02, portion="a")], "line_twice"),
    ],
)  # fmt: skip
def test_refused(lines: list[RecipeLine], code: str) -> None:
    """What cannot be a portion is refused, each in its own words."""
    assert set(refused(workshop(*lines))) == {code}


@pytest.mark.parametrize("shares", [(0.6, 0.4), (0.5, 0.3)])
def test_portions_of_all_or_less_are_fine(shares: tuple[float, float]) -> None:
    """Portions of 100 % together, or less, and one thing in both: the rest stays plain."""
    lines = [part("pink", 0.01, portion=str(share), portion_share=share) for share in shares]
    assert refused(workshop(*lines)) == []


def test_fat_is_no_portion() -> None:
    """An oil cannot be for a portion."""
    lines = [part("fat", 1.0, portion="A", portion_share=0.5)]
    assert refused(shop(THINGS, lines)) == ["portion_kind"]


@pytest.fixture(scope="module")
def content() -> bytes:
    """Return the finished workbook of a pot of two portions."""
    return finished(scale(workshop(*TWO)))


EDITS: tuple[dict[str, Any], ...] = (
    {"I6": 0.5}, {"I6": None}, {"H7": "Rose"}, {"H8": None}, {"H8": "Dawn"}, {"C8": 0.06}, {"H4": "Rose"}, {"I7": 0.9},
    {"B10": "pink", "C10": 0.02, "A10": "bar", "H10": "Dawn", "I10": 0.1}, {"H6": "Night"},
)  # fmt: skip


@pytest.mark.parametrize("cells", EDITS, ids=str)
def test_live_in_the_workbook(content: bytes, cells: dict[str, Any], tmp_path: Path) -> None:
    """What a partner types into Portion and Portion share is worked out by the workbook as by scaler, in every cell."""
    assert differences(content, Edit("Recipe lines", cells, str(cells)), tmp_path) == []


def test_given_back_it_reads_the_same(content: bytes, tmp_path: Path) -> None:
    """The finished workbook, read again, has the same portions."""
    path = tmp_path / "again.xlsx"
    path.write_bytes(content)
    run = scale(scaler.load(path))
    assert run.problems == ()
    assert run.batches[0].lines == scale(workshop(*TWO)).batches[0].lines


def test_card_weighs_what_is_in_the_jug_before_the_alkali() -> None:
    """Liquids of the lye and an acid come first, whatever their order and stage; then the alkali; then what cooled lye takes."""
    run = scale(workshop(
        part("honey", 0.02, stage="cooled lye"), part("scent", 0.02), part("sour", 0.01, stage="lye"), part("milk", 1.0),
    ))  # fmt: skip
    names, rows = table(run, "batch_lines", "ingredient"), table(run, "batch_lines", "card_row")
    shown = [names[row - 1] for row in rows if row]
    assert shown.index("sour") < shown.index("soda") < shown.index("honey") < shown.index("fat") < shown.index("scent")
    assert shown.index("milk") < shown.index("soda")
