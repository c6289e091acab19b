"""Our numbers beside published ones: `published/*.csv` holds source, mark, published value and tolerance of each.

The tolerance is the last digit of the source. Where two sources disagree by more than that, the row states
how far they do (`allowed`) and why. Every failure says published source, published value, ours, difference.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from zlib import crc32

import pytest
from molmass import Formula
from thermo.electrochem import Laliberte_density  # type: ignore[import-untyped]  # thermo ships no hints
from workshops import grams, made, naoh, oil, part, shop, thing

from scaler.model.reference import Published, fatty_acids, find, lye_density, milk_fat
from scaler.rules.constants import CONSTANTS

HERE = Path(__file__).parent
PUBLISHED = HERE / "published"
DATA = HERE.parent / "scaler" / "model" / "data"

CONSTANT = {constant.name: constant.value for constant in CONSTANTS}
NAOH, KOH = CONSTANT["naoh_molar_mass"], CONSTANT["koh_molar_mass"]
NAOH_PER_KOH = NAOH / KOH

# CAS registry numbers, as thermo asks for them.
CAS = {"NaOH": "1310-73-2", "KOH": "1310-58-3"}

Row = dict[str, str]


def rows(path: Path) -> list[Row]:
    """Return the rows of a table."""
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def cases(name: str, *labels: str) -> list[object]:
    """Return the rows of a published table as test cases, each named by some of its columns."""
    labels = labels or ("what",)
    return [pytest.param(row, id=", ".join(row[label] for label in labels)) for row in rows(PUBLISHED / name)]


def agrees(row: Row, ours: float) -> None:
    """Check our value against the published one, within the source's last digit or the disagreement it states."""
    published, allowed = float(row["published"]), float(row.get("allowed") or row["tolerance"])
    difference = ours - published
    # A millionth of the tolerance keeps binary fractions from deciding.
    assert abs(difference) <= allowed * (1 + 1e-6), (
        f"{row['source']} ({row['mark']}): published {published}, ours {ours}, difference {difference:+.3g}, "
        f"allowed {allowed}"
    )


def mass(formula: str) -> float:
    """Return a molar mass by molmass [g/mol]."""
    return float(Formula(formula).mass)


def used(name: str, kind: str = "oil") -> Published:
    """Return what is published for a thing that is known."""
    found = find(name, "", kind)
    assert isinstance(found, Published), found
    return found


# --- Molar masses -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", cases("molar_masses.csv", "what", "source"))
def test_molar_mass(row: Row) -> None:
    """Our molar masses are those of two packages of atomic weights; one of them abridges its weights."""
    agrees(row, {"NaOH": NAOH, "KOH": KOH}[row["what"]])


# --- Pure triglycerides -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", cases("triglycerides.csv"))
def test_pure_triglyceride(row: Row) -> None:
    """An oil that is one triglyceride takes three molecules of NaOH for each of its own."""
    value = 3 * mass("KOH") * 1000 / mass(row["formula"])
    batch = made(shop([oil(sap=value), naoh()], [part("fat", 1.0)]))
    agrees(row, batch.alkali_g / batch.oils_g)


# --- Acids --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", cases("acids.csv"))
def test_acid_takes_its_protons(row: Row) -> None:
    """The acid value we ship is the acid's protons times KOH over its own molar mass; a batch takes the published NaOH for it."""
    acid = used(row["what"], "acid")
    assert acid.sap_low == acid.sap_high
    assert abs(acid.sap_low - int(row["protons"]) * mass("KOH") * 1000 / mass(row["formula"])) < 0.01
    things = [oil(), naoh(), thing(row["what"], "acid")]
    batch = made(shop(things, [part("fat", 1.0), part(row["what"], 0.05)]))
    agrees(row, (batch.alkali_g - batch.oils_g * 0.190 * NAOH_PER_KOH) / grams(batch, row["what"]))


