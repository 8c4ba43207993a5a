"""The books for a person, on one screen; and as a table for the accountant, CSV as RFC 4180 has it.

Every sum on the screen is the sum of rows there: income of the kinds sale, kept and refund; costs of
fees, supplies, show cost, overhead and expense. The other kinds say where money stands
and how many hours there were.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from pydantic import TypeAdapter

from sitegen.desk import words
from sitegen.desk.year import Year
from sitegen.studio import money
from sitegen.studio.fault import Fault
from sitegen.studio.text import bare, guarded

CAUTION = (
    "These are your own notes added up, before tax; no tax advice and no accounts. Show them to a licensed "
    "professional."
)


class Books(Year):
    """A year's books that can be told to a person."""

    def table(self) -> str:
        """Write the rows for the accountant, as CSV."""
        return ledger(self)

    def lines(self) -> list[str]:
        """Write the books for a person."""
        income = [(stream, _money(self, amount)) for stream, amount in self.income.items() if amount]
        costs = [(kind, _money(self, -amount)) for kind, amount in self.costs.items() if amount]
        rows = [*income, ("income", _money(self, self.total)), *costs, ("left", _money(self, self.left))]
        closed = f", closed on {self.closed}" if self.closed else ""
        return [
            f"The books of {self.year}{closed}",
            "",
            *words.table([*rows, *_wage_rows(self)], right=(1,)),
            "",
            *_hours_lines(self),
            *_running_lines(self),
            *_result_lines(self),
            *_show_lines(self),
            *_money_lines(self),
            *_owed_lines(self),
            *(f"Look: {caution}" for caution in self.cautions),
            CAUTION,
        ]


def _wage_rows(books: Year) -> list[tuple[str, str]]:
    hours = ((books.hours, books.hourly, "sold"), (books.worked, books.worked_hourly, "worked"))
    return [
        (f"an hour {what} ({bare(count)} h)", _money(books, amount))
        for count, amount, what in hours
        if amount is not None
    ]


def _running_lines(books: Year) -> list[str]:
    """Say what keeping the studio open costs an hour, by each way of counting hours."""
    counted = [
        (hours, what)
        for hours, what in (
            (books.planned, "your weeks have room for"),
            (books.worked, "on record for what was made"),
            (books.hours, "in what was sold"),
        )
        if hours
    ]
    running, digits = books.running, books.rates.digits
    if not running or not counted:
        return []
    rows = [
        (
            _money(books, money.round_half_up(running / hours, digits)),
            f"of {bare(hours)} h {what}",
        )
        for hours, what in counted
    ]
    lead = f"Overhead, shows and other expenses, {_money(books, running)}, come to this an hour:"
    return [lead, *words.table(rows, right=(0,)), ""]


def _result_lines(books: Year) -> list[str]:
    """Say what each thing sold left after fees and supplies; with what none carries it sums to left."""
    results = books.results
    if not any(one.sold for one in results):
        return []
    rows = [
        (one.what, _money(books, one.amount), f"{bare(one.hours)} h" if one.hours else "") for one in results
    ]
    return [
        *words.table(
            [("What it left", "", ""), *rows, ("left", _money(books, books.left), "")], right=(1, 2)
        ),
        "",
    ]


def _hours_lines(books: Year) -> list[str]:
    """Say whose hours are missing: an hour's wage worked out without them would be too high."""
    told = [
        f"What an hour {what} earned can't be told: no hours are noted for {words.listed(missing)}. "
        f"Noted for what was {done}: {bare(hours)} h."
        for what, done, missing, hours in (
            ("sold", "sold", books.no_hours, books.hours),
            ("worked", "made", books.unnoted, books.worked),
        )
        if missing
    ]
    return [*told, ""] if told else []


def _show_lines(books: Year) -> list[str]:
    if not books.shows:
        return []
    rows = [("Shows", "sold", "cost", "left, before the hours and supplies of what was sold")]
    rows += [
        (one.name, _money(books, one.sales), _money(books, one.costs), _money(books, one.left))
        for one in books.shows
    ]
    return [*words.table(rows), ""]


def _money_lines(books: Year) -> list[str]:
    """Say where the money stands that isn't income, or is and hasn't come."""
    before, after = books.before, books.after
    stands = [
        ("Paid in advance for work not yet sold", before.advance, after.advance),
        ("To go back (called off, or paid too much)", before.back, after.back),
        ("Sold and not paid yet", before.open, after.open),
    ]
    told = [
        f"{what}: {_money(books, now)}" + (f" (as the year began: {_money(books, then)})" if then else "")
        for what, then, now in stands
        if then or now
    ]
    if not told:
        return []
    return [*told, f"Came in during the year, less what went back: {_money(books, books.received)}", ""]


def _owed_lines(books: Year) -> list[str]:
    if not books.owed:
        return []
    rows = [("Still to come", "paid", "to pay", "due by now", "")]
    rows += [
        (
            one.code,
            _money(books, one.paid),
            _money(books, one.balance),
            _money(books, one.now),
            "late" if one.late else "",
        )
        for one in books.owed
    ]
    return [*words.table(rows), ""]


def _money(books: Year, amount: Decimal) -> str:
    return words.in_currency(amount, books.rates.currency, books.rates.digits)


HEADER = ("date", "kind", "stream", "what", "in", "out", "currency", "hours", "show")
# A cell that starts so is run as a formula by spreadsheets (OWASP, CSV Injection; ASVS 5.0, 1.2.10).


def ledger(books: Year) -> str:
    """Write a year's rows as CSV, sorted by date, lines ended by CRLF."""
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(HEADER)
    for row in books.rows:
        amounts = [books.plain(one) if one else "" for one in (row.came, row.went)]
        hours = bare(row.hours) if row.hours else ""
        words = [row.on.isoformat(), row.kind, row.stream, guarded(row.what)]
        writer.writerow([*words, *amounts, books.rates.currency, hours, guarded(row.show)])
    return file.getvalue()


def closed(books: Books, today: date) -> Books:
    """Close a year's books. Raises Fault while the year still runs."""
    if books.year >= today.year:
        raise Fault(f"{books.year} isn't over; it can be closed from {books.year + 1}-01-01 on")
    return replace(books, closed=today)


def as_kept(books: Books) -> dict[str, Any]:
    """Return closed books as plain values: money as text, days as ISO 8601."""
    kept: dict[str, Any] = _shape().dump_python(books, mode="json", exclude={"cautions"})
    return kept


def from_kept(kept: Any, file: str) -> Books:
    """Read closed books back. Raises Fault for a file that something else wrote or cut."""
    try:
        return _shape().validate_python(kept)
    except ValueError as fault:
        raise Fault(
            f"{file} isn't as `sitegen books --close` wrote it; bring it back from a backup, or delete it "
            "and close the year again"
        ) from fault


@cache
def _shape() -> TypeAdapter[Books]:
    return TypeAdapter(Books)


def differences(kept: Books, now: Books) -> tuple[str, ...]:
    """Say what a closed year's files would add up to today, where that isn't what was kept."""
    told = []
    for name, was, is_now in (
        ("income", kept.total, now.total),
        ("costs", kept.total - kept.left, now.total - now.left),
        ("what came in", kept.received, now.received),
        ("the advance at its end", kept.advance, now.advance),
    ):
        if was != is_now:
            told.append(f"{name} {now.plain(is_now)}, not {kept.plain(was)}")
    if not told:
        return ()
    return (
        f"{kept.year} was closed on {kept.closed}; as the files and rates are now, it would have "
        f"{'; '.join(told)}. What was closed holds.",
    )
