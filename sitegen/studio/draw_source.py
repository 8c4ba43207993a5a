"""Turn public numbers into a key string, letter for letter as RFC 3797 section 4 says."""

import math
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+")
_BETWEEN = re.compile(r"[\s,;]+")
# What a source counts as when its numbers never come. Our rule, printed in the announcement: a rule made
# up afterwards would let the studio choose.
MISSING = "0"


@dataclass(frozen=True)
class Source:
    """One public source of randomness, named before its numbers exist."""

    name: str  # exact enough that two strangers would read off the same numbers
    due: date | None = None  # the day its numbers are published
    numbers: str = ""  # as published: "2, 5, 12, 8, 10"; empty until known
    drawn: int | None = None  # for a lottery: how many numbers are drawn ...
    highest: int | None = None  # ... out of 1 to this

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
    return [replace(source, numbers=found) for source, found in zip(sources, numbers, strict=True)]


def settle(source: Source, today: date, wait_days: int) -> Source:
    """Let a source count as 0 once it's more than `wait_days` days late; else leave it alone."""
    late = source.due is not None and today > source.due + timedelta(days=wait_days)
    return replace(source, numbers=MISSING) if late and not source.numbers.strip() else source


def key_string(sources: Sequence[Source]) -> str:
    """Join sources in their announced order: `9319./2.5.8.10.12./`.

    Raises ValueError for no source or a source whose numbers aren't there or can't be read.
    """
    if not sources:
        raise ValueError("no source of randomness is given; name at least one, three or four are better")
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
