"""Put a finished workbook, or the demo workbooks, on the disk, and never over something that is not ours to lose."""

from __future__ import annotations

import glob
import hashlib
import html
import io
import os
import re
import shutil
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from scaler.read.archive import too_big_to_read

if TYPE_CHECKING:
    from scaler.rules.results import Run

PROPERTIES = "docProps/custom.xml"
BLANK_SEAL = "0" * 64
"""Stands in the custom property `seal` until the file is whole."""


class NotReplaced(Exception):
    """The output was not written; the message says why and what to do."""


def save(content: bytes, path: Path, force: bool = False, read_from: Iterable[Path] = ()) -> None:
    """Write an .xlsx file: all of it or nothing. A link is written through.

    Args:
        content: the workbook.
        path: where it goes.
        force: replace whatever is there.
        read_from: files that were just read; one of ours among them may be replaced even when it was edited.

    Raises:
        NotReplaced: the file exists and is not ours, was edited since, is open elsewhere, or cannot be written.
    """
    with _said(path):
        target = _target(path)
        if target.exists() and not force:
            was_read = target.resolve() in {other.resolve() for other in read_from}
            _refuse_foreign(target, was_read)
            _refuse_lost_sheets(target, content)
    size = too_big_to_read(content)
    if size:
        raise NotReplaced(f"{path} would be {size}, more than scaler reads back. Put fewer batches in one workbook.")
    put(content, path)


def put_marked(content: bytes, path: Path, read_from: Iterable[Path], force: bool = False) -> None:
    """Write a marked copy beside the workbooks that were read, never over one of them.

    Raises:
        NotReplaced: it is one of the files that were read, exists and is no marked copy, or cannot be written.
    """
    from scaler.read.marks import MARKED

    with _said(path):
        target = _target(path)
        if target.resolve() in {other.resolve() for other in read_from}:
            raise NotReplaced(f"{path} is the workbook that was read. Give the marked copy another name.")
        if target.exists() and not force and MARKED.encode() not in _part(target, "docProps/core.xml"):
            raise NotReplaced(f"{path} exists and is no marked copy. Write to another file, or use --force.")
    put(content, path)


def _target(path: Path) -> Path:
    """Return the file behind a path, its links followed; refuse what is no file that can be written."""
    target = Path(os.path.realpath(path)) if path.is_symlink() else path
    if target.is_symlink():
        raise NotReplaced(f"{path} is a link that leads back to itself. Write to another file.")
    _refuse_folder(target)
    if target.exists() and not target.is_file():
        raise NotReplaced(f"{path} is not a file. Write to another file.")
    _refuse_open(target)
    return target


@contextmanager
def _said(path: Path) -> Iterator[None]:
    """Turn what the system refuses into one sentence."""
    try:
        yield
    except OSError as error:
        folder = Path(os.path.realpath(path)).parent
        if isinstance(error, PermissionError) and not os.access(folder, os.W_OK):
            why = f"you may not write in the folder {folder}. Write to another folder"
        else:
            why = f"{error.strerror or error}. Close it in other programs, or write to another file"
        raise NotReplaced(f"{path} could not be written: {why}.") from error


def is_ours(path: Path) -> bool:
    """Return whether this tool made the file, edited since or not."""
    return b">scaler</vt:lpwstr>" in _properties(path)  # other programs put a namespace into the tag


def is_unchanged(path: Path) -> bool:
    """Return whether the file is as this tool wrote it."""
    try:
        with zipfile.ZipFile(path) as book:
            seal = seal_of((part.filename, part.CRC, part.file_size) for part in book.infolist())
    except (OSError, zipfile.BadZipFile):
        return False
    return seal.encode() in _properties(path)


def seal_of(parts: Iterable[tuple[str, int, int]]) -> str:
    """Return the fingerprint of every part but the one that holds it, from names, checksums (CRC-32) and sizes."""
    held = sorted(part for part in parts if part[0] != PROPERTIES)
    return hashlib.sha256(repr(held).encode()).hexdigest()


def property_of(path: Path, name: str) -> str:
    """Return a custom property of a workbook, "" where it has none."""
    found = re.search(rf'name="{name}"[^>]*><vt:lpwstr[^>]*>([^<]*)<'.encode(), _properties(path))
    return html.unescape(found.group(1).decode(errors="replace")) if found else ""


def _properties(path: Path) -> bytes:
    return _part(path, PROPERTIES)


def _part(path: Path, name: str) -> bytes:
    try:
        with zipfile.ZipFile(path) as book:
            return book.read(name)
    except (OSError, KeyError, zipfile.BadZipFile):
        return b""


def _refuse_folder(path: Path) -> None:
    if path.is_dir():
        raise NotReplaced(f"{path} is a folder. Name a file in it, such as {path / 'finished.xlsx'}.")
    if not path.parent.is_dir():
        raise NotReplaced(f"There is no folder {path.parent}. Make it first, or write to another folder.")


