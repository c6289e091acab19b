"""A rule: what is wrong or doubtful, where, in which words, what to do, and how much it weighs.

A rule is a truth about one row, read as a number by the engine and as a formula by the workbook. The rules of a table
are packed into few columns, each giving the weight of the first rule that speaks in a row: 0 when none does.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from typing import Any

from scaler.formula.cells import Cell
from scaler.formula.helpers import is_number, when
from scaler.formula.steps import Rule as Flag
from scaler.formula.steps import Step, described
from scaler.model.problems import DANGER, LOOK, NOTE

__all__ = ["DANGER", "LOOK", "MONEY", "NOTE", "REFUSE", "WEIGHTS", "Rule", "RuleGroup"]

REFUSE = "refuse"
LEVELS = (REFUSE, DANGER, LOOK, NOTE)
"""The heaviest first."""
WEIGHTS, MONEY = "weights", "money"
"""What a refusal takes away: weights and money, or money alone."""

FAULT, MONEY_FAULT, DOUBT = "fault", "money_fault", "doubt"
"""Channels: of each, a row says the first rule that speaks."""

LEVEL_WEIGHT, ID_WEIGHT = 1_000_000_000, 1_000
"""An issue's key is its level, where it stands, and its rule, in one number that sorts by level."""

_FIELD = re.compile(r"\{([a-z_@]+)(?::([^}]*))?\}")
_LONGEST = 225
"""Letters of a packed formula, beside what its gate takes: the limit is 255."""


@dataclass(frozen=True)
class Field:
    """A value in a sentence: the column it comes from, what it is multiplied by, its digits, and what follows it."""

    name: str
    factor: float
    digits: int
    suffix: str


@dataclass(frozen=True)
class Rule:
    """What is wrong or doubtful in a row.

    Attributes:
        code: its lasting name, for programs.
        level: refuse, danger, look or note.
        table: whose rows it looks at.
        at: the column where the maker mends it; "outside" or "doubted" for the number cell that these steps name.
        scope: what a refusal takes away.
        says: what is wrong, with `{column}`, `{column:1}` (digits) or `{column:%1}` (percent) for values of the row;
            `{@value}` and `{@header}` are the cell's own.
        do: what to do.
        authority: who says so.
        flag: whether it speaks, from values of the row.
        when: the column of the table that must be 1.
        channel: rules of a channel speak one at a time, the first in their order.
    """

    code: str
    level: str
    table: str
    at: str
    scope: str
    says: str
    do: str
    authority: str
    flag: Flag
    when: str
    channel: str

    @property
    def name(self) -> str:
        """Its name among all rules; a code may serve several tables."""
        return f"rule_{self.table}_{self.flag.__name__}"

    @cached_property
    def fields(self) -> tuple[Field, ...]:
        """The values in its sentence, in order."""
        found = dict.fromkeys(_FIELD.findall(self.says + self.do))
        return tuple(_field(name, form) for name, form in found)

    @cached_property
    def template(self) -> str:
        """Its sentence and what to do, with {1}, {2} ... for the values."""
        marks = {pair: f"{{{place}}}" for place, pair in enumerate(dict.fromkeys(_FIELD.findall(self.says + self.do)), 1)}
        return _FIELD.sub(lambda found: marks[found.group(1), found.group(2) or ""], self.says)

    @cached_property
    def remedy(self) -> str:
        """What to do, with {1}, {2} ... for the values."""
        marks = {pair: f"{{{place}}}" for place, pair in enumerate(dict.fromkeys(_FIELD.findall(self.says + self.do)), 1)}
        return _FIELD.sub(lambda found: marks[found.group(1), found.group(2) or ""], self.do)

    def words(self, row: Mapping[str, Any], header: str = "") -> tuple[str, str]:
        """Return its sentence and what to do, with the values of a row."""
        held = dict(row) | {"@header": header, "@value": row.get(self.at, "")}
        texts = [shown(held.get(field.name, ""), field) for field in self.fields]
        said = [self.template, self.remedy]
        for place, text in enumerate(texts, 1):
            said = [part.replace(f"{{{place}}}", text) for part in said]
        return said[0], said[1]


def shown(value: Any, field: Field) -> str:
    """Return a value as a sentence shows it; numbers half up, as spreadsheets round.

    >>> shown(0.05235, Field("superfat", 100.0, 1, " %")), shown("Olive oil", Field("ingredient", 1.0, 3, ""))
    ('5.2 %', 'Olive oil')
    """
    if not is_number(value):
        return "" if value is None else str(value)
    exact = Decimal(f"{value * field.factor:.15g}").quantize(Decimal(1).scaleb(-field.digits), ROUND_HALF_UP)
    return f"{float(exact):.15g}{field.suffix}"


