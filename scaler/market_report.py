"""What the terminal and the JSON say of a market run."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from scaler.market.before import NOT_COUNTED, Lot
from scaler.market.demand import dated
from scaler.market_run import MarketRun
from scaler.model.problems import Problem, asked_of, counted, say, to_json, where
from scaler.model.records import COSTS, FAILED, PACKAGING, PLANNED
from scaler.model.records import Batch as Record
from scaler.planning.feasibility import STOPPED_CODE
from scaler.planning.plan import Plan
from scaler.planning.solver import OPTIMAL, STOPPED
from scaler.report import as_object, shown_of, wrapped
from scaler.rules.results import Batch, Run
from scaler.rules.tables import day_of
from scaler.validation.rule import LEVELS

GEAR = (
    "Goggles and gloves that lye does not go through, for everybody at the table",
    "Long sleeves, trousers, closed shoes",
    "Clean running water within reach; the supplier's safety data sheet of the alkali",
)
"""Safety gear on every shopping list, without a quantity: common practice, no source."""


def market_object(found: MarketRun) -> dict[str, Any]:
    """Return a market run as the one object of the command line's JSON."""
    if found.plan is None:
        return problems_object(found.problems)
    return {
        "plan": [*map(_lot, found.lots), *(_batch(found.run, place) for place in range(len(found.run.batches)))],
        "changes": [
            {"batch": item.batch, "what": item.what, "from": item.before or None, "to": item.now or None}
            for item in found.changes
        ],
        "shopping": [_thing(found.run, place) for place in range(found.run.tables.lengths["buying"])],
        "demand": list(demand(found.run)),
        "money": money(found.run),
        "solver": solver(found.plan, bool(found.short)),
        **as_object(found.run),
    }


def problems_object(problems: Sequence[Problem]) -> dict[str, Any]:
    """Return the JSON object of a market run that found only problems."""
    codes = {item.code for item in problems}
    status = "infeasible" if "market_infeasible" in codes else "stopped" if STOPPED_CODE in codes else "not run"
    return {
        "plan": [], "changes": [], "shopping": [], "demand": [], "money": None,
        "solver": {"status": status, "objective": None, "gap": None},
        "batches": [], "problems": [to_json(item) for item in problems],
    }  # fmt: skip


def solver(plan: Plan, short: bool = False) -> dict[str, Any]:
    """Return what the solver says of its plan: short of bars; optimal has no gap, within gap has one, stopped may know none."""
    if short:
        return {"status": "short", "objective": plan.cost, "gap": plan.gap if math.isfinite(plan.gap) else None}
    if not math.isfinite(plan.gap):
        return {"status": "stopped", "objective": plan.cost, "gap": None}
    status = "optimal" if plan.gap == 0 else "within gap" if plan.status == "optimal" else "stopped"
    return {"status": status, "objective": plan.cost, "gap": plan.gap}


def _iso(day: Any) -> str | None:
    found = day_of(day)
    return found.isoformat() if found else None


def _whole(number: float) -> float | int:
    return int(number) if float(number).is_integer() else number


def _batch(run: Run, place: int) -> dict[str, Any]:
    batch, row = run.batches[place], run.tables.row("batches", place)
    days = (row[name] for name in ("made_on", "unmould_on", "ready_day"))
    return _planned(batch, batch.mould, row["filled_moulds"], days, _whole(batch.bars), PLANNED)


def _lot(lot: Lot) -> dict[str, Any]:
    """Return a batch that is made or failed; its bars are those fit to sell."""
    days = (float(day) for day in (lot.made, lot.free, lot.ready))
    return _planned(lot.record, lot.record.mould, lot.fills, days, lot.bars, lot.record.state)


def _planned(
    batch: Batch | Record, mould: str | None, fills: float, days: Iterable[float], bars: float, state: str | None
) -> dict[str, Any]:
    made, unmould, ready = map(_iso, days)
    return {
        "batch": batch.batch, "recipe": batch.recipe, "mould": mould, "moulds_filled": _whole(fills),
        "make_date": made, "unmould_date": unmould, "ready_date": ready, "bars": bars, "state": state,
    }  # fmt: skip


def _thing(run: Run, place: int) -> dict[str, Any]:
    row = run.tables.row("buying", place)
    item = run.workshop.ingredients[int(row["ingredient_at"]) - 1]
    return {
        "ingredient": item.ingredient,
        "need": row["need"],
        "stock": row["stock"],
        "unit": "each" if item.kind == PACKAGING else "g",
        "buy": list(_packs(run, row["ingredient_at"])),
        "cost": row["cost"],
        "left": row["left"],
    }


