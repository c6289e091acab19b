"""How large a batch is: its moulds, the bars wanted, a weight of oils or a thing used up; its weights, days and bars."""

from __future__ import annotations

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, default_to, divide, figure, given, round_down, round_up, when
from scaler.formula.searching import find_name, pick, tag, translated
from scaler.formula.steps import Step, StepGroup, handed
from scaler.formula.sums import total_named, total_where
from scaler.rules.plain import found, matched, summed, times_picked

BATCHES = StepGroup("batches")


BATCHES.add("recipe_at", "", found("recipe", "recipes_recipe", "Row of the recipe on sheet Recipes."))
BATCHES.add("mould_at", "", found("mould", "moulds_mould", "Row of the mould on sheet Moulds."))


for _name, _of, _says in (
    ("batter_g", "batter_part", "Weight of the batter. [g] [g/g] -> [g]."),
    ("liquid_g", "liquid_part", "Liquid weighed in. [g] [g/g] -> [g]."),
    (
        "liquid_total_g",
        "liquid_total_part",
        "Liquid in all, the water of an alkali solution included. [g] [g/g] -> [g].",
    ),
):
    _reads = ("oils_g", "recipe_at", f"recipes_{_of}")
    BATCHES.add(_name, "g", handed(lambda oils, at, parts: oils * pick(parts, at), _reads, _says))


COUNTED = StepGroup("batches", when="counts")


@COUNTED.step("date")
def ready_day(made_day: Number, recipe_at: Number, recipes_cure_days_in_use: Column) -> Number:
    """First whole day on which the bars are cured; blank without a make date. [d] [d] -> [d]."""
    return when(given(made_day), default_to(made_day, 0) + round_up(pick(recipes_cure_days_in_use, recipe_at)), "")


SHOWN = StepGroup("batches")


@SHOWN.step("g")
def display_g(display_units: Text, units_word: Column, units_weight: Column) -> Number:
    """One of the units that the cards show big. -> [g]; sheet Units."""
    return translated(display_units, units_word, units_weight, 1)


NAMES = StepGroup("batches", when="used")
ROWS = StepGroup("batches", when="fit")
POTS = StepGroup("batches")
PARTS = StepGroup("batches", when="in_pot")
"""A row of Batches is one kind of mould; rows that repeat a batch are one pot, worked out on its first row."""


@NAMES.step("text")
def pot_key(batch: Text, recipe: Text, place: Number) -> Text:
    """Batch and recipe as one word; a row without a name is a pot of its own. -> [-]."""
    return when(given(batch), tag(batch, recipe), figure(place, 0))


NAMES.add("pot_at", "", matched("pot_key", "batches_pot_key", "First row of the pot on sheet Batches."))


@ROWS.step("")
def use_up_at(use_up: Text, ingredients_ingredient: Column) -> Number:
    """Row of the thing that is used up on sheet Ingredients. -> [-]."""
    return find_name(default_to(use_up, ""), ingredients_ingredient)


@ROWS.step("g/g")
def use_up_part(use_up_at: Number, recipe_at: Number, lines_thing_key: Column, lines_part: Column) -> Number:
    """What the recipe takes of it per gram of oils, all its lines together. [g/g] -> [g/g]."""
    return total_where(lines_thing_key, tag(recipe_at, use_up_at), lines_part)


@ROWS.step("g")
def weight_unit_g(weight_unit: Text, units_word: Column, units_weight: Column) -> Number:
    """One of Weight unit, a gram where it is blank. -> [g]; sheet Units."""
    return translated(default_to(weight_unit, "g"), units_word, units_weight, 1)


@ROWS.step("g")
def bar_wanted_g(bar_weight: Number, weight_unit_g: Number) -> Number:
    """Cured weight that a bar shall have, 0 where none is asked. [-] [g] -> [g]."""
    return default_to(bar_weight, 0) * weight_unit_g


@ROWS.step("g")
def oils_wanted_g(
    oil_weight: Number, weight_unit_g: Number, use_up_at: Number, use_up_part: Number, ingredients_stock_held: Column
) -> Number:
    """Weight of oils that is asked, or that uses the stock up; 0 where the moulds or bars set it. [-] [g] [g/g] [g] -> [g]."""
    used_up = when(use_up_part > 0, divide(pick(ingredients_stock_held, use_up_at), use_up_part), 0)
    return when(given(oil_weight), default_to(oil_weight, 0) * weight_unit_g, used_up)


@ROWS.step("g/mL")
def batter_density(recipe_at: Number, recipes_batter_part: Column, recipes_batter_ml_part: Column) -> Number:
    """Density of the batter. [g/g] [mL/g] -> [g/mL]."""
    return divide(pick(recipes_batter_part, recipe_at), pick(recipes_batter_ml_part, recipe_at))


