"""Say what one piece takes, and add up uncertain hours on a half-hour grid.

One piece: from the hours of finished pieces, or from a low, usual and high guess. A distribution is a row of
whole-number weights, one for each half hour; the weights of one distribution sum to `ONE`, give or take
rounding. Two rows are convolved by packing each into one huge whole number and multiplying (Kronecker
substitution): the product holds every sum of products, exactly. Scaling back to `ONE` rounds each weight by
at most half a unit, so after sixty pieces on some thousands of half hours a cumulative probability is off by
less than 1e-8.
"""

import math
import sys
from array import array
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from itertools import accumulate
from typing import NamedTuple

from sitegen.studio.text import counted

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
    """Add two independent numbers of half hours: exactly, then each sum of products scaled back, rounded.

    A slot of 128 bits holds any such sum: two weights of at most 2^49 and rows below 2^30 half hours. Once
    scaled back, each is below 2^64, so the lower half of its slot has it whole; the upper half then holds
    what was cut off the next slot.
    """
    slots = len(first.weights) + len(second.weights) - 1
    halves = _pack(array("Q", [_HALF]) * slots)  # added before cutting off, so this rounds
    product = (_pack(first.weights) * _pack(second.weights) + halves) >> _BITS
    words = array("Q", product.to_bytes(16 * slots, "little"))
    if sys.byteorder == "big":
        words.byteswap()
    return trimmed(first.start + second.start, words[::2])


def _pack(row: Sequence[int]) -> int:
    """Write weights as the digits, in base 2^128, of one number."""
    words = array("Q", bytes(16 * len(row)))
    words[::2] = array("Q", row)
    if sys.byteorder == "big":
        words.byteswap()
    return int.from_bytes(words.tobytes(), "little")


# Below this many records of a tier its own spread says little; common practice, no source.
FEW = 5
# The spread of fewer than two records can't be told at all.
FEWEST = 2
_NEXT_TO_NOTHING = 0.01
_SLICES = 720  # of the beta curve; its moments are then right to a thousandth of an hour


class Basis(StrEnum):
    """What an answer rests on."""

    RECORDS = "records of this tier"
    BORROWED = "records of this tier, their spread taken from all pieces"
    POOLED = "records of all pieces"
    ESTIMATE = "a low, usual and high guess"
    LONG = "a guess, for a piece that took longer than those on record"


class ThreePoint(NamedTuple):
    """A guess in hours: hardly ever below `low`, usually `usual`, hardly ever above `high`."""

    low: float
    usual: float
    high: float

    @property
    def mean(self) -> float:
        """PERT mean, (low + 4 usual + high) / 6; the standard deviation is (high - low) / 6."""
        return (self.low + 4 * self.usual + self.high) / 6


@dataclass(frozen=True)
class Hours:
    """What one piece of a kind takes, and how well that's known."""

    name: str  # the tier, or the piece for one in progress
    basis: Basis
    spread: Distribution  # in half hours
    count: int  # records the mean rests on; 0 for a guess
    freedom: int  # degrees of freedom of the spread; 0 for a guess
    mean_variance: float  # variance of the mean of the records, in half hours squared; 0 for a guess
    mean_third: float  # third central moment of that mean
    records: tuple[float, ...] = ()  # hours, sorted

    @property
    def rests_on(self) -> str:
        """Say what they rest on; of records the middle half (quartiles, Hyndman-Fan type 7)."""
        if not self.records:
            mean, deviation = self.spread.mean / HALF_HOURS, self.spread.variance**0.5 / HALF_HOURS
            return f"{self.name}: {self.basis}; mean {mean:.1f} h, standard deviation {deviation:.1f} h"
        low, high = (f"{round(quantile(self.records, edge), 1):g}" for edge in (0.25, 0.75))
        took = f"it took {low} h" if self.count == 1 else f"middle half {low} to {high} h"
        return f"{self.name}: {counted(self.count, 'piece', 'pieces')}, {self.basis}; {took}"

    def left(self, done: float, name: str) -> "Hours":
        """Say what's left of a piece that has had `done` hours.

        That is the records longer than `done`, less `done`; where the spread isn't that of the records, the
        part of it beyond `done`. If fewer than two records or next to nothing of the spread are longer,
        what's left is guessed: between nothing and twice the standard deviation, because a piece beyond
        experience isn't nearly finished just for that (common practice, no source).
        """
        if done <= 0:
            return self
        longer = [hours - done for hours in self.records if hours > done]
        if self.basis in (Basis.RECORDS, Basis.POOLED):
            if len(longer) >= FEWEST:
                return from_records(longer, name, self.basis)
        elif self.spread.chance(done * HALF_HOURS) <= 1 - _NEXT_TO_NOTHING:
            return self._beyond(done, name)
        deviation = max(self.spread.variance**0.5 / HALF_HOURS, 1.0)
        return from_estimate(ThreePoint(0.0, deviation, 2 * deviation), name, Basis.LONG)

    def _beyond(self, done: float, name: str) -> "Hours":
        """Keep the part of the spread beyond the hours done; what's unknown shrinks with what's left."""
        first, steps = self.spread.start, done * HALF_HOURS
        weights = enumerate(self.spread.weights, first)
        spread = from_points({place - steps: float(one) for place, one in weights if one and place > steps})
        smaller = spread.mean / self.spread.mean
        variance, third = self.mean_variance * smaller**2, self.mean_third * smaller**3
        return replace(self, name=name, spread=spread, mean_variance=variance, mean_third=third, records=())