def _packs(run: Run, ingredient_at: float) -> Iterator[dict[str, Any]]:
    for place in range(run.tables.lengths["packs"]):
        row = run.tables.row("packs", place)
        if row["ingredient_at"] == ingredient_at and row["packs_to_buy"]:
            price = run.workshop.prices[int(row["price_at"]) - 1]
            yield {
                "supplier": price.supplier,
                "pack": _whole(price.pack),
                "pack_unit": price.pack_unit,
                "packs": _whole(row["packs_to_buy"]),
                "price": row["pack_cost"],
            }


def demand(run: Run) -> Iterator[dict[str, Any]]:
    """Yield each recipe and day: bars wanted then, and bars there are once earlier days have had theirs."""
    seen, rows = set(), dated(run)
    for place, item in enumerate(rows):
        if (item.recipe, item.needed_by) in seen:
            continue
        seen.add((item.recipe, item.needed_by))
        row = run.tables.row("market", place)
        alike = [at for at, o in enumerate(rows) if (o.recipe, o.needed_by) == (item.recipe, item.needed_by)]
        wanted = sum(rows[at].bars for at in alike)
        short = sum(run.tables.column("market", "planned_short")[at] for at in alike)
        yield {
            "recipe": item.recipe,
            "day": item.day,
            "needed_by": str(item.needed_by),
            "wanted": wanted,
            "made": _whole(row["fit_by_then"] - (row["wanted_by_then"] - (wanted - short))),
            "short": _whole(short),
        }


_MONEY = {
    "cost": "run_cost", "cash_before": "cash_before", "own_pay": "work_cost", "stall_fees": "stall_fees",
    "income_full": "income_of_all", "profit_full": "profit_full", "profit_at_sell_through": "profit_expected",
    "break_even_bars": "break_even_bars", "hours": "hours_of_all",
}  # fmt: skip
"""What the JSON calls the figures of table money."""


def money(run: Run) -> dict[str, Any]:
    """Return what the run costs and earns; break_even_bars is None when not even all bars pay for it."""
    row = run.tables.row("money", 0)
    bars = row["break_even_bars"]
    return {said: row[name] for said, name in _MONEY.items()} | {
        "break_even_bars": None if bars == "" else _whole(bars)
    }


# --- words ---


def summary(found: MarketRun) -> Iterator[str]:
    """Return the lines a maker reads after a market run, at most 80 columns wide."""
    run, plan = found.run, found.plan
    assert plan
    sign = run.tables.one("costs", "currency") or ""
    yield from _short(found)
    yield from _in_the_past(run)
    yield from _since(found)
    shown = shown_of(run)
    nothing = "no more can be ready in time" if found.short else "the bars that are there reach"
    yield "Make:" if run.batches else f"Make: nothing more, {nothing}."
    for place in range(len(run.batches)):
        row = _batch(run, place)
        moulds = f" x {row['moulds_filled']}" if row["moulds_filled"] != 1 else ""
        yield from wrapped(
            f"  {row['make_date']}  {row['batch']}: {row['recipe']} in {row['mould']}{moulds}, {counted(row['bars'], 'bar')} of "
            f"{shown.bar(run.batches[place].bar_cured_g or 0)}, ready {row['ready_date']}",
            "              ",
        )
    yield from _size_lines(found.run)
    yield "Buy:"
    yield from _shopping_lines(run, sign) if run.batches or not found.short else ["  nothing"]
    for text in GEAR:
        yield from wrapped(f"  at hand: {text}", "    ")
    yield from _money_lines(run, plan, sign)
    yield from _warning_lines(run)


def _warning_lines(run: Run) -> Iterator[str]:
    """Yield what is doubted, and what the batches are warned of with the names of those that share it; dangers first."""
    told: dict[tuple[int, str], list[str]] = {}
    for at, warning in asked_of(doubt for doubt in run.workshop.doubts if doubt[0].sheet != COSTS.name):
        told.setdefault((LEVELS.index(warning.level), warning.text), []).extend([where(at)] if at.cell else [])
    for batch in run.batches:
        for warning in batch.warnings:
            told.setdefault((LEVELS.index(warning.level), warning.text), []).append(batch.batch)
    for (level, text), names in sorted(told.items(), key=lambda item: item[0][0]):
        yield from wrapped(f"  {LEVELS[level]}: {', '.join(names)}{': ' if names else ''}{text}", "    ")


def _size_lines(run: Run) -> Iterator[str]:
    """Yield what one bar size for each recipe costs, and where there are several."""
    tables = run.tables
    for recipes, words in zip(
        tables.column("sizes", "size_recipes"), tables.column("sizes", "size_words"), strict=True
    ):
        yield from wrapped(f"  {recipes} {words}", "    ")


