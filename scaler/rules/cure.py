"""The cure: how long, how much weight it takes, and what the maker noted."""

from __future__ import annotations

from scaler.formula.cells import Number, Text
from scaler.formula.helpers import default_to, divide, given, when
from scaler.formula.steps import Step, StepGroup

RECIPES = StepGroup("recipes")


@RECIPES.step("%")
def water_share(water_part: Number, batter_part: Number) -> Number:
    """Water in the batter. [g/g] [g/g] -> [-]."""
    return divide(water_part, batter_part)


@RECIPES.step("")
def cure_loss_given(cure_loss: Number) -> Number:
    """1 where the recipe says its cure loss. -> [-]."""
    return when(given(cure_loss), 1, 0)


@RECIPES.step("%")
def cure_loss_in_use(cure_loss: Number, water_share: Number, cure_water_lost: Number) -> Number:
    """Cure loss, estimated from the batter's water where it is blank. [-] [-] [-] -> [-]; common practice, no source."""
    return default_to(cure_loss, cure_water_lost * water_share)


@RECIPES.step("days")
def cure_days_in_use(cure_days: Number, cure_days_usual: Number) -> Number:
    """Days of cure. [d] [d] -> [d]."""
    return default_to(cure_days, cure_days_usual)


@RECIPES.step("text")
def notes_in_use(notes: Text) -> Text:
    """Notes for the card, blank where there are none. -> [-]."""
    return default_to(notes, "")


STEPS: tuple[Step, ...] = tuple(RECIPES.steps)
