"""Answer the artist: read the studio, ask the desk. Nothing is written, but a year when it's closed."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterator
from contextlib import nullcontext
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path
from urllib.parse import quote as quoted

from sitegen.desk import books as accounts
from sitegen.desk import plan as plans
from sitegen.desk import prices as beside
from sitegen.desk import slots as fitting
from sitegen.desk.ahead import Ahead
from sitegen.desk.ahead import ahead as money_ahead
from sitegen.desk.books_lines import Books
from sitegen.desk.find import Sitting, read_day, share_in
from sitegen.desk.slots import SlotsAnswer as SlotsAnswer  # noqa: PLC0414 (a picture is made of it)
from sitegen.desk.week import MOST_WEEKS, USUAL_WEEKS, Mark, MarkKind, Week
from sitegen.desk.week import WeekPlan as WeekPlan  # noqa: PLC0414 (the desk shows one)
from sitegen.desk.week import week as plan_of_weeks
from sitegen.desk.worth import PieceWorth, WorthWish, piece_worth, quote
from sitegen.desk.years import Booking, BookingWish, Shows, Years, before_booking, brought, years_with_any
from sitegen.disk.files import lay
from sitegen.jobs.reading import BOOKS, ORDERS, PEOPLE, PIECES, Made, look_of, once, sit
from sitegen.jobs.where import NoStudio, find_studio, pen
from sitegen.sources import Complaint
from sitegen.sources import kept as keeping
from sitegen.sources.text import Level
from sitegen.studio.asked import Fault, ask, wish
from sitegen.studio.capacity.bench import Away
from sitegen.studio.front import front_of_house
from sitegen.studio.public import sheet_code
from sitegen.studio.purses import purses
from sitegen.studio.register import Register
from sitegen.studio.register import register as register_of
from sitegen.studio.text import bare
from sitegen.studio.whole import Studio
from sitegen.voice.calendar import Event, calendar

_SHEET = re.compile(r"\bsheet ([A-Z0-9]+)\b", re.IGNORECASE)  # how the evidence of a person names a sheet


def prices(folder: Path, today: str | None) -> beside.Prices:
    """Put every price paid, agreed on or asked for beside the others."""
    return _worked_out(sit(folder, today, BOOKS), beside.prices)


def _worked_out(sitting: Sitting, make: Callable[..., Made], *wished: Hashable) -> Made:
    """Have the desk make an answer of the studio as read, its day and what is wished; the same once only."""
    studio, day = sitting.studio, sitting.today
    return once(studio, (make.__module__, *wished), day, partial(make, studio, day, *wished))


def register(folder: Path, today: str | None) -> Register:
    """Say which piece has which studio number, also of pieces that are gone, and where each is."""
    sitting = sit(folder, today, PIECES)
    return register_of(sitting.studio, keeping.read_register(folder), sitting.today)


def worth(folder: Path, wish: WorthWish, today: str | None) -> PieceWorth:
    """Say what a piece is worth, or would be that isn't begun."""
    sitting = sit(folder, today, BOOKS)
    if wish.slug is None:
        return quote(sitting.studio, wish, sitting.today)
    return piece_worth(sitting.studio, wish.slug, sitting.today)


def plan(folder: Path | None, wish: plans.PlanWish, today: str | None) -> plans.PlanAnswer:
    """Lay out a plan for a price, a piece or an order; for a price in a named currency without a studio."""
    try:
        found = find_studio(folder)
    except NoStudio as fault:
        if not wish.is_for_a_price:
            raise
        if wish.currency and folder is None:
            return plans.plan(None, wish, datetime.now(UTC).date())
        raise NoStudio(
            f"{fault}. Without a studio, name the currency too, as in `sitegen plan 480 --currency EUR`"
        ) from fault
    sitting = sit(found, today, frozenset() if wish.is_for_a_price else ORDERS)
    return plans.plan(sitting.studio, wish, sitting.today)


@wish
class BooksWish:
    year: int | None = ask("Without it, this year.", default=None, least=1900, most=9999)
    close: bool = ask("Keep a past year as it is: no later change alters it.", default=False)
    why: bool = ask("Say what it rests on: streams, pieces, shows, where the money stands.", default=False)


