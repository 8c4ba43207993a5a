"""Say a draw in words: what is promised before it, what came out, and how anyone can work it out again."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sitegen.studio.draw import DrawRecord, Outcome, bits_needed, cautions, check_slots
from sitegen.studio.draw_source import MISSING, Source, rough_bits, source_key

HOW_TO_CHECK = (
    "How to check this draw (RFC 3797, published by the Internet Engineering Task Force):",
    "1. Look up the numbers of each source yourself and compare.",
    "2. For each source, sort its numbers, smallest first. Drop leading zeros and zeros that end a fraction.",
    "   Put a point after each whole number (a fraction has its own) and a slash after each source.",
    "   Of a source of words, A to Z and 0 to 9 stay, in capitals without accents; then a point and a slash.",
    "3. Join the sources in the announced order. That is the key string.",
    "4. Take the MD5 digest of: the step's counter as two bytes (0000, 0001, ... in hexadecimal),",
    "   the key string, and the same two bytes again.",
    "5. Read the digest as one number and divide it by the entrants still in the pool. Count the remainder",
    "   from 0 down the list of those left: that entrant is picked and leaves the list. Go on with step 4.",
    "The SHA-256 of the list is that of its codes, one a line in UTF-8, each line ended by a line feed.",
)


@dataclass(frozen=True)
class Announcement:
    """What is published before the numbers exist; after that nothing on it may change."""

    title: str
    day: date  # when it's published
    entrants: tuple[str, ...]  # codes, never names
    slots: int
    sources: tuple[Source, ...]
    wait_days: int  # how long a late source is waited for
    needed: float  # bits of randomness
    given: float
    cautions: tuple[str, ...]

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the numbered list, 64 hexadecimal digits: shows later that the list is the same."""
        return fingerprint(self.entrants)


def announce(
    title: str, pool: Sequence[str], slots: int, sources: Sequence[Source], day: date, wait_days: int = 7
) -> Announcement:
    """Make the announcement of a draw.

    Raises ValueError if there's nobody or nothing to draw, or if a source could already be known.
    """
    check_slots(slots)
    if not pool:
        raise ValueError("nobody has entered; a draw needs at least one entrant")
    if not sources:
        raise ValueError("no source of randomness is named; name at least one, three or four are better")
    for source in sources:
        _check_future(source, day)
    needed = bits_needed(len(pool), slots)
    return Announcement(
        title=title,
        day=day,
        entrants=tuple(pool),
        slots=slots,
        sources=tuple(sources),
        wait_days=wait_days,
        needed=needed,
        given=sum(rough_bits(source) for source in sources),
        cautions=cautions(sources, needed) if all(source.highest for source in sources) else (),
    )


def _check_future(source: Source, day: date) -> None:
    """Refuse a source that the studio could have looked up before publishing the list."""
    if source.numbers.strip():
        raise ValueError(f'source "{source.name}" has its numbers already; announce one nobody can know yet')
    if source.due is None:
        raise ValueError(f'source "{source.name}" has no day; say when its numbers are published')
    if source.due <= day:
        raise ValueError(
            f'source "{source.name}" is published on {source.due}, not after the announcement of {day}; '
            "take a later one"
        )


def fingerprint(pool: Sequence[str]) -> str:
    """Hash a list of entrants, one a line in UTF-8, each line ended by a line feed, with SHA-256."""
    return hashlib.sha256("".join(f"{code}\n" for code in pool).encode()).hexdigest()


def announcement_lines(announcement: Announcement) -> tuple[str, ...]:
    """Write the announcement as the lines of a text file."""
    last = max(source.due for source in announcement.sources if source.due)
    sources = [
        f"  {place}. {source.name}, published on {source.due}"
        for place, source in enumerate(announcement.sources, start=1)
    ]
    return (
        announcement.title,
        f"Announced on {announcement.day}.",
        f"Slots: {announcement.slots}. Entrants: {len(announcement.entrants)}.",
        "",
        "Entrants, numbered once and for all:",
        *_numbered(announcement.entrants),
        f"SHA-256 of the list: {announcement.fingerprint}",
        "",
        "Sources of randomness, in this order:",
        *sources,
        f"The draw is made once all are published, on {last} at the earliest.",
        f"A source more than {announcement.wait_days} days late counts as the single number {MISSING}.",
        "Nobody is added, removed or renumbered from now on. Whoever withdraws is passed over and the next "
        "one picked gets the place.",
        f"This choice takes {announcement.needed:.1f} bits of randomness.",
        *(f"Note: {caution}." for caution in announcement.cautions),
    )


def record_lines(title: str, record: DrawRecord) -> tuple[str, ...]:
    """Write a finished draw as the lines of a text file that anyone can recompute."""
    sources = [
        f"  {place}. {source.name or 'unnamed'}: {source.numbers}   as key: {source_key(source, place)}"
        for place, source in enumerate(record.sources, start=1)
    ]
    return (
        title,
        f"Slots: {record.slots}. Entrants: {len(record.entrants)}.",
        "",
        "Entrants:",
        *_numbered(record.entrants),
        f"SHA-256 of the list: {fingerprint(record.entrants)}",
        "",
        "Sources, as published:",
        *sources,
        f"Key string: {record.key}",
        "",
        "counter  MD5 digest                        left  picked",
        *_steps(record),
        "",
        "Slots go to: " + (_codes(record, record.winners) or "nobody"),
        "Reserves, in order: " + (_codes(record, record.reserves) or "none"),
        f"Randomness: {record.needed:.1f} bits needed, about {record.given:.0f} given.",
        *(f"Note: {caution}." for caution in record.cautions),
        "",
        *HOW_TO_CHECK,
    )


def _steps(record: DrawRecord) -> list[str]:
    marks = {Outcome.SLOT: "slot", Outcome.RESERVE: "reserve", Outcome.WITHDRAWN: "withdrawn, passed over"}
    return [
        f"0x{pick.counter:04X}   {pick.digest}  {pick.divisor:4}  {pick.number} {pick.entrant} "
        f"({marks[pick.outcome]})"
        for pick in record.picks
    ]


def _numbered(pool: Sequence[str]) -> list[str]:
    return [f"  {number:3} {code}" for number, code in enumerate(pool, start=1)]


def _codes(record: DrawRecord, numbers: Sequence[int]) -> str:
    return ", ".join(record.entrants[number - 1] for number in numbers)
