"""The command line: exit status, what is printed where, and what is written or left alone."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from typing_in import drop, fresh, run, type_in

import scaler
from scaler.cli import DONE, NOT_REPLACED, PROBLEMS, USAGE, main
from scaler.output import DEMO_FILES, copy_to
from scaler.write.layout import FIRST_ROW, HEADER_ROW

pytestmark = pytest.mark.usefixtures("folder")
ROOT = Path(__file__).parent.parent


def said(*words: str) -> Any:
    """Return the one object that a command with --json prints, and nothing else."""
    result = run(*words, "--json")
    assert result.stderr == ""
    return json.loads(result.stdout)


def demo_files(folder: Path) -> list[str]:
    """Return the demo workbooks, copied to a folder."""
    return [path.name for path in copy_to(folder)]


def names(folder: Path) -> set[str]:
    """Return the names of everything in a folder."""
    return {path.name for path in folder.iterdir()}


# --- exit status 0 ---


def test_new_writes_one_file(folder: Path) -> None:
    """`scaler new` writes the file that it is told to write, and says what to type next."""
    result = run("new", "my.xlsx")
    assert (result.exit_code, names(folder)) == (DONE, {"my.xlsx"})
    assert result.stdout == "Wrote my.xlsx. Overwrite its example, save it, then:\n  scaler batch my.xlsx\n"


def test_check_writes_nothing(folder: Path) -> None:
    """`scaler check` counts the rows, says what blank cells took, and leaves the folder as it was."""
    fresh(folder)
    result = run("check", "my.xlsx")
    assert (result.exit_code, names(folder), result.stderr) == (DONE, {"my.xlsx"}, "")
    assert result.stdout.startswith("No problems. 5 ingredients, 5 prices, 1 mould, 1 recipe, 1 batch.\nTaken for")
    assert "  SAP blank: middle of the published range: Olive oil" in result.stdout
    assert "Cure days" not in result.stdout
    type_in(Path("my.xlsx"), "Recipes", "Cure days", None)
    assert "  Cure days blank: 42: First bar\n" in run("check", "my.xlsx").stdout
    assert "  First bar: Cure days blank: 42.\n" in run("check", "my.xlsx", "--defaults").stdout


def test_check_says_what_to_think_about(folder: Path) -> None:
    """`scaler check` lists a batch's warnings under its name."""
    type_in(fresh(folder), "Recipes", "Superfat %", 0.0)
    type_in(folder / "my.xlsx", "Moulds", "Fill %", 0.03)
    type_in(folder / "my.xlsx", "Prices", "Supplier", "Shop")
    shown = " ".join(run("check", "my.xlsx").stdout.split())
    assert shown.startswith("To decide before you make it: danger: 1: The chance that this batch is lye-heavy is about")
    assert "look: my.xlsx, sheet Moulds, cell N4: Fill % is 3 %. Is it the share that is left empty?" in shown
    assert "look: 1: Lavender oil weighs less than its scale shows." in shown
    assert said("check", "my.xlsx")["doubts"][0]["cell"] == "N4"


def slips(folder: Path, count: int) -> Path:
    """Return a workbook with as many moulds, with a slip in two whole columns."""
    book = openpyxl.load_workbook(fresh(folder))
    sheet = book["Moulds"]
    headers = {str(cell.value).rstrip("*"): cell.column for cell in sheet[HEADER_ROW] if cell.value}
    for row in range(count):
        sheet.cell(FIRST_ROW + row, headers["Mould"], f"Mould {row}" if row else None)
        sheet.cell(FIRST_ROW + row, headers["Shape"], "box")
        cell = sheet.cell(FIRST_ROW + row, headers["Fill %"], 0.9)
        cell.number_format = "General"
        sheet.cell(FIRST_ROW + row, headers["Liner"], f"{'thin' * (row % 2 + 1)} {'x' * row}")
    book.save(folder / "my.xlsx")
    return folder / "my.xlsx"


def test_same_slip_is_said_once_with_its_cells(folder: Path) -> None:
    """A slip that runs down a column is one item of the list, with the cells that have it; JSON has each."""
    slips(folder, 12)
    shown = " ".join(run("check", "my.xlsx").stderr.split())
    assert shown.startswith("24 problems: - my.xlsx, sheet Moulds, cells ")
    assert "cells N4 to N15 (12 cells): 0.9 may mean 0.9 % or 90 %. Type it with its % sign." in shown
    assert len(said("check", "my.xlsx")["problems"]) == 24


