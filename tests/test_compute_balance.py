"""What goes in comes out: weights, volumes and money of any workshop add up."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshops import koh, made, naoh, oil, pack, part, shop, thing

from scaler.model.records import Mould, Workshop
from scaler.model.reference import lye_density
from scaler.rules.results import Batch


def between(low: float, high: float) -> st.SearchStrategy[float]:
    """Return numbers of at most four digits, as makers type them."""
    return st.floats(low, high).map(lambda value: float(f"{value:.4g}"))


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Return a filled cell or a blank one."""
    return st.none() | strategy


LENGTHS = between(10, 60)
"""Never so little batter that a scale of 0.1 g cannot weigh it: that is refused."""
COMMON = {"fill": maybe(between(0.2, 1.0)), "bars": st.integers(1, 40)}
LINED = COMMON | {"unit": st.sampled_from(["cm", "in"]), "liner": maybe(between(0.05, 0.5))}
SHAPES = {
    "box": LINED | {"length": LENGTHS, "width": LENGTHS, "depth": LENGTHS},
    "taper": LINED | dict.fromkeys(["length", "width", "depth", "top_length", "top_width"], LENGTHS),
    "cylinder": LINED | {"diameter": LENGTHS, "length": LENGTHS},
    "half cylinder": LINED | {"diameter": LENGTHS, "length": LENGTHS},
    "cavities": COMMON
    | {"cavities": st.integers(1, 24), "capacity": between(250, 400), "capacity_unit": st.sampled_from(["mL", "g"])},
    "measured": COMMON | {"capacity": between(20, 400), "capacity_unit": st.sampled_from(["fl oz", "L"])},
}


@st.composite
def moulds(draw: st.DrawFn) -> Mould:
    """Return a mould of any shape."""
    shape = draw(st.sampled_from(sorted(SHAPES)))
    return Mould(mould="mould", shape=shape, **{name: draw(cell) for name, cell in SHAPES[shape].items()})


ACID_VALUE = between(300, 900)
OTHERS = {
    "acid": {"sap": ACID_VALUE},
    "additive": {"density": maybe(between(0.3, 2.5)), "fat": maybe(between(0.01, 0.3))},
    "fragrance": {"density": maybe(between(0.8, 1.1))},
    "colour": {},
}
LIQUID_COLUMNS = (("lye_concentration", 0.25, 0.33), ("liquid_to_alkali", 2.0, 3.0), ("liquid_of_oils", 0.5, 0.6))
PACK_UNITS = ("g", "kg", "oz", "lb", "L", "fl oz", "imp gal", "cup")


@st.composite
def shares(draw: st.DrawFn, count: int) -> list[float]:
    """Return shares that add up to 1."""
    weights = [draw(between(0.1, 1)) for _ in range(count)]
    return [weight / math.fsum(weights) for weight in weights]


@st.composite
def workshops(draw: st.DrawFn) -> Workshop:
    """Return a workshop of one batch: any shape, oils, liquids, alkalis, prices and settings."""
    oils = [oil(f"fat {number}", draw(between(90, 280)), density=draw(maybe(between(0.85, 1.0))))
            for number in range(draw(st.integers(1, 4)))]  # fmt: skip
    lines = [part(item.ingredient, share) for item, share in zip(oils, draw(shares(len(oils))), strict=True)]
    drink = {"water": maybe(between(0.75, 0.95)), "sap": maybe(between(1, 60))}
    liquids = [thing(f"drink {number}", "liquid", **{name: draw(cell) for name, cell in drink.items()})
               for number in range(draw(st.integers(0, 2)))]  # fmt: skip
    lines += [part(item.ingredient, share, in_lye=draw(st.sampled_from([None, "yes"])))
              for item, share in zip(liquids, draw(shares(len(liquids))), strict=True)]  # fmt: skip
    others = []
    for kind, cells in OTHERS.items():
        if draw(st.booleans()):
            others.append(thing(kind, kind, **{name: draw(cell) for name, cell in cells.items()}))
            lines.append(part(kind, draw(between(0.001, 0.05))))
    packing = thing("band", "packaging")
    lines.append(part("band", amount=draw(between(0, 3)), unit=draw(st.sampled_from(["each/bar", "each/batch"]))))
    alkalis = [naoh(purity=draw(maybe(between(0.9, 1.0)))), koh(purity=draw(maybe(between(0.8, 1.0))))]
    recipe: dict[str, Any] = {"superfat": draw(between(0.0, 0.2))}
    column, low, high = draw(st.sampled_from(LIQUID_COLUMNS))
    recipe[column] = draw(between(low, high))
    if draw(st.booleans()):
        recipe |= {"second_alkali": "potash", "koh_share": draw(between(0.05, 0.95))}
    recipe |= {"labour_minutes": draw(maybe(between(10, 200))), "labour_minutes_per_bar": draw(maybe(between(0.1, 5)))}
    things = [*oils, *liquids, *others, packing, *alkalis]
    prices = [
        pack(
            item.ingredient,
            draw(between(0, 50)),
            draw(between(0.1, 30)),
            draw(st.sampled_from(PACK_UNITS)),
            delivery=draw(maybe(between(0, 9))),
        )
        for item in [*oils, *liquids, *others, *alkalis]
        for _ in range(draw(st.integers(1, 2)))
    ]
    prices.append(pack("band", draw(between(0, 20)), draw(between(1, 100)), "each"))
    costs = {"workshop_division": draw(st.sampled_from([0.01, 0.1])), "batter_loss": draw(maybe(between(0.002, 0.2))), "reject_share": draw(maybe(between(0.01, 0.3))),
             "labour_rate": draw(maybe(between(1, 40))), "overhead": draw(maybe(between(0, 30)))}  # fmt: skip
    batch = {"moulds_filled": draw(maybe(st.integers(1, 5)))}
    return shop(things, lines, mould=draw(moulds()), prices=prices, batch=batch, settings=costs, **recipe)


