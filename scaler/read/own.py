"""What a maker or a partner put into a finished workbook beside its inputs: comments, colours, widths, sheets."""

from __future__ import annotations

import colorsys
import io
import warnings
import zipfile
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from pathlib import Path
from string import ascii_uppercase
from typing import Any
from xml.etree import ElementTree

from scaler.model.own import CARD_COLUMNS, Mark, Own, OwnCell, OwnSheet, pointed_at
from scaler.model.records import BATCHES
from scaler.model.schema import FOOT, letters
from scaler.read.files import stored_values

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_DRAWING = "{http://schemas.openxmlformats.org/drawingml/2006/main}"
_BOOK = "xl/workbook.xml"
_TOP = 12
"""Rows among which the headers of an input sheet stand."""
_DRAWN = ("/chart", "/image")


def own_of(paths: Iterable[Path], inputs: Collection[str], ours: Collection[str], cards: str = "") -> Own:
    """Return what is somebody's own in finished workbooks that have been read before.

    Args:
        paths: finished workbooks.
        inputs: names of the input sheets.
        ours: names of every sheet that scaler writes.
        cards: the one of them on which people write what they weigh.
    """
    own = Own()
    for path in paths:
        with zipfile.ZipFile(path) as archive:
            wanted = {name for name in _sheets(archive) if name in inputs or name not in ours or name == cards}
            written, stored = (_loaded(archive, wanted, data_only) for data_only in (False, True))
        for sheet in written:
            if sheet.title in inputs:
                _input_sheet(own, sheet, stored[sheet.title])
            elif sheet.title == cards:
                own.marks |= _marks(sheet, stored[sheet.title])
            else:
                own.sheets.append(_own_sheet(sheet, stored[sheet.title]))
    return own


def _sheets(archive: zipfile.ZipFile) -> list[str]:
    return [sheet.attrib["name"] for sheet in ElementTree.fromstring(archive.read(_BOOK)).iter(f"{_MAIN}sheet")]


def _loaded(archive: zipfile.ZipFile, wanted: Collection[str], data_only: bool) -> Any:
    """Return some sheets of a workbook as openpyxl reads them, without the time that the others would take."""
    import openpyxl

    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as fewer:
        for name in archive.namelist():
            data = archive.read(name)
            if name == _BOOK:
                book = ElementTree.fromstring(data)
                for parent in book.iter(f"{_MAIN}sheets"):
                    for sheet in [sheet for sheet in parent if sheet.attrib["name"] not in wanted]:
                        parent.remove(sheet)
                for names in book.findall(f"{_MAIN}definedNames"):
                    book.remove(names)
                data = ElementTree.tostring(book)
            fewer.writestr(name, data)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return openpyxl.load_workbook(held, data_only=data_only)


def _input_sheet(own: Own, sheet: Any, stored: Any) -> None:
    themed = _themed(sheet.parent)
    for row in sheet.iter_rows():
        for cell in row:
            at = (sheet.title, cell.coordinate)
            if cell.comment:
                own.comments[at] = cell.comment.text
            if colour := _colour(cell.fill.fgColor if cell.fill.fill_type == "solid" else None, themed):
                own.grounds[at] = colour
            if cell.data_type == "f":
                own.formulas[at] = str(getattr(cell.value, "text", cell.value)), stored[cell.coordinate].value
            if cell.value not in (None, FOOT):
                own.rows.add((sheet.title, cell.row))
            if cell.row <= _TOP and isinstance(cell.value, str):
                own.headers[sheet.title, cell.value] = cell.column_letter
    own.widths |= {(sheet.title, letters(number)): width for number, width in _widths(sheet)}


