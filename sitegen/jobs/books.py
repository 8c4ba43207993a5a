"""The books: a year added up from the files, or as it was when it was closed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

from sitegen.desk import books as accounts
from sitegen.desk import closing
from sitegen.desk.books_lines import Books
from sitegen.desk.ledger import ledger as as_table
from sitegen.jobs.desk import BOOKS, read_studio, today_of
from sitegen.jobs.pen import writes
from sitegen.sources import Complaint
from sitegen.sources.closed import closed_years, name_of, read_closed, write_closed
from sitegen.sources.complaints import Level
from sitegen.studio.fault import Fault
from sitegen.studio.purses import purses
from sitegen.studio.whole import Studio


def books(folder: Path, today: str | None, year: int | None) -> Books:
    """Add up a year; one that is closed is told as it was closed, with what its files say otherwise now."""
    studio = read_studio(folder, BOOKS)
    day = today_of(studio, today)
    found = accounts.books(studio, year or day.year, day)
    kept = _kept(folder, found.year)
    if kept is not None:
        return replace(kept, cautions=(*found.cautions, *closing.differences(kept, found)))
    return replace(found, cautions=(*found.cautions, *_carried_over(folder, found)))


def ledger(folder: Path, today: str | None, year: int | None) -> str:
    """Write a year as CSV."""
    return as_table(books(folder, today, year))


@writes
def close(folder: Path, today: str | None, year: int | None) -> tuple[Books, Path]:
    """Close a year: its rates, overhead, fees and every row are kept. Raises Fault while it still runs."""
    studio = read_studio(folder, BOOKS)
    day = today_of(studio, today)
    found = closing.closed(accounts.books(studio, year or day.year - 1, day), day)
    return found, write_closed(folder, found.year, closing.as_kept(found))


def complaints(folder: Path, studio: Studio, day: date) -> Iterator[Complaint]:
    """Name the closed years whose files would add up to something else now."""
    years = tuple(closed_years(folder))
    found = purses(studio) if years else ()
    for year in years:
        try:
            kept = _kept(folder, year)
            told = closing.differences(kept, accounts.year_of(studio, found, year, day)) if kept else ()
        except Fault as fault:
            told = (str(fault).removeprefix(f"{name_of(year)} "),)
        for sentence in told:
            yield Complaint(name_of(year), 0, sentence, Level.WARNING)


def _kept(folder: Path, year: int) -> Books | None:
    kept = read_closed(folder, year)
    return None if kept is None else closing.from_kept(kept, name_of(year))


def _carried_over(folder: Path, found: Books) -> Iterator[str]:
    """Say where a year begins with another advance than the closed one before it ended with."""
    last = _kept(folder, found.year - 1)
    if last is not None and last.after != found.before:
        yield (
            f"{last.year} was closed with {last.plain(last.advance)} in advance, "
            f"{last.plain(last.to_return)} to go back and {last.plain(last.after.open)} unpaid; by the files "
            f"as they are now, {found.year} begins with {found.plain(found.before.advance)}, "
            f"{found.plain(found.before.back)} and {found.plain(found.before.open)}."
        )