def books(
    folder: Path, wish: BooksWish, today: str | None, agree: Callable[[Books], bool] = lambda _: True
) -> Books | None:
    """Add up a year, or close it; a closed one is told as it was, with what its files say otherwise now.

    Closing keeps its rates, overhead, fees and every row; None if the artist doesn't agree to what is shown.
    Raises Fault while the year still runs.
    """
    with pen(folder) if wish.close else nullcontext():
        sitting = sit(folder, today, BOOKS)
        studio, day = sitting.studio, sitting.today
        if wish.close:
            keeping.refuse_closed(folder, year := wish.year or day.year - 1)
            closing = accounts.books(studio, year, day).closed_on(day)
            if not agree(closing):
                return None
            keeping.write_closed(folder, year, closing.as_kept())
            return replace(closing, asides=(f"Closed: {folder / keeping.name_of(year)}",))
    year = wish.year or day.year
    found = once(studio, ("books", year), day, partial(accounts.books, studio, year, day))
    kept = _kept(folder, found.year)
    if kept is not None:
        return replace(kept, cautions=(*found.cautions, *kept.differences(found)), why=wish.why)
    return replace(found, cautions=(*found.cautions, *_carried_over(folder, found)), why=wish.why)


def years(folder: Path, today: str | None) -> Years:
    """Add up every year that has anything to add up, closed ones as they were kept."""
    sitting = sit(folder, today, BOOKS)
    closed = {year: look_of(folder / keeping.name_of(year)) for year in keeping.closed_years(folder)}

    def made() -> Years:
        studio, day, found = sitting.studio, sitting.today, purses(sitting.studio)
        which = {*years_with_any(studio, found, day), *(year for year in closed if year <= day.year)}
        kept = ((year, _kept(folder, year) if year in closed else None) for year in which)
        all_of = (book_of or accounts.year_of(studio, found, year, day) for year, book_of in kept)
        return Years(tuple(sorted(all_of, key=lambda year: -year.year)))

    return once(sitting.studio, "years", (sitting.today, closed), made)


def ahead(folder: Path, today: str | None) -> Ahead:
    """Say what is to come by the plans agreed on, what goes out, and which stream carries the year."""
    sitting = sit(folder, today, BOOKS)
    studio, day = sitting.studio, sitting.today
    found = once(studio, "ahead", day, lambda: money_ahead(studio, purses(studio), day))
    year = next((year for year in years(folder, today).years if year.total), None)
    return replace(found, year=year)


@wish
class ShowsWish:
    # So long a client thinks it over, at the most (common practice, no source).
    months: int = ask(
        "Count commissions asked for so many months after a show.", default=12, least=1, most=99
    )


def shows(folder: Path, wish: ShowsWish, today: str | None) -> Shows:
    """Say what each show brought: money, people to the list, commissions."""
    books_of, sitting = years(folder, today).years, sit(folder, today, BOOKS | PEOPLE)
    return brought(sitting.studio, books_of, _signed_up(sitting), sitting.today, wish.months)


def booking(folder: Path, wish: BookingWish, today: str | None) -> Booking:
    """Say what a show must sell to pay for itself, before it's booked, by the shows that are over."""
    sitting = sit(folder, today, BOOKS | PEOPLE)
    return before_booking(sitting, shows(folder, ShowsWish(), today), wish)


def complaints(folder: Path, studio: Studio, day: date) -> Iterator[Complaint]:
    """Name what `books` calls worth a look, and closed years whose files would now add up otherwise."""
    for sentence in accounts.cautions(studio):
        file, _, rest = sentence.partition(" ")
        if not file.endswith(".yaml"):
            file, rest = "commissions.yaml", sentence
        if not file.startswith("pieces/"):  # what a piece's own file lacks is named with its line
            yield Complaint(file, 0, rest, Level.WARNING)
    years = tuple(keeping.closed_years(folder))
    found = purses(studio) if years else ()
    for year in years:
        try:
            kept = _kept(folder, year)
            told = kept.differences(accounts.year_of(studio, found, year, day)) if kept else ()
        except Fault as fault:
            told = (str(fault).removeprefix(f"{keeping.name_of(year)} "),)
        for sentence in told:
            yield Complaint(keeping.name_of(year), 0, sentence, Level.WARNING)


@wish
class SlotsWish:
    first_day: str | None = ask(
        "New slots begin here at the earliest (today).", default=None, name="from", like="DATE"
    )
    last_day: str | None = ask(
        "They must be finished by then (91 days later).", default=None, name="to", like="DATE"
    )
    confidence: str = ask("How sure to be: 0.8, or 80%.", default="0.8")
    tier: str | None = ask("What the new slots are for; without it, what is asked for most.", default=None)
    why: bool = ask("Say what the days rest on, and what would move them.", default=False)


def slots(folder: Path, wish: SlotsWish, today: str | None) -> SlotsAnswer:
    """Say how many commission slots can open."""
    sitting = sit(folder, today, BOOKS)
    first, last = read_day(wish.first_day, "--from"), read_day(wish.last_day, "--to")
    sure = share_in(wish.confidence)
    if sure is None or not 0 < sure < 1:
        raise Fault(f"'{wish.confidence}' is no share between 0 and 1; write it like 0.8 or 80%")
    return replace(_worked_out(sitting, fitting.slots, first, last, float(sure), wish.tier), why=wish.why)


