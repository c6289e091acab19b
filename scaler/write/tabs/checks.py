"""Checks: balances that must be 0, rules that must not speak, changes that need the engine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scaler.formula.helpers import GUARD
from scaler.model.records import SHEETS
from scaler.rules.safety import REFUSE, RULES
from scaler.write.book import BRICK, HEADING, SAND, TITLE, Book, Look
from scaler.write.layout import SPARE_ROWS
from scaler.write.tabs.entries import entries
from scaler.write.tabs.shared import Page, open_page

NAME = "Checks"
HANDED_OVER = "When it was handed over"
MEND, LOOK = "must be mended", "look"
"""What is said of a check that does not hold."""
_STANDS_OUT = {MEND: "#E9B8AE", LOOK: SAND}
RESULTS = (
    ("oils (g)", "oils_g", "g"),
    ("alkali (g)", "alkali_g", "g"),
    ("liquid (g)", "liquid_g", "g"),
    ("bars", "bars", "whole"),
    ("lowest superfat", "superfat_low", "%"),
    ("cost per bar", "cost_per_bar", "money"),
    ("price with tax", "with_tax", "money"),
)
"""Results that are kept as they were handed over: words, step, unit."""
RUN_RESULTS = (
    ("packs to buy", "packs_cost", "money"),
    ("cost", "run_cost", "money"),
    ("income when every bar sells", "income_of_all", "money"),
    ("bars to break even", "break_even_bars", "whole"),
    ("profit when every bar sells", "profit_full", "money"),
)
"""Results of a market run that are kept too."""
_FIRST = 4


@dataclass(frozen=True)
class Check:
    """A number that is 0 when all is well.

    Attributes:
        says: what is checked.
        formula: the number, a formula without its equals sign.
        value: the number as the engine knows it.
        must: whether the workbook may not be trusted while it is not 0.
        do: what to do when it is not.
    """

    says: str
    formula: str
    value: float
    must: bool
    do: str


def write(book: Book) -> None:
    """Write the tab."""
    page = open_page(book, NAME, landscape=True)
    for number, width in enumerate((92, 10, 18, 110)):
        page.sheet.set_column(number, number, width)
    page.put(1, 1, "Checks", TITLE)
    page.live(1, 2, MASTER.formula(page), MASTER.value(page), Look(bold=True))
    page.live(2, 1, MASTER.first_formula(page), MASTER.first(page), Look(bold=True, ink=BRICK))
    page.live(2, 4, MASTER.first_formula(page, "D"), MASTER.first(page, "do"), Look(ink=BRICK))
    for number, header in enumerate(("What is checked", "Found", "Says", "If it does not hold"), 1):
        page.put(_FIRST - 1, number, header, HEADING)
    for row, check in enumerate(checks(page), _FIRST):
        bad = MEND if check.must else LOOK
        page.put(row, 1, check.says, Look(box=True, wrap=True))
        page.live(row, 2, f"={check.formula}", check.value, Look(box=True))
        says = f'=IF(ISNUMBER(B{row}),IF(B{row}=0,"holds","{bad}"),"{MEND}")'
        page.live(row, 3, says, "holds" if check.value == 0 else bad, Look(box=True, bold=True))
        page.put(row, 4, check.do, Look(box=True, wrap=True))
    _handed_over(page, _FIRST + len(list(checks(page))) + 1)
    for word, ground in _STANDS_OUT.items():
        form = book.file.add_format({"bg_color": ground})
        rule = {"type": "cell", "criteria": "==", "value": f'"{word}"', "format": form}
        page.sheet.conditional_format(_FIRST - 1, 2, _FIRST - 2 + len(list(checks(page))), 2, rule)
    page.sheet.freeze_panes(_FIRST - 1, 0)


def _handed_over(page: Page, row: int) -> None:
    """Write what the results were when the workbook was handed over, beside what they are now."""
    for number, header in enumerate(("Result", "Now", "Says", HANDED_OVER), 1):
        page.put(row, number, header, HEADING)
    for index in range(page.batches):
        for words, name, unit in RESULTS:
            row += 1
            page.show_of_batch(row, 2, name, index, Look(unit=unit, box=True))
            of_batch = f"{page.value('batches', 'batch', index)}: {words}"
            _as_it_was(page, row, of_batch, unit, page.value("batches", name, index))
    for words, name, unit in RUN_RESULTS if page.is_market else ():
        row += 1
        page.show(row, 2, "money", name, 0, Look(unit=unit, box=True))
        _as_it_was(page, row, f"The run: {words}", unit, page.value("money", name, 0))


def _as_it_was(page: Page, row: int, words: str, unit: str, value: object) -> None:
    """Write a result's words, whether it is what it was, and what it was."""
    page.put(row, 1, words, Look(box=True))
    says = f'=IF(ISNUMBER(B{row}),IF(ROUND(B{row}-D{row},6)=0,"same","changed"),"changed")'
    page.live(row, 3, says, "same", Look(box=True))
    page.put(row, 4, value, Look(unit=unit, box=True, align="left"))


