"""Safety notes: every sentence with its authority, what recipes make necessary, and one rule where one thing is said twice."""

from __future__ import annotations

from typing import Any

import pytest
from workshops import koh, naoh, oil, part, shop, thing

from scaler.engine import scale
from scaler.rules.constants import CONSTANTS
from scaler.rules.watchwords import authority, notes

PRACTICE = "common practice, no source"
ICSC, ANNEX = "ICSC 0360 (ILO/WHO), sodium hydroxide", "GHS / Regulation (EC) 1272/2008, Annex IV"
CLP, SDS = "Regulation (EC) 1272/2008, Annex VI, index 011-002-00-6", "supplier SDS, sodium hydroxide, section 2"

AUTHORITIES = {
    # how each note with an authority begins: who says so, how it is known, and what was read there
    "Potassium hydroxide is harmful": ("Regulation (EC) 1272/2008, Annex VI, index 019-002-00-8", "memory", "H302, H314 of KOH"),
    "Alkali, dry or as lye, burns": (CLP, "read", "H314, Skin Corr. 1A"),
    "Weak lye counts too": (CLP, "read", "limits: from 0.5 % H315 and H319, from 2 % H314"),
    "Wear gloves, protective clothing": (ICSC, "read", "gloves, protective clothing, face shield or eye protection"),
    "For lye take stainless steel": ("ISO/TR 10358, chemical resistance of plastics", "memory", "PP, PE: NaOH to 50 %"),
    "Prefer them to glass": ("ISO 695, resistance of glass to boiling alkali", "memory", "alkali takes weight off glass"),
    "Never let lye touch aluminium": (f"{ICSC}; supplier SDS, sodium hydroxide", "read", "dissolves, gives hydrogen"),
    "Do not breathe the dust": (SDS, "read", "P260"),
    "Sprinkle the alkali into the liquid": (ICSC, "memory", "add the solid to water, never water to the solid"),
    "Start with cool liquid": (ICSC, "read", "much heat; can ignite combustibles"),
    "Soak up a spill at once": (ANNEX, "memory", "P390"),
    "Skin: running water at once": (ICSC, "read", "remove clothing, rinse or shower at least 15 min, doctor"),
    "Eyes: water at once": (ICSC, "read", "rinse several minutes, remove contact lenses if easy, then doctor"),
    "Swallowed: rinse the mouth": (ICSC, "read", "rinse mouth, do not induce vomiting; cards differ on drinking"),
    "Breathed in: go out": (ICSC, "read", "fresh air, rest, medical attention"),
    "Wash soaked clothing": (ANNEX, "memory", "P363"),
    "Wash your hands and arms": (SDS, "read", "P264"),
    "Dispose of leftover lye": (ANNEX, "memory", "P501"),
    "Keep lye in its own container": (ANNEX, "memory", "P234"),
    "Keep it locked up": (ANNEX, "memory", "P405"),
    "Do not keep it in or on bare metal": ("supplier SDS, sodium hydroxide (H290)", "read", "may be corrosive to metals"),
}  # fmt: skip


def begins(text: str) -> str:
    """Return how the authorities' table calls a note, "" for one that common practice says."""
    return next((words for words in AUTHORITIES if text.startswith(words)), "")


@pytest.mark.parametrize("note", notes(), ids=lambda note: note["text"][:30])
def test_every_sentence_has_its_authority(note: dict[str, str]) -> None:
    """A note names the publication of the table, marked as read or from memory; any other says common practice."""
    expected = AUTHORITIES.get(begins(note["text"]), (PRACTICE, "common practice", ""))
    assert (note["source"], note["mark"]) == expected[:2]
    assert authority(note)


def test_table_of_authorities_is_all_used() -> None:
    """No line of the table is about a note that is not there."""
    assert {begins(note["text"]) for note in notes()} - {""} == set(AUTHORITIES)


def shown(*things: Any, parts: Any = (), **more: Any) -> set[str]:
    """Return the needs of the notes that a recipe makes necessary."""
    alkalis = [] if any(item.kind == "alkali" for item in things) else [naoh()]
    run = scale(shop([oil(), *alkalis, *things], [part("fat", 1.0), *parts], superfat=0.1, **more))
    assert run.problems == ()
    texts = set(run.tables.column("notes", "note_text")) - {""}
    return {note["need"] for note in notes() if note["text"] in texts}


@pytest.mark.parametrize(
    ("need", "name", "kind"),
    [
        ("acid", "Citric acid", "acid"),
        ("milk", "Goat milk", "liquid"),
        ("sugar", "Honey", "additive"),
        ("drink", "Pale ale", "liquid"),
        ("spirit", "Vodka", "additive"),
        ("spice", "Clove bud oil", "fragrance"),
        ("sour", "Cider vinegar", "liquid"),
    ],
)
def test_note_stands_where_a_recipe_needs_it(need: str, name: str, kind: str) -> None:
    """What is in a recipe brings its note, and only that."""
    assert shown(thing(name, kind), parts=[part(name, 1.0 if kind == "liquid" else 0.01)]) == {need}


def test_alkalis_bring_their_notes() -> None:
    """KOH and ready-made lye bring a note each where a recipe uses them; flakes of NaOH bring none."""
    assert shown() == set()
    assert shown(koh(purity=0.9), naoh(), alkali="soda", second_alkali="potash", koh_share=0.5) == {"KOH"}
    assert shown(naoh(purity=0.5, water=0.5)) == {"solution"}
    assert shown(naoh(), koh(), alkali="soda") == set()


def test_thing_on_no_recipe_brings_no_note() -> None:
    """Milk on Ingredients alone is no reason to read about milk."""
    assert shown(thing("Goat milk", "liquid")) == set()


def test_headspace_of_the_jug_is_one_rule() -> None:
    """The note, the card and the warning all ask for twice the volume of the lye."""
    assert next(item.value for item in CONSTANTS if item.name == "vessel_headspace") == 2.0
    said = [note["text"] for note in notes() if "headspace" in note["text"]]
    assert len(said) == 1
    assert "twice the volume" in said[0]
    assert not any("third" in note["text"] for note in notes())


@pytest.mark.parametrize(
    ("earlier", "later"),
    [
        ("safety data sheet", "gloves, protective"),
        ("local codes for storing", "gloves, protective"),
        ("brush dry flakes off", "running water at once"),
        ("Eyes: water at once", "lids held open"),
        ("stainless steel, or polypropylene", "Prefer them to glass"),
        ("Cure the bars", "Test a cured bar"),
    ],
)
def test_order_of_notes(earlier: str, later: str) -> None:
    """What is done first is said first."""
    texts = [note["text"] for note in notes()]
    places = [next(place for place, text in enumerate(texts) if words in text) for words in (earlier, later)]
    assert places[0] < places[1]


@pytest.mark.parametrize(
    "words", ["test again, or throw it away", "pH paper", "contact lenses out if that is easy, and go on"]
)
def test_notes_say(words: str) -> None:
    """How a bar is tested before it is sold, and that water comes before the lenses."""
    assert any(words in note["text"] for note in notes())


def test_no_standing_lye_and_ready_made_lye_agree() -> None:
    """What was mixed is used the same day; what was bought mixed stays closed until it is weighed."""
    texts = [note["text"] for note in notes()]
    assert any("Lye that you mixed does not stand overnight" in text for text in texts)
    assert any("Ready-made lye" in text and "closed until you weigh it" in text for text in texts)
