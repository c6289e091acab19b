"""Market days: a market is an event with a day, a fee and a time, and rows of Market name it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import icalendar
import pytest
from click.testing import CliRunner
from market_runs import market_run
from partner_edits import ERRORS
from recalculation import recalculated
from typing_in import typed_over

import scaler
from scaler.audit import verify
from scaler.cli import main
from scaler.engine import scale
from scaler.market.calendar_file import calendar
from scaler.market_report import market_object
from scaler.market_run import MarketRun, work_out
from scaler.model.records import Demand, MarketDay, Workshop
from scaler.read.files import stored_values
from scaler.write.finished import finished

SATURDAY, LATER = date(2027, 6, 12), date(2027, 6, 26)


def listed(*days: MarketDay, rows: tuple[dict[str, Any], ...], **more: Any) -> Workshop:
    """Return a run of one recipe with these markets and rows."""
    workshop = market_run(3, 1, 1, 1, owned=4, bars=20, named=0.0, on_hand=0.0, stall_fee=30.0, **more)
    market = tuple(Demand(recipe=workshop.recipes[0].recipe, **({"bars": 8} | row)) for row in rows)
    return replace(workshop, market=market, market_days=days)


FAIR = MarketDay(day="Fair", date=SATURDAY, stall_fee=45.0, days_ahead=3, opens="9 o'clock")
SALE = MarketDay(day="Sale", date=LATER)


def days_of(found: MarketRun) -> list[float]:
    """Return the day by which each row's bars must be ready, as written in the workbook."""
    return [
        date.fromordinal(date(1899, 12, 30).toordinal() + int(day))
        for day in found.run.tables.column("market", "need_day")
    ][: len(found.run.workshop.market)]  # type: ignore[misc]


def test_needed_by_comes_from_the_day() -> None:
    """Date less Days ahead, else less Spare days; a typed Needed by is taken as typed; case does not matter."""
    rows = ({"day": "fair"}, {"day": "Sale"}, {"day": "Sale", "needed_by": date(2027, 6, 20)})
    found = work_out(listed(FAIR, SALE, rows=rows, spare_days=2.0))
    assert days_of(found) == [date(2027, 6, 9), date(2027, 6, 24), date(2027, 6, 20)]
    assert [row["needed_by"] for row in market_object(found)["demand"]] == ["2027-06-09", "2027-06-24", "2027-06-20"]
    assert all(row["ready_date"] <= "2027-06-24" for row in market_object(found)["plan"])


def test_each_fee_once() -> None:
    """A listed day that has demand has its fee once, that of Costs where it has none; one without demand has none."""
    rows = ({"day": "Fair"}, {"day": "Fair", "bars": 3, "needed_by": date(2027, 6, 1)}, {"day": "Sale"})
    fees = market_object(work_out(listed(FAIR, SALE, rows=rows)))["money"]["stall_fees"]
    assert fees == pytest.approx(45.0 + 30.0)
    assert market_object(work_out(listed(FAIR, SALE, rows=rows[:1])))["money"]["stall_fees"] == pytest.approx(45.0)
    unlisted = ({"needed_by": SATURDAY}, {"needed_by": SATURDAY, "bars": 2}, {"needed_by": LATER})
    assert market_object(work_out(listed(rows=unlisted)))["money"]["stall_fees"] == pytest.approx(60.0)


def test_each_market_once_in_the_calendar() -> None:
    """On its Date, not on the day its bars must be ready; with what to bring and when it opens."""
    rows = ({"day": "Fair"}, {"day": "FAIR", "bars": 3, "needed_by": date(2027, 6, 1)}, {"day": "Sale"})
    file = icalendar.Calendar.from_ical(calendar(work_out(listed(FAIR, SALE, rows=rows)).run))
    markets = [event for event in file.walk("VEVENT") if "MARKET" in event.categories]
    assert [(event.start, str(event["summary"])) for event in markets] == [(SATURDAY, "Fair"), (LATER, "Sale")]
    assert "Opens 9 o'clock. Bring 8 x" in str(markets[0]["description"])
    assert "3 x" in str(markets[0]["description"])


@pytest.mark.parametrize(
    ("days", "rows", "codes"),
    [
        ((FAIR,), ({"day": "Fayre"},), {"cell_blank"}),
        ((), ({"day": "Fair"},), {"cell_blank"}),
        ((FAIR,), ({},), {"cell_blank"}),
        ((FAIR,), ({"day": "Fair", "needed_by": date(2027, 6, 13)},), {"needed_late"}),
        ((FAIR, replace(FAIR, day="FAIR")), ({"day": "Fair"},), {"name_twice"}),
        ((FAIR,), ({"day": "Fair", "needed_by": SATURDAY},), set()),
    ],
)  # fmt: skip
def test_refused(days: tuple[MarketDay, ...], rows: tuple[dict[str, Any], ...], codes: set[str]) -> None:
    """A row without a day, one whose bars come after their market, and two markets of one name."""
    assert {problem.code for problem in work_out(listed(*days, rows=rows)).problems} == codes


