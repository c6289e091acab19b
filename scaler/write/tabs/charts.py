"""Native charts that read live cells: one look, told apart by shade and by pattern, so that grey print keeps them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from scaler.write.book import INK, Book

SHADES = ("#2F5D50", "#D8C98B", "#8FA8A0", "#6B4E3D", "#C9C3B4", "#1F2D2B")
PATTERNS = ("wide_upward_diagonal", "small_grid", "wide_downward_diagonal")
_FONT = {"name": "Calibri", "size": 10, "color": INK}


@dataclass(frozen=True)
class Series:
    """One row of bars: where its name, its categories and its values stand."""

    name: str
    categories: str
    values: str


def fill_of(number: int) -> dict[str, Any]:
    """Return the shade of a series, with a pattern where shades alone would be alike in grey print."""
    shade = SHADES[number % len(SHADES)]
    if number % 2 == 0:
        return {"fill": {"color": shade}}
    return {"pattern": {"pattern": PATTERNS[number // 2 % len(PATTERNS)], "fg_color": INK, "bg_color": shade}}


def stacked_bars(book: Book, title: str, series: list[Series]) -> Any:
    """Return a chart of stacked bars, lying."""
    chart = book.file.add_chart({"type": "bar", "subtype": "stacked"})
    for number, item in enumerate(series):
        look = {"border": {"color": INK, "width": 0.5}, "gap": 50} | fill_of(number)
        chart.add_series({"name": item.name, "categories": item.categories, "values": item.values} | look)
    chart.set_y_axis({"reverse": True, "num_font": _FONT})
    gridlines = {"visible": True, "line": {"color": "#D9D4C7"}}
    chart.set_x_axis({"num_font": _FONT, "label_position": "high", "major_gridlines": gridlines})
    chart.set_title({"name": title, "name_font": {"name": "Calibri", "size": 12, "bold": True, "color": INK}})
    chart.set_legend({"position": "bottom", "font": _FONT})
    return chart
