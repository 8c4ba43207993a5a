"""A closed year: its books as they were on the day they were closed, whatever changes afterwards."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

from pydantic import TypeAdapter

from sitegen.desk.books_lines import Books
from sitegen.studio.fault import Fault


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
