"""Issues: every rule of every table together, what speaks, and what it means for each batch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, round_down, same, smaller, when
from scaler.formula.searching import pick
from scaler.formula.steps import Names, Step, StepGroup, Tables, column_of
from scaler.formula.sums import nth_smallest, nth_smallest_where, smallest_where
from scaler.model.records import BY_KEY, FAILED, MADE, Workshop
from scaler.rules import sheets
from scaler.rules.batch import STEPS as BATCH_STEPS
from scaler.rules.tables import tables_of
from scaler.validation import (
    batches,
    blends,
    dangers_batches,
    dangers_ingredients,
    dangers_recipes,
    gates,
    inputs,
    market,
    moulds,
    plan,
    portions,
    recipes,
    settings,
    sizing,
    stock,
)
from scaler.validation.rule import ID_WEIGHT, LEVEL_WEIGHT, LEVELS, Rule, numbers_of, packed

_BY_SHEET = (
    *blends.RULES, *inputs.rules(), *settings.RULES, *stock.RULES, *dangers_ingredients.RULES, *moulds.RULES, *dangers_recipes.RULES, *recipes.RULES, *portions.RULES,
    *sizing.RULES, *dangers_batches.RULES, *batches.RULES, *market.RULES, *plan.RULES,
)  # fmt: skip
RULES: tuple[Rule, ...] = tuple(sorted(_BY_SHEET, key=lambda rule: LEVELS.index(rule.level)))
"""Every rule, the heaviest first; of a channel, the first in this order speaks."""

STEPS, BLOCKS = packed(RULES)
"""The packed rules and the key of each channel; the packs of each channel by table."""

CHANNELS: tuple[tuple[str, str], ...] = tuple(dict.fromkeys((rule.table, rule.channel) for rule in RULES))
"""Table and channel, in the order of the list of issues."""

TODO_LINES = 12
"""Lines of the list of things to mend."""
WARNING_LINES = 5
"""Warnings that a card has room for, and one that says there are more."""


def channels_of(tables: Tables) -> list[tuple[str, str]]:
    """Return the channels of the tables that are there."""
    return [(table, channel) for table, channel in CHANNELS if _is_there(table, channel, tables)]


def _is_there(table: str, channel: str, tables: Tables) -> bool:
    """Return whether a channel speaks: rules about a plan need one."""
    return table in tables.columns and (channel != plan.CHANNEL or "sold" in tables.columns)


def present(tables: Tables) -> list[Rule]:
    """Return the rules of the tables that are there, in the order of their numbers."""
    return [rule for rule in RULES if _is_there(rule.table, rule.channel, tables)]


def start(tables: Tables) -> None:
    """Begin the lists of rules and of issues, and the lines that say them; the tables of sheets are there."""
    names, numbers = zip(*numbers_of(present(tables)).items(), strict=True)
    for table, blocks in BLOCKS.items():
        held = {name: names for name, names in blocks.items() if _is_there(table, name.removesuffix("_speaks"), tables)}
        tables.blocks[table] = tables.blocks.get(table, {}) | held
    bases, total = {}, 0
    for table, channel in channels_of(tables):
        bases[f"issue_{table}_{channel}"] = float(total)
        total += tables.lengths[table]
    listed = [*names, *bases]
    tables.start("rules", {"name": listed, "number": [*numbers, *bases.values()]})
    tables.start("issues", {"place": [float(place + 1) for place in range(total)]})
    _start_concerns(tables, bases)


def _start_concerns(tables: Tables, bases: dict[str, float]) -> None:
    """Begin the list of what may concern each batch: channels of its own, of its recipe and mould, and its lines."""
    own = [(channel, "batch") for table, channel in channels_of(tables) if table == "batches"]
    of_recipe = [(channel, "recipe") for table, channel in channels_of(tables) if table == "recipes"]
    of_mould = [(channel, "mould") for table, channel in channels_of(tables) if table == "moulds"]
    where = {"batch": "batches", "recipe": "recipes", "mould": "moulds"}
    doubts = [(channel, of) for channel, of in (*own, *of_recipe, *of_mould) if channel.endswith("doubt")]
    rows: list[tuple[float, str, float, float]] = []
    per_batch = tables.lengths["batch_lines"] // max(tables.lengths["batches"], 1)
    for batch in range(tables.lengths["batches"]):
        rows += [(batch + 1.0, of, bases[f"issue_{where[of]}_{channel}"], 0.0) for channel, of in doubts]
        rows += [(batch + 1.0, "line", 0.0, float(batch * per_batch + slot)) for slot in range(1, per_batch + 1)]
    tables.start_rows("concerns", ("batch_at", "of", "base", "slot_at"), rows)
    says = [(batch + 1.0, line + 1.0) for batch in range(tables.lengths["batches"]) for line in range(WARNING_LINES)]
    tables.start("todo", {"line": [line + 1.0 for line in range(TODO_LINES)]})
    said = TODO_LINES + tables.lengths["batches"] + len(says)
    tables.start("said", {"place": [float(place + 1) for place in range(said)]})
    tables.start_rows("warnings", ("batch_at", "line"), says)


INGREDIENTS = StepGroup("ingredients")
CONCERNS = StepGroup("concerns")
WARNINGS = StepGroup("warnings")
TODO = StepGroup("todo")
SAID = StepGroup("said")
BATCHES = StepGroup("batches")


@INGREDIENTS.step("")
def concern_key(
    place: Number, doubt_key: Number, price_doubt_key: Number, prices_ingredient_at: Column, prices_doubt_key: Column,
    big: Number,
) -> Number:  # fmt: skip
    """The heaviest doubt about the thing, its price or one of the packs on offer. -> [-]."""
    offered = smallest_where(prices_ingredient_at, place, prices_doubt_key, big)
    return smaller(smaller(doubt_key, price_doubt_key), offered)


@CONCERNS.step("")
def key(
    batch_at: Number, of: Text, base: Number, slot_at: Number, batches_recipe_at: Column, batches_mould_at: Column, issues_key: Column,
    batch_lines_line_at: Column, batch_lines_ingredient_at: Column, lines_doubt_key: Column, ingredients_concern_key: Column,
    big: Number,
) -> Number:  # fmt: skip
    """The issue that concerns the batch here, more than any when there is none. -> [-]."""
    named = when(same(of, "recipe"), pick(batches_recipe_at, batch_at), pick(batches_mould_at, batch_at))
    issue = pick(issues_key, base + when(same(of, "batch"), batch_at, named), big)
    line = pick(lines_doubt_key, pick(batch_lines_line_at, slot_at), big)
    thing = pick(ingredients_concern_key, pick(batch_lines_ingredient_at, slot_at), big)
    return when(slot_at > 0, smaller(line, thing), issue)


@WARNINGS.step("")
def warning_key(batch_at: Number, line: Number, concerns_batch_at: Column, concerns_key: Column, big: Number) -> Number:
    """The issue that stands on this line of the batch's card. -> [-]."""
    return nth_smallest_where(concerns_batch_at, batch_at, concerns_key, line, big)


