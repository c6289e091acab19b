"""What `scaler.reference` knows, by which names, and what it refuses to guess."""

from __future__ import annotations

import csv
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from scaler.model.reference import (
    Choices,
    Published,
    fatty_acids,
    find,
    lye_density,
    lye_solubility,
    lye_solution_heat,
    lye_specific_heat,
    milk_fat,
    suggestions,
)

DATA = Path(__file__).parent.parent / "scaler" / "model" / "data"
TABLES = ("oils.csv", "acids.csv", "fatty_acids.csv", "alkali_density.csv", "alkali_heat.csv")


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of a table of published values."""
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def known(name: str, inci: str = "", kind: str = "oil") -> Published:
    """Return what is published for a thing that is known."""
    found = find(name, inci, kind)
    assert isinstance(found, Published), found
    return found


def choices(name: str, inci: str = "", kind: str = "oil") -> tuple[str, ...]:
    """Return the names among which the maker has to choose."""
    found = find(name, inci, kind)
    assert isinstance(found, Choices), found
    return found.names


@pytest.mark.parametrize(
    ("typed", "thing"),
    [
        ("olive", "Olive oil"),
        ("  OLIVE   Oil ", "Olive oil"),
        ("Ölive oil", "Olive oil"),
        ("olive\u00a0oil", "Olive oil"),
        ("Extra virgin olive oil", "Olive oil"),
        ("Pomace olive oil", "Olive pomace oil"),
        ("Coconut 76", "Coconut oil"),
        ("RBD palm", "Palm oil"),
        ("canola", "Rapeseed oil, low erucic acid (canola)"),
        ("soybean oil", "Soya bean oil"),
        ("sweet almond oil", "Sweet almond oil"),
        ("shea", "Shea butter"),
        ("rice bran", "Rice bran oil"),
        ("lard", "Lard"),
        ("beef tallow", "Tallow"),
        ("Tallow", "Tallow"),
        ("castor", "Castor oil"),
        ("cocoa butter", "Cocoa butter"),
        ("sunflower", "Sunflower oil"),
        ("high oleic sunflower", "Sunflower oil, high oleic"),
        ("Cocos Nucifera Oil", "Coconut oil"),
        ("stearic acid", "Stearic acid"),
        ("coconut oil, 92 °F", "Coconut oil, hydrogenated"),
        ("Persic oil", "Apricot kernel oil"),
        ("duck fat", "Duck fat"),
    ],
)
def test_whole_name_is_known(typed: str, thing: str) -> None:
    """A whole name or listed synonym is known, case, spaces and accents aside."""
    assert known(typed).name == thing


@pytest.mark.parametrize(
    "typed",
    [
        "", "oil", "olive oil from the valley", "organic olive oil", "olives", "fractionated coconut oil",
        "hydrogenated soybean oil", "palm kernel flakes", "cocoa powder", "olive oil soap", "sunfl0wer oil",
    ],
)  # fmt: skip
def test_part_of_a_name_is_not_known(typed: str) -> None:
    """A word inside a longer name, or a near spelling, never counts."""
    assert find(typed, "", "oil") is None


def test_name_goes_before_inci() -> None:
    """A known name is used whatever the label name says."""
    assert known("Olive oil", "Cocos Nucifera Oil").name == "Olive oil"


@pytest.mark.parametrize(
    ("inci", "thing"),
    [
        ("Cocos Nucifera Oil", "Coconut oil"),
        ("COCOS NUCIFERA (COCONUT) OIL", "Coconut oil"),
        ("Canola Oil", "Rapeseed oil, low erucic acid (canola)"),
        ("Lard", "Lard"),
    ],
)
def test_inci_is_known_behind_an_unknown_name(inci: str, thing: str) -> None:
    """An unknown name falls back on the whole label name."""
    assert known("Grandmother's best", inci).name == thing


@pytest.mark.parametrize("inci", ["Cocos Nucifera", "Cocos Nucifera Oil and more", "Nucifera", ""])
def test_part_of_an_inci_is_not_known(inci: str) -> None:
    """A part of a label name, or more than it, never counts."""
    assert find("Grandmother's best", inci, "oil") is None


@pytest.mark.parametrize(
    ("inci", "things"),
    [
        ("Helianthus Annuus Seed Oil", ("Sunflower oil", "Sunflower oil, high oleic", "Sunflower oil, mid oleic")),
        ("Carthamus Tinctorius Seed Oil", ("Safflower oil", "Safflower oil, high oleic")),
        ("Olea Europaea Fruit Oil", ("Olive oil", "Olive pomace oil")),
        ("Elaeis Guineensis Oil", ("Palm oil", "Palm olein", "Palm stearin", "Palm superolein")),
    ],
)
def test_inci_of_several_ranges_is_a_choice(inci: str, things: tuple[str, ...]) -> None:
    """A label name that fits things of different ranges is refused with the choices."""
    assert choices("Petals", inci) == things


def test_inci_of_one_range_is_no_choice() -> None:
    """Two things of the same range under one label name need no choice."""
    assert (known("Lard").sap_low, known("Lard").sap_high) == (
        known("Rendered pork fat").sap_low,
        known("Rendered pork fat").sap_high,
    )
    assert known("Kitchen fat", "Lard").name == "Lard"


@pytest.mark.parametrize("typed", ["rapeseed oil", "Rapeseed", "colza oil"])
def test_rapeseed_is_a_choice(typed: str) -> None:
    """Rapeseed oil alone may be the low or the high erucic one, whose ranges differ, so it is not guessed."""
    assert choices(typed) == ("Rapeseed oil, low erucic acid (canola)", "Rapeseed oil, high erucic acid")


def test_inci_settles_a_choice() -> None:
    """A label name settles a name that fits two things."""
    assert known("Rapeseed oil", "Canola Oil").name == "Rapeseed oil, low erucic acid (canola)"


def test_inci_of_something_else_settles_no_choice() -> None:
    """A label name outside the choices, or one that is a choice itself, leaves the name's choices open."""
    expected = ("Rapeseed oil, low erucic acid (canola)", "Rapeseed oil, high erucic acid")
    assert choices("Rapeseed oil", "Cocos Nucifera Oil") == expected
    assert choices("Rapeseed oil", "Helianthus Annuus Seed Oil") == expected


