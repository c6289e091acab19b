"""A rule: what is wrong or doubtful, where, in which words, what to do, and how much it weighs.

A rule is a truth about one row, read as a number by the engine and as a formula by the workbook. The rules of a table
are packed into few columns, each giving the weight of the first rule that speaks in a row, `big` when none does.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import cached_property
from typing import Any

from scaler.formula.cells import Cell, Range, is_number, literal
from scaler.formula.helpers import when
from scaler.formula.steps import Rule as Flag
from scaler.formula.steps import Step, described, handed
from scaler.formula.sums import smallest
from scaler.model.problems import DANGER, LOOK, NOTE

__all__ = ["DANGER", "DATES", "LOOK", "MONEY", "NOTE", "REFUSE", "WEIGHTS", "Rule", "RuleGroup"]

REFUSE = "refuse"
LEVELS = (REFUSE, DANGER, LOOK, NOTE)
"""The heaviest first."""
WEIGHTS, MONEY, DATES = "weights", "money", "dates"
"""What a refusal takes away: weights and money, money alone, or what hangs on a date."""

FAULT, MONEY_FAULT, DOUBT = "fault", "money_fault", "doubt"
"""Channels: of each, a row says the first rule that speaks."""

LEVEL_WEIGHT, ID_WEIGHT = 1_000_000_000, 1_000
"""An issue's key is its level, where it stands, and its rule, in one number that sorts by level."""

_ROOM = Context(prec=400)
"""Digits for any number that a cell can hold."""
_FIELD = re.compile(r"\{([a-z_@]+)(?::([^}]*))?\}")
_LONGEST = 235
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
        at: the column where the maker mends it; a step of `issues.MOVING` for the number cell that it names.
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
        """The values in its sentence, in order; the cell's own value and header are not among them."""
        return tuple(_field(name, form) for name, form in self._marks if not name.startswith("@"))

    @cached_property
    def _marks(self) -> dict[tuple[str, str], str]:
        found = dict.fromkeys(_FIELD.findall(self.says + self.do))
        others = (pair for pair in found if not pair[0].startswith("@"))
        own = {("@value", ""): "{v}", ("@header", ""): "{h}", ("@hint", ""): "{s}"}
        return {pair: f"{{{place}}}" for place, pair in enumerate(others, 1)} | own

    @cached_property
    def template(self) -> tuple[str, str]:
        """Its sentence and what to do, with {1}, {2} ... for values of the row, {h}, {v} and {s} for the cell's own."""
        return tuple(_FIELD.sub(self._mark, text) for text in (self.says, self.do))  # type: ignore[return-value]

    def _mark(self, found: re.Match[str]) -> str:
        return self._marks[found.group(1), found.group(2) or ""]

    def words(self, row: Mapping[str, Any], value: Any, header: str, hint: str = "") -> tuple[str, str]:
        """Return its sentence and what to do, with the values of a row, and of the cell where it is mended."""
        says, do = self.template
        texts = {f"{{{place}}}": shown(row.get(field.name), field) for place, field in enumerate(self.fields, 1)}
        own = plain(value)
        if is_number(value) and header.endswith("%"):
            own = f"{plain(round(value * 100, 9))} %"
        for mark, text in (texts | {"{h}": header, "{v}": own, "{s}": hint}).items():
            says, do = says.replace(mark, text), do.replace(mark, text)
        return says, do


def plain(value: Any) -> str:
    """Return a cell's value as a sentence quotes it.

    >>> plain(36.5), plain("oil"), plain(None)
    ('36.5', 'oil', '')
    """
    if is_number(value) and 0 < abs(value) < 1e-4:
        return f"{value:.12f}".rstrip("0")  # spreadsheets write it so
    return f"{value:.15g}" if is_number(value) else str(value or "")


def shown(value: Any, field: Field) -> str:
    """Return a value as a sentence shows it; numbers half up, as spreadsheets round.

    >>> shown(0.05235, Field("superfat", 100.0, 1, " %")), shown("Olive oil", Field("ingredient", 1.0, 3, ""))
    ('5.2 %', 'Olive oil')
    """
    if not is_number(value):
        return "" if value is None else str(value)
    exact = Decimal(f"{value * field.factor:.15g}")
    exact = exact.quantize(Decimal(1).scaleb(-field.digits), ROUND_HALF_UP, _ROOM)
    return f"{float(exact) + 0.0:.15g}{field.suffix}"


def _field(name: str, form: str) -> Field:
    if form.startswith("%"):
        return Field(name, 100.0, int(form[1:] or 0), " %")
    return Field(name, 1.0, int(form) if form else 3, "")


