"""Steps without a column in the workings: who reads them, and behind which gates."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache

import pytest
from workbooks import demo

import scaler
from scaler.formula.steps import BLOCK, COLUMN, ROW, Names, Step
from scaler.market_run import MarketRun
from scaler.market_run import work_out as market_run
from scaler.output import DEMO_FILES, shipped
from scaler.read.files import read_cells
from scaler.rules.results import Run
from scaler.validation.issues import ALONE, present
from scaler.write.finished import finished
from scaler.write.layout import FOLDED, UNREAD, WORKINGS

IMPLIES = {
    ("batches", "makeable"): ("ready",), ("batches", "counts"): ("ready",), ("batches", "ready"): ("in_pot",),
    ("batches", "in_pot"): ("fit",), ("batches", "fit"): ("entered",), ("lines", "in_whole"): ("entered",),
    ("lines", "asked"): ("entered",), ("lines", "asked_whole"): ("in_whole",), ("recipes", "whole"): ("entered",),
    ("prices", "on_offer"): ("entered",), ("batch_lines", "makes"): ("weighed",),
}  # fmt: skip
"""Gates that are open only where others are, beside those that stand behind them."""


@cache
def market() -> Run:
    """Return a market run of the demo, which has every table."""
    found = market_run(scaler.load(*(shipped() / name for name in DEMO_FILES)))
    assert isinstance(found, MarketRun)
    return found.run


def readers(run: Run) -> Iterator[tuple[Step, str, str, str]]:
    """Yield each step with the kind, the table and the column of everything it reads."""
    names = Names(run.tables, run.steps)
    for step in run.steps:
        yield from ((step, "gathered", table, name) for table, name in step.gathers)
        if step.when:
            yield step, "gate", step.table, step.when
        for parameter in step.parameters:
            source = names.source(step, parameter)
            if source.kind == BLOCK:
                yield from ((step, BLOCK, step.table, name) for name in names.blocks[step.table][parameter])
            elif source.kind in (ROW, COLUMN):
                yield step, source.kind, source.table, source.name


def implies(run: Run, table: str, gate: str, wanted: str) -> bool:
    """Return whether one gate of a table is open only where another is."""
    whens = {(step.table, step.name): step.when for step in run.steps}
    if gate == wanted or not wanted:
        return True
    further = (*IMPLIES.get((table, gate), ()), *([whens[table, gate]] if whens.get((table, gate)) else []))
    return any(implies(run, table, other, wanted) for other in further)


@pytest.mark.parametrize("table", FOLDED)
def test_what_is_folded_is_read_in_its_own_row_behind_its_own_gate(table: str) -> None:
    """A folded step is read by steps of its own row alone, each worked out only where it is."""
    run = market()
    steps = {step.name: step for step in run.steps if step.table == table}
    read = [held for held in readers(run) if held[2] == table and held[3] in FOLDED[table]]
    assert {name for _, _, _, name in read} == FOLDED[table]
    for step, kind, _, name in read:
        assert (step.table, kind) == (table, ROW), (step.name, name)
        assert implies(run, table, step.when, steps[name].when), (step.name, name)


@pytest.mark.parametrize("table", UNREAD)
def test_what_nobody_reads_is_read_by_nobody(table: str) -> None:
    """No step reads a column that is left out."""
    assert [step.name for step, _, of, name in readers(market()) if of == table and name in UNREAD[table]] == []
    assert UNREAD[table] <= {step.name for step in market().steps if step.table == table}


def test_no_sentence_quotes_what_has_no_column() -> None:
    """A rule's sentence and the cell it names are columns."""
    quoted = {
        (rule.table, name) for rule in present(market().tables) for name in (rule.at, *(f.name for f in rule.fields))
    }
    hidden = {(table, name) for held in (FOLDED, UNREAD) for table, names in held.items() for name in names}
    assert quoted & hidden == set()


def test_gates_imply_as_they_say() -> None:
    """In the demo a gate that implies another is open only where that one is."""
    columns = demo().tables.columns
    for (table, gate), others in IMPLIES.items():
        for other in others:
            pairs = list(zip(columns[table][gate], columns[table][other], strict=True))
            assert all(held == 1 for opened, held in pairs if opened == 1), (table, gate, other)


def test_a_pack_alone_is_read_by_its_key() -> None:
    """What is all of its channel is read by the channel's key, in its row, and by nothing else."""
    found = {
        (table, name): (step.name, kind) for step, kind, table, name in readers(market()) if (table, name) in ALONE
    }
    assert found == {(table, name): (f"{name.rpartition('_')[0]}_key", ROW) for table, name in ALONE}


LONGEST = 255


@pytest.mark.parametrize("run", [demo, market], ids=["batches", "market"])
def test_no_formula_of_the_workings_is_long(run: Callable[[], Run]) -> None:
    """Every formula of the demo's workings can be read in one go."""
    cells = read_cells(finished(run()), (WORKINGS,))[WORKINGS]
    lengths = {at: len(held.written) for at, held in cells.items() if held.written}
    assert len(lengths) > 10_000
    assert {at: length for at, length in lengths.items() if length > LONGEST} == {}
