"""Every kind of bad cell is one problem whose whole message is known; what is nearly bad is read, or asked about.

The tables stand in tests/messy: what is typed where, and what comes of it.
"""

from __future__ import annotations

import ast
import csv
import re
from collections import Counter
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from messy.base import base, doubts, edited, messages, read, reads_as, refuses, save

from scaler.cli import main
from scaler.engine import scale

FOLDER = Path(__file__).parent / "messy"


def rows(file: str) -> list[list[str]]:
    """Return the rows of a table, without its header."""
    with (FOLDER / file).open(encoding="utf-8", newline="") as table:
        return list(csv.reader(table))[1:]


def ids(file: str) -> list[str]:
    """Return what is typed in each row, in letters that every terminal shows."""
    return [ascii(row[1]) for row in rows(file)]


def test_workbook_without_an_edit_has_no_problem(tmp_path: Path) -> None:
    """The workbook that every case starts from is read."""
    assert messages(save(base(), tmp_path)) == []


@pytest.mark.parametrize(("edits", "code", "message"), [row[1:] for row in rows("refused.csv")], ids=ids("refused.csv"))
def test_one_mistake_is_one_problem(tmp_path: Path, edits: str, code: str, message: str) -> None:
    """A mistake gives one problem, at the cell where it is mended, and its message says what to do."""
    refuses(tmp_path, edits, code, message)


@pytest.mark.parametrize(("edits", "field", "becomes"), [row[1:] for row in rows("read.csv")], ids=ids("read.csv"))
def test_what_is_nearly_a_mistake_is_read(tmp_path: Path, edits: str, field: str, becomes: str) -> None:
    """What looks odd but can mean only one thing is read as that."""
    a_date = re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", becomes)
    reads_as(tmp_path, edits, field, date.fromisoformat(becomes) if a_date else ast.literal_eval(becomes))


@pytest.mark.parametrize(("edits", "message"), [row[1:] for row in rows("doubted.csv")], ids=ids("doubted.csv"))
def test_what_may_be_a_mistake_is_asked_about(tmp_path: Path, edits: str, message: str) -> None:
    """A number that is hardly meant is read and asked about; a column of the maker's own is named once."""
    doubts(tmp_path, edits, message)


def test_catalogue_is_long() -> None:
    """At least 150 messy inputs have their expected reading or their whole message."""
    assert sum(len(rows(file)) for file in ("refused.csv", "read.csv", "doubted.csv")) >= 150


@pytest.mark.parametrize(
    ("edits", "message"), [(row[1], row[3]) for row in rows("refused.csv")[::10]], ids=ids("refused.csv")[::10]
)
def test_mistake_stops_the_command(tmp_path: Path, edits: str, message: str) -> None:
    """The command ends with status 1 and that message on stderr, without a traceback and without a file."""
    made = tmp_path / "finished.xlsx"
    result = CliRunner().invoke(main, ["batch", str(save(edited(edits), tmp_path)), "-o", str(made)])
    assert (result.exit_code, result.stdout, made.exists()) == (1, "", False)
    assert " ".join(message.split()) in " ".join(result.stderr.split())


def test_topics_have_near_misses() -> None:
    """Three kinds of mistake come with at least two near misses in every topic of three or more."""
    hits = Counter(row[0] for row in rows("refused.csv"))
    misses = Counter(row[0] for file in ("read.csv", "doubted.csv") for row in rows(file))
    few = {topic: (hits[topic], misses[topic]) for topic in hits if hits[topic] * 2 > (misses[topic] + 1) * 3}
    assert few == {}


@pytest.mark.parametrize("message", [row[3] for row in rows("refused.csv")])
def test_message_is_whole_sentences(message: str) -> None:
    """A message leads with the cell, says what is wrong, and goes on with what to do, each a sentence with its end."""
    assert re.fullmatch(r"[A-Z][a-z ]+, cell [A-Z]+[0-9]+: .+[.!?] [A-Z].+[.?]", message)
    assert not re.search(r"\bfound\b|\bexpected\b", message)


@pytest.mark.parametrize("typed", ["?", "!", "-", "n/a", "'=1+1", "\U0001f33f", "\u0645\u0644\u062d"])
def test_any_text_is_a_text(tmp_path: Path, typed: str) -> None:
    """Whatever is typed where a text belongs, no figure changes and nothing is refused."""
    run, plain = (scale(read(save(edited(edits), tmp_path))) for edits in (f"Recipe lines!F2={typed}", ""))
    assert (run.problems, [item.cost for item in run.batches]) == ((), [item.cost for item in plain.batches])


@pytest.mark.parametrize(
    ("edits", "cells"),
    [
        ("Ingredients!C1=Sapo", ["C1"]),  # its rows are not read, so nothing is said of lines that name them
        ("Moulds!C2=", ["C2"]),
        ("Ingredients!A8=Cow milk; Prices!A8=Cow milk", ["B5"]),  # the line of Goat milk that is not in the lye
        ("Ingredients!A10=Bow; Prices!A10=Bow", ["B7"]),  # a line in each/bar
        ("Moulds!B2=cavities; Moulds!G2=90; Moulds!H2=mL; Moulds!I2=; Moulds!K2=; Moulds!O1=Cavities", ["O2"]),
    ],
)
def test_one_slip_is_said_once(tmp_path: Path, edits: str, cells: list[str]) -> None:
    """What follows from a slip is not said as if it were another."""
    assert [problem.place.cell for problem in scale(read(save(edited(edits), tmp_path))).problems] == cells


def test_thing_without_a_name_has_no_sap_missing(tmp_path: Path) -> None:
    """Where the name is blank, nothing is said of what is published for that name."""
    problems = scale(read(save(edited("Ingredients!A2="), tmp_path))).problems
    assert ("A2", "cell_blank") in [(problem.place.cell, problem.code) for problem in problems]
    assert "sap_missing" not in [problem.code for problem in problems]
