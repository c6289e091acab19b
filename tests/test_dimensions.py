"""The third reading of every rule: with quantities, it comes out in the unit that its step declares.

A rule is called with quantities for what it reads: an input in its column's unit, an earlier step in its declared
one. The result must have the declared unit's dimension, and be the number that the rule makes of plain floats:
a factor left out, such as grams in a milligram, shows as well. The helpers of `formula` are replaced by ones that
check that what they compare, add up or choose between is alike, and every choice is tried both ways.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from zlib import crc32

import pint
import pytest
from made_up import made_up

from scaler.engine import work_out
from scaler.formula.steps import Names, Step
from scaler.market.tables import STEPS as MARKET_STEPS
from scaler.model.records import COSTS, SHEETS
from scaler.model.schema import DATE, NUMBER, PERCENT, WHOLE, Column, Setting, columns
from scaler.model.settings import setting_declared
from scaler.model.units import TEMPERATURE, TIME, VOLUME, WEIGHT
from scaler.rules import published, sizing
from scaler.rules.batch import STEPS as BATCH_STEPS
from scaler.rules.tables import UNIT_COLUMNS, constants_of

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()
REGISTRY.define("money = [money]")
_NO_RULES = ("scaler.formula.sums", "scaler.rules.sheets")
"""Helpers, and what every sheet has whatever its units."""
MODULES = tuple(
    module for name, module in sorted(sys.modules.items())
    if name.startswith(("scaler.rules.", "scaler.market.", "scaler.model.shapes")) and name not in _NO_RULES
)  # fmt: skip
STEPS = (*BATCH_STEPS, *MARKET_STEPS)

# Unit as declared -> unit as pint knows it. A saponification value is mg of KOH for 1 g. Temperatures are read as
# what they are above 0 °C: the rules add differences to them and take one from another, and never multiply by one.
PINT = {
    "": "", "-": "", "%": "", "g/g": "", "mg KOH/g": "mg/g", "g": "g", "g/mL": "g/mL", "mL": "mL", "mL/g": "mL/g",
    "cm": "cm", "1/g": "1/g", "money": "money", "money/g": "money/g", "money/h": "money/h", "money/kg": "money/kg", "g/kg": "g/kg", "mL/L": "mL/L", "min": "min", "h": "h",
    "days": "day", "d": "day", "date": "day", "day": "day", "months": "month", "g/mol": "g/mol", "g/mg": "g/mg",
    "h/min": "h/min", "d/h": "d/h", "d/month": "d/month", "g or each": "g", "mol/mol": "mol/mol", "kJ/mol": "kJ/mol",
    "J/(g K)": "J/(g*K)", "kJ/g": "kJ/g", "J/g": "J/g", "J/kJ": "J/kJ", "°C": "K",
}  # fmt: skip
TEXT = "text"

# Steps left out, and why.
LEFT_OUT = {
    ("lines", "each_bar_cost"): "money for a piece times pieces",
    ("lines", "mix_part"): "a share, or grams in a recipe by weight",
    ("costs", "factor"): "each row of Costs has a unit of its own",
    ("costs", "measure"): "each row of Costs has a unit of its own, °F among them",
    ("costs", "in_use"): "each row of Costs has a unit of its own",
    ("prices", "pack_holds"): "grams, or pieces of packaging",
    ("batch_lines", "cost"): "money for a gram times grams, or for a piece times pieces",
    ("ingredients", "planned"): "grams, or pieces of packaging",
    ("batch_lines", "has_cost"): "grams and pieces are held against 0 together",
    ("ingredients", "stock_held"): "grams, or pieces of packaging",
    ("buying", "need"): "grams, or pieces of packaging",
    ("batches", "unmould_on"): "hours become whole days",
    ("batches", "ready_day"): "days become whole days",
    ("batches", "occupied_until"): "1 is a day",
    ("stages", "order_key"): "day and place in one number that sorts",
    ("batches", "alkali_words_grams"): "hundredths of a gram become whole",
    ("batches", "first_weigh_words_grams"): "hundredths of a gram become whole",
    ("days", "lye_words_grams"): "hundredths of a gram become whole",
    ("moments", "moment"): "lists days, and works nothing out",
    ("batch_lines", "needed_on"): "a day, or a number more than any",
    ("buying", "used_from"): "a day, or a number more than any",
    ("buying", "first_used"): "days are held against a number more than any",
    ("days", "planned_day"): "days are held against a number more than any",
}

# Inputs whose unit no column says: the tables of published numbers, sheet Units.
INPUTS = {
    "lines": {"blend": TEXT},
    "units": {"weight": "g", "volume": "mL", "length": "cm", "time": "h", "temperature": "", "ratio_weight": "g/g",
              "ratio_volume": "mL/g", "share_of_liquid": "g/g"},
    "naohdensity": {"strength": "%", "density": "g/mL"},
    "kohdensity": {"strength": "%", "density": "g/mL"},
    "coverage": {"dominance": "", "factor": ""},
    "solutionheat": {"ratio": "mol/mol", "heat": "kJ/mol"},
    "boiling": {"strength": "%", "naoh_boils": "°C", "koh_boils": "°C"},
    "heatcapacity": {"strength": "%", "capacity": "J/(g K)", "koh_capacity": "J/(g K)"},
    "hangs_on": {"batch_at": "", "order": ""},
    "ladder": {"batch_at": "", "ladder_margin": "%"},
    "batch_lines": {"place": "", "batch_at": "", "slot": "", "line_place": "", "key": TEXT},
    "published": {"place": "", "thing": TEXT, "sap_low": "mg KOH/g", "sap_high": "mg KOH/g", "density": "g/mL", "is_doubted": ""}
    | dict.fromkeys(published.NAMES, ""),
    "names": {"word": TEXT, "thing_at": ""},
    "words": {"word": TEXT, "means": TEXT},
    "market": {"need_day": "date", "market_date": "date", "market_on": "date", "day_at": "", "day_key": TEXT, "planned_recipe": TEXT, "planned_bars": "", "planned_day": "date", "planned_mould": TEXT, "planned_short": ""},
    "packs": {"planned_at": "", "planned_offer": TEXT, "planned_thing": TEXT, "planned_supplier": TEXT, "packs_to_buy": "", "planned_cost": "money"},
    "buying": {"thing": TEXT, "used_since": "g"},
    "lots": {"lot_name": TEXT, "lot_state": TEXT, "lot_recipe": TEXT, "lot_mould": TEXT, "lot_made": "date", "lot_free": "date",
             "lot_ready": "date", "lot_moulds": "", "lot_bars": "", "lot_cut": "h", "lot_wrap": "h"},
    "changes": {"change_batch": TEXT, "change_words": TEXT},
    "sizes": {"size_recipes": TEXT, "size_words": TEXT},
    "sold": {"sold_recipe": TEXT, "usual_bar_cost": "money"},
    "money": {"first_market": "date", "last_number": ""},
    "through": {"share_sold": "%"},
    "days": {"place": ""},
    "moments": {"place": "", "moment": "date"},
    "stages": {"place": "", "batch_at": "", "stage": "", "stage_words": TEXT},
}  # fmt: skip
SETTINGS = {"labour_rate": "money/h", "stall_fee": "money"}
"""Settings whose unit their declaration gives in words: per hour, per day."""
OWN_UNITS = {WEIGHT: "g", VOLUME: "mL", TIME: "h", TEMPERATURE: "°C"}


def unit_declared(declared: Column | Setting) -> str:
    """Return the unit of what a column or a setting declares."""
    if declared.kind not in (NUMBER, PERCENT, WHOLE, DATE):
        return TEXT
    if isinstance(declared, Setting) and declared.unit_kinds:
        return OWN_UNITS[declared.unit_kinds[0]]
    return "date" if declared.kind == DATE else "money" if declared.money else declared.unit


@dataclass(frozen=True)
class Whole:
    """A whole column, every cell alike."""

    cell: Any


Units = dict[str, dict[str, str]]


def input_units() -> Units:
    """Return the unit of every input column, constant and setting."""
    held: Units = {sheet.key: {} for sheet in SHEETS if sheet != COSTS}
    for sheet in SHEETS:
        for name, column in columns(sheet.record).items():
            if sheet.key in held:
                held[sheet.key][name] = unit_declared(column)
        held.setdefault(sheet.key, {})["place"] = ""
    held["units"] = dict.fromkeys(UNIT_COLUMNS, "") | {"word": TEXT, "kind": TEXT}
    for table, names in INPUTS.items():
        held[table] = held.get(table, {}) | names
    held["constants"] = {constant.name: constant.unit for constant in constants_of()}
    held["costs"] = {name: SETTINGS.get(name) or unit_declared(item) for name, item in setting_declared().items()}
    return held


def readings() -> Iterator[tuple[Step, dict[str, tuple[str, bool]]]]:
    """Yield each step with the unit of each of its parameters, and whether that is a whole column."""
    units = input_units()
    for step in STEPS:
        units.setdefault(step.table, {})[step.name] = step.unit
    run = work_out(made_up(1))
    names = Names(run.tables, STEPS)
    for table in MARKET_TABLES:
        names.columns.setdefault(table, set()).update(units[table])
    for step in STEPS:
        parameters = {}
        if (step.table, step.name) not in LEFT_OUT and step.unit != TEXT:
            for parameter in step.parameters:
                source = names.source(step, parameter)
                parameters[parameter] = (units.get(source.table, {}).get(source.name, ""), source.kind == "column")
        yield step, parameters


MARKET_TABLES = (
    "market", "on_hand", "packs", "buying", "lots", "sold", "money", "through", "days", "stages", "moments",
)  # fmt: skip


def sample(name: str, unit: str, whole: bool, floats: bool) -> Any:
    """Return a value for a parameter, always the same for a name: a quantity or a plain number."""
    value: Any = "word" if unit == TEXT else 0.2 + crc32(name.encode()) % 1000 / 1500
    if unit != TEXT and not floats:
        value = REGISTRY.Quantity(value, PINT.get(unit, unit))
    return Whole(value) if whole else value


# --- the helpers of formula.py, checking ---


def unit_of(value: Any) -> Any:
    """Return the dimension of a value; None for a literal 0, which has any, and for a word."""
    if isinstance(value, pint.Quantity):
        return value.dimensionality
    return None if value == 0 or isinstance(value, str | bool) else REGISTRY.Quantity(1).dimensionality


def alike(*values: Any) -> None:
    """Check that values have one dimension."""
    found = [unit_of(value.cell if isinstance(value, Whole) else value) for value in values]
    known = [unit for unit in found if unit is not None]
    assert all(unit == known[0] for unit in known), f"not alike: {values}"


def chosen(one: Any, other: Any) -> Any:
    """Return the first of two values that are alike; a literal 0 gets the other's unit."""
    alike(one, other)
    nothing = isinstance(one, int) and one == 0 and isinstance(other, pint.Quantity)
    return other * 0 if nothing else one


