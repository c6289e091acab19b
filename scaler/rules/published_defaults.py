"""What is published for each ingredient, and what was therefore taken for its blank cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from scaler.model import reference
from scaler.model.problems import Problem, Warning
from scaler.model.records import ACID, ADDITIVE, ALKALI, LIQUID, OIL, Ingredient
from scaler.model.reference import Choices, Published

OIL_DENSITY, OTHER_DENSITY = 0.92, 1.00
"""Density taken where nothing is published (g/mL); the contract's defaults."""

_SMALLEST_SAP = 50.0
"""No fat, wax ester or fatty acid of the tables needs less (mg KOH/g)."""

_LARGEST_SAP = {OIL: 400.0, ACID: 2000.0}
"""No fat or fatty acid needs more than caprylic acid (389 mg KOH/g), no acid more than phosphoric (1718); computed."""

_SOUREST_DRY = 1250.0
"""Acid value of oxalic acid, more than any acid of a drink has (mg KOH/g); computed."""

_SOUREST_LIQUID = 150.0
"""Three times vinegar: a liquid that does not say its water has no higher acid value (mg KOH/g); our own choice."""

_BASE_NAMES = {
    "NaOH": ("sodium hydroxide", "naoh", "caustic soda"),
    "KOH": ("potassium hydroxide", "koh", "caustic potash"),
}

_NAOH_PER_KOH = 39.99712 / 56.10565
_BASES = (
    ("grams of NaOH for 1 g of oil", 1000 / _NAOH_PER_KOH),
    ("grams of KOH for 1 g of oil", 1000.0),
    ("milligrams of NaOH for 1 g of oil", 1 / _NAOH_PER_KOH),
    ("grams of NaOH for 100 g of oil", 10 / _NAOH_PER_KOH),
    ("grams of KOH for 100 g of oil", 10.0),
    ("ounces of NaOH for 1 lb of oil", 1000 / 16 / _NAOH_PER_KOH),
    ("ounces of KOH for 1 lb of oil", 1000 / 16),
    ("grams of NaOH for 1 oz of oil", 1000 / 28.349523125 / _NAOH_PER_KOH),
    ("grams of NaOH for 1 lb of oil", 1000 / 453.59237 / _NAOH_PER_KOH),
    ("grams of KOH for 1 lb of oil", 1000 / 453.59237),
    ("a value that was already in KOH, turned from NaOH to KOH once more", _NAOH_PER_KOH),
)


@dataclass(frozen=True)
class Facts:
    """What stands in the workings beside one ingredient.

    Attributes:
        known: 1.0 when the reference tables know the thing.
        sap: published value that a blank SAP takes (mg KOH/g), 0 when there is none.
        sap_low, sap_high: published range (mg KOH/g).
        density: what a blank Density takes (g/mL).
        fat_sap: saponification value of milk fat (mg KOH/g), 0 for what never holds fat.
        said: sentences that say what was taken for which blank cell.
        source: publications of the range, "" when the tables do not know the thing.
        mark: read, computed, memory, doubt; "supplier" when the row's own numbers are used.
        profile: iodine value and fatty-acid classes, low and high; 0 throughout when nothing is published.
    """

    known: float
    doubt: float
    sap: float
    sap_low: float
    sap_high: float
    density: float
    fat_sap: float
    said: tuple[str, ...]
    source: str
    mark: str
    profile: Mapping[str, float]


def facts_of(ingredient: Ingredient) -> tuple[Facts, list[Problem], list[Warning]]:
    """Return what is published for an ingredient, the problems of its SAP, and the warnings it draws."""
    found = reference.find(ingredient.ingredient, ingredient.inci or "", ingredient.kind)
    published = found if isinstance(found, Published) else None
    problems = [
        *_missing_sap(ingredient, found),
        *_wrong_basis(ingredient, published),
        *_beside_its_range(ingredient, published),
        *_too_sour(ingredient),
        *_other_base(ingredient),
    ]
    said = [*_said_of_sap(ingredient, published), *_said_of_density(ingredient, published), *_said_of_rest(ingredient)]
    facts = Facts(
        known=1.0 if published else 0.0,
        doubt=1.0 if published and published.mark == "doubt" else 0.0,
        sap=_usual_sap(ingredient, published),
        sap_low=published.sap_low if published else 0.0,
        sap_high=published.sap_high if published else 0.0,
        density=_usual_density(ingredient, published),
        fat_sap=_milk_fat_sap(ingredient),
        said=tuple(said),
        source=published.source if published else "",
        mark=published.mark if published and ingredient.sap is None else "supplier",
        profile=_profile(published),
    )
    return facts, problems, _doubts(ingredient, published)


