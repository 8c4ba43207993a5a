"""The kinds of value a studio's files hold, each read from text with a sentence for what is wrong.

Every scalar arrives as the text the artist typed, so `title: 1984` stays a title and a price never
passes through a binary float.
"""

import re
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, time
from decimal import Decimal
from enum import StrEnum
from typing import Annotated, Any, TypeVar
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import BaseModel, BeforeValidator, ConfigDict, StringConstraints, ValidationInfo

from sitegen.studio import money
from sitegen.studio.text import ascii_domain, quoted


def refuse_skipped(moment: datetime, zone: ZoneInfo) -> None:
    """Refuse a time that the clocks skip, as in spring. Raises ValueError with a sentence."""
    there = moment.replace(tzinfo=zone).astimezone(UTC).astimezone(zone)
    if there.replace(tzinfo=None) != moment.replace(tzinfo=None):
        later = max(there, moment.replace(tzinfo=zone, fold=0).astimezone(UTC).astimezone(zone))
        raise ValueError(
            f"'{moment:%Y-%m-%d %H:%M}' is a time that doesn't exist in {zone.key}: the clocks go forward "
            f"there and skip it; {later:%H:%M} is what they show then"
        )


def shown_twice(moment: datetime, zone: ZoneInfo) -> bool:
    """Tell whether the clocks show a time twice, as in autumn."""
    first, second = (moment.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    return first < second


Kind = TypeVar("Kind", bound=StrEnum)
Quantity = TypeVar("Quantity", int, Decimal)

# No piece is older, no promise reaches further, and every sum of days stays within the calendar.
FIRST_YEAR, LAST_YEAR = 1900, 2200
# Bench hours of a step or a piece: five years of full-time work.
MOST_HOURS = 10_000
# Characters. A name stands in a heading and, with others, in a file's name, which may have 255 bytes (ext4,
# NTFS, APFS); the longest story is a small book's chapter.
LONGEST_NAME, LONGEST_TEXT = 120, 50_000
_LONGEST_ADDRESS = 1_000
_DECIMAL = re.compile(r"(?=.{1,20}\Z)(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
# RFC 3986 section 2 names what stands for itself; letters of other scripts are let through (RFC 3987).
_WEB = re.compile(r"https?://[^\s/?#]+(?:/[^\s\"<>\\^`{|}]*)?", re.IGNORECASE)
_LABEL = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?")

# Until the studio's currency and zone are known: most of ISO 4217 has two minor digits.
_USUAL: dict[str, Any] = {"digits": 2, "zone": None}
# Two words at least: one alone may be an address or a mark of HTML, and people type both.
_PLACE = re.compile(r"<[a-z][^<>=/\n]* [^<>=\n]*[^<>=/\s]>")


class Entry(BaseModel):
    """A block of the studio's files: nothing unknown gets in, nothing changes afterwards."""

    # A block within a block is built with the outer one; only what is read by itself is built by itself.
    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        arbitrary_types_allowed=True,
        defer_build=True,
        str_max_length=LONGEST_TEXT,
    )


def placeholders(text: str) -> list[str]:
    """Return the starter's `<fill me in>` places that a text still holds."""
    return _PLACE.findall(text) if "<" in text else []


def is_placeholder(text: str) -> bool:
    """Tell whether a text still holds a place to fill in."""
    return bool(placeholders(text))


def typed(read: Callable[[str], Any]) -> BeforeValidator:
    """Make a reader of what was typed; a value that the program made passes as it is."""
    return BeforeValidator(lambda value: read(value) if isinstance(value, str) else value)


def typed_in(key: str, read: Callable[[str, Any], Any]) -> BeforeValidator:
    """Make a reader that is told the studio's `digits` or `zone`, or what is usual while none is known."""

    def by_context(value: Any, info: ValidationInfo) -> Any:
        known = _USUAL | (info.context or {})
        return read(value, known[key]) if isinstance(value, str) else value

    return BeforeValidator(by_context)


def _read_percent(text: str) -> Decimal:
    number = text.strip().removesuffix("%").strip()
    if not _DECIMAL.fullmatch(number.removeprefix("-")):
        raise ValueError(f"{quoted(text)} is not a percentage; write it like 30%")
    value = Decimal(number)
    if not 0 <= value <= 100:
        raise ValueError(f"{quoted(text)} is not between 0% and 100%")
    return value


def _up_to(most: int) -> Callable[[str], Decimal]:
    """Make a reader of numbers from 0 to `most`."""

    def read(text: str) -> Decimal:
        number = text.strip()
        if re.fullmatch(r"-\s*[0-9.]+", number):
            raise ValueError(f"{quoted(text)} must be zero or more")
        if not _DECIMAL.fullmatch(number):
            cure = " (use a point, not a comma)" if "," in number else ""
            raise ValueError(f"{quoted(text)} is not a number; write it like 12.5{cure}")
        return _within(Decimal(number), most, text)

    return read


def _whole_up_to(most: int) -> Callable[[str], int]:
    """Make a reader of whole numbers from 0 to `most`."""

    def read(text: str) -> int:
        if not re.fullmatch(r"[0-9]{1,9}", text.strip()):
            raise ValueError(f"{quoted(text)} is not a whole number; write digits only, like 320")
        return _within(int(text), most, text)

    return read


def _within(value: Quantity, most: int, text: str) -> Quantity:
    if value > most:
        raise ValueError(f"{quoted(text)} is more than can be meant here; write at most {most}")
    return value


def in_our_time(day: date) -> date:
    """Return a day that a studio can have to do with. Raises ValueError with a sentence for others."""
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        years = f"the years {FIRST_YEAR} to {LAST_YEAR}"
        raise ValueError(f"'{day}' lies outside {years}; look at the year again")
    return day


def read_day(text: str) -> date:
    """Read a day as year-month-day. Raises ValueError with a sentence."""
    written = text.strip()
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", written):
        raise ValueError(f"{quoted(text)} is not a date; write year-month-day, like 2026-05-14")
    try:
        day = date.fromisoformat(written)
    except ValueError:
        raise ValueError(f"'{written}' is a date that doesn't exist; look at a calendar") from None
    return in_our_time(day)


def read_time(text: str, day: date, zone: ZoneInfo | None) -> time:
    """Read a time of day; `02:15B` is the second time that the clocks show it. Raises ValueError."""
    hour, minute = map(int, text.removesuffix("B").split(":"))
    if hour > 23 or minute > 59:
        raise ValueError(f"{quoted(text)} is a time that doesn't exist; hours run from 00 to 23")
    at = time(hour, minute, fold=int(text.endswith("B")))
    if zone is not None:
        refuse_skipped(datetime.combine(day, at), zone)
        if at.fold and not shown_twice(datetime.combine(day, at), zone):
            raise ValueError(f"'{text}' has a B, but the clocks show {at:%H:%M} only once on {day}; drop it")
    return at


def _read_moment(text: str, zone: ZoneInfo | None) -> datetime:
    written = text.strip().replace("T", " ")
    match = re.fullmatch(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?: ([0-9]{1,2}:[0-9]{2})(?::00)?)?", written)
    if match is None:
        raise ValueError(f"{quoted(text)} is not a date with a time; write it like 2027-01-16 12:00")
    day = read_day(match[1])
    return datetime.combine(day, read_time(match[2] or "0:00", day, zone), zone)


_YES = {"yes": True, "true": True, "no": False, "false": False}


def _read_yes(text: str) -> bool:
    if (word := text.strip().lower()) in _YES:
        return _YES[word]
    raise ValueError(f"{quoted(text)} is neither yes nor no")


def read_zone(text: str) -> ZoneInfo:
    """Read a time zone's name. Raises ValueError with a sentence."""
    try:
        return ZoneInfo(text.strip())
    except (ZoneInfoNotFoundError, ValueError, OSError):
        cure = "write it like Europe/Dublin or America/Halifax"
        raise ValueError(f"{quoted(text)} is not a time zone of the IANA list; {cure}") from None


def _read_colour(text: str) -> str:
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", text.strip()):
        cure = "write # and six hex digits, like '#41655d', in quotes"
        raise ValueError(f"{quoted(text)} is not a colour; {cure}")
    return text.strip()


def _read_web(text: str) -> str:
    if not is_web_address(text.strip()):
        raise ValueError(f"{quoted(text)} is not a web address; write it whole, like https://studio.example/")
    return text.strip()


def _read_home(text: str) -> str:
    if re.search("[?#]", address := _read_web(text)):
        cure = "write the address of the site's first page alone, like https://studio.example/"
        raise ValueError(f"{quoted(text)} has a ? or # in it; {cure}")
    return address


def is_web_address(address: str) -> bool:
    """Tell whether a text is a whole http address with a host that can be looked up (RFC 3986, RFC 1123)."""
    if len(address) > _LONGEST_ADDRESS or not _WEB.fullmatch(address):
        return False
    try:
        parts = urlsplit(address)
        port, host = parts.port, parts.hostname or ""
        host = ascii_domain(host) or ""
    except ValueError:
        return False
    named = len(host) <= 253 and all(map(_LABEL.fullmatch, host.split(".")))
    return named and port != 0 and "@" not in parts.netloc


def _read_private_web(text: str) -> str:
    if not (re.fullmatch(r"https://[!#-;=?-Z_a-z~]+[/=]", text.strip()) and is_web_address(text.strip())):
        raise ValueError(
            f"{quoted(text)} can't be used: it must begin with https:// and end in / or =, since each "
            "person's own sign is added there, as in https://studio.example/leave/"
        )
    return text.strip()


def one_of(kind: type[Kind]) -> Callable[[str], Kind]:
    """Make a reader for a closed list of words; it names the list and the nearest word."""

    def read(text: str) -> Kind:
        word = " ".join(text.lower().split())
        if word in set(kind):
            return kind(word)
        raise ValueError(not_one_of(text, [str(word) for word in kind]))

    return read


def choice(kind: type[Kind]) -> BeforeValidator:
    """Make the reader of a field that holds one word of a closed list."""
    return typed(one_of(kind))


def not_one_of(text: str, words: list[str]) -> str:
    """Say that a word is not on a list, and which one was probably meant."""
    return f"{quoted(text)} is not one of {', '.join(words)}{did_you_mean(text, words)}"


def did_you_mean(text: str, words: list[str]) -> str:
    """Return `; did you mean '…'?` for the nearest word, or nothing."""
    from difflib import get_close_matches  # noqa: PLC0415 (only needed when something is wrong)

    text = text[:LONGEST_NAME]
    by_small_letters = {word.lower(): word for word in reversed(words)}
    near = get_close_matches(text.lower(), by_small_letters, n=1, cutoff=0.6)
    return f"; did you mean '{by_small_letters[near[0]]}'?" if near else ""


_WRITTEN = {
    "piece": "its folder's name below pieces/",
    "show": "its file's name in shows/, without .yaml,",
    "order or piece": "a code of the order book, or a folder's name below pieces/,",
}


def no_such(kind: str, name: str, known: Iterable[str]) -> str:
    """Say that there is no `piece` or `show` of a name, and which one is likely meant, or what to write."""
    near = did_you_mean(name, list(known))
    return f"there is no {kind} '{name}'{near or f'; {_WRITTEN[kind]} is what to write'}"


Money = Annotated[Decimal, typed_in("digits", money.read_amount)]
Percent = Annotated[Decimal, typed(_read_percent)]
read_hours = _up_to(MOST_HOURS)

Number = Annotated[Decimal, typed(read_hours)]
Hours = Number
"""Hours of work."""
WeekHours = Annotated[Decimal, typed(_up_to(7 * 24))]
Weeks = Annotated[Decimal, typed(_up_to(53))]
"""Weeks of a year."""
Whole = Annotated[int, typed(_whole_up_to(999_999_999))]
Count = Annotated[int, typed(_whole_up_to(1_000))]
"""How many slots, instalments, numbers drawn."""
Days = Annotated[int, typed(_whole_up_to(3_650))]
"""A span of days; ten years at most."""
HeadStart = Annotated[int, typed(_whole_up_to(336))]
"""Hours; two weeks at most."""
Millimetres = Annotated[int, typed(_whole_up_to(100_000))]
PortNumber = Annotated[int, typed(_whole_up_to(65_535))]
Name = Annotated[str, StringConstraints(max_length=LONGEST_NAME)]
"""What is named: it stands in headings, in addresses and in the names of folders."""
Day = Annotated[date, typed(read_day)]
Moment = Annotated[datetime, typed_in("zone", _read_moment)]
YesNo = Annotated[bool, typed(_read_yes)]
Zone = Annotated[ZoneInfo, typed(read_zone)]
Colour = Annotated[str, typed(_read_colour)]
LeaveAddress = Annotated[str, typed(_read_private_web)]
WebAddress = Annotated[str, typed(_read_web)]
HomeAddress = Annotated[str, typed(_read_home)]
"""Where the site will be: to it the addresses of its pages are added."""