class _Master:
    """The one line that says whether every check holds, and the first that does not."""

    def formula(self, page: Page) -> str:
        """Return the formula; it counts the checks that must be mended."""
        last = _FIRST + len(list(checks(page))) - 1
        says = f"{NAME}!$C${_FIRST}:$C${last}"
        mend, look = (f'COUNTIF({says},"{word}")' for word in (MEND, LOOK))
        return f'=IF({mend}>0,"NOT ALL CHECKS HOLD",IF({look}>0,"All checks hold; some need a look","All checks hold"))'

    def value(self, page: Page) -> str:
        """Return what it says as the engine left it."""
        bad = [check for check in checks(page) if check.value != 0]
        if any(check.must for check in bad):
            return "NOT ALL CHECKS HOLD"
        return "All checks hold; some need a look" if bad else "All checks hold"

    def first_formula(self, page: Page, column: str = "A") -> str:
        """Return the formula of the first check that must be mended: what is checked, or (column D) what to do."""
        last = _FIRST + len(list(checks(page))) - 1
        says, words = (f"{NAME}!${letter}${_FIRST}:${letter}${last}" for letter in ("C", column))
        return f'=IFERROR(INDEX({words},MATCH("{MEND}",{says},0)),"")'

    def first(self, page: Page, what: str = "says") -> str:
        """Return the words of the first check that must be mended as the engine left it."""
        return next((str(getattr(check, what)) for check in checks(page) if check.must and check.value != 0), "")


MASTER = _Master()


def checks(page: Page) -> Iterator[Check]:
    """Return every check, in order."""
    yield from _balances(page)
    yield from _changes(page)
    for table, name, says, do in _FAULTS:
        yield _sum(page, table, name, says, True, do)
    yield from _entries(page)
    if page.is_market:
        yield from _market(page)
    yield from _rules(page)
    yield _sum(
        page,
        "ingredients",
        "price_zero",
        "Ingredients that cost nothing",
        False,
        "Fill their price, unless they really are free.",
    )


def _balances(page: Page) -> Iterator[Check]:
    for name, says in (
        ("mass_balance_g", "Mass balance: all lines less the batter (g)"),
        ("volume_balance_ml", "Volume balance: all volumes less the batter (mL)"),
        ("cost_balance", "Cost balance: all cost lines less the total"),
    ):
        held = page.layout.range("batches", name)
        value = max(abs(value) for value in page.layout.tables.column("batches", name))
        do = f"A formula was overwritten: run scaler verify, or {page.again}"
        yield Check(says, f"ROUND(MAX(MAX({held}),0-MIN({held})),6)", float(round(value, 6)), True, do)


def _sum(page: Page, table: str, name: str, says: str, must: bool, do: str) -> Check:
    value = float(sum(page.layout.tables.column(table, name)))
    return Check(says, f"ROUND(SUM({page.layout.range(table, name)}),{GUARD})", value, must, do)


