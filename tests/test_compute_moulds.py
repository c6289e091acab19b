"""Solids against numerical integration of their cross-sections, and the bars that are cut from them."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from scipy.integrate import quad  # type: ignore[import-untyped]
from workshops import made, naoh, oil, part, refused, shop

from scaler.model.records import Mould

INCH = 2.54  # cm, international inch (NIST SP 811 B.8)


def volume(**cells: Any) -> float:
    """Return the volume that one such mould is filled to [mL]."""
    cells = {"bars": 1, "unit": "cm"} | cells
    return made(shop([oil(), naoh()], [part("fat", 1.0)], mould=Mould(mould="mould", **cells))).volume_ml


def integrated(section: Callable[[float], float], height: float) -> float:
    """Return the volume of a solid whose level cross-section at each height is known."""
    result: float = quad(section, 0, height, epsabs=1e-12, epsrel=1e-12)[0]
    return result


@pytest.mark.parametrize("liner", [None, 0.15])
@pytest.mark.parametrize("fill", [None, 0.35, 0.8])
def test_box(liner: float | None, fill: float | None) -> None:
    """A liner comes off both walls and once off the bottom, and Fill is of the depth that is left."""
    lost = liner or 0
    section = (25 - 2 * lost) * (8 - 2 * lost)
    ours = volume(shape="box", length=25.0, width=8.0, depth=6.0, liner=liner, fill=fill)
    assert ours == pytest.approx(integrated(lambda _: section, (6 - lost) * (fill or 1)), rel=1e-9)


@pytest.mark.parametrize("liner", [None, 0.2])
@pytest.mark.parametrize("fill", [None, 0.4, 0.9])
@pytest.mark.parametrize("top", [(22.0, 9.0), (19.0, 8.0), (18.0, 5.0), (20.0, 7.0)])
def test_taper(top: tuple[float, float], liner: float | None, fill: float | None) -> None:
    """A slope-sided mould's length and width both change evenly from bottom to top of its depth, or stay as in a box."""
    lost = liner or 0
    depth = 6 - lost

    def section(height: float) -> float:
        up = height / depth
        return (20 + (top[0] - 20) * up - 2 * lost) * (7 + (top[1] - 7) * up - 2 * lost)

    cells = {"length": 20.0, "width": 7.0, "depth": 6.0, "top_length": top[0], "top_width": top[1]}
    ours = volume(shape="taper", liner=liner, fill=fill, **cells)
    assert ours == pytest.approx(integrated(section, depth * (fill or 1)), rel=1e-9)


@pytest.mark.parametrize("liner", [None, 0.1])
@pytest.mark.parametrize("fill", [None, 0.25])
def test_cylinder(liner: float | None, fill: float | None) -> None:
    """A cylinder stands upright: a liner comes off its wall all round and once off its length."""
    lost = liner or 0

    def width(across: float) -> float:
        return 2 * math.sqrt((7.5 / 2 - lost) ** 2 - across**2)

    disc = 2 * integrated(width, 7.5 / 2 - lost)
    ours = volume(shape="cylinder", diameter=7.5, length=30.0, liner=liner, fill=fill)
    assert ours == pytest.approx(disc * (30 - lost) * (fill or 1), rel=1e-9)


@pytest.mark.parametrize("liner", [None, 0.1])
@pytest.mark.parametrize("fill", [None, 0.05, 0.5, 0.95])
def test_half_cylinder(liner: float | None, fill: float | None) -> None:
    """A trough lies open at its flat side, filled to a share of its radius."""
    lost = liner or 0
    radius = 9 / 2 - lost

    def section(height: float) -> float:
        return 2 * math.sqrt(radius**2 - (radius - height) ** 2) * (28 - 2 * lost)

    ours = volume(shape="half cylinder", diameter=9.0, length=28.0, liner=liner, fill=fill)
    assert ours == pytest.approx(integrated(section, radius * (fill or 1)), rel=1e-9)


@pytest.mark.parametrize(
    ("cells", "millilitres"),
    [
        ({"shape": "cavities", "cavities": 6, "capacity": 110.0, "capacity_unit": "mL"}, 660),
        ({"shape": "cavities", "cavities": 6, "capacity": 110.0, "capacity_unit": "mL", "fill": 0.9}, 594),
        ({"shape": "cavities", "cavities": 9, "capacity": 4.0, "capacity_unit": "oz"}, 9 * 4 * 28.349523125),
        ({"shape": "measured", "capacity": 950.0, "capacity_unit": "g"}, 950),
        ({"shape": "measured", "capacity": 40.0, "capacity_unit": "fl oz", "fill": 0.5}, 20 * 29.5735295625),
    ],
)
def test_water_fill(cells: dict[str, Any], millilitres: float) -> None:
    """A mould measured by water fill holds 1 mL for each gram of water."""
    assert volume(**cells) == pytest.approx(millilitres, rel=1e-9)


def test_sizes_in_inches() -> None:
    """Every length of the row is in the row's Unit, the liner too."""
    ours = volume(shape="box", unit="in", length=10.0, width=3.5, depth=2.5, liner=0.125)
    assert ours == pytest.approx((10 - 0.25) * (3.5 - 0.25) * (2.5 - 0.125) * INCH**3, rel=1e-9)