def _short(found: MarketRun) -> Iterator[str]:
    """Yield what cannot be there, and what would help."""
    if not found.short:
        return
    market = dated(found.run)
    missing, wanted = sum(found.short.values()), sum(item.bars for item in market)
    much = "cannot be there. This plan has as much as can be:"
    if not found.least:
        much = "are not in this plan. The search ended early, so more may be possible:"
    yield from wrapped(f"! SHORT: {missing} of {counted(wanted, 'bar')} {much}", "  ")
    for place, count in sorted(found.short.items()):
        item = market[place]
        yield from wrapped(f"  {item.needed_by}: {count} of {item.bars} {item.recipe} missing", "    ")
    for problem in found.why:
        yield from wrapped(f"  {say(problem)}", "    ")


def _since(found: MarketRun) -> Iterator[str]:
    """Yield what changed since the last plan, then what is counted of batches that are made or failed."""
    if found.changes:
        yield "Since the last plan:"
    for item in found.changes:
        yield from wrapped(f"  {item.batch}: {item.words}", "    ")
    if found.lots:
        yield "Counted:"
    for lot in found.lots:
        says = f"made {_iso(float(lot.made))}, {counted(lot.bars, 'bar')} ready {_iso(float(lot.ready))}"
        if lot.record.state == FAILED:
            says = "failed, made up for where there is time"
        yield from wrapped(f"  {lot.record.batch}: {lot.record.recipe}, {says}", "    ")
    if found.lots and not found.run.tables.one("costs", "stock_counted"):
        yield from wrapped(f"  ! {NOT_COUNTED}", "    ")


def _in_the_past(run: Run) -> Iterator[str]:
    late = sum(warning.code == "made_past" for batch in run.batches for warning in batch.warnings)
    if late:
        yield from wrapped(
            f"! NOT IN TIME: {late} of {counted(len(run.batches), 'batch', 'batches')} would have to be made before today. Set First make day "
            "on Costs to today: then it is said which bars cannot be ready, and what would help.",
            "  ",
        )


def _shopping_lines(run: Run, sign: str) -> Iterator[str]:
    nothing = True
    for place in range(run.tables.lengths["buying"]):
        row = _thing(run, place)
        for pack in row["buy"]:
            nothing = False
            supplier = f" from {pack['supplier']}" if pack["supplier"] else ""
            yield from wrapped(
                f"  {pack['packs']} x {pack['pack']:g} {pack['pack_unit']} {row['ingredient']}{supplier}, "
                f"{sign}{pack['packs'] * pack['price']:,.2f}",
                "    ",
            )
    if nothing:
        yield "  nothing: what is on the shelf reaches"


def _money(sign: str, amount: float) -> str:
    """Return an amount with its currency, a loss with the minus before both.

    >>> _money("€", -1.856), _money("", 1200.0), _money("€", -0.001)
    ('-€1.86', '1,200.00', '€0.00')
    """
    return f"{'-' if round(amount, 2) < 0 else ''}{sign}{abs(amount):,.2f}"


def _money_lines(run: Run, plan: Plan, sign: str) -> Iterator[str]:
    row, held = money(run), run.tables.row("money", 0)
    wanted = int(held["all_to_sell"])
    even = f"pays from {row['break_even_bars']} of {counted(wanted, 'bar')}"
    if row["break_even_bars"] is None:
        even = "does not pay, not even if every bar sells"
    yield from wrapped(
        f"Money: to pay before the market {sign}{row['cash_before']:,.2f} (packs {sign}{held['packs_cost']:,.2f}, stall "
        f"fees {sign}{row['stall_fees']:,.2f}); your own pay, overhead and other costs of making {sign}{row['own_pay']:,.2f}. With what the shelf "
        f"gains counted, the run costs {_money(sign, row['cost'])}; it {even}; {row['hours']:,.1f} hours of work."
    )
    sold = run.tables.one("costs", "sell_through")
    expected = f", at {sold:.0%} sold (Costs) {_money(sign, held['profit_expected'])}" if sold < 1 else ""
    yield from wrapped(
        f"Every bar sold: income {sign}{row['income_full']:,.2f}, profit {_money(sign, row['profit_full'])}{expected}."
    )
    how = f"At most {plan.gap * 100:.2g} % above the cheapest plan there is"
    if plan.status == OPTIMAL and plan.gap == 0:
        how = "The cheapest plan there is"
    elif not math.isfinite(plan.gap):
        how = "A plan that keeps to everything, though a cheaper one may be found"
    if plan.status == STOPPED:
        how = f"The search ended early with the best plan so far. {how}"
    yield from wrapped(f"{how}: {counted(len(run.batches), 'batch', 'batches')}.")