def test_first_twenty_problems_are_said_in_full(folder: Path) -> None:
    """Of a long list the rest is counted, and --all says it."""
    book = openpyxl.load_workbook(fresh(folder))
    for number in range(25):
        book["Costs"].cell(60 + number, 1, f"Setting {chr(65 + number)}")
        book["Costs"].cell(60 + number, 2, 1)
    book.save("my.xlsx")
    shown = run("batch", "my.xlsx").stderr
    assert shown.startswith("25 problems, nothing written:\n")
    assert (shown.count("\n- "), shown.endswith("And 5 more: --all shows them.\n")) == (20, True)
    assert run("batch", "my.xlsx", "--all").stderr.count("\n- ") == 25


def test_marked_copy(folder: Path) -> None:
    """`--mark` writes a copy with the problem's cell coloured and commented, never over what was read."""
    cell = type_in(fresh(folder), "Prices", "Pack unit", "stone")
    before = (folder / "my.xlsx").read_bytes()
    result = run("check", "my.xlsx", "--mark", "marked.xlsx")
    assert (result.exit_code, result.stdout) == (PROBLEMS, "Wrote marked.xlsx.\n")
    marked = openpyxl.load_workbook("marked.xlsx")["Prices"]
    assert (
        marked[cell].comment.text
        == "Pack unit cannot be stone: scaler knows no such unit. Write, for example, g, mL or each."
    )
    assert marked[cell].fill.fgColor.rgb == "00F4B6A6"
    assert list(marked.values)[4:] == list(openpyxl.load_workbook("my.xlsx")["Prices"].values)[4:]
    assert run("check", "my.xlsx", "--mark", "marked.xlsx").exit_code == PROBLEMS
    (folder / "other.xlsx").write_bytes(b"mine")
    for name, reason in (("my.xlsx", "is the workbook that was read"), ("other.xlsx", "is no marked copy")):
        result = run("check", "my.xlsx", "--mark", name)
        assert (result.exit_code, reason in " ".join(result.stderr.split())) == (NOT_REPLACED, True)
    assert ((folder / "my.xlsx").read_bytes(), (folder / "other.xlsx").read_bytes()) == (before, b"mine")


def test_batch_writes_finished_workbook(folder: Path) -> None:
    """`scaler batch` writes a workbook beside its input when it is told no other name."""
    fresh(folder)
    result = run("batch", "my.xlsx")
    assert (result.exit_code, names(folder)) == (DONE, {"my.xlsx", "my-finished.xlsx"})
    assert result.stdout.endswith("1 batch, 9 bars.\nWrote my-finished.xlsx.\n")


def test_batch_writes_where_it_is_told(folder: Path) -> None:
    """`-o` names the file."""
    fresh(folder)
    assert run("batch", "my.xlsx", "-o", "other.xlsx").exit_code == DONE
    assert names(folder) == {"my.xlsx", "other.xlsx"}


def test_demo_fills_a_folder(folder: Path) -> None:
    """`scaler demo` puts the demo workbooks and their finished workbook into soap-demo, and throws no edit away unless forced."""
    result = run("demo")
    assert result.exit_code == DONE
    assert names(folder / "soap-demo") == {*DEMO_FILES, "finished.xlsx"}
    assert "8 batches, " in result.stdout
    type_in(folder / "soap-demo" / "finished.xlsx", "Batches", "Batch", "Tried")
    assert run("demo").exit_code == NOT_REPLACED
    assert run("demo", "--force").exit_code == DONE


def test_demo_keeps_edited_inputs(folder: Path) -> None:
    """A demo workbook that is there already is worked out as it is."""
    demo_files(folder)
    type_in(folder / "recipes.xlsx", "Batches", "Batch", "Mine")
    assert "\nMine: " in run("demo", ".").stdout


