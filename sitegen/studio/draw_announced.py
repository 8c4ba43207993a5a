"""What is promised before a draw: who takes part, and which sources of numbers will decide."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sitegen.studio.draw import Caution, bits_needed, cautions, check_slots
from sitegen.studio.draw_source import Source, rough_bits


@dataclass(frozen=True)
class DrawNotice:
    """What is published before the numbers exist; after that nothing on it may change."""

    title: str
    day: date  # when it's published
    entrants: tuple[str, ...]  # codes, never names
    slots: int
    sources: tuple[Source, ...]
    wait_days: int  # how long a late source is waited for
    needed: float  # bits of randomness
    given: float
    cautions: tuple[Caution, ...]

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the numbered list, 64 hexadecimal digits: shows later that the list is the same."""
        return fingerprint(self.entrants)


def announce(
    title: str, pool: Sequence[str], slots: int, sources: Sequence[Source], day: date, wait_days: int = 7
) -> DrawNotice:
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
    return DrawNotice(
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
