"""Who made a file: application, version, title and workshop in its properties, and a theme of our own colours."""

from __future__ import annotations

import io
import zlib
from collections.abc import Iterator
from datetime import datetime
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import xlsxwriter
from xlsxwriter.packager import Packager

from scaler import __version__
from scaler.model.records import Workshop
from scaler.model.settings import setting_declared
from scaler.output import BLANK_SEAL, PROPERTIES, seal_of

INK, LEAF, CHALK, SAND, BRICK, AMBER = COLOURS = "1F2D2B", "2F5D50", "F3EFE6", "FBF6D9", "8A2B1F", "F5D48B"
"""Our colours, as red, green and blue."""

MADE_BY, MAKER = "made_by", "scaler"
_CREATED = datetime(2026, 1, 1)
"""Fixed, so that the same input gives the same bytes."""

_STAMP = (1980, 1, 1, 0, 0, 0)
"""Date of every part: the first that an archive can hold."""
_CHUNK = 4_000_000
"""Bytes of a part that are packed together."""

_SLOTS = {
    "dk1": INK, "lt1": "FFFFFF", "dk2": LEAF, "lt2": CHALK, "accent1": LEAF, "accent2": AMBER, "accent3": BRICK,
    "accent4": "2C5AA0", "accent5": "D9A441", "accent6": SAND, "hlink": "000080", "folHlink": "5A5F58",
}  # fmt: skip
"""What a theme calls each colour; a chart that a partner adds takes the accents in this order."""

_FILL = '<a:solidFill><a:schemeClr val="phClr"/></a:solidFill>'
_LINE = f'<a:ln w="9525">{_FILL}<a:prstDash val="solid"/></a:ln>'
_PLAIN = "<a:effectStyle><a:effectLst/></a:effectStyle>"
_FONT = '<a:latin typeface="Calibri"/><a:ea typeface=""/><a:cs typeface=""/>'


def app_version(version: str) -> str:
    """Return a version as document properties take it: two numbers, the second of four digits.

    >>> app_version("1.2.3"), app_version("0.10.0")
    ('1.0203', '0.1000')
    """
    major, minor, patch = (int(part) for part in version.split(".")[:3])
    return f"{major}.{minor:02d}{patch:02d}"


def theme() -> str:
    """Return the theme: our colours, one typeface, no effects (ECMA-376 part 1, 20.1.6.9)."""
    colours = "".join(f'<a:{slot}><a:srgbClr val="{colour}"/></a:{slot}>' for slot, colour in _SLOTS.items())
    return (
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
        '<a:theme xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main" name="scaler"><a:themeElements>'
        f'<a:clrScheme name="scaler">{colours}</a:clrScheme>'
        f'<a:fontScheme name="scaler"><a:majorFont>{_FONT}</a:majorFont><a:minorFont>{_FONT}</a:minorFont></a:fontScheme>'
        f'<a:fmtScheme name="scaler"><a:fillStyleLst>{_FILL * 3}</a:fillStyleLst><a:lnStyleLst>{_LINE * 3}</a:lnStyleLst>'
        f"<a:effectStyleLst>{_PLAIN * 3}</a:effectStyleLst><a:bgFillStyleLst>{_FILL * 3}</a:bgFillStyleLst></a:fmtScheme>"
        "</a:themeElements><a:objectDefaults/><a:extraClrSchemeLst/></a:theme>"
    )


class _Part(io.StringIO):
    """A part of a workbook in memory as UTF-8, packed as it grows: the workings of a thousand batches are 300 MB of text."""

    def __init__(self) -> None:
        """Start empty."""
        super().__init__()
        self.packed: list[bytes] = []
        self.held = bytearray()
        self.sum, self.length = 0, 0

    def write(self, text: str) -> int:
        """Add text."""
        self.held += text.encode()
        if len(self.held) > _CHUNK:
            self.sum, self.length = self.checksum
            self.packed.append(zlib.compress(self.held, 1))
            self.held = bytearray()
        return len(text)

    @property
    def checksum(self) -> tuple[int, int]:
        """The sum (CRC-32) and the length of what it holds."""
        return zlib.crc32(self.held, self.sum), self.length + len(self.held)

    def chunks(self) -> Iterator[bytes | bytearray]:
        """Yield what it holds, piece by piece."""
        yield from map(zlib.decompress, self.packed)
        yield self.held


class _Packager(Packager):  # type: ignore[misc]  # xlsxwriter ships no type hints
    """Makes the parts of a workbook, under our own name."""

    def __init__(self) -> None:
        """Start without parts."""
        super().__init__()
        self.parts: list[tuple[_Part, str]] = []

    def _filename(self, name: str) -> _Part:
        self.filenames.append((part := _Part(), name, False))
        return part

    def _create_package(self) -> list[tuple[_Part, str, bool]]:
        """Keep every part, and leave none to put into the archive; the custom properties hold the fingerprint of all the others."""
        self.parts = [(part, name) for part, name, _ in super()._create_package()]
        seal = seal_of((name, *part.checksum) for part, name in self.parts)
        for part, name in self.parts:
            if name == PROPERTIES:
                part.held[:] = part.held.replace(BLANK_SEAL.encode(), seal.encode())
        return []

    def _write_app_file(self) -> None:
        super()._write_app_file()
        part: _Part = self.filenames[-1][0]
        text = part.held.decode()
        for theirs, ours in (("Application", MAKER), ("AppVersion", app_version(__version__))):
            before, opening, rest = text.partition(f"<{theirs}>")
            text = before + opening + ours + rest[rest.index("<") :]
        part.held[:] = text.encode()


class SignedFile(xlsxwriter.Workbook):  # type: ignore[misc]  # as above
    """A workbook that says scaler made it, and carries our theme."""

    def __init__(self, path: str | io.BytesIO) -> None:
        """Open it in memory; text is never taken for a formula or a link."""
        self.made = _Packager()
        super().__init__(path, {"strings_to_formulas": False, "strings_to_urls": False, "in_memory": True})
        self.use_custom_theme(io.StringIO(theme()))

    def _get_packager(self) -> Packager:
        return self.made

    def _store_workbook(self) -> None:
        """Put the parts into the archive piece by piece, so that none is there as a whole."""
        super()._store_workbook()
        if not isinstance(self.filename, str):
            self.filename.seek(0)  # over the empty archive that theirs has left
            self.filename.truncate()
        with ZipFile(self.filename, "w", ZIP_DEFLATED) as archive:
            for part, name in self.made.parts:
                info = ZipInfo(name, _STAMP)
                info.compress_type = ZIP_DEFLATED
                with archive.open(info, "w") as entry:
                    for chunk in part.chunks():
                        entry.write(chunk)


def describe(file: SignedFile, title: str, workshop: Workshop) -> None:
    """Write the document properties.

    Args:
        file: the workbook.
        title: what kind of workbook it is.
        workshop: whose it is; its setting Workshop is the company.
    """
    name = next((line.value for line in workshop.costs if line.setting == setting_declared()["workshop"].name), None)
    words = f"{MAKER} {__version__}"
    file.set_properties({
        "title": title, "author": words, "company": str(name or ""), "created": _CREATED, "comments": f"Written by {words}",
    })  # fmt: skip
    file.set_custom_property(MADE_BY, MAKER)
    file.set_custom_property("seal", BLANK_SEAL)
