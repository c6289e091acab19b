"""What the terminal and the JSON say of a run."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from scaler.formula.helpers import round_down, round_half_up
from scaler.model.problems import NOTE, Place, Problem, Warning, counted, say, to_json, where
from scaler.model.units import factor
from scaler.rules.imperial import pounds
from scaler.rules.results import Batch, Run

if TYPE_CHECKING:
    from scaler.audit import Report

WIDTH = 80
SHOWN = 20
"""Problems, or cells typed over, that are said in full; the others are counted."""
_LONG = 50
"""Characters of a cell typed over that are said."""


def as_object(run: Run) -> dict[str, Any]:
    """Return a run as the one object of the command line's JSON."""
    return {"batches": [_plain(batch) for batch in run.batches], "problems": [to_json(item) for item in run.problems]}


def doubts_object(run: Run) -> dict[str, Any]:
    """Return what a check asks about beside what it works out, as a part of its JSON object."""
    return {"doubts": [_doubt(place, warning) for place, warning in run.workshop.doubts]}


def _doubt(place: Place, warning: Warning) -> dict[str, str]:
    return {**_plain(place), "code": warning.code, "level": warning.level, "text": warning.text}


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
    shown = shown_of(run)
    for batch in run.batches:
        yield from _batch_lines(batch, shown)
    for place, warning in run.workshop.doubts:
        if warning.level != NOTE:
            yield from wrapped(f"  {warning.level}: {where(place)}: {warning.text}", "    ")
    yield from not_read(run.workshop.doubts)
    bars = sum(batch.bars for batch in run.batches)
    yield counted(len(run.batches), "batch", "batches") + (f", {counted(bars, 'bar')}." if bars else ".")


def not_read(doubts: Iterable[tuple[Place, Warning]]) -> Iterator[str]:
    """Return the lines that name, once, what is the maker's own and not read."""
    own: dict[tuple[str, str], list[str]] = {}
    for place, warning in doubts:
        if warning.code == "not_read":
            own.setdefault((place.file, place.sheet if place.cell else ""), []).append(warning.text)
    for (file, sheet), texts in own.items():
        names = [text.split(" is your own")[0].removesuffix(",") for text in texts]
        at = where(Place(file, sheet))
        yield from wrapped(f"Not read, since it is your own: {at}: {', '.join(names)}.")


def verdict(report: Report, file: str) -> Iterator[str]:
    """Return the lines that say what became of an edited workbook."""
    yield from wrapped(f"{file} is sound." if report.sound else f"Do not use {file} yet:")
    for problem in report.problems:
        yield from wrapped(f"- {say(problem)}")
    for failing in report.failing:
        yield from wrapped(f"- {failing}")
    for item in report.overwritten[:SHOWN]:
        now = "is empty" if item.found == "" else f"holds {_short(item.found)}"
        what = "Formula" if item.stood.startswith("=") else "Words or a number"
        yield from wrapped(
            f"- {what} typed over: sheet {item.sheet}, cell {item.cell} {now}; {_short(item.stood)} stood there."
        )
    if len(report.overwritten) > SHOWN:
        yield from wrapped(
            f"- And {counted(len(report.overwritten) - SHOWN, 'more cell')}. If nobody typed there, another version of scaler wrote this workbook: "
            "run scaler batch, or scaler market, on it again."
        )
    if report.stale:
        more = f" and {len(report.stale) - 3} more" if len(report.stale) > 3 else ""
        yield from wrapped(
            f"- It was not recalculated since it was edited: {', '.join(report.stale[:3])}{more} do not follow from the "
            "inputs. Open it in your spreadsheet program, let it recalculate (often F9), save it, and verify it again."
        )
    elif report.overwritten:
        yield from wrapped("Put these back first; then it can be told whether the file was recalculated.")
    yield from _inputs_changed(report)
    if report.changed:
        yield "Results that changed since it was handed over:"
    for changed in report.changed:
        share = "superfat" in changed.result
        was, now = (percent(value, 2) if share else f"{value:,.2f}" for value in (changed.handed_over, changed.now))
        yield from wrapped(f"  {changed.result}: {was} when handed over, {now} now.")
    if not report.changed and report.sound:
        yield "No result has changed since it was handed over."


def _short(text: object) -> str:
    """Return the beginning of what a cell holds; the JSON has all of it."""
    return f"{str(text)[:_LONG]} …" if len(str(text)) > _LONG else str(text)


def _inputs_changed(report: Report) -> Iterator[str]:
    if report.inputs:
        yield "Inputs that changed since it was handed over:"
    for item in report.inputs:
        at = f"  {item.sheet}, {item.row}"
        if item.column:
            yield from wrapped(
                f"{at}, {item.column}: {item.was or 'blank'} when handed over, {item.now or 'blank'} now."
            )
        else:
            yield from wrapped(f"{at}: {'a new row' if item.now else 'the row is gone'}.")


def verdict_object(report: Report) -> dict[str, Any]:
    """Return what became of an edited workbook as one JSON object."""
    return {
        "sound": report.sound,
        "changed": [_plain(item) for item in report.changed],
        "inputs": [_plain(item) for item in report.inputs],
        "overwritten": [
            {"sheet": item.sheet, "cell": item.cell, "found": str(item.found), "stood": item.stood}
            for item in report.overwritten
        ],
        "failing": list(report.failing),
        "stale": list(report.stale),
        "problems": [to_json(problem) for problem in report.problems],
    }


