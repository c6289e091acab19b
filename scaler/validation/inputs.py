"""What every input sheet may hold, by its schema: rules that no sheet writes for itself."""

from __future__ import annotations

from typing import Any

from scaler.formula.cells import Number
from scaler.formula.helpers import all_of, any_of, blank, default_to, given, opposite, round_half_up, same
from scaler.formula.searching import match, tag
from scaler.formula.steps import described
from scaler.formula.sums import count_where
from scaler.model.limits import usual_units
from scaler.model.problems import listed
from scaler.model.records import LINES, PRICES, RECIPES
from scaler.model.schema import CHOICE, NAME, REFERENCE, UNIT, WHOLE, YES_NO, Column, columns
from scaler.rules.sheets import TYPED, WORKED
from scaler.validation.rule import LOOK, MONEY, REFUSE, WEIGHTS, Rule, RuleGroup

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
        whole.rule("cell_unread", REFUSE, first, _SAYS_UNREAD, _DO_UNREAD, scope=scope, channel=channel)(cell_unread)
        whole.rule(
            "number_wrong", REFUSE, "outside", "{@header} cannot be {@value}.",
            "{@hint}", scope=scope, channel=channel,
        )(number_wrong)  # fmt: skip
        for name, column in declared.items():
            _of_column(group, name, column, scope, channel)
        says = "{@header} is {@value}."
        group.rule("number_doubted", LOOK, "doubted", says, "{@hint}")(number_doubted)
        found += [*whole.rules, *group.rules]
    return found


def cell_unread(unread: Number) -> Any:
    """Whether a cell of the row holds an error, or its column is gone. [-] -> [-]."""
    return unread > 0


def number_wrong(outside: Number) -> Any:
    """Whether a number cell holds a text, or a number that cannot be. [-] -> [-]."""
    return outside > 0


def number_doubted(doubted: Number) -> Any:
    """Whether a number is one that is asked about. [-] -> [-]."""
    return doubted > 0


def _of_column(group: RuleGroup, name: str, column: Column, scope: str, channel: str) -> None:
    """Add what the kind of one column asks for."""
    held = name + TYPED if column.kind in (CHOICE, YES_NO) else name
    if column.required and column.kind != NAME:
        says, do = f"{column.header} is blank.", f"Fill {column.header}, or clear the row."
        group.rule("cell_blank", REFUSE, held, says, do, scope=scope, channel=channel)(_blank(held))
    if column.kind == NAME:
        says, do = f"{column.header} is blank.", f"Fill {column.header}, or clear the row."
        group.rule("cell_blank", REFUSE, held, says, do, scope=scope, channel=channel)(_blank(held))
        says, do = f"{{{name}}} is here more than once.", "Rename or delete one of the two."
        group.rule("name_twice", REFUSE, name, says, do, scope=scope, channel=channel)(_twice(group.table, name))
    if column.kind in (CHOICE, YES_NO):
        do = f"Write {listed(('yes', 'no') if column.kind == YES_NO else column.choices)}."
        group.rule("choice_unknown", REFUSE, held, "{@header} cannot be {@value}.", do, scope=scope, channel=channel)(
            _no_choice(name)
        )
    if column.kind == WHOLE:
        says, do = "{@header} counts whole things, and {@value} is not whole.", "Round it."
        group.rule("number_broken", REFUSE, name, says, do, scope=scope, channel=channel)(_broken(name))
    if column.kind == UNIT:
        do = usual_units(column.choices)
        says = "{@header} cannot be {@value}: scaler knows no such unit."
        group.rule("unit_unknown", REFUSE, name, says, do, scope=scope, channel=channel)(_no_unit(name))
        says = "{@header} cannot be {@value}."
        group.rule("unit_wrong", REFUSE, name, says, do, scope=scope, channel=channel)(_other_unit(name, column))
    if column.kind == REFERENCE and (group.table, name) not in _WORDED_OTHERWISE:
        sheet = f"{column.refers}s"
        says, do = f"{sheet} has no {{{name}}}.", f"Correct the name, or add it to {sheet}."
        group.rule("name_unknown", REFUSE, name, says, do, scope=scope, channel=channel)(_nowhere(name))


_WORDED_OTHERWISE = {(RECIPES.key, "alkali"), (RECIPES.key, "second_alkali"), (LINES.key, "ingredient")}
"""Columns of names that have rules of their own."""
_TYPED = {LINES.key: "asked"}
"""Gate of the rules of a sheet that has rows which nobody types."""


def _blank(name: str) -> Any:
    def is_blank(**values: Any) -> Any:
        return blank(values[name])

    is_blank.__name__ = f"{name}_blank"
    return described(is_blank, (name,), f"Whether {name} is blank. -> [-].")


def _twice(table: str, name: str) -> Any:
    def twice(**values: Any) -> Any:
        return count_where(values[f"{table}_{name}"], values[name]) > 1

    twice.__name__ = f"{name}_twice"
    return described(twice, (name, f"{table}_{name}"), f"Whether another row has the same {name}. -> [-].")


def _no_choice(name: str) -> Any:
    def no_choice(**values: Any) -> Any:

        return all_of(given(values[name]), same(match(tag(name, values[name]), values["words_word"]), 0))

    no_choice.__name__ = f"{name}_no_choice"
    return described(no_choice, (name, "words_word"), f"Whether {name} holds a word that is not on its list. -> [-].")


def _broken(name: str) -> Any:
    def broken(**values: Any) -> Any:
        held = default_to(values[name], 0)
        return opposite(same(round_half_up(held), held))

    broken.__name__ = f"{name}_broken"
    return described(broken, (name,), f"Whether {name} is no whole number. [-] -> [-].")


def _no_unit(name: str) -> Any:
    def no_unit(**values: Any) -> Any:
        return all_of(given(values[name]), same(values[f"{name}_kind"], ""))

    no_unit.__name__ = f"{name}_no_unit"
    return described(no_unit, (name, f"{name}_kind"), f"Whether {name} holds no unit. -> [-].")


def _other_unit(name: str, column: Column) -> Any:
    def other_unit(**values: Any) -> Any:
        right = any_of(*(same(values[f"{name}_kind"], kind) for kind in column.choices))
        return all_of(given(values[f"{name}_kind"]), opposite(right))

    other_unit.__name__ = f"{name}_other_unit"
    return described(other_unit, (name, f"{name}_kind"), f"Whether {name} holds a unit of another kind. -> [-].")


def _nowhere(name: str) -> Any:
    def nowhere(**values: Any) -> Any:

        return all_of(given(values[name]), same(values[f"{name}_at"], 0))

    nowhere.__name__ = f"{name}_nowhere"
    return described(nowhere, (name, f"{name}_at"), f"Whether {name} names nothing. -> [-].")
