"""Settings of sheet Costs: values and units that cannot be."""

from __future__ import annotations

from scaler.formula.helpers import Number, Text, Truth, all_of, same
from scaler.validation.rule import MONEY, REFUSE, WEIGHTS, RuleGroup

COSTS = RuleGroup("costs", when="")
_SAYS, _DO = "{setting} cannot be {@value}.", "Type a value that it takes; Meaning beside it says which."
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


@COSTS.rule("unit_wrong", REFUSE, "unit", _UNIT_SAYS, _UNIT_DO)
def unit_wrong(other_unit: Number) -> Truth:
    """Whether the unit of a setting measures something else. [-] -> [-]."""
    return other_unit > 0


RULES = tuple(COSTS.rules)
