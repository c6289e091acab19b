"""Every way to say how large a batch is, in every shape of mould, against first principles.

The volume of each shape is worked out here anew (solid geometry). What a gram of oils makes of batter is taken from a
batch that fills a mould of exactly 1 L, which other tests hold against published densities: a batter is a mixture, so
its weights and volumes are in proportion.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from partner_edits import Edit, differences
from workshops import LITRE, made, naoh, oil, pack, part, refused, shop

from scaler.engine import scale
from scaler.model.records import Batch, Mould, Workshop
from scaler.read.files import read_cells
from scaler.rules.results import Batch as Made
from scaler.write.finished import finished

LOSS, CURE_LOSS, STOCK = 0.03, 0.14, 3200.0
BATCHES_PER_WAY = 10
"""Of each of 5 ways in each of 6 shapes: 300."""


def workshop(mould: Mould | None, **batch: Any) -> Workshop:
    """Return a workshop of two oils, one of them on the shelf, and one batch."""
    things = [
        oil("olive", 189.0, density=0.914, stock=STOCK, stock_unit="g"),
        oil("coconut", 255.0, density=0.921),
        naoh(),
    ]
    return shop(
        things, [part("olive", 0.7), part("coconut", 0.3)], mould=mould or LITRE, prices=[pack("olive", 9.0), pack("soda", 4.0)],
        batch={"mould": mould.mould if mould else None} | batch, settings={"batter_loss": LOSS}, superfat=0.05, cure_loss=CURE_LOSS,
    )  # fmt: skip


@dataclass(frozen=True)
class Shape:
    """A mould, and what solid geometry and its cut say of it: mL, the log and its trim in cm, bars of a full mould."""

    mould: Mould
    ml: float
    log: float = 0.0
    trim: float = 0.0
    bars: int = 0
    cavities: int = 0


def moulds(seed: int) -> dict[str, Shape]:
    """Return one mould of each shape, their sizes drawn from a seed."""
    draw = random.Random(seed)
    length, width, depth = (round(draw.uniform(*ends), 1) for ends in ((20, 45), (6, 12), (5, 9)))
    cut, trim = round(draw.uniform(1.8, 3.2), 2), draw.choice((0.0, 0.5))
    top_length, top_width = length + 1.5, width + 1.0
    cavities, cavity = draw.randint(4, 12), round(draw.uniform(70, 130), 1)
    cuts: dict[str, Any] = {"unit": "cm", "bar_cut": cut, "trim": trim}

    def cut_from(log: float) -> dict[str, Any]:
        return {"log": log, "trim": trim, "bars": math.floor(round((log - trim) / cut, 9))}

    def of(shape: str, **cells: Any) -> Mould:
        return Mould(mould=shape, shape=shape, **cells)

    ends = length * width, top_length * top_width
    middle = (length + top_length) * (width + top_width) / 4
    sizes = {"length": length, "width": width, "depth": depth}
    return {
        "box": Shape(of("box", **sizes, **cuts), length * width * depth, **cut_from(length)),
        "taper": Shape(
            of("taper", **sizes, top_length=top_length, top_width=top_width, **cuts),
            depth * (ends[0] + 4 * middle + ends[1]) / 6, **cut_from((length + top_length) / 2),
        ),
        "cylinder": Shape(of("cylinder", diameter=width, length=length, **cuts), math.pi * width**2 / 4 * length, **cut_from(length)),
        "half cylinder": Shape(
            of("half cylinder", diameter=width, length=length, **cuts), math.pi * width**2 / 8 * length, **cut_from(length)
        ),
        "cavities": Shape(
            of("cavities", cavities=cavities, capacity=cavity, capacity_unit="mL"), cavities * cavity, bars=cavities, cavities=cavities
        ),
        "measured": Shape(of("measured", capacity=900.0, capacity_unit="mL", bars=9), 900.0, bars=9),
    }  # fmt: skip


def per_gram_of_oils() -> tuple[float, float]:
    """Return the batter that a gram of oils makes: g and mL."""
    litre = made(workshop(LITRE))
    assert litre.batter_ml * (1 - LOSS) == pytest.approx(1000.0, rel=1e-12)
    return litre.batter_g / litre.oils_g, litre.batter_ml / litre.oils_g


@dataclass(frozen=True)
class Expected:
    """What first principles say."""

    oils: float
    moulds: int
    fill: float
    bars: int
    cured: float
    cut: float | None


KEPT = (1 - LOSS) * (1 - CURE_LOSS)


def by_moulds(shape: Shape, draw: random.Random, g: float, ml: float) -> tuple[dict[str, Any], Expected]:
    """Fill so many moulds."""
    count = draw.randint(1, 3)
    oils = count * shape.ml / (1 - LOSS) / ml
    cut = float(shape.mould.bar_cut) if shape.mould.bar_cut else None
    share = cut / shape.log if cut else 1 / shape.bars
    return {"moulds_filled": count}, Expected(
        oils, count, 1.0, count * shape.bars, oils * g * KEPT / count * share, cut
    )


def by_bars(shape: Shape, draw: random.Random, g: float, ml: float) -> tuple[dict[str, Any], Expected]:
    """Make so many bars: whole moulds, of a tray only the cavities that they take."""
    wanted = draw.randint(1, 60)
    count = math.ceil(wanted / shape.bars)
    _, full = by_moulds(shape, random.Random(0), g, ml)
    one = full.oils / full.moulds
    if shape.cavities:
        used = wanted / shape.cavities
        return {"bars_wanted": wanted}, Expected(one * used, count, used / count, wanted, full.cured, None)
    return {"bars_wanted": wanted}, Expected(one * count, count, 1.0, count * shape.bars, full.cured, full.cut)


def by_oils(shape: Shape, draw: random.Random, g: float, ml: float) -> tuple[dict[str, Any], Expected]:
    """Take a weight of oils, typed in kg: the moulds are equally full, half of the logs cut to bars of a weight."""
    count = draw.randint(1, 3)
    oils = round(draw.uniform(0.2, 0.99) * count * shape.ml / (1 - LOSS) / ml, 1)
    cut = float(shape.mould.bar_cut) if shape.mould.bar_cut else None
    share = cut / shape.log if cut else 1 / shape.bars
    cells = {"oil_weight": oils / 1000, "weight_unit": "kg", "moulds_filled": count}
    fill = oils * ml * (1 - LOSS) / (count * shape.ml)
    cured, bars = oils * g * KEPT / count, shape.bars
    if shape.log and draw.random() < 0.5:
        cells["bar_weight"] = round(draw.uniform(0.02, 0.12) * cured) / 1000
        share = cells["bar_weight"] * 1000 / cured
        cut = share * shape.log
        bars = math.floor(round((shape.log - shape.trim) / cut, 9))
    return cells, Expected(oils, count, fill, count * bars, cured * share, cut)


def by_stock(shape: Shape, _draw: random.Random, g: float, ml: float) -> tuple[dict[str, Any], Expected]:
    """Use all of the olive up: it is 70 % of the oils."""
    oils = STOCK / 0.7
    count = math.ceil(oils * ml * (1 - LOSS) / shape.ml)
    cut = float(shape.mould.bar_cut) if shape.mould.bar_cut else None
    share = cut / shape.log if cut else 1 / shape.bars
    fill = oils * ml * (1 - LOSS) / (count * shape.ml)
    return {"use_up": "olive", "moulds_filled": count}, Expected(
        oils, count, fill, count * shape.bars, oils * g * KEPT / count * share, cut
    )


def by_bar_weight(shape: Shape, draw: random.Random, g: float, ml: float) -> tuple[dict[str, Any], Expected]:
    """Give a bar its weight: a log is cut to it, another mould filled to it."""
    full_cured = shape.ml / ml * g * (1 - CURE_LOSS)  # a full mould, cured
    if shape.log:
        weight = round(draw.uniform(70, 140), 1)
        cut = weight / full_cured * shape.log
        bars = math.floor(round((shape.log - shape.trim) / cut, 9))
        return {"bar_weight": weight}, Expected(shape.ml / (1 - LOSS) / ml, 1, 1.0, bars, weight, cut)
    weight = round(draw.uniform(0.4, 0.99) * full_cured / shape.bars, 2)
    fill = weight * shape.bars / full_cured
    return {"bar_weight": weight}, Expected(fill * shape.ml / (1 - LOSS) / ml, 1, fill, shape.bars, weight, None)


WAYS = (by_moulds, by_bars, by_oils, by_stock, by_bar_weight)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("shape", list(moulds(0)))
def test_sized_by_first_principles(way: Any, shape: str) -> None:
    """Oils, moulds, fill, bars, the cut and a bar's weight agree to 1e-9."""
    g, ml = per_gram_of_oils()
    for seed in range(BATCHES_PER_WAY):
        held = moulds(seed)[shape]
        cells, expected = way(held, random.Random(seed), g, ml)
        batch = made(workshop(held.mould, **cells))
        (poured,) = batch.moulds
        assert (batch.bars, poured.filled, poured.bars) == (expected.bars, expected.moulds, expected.bars)
        assert [batch.oils_g, batch.fill, batch.bar_cured_g] == pytest.approx(
            [expected.oils, expected.fill, expected.cured], rel=1e-9
        )
        unit = 1.0 if held.mould.unit != "mm" else 10.0
        assert poured.cut == (None if expected.cut is None else pytest.approx(expected.cut * unit, rel=1e-9))
        assert sum(line.g or 0.0 for line in batch.lines) == pytest.approx(batch.batter_g, rel=1e-9)