def test_ounces_are_shown_where_they_are_wanted(folder: Path) -> None:
    """With Display units oz the terminal shows ounces, the alkali in steps of the scale."""
    fresh(folder, units="us")
    said = run("batch", "my.xlsx").stdout
    weighed = re.search(r"ALKALI Sodium hydroxide flakes: weigh ([0-9.]+) oz \(([0-9.]+) g\)\n", said)
    assert weighed
    assert 0 <= float(weighed[1]) * 28.349523125 - float(weighed[2]) < 0.01
    assert round(float(weighed[1]) * 100, 6).is_integer(), "the example's scale shows hundredths of an ounce"


# --- exit status 1 ---


@pytest.mark.parametrize("command", ["check", "batch"])
def test_missing_file_is_a_problem(folder: Path, command: str) -> None:
    """A file that is not there is a problem, said on stderr, and nothing is written."""
    result = run(command, "nosuch.xlsx")
    assert (result.exit_code, result.stdout, names(folder)) == (PROBLEMS, "", set())
    ending = ", nothing written" if command == "batch" else ""
    assert result.stderr.startswith(f"1 problem{ending}:\n- nosuch.xlsx: There is no such file.")


def test_reading_and_working_out_report_together(folder: Path) -> None:
    """A unit that is no unit and a lye that is no solution are both said in one go."""
    cell = type_in(fresh(folder), "Prices", "Pack unit", "stone")
    type_in(folder / "my.xlsx", "Recipes", "Lye concentration %", 0.9)
    result = run("batch", "my.xlsx")
    assert (result.exit_code, names(folder)) == (PROBLEMS, {"my.xlsx"})
    assert f"- my.xlsx, sheet Prices, cell {cell}: Pack unit cannot be stone" in result.stderr
    assert "sheet Recipes" in result.stderr
    assert {item["code"] for item in said("check", "my.xlsx")["problems"]} >= {"unit_unknown", "lye_too_strong"}


def test_unknown_batch_is_a_problem(folder: Path) -> None:
    """`--batch` with a name that is not on sheet Batches is a problem."""
    fresh(folder)
    result = run("batch", "my.xlsx", "--batch", "nosuch")
    assert (result.exit_code, names(folder)) == (PROBLEMS, {"my.xlsx"})
    assert "sheet Batches: There is no batch nosuch. Type 1." in result.stderr


def test_no_batch_is_a_problem(folder: Path) -> None:
    """A workbook without a sheet Batches tells the maker to name a recipe and a mould."""
    drop(fresh(folder), "Batches")
    result = run("batch", "my.xlsx")
    assert result.exit_code == PROBLEMS
    assert "sheet Batches: There is no batch. " in result.stderr
    assert "--recipe with --mould or --oils" in " ".join(result.stderr.split())


def test_check_needs_no_batch(folder: Path) -> None:
    """A workbook without a sheet Batches is fine to check."""
    drop(fresh(folder), "Batches")
    assert run("check", "my.xlsx").exit_code == DONE


# --- exit status 2 ---


@pytest.mark.parametrize(
    "words",
    [
        "bake", "check", "batch", "new", "batch my.xlsx --margin 3", "batch my.xlsx --recipe R",
        "batch my.xlsx --mould M", "batch my.xlsx --bars 40", "batch my.xlsx --recipe R --bars 40",
        "batch my.xlsx --recipe R --oils 1500", "batch my.xlsx --recipe R --oils 2cm",
        "batch my.xlsx --recipe R --mould M --batch 1", "batch my.xlsx -o finished.csv", "batch my.xlsx -o finished",
        "new my.csv", "new my.xlsx --units stones",
    ],
)  # fmt: skip
def test_wrong_usage(folder: Path, words: str) -> None:
    """A command, an option or a file name that cannot be is refused before anything is read or written."""
    result = run(*words.split())
    assert (result.exit_code, names(folder)) == (USAGE, set())
    assert "Error: " in result.stderr


# --- exit status 3 ---


def not_ours(folder: Path) -> None:
    """Put a workbook there that somebody else made."""
    (folder / "out.xlsx").write_bytes(b"the family's budget")


def edited(folder: Path) -> None:
    """Put a workbook there that scaler wrote and somebody edited."""
    run("new", "out.xlsx")
    type_in(folder / "out.xlsx", "Costs", "Value", "$")


def locked_by_one(folder: Path) -> None:
    """Put the lock file there that one spreadsheet program leaves while a file is open."""
    (folder / "~$out.xlsx").write_bytes(b"")