def test_commercial_stearic_acid_brackets_the_pure_ones() -> None:
    """Stearic acid of the pharmacopoeia (194-212) brackets the pure acid and a half-and-half blend with palmitic."""
    stearic, palmitic = mass("C18H36O2"), mass("C16H32O2")
    pure, blend = (mass("KOH") * 1000 / each for each in (stearic, 2 / (1 / stearic + 1 / palmitic)))
    assert used("Stearic acid").sap_low < pure < blend < used("Stearic acid").sap_high


# --- Oils ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", cases("oil_ranges.csv"))
def test_food_standard_range(row: Row) -> None:
    """The food standard's row has the food standard's range."""
    shipped = [oil for oil in rows(DATA / "oils.csv") if oil["thing"] == row["what"] and oil["standard"] == "CXS 210"]
    assert [(oil["sap_low"], oil["sap_high"], oil["mark"]) for oil in shipped] == [
        (row["low"], row["high"], row["mark"])
    ]


def fatty_acid_mass(acid: str) -> float:
    """Return the molar mass of C18:1 and the like, -OH for one hydroxyl group [g/mol]."""
    chain, _, hydroxyl = acid.partition("-")
    carbons, bonds = (int(number) for number in chain[1:].split(":"))
    return mass(f"C{carbons}H{2 * carbons - 2 * bonds}O{3 if hydroxyl else 2}")


def triglyceride_sap(shares: Mapping[str, float]) -> float:
    """Return the saponification value of the triglyceride of these fatty acids [mg KOH/g]; shares by weight."""
    mean = sum(shares.values()) / sum(share / fatty_acid_mass(acid) for acid, share in shares.items())
    return 3 * mass("KOH") * 1000 / (3 * mean + mass("C3H8O3") - 3 * mass("H2O"))


def triglyceride_iodine(shares: Mapping[str, float]) -> float:
    """Return the iodine value of the triglyceride of these fatty acids [g I2/100 g]: each double bond takes one I2.

    The sum that AOCS Cd 1c-85 tabulates as a factor an acid; here worked out from molar masses.
    """
    moles = {acid: share / fatty_acid_mass(acid) for acid, share in shares.items()}
    bonds = sum(amount * int(acid.partition("-")[0].partition(":")[2]) for acid, amount in moles.items())
    weight = sum(shares.values()) + sum(moles.values()) * (mass("C3H8O3") / 3 - mass("H2O"))
    return 100 * bonds * mass("I2") / weight


def middles(oil: str) -> dict[str, float]:
    """Return the middle of each published fatty-acid range of an oil [% of all fatty acids]."""
    return {acid: (low + high) / 2 for acid, (low, high) in fatty_acids(oil).items()}


def composed_sap(oil: str) -> float:
    """Return the saponification value of the triglyceride of an oil's mid-range fatty acids [mg KOH/g]."""
    return triglyceride_sap(middles(oil))


@pytest.mark.parametrize("row", cases("compositions.csv"))
def test_composition(row: Row) -> None:
    """The composition we ship gives the saponification value that was worked out from it separately."""
    agrees(row, composed_sap(row["what"]))


# Rows whose range does not hold the value of the composition: by how much, and why.
COMPOSITION_EXCEPTIONS = {
    # Lauric acid may be 40-55 %: the middle of so wide a range is poorer in lauric acid than real babassu oil.
    "Babassu oil": -0.6,
    # A range for crude oil of 3-5 % unsaponifiables, which take no alkali: 4 % less than 193.8 is 186, inside it.
    "Rice bran oil (Merck)": 4.8,
}

# Codex rows without a published composition among our tables.
NO_COMPOSITION = {
    "Sunflower seed oil, mid oleic", "Rapeseed oil (high erucic)", "Hazelnut oil", "Pistachio oil", "Olive-pomace oil",
    "Rendered pork fat", "Premier jus (oleo stock)",
}  # fmt: skip

COMPOSED = [oil for oil in rows(DATA / "oils.csv") if fatty_acids(oil["thing"])]


