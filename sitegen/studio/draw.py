"""Draw names so that anyone can check it: RFC 3797, publicly verifiable random selection.

The way through: entrants are numbered and published, sources of public numbers are named before their
numbers exist, then the numbers make a key string, and the key string makes the order. Nothing here is
secret and nothing is the studio's to choose once the list is out.
"""

import hashlib
import math
import unicodedata
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from sitegen.studio.draw_source import Source, key_string, rough_bits

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
class DrawRecord:
    """A finished draw, whole: what a page or a text file has to show for anyone to repeat it."""

    entrants: tuple[str, ...]  # in the published order, by code
    slots: int  # places to give away; may exceed the number of entrants
    sources: tuple[Source, ...]  # in the announced order, numbers filled in
    withdrawn: frozenset[int]  # numbers on the list of those who dropped out after publication
    key: str
    picks: tuple[Pick, ...]  # every entrant, in the order drawn
    needed: float  # bits of randomness the choice takes (RFC 3797 section 3.3)
    given: float  # bits the sources give, a rough and low guess
    cautions: tuple[Caution, ...]

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


def one_entry_each(entries: Iterable[tuple[str, str]]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Keep the first request of each person, from pairs of (code, person) in the order they came.

    Returns the codes that take part and the codes left out because the person had asked before.
    """
    seen: set[str] = set()
    kept: list[str] = []
    repeated: list[str] = []
    for code, person in entries:
        (repeated if person.casefold() in seen else kept).append(code)
        seen.add(person.casefold())
    return tuple(kept), tuple(repeated)


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


def run(
    pool: Sequence[str], slots: int, sources: Sequence[Source], withdrawn: Collection[int] = ()
) -> DrawRecord:
    """Draw: the first `slots` who haven't withdrawn get one, everybody after them is a reserve in order.

    `withdrawn` holds numbers on the list; they keep their number and are passed over (section 5.1).
    Raises ValueError for an empty pool, no slot, no source, a source without numbers, or an unknown number.
    """
    _check_pool(len(pool))
    check_slots(slots)
    if unknown := sorted(set(withdrawn) - set(range(1, len(pool) + 1))):
        raise ValueError(f"number {unknown[0]} withdrew, but the list runs from 1 to {len(pool)}")
    key = key_string(sources)
    needed = bits_needed(len(pool), slots)
    return DrawRecord(
        entrants=tuple(pool),
        slots=slots,
        sources=tuple(sources),
        withdrawn=frozenset(withdrawn),
        key=key,
        picks=_picks(key, pool, slots, withdrawn),
        needed=needed,
        given=sum(rough_bits(source) for source in sources),
        cautions=cautions(sources, needed),
    )


def _picks(key: str, pool: Sequence[str], slots: int, withdrawn: Collection[int]) -> tuple[Pick, ...]:
    picks = []
    free = slots
    for counter, digest, divisor, number in selection(key, len(pool)):
        outcome = Outcome.SLOT if free else Outcome.RESERVE
        outcome = Outcome.WITHDRAWN if number in withdrawn else outcome
        free -= outcome is Outcome.SLOT
        picks.append(Pick(counter, digest, divisor, number, pool[number - 1], outcome))
    return tuple(picks)


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


def check_slots(slots: int) -> None:
    """Raise ValueError for a draw that gives nothing away."""
    if slots < 1:
        raise ValueError(f"a draw for {slots} slots gives nothing away; the smallest number is 1")


def _check_pool(size: int) -> None:
    if not size:
        raise ValueError("nobody has entered; a draw needs at least one entrant")
    if size > LARGEST_POOL:
        raise ValueError(f"{size} entrants are too many; RFC 3797 counts no further than {LARGEST_POOL}")