def _marks(sheet: Any, stored: Any) -> dict[Mark, tuple[Any, str]]:
    """Return what people wrote into the cells of the cards that are theirs to fill."""
    found: dict[Mark, tuple[Any, str]] = {}
    batch, seen = "?", Counter[str]()  # a program that does not recalculate leaves no name
    for row, shown in zip(sheet.iter_rows(), stored.iter_rows(values_only=True), strict=True):
        if len(shown) >= CARD_COLUMNS and shown[CARD_COLUMNS - 1] and row[CARD_COLUMNS - 1].data_type == "f":
            batch, seen = str(shown[CARD_COLUMNS - 1]), Counter()
        free = [cell for cell in row if not cell.protection.locked]
        label = str(shown[2] or "-") if len(shown) > 2 and row[2].protection.locked else ""
        seen[label] += bool(free)
        for cell in free:
            if cell.value is not None:
                found[batch, label, seen[label], cell.column] = cell.value, f"{sheet.title} {cell.coordinate}"
    return found


def _own_sheet(sheet: Any, stored: Any) -> OwnSheet:
    themed = _themed(sheet.parent)
    cells = [cell for row in sheet.iter_rows() for cell in row]
    held = tuple(
        OwnCell(cell.row, cell.column, cell.value, stored[cell.coordinate].value, _look(cell, themed))
        for cell in cells
        if cell.value is not None or cell.has_style
    )
    comments = {cell.coordinate: cell.comment.text for cell in cells if cell.comment}
    return OwnSheet(sheet.title, held, dict(_widths(sheet)), comments)


def _widths(sheet: Any) -> Iterator[tuple[int, float]]:
    for held in sheet.column_dimensions.values():
        if held.width and held.customWidth:
            yield from ((number, held.width) for number in range(held.min, min(held.max, held.min + 200) + 1))


def _look(cell: Any, themed: Sequence[str]) -> dict[str, Any]:
    look = {
        "bold": bool(cell.font.bold), "italic": bool(cell.font.italic), "font_color": _colour(cell.font.color, themed),
        "bg_color": _colour(cell.fill.fgColor if cell.fill.fill_type == "solid" else None, themed),
        "num_format": "" if cell.number_format == "General" else cell.number_format,
        "text_wrap": bool(cell.alignment.wrap_text), "align": cell.alignment.horizontal or "",
    }  # fmt: skip
    return {name: value for name, value in look.items() if value and value != "general"}


def _colour(colour: Any, themed: Sequence[str]) -> str:
    """Return a colour as #RRGGBB, "" for none.

    Args:
        colour: openpyxl's colour: by its parts, by number in the workbook's theme, or in the old palette.
        themed: the theme's colours, RRGGBB, in the order in which cells number them.
    """
    from openpyxl.styles.colors import COLOR_INDEX

    if colour is None:
        return ""
    if colour.type == "theme" and colour.theme < len(themed):
        return f"#{_tinted(themed[colour.theme], colour.tint)}"
    if colour.type == "indexed" and colour.indexed < len(COLOR_INDEX):
        return f"#{COLOR_INDEX[colour.indexed][-6:]}"
    if colour.type != "rgb" or not isinstance(colour.rgb, str) or colour.rgb.startswith("00"):
        return ""
    return f"#{colour.rgb[-6:]}"


def _themed(book: Any) -> list[str]:
    """Return the colours of a workbook's theme as cells number them: light before dark, which the theme has the other way."""
    scheme = ElementTree.fromstring(book.loaded_theme).find(f".//{_DRAWING}clrScheme") if book.loaded_theme else None
    held = [colour[0].get("lastClr") or colour[0].get("val") or "" for colour in (() if scheme is None else scheme)]
    return [held[1], held[0], held[3], held[2], *held[4:]] if len(held) > 3 else []


def _tinted(colour: str, tint: float) -> str:
    """Return a colour made lighter (tint above 0) or darker; ISO/IEC 29500-1, 18.8.3 (bgColor, tint).

    >>> _tinted("804020", 0.5), _tinted("804020", -0.5), _tinted("804020", 0)
    ('DC9673', '402010', '804020')
    """
    hue, light, full = colorsys.rgb_to_hls(*(int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4)))
    light = light * (1 + tint) if tint < 0 else light * (1 - tint) + tint
    return "".join(f"{round(part * 255):02X}" for part in colorsys.hls_to_rgb(hue, light, full))