@TODO.step("")
def todo_key(line: Number, issues_key: Column, big: Number) -> Number:
    """The issue on this line of the list of things to mend, the heaviest first. -> [-]."""
    return nth_smallest(issues_key, line, big)


SAID_KEYS = (("todo", "todo_key"), ("batches", "cause"), ("warnings", "warning_key"))
"""What is said in words: the list of things to mend, why a batch must not be made, its warnings."""


@SAID.step("")
def rule_at(said_key: Number, id_weight: Number, big: Number) -> Number:
    """Place of the rule among all rules, 0 when there is none. -> [-]."""
    return when(said_key < big, said_key - round_down(said_key / id_weight) * id_weight, 0)


@SAID.step("")
def issue_at(said_key: Number, level_weight: Number, id_weight: Number, big: Number) -> Number:
    """Place in the list of issues, 0 when there is none. -> [-]."""
    below_level = said_key - round_down(said_key / level_weight) * level_weight
    return when(said_key < big, round_down(below_level / id_weight), 0)


@BATCHES.step("")
def worst_key(place: Number, concerns_batch_at: Column, concerns_key: Column, big: Number) -> Number:
    """The heaviest of what concerns the batch. -> [-]."""
    return nth_smallest_where(concerns_batch_at, place, concerns_key, 1, big)


