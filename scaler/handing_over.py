"""Write a finished workbook where it belongs, with everything that is somebody's own in those that were read."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from scaler.model.records import SHEETS
from scaler.output import NotReplaced, is_ours, property_of, save
from scaler.read.own import lost, own_of
from scaler.rules.results import Run
from scaler.write.finished import DRAWN, OURS, ROWS, finished
from scaler.write.tabs.cards import NAME as CARDS


def hand_over(run: Run, path: Path, force: bool = False, read_from: Iterable[Path] = ()) -> None:
    """Write the finished workbook of a run.

    Args:
        run: what was worked out.
        path: where it goes.
        force: replace whatever is there, and lose what cannot be kept.
        read_from: the workbooks that were read.

    Raises:
        NotReplaced: something of somebody's own would be lost, or the file is not ours to replace.
    """
    files = [file for file in read_from if is_ours(file) and property_of(file, ROWS)]
    own = own_of(files, {sheet.name for sheet in SHEETS}, OURS, CARDS)
    content = finished(run, own)
    gone = [] if force else [words for file in files for words in lost(file, content, own, property_of(file, DRAWN))]
    if gone:
        raise NotReplaced(f"{', '.join(gone)} would be lost. Copy it elsewhere, then use --force.")
    save(content, path, force, read_from)
