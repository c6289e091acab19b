"""Each helper of a rule is one rule read twice: as a number, and as a formula in an independent engine."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import ironcalc
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from recalculation import same

from scaler.formula import cells, helpers, searching, sums
from scaler.formula.cells import Cell, Range, text_of
from scaler.model.schema import letters

RESULT_COLUMN = 26

WHOLE = st.integers(-1000, 1000).map(float)
HALF = st.integers(-2001, 2001).map(lambda number: number / 2)
DECIMAL = st.integers(-(10**6), 10**6).map(lambda number: number / 1000)
QUOTIENT = st.tuples(st.integers(1, 10**4), st.integers(1, 10**4)).map(lambda pair: (pair[0] / 100) / (pair[1] / 100))
LAST_DIGITS = st.tuples(HALF, st.integers(-40, 40)).map(lambda pair: pair[0] + pair[1] * 1e-10)
"""Numbers that lie a few units of the guard's digits from a whole or a half."""
NUMBER = st.one_of(WHOLE, HALF, DECIMAL, QUOTIENT, LAST_DIGITS)
POSITIVE = NUMBER.map(abs)
NOT_ZERO = NUMBER.filter(bool)
WORD = st.sampled_from(["box", "Box", "BOX", "taper", "Öl", "öl", "half cylinder", "1", "a|b"])
KEY = st.sampled_from([1.0, 2.0, 3.0])
ANY = st.one_of(st.none(), NUMBER, WORD)
TRUTH = st.booleans()
ANY_WORD = st.sampled_from(["box", "Box", "b*x", "b?x", ">1", "1|~"])
"""Words that a maker may type, some with signs that other functions read as more than themselves."""


def rows(*strategies: st.SearchStrategy[Any]) -> st.SearchStrategy[list[list[Any]]]:
    """Return columns of one length, one a strategy."""
    return st.lists(st.tuples(*strategies), min_size=1, max_size=6).map(lambda held: [list(part) for part in zip(*held, strict=True)])  # fmt: skip


def rising() -> st.SearchStrategy[list[float]]:
    """Return a rising column that begins at 0."""
    return st.lists(st.integers(1, 100), max_size=6, unique=True).map(
        lambda held: [0.0, *(value / 20 for value in sorted(held))]
    )


class Scratch:
    """An empty sheet in an independent engine."""

    def __init__(self) -> None:
        """Open it."""
        self.model = ironcalc.create("scratch", "en", "UTC", "en")

    def put(self, row: int, column: int, value: Any) -> None:
        """Put a value into a cell."""
        place = (0, row, column)
        if value is None:
            self.model.clear_cell_contents(*place)
        elif isinstance(value, bool):
            self.model.update_cell_with_bool(*place, value)
        elif isinstance(value, str):
            self.model.update_cell_with_text(*place, value)
        else:
            self.model.update_cell_with_number(*place, float(value))

    def argument(self, number: int, value: Any) -> Any:
        """Put an argument on the sheet and return the cell or the range that stands for it."""
        name = letters(number)
        if isinstance(value, list):
            for row, item in enumerate(value, 1):
                self.put(row, number, item)
            return Range(f"${name}$1:${name}${len(value)}")
        self.put(1, number, value)
        return Cell(f"{name}1")

    def find(self, rule: Callable[..., Any], values: Sequence[Any]) -> Any:
        """Return what the engine makes of a rule read as a formula."""
        arguments = [self.argument(number, value) for number, value in enumerate(values, 1)]
        written = text_of(rule(*arguments), 1)
        self.model.update_cell_with_formula(0, 1, RESULT_COLUMN, written)
        self.model.evaluate()
        return self.model.get_cell_value(0, 1, RESULT_COLUMN)


HELPERS: dict[str, Callable[..., Any]] = {
    name: value
    for module in (helpers, searching, sums)
    for name, value in vars(module).items()
    if name[0].islower() and getattr(value, "__module__", "") == module.__name__
}


@dataclass(frozen=True)
class Case:
    """A helper and the arguments that it may be given."""

    name: str
    arguments: st.SearchStrategy[Sequence[Any]]

    @property
    def rule(self) -> Callable[..., Any]:
        """The helper."""
        return HELPERS[self.name]


def one(name: str, *strategies: st.SearchStrategy[Any]) -> Case:
    """Return a case whose arguments are drawn one by one."""
    return Case(name, st.tuples(*strategies))


