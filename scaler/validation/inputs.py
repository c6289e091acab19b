"""What every input sheet may hold, by its schema: rules that no sheet writes for itself."""

from __future__ import annotations

from collections.abc import Sequence

from scaler.formula.cells import Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, default_to, given, opposite, round_half_up, same
from scaler.formula.searching import match, tag
from scaler.formula.steps import Rule as Flag
from scaler.formula.sums import count_where, out_of_range
from scaler.model.problems import listed
from scaler.model.records import LINES, PRICES, RECIPES
from scaler.model.schema import CHOICE, NAME, REFERENCE, UNIT, WHOLE, YES_NO, Column, columns, usual_units
from scaler.rules.sheets import DATE_APART, TYPED, UNREAD, WORKED
from scaler.validation.rule import DATES, LOOK, MONEY, REFUSE, WEIGHTS, Rule, RuleGroup

_MONEY_SHEETS = (PRICES.key,)
"""Sheets whose rows never touch a weight."""

_SAYS_UNREAD = "A cell of this row cannot be read, or its column is gone."
_DO_UNREAD = "Type the value again, or bring the column's header back as it was."


def rules() -> list[Rule]:
    """Return the rules of every input sheet that its schema gives."""
    found: list[Rule] = []
    for sheet in WORKED:
        declared = columns(sheet.record)
        scope = MONEY if sheet.key in _MONEY_SHEETS else WEIGHTS
        channel = "entry" if sheet.key in ("recipes", "batches") and scope == WEIGHTS else ""
        whole, group = RuleGroup(sheet.key, when=""), RuleGroup(sheet.key, _TYPED.get(sheet.key, "entered"))
        first = next(name for name, column in declared.items() if column.required)
        told = {"scope": scope, "channel": channel}
        whole.rule("cell_unread", REFUSE, first, _SAYS_UNREAD, _DO_UNREAD, **told)(cell_unread)
        apart, cannot = sheet.key in DATE_APART, ("outside", "{@header} cannot be {@value}.", "{@hint}")
        whole.rule("number_wrong", REFUSE, *cannot, **told)(number_beside_wrong if apart else number_wrong)
        if apart:
            day = DATE_APART[sheet.key]
            whole.add("date_unread", ("used", day), date_unread, "cell_unread", REFUSE, day, _SAYS_UNREAD, _DO_UNREAD,
                      scope=DATES, channel="number_doubt")  # fmt: skip
            whole.rule("number_wrong", REFUSE, *cannot, scope=DATES, channel="number_doubt")(date_wrong)
        for name, column in declared.items():
            _of_column(group, name, column, scope, channel)
        says = "{@header} is {@value}."
        group.rule("number_doubted", LOOK, "doubted", says, "{@hint}", channel="number_doubt")(number_doubted)
        found += [*whole.rules, *group.rules]
    return found


def cell_unread(unread: Number) -> Truth:
    """Whether a cell of the row holds an error, or its column is gone. [-] -> [-]."""
    return unread > 0


def number_wrong(outside: Number) -> Truth:
    """Whether a number cell holds a text, or a number that cannot be. [-] -> [-]."""
    return outside > 0


def number_beside_wrong(outside: Number) -> Truth:
    """Whether a number cell other than the date holds a text, or a number that cannot be. [-] -> [-]."""
    return outside > 1


def date_unread(used: Number, day: Number) -> Truth:
    """Whether the date of a row holds an error, or its column is gone. [-] -> [-]."""
    return all_of(used > 0, same(day, UNREAD))


def date_wrong(used: Number, outside: Number) -> Truth:
    """Whether the date of the row alone is none. [-] -> [-]."""
    return all_of(used > 0, same(outside, 1))


def number_doubted(doubted: Number) -> Truth:
    """Whether a number is one that is asked about. [-] -> [-]."""
    return doubted > 0


