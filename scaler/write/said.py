"""Issues in words: which cell, what is wrong with it, and what to do, worked out in the workbook as by the engine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from xlsxwriter.worksheet import Worksheet

from scaler.formula.steps import Tables
from scaler.model.records import BATCHES, BY_KEY, MARKET, MARKET_DAYS, ON_HAND
from scaler.model.schema import letters
from scaler.validation.issues import MOVING, TODO_LINES, Issue, channels_of, issue_of, present
from scaler.validation.rule import DATES, LEVEL_WEIGHT, MONEY, REFUSE, Field, Rule, shown
from scaler.write.book import HEADING, Book, Look
from scaler.write.layout import FIRST_ROW, WORKINGS, Layout, heading

FIELDS = 3
"""Values that a sentence may hold."""
_WIDEST = 702
"""Columns of a sheet of workings that a sentence can quote from: up to ZZ."""


@dataclass(frozen=True)
class Said:
    """One issue in words: level, sheet, cell, what stands there, what is wrong, what to do."""

    level: str = ""
    sheet: str = ""
    cell: str = ""
    value: Any = ""
    words: str = ""
    do: str = ""

    @property
    def where(self) -> str:
        """The level and the cell."""
        return f"{self.level}: {self.sheet} {self.cell}" if self.cell else ""

    @property
    def told(self) -> str:
        """What is wrong and what to do, as a card lists it."""
        return f"• {self.words} {self.do}\n" if self.words else ""


def level_words(rule: Rule) -> str:
    """Return how much a rule weighs, in words: what is wrong with money or a date alone, or with what is wanted, stops no batch."""
    if rule.level == REFUSE and rule.table in (MARKET.key, MARKET_DAYS.key, ON_HAND.key):
        return "not counted"
    if rule.level == REFUSE:
        return {MONEY: "no cost", DATES: "no date"}.get(rule.scope, "do not make")
    return rule.level


COLUMNS = (
    "line", "at", "value", "header", "hint", "sheet", "address", *(f"value {place}" for place in range(1, FIELDS + 1)),
    *(f"text {place}" for place in range(1, FIELDS + 1)), "words", "do", "level",
    "where", "told",
)  # fmt: skip
"""What stands beside the columns of table said, in order."""


def column_number(layout: Layout, name: str) -> int:
    """Return the number of a column beside table said (1, 2, ...)."""
    return len(layout.stands["said"].columns) + 1 + COLUMNS.index(name)


def said_of(layout: Layout, key: float) -> Said:
    """Return an issue in words, blank for no issue."""
    issue = issue_of(key, layout.tables)
    if issue is None:
        return Said()
    table, name = issue.rule.table, issue.column(layout.tables)
    value = layout.tables.row(table, issue.index).get(name, "")
    cell = f"{letters(layout.column_on_sheet(table, name))}{FIRST_ROW + issue.index}"
    words, do = issue.words(layout.tables)
    return Said(level_words(issue.rule), BY_KEY[table].name, cell, "" if value is None else value, words, do)


def write_said(book: Book, layout: Layout, page: Worksheet) -> None:
    """Write the words of every line of table said, and beside the lists of rules and issues what they are made from."""
    _write_rules(book, layout)
    _write_issues(book, layout)
    stand = layout.stands["said"]
    width = len(stand.columns)
    for number, name in enumerate(COLUMNS, width + 1):
        book.put(page, stand.first - 1, number, name, HEADING)
    formulas = list(_formulas(layout))
    for index, key in enumerate(layout.tables.column("said", "said_key")):
        row = stand.first + index
        for number, (formula, value) in enumerate(zip(formulas, _values(layout, key), strict=True), width + 1):
            book.live(page, row, number, "=" + formula.replace("{r}", str(row)), value)


def _formulas(layout: Layout) -> Iterator[str]:
    rule, issue = (f"{layout.letters_of('said', name)}{{r}}" for name in ("rule_at", "issue_at"))
    two, percent = (layout.one("constants", name, WORKINGS) for name in ("two", "percent"))
    held = {name: f"{letters(column_number(layout, name))}{{r}}" for name in COLUMNS}

    def of_rule(name: str) -> str:
        return f"INDEX({_beside(layout, 'rules', _RULE_COLUMNS.index(name))},{rule})"

    def of_issue(name: str) -> str:
        return f"INDEX({_beside(layout, 'issues', _ISSUE_COLUMNS.index(name))},{issue})"

    block = f"A$1:{letters(_WIDEST)}${layout.quoted_rows}"

    def cell(row: str, column: str) -> str:
        return f"INDEX({block},{row},{column})"

    yield f"IF({issue}=0,0,{of_issue('line')})"
    by = of_rule("by")
    yield f"IF({issue}=0,0,{of_rule('at')}+IF({by}=0,0,{cell(held['line'], by)}))"
    yield f'IF({issue}=0,"",{cell(held["line"], held["at"])})'
    yield f'IF({issue}=0,"",{cell(of_issue("heads"), held["at"])})'
    hint = cell(f"{of_issue('heads')}-{of_rule('hint')}", held["at"])
    yield f'IF({issue}=0,"",IF({of_rule("hint")}=0,"",{hint}))'
    yield f'IF({issue}=0,"",{of_issue("sheet")})'
    letter = cell(of_issue("letters"), held["at"])
    yield f'IF({issue}=0,"",{letter}&{cell(held["line"], two)})'
    for place in range(1, FIELDS + 1):
        number = of_rule(f"number {place}")
        yield f'IF({issue}=0,"",IF({number}=0,"",{cell(held["line"], number)}))'
    for place in range(1, FIELDS + 1):
        value = held[f"value {place}"]
        rounded = (
            f"(ROUND({value}*{of_rule(f'factor {place}')},{of_rule(f'digits {place}')})+0)&{of_rule(f'suffix {place}')}"
        )
        yield f"IF(ISNUMBER({value}),{rounded},{value})"
    for name in ("says", "do"):
        text = of_rule(name)
        for place in range(1, FIELDS + 1):
            text = f'SUBSTITUTE({text},"{{{place}}}",{held[f"text {place}"]})'
        value, header = held["value"], held["header"]
        share = f'ROUND({value}*{percent},9)&" %"'
        value = f'IF(AND(ISNUMBER({value}),RIGHT({header},1)="%"),{share},{value})'
        text = f'SUBSTITUTE(SUBSTITUTE({text},"{{h}}",{header}),"{{v}}",{value})'
        text = f'SUBSTITUTE({text},"{{s}}",{held["hint"]})' if name == "do" else text
        yield f'IF({issue}=0,"",{text})'
    yield f'IF({issue}=0,"",{of_rule("level")})'
    yield f'IF({issue}=0,"",{held["level"]}&": "&{held["sheet"]}&" "&{held["address"]})'
    yield f'IF({held["words"]}="","","• "&{held["words"]}&" "&{held["do"]}&CHAR(10))'


def _values(layout: Layout, key: float) -> Iterator[Any]:
    said, issue = said_of(layout, key), issue_of(key, layout.tables)
    if issue is None:
        yield from (0.0, 0.0, *[""] * (len(COLUMNS) - 2))
        return
    stand = layout.stands[issue.rule.table]
    yield float(stand.first + issue.index)
    yield float(layout.number_of(issue.rule.table, issue.column(layout.tables)))
    yield said.value
    yield issue.header(layout.tables)
    yield issue.hint(layout.tables)
    yield said.sheet
    yield said.cell
    values = [_value_of(layout, issue, field) for field in issue.rule.fields]
    values += [""] * (FIELDS - len(values))
    yield from values
    fields = [*issue.rule.fields, *[Field("", 1.0, 0, "")] * FIELDS][:FIELDS]
    yield from (shown(value, field) for value, field in zip(values, fields, strict=True))
    yield from (said.words, said.do, said.level, said.where, said.told)


def _value_of(layout: Layout, issue: Issue, field: Field) -> Any:
    value = layout.tables.column(issue.rule.table, field.name)[issue.index]
    return "" if value is None else value


# --- what stands beside the lists of rules and issues ---

_RULE_COLUMNS = (
    "says", "do", "level", "at", "by", "hint", *(f"number {place}" for place in range(1, FIELDS + 1)),
    *(f"factor {place}" for place in range(1, FIELDS + 1)), *(f"digits {place}" for place in range(1, FIELDS + 1)),
    *(f"suffix {place}" for place in range(1, FIELDS + 1)), "authority",
)  # fmt: skip
_ISSUE_COLUMNS = ("line", "sheet", "letters", "heads")


def _beside(layout: Layout, table: str, place: int) -> str:
    """Return the address of a column beside a table."""
    stand = layout.stands[table]
    letter = letters(len(stand.columns) + 1 + place)
    last = stand.first + layout.tables.lengths[table] - 1
    return f"{letter}${stand.first}:{letter}${last}"


def _write_beside(
    book: Book, layout: Layout, table: str, names: tuple[str, ...], rows: Iterator[tuple[Any, ...]]
) -> None:
    stand = layout.stands[table]
    page = book.file.get_worksheet_by_name(WORKINGS)
    width = len(stand.columns)
    for number, name in enumerate(names, width + 1):
        book.put(page, stand.first - 1, number, heading(name), HEADING)
    for index, values in enumerate(rows):
        for number, value in enumerate(values, width + 1):
            book.put(page, stand.first + index, number, value, Look())


def _write_rules(book: Book, layout: Layout) -> None:
    _write_beside(book, layout, "rules", _RULE_COLUMNS, (_rule_row(layout, rule) for rule in present(layout.tables)))


_HINT_ROWS = {"outside": 2, "doubted": 1}
"""Rows above the headings where the words stand that say what to do about a number."""


def _rule_row(layout: Layout, rule: Rule) -> tuple[Any, ...]:
    table = rule.table
    moving = rule.at in MOVING
    numbers = layout.tables.blocks[table]["numbers"] if moving else ()
    at = layout.number_of(table, numbers[0]) - 1 if moving else layout.number_of(table, rule.at)
    by = layout.number_of(table, rule.at) if moving else 0
    assert all(layout.number_of(table, field.name) <= _WIDEST for field in rule.fields), rule
    held = [(layout.number_of(table, field.name), field.factor, field.digits, field.suffix) for field in rule.fields]
    assert len(held) <= FIELDS, rule
    held += [(0, 1.0, 0, "")] * (FIELDS - len(held))
    by_kind = [[row[kind] for row in held] for kind in range(4)]
    flat = [value for kind in by_kind for value in kind]
    return (*rule.template, level_words(rule), at, by, _HINT_ROWS.get(rule.at, 0), *flat, rule.authority)


def _write_issues(book: Book, layout: Layout) -> None:
    _write_beside(book, layout, "issues", _ISSUE_COLUMNS, _issue_rows(layout, layout.tables))


def _issue_rows(layout: Layout, tables: Tables) -> Iterator[tuple[Any, ...]]:
    for table, _ in channels_of(tables):
        stand = layout.stands[table]
        for index in range(tables.lengths[table]):
            yield stand.first + index, BY_KEY[table].name, stand.letters_row, stand.first - 1


# --- the list of things to mend, as people see it ---


_COLUMNS = ("of batch", "sentence", "said above", "for batches", "order", "shown from")
"""What stands beside table todo: of the issue on a line, and in the last column which of them that line shows."""


@dataclass(frozen=True)
class Line:
    """A line of the list of issues, the heaviest first.

    Attributes:
        batch: the batch whose row it is about, "" for something else; a refusal is said for each cell, so it has none.
        sentence: what stands in the cell and what is said of it; alike for several batches.
        is_there: whether there is an issue.
        above: how often the sentence stands on lines above.
        batches: names of the batches of which it is said, from this line down.
    """

    batch: str = ""
    sentence: str = ""
    is_there: bool = False
    above: int = 0
    batches: str = ""


def lines(layout: Layout) -> list[Line]:
    """Return the lines of the list of issues."""
    keys = layout.tables.column("said", "said_key")[:TODO_LINES]
    held = [_batch_and_sentence(layout, key) for key in keys]
    found = []
    for place, (key, (batch, sentence)) in enumerate(zip(keys, held, strict=True)):
        above = sum(_alike(one, sentence) for _, one in held[:place])
        named = [batch, *(name for name, one in held[place + 1 :] if _alike(one, sentence))]
        is_there = issue_of(key, layout.tables) is not None
        found.append(Line(batch, sentence, is_there, above, ", ".join(named) if batch else ""))
    return found


def shown_from(layout: Layout) -> list[int]:
    """Return for each line that people see which line of the list of issues it shows (1, 2, ...), 0 for none."""
    found = [place for place, line in enumerate(lines(layout), 1) if line.is_there and not line.above]
    return found + [0] * (TODO_LINES - len(found))


def _batch_and_sentence(layout: Layout, key: float) -> tuple[str, str]:
    issue = issue_of(key, layout.tables)
    if issue is None or issue.rule.table != BATCHES.key or key < LEVEL_WEIGHT:
        return "", ""
    said = said_of(layout, key)
    name = str(layout.tables.column("batches", "batch_name")[issue.index] or "")
    stands = said.value if isinstance(said.value, str) else ""
    return name, f"{stands}: {said.words}" if name else ""


def _alike(one: str, other: str) -> bool:
    """Return whether a workbook takes two sentences for the same."""
    return bool(one) and one.casefold() == other.casefold()


def beside(layout: Layout, name: str, line: int) -> str:
    """Return the address of what stands beside a line (0, 1, ...) of the list of issues."""
    stand = layout.stands["todo"]
    letter = letters(len(stand.columns) + 1 + _COLUMNS.index(name))
    return f"{stand.sheet}!${letter}${stand.first + line}"


def beside_all(layout: Layout, name: str, first: int = 0, last: int = TODO_LINES - 1) -> str:
    """Return the address of what stands beside lines of the list of issues."""
    return f"{beside(layout, name, first)}:{beside(layout, name, last).rpartition('!')[2]}"


def write_listed(book: Book, layout: Layout) -> None:
    """Write beside the list of issues which batches each is about, and which lines people see."""
    stand = layout.stands["todo"]
    page = book.file.get_worksheet_by_name(stand.sheet)
    for number, name in enumerate(_COLUMNS, len(stand.columns) + 1):
        book.put(page, stand.first - 1, number, name, HEADING)
    held, shown = lines(layout), shown_from(layout)
    for place, line in enumerate(held):
        order = sum(one.is_there and not one.above for one in held[: place + 1])
        values = line.batch, line.sentence, line.above, line.batches, order, shown[place]
        _write_line(book, layout, place, values)


def _write_line(book: Book, layout: Layout, place: int, values: Sequence[str | int]) -> None:
    stand = layout.stands["todo"]
    page = book.file.get_worksheet_by_name(stand.sheet)
    for number, (formula, value) in enumerate(
        zip(_list_formulas(layout, place), values, strict=True), len(stand.columns) + 1
    ):
        book.live(page, stand.first + place, number, f"={formula}", value)


def _list_formulas(layout: Layout, place: int) -> Iterator[str]:
    """Yield the formulas that stand beside a line of the list of issues."""
    stand, said = layout.stands["todo"], layout.stands["said"]
    names = (
        *(layout.letters_of("said", name) for name in ("said_key", "issue_at")),
        *(letters(column_number(layout, name)) for name in ("line", "value", "sheet", "words")),
    )
    key, issue, row, value, sheet, words = (f"{said.sheet}!${letter}${said.first + place}" for letter in names)
    batches, weight = layout.range("batches", "batch_name"), layout.one("constants", "level_weight")
    of, sentence, above = (beside(layout, name, place) for name in _COLUMNS[:3])
    name = f"INDEX({batches},{row}-ROW({batches.rpartition(':')[0]})+1)"
    yield f'IF({issue}=0,"",IF(OR({key}<{weight},{sheet}<>"{BATCHES.name}"),"",{name}&""))'
    yield f'IF({of}="","",IF(ISTEXT({value}),{value},"")&": "&{words})'
    over = beside_all(layout, "sentence", 0, place - 1)
    yield f'IF({sentence}="",0,SUMPRODUCT(--({over}={sentence})))' if place else "0"
    if place + 1 < TODO_LINES:
        same = f"{beside_all(layout, 'sentence', place + 1)}={sentence}"
        rows = beside_all(layout, "sentence", place + 1)
        big = layout.one("constants", "big")
        first = f"SUMPRODUCT(MIN({big}*(1-({same}))+ROW({rows})))-ROW({sentence})"
        below = f"INDEX({beside_all(layout, 'for batches', place + 1)},{first})"
        yield f'IF({of}="","",{of}&IFERROR(", "&{below},""))'
    else:
        yield of
    counts = f"IF(OR({issue}=0,{above}>0),0,1)"
    yield f"{beside(layout, 'order', place - 1)}+{counts}" if place else counts
    line = f"{stand.sheet}!${layout.letters_of('todo', 'line')}${stand.first + place}"
    yield f"IFERROR(MATCH({line},{beside_all(layout, 'order')},0),0)"
