"""Native charts that read live cells: one look, told apart by shade and by pattern, so that grey print keeps them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from scaler.write.book import INK, Book
from scaler.write.tabs.shared import Page

SHADES = ("#2F5D50", "#D8C98B", "#8FA8A0", "#6B4E3D", "#C9C3B4", "#1F2D2B", "#A8563F", "#E9E3D2")
PATTERNS = ("wide_upward_diagonal", "small_grid", "wide_downward_diagonal", "dotted_grid")
_FONT = {"name": "Calibri", "size": 10, "color": INK}


@dataclass(frozen=True)
class Series:
    """One row of bars or one line: where its name, its categories and its values stand."""

    name: str
    categories: str
    values: str


def fill_of(number: int) -> dict[str, Any]:
    """Return the shade of a series, with a pattern where shades alone would be alike in grey print."""
    shade = SHADES[number % len(SHADES)]
    if number % 2 == 0 and number < len(SHADES):
        return {"fill": {"color": shade}}
    pattern = PATTERNS[number // 2 % len(PATTERNS)]
    return {"pattern": {"pattern": pattern, "fg_color": INK, "bg_color": shade}}


def bars(book: Book, title: str, axis: str, series: list[Series], whole: bool = False) -> Any:
    """Return a chart of stacked bars, lying; shares of a whole end at 100 %."""
    chart = book.file.add_chart({"type": "bar", "subtype": "stacked"})
    for number, item in enumerate(series):
        look = {"border": {"color": INK, "width": 0.5}, "gap": 50} | fill_of(number)
        chart.add_series({"name": item.name, "categories": item.categories, "values": item.values} | look)
    chart.set_y_axis({"reverse": True, "num_font": _FONT})
    chart.set_x_axis({"name": axis, "name_font": _FONT, "num_font": _FONT, "label_position": "high",
                      "major_gridlines": {"visible": True, "line": {"color": "#D9D4C7"}}}
                     | ({"max": 1, "num_format": "0%"} if whole else {}))  # fmt: skip
    return _dressed(chart, title, len(series) > 1)


def line(book: Book, title: str, x_axis: str, y_axis: str, series: list[Series]) -> Any:
    """Return a chart of lines, each with its own marker."""
    chart = book.file.add_chart({"type": "line"})
    markers = ("circle", "square", "diamond", "triangle", "x", "star", "long_dash", "plus")
    for number, item in enumerate(series):
        shade = SHADES[number % len(SHADES)] if number % len(SHADES) not in (1, 4, 7) else INK
        marker = {
            "type": markers[number % len(markers)],
            "size": 6,
            "border": {"color": shade},
            "fill": {"color": "#FFFFFF"},
        }
        look = {"line": {"color": shade, "width": 1.5}, "marker": marker}
        chart.add_series({"name": item.name, "categories": item.categories, "values": item.values} | look)
    chart.set_x_axis(
        {"name": x_axis, "name_font": _FONT, "num_font": _FONT, "num_format": "0%", "label_position": "low"}
    )
    chart.set_y_axis({"name": y_axis, "name_font": _FONT, "num_font": _FONT,
                      "major_gridlines": {"visible": True, "line": {"color": "#D9D4C7"}}})  # fmt: skip
    return _dressed(chart, title, True)


def _dressed(chart: Any, title: str, legend: bool) -> Any:
    chart.set_title({"name": title, "name_font": {"name": "Calibri", "size": 12, "bold": True, "color": INK}})
    chart.set_legend({"position": "bottom", "font": _FONT} if legend else {"none": True})
    return chart


def side_view(page: Page, index: int, width: int) -> tuple[Any, int]:
    """Return a drawing of a batch's mould to scale and its height in pixels; the points are read live.

    The axes are fixed a quarter larger than the mould, so that a changed size shows.
    """
    layout = page.layout
    count = layout.tables.lengths["drawing"] // page.batches
    first = index * count
    x = [page.value("drawing", "x", place) for place in range(first, first + count)]
    y = [page.value("drawing", "y", place) for place in range(first, first + count)]
    wide, high = max(*x, 1.0) * 1.25, max(*y, 1.0) * 1.25
    height = int(min(max(width * 0.8 * high / wide, 60), 260))
    wide = max(wide, high * width * 0.8 / height)
    chart = page.book.file.add_chart({"type": "scatter", "subtype": "straight"})
    roles = [layout.tables.column("drawing", "role")[place] for place in range(first, first + count)]
    for role, name, pen in _PENS:
        held = [first + number for number, of in enumerate(roles) if of == role]
        chart.add_series({
            "name": name,
            "categories": "=" + _span(page, "x", held),
            "values": "=" + _span(page, "y", held),
            "line": pen, "marker": {"type": "none"},
        })  # fmt: skip
    hidden = {"visible": False, "major_gridlines": {"visible": False}, "min": 0}
    chart.set_x_axis(hidden | {"max": wide})
    chart.set_y_axis(hidden | {"max": high})
    chart.set_legend({"none": True})
    chart.set_title({"none": True})
    chart.set_plotarea({"layout": {"x": 0.02, "y": 0.05, "width": 0.8, "height": height / (height + _ROOM)}})
    chart.set_chartarea({"border": {"none": True}})
    chart.set_size({"width": width, "height": height + _ROOM})
    return chart, height + _ROOM


SIDE_VIEW = "The mould from the side, to scale: thick line the mould, dashes the fill line, thin lines the bar cuts."
_ROOM = 20
"""Pixels left free above and below a drawing."""
_PENS = (
    ("outline", "Mould, from the side", {"color": INK, "width": 2.25}),
    ("cut", "Bar cuts", {"color": "#6B4E3D", "width": 0.75}),
    ("fill", "Fill line", {"color": "#2F5D50", "width": 1.75, "dash_type": "dash"}),
)


def _span(page: Page, name: str, places: list[int]) -> str:
    start, end = page.layout.cell("drawing", name, places[0]), page.layout.cell("drawing", name, places[-1])
    return f"{start}:{end.split('!')[1]}"
