"""The calendar of a market run as an .ics file for the phone (RFC 5545): all-day events, the same bytes on every run."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from scaler.rules.results import Batch, Run
from scaler.rules.tables import day_of

PRODUCT = "-//scaler//market run//EN"
_FIRST = date(2020, 1, 1)
"""Revisions of an event are numbered by the day of the plan, counted from here: a later plan replaces an earlier one."""
LONGEST_LINE = 75
"""Octets of a line, its end not counted (RFC 5545, 3.1)."""


@dataclass(frozen=True)
class Event:
    """Something that happens on a day.

    Attributes:
        day: the day.
        kind: make, unmould, ready or market.
        title: what a calendar shows.
        text: what it shows when the event is opened.
        key: what tells it from every other event of its kind in the run, whatever its day.
    """

    day: date
    kind: str
    title: str
    text: str
    key: str


KINDS = ("make", "unmould", "ready", "market")


def events(run: Run) -> list[Event]:
    """Return every event of a market run, in the order of the days."""
    found = [event for place, batch in enumerate(run.batches) for event in _of_batch(run, place, batch)]
    found += [*_on_hand(run), *_markets(run)]
    return sorted(found, key=lambda event: (event.day, KINDS.index(event.kind)))


def _of_batch(run: Run, place: int, batch: Batch) -> Iterator[Event]:
    what = f"{batch.recipe}, batch {batch.batch}"
    where = f"{batch.mould} x {batch.moulds_filled:g}" if batch.moulds_filled != 1 else batch.mould
    key = batch.batch
    lye = ", ".join(f"{alkali.ingredient} {alkali.weigh_g:,.10g} g" for alkali in batch.alkalis)
    text = f"In {where}: {batch.bars:g} bars. Lye: {lye}. The card of the batch has every weight."
    unmould = day_of(run.tables.column("batches", "unmould_on")[place])
    if batch.make_date:
        yield Event(batch.make_date, "make", f"Make {what}", text, key)
    if unmould:
        yield Event(unmould, "unmould", f"Unmould {what}", f"Out of {where}: {batch.bars:g} bars to cut and cure.", key)
    if batch.ready_date:
        yield Event(batch.ready_date, "ready", f"Ready: {what}", f"{batch.bars:g} bars are cured.", key)


def _on_hand(run: Run) -> Iterator[Event]:
    """Yield the day on which each lot on hand that still cures is ready."""
    for place, item in enumerate(run.workshop.on_hand, 1):
        if item.ready_date:
            yield Event(
                item.ready_date,
                "ready",
                f"Ready: {item.recipe}, on hand",
                f"{item.bars} bars are cured.",
                f"on hand {place}",
            )


def _markets(run: Run) -> Iterator[Event]:
    days: dict[tuple[date, str], list[str]] = {}
    for item in run.workshop.market:
        days.setdefault((item.needed_by, item.day or ""), []).append(f"{item.bars} x {item.recipe}")
    for (day, name), bars in days.items():
        yield Event(day, "market", name or "Market", "Bring " + ", ".join(bars) + ".", f"{day} {name}")


def calendar(run: Run) -> bytes:
    """Return the .ics file of a market run."""
    stamp = day_of(run.tables.one("costs", "worked_out_on")) or date(1970, 1, 1)
    market = min(item.needed_by for item in run.workshop.market)
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN", "METHOD:PUBLISH"]
    for event in events(run):
        lines += _lines(event, stamp, market)
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in folded(line)).encode()


def _lines(event: Event, stamp: date, market: date) -> list[str]:
    """Return the lines of an event; in another plan for the same first market day it has the same name."""
    alarm = [
        "BEGIN:VALARM", "ACTION:DISPLAY", f"DESCRIPTION:{escaped('Tomorrow: ' + event.title)}", "TRIGGER:-PT6H", "END:VALARM",
    ]  # fmt: skip
    name = hashlib.sha256("\n".join((market.isoformat(), event.kind, event.key)).encode()).hexdigest()[:24]
    return [
        "BEGIN:VEVENT",
        f"UID:{name}@scaler.invalid",
        f"DTSTAMP:{stamp:%Y%m%d}T000000Z",
        f"SEQUENCE:{(stamp - _FIRST).days}",
        f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}",
        f"DTEND;VALUE=DATE:{event.day + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{escaped(event.title)}",
        f"DESCRIPTION:{escaped(event.text)}",
        f"CATEGORIES:{event.kind.upper()}",
        "TRANSP:TRANSPARENT",
        *(alarm if event.kind == "make" else []),
        "END:VEVENT",
    ]


def escaped(text: str) -> str:
    r"""Return a text as RFC 5545, 3.3.11 writes it.

    >>> print(escaped("Salt, oats; 5 kg"))
    Salt\, oats\; 5 kg
    """
    for sign in ("\\", ";", ","):
        text = text.replace(sign, "\\" + sign)
    return text.replace("\r\n", "\\n").replace("\n", "\\n").replace("\r", "")


def folded(line: str) -> Iterator[str]:
    """Yield a line in parts of at most 75 octets, no sign broken in two; all but the first begin with a space.

    >>> [len(part) for part in folded("x" * 100)]
    [75, 26]
    """
    held, size = "", 0
    for sign in line:
        octets = len(sign.encode())
        if size + octets > LONGEST_LINE:
            yield held
            held, size = " ", 1
        held, size = held + sign, size + octets
    yield held