@pytest.mark.parametrize(
    ("rows", "codes"),
    [
        (({"day": "Fair"}, {"day": "Fairs", "needed_by": LATER}), {"day_unlisted"}),
        (({"day": "Fair"}, {"day": "Fair", "bars": 3}), {"row_twice"}),
        (({"day": "Fair", "price": 6.0}, {"day": "Fair", "price": 7.0, "needed_by": date(2027, 6, 9), "mould": "mould 0"}), {"price_differs"}),
        (({"day": "Fair"}, {"day": "Sale"}), set()),
    ],
)  # fmt: skip
def test_asked_about(rows: tuple[dict[str, Any], ...], codes: set[str]) -> None:
    """A market that is not listed, a row that is there twice, two prices for one soap on a day."""
    found = work_out(listed(FAIR, SALE, rows=rows))
    assert {warning.code for _, warning in found.run.workshop.doubts} & {
        "day_unlisted",
        "row_twice",
        "price_differs",
    } == codes


def test_two_spellings_of_one_day_are_asked_about() -> None:
    """Two rows of one date that name their market otherwise; with both listed they are two markets."""
    rows = ({"day": "Fair", "needed_by": SATURDAY}, {"day": "The fair", "needed_by": SATURDAY, "bars": 3})
    found = work_out(listed(rows=rows))
    assert "day_spelled" in {warning.code for _, warning in found.run.workshop.doubts}
    two = listed(FAIR, replace(FAIR, day="The fair"), rows=rows)
    assert "day_spelled" not in {warning.code for _, warning in work_out(two).run.workshop.doubts}


def test_market_that_is_over_is_asked_about() -> None:
    """A market of yesterday is over; one of today, or one whose bars should be ready by now, is not."""
    for day, ahead, told in (
        (date(2026, 11, 24), None, True),
        (date(2026, 11, 25), None, False),
        (date(2026, 11, 26), 4, False),
    ):
        doubts = scale(listed(replace(FAIR, date=day, days_ahead=ahead), rows=({"day": "Fair"},))).workshop.doubts
        assert ("day_past" in {warning.code for _, warning in doubts}) is told, day


def test_far_year_is_asked_about() -> None:
    """A market in 2073 is one of 2037 or 2027, mistyped."""
    found = work_out(listed(replace(FAIR, date=date(2073, 6, 12)), rows=({"day": "Fair"},)))
    assert "day_far" in {warning.code for _, warning in found.run.workshop.doubts}


@pytest.mark.parametrize(
    ("cell", "value"), [("C4", 50.0), ("B4", 46560.0), ("D4", 10.0), ("A4", "Other"), ("B4", None)]
)
def test_live_in_the_workbook(tmp_path: Path, cell: str, value: Any) -> None:
    """An edit of Market days is worked out by the workbook as by scaler; what is no longer planned for is said."""
    content = finished(work_out(listed(FAIR, SALE, rows=({"day": "Fair"}, {"day": "Sale"}))).run)
    path = tmp_path / "edited.xlsx"
    path.write_bytes(typed_over(content, {("Market days", cell): value}))
    there = recalculated(path)
    assert not [at for at, found in there.items() if str(found) in ERRORS]
    if cell == "C4":
        assert verify(path).stale
        money = {at: found for (sheet, at), found in there.items() if sheet == "Money"}
        assert money != {at: found for at, found in stored_values(content)["Money"].items() if at in money}
    else:
        assert (
            any("demand has changed" in str(found) for (sheet, _), found in there.items() if sheet == "Plan")
            or cell == "A4"
            or value is None
        )


def test_round_trip(tmp_path: Path) -> None:
    """Planned again from its finished workbook it is the same plan, and its days are there as typed."""
    path = tmp_path / "run.xlsx"
    workshop = listed(FAIR, SALE, rows=({"day": "Fair"}, {"day": "Sale"}))
    path.write_bytes(finished(work_out(workshop).run))
    assert verify(path).sound
    again = scaler.load(path)
    assert again.problems == ()
    assert [(item.day, item.date, item.stall_fee, item.days_ahead) for item in again.market_days] == [
        (item.day, item.date, item.stall_fee, item.days_ahead) for item in workshop.market_days
    ]
    assert [item.needed_by for item in again.market] == [None, None]
    answer = CliRunner().invoke(main, ["market", str(path), "-o", str(tmp_path / "again.xlsx")])
    assert answer.exit_code == 0, answer.output


def test_batches_ignore_market_days() -> None:
    """A run of batches alone is worked out beside them."""
    assert scale(listed(FAIR, rows=({"day": "Fair"},))).problems == ()