@ROWS.step("%")
def cure_keeps(recipe_at: Number, recipes_cure_loss_in_use: Column) -> Number:
    """Share of a fresh bar's weight that is left when it is cured. [-] -> [-]."""
    return 1 - pick(recipes_cure_loss_in_use, recipe_at)


ROWS.add("pot_oils_g", "g", summed("pot_at", "batches_pot_at", "batches_oils_wanted_g",
    "Weight of oils that is asked of the pot, 0 where moulds or bars set it."))  # fmt: skip


@ROWS.step("mL")
def asked_ml(moulds_filled: Number, mould_at: Number, moulds_fill_ml: Column) -> Number:
    """What the moulds filled hold to their fill line, 0 without a mould. [-] [mL] -> [mL]."""
    return default_to(moulds_filled, 1) * pick(moulds_fill_ml, mould_at)


ROWS.add("pot_asked_ml", "mL", summed("pot_at", "batches_pot_at", "batches_asked_ml", "The same of all moulds of the pot."))  # fmt: skip


@ROWS.step("g")
def mould_cured_g(
    batter_density: Number, cure_keeps: Number, mould_at: Number, moulds_fill_ml: Column, pot_oils_g: Number,
    recipe_at: Number, recipes_batter_ml_part: Column, batter_loss: Number, pot_asked_ml: Number,
) -> Number:  # fmt: skip
    """Cured weight of what is in one mould: full, unless the oils are set. [g/mL] [-] [mL] [g] [mL/g] [-] [mL] -> [g]."""
    set_ml = pot_oils_g * pick(recipes_batter_ml_part, recipe_at) * (1 - batter_loss)
    full = batter_density * cure_keeps * pick(moulds_fill_ml, mould_at)
    return when(all_of(pot_oils_g > 0, pot_asked_ml > 0), divide(full * set_ml, pot_asked_ml), full)


@ROWS.step("cm")
def cut_wanted_cm(bar_wanted_g: Number, mould_cured_g: Number, mould_at: Number, moulds_log_cm: Column) -> Number:
    """Thickness of a bar that has the wanted weight, 0 where none is asked or nothing is cut. [g] [g] [cm] -> [cm]."""
    asked = all_of(bar_wanted_g > 0, pick(moulds_log_cm, mould_at) > 0)
    return when(asked, divide(bar_wanted_g * pick(moulds_log_cm, mould_at), mould_cured_g), 0)


@ROWS.step("")
def bars_each(
    cut_wanted_cm: Number, mould_at: Number, moulds_log_left_cm: Column, moulds_bars_in_one: Column
) -> Number:
    """Bars from one full mould. [cm] [cm] [-] -> [-]."""
    cut = round_down(divide(pick(moulds_log_left_cm, mould_at), cut_wanted_cm))
    return when(cut_wanted_cm > 0, cut, pick(moulds_bars_in_one, mould_at))


@ROWS.step("%")
def bar_part(cut_wanted_cm: Number, mould_at: Number, moulds_log_cm: Column, moulds_bar_share: Column) -> Number:
    """Share of a mould's batter that is in one bar. [cm] [cm] [-] -> [-]."""
    cut = divide(cut_wanted_cm, pick(moulds_log_cm, mould_at))
    return when(cut_wanted_cm > 0, cut, pick(moulds_bar_share, mould_at))


@ROWS.step("%")
def fill_wanted(bar_wanted_g: Number, cut_wanted_cm: Number, bar_part: Number, mould_cured_g: Number) -> Number:
    """Share of a mould that gives bars of the wanted weight where none is cut; else 1. [g] [cm] [-] [g] -> [-]."""
    poured = all_of(bar_wanted_g > 0, bar_part * mould_cured_g > 0, cut_wanted_cm <= 0)
    return when(poured, divide(bar_wanted_g, bar_part * mould_cured_g), 1)


@ROWS.step("")
def cavities_used(
    bars_wanted: Number, mould_at: Number, moulds_cavity_count: Column, moulds_bars_in_one: Column
) -> Number:
    """Cavities of a tray that the wanted bars take, 0 elsewhere. -> [-]."""
    cavities = pick(moulds_cavity_count, mould_at)
    asked = default_to(bars_wanted, 0) * cavities
    return when(
        all_of(given(bars_wanted), cavities > 0), round_up(divide(asked, pick(moulds_bars_in_one, mould_at))), 0
    )


