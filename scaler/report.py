"""What the terminal and the JSON say of a run."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from scaler.compute.results import Batch, Run
from scaler.compute.safety import percent
from scaler.problems import Problem, to_json

WIDTH = 80


def as_object(run: Run) -> dict[str, Any]:
    """Return a run as the one object of the command line's JSON."""
    return {"batches": [_plain(batch) for batch in run.batches], "problems": [to_json(item) for item in run.problems]}


def problems_object(problems: Iterable[Problem]) -> dict[str, Any]:
    """Return the JSON object of a run that found only problems."""
    return {"batches": [], "problems": [to_json(item) for item in problems]}


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, date):
        return value.isoformat()
    return int(value) if isinstance(value, float) and value.is_integer() and abs(value) < 1e15 else value


def summary(run: Run) -> Iterator[str]:
    """Return the lines a maker reads after a run, at most 80 columns wide."""
    money = run.tables.one("costs", "currency") or ""
    for batch in run.batches:
        yield from _batch_lines(batch, money)
    count = len(run.batches)
    bars = sum(batch.bars for batch in run.batches)
    yield f"{count} batch{'es' if count != 1 else ''}, {bars:,.0f} bars."


def _batch_lines(batch: Batch, money: str) -> Iterator[str]:
    moulds = "" if batch.moulds_filled == 1 else f" x {batch.moulds_filled:g}"
    yield f"{batch.batch}: {batch.recipe} in {batch.mould}{moulds}, {batch.bars:g} bars"
    yield f"  oils {batch.oils_g:,.1f} g   liquid {batch.liquid_g:,.1f} g   batter {batch.batter_g:,.1f} g"
    for alkali in batch.alkalis:
        yield f"  ALKALI {alkali.ingredient}: weigh {alkali.weigh_g:,.10g} g"
    low, high = batch.superfat_likely
    yield (
        f"  superfat {percent(batch.superfat)}: most likely {percent(low)} to {percent(high)}, "
        f"worst case {percent(batch.superfat_low)}"
    )
    ready = f"   ready {batch.ready_date}" if batch.ready_date else ""
    yield (
        f"  a bar costs {money}{batch.cost.per_bar:.2f}, price {money}{batch.price.with_tax:.2f}, "
        f"margin {percent(batch.price.margin)}{ready}"
    )
    for warning in batch.warnings:
        yield from wrapped(f"  ! {warning.text}", "    ")


def wrapped(text: str, hanging: str = "  ") -> Iterator[str]:
    """Return a sentence broken to the width of the terminal."""
    import textwrap

    yield from textwrap.wrap(text, WIDTH, subsequent_indent=hanging, break_on_hyphens=False)