def quantile(records: Sequence[float], share: float) -> float:
    """Interpolate a quantile of sorted records: Hyndman-Fan type 7, as spreadsheets and NumPy do."""
    place = share * (len(records) - 1)
    low = math.floor(place)
    part = place - low
    return records[low] if not part else (1 - part) * records[low] + part * records[low + 1]


def from_records(records: Sequence[float], name: str, basis: Basis = Basis.RECORDS) -> Hours:
    """Take the hours of finished pieces as they are, each as likely as any other.

    Their distances from the mean are stretched by sqrt(n / (n - 1)), so that the spread is the unbiased
    one: n records lie closer to their own mean than new pieces will. Raises ValueError for fewer than two.
    """
    count = len(records)
    if count < FEWEST:
        raise ValueError(f"{name}: {count} records of hours are too few; two are needed, five are better")
    mean = sum(records) / count
    gaps = [(hours - mean) * HALF_HOURS for hours in records]
    stretch = math.sqrt(count / (count - 1))
    return _about(records, [gap * stretch for gap in gaps], _third_moment(gaps), name, basis, count - 1)


def _about(
    own: Sequence[float], gaps: Sequence[float], third: float, name: str, basis: Basis, freedom: int
) -> Hours:
    """Spread stretched distances, in half hours, about the mean of a tier's own records."""
    count, mean = len(own), sum(own) * HALF_HOURS / len(own)
    return Hours(
        name=name,
        basis=basis,
        spread=from_points(Counter(mean + gap for gap in gaps)),
        count=count,
        freedom=freedom,
        mean_variance=sum(gap**2 for gap in gaps) / len(gaps) / count,
        mean_third=third / count**2,
        records=tuple(sorted(float(hours) for hours in own)),
    )


def _third_moment(gaps: Sequence[float]) -> float:
    """Estimate the third central moment without bias: n / ((n - 1)(n - 2)) times the sum of cubes."""
    count = len(gaps)
    if count < 3:
        return 0.0
    return sum(gap**3 for gap in gaps) * count / ((count - 1) * (count - 2))


def from_estimate(guess: ThreePoint, name: str, basis: Basis = Basis.ESTIMATE) -> Hours:
    """Spread a guess as a beta distribution from low to high with the PERT mean and standard deviation.

    The two shape numbers follow from mean and standard deviation, so what's computed has exactly the
    textbook's values. The curve is cut into slices of equal angle (x = sin squared), which tames its ends.
    """
    width = guess.high - guess.low
    if not width:
        points = {guess.usual * HALF_HOURS: 1.0}
    else:
        share = (guess.mean - guess.low) / width
        both = share * (1 - share) * 36 - 1  # both shape numbers together: variance is (width / 6) squared
        first, second = 2 * share * both - 1, 2 * (1 - share) * both - 1
        angles = [(step + 0.5) * math.pi / 2 / _SLICES for step in range(_SLICES)]
        points = {
            (guess.low + width * math.sin(angle) ** 2) * HALF_HOURS: (
                math.sin(angle) ** first * math.cos(angle) ** second
            )
            for angle in angles
        }
    return Hours(name, basis, from_points(points), 0, 0, 0.0, 0.0)


def borrowed(own: Sequence[float], name: str, groups: Sequence[Sequence[float]]) -> Hours | None:
    """Take the mean from a tier's few records and the spread from all pieces.

    Pieces of all tiers are compared with the mean of their own tier; those ratios say how pieces vary, and
    the tier's own mean says how large they are. Returns None if there are too few pieces to compare.
    """
    compared = [group for group in groups if len(group) >= FEWEST and sum(group) > 0]
    strays: list[float] = []
    for group in compared:
        mean, stretch = sum(group) / len(group), math.sqrt(len(group) / (len(group) - 1))
        strays += [(hours / mean - 1) * stretch for hours in group]
    freedom = len(strays) - len(compared)
    if not own or freedom < FEW - 1:
        return None
    usual = sum(own) * HALF_HOURS / len(own)
    gaps = [stray * usual for stray in strays]
    return _about(own, gaps, _third_moment(gaps), name, Basis.BORROWED, freedom)


def hours_by_tier(
    records: Mapping[str, Sequence[float]], guesses: Mapping[str, ThreePoint], tiers: Sequence[str]
) -> dict[str, Hours]:
    """Choose for each tier what its hours rest on.

    Its own records if there are at least five; else its three-point guess if there's one; else the mean of
    its few records with the spread of all pieces; else the records of all pieces together. `records` may
    hold pieces of no tier under any other key. Raises ValueError, naming the tier, if there's nothing to
    go by.
    """
    groups, found = list(records.values()), dict[str, Hours]()
    pool = [hours for group in groups for hours in group]
    for tier in tiers:
        own, guess = records.get(tier, ()), guesses.get(tier)
        if len(own) >= FEW:
            found[tier] = from_records(own, tier)
        elif guess is not None:
            found[tier] = from_estimate(guess, tier)
        elif few := borrowed(own, tier, groups):
            found[tier] = few
        elif len(pool) >= FEWEST:
            found[tier] = from_records(pool, tier, Basis.POOLED)
        else:
            raise ValueError(
                f'nothing says how long "{tier}" takes: track the hours of finished pieces, or write a '
                "low, usual and high number of hours for this tier. Hours stand in a piece's `private:` as "
                "`hours: {sculpting: 12.5}`; a guess in the tier's, as `private: {hours: {low: 14, usual: "
                "20, high: 32}}`"
            )
    return found