def locked_by_another(folder: Path) -> None:
    """Put the lock file there that another spreadsheet program leaves."""
    (folder / ".~lock.out.xlsx#").write_bytes(b"")


def a_folder(folder: Path) -> None:
    """Put a folder there."""
    (folder / "out.xlsx").mkdir()


REFUSED = [
    (not_ours, "scaler did not make it", True),
    (edited, "was edited since", True),
    (locked_by_one, "is open in another program", False),
    (locked_by_another, "is open in another program", False),
    (a_folder, "is a folder", False),
]


@pytest.mark.parametrize("command", [("new", "out.xlsx"), ("batch", "my.xlsx", "-o", "out.xlsx")], ids=["new", "batch"])
@pytest.mark.parametrize(("prepare", "reason", "forced"), REFUSED, ids=[case[0].__name__ for case in REFUSED])
def test_not_replaced(folder: Path, command: tuple[str, ...], prepare: Any, reason: str, forced: bool) -> None:
    """What is not scaler's to lose stays as it is; --force overrides that, but never an open file or a folder."""
    fresh(folder)
    prepare(folder)
    target = folder / "out.xlsx"
    before = (names(folder), target.read_bytes() if target.is_file() else None)
    result = run(*command)
    assert (result.exit_code, result.stdout) == (NOT_REPLACED, "")
    assert reason in " ".join(result.stderr.split())
    assert (names(folder), target.read_bytes() if target.is_file() else None) == before
    assert run(*command, "--force").exit_code == (DONE if forced else NOT_REPLACED)


@pytest.mark.parametrize("command", [("new", "no/out.xlsx"), ("batch", "my.xlsx", "-o", "no/out.xlsx")])
def test_missing_folder(folder: Path, command: tuple[str, ...]) -> None:
    """A file in a folder that is not there is refused in words."""
    fresh(folder)
    result = run(*command)
    assert (result.exit_code, result.stderr.split(".")[0]) == (NOT_REPLACED, "There is no folder no")


def test_own_output_is_replaced(folder: Path) -> None:
    """A finished workbook as scaler wrote it is replaced without a word."""
    fresh(folder)
    assert [run("batch", "my.xlsx").exit_code for _ in range(2)] == [DONE, DONE]


def test_edited_input_may_be_its_own_output(folder: Path) -> None:
    """An edited finished workbook given as input is replaced, since its edits are in the new one."""
    fresh(folder)
    run("batch", "my.xlsx")
    type_in(folder / "my-finished.xlsx", "Batches", "Batch", "Spring")
    result = run("batch", "my-finished.xlsx", "-o", "my-finished.xlsx")
    assert result.exit_code == DONE
    assert result.stdout.startswith("Spring: ")
    assert said("batch", "my-finished.xlsx")["batches"][0]["batch"] == "Spring"


def test_demo_into_a_file(folder: Path) -> None:
    """`scaler demo` where a file stands in the folder's place is refused in words."""
    (folder / "soap-demo").write_text("mine")
    result = run("demo")
    assert (result.exit_code, result.stdout) == (NOT_REPLACED, "")
    assert "Name another folder." in " ".join(result.stderr.split())
    assert (folder / "soap-demo").read_text() == "mine"


# --- JSON ---

BATCH_KEYS = (
    "batch recipe mould moulds_filled make_date ready_date volume_ml batter_g "
    "batter_ml oils_g liquid_g liquid_total_g alkali_g alkalis lines lye_concentration "
    "pot_concentration superfat superfat_effective superfat_low superfat_high superfat_likely bars bars_to_sell "
    "bar_fresh_g bar_cured_g cost price warnings "
)
PROBLEM_KEYS = ["code", "file", "sheet", "cell", "found", "expected", "text"]


@pytest.mark.parametrize("command", ["check", "batch"])
def test_json_is_the_object_alone(folder: Path, command: str) -> None:
    """With --json stdout is one object, its keys those of the contract and more, and nothing is written."""
    files = demo_files(folder)
    held = said(command, *files)
    doubts = ["doubts"] if command == "check" else []
    assert (list(held), held["problems"], names(folder)) == (["batches", "problems", *doubts], [], set(files))
    assert [set(BATCH_KEYS.split()) - set(batch) for batch in held["batches"]] == [set()] * 8
    batch = held["batches"][0]
    assert set(batch["lines"][0]) == {"ingredient", "kind", "stage", "g", "weigh_g", "count", "cost", "portion"}
    assert set(batch["alkalis"][0]) == {"ingredient", "base", "g", "weigh_g"}
    assert set(batch["cost"]) == {"ingredients", "packaging", "labour", "overhead", "total", "per_bar", "per_kg"}
    assert set(batch["price"]) == {"target_before_tax", "before_tax", "with_tax", "margin", "markup"}
    assert date.fromisoformat(batch["ready_date"]) > date.fromisoformat(batch["make_date"])


