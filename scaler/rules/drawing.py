"""The mould seen from the side, to scale: points of its outline, its fill line and its bar cuts."""

from __future__ import annotations

from typing import Any

from scaler.formula.helpers import Column, Number, larger, pick, same, smaller, when
from scaler.formula.steps import Step, StepGroup, described
from scaler.model.shapes import SHAPES

MOULDS = StepGroup("moulds")
CUT = StepGroup("moulds")
POINTS = StepGroup("drawing")

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


@MOULDS.step("cm")
def inside_radius(inside_diameter: Number, two: Number) -> Number:
    """Depth of a trough: half of its diameter. [cm] [-] -> [cm]."""
    return inside_diameter / two


def _seen(name: str, says: str) -> Step:
    """Return the step that picks, by its shape, the size that a mould shows from the side."""
    drawn = [(shape.word, getattr(shape.view, name)) for shape in SHAPES if shape.view]

    def of_shape(**values: Any) -> Any:
        size: Any = 0
        for word, held in drawn:
            size = when(same(values["shape"], word), larger(values[held], 0), size)
        return size

    return Step(
        "moulds", f"view_{name}", "cm", described(of_shape, ("shape", *dict.fromkeys(held for _, held in drawn)), says)
    )


@CUT.step("")
def upright(shape: str) -> Number:
    """1 where bars are cut across the height. -> [-]."""
    stands: Any = 0
    for held in SHAPES:
        if held.view and held.view.upright:
            stands = when(same(shape, held.word), 1, stands)
    return stands


@CUT.step("cm")
def cut_cm(log_cm: Number, bars_in_one: Number, bar_share: Number) -> Number:
    """Thickness of a bar along the log, 0 where none is cut. [cm] [-] [-] -> [cm]."""
    return when(bars_in_one > 0, log_cm * bar_share, 0)


@CUT.step("cm")
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
def along(
    cut: Number, mould_at: Number, moulds_bars_in_one: Column, moulds_cut_cm: Column, moulds_first_cut_cm: Column,
) -> Number:  # fmt: skip
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


VIEWS = (
    _seen("bottom", "Width at the bottom as seen from the side. [cm] -> [cm]."),
    _seen("top", "Width at the top as seen from the side. [cm] -> [cm]."),
    _seen("height", "Height as seen from the side. [cm] -> [cm]."),
)

STEPS: tuple[Step, ...] = (*MOULDS.steps, *VIEWS, *CUT.steps, *POINTS.steps)
