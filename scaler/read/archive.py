"""Is a file a workbook that may be read in safety? What it may cost is bounded here, before anything is parsed.

Nothing here knows what a sheet means. A file is read once and closed; what was checked is what is parsed.
"""

from __future__ import annotations

import io
import re
import zipfile
from contextlib import suppress
from pathlib import Path

from scaler.model.problems import Place, Problem, nearest

LARGEST_FILE = 96 * 2**20  # bytes on the disk; a finished workbook of 1,000 batches is about 32 MB
LARGEST_UNPACKED = 768 * 2**20  # bytes of all parts together, each read in pieces; of those 1,000 batches about 280 MB
LARGEST_RATIO = 200  # unpacked to packed; real sheets reach about 50
RATIO_FLOOR = 4 * 2**20  # below this many unpacked bytes no ratio can do harm
LARGEST_MARKUP = 4_000_000  # tags in the parts that are parsed, about a million cells; what bounds time and memory

_CHUNK = 2**20
_OLE_HEADER = bytes.fromhex("D0CF11E0A1B11AE1")  # .xls, and .xlsx with a password
_ENCRYPTED_PART = "EncryptedPackage".encode("utf-16-le")
_STRICT_NAMESPACE = b"http://purl.oclc.org/ooxml/spreadsheetml/main"
_DECLARATION = re.compile(rb"<!(?:DOCTYPE|ENTITY)")
_WORKBOOK = "an .xlsx workbook"
_SAVE_AS = "Open it in the spreadsheet program and save it as Excel Workbook (.xlsx)."


class RefusedFile(Exception):
    """Carries the reason a file cannot be read, up to the one place that makes a Problem of it."""

    def __init__(self, code: str, found: str, do: str, expected: str = _WORKBOOK, says: str = "") -> None:
        super().__init__(found)
        self.code, self.found, self.do, self.expected, self.says = code, found, do, expected, says

    def problem(self, file: str) -> Problem:
        """Return the problem that stands at this file."""
        says = f"This is {self.found}."
        return Problem(Place(file), self.code, self.found, self.expected, self.do, self.says or says)


def content_of(path: Path) -> bytes:
    """Return the bytes of the file, refusing what is surely no workbook.

    The file is read once and closed: what was checked is what is parsed, and no spreadsheet program is locked out.
    """
    _check_name(path)
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except OSError as error:
        why = error.strerror or "no reason given"
        found = f"a file that cannot be opened ({why})"
        do = "Close it in other programs, make sure it is on this computer and may be read, and run again."
        raise RefusedFile("file_unreadable", found, do, says=f"The file cannot be opened: {why}.") from error
    if len(data) > LARGEST_FILE:
        raise too_big(f"a file of more than {LARGEST_FILE // 2**20} MB")
    _check_head(data)
    return data


def _check_name(path: Path) -> None:
    """Refuse what its name or its place on the disk tells to be no workbook."""
    lock = re.fullmatch(r"~\$(.+)|\.~lock\.(.+)#", path.name)
    if lock:
        do = f"Give {lock[1] or lock[2]} instead, and close it in the spreadsheet program first."
        raise RefusedFile("file_not_xlsx", "the mark that a spreadsheet program leaves beside an open workbook", do)
    try:
        if path.is_dir():
            raise RefusedFile("file_not_xlsx", "a folder", "Name the workbook inside it.")
        if path.is_file():
            return
        there = path.exists()
    except PermissionError:  # opening it says so
        return
    except (OSError, ValueError):  # a name no disk can hold
        there = False
    if there:
        raise RefusedFile("file_not_xlsx", "not a file", "Give the path of a workbook.")
    do = "Check the name and the folder."
    do = " ".join(part for part in (do, _near_file(path)) if part)
    raise RefusedFile("file_missing", "no such file", do, says="There is no such file.")


def _near_file(path: Path) -> str:
    """Return the sentence that offers the workbooks of nearly this name in the same folder."""
    beside: dict[str, str] = {}
    with suppress(OSError, ValueError):
        beside = {other.stem: other.name for other in sorted(path.parent.glob("*.xlsx")) if other.name[:2] != "~$"}
    # Compared without the ending that all of them share, which would make any two names alike.
    near = [beside[stem] for stem in nearest(path.stem, beside)]
    return f"Did you mean {' or '.join(near)}?" if near else ""


def _check_head(data: bytes) -> None:
    """Refuse what the first bytes show to be something other than a zip archive, the wrapping of an .xlsx."""
    if not data:
        raise RefusedFile("file_not_xlsx", "an empty file", "Save the workbook again, or copy it again.")
    if data.startswith(_OLE_HEADER):
        if _ENCRYPTED_PART in data:
            raise _encrypted()
        raise RefusedFile("file_not_xlsx", "a workbook in the old .xls format", _SAVE_AS)
    if not data.startswith(b"PK"):
        raise RefusedFile("file_not_xlsx", "a file that is not a workbook inside, whatever its name says", _SAVE_AS)


