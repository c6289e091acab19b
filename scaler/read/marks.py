"""A copy of a maker's workbook in which each problem's cell is coloured and says what is wrong."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from scaler.model.problems import NOTE, Place, Problem, Warning

if TYPE_CHECKING:
    from openpyxl import Workbook

MARKED = "Marked by scaler check"
"""What the properties of a marked copy say, so that it may be replaced by the next."""

_WRONG, _DOUBTED = "F4B6A6", "FFE699"
_NOT_COPIED = ("xl/charts/", "xl/media/", "xl/pivotTables/", "xl/diagrams/")


class Copy(NamedTuple):
    """A marked copy: where it goes, its bytes, and what it lacks, "" for nothing."""

    path: Path
    content: bytes
    lacks: str


def marked_copies(
    files: Sequence[Path], problems: Iterable[Problem], doubts: Iterable[tuple[Place, Warning]], out: Path
) -> list[Copy]:
    """Return a marked copy of each workbook in which a cell is wrong or doubted.

    Args:
        files: the workbooks that were read.
        problems: what is wrong; those of a whole file cannot be marked in it.
        doubts: what is asked about; what is only not read is left unmarked.
        out: where the one copy goes; several go beside it, each with its own file's name.
    """
    texts: dict[Place, list[str]] = {}
    for problem in problems:
        texts.setdefault(problem.place, []).append(f"{problem.says or problem.found} {problem.do}")
    wrong = set(texts)
    for place, warning in doubts:
        if warning.level != NOTE:
            texts.setdefault(place, []).append(warning.text)
    held = [
        (path, own)
        for path in dict.fromkeys(files)
        if (own := {at: said for at, said in texts.items() if at.file == path.name and at.sheet})
    ]
    return [
        Copy(
            out if len(held) == 1 else out.with_name(f"{out.stem}-{path.stem}.xlsx"),
            _marked(path, own, wrong),
            _lacks(path),
        )
        for path, own in held
    ]


def _marked(path: Path, texts: dict[Place, list[str]], wrong: set[Place]) -> bytes:
    """Return the workbook with the cells coloured and commented; the file has been read before."""
    import openpyxl

    book = openpyxl.load_workbook(path)
    for place, said in texts.items():
        if place.sheet in book.sheetnames:
            _mark(book, place, " ".join(said), _WRONG if place in wrong else _DOUBTED)
    book.properties.category = MARKED
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def _mark(book: Workbook, place: Place, text: str, colour: str) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import PatternFill

    sheet: Any = book[place.sheet]
    address = place.cell or "A1"
    whole = next((span for span in sheet.merged_cells.ranges if address in span), None)
    cell = sheet[whole.coord.split(":")[0] if whole else address]
    before = f"{cell.comment.text}\n" if cell.comment else ""
    cell.fill = PatternFill("solid", fgColor=colour)
    cell.comment = Comment(before + text, "scaler", height=120, width=320)


def _lacks(path: Path) -> str:
    with zipfile.ZipFile(path) as archive:
        lost = any(name.startswith(_NOT_COPIED) for name in archive.namelist())
    return f"Charts and pictures of {path.name} are not in its copy." if lost else ""