def _changes(page: Page) -> Iterator[Check]:
    run = page.again.capitalize()
    for index, name in enumerate(page.layout.tables.column("growth", "sheet")):
        now, built = (page.layout.cell("growth", column, index) for column in ("rows_now", "rows_built"))
        yield Check(f"Rows added to {name} since the engine ran", f"MAX({now}-{built},0)", 0.0, True, run)
    yield _sum(page, "ingredients", "changed", "Kind, Base, name or INCI changed since the engine ran", True, run)
    yield _sum(page, "moulds", "changed", "Shape changed since the engine ran", True, run)
    yield _sum(
        page,
        "recipes",
        "shares_off",
        "Recipes whose shares do not add up to 100 %",
        True,
        "Correct Share % on Recipe lines.",
    )


_FAULTS = (
    ("lines", "line_wrong", "Recipe lines with an unknown recipe, ingredient or unit, or neither Share nor Amount", "Correct Recipe lines."),
    ("ingredients", "sap_missing", "Oils and acids without a SAP", "Fill SAP on Ingredients."),
    ("recipes", "liquid_unclear", "Recipes whose liquid is set twice or not at all", "Fill exactly one of the three liquid columns."),
    ("recipes", "alkali_wrong", "Recipes with an unknown or impossible alkali or superfat", "Correct Alkali, Purity or Superfat."),
    ("prices", "price_blank", "Packs without a price, or that hold nothing", "Fill Pack, Pack unit and Price."),
    ("prices", "price_astray", "Prices of something that is not on Ingredients", "Correct the name."),
    ("moulds", "mould_wrong", "Moulds that hold nothing, give no bar or have an unknown unit", "Correct the mould's sizes and units."),
    ("ingredients", "purity_wrong", "Alkalis whose Purity cannot be, or is blank beside a Water", "Correct Purity % or Water % on Ingredients."),
    ("ingredients", "range_crossed", "Ranges of SAP or Purity that are not in order", "Correct low, value or high on Ingredients."),
    ("ingredients", "range_astray", "Ends of a SAP range that contradict the published value", "Fill SAP, SAP low and SAP high."),
    ("ingredients", "sap_far", "SAP that is not in mg KOH for 1 g", "Correct SAP on Ingredients, such as 190 for an oil."),
    ("ingredients", "too_sour", "Liquids more sour than any drink", "Correct SAP and Water %; of a milk fill Fat %."),
    ("ingredients", "over_whole", "Water and Fat over 100 % together", "Correct Water % or Fat % on Ingredients."),
    ("ingredients", "own_unit_off", "Division unit or Stock unit missing, unknown or of another measure", "Correct it on Ingredients."),
    ("ingredients", "unpriced", "Things that recipes use and that have no price", "Add a row on Prices, 0 if it costs nothing."),
    ("ingredients", "named_twice", "Ingredients of one name", "Rename or delete one."),
    ("prices", "pack_off", "Packs of packaging that are not counted, or others that are", "Correct Pack unit on Prices."),
    ("moulds", "size_off", "Moulds without a size they need, or with a Liner that is not used", "Correct the mould on Moulds."),
    ("moulds", "mould_unit_off", "Moulds whose Unit or Capacity unit measures something else", "Correct it on Moulds."),
    ("moulds", "cut_off", "Bar cuts not shorter than the log", "Correct Bar cut or Unit on Moulds."),
    ("moulds", "mould_twice", "Moulds of one name", "Rename or delete one."),
    ("moulds", "mould_pieces_off", "Moulds with a part of a cavity, of a bar or of a mould", "Round Cavities, Bars or Owned."),
    ("lines", "line_off", "Recipe lines whose amount does not suit the ingredient", "Correct Share %, Amount, Unit or In lye."),
    ("lines", "line_twice", "Recipe lines with a thing twice at a stage", "Add the two up in one row."),
    ("recipes", "alkali_off", "Recipes whose two alkalis do not go together", "Correct Alkali, Second alkali or KOH share %."),
    ("recipes", "mixed_ways", "Recipes without oils, or by share and by amount at once", "Give all oils, and all liquids, one way."),
    ("recipes", "leaves_nothing", "Recipes without liquid, or whose cure cannot be", "Correct Lye concentration %, Cure loss % or Cure days."),
    ("recipes", "beyond_card", "Recipes with more lines than the cards have", "Give this file to scaler again."),
    ("recipes", "recipe_twice", "Recipes of one name", "Rename or delete one."),
    ("batches", "batch_twice", "Batches of one name", "Rename one."),
    ("batches", "batch_pieces_off", "Batches that fill a part of a mould", "Round Moulds filled, or set Fill % on Moulds."),
    ("batches", "price_impossible", "Margin and card fee that leave nothing for the cost", "Lower Target margin % on Costs."),
    ("batches", "unusable", "Batches whose results may not be used", "Mend what stands above; the batch says why."),
)  # fmt: skip


