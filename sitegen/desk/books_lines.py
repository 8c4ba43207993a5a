"""The books for a person, on one screen; as a table for the accountant, CSV as RFC 4180 has it; and kept.

Every sum on the screen is the sum of rows there: income of the kinds sale, kept and refund; costs of
fees, supplies, show cost, overhead and expense. The other kinds say where money stands
and how many hours there were. A closed year is kept as it was on its day, whatever changes afterwards.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from pydantic import TypeAdapter

from sitegen.desk import words
from sitegen.desk.year import Year, an_hour
from sitegen.studio.asked import Fault
from sitegen.studio.money import total
from sitegen.studio.text import as_csv, bare

CAUTION = (
    "These are your own notes added up, before tax; no tax advice and no accounts. Show them to a licensed "
    "professional."
)
_BEHIND = "What each stream, piece and show left, and where the money stands: the same with --why."
HEADER = ("date", "kind", "stream", "what", "in", "out", "currency", "hours", "show")


class Books(Year):
    """A year's books that can be told to a person, and kept."""

    def table(self) -> str:
        """Write the rows for the accountant, as CSV, sorted by date, lines ended by CRLF."""
        rows = [
            (row.on, row.kind, row.stream, row.what,
             *(self.rates.plain(amount) if amount else "" for amount in (row.came, row.went)),
             self.rates.currency, bare(row.hours) if row.hours else "", row.show)
            for row in self.rows
        ]  # fmt: skip
        return as_csv([HEADER, *rows])

    caution = CAUTION

    def lines(self) -> list[str]:
        income = [(stream, self.said(amount)) for stream, amount in self.income.items() if amount]
        costs = [(kind, self.said(-amount)) for kind, amount in self.costs.items() if amount]
        wages = [
            (f"an hour {what} ({bare(hours)} h)", self.said(amount))
            for what, _, hours, amount, _ in self._wages
            if amount is not None
        ]
        rows = [*income, ("income", self.said(self.total)), *costs, ("left", self.said(self.left)), *wages]
        late, to_pay = [owed.code for owed in self.owed if owed.late], total(one.balance for one in self.owed)
        missing = f"Still to come: {self.said(to_pay)}{f'; late: {words.listed(late)}' if late else ''}."
        closed = f", closed on {self.closed}" if self.closed else ""
        return [
            f"The books of {self.year}{closed}",
            "",
            *words.table(rows),
            "",
            *self.hours_missing(),
            *([] if self.why else [*self.carrying(), *[missing] * bool(self.owed), "", _BEHIND]),
            *([*self._what_is_left(), *self._where_money_stands()] if self.why else []),
            *(f"Look: {caution}" for caution in self.cautions),
            CAUTION,
        ]

    @property
    def _wages(self) -> tuple[tuple[str, str, Decimal, Decimal | None, tuple[str, ...]], ...]:
        """What an hour earned of what was sold and of what was worked, of which hours, and whose lack."""
        return (
            ("sold", "sold", self.hours, self.hourly, self.no_hours),
            ("worked", "made", self.worked, self.worked_hourly, self.unnoted),
        )

    def hours_missing(self) -> list[str]:
        """Say whose hours are missing: an hour's wage worked out without them would be too high."""
        told = [
            f"What an hour {what} earned can't be told: no hours are noted for {words.listed(missing)}. "
            f"Noted for what was {done}: {bare(hours)} h."
            for what, done, hours, _, missing in self._wages
            if missing
        ]
        return [*told, ""] if told else []

    def carrying(self) -> list[str]:
        """Say which stream carries the year; nothing where none left anything."""
        if (best := self.carries) is None:
            return []
        hour = "" if best.hourly is None else f"; an hour of it earned {self.said(best.hourly)}"
        of = self.said(total(stream.earned for stream in self.streams))
        return [
            f"What carries {self.year}: {best.name}, with {self.said(best.earned)} of the {of} "
            f"that all streams left before overhead{hour}."
        ]

    def _what_is_left(self) -> list[str]:
        """Say what each stream, thing sold and show left, and what the open studio costs an hour."""
        streams = [
            (result.name, *map(self.said, (result.sales, result.spent, result.earned)),
             f"{self.said(result.hourly)} ({bare(result.hours)} h)" if result.hourly is not None else "")
            for result in self.streams
            if result.sales or result.spent
        ]  # fmt: skip
        results = [
            (thing.what, self.said(thing.amount), f"{bare(thing.hours)} h" if thing.hours else "")
            for thing in self.results
        ]
        results.append(("left", self.said(self.left), ""))
        sold = any(thing.sold for thing in self.results)
        shows = [(told.name, *map(self.said, (told.sales, told.costs, told.left))) for told in self.shows]
        by_stream = ("By stream", "income", "cost", "left", "an hour, before overhead and other expenses")
        of_shows = ("Shows", "sold", "cost", "left, before the hours and supplies of what was sold")
        return [
            *words.section(by_stream, streams),
            *self._running(),
            *words.section(("What it left", "", ""), results if sold else []),
            *words.section(of_shows, shows),
        ]

    def _running(self) -> list[str]:
        """Say what keeping the studio open costs an hour, by each way of counting hours."""
        ways = (
            (self.planned, "your weeks have room for"), (self.worked, "on record for what was made"),
            (self.hours, "in what was sold"),
        )  # fmt: skip
        rows = [
            (self.said(an_hour(self.running, hours, "", self.rates.digits)), f"of {bare(hours)} h {what}")
            for hours, what in ways
            if hours
        ]
        if not self.running or not rows:
            return []
        lead = f"Overhead, shows and other expenses, {self.said(self.running)}, come to this an hour:"
        return [lead, *words.table(rows), ""]

    def _where_money_stands(self) -> list[str]:
        """Say where the money stands that isn't income, or is and hasn't come."""
        before, after = self.before, self.after
        told = [
            f"{what}: {self.said(now)}" + (f" (as the year began: {self.said(then)})" if then else "")
            for what, then, now in (
                ("Paid in advance for work not yet sold", before.advance, after.advance),
                ("To go back (called off, or paid too much)", before.back, after.back),
                ("Sold and not paid yet", before.open, after.open),
            )
            if then or now
        ]
        back = f", {self.said(self.sent_back)}" if self.sent_back else ""
        came = f"Came in during the year, less what went back{back}: {self.said(self.received)}"
        rows = [
            (owed.code, *map(self.said, (owed.paid, owed.balance, owed.now)), "late" if owed.late else "")
            for owed in self.owed
        ]
        owed = words.section(("Still to come", "paid", "to pay", "due by now", ""), rows)
        return [*told, *([came, ""] if told else []), *owed]

    def closed_on(self, today: date) -> Books:
        """Close the year. Raises Fault while it still runs."""
        if self.year >= today.year:
            raise Fault(f"{self.year} isn't over; it can be closed from {self.year + 1}-01-01 on")
        return replace(self, closed=today)

    def as_kept(self) -> dict[str, Any]:
        """Return closed books as plain values: money as text, days as ISO 8601."""
        kept: dict[str, Any] = _shape().dump_python(self, mode="json", exclude={"cautions", "why", "asides"})
        return kept

    @staticmethod
    def from_kept(kept: Any, file: str) -> Books:
        """Read closed books back. Raises Fault for a file that something else wrote or cut."""
        try:
            return _shape().validate_python(kept)
        except ValueError as fault:
            raise Fault(
                f"{file} isn't as `sitegen books --close` wrote it; bring it back from a backup, or delete "
                "it and close the year again"
            ) from fault

    def differences(self, now: Books) -> tuple[str, ...]:
        """Say what a closed year's files would add up to today, where that isn't what was kept."""
        told = [
            f"{name} {now.rates.plain(is_now)}, not {self.rates.plain(was)}"
            for name, was, is_now in (
                ("income", self.total, now.total),
                ("costs", self.total - self.left, now.total - now.left),
                ("what came in", self.received, now.received),
                ("the advance at its end", self.after.advance, now.after.advance),
            )
            if was != is_now
        ]
        if not told:
            return ()
        return (
            f"{self.year} was closed on {self.closed}; as the files and rates are now, it would have "
            f"{'; '.join(told)}. What was closed holds.",
        )


@cache
def _shape() -> TypeAdapter[Books]:
    return TypeAdapter(Books)