@pytest.mark.parametrize("oil", [pytest.param(oil, id=oil["name"]) for oil in COMPOSED])
def test_range_brackets_the_composition(oil: Row) -> None:
    """A published range holds the value of the published composition, or misses it by the excess that is explained."""
    computed = composed_sap(oil["thing"])
    low, high = float(oil["sap_low"]), float(oil["sap_high"])
    outside = round(min(computed - low, 0) + max(computed - high, 0), 1)
    expected = COMPOSITION_EXCEPTIONS.get(oil["name"], 0)
    assert outside == expected, (
        f"{oil['source']}: published {low}-{high}, composition {computed:.1f}, outside {outside}"
    )


def test_every_food_standard_oil_is_checked() -> None:
    """Every Codex row is checked against a composition, but those that have none."""
    codex = {oil["name"] for oil in rows(DATA / "oils.csv") if oil["standard"].startswith("CXS")}
    assert codex - {oil["name"] for oil in COMPOSED} == NO_COMPOSITION


def test_range_of_a_thing_brackets_its_composition() -> None:
    """The range used for a thing holds the value of its composition, babassu oil alone excepted."""
    things = {oil["thing"] for oil in COMPOSED}
    outside = [thing for thing in things if not used(thing).sap_low <= composed_sap(thing) <= used(thing).sap_high]
    assert outside == ["Babassu oil"]


# Cow milk fat [% of fatty acids]; handbooks of dairy chemistry, from memory.
MILK_FAT = (
    {"C4:0": 3.6, "C6:0": 2.2, "C8:0": 1.3, "C10:0": 2.9, "C12:0": 3.5, "C14:0": 11.0, "C15:0": 1.2, "C16:0": 28.0}
    | {"C16:1": 1.6, "C17:0": 0.8, "C18:0": 11.0, "C18:1": 23.0, "C18:2": 2.2, "C18:3": 0.7}
)  # fmt: skip


def test_milk_fat_brackets_its_composition() -> None:
    """The recalled range of milk fat holds the value of a recalled composition, about 232 mg KOH/g."""
    computed = triglyceride_sap(MILK_FAT)
    assert round(computed) == 232
    assert milk_fat().sap_low < computed < milk_fat().sap_high


# Usual fatty acids of doubtful oils [% of fatty acids]; all from memory, no source.
RECALLED = {
    "Apricot kernel oil": {"C16:0": 5, "C18:0": 1, "C18:1": 66, "C18:2": 27},
    "Macadamia oil": {"C14:0": 1, "C16:0": 9, "C16:1": 20, "C18:0": 3.5, "C18:1": 58, "C18:2": 2.5, "C20:0": 2.5, "C20:1": 2.5},
    "Hemp seed oil": {"C16:0": 6.5, "C18:0": 2.7, "C18:1": 12, "C18:2": 56, "C18:3": 21},
    "Rosehip seed oil": {"C16:0": 4, "C18:0": 2, "C18:1": 15, "C18:2": 45, "C18:3": 32},
    "Pumpkin seed oil": {"C16:0": 12, "C18:0": 6, "C18:1": 30, "C18:2": 51},
    "Meadowfoam seed oil": {"C18:1": 2, "C20:1": 63, "C22:1": 14, "C22:2": 19},
    "Duck fat": {"C14:0": 0.7, "C16:0": 25, "C16:1": 4, "C18:0": 8, "C18:1": 46, "C18:2": 14, "C18:3": 1},
    "Emu oil": {"C16:0": 22, "C16:1": 4, "C18:0": 9, "C18:1": 48, "C18:2": 14, "C18:3": 1},
}  # fmt: skip


@pytest.mark.parametrize("oil", RECALLED)
def test_doubtful_range_brackets_a_recalled_composition(oil: str) -> None:
    """A doubtful oil's ranges hold what its usual fatty acids come to, and its note says the figure."""
    computed = triglyceride_sap(RECALLED[oil])
    assert used(oil).sap_low < computed < used(oil).sap_high
    assert oil == "Meadowfoam seed oil" or f"comes to {computed:.0f} mg KOH/g" in used(oil).note
    low, high = used(oil).iodine_low, used(oil).iodine_high
    assert low is None or high is None or low < triglyceride_iodine(RECALLED[oil]) < high


