"""What comes out: batches as records, and the run that holds them."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from datetime import date
from typing import Any

from scaler.formula.steps import Step, Tables
from scaler.model.problems import Problem, Warning
from scaler.model.records import Workshop
from scaler.rules.costing import CostParts


@dataclass(frozen=True)
class Line:
    """Something weighed or counted for a batch; g and weigh_g are None for packaging, count for the rest."""

    ingredient: str
    kind: str
    stage: str
    g: float | None
    weigh_g: float | None
    count: float | None
    cost: float | None
    portion: str | None = None


@dataclass(frozen=True)
class Alkali:
    """An alkali of a batch, as weighed: exact, and to the scale division, down."""

    ingredient: str
    base: str
    g: float
    weigh_g: float


@dataclass(frozen=True)
class Price:
    """The price that makes the margin; before_tax and with_tax belong to the rounded price."""

    target_before_tax: float | None
    before_tax: float | None
    with_tax: float | None
    margin: float | None
    markup: float | None


@dataclass(frozen=True)
class Part:
    """A thing that makes the superfat unsure, and its share of the variance."""

    thing: str
    share: float


@dataclass(frozen=True)
class LyeHeat:
    """Upper bounds of the lye's temperature (°C): liquid at room temperature, from the fridge, half of it as ice."""

    room: float
    cold: float
    ice: float


@dataclass(frozen=True)
class Poured:
    """Moulds of one kind that a batch is poured into; cut is in cut_unit, the mould's Unit, None where nothing is cut."""

    mould: str
    filled: float
    fill: float
    bars: float
    cut: float | None
    cut_unit: str | None
    bar_fresh_g: float
    bar_cured_g: float
    cost_per_bar: float | None
    price: float | None


@dataclass(frozen=True)
class Batch:
    """One batch worked out: g, mL, fractions and the workbook's money, unrounded but for weigh_g and the price."""

    batch: str
    recipe: str
    mould: str | None
    moulds_filled: float | None
    make_date: date | None
    ready_date: date | None
    volume_ml: float | None
    batter_g: float
    batter_ml: float
    oils_g: float
    liquid_g: float
    liquid_total_g: float
    alkali_g: float
    alkalis: tuple[Alkali, ...]
    lines: tuple[Line, ...]
    lye_concentration: float
    pot_concentration: float
    superfat: float
    superfat_effective: float
    superfat_low: float
    superfat_high: float
    superfat_likely: tuple[float, float]
    bars: float
    bars_to_sell: float
    bar_fresh_g: float | None
    bar_cured_g: float | None
    cost: CostParts
    price: Price
    superfat_weighed: float
    superfat_safe: float
    superfat_parts: tuple[Part, ...]
    lye_hottest: LyeHeat
    jug_ml: float
    warnings: tuple[Warning, ...]
    sized_by: str
    fill: float | None
    moulds: tuple[Poured, ...]


@dataclass(frozen=True, repr=False)
class Run:
    """Everything worked out from a workshop.

    Attributes:
        workshop: what was read.
        tables: every table of workings, filled.
        batches: the batches, in the order of sheet Batches.
        problems: what stops the job; the batches may not be used when there is any.
        steps: the steps that filled the tables.
    """

    workshop: Workshop
    tables: Tables
    batches: tuple[Batch, ...]
    problems: tuple[Problem, ...]
    steps: tuple[Step, ...] = ()

    def __repr__(self) -> str:
        """Return a line a batch, or a line a problem."""
        if self.problems:
            return "\n".join(("Run with problems:", *map(repr, self.problems)))
        lines = [
            f"{item.batch}: {item.recipe}: {item.bars:g} bars, oils {item.oils_g:.1f} g, alkali {item.alkali_g:.1f} g, "
            f"lowest superfat {item.superfat_low:.1%}, warnings {len(item.warnings)}"
            for item in self.batches
        ]
        return "\n".join(("Run without problems:", *lines))

    def frame(self, of: str = "batches") -> Any:
        """Return the results as a pandas DataFrame; days are datetimes, all else as in the records.

        Args:
            of: "batches", one row a batch, lists and parts left out; or "lines", one row a thing to weigh or count.
        """
        import pandas

        if of == "lines":
            rows = [{"batch": batch.batch} | asdict(line) for batch in self.batches for line in batch.lines]
            return pandas.DataFrame(rows)
        if of != "batches":
            raise ValueError(f"There is no table of {of}: take batches or lines.")
        lists = ("alkalis", "lines", "warnings", "superfat_parts", "superfat_likely", "lye_hottest", "moulds")
        rows = []
        for batch in self.batches:
            row = {part.name: getattr(batch, part.name) for part in fields(Batch) if part.name not in lists}
            for name in ("cost", "price"):
                row |= {f"{name}_{part}": value for part, value in asdict(row.pop(name)).items()}
            rows.append(row)
        found = pandas.DataFrame(rows)
        days = [name for name in ("make_date", "ready_date") if rows]
        return found.assign(**{name: pandas.to_datetime(found[name]) for name in days})
