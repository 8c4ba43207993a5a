"""What is kept of a commission on one line each: its steps with their days, money with its days, new days.

Both are written the same way, entries between semicolons, each a day and a word or an amount:
`moves: 2026-08-30 request; 2026-09-06 offered` and `paid: 2026-09-16 282; 2026-11-02 -120`.
A step may carry its time of day, which counts where the first to ask is the first served:
`moves: 2026-08-30 12:04 request`. A time that the clocks skip is refused. One that they show twice is the
first of both; the second is written `02:15B`, as German law letters that hour (Sommerzeitverordnung § 2).
Versions of the written terms are named by year and month, with a count from the second one in a month.
"""

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from decimal import Decimal
from enum import StrEnum
from typing import Annotated
from zoneinfo import ZoneInfo

from pydantic import Field

from sitegen.studio import money
from sitegen.studio.fields import Day, Entry, one_of, read_day, read_hours, read_time, typed, typed_in
from sitegen.studio.text import bare, quoted

_ENTRY = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})\s+(\S.*)")
_TIMED = re.compile(r"([0-9]{1,2}:[0-9]{2}B?)\s+(\S.*)")


class Step(StrEnum):
    """Where a commission stands, from first letter to parcel."""

    REQUEST = "request"
    WAITING = "waiting"
    OFFERED = "offered"
    ACCEPTED = "accepted"
    ON_THE_BENCH = "on the bench"
    FINISHED = "finished"
    PAID = "paid"
    SHIPPED = "shipped"
    DECLINED = "declined"  # by the maker, before anything was agreed
    WITHDRAWN = "withdrawn"  # by the client, before anything was agreed
    LAPSED = "lapsed"  # an offer that nobody answered in time
    CALLED_OFF = "called off"  # by either side, after the offer was accepted

    @property
    def said(self) -> str:
        """What an order is at this step, in a sentence."""
        return "a request" if self is Step.REQUEST else str(self)


class Move(Entry):
    """One step taken."""

    on: date
    step: Step
    at: time | None = None
    """The time of day by the studio's clock, where it counts."""

    @property
    def when(self) -> str:
        """The day, with its time if there's one, as it's written."""
        return f"{self.on} {write_time(self.at)}" if self.at is not None else str(self.on)

    def __str__(self) -> str:
        return f"{self.when} {self.step}"

    def span(self, zone: tzinfo) -> tuple[datetime, datetime]:
        """Return the first and last moment at which it may have been taken, in UTC.

        Without a time of day that's the whole day. A time that the clocks show twice is the first of both,
        unless it's written as the second (`02:15B`).
        """
        times = (time.min, time.max) if self.at is None else (self.at, self.at)
        first, last = (datetime.combine(self.on, at, zone).astimezone(UTC) for at in times)
        return first, last


class Receipt(Entry):
    """Money that came in; below zero for money sent back."""

    on: date
    amount: Decimal

    def __str__(self) -> str:
        return f"{self.on} {self.amount:f}"


class WeekWorked(Entry):
    """Hours at the bench in one week, which a day of it names."""

    on: date
    hours: Decimal

    def __str__(self) -> str:
        return f"{self.on} {bare(self.hours)}"


def in_a_line(entries: Iterable[Move | Receipt | WeekWorked | date]) -> str:
    """Write steps, money, hours or days on one line, as they're read."""
    return "; ".join(map(str, entries))


def read_worked(text: str) -> tuple[WeekWorked, ...]:
    """Read hours by the week, `2026-11-23 5.5; 2026-11-30 7`. Raises ValueError with a sentence."""
    return tuple(WeekWorked(on=day, hours=read_hours(word)) for day, word in _entries(text, "2026-11-23 5.5"))


def more_worked(weeks: tuple[WeekWorked, ...], day: date, hours: Decimal) -> tuple[WeekWorked, ...]:
    """Add hours to the week of a day, which its Monday names."""
    monday = monday_of(day)
    rest = tuple(week for week in weeks if monday_of(week.on) != monday)
    there = sum((worked.hours for worked in weeks if worked not in rest), hours)
    return (*rest, WeekWorked(on=monday, hours=there))


def monday_of(day: date) -> date:
    """Return the Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def read_moves(text: str, zone: ZoneInfo | None = None) -> tuple[Move, ...]:
    """Read steps with their days, by the clock of the studio's zone. Raises ValueError with a sentence."""
    moves = []
    for day, words in _entries(text, "2026-08-30 request"):
        timed = _TIMED.fullmatch(words)
        at = read_time(timed[1], day, zone) if timed else None
        moves.append(Move(on=day, step=one_of(Step)(timed[2] if timed else words), at=at))
    return tuple(moves)