@wish
class WeekWish:
    weeks: int = ask("How many, this one with them.", default=USUAL_WEEKS, least=1, most=MOST_WEEKS)
    lost: str | None = ask(
        "A day that is lost; without it, the next working day is taken for one.", default=None, like="DATE"
    )
    days: int = ask("How many days are lost, from that one on.", default=1, least=1, most=365)
    why: bool = ask("Say what it rests on, and what a lost day does to each promised day.", default=False)
    calendar: bool = ask("Also write the weeks as a calendar file for yourself, out/week.ics.", default=False)


def week(folder: Path, wish: WeekWish, today: str | None) -> WeekPlan:
    """Plan the coming weeks. Raises Fault where the files don't say enough."""
    sitting = sit(folder, today, BOOKS)
    first = read_day(wish.lost, "--lost")
    away = Away(first, first + timedelta(days=wish.days - 1)) if first else None
    found = replace(_worked_out(sitting, plan_of_weeks, wish.weeks, away), why=wish.why)
    if not wish.calendar:
        return found
    file = lay(folder / "out" / "week.ics", calendar_of(folder, found, today))
    return replace(found, asides=(f"Calendar: {file}. It is yours alone; it names no client.",))


def calendar_of(folder: Path, plan: WeekPlan, today: str | None) -> bytes:
    """Return the weeks as a calendar (RFC 5545), for the artist alone."""
    return calendar(tuple(events(plan)), sit(folder, today, BOOKS).studio.settings)


def events(plan: WeekPlan) -> Iterator[Event]:
    """Yield the entries of the weeks, each once: work by the week, what stands on a day; no client's name."""
    yield from (_of_week(week_) for week_ in plan.weeks if week_.work)
    marks = {_name(mark): mark for week_ in plan.weeks for mark in week_.marks}
    for name, mark in marks.items():
        yield Event(
            name, mark.moment or mark.first, mark.said(), None if mark.moment else mark.last, private=True
        )


def _name(mark: Mark) -> str:
    """Name an entry; of a show or a round as the site's calendar does."""
    if mark.kind is MarkKind.SHOW:
        return f"show-{mark.slug}"
    if mark.kind in {MarkKind.OPENS, MarkKind.CLOSES}:
        return f"round-{mark.slug}-{str(mark.kind).removeprefix('round ')}"
    return f"{mark.kind.name.lower()}-{mark.first}-{quoted(mark.name, safe='')}"


def _of_week(week_: Week) -> Event:
    sums: dict[str, list[str]] = {}
    for work in week_.work:
        sums.setdefault(f"{work.code} {work.what}", []).append(f"{work.step or 'work'} {bare(work.hours)} h")
    lines = [f"{what}: {', '.join(steps)}" for what, steps in sums.items()]
    monday = week_.last - timedelta(days=6)
    return Event(
        f"week-{monday}", week_.first, f"At the bench: {bare(week_.planned)} h", week_.last,
        about="\n".join(lines), private=True,
    )  # fmt: skip


def _kept(folder: Path, year: int) -> Books | None:
    kept = keeping.read_closed(folder, year)
    return None if kept is None else Books.from_kept(kept, keeping.name_of(year))


def _carried_over(folder: Path, found: Books) -> Iterator[str]:
    """Say where a year begins with another advance than the closed one before it ended with."""
    last = _kept(folder, found.year - 1)
    if last is not None and last.after != found.before:
        was, now = (
            [year.rates.plain(sum_) for sum_ in (at.advance, at.back, at.open)]
            for year, at in ((last, last.after), (found, found.before))
        )
        yield (
            f"{last.year} was closed with {was[0]} in advance, {was[1]} to go back and {was[2]} unpaid; by "
            f"the files as they are now, {found.year} begins with {now[0]}, {now[1]} and {now[2]}."
        )


def _signed_up(sitting: Sitting) -> dict[str, list[str]]:
    """Return by show the folded addresses that its sheet brought to the list, also of who left since."""
    studio = sitting.studio

    def found() -> dict[str, list[str]]:
        front = front_of_house(studio, sitting.moment)
        codes = {sheet_code(show, front.shows): show.slug for show in front.shows}
        signed: dict[str, list[str]] = {slug: [] for slug in codes.values()}
        for person in studio.people:
            match = _SHEET.search(person.evidence)
            if match and (slug := codes.get(match[1].upper())):
                signed[slug].append(person.key)
        return signed

    return once(studio, "signed up", sitting.today, found)