def test_moulds_filled() -> None:
    """The volume to fill is that of all the moulds filled."""
    assert made(shop([oil(), naoh()], [part("fat", 1.0)], batch={"moulds_filled": 3})).volume_ml == 3000


# --- bars ---


def log(**cells: Any) -> Mould:
    """Return a box whose log is cut into bars."""
    return Mould(mould="log", **({"shape": "box", "unit": "cm", "length": 25.0, "width": 8.0, "depth": 6.0} | cells))


@pytest.mark.parametrize(
    ("cells", "bars"),
    [
        ({"bar_cut": 2.5}, 10),
        ({"bar_cut": 2.51}, 9),
        ({"bar_cut": 2.5, "trim": 0.1}, 9),
        ({"bar_cut": 2.4, "trim": 1.0}, 10),
        ({"length": 0.3, "bar_cut": 0.1}, 3),
        ({"length": 0.7, "bar_cut": 0.1}, 7),
        ({"length": 32.4, "bar_cut": 2.7}, 12),
        ({"length": 22.3, "trim": 0.7, "bar_cut": 2.4}, 9),
        ({"unit": "in", "length": 10.0, "width": 3.5, "depth": 2.5, "bar_cut": 1.25}, 8),
        ({"unit": "in", "length": 12.1, "width": 3.5, "depth": 2.5, "bar_cut": 1.1}, 11),
        ({"liner": 0.25, "bar_cut": 2.5}, 9),
        ({"liner": 0.25, "bar_cut": 2.45}, 10),
        ({"bar_cut": 2.5, "bars": 12}, 12),
        ({"shape": "taper", "top_length": 27.0, "top_width": 9.0, "bar_cut": 2.6}, 10),
        ({"shape": "half cylinder", "diameter": 8.0, "bar_cut": 2.5}, 10),
        ({"shape": "cylinder", "diameter": 8.0, "length": 30.0, "bar_cut": 2.5, "fill": 0.5}, 6),
        ({"shape": "cylinder", "diameter": 8.0, "length": 30.0, "bar_cut": 2.5, "fill": 0.5, "liner": 0.1}, 5),
        ({"shape": "cavities", "cavities": 6, "capacity": 100.0, "capacity_unit": "mL"}, 6),
        ({"shape": "cavities", "cavities": 6, "capacity": 100.0, "capacity_unit": "mL", "bars": 12}, 12),
        ({"bar_cut": 2.5, "cavities": 4}, 10),
    ],
)
def test_bars_in_a_mould(cells: dict[str, Any], bars: int) -> None:
    """Whole bars are cut from the trimmed log; Bars when filled, or a tray's Cavities, say it themselves."""
    shopped = shop([oil(), naoh()], [part("fat", 1.0)], mould=log(**cells), batch={"moulds_filled": 2})
    assert made(shopped).bars == 2 * bars


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        ({}, "bars_missing"),
        ({"bar_cut": 25.1}, "bars_none"),
        ({"bar_cut": 25.0}, "bars_none"),
        ({"bar_cut": 2.5, "trim": 25.0}, "bars_none"),
        ({"bar_cut": 2.5, "trim": 23.0}, "bars_none"),
        ({"bar_cut": 2.5, "liner": 4.0}, "liner_thick"),
        ({"shape": "measured", "capacity": 2.0, "capacity_unit": "L", "bar_cut": 2.5}, "bars_missing"),
    ],
)
def test_moulds_without_bars_are_refused(cells: dict[str, Any], code: str) -> None:
    """Trim or Bar cut not shorter than the log, or no bars, is a problem."""
    assert refused(shop([oil(), naoh()], [part("fat", 1.0)], mould=log(**cells))) == [code]


def test_cut_bar_weighs_its_share_of_the_log() -> None:
    """A cut bar's fresh weight is its cut's share of the whole log, trim and rest left out."""
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], mould=log(bar_cut=2.4, trim=1.5), batch={"moulds_filled": 2},
                      settings={"batter_loss": 0.04}))  # fmt: skip
    assert batch.bars == 18
    assert batch.bar_fresh_g == pytest.approx(batch.batter_g * 0.96 / 2 * 2.4 / 25, rel=1e-9)


def test_counted_bar_weighs_an_equal_share() -> None:
    """Where Bars says how many, each is an equal share of the batter in the moulds."""
    mould = log(bar_cut=2.4, bars=9)
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], mould=mould, settings={"batter_loss": 0.04}))
    assert batch.bar_fresh_g == pytest.approx(batch.batter_g * 0.96 / 9, rel=1e-9)


def test_cavity_bar_weighs_a_cavity() -> None:
    """A bar of a tray is what one cavity holds."""
    tray = Mould(mould="tray", shape="cavities", cavities=6, capacity=100.0, capacity_unit="mL")
    batch = made(shop([oil(), naoh()], [part("fat", 1.0)], mould=tray))
    assert batch.bar_fresh_g == pytest.approx(batch.batter_g / 6, rel=1e-9)