def test_json_with_out_writes_too(folder: Path) -> None:
    """With --json and -o the object is printed and the file written."""
    fresh(folder)
    assert len(said("batch", "my.xlsx", "-o", "out.xlsx")["batches"]) == 1
    assert names(folder) == {"my.xlsx", "out.xlsx"}


@pytest.mark.parametrize("command", ["check", "batch"])
def test_json_of_problems(folder: Path, command: str) -> None:
    """With --json problems are in the object on stdout, stderr is empty, and the status is still 1."""
    cell = type_in(fresh(folder), "Prices", "Pack unit", "stone")
    result = run(command, "my.xlsx", "--json")
    held = json.loads(result.stdout)
    assert (result.exit_code, result.stderr, held["batches"]) == (PROBLEMS, "", [])
    assert [list(problem) for problem in held["problems"]] == [PROBLEM_KEYS]
    assert [held["problems"][0][key] for key in ("file", "sheet", "cell")] == ["my.xlsx", "Prices", cell]


def test_json_survives_every_console(folder: Path) -> None:
    """The object is plain ASCII, so a console's code page cannot spoil a name."""
    type_in(fresh(folder), "Batches", "Batch", "Frühling")
    result = run("batch", "my.xlsx", "--json")
    assert result.stdout.isascii()
    assert json.loads(result.stdout)["batches"][0]["batch"] == "Frühling"


def differences(ours: Any, theirs: Any, where: str = "") -> list[str]:
    """Return where two JSON values differ by more than 1e-9, relative above 1 and absolute below."""
    if isinstance(ours, dict):
        pairs = [(ours[key], theirs[key], f"{where}.{key}") for key in ours if key in theirs]
        return [
            *([] if ours.keys() == theirs.keys() else [where]),
            *(found for pair in pairs for found in differences(*pair)),
        ]
    if isinstance(ours, list):
        pairs = [(*pair, f"{where}[{place}]") for place, pair in enumerate(zip(ours, theirs, strict=False))]
        return [
            *([] if len(ours) == len(theirs) else [where]),
            *(found for pair in pairs for found in differences(*pair)),
        ]
    if isinstance(ours, int | float) and isinstance(theirs, int | float):
        return [] if abs(ours - theirs) <= 1e-9 * max(1, abs(ours)) else [where]
    return [] if ours == theirs else [where]


def test_differences_are_seen() -> None:
    """The comparison sees a number, a word, a key and a line that differ, and lets 1e-10 pass."""
    ours = {"a": [1.0, "x"], "b": None}
    assert differences(ours, {"a": [1.0 + 1e-10, "x"], "b": None}) == []
    assert differences(ours, {"a": [1.0 + 1e-8, "y"], "b": 0}) == [".a[0]", ".a[1]", ".b"]
    assert differences(ours, {"a": [1.0], "b": None, "c": 1}) == ["", ".a"]


def test_finished_workbook_gives_the_same_numbers(folder: Path) -> None:
    """The finished workbook fed back gives the same JSON to 1e-9."""
    files = demo_files(folder)
    first = said("batch", *files, "-o", "finished.xlsx")
    again = said("batch", "finished.xlsx", "-o", "again.xlsx")
    assert differences(first, again) == []
    assert differences(first, said("batch", "again.xlsx")) == []


# --- which batches ---


def test_batch_chooses(folder: Path) -> None:
    """`--batch` may be given several times, matches without case, and keeps the sheet's order."""
    files = demo_files(folder)
    held = said("batch", *files, "--batch", "sk-104", "--batch", "SK-101")
    assert [batch["batch"] for batch in held["batches"]] == ["SK-101", "SK-104"]


