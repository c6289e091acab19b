"""The solids that moulds are: a new shape is one entry of `SHAPES`.

The reader's checks, the drop-down, the workings and the README follow. Rules are read as numbers and as formulas;
every length is inside the liner, in cm, and `filled` is the share of the depth that holds batter.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from scaler.formula.cells import Number
from scaler.formula.helpers import arc_cosine, pi, root


def box(inside_length: Number, inside_width: Number, inside_depth: Number, filled: Number) -> Number:
    """Return the volume of a block. [cm] [cm] [cm] [-] -> [mL]; solid geometry.

    >>> box(25.0, 8.0, 6.0, 1.0)
    1200.0
    """
    return inside_length * inside_width * inside_depth * filled


def taper(
    inside_length: Number, inside_width: Number, inside_top_length: Number, inside_top_width: Number,
    inside_depth: Number, filled: Number, two: Number, three: Number,
) -> Number:  # fmt: skip
    """Return the volume of a slope-sided mould to its fill line. [cm] x 5, [-] x 3 -> [mL]; solid geometry, prismatoid.

    >>> taper(20.0, 6.0, 22.0, 8.0, 6.0, 1.0, 2.0, 3.0)
    884.0
    """
    grows = inside_length * (inside_top_width - inside_width) + inside_width * (inside_top_length - inside_length)
    corner = (inside_top_length - inside_length) * (inside_top_width - inside_width)
    mean = inside_length * inside_width + filled / two * grows + filled * filled / three * corner
    return inside_depth * filled * mean


def cylinder(inside_diameter: Number, inside_height: Number, filled: Number, two: Number) -> Number:
    """Return the volume of an upright tube. [cm] [cm] [-] [-] -> [mL]; solid geometry.

    >>> round(cylinder(7.0, 30.0, 1.0, 2.0), 6)
    1154.5353
    """
    return pi(inside_diameter) * (inside_diameter / two) * (inside_diameter / two) * inside_height * filled


def half_cylinder(inside_diameter: Number, inside_length: Number, filled: Number, two: Number) -> Number:
    """Return the volume of a trough to its fill line. [cm] [cm] [-] [-] -> [mL]; solid geometry, circular segment.

    >>> round(half_cylinder(8.0, 25.0, 1.0, 2.0), 6)
    628.318531
    """
    segment = arc_cosine(1 - filled) - (1 - filled) * root(filled * (two - filled))
    return inside_length * (inside_diameter / two) * (inside_diameter / two) * segment


def cavity_tray(cavity_count: Number, capacity_ml: Number, filled: Number) -> Number:
    """Return the volume of equal cavities. [-] [mL] [-] -> [mL]; the maker's water fill.

    >>> cavity_tray(6.0, 110.0, 1.0)
    660.0
    """
    return cavity_count * capacity_ml * filled


def measured(capacity_ml: Number, filled: Number) -> Number:
    """Return the volume of a mould measured whole. [mL] [-] -> [mL]; the maker's water fill.

    >>> measured(950.0, 1.0)
    950.0
    """
    return capacity_ml * filled


def straight_log(inside_length: Number) -> Number:
    """Return the length that bars are cut from. [cm] -> [cm].

    >>> straight_log(25.0)
    25.0
    """
    return inside_length


def sloping_log(inside_length: Number, inside_top_length: Number, two: Number) -> Number:
    """Return the mean length that bars are cut from. [cm] [cm] [-] -> [cm].

    >>> sloping_log(20.0, 22.0, 2.0)
    21.0
    """
    return (inside_length + inside_top_length) / two


def standing_log(inside_height: Number, filled: Number) -> Number:
    """Return the filled height that bars are cut from. [cm] [-] -> [cm].

    >>> standing_log(30.0, 0.5)
    15.0
    """
    return inside_height * filled


def open_depth(inside_depth: Number) -> Number:
    """Return the depth of a mould that is open at its top. [cm] -> [cm].

    >>> open_depth(6.0)
    6.0
    """
    return inside_depth


def tube_depth(inside_height: Number) -> Number:
    """Return the depth of a tube that stands. [cm] -> [cm].

    >>> tube_depth(30.0)
    30.0
    """
    return inside_height


def trough_depth(inside_diameter: Number, two: Number) -> Number:
    """Return the depth of a half-round trough. [cm] [-] -> [cm].

    >>> trough_depth(8.0, 2.0)
    4.0
    """
    return inside_diameter / two


@dataclass(frozen=True)
class Shape:
    """A solid that a mould can be.

    Attributes:
        word: its word on sheet Moulds.
        needs: fields of a mould that must be filled.
        volume: rule for the volume to the fill line.
        log: rule for the length that bars are cut from; None where bars are not cut.
        says: one line for the README.
        inside: names of its sizes inside the liner; () for one measured by water.
        depth: rule for the depth that is filled from below; None where nothing is known of it.
    """

    word: str
    needs: tuple[str, ...]
    volume: Callable[..., Number]
    log: Callable[..., Number] | None
    says: str
    inside: tuple[str, ...] = ()
    depth: Callable[..., Number] | None = None

    @property
    def name(self) -> str:
        """The word as a column's name."""
        return self.word.replace(" ", "_")


SHAPES = (
    Shape("box", ("unit", "length", "width", "depth"), box, straight_log, "Block: Length x Width x Depth.",
          ("inside_length", "inside_width", "inside_depth"), open_depth),
    Shape("taper", ("unit", "length", "width", "depth", "top_length", "top_width"), taper, sloping_log,
          "Slope-sided loaf: Length and Width at the bottom, Top length and Top width at the top, Depth.",
          ("inside_length", "inside_width", "inside_depth", "inside_top_length", "inside_top_width"), open_depth),
    Shape("cylinder", ("unit", "diameter", "length"), cylinder, standing_log, "Tube standing up: Diameter x Length.",
          ("inside_diameter", "inside_height"), tube_depth),
    Shape("half cylinder", ("unit", "diameter", "length"), half_cylinder, straight_log,
          "Trough, open at its flat side: Diameter x Length.",
          ("inside_diameter", "inside_length"), trough_depth),
    Shape("cavities", ("cavities", "capacity", "capacity_unit"), cavity_tray, None,
          "Tray of equal cavities: Cavities x Capacity of one."),
    Shape("measured", ("capacity", "capacity_unit"), measured, None, "Anything else: Capacity by water fill."),
)  # fmt: skip

WORDS = tuple(shape.word for shape in SHAPES)