@ROWS.step("")
def filled_moulds(
    moulds_filled: Number, bars_wanted: Number, bars_each: Number, cavities_used: Number, mould_at: Number,
    moulds_cavity_count: Column,
) -> Number:  # fmt: skip
    """Moulds begun: as many as the wanted bars take, else Moulds filled, 1 where it is blank; 0 without a mould. -> [-]."""
    tray = round_up(divide(cavities_used, pick(moulds_cavity_count, mould_at)))
    for_bars = when(cavities_used > 0, tray, round_up(divide(default_to(bars_wanted, 0), bars_each)))
    return when(
        mould_at > 0, when(all_of(given(bars_wanted), bars_each > 0), for_bars, default_to(moulds_filled, 1)), 0
    )


@ROWS.step("text")
def pot_mould_key(pot_at: Number, mould_at: Number) -> Text:
    """Pot and mould as one word. -> [-]."""
    return tag(pot_at, mould_at)


@ROWS.step("")
def moulds_in_pot(pot_mould_key: Text, batches_pot_mould_key: Column, batches_filled_moulds: Column) -> Number:
    """Moulds of the row's kind that all rows of its pot begin. -> [-]."""
    return total_named(batches_pot_mould_key, pot_mould_key, batches_filled_moulds)


@ROWS.step("")
def poured_moulds(
    filled_moulds: Number, cavities_used: Number, mould_at: Number, moulds_cavity_count: Column
) -> Number:
    """The same, a tray that is not used up counted by its cavities. -> [-]."""
    return when(cavities_used > 0, divide(cavities_used, pick(moulds_cavity_count, mould_at)), filled_moulds)


ROWS.add("begun_ml", "mL", times_picked("filled_moulds", "mould_at", "moulds_fill_ml",
    "What the moulds begun hold to their fill line, 0 without a mould. [-] [mL] -> [mL]."))  # fmt: skip
POTS.add("volume_ml", "mL", summed("place", "batches_pot_at", "batches_begun_ml",
    "What all moulds begun hold to their fill line, 0 without a mould."))  # fmt: skip
POTS.add("all_poured_ml", "mL", summed("place", "batches_pot_at", "batches_poured_ml",
    "Batter that all moulds, or the wanted bars, take."))  # fmt: skip


@ROWS.step("mL")
def poured_ml(
    poured_moulds: Number, fill_wanted: Number, mould_at: Number, moulds_fill_ml: Column, bars_wanted: Number,
    bar_wanted_g: Number, cure_keeps: Number, batter_density: Number,
) -> Number:  # fmt: skip
    """Batter that the moulds, or without one the wanted bars, take. [-] [-] [mL] [-] [g] [-] [g/mL] -> [mL]."""
    loose = default_to(bars_wanted, 0) * bar_wanted_g / cure_keeps
    return when(
        mould_at > 0, poured_moulds * fill_wanted * pick(moulds_fill_ml, mould_at), divide(loose, batter_density)
    )


@POTS.step("mL")
def batter_ml(
    oils_wanted_g: Number, recipe_at: Number, recipes_batter_ml_part: Column, all_poured_ml: Number, batter_loss: Number
) -> Number:
    """Batter to make, what stays in the bowls included. [g] [mL/g] [mL] [-] -> [mL]."""
    of_oils = oils_wanted_g * pick(recipes_batter_ml_part, recipe_at)
    return when(oils_wanted_g > 0, of_oils, all_poured_ml / (1 - batter_loss))


@POTS.step("g")
def oils_g(oils_wanted_g: Number, batter_ml: Number, recipe_at: Number, recipes_batter_ml_part: Column) -> Number:
    """Oils that are asked, or whose batter fills the moulds. [g] [mL] [mL/g] -> [g]; volumes of a mixture add."""
    return when(oils_wanted_g > 0, oils_wanted_g, divide(batter_ml, pick(recipes_batter_ml_part, recipe_at)))


@POTS.step("%")
def fill(batter_ml: Number, batter_loss: Number, volume_ml: Number) -> Number:
    """Share of the moulds begun that is filled, 0 without a mould. [mL] [-] [mL] -> [-]."""
    return when(volume_ml > 0, divide(batter_ml * (1 - batter_loss), volume_ml), 0)


@POTS.step("g")
def cured_g(batter_g: Number, batter_loss: Number, cure_keeps: Number) -> Number:
    """Cured weight of all that is poured. [g] [-] [-] -> [g]."""
    return batter_g * (1 - batter_loss) * cure_keeps


