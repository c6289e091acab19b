"""What makes the superfat unsure: each thing's share of the variance, ranked; and what the rounded weights really give."""

from __future__ import annotations

from scaler.formula.helpers import (
    Column,
    Number,
    Text,
    divide,
    match,
    pick,
    rank_among,
    rounded,
    same,
    tag,
    total_where,
    when,
)
from scaler.formula.steps import Step, StepGroup

WEIGHED = StepGroup("slots")
WEIGHED_BATCH = StepGroup("batches")
CURED = StepGroup("batches")
EFFECTS = StepGroup("effects")


@WEIGHED.step("g")
def oil_need_weighed(
    weigh_g: Number, kind: Text, ingredient_at: Number, ingredients_oil_sap: Column, gram_per_mg: Number,
) -> Number:  # fmt: skip
    """KOH that the oil needs as it is weighed. [g] [mg KOH/g] [g/mg] -> [g]."""
    return when(same(kind, "oil"), weigh_g * pick(ingredients_oil_sap, ingredient_at) * gram_per_mg, 0)


@WEIGHED.step("g")
def acid_need_weighed(
    weigh_g: Number, ingredient_at: Number, ingredients_acid_sap: Column, gram_per_mg: Number
) -> Number:
    """KOH that the acid takes as it is weighed. [g] [mg KOH/g] [g/mg] -> [g]."""
    return weigh_g * pick(ingredients_acid_sap, ingredient_at) * gram_per_mg


@WEIGHED_BATCH.step("g")
def acids_take(place: Number, slots_batch_at: Column, slots_acid_need_weighed: Column) -> Number:
    """Alkali that the acids take, as KOH. [g] -> [g]."""
    return total_where(slots_batch_at, place, slots_acid_need_weighed)


@WEIGHED_BATCH.step("g")
def solution_water_g(oils_g: Number, recipe_at: Number, recipes_solution_water_part: Column) -> Number:
    """Water that comes with an alkali solution. [g] [g/g] -> [g]."""
    return oils_g * pick(recipes_solution_water_part, recipe_at)


@WEIGHED_BATCH.step("%")
def superfat_weighed(
    place: Number, first_weigh_g: Number, second_weigh_g: Number, first_at: Number, second_at: Number,
    first_ratio: Number, second_ratio: Number, acids_take: Number, ingredients_purity_in_use: Column,
    slots_batch_at: Column, slots_oil_need_weighed: Column,
) -> Number:  # fmt: skip
    """Superfat that the weights on the card really give. [g] x 4, [g/g] x 3 -> [-]; weights to the scale division."""
    first = divide(first_weigh_g * pick(ingredients_purity_in_use, first_at), first_ratio)
    second = divide(second_weigh_g * pick(ingredients_purity_in_use, second_at), second_ratio)
    return 1 - divide(first + second - acids_take, total_where(slots_batch_at, place, slots_oil_need_weighed))


@CURED.step("g")
def cured_least_g(
    bar_fresh_g: Number, bar_cured_g: Number, recipe_at: Number, cure_water_most: Number, recipes_cure_loss_given: Column,
    recipes_water_share: Column,
) -> Number:  # fmt: skip
    """Lightest that a cured bar should be; the given loss where there is one. [g] [g] [-] [-] -> [g]; common practice, no source."""
    estimate = bar_fresh_g * (1 - cure_water_most * pick(recipes_water_share, recipe_at))
    return when(pick(recipes_cure_loss_given, recipe_at) > 0, bar_cured_g, estimate)


@CURED.step("g")
def cured_most_g(
    bar_fresh_g: Number, bar_cured_g: Number, recipe_at: Number, cure_water_least: Number,
    recipes_cure_loss_given: Column, recipes_water_share: Column,
) -> Number:  # fmt: skip
    """Heaviest that a cured bar should be; the given loss where there is one. [g] [g] [-] [-] -> [g]; common practice, no source."""
    estimate = bar_fresh_g * (1 - cure_water_least * pick(recipes_water_share, recipe_at))
    return when(pick(recipes_cure_loss_given, recipe_at) > 0, bar_cured_g, estimate)


# --- table effects: for each batch its two alkalis, then its lines ---


@EFFECTS.step("")
def slot_at(batch_at: Number, line: Number, slots_key: Column) -> Number:
    """Row of the line on the weigh-out workings, 0 for an alkali. -> [-]."""
    return match(tag(batch_at, line), slots_key)


@EFFECTS.step("text")
def thing(
    batch_at: Number, slot_at: Number, first: Number, slots_ingredient: Column, batches_first_name: Column,
    batches_second_name: Column,
) -> Text:  # fmt: skip
    """What is unsure. -> [-]."""
    alkali = when(first > 0, pick(batches_first_name, batch_at, ""), pick(batches_second_name, batch_at, ""))
    return when(slot_at > 0, pick(slots_ingredient, slot_at, ""), alkali)


@EFFECTS.step("")
def part(
    batch_at: Number, slot_at: Number, first: Number, slots_variance: Column, batches_first_purity_effect: Column,
    batches_second_purity_effect: Column, batches_first_weighing_effect: Column, batches_second_weighing_effect: Column,
) -> Number:  # fmt: skip
    """Its part of the variance of superfat. [-] -> [-]; GUM 5.1.2."""
    purity = when(first > 0, pick(batches_first_purity_effect, batch_at), pick(batches_second_purity_effect, batch_at))
    weighing = when(
        first > 0, pick(batches_first_weighing_effect, batch_at), pick(batches_second_weighing_effect, batch_at)
    )
    return when(slot_at > 0, pick(slots_variance, slot_at), purity * purity + weighing * weighing)


@EFFECTS.step("%")
def share(batch_at: Number, part: Number, batches_combined: Column) -> Number:
    """Its share of the variance. [-] [-] -> [-]."""
    combined = pick(batches_combined, batch_at)
    return when(combined > 0, divide(part, combined * combined), 0)


@EFFECTS.step("%")
def ranks_by(share: Number) -> Number:
    """Its share without the last digits, by which it ranks. [-] -> [-]."""
    return rounded(share)


@EFFECTS.step("")
def rank(
    batch_at: Number, ranks_by: Number, place: Number, effects_batch_at: Column, effects_ranks_by: Column,
    effects_place: Column,
) -> Number:  # fmt: skip
    """Its rank in the batch, the largest first. -> [-]."""
    return rank_among(effects_batch_at, batch_at, effects_ranks_by, ranks_by, effects_place, place)


@EFFECTS.step("text")
def rank_key(batch_at: Number, rank: Number) -> Text:
    """Batch and rank as one word. -> [-]."""
    return tag(batch_at, rank)


@EFFECTS.step("")
def ranked_at(batch_at: Number, order: Number, effects_rank_key: Column) -> Number:
    """Row of the thing that comes at this place of the ranking. -> [-]."""
    return match(tag(batch_at, order), effects_rank_key)


@EFFECTS.step("text")
def ranked_thing(ranked_at: Number, effects_thing: Column) -> Text:
    """The thing at this place of the ranking. -> [-]."""
    return pick(effects_thing, ranked_at, "")


@EFFECTS.step("%")
def ranked_share(ranked_at: Number, effects_share: Column) -> Number:
    """Its share of the variance. -> [-]."""
    return pick(effects_share, ranked_at)


STEPS: tuple[Step, ...] = (*WEIGHED.steps, *WEIGHED_BATCH.steps, *CURED.steps, *EFFECTS.steps)
