"""The command line: a command is its options, one call of the library, and what to print."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from scaler import __version__
from scaler.options import UNITS, Commands, Weight, Workbook

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from scaler.market_run import MarketRun
    from scaler.model.problems import Problem
    from scaler.read.workshop import Wanted
    from scaler.rules.results import Run

DONE, PROBLEMS, USAGE, NOT_REPLACED = 0, 1, 2, 3
"""Exit status: done, problems in the input, wrong usage, output not ours to replace or locked."""


_FILES = click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILES...")
_OUT = click.option(
    "-o",
    "out",
    type=Workbook(path_type=Path),
    metavar="OUT.xlsx",
    help="File to write. [default: beside FILES, named after them]",
)
_FORCE = click.option(
    "--force", is_flag=True, help="Replace a file that scaler did not make, or that was edited since."
)
_ALL = click.option("--all", "everything", is_flag=True, help="Say every problem; without it the first 20.")
_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object; without -o nothing is written.")


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.version_option(__version__, prog_name="scaler")
def main() -> None:
    """Scale soap recipes to a mould, cost the bars, hand over one workbook.

    First look: scaler demo. First workbook: scaler new my.xlsx, fill it, then
    scaler batch my.xlsx. "scaler batch --help" explains one command.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a console that knows no ± must not stop the job


@main.command()
@click.argument("file", type=Workbook(path_type=Path), metavar="FILE.xlsx")
@click.option(
    "--units",
    type=click.Choice(["metric", "us"]),
    default="metric",
    show_default=True,
    help="Units of the example; any unit may be typed over them.",
)
@_FORCE
def new(file: Path, units: str, force: bool) -> None:
    """Write a fresh input workbook with a small example to overwrite.

    Sand-coloured cells are for you to fill. A star marks a column that must be
    filled; a note on each header says what belongs there.
    """
    from scaler.write.example import example

    _save(example(units), file, force, ())
    click.echo(f"Wrote {file}. Overwrite its example, save it, then:")
    click.echo(f"  {_program()} batch {_typed(file)}")


@main.command()
@_FILES
@UNITS
@_ALL
@click.option("--defaults", is_flag=True, help="Say what was taken for each blank cell.")
@click.option(
    "--mark",
    "marked",
    type=Workbook(path_type=Path),
    metavar="OUT.xlsx",
    help="Write a copy of the workbook with each problem's cell coloured and commented.",
)
@_FORCE
@_JSON
def check(
    files: Sequence[Path], units: str | None, everything: bool, defaults: bool, marked: Path | None, force: bool,
    as_json: bool,
) -> None:  # fmt: skip
    """Look for problems in workbooks and change nothing.

    Every problem is named at once, with its sheet and cell. Where there is
    none: what needs a decision, what is not read, what blank cells took.
    """
    from scaler.engine import scale
    from scaler.findings import findings, problem_lines
    from scaler.read.workshop import load, shown_in
    from scaler.report import as_object, doubts_object

    run = scale(shown_in(load(files), units))
    notes = _mark(run, files, marked, force) if marked else []
    if as_json:
        click.echo(json.dumps(as_object(run) | doubts_object(run)))
    else:
        for line in problem_lines(run.problems, everything) if run.problems else findings(run, defaults):
            click.echo(line, err=bool(run.problems))
        for note in notes:
            click.echo(note)
    sys.exit(PROBLEMS if run.problems else DONE)


def _mark(run: Run, files: Sequence[Path], out: Path, force: bool) -> list[str]:
    """Write a marked copy of each workbook that has a problem or a doubt, and return what to say of it."""
    from scaler.output import NotReplaced, put_marked
    from scaler.read.marks import marked_copies

    try:
        copies = marked_copies(files, run.problems, run.workshop.doubts, out)
        for path, content, _ in copies:
            put_marked(content, path, files, force)
    except NotReplaced as reason:
        _refuse(str(reason))
    return [note for path, _, lost in copies for note in (f"Wrote {path}.", lost) if note] or [
        "There is nothing to mark."
    ]


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@_JSON
def verify(file: Path, as_json: bool) -> None:
    """Show what changed in a finished workbook.

    Names the results that changed since it was handed over, the formulas that
    were typed over, and the checks that fail. Nothing is written.
    """
    from scaler.audit import verify as hold
    from scaler.report import verdict, verdict_object

    report = hold(file)
    if as_json:
        click.echo(json.dumps(verdict_object(report)))
    else:
        for line in verdict(report, file.name):
            click.echo(line)
    sys.exit(DONE if report.sound else PROBLEMS)


