"""Steps that have no column in the workings: each stands inside the formula of the step that reads it.

A column that one other step reads, and nothing else, costs a cell in every row and says little; a short rule is as easy
to follow where it is used. No tab, sentence or other table may read such a step: `Layout` does not know where it stands.
"""

from __future__ import annotations

from scaler.validation.issues import ALONE

FOLDED: dict[str, frozenset[str]] = {
    table: frozenset(names.split())
    for table, names in {
        "ingredients": "price_cause purity_low_in_use unread used",
        "prices": "unread used",
        "moulds": "bars_cut box_log box_ml cavities_ml cylinder_log cylinder_ml half_cylinder_log liner_cm measured_ml "
        "taper_log unread used watch",
        "lines": "liquid_dose rank ratio_part sound unread used",
        "recipes": "acids_heat acids_need dry_part dry_per_koh guessed_ml koh_boils liquid_by_need liquid_fixed milk_fat_need mixed_in "
        "naoh_capacity others_part pot_heat pot_part pure_part solution_ml unread used water_part water_share",
        "batches": "acid_mid acid_weighed alkali_mid alkali_weighed cold_said combined_at_none first_division_g heat_words heavy_chance lines_g "
        "pour_words range_half second_division_g shown_target target_before_tax water_listed",
        "batch_lines": "koh_high",
        "ladder": "before_tax cost_per_bar price_bracket shown_target",
        "notes": "needed",
        "market": "price_in_use unread used",
        "market_days": "unread used",
        "on_hand": "unread used",
        "packs": "packs_in_use",
        "sold": "bar_worth bars_left batches_cost before_tax income_wanted net_of_a_bar price_bracket target_before_tax",
        "days": "cut_work make_work wrap_work",
    }.items()
}
"""Names of steps by table."""

UNREAD: dict[str, frozenset[str]] = {
    "recipes": frozenset({"lye_strength"}),
    "batches": frozenset({"liquid_total_g", "cost_per_kg"}),
}
"""Steps that only the JSON and the terminal say: nothing in the workbook reads them."""


def has_column(table: str, name: str) -> bool:
    """Return whether a step has a column of its own in the workings."""
    return (table, name) not in ALONE and name not in FOLDED.get(table, ()) and name not in UNREAD.get(table, ())