def test_meadowfoam_lies_between_two_pure_triglycerides() -> None:
    """Meadowfoam's range is the triglyceride of C22:1 to that of C20:1."""
    ends = [round(triglyceride_sap({acid: 1.0}), 1) for acid in ("C22:1", "C20:1")]
    assert [used("Meadowfoam seed oil").sap_low, used("Meadowfoam seed oil").sap_high] == ends


def test_hydrogenated_coconut_is_coconut_and_hydrogen() -> None:
    """One molecule of hydrogen for each of iodine makes coconut oil 0.084 % heavier: 248-265 becomes 247.8-264.8."""
    heavier = 1 + 10.6 * mass("H2") / mass("I2") / 100
    hydrogenated = used("Coconut oil, hydrogenated")
    assert (hydrogenated.sap_low, hydrogenated.sap_high) == (round(248 / heavier, 1), round(265 / heavier, 1))


# Iodine value of the triglyceride of one acid, for 1 % of it; AOCS Recommended Practice Cd 1c-85, from memory.
FACTORS = {"C16:1": 0.950, "C18:1": 0.860, "C18:2": 1.732, "C18:3": 2.616, "C20:1": 0.785, "C22:1": 0.723}


@pytest.mark.parametrize("acid", FACTORS)
def test_iodine_factor(acid: str) -> None:
    """The iodine value of one pure triglyceride, from molar masses, is the factor of the method in its last digit."""
    assert abs(triglyceride_iodine({acid: 1.0}) / 100 - FACTORS[acid]) <= 0.001


@pytest.mark.parametrize("oil", dict.fromkeys(row["thing"] for row in COMPOSED))
def test_iodine_value_of_the_classes(oil: str) -> None:
    """The iodine value of an oil's published fatty acids lies in the range that is published for the oil."""
    computed = triglyceride_iodine(middles(oil))
    low, high = used(oil).iodine_low, used(oil).iodine_high
    assert (low, high) != (None, None)
    assert (low or 0.0) <= computed <= (high or computed), (low, high)


def test_iodine_values_are_checked_on_many_oils() -> None:
    """At least thirty oils have both a composition and an iodine range of two ends."""
    both = {row["thing"] for row in COMPOSED if used(row["thing"]).iodine_low and used(row["thing"]).iodine_high}
    assert len(both) >= 30


# --- Lye ----------------------------------------------------------------------------------------------------------


def our_density(base: str, strength: float) -> float:
    """Return our table's density at a strength, linear between its rows [g/mL]."""
    for (low, at_low), (high, at_high) in pairwise(lye_density(base)):
        if low <= strength <= high:
            return at_low + (at_high - at_low) * (strength - low) / (high - low)
    raise ValueError(strength)


def correlated(base: str, strength: float, celsius: float) -> float:
    """Return the density by the Laliberte 2009 correlation, as thermo has it [g/mL]."""
    return float(Laliberte_density(celsius + 273.15, [strength], [CAS[base]])) / 1000


# How far the NaOH handbook may lie above the correlation, by strength: the two are known to part above 20 %.
HANDBOOK_ABOVE_CORRELATION = ((0.20, 0.0007), (0.30, 0.0016), (0.40, 0.0028), (0.44, 0.0035), (0.50, 0.0060))


@pytest.mark.parametrize("row", lye_density("NaOH"))
def test_naoh_density_against_the_correlation(row: tuple[float, float]) -> None:
    """The NaOH handbook densities lie on the correlation or above it, by 0.07 % up to 20 % NaOH and 0.6 % at 50 %."""
    strength, density = row
    allowed = next(most for upto, most in HANDBOOK_ABOVE_CORRELATION if strength <= upto)
    excess = density / correlated("NaOH", strength, 20) - 1
    assert -0.00005 <= excess <= allowed, f"at {strength}: ours {density}, above the correlation by {excess:.4%}"


