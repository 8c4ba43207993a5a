"""Draw names so that anyone can check it: RFC 3797, publicly verifiable random selection.

The way through: entrants are numbered and published, sources of public numbers are named before their
numbers exist, then the numbers make a key string (letter for letter as section 4 says), and the key string
makes the order. Nothing here is secret and nothing is the studio's to choose once the list is out.
"""

import hashlib
import math
import re
import unicodedata
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from sitegen.studio.fields import Count, Day, Entry, Whole

_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+")
_BETWEEN = re.compile(r"[\s,;]+")
# What a source counts as when its numbers never come. Our rule, printed in the announcement: a rule made
# up afterwards would let the studio choose.
MISSING = "0"


class Source(Entry):
    """One public source of randomness, named before its numbers exist."""

    name: str = ""
    """Exact enough that two strangers would read off the same numbers."""
    due: Day | None = None
    """The day its numbers are published."""
    drawn: Count | None = None
    """How many numbers are drawn ..."""
    highest: Whole | None = None
    """... out of 1 to this."""
    numbers: str = ""
    """As published; empty until then."""

    @property
    def values(self) -> tuple[Decimal, ...]:
        """Numbers of this source, smallest first; empty if it has none or is read as words."""
        words = self._words()
        if not all(_NUMBER.fullmatch(word) for word in words):
            return ()
        return tuple(sorted(Decimal(word) for word in words))

    @property
    def is_text(self) -> bool:
        """Say whether the source holds words, which the RFC allows and discourages."""
        return bool(self._words()) and not self.values

    def _words(self) -> list[str]:
        return [word for word in _BETWEEN.split(self.numbers) if word]


def filled(sources: Sequence[Source], numbers: Sequence[str]) -> list[Source]:
    """Give sources their numbers, in the announced order. Raises ValueError unless there are as many."""
    return [
        source.model_copy(update={"numbers": found}) for source, found in zip(sources, numbers, strict=True)
    ]


def settle(source: Source, today: date, wait_days: int) -> Source:
    """Let a source count as 0 once it's more than `wait_days` days late; else leave it alone."""
    late = source.due is not None and today > source.due + timedelta(days=wait_days)
    return source.model_copy(update={"numbers": MISSING}) if late and not source.numbers.strip() else source


def key_string(sources: Sequence[Source]) -> str:
    """Join sources in their announced order: `9319./2.5.8.10.12./`.

    Raises ValueError for a source whose numbers aren't there or can't be read.
    """
    return "".join(source_key(source, place) for place, source in enumerate(sources, start=1))


def source_key(source: Source, place: int) -> str:
    """Write one source as the RFC wants it: numbers ascending, each ended by its point, then a slash."""
    if not source.numbers.strip():
        named = f" ({source.name})" if source.name else ""
        raise ValueError(f"source {place}{named} has no numbers yet; write them as published, as 2, 5, 12")
    if source.values:
        return "".join(number_key(value) for value in source.values) + "/"
    return _text_key(source.numbers, place)


def number_key(value: Decimal) -> str:
    """Write a number without needless zeros; whole numbers end in a point, fractions hold their own."""
    whole, _, fraction = format(value, "f").partition(".")
    return f"{whole.lstrip('0') or '0'}.{fraction.rstrip('0')}"


def _text_key(text: str, place: int) -> str:
    """Keep A to Z and 0 to 9 of a text in capitals, accents dropped (section 4, last paragraph)."""
    bare = re.sub(r"[^A-Z0-9]", "", unicodedata.normalize("NFD", text).upper())
    if not re.search("[A-Z]", bare):
        raise ValueError(
            f'source {place} is "{text}"; write its numbers with commas between them, as 2, 5, 12 '
            "(digits and a decimal point, no other signs)"
        )
    return f"{bare}./"


def rough_bits(source: Source) -> float:
    """Guess low how many bits of randomness a source gives.

    A lottery of k numbers up to n gives log2(n! / (k! (n-k)!)), since sorting throws the order away. If
    it isn't described, the highest number published stands in for n. A lone number gives log2(10) for
    each digit but the first, the leading one being easy to guess (section 3.1: the low digits count).
    Words give nothing.
    """
    if source.drawn and source.highest:
        return math.log2(math.comb(source.highest, source.drawn))
    values = source.values
    if len(values) == 1:
        return math.log2(10) * max(len(re.sub(r"\D", "", number_key(values[0]))) - 1, 0)
    if not values or values[-1] < len(values):
        return 0.0
    return math.log2(math.comb(int(values[-1]), len(values)))