def percent(value: float, digits: int = 1) -> str:
    """Return a fraction as words.

    >>> percent(0.0523)
    '5.2 %'
    """
    return f"{value * 100:.{digits}f} %"


def shown_of(run: Run) -> Shown:
    """Return how the terminal shows the weights and the money of a run."""
    one = run.tables.one
    return Shown(one("costs", "display_units"), one("costs", "currency") or "", one("constants", "ounce_step"))


@dataclass(frozen=True)
class Shown:
    """How the terminal shows weights and money: the workbook's Display units and Currency."""

    unit: str
    money: str
    ounce_step: float

    def weight(self, grams: float) -> str:
        """Return a weight, the grams beside ounces."""
        if self.unit == "g":
            return f"{grams:,.1f} g"
        return f"{_pounds(grams / factor(self.unit), 0.01)} ({grams:,.1f} g)"

    def bar(self, grams: float) -> str:
        """Return the weight of a bar."""
        return f"{grams:,.0f} g" if self.unit == "g" else f"{_pounds(grams / factor(self.unit), 0.01)} ({grams:,.0f} g)"

    def weigh(self, grams: float) -> str:
        """Return a weight of alkali, ounces and the grams beside them never rounded up."""
        if self.unit == "g":
            return f"{grams:,.10g} g"
        ounces = _pounds(_down(grams / factor(self.unit), self.ounce_step), self.ounce_step)
        return f"{ounces} ({_down(grams, 0.01):,.10g} g)"


def _pounds(ounces: float, step: float) -> str:
    """Return ounces in words, as pounds and ounces from a pound on, to a step [oz].

    >>> _pounds(15.999, 0.01), _pounds(31.444, 0.01)
    ('1 lb 0 oz', '1 lb 15.44 oz')
    """
    return str(pounds(round_half_up(ounces / step), factor("lb") / factor("oz") / step, 1 / step))


def _down(amount: float, step: float) -> float:
    return float(round_down(amount / step)) * step


def _money_words(batch: Batch, shown: Shown) -> str:
    cost, price = batch.cost, batch.price
    money = shown.money
    if cost.total is None or cost.per_kg is None:
        return "no cost: something in it has no price"
    if cost.per_bar is None or price.with_tax is None or price.margin is None:
        word, size = ("kilogram", 1.0) if shown.unit == "g" else ("pound", factor("lb") / factor("kg"))
        return f"the batch costs {money}{cost.total:,.2f}, a {word} of cured soap {money}{cost.per_kg * size:,.2f}"
    taxed = " with tax" if price.before_tax != price.with_tax else ""
    said = f"a bar costs {money}{cost.per_bar:,.2f}, price {money}{price.with_tax:,.2f}{taxed}"
    return f"{said}, margin {percent(price.margin)}"


def _mould_words(batch: Batch) -> str:
    """Return the moulds of a batch, and how full they are where they are not."""
    held = []
    for item in batch.moulds:
        times = "" if item.filled == 1 else f" x {item.filled:g}"
        part = "" if item.fill > _FULL else f" ({percent(item.fill, 0)} full)"
        cut = f", cut every {item.cut:.3g} {item.cut_unit or ''}".rstrip() if item.cut else ""
        held.append(f"{item.mould}{times}{part}{cut}")
    return f"in {' and '.join(held)}" if held else "without a mould"


_FULL = 0.9995


def _batch_lines(batch: Batch, shown: Shown) -> Iterator[str]:
    bars = f", {counted(batch.bars, 'bar')}" if batch.bars else ""
    yield from wrapped(f"{batch.batch}: {batch.recipe} {_mould_words(batch)}{bars}")
    weights = (("oils", batch.oils_g), ("liquid", batch.liquid_g), ("batter", batch.batter_g))
    said = [f"  {name} {shown.weight(grams)}" for name, grams in weights]
    one_line = " ".join(said)
    yield from [one_line] if len(one_line) <= WIDTH else said
    for alkali in batch.alkalis:
        yield from wrapped(f"  ALKALI {alkali.ingredient}: weigh {shown.weigh(alkali.weigh_g)}", "    ")
    low, high = batch.superfat_likely
    yield (
        f"  superfat {percent(batch.superfat)}: likely {percent(low)} to {percent(high)}, "
        f"at worst {percent(min(batch.superfat_low, -0.001) if batch.superfat_low < 0 else batch.superfat_low)}"
    )
    ready = f"   ready {batch.ready_date}" if batch.ready_date else ""
    yield from wrapped(f"  {_money_words(batch, shown)}{ready}", "    ")
    for warning in batch.warnings:
        if warning.code != "number_doubted":  # said below, with its cell
            yield from wrapped(f"  {warning.level}: {warning.text}", "    ")


def wrapped(text: str, hanging: str = "  ") -> Iterator[str]:
    """Return a sentence broken to the width of the terminal; a path or a name longer than that stays whole."""
    import textwrap

    yield from textwrap.wrap(text, WIDTH, subsequent_indent=hanging, break_on_hyphens=False, break_long_words=False)