FATTY_CLASSES = {
    "lauric": ("C12:0", "C14:0"),
    "palmitic": ("C16:0", "C18:0"),
    "oleic": ("C18:1", "C18:1-OH"),
    "linoleic": ("C18:2", "C18:3"),
}
"""Classes of fatty acids: lauric + myristic, palmitic + stearic, oleic + ricinoleic, linoleic + linolenic."""


def _profile(published: Published | None) -> dict[str, float]:
    """Return iodine value [g I2/100 g] and classes [share of all fatty acids], low and high."""
    profile = dict.fromkeys(("iodine_low", "iodine_high", "profile_known"), 0.0)
    profile |= {f"{name}_{end}": 0.0 for name in FATTY_CLASSES for end in ("low", "high")}
    if not published:
        return profile
    if published.iodine_low is not None and published.iodine_high is not None:
        profile |= {"iodine_low": published.iodine_low, "iodine_high": published.iodine_high}
    acids = reference.fatty_acids(published.name)
    profile["profile_known"] = 1.0 if acids else 0.0
    for name, members in FATTY_CLASSES.items():
        ranges = [acids[member] for member in members if member in acids]
        profile[f"{name}_low"] = min(sum(low for low, _ in ranges) / 100, 1.0)
        profile[f"{name}_high"] = min(sum(high for _, high in ranges) / 100, 1.0)
    return profile


def _usual_sap(ingredient: Ingredient, published: Published | None) -> float:
    if not published:
        return 0.0
    return published.sap_low if ingredient.kind == ACID else (published.sap_low + published.sap_high) / 2


def _usual_density(ingredient: Ingredient, published: Published | None) -> float:
    if published and published.density:
        return published.density
    return OIL_DENSITY if ingredient.kind == OIL else OTHER_DENSITY


def _milk_fat_sap(ingredient: Ingredient) -> float:
    """Return milk fat's value for whatever may hold fat: a blank Fat may be filled in the finished workbook."""
    if ingredient.kind not in (LIQUID, ADDITIVE):
        return 0.0
    fat = reference.milk_fat()
    return (fat.sap_low + fat.sap_high) / 2


def _needs_sap(ingredient: Ingredient) -> bool:
    return ingredient.kind in (OIL, ACID)


def _missing_sap(ingredient: Ingredient, found: Published | Choices | None) -> list[Problem]:
    if not _needs_sap(ingredient) or ingredient.sap is not None or isinstance(found, Published):
        return []
    place = ingredient.where.place("sap")
    if isinstance(found, Choices):
        choices = ", ".join(found.names)
        do = f"This may be any of {choices}, whose ranges differ: give the SAP, or make the name one of these."
        return [Problem(place, "sap_ambiguous", "a blank SAP", "a number in mg KOH/g", do)]
    near = reference.suggestions(ingredient.ingredient)
    hint = f" The tables know {', '.join(near)}: use that name if it is the same thing." if near else ""
    do = f"Nothing is published here for {ingredient.ingredient}: take the SAP from the supplier's certificate.{hint}"
    return [Problem(place, "sap_missing", "a blank SAP", "a number in mg KOH/g", do)]


def _wrong_basis(ingredient: Ingredient, published: Published | None) -> list[Problem]:
    value = ingredient.sap
    if not _needs_sap(ingredient) or not value:
        return []
    low, high = (published.sap_low, published.sap_high) if published else (150.0, 300.0)
    possible = _SMALLEST_SAP <= value <= _LARGEST_SAP[ingredient.kind]
    if low <= value <= high or (possible and not published):
        return []
    fits = [(says, value * factor) for says, factor in _BASES if low * 0.97 <= value * factor <= high * 1.03]
    if not fits and possible:
        return []
    meant = f" It looks like {fits[0][0]}: that is {fits[0][1]:.1f} mg KOH/g." if fits else ""
    do = f"SAP is in mg KOH for 1 g of oil, such as 190.{meant} Correct the cell."
    return [Problem(ingredient.where.place("sap"), "sap_basis", f"a SAP of {value:g}", "mg KOH/g", do)]