@BATCHES.step("")
def state_code(
    state: Text, cause: Number, worst_key: Number, pot_at: Number, place: Number, used: Number, level_weight: Number,
    two: Number, big: Number,
) -> Number:  # fmt: skip
    """How the batch stands: 0 in order, 1 look, 2 danger, 3 do not make, 4 made or failed; blank for a row that begins none. -> [-]."""
    level = round_down(worst_key / level_weight)
    done = any_of(same(state, MADE), same(state, FAILED))
    warned = when(same(level, 1), two, when(same(level, two), 1, 0))
    return when(all_of(used > 0, same(pot_at, place)), when(done, two + two, when(cause < big, 1 + two, warned)), "")


MORE_STEPS: tuple[Step, ...] = (
    *INGREDIENTS.steps,
    *CONCERNS.steps,
    *WARNINGS.steps,
    *TODO.steps,
    *SAID.steps,
    *BATCHES.steps,
    *market.STEPS,
)


def steps_of(tables: Tables, more: Sequence[Step] = ()) -> tuple[Step, ...]:
    """Return every step of the tables that are there, and more that stand behind the same gates."""
    gathers = tuple((table, f"{channel}_key") for table, channel in channels_of(tables))
    key = Step("issues", "key", "", _key_of_issue, gathers=gathers)
    said = Step("said", "said_key", "", _key_of_issue, gathers=SAID_KEYS)
    speaking = (step for step in STEPS if _is_there(step.table, step.name.rpartition("_")[0], tables))
    gated = gates.behind_gates((*BATCH_STEPS, *more))
    every = (*sheets.STEPS, *gated, *gates.STEPS, *speaking, *MORE_STEPS, key, said)
    return tuple(step for step in every if step.table in tables.columns)


def started(workshop: Workshop) -> Tables:
    """Return the tables of a run of batches, ready for their steps."""
    tables = tables_of(workshop)
    start(tables)
    return tables


def _key_of_issue() -> None:
    """What speaks in a row of a channel. -> [-]."""


# --- what speaks ---


MOVING = ("outside", "doubted", "liquid_set")
"""Steps that name a number cell of their row, counted among the numbers of its sheet."""
HINTS = {"outside": "remedies", "doubted": "questions"}
"""The head that says what to do, by the step that names the cell."""


@dataclass(frozen=True)
class Issue:
    """A rule that speaks in a row (0, 1, ...) of its table."""

    rule: Rule
    index: int

    def column(self, tables: Tables) -> str:
        """Return the column where it is mended."""
        table, at = self.rule.table, self.rule.at
        if at not in MOVING:
            return at
        return tables.blocks[table]["numbers"][int(tables.column(table, at)[self.index]) - 1]

    def header(self, tables: Tables) -> str:
        """Return the header of that column."""
        return sheets.typed(BY_KEY[self.rule.table])[self.column(tables)].header

    def hint(self, tables: Tables) -> str:
        """Return what the schema says to do about a number there, "" where the rule has words of its own."""
        table, head = self.rule.table, HINTS.get(self.rule.at)
        numbers = tables.blocks[table]["numbers"] if head else ()
        return str(tables.heads[table][head][numbers.index(self.column(tables))]) if head else ""

    def words(self, tables: Tables) -> tuple[str, str]:
        """Return what is wrong, and what to do."""
        row = tables.row(self.rule.table, self.index)
        return self.rule.words(row, row.get(self.column(tables)), self.header(tables), self.hint(tables))


def speaking(tables: Tables, rules: Sequence[Rule] = RULES) -> Iterator[Issue]:
    """Yield every rule that speaks, row by row of each table, whether or not another of its channel does too."""
    names = Names(tables)
    for rule in rules:
        if _is_there(rule.table, rule.channel, tables):
            step = Step(rule.table, rule.code, "", rule.flag, rule.when, 0)
            values = column_of(step, tables, names)
            yield from (Issue(rule, index) for index, value in enumerate(values) if value)


def issue_of(key: float, tables: Tables) -> Issue | None:
    """Return the issue that a key stands for, None for no issue."""
    if key >= LEVEL_WEIGHT * 10:
        return None
    number = int(key % ID_WEIGHT)
    place = int(key % LEVEL_WEIGHT // ID_WEIGHT)
    rule = present(tables)[number - 1]
    for table, channel in channels_of(tables):
        if place <= tables.lengths[table]:
            assert (rule.table, rule.channel) == (table, channel)
            return Issue(rule, place - 1)
        place -= tables.lengths[table]
    raise LookupError(f"no issue has the key {key}")
