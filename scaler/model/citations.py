"""Who published each value that scaler knows: a line a value, with its own mark."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache

from scaler.model.reference import Row, by_thing, mark_of, rows_of, weakest


@dataclass(frozen=True)
class Source:
    """One line of a Sources tab: what was published, where, and its mark."""

    thing: str
    what: str
    value: str
    unit: str
    source: str
    mark: str
    note: str


@cache
def sources() -> tuple[Source, ...]:
    """Return a line for every published value the tables hold, each with its own mark, in the order of the tables.

    >>> sources()[0].value, sources()[0].mark
    ('248-265', 'read')
    """
    oils = (line for row in rows_of("oils.csv") for line in _oil_sources(row))
    composed = by_thing(rows_of("fatty_acids.csv"))
    compositions = (_composition_source(thing, rows) for thing, rows in composed.items())
    acids = (_source(row, row["thing"], "acid value", _range(row, "sap"), "mg KOH/g") for row in rows_of("acids.csv"))
    densities = (
        _source(row, row["base"], f"solution density at mass fraction {row['mass_fraction']}", row["density"], "g/mL")
        for row in rows_of("alkali_density.csv")
    )
    heats = (
        _source(row, row["base"], f"{row['quantity']} at {row['at']} {row['at_unit']}", row["value"], row["unit"])
        for row in rows_of("alkali_heat.csv")
    )
    return (*oils, *compositions, *acids, *densities, *heats)


def _oil_sources(row: Row) -> Iterable[Source]:
    yield _source(row, row["thing"], "saponification value", _range(row, "sap"), "mg KOH/g", "sap")
    if iodine := _range(row, "iodine"):
        yield _source(row, row["thing"], "iodine value", iodine, "g I2/100 g", "iodine")
    if row["density"]:
        line = _source(row, row["thing"], "density", row["density"], "g/mL", "density")
        yield replace(line, note=row["density_note"])


def _composition_source(thing: str, rows: list[Row]) -> Source:
    publications = "; ".join(dict.fromkeys(row["source"] for row in rows))
    mark = weakest(row["mark"] for row in rows)
    return Source(thing, "fatty-acid ranges", f"{len(rows)} acids", "% of fatty acids", publications, mark, "")


def _source(row: Row, thing: str, what: str, value: str, unit: str, column: str = "sap") -> Source:
    return Source(thing, what, value, unit, row["source"], mark_of(row, column), row.get("note", ""))


def _range(row: Row, column: str) -> str:
    """Return "low-high", one number when they are equal, "" when there is none.

    >>> _range({"sap_low": "", "sap_high": "5"}, "sap")
    'at most 5'
    """
    low, high = row[f"{column}_low"], row[f"{column}_high"]
    if low and high:
        return low if low == high else f"{low}-{high}"
    return f"at least {low}" if low else f"at most {high}" if high else ""