def _beside_its_range(ingredient: Ingredient, published: Published | None) -> list[Problem]:
    """Refuse what blank cells take when the filled ones beside them contradict it."""
    own = (ingredient.sap_low, ingredient.sap, ingredient.sap_high)
    if not _needs_sap(ingredient) or published is None or None not in own:
        return []
    low = published.sap_low if ingredient.sap_low is None else ingredient.sap_low
    high = published.sap_high if ingredient.sap_high is None else ingredient.sap_high
    value = _usual_sap(ingredient, published)
    if low <= high and (ingredient.sap is not None or low <= value <= high):
        return []
    filled = "sap_low" if ingredient.sap_low is not None else "sap_high"
    found = f"{low:g} to {high:g} where SAP is {value:g}" if ingredient.sap is None else f"{low:g} to {high:g}"
    do = (
        "A blank cell takes the published value, which contradicts this one: fill SAP, SAP low and SAP high from the "
        "certificate."
    )
    return [Problem(ingredient.where.place(filled), "range_crossed", found, "low, value and high in order", do)]


def _too_sour(ingredient: Ingredient) -> list[Problem]:
    """Refuse an acid value that no drink has: of a milk whose Fat is blank, SAP would be alkali to add."""
    if ingredient.kind != LIQUID or ingredient.fat or not ingredient.sap:
        return []
    most = _SOUREST_LIQUID if ingredient.water is None else (1 - ingredient.water) * _SOUREST_DRY
    if ingredient.sap <= most:
        return []
    do = (
        "SAP of a liquid without fat is its acid value, 47 for a vinegar of 5 %: alkali is added for it. Correct SAP "
        "and Water %; of a milk fill Fat %, then SAP is that of its fat and adds no alkali."
    )
    expected = f"{most:g} mg KOH/g or less"
    return [Problem(ingredient.where.place("sap"), "sap_basis", f"a SAP of {ingredient.sap:g}", expected, do)]


def _other_base(ingredient: Ingredient) -> list[Problem]:
    """Refuse an alkali whose name says the other base: NaOH weighed for KOH is 40 % too much lye."""
    if ingredient.kind != ALKALI or ingredient.base not in _BASE_NAMES:
        return []
    text = f"{ingredient.ingredient} {ingredient.inci or ''}".casefold()
    said = [base for base, names in _BASE_NAMES.items() if any(name in text for name in names)]
    if not said or ingredient.base in said:
        return []
    found, do = f"Base {ingredient.base} on what its name calls {said[0]}", "Correct Base, or the name and INCI."
    return [Problem(ingredient.where.place("base"), "base_contradicted", found, said[0], do)]


def _doubts(ingredient: Ingredient, published: Published | None) -> list[Warning]:
    if ingredient.sap is not None or not published or published.mark != "doubt":
        return []
    text = (
        f"The published SAP of {ingredient.ingredient} ({published.sap_low:g} to {published.sap_high:g} mg KOH/g) is "
        "doubtful. Take it from the supplier's certificate."
    )
    return [Warning("sap_doubtful", text)]


def _said_of_sap(ingredient: Ingredient, published: Published | None) -> list[str]:
    if not _needs_sap(ingredient):
        return []
    said = []
    if ingredient.sap is None and published:
        which = "lowest published value" if ingredient.kind == ACID else "middle of the published range"
        said.append(f"SAP blank: {which}")
    if ingredient.sap_low is None or ingredient.sap_high is None:
        said.append("SAP range blank: " + ("published range" if published else "SAP ± 3 %"))
    return said


def _said_of_density(ingredient: Ingredient, published: Published | None) -> list[str]:
    if ingredient.density is not None or ingredient.kind in (ALKALI, "packaging"):
        return []
    if published and published.density:
        return [f"Density blank: published {published.density:.4g} g/mL"]
    return [f"Density blank: {_usual_density(ingredient, published):.2f} g/mL"]


def _said_of_rest(ingredient: Ingredient) -> list[str]:
    said = []
    if ingredient.kind == ALKALI:
        if ingredient.purity is None:
            said.append("Purity blank: 100 %")
        if ingredient.purity_high is None and ingredient.purity is not None:
            said.append("Purity range blank: Purity; flakes may be purer than stated")
    if ingredient.kind == LIQUID and ingredient.water is None:
        said.append("Water blank: 100 %")
    if ingredient.fat and ingredient.sap is None:
        said.append("SAP of its fat blank: published milk fat")
    return said