def _field(name: str, form: str) -> Field:
    if form.startswith("%"):
        return Field(name, 100.0, int(form[1:] or 0), " %")
    return Field(name, 1.0, int(form) if form else 3, "")


class RuleGroup:
    """Collects the rules of one table, behind one gate."""

    def __init__(self, table: str, when: str = "entered") -> None:
        """Start with no rule."""
        self.table, self.when = table, when
        self.rules: list[Rule] = []

    def rule(
        self, code: str, level: str, at: str, says: str, do: str, authority: str = "our own rule", scope: str = WEIGHTS,
        channel: str = "",
    ) -> Callable[[Flag], Flag]:  # fmt: skip
        """Declare a function as a rule: it returns whether the rule speaks."""
        usual = DOUBT if level != REFUSE else MONEY_FAULT if scope == MONEY else FAULT

        def declare(flag: Flag) -> Flag:
            held = (code, level, self.table, at, scope, says, do, authority, flag, self.when, channel or usual)
            self.rules.append(Rule(*held))
            return flag

        return declare


# --- packing ---


def numbers_of(rules: Sequence[Rule]) -> dict[str, float]:
    """Return the weight of each rule by its name: its level, then its place among all rules."""
    return {rule.name: LEVELS.index(rule.level) * float(LEVEL_WEIGHT) + place for place, rule in enumerate(rules, 1)}


def packed(rules: Sequence[Rule]) -> list[Step]:
    """Return the steps of a table's rules: a few columns a channel, then the channel's key."""
    steps: list[Step] = []
    for table, channel in dict.fromkeys((rule.table, rule.channel) for rule in rules):
        members = [rule for rule in rules if (rule.table, rule.channel) == (table, channel)]
        packs = [pack for gate in dict.fromkeys(rule.when for rule in members) for pack in _packs(members, gate)]
        names = []
        for place, pack in enumerate(packs, 1):
            names.append(f"{channel}_{place}")
            steps.append(Step(table, names[-1], "", _first_of(pack), pack[0].when, 0))
        steps.append(Step(table, f"{channel}_key", "", _key(table, channel, names)))
    return steps


def _packs(rules: Iterable[Rule], gate: str) -> list[list[Rule]]:
    packs: list[list[Rule]] = []
    for rule in rules:
        if rule.when != gate:
            continue
        if packs and len(_text(_first_of([*packs[-1], rule]))) <= _LONGEST:
            packs[-1].append(rule)
        else:
            packs.append([rule])
    return packs


def _text(rule: Flag) -> str:
    """Return a formula about as long as the one that will be written."""
    import inspect

    held = {name: Cell("WorkingsA!$B$999") if name.startswith("rule_") else Cell("$AB999") for name in inspect.signature(rule).parameters}
    try:
        text: str = rule(**held).text
    except (AttributeError, TypeError):
        text = ""
    return text


def _first_of(rules: Sequence[Rule]) -> Flag:
    """Return the rule that gives the weight of the first of some rules that speaks, 0 when none does."""
    import inspect

    reads = [tuple(inspect.signature(rule.flag).parameters) for rule in rules]
    names = dict.fromkeys(name for held in reads for name in held)

    def first(**values: Any) -> Any:
        found: Any = 0
        for rule, held in reversed(list(zip(rules, reads, strict=True))):
            found = when(rule.flag(**{name: values[name] for name in held}), values[rule.name], found)
        return found

    says = f"The first that speaks of: {', '.join(rule.code for rule in rules)}. -> [-]."
    return described(first, (*names, *(rule.name for rule in rules)), says)


def _key(table: str, channel: str, packs: Sequence[str]) -> Flag:
    """Return the rule that joins the packs of a channel to one key, more than any other where none speaks."""

    def key(**values: Any) -> Any:
        found = values["big"]
        place = (values[f"issue_{table}_{channel}"] + values["place"]) * values["id_weight"]
        for name in reversed(packs):
            found = when(values[name] > 0, values[name] + place, found) if name else found
        return found

    parameters = ("place", *packs, f"issue_{table}_{channel}", "id_weight", "big")
    return described(key, parameters, f"What the row's {channel.replace('_', ' ')} is and where, in one number. -> [-].")