def test_chosen_batch_has_the_numbers_of_the_whole_run(folder: Path) -> None:
    """A batch worked out alone is the batch worked out among the others."""
    files = demo_files(folder)
    alone, among = said("batch", *files, "--batch", "SK-104"), said("batch", *files)
    assert differences(alone["batches"][0], among["batches"][3]) == []


def test_recipe_in_another_mould(folder: Path) -> None:
    """`--recipe` and `--mould` make one batch, whatever sheet Batches says."""
    files = demo_files(folder)
    (batch,) = said("batch", *files, "--recipe", "well water bar", "--mould", "OAK LOAF")["batches"]
    assert [batch[key] for key in ("batch", "recipe", "mould", "make_date")] == [
        "1",
        "Well Water Bar",
        "Oak loaf",
        None,
    ]


def test_recipe_without_sheet_batches(folder: Path) -> None:
    """A workbook without sheet Batches is worked out by --recipe and --mould as with it."""
    drop(fresh(folder, "without.xlsx"), "Batches")
    fresh(folder, "with.xlsx")
    words = ("--recipe", "First bar", "--mould", "Loaf mould")
    assert said("batch", "without.xlsx", *words) == said("batch", "with.xlsx", *words) == said("batch", "with.xlsx")


# --- what a maker reads ---


def test_output_fits_the_terminal(folder: Path) -> None:
    """No line of any command is longer than 80 columns, warnings and problems included."""
    fresh(folder)
    type_in(fresh(folder, "risky.xlsx"), "Recipes", "Superfat %", 0.0)
    type_in(fresh(folder, "bad.xlsx"), "Recipes", "Lye concentration %", 0.9)
    commands = ["demo", "check my.xlsx", "batch my.xlsx", "batch risky.xlsx", "batch bad.xlsx", "check nosuch.xlsx"]
    commands += ["--help", "new --help", "check --help", "batch --help", "demo --help", "new soap-demo/oils.xlsx"]
    shown = [(words, *run(*words.split()).output.splitlines()) for words in commands]
    assert all(len(lines) > 1 for lines in shown)
    assert [(lines[0], line) for lines in shown for line in lines[1:] if len(line) > 80] == []


def test_long_names_fit_too(folder: Path) -> None:
    """Long names are broken between words."""
    type_in(
        fresh(folder),
        "Batches",
        "Batch",
        "the one for the fair in the old school at the end of the long lane by the sea",
    )
    lines = run("batch", "my.xlsx").stdout.splitlines()
    assert max(len(line) for line in lines) <= 80
    assert lines[0].startswith("the one for the fair")


def test_names_with_spaces_are_quoted() -> None:
    """The command to type next can be typed as it is."""
    assert run("new", "my soap.xlsx").stdout.splitlines()[1] == '  scaler batch "my soap.xlsx"'


@pytest.mark.parametrize("flag", ["-h", "--help"])
@pytest.mark.parametrize("command", [[], *([name] for name in main.commands)], ids=" ".join)
def test_help(command: list[str], flag: str) -> None:
    """Every command explains itself."""
    result = run(*command, flag)
    assert (result.exit_code, result.stdout[:7]) == (DONE, "Usage: ")


def test_version() -> None:
    """`scaler --version` says the version, installed or not."""
    assert run("--version").stdout == f"scaler, version {scaler.__version__}\n"


def test_console_without_signs(folder: Path) -> None:
    """A console that knows no pound sign shows a question mark; the job is done all the same."""
    environment = os.environ | {"PYTHONIOENCODING": "cp1251", "PYTHONPATH": str(ROOT)}
    type_in(fresh(folder), "Costs", "Value", "£", row=2)
    command = [sys.executable, "-m", "scaler.cli", "batch", "my.xlsx"]
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (DONE, b"")
    assert b"a bar costs ?" in done.stdout


@pytest.mark.parametrize("state", ["made", "failed"])
def test_batches_that_are_done_are_not_missing(tmp_path: Path, state: str) -> None:
    """Where every batch is made or failed, that is said, not that there is none."""
    path = fresh(tmp_path)
    type_in(path, "Batches", "State", state)
    answer = CliRunner().invoke(main, ["batch", str(path)])
    assert (answer.exit_code, "Every batch is made or failed" in answer.stderr) == (PROBLEMS, True)
    assert "0 batches, 1 made or failed." in " ".join(CliRunner().invoke(main, ["check", str(path)]).stdout.split())
