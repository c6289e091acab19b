"""Every fixed number of the arithmetic, with its unit and its source; each stands in a cell of sheet Constants."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Constant:
    """A fixed number.

    Attributes:
        name: what the rules call it.
        value: the number.
        unit: its unit.
        says: what it is.
        source: where it comes from, or "common practice, no source".
        mark: read, computed, memory, definition or practice.
    """

    name: str
    value: float
    unit: str
    says: str
    source: str
    mark: str


_GEOMETRY = ("solid geometry", "definition")
_OURS = ("our own choice", "practice")
_PRACTICE = ("common practice, no source", "practice")
_ATOMIC = ("IUPAC standard atomic weights, as carried by molmass 2026.1.8", "read")
_GUM = ("JCGM 100:2008 (GUM) 4.3.7: a rectangular distribution", "memory")

CONSTANTS = (
    Constant("naoh_molar_mass", 39.99712, "g/mol", "Molar mass of sodium hydroxide", *_ATOMIC),
    Constant("koh_molar_mass", 56.10565, "g/mol", "Molar mass of potassium hydroxide", *_ATOMIC),
    Constant("water_molar_mass", 18.01529, "g/mol", "Molar mass of water", *_ATOMIC),
    Constant("gram_per_mg", 0.001, "g/mg", "Grams in a milligram", "SI", "definition"),
    Constant("water_g_per_ml", 1.0, "g/mL", "Water of a mould measured by weight", *_PRACTICE),
    Constant("walls", 2.0, "-", "Sides that a liner lies on", *_GEOMETRY),
    Constant("two", 2.0, "-", "A radius in a diameter; ends of a mean", *_GEOMETRY),
    Constant("three", 3.0, "-", "Of the volume of a solid whose sides slope", *_GEOMETRY),
    Constant("big", 1e99, "-", "More than any price: keeps other rows out of a smallest value", *_OURS),
    Constant("sap_spread", 0.03, "-", "Range taken for a saponification value without one, to either side", *_OURS),
    Constant("shares_within", 0.0001, "-", "Shares add up to 100 % within this", *_OURS),
    Constant("cure_days_usual", 42.0, "days", "Cure when a recipe does not say", *_PRACTICE),
    Constant("cure_water_lost", 0.6, "-", "Share of the batter's water that a bar loses in the cure", *_PRACTICE),
    Constant("hours_per_minute", 1 / 60, "h/min", "Hours in a minute", "SI", "definition"),
    Constant("days_per_hour", 1 / 24, "d/h", "Days in an hour", "SI", "definition"),
    Constant("days_per_month", 30.436875, "d/month", "Mean month", "Gregorian calendar: 146,097 days in 4,800 months", "computed"),
    Constant("rectangular", 3**-0.5, "-", "Standard uncertainty of a half-width of 1", *_GUM),
    Constant("solution_room_strength", 0.5, "-", "Strongest lye that the density tables know", "density tables below", "read"),
    Constant("sap_least", 50.0, "mg KOH/g", "No fat needs less", *_OURS),
    Constant("oil_sap_most", 400.0, "mg KOH/g", "No fat needs more: caprylic acid is 389", "atomic weights", "computed"),
    Constant("sap_far_below", 0.75, "-", "A SAP below this part of its published range may be of NaOH", *_OURS),
    Constant("sap_far_above", 1.36, "-", "A SAP above this part of its lowest published value may be converted twice", *_OURS),
    Constant("tie_breaker", 1e-9, "-", "Part of a value that tells equals apart in a ranking", *_OURS),
    Constant("oil_density", 0.92, "g/mL", "Density of an oil where none is published", *_PRACTICE),
    Constant("other_density", 1.0, "g/mL", "Density of anything else where none is published", *_PRACTICE),
    Constant("percent", 100.0, "-", "Hundredths in one", "definition", "definition"),
    Constant("g_per_kg", 1000.0, "g/kg", "Grams in a kilogram", "SI", "definition"),
    Constant("ml_per_l", 1000.0, "mL/L", "Millilitres in a litre", "SI", "definition"),
    Constant("card_digits", 3.0, "-", "Digits of a weight on a card at most", *_OURS),
    Constant("vessel_step", 100.0, "mL", "A vessel is said to this, rounded up", *_OURS),
    Constant("g_per_oz", 28.349523125, "g", "Grams in an ounce", "NIST Handbook 44, Appendix C", "memory"),
    Constant("ounce_step", 0.001, "-", "Ounces on a card are rounded to this", *_OURS),
    Constant("oz_per_lb", 16.0, "-", "Ounces in a pound", "NIST Handbook 44, Appendix C", "memory"),
    Constant("ml_per_fl_oz", 29.5735295625, "mL", "Millilitres in a US fluid ounce", "231 cubic inches in 128 of them", "computed"),
    Constant("fahrenheit_per_degree", 1.8, "-", "°F in 1 °C", "definition", "definition"),
    Constant("fahrenheit_of_ice", 32.0, "-", "°F at 0 °C", "definition", "definition"),
    Constant("ruler_from", -0.03, "-", "Superfat at the left end of the ruler", *_OURS),
    Constant("ruler_step", 0.005, "-", "Superfat that one letter of the ruler stands for", *_OURS),
    Constant("ruler_letters", 32.0, "-", "Letters of the ruler", *_OURS),
    Constant("level_weight", 1e9, "-", "Weight of an issue's level in its key", *_OURS),
    Constant("id_weight", 1000.0, "-", "Weight of an issue's place in its key", *_OURS),
    Constant("sourest_liquid", 150.0, "mg KOH/g", "Three times vinegar: acid value of no liquid is above it", *_OURS),
    Constant("sourest_dry", 1250.0, "mg KOH/g", "Acid value of oxalic acid, for what is not water", "atomic weights", "computed"),
    Constant("purity_least", 0.2, "-", "An alkali less pure than this is a mistake", *_OURS),
    Constant("far_after", 730.0, "days", "A market day further away than this is asked about", *_OURS),
    Constant("guessed_most", 0.1, "-", "Share of the batter whose density nobody gave that is not asked about", *_OURS),
    Constant("fullest", 1.0005, "-", "A mould filled to this share or more does not hold its batter", *_OURS),
    Constant("bar_heaviest", 500.0, "g", "A bar heavier than this is asked about", *_OURS),
    Constant("bar_lightest", 10.0, "g", "A bar lighter than this is asked about", *_OURS),
    Constant("superfat_high_from", 0.15, "-", "A superfat above this is asked about", *_PRACTICE),
    Constant("superfat_step", 0.001, "-", "The superfat to set instead is rounded up to this", *_OURS),
    Constant("superfat_advice_most", 0.1, "-", "No higher superfat is advised; certificates are", *_OURS),
    Constant("purity_point", 0.01, "-", "A label states a least purity: likely no more above it than this", *_OURS),
    Constant("word_room", 60.0, "-", "Letters between the words of a name while they are looked up", *_OURS),
    Constant("bell", 0.3989423, "-", "Height of the normal distribution", "1 / sqrt(2 pi)", "computed"),
    Constant("bell_slope", 1.5976, "-", "Logistic curve of the normal distribution, to 0.0002",
             "Page 1977, Applied Statistics 26(1), 75", "memory"),
    Constant("bell_cube", 0.070565, "-", "Logistic curve of the normal distribution, to 0.0002",
             "Page 1977, Applied Statistics 26(1), 75", "memory"),
    Constant("bell_end", 8.0, "-", "Standard uncertainties beyond which nothing lies", *_OURS),
    Constant("rest_least", 0.0001, "-", "Least part of a variance that one range leaves to the rest", *_OURS),
    Constant("dry_purity_least", 0.8, "-", "Dry alkali is purer: KOH flakes 85 to 90 %, NaOH 97 to 99 %", *_PRACTICE),
    Constant("sap_usual_least", 165.0, "mg KOH/g", "Fats have more: high-erucic rapeseed 168 to 181", "Codex CXS 210, Table 2", "memory"),
    Constant("sap_usual_most", 270.0, "mg KOH/g", "Fats have less: coconut oil 248 to 265", "Codex CXS 210, Table 2", "read"),
    Constant("spice_most", 0.01, "-", "Spice oils of the oils' weight above which batter seizes", *_PRACTICE),
    Constant("salt_most", 0.5, "-", "Salt of the oils' weight above which a bar is brittle", *_PRACTICE),
    Constant("fragrance_most", 0.1, "-", "Fragrance of the oils' weight above which a dose is asked about; 3 to 6 % is usual", *_PRACTICE),
    Constant("oil_density_least", 0.84, "g/mL", "Molten fats have more: jojoba 0.86, stearic acid 0.85", *_PRACTICE),
    Constant("oils_most", 100000.0, "g", "A batch of more oils is asked about", *_OURS),
    Constant("cure_days_least", 28.0, "days", "A shorter cure is asked about", *_PRACTICE),
    Constant("lye_most", 0.5, "-", "NaOH that dissolves at room temperature, as a mass fraction",
             "CRC Handbook solubility table, 100 g in 100 g water at 25 °C", "memory"),
    Constant("lye_hot_from", 90.0, "°C", "Above this lye is hot: the card says how cold liquid keeps it cooler", *_PRACTICE),
    Constant("lye_heat_kept", 0.75, "-", "Heat left in lye in an open jug, the rest gone to jug, steam and air: 33 % NaOH from the tap gets to 85 to 93 °C", *_PRACTICE),
    Constant("lye_strong_from", 0.4, "-", "Lye stronger than this is warned of", *_PRACTICE),
    Constant("lye_weak_below", 0.25, "-", "Lye weaker than this is warned of", *_PRACTICE),
    Constant("coarse_below", 100.0, "-", "Fewest scale divisions the alkali should be", *_OURS),
    Constant("old_after", 12.0, "months", "Alkali container open for longer draws a warning", *_PRACTICE),
    Constant("heat_convention", 1.64, "kJ/mol", "Added to the heat table of NaOH: from -42.87 to -44.51 kJ/mol in much water, where KOH has -57.61",
             "values of formation: NaOH(s) -425.6, NaOH(aq) -470.1, KOH(s) -424.8, KOH(aq) -482.4", "memory"),
    Constant("heat_margin", 1.0, "kJ/mol", "How far the moved table may be off, taken to the hot side", *_OURS),
    Constant("koh_heat", 57.61, "kJ/mol", "Heat given off by KOH dissolved in much water",
             "CRC Handbook, enthalpy of solution of electrolytes", "memory"),
    Constant("neutral_heat", 55.8, "kJ/mol", "Heat of an acid and a base that meet in water",
             "CRC Handbook, enthalpy of ionization of water at 25 °C", "memory"),
    Constant("water_capacity", 4.185, "J/(g K)", "Specific heat of water", "Laliberté 2009 correlation at 0 %", "read"),
    Constant("ice_melting", 333.6, "J/g", "Heat that melting ice takes up", "CRC Handbook", "memory"),
    Constant("ice_share", 0.5, "-", "Share of the lye liquid taken as ice in the third figure", *_OURS),
    Constant("cold_liquid", 5.0, "°C", "Liquid from the fridge", *_PRACTICE),
    Constant("joule_per_kj", 1000.0, "J/kJ", "Joules in a kilojoule", "SI", "definition"),
    Constant("vessel_headspace", 2.0, "-", "Volume of the vessel for 1 of lye solution", *_PRACTICE),
    Constant("pot_headspace", 1.25, "-", "Volume of the pot for 1 of batter", *_PRACTICE),
)  # fmt: skip