COLUMN = st.lists(NUMBER, min_size=1, max_size=6)
KEYED = rows(KEY, NUMBER)
CASES = (
    one("when", TRUTH, NUMBER, NUMBER),
    one("all_of", TRUTH, TRUTH),
    one("any_of", TRUTH, TRUTH),
    one("opposite", TRUTH),
    one("blank", ANY),
    one("same", WORD, WORD),
    Case("find_name", st.tuples(st.one_of(WORD, st.none()), st.lists(WORD, min_size=1, max_size=6))),
    Case(
        "translated", rows(WORD, WORD).flatmap(lambda held: st.tuples(WORD, st.just(held[0]), st.just(held[1]), WORD))
    ),
    one("joined", WORD, WORD),
    one("joined", WORD, DECIMAL),
    one("size_of", NUMBER),
    one("remainder", WHOLE.map(abs), st.integers(1, 500).map(float)),
    one("figure", NUMBER, st.integers(0, 1)),
    one("repeated", WORD, st.integers(-2, 4)),
    Case("put_at", st.tuples(st.just("abcdef"), st.integers(1, 6), st.just("o"))),
    one("given", ANY),
    one("default_to", ANY, NUMBER),
    Case("match", st.tuples(st.one_of(WORD, st.none()), st.lists(WORD, min_size=1, max_size=6))),
    Case("pick", COLUMN.flatmap(lambda held: st.tuples(st.just(held), st.integers(0, len(held))))),
    Case("row_below", rising().flatmap(lambda held: st.tuples(st.floats(0, 6) | st.sampled_from(held), st.just(held)))),
    Case("at", COLUMN.flatmap(lambda held: st.tuples(st.just(held), st.integers(1, len(held))))),
    one("tag", KEY, KEY),
    Case("total", st.tuples(COLUMN)),
    Case("total_where", st.tuples(KEYED, KEY).map(lambda held: (held[0][0], held[1], held[0][1]))),
    Case(
        "total_of_both",
        st.tuples(rows(KEY, KEY, NUMBER), KEY, KEY).map(
            lambda held: (held[0][0], held[1], held[0][1], held[2], held[0][2])
        ),
    ),
    Case(
        "total_named", st.tuples(rows(ANY_WORD, NUMBER), ANY_WORD).map(lambda held: (held[0][0], held[1], held[0][1]))
    ),
    Case("count_where", st.tuples(st.lists(WORD, min_size=1, max_size=6), WORD)),
    Case("count_up_to", st.tuples(KEYED, KEY, NUMBER).map(lambda held: (held[0][0], held[1], held[0][1], held[2]))),
    Case("smallest_where", st.tuples(KEYED, KEY).map(lambda held: (held[0][0], held[0][0][0], held[0][1], 1e99))),
    Case("largest_where", st.tuples(rows(KEY, POSITIVE), KEY).map(lambda held: (held[0][0], held[1], held[0][1]))),
    Case(
        "total_up_to",
        st.tuples(rows(KEY, NUMBER, NUMBER), KEY, NUMBER).map(
            lambda held: (held[0][0], held[1], held[0][1], held[2], held[0][2])
        ),
    ),
    Case(
        "total_by",
        rows(KEY, NUMBER, NUMBER).flatmap(
            lambda held: st.tuples(st.just(held[0]), KEY, st.just(held[1]), NUMBER, st.just(held[2]))
        ),
    ),
    Case(
        "total_during",
        rows(NUMBER, NUMBER, NUMBER).flatmap(
            lambda held: st.tuples(st.just(held[0]), st.just(held[1]), NUMBER, st.just(held[2]))
        ),
    ),
    Case(
        "total_after", rows(NUMBER, NUMBER).flatmap(lambda held: st.tuples(st.just(held[0]), NUMBER, st.just(held[1])))
    ),
    Case(
        "total_of_during",
        rows(KEY, NUMBER, NUMBER, NUMBER).flatmap(
            lambda held: st.tuples(st.just(held[0]), KEY, *map(st.just, held[1:3]), NUMBER, st.just(held[3]))
        ),
    ),
    Case("nth_smallest", st.tuples(COLUMN, st.integers(1, 7), st.just(1e99))),
    Case(
        "nth_smallest_where",
        st.tuples(KEYED, KEY, st.just(1)).map(lambda held: (held[0][0], held[0][0][0], held[0][1], held[2], 1e99)),
    ),
    Case(
        "nth_largest_where",
        st.tuples(rows(KEY, POSITIVE), KEY, st.just(1)).map(lambda held: (held[0][0], held[1], held[0][1], held[2])),
    ),
    Case("smallest", st.tuples(st.lists(POSITIVE, min_size=1, max_size=6))),
    one("out_of_range", ANY, NUMBER, NUMBER),
    Case(
        "outside_at",
        rows(ANY, NUMBER, NUMBER).map(
            lambda held: (held[0], held[1], held[2], [place + 1.0 for place in range(len(held[0]))])
        ),
    ),
    Case(
        "total_of_named",
        rows(KEY, NUMBER, st.integers(1, 2)).flatmap(
            lambda held: st.tuples(
                st.just(held[0]),
                KEY,
                st.just(held[1]),
                st.just(held[2]),
                st.just([1.0, 2.0]),
                st.lists(NUMBER, min_size=2, max_size=2),
            )
        ),
    ),
    Case("count_given", st.tuples(st.lists(ANY, min_size=1, max_size=6))),
    one("divide", NUMBER, NOT_ZERO),
    one("scaled", st.one_of(NUMBER, WORD), NUMBER),
    one("larger", NUMBER, NUMBER),
    one("smaller", NUMBER, NUMBER),
    one("root", POSITIVE),
    one("exceeds", NUMBER, NUMBER),
    one("arc_cosine", st.integers(-1000, 1000).map(lambda number: number / 1000)),
    one("pi", NUMBER),
    one("round_down", NUMBER),
    one("round_up", NUMBER),
    one("round_half_up", NUMBER),
)
NOT_TRIED = {"chosen", "lowered", "spread", "word_at", "contains", "product_where", "last_lost", "exponential"}
"""Helpers that only the recalculated workbooks try."""