@PARTS.step("%")
def share_here(
    mould_at: Number, pot_oils_g: Number, begun_ml: Number, poured_ml: Number, pot_at: Number, batches_volume_ml: Column,
    batches_all_poured_ml: Column,
) -> Number:  # fmt: skip
    """Share of the batter that goes into the row's moulds; moulds of set oils are equally full. [g] [mL] x 4 -> [-]."""
    by_fill = divide(begun_ml, pick(batches_volume_ml, pot_at))
    moulded = when(pot_oils_g > 0, by_fill, divide(poured_ml, pick(batches_all_poured_ml, pot_at)))
    return when(mould_at > 0, moulded, 1)


@PARTS.step("g")
def cured_here_g(share_here: Number, pot_at: Number, batches_cured_g: Column) -> Number:
    """Cured weight of what goes into the row's moulds. [-] [g] -> [g]."""
    return pick(batches_cured_g, pot_at) * share_here


@PARTS.step("%")
def fill_here(
    share_here: Number, begun_ml: Number, pot_at: Number, batches_batter_ml: Column, batter_loss: Number
) -> Number:
    """Share of the row's moulds that is filled, 0 without a mould. [-] [mL] [mL] [-] -> [-]."""
    poured = pick(batches_batter_ml, pot_at) * (1 - batter_loss) * share_here
    return when(begun_ml > 0, divide(poured, begun_ml), 0)


@PARTS.step("")
def bars_here(
    mould_at: Number, filled_moulds: Number, bars_each: Number, poured_moulds: Number, cured_here_g: Number,
    bar_wanted_g: Number,
) -> Number:  # fmt: skip
    """Bars of the row; without a mould as many of the wanted weight as there are, 0 without one. [g] [g] -> [-]."""
    loose = when(bar_wanted_g > 0, round_down(divide(cured_here_g, bar_wanted_g)), 0)
    moulded = when(poured_moulds < filled_moulds, round_down(poured_moulds * bars_each), filled_moulds * bars_each)
    return when(mould_at > 0, moulded, loose)


@PARTS.step("g")
def bar_cured_g(
    cured_here_g: Number, poured_moulds: Number, bar_part: Number, mould_at: Number, bar_wanted_g: Number
) -> Number:
    """Weight of a cured bar: its share of what is in one mould, or the weight asked. [g] [-] [-] [g] -> [g]."""
    return when(mould_at > 0, divide(cured_here_g * bar_part, poured_moulds), bar_wanted_g)


@PARTS.step("g")
def bar_fresh_g(bar_cured_g: Number, cure_keeps: Number) -> Number:
    """Weight of a fresh bar. [g] [-] -> [g]."""
    return bar_cured_g / cure_keeps


POTS.add("bars", "", summed("place", "batches_pot_at", "batches_bars_here", "Bars of the batch."))


@POTS.step("")
def bars_to_sell(bars: Number, reject_share: Number, bars_got: Number) -> Number:
    """Bars fit to sell: those a made batch gave, else those cut less rejects, not rounded. [-] [-] [-] -> [-]."""
    return default_to(bars_got, bars * (1 - reject_share))


@POTS.step("")
def whole_bars(bars_to_sell: Number) -> Number:
    """The same as whole bars, never one more than there are likely to be. [-] -> [-]."""
    return round_down(bars_to_sell)


@ROWS.step("")
def cut_in_use(cut_wanted_cm: Number, mould_at: Number, moulds_cm: Column, moulds_own_cut: Column) -> Number:
    """Thickness of a bar in the mould's Unit, 0 where nothing is cut by thickness. [cm] [cm] [-] -> [-]."""
    own = pick(moulds_own_cut, mould_at)
    return when(cut_wanted_cm > 0, divide(cut_wanted_cm, pick(moulds_cm, mould_at)), own)


@ROWS.step("g")
def bar_most_g(
    bar_wanted_g: Number, cut_wanted_cm: Number, mould_at: Number, moulds_log_left_cm: Column, fill_wanted: Number
) -> Number:
    """Heaviest cured bar that the mould gives. [g] [cm] [cm] [-] -> [g]."""
    whole_log = divide(bar_wanted_g * pick(moulds_log_left_cm, mould_at), cut_wanted_cm)
    return when(cut_wanted_cm > 0, whole_log, bar_wanted_g / fill_wanted)


@POTS.step("")
def moulds_needed(fill: Number, filled_moulds: Number) -> Number:
    """Moulds of the first row that hold its share of the batter. [-] [-] -> [-]."""
    return round_up(fill * filled_moulds)


STEPS: tuple[Step, ...] = (
    *BATCHES.steps, *COUNTED.steps, *SHOWN.steps, *NAMES.steps, *ROWS.steps, *POTS.steps, *PARTS.steps,
)  # fmt: skip