def compared(one: Any, other: Any) -> bool:
    """Check that two values may be compared."""
    alike(one, other)
    return True


def plain(value: Any) -> Any:
    """Check that a value has no unit, as what is rounded must not."""
    alike(value, 1)
    return value


def divided(dividend: Any, divisor: Any) -> Any:
    """Return a quotient; nothing by nothing, as between two equal rows of a table, keeps its unit."""
    one = 1 * divisor.units if isinstance(divisor, pint.Quantity) else 1
    return dividend / (divisor if divisor else divisor + one)


def row_below(value: Any, column: Whole) -> float:
    """Check that a value may be looked up in a column."""
    alike(value, column)
    return 1.0


def total_by_day(days: Sequence[Any], values: Whole) -> Any:
    """Check that days are compared with days, and return what is added up."""
    alike(*days)
    return values.cell


def count_up_to(*values: Any) -> float:
    """Check that an order is of the orders."""
    alike(*values[2:])
    return 1.0


HELPERS: dict[str, Callable[..., Any]] = {
    "when": lambda _, yes, no: chosen(yes, no),
    "default_to": chosen,
    "larger": chosen,
    "smaller": chosen,
    "all_of": lambda *_: True,
    "any_of": lambda *_: True,
    "given": lambda _: True,
    "same": compared,
    "exceeds": compared,
    "out_of_range": lambda value, least, most: all((compared(value, least), compared(value, most))) or True,
    "opposite": lambda _: True,
    "blank": lambda _: True,
    "match": lambda *_: 1.0,
    "find_name": lambda *_: 1.0,
    "nth_smallest": lambda column, *_: column.cell,
    "nth_largest_where": lambda *values: values[2].cell,
    "total_of_both": lambda *values: values[4].cell,
    "total_of_named": lambda *values: values[2].cell * values[5].cell,
    "total_up_to": lambda *values: values[4].cell,
    "exponential": lambda value: math.exp(float(plain(value))),
    "product_where": lambda *values: values[2].cell * values[3].cell,
    "contains": lambda *_: True,
    "last_lost": lambda *_: 1.0,
    "count_where": lambda *_: 1.0,
    "count_given": lambda _: 1.0,
    "count_up_to": count_up_to,
    "row_below": row_below,
    "tag": lambda *_: "word",
    "pick": lambda column, *_: column.cell,
    "at": lambda column, _: column.cell,
    "translated": lambda word, words, meanings, _: meanings.cell,
    "total": lambda column: column.cell,
    "total_where": lambda *values: values[2].cell,
    "total_named": lambda *values: values[2].cell,
    "total_by": lambda *values: total_by_day(values[2:4], values[4]),
    "total_during": lambda *values: total_by_day(values[:3], values[3]),
    "total_after": lambda *values: total_by_day(values[:2], values[2]),
    "total_of_during": lambda *values: total_by_day(values[2:5], values[5]),
    "smallest": lambda values: values.cell,
    "smallest_where": lambda *values: values[2].cell,
    "largest_where": lambda *values: values[2].cell,
    "divide": divided,
    "scaled": lambda value, factor: value * factor,
    "lowered": lambda value, by: value - by,
    "size_of": abs,
    "remainder": lambda value, divisor: plain(value) + 0 * plain(divisor),
    "root": lambda value: value**0.5,
    "arc_cosine": lambda value: math.acos(float(plain(value))),
    "pi": lambda _: math.pi,
    "round_down": plain,
    "round_up": plain,
    "round_half_up": plain,
}
OF_WORDS = {"repeated", "spread", "word_at", "joined", "put_at", "figure"}
"""Helpers of words: what they make has no unit."""
SECOND: dict[str, Callable[..., Any]] = {
    "when": lambda _, yes, no: chosen(no, yes),
    **dict.fromkeys(("default_to", "larger", "smaller"), lambda one, other: chosen(other, one)),
}


