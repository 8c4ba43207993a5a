"""Add up uncertain hours on a half-hour grid.

A distribution is a row of whole-number weights, one for each half hour; the weights of one distribution
sum to `ONE`, give or take rounding. Two rows are convolved by packing each into one huge whole number and
multiplying (Kronecker substitution): the product holds every sum of products, exactly. Scaling back to
`ONE` rounds each weight by at most half a unit, so after sixty pieces on some thousands of half hours a
cumulative probability is off by less than 1e-8.
"""

import sys
from array import array
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

HALF_HOURS = 2  # grid steps in an hour
_BITS = 48
ONE = 1 << _BITS
_HALF = ONE >> 1


@dataclass(frozen=True)
class Distribution:
    """Chances of a number of half hours: `weights[i]` belongs to `start + i`."""

    start: int
    weights: tuple[int, ...]

    @cached_property
    def cumulative(self) -> tuple[int, ...]:
        """Running sums of the weights."""
        return tuple(accumulate(self.weights))

    @cached_property
    def mean(self) -> float:
        """Mean number of half hours."""
        total = sum(place * weight for place, weight in enumerate(self.weights))
        return self.start + total / self.cumulative[-1]

    @cached_property
    def variance(self) -> float:
        """Variance in half hours squared."""
        centre = self.mean - self.start
        total = sum((place - centre) ** 2 * weight for place, weight in enumerate(self.weights))
        return float(total / self.cumulative[-1])

    def chance(self, half_hours: float) -> float:
        """Return the chance of at most so many half hours."""
        place = int(half_hours // 1) - self.start
        if place < 0:
            return 0.0
        return self.cumulative[min(place, len(self.weights) - 1)] / self.cumulative[-1]

    def quantile(self, share: float) -> int:
        """Return the smallest number of half hours whose chance reaches `share`."""
        return self.start + bisect_left(self.cumulative, share * self.cumulative[-1])

    def at_least(self, floor: int) -> "Distribution":
        """Lift everything below `floor` up to it: work that can't end before a day."""
        cut = max(floor - self.start, 0)
        return trimmed(self.start + cut, [sum(self.weights[: cut + 1]), *self.weights[cut + 1 :]])


def trimmed(start: int, weights: Sequence[int]) -> Distribution:
    """Drop weights of nothing at both ends."""
    first = next(place for place, weight in enumerate(weights) if weight)
    last = next(place for place in range(len(weights) - 1, -1, -1) if weights[place])
    return Distribution(start + first, tuple(weights[first : last + 1]))


def from_points(points: Mapping[float, float]) -> Distribution:
    """Put chances of half hours, whole or not, on the grid so that the mean stays what it was.

    A value between two grid points is shared between them; this adds a quarter of a step squared to the
    variance at most. Values below one half hour count as one: no piece takes no time.
    """
    total = sum(points.values())
    shares: dict[int, float] = {}
    for value, chance in points.items():
        low, part = divmod(max(value, 1.0), 1)
        shares[int(low)] = shares.get(int(low), 0.0) + chance * (1 - part)
        shares[int(low) + 1] = shares.get(int(low) + 1, 0.0) + chance * part
    start = min(shares)
    row = [round(ONE * shares.get(place, 0.0) / total) for place in range(start, max(shares) + 1)]
    return trimmed(start, row)


NOTHING = Distribution(0, (ONE,))


def convolve(first: Distribution, second: Distribution) -> Distribution:
    """Add two independent numbers of half hours."""
    return trimmed(first.start + second.start, multiply_rows(first.weights, second.weights))


def multiply_rows(first: Sequence[int], second: Sequence[int]) -> Sequence[int]:
    """Convolve two rows of weights exactly, then scale each sum of products back to `ONE`, rounded.

    A slot of 128 bits holds any such sum: two weights of at most 2^49 and rows below 2^30 half hours. Once
    scaled back, each is below 2^64, so the lower half of its slot has it whole; the upper half then holds
    what was cut off the next slot.
    """
    slots = len(first) + len(second) - 1
    halves = _pack(array("Q", [_HALF]) * slots)  # added before cutting off, so this rounds
    product = (_pack(first) * _pack(second) + halves) >> _BITS
    return _words(product.to_bytes(16 * slots, "little"))[::2]


def _pack(row: Sequence[int]) -> int:
    """Write weights as the digits, in base 2^128, of one number."""
    words = array("Q", bytes(16 * len(row)))
    words[::2] = array("Q", row)
    if sys.byteorder == "big":
        words.byteswap()
    return int.from_bytes(words.tobytes(), "little")


def _words(octets: bytes) -> "array[int]":
    words = array("Q", octets)
    if sys.byteorder == "big":
        words.byteswap()
    return words