@pytest.mark.parametrize("row", lye_density("KOH"))
def test_koh_density_is_the_correlation(row: tuple[float, float]) -> None:
    """The KOH densities are the correlation's, rounded to the fourth decimal."""
    strength, density = row
    assert abs(density - correlated("KOH", strength, 20)) <= 0.00005 * (1 + 1e-6), (density, strength)


@pytest.mark.parametrize("row", cases("densities.csv", "what", "route", "mass_fraction"))
def test_density_by_another_route(row: Row) -> None:
    """Our density, brought to the source's temperature by the correlation's ratio, agrees as far as the row states."""
    base, strength, celsius = row["what"], float(row["mass_fraction"]), float(row["temperature"])
    warmed = correlated(base, strength, celsius) / correlated(base, strength, 20)
    agrees(row, our_density(base, strength) * warmed)


def test_wider_allowance_has_its_reason() -> None:
    """A density allowed to differ by more than its last digit says why."""
    for row in rows(PUBLISHED / "densities.csv"):
        assert (float(row["allowed"]) > float(row["tolerance"])) is bool(row["why"]), row


def test_linear_between_rows() -> None:
    """Reading linearly between the rows is off by less than 0.0004 g/mL from the correlation's own curve."""
    for base in CAS:
        for (low, _), (high, _) in pairwise(lye_density(base)):
            middle = (low + high) / 2
            chord = (correlated(base, low, 20) + correlated(base, high, 20)) / 2
            assert abs(chord - correlated(base, middle, 20)) < 0.0004, (base, low, high)


# --- The files themselves -----------------------------------------------------------------------------------------


def sums(table: list[Row]) -> Iterator[tuple[str, int, str, str]]:
    """Yield each numeric column: filled cells, their sum, their sum times the row number; infinity left out."""
    for column in table[0]:
        cells = [(at, row[column]) for at, row in enumerate(table, 1) if row[column] not in ("", "inf")]
        try:
            numbers = [(at, float(cell)) for at, cell in cells]
        except ValueError:
            continue
        if numbers:
            plain, by_row = (sum(n for _, n in numbers), sum(at * n for at, n in numbers))
            yield column, len(numbers), f"{plain:.10g}", f"{by_row:.10g}"


def marks(table: list[Row]) -> str:
    """Return how many rows carry each mark."""
    counted = {mark: sum(row["mark"] == mark for row in table) for mark in ("read", "computed", "memory", "doubt")}
    return ", ".join(f"{mark} {count}" for mark, count in counted.items())


TABLES = ("oils.csv", "acids.csv", "fatty_acids.csv", "alkali_density.csv", "alkali_heat.csv")


def checksums() -> Iterator[tuple[str, str, str, str, str]]:
    """Yield what `published/checksums.csv` notes of the tables: file, column, filled cells, sum, sum by row."""
    for name in TABLES:
        table = rows(DATA / name)
        for column, filled, plain, by_row in sums(table):
            yield name, column, str(filled), plain, by_row
        yield name, "mark", str(len(table)), marks(table), ""
    for name in (*TABLES, "names.csv"):
        text = (DATA / name).read_text(encoding="utf-8")
        yield name, "every letter", str(len(text.splitlines())), f"{crc32(text.encode()):08x}", ""


@pytest.mark.parametrize("name", [*TABLES, "names.csv"])
def test_checksum(name: str) -> None:
    """Each column's sums, the count of each mark and the file's CRC-32 are those noted at the last check."""
    noted = [tuple(row.values()) for row in rows(PUBLISHED / "checksums.csv") if row["file"] == name]
    assert [line for line in checksums() if line[0] == name] == noted


def test_every_published_row_says_where_from() -> None:
    """Every published value in the tests names its source and its mark, and there are at least 60 of them."""
    published = [row for path in PUBLISHED.glob("*.csv") for row in rows(path) if "published" in row]
    assert len(published) >= 60
    for row in published:
        assert row["source"], row
        assert row["mark"] in ("read", "computed", "memory", "doubt"), row
        assert float(row["tolerance"]) > 0, row