@pytest.mark.parametrize("kind", ["alkali", "liquid", "additive", "fragrance", "colour", "packaging", ""])
def test_only_oils_and_acids_are_looked_up(kind: str) -> None:
    """An ingredient of any other kind is never taken for an oil."""
    assert find("Olive oil", "Olea Europaea Fruit Oil", kind) is None


@pytest.mark.parametrize("name", ["Stearic acid", "Palmitic acid", "Lauric acid", "Myristic acid", "Oleic acid"])
def test_fatty_acid_is_oil_and_acid(name: str) -> None:
    """A fatty acid is the same thing as Kind oil and as Kind acid."""
    assert known(name, kind="oil") == known(name, kind="acid")


@pytest.mark.parametrize(
    "name", ["Citric acid", "Citric acid monohydrate", "Lactic acid, 100 %", "glacial acetic acid"]
)
def test_sour_acid_is_no_oil(name: str) -> None:
    """An acid that is no fat is not known as an oil."""
    assert find(name, "", "oil") is None
    assert known(name, kind="acid").mark == "computed"


def test_oil_is_no_acid() -> None:
    """An oil is not known as an acid."""
    assert find("Olive oil", "", "acid") is None


@pytest.mark.parametrize("name", ["Vinegar", "Lactic acid", "Acetic acid", "Lemon juice"])
def test_acid_of_unstated_strength_is_not_known(name: str) -> None:
    """Acids sold in many strengths are known by their strength only."""
    assert find(name, "", "acid") is None


def test_citric_acid_alone_spans_both_hydrates() -> None:
    """Citric acid without its hydrate has the range from the monohydrate to the anhydrous one."""
    assert (known("Citric acid", kind="acid").sap_low, known("Citric acid", kind="acid").sap_high) == (800.98, 876.09)
    assert known("Anhydrous citric acid", kind="acid").sap_low == 876.09


def test_stearic_acid_is_the_commercial_one() -> None:
    """Stearic acid without more is the commercial blend, its range that of the pharmacopoeia."""
    assert (known("stearic").sap_low, known("stearic").sap_high) == (194.0, 212.0)
    assert known("pure stearic acid").sap_low == 197.22


def test_range_is_the_widest_of_its_rows() -> None:
    """Coconut's low end is the pharmacopoeia's 246 and its high end the food standard's 265."""
    coconut = known("Coconut oil")
    assert (coconut.sap_low, coconut.sap_high) == (246.0, 265.0)
    assert coconut.source == (
        "Codex Alimentarius CXS 210-1999, Standard for Named Vegetable Oils, Table 2; "
        "Japanese Pharmacopoeia, Coconut oil"
    )