def _entries(page: Page) -> Iterator[Check]:
    assert page.book.run
    built = {sheet.key: len(getattr(page.book.run.workshop, sheet.key)) for sheet in SHEETS}
    for entry in entries(page.layout, built):
        yield Check(entry.says, entry.formula, 0.0, True, entry.do)


def _rules(page: Page) -> Iterator[Check]:
    for rule in RULES:
        refused = rule.level == REFUSE
        words = rule.code.replace("_", " ").capitalize().replace("Sap ", "SAP ")
        what = {"batches": "batches", "recipes": "recipes", "slots": "lines"}[rule.table]
        yield _sum(
            page,
            rule.table,
            rule.flag,
            f"{words} ({what})",
            refused,
            f"Should be: {rule.expected}. {rule.authority[0].upper()}{rule.authority[1:]}.",
        )


def rows_added(page: Page, key: str) -> str:
    """Return the formula that counts the rows added to Market or On hand since the plan."""
    added = f'SUMPRODUCT(--({page.layout.range(key, "bars", SPARE_ROWS)}<>""))'
    if page.layout.tables.lengths[key]:
        added += f'-SUMPRODUCT(--({page.layout.range(key, "bars")}<>""))'
    return added


_AGAIN = "Give this file to scaler market again."


def _market(page: Page) -> Iterator[Check]:
    """Yield what a market run must keep to: its demand, its packs, the limits of the workshop."""
    yield _sum(page, "market", "changed", "Rows of Market changed since the plan", True, _AGAIN)
    for key, name in (("market", "Market"), ("on_hand", "On hand")):
        yield Check(f"Rows added to {name} since the plan", rows_added(page, key), 0.0, True, _AGAIN)
    yield _sum(page, "sold", "missing", "Bars missing on their day", True, _AGAIN)
    buy = "Buy more packs on Shopping list, or give this file to scaler market again."
    yield _sum(page, "buying", "lacking", "Ingredients that do not reach", True, buy)
    look = "The figures follow. Packs may be cheaper elsewhere now: give this file to scaler market again."
    yield _sum(page, "packs", "price_changed", "Prices of packs changed since they were chosen", False, look)
    mend = "Change Make date or Mould on Batches, or give this file to scaler market again."
    yield _sum(page, "batches", "moulds_over", "Moulds in use beyond those owned", True, mend)
    earlier = "Set First make day on Costs, move the market day on Market, and give this file to scaler market again."
    yield _sum(page, "batches", "made_past", "Batches to be made before the day it was worked out", False, earlier)
    bars, out = page.layout.range("batches", "bars"), page.layout.range("days", "bars_out")
    says = "Bars that come out of moulds on a day that the calendar does not have"
    yield Check(says, f"ROUND(SUM({bars})-SUM({out}),{GUARD})", 0.0, False, _AGAIN)
    yield _sum(page, "days", "hours_over", "Hours beyond Hours per day", False, mend)
    yield _sum(page, "days", "shelf_over", "Bars beyond Shelf bars", False, mend)