def _of_column(group: RuleGroup, name: str, column: Column, scope: str, channel: str) -> None:
    """Add what the kind of one column asks for."""
    held, kind = name + TYPED if column.kind in (CHOICE, YES_NO) else name, f"{name}_kind"

    def refuse(end: str, reads: Sequence[str], speaks: Flag, *said: str) -> None:
        group.add(f"{reads[0]}_{end}", reads, speaks, said[0], REFUSE, *said[1:], scope=scope, channel=channel)

    if column.required or column.kind == NAME:
        do = f"Fill {column.header}, or clear the row."
        refuse("blank", (held,), blank, "cell_blank", held, f"{column.header} is blank.", do)
    if column.kind == NAME:
        says, do = f"{{{name}}} is here more than once.", "Rename or delete one of the two."
        reads = (name, f"{group.table}_{name}")
        refuse("twice", reads, lambda one, known: count_where(known, one) > 1, "name_twice", name, says, do)
    if column.kind in (CHOICE, YES_NO):
        do = f"Write {listed(('yes', 'no') if column.kind == YES_NO else column.choices)}."
        refuse(
            "no_choice", (name, "words_word"), lambda word, known: all_of(given(word), same(match(tag(name, word), known), 0)),
            "choice_unknown", held, "{@header} cannot be {@value}.", do,
        )  # fmt: skip
    if column.kind == WHOLE:
        says = "{@header} counts whole things, and {@value} is not whole."
        refuse("broken", (name,), _broken, "number_broken", name, says, "Round it.")
    if column.kind == UNIT:
        do = usual_units(column.choices)
        refuse(
            "no_unit", (name, kind), lambda unit, of: all_of(given(unit), same(of, "")),
            "unit_unknown", name, "{@header} cannot be {@value}: scaler knows no such unit.", do,
        )  # fmt: skip
        refuse(
            "other_unit", (name, kind), lambda _, of: all_of(given(of), opposite(any_of(*(same(of, right) for right in column.choices)))),
            "unit_wrong", name, "{@header} cannot be {@value}.", do,
        )  # fmt: skip
    if column.kind == REFERENCE and (group.table, name) not in _WORDED_OTHERWISE:
        sheet = f"{column.refers}s"
        refuse(
            "nowhere", (name, f"{name}_at"), lambda called, at: all_of(given(called), same(at, 0)),
            "name_unknown", name, f"{sheet} has no {{{name}}}.", f"Correct the name, or add it to {sheet}.",
        )  # fmt: skip


_WORDED_OTHERWISE = {(RECIPES.key, "alkali"), (RECIPES.key, "second_alkali"), (LINES.key, "ingredient")}
"""Columns of names that have rules of their own."""
_TYPED = {LINES.key: "asked"}
"""Gate of the rules of a sheet that has rows which nobody types."""


def _broken(cell: Number) -> Truth:
    held = default_to(cell, 0)
    return opposite(same(round_half_up(held), held))


# --- settings of sheet Costs: values and units that cannot be ---


COSTS = RuleGroup("costs", when="")
_SHARE, _PLAIN = ("percent", "{value:%8}"), ("number", "{@value}")
"""How settings are said: shares as percentages, others as they are typed."""


def _is_share(takes: Text, share: bool) -> Truth:
    held = same(takes, _SHARE[0])
    return held if share else opposite(held)


def _wrong(scope: str, share: bool) -> Flag:
    def speaks(wrong: Number, touches: Text, takes: Text) -> Truth:
        return all_of(wrong > 0, same(touches, scope), _is_share(takes, share))

    return speaks


for _scope, _names in ((WEIGHTS, ("percent_wrong", "value_wrong")), (MONEY, ("money_percent_wrong", "money_wrong"))):
    for _name, (_takes, _value) in zip(_names, (_SHARE, _PLAIN), strict=True):
        COSTS.add(
            _name, ("wrong", "touches", "takes"), _wrong(_scope, _takes == "percent"), "setting_wrong", REFUSE,
            "value", f"{{setting}} cannot be {_value}.", "{remedy}", scope=_scope,
        )  # fmt: skip


@COSTS.rule("percent_whole", REFUSE, "value", "{setting} of 100 % leaves no bar.", "Correct {setting}.")
def loss_whole(name: Text, value: Number) -> Truth:
    return all_of(any_of(same(name, "batter_loss"), same(name, "reject_share")), same(value, 1))


@COSTS.rule("unit_unknown", REFUSE, "unit", "Unit cannot be {unit}: scaler knows no such unit.", "{unit_remedy}")
def unit_unknown(other_unit: Number, two: Number) -> Truth:
    return same(other_unit, two)


@COSTS.rule("unit_wrong", REFUSE, "unit", "Unit cannot be {unit}.", "{unit_remedy}")
def unit_wrong(other_unit: Number) -> Truth:
    return same(other_unit, 1)


def _doubted(kind: str) -> Flag:
    def speaks(takes: Text, measure: Number, doubt_below: Number, doubt_above: Number, wrong: Number) -> Truth:
        return all_of(same(takes, kind), all_of(same(wrong, 0), out_of_range(measure, doubt_below, doubt_above)))

    return speaks


for _name, (_takes, _value) in (("number_doubted", _PLAIN), ("percent_doubted", _SHARE)):
    COSTS.add(
        _name, ("takes", "measure", "doubt_below", "doubt_above", "wrong"), _doubted(_takes), "number_doubted", LOOK,
        "value", f"{{setting}} is {_value}.", "{question}",
    )  # fmt: skip

SETTING_RULES = tuple(COSTS.rules)
