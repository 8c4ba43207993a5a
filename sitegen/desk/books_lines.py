"""The books for a person, on one screen; as a table for the accountant, CSV as RFC 4180 has it; and kept.

Every sum on the screen is the sum of rows there: income of the kinds sale, kept and refund; costs of
fees, supplies, show cost, overhead and expense. The other kinds say where money stands
and how many hours there were. A closed year is kept as it was on its day, whatever changes afterwards.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

from pydantic import TypeAdapter

from sitegen.desk import words
from sitegen.desk.year import BooksRow, Year
from sitegen.studio import money
from sitegen.studio.coins import total
from sitegen.studio.fault import Fault
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
        return as_csv([HEADER, *map(self._cells, self.rows)])

    def _cells(self, row: BooksRow) -> list[str]:
        amounts = [self.plain(one) if one else "" for one in (row.came, row.went)]
        hours = bare(row.hours) if row.hours else ""
        said = [row.on.isoformat(), row.kind, row.stream, row.what]
        return [*said, *amounts, self.rates.currency, hours, row.show]

    caution = CAUTION

    def lines(self) -> list[str]:
        income = [(stream, self.said(amount)) for stream, amount in self.income.items() if amount]
        costs = [(kind, self.said(-amount)) for kind, amount in self.costs.items() if amount]
        wages = [
            (f"an hour {what} ({bare(hours)} h)", self.said(amount))
            for hours, amount, what in (
                (self.hours, self.hourly, "sold"), (self.worked, self.worked_hourly, "worked"),
            )
            if amount is not None
        ]  # fmt: skip
        rows = [*income, ("income", self.said(self.total)), *costs, ("left", self.said(self.left))]
        closed = f", closed on {self.closed}" if self.closed else ""
        evidence = (
            *self._of_streams(), *self._running(), *self._results(), *self._of_shows(),
            *self._where_money_stands(), *self._still_to_come(),
        )  # fmt: skip
        return [
            f"The books of {self.year}{closed}",
            "",
            *words.table([*rows, *wages]),
            "",
            *self.hours_missing(),
            *(evidence if self.why else [*self.carrying(), *self._missing(), "", _BEHIND]),
            *(f"Look: {caution}" for caution in self.cautions),
            CAUTION,
        ]

    def hours_missing(self) -> list[str]:
        """Say whose hours are missing: an hour's wage worked out without them would be too high."""
        told = [
            f"What an hour {what} earned can't be told: no hours are noted for {words.listed(missing)}. "
            f"Noted for what was {done}: {bare(hours)} h."
            for what, done, missing, hours in (
                ("sold", "sold", self.no_hours, self.hours), ("worked", "made", self.unnoted, self.worked),
            )
            if missing
        ]  # fmt: skip
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

    def _missing(self) -> list[str]:
        """Say in one sentence what is still to come."""
        late, to_pay = [one.code for one in self.owed if one.late], total(one.balance for one in self.owed)
        said = f"Still to come: {self.said(to_pay)}{f'; late: {words.listed(late)}' if late else ''}."
        return [said] if self.owed else []

    def _of_streams(self) -> list[str]:
        head = ("By stream", "income", "cost", "left", "an hour, before overhead and other expenses")
        rows = [
            (stream.name, *map(self.said, (stream.sales, stream.spent, stream.earned)),
             f"{self.said(stream.hourly)} ({bare(stream.hours)} h)" if stream.hourly is not None else "")
            for stream in self.streams
            if stream.sales or stream.spent
        ]  # fmt: skip
        return words.section(head, rows)

    def _running(self) -> list[str]:
        """Say what keeping the studio open costs an hour, by each way of counting hours."""
        rows = [
            (
                self.said(money.round_half_up(self.running / hours, self.rates.digits)),
                f"of {bare(hours)} h {what}",
            )
            for hours, what in (
                (self.planned, "your weeks have room for"),
                (self.worked, "on record for what was made"),
                (self.hours, "in what was sold"),
            )
            if hours
        ]
        if not self.running or not rows:
            return []
        lead = f"Overhead, shows and other expenses, {self.said(self.running)}, come to this an hour:"
        return [lead, *words.table(rows), ""]

    def _results(self) -> list[str]:
        """Say what each thing sold left after fees and supplies; with what none carries it sums to left."""
        results = self.results
        if not any(result.sold for result in results):
            return []
        rows = [
            (one.what, self.said(one.amount), f"{bare(one.hours)} h" if one.hours else "") for one in results
        ]
        head, foot = ("What it left", "", ""), ("left", self.said(self.left), "")
        return words.section(head, [*rows, foot])

    def _of_shows(self) -> list[str]:
        head = ("Shows", "sold", "cost", "left, before the hours and supplies of what was sold")
        rows = [(show.name, *map(self.said, (show.sales, show.costs, show.left))) for show in self.shows]
        return words.section(head, rows)

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
        return [*told, came, ""] if told else []

    def _still_to_come(self) -> list[str]:
        head = ("Still to come", "paid", "to pay", "due by now", "")
        rows = [
            (one.code, *map(self.said, (one.paid, one.balance, one.now)), "late" if one.late else "")
            for one in self.owed
        ]
        return words.section(head, rows)

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
            f"{name} {now.plain(is_now)}, not {self.plain(was)}"
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
