"""The pages are true: their commands run as written, their tables are current, and nothing is left out of them."""

from __future__ import annotations

import json
import os
import re
import runpy
import shlex
import shutil
import struct
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner
from typing_in import fresh, type_in

import scaler
from scaler.cli import main
from scaler.model.records import SHEETS
from scaler.model.schema import columns
from scaler.model.settings import setting_declared
from scaler.output import copy_to
from scaler.write.finished import KNOWN_TABS, MARKET_TABS, RESULT_TABS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
CHANGELOG = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
PAGES = {"README.md": README, "DEVELOPERS.md": DEVELOPERS, "CHANGELOG.md": CHANGELOG}


def blocks(text: str, language: str) -> list[str]:
    """Return the fenced blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.DOTALL | re.MULTILINE)


def commands(text: str) -> list[str]:
    """Return every line that a reader is told to paste."""
    return [line for block in blocks(text, "sh") for line in block.splitlines()]


WANTED = re.findall(r"^\| [^|]+ \| `(scaler batch [^`]+)` \|", README, re.MULTILINE)
TYPED = [line for line in commands(README) if line.startswith("scaler ")]
SETUP = [line for line in commands(README) if not line.startswith("scaler ")]


# --- commands ---


def test_commands_run_as_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every scaler command of the README, in its order in one folder, ends with status 0 and writes what it names."""
    monkeypatch.chdir(tmp_path)
    assert len(TYPED) >= 8
    for line in TYPED:
        result = CliRunner().invoke(main, shlex.split(line)[1:])
        said = [text for text in result.stderr.splitlines() if not text.endswith(" ...")]  # but what takes its time
        assert (result.exit_code, said) == (0, []), line
    named = {word for line in TYPED for word in shlex.split(line) if word.endswith(".xlsx")}
    assert {name for name in named if not (tmp_path / name).is_file()} == set()


def test_what_you_want_is_one_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each job of the table "I want ... / type ..." is one command, and gives what its row says."""
    monkeypatch.chdir(tmp_path)
    shop = scaler.load(*copy_to(tmp_path / "soap-demo"))
    few = replace(shop, batches=shop.batches[:1])  # quicker read than all
    scaler.write(scaler.scale(few), "soap-demo/finished.xlsx")
    made = []
    for line in WANTED:
        result = CliRunner().invoke(main, [*shlex.split(line)[1:], "--json", "--force"])
        assert result.exit_code == 0, (line, result.stdout)
        made += json.loads(result.stdout)["batches"]
    loaf, twenty, heavy, loose, oils, palm, ounces = made
    assert ounces["oils_g"] == loaf["oils_g"]  # JSON is in grams always
    assert (loaf["sized_by"], twenty["bars"] >= 20, loose["bars"], loose["mould"]) == ("mould", True, 40, None)
    assert [heavy["bar_cured_g"], loose["bar_cured_g"], oils["oils_g"]] == pytest.approx([110, 95, 1500])
    assert [line["weigh_g"] for line in palm["lines"] if line["ingredient"] == "Palm oil"] == [500]


def test_readme_has_two_commands_to_begin_with() -> None:
    """The first two pasted lines make their own environment; one ends in the demo, the other in the tests."""
    first, second, activate = SETUP
    assert first.startswith("python3 -m venv .venv && ")
    assert second.startswith("python3 -m venv .venv && ")
    assert first.endswith(" && .venv/bin/scaler demo")
    assert second.endswith(" && .venv/bin/python -m pytest")
    assert activate == ". .venv/bin/activate"


def test_ci_runs_the_commands_of_the_readme(tmp_path: Path) -> None:
    """.ci/run may be executed and takes both commands out of the README, so that they cannot differ."""
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert (ROOT / ".ci" / "run").stat().st_mode & 0o111
    assert "pip install" not in script
    function = re.search(r"^command_of_readme\(\) \{\n.*?^\}", script, re.DOTALL | re.MULTILINE)
    assert function
    (tmp_path / "README.md").write_text(README, encoding="utf-8")
    calls = re.findall(r"\$\((command_of_readme '[^']+')\)", script)
    said = [
        subprocess.run(
            ["bash", "-c", f"{function[0]}\n{call}"], cwd=tmp_path, check=True, capture_output=True, text=True
        )
        for call in calls
    ]
    assert [done.stdout.strip() for done in said] == SETUP[:2]


def test_python_example_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The Python example writes its workbook and prints one row a batch."""
    monkeypatch.chdir(tmp_path)
    fresh(tmp_path)
    example, by_hand = blocks(README, "python")
    exec(compile(example, "README.md", "exec"), {})
    header, row = capsys.readouterr().out.splitlines()
    assert header.split() == re.findall(r'"(\w+)"', example.splitlines()[-1])
    assert row.split()[1:3] == ["First", "bar"]
    assert (tmp_path / "from_python.xlsx").is_file()
    exec(compile(by_hand, "README.md", "exec"), {"scaler": scaler})
    assert "1: Plain: 0 bars, oils 1000.0 g" in capsys.readouterr().out


