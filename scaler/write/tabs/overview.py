"""Overview: how every batch stands, what needs a look, and where to go from here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scaler.model import records
from scaler.model.schema import letters
from scaler.validation.issues import TODO_LINES
from scaler.write.book import AMBER, BODY, BRICK, HEADING, HINT, INPUT, LEAF, LINK, RULER, SECTION, TITLE, Book, Look
from scaler.write.layout import FIRST_ROW, IN_BLOCK, WORKINGS, quoted
from scaler.write.said import beside
from scaler.write.tabs import cards
from scaler.write.tabs.shared import NOTHING, ON_A_PAGE, Page, Shown, open_page, ruler_scale

NAME = "Overview"

COLUMNS = (
    Shown("Oils g", "oils_g", "one digit", 9),
    Shown("Liquid g", "liquid_g", "one digit", 9),
    Shown("Alkali g", "alkali_weigh_g", "weigh", 9, bold=True),
    Shown("Batter g", "batter_g", "one digit", 9),
    Shown("Bars", "bars", "whole", 7),
    Shown("Superfat", "aimed", "%", 9),
    Shown("Lowest superfat", "superfat_low", "%", 9),
    Shown("Cost per bar", "cost_per_bar", "money", 12),
    Shown("Price before tax", "before_tax", "money", 11),
    Shown("Price with tax", "with_tax", "money", 9, bold=True),
    Shown("Margin", "margin", "whole %", 8),
)
_ASKED = Shown("Price asked", "price_asked", "money", 9, bold=True)
"""What a market run shows besides, right of the ruler."""
_OF_THE_RUN = (
    (4, "Packs to buy", "packs_cost"),
    (9, "Cash needed before the market", "cash_before"),
    (13, "Profit when every bar sells", "profit_full"),
)
"""What a market run comes to: the column of the figure, which its words run up to, and the figure."""
NEW_ROWS = 200
"""Rows below a table in which something typed is seen."""
_COUNTED_BY = (
    (records.INGREDIENTS, ("kind",)), (records.PRICES, ("price",)), (records.MOULDS, ("shape",)), (records.RECIPES, ("superfat",)), (records.LINES, ("share", "amount")),
    (records.BATCHES, ("recipe",)), (records.MARKET, ("bars",)), (records.MARKET_DAYS, ("date",)), (records.ON_HAND, ("bars",)),
)  # fmt: skip
"""The input sheets, and the columns of which each of their rows fills one."""
_GONE = "A sheet of this workbook is gone: bring it back, or take an older copy of the file."
_LOST = "(a lost sheet)"
_UNNAMED = f"A setting on {records.COSTS.name} has an unknown name, so its default is used."
STATES = ("✓ in order", "! look", "▲ danger", "✕ do not make", "made or failed")
"""How a batch stands, by its state code."""
_COUNTED = ((3, "not to be made"), (2, "dangerous"), (1, "to look at"), (4, "made or failed"))
"""What the band says of batches that are not in order, by state code."""
_HEADER = 6
_STATE_COLUMN, _RULER_COLUMN = 15, 16
_TODO_TO, _GO_FROM = 11, 12
"""The last column of what needs you, and the first of the links beside it."""
_TODO = min(8, TODO_LINES - 1)
"""Things to mend that are shown."""
_SECTION = 22
"""Height of the row of a section's title."""

ANSWERS = {
    "Plan": "what to make on which day",
    "Shopping list": "what to buy",
    "Calendar": "what to do on each day",
    "Money": "what the run costs and earns",
    "Cards": "weigh a batch: one printed page each",
    "Costing": "see where the money in a bar goes",
    "Checks": "everything to fix, and every check",
    "Safety notes": "before the first batch, and for whoever helps",
    "Ingredients": "what each thing is: SAP, purity, density",
    "Prices": "change what a pack costs, or add a supplier",
    "Moulds": "measure a mould, or add one",
    "Recipes": "superfat, liquid, cure and labour",
    "Recipe lines": "change what goes into a recipe",
    "Batches": "try another mould, or more of them",
    "Costs": "pay, tax, margin, scale and other settings",
    "Market": "what is wanted on each market day",
    "Market days": "when each market is, and its stall fee",
    "On hand": "bars already made",
    "Alkali": "how each weight of alkali was worked out",
    "Superfat": "how sure the superfat is, and why",
    "Sources": "where each published number comes from",
    WORKINGS: "how every figure is worked out, step by step",
}


