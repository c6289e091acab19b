"""The mould seen from the side, to scale: points of its outline, its fill line and its bar cuts."""

from __future__ import annotations

from scaler.compute.steps import Step, Topic
from scaler.formula import Column, Number, larger, pick, same, smaller, when

MOULDS = Topic("moulds")
POINTS = Topic("drawing")

CUTS = 30
"""Bar cuts that a drawing can show."""

OUTLINE = ((-1.0, 0.0), (1.0, 0.0), (1.0, 1.0), (-1.0, 1.0), (-1.0, 0.0))
"""Side (-1 left, 1 right) and height (0 bottom, 1 top) of the corners, back to the first."""


def points() -> list[tuple[str, float, float, float]]:
    """Return the points of one drawing: role, side, height, and the number of the cut."""
    corners = [("outline", side, up, 0.0) for side, up in OUTLINE]
    fill = [("fill", -1.0, 0.0, 0.0), ("fill", 1.0, 0.0, 0.0)]
    cuts = []
    for cut in range(CUTS + 1):
        ends = ((-1.0, 0.0), (1.0, 1.0)) if cut % 2 == 0 else ((1.0, 1.0), (-1.0, 0.0))
        cuts += [("cut", side, up, float(cut)) for side, up in ends]
    return [*corners, *fill, *cuts]


@MOULDS.step("")
def upright(shape: str) -> Number:
    """1 for a tube, which stands and is cut across its height. -> [-]."""
    return when(same(shape, "cylinder"), 1, 0)


@MOULDS.step("cm")
def view_bottom(shape: str, inside_length: Number, inside_diameter: Number) -> Number:
    """Width at the bottom as seen from the side. [cm] [cm] -> [cm]."""
    return larger(when(same(shape, "cylinder"), inside_diameter, inside_length), 0)


@MOULDS.step("cm")
def view_top(shape: str, view_bottom: Number, inside_top_length: Number) -> Number:
    """Width at the top as seen from the side. [cm] [cm] -> [cm]."""
    return when(same(shape, "taper"), inside_top_length, view_bottom)


@MOULDS.step("cm")
def view_height(
    shape: str, inside_depth: Number, inside_height: Number, inside_diameter: Number, two: Number
) -> Number:
    """Height as seen from the side. [cm] x 3, [-] -> [cm]."""
    trough = when(same(shape, "half cylinder"), inside_diameter / two, inside_depth)
    return larger(when(same(shape, "cylinder"), inside_height, trough), 0)


@MOULDS.step("cm")
def cut_cm(log_cm: Number, bars_in_one: Number, bar_share: Number) -> Number:
    """Thickness of a bar along the log, 0 where none is cut. [cm] [-] [-] -> [cm]."""
    return when(bars_in_one > 0, log_cm * bar_share, 0)


@MOULDS.step("cm")
def first_cut_cm(log_cm: Number, bars_in_one: Number, cut_cm: Number, two: Number) -> Number:
    """Where the first bar begins: what is trimmed and left over is shared by both ends. [cm] [-] [cm] [-] -> [cm]."""
    return larger(log_cm - bars_in_one * cut_cm, 0) / two


@POINTS.step("")
def mould_at(batch_at: Number, batches_mould_at: Column) -> Number:
    """Row of the batch's mould. -> [-]."""
    return pick(batches_mould_at, batch_at)


@POINTS.step("")
def level(role: str, up: Number, mould_at: Number, moulds_filled: Column) -> Number:
    """Height of the point as a share of the mould's. [-] -> [-]."""
    return when(same(role, "outline"), up, when(same(role, "fill"), pick(moulds_filled, mould_at), up * pick(moulds_filled, mould_at)))  # fmt: skip


@POINTS.step("cm")
def along(cut: Number, mould_at: Number, moulds_bars_in_one: Column, moulds_cut_cm: Column, moulds_first_cut_cm: Column) -> Number:  # fmt: skip
    """Distance of the cut along the log; the last cut repeats. [-] [cm] [cm] -> [cm]."""
    return pick(moulds_first_cut_cm, mould_at) + smaller(cut, pick(moulds_bars_in_one, mould_at)) * pick(
        moulds_cut_cm, mould_at
    )


@POINTS.step("cm")
def edge(
    side: Number, level: Number, mould_at: Number, moulds_view_bottom: Column, moulds_view_top: Column, two: Number
) -> Number:
    """Distance of the mould's side from the left at this height. [-] [-] [cm] [cm] [-] -> [cm]."""
    bottom, top = pick(moulds_view_bottom, mould_at), pick(moulds_view_top, mould_at)
    return (larger(bottom, top) + side * (bottom + (top - bottom) * level)) / two


@POINTS.step("cm")
def x(
    role: str, along: Number, edge: Number, mould_at: Number, moulds_upright: Column, moulds_view_bottom: Column,
    moulds_view_top: Column, moulds_log_cm: Column, two: Number,
) -> Number:  # fmt: skip
    """Distance of the point from the left. [cm] x 5, [-] -> [cm]."""
    width = larger(pick(moulds_view_bottom, mould_at), pick(moulds_view_top, mould_at))
    start = (width - pick(moulds_log_cm, mould_at)) / two
    cut = when(pick(moulds_upright, mould_at) > 0, edge, start + along)
    return when(same(role, "cut"), cut, edge)


@POINTS.step("cm")
def y(
    role: str, along: Number, level: Number, mould_at: Number, moulds_upright: Column, moulds_view_height: Column
) -> Number:
    """Height of the point above the bottom. [cm] [-] [cm] -> [cm]."""
    height = pick(moulds_view_height, mould_at)
    return when(same(role, "cut"), when(pick(moulds_upright, mould_at) > 0, along, height * level), height * level)


STEPS: tuple[Step, ...] = (*MOULDS.steps, *POINTS.steps)