def test_python_user_has_the_whole_job(tmp_path: Path) -> None:
    """A market run is planned, written, verified and planned anew from Python, and days of the tables are datetimes."""
    fresh(tmp_path)
    workshop = scaler.load(*sorted(tmp_path.glob("*.xlsx")))
    run = scaler.scale(workshop)
    assert str(run.frame()["make_date"].dtype).startswith("datetime64")
    assert list(run.frame("lines")["g"].dropna())[:2] == [line.g for line in run.batches[0].lines[:2]]
    workshop = replace(
        workshop, market=(scaler.Demand(recipe=run.batches[0].recipe, bars=20, needed_by=date(2027, 6, 1)),)
    )
    found = scaler.market(workshop)
    assert repr(found).startswith("Market run, optimal")
    assert len(repr(found).splitlines()) == 1 + len(found.run.batches)
    path = tmp_path / "market.xlsx"
    scaler.write(found, path)
    assert path.with_suffix(".ics").is_file()
    assert scaler.verify(path).sound
    assert repr(scaler.market(scaler.load(path), last=path)) == repr(found)
    with pytest.raises(scaler.InputError):
        scaler.market(replace(workshop, market=()))


@pytest.mark.parametrize("record", [sheet.record for sheet in SHEETS], ids=lambda record: record.__name__)
def test_python_user_is_told_every_field(record: type) -> None:
    """Help on a record says of each column what the sheet's note says."""
    assert getattr(scaler, record.__name__) is record
    assert all(f"    {name}: {column.header}" in str(record.__doc__) for name, column in columns(record).items())


def test_functions_keep_their_names(tmp_path: Path) -> None:
    """`scaler.write` is a function before and after a workbook was written, though a folder has its name."""
    run = scaler.scale(scaler.load(fresh(tmp_path)))
    for name in ("first.xlsx", "second.xlsx"):
        scaler.write(run, tmp_path / name)
    assert (tmp_path / "first.xlsx").read_bytes() == (tmp_path / "second.xlsx").read_bytes()
    assert all(callable(getattr(scaler, name)) for name in scaler.__all__)


def test_write_refuses_a_run_with_problems(tmp_path: Path) -> None:
    """From Python, a run with problems is not written; the error says what they are."""
    path = fresh(tmp_path)
    cell = type_in(path, "Prices", "Pack unit", "stone")
    with pytest.raises(ValueError, match=f"sheet Prices, cell {cell}: Pack unit cannot be stone"):
        scaler.write(scaler.scale(scaler.load(path)), tmp_path / "out.xlsx")
    assert not (tmp_path / "out.xlsx").exists()


# --- nothing left out ---


def options(command: click.Command) -> set[str]:
    """Return every spelling of every option of a command."""
    return {word for option in command.params if isinstance(option, click.Option) for word in option.opts}


@pytest.mark.parametrize("name", main.commands)
def test_readme_names_every_command_and_option(name: str) -> None:
    """Every command and every option stands in the README."""
    assert f"`scaler {name}" in README
    missing = {word for word in options(main.commands[name]) if not re.search(rf"[` ]{word}[` ]", README)}
    assert missing == set()


def test_readme_names_no_option_that_is_not_there() -> None:
    """No option in the README is unknown to the command line."""
    known = {"--help", "--version", "--quiet"}.union(*(options(command) for command in main.commands.values()))
    assert (
        set(re.findall(r"(?<![\w-])--[a-z-]+\b", README)) - {word for word in known if word.startswith("--")} == set()
    )


def test_first_paragraph_states_the_job() -> None:
    """The README begins with what the tool does, before any picture or command."""
    paragraph = README.split("\n\n")[1]
    assert paragraph.startswith(
        "Scale a cold-process soap recipe to a new mould, cost a batch or a market run, and hand over"
    )


def test_safety_points_to_who_knows_better() -> None:
    """The README says that lye is caustic, and puts the data sheet, local codes and licensed practice first."""
    section = " ".join(README.split("## Safety\n")[1].split("\n## ")[0].split())
    for words in ("caustic", "supplier's safety data sheet", "local codes", "licensed practice", "never liquid to lye"):
        assert words in section