def _refuse_open(path: Path) -> None:
    for lock in (path.with_name(f"~${path.name}"), path.with_name(f".~lock.{path.name}#")):
        if lock.exists():
            raise NotReplaced(f"{path} is open in another program. Close it there, or write to another file.")


def _refuse_foreign(path: Path, was_read: bool) -> None:
    if not is_ours(path):
        raise NotReplaced(f"{path} exists and scaler did not make it. Write to another file, or use --force.")
    if not was_read and not is_unchanged(path):
        do = (
            "Give it to scaler batch as an input to keep the edits, write to another file, or use --force to lose them."
        )
        raise NotReplaced(f"{path} was edited since scaler wrote it. {do}")


_SHEET = re.compile(rb'<sheet\b[^>]*?\bname="([^"]*)"')
_CARD = re.compile(r"Card [0-9]+")


def _sheets(book: Path | io.BytesIO) -> set[str]:
    with zipfile.ZipFile(book) as parts:
        return {html.unescape(name.decode()) for name in _SHEET.findall(parts.read("xl/workbook.xml"))}


def _refuse_lost_sheets(path: Path, content: bytes) -> None:
    """Refuse to replace a workbook that holds sheets of somebody's own, which would be gone."""
    from scaler.write.layout import FORMER

    gone = _sheets(path) - _sheets(io.BytesIO(content)) - set(FORMER)
    lost = [name for name in sorted(gone) if not _CARD.fullmatch(name)]
    if lost:
        names = ", ".join(lost)
        raise NotReplaced(f"{path} holds {names}, which would be lost. Write to another file, or use --force.")


def put(content: bytes, path: Path) -> None:
    """Write a file: all of it or nothing. A link is written through.

    Raises:
        NotReplaced: it is open elsewhere, or cannot be written.
    """
    with _said(path):
        target = _target(path)
        _remove_litter(target)
        mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask()
        _swap(content, target, mode)


def _swap(content: bytes, path: Path, mode: int) -> None:
    """Write a file beside the old one, then put it in its place; whatever stops it, nothing half-written is left."""
    beside = path.with_name(f".{path.stem}-{os.getpid()}.tmp")
    _UNFINISHED.add(beside)
    try:
        with beside.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(beside, mode)
        os.replace(beside, path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    finally:
        _UNFINISHED.discard(beside)


_UNFINISHED: set[Path] = set()
"""Files that are being written, for the handler of a signal that ends the program."""


def remove_unfinished() -> None:
    """Remove what is half-written; the program ends now."""
    for beside in tuple(_UNFINISHED):
        beside.unlink(missing_ok=True)


def _remove_litter(path: Path) -> None:
    """Remove what runs that were killed while they wrote this file have left beside it."""
    for beside in path.parent.glob(f".{glob.escape(path.stem)}-*.tmp"):
        number = beside.stem.rpartition("-")[2]
        if number.isdecimal() and not _running(int(number)):
            beside.unlink(missing_ok=True)


def _running(process: int) -> bool:
    """Return whether a process runs; where the system cannot be asked without harm, every other one may."""
    if process == os.getpid():
        return False
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True


def _umask() -> int:
    held = os.umask(0)
    os.umask(held)
    return held


# --- everything that is somebody's own goes along ---


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
    from scaler.model.records import SHEETS
    from scaler.read.own import lost, own_of
    from scaler.write.finished import DRAWN, OURS, ROWS, finished
    from scaler.write.tabs.cards import NAME as CARDS

    files = [file for file in read_from if is_ours(file) and property_of(file, ROWS)]
    own = own_of(files, {sheet.name for sheet in SHEETS}, OURS, CARDS)
    content = finished(run, own)
    gone = [] if force else [words for file in files for words in lost(file, content, own, property_of(file, DRAWN))]
    if gone:
        raise NotReplaced(f"{', '.join(gone)} would be lost. Copy it elsewhere, then use --force.")
    save(content, path, force, read_from)


# --- the demo workbooks: an invented workshop, shipped with the package ---


DEMO_FILES = {
    "oils.xlsx": ("ingredients", "prices"),
    "moulds.xlsx": ("moulds",),
    "recipes.xlsx": ("recipes", "lines", "batches", "costs", "market", "market_days", "on_hand"),
}
"""Each workbook, and the keys of the sheets in it; `docs/make.py` writes them."""


def shipped() -> Path:
    """Return the folder of the demo workbooks: in the installed package, else in the checkout."""
    package = Path(__file__).parent
    inside = package / "demo_workbooks"
    return inside if inside.is_dir() else package.parent / "demo_workbooks"


def copy_to(folder: Path) -> list[Path]:
    """Copy the demo workbooks to a folder, keeping files that are there, and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in DEMO_FILES:
        if not (folder / name).exists():
            shutil.copyfile(shipped() / name, folder / name)
    return [folder / name for name in DEMO_FILES]
