"""Published values: what an oil, an acid or a lye is known to be, by whom, and how far that is to be trusted.

The values stand in `scaler/model/data/*.csv`, one row a published value, each with its source and its mark:

* `read`: seen in a stored text, often a transcription of the standard;
* `computed`: arithmetic from atomic weights;
* `memory`: recalled, not seen;
* `doubt`: two routes disagree, or there is only one weak route. Never a silent default for lye.

Several rows may speak of one thing ("Coconut oil": the food standard, a pharmacopoeia). The range of a thing
is the widest one its undoubted rows give: the lowest low to the highest high.
"""

from __future__ import annotations

import csv
import difflib
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

Row = Mapping[str, str]

# A mark further right is trusted less.
MARKS = ("read", "computed", "memory", "doubt")

# Words that many names share: they say nothing about which thing is meant.
COMMON_WORDS = frozenset([
    "oil", "oils", "butter", "fat", "acid", "acids", "seed", "high", "low", "mid", "oleic", "linoleic",
    "pure", "refined", "unrefined", "virgin", "extra", "raw", "pressed", "triple", "commercial", "edible", "white", "yellow",
])  # fmt: skip

_NEAR_ENOUGH = 0.75
"""How alike two spellings must be to be suggested, 1 for the same: stearc is stearic, horse is not rosehip."""


@dataclass(frozen=True)
class Published:
    """What is used for one thing.

    Attributes:
        name: the thing, as the tables call it.
        inci: label name, "" when none is established.
        sap_low: lowest published saponification value, or acid value of an acid [mg KOH/g].
        sap_high: highest published one [mg KOH/g].
        iodine_low: lowest published iodine value [g I2/100 g], None when there is none.
        iodine_high: highest published one [g I2/100 g], None when there is none.
        density: density [g/mL] at the temperature the note states, None when not published.
        source: the publications the range is from.
        mark: read, computed, memory or doubt: the weaker of the two ends of the range.
        note: what to know about it, the density's temperature included.
    """

    name: str
    inci: str
    sap_low: float
    sap_high: float
    iodine_low: float | None
    iodine_high: float | None
    density: float | None
    source: str
    mark: str
    note: str


@dataclass(frozen=True)
class Choices:
    """Things of different ranges that one text fits: nobody but the maker can say which is meant."""

    names: tuple[str, ...]


def find(name: str, inci: str, kind: str) -> Published | Choices | None:
    """Return what is published for an ingredient, the choices when it is not clear which thing it is, else None.

    Known means that the whole name, else the whole INCI, is one the tables hold, case, spaces and accents aside.
    A word inside a longer name never counts. Only kinds "oil" and "acid" are looked up; fatty acids are both.

    >>> find("Olive Oil", "", "oil").sap_low
    184.0
    >>> find("Grandmother's best", "Cocos Nucifera Oil", "oil").name
    'Coconut oil'
    >>> find("Local olive oil from the valley", "", "oil") is None
    True
    >>> find("Petals gold", "Helianthus Annuus Seed Oil", "oil").names
    ('Sunflower oil', 'Sunflower oil, high oleic', 'Sunflower oil, mid oleic')
    """
    by_name, by_inci = _named(name, kind), _named(inci, kind)
    if isinstance(by_name, Published) or by_inci is None:
        return by_name
    if isinstance(by_name, Choices) and not (isinstance(by_inci, Published) and by_inci.name in by_name.names):
        return by_name
    return by_inci


def suggestions(name: str) -> list[str]:
    """Return the known things a name may mean, best first, at most five. They are only ever suggested.

    Likeness is of the words that tell one thing from another: goose fat is not hard fat.

    >>> suggestions("Local shea butter from the valley")
    ['Shea butter']
    >>> suggestions("Olvie oil")[0], suggestions("Goose fat")
    ('Olive oil', [])
    """
    known = _names()
    words = _words(name)
    if words <= COMMON_WORDS:
        return []
    whole = [text for text in known if words.issuperset(_words(text))]
    whole.sort(key=len, reverse=True)
    part = [text for text in known if (_words(text) - COMMON_WORDS) & words]
    telling = {" ".join(sorted(_words(text) - COMMON_WORDS)): text for text in reversed(known)}
    near = difflib.get_close_matches(" ".join(sorted(words - COMMON_WORDS)), telling, 5, _NEAR_ENOUGH)
    spelled = [telling[text] for text in near]
    found = (thing for text in (*whole, *spelled, *part) for thing in known[text])
    return list(dict.fromkeys(found))[:5]


