"""Files say who made them, in properties and colours that other programs read."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pytest
from workbooks import demo, demo_workbook

import scaler
from scaler.write import book as colours
from scaler.write.example import example
from scaler.write.finished import finished
from scaler.write.properties import _SLOTS, app_version

ROOT = Path(__file__).parent.parent
FILES = {
    "fresh input": (example("metric"), "Input workbook", ""),
    "template": ((ROOT / "templates" / "us.xlsx").read_bytes(), "Input workbook", ""),
    "demo input": ((ROOT / "demo_workbooks" / "recipes.xlsx").read_bytes(), "Input workbook", "Skimmerlow soap room"),
    "finished": (finished(demo()), "Finished workbook", "Skimmerlow soap room"),
}
"""Each kind of file, its title, and the workshop it names."""


def part(content: bytes, name: str) -> ElementTree.Element:
    """Return a part of a workbook, as the standard library reads it."""
    with zipfile.ZipFile(io.BytesIO(content)) as held:
        return ElementTree.fromstring(held.read(name))


@pytest.mark.parametrize("kind", FILES)
def test_file_says_who_made_it(kind: str) -> None:
    """Another library reads scaler as author and a title; the application is scaler with its version, never another's."""
    content, title, workshop = FILES[kind]
    properties = openpyxl.load_workbook(io.BytesIO(content)).properties
    assert (properties.title, properties.creator) == (title, f"scaler {scaler.__version__}")
    said = {item.tag.partition("}")[2]: item.text or "" for item in part(content, "docProps/app.xml")}
    assert said["Application"] == "scaler"
    assert said["AppVersion"] == app_version(scaler.__version__)
    assert re.fullmatch(r"\d{1,2}\.\d{4}", said["AppVersion"])
    assert said["Company"] == workshop


@pytest.mark.parametrize("kind", FILES)
def test_file_carries_our_colours(kind: str) -> None:
    """The theme has our twelve colours, in the order of the standard, and nobody's name but ours."""
    theme = part(FILES[kind][0], "xl/theme/theme1.xml")
    names = {"a": "http://schemas.openxmlformats.org/drawingml/2006/main"}
    scheme = theme.find(".//a:clrScheme", names)
    assert scheme is not None
    assert {item.tag.partition("}")[2]: item[0].get("val") for item in scheme} == _SLOTS
    assert [item.get("name") for item in theme.iter() if item.get("name")] == ["scaler"] * 4


def test_theme_is_of_the_colours_of_the_cells() -> None:
    """Ink, leaf, chalk, sand, brick, amber and the blue edge of cells are the theme's."""
    ours = (colours.INK, colours.LEAF, colours.CHALK, colours.SAND, colours.BRICK, colours.AMBER, colours.EDGE)
    assert {colour.removeprefix("#") for colour in ours} <= set(_SLOTS.values())


def test_workbook_names_no_other_program() -> None:
    """No part of the finished demo holds the name of a spreadsheet program."""
    with zipfile.ZipFile(io.BytesIO(demo_workbook().content)) as held:
        found = {name for name in held.namelist() if re.search(rb"Microsoft|LibreOffice|OpenOffice", held.read(name))}
    assert found == set()
