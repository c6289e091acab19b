"""Settings of sheet Costs: values and units that cannot be."""

from __future__ import annotations

from scaler.formula.helpers import Number, Text, Truth, all_of, any_of, out_of_range, same
from scaler.validation.rule import LOOK, MONEY, REFUSE, WEIGHTS, RuleGroup

COSTS = RuleGroup("costs", when="")
_SAYS, _DO = "{setting} cannot be {@value}.", "{remedy}"
_UNIT_SAYS, _UNIT_DO = "{unit} is not a unit for {setting}.", "Type a unit of {unit_kind}."


def _of(touches: Text, scope: str) -> Truth:
    return same(touches, scope)


@COSTS.rule("setting_wrong", REFUSE, "value", _SAYS, _DO)
def value_wrong(wrong: Number, touches: Text) -> Truth:
    """Whether a setting that weights hang on cannot be. [-] -> [-]."""
    return all_of(wrong > 0, _of(touches, WEIGHTS))


@COSTS.rule("setting_wrong", REFUSE, "value", _SAYS, _DO, scope=MONEY)
def money_wrong(wrong: Number, touches: Text) -> Truth:
    """Whether a setting that money alone hangs on cannot be. [-] -> [-]."""
    return all_of(wrong > 0, _of(touches, MONEY))


@COSTS.rule("percent_whole", REFUSE, "value", "{setting} of 100 % leaves no bar.", "Correct {setting}.")
def loss_whole(name: Text, value: Number) -> Truth:
    """Whether nothing is left of the batter, or of the bars. [-] -> [-]."""
    return all_of(any_of(same(name, "batter_loss"), same(name, "reject_share")), same(value, 1))


@COSTS.rule("unit_wrong", REFUSE, "unit", _UNIT_SAYS, _UNIT_DO)
def unit_wrong(other_unit: Number) -> Truth:
    """Whether the unit of a setting measures something else. [-] -> [-]."""
    return other_unit > 0


def _doubted(value: Number, doubt_below: Number, doubt_above: Number, wrong: Number) -> Truth:
    return all_of(same(wrong, 0), out_of_range(value, doubt_below, doubt_above))


@COSTS.rule("number_doubted", LOOK, "value", "{setting} is {@value}.", "{question}")
def number_doubted(takes: Text, value: Number, doubt_below: Number, doubt_above: Number, wrong: Number) -> Truth:
    """Whether a setting is a number that is asked about. [-] [-] [-] [-] -> [-]; the schema."""
    return all_of(same(takes, "number"), _doubted(value, doubt_below, doubt_above, wrong))


@COSTS.rule("number_doubted", LOOK, "value", "{setting} is {value:%8}.", "{question}")
def percent_doubted(takes: Text, value: Number, doubt_below: Number, doubt_above: Number, wrong: Number) -> Truth:
    """Whether a setting is a percentage that is asked about. [-] [-] [-] [-] -> [-]; the schema."""
    return all_of(same(takes, "percent"), _doubted(value, doubt_below, doubt_above, wrong))


RULES = tuple(COSTS.rules)