def balanced(left: float, right: float) -> None:
    """Check that two sums are the same within 1e-9 of them."""
    assert left == pytest.approx(right, rel=1e-9, abs=1e-12)


def weights_add_up(batch: Batch) -> None:
    """Everything weighed, each thing once, is the batter."""
    balanced(math.fsum(line.g for line in batch.lines if line.g is not None), batch.batter_g)
    balanced(math.fsum(item.g for item in batch.alkalis), batch.alkali_g)
    for kind, weight in (("oil", batch.oils_g), ("liquid", batch.liquid_g), ("alkali", batch.alkali_g)):
        balanced(math.fsum(line.g or 0 for line in batch.lines if line.kind == kind), weight)
    names = [line.ingredient for line in batch.lines]
    assert len(names) == len(set(names))


def row_by_row(base: str, strength: float) -> float:
    """Return the density of a lye between the two rows of the handbook's table that it lies between [g/mL]."""
    rows = lye_density(base)
    for (low, light), (high, heavy) in pairwise(rows):
        if low <= strength <= high:
            return light + (heavy - light) * (strength - low) / (high - low)
    raise AssertionError(f"{strength} is beyond the table")


def volume_of(workshop: Workshop, batch: Batch) -> float:
    """Return the volume of a batch's batter, added up line by line [mL]."""
    things = {item.ingredient: item for item in workshop.ingredients}
    dry = math.fsum(
        line.g / (things[line.ingredient].density or (0.92 if line.kind == "oil" else 1.0))
        for line in batch.lines
        if line.g is not None and line.kind not in ("alkali", "liquid")
    )
    bases = [(item.base, item.g * (things[item.ingredient].purity or 1.0)) for item in batch.alkalis]
    pure = math.fsum(weight for _, weight in bases)
    lye = batch.alkali_g + batch.liquid_g
    return dry + math.fsum(lye * weight / pure / row_by_row(base, pure / lye) for base, weight in bases)


def volumes_add_up(workshop: Workshop, batch: Batch) -> None:
    """The volumes of what is weighed fill the moulds and the bowls."""
    loss = next(line.value for line in workshop.costs if line.setting == "Batter loss %") or 0.0
    assert isinstance(loss, float)
    balanced(volume_of(workshop, batch), batch.batter_ml)
    balanced(batch.batter_ml * (1 - loss), batch.volume_ml)


def money_adds_up(batch: Batch) -> None:
    """Every line's cost, labour and overhead are the total, which the bars fit to sell bear."""
    cost = batch.cost
    balanced(math.fsum(line.cost for line in batch.lines), cost.ingredients + cost.packaging)
    balanced(math.fsum(line.cost for line in batch.lines if line.kind == "packaging"), cost.packaging)
    balanced(cost.ingredients + cost.packaging + cost.labour + cost.overhead, cost.total)
    balanced(cost.per_bar * batch.bars_to_sell, cost.total)


def alkali_meets_the_need(workshop: Workshop, batch: Batch) -> None:
    """The pure bases, as KOH, are the oils' need less the superfat, and all that acids and sour liquids take."""
    things = {item.ingredient: item for item in workshop.ingredients}
    need = dict.fromkeys(("oil", "acid", "liquid"), 0.0)
    for line in batch.lines:
        if line.kind in need and line.ingredient in things:
            need[line.kind] += (line.g or 0) * (things[line.ingredient].sap or 0) / 1000
    molar_mass = {"NaOH": 39.99712, "KOH": 56.10565}  # g/mol, IUPAC standard atomic weights
    moles = [item.g * (things[item.ingredient].purity or 1) / molar_mass[item.base] for item in batch.alkalis]
    as_koh = math.fsum(moles) * molar_mass["KOH"]
    balanced(as_koh, need["oil"] * (1 - batch.superfat) + need["acid"] + need["liquid"])


def superfat_lies_between_its_extremes(batch: Batch) -> None:
    """The recipe's superfat lies between the lowest and the highest, and so does the likely interval."""
    if batch.alkali_g <= 20:  # to 1 g: a thimble of batter is no batch
        return
    low, high = batch.superfat_likely
    assert batch.superfat_low < low < high < batch.superfat_high
    assert batch.superfat_low < batch.superfat < batch.superfat_high


@settings(max_examples=50, deadline=None)
@given(workshops())
def test_what_goes_in_comes_out(workshop: Workshop) -> None:
    """Of any workshop weights, volumes and money add up, alkali meets the need, and superfat lies in its range."""
    batch = made(workshop)
    weights_add_up(batch)
    volumes_add_up(workshop, batch)
    money_adds_up(batch)
    alkali_meets_the_need(workshop, batch)
    superfat_lies_between_its_extremes(batch)


@settings(max_examples=25, deadline=None)
@given(workshops(), st.integers(2, 6))
def test_twice_the_moulds_is_twice_of_everything(workshop: Workshop, times: int) -> None:
    """Every weight grows with the moulds filled; a bar stays as heavy."""
    one, many = (
        made(replace(workshop, batches=(replace(workshop.batches[0], moulds_filled=count),))) for count in (1, times)
    )
    for single, several in zip(one.lines, many.lines, strict=True):
        balanced((single.g or 0) * times, several.g or 0)
    balanced(one.bar_fresh_g, many.bar_fresh_g)
    balanced(one.bars * times, many.bars)