def test_mark_is_that_of_the_weaker_end() -> None:
    """Coconut's low end is recalled, so the range is; canola's ends are both read."""
    assert known("Coconut oil").mark == "memory"
    assert known("Canola").mark == "read"


def test_doubtful_row_leaves_the_range_alone() -> None:
    """Sweet almond keeps the range of the pharmacopoeias, not the doubted 183-207."""
    almond = known("Almond oil")
    assert (almond.sap_low, almond.sap_high, almond.mark) == (185.0, 200.0, "read")
    assert "Codex" not in almond.source


def test_doubt_about_something_else_leaves_the_range() -> None:
    """Tallow's Codex row is doubted for its iodine value only: its saponification range counts."""
    tallow = known("Tallow")
    assert (tallow.sap_low, tallow.sap_high, tallow.mark) == (190.0, 202.0, "memory")
    assert (tallow.iodine_low, tallow.iodine_high) == (33.0, 50.0)


@pytest.mark.parametrize(
    "name",
    [
        "Avocado oil", "Hazelnut oil", "Pistachio oil", "Argan oil", "Neem oil", "Jojoba oil", "Mahua oil",
        "Sal seed fat", "Mango butter", "Kokum butter", "Niger seed oil", "Apricot kernel oil", "Macadamia oil",
        "Hemp seed oil", "Rosehip seed oil", "Pumpkin seed oil", "Meadowfoam seed oil", "Duck fat", "Emu oil",
    ],
)  # fmt: skip
def test_only_doubtful_rows_stay_doubtful(name: str) -> None:
    """A thing known by doubtful rows only keeps their range and is marked doubt."""
    assert known(name).mark == "doubt"
    assert "DOUBT" in known(name).note


def test_density_of_a_doubtful_row_is_not_taken_before_another() -> None:
    """Sweet almond's density is the pharmacopoeia's, not the doubted first row's."""
    assert known("Sweet almond oil").density == 0.916


def test_density_says_its_temperature() -> None:
    """Coconut's density is 0.9145 times water's 0.9982 g/mL, and says that it is at 40 C."""
    coconut = known("Coconut oil")
    assert coconut.density == round((0.908 + 0.921) / 2 * 0.9982, 4)
    assert "density at 40 C" in coconut.note


def test_density_of_solid_fat_is_not_used() -> None:
    """The only published density of cocoa butter is the solid's, so none is given and it is said."""
    assert known("Cocoa butter").density is None
    assert "is the solid" in known("Cocoa butter").note


def test_one_sided_iodine_value_has_no_other_side() -> None:
    """A standard that sets a minimum gives no maximum."""
    assert (known("Palm olein").iodine_low, known("Palm olein").iodine_high) == (56.0, None)
    assert (known("Palm stearin").iodine_low, known("Palm stearin").iodine_high) == (None, 48.0)


def test_milk_fat_is_recalled() -> None:
    """Milk fat's range is 218-235 mg KOH/g, from memory."""
    assert (milk_fat().sap_low, milk_fat().sap_high, milk_fat().mark) == (218.0, 235.0, "memory")


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("Organic shea butter 5 kg", "Shea butter"),
        ("Olvie oil", "Olive oil"),
        ("olive oil from the valley", "Olive oil"),
        ("high oleic sunflower oil, cold pressed", "Sunflower oil, high oleic"),
        ("Cold pressed rapeseed oil", "Rapeseed oil, low erucic acid (canola)"),
        ("Citric acid 99 %", "Citric acid"),
    ],
)
def test_suggestion_comes_nearest_first(typed: str, first: str) -> None:
    """The known name inside a longer name, else the nearest spelling, is suggested first."""
    assert suggestions(typed)[0] == first


@pytest.mark.parametrize("typed", ["", "oil", "Vinegar", "cold pressed", "Zinc oxide", "Goose fat", "Horse fat"])
def test_nothing_near_is_not_suggested(typed: str) -> None:
    """Words that every name shares suggest nothing."""
    assert suggestions(typed) == []


def test_every_suggestion_is_known() -> None:
    """What is suggested can be typed."""
    for thing in suggestions("Olvie oil") + suggestions("rapeseed") + suggestions("palm kernel flakes"):
        assert known(thing).name == thing