def write(book: Book, tabs: Sequence[str]) -> None:
    """Write the tab.

    Args:
        book: the workbook.
        tabs: names of the other tabs that people read, in order.
    """
    layout = book.layout
    assert layout
    workshop = str(layout.tables.one("costs", "workshop") or "") if "workshop" in layout.names.lists["costs"] else ""
    page = open_page(book, NAME, workshop or "Batches", landscape=True)
    if "workshop" in layout.names.lists["costs"]:
        name = page.setting("workshop")
        page.live(2, 1, f'=IF({name}="","Batches",{name}&"")', workshop or "Batches", TITLE)
    on = page.setting("worked_out_on")
    page.put(3, 1, "worked out on", HINT)
    day = layout.tables.one("costs", "worked_out_on") or ""
    page.live(3, 2, f'=IF({on}>0,{on},"")', day, Look(unit="date", size=9, align="left"))
    page.put(3, 3, "Lye burns: read Safety notes first.", Look(bold=True, ink=BRICK))
    _band(page)
    if page.is_market:
        _run(page)
    _table(page)
    _new_rows(page)
    _needs_a_look(page, _HEADER + page.batches + 3)
    _where_to_go(page, _HEADER + page.batches + 3, tabs)
    if page.batches > ON_A_PAGE:
        page.sheet.set_h_pagebreaks([_HEADER + page.batches + 2])
        page.sheet.repeat_rows(_HEADER - 1)
    page.sheet.freeze_panes(_HEADER, 1)


