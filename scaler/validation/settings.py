"""Settings of sheet Costs: values and units that cannot be."""

from __future__ import annotations

from scaler.formula.cells import Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, opposite, same
from scaler.formula.sums import out_of_range
from scaler.validation.rule import LOOK, MONEY, REFUSE, WEIGHTS, RuleGroup

COSTS = RuleGroup("costs", when="")
_SAYS, _SAYS_PERCENT, _DO = "{setting} cannot be {@value}.", "{setting} cannot be {value:%8}.", "{remedy}"


def _is_percent(takes: Text) -> Truth:
    return same(takes, "percent")


@COSTS.rule("setting_wrong", REFUSE, "value", _SAYS_PERCENT, _DO)
def percent_wrong(wrong: Number, touches: Text, takes: Text) -> Truth:
    return all_of(wrong > 0, same(touches, WEIGHTS), _is_percent(takes))


@COSTS.rule("setting_wrong", REFUSE, "value", _SAYS, _DO)
def value_wrong(wrong: Number, touches: Text, takes: Text) -> Truth:
    return all_of(wrong > 0, same(touches, WEIGHTS), opposite(_is_percent(takes)))


@COSTS.rule("setting_wrong", REFUSE, "value", _SAYS_PERCENT, _DO, scope=MONEY)
def money_percent_wrong(wrong: Number, touches: Text, takes: Text) -> Truth:
    return all_of(wrong > 0, same(touches, MONEY), _is_percent(takes))


@COSTS.rule("setting_wrong", REFUSE, "value", _SAYS, _DO, scope=MONEY)
def money_wrong(wrong: Number, touches: Text, takes: Text) -> Truth:
    return all_of(wrong > 0, same(touches, MONEY), opposite(_is_percent(takes)))


@COSTS.rule("percent_whole", REFUSE, "value", "{setting} of 100 % leaves no bar.", "Correct {setting}.")
def loss_whole(name: Text, value: Number) -> Truth:
    return all_of(any_of(same(name, "batter_loss"), same(name, "reject_share")), same(value, 1))


@COSTS.rule("unit_unknown", REFUSE, "unit", "Unit cannot be {unit}: scaler knows no such unit.", "{unit_remedy}")
def unit_unknown(other_unit: Number, two: Number) -> Truth:
    return same(other_unit, two)


@COSTS.rule("unit_wrong", REFUSE, "unit", "Unit cannot be {unit}.", "{unit_remedy}")
def unit_wrong(other_unit: Number) -> Truth:
    return same(other_unit, 1)


def _doubted(measure: Number, doubt_below: Number, doubt_above: Number, wrong: Number) -> Truth:
    return all_of(same(wrong, 0), out_of_range(measure, doubt_below, doubt_above))


@COSTS.rule("number_doubted", LOOK, "value", "{setting} is {@value}.", "{question}")
def number_doubted(takes: Text, measure: Number, doubt_below: Number, doubt_above: Number, wrong: Number) -> Truth:
    return all_of(same(takes, "number"), _doubted(measure, doubt_below, doubt_above, wrong))


@COSTS.rule("number_doubted", LOOK, "value", "{setting} is {value:%8}.", "{question}")
def percent_doubted(takes: Text, measure: Number, doubt_below: Number, doubt_above: Number, wrong: Number) -> Truth:
    return all_of(_is_percent(takes), _doubted(measure, doubt_below, doubt_above, wrong))


RULES = tuple(COSTS.rules)