def lost(path: Path, content: bytes, own: Own, drawn: str) -> list[str]:
    """Return what a workbook holds that its new version does not, in words: charts, pictures, comments.

    Args:
        path: the workbook that was read.
        content: the new one.
        own: what was taken over.
        drawn: how many charts each of its sheets was written with, such as "Costing=1; Money=2".
    """
    ours = dict(item.split("=") for item in drawn.split("; ") if item)
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(io.BytesIO(content)) as new:
        there, kept = _extras(old), _extras(new)
    marks = [f"what is written in {cell}" for mark, (_, cell) in own.marks.items() if mark not in own.marked]
    words = [*own.astray, *_lost_inputs(own), *_pointing_elsewhere(path, content, own), *marks]
    for sheet, (charts, comments) in there.items():
        _, anew = kept.get(sheet, (0, set()))
        if charts > int(ours.get(sheet, 0)):
            words.append(f"a chart or picture on {sheet}")
        gone = sorted(cell for cell in comments - anew if (sheet, cell) not in own.placed)
        if gone:
            words.append(f"the comment on {sheet} {', '.join(gone[:3])}" + (" and more" if len(gone) > 3 else ""))
    return words


def _lost_inputs(own: Own) -> Iterator[str]:
    """Yield what stood on an input sheet, below its headers, and has no place: rows that are none, formulas.

    The rows of Batches are those of the plan, which a market run makes anew.
    """
    rows = {(sheet, row) for sheet, row in own.placed if isinstance(row, int) and row}
    for sheet, row in sorted(own.rows - rows):
        if sheet != BATCHES.name and row > min((other for name, other in rows if name == sheet), default=row):
            yield f"row {row} of {sheet}, which is not read"
    for sheet, cell in sorted(set(own.formulas) - own.placed):
        if (sheet, int(cell.lstrip(ascii_uppercase))) in rows:
            yield f"the formula in {sheet} {cell}"


def _pointing_elsewhere(path: Path, content: bytes, own: Own) -> Iterator[str]:
    """Yield each formula of an own sheet that points at a row of results which begins otherwise now."""
    own_names = {sheet.name for sheet in own.sheets}
    pointers = [
        (f"{sheet.name} {letters(cell.column)}{cell.row}", where)
        for sheet in own.sheets
        for cell in sheet.cells
        if isinstance(cell.written, str) and cell.written.startswith("=")
        for where in pointed_at(cell.written, sheet.name)
        if where[0] not in own_names
    ]
    if not pointers:
        return
    was, now = stored_values(path), stored_values(content)
    for cell, (sheet, _, row) in dict(pointers).items():
        if was.get(sheet, {}).get(f"A{row}") != now.get(sheet, {}).get(f"A{row}"):
            yield f"the formula in {cell}, whose row now holds something else,"


def _extras(archive: zipfile.ZipFile) -> dict[str, tuple[int, set[str]]]:
    """Return how many charts and pictures each sheet has, and which cells have a comment."""
    found = {}
    by_id = {rel.Id: rel.target for rel in _parts_of(archive, _BOOK)}
    for sheet in ElementTree.fromstring(archive.read(_BOOK)).iter(f"{_MAIN}sheet"):
        part = by_id[next(value for name, value in sheet.attrib.items() if name.endswith("}id"))]
        drawn, cells = 0, set()
        for rel in _parts_of(archive, part):
            if rel.Type.endswith("/drawing"):
                drawn += sum(held.Type.endswith(_DRAWN) for held in _parts_of(archive, rel.target))
            if rel.Type.endswith("/comments"):
                tree = ElementTree.fromstring(archive.read(rel.target))
                cells |= {held.attrib["ref"] for held in tree.iter(f"{_MAIN}comment")}
        found[sheet.attrib["name"]] = drawn, cells
    return found


def _parts_of(archive: zipfile.ZipFile, part: str) -> Iterable[Any]:
    """Return the relationships of a part of a workbook: kind, and the part that it leads to."""
    from openpyxl.packaging.relationship import get_dependents, get_rels_path

    rels = get_rels_path(part)  # type: ignore[no-untyped-call]
    return get_dependents(archive, rels) if rels in archive.namelist() else ()