def lye_density(base: str) -> tuple[tuple[float, float], ...]:
    """Return the density of a solution of NaOH or KOH in water at 20 C: rows of (mass fraction [g/g], [g/mL]).

    Source: handbook rows for NaOH (CRC, above 0.40 Perry), Laliberte 2009 correlation for KOH.

    >>> lye_density("NaOH")[-1]
    (0.5, 1.5253)
    """
    rows = rows_of("alkali_density.csv")
    return tuple((float(row["mass_fraction"]), float(row["density"])) for row in rows if row["base"] == base)


def lye_solubility(base: str) -> tuple[tuple[float, float], ...]:
    """Return how much base water holds: rows of (temperature [C], [g/100 g water]); doubtful rows are left out.

    >>> lye_solubility("NaOH")[1]
    (20.0, 109.0)
    """
    return _heat_rows("solubility", base)


def lye_solution_heat(base: str) -> tuple[tuple[float, float], ...]:
    """Return the integral enthalpy of solution at 25 C: rows of (water [mol/mol base], [kJ/mol]); none for KOH.

    Source: Felder and Rousseau, Appendix B; one convention throughout (-42.87 kJ/mol at infinite dilution).

    >>> lye_solution_heat("NaOH")[1]
    (4.0, -34.43)
    """
    return _heat_rows("enthalpy of solution", base)


def lye_specific_heat(base: str) -> tuple[tuple[float, float], ...]:
    """Return the specific heat of a solution at 20 C: rows of (mass fraction [g/g], [J/(g K)]).

    >>> lye_specific_heat("KOH")[0]
    (0.0, 4.185)
    """
    return _heat_rows("specific heat", base)


def lye_boiling() -> tuple[tuple[float, float, float], ...]:
    """Return where lye boils at 1 atm: rows of (mass fraction [g/g], NaOH [C], KOH [C]).

    Source: producers' handbooks, memory.

    >>> lye_boiling()[-1]
    (0.5, 142.0, 142.0)
    """
    rows = rows_of("alkali_boiling.csv")
    return tuple((float(row["mass_fraction"]), float(row["naoh"]), float(row["koh"])) for row in rows)


def milk_fat() -> Published:
    """Return what is published for the fat of milk.

    >>> milk_fat().mark
    'memory'
    """
    return _things("oil")["Milk fat"]


def fatty_acids(name: str) -> dict[str, tuple[float, float]]:
    """Return the published range of each fatty acid of an oil [% of all fatty acids]; {} when none is published.

    Acids not detected are left out. Keys read C18:1 (18 carbons, 1 double bond); C18:1-OH is ricinoleic.

    >>> fatty_acids("coconut")["C12:0"]
    (45.1, 53.2)
    """
    found = _named(name, "oil")
    thing = found.name if isinstance(found, Published) else ""
    rows = rows_of("fatty_acids.csv")
    return {row["acid"]: (float(row["low"]), float(row["high"])) for row in rows if row["thing"] == thing}


@cache
def rows_of(file: str) -> tuple[Row, ...]:
    """Return the rows of a table of published values."""
    text = (files("scaler.model") / "data" / file).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def _heat_rows(quantity: str, base: str) -> tuple[tuple[float, float], ...]:
    rows = (row for row in rows_of("alkali_heat.csv") if (row["quantity"], row["base"]) == (quantity, base))
    return tuple((float(row["at"]), float(row["value"])) for row in rows if row["mark"] != "doubt")


@cache
def everything() -> tuple[Published, ...]:
    """Return what is used for every oil, then for every acid that is no oil.

    >>> everything()[0].name
    'Coconut oil'
    """
    oils = _things("oil")
    return (*oils.values(), *(thing for name, thing in _things("acid").items() if name not in oils))


def names_of(things: tuple[Published, ...]) -> list[tuple[str, float]]:
    """Return every name and label name after its kind, as oil|olive oil, with its row (1, 2, ...).

    A name that fits things of different ranges is left out: nobody but the maker can say which is meant.
    """
    rows = {thing.name: place + 1.0 for place, thing in enumerate(things)}
    labels = [row["inci"] for file in ("oils.csv", "acids.csv") for row in rows_of(file) if row["inci"]]
    found: dict[str, tuple[str, float]] = {}
    for text in (*_names(), *labels):
        for kind in ("oil", "acid"):
            thing = _named(text, kind)
            if isinstance(thing, Published):
                found.setdefault(f"{kind}|{text.casefold()}", (f"{kind}|{text}", rows[thing.name]))
    return list(found.values())


def _folded(text: str) -> str:
    """Return a text as it is compared: without case, accents or spaces.

    >>> _folded(" Rapeseed  OIL")
    'rapeseedoil'
    """
    return "".join(_spaced(text).split())


def _spaced(text: str) -> str:
    letters = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in letters if not unicodedata.combining(letter))


def _words(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"[a-z0-9]+", _spaced(text)))