@main.command()
@_FILES
@_OUT
@click.option("--batch", "batches", multiple=True, metavar="NAME", help="Only this batch; may be given several times.")
@click.option("--recipe", default="", metavar="R", help="One batch of this recipe, whatever sheet Batches says.")
@click.option("--mould", default="", metavar="M", help="Its mould; may be left out with --oils or --use-up.")
@click.option("--bars", type=click.IntRange(1), metavar="N", help="Bars that you want of it.")
@click.option("--oils", type=Weight(), metavar="WEIGHT", help="Its weight of oils, such as 1.5kg or 3lb.")
@click.option("--use-up", "use_up", metavar="NAME", help="Ingredient whose whole Stock goes into it.")
@click.option(
    "--bar-weight", "bar_weight", type=Weight(), metavar="WEIGHT", help="Weight of a cured bar, such as 110g."
)
@UNITS
@_ALL
@_JSON
@_FORCE
def batch(
    files: Sequence[Path], out: Path | None, batches: Sequence[str], recipe: str, mould: str, units: str | None,
    everything: bool, as_json: bool, force: bool, **asked: Any,
) -> None:  # fmt: skip
    """Work out batches and write the finished workbook.

    FILES are your workbooks; sheets are found by name across them. A finished
    workbook may be given again: its edits are kept.
    """
    from scaler.read.workshop import Wanted

    fields = {"bars": "bars_wanted", "oils": "oil_weight", "use_up": "use_up", "bar_weight": "bar_weight"}
    size = {fields[name]: value for name, value in asked.items() if value is not None}
    if (mould or size) and not recipe:
        raise click.UsageError("Name the recipe too: --recipe.")
    if recipe and not (mould or size.keys() & {"oil_weight", "use_up"} or len(size) > 1):
        raise click.UsageError("Say how large: --mould, --oils, --use-up, or --bars with --bar-weight.")
    if batches and recipe:
        raise click.UsageError("--batch chooses from sheet Batches; --recipe and what goes with it do not.")
    run = _work_out(files, Wanted(tuple(batches), recipe, mould, size), as_json, everything, units)
    _deliver(run, out, as_json, force, files)


@main.command()
@_FILES
@_OUT
@UNITS
@_ALL
@_JSON
@_FORCE
@click.option("--strict", is_flag=True, help="Refuse where not every bar can be there, instead of as many as can be.")
def market(
    files: Sequence[Path], out: Path | None, units: str | None, everything: bool, as_json: bool, force: bool,
    strict: bool,
) -> None:  # fmt: skip
    """Plan a market run: what to make when, what to buy, what it earns.

    Sheet Market says which bars are wanted on which day. Of sheet Batches the
    made and failed ones count; give the finished workbook to plan the rest
    anew. Beside OUT.xlsx a calendar for the phone is written, OUT.ics.
    """
    from scaler.market_run import market_run

    found = market_run(files, lambda text: click.echo(text, err=True), strict, units)
    if found.problems:
        from scaler.market_report import problems_object as as_problems

        _stop(found.problems, as_json, everything, as_problems)
    _deliver_market(found, out, as_json, force, files)


@main.command()
@click.argument("folder", type=click.Path(path_type=Path), default=Path("soap-demo"))
@_FORCE
def demo(folder: Path, force: bool) -> None:
    """Work out the demo workbooks of an invented workshop.

    They are copied to FOLDER (soap-demo), unless they are there already, and
    finished.xlsx is written beside them.
    """
    from scaler.output import copy_to

    try:
        files = copy_to(folder)
    except OSError as error:
        _refuse(f"The demo workbooks cannot be copied to {folder}: {error.strerror}. Name another folder.")
    click.echo(f"Demo workbooks are in {folder}: {', '.join(path.name for path in files)}")
    run = _work_out(files)
    finished = folder / "finished.xlsx"
    _deliver(run, finished, False, force, files)
    click.echo("Open it in any spreadsheet program. Start with Overview, then print Cards.")
    click.echo("Change a price or a mould size in it, and its results follow. After a new row:")
    click.echo(f"  {_program()} batch {_typed(finished)} -o {_typed(finished)}")