@pytest.mark.parametrize("base", ["NaOH", "KOH"])
def test_lye_table_covers_water_to_half(base: str) -> None:
    """Each lye table runs from plain water to 50 %, strength and density rising in every row."""
    table = lye_density(base)
    assert table[0] == (0.0, 0.9982)
    assert table[-1][0] == 0.5
    for low, high in pairwise(table):
        assert low[0] < high[0]
        assert low[1] < high[1]


def test_no_lye_of_another_base() -> None:
    """There is no table of a base that is not NaOH or KOH."""
    assert lye_density("LiOH") == ()


def test_doubtful_solubility_is_left_out() -> None:
    """NaOH solubilities at 10 and 25 C are doubted, so they are not given."""
    temperatures = [at for at, _ in lye_solubility("NaOH")]
    assert temperatures == [0.0, 20.0, 30.0, 40.0, 50.0, 60.0]


def test_heat_of_solution_is_one_convention() -> None:
    """The heats of NaOH end at -42.87 kJ/mol, never at the -44.51 of the other convention."""
    assert lye_solution_heat("NaOH")[-1] == (float("inf"), -42.87)
    assert min(heat for _, heat in lye_solution_heat("NaOH")) == -42.87


def test_specific_heat_falls_with_strength() -> None:
    """A stronger lye takes less heat to warm."""
    for base in ("NaOH", "KOH"):
        assert lye_specific_heat(base)[0] == (0.0, 4.185)  # water, Laliberte 2009
        heats = [heat for _, heat in lye_specific_heat(base)]
        assert heats[-1] > 2.5
        assert heats == sorted(heats, reverse=True)


def test_fatty_acids_are_found_by_synonym() -> None:
    """Coconut holds 45.1-53.2 % lauric acid, by whatever name it is asked for."""
    assert fatty_acids("coconut 76")["C12:0"] == (45.1, 53.2)
    assert "C16:1" not in fatty_acids("Coconut oil")


@pytest.mark.parametrize("name", ["Argan oil", "Rapeseed oil", "Unicorn oil", ""])
def test_no_fatty_acids_without_a_table(name: str) -> None:
    """An oil without a published composition, or without a clear name, has none."""
    assert fatty_acids(name) == {}


@pytest.mark.parametrize("table", TABLES)
def test_every_row_has_source_and_mark(table: str) -> None:
    """Every published value says where it is from and how far it is to be trusted."""
    for row in rows(table):
        assert row["source"], row
        assert row["mark"] in ("read", "computed", "memory", "doubt"), row


def test_every_doubt_is_marked() -> None:
    """An oil row whose note says DOUBT is marked so, names what is in doubt, and no other row is."""
    for row in rows("oils.csv"):
        doubted = "DOUBT" in row["note"]
        assert (row["mark"] == "doubt") is doubted, row
        assert bool(row["doubt_in"]) is doubted, row
        assert set(row["doubt_in"].split()) <= {"sap", "iodine", "density"}, row


def test_every_range_is_the_right_way_round() -> None:
    """No low end lies above its high end."""
    for row in rows("oils.csv") + rows("acids.csv"):
        assert 0 < float(row["sap_low"]) <= float(row["sap_high"]), row


def test_every_name_leads_to_a_thing() -> None:
    """Each listed name is of a thing in the tables, and stands there once for it."""
    things = {row["thing"] for row in rows("oils.csv") + rows("acids.csv")}
    listed = [("".join(row["text"].casefold().split()), row["thing"]) for row in rows("names.csv")]
    assert {thing for _, thing in listed} <= things
    assert len(set(listed)) == len(listed)


def test_name_of_two_things_says_why() -> None:
    """A name listed for several things gives its reason."""
    for row in rows("names.csv"):
        several = sum(other["text"] == row["text"] for other in rows("names.csv")) > 1
        assert bool(row["why"]) is several, row


def test_no_address_in_the_tables() -> None:
    """A publication is cited by its name, never by the address of a copy."""
    for table in (*TABLES, "names.csv"):
        text = (DATA / table).read_text(encoding="utf-8").casefold()
        assert not [word for word in ("http", "www.", ".com", ".org", "pages:") if word in text], table


def test_tables_are_not_read_on_import() -> None:
    """Importing the module reads no table."""
    code = "import scaler.model.reference as r; print(r.rows_of.cache_info().currsize)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=DATA.parents[2])
    assert done.stdout.strip() == "0"
