"""The command line: a command is its options, one call of the library, and what to print."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scaler.compute.results import Run
    from scaler.problems import Problem

DONE, PROBLEMS, USAGE, NOT_REPLACED = 0, 1, 2, 3
"""Exit status: done, problems in the input, wrong usage, output not ours to replace or locked."""

_FILES = click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
_OUT = click.option("-o", "out", type=click.Path(path_type=Path), help="File to write. [default: finished.xlsx]")
_FORCE = click.option("--force", is_flag=True, help="Replace a file that scaler did not make.")
_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object; without -o nothing is written.")


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.version_option(package_name="scaler")
def main() -> None:
    """Scale soap recipes to a mould, cost the bars, hand over one workbook."""


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True, help="Units of the example.")
@_FORCE
def new(file: Path, units: str, force: bool) -> None:
    """Write a fresh input workbook with a small example to overwrite."""
    from scaler.write.example import example

    _save(example(units), file, force, ())
    click.echo(f"Wrote {file}. Overwrite its example, then run: scaler batch {file}")


@main.command()
@_FILES
@_JSON
def check(files: Sequence[Path], as_json: bool) -> None:
    """Look for problems in workbooks and write nothing."""
    run = _work_out(files, (), "", "", as_json, need_batches=False)
    if as_json:
        from scaler.report import as_object

        click.echo(json.dumps(as_object(run), ensure_ascii=False))
        return
    held = run.workshop
    click.echo(
        f"No problems. {len(held.ingredients)} ingredients, {len(held.prices)} prices, {len(held.moulds)} moulds, "
        f"{len(held.recipes)} recipes, {len(held.batches)} batches."
    )
    _say_defaults(run)
    _say_warnings(run)


@main.command()
@_FILES
@_OUT
@click.option("--batch", "batches", multiple=True, metavar="NAME", help="Only this batch; may be given several times.")
@click.option("--recipe", default="", metavar="R", help="One batch of this recipe instead of sheet Batches.")
@click.option("--mould", default="", metavar="M", help="The mould of that batch.")
@_JSON
@_FORCE
def batch(
    files: Sequence[Path], out: Path | None, batches: Sequence[str], recipe: str, mould: str, as_json: bool, force: bool
) -> None:
    """Work out batches and write the finished workbook."""
    if bool(recipe) != bool(mould):
        raise click.UsageError("--recipe and --mould go together.")
    run = _work_out(files, batches, recipe, mould, as_json)
    _deliver(run, out, as_json, force, files)


@main.command()
@click.argument("folder", type=click.Path(path_type=Path), default=Path("soap-demo"))
def demo(folder: Path) -> None:
    """Run the main job on the demo workbooks, in FOLDER."""
    from scaler.demo import copy_to

    files = copy_to(folder)
    click.echo(f"Demo workbooks are in {folder}: {', '.join(path.name for path in files)}")
    run = _work_out(files, (), "", "", False)
    _deliver(run, folder / "finished.xlsx", False, False, files)
    click.echo("Open it in any spreadsheet program. Start with Overview, then print Card 1.")
    click.echo(f"Change a price or a mould size in it, then: scaler batch {folder / 'finished.xlsx'}")


def _work_out(
    files: Sequence[Path], batches: Sequence[str], recipe: str, mould: str, as_json: bool, need_batches: bool = True
) -> Run:
    """Return a run without problems; with problems, say them and stop."""
    from scaler.compute.batch import scale
    from scaler.read.workshop import Wanted, load

    workshop, problems = load(files, Wanted(tuple(batches), recipe, mould))
    if problems:
        _stop(problems, as_json)
    if need_batches and not workshop.batches:
        _stop([_no_batches()], as_json)
    run = scale(workshop)
    if run.problems:
        _stop(run.problems, as_json)
    return run


def _no_batches() -> Problem:
    from scaler.problems import Place, Problem

    do = "Fill sheet Batches, or give --recipe and --mould."
    return Problem(Place("", "Batches"), "batches_missing", "no batch", "at least one row", do)


def _stop(problems: Sequence[Problem], as_json: bool) -> NoReturn:
    from scaler.problems import say

    if as_json:
        from scaler.report import problems_object

        click.echo(json.dumps(problems_object(problems), ensure_ascii=False))
    else:
        count = len(problems)
        click.echo(f"{count} problem{'s' if count != 1 else ''}, nothing written:", err=True)
        for problem in problems:
            click.echo(f"- {say(problem)}", err=True)
    sys.exit(PROBLEMS)


def _deliver(run: Run, out: Path | None, as_json: bool, force: bool, files: Sequence[Path]) -> None:
    from scaler.report import as_object, summary

    if out is not None or not as_json:
        from scaler.write.finished import finished

        path = out or Path("finished.xlsx")
        _save(finished(run), path, force, files)
    if as_json:
        click.echo(json.dumps(as_object(run), ensure_ascii=False))
        return
    for line in summary(run):
        click.echo(line)
    click.echo(f"Wrote {path}.")


def _save(content: bytes, path: Path, force: bool, files: Sequence[Path]) -> None:
    from scaler.output import NotReplaced, save

    try:
        save(content, path, force, files)
    except NotReplaced as reason:
        click.echo(str(reason), err=True)
        sys.exit(NOT_REPLACED)


def _say_defaults(run: Run) -> None:
    from scaler.report import wrapped

    for item, facts in zip(run.workshop.ingredients, run.facts, strict=True):
        if facts.said:
            for line in wrapped(f"{item.ingredient}: {'; '.join(facts.said)}.", "  "):
                click.echo(line)


def _say_warnings(run: Run) -> None:
    from scaler.report import wrapped

    for result in run.batches:
        for warning in result.warnings:
            for line in wrapped(f"! {result.batch}: {warning.text}", "  "):
                click.echo(line)


if __name__ == "__main__":
    main()
