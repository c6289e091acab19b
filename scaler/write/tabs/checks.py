"""Checks: balances that must be 0, rules that must not speak, changes that need the engine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scaler.compute.safety import REFUSE, RULES
from scaler.formula import GUARD
from scaler.model import SHEETS
from scaler.schema import PERCENT, columns
from scaler.write.book import HEADING, TITLE, Book, Look
from scaler.write.layout import FIRST_ROW, SPARE_ROWS, letters, quoted
from scaler.write.tabs.shared import Page, open_page

NAME = "Checks"
HANDED_OVER = "When it was handed over"
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
    page = open_page(book, NAME)
    for number, width in enumerate((58, 10, 18, 92)):
        page.sheet.set_column(number, number, width)
    page.put(1, 1, "Checks", TITLE)
    page.live(1, 2, MASTER.formula(page), MASTER.value(page), Look(bold=True))
    for number, header in enumerate(("What is checked", "Found", "Says", "If it does not hold"), 1):
        page.put(_FIRST - 1, number, header, HEADING)
    for row, check in enumerate(checks(page), _FIRST):
        bad = "must be mended" if check.must else "look"
        page.put(row, 1, check.says, Look(box=True, wrap=True))
        page.live(row, 2, f"={check.formula}", check.value, Look(box=True))
        says = f'=IF(ISNUMBER(B{row}),IF(B{row}=0,"holds","{bad}"),"must be mended")'
        page.live(row, 3, says, "holds" if check.value == 0 else bad, Look(box=True, bold=True))
        page.put(row, 4, check.do, Look(box=True, wrap=True))
    _handed_over(page, _FIRST + len(list(checks(page))) + 1)
    page.sheet.freeze_panes(_FIRST - 1, 0)


def _handed_over(page: Page, row: int) -> None:
    """Write what the results were when the workbook was handed over, beside what they are now."""
    for number, header in enumerate(("Result", "Now", "Says", HANDED_OVER), 1):
        page.put(row, number, header, HEADING)
    for index in range(page.batches):
        for words, name, unit in RESULTS:
            row += 1
            value = page.value("batches", name, index)
            page.put(row, 1, f"{page.value('batches', 'batch', index)}: {words}", Look(box=True))
            page.show_of_batch(row, 2, name, index, Look(unit=unit, box=True))
            says = f'=IF(ISNUMBER(B{row}),IF(ROUND(B{row}-D{row},6)=0,"same","changed"),"changed")'
            page.live(row, 3, says, "same", Look(box=True))
            page.put(row, 4, value, Look(unit=unit, box=True, align="left"))


class _Master:
    """The one line that says whether every check holds."""

    def formula(self, page: Page) -> str:
        """Return the formula; it counts the checks that must be mended."""
        last = _FIRST + len(list(checks(page))) - 1
        says = f"{NAME}!$C${_FIRST}:$C${last}"
        mend, look = f'COUNTIF({says},"must be mended")', f'COUNTIF({says},"look")'
        return f'=IF({mend}>0,"NOT ALL CHECKS HOLD",IF({look}>0,"All checks hold; some need a look","All checks hold"))'

    def value(self, page: Page) -> str:
        """Return what it says as the engine left it."""
        bad = [check for check in checks(page) if check.value != 0]
        if any(check.must for check in bad):
            return "NOT ALL CHECKS HOLD"
        return "All checks hold; some need a look" if bad else "All checks hold"


MASTER = _Master()


def checks(page: Page) -> Iterator[Check]:
    """Return every check, in order."""
    yield from _balances(page)
    yield from _changes(page)
    for table, name, says, do in _FAULTS:
        yield _sum(page, table, name, says, True, do)
    yield from _percents(page)
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
        do = "A formula was overwritten: run scaler verify, or scaler batch again."
        yield Check(says, f"ROUND(MAX(MAX({held}),0-MIN({held})),6)", float(round(value, 6)), True, do)


def _sum(page: Page, table: str, name: str, says: str, must: bool, do: str) -> Check:
    value = float(sum(page.layout.tables.column(table, name)))
    return Check(says, f"ROUND(SUM({page.layout.range(table, name)}),{GUARD})", value, must, do)


def _changes(page: Page) -> Iterator[Check]:
    run = "Give this file to scaler batch again."
    for index, name in enumerate(page.layout.tables.column("growth", "sheet")):
        now, built = (page.layout.cell("growth", column, index) for column in ("rows_now", "rows_built"))
        yield Check(f"Rows added to {name} since the engine ran", f"MAX({now}-{built},0)", 0.0, True, run)
    yield _sum(page, "ingredients", "changed", "Kind or Base changed since the engine ran", True, run)
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
    ("lines", "sap_blank", "Oils without a saponification value", "Fill SAP on Ingredients."),
    ("recipes", "liquid_unclear", "Recipes whose liquid is set twice or not at all", "Fill exactly one of the three liquid columns."),
    ("recipes", "alkali_wrong", "Recipes with an unknown or impossible alkali or superfat", "Correct Alkali, Purity or Superfat."),
    ("prices", "price_blank", "Packs without a price, or that hold nothing", "Fill Pack, Pack unit and Price."),
    ("prices", "price_astray", "Prices of something that is not on Ingredients", "Correct the name."),
    ("moulds", "mould_wrong", "Moulds that hold nothing, give no bar or have an unknown unit", "Correct the mould's sizes and units."),
    ("batches", "unusable", "Batches whose results may not be used", "Mend what stands above; the batch says why."),
)  # fmt: skip


def _percents(page: Page) -> Iterator[Check]:
    for sheet in SHEETS:
        held = getattr(page.book.run.workshop, sheet.key) if page.book.run else ()
        if not held:
            continue
        last = FIRST_ROW + len(held) + SPARE_ROWS - 1
        for number, column in enumerate(columns(sheet.record).values(), 1):
            if column.kind == PERCENT:
                cells = f"{quoted(sheet.name)}!${letters(number)}${FIRST_ROW}:${letters(number)}${last}"
                yield Check(
                    f"{sheet.name}, {column.header}: cells above 100 %",
                    f"SUMPRODUCT(--({cells}>1))",
                    0.0,
                    True,
                    "Type 5 % as 5% or 0.05.",
                )


def _rules(page: Page) -> Iterator[Check]:
    for rule in RULES:
        refused = rule.level == REFUSE
        words = rule.code.replace("_", " ").capitalize()
        what = {"batches": "batches", "recipes": "recipes", "slots": "lines"}[rule.table]
        yield _sum(
            page,
            rule.table,
            rule.flag,
            f"{words} ({what})",
            refused,
            f"Should be: {rule.expected}. {rule.authority.capitalize()}.",
        )