def test_without_a_mould() -> None:
    """Bars of a weight, a weight of oils with and without one: bars are what the cured weight gives."""
    g, _ = per_gram_of_oils()
    by_weight = made(workshop(None, bars_wanted=40, bar_weight=110.0))
    assert by_weight.oils_g == pytest.approx(40 * 110 / KEPT / g, rel=1e-9)
    assert (by_weight.bars, by_weight.bar_cured_g, by_weight.moulds, by_weight.volume_ml) == (40, 110.0, (), None)
    cut = made(workshop(None, oil_weight=48.0, weight_unit="oz", bar_weight=4.0))
    assert cut.oils_g == pytest.approx(3 * 453.59237, rel=1e-12)
    assert cut.bars == math.floor(round(cut.oils_g * g * KEPT / (453.59237 / 4), 9))
    loose = made(workshop(None, oil_weight=1500.0))
    assert (loose.bars, loose.cost.per_bar, loose.price.with_tax, loose.sized_by) == (0, None, None, "oil weight")
    assert loose.cost.per_kg == pytest.approx(loose.cost.total / (1500 * g * KEPT) * 1000, rel=1e-9)


def test_what_is_used_up_is_never_more_than_there_is() -> None:
    """The weigh-out of a thing that is used up is rounded down."""
    shelf = workshop(None, use_up="olive")
    things = tuple(replace(item, stock=3199.7) if item.stock else item for item in shelf.ingredients)
    batch = made(replace(shelf, ingredients=things))
    (line,) = (line for line in batch.lines if line.ingredient == "olive")
    assert (line.g, line.weigh_g) == (pytest.approx(3199.7), 3199.0)


