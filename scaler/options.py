"""What may stand on the command line: names of workbooks, weights, and workbooks without a command."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import click

UNITS = click.option(
    "--units",
    type=click.Choice(["metric", "us"]),
    help="Units to show, whatever Display units on Costs says: us: pounds, ounces, inches, °F.",
)
"""In which units results are shown."""


class Workbook(click.Path):
    """The name of a workbook to write."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Refuse a name that no spreadsheet program would open by."""
        path = Path(str(super().convert(value, param, ctx)))
        if path.suffix.lower() != ".xlsx" and not path.is_dir():
            self.fail(f"'{value}' must end in .xlsx.", param, ctx)
        return path


class Weight(click.ParamType):  # type: ignore[type-arg]
    """A weight with its unit, read as grams."""

    name = "weight"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the grams of a weight as it is typed."""
        from scaler.read.numbers import split_amount

        try:
            parts = split_amount(value)
            grams = math.fsum(number * _grams(unit) for number, unit in parts)
        except (LookupError, ValueError):
            grams = 0.0
        if not 0 < grams < math.inf:
            self.fail(f"'{value}' is not a weight. Type a number and its unit, such as 1.5kg.", param, ctx)
        return grams


def _grams(unit: str) -> float:
    from scaler.model.units import WEIGHT, factor, find

    found = find(unit)
    if found is None or found.kind != WEIGHT:
        raise LookupError(unit)
    return factor(unit)


class Commands(click.Group):
    """Commands; without one, workbooks are what `batch` gets: they may be dropped on the program's icon."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put `batch` before a first word that is a workbook."""
        dropped = args and args[0] not in self.commands and args[0].lower().endswith((".xlsx", ".xlsm"))
        return super().parse_args(ctx, ["batch", *args] if dropped else args)
