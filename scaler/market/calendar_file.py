"""The calendar of a market run as an .ics file for the phone (RFC 5545): all-day events, the same bytes on every run."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from scaler.market.demand import listed_day, market_date
from scaler.model.problems import counted
from scaler.model.records import MADE
from scaler.rules.imperial import OUNCES, full_grams, full_ounce_parts, with_grams
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
    found += [*_lots(run), *_on_hand(run), *_markets(run)]
    return sorted(found, key=lambda event: (event.day, KINDS.index(event.kind)))


def _of_batch(run: Run, place: int, batch: Batch) -> Iterator[Event]:
    what = f"{batch.recipe}, batch {batch.batch}"
    where = f"{batch.mould} x {batch.moulds_filled:g}" if batch.moulds_filled != 1 else batch.mould
    key, bars = batch.batch, counted(batch.bars, "bar")
    lye = ", ".join(f"{alkali.ingredient} {_weighed(run, alkali.weigh_g)}" for alkali in batch.alkalis)
    text = f"In {where}: {bars}. Lye: {lye}. The card of the batch has every weight."
    unmould = day_of(run.tables.column("batches", "unmould_on")[place])
    if batch.make_date:
        yield Event(batch.make_date, "make", f"Make {what}", text, key)
    if unmould:
        yield Event(unmould, "unmould", f"Unmould {what}", f"Out of {where}: {bars} to cut and cure.", key)
    if batch.ready_date:
        yield Event(batch.ready_date, "ready", f"Ready: {what}", f"{bars} cured.", key)


_DIGITS = 2
"""Digits of grams behind the ounces."""


def _weighed(run: Run, grams: float) -> str:
    """Return a weight of alkali in words: pounds and ounces where those are shown, grams beside; else grams."""
    if run.tables.one("costs", "display_units") != OUNCES or not grams:
        return f"{grams:,.10g} g"
    named = ("g_per_oz", "ounce_step", "oz_per_lb", "percent")
    of_oz, step, of_lb, parts = (run.tables.one("constants", name) for name in named)
    return str(
        with_grams(full_grams(grams, parts), full_ounce_parts(grams, of_oz, step), of_lb / step, 1 / step, _DIGITS)
    )


def _lots(run: Run) -> Iterator[Event]:
    """Yield the days of each batch that is made; those of one that failed fall away."""
    for place, item in enumerate(run.workshop.done):
        row = run.tables.row("lots", place)
        if item.state == MADE:
            what, bars = f"{item.recipe}, batch {item.batch}", counted(row["lot_bars"], "bar")
            days = [day_of(row[name]) for name in ("lot_made", "lot_free", "lot_ready")]
            titles = (f"Made {what}", f"Unmould {what}", f"Ready: {what}")
            texts = (f"{bars} fit to sell.", f"{bars} to cut and cure.", f"{bars} cured.")
            for day, kind, title, text in zip(days, KINDS, titles, texts, strict=False):
                if day:
                    yield Event(day, kind, title, text, item.batch or "")


def _on_hand(run: Run) -> Iterator[Event]:
    """Yield the day on which each lot on hand that still cures is ready."""
    for place, item in enumerate(run.workshop.on_hand, 1):
        if item.ready_date:
            title, text = f"Ready: {item.recipe}, on hand", f"{counted(item.bars, 'bar')} cured."
            yield Event(item.ready_date, "ready", title, text, f"on hand {place}")


def _markets(run: Run) -> Iterator[Event]:
    days: dict[tuple[date, str, str], list[str]] = {}
    for place, item in enumerate(run.workshop.market):
        listed = listed_day(run, place)
        name, opens = (listed.day, listed.opens or "") if listed else (item.day or "", "")
        days.setdefault((market_date(run, place), name, opens), []).append(f"{item.bars} x {item.recipe}")
    for (day, name, opens), bars in days.items():
        says = f"Opens {opens}. " if opens else ""
        yield Event(day, "market", name or "Market", f"{says}Bring {', '.join(bars)}.", f"{day} {name}")


def calendar(run: Run, before: Iterable[bytes] = ()) -> bytes:
    """Return the .ics file of a market run; events of the same run in calendars before it that fell away are cancelled."""
    stamp = day_of(run.tables.one("costs", "worked_out_on")) or date(1970, 1, 1)
    name = _hashed(f"{run.tables.column('money', 'first_market')[0]:g}")[:8]
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN", "METHOD:PUBLISH"]
    held = {f"{name}-{_hashed(event.kind, event.key)}@scaler.invalid": event for event in events(run)}
    known = {uid: event for old in before for uid, event in _read(old) if uid.startswith(f"{name}-")}
    revision = (stamp - _FIRST).days
    for uid, event in held.items():
        lines += _revised(_lines(event, uid, stamp), known.get(uid, []), revision)
    for uid, old in known.items():
        if uid not in held:
            lines += _revised(list(_cancelled(old)), old, revision)
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in folded(line)).encode()


def _hashed(*words: str) -> str:
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:24]


def _lines(event: Event, uid: str, stamp: date) -> list[str]:
    """Return the lines of an event."""
    alarm = [
        "BEGIN:VALARM", "ACTION:DISPLAY", f"DESCRIPTION:{escaped('Tomorrow: ' + event.title)}", "TRIGGER:-PT6H", "END:VALARM",
    ]  # fmt: skip
    return [
        "BEGIN:VEVENT",
        f"UID:{uid}",
        f"DTSTAMP:{stamp:%Y%m%d}T000000Z",
        _SEQUENCE,
        f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}",
        f"DTEND;VALUE=DATE:{event.day + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{escaped(event.title)}",
        f"DESCRIPTION:{escaped(event.text)}",
        f"CATEGORIES:{event.kind.upper()}",
        "TRANSP:TRANSPARENT",
        *(alarm if event.kind == "make" and event.title.startswith("Make") else []),
        "END:VEVENT",
    ]


_SEQUENCE = "SEQUENCE:"
_CANCELLED = "STATUS:CANCELLED"


def _read(calendar: bytes) -> Iterator[tuple[str, list[str]]]:
    """Yield the name and the lines of each event of a calendar of ours."""
    event: list[str] = []
    for line in calendar.decode("utf-8", "replace").replace("\r\n ", "").split("\r\n"):
        event = [line] if line == "BEGIN:VEVENT" else [*event, line]
        if line == "END:VEVENT":
            yield next((held[len("UID:") :] for held in event if held.startswith("UID:")), ""), event


def _cancelled(event: list[str]) -> Iterator[str]:
    """Yield the lines of an event that fell away, cancelled, without its alarm."""
    alarm = False
    for line in event:
        alarm = alarm or line == "BEGIN:VALARM"
        if not alarm and line != _CANCELLED:
            yield line
        if line.startswith("UID:"):
            yield _CANCELLED
        alarm = alarm and line != "END:VALARM"


def _revised(event: list[str], old: list[str], revision: int) -> Iterator[str]:
    """Yield an event's lines with its revision: later than that of the old one when anything is other than there."""
    was = next((int(line[len(_SEQUENCE) :]) for line in old if line.startswith(_SEQUENCE)), revision)
    other = _said(event) != _said(old)
    number = max(revision, was + 1) if old and other else was if old else revision
    for line in event:
        yield f"{_SEQUENCE}{number}" if line.startswith(_SEQUENCE) else line


def _said(event: list[str]) -> list[str]:
    return [line for line in event if not line.startswith((_SEQUENCE, "DTSTAMP:"))]


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