BOX = moulds(0)["box"].mould


@pytest.mark.parametrize(
    ("mould", "cells", "code"),
    [
        (None, {}, "size_missing"),
        (None, {"bars_wanted": 40}, "size_missing"),
        (None, {"moulds_filled": 2, "oil_weight": 900.0}, "mould_missing"),
        (BOX, {"moulds_filled": 2, "bars_wanted": 40}, "size_twice"),
        (BOX, {"oil_weight": 900.0, "use_up": "olive"}, "size_twice"),
        (BOX, {"oil_weight": 900.0, "bars_wanted": 40}, "size_twice"),
        (BOX, {"use_up": "soda"}, "use_up_wrong"),
        (BOX, {"use_up": "coconut"}, "stock_missing"),
        (BOX, {"use_up": "nothing"}, "name_unknown"),
        (BOX, {"oil_weight": 90_000.0}, "mould_overfull"),
        (BOX, {"bar_weight": 9000.0}, "bar_weight_none"),
        (LITRE, {"bar_weight": 200.0}, "bar_weight_none"),
        (LITRE, {"oil_weight": 500.0, "bar_weight": 60.0}, "bar_weight_twice"),
        (BOX, {"oil_weight": 500.0, "weight_unit": "cm"}, "unit_wrong"),
        (None, {"oil_weight": 3.0, "bar_weight": 4.0, "weight_unit": "lb"}, "bar_weight_none"),
    ],
)
def test_refused(mould: Mould | None, cells: dict[str, Any], code: str) -> None:
    """What does not say one size, or what its moulds do not give, is refused."""
    assert refused(workshop(mould, **cells)) == [code]