@cache
def _names() -> dict[str, tuple[str, ...]]:
    """Return the names and synonyms, as the tables write them, each with the things it fits."""
    listed = [(row["thing"], row["thing"]) for file in ("oils.csv", "acids.csv") for row in rows_of(file)]
    return _fits((*listed, *((row["text"], row["thing"]) for row in rows_of("names.csv"))))


def _fits(pairs: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    """Return each text with the things it fits, once each, in their order."""
    fits: dict[str, dict[str, None]] = {}
    for text, thing in pairs:
        fits.setdefault(text, {})[thing] = None
    return {text: tuple(things) for text, things in fits.items()}


@cache
def _index() -> dict[str, tuple[str, ...]]:
    """Return the folded texts, each with the things it fits: a label name only where no name is spelled so."""
    labels = [(row["inci"], row["thing"]) for file in ("oils.csv", "acids.csv") for row in rows_of(file) if row["inci"]]
    names = [(text, thing) for text, things in _names().items() for thing in things]
    return _fits((_folded(text), thing) for text, thing in labels) | _fits(
        (_folded(text), thing) for text, thing in names
    )


def _named(text: str, kind: str) -> Published | Choices | None:
    """Return what one text, a name or a label name, stands for among the things of a kind."""
    things = _things(kind)
    found = [things[name] for name in _index().get(_folded(text), ()) if name in things]
    if not found:
        return None
    if len({(thing.sap_low, thing.sap_high) for thing in found}) > 1:
        return Choices(tuple(thing.name for thing in found))
    return found[0]


@cache
def _things(kind: str) -> dict[str, Published]:
    """Return what is used for every thing an ingredient of this kind may be."""
    oils = _grouped(rows_of("oils.csv")) if kind == "oil" else {}
    acids = rows_of("acids.csv") if kind in ("oil", "acid") else ()
    return oils | _grouped(row for row in acids if kind == "acid" or row["fatty"] == "yes")


def _grouped(rows: Iterable[Row]) -> dict[str, Published]:
    return {thing: _together(thing, group) for thing, group in by_thing(rows).items()}


def by_thing(rows: Iterable[Row]) -> dict[str, list[Row]]:
    """Return the rows of each thing, in their order."""
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row["thing"], []).append(row)
    return groups


def _together(thing: str, rows: list[Row]) -> Published:
    """Return what is used for a thing several rows speak of."""
    used = _undoubted(rows, "sap")
    low = min(float(row["sap_low"]) for row in used)
    high = max(float(row["sap_high"]) for row in used)
    lows = [mark_of(row, "sap") for row in used if float(row["sap_low"]) == low]
    highs = [mark_of(row, "sap") for row in used if float(row["sap_high"]) == high]
    iodine = _undoubted(rows, "iodine")
    dense = _undoubted([row for row in rows if row.get("density")], "density")
    return Published(
        name=thing,
        inci=rows[0]["inci"],
        sap_low=low,
        sap_high=high,
        iodine_low=min(_numbers(iodine, "iodine_low"), default=None),
        iodine_high=max(_numbers(iodine, "iodine_high"), default=None),
        density=float(dense[0]["density"]) if dense else None,
        source="; ".join(dict.fromkeys(row["source"] for row in used)),
        mark=weakest((_strongest(lows), _strongest(highs))),
        note="; ".join(_notes(rows, dense[:1])),
    )


def _undoubted(rows: list[Row], value: str) -> list[Row]:
    """Return the rows whose value (sap, iodine, density) is not in doubt; all of them when every one is."""
    return [row for row in rows if value not in row.get("doubt_in", "").split()] or rows


def mark_of(row: Row, value: str) -> str:
    """Return the mark of one value (sap, iodine, density) of a row; where only others are in doubt it is recalled."""
    doubted_elsewhere = "doubt_in" in row and row["mark"] == "doubt" and value not in row["doubt_in"].split()
    return "memory" if doubted_elsewhere else row["mark"]


def _strongest(marks: Iterable[str]) -> str:
    return min(marks, key=MARKS.index)


def weakest(marks: Iterable[str]) -> str:
    """Return the mark that is trusted least."""
    return max(marks, key=MARKS.index)


def _numbers(rows: Iterable[Row], column: str) -> list[float]:
    return [float(row[column]) for row in rows if row.get(column)]


def _notes(rows: list[Row], dense: list[Row]) -> Iterable[str]:
    """Return each row's note behind its standard, then where the density is from."""
    for row in rows:
        if row["note"]:
            yield f"{row['standard']}: {row['note']}" if len(rows) > 1 else row["note"]
    unused = [row["density_note"] for row in rows if row.get("density_note")]
    for text in [row["density_note"] for row in dense] or unused:
        yield f"density {text}"
