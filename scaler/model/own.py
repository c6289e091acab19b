"""What is somebody's own in a finished workbook beside its inputs: comments, colours, widths, sheets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class OwnCell:
    """A cell of somebody's own sheet: what is written, its stored value, and its look by xlsxwriter's property names."""

    row: int
    column: int
    written: Any
    value: Any
    look: Mapping[str, Any]


@dataclass(frozen=True)
class OwnSheet:
    """A sheet of somebody's own: cells, widths by column (1, 2, ...), comments by address."""

    name: str
    cells: tuple[OwnCell, ...]
    widths: Mapping[int, float]
    comments: Mapping[str, str]


@dataclass
class Own:
    """Everything that is somebody's own in the workbooks that were read.

    Attributes:
        sheets: their sheets.
        comments: comments on input sheets by sheet and address.
        grounds: fills on input sheets, as #RRGGBB, by sheet and address.
        widths: widths of the columns of input sheets by sheet and letters.
        headers: letters of a column by sheet and what stands at its head.
        placed: comments that found their place in the new workbook.
    """

    sheets: list[OwnSheet] = field(default_factory=list)
    comments: dict[tuple[str, str], str] = field(default_factory=dict)
    grounds: dict[tuple[str, str], str] = field(default_factory=dict)
    widths: dict[tuple[str, str], float] = field(default_factory=dict)
    headers: dict[tuple[str, str], str] = field(default_factory=dict)
    placed: set[tuple[str, str]] = field(default_factory=set)
