"""Each refusal and warning, from a workbook through the command line to JSON; and quiet on a workbook next door."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from messy.base import edited, save

from scaler.cli import main
from scaler.rules.safety import RULES

GOOD = "Recipes!B2=8%; Recipes!B3=8%; Costs!B7=0.1; Costs!A10=Worked out on; Costs!B10=2026-11-25"
"""A workbook that draws no warning: 8 % superfat, a scale of 0.1 g, and a day from which ages count."""

LIMIT = "Ingredients!N1=Limit %; Ingredients!N9="


def answer(folder: Path, edits: str = "") -> tuple[int, Any]:
    """Return exit status and JSON of the command for the good workbook with edits; nothing else may be said or written."""
    folder.mkdir(exist_ok=True)
    path = save(edited(f"{GOOD}; {edits}" if edits else GOOD), folder)
    result = CliRunner().invoke(main, ["batch", str(path), "--json"])
    assert sorted(folder.iterdir()) == [path]
    return result.exit_code, json.loads(result.stdout)


def warnings(found: Any) -> dict[str, str]:
    """Return code and text of every warning of every batch."""
    return {warning["code"]: warning["text"] for batch in found["batches"] for warning in batch["warnings"]}


def quiet(folder: Path, edits: str) -> Any:
    """Check that edits leave the workbook without a problem and without a warning."""
    status, found = answer(folder, edits)
    assert (status, found["problems"], warnings(found)) == (0, [], {})
    assert len(found["batches"]) == 2
    return found


# code, where it is mended, edits that draw it, edits that do not, what the text must say
REFUSED = [
    ("superfat_negative", "Recipes!B2", "Recipes!B2=-0.5%", "Recipes!B2=8%",
     "found a superfat of -0.5 %, expected 0 % or more. .* Set it to 3 % or more"),
    ("lye_too_strong", "Recipes!C2", "Recipes!C2=48%", "Recipes!C2=33%",
     "found lye of 53.1 % base in the lye pot .* Put more liquid in the lye pot"),
    ("lye_too_strong", "Recipes!D3", "Recipes!D3=0.9; Recipe lines!C10=100%; Recipe lines!D10=; Recipe lines!E10=",
     "Recipes!D3=2; Recipe lines!C10=100%; Recipe lines!D10=; Recipe lines!E10=", "50 % or less"),
    ("liquid_short", "Recipes!D2", "Recipes!C2=; Recipes!D2=0.95; Ingredients!G5=70%; Ingredients!H5=70%; Recipe lines!G5=yes",
     "Recipes!C2=; Recipes!D2=2; Ingredients!G5=97%; Recipe lines!G5=yes",
     "found 0.95 g of liquid for 1 g of alkali, expected at least as much liquid as alkali. Raise the liquid"),
    ("sap_basis", "Ingredients!C2", "Ingredients!C2=0.135", "Ingredients!C2=190",
     "found a SAP of 0.135, .* grams of NaOH for 1 g of oil: that is 189.4 mg KOH/g. Correct the cell"),
    ("sap_basis", "Ingredients!C2", "Ingredients!C2=0.19", "Ingredients!C2=185",
     "grams of KOH for 1 g of oil: that is 190.0 mg KOH/g"),
    ("sap_basis", "Ingredients!C2", "Ingredients!C2=2.17", "Ingredients!C2=195",
     "ounces of NaOH for 1 lb of oil: that is 190.2 mg KOH/g"),
    ("sap_basis", "Ingredients!C2", "Ingredients!C2=61.5", "Ingredients!C2=191",
     "grams of NaOH for 1 lb of oil: that is 190.2 mg KOH/g"),
    ("sap_basis", "Ingredients!C4", "Ingredients!C4=0.14", "Ingredients!C4=196", "found a SAP of 0.14, expected mg KOH/g"),
    ("over_limit", "Recipe lines!D6", f"{LIMIT}1.8%", f"{LIMIT}2.1%",
     r"found Lavender oil at \d\.\d\d % of the cured bar, .* Keep it to 1.80 % of the cured bar or less"),
    ("price_missing", "Prices!A11", "Prices!A2=Hedge fat", "Prices!D2=0",
     "found no price of Olive oil, .* Add a row for Olive oil"),
    ("pot_small", "Batches!C2", "Costs!A11=Pot size; Costs!B11=1; Costs!C11=L",
     "Costs!A11=Pot size; Costs!B11=1.4; Costs!C11=L",
     "found 1.05 L of batter, expected no more than Pot size on Costs. Fill fewer moulds, or use a larger pot"),
    ("jug_small", "Batches!C3", "Costs!A11=Lye jug size; Costs!B11=230; Costs!C11=mL",
     "Costs!A11=Lye jug size; Costs!B11=0.5; Costs!C11=L",
     "found 0.24 L of lye, expected no more than Lye jug size on Costs. Fill fewer moulds, or use a larger jug"),
    ("batch_tiny", "Batches!C2", "Moulds!C2=mm; Costs!B7=1", "Moulds!D2=20",
     "Lye flakes for .* g of oils, .* Check the mould's sizes and Unit, or use a finer scale"),
]  # fmt: skip

# code, edits that draw it, edits that do not, what the text must say
WARNED = [
    ("lye_strong", "Recipes!C2=36%", "Recipes!C2=34%", "The lye in the pot is 40.8 %. .* Use more liquid"),
    ("lye_weak", "Recipes!C2=20%", "Recipes!C2=22%", "The lye in the pot is only 23.4 %. .* Use less liquid"),
    ("superfat_high", "Recipes!B2=16%", "Recipes!B2=15%", "The superfat is 16.0 %. .* astray"),
    ("bar_odd", "Moulds!M3=1", "Moulds!M3=2", "A bar weighs .* g. Check the mould's sizes, Unit and Bar cut"),
    ("sap_outside", "Ingredients!C2=198", "Ingredients!C2=196",
     "The SAP of Olive oil lies outside its published range. Check it against the supplier's certificate"),
    ("sap_outside", "Ingredients!C2=182; Recipes!B2=7%", "Ingredients!C2=184",
     "The SAP of Olive oil lies outside its published range"),
    ("alkali_old", "Ingredients!M5=2025-11-20", "Ingredients!M5=2025-12-02", "open for more than 12 months. .* Buy fresh"),
    ("opened_future", "Ingredients!M5=2026-11-26", "Ingredients!M5=2026-11-25",
     "An alkali's Opened date lies in the future. Correct Opened on sheet Ingredients"),
    ("scale_coarse", "Costs!B7=0.1; Ingredients!N1=Scale division; Ingredients!N5=1; Ingredients!O1=Division unit; "
     "Ingredients!O5=g; Moulds!G3=700; Recipes!B3=9%", "Moulds!G3=700; Recipes!B3=9%",
     "fewer than 100 divisions of its scale. Make a larger batch, or weigh the alkali on a finer scale"),
    ("sap_doubtful", "Ingredients!A4=Argan oil; Ingredients!C4=; Prices!A4=Argan oil; Recipe lines!B9=Argan oil",
     "Ingredients!A4=Argan oil; Ingredients!C4=194; Prices!A4=Argan oil; Recipe lines!B9=Argan oil",
     r"The published SAP of Argan oil \(189 to 199.1 mg KOH/g\) is doubtful. Take it from the supplier's certificate"),
    ("price_old", "Prices!F2=2025-11-20", "Prices!F2=2025-12-02", "The price of Olive oil is old. Ask for a new price"),
    ("price_old", "Prices!F5=2025-11-20", "Prices!F5=2025-12-02", "The price of an alkali is old. Ask for a new price"),
    ("pot_tight", "Costs!A11=Pot size; Costs!B11=1.2; Costs!C11=L", "Costs!A11=Pot size; Costs!B11=1.4; Costs!C11=L",
     "The batter .1.05 L. leaves little headspace in the pot. Use a pot of at least 1.3 L"),
    ("jug_tight", "Costs!A11=Lye jug size; Costs!B11=400; Costs!C11=mL",
     "Costs!A11=Lye jug size; Costs!B11=500; Costs!C11=mL", "Use a jug of at least 0.[45] L"),
    ("superfat_worst_negative", "Recipes!B2=3%", "Recipes!B2=5%", "which is lye-heavy. Set Superfat to 4.. % or more, or narrow"),
    ("superfat_worst_negative", "Ingredients!D2=100; Recipes!B2=5%", "Ingredients!D2=189; Recipes!B2=5%",
     "which is lye-heavy. Make a larger batch, weigh on a finer scale, or narrow"),
]  # fmt: skip


def numbered(cases: list[Any]) -> list[Any]:
    """Return the cases named by their code, numbered where a code has several."""
    codes = [case[0] for case in cases]
    return [pytest.param(*case, id=f"{case[0]} {codes[:index].count(case[0]) + 1}") for index, case in enumerate(cases)]


def test_good_workbook_is_quiet(tmp_path: Path) -> None:
    """The workbook that every case starts from draws no word."""
    quiet(tmp_path, "")


@pytest.mark.parametrize(("code", "place", "edits", "near", "says"), numbered(REFUSED))
def test_refusal(tmp_path: Path, code: str, place: str, edits: str, near: str, says: str) -> None:
    """The command refuses the workbook at the cell to mend, says what to do, and takes the one next door."""
    status, found = answer(tmp_path / "bad", edits)
    assert (status, found["batches"]) == (1, [])
    mine = [problem for problem in found["problems"] if problem["code"] == code]
    assert place in [f"{problem['sheet']}!{problem['cell']}" for problem in mine]
    text = next(problem["text"] for problem in mine if f"{problem['sheet']}!{problem['cell']}" == place)
    assert re.search(says, text), text
    assert text.endswith(".")
    quiet(tmp_path / "good", near)


@pytest.mark.parametrize(("code", "edits", "near", "says"), numbered(WARNED))
def test_warning(tmp_path: Path, code: str, edits: str, near: str, says: str) -> None:
    """The command works the workbook out with this one warning, which says what to do, and none next door."""
    status, found = answer(tmp_path / "bad", edits)
    assert (status, found["problems"]) == (0, [])
    said = warnings(found)
    assert list(said) == [code]
    assert re.search(says, said[code]), said[code]
    assert re.fullmatch(r"[A-Z].*\. [A-Z].*\.", said[code])
    quiet(tmp_path / "good", near)


def test_every_rule_is_drawn() -> None:
    """Every rule of the list, and the checks of a cell alone, are tried above, but for a solution's own water."""
    tried = {case[0] for case in (*REFUSED, *WARNED)}
    assert {rule.code for rule in RULES} - tried == {"solution_alone"}
    assert tried - {rule.code for rule in RULES} == {"sap_basis", "sap_doubtful", "price_missing"}
    assert len(tried) >= 17


def test_number_to_use_instead_is_quiet(tmp_path: Path) -> None:
    """Set to the superfat that the warning names the recipe is quiet, and to a tenth less it is not."""
    _, found = answer(tmp_path / "first", "Recipes!B2=3%")
    text = warnings(found)["superfat_worst_negative"]
    assert re.search(r"worst case the superfat is -\d\.\d %", text)
    named = re.search(r"Set Superfat to (\d\.\d) % or more", text)
    assert named
    mended = quiet(tmp_path / "mended", f"Recipes!B2={named[1]}%")
    assert 0 <= mended["batches"][0]["superfat_low"] < 0.002
    _, less = answer(tmp_path / "less", f"Recipes!B2={float(named[1]) - 0.1:.1f}%")
    assert list(warnings(less)) == ["superfat_worst_negative"]


def test_numbers_in_json_belong_to_the_warning(tmp_path: Path) -> None:
    """A batch that is warned of its worst case has a lowest superfat below 0, the other batch not."""
    _, found = answer(tmp_path, "Recipes!B2=3%")
    first, second = found["batches"]
    assert first["superfat_low"] < 0 < second["superfat_low"]
    assert [warning["code"] for warning in second["warnings"]] == []