def _encrypted() -> RefusedFile:
    return RefusedFile(
        "file_encrypted", "a workbook with a password", "Save a copy without the password and give that."
    )


def too_big(found: str) -> RefusedFile:
    """Return the refusal of a file that is larger than a workshop's is."""
    do = "Delete unused sheets, pictures and cell formats, or copy the sheets into a new workbook."
    return RefusedFile("file_too_big", found, do, "a workbook of ordinary size")


def broken(found: str) -> RefusedFile:
    """Return the refusal of a file that is no whole workbook."""
    do = "Open it in the spreadsheet program, save it again as .xlsx, and if it does not open there copy it again."
    return RefusedFile("file_unreadable", found, do, "a whole .xlsx workbook")


def too_big_to_read(data: bytes) -> str:
    """Return what is too big about a workbook to be read back, "" when nothing is."""
    if len(data) > LARGEST_FILE:
        return f"{len(data) / 2**20:.0f} MB"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        unpacked = sum(part.file_size for part in archive.infolist())
    return f"{unpacked / 2**20:.0f} MB unpacked" if unpacked > LARGEST_UNPACKED else ""


def check_archive(data: bytes) -> dict[str, int]:
    """Return how many tags each part has; refuse an archive that is broken, too big, unsafe, or no .xlsx workbook."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            _check_size(parts, len(data))
            _check_kind({part.filename.replace("\\", "/").lower() for part in parts})
            return {part.filename: _check_part(archive, part) for part in parts}
    except RefusedFile:
        raise
    except Exception as error:  # zipfile raises a dozen kinds of error for a damaged archive
        raise broken("a damaged or incomplete file") from error


def _check_size(parts: list[zipfile.ZipInfo], packed: int) -> None:
    """Refuse an archive that says it unpacks to more than a workbook ever needs, or has a password."""
    unpacked = sum(part.file_size for part in parts)
    if unpacked > LARGEST_UNPACKED:
        raise too_big(f"a file that unpacks to {unpacked / 2**20:.0f} MB")
    if unpacked > RATIO_FLOOR and unpacked > LARGEST_RATIO * packed:
        raise too_big(f"a file that unpacks to {unpacked / packed:.0f} times its size")
    if any(part.flag_bits & 1 for part in parts):
        raise _encrypted()


def _check_kind(names: set[str]) -> None:
    """Refuse an archive that is another kind of document, or a workbook with macros."""
    if any(name.endswith("vbaproject.bin") for name in names):
        raise RefusedFile("file_unsafe", "a workbook with macros", _SAVE_AS, "an .xlsx workbook without macros")
    if "[content_types].xml" not in names:
        kind = "an OpenDocument file" if "mimetype" in names else "a zip archive that is not a workbook"
        raise RefusedFile("file_not_xlsx", kind, _SAVE_AS)
    if "xl/workbook.bin" in names:
        raise RefusedFile("file_not_xlsx", "a workbook in the binary .xlsb format", _SAVE_AS)
    if not any(name.startswith("xl/") and name.endswith(".xml") for name in names):
        raise RefusedFile("file_not_xlsx", "an Office document that is not an .xlsx workbook", _SAVE_AS)


def _check_part(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> int:
    """Return how many tags a part holds; refuse one that declares a document type or is in the Strict dialect.

    No spreadsheet program writes a declaration, and it is where entity attacks begin. A cell's text cannot trip this:
    `<` is stored escaped. Pictures are not looked into, since an .svg may have one and is never parsed. The whole part
    is read, in pieces, so that one whose header lies about its size shows up by its checksum before it is parsed.
    """
    picture = part.filename.lower().startswith("xl/media/")
    markup, tail = 0, b""
    with archive.open(part) as stream:
        for number, chunk in enumerate(iter(lambda: stream.read(_CHUNK), b"")):
            text = tail + chunk.replace(b"\0", b"")  # a part in UTF-16 reads the same without its zeros
            if not picture and _DECLARATION.search(text):
                do = "Copy the cells into a new workbook and give that."
                what = "a declaration that no spreadsheet program writes"
                raise RefusedFile("file_unsafe", what, do, says=f"The file holds {what}.")
            if number == 0 and part.filename.endswith("workbook.xml") and _STRICT_NAMESPACE in text[:2000]:
                raise RefusedFile("file_not_xlsx", "a workbook in the format Strict Open XML", _SAVE_AS)
            markup += 0 if picture else chunk.count(b"<")
            tail = text[-16:]
    return markup
