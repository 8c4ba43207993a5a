"""Calendar files for shows and for the opening of commission rounds (RFC 5545)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from urllib.parse import urlsplit

from sitegen.site import addresses
from sitegen.site.house import House
from sitegen.studio.public import PublicRound, PublicShow, RoundState

# RFC 5545, section 3.1: lines of at most 75 octets, folded by CRLF and a space.
_LINE = 75
_ESCAPES = str.maketrans({"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"})
Line = tuple[str, str]


def calendars(house: House) -> Iterator[tuple[str, bytes]]:
    """Yield path and bytes of each calendar file: what is still to come."""
    for show in house.front.shows:
        if show.coming:
            yield addresses.show_calendar(show.slug), _calendar(house, [_show(house, show)])
    for one in house.front.rounds:
        if one.state is not RoundState.CLOSED:
            yield addresses.round_calendar(one.slug), _calendar(house, list(_round(house, one)))


def _show(house: House, show: PublicShow) -> list[Line]:
    place = ", ".join(part for part in (show.venue, " ".join(show.address.split())) if part)
    description = "\n".join(part for part in (show.hours, show.table, show.about) if part)
    return [
        ("UID", f"show-{show.slug}@{_host(house)}"),
        # No clock: the same files give the same bytes, so the stamp is the day itself.
        ("DTSTAMP", _utc(datetime.combine(show.first_day, time(), UTC))),
        ("DTSTART;VALUE=DATE", _day(show.first_day)),
        # The end of an event of whole days is the day after it.
        ("DTEND;VALUE=DATE", _day(show.last_day + timedelta(days=1))),
        ("SUMMARY", _text(show.name)),
        ("LOCATION", _text(place)),
        ("DESCRIPTION", _text(description)),
        ("URL", show.link or house.address(addresses.SHOWS)),
        ("TRANSP", "TRANSPARENT"),
    ]


def _round(house: House, one: PublicRound) -> Iterator[list[Line]]:
    moments = [("opens", one.opens)] + ([("closes", one.closes)] if one.closes else [])
    for name, moment in moments:
        words = house.words.plain(f"calendar.{name}", studio=house.front.card.studio, round=one.name)
        yield [
            ("UID", f"round-{one.slug}-{name}@{_host(house)}"),
            ("DTSTAMP", _utc(one.opens)),
            ("DTSTART", _utc(moment)),
            ("SUMMARY", _text(words)),
            ("DESCRIPTION", _text(f"{house.tongue.moment(moment)}\n{one.note}".strip())),
            ("URL", house.address(addresses.COMMISSIONS)),
            ("TRANSP", "TRANSPARENT"),
        ]


def _calendar(house: House, events: list[list[Line]]) -> bytes:
    lines: list[Line] = [
        ("BEGIN", "VCALENDAR"),
        ("VERSION", "2.0"),
        ("PRODID", f"-//{_host(house)}//sitegen//EN"),
    ]
    for event in events:
        lines += [("BEGIN", "VEVENT"), *((name, value) for name, value in event if value), ("END", "VEVENT")]
    lines.append(("END", "VCALENDAR"))
    return b"".join(_folded(f"{name}:{value}") for name, value in lines)


def _folded(line: str) -> bytes:
    """Fold one line by octets, never inside a character."""
    rows, row = [], b""
    for character in line:
        octets = character.encode("utf-8")
        if len(row) + len(octets) > _LINE:
            rows.append(row)
            row = b" "
        row += octets
    return b"\r\n".join([*rows, row]) + b"\r\n"


def _text(text: str) -> str:
    plain = "".join(c for c in text.replace("\r\n", "\n").replace("\r", "\n") if c == "\n" or c.isprintable())
    return plain.strip().translate(_ESCAPES)


def _day(day: date) -> str:
    return f"{day:%Y%m%d}"


def _utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _host(house: House) -> str:
    return urlsplit(house.front.card.address).hostname or "localhost"