def _band(page: Page) -> None:
    """Write in one line how the batches stand."""
    states, two = page.layout.range("batches", "state_code"), page.layout.one("constants", "two")
    code, bars, costed = (page.layout.tables.column("batches", name) for name in ("state_code", "bars", "costed"))
    parts: list[tuple[str, str]] = []

    def part(
        count: str, found: float, one: str, many: str = "", before: str = "", after: str = "", always: bool = False
    ) -> None:
        at = page.part(count, found)
        words = f'{at}&IF({at}=1," {one}"," {many or one}")'
        said = f"{found:.15g} {one if found == 1 else many or one}"
        formula = f'IF({at}>0,"{before}"&{words}&"{after}","")'
        held = (words, said) if always else (formula, f"{before}{said}{after}" * (found > 0))
        parts.append((page.part(*held), held[1]))

    for number, word in _COUNTED:
        written = "+".join([two] * (number // 2) + ["1"] * (number % 2))
        part(f"SUMPRODUCT(--({states}={written}))", list(code).count(number), word, after=", ")
    part(f"SUMPRODUCT(--({states}=0))", list(code).count(0), "in order; ", always=True)
    makes = [place for place, held in enumerate(code) if held != "" and held < 3]
    to_come = sum(bars[place] or 0 for place in makes)
    part(f'SUMIF({states},"<"&1+{two},{page.layout.range("batches", "bars")})', to_come, "bar", "bars", always=True)
    unpriced = f"SUMPRODUCT(({states}<1+{two})*({page.layout.range('batches', 'costed')}=0))"
    part(unpriced, sum(costed[place] == 0 for place in makes), "batch", "batches", "; no price for ")
    if page.is_market:
        missing = page.layout.range("sold", "missing")
        lacking = sum(page.layout.tables.column("sold", "missing"))
        part(f"SUM({missing})", lacking, "bar", "bars", "; ", " will be missing")
    formula, value = "=" + "&".join(formula for formula, _ in parts), "".join(words for _, words in parts)
    for column in range(1, _last(page) + 1):
        page.put(4, column, None, Look(ink="#FFFFFF", ground=LEAF))
    page.live(4, 1, formula, value, Look(bold=True, size=13, ink="#FFFFFF", ground=LEAF, indent=1))
    page.sheet.set_row(3, 26)
    last = letters(_last(page))
    for level, ground in ((3, BRICK), (2, BRICK), (1, AMBER)):
        page.alert(f"A4:{last}4", ground, {"type": "formula", "criteria": f"=COUNTIF({states},{level})>0"})


def _run(page: Page) -> None:
    """Write what the market run comes to, between band and table."""
    sign = page.layout.tables.one("costs", "currency") or ""
    for column, words, name in _OF_THE_RUN:
        said = replace(HINT, align="right")
        page.live(5, column - 1, f'="{words} "&{page.setting("currency")}', f"{words} {sign}", said)
        page.show(5, column, "money", name, 0, Look(unit="money", bold=True))
    page.sheet.set_row(4, _SECTION)


def _last(page: Page) -> int:
    """Return the last column of the table."""
    return _RULER_COLUMN + page.is_market


def _table(page: Page) -> None:
    names = (
        Shown("Batch", "batch_name", "text", 11),
        Shown("Recipe", "recipe", "text", 24),
        Shown("Mould", "mould_names", "text", 18),
    )
    page.head(_HEADER, (*names, *COLUMNS, Shown("  In order?", "state_code", "text", 15)), height=34)
    scale = Look(font=RULER.font, size=9, ground=HEADING.ground, rule="leaf")
    page.put(_HEADER, _RULER_COLUMN, ruler_scale(page), scale)
    page.sheet.set_column(_RULER_COLUMN - 1, _RULER_COLUMN - 1, 36)
    if page.is_market:
        page.heading(_HEADER, _last(page), _ASKED)
        page.sheet.set_column(_last(page) - 1, _last(page) - 1, _ASKED.width)
    for index in range(page.batches):
        row = _HEADER + 1 + index
        page.sheet.set_row(row - 1, 19)
        target = cards.first_row(page, index)
        name, named = page.both("batches", "batch_name", index)
        link = f'=IF({name}="","",HYPERLINK("#Cards!A{target}",{name}))'
        page.live(row, 1, link, named, Look(ink=LINK.ink, rule="thin"))
        page.show(row, 2, "batches", "recipe", index, BODY)
        page.show(row, 3, "batches", "mould_names", index, BODY)
        for number, column in enumerate(COLUMNS, 4):
            page.of_batch(row, number, column, index)
        look = Look(bold=True, ink=LEAF, rule="thin", indent=1)
        page.live(row, _STATE_COLUMN, state_formula(page, index), state_words(page, index), look)
        page.show(row, _RULER_COLUMN, "batches", "ruler", index, Look(font=RULER.font, size=9, ink=LEAF, rule="thin"))
        if page.is_market:
            page.of_batch(row, _last(page), _ASKED, index)
        page.hide_further(index, row, row)
    last = _HEADER + page.batches
    states(page, f"{letters(_STATE_COLUMN)}{_HEADER + 1}:{letters(_STATE_COLUMN)}{last}")
    page.put(last + 1, _RULER_COLUMN, "● aimed   █ likely (about 95 %)   ─ at worst to best", HINT)
    page.put(last + 1, 1, "Each batch's name leads to its card. Left of │ on the ruler a bar is lye-heavy.", HINT)


def state_formula(page: Page, index: int) -> str:
    """Return the formula of how a batch stands, in words."""
    code, two = page.cell("batches", "state_code", index), page.layout.one("constants", "two")
    last = f'IF({code}={two}+1,"{STATES[3]}","{STATES[4]}")'
    words = f'IF({code}=0,"{STATES[0]}",IF({code}=1,"{STATES[1]}",IF({code}={two},"{STATES[2]}",{last})))'
    return f'=IF({code}="","{NOTHING}",{words})'


def state_words(page: Page, index: int) -> str:
    """Return how a batch stands, in words."""
    code = page.value("batches", "state_code", index)
    return NOTHING if code == "" else STATES[int(code)]


def states(page: Page, cells: str) -> None:
    """Colour cells by how batches stand; the words say it too."""
    for word, ground in ((STATES[3], BRICK), (STATES[2], BRICK), (STATES[1], AMBER)):
        page.alert(cells, ground, {"type": "cell", "criteria": "==", "value": f'"{word}"'})


def _new_rows(page: Page) -> None:
    """Say when there are rows that only scaler can read: more are filled than the workings hold."""
    beyond = []
    for sheet, names in _COUNTED_BY:
        if sheet.key in page.layout.stands and (
            sheet not in (records.MARKET, records.MARKET_DAYS, records.ON_HAND) or page.is_market
        ):
            first, last = FIRST_ROW, page.layout.foot_row(sheet.key) + NEW_ROWS
            places = [letters(page.layout.column_on_sheet(sheet.key, name)) for name in names]
            filled = "+".join(f"COUNTA({quoted(sheet.name)}!${letter}${first}:${letter}${last})" for letter in places)
            if sheet is records.BATCHES:  # those below that are made or failed are not read either, and need not be
                state = letters(page.layout.column_on_sheet(sheet.key, "state"))
                below = FIRST_ROW + page.layout.tables.lengths[sheet.key]
                states = f"{quoted(sheet.name)}!${state}${below}:${state}${last}"
                filled += f'-COUNTIF({states},"{records.MADE}")-COUNTIF({states},"{records.FAILED}")'
            read = "+".join(f'SUMPRODUCT(--({page.layout.range(sheet.key, name)}<>""))' for name in names)
            beyond.append(page.part(f'IFERROR(IF({filled}>{read},", "&{quoted(sheet.name)}!$A$2,""),"{_LOST}")', ""))
    stand, last = page.layout.stands[records.COSTS.key], FIRST_ROW + page.layout.tables.lengths[records.COSTS.key] - 1
    known = f"SUMPRODUCT(--({page.layout.range(records.COSTS.key, IN_BLOCK)}<{stand.sheet}!{stand.foot_row_cell}))"
    filled = f"COUNTA({quoted(records.COSTS.name)}!$A${FIRST_ROW}:$A${last})"
    unnamed = page.part(f'IFERROR(IF({filled}>{known},"{_UNNAMED} ",""),"{_LOST}")', "")
    all_of_it = page.part("&".join([*beyond, unnamed]), "")
    sheets = page.part("&".join(beyond), "")
    more = f'IF({sheets}="","","Some rows of "&MID({sheets},1+{page.layout.one("constants", "two")},LEN({sheets}))&" are not read: {page.again} ")'
    formula = f'=IF(ISNUMBER(FIND("{_LOST}",{all_of_it})),"{_GONE}",{page.part(more, "")}&{unnamed})'
    page.live(3, 5, formula, "", Look(bold=True, ink=BRICK))


def _needs_a_look(page: Page, row: int) -> None:
    """Write the first things to mend, in words, each with a link to its cell, two rows high."""
    page.put(row, 1, "What needs you", SECTION)
    page.sheet.set_row(row - 1, _SECTION)
    look = Look(wrap=True, top=True)
    for line in range(_TODO):
        at, there = row + 1 + 2 * line, beside(page.layout, "shown from", line)
        page.listed(at, 1, line, "level", Look(bold=True, top=True))
        names = ("words", "do", "address", "sheet", "for batches")
        words, do, where, sheet, batches = (page.listed_cell(line, name) for name in names)
        held = {name: page.listed_value(line, name) for name in names}
        link = f'=IF({there}=0,"",HYPERLINK("#\'"&{sheet}&"\'!"&{where},{sheet}&" "&{where}))'
        stands = f"{held['sheet']} {held['address']}" if held["words"] else ""
        page.live(at, 2, link, stands, replace(LINK, size=11, top=True))
        page.sheet.merge_range(at - 1, 2, at, _TODO_TO - 1, "", page.book.look(look))
        formula = f'=IF({there}=0,"",IF({batches}="","",{batches}&": ")&{words}&" "&{do})'
        named = f"{held['for batches']}: " if held["for batches"] else ""
        page.live(at, 3, formula, f"{named}{held['words']} {held['do']}" if held["words"] else "", look)
    for level in ("danger", "do not make"):
        page.alert(f"A{row + 1}:A{row + 2 * _TODO}", BRICK, {"type": "cell", "criteria": "==", "value": f'"{level}"'})
    first, beyond = (beside(page.layout, "shown from", line) for line in (0, _TODO))
    none = f'=IF({first}=0,"Nothing: all is in order.",IF({beyond}=0,"","There are more: see Checks."))'
    more = "There are more: see Checks." if page.listed_value(_TODO, "words") else ""
    page.live(row, 3, none, more if page.listed_value(0, "words") else "Nothing: all is in order.", HINT)
    row += 1 + 2 * _TODO
    page.put(row, 1, "yours", Look(ground=INPUT.ground, edge=True, rule="thin", indent=1))
    page.put(
        row, 2, "Sand cells with a blue edge are yours to change; all others are locked, without a password.", HINT
    )


def _where_to_go(page: Page, row: int, tabs: Sequence[str]) -> None:
    """Write a link to every tab with what it answers."""
    page.put(row, _GO_FROM, "Where to go from here", replace(SECTION, indent=1))
    for at in range(row + 1, row + 1 + max(len(tabs) + 1, 2 * _TODO)):
        page.sheet.set_row(at - 1, 19)
    for at, name in enumerate((*tabs, WORKINGS), row + 1):
        page.book.link(page.sheet, at, _GO_FROM, f"'{name}'!A1", name, Look(ink=LINK.ink, indent=1))
        page.put(at, _GO_FROM + 2, ANSWERS.get(name, ""))