class RuleGroup:
    """Collects the rules of one table, behind one gate; `channel` is that of rules which name none."""

    def __init__(self, table: str, when: str = "entered", channel: str = "") -> None:
        """Start with no rule."""
        self.table, self.when, self.channel = table, when, channel
        self.rules: list[Rule] = []

    def rule(
        self, code: str, level: str, at: str, says: str, do: str, authority: str = "our own rule", scope: str = WEIGHTS,
        channel: str = "",
    ) -> Callable[[Flag], Flag]:  # fmt: skip
        """Declare a function as a rule: it returns whether the rule speaks."""
        usual = DOUBT if level != REFUSE else MONEY_FAULT if scope == MONEY else FAULT

        def declare(flag: Flag) -> Flag:
            told = channel or self.channel or usual
            self.rules.append(Rule(code, level, self.table, at, scope, says, do, authority, flag, self.when, told))
            return flag

        return declare

    def add(self, name: str, reads: Sequence[str], speaks: Flag, *said: str, **more: str) -> None:
        """Add a rule that was made, not written: `speaks` gets what it reads in this order; the rest is as of `rule`."""
        self.rule(*said, **more)(handed(speaks, reads, "", name))


# --- packing ---


def numbers_of(rules: Sequence[Rule]) -> dict[str, float]:
    """Return the weight of each rule by its name: its level, then its place among all rules."""
    return {rule.name: LEVELS.index(rule.level) * float(LEVEL_WEIGHT) + place for place, rule in enumerate(rules, 1)}


def packed(rules: Sequence[Rule]) -> tuple[list[Step], dict[str, dict[str, tuple[str, ...]]]]:
    """Return the steps of a table's rules, a few columns a channel and the channel's key, and by table those columns.

    The one pack of a channel that has no more is read by its key as it is, and has no column of its own.
    """
    steps: list[Step] = []
    blocks: dict[str, dict[str, tuple[str, ...]]] = {}
    for table, channel in dict.fromkeys((rule.table, rule.channel) for rule in rules):
        members = [rule for rule in rules if (rule.table, rule.channel) == (table, channel)]
        packs = [pack for gate in dict.fromkeys(rule.when for rule in members) for pack in _packs(members, gate)]
        names = tuple(f"{channel}_{place}" for place in range(1, len(packs) + 1))
        steps += [
            Step(table, name, "", _first_of(pack), pack[0].when, "big") for name, pack in zip(names, packs, strict=True)
        ]
        steps.append(Step(table, f"{channel}_key", "", _key(table, channel, names)))
        if len(names) > 1:
            blocks.setdefault(table, {})[f"{channel}_speaks"] = names
    return steps, blocks


def _packs(rules: Iterable[Rule], gate: str) -> list[list[Rule]]:
    """Return the rules of a gate in as few packs as hold them, each in the order of the rules."""
    packs: list[list[Rule]] = []
    lengths: list[int] = []
    for rule in rules:
        if rule.when == gate:
            length = _length(rule)
            place = next((at for at, held in enumerate(lengths) if held + length <= _LONGEST), len(packs))
            if place == len(packs):
                packs.append([])
                lengths.append(0)
            packs[place].append(rule)
            lengths[place] += length
    return packs


def _length(rule: Rule) -> int:
    """Return about how many letters a rule adds to a packed formula."""
    first = _first_of([rule])
    held: dict[str, Any] = {}
    for name in inspect.signature(first).parameters:
        if name.startswith("rule_") or name == "big":
            held[name] = Cell("B$999")
        elif name.startswith(_TABLES):
            held[name] = Range("AB$999:AB$999")
        else:
            held[name] = Cell("AB999")
    return len(literal(first(**held))) - len(held["big"].text)


_TABLES = (
    "ingredients_", "prices_", "moulds_", "lines_", "recipes_", "alkalis_", "batches_", "batch_lines_", "words_", "units_",
)  # fmt: skip


def _first_of(rules: Sequence[Rule]) -> Flag:
    """Return the rule that gives the weight of the first of some rules that speaks, `big` when none does."""
    reads = [tuple(inspect.signature(rule.flag).parameters) for rule in rules]
    names = dict.fromkeys(name for held in reads for name in held)

    def first(**values: Any) -> Any:
        found: Any = values["big"]
        for rule, held in reversed(list(zip(rules, reads, strict=True))):
            found = when(rule.flag(**{name: values[name] for name in held}), values[rule.name], found)
        return found

    says = f"The first that speaks of: {', '.join(rule.code for rule in rules)}. -> [-]."
    return described(first, tuple(names | dict.fromkeys((*(rule.name for rule in rules), "big"))), says)


def _key(table: str, channel: str, packs: Sequence[str]) -> Flag:
    """Return the rule that joins the packs of a channel to one key, more than any other where none speaks."""
    speaks = f"{channel}_speaks" if len(packs) > 1 else packs[0]

    def key(**values: Any) -> Any:
        place = (values[f"issue_{table}_{channel}"] + values["place"]) * values["id_weight"]
        return (smallest(values[speaks]) if len(packs) > 1 else values[speaks]) + place

    parameters = ("place", speaks, f"issue_{table}_{channel}", "id_weight")
    return described(
        key, parameters, f"What the row's {channel.replace('_', ' ')} is and where, in one number. -> [-]."
    )
