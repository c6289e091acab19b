"""The size of a batch: nothing that says it, two things that say it, and sizes that its moulds do not give."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text, Truth
from scaler.formula.helpers import all_of, any_of, blank, exceeds, given, opposite, same
from scaler.formula.searching import pick
from scaler.formula.sums import count_where
from scaler.model.records import ALKALI, PACKAGING
from scaler.validation.rule import REFUSE, RuleGroup

ENTRIES = RuleGroup("batches", channel="entry")
BATCHES = RuleGroup("batches", when="ready")
PARTS = RuleGroup("batches", when="in_pot")


@ENTRIES.rule("size_missing", REFUSE, "mould", "Nothing says how large batch {batch_name} is.",
    "Fill Mould, or Oil weight, or Use up, or Bars wanted with Bar weight.")  # fmt: skip
def size_missing(mould: Text, oil_weight: Number, use_up: Text, bars_wanted: Number, bar_weight: Number) -> Truth:
    by_bars = all_of(given(bars_wanted), given(bar_weight))
    return all_of(blank(mould), blank(oil_weight), blank(use_up), opposite(by_bars))


@ENTRIES.rule("size_twice", REFUSE, "moulds_filled", "Moulds filled and Bars wanted both say how many moulds.",
    "Clear one of the two.")  # fmt: skip
def moulds_twice(moulds_filled: Number, bars_wanted: Number) -> Truth:
    return all_of(given(moulds_filled), given(bars_wanted))


@ENTRIES.rule("size_twice", REFUSE, "oil_weight", "Oil weight and Use up both say how large the batch is.",
    "Clear one of the two.")  # fmt: skip
def oils_twice(oil_weight: Number, use_up: Text) -> Truth:
    return all_of(given(oil_weight), given(use_up))


@ENTRIES.rule("size_twice", REFUSE, "bars_wanted",
    "Bars wanted stands beside Oil weight or Use up: both say how large the batch is.", "Clear Bars wanted, or the other.")  # fmt: skip
def bars_twice(bars_wanted: Number, pot_at: Number, batches_oil_weight: Column, batches_use_up: Column) -> Truth:
    oils = any_of(given(pick(batches_oil_weight, pot_at, "")), given(pick(batches_use_up, pot_at, "")))
    return all_of(given(bars_wanted), oils)


@ENTRIES.rule("pot_apart", REFUSE, "batch", "The rows of batch {batch_name} do not stand together.",
    "Put them one under the other, or rename one.")  # fmt: skip
def pot_apart(pot_key: Text, pot_at: Number, place: Number, batches_pot_key: Column) -> Truth:
    return all_of(pot_at < place, opposite(same(pick(batches_pot_key, place - 1, ""), pot_key)))


@ENTRIES.rule("size_twice", REFUSE, "oil_weight", "Oil weight and Use up stand on the first row of batch {batch_name}.",
    "Clear them on this row.")  # fmt: skip
def pot_size_again(oil_weight: Number, use_up: Text, pot_at: Number, place: Number) -> Truth:
    return all_of(pot_at < place, any_of(given(oil_weight), given(use_up)))


@ENTRIES.rule("mould_missing", REFUSE, "mould", "Batch {batch_name} is poured into several moulds, and this row names none.",
    "Fill Mould.")  # fmt: skip
def pot_mould(mould: Text, pot_at: Number, batches_pot_at: Column) -> Truth:
    return all_of(blank(mould), count_where(batches_pot_at, pot_at) > 1)


@ENTRIES.rule("mould_missing", REFUSE, "moulds_filled", "Moulds filled says how many, but not of which mould.",
    "Fill Mould, or clear Moulds filled.")  # fmt: skip
def filled_without_mould(moulds_filled: Number, mould: Text) -> Truth:
    return all_of(given(moulds_filled), blank(mould))


@ENTRIES.rule("use_up_wrong", REFUSE, "use_up", "{use_up} cannot set the size: it is an alkali or packaging.",
    "Name an oil or a liquid, or clear Use up.")  # fmt: skip
def use_up_kind(use_up_at: Number, ingredients_kind: Column) -> Truth:
    kind = pick(ingredients_kind, use_up_at, "")
    return any_of(same(kind, ALKALI), same(kind, PACKAGING))


@ENTRIES.rule("stock_missing", REFUSE, "use_up", "{use_up} has no Stock to use up.",
    "Fill its Stock and Stock unit on Ingredients.")  # fmt: skip
def use_up_stock(use_up_at: Number, ingredients_stock_held: Column) -> Truth:
    return all_of(use_up_at > 0, same(pick(ingredients_stock_held, use_up_at), 0))


@BATCHES.rule("use_up_not_in", REFUSE, "use_up", "{recipe} has no {use_up} to use up.",
    "Name one of its ingredients, or clear Use up.")  # fmt: skip
def use_up_not_in(use_up_at: Number, use_up_part: Number) -> Truth:
    return all_of(use_up_at > 0, same(use_up_part, 0))


@PARTS.rule("bar_weight_twice", REFUSE, "bar_weight", "The oils are set, so bars of {mould} cannot have a weight of their own.",
    "Clear Bar weight, or clear Oil weight and Use up.")  # fmt: skip
def bar_weight_twice(bar_wanted_g: Number, pot_oils_g: Number, mould_at: Number, moulds_log_cm: Column) -> Truth:
    uncut = all_of(mould_at > 0, opposite(pick(moulds_log_cm, mould_at) > 0))
    return all_of(bar_wanted_g > 0, pot_oils_g > 0, uncut)


@PARTS.rule("bar_weight_none", REFUSE, "bar_weight", "{mould} gives no bar of {wanted_said}: {most_said} is the heaviest.",
    "Lower Bar weight, or choose another mould.")  # fmt: skip
def bar_weight_none(bar_wanted_g: Number, bar_most_g: Number, mould_at: Number) -> Truth:
    return all_of(mould_at > 0, exceeds(bar_wanted_g, bar_most_g))


@PARTS.rule("bar_weight_none", REFUSE, "bar_weight", "The batch gives no bar of {wanted_said}: it cures to {cured_here_said}.",
    "Lower Bar weight, or check Weight unit.")  # fmt: skip
def bars_too_heavy(bar_wanted_g: Number, bars_here: Number, mould_at: Number) -> Truth:
    return all_of(same(mould_at, 0), bar_wanted_g > 0, same(bars_here, 0))


@BATCHES.rule("mould_overfull", REFUSE, "mould", "The batter is {fill:%1} of what {mould} holds to its fill line.",
    "Fill {moulds_needed:0} of it, or make less.")  # fmt: skip
def mould_overfull(fill: Number, pot_oils_g: Number, fullest: Number) -> Truth:
    return all_of(pot_oils_g > 0, opposite(exceeds(fullest, fill)))


RULES = (*ENTRIES.rules, *BATCHES.rules, *PARTS.rules)
