"""Calendar entries for shows and for commission rounds, as iCalendar (RFC 5545) has them.

The site's file and the one that travels with a letter are made of the same entries: whoever takes in both
keeps one. The file of her own weeks (`jobs/answers.py`) names shows and rounds by the same names.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from unicodedata import category

from sitegen.studio.public import PublicRound, PublicShow, PublicStudio
from sitegen.studio.settings import Settings, host, uri
from sitegen.voice.voice import Voice

# RFC 5545, section 3.1: lines of at most 75 octets, folded by CRLF and a space.
LINE_OCTETS = 75
_ESCAPES = str.maketrans({"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"})


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a calendar."""

    name: str  # unique below the studio's host
    start: date | datetime  # a moment, or a whole day
    summary: str
    last: date | None = None  # last of several whole days
    place: str = ""
    about: str = ""  # lines of text
    link: str = ""
    private: bool = False  # for the artist's own calendar alone
    cancelled: bool = False


def round_events(voice: Voice, card: PublicStudio, held: PublicRound) -> tuple[Event, ...]:
    """Return the opening and the closing of a round."""
    return tuple(
        Event(
            name=f"round-{held.slug}-{name}",
            start=moment,
            summary=voice.words.plain(f"calendar.{name}", studio=card.studio, round=held.name),
            about=f"{voice.tongue.moment(moment)}\n{held.note}",
            link=f"{card.address}commissions/",
        )
        for name, moment in (("opens", held.opens), ("closes", held.closes))
        if moment
    )


def show_events(voice: Voice, card: PublicStudio, show: PublicShow) -> tuple[Event, ...]:
    """Return the days of a show or class."""
    from sitegen.voice.prose import said  # noqa: PLC0415 (slow to load, and answers need no Markdown)

    table = voice.words.plain("calendar.table", table=show.table) if show.table else ""
    return (
        Event(
            name=f"show-{show.slug}",
            start=show.first_day,
            summary=voice.words.plain("calendar.show", studio=card.studio, show=show.name),
            last=show.last_day,
            place=", ".join(show.place),
            about="\n".join(filter(None, (show.hours, table, said(show.about, voice.quotes)))),
            link=show.link or f"{card.address}shows/#{show.slug}",
            cancelled=show.cancelled,
        ),
    )


def calendar(events: Sequence[Event], card: PublicStudio | Settings, method: str = "") -> bytes:
    """Write a calendar; moments are in UTC, so that no time zone has to be described.

    `method` is what a mail says of its calendar (RFC 5546). No clock: the same entries give the same bytes.
    """
    home = host(card.address) or "localhost"
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:-//{home}//sitegen//EN"]
    lines += [f"METHOD:{method}"] if method else []
    for event in events:
        said = (f"{name}:{value}" for name, value in _rows(event, home) if value)
        lines += ["BEGIN:VEVENT", *said, "END:VEVENT"]
    return b"".join(map(_folded, [*lines, "END:VCALENDAR"]))


def _rows(event: Event, home: str) -> Iterator[tuple[str, str]]:
    day = None if isinstance(event.start, datetime) else event.start
    start = event.start if isinstance(event.start, datetime) else datetime.combine(event.start, time(), UTC)
    yield "UID", f"{event.name}@{home}"
    # The stamp is the entry's own day, as there's no other that the same files would give again.
    yield "DTSTAMP", _utc(start)
    yield "DTSTART", "" if day else _utc(start)
    if day:
        yield "DTSTART;VALUE=DATE", f"{day:%Y%m%d}"
        # The end of an event of whole days is the day after it.
        yield "DTEND;VALUE=DATE", f"{(event.last or day) + timedelta(days=1):%Y%m%d}"
    yield "SUMMARY", _text(event.summary)
    yield "STATUS", "CANCELLED" if event.cancelled else ""
    yield "LOCATION", _text(event.place)
    yield "DESCRIPTION", _text(event.about)
    yield "URL", uri(event.link)
    yield "TRANSP", "TRANSPARENT"
    yield "CLASS", "PRIVATE" * event.private


def _folded(line: str) -> bytes:
    """Fold one line by octets, never inside a character."""
    rows, row = [], b""
    for character in line:
        octets = character.encode("utf-8")
        if len(row) + len(octets) > LINE_OCTETS:
            rows.append(row)
            row = b" "
        row += octets
    return b"\r\n".join([*rows, row]) + b"\r\n"


def _text(text: str) -> str:
    """Escape as RFC 5545, section 3.3.11, has it; controls are left out, no blank or joiner of letters."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    plain = "".join(c for c in lines if c in "\n\t" or category(c) not in {"Cc", "Cs"})
    return plain.strip().translate(_ESCAPES)


def _utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"
