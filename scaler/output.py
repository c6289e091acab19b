"""Put a finished workbook on the disk in one step, and never over something that is not ours to lose."""

from __future__ import annotations

import hashlib
import io
import os
import tempfile
import zipfile
from collections.abc import Iterable
from pathlib import Path

PROPERTIES = "docProps/custom.xml"
BLANK_SEAL = "0" * 64
"""Stands in the custom property `seal` until the file is whole."""


class NotReplaced(Exception):
    """The output was not written; the message says why and what to do."""


def save(content: bytes, path: Path, force: bool = False, read_from: Iterable[Path] = ()) -> None:
    """Write an .xlsx file: all of it or nothing.

    Args:
        content: the workbook.
        path: where it goes.
        force: replace whatever is there.
        read_from: files that were just read; one of ours among them may be replaced even when it was edited.

    Raises:
        NotReplaced: the file exists and is not ours, was edited since, is open elsewhere, or cannot be written.
    """
    _refuse_folder(path)
    _refuse_open(path)
    if path.exists() and not force:
        was_read = path.resolve() in {other.resolve() for other in read_from}
        _refuse_foreign(path, was_read)
    _put(sealed(content), path)


def sealed(content: bytes) -> bytes:
    """Return the workbook with a fingerprint of all its other parts in its custom properties."""
    with zipfile.ZipFile(io.BytesIO(content)) as old:
        parts = [(item, old.read(item)) for item in old.infolist()]
    seal = _seal((item.filename, data) for item, data in parts)
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as new:
        for item, data in parts:
            new.writestr(
                item, data.replace(BLANK_SEAL.encode(), seal.encode()) if item.filename == PROPERTIES else data
            )
    return held.getvalue()


def is_ours(path: Path) -> bool:
    """Return whether this tool made the file, edited since or not."""
    return b"<vt:lpwstr>scaler</vt:lpwstr>" in _properties(path)


def is_unchanged(path: Path) -> bool:
    """Return whether the file is as this tool wrote it."""
    try:
        with zipfile.ZipFile(path) as book:
            seal = _seal((name, book.read(name)) for name in book.namelist())
    except (OSError, zipfile.BadZipFile):
        return False
    return seal.encode() in _properties(path)


def _seal(parts: Iterable[tuple[str, bytes]]) -> str:
    digest = hashlib.sha256()
    for name, data in sorted(parts):
        if name != PROPERTIES:
            digest.update(name.encode() + b"\0" + data)
    return digest.hexdigest()


def _properties(path: Path) -> bytes:
    try:
        with zipfile.ZipFile(path) as book:
            return book.read(PROPERTIES)
    except (OSError, KeyError, zipfile.BadZipFile):
        return b""


def _refuse_folder(path: Path) -> None:
    if path.is_dir():
        raise NotReplaced(f"{path} is a folder. Name a file in it, such as {path / 'finished.xlsx'}.")
    if not path.parent.is_dir():
        raise NotReplaced(f"There is no folder {path.parent}. Make it first, or write elsewhere with -o.")


def _refuse_open(path: Path) -> None:
    for lock in (path.with_name(f"~${path.name}"), path.with_name(f".~lock.{path.name}#")):
        if lock.exists():
            raise NotReplaced(f"{path} is open in another program. Close it there, or write elsewhere with -o.")


def _refuse_foreign(path: Path, was_read: bool) -> None:
    if not is_ours(path):
        raise NotReplaced(f"{path} exists and scaler did not make it. Write elsewhere with -o, or use --force.")
    if not was_read and not is_unchanged(path):
        do = "Give it to scaler batch as an input to keep the edits, write elsewhere with -o, or use --force to lose them."
        raise NotReplaced(f"{path} was edited since scaler wrote it. {do}")


def _put(content: bytes, path: Path) -> None:
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
    try:
        _swap(content, path, mode)
    except OSError as error:
        why = error.strerror or str(error)
        raise NotReplaced(f"{path} could not be written: {why}. Close it in other programs, or use -o.") from error


def _swap(content: bytes, path: Path, mode: int) -> None:
    """Write a file beside the old one, then put it in its place; whatever happens, nothing half-written is left."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem}-", suffix=".tmp")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, mode)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _umask() -> int:
    held = os.umask(0)
    os.umask(held)
    return held
