"""Dates to put into a calendar, as iCalendar (RFC 5545) has them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from sitegen.letters.message import Part
from sitegen.studio.public import PublicRound, PublicShow, PublicStudio
from sitegen.voice.words import Words

# RFC 5545 section 3.1: octets in a line, its end not counted.
LINE_OCTETS = 75


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a calendar."""

    name: str
    """Unique below the studio's host."""
    start: date | datetime
    """A moment, or a whole day."""
    last: date | None
    """Last of several whole days."""
    summary: str
    place: str = ""
    about: str = ""


def round_dates(one: PublicRound, card: PublicStudio, host: str, stamp: datetime, said: Words) -> Part:
    """Return the opening and closing of a round as an attachment."""
    opens, closes = (
        said.plain(f"mail.round.calendar_{what}", studio=card.studio) for what in ("opens", "closes")
    )
    events = [Event(f"round-{one.slug}-opens", one.opens, None, opens)]
    if one.closes:
        events.append(Event(f"round-{one.slug}-closes", one.closes, None, closes))
    return _part(f"commissions-{one.slug}.ics", events, card, host, stamp)


def show_dates(show: PublicShow, card: PublicStudio, host: str, stamp: datetime, said: Words) -> Part:
    """Return the days of a show as an attachment."""
    place = ", ".join(part for part in [show.venue, *show.address.splitlines()] if part.strip())
    table = said.plain("mail.show.calendar_table", table=show.table) if show.table else ""
    about = "; ".join(part for part in [show.hours, table] if part)
    event = Event(
        f"show-{show.slug}", show.first_day, show.last_day, f"{show.name}: {card.studio}", place, about
    )
    return _part(f"{show.slug}.ics", [event], card, host, stamp)


def write(events: Sequence[Event], host: str, stamp: datetime) -> bytes:
    """Write a calendar; moments are in UTC, so that no time zone has to be described."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//sitegen//letters//EN", "METHOD:PUBLISH"]
    for event in events:
        lines += _event(event, host, stamp)
    return "".join(_folded(line) for line in [*lines, "END:VCALENDAR"]).encode("utf-8")


def _part(file: str, events: Sequence[Event], card: PublicStudio, host: str, stamp: datetime) -> Part:
    kind = f'text/calendar; charset=utf-8; method=PUBLISH; name="{file}"'
    return Part(kind, file, write(events, host, stamp))


def _event(event: Event, host: str, stamp: datetime) -> list[str]:
    lines = [
        "BEGIN:VEVENT",
        f"UID:{event.name}@{host}",
        f"DTSTAMP:{_utc(stamp)}",
        *_span(event),
        f"SUMMARY:{_text(event.summary)}",
    ]
    lines += [f"LOCATION:{_text(event.place)}"] if event.place else []
    lines += [f"DESCRIPTION:{_text(event.about)}"] if event.about else []
    return [*lines, "END:VEVENT"]


def _span(event: Event) -> list[str]:
    if isinstance(event.start, datetime):
        return [f"DTSTART:{_utc(event.start)}"]
    after = (event.last or event.start) + timedelta(days=1)
    return [f"DTSTART;VALUE=DATE:{event.start:%Y%m%d}", f"DTEND;VALUE=DATE:{after:%Y%m%d}"]


def _utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _text(words: str) -> str:
    """Escape as RFC 5545 section 3.3.11 has it."""
    plain = words.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return "\\n".join(plain.splitlines())


def _folded(line: str) -> str:
    """Fold at 75 octets, never inside a character."""
    rows, row, used = [], "", 0
    for character in line:
        octets = len(character.encode("utf-8"))
        if used + octets > LINE_OCTETS:
            rows.append(row)
            row, used = " ", 1
        row += character
        used += octets
    return "\r\n".join([*rows, row]) + "\r\n"