def test_refusal_says_what_would_do() -> None:
    """The sentence names how many moulds would hold the batter, and the heaviest bar."""
    g, ml = per_gram_of_oils()
    (full,) = scale(workshop(LITRE, oil_weight=2500.0)).problems
    needed = math.ceil(2500 * ml * (1 - LOSS) / 1000)
    assert full.do == f"Fill {needed} of it, or make less."
    (heavy,) = scale(workshop(LITRE, bar_weight=200.0)).problems
    assert f"{round(1000 / ml * g * (1 - CURE_LOSS) / 10, 1):g} g is the heaviest" in heavy.says


SIZES = (
    {"E4": 55.0, "F6": 2000.0, "H5": 300.0},
    {"E4": None, "I6": "stone"},
    {"F4": 500.0, "C6": "cavities", "G7": "nobody"},
    {"C4": None, "E5": 7.0},
    {"D4": 3.0, "H7": 60.0},
)
"""What a partner types into rows of batches, none of which hangs on another."""


@pytest.fixture(scope="module")
def content() -> bytes:
    """Return the finished workbook of a batch of each way."""
    shapes = moulds(1)
    row = {"recipe": "bar"}
    batches = (
        Batch(**row, mould="box", bars_wanted=40), Batch(**row, mould="box", bar_weight=110.0),
        Batch(**row, oil_weight=1.5, weight_unit="kg"), Batch(**row, use_up="olive"),
        Batch(**row, bars_wanted=40, bar_weight=4.0, weight_unit="oz"), Batch(**row, mould="cavities", bars_wanted=3),
        Batch(**row, mould="cavities", bar_weight=50.0), Batch(**row, mould="measured"),
    )  # fmt: skip
    shelf = replace(workshop(None), moulds=tuple(shape.mould for shape in shapes.values()), batches=batches)
    run = scale(shelf)
    assert run.problems == ()
    return finished(run)


@pytest.mark.parametrize("cells", SIZES)
def test_live_in_the_workbook(content: bytes, cells: dict[str, Any], tmp_path: Path) -> None:
    """What a partner types into Batches is worked out by the workbook as by scaler, in every cell."""
    assert differences(content, Edit("Batches", cells, "sizes"), tmp_path) == []


def test_json_says_the_moulds() -> None:
    """A batch's object has its size, its fill and its moulds."""
    batch: Made = made(workshop(BOX, bars_wanted=30))
    assert (batch.sized_by, batch.fill) == ("bars", pytest.approx(1.0))
    (poured,) = batch.moulds
    assert (poured.cost_per_bar, poured.price) == (batch.cost.per_bar, batch.price.with_tax)