CASES = [
    pytest.param(step, parameters, id=f"{step.table}.{step.name}")
    for step, parameters in readings()
    if step.unit != TEXT and (step.table, step.name) not in LEFT_OUT
]


def read(step: Step, parameters: dict[str, tuple[str, bool]], first: bool, floats: bool, monkeypatch: Any) -> Any:
    """Return what a rule makes of sample values, each choice the first of the two or the second."""
    with monkeypatch.context() as patched:
        for module in MODULES:
            for name, helper in (HELPERS | ({} if first else SECOND)).items():
                if hasattr(module, name):
                    patched.setattr(module, name, helper)
        return step.rule(**{name: sample(name, unit, whole, floats) for name, (unit, whole) in parameters.items()})


@pytest.mark.parametrize("first", [True, False], ids=["first", "second"])
@pytest.mark.parametrize(("step", "parameters"), CASES)
def test_rule_comes_out_in_its_unit(
    step: Step, parameters: dict[str, tuple[str, bool]], first: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With quantities a rule makes its declared unit, and the number that it makes of floats."""
    number = read(step, parameters, first, True, monkeypatch)
    quantity = read(step, parameters, first, False, monkeypatch)
    if isinstance(quantity, int | str):  # a literal 0, 1 or blank
        assert quantity == number
        return
    unit = PINT.get(step.unit, step.unit)
    if isinstance(quantity, float):
        quantity = REGISTRY.Quantity(quantity)
    assert quantity.check(REGISTRY.Quantity(1, unit).dimensionality), f"{quantity:~} is not {step.unit}"
    assert quantity.to(unit).magnitude == pytest.approx(number, rel=1e-12)


def test_what_is_left_out_is_there() -> None:
    """Every step that is left out exists, and nearly all steps are not."""
    assert set(LEFT_OUT) <= {(step.table, step.name) for step in STEPS}
    text = [step for step in STEPS if step.unit == TEXT]
    assert len(CASES) == len(STEPS) - len(LEFT_OUT) - len(text)


def test_every_module_of_rules_is_read() -> None:
    """The helpers are replaced in every module that holds a step."""
    assert {step.rule.__module__ for step in STEPS} <= {module.__name__ for module in MODULES}


_OF_HELPERS = (
    "scaler.formula.helpers",
    "scaler.formula.sums",
    "scaler.formula.helpers",
    "scaler.formula.searching",
    "scaler.formula.sums",
)


def test_every_helper_has_its_checking_one() -> None:
    """No helper of formula.py or sums.py that a rule uses is left as it is, but for the types."""
    imported = [item for module in MODULES for item in vars(module).items()]
    used = {name for name, value in imported if getattr(value, "__module__", "") in _OF_HELPERS}
    assert used - {"Cell", "Range"} <= set(HELPERS) | OF_WORDS


# --- the reading itself finds faults ---


def milligrams_forgotten(oils: Any, sap: Any) -> Any:
    """Leave out the grams in a milligram. -> [g]."""
    return oils * sap


def volume_as_weight(oils: Any, density: Any) -> Any:
    """Divide where it should multiply. -> [g]."""
    return oils / density


def sum_of_unlike(oils: Any, density: Any) -> Any:
    """Add grams and grams a millilitre. -> [g]."""
    return oils + density


def choice_of_unlike(oils: Any, density: Any) -> Any:
    """Choose between grams and grams a millilitre. -> [g]."""
    return sizing.when(oils > 0, oils, density)


@pytest.mark.parametrize("rule", [milligrams_forgotten, volume_as_weight, sum_of_unlike, choice_of_unlike])
def test_a_faulty_rule_is_found(rule: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    """A missing factor, a quotient turned over, a sum and a choice of unlike things each fail."""
    units = {"oils": "g", "sap": "mg KOH/g", "density": "g/mL"}
    step = Step("batches", "faulty", "g", rule)
    parameters = {name: (units[name], False) for name in step.parameters}
    with pytest.raises((AssertionError, pint.DimensionalityError)):
        test_rule_comes_out_in_its_unit(step, parameters, True, monkeypatch)
