"""A closed year: its books as they were on the day they were closed, whatever changes afterwards."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from sitegen.desk.books_lines import Books
from sitegen.desk.fault import DeskFault
from sitegen.desk.year import Rates, Row

FORMAT = 1


def closed(books: Books, today: date) -> Books:
    """Close a year's books. Raises DeskFault while the year still runs."""
    if books.year >= today.year:
        raise DeskFault(f"{books.year} isn't over; it can be closed from {books.year + 1}-01-01 on")
    return replace(books, closed=today)


def as_kept(books: Books) -> dict[str, Any]:
    """Return closed books as plain values: money as text, days as ISO 8601."""
    rates = books.rates
    return {
        "format": FORMAT,
        "year": books.year,
        "closed": str(books.closed),
        "rates": {
            "currency": rates.currency, "digits": rates.digits, "fees": str(rates.fees),
            "overhead": _text(rates.overhead), "months": rates.months, "rate": _text(rates.rate),
        },
        "rows": [
            [*map(str, (row.on, row.kind, row.stream, row.what, row.came, row.went, row.hours, row.show))]
            for row in books.rows
        ],
    }  # fmt: skip


def from_kept(kept: Any, file: str) -> Books:
    """Read closed books back. Raises DeskFault for a file that something else wrote or cut."""
    try:
        rates = kept["rates"]
        return Books(
            year=int(kept["year"]),
            rates=Rates(
                str(rates["currency"]), int(rates["digits"]), Decimal(rates["fees"]),
                _amount(rates["overhead"]), int(rates["months"]), _amount(rates["rate"]),
            ),
            rows=tuple(_row(one) for one in kept["rows"]),
            closed=date.fromisoformat(kept["closed"]),
        )  # fmt: skip
    except (KeyError, TypeError, ValueError, InvalidOperation, AttributeError) as fault:
        raise DeskFault(
            f"{file} isn't as `sitegen books --close` wrote it; bring it back from a backup, or delete it "
            "and close the year again"
        ) from fault


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


def _text(amount: Decimal | None) -> str | None:
    return None if amount is None else str(amount)


def _amount(text: Any) -> Decimal | None:
    return None if text is None else Decimal(text)


def _row(kept: Any) -> Row:
    on, kind, stream, what, came, went, hours, show = kept
    day, amounts = date.fromisoformat(on), (Decimal(came), Decimal(went), Decimal(hours))
    return Row(day, str(kind), str(stream), str(what), *amounts, str(show))