def test_every_helper_is_tried() -> None:
    """No helper is left out below."""
    assert {case.name for case in CASES} == set(HELPERS) - NOT_TRIED


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_helper_is_its_formula(case: Case) -> None:
    """A helper's number is what the engine makes of its formula, to 1e-9."""
    scratch = Scratch()

    @settings(max_examples=100, deadline=None, derandomize=True, database=None)
    @given(values=case.arguments)
    def holds(values: Sequence[Any]) -> None:
        expected = case.rule(*values)
        assert not (isinstance(expected, float) and math.isnan(expected))
        found = scratch.find(case.rule, values)
        assert same(expected, found), f"{case.name}{tuple(values)}: {expected!r}, engine {found!r}"

    holds()


GUARDS = ("round_down", "round_up", "round_half_up")


@pytest.mark.parametrize("name", GUARDS)
@settings(max_examples=300, deadline=None, derandomize=True, database=None)
@example(5, 2)
@example(3, 10)
@given(st.integers(-(10**5), 10**5), st.sampled_from([1, 2, 4, 5, 8, 10, 16, 20, 100, 1000]))
def test_guard_at_whole_numbers_and_halves(name: str, times: int, parts: int) -> None:
    """A guard agrees with the engine on quotients of a step, where whole numbers and halves are a last digit off."""
    scratch = Scratch()
    step = 1 / parts
    rule = HELPERS[name]
    for value in (times * step, (times / 10) / (step / 10), (times + 0.5) * step / step):
        assert same(rule(value), scratch.find(rule, [value])), value


OPERATORS: dict[str, Callable[..., Any]] = {
    "a-(b-c)": lambda a, b, c: a - (b - c),
    "a-b-c": lambda a, b, c: a - b - c,
    "a/(b*c)": lambda a, b, c: a / (b * c),
    "a/b*c": lambda a, b, c: a / b * c,
    "a/(b/c)": lambda a, b, c: a / (b / c),
    "-a-b*c": lambda a, b, c: -a - b * c,
    "(a+b)*-c": lambda a, b, c: (a + b) * -c,
    "1-a/(1+b)": lambda a, b, c: 1 - a / (1 + b * b + c * c),
    "a>b+c": lambda a, b, c: a > b + c,
}


@pytest.mark.parametrize("name", OPERATORS)
def test_operators_keep_their_brackets(name: str) -> None:
    """Arithmetic on cells means what the same arithmetic on numbers means."""
    scratch = Scratch()
    rule = OPERATORS[name]

    @settings(max_examples=50, deadline=None, derandomize=True, database=None)
    @given(st.tuples(*[DECIMAL.filter(bool)] * 3))
    def holds(values: Sequence[float]) -> None:
        assert same(rule(*values), scratch.find(rule, values)), values

    holds()


def test_numbers_are_not_typed_into_formulas() -> None:
    """A number other than 0 and 1 inside a formula is refused, and a formula is no condition."""
    assert cells.literal(1.0) == "1"
    with pytest.raises(TypeError, match="give it a cell"):
        Cell("A1") * 2
    with pytest.raises(TypeError, match="use when"):
        bool(Cell("A1"))
