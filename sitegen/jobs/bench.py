"""Answer what fits at the bench: how many slots can open, and what the coming weeks hold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from functools import partial
from pathlib import Path
from urllib.parse import quote as quoted

from sitegen.desk import slots as fitting
from sitegen.desk.find import read_day, share_in
from sitegen.desk.slots import SlotsAnswer as SlotsAnswer  # noqa: PLC0414 (a picture is made of it)
from sitegen.desk.week import MOST_WEEKS, USUAL_WEEKS, Mark, MarkKind, Week
from sitegen.desk.week import WeekPlan as WeekPlan  # noqa: PLC0414 (the desk shows one)
from sitegen.desk.week import week as plan_of_weeks
from sitegen.disk.files import lay
from sitegen.jobs.reading import BOOKS, once, sit
from sitegen.studio.capacity.bench import Away
from sitegen.studio.fault import Fault
from sitegen.studio.text import bare
from sitegen.studio.wish import ask, wish
from sitegen.voice.calendar import Event, calendar


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
    studio, day, tier = sitting.studio, sitting.today, wish.tier
    made = partial(fitting.slots, studio, day, first, last, float(sure), tier)
    return replace(once(studio, ("slots", first, last, sure, tier), day, made), why=wish.why)


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
    studio, day, first = sitting.studio, sitting.today, read_day(wish.lost, "--lost")
    away = Away(first, first + timedelta(days=wish.days - 1)) if first else None
    made = partial(plan_of_weeks, studio, day, wish.weeks, away)
    found = replace(once(studio, ("week", wish.weeks, away), day, made), why=wish.why)
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