@pytest.mark.parametrize("page", PAGES)
def test_links_lead_somewhere(page: str) -> None:
    """Every file that a page links to or shows is there."""
    targets = re.findall(r"\]\(([^)#]+)\)", PAGES[page])
    assert [target for target in targets if not target.startswith("http") and not (ROOT / target).exists()] == []


def test_developers_page_names_what_is_there() -> None:
    """Every module, folder and file that DEVELOPERS.md names is in the tree."""
    named = set(re.findall(r"`((?:scaler|tests|docs|benchmarks|templates|demo_workbooks|\.ci)/[\w./*-]*)`", DEVELOPERS))
    assert len(named) >= 20
    assert {name for name in named if not list(ROOT.glob(name.rstrip("/")))} == set()


def test_developers_page_knows_every_module() -> None:
    """The map of DEVELOPERS.md holds every module of the package and is current."""
    assert runpy.run_path(str(ROOT / "docs" / "tables.py"))["mapped"](DEVELOPERS) == DEVELOPERS


def test_changelog_is_for_makers() -> None:
    """The change log has an unreleased section, and its headings are the usual ones."""
    assert "## [Unreleased]" in CHANGELOG
    assert set(re.findall(r"^### (.+)$", CHANGELOG, re.MULTILINE)) <= {
        "Added", "Changed", "Deprecated", "Removed", "Fixed",
    }  # fmt: skip


# --- tables and pictures ---


@pytest.fixture(scope="module")
def tables() -> dict[str, Any]:
    """Return docs/tables.py."""
    return runpy.run_path(str(ROOT / "docs" / "tables.py"))


def test_tables_are_current(tables: dict[str, Any]) -> None:
    """`python docs/tables.py` would change nothing in the README."""
    assert tables["rewritten"](README) == README


def test_tables_are_made_anew(tables: dict[str, Any]) -> None:
    """A row edited by hand is put right, and nothing outside the markers is touched."""
    spoiled = README.replace("| Superfat %", "| Sperfat %").replace("| box |", "| bx |")
    assert spoiled != README
    assert tables["rewritten"](spoiled) == README


@pytest.mark.parametrize("change", [("<!-- end of sheets -->", ""), ("<!-- sheets -->", "<!-- sheets -->\n" * 2)])
def test_lost_markers_are_noticed(tables: dict[str, Any], change: tuple[str, str]) -> None:
    """A table without its two markers is a mistake that is said, not skipped."""
    broken = README.replace(*change)
    if broken.count("<!-- end of sheets -->"):
        broken += "<!-- sheets -->\n<!-- end of sheets -->"
    with pytest.raises(LookupError, match="sheets"):
        tables["rewritten"](broken)


def test_readme_has_every_column_and_setting() -> None:
    """Every column of every sheet and every setting of Costs has its row."""
    rows = {line.split("|")[1].strip().replace("\\*", "") for line in README.splitlines() if line.startswith("| ")}
    wanted = {column.header for sheet in SHEETS for column in columns(sheet.record).values()}
    wanted |= {item.name for item in setting_declared().values()}
    assert wanted - rows == set()


@pytest.mark.parametrize("name", ["overview", "card", "costing"])
def test_picture_is_small(name: str) -> None:
    """A picture of the README is a PNG under 200 kB, wide enough to read."""
    data = (ROOT / "docs" / f"{name}.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    assert len(data) < 200_000
    assert struct.unpack(">I", data[16:20])[0] >= 600
    assert f"docs/{name}.png" in README


@pytest.mark.skipif(
    not os.environ.get("CI") and not all(map(shutil.which, ("soffice", "pdftoppm"))),
    reason="needs LibreOffice Calc and poppler",
)
def test_pictures_can_be_taken_anew(tmp_path: Path) -> None:
    """`python docs/pictures.py` prints the demo's finished workbook and takes every picture of it; those of its market run are taken alike."""
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    command: list[str | Path] = [sys.executable, ROOT / "docs" / "pictures.py", tmp_path, "finished"]
    done = subprocess.run(command, check=True, capture_output=True, text=True, env=environment)
    assert done.stderr == ""
    assert {path.name for path in tmp_path.iterdir()} == {"overview.png", "card.png", "costing.png"}


# --- house rules of the pages ---


@pytest.mark.parametrize("page", PAGES)
def test_page_gives_away_no_machine(page: str) -> None:
    """No page holds a path of somebody's machine."""
    assert re.findall(r"/(?:home|root|work|tmp|Users)/\S*|[A-Z]:\\\S*", PAGES[page]) == []


def test_every_tab_is_known_to_developers() -> None:
    """DEVELOPERS.md says where the list of result tabs is, and the list is there."""
    assert "`RESULT_TABS`" in DEVELOPERS
    assert len((*MARKET_TABS, *RESULT_TABS, *KNOWN_TABS)) >= 7