# The counter is two bytes long (RFC 3797 section 4), so there are no more than this many steps.
LARGEST_POOL = 0x10000
# RFC 3797 section 3.1: three or four sources are good, ten are too many.
MANY_SOURCES = 10


class Outcome(StrEnum):
    """What being picked means for an entrant."""

    SLOT = "slot"
    RESERVE = "reserve"
    WITHDRAWN = "withdrawn"  # passed over; the next step gives the place to somebody else


@dataclass(frozen=True)
class Pick:
    """One step of the selection, with everything needed to work it out again."""

    counter: int  # 0 for the first step; stands before and after the key as two bytes, high byte first
    digest: str  # MD5 as 32 hexadecimal digits in capitals
    divisor: int  # how many entrants were still in the pool
    number: int  # the picked entrant's place on the published list, from 1
    entrant: str
    outcome: Outcome


@dataclass(frozen=True)
class Caution:
    """What could be held against the sources, by the name of its words (`draw.caution`)."""

    name: str
    values: Mapping[str, object]  # what the words name


@dataclass(frozen=True)
class Draw:
    """A draw, with all that anyone needs to repeat it: first its list and sources, then what came out."""

    title: str
    entrants: tuple[str, ...]  # codes, never names, in the published order; nothing on the list may change
    slots: int  # places to give away; may exceed the number of entrants
    sources: tuple[Source, ...]  # in the announced order; with their numbers, once it's drawn
    day: date | None = None  # when it was announced
    wait_days: int = 0  # how long a late source is waited for
    withdrawn: frozenset[int] = frozenset()  # numbers on the list of those who dropped out after publication
    key: str = ""  # empty before it's drawn
    picks: tuple[Pick, ...] = ()  # every entrant, in the order drawn

    def __post_init__(self) -> None:
        """Raise ValueError where there's nobody or nothing to draw, or nothing to draw from."""
        _check_pool(len(self.entrants))
        if self.slots < 1:
            raise ValueError(f"a draw for {self.slots} slots gives nothing away; the smallest number is 1")
        if not self.sources:
            raise ValueError("no source of randomness is given; name at least one, three or four are better")

    @property
    def needed(self) -> float:
        """Bits of randomness that the choice takes (RFC 3797 section 3.3)."""
        return bits_needed(len(self.entrants), self.slots)

    @property
    def given(self) -> float:
        """Bits that the sources give, a rough and low guess."""
        return sum(map(rough_bits, self.sources))

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What speaks against the sources; nothing while one is neither published nor described."""
        told = all(source.numbers.strip() or source.highest for source in self.sources)
        return cautions(self.sources, self.needed) if told else ()

    @property
    def order(self) -> tuple[int, ...]:
        """Numbers of all entrants in the order drawn, those withdrawn included."""
        return tuple(pick.number for pick in self.picks)

    @property
    def winners(self) -> tuple[int, ...]:
        """Numbers of those who get a slot, first picked first."""
        return tuple(pick.number for pick in self.picks if pick.outcome is Outcome.SLOT)

    @property
    def reserves(self) -> tuple[int, ...]:
        """Numbers of those to ask next, in order."""
        return tuple(pick.number for pick in self.picks if pick.outcome is Outcome.RESERVE)


def entrants(lines: Sequence[str]) -> tuple[str, ...]:
    """Read one entrant a line; an entrant's number is the number of the line, from 1.

    Raises ValueError for no entrants, an empty line between others, or somebody entered twice.
    """
    names = [unicodedata.normalize("NFC", " ".join(line.split())) for line in lines]
    while names and not names[-1]:
        names.pop()
    seen: dict[str, int] = {}
    for number, name in enumerate(names, start=1):
        if not name:
            raise ValueError(f"line {number} is empty; put one entrant on each line, since lines are numbers")
        first = seen.setdefault(name.casefold(), number)
        if first != number:
            raise ValueError(f'line {number} enters "{name}" again after line {first}; one entry a person')
    _check_pool(len(names))
    return tuple(names)


def selection(key: str, pool: int) -> tuple[tuple[int, str, int, int], ...]:
    """Draw a whole pool: tuples of (counter, digest, divisor, number), number counted from 1.

    RFC 3797 section 4: digest i is MD5 of the counter, the key and the counter again; read as one
    number it is divided by the entrants left, and the remainder says whom to take. The first picks
    don't depend on how many are wanted.
    """
    left = list(range(1, pool + 1))
    steps = []
    for counter in range(pool):
        edge = counter.to_bytes(2, "big")
        digest = hashlib.md5(edge + key.encode("ascii") + edge, usedforsecurity=False).digest()
        divisor = len(left)
        number = left.pop(int.from_bytes(digest, "big") % divisor)
        steps.append((counter, digest.hex().upper(), divisor, number))
    return tuple(steps)


def run(draw: Draw, sources: Sequence[Source], withdrawn: Collection[int] = ()) -> Draw:
    """Draw: the first who haven't withdrawn get a slot, everybody after them is a reserve in order.

    `withdrawn` holds numbers on the list; they keep their number and are passed over (section 5.1).
    Raises ValueError for a source without numbers, or an unknown number.
    """
    if unknown := sorted(set(withdrawn) - set(range(1, len(draw.entrants) + 1))):
        raise ValueError(f"number {unknown[0]} withdrew, but the list runs from 1 to {len(draw.entrants)}")
    key, picks, free = key_string(sources), list[Pick](), draw.slots
    for counter, digest, divisor, number in selection(key, len(draw.entrants)):
        outcome = Outcome.SLOT if free else Outcome.RESERVE
        outcome = Outcome.WITHDRAWN if number in withdrawn else outcome
        free -= outcome is Outcome.SLOT
        picks.append(Pick(counter, digest, divisor, number, draw.entrants[number - 1], outcome))
    gone = frozenset(withdrawn)
    return replace(draw, sources=tuple(sources), withdrawn=gone, key=key, picks=tuple(picks))


def bits_needed(pool: int, slots: int) -> float:
    """Count the bits of randomness that choosing `slots` of `pool` takes: log2(P! / (N! (P-N)!))."""
    return math.log2(math.comb(pool, min(slots, pool)))


def cautions(sources: Sequence[Source], needed: float) -> tuple[Caution, ...]:
    """Say what a suspicious collector could hold against these sources (RFC 3797 sections 3 and 4)."""
    bits = [rough_bits(source) for source in sources]
    found = [
        Caution("words", {"number": place, "text": source.numbers})
        for place, source in enumerate(sources, start=1)
        if source.is_text
    ]
    if sum(bits) < needed:
        found.append(Caution("few", {"given": round(sum(bits)), "needed": round(needed)}))
    if len(bits) > 1 and bits[-1] < needed / 2:
        found.append(Caution("last", {"given": round(bits[-1])}))
    if len(sources) > MANY_SOURCES:
        found.append(Caution("many", {"number": len(sources)}))
    return tuple(found)


def _check_pool(size: int) -> None:
    if not size:
        raise ValueError("nobody has entered; a draw needs at least one entrant")
    if size > LARGEST_POOL:
        raise ValueError(f"{size} entrants are too many; RFC 3797 counts no further than {LARGEST_POOL}")


def announce(draw: Draw, day: date) -> Draw:
    """Announce a draw. Raises ValueError for a source that the studio could have looked up before."""
    for source in draw.sources:
        if source.numbers.strip():
            known = "has its numbers already; announce one nobody can know yet"
        elif source.due is None:
            known = "has no day; say when its numbers are published"
        elif source.due <= day:
            known = f"is published on {source.due}, not after the announcement of {day}; take a later one"
        else:
            continue
        raise ValueError(f'source "{source.name}" {known}')
    return replace(draw, day=day)


def fingerprint(pool: Sequence[str]) -> str:
    """Hash a list of entrants, one a line in UTF-8, each line ended by a line feed, with SHA-256."""
    return hashlib.sha256("".join(f"{code}\n" for code in pool).encode()).hexdigest()