def write_time(at: time) -> str:
    """Write a time of day as `read_time` reads it."""
    return f"{at:%H:%M}{'B' if at.fold else ''}"


def read_receipts(text: str, digits: int) -> tuple[Receipt, ...]:
    """Read amounts with their days, below zero for money sent back. Raises ValueError with a sentence."""
    receipts = []
    for day, word in _entries(text, "2026-09-16 282"):
        amount = money.read_amount(word.removeprefix("-"), digits)
        receipts.append(Receipt(on=day, amount=-amount if word.startswith("-") else amount))
    return tuple(receipts)


def read_prices(text: str, digits: int) -> tuple[Receipt, ...]:
    """Read prices with the days they are to hold from, the first day first. Raises ValueError."""
    steps = read_receipts(text, digits)
    if wrong := next((step for step in steps if step.amount <= 0), None):
        raise ValueError(f"{quoted(str(wrong))} is no price of that day; write it like 2027-02-01 506")
    return tuple(sorted(steps, key=lambda step: step.on))


def read_days(text: str) -> tuple[date, ...]:
    """Read days between semicolons, `2027-03-15; 2027-04-20`. Raises ValueError with a sentence."""
    return tuple(map(read_day, _parts(text)))


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(";") if part.strip()]


def _entries(text: str, example: str) -> list[tuple[date, str]]:
    entries = []
    for part in _parts(text):
        if (found := _ENTRY.fullmatch(part)) is None:
            raise ValueError(
                f"{quoted(part)} isn't a day and a word; write it like {example}, with ; between two"
            )
        entries.append((read_day(found[1]), found[2].strip()))
    return entries


INCLUDED = "included"


class Postage(Entry):
    """Postage as agreed on with one client. No part of the price, and so of no payment plan."""

    extra: Decimal | None = None
    """On top of the price; None where the price includes it."""


def read_postage(text: str, digits: int) -> Postage | None:
    """Read an amount, or `included`. Raises ValueError with a sentence."""
    bare = text.strip().casefold()
    if not bare:
        return None
    if bare == INCLUDED:
        return Postage()
    try:
        return Postage(extra=money.read_amount(text, digits))
    except ValueError as fault:
        raise ValueError(f"{fault}; postage is an amount, or the word {INCLUDED}") from None


def write_postage(postage: Postage, digits: int) -> str:
    """Write postage as `read_postage` reads it."""
    return INCLUDED if postage.extra is None else money.plain(postage.extra, digits)


Moves = Annotated[tuple[Move, ...], typed_in("zone", read_moves)]
Receipts = Annotated[tuple[Receipt, ...], typed_in("digits", read_receipts)]
PriceSteps = Annotated[tuple[Receipt, ...], typed_in("digits", read_prices)]
Worked = Annotated[tuple[WeekWorked, ...], typed(read_worked)]
DaysTold = Annotated[tuple[date, ...], typed(read_days)]
PostageLine = Annotated[Postage | None, typed_in("digits", read_postage)]


_VERSION = re.compile(r"([0-9]{4})-(0[1-9]|1[0-2])(?:-([2-9]|[1-9][0-9]))?")


def is_version(name: str) -> bool:
    """Say whether a name is one of a version."""
    return _VERSION.fullmatch(name) is not None


def read_version(text: str) -> str:
    """Read a version's name. Raises ValueError with a sentence."""
    if not is_version(text.strip()):
        raise ValueError(f"{quoted(text)} is no version of the terms; write year and month, like 2026-11")
    return text.strip()


class AcceptedTerms(Entry):
    """Which version of the written terms was agreed to, and when."""

    version: Annotated[str, typed(read_version)] = Field(examples=["2026-11"])
    """As kept below pages/: year and month, and a count for a second one in that month, `2026-11-2`."""
    on: Day = Field(examples=["2026-11-25"])


def in_order(names: Iterable[str]) -> tuple[str, ...]:
    """Sort versions, oldest first: 2026-11, 2026-11-2, 2026-11-10, 2026-12."""
    return tuple(sorted(names, key=_key))


def _key(name: str) -> tuple[str, int]:
    found = _VERSION.fullmatch(name)
    return (name[:7], int(found[3] or 1)) if found else (name, 0)


def next_version(names: Iterable[str], today: date) -> str:
    """Name the version that is kept today, so that it comes after all others."""
    month, newest = f"{today:%Y-%m}", next(reversed(in_order(names)), "")
    return month if newest[:7] < month else f"{newest[:7]}-{_key(newest)[1] + 1}"