def _work_out(
    files: Sequence[Path], wanted: Wanted | None = None, as_json: bool = False, everything: bool = False,
    units: str | None = None,
) -> Run:  # fmt: skip
    """Return a run without problems; with problems, of reading and of working out, say them all and stop."""
    from scaler.engine import scale
    from scaler.read.workshop import Wanted, load, shown_in

    run = scale(shown_in(load(files, wanted or Wanted()), units))
    problems = list(run.problems)
    if not run.workshop.batches and not problems:
        problems.append(_no_batches(bool(run.workshop.done), "batches" in run.workshop.sheets))
    if problems:
        _stop(problems, as_json, everything)
    return run


def _no_batches(done: bool, sheet: bool) -> Problem:
    """Return the problem of a run without a batch to make, where others are done or not, and there is a sheet or not."""
    from scaler.model.problems import Place, Problem

    row = "Add a planned row to sheet Batches" if done else f"{'Fill' if sheet else 'Add'} sheet Batches"
    says = "Every batch is made or failed, and no other is planned." if done else "There is no batch."
    do = f"{row}, or give --recipe with --mould or --oils."
    return Problem(Place("", "Batches"), "batches_missing", "no batch to make", "at least one row", do, says)


def _stop(
    problems: Sequence[Problem],
    as_json: bool,
    everything: bool,
    as_object: Callable[[Sequence[Problem]], dict[str, Any]] | None = None,
) -> NoReturn:
    if as_json:
        from scaler.report import problems_object

        click.echo(json.dumps((as_object or problems_object)(problems)))
    else:
        from scaler.findings import problem_lines

        for line in problem_lines(problems, everything, ", nothing written"):
            click.echo(line, err=True)
    sys.exit(PROBLEMS)


def _deliver_market(found: MarketRun, out: Path | None, as_json: bool, force: bool, files: Sequence[Path]) -> None:
    from scaler.market_report import market_object, summary
    from scaler.market_run import deliver
    from scaler.output import NotReplaced

    written = []
    if found.run.batches and (out is not None or not as_json):
        path = out or _beside(files, "market")
        try:
            written = [path, deliver(found, path, force, files)]
        except NotReplaced as reason:
            _refuse(str(reason))
    if as_json:
        click.echo(json.dumps(market_object(found)))
        return
    for line in summary(found):
        click.echo(line)
    wrote = f"Wrote {' and '.join(map(str, written))}."
    click.echo(wrote if written else "There is nothing to make: nothing was written.")


def _deliver(run: Run, out: Path | None, as_json: bool, force: bool, files: Sequence[Path]) -> None:
    from scaler.report import as_object, summary

    if out is not None or not as_json:
        from scaler.output import NotReplaced, hand_over

        path = out or _beside(files, "finished")
        try:
            hand_over(run, path, force, files)
        except NotReplaced as reason:
            _refuse(str(reason))
    if as_json:
        click.echo(json.dumps(as_object(run)))
        return
    for line in summary(run):
        click.echo(line)
    click.echo(f"Wrote {path}.")


def _beside(files: Sequence[Path], word: str) -> Path:
    """Return the file to write where none is named: beside the first workbook, itself where it is one already."""
    first = files[0]
    return first if first.stem.endswith(word) else first.with_name(f"{first.stem}-{word}.xlsx")


def _save(content: bytes, path: Path, force: bool, files: Sequence[Path]) -> None:
    from scaler.output import NotReplaced, save

    try:
        save(content, path, force, files)
    except NotReplaced as reason:
        _refuse(str(reason))


def _refuse(reason: str) -> NoReturn:
    from scaler.report import wrapped

    for line in wrapped(reason):
        click.echo(line, err=True)
    sys.exit(NOT_REPLACED)


def _program() -> str:
    """Return what to type to run this program again: its name where the terminal knows it, else its path."""
    import os
    import shutil

    called = Path(sys.argv[0])
    if called.name == "__main__.py" and called.parent.name == "scaler":
        return f"{Path(sys.executable).name} -m scaler"
    if shutil.which("scaler") or called.stem != "scaler":
        return "scaler"
    try:
        return _typed(Path(os.path.relpath(called)))
    except ValueError:  # another drive
        return _typed(called)


def _typed(path: Path) -> str:
    """Return a path as it is typed in a terminal."""
    return f'"{path}"' if " " in str(path) else str(path)


if __name__ == "__main__":
    main()
