"""Issues: every rule of every table together, what speaks, and what it means for each batch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scaler.formula.cells import Column, Number, Text
from scaler.formula.helpers import all_of, any_of, given, joined, larger, round_down, same, smaller, when
from scaler.formula.searching import at, chosen, match, pick
from scaler.formula.steps import Names, Step, StepGroup, Tables, column_of, handed
from scaler.formula.sums import nth_smallest, nth_smallest_where, smallest_where
from scaler.model.records import BY_KEY, FAILED, MADE, Workshop
from scaler.rules import sheets
from scaler.rules.batch import STEPS as BATCH_STEPS
from scaler.rules.recipes import A_RECIPE
from scaler.rules.tables import tables_of
from scaler.validation import batches, blends, gates, ingredients, inputs, market, moulds, portions, recipes
from scaler.validation.rule import ID_WEIGHT, LEVEL_WEIGHT, LEVELS, Rule, numbers_of, packed

_BY_SHEET = (
    *blends.RULES, *inputs.rules(), *inputs.SETTING_RULES, *ingredients.RULES, *moulds.RULES, *recipes.RULES, *portions.RULES, *batches.RULES, *market.RULES,
)  # fmt: skip
RULES: tuple[Rule, ...] = tuple(sorted(_BY_SHEET, key=lambda rule: LEVELS.index(rule.level)))
"""Every rule, the heaviest first; of a channel, the first in this order speaks."""

STEPS, BLOCKS = packed(RULES)
ALONE = frozenset(
    (step.table, step.name)
    for step in STEPS
    if step.closed and f"{step.name.rpartition('_')[0]}_speaks" not in BLOCKS.get(step.table, ())
)
"""Packs that are all of their channel: the channel's key holds them."""
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
    return table in tables.columns and (channel != market.CHANNEL or "sold" in tables.columns)


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
    """Begin the list of what may concern each batch: doubts of its own, its recipe and mould, its alkalis and lines."""
    doubts = {
        table: [channel for of, channel in channels_of(tables) if of == table and channel.endswith("doubt")]
        for table in ("batches", "recipes", "moulds", "ingredients", "lines")
    }
    things = [f"{channel}_key" for channel in doubts["ingredients"]]
    tables.blocks["ingredients"] |= {"doubts": (*things, "offered_key")}
    listed = [(_OF_BATCH, "batches"), (_OF_RECIPE, "recipes"), (_OF_MOULD, "moulds")]
    rows = [
        (batch + 1.0, of, bases[f"issue_{table}_{channel}"], 1.0)
        for batch in range(tables.lengths["batches"])
        for of, table in listed
        for channel in doubts[table]
    ]
    rows += [
        (batch + 1.0, of, 0.0, order + 1.0)
        for batch in range(tables.lengths["batches"])
        for of, orders in ((_OF_ALKALI, _OF_ALKALIS), (_OF_LINE, WARNING_LINES))
        for order in range(orders)
    ]
    alkalis = [
        (recipe * A_RECIPE + order + 1.0, rank + 1.0)
        for recipe in range(tables.lengths["recipes"])
        for order in range(A_RECIPE)
        for rank in range(_OF_ALKALIS // A_RECIPE)
    ]
    tables.start_rows("alkali_concerns", ("alkali_at", "rank"), alkalis)
    tables.start_rows("concerns", ("batch_at", "of", "base", "order"), rows)
    held = [
        (recipe + 1.0, column + 1.0, order + 1.0)
        for recipe in range(tables.lengths["recipes"])
        for column in range(len(_LINE_KEYS))
        for order in range(WARNING_LINES)
    ]
    tables.start_rows("line_concerns", ("recipe_at", "from_column", "order"), held)
    says = [(batch + 1.0, line + 1.0) for batch in range(tables.lengths["batches"]) for line in range(WARNING_LINES)]
    tables.start("todo", {"line": [line + 1.0 for line in range(TODO_LINES)]})
    said = TODO_LINES + tables.lengths["batches"] + len(says)
    tables.start("said", {"place": [float(place + 1) for place in range(said)]})
    tables.start_rows("warnings", ("batch_at", "line"), says)


INGREDIENTS = StepGroup("ingredients")
LINES = StepGroup("lines")
ALKALI_CONCERNS = StepGroup("alkali_concerns")
LINE_CONCERNS = StepGroup("line_concerns")
CONCERNS = StepGroup("concerns")
WARNINGS = StepGroup("warnings")
TODO = StepGroup("todo")
SAID = StepGroup("said")
BATCHES = StepGroup("batches")

_OF_BATCH, _OF_RECIPE, _OF_MOULD, _OF_ALKALI, _OF_LINE = (float(place) for place in range(1, 6))
"""What may concern a batch, in the order in which `concern_at` and `key` choose."""
_OF_ALKALIS = 4
"""Doubts about the alkalis of a recipe that a card may name: two of each."""
_LINE_KEYS = ("number_doubt_key", "doubt_key", "density_doubt_key", "thing_doubt", "thing_doubt_2")
"""What may concern a recipe in each of its lines, as columns of the lines."""


@INGREDIENTS.step("")
def offered_key(place: Number, prices_ingredient_at: Column, prices_number_doubt_key: Column, big: Number) -> Number:
    """The heaviest doubt about a pack of the thing. -> [-]."""
    return smallest_where(prices_ingredient_at, place, prices_number_doubt_key, big)


@INGREDIENTS.step("")
def heaviest_doubt(doubts: Column, big: Number) -> Number:
    """The heaviest doubt about the thing or one of its packs. -> [-]."""
    return nth_smallest(doubts, 1, big)


@INGREDIENTS.step("")
def second_doubt(doubts: Column, two: Number, big: Number) -> Number:
    """The next doubt about the thing or one of its packs. -> [-]."""
    return nth_smallest(doubts, two, big)


def _of_thing(place: Number, key: Text, keys: Column, ingredient_at: Number, doubts: Column, big: Number) -> Number:
    """Return a doubt about the thing of a line, once for all lines of a recipe that hold it."""
    return when(all_of(given(key), same(match(key, keys), place)), pick(doubts, ingredient_at, big), big)


for _name, _doubt, _which in (("thing_doubt", "heaviest", "heaviest"), ("thing_doubt_2", "second", "next")):
    _reads = ("place", "thing_key", "lines_thing_key", "ingredient_at", f"ingredients_{_doubt}_doubt", "big")
    _says = f"The {_which} doubt about the thing, in its recipe's first line that holds it. -> [-]."
    LINES.add(_name, "", handed(_of_thing, _reads, _says, _name))


@ALKALI_CONCERNS.step("")
def alkali_key(
    alkali_at: Number, rank: Number, alkalis_ingredient_at: Column, ingredients_heaviest_doubt: Column,
    ingredients_second_doubt: Column, big: Number,
) -> Number:  # fmt: skip
    """The issue that comes at this place of those of an alkali or its packs. -> [-]."""
    doubts = chosen(rank, ingredients_heaviest_doubt, ingredients_second_doubt)
    return pick(doubts, at(alkalis_ingredient_at, alkali_at), big)


@LINE_CONCERNS.step("")
def line_key(
    recipe_at: Number, from_column: Number, order: Number, lines_recipe_at: Column, lines_number_doubt_key: Column,
    lines_doubt_key: Column, lines_density_doubt_key: Column, lines_thing_doubt: Column, lines_thing_doubt_2: Column,
    big: Number,
) -> Number:  # fmt: skip
    """The issue that comes at this place of those of one column of the recipe's lines. -> [-]."""
    keys = chosen(
        from_column, lines_number_doubt_key, lines_doubt_key, lines_density_doubt_key, lines_thing_doubt, lines_thing_doubt_2
    )  # fmt: skip
    return smaller(nth_smallest_where(lines_recipe_at, recipe_at, keys, order, big), big)


@CONCERNS.step("")
def concern_at(
    batch_at: Number, of: Number, order: Number, batches_recipe_at: Column, batches_mould_at: Column, two: Number
) -> Number:
    """Row of the batch, its recipe or mould in its own table, or of a doubt about its alkalis. -> [-]."""
    recipe = at(batches_recipe_at, batch_at)
    alkali = when(recipe > 0, (recipe - 1) * two * two + order, 0)
    return chosen(of, batch_at, recipe, at(batches_mould_at, batch_at), alkali, recipe)


@CONCERNS.step("")
def key(
    of: Number, concern_at: Number, base: Number, order: Number, issues_key: Column, line_concerns_recipe_at: Column,
    line_concerns_line_key: Column, alkali_concerns_alkali_key: Column, two: Number, big: Number,
) -> Number:  # fmt: skip
    """The issue that concerns the batch here, more than any when there is none. -> [-]."""
    line = nth_smallest_where(line_concerns_recipe_at, concern_at, line_concerns_line_key, order, big)
    own, alkali = at(issues_key, base + concern_at), at(alkali_concerns_alkali_key, concern_at)
    return when(concern_at > 0, chosen(larger(of - two, 1), own, alkali, line), big)


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
    warned = when(same(level, 1), two, when(level <= two, 1, 0))  # level 0: a date that is refused
    return when(all_of(used > 0, same(pot_at, place)), when(done, two + two, when(cause < big, 1 + two, warned)), "")


@BATCHES.step("text")
def verdict_words(state_code: Number, superfat_words: Text, two: Number) -> Text:
    """How a batch that may be made stands, in words: the band of its card. -> [-]."""
    warned = when(same(state_code, two), "DANGER. ", when(same(state_code, 1), "Have a look. ", "In order. "))
    return joined(warned, superfat_words)


MORE_STEPS: tuple[Step, ...] = (
    *INGREDIENTS.steps, *LINES.steps, *ALKALI_CONCERNS.steps, *LINE_CONCERNS.steps, *CONCERNS.steps, *WARNINGS.steps,
    *TODO.steps, *SAID.steps, *BATCHES.steps, *market.STEPS,
)  # fmt: skip


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


def concerning(tables: Tables, batch: int) -> list[Issue]:
    """Return every issue that concerns a batch (0, 1, ...), the heaviest first; its card has room for a few of them."""
    recipe = tables.column("batches", "recipe_at")[batch]
    rows = enumerate(tables.column("concerns", "batch_at"))
    keys = {tables.column("concerns", "key")[row] for row, of in rows if of == batch + 1}
    for row, of in enumerate(tables.column("lines", "recipe_at")):
        if of == recipe and recipe:
            keys |= {tables.column("lines", name)[row] for name in _LINE_KEYS}
            thing = int(tables.column("lines", "ingredient_at")[row])
            if thing:
                keys |= {
                    tables.column("ingredients", name)[thing - 1] for name in tables.blocks["ingredients"]["doubts"]
                }
    found = (issue_of(key, tables) for key in sorted(keys))
    return [issue for issue in found if issue]


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