def test_one_pot_in_several_moulds() -> None:
    """A loaf and a tray of one pot: one batch, its batter shared by what each holds, its cost by bars and by batter."""
    shapes = moulds(2)
    g, ml = per_gram_of_oils()
    box, tray = shapes["box"], shapes["cavities"]
    rows = (
        Batch(batch="P", recipe="bar", mould="box", moulds_filled=2),
        Batch(batch="p", recipe="Bar", mould="cavities", bars_wanted=3),
    )
    shelf = replace(workshop(None), moulds=(box.mould, tray.mould), batches=rows)
    run = scale(shelf)
    assert run.problems == ()
    (batch,) = run.batches
    poured = 2 * box.ml + 3 * tray.ml / tray.cavities
    assert batch.oils_g == pytest.approx(poured / (1 - LOSS) / ml, rel=1e-9)
    assert (batch.mould, batch.bars, batch.moulds_filled) == ("box + cavities", 2 * box.bars + 3, 2)
    assert [(part.mould, part.filled, part.bars) for part in batch.moulds] == [
        ("box", 2, 2 * box.bars),
        ("cavities", 1, 3),
    ]
    assert all(part.price and part.cost_per_bar and part.price > part.cost_per_bar for part in batch.moulds)
    assert batch.moulds[1].fill == pytest.approx(3 / tray.cavities, rel=1e-9)
    assert batch.moulds[1].bar_cured_g == pytest.approx(tray.ml / tray.cavities / ml * g * (1 - CURE_LOSS), rel=1e-9)
    assert sum((part.cost_per_bar or 0) * part.bars for part in batch.moulds) == pytest.approx(
        batch.cost.total, rel=1e-9
    )


def test_moulds_of_set_oils_are_equally_full() -> None:
    """A weight of oils in a loaf and a tray fills both to the same height."""
    shapes = moulds(3)
    rows = (
        Batch(batch="P", recipe="bar", mould="box", oil_weight=500.0),
        Batch(batch="P", recipe="bar", mould="cavities"),
    )
    run = scale(replace(workshop(None), moulds=(shapes["box"].mould, shapes["cavities"].mould), batches=rows))
    (batch,) = run.batches
    assert [part.fill for part in batch.moulds] == pytest.approx([batch.fill, batch.fill], rel=1e-9)
    _, ml = per_gram_of_oils()
    assert batch.fill == pytest.approx(500 * ml * (1 - LOSS) / (shapes["box"].ml + shapes["cavities"].ml), rel=1e-9)


@pytest.mark.parametrize(
    ("rows", "code"),
    [
        ([{"batch": "P", "mould": "box"}, {"batch": "P", "mould": "cavities", "oil_weight": 400.0}], "size_twice"),
        ([{"batch": "P", "mould": "box"}, {"batch": "P", "bars_wanted": 9, "bar_weight": 90.0}], "mould_missing"),
        ([{"batch": "P", "mould": "box", "oil_weight": 400.0}, {"batch": "P", "mould": "cavities", "bars_wanted": 3}], "size_twice"),
        ([{"batch": "P", "mould": "box"}, {"batch": "Q", "mould": "box"}, {"batch": "P", "mould": "cavities"}], "pot_apart"),
    ],
)  # fmt: skip
def test_pot_refused(rows: list[dict[str, Any]], code: str) -> None:
    """Rows of one pot stand together, each with its mould, and only the first says the oils."""
    shapes = moulds(3)
    batches = tuple(Batch(recipe="bar", **row) for row in rows)
    shelf = replace(workshop(None), moulds=(shapes["box"].mould, shapes["cavities"].mould), batches=batches)
    assert refused(shelf) == [code]


@pytest.mark.parametrize("cells", [{"E4": 1}, {"F5": 6}, {"E4": None, "F5": None}], ids=str)
def test_one_pot_in_several_moulds_is_live(cells: dict[str, Any], tmp_path: Path) -> None:
    """Costing has a row for each mould, which follows what a partner types into Batches."""
    shapes = moulds(2)
    rows = (
        Batch(batch="P", recipe="bar", mould="box", moulds_filled=2),
        Batch(batch="P", recipe="bar", mould="cavities", bars_wanted=3),
    )
    shelf = replace(workshop(None), moulds=(shapes["box"].mould, shapes["cavities"].mould), batches=rows)
    held = finished(scale(shelf))
    assert "One pot in several moulds: a bar from each" in [cell.value for cell in read_cells(held)["Costing"].values()]
    assert differences(held, Edit("Batches", cells, str(cells)), tmp_path) == []
