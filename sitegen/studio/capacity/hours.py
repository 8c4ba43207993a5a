"""Say what one piece takes: from the hours of finished pieces, or from a low, usual and high guess."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from sitegen.studio.capacity.grid import HALF_HOURS, Distribution, from_points

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


@dataclass(frozen=True)
class ThreePoint:
    """A guess in hours: hardly ever below `low`, usually `usual`, hardly ever above `high`."""

    low: float
    usual: float
    high: float

    def __post_init__(self) -> None:
        """Refuse a guess whose numbers aren't in order."""
        if not 0 <= self.low <= self.usual <= self.high or not self.high:
            raise ValueError(
                f"hours of {self.low:g}, {self.usual:g}, {self.high:g} aren't in order; "
                "write low, usual, high"
            )

    @property
    def mean(self) -> float:
        """PERT mean, (low + 4 usual + high) / 6."""
        return (self.low + 4 * self.usual + self.high) / 6

    @property
    def deviation(self) -> float:
        """PERT standard deviation, (high - low) / 6."""
        return (self.high - self.low) / 6


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
    def middle_half(self) -> tuple[float, float] | None:
        """Hours between which half of the records lie (quartiles, Hyndman-Fan type 7)."""
        if not self.records:
            return None
        return quantile(self.records, 0.25), quantile(self.records, 0.75)

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
            return _given_longer(self, done, name)
        deviation = max(self.spread.variance**0.5 / HALF_HOURS, 1.0)
        return from_estimate(ThreePoint(0.0, deviation, 2 * deviation), name, Basis.LONG)


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
    steps = [hours * HALF_HOURS for hours in records]
    mean = sum(steps) / count
    gaps = [step - mean for step in steps]
    variance = sum(gap**2 for gap in gaps) / (count - 1)
    stretch = math.sqrt(count / (count - 1))
    points = Counter(mean + gap * stretch for gap in gaps)
    return Hours(
        name=name,
        basis=basis,
        spread=from_points({value: float(often) for value, often in points.items()}),
        count=count,
        freedom=count - 1,
        mean_variance=variance / count,
        mean_third=_third_moment(gaps) / count**2,
        records=tuple(sorted(float(hours) for hours in records)),
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
        points = {
            (guess.low + width * place) * HALF_HOURS: chance
            for place, chance in _beta_slices(share * both, (1 - share) * both)
        }
    return Hours(name, basis, from_points(points), 0, 0, 0.0, 0.0)


def _beta_slices(first: float, second: float) -> list[tuple[float, float]]:
    """Cut a beta distribution into slices: pairs of place from 0 to 1 and relative chance."""
    angles = [(step + 0.5) * math.pi / 2 / _SLICES for step in range(_SLICES)]
    return [
        (math.sin(angle) ** 2, math.sin(angle) ** (2 * first - 1) * math.cos(angle) ** (2 * second - 1))
        for angle in angles
    ]


def _given_longer(hours: Hours, done: float, name: str) -> Hours:
    """Keep the part of a spread that lies beyond the hours done; what's unknown shrinks with what's left."""
    steps = done * HALF_HOURS
    points = {
        hours.spread.start + place - steps: float(weight)
        for place, weight in enumerate(hours.spread.weights)
        if weight and hours.spread.start + place > steps
    }
    spread = from_points(points)
    smaller = spread.mean / hours.spread.mean
    return replace(
        hours,
        name=name,
        spread=spread,
        mean_variance=hours.mean_variance * smaller**2,
        mean_third=hours.mean_third * smaller**3,
        records=(),
    )


def borrowed(own: Sequence[float], name: str, groups: Sequence[Sequence[float]]) -> Hours | None:
    """Take the mean from a tier's few records and the spread from all pieces.

    Pieces of all tiers are compared with the mean of their own tier; those ratios say how pieces vary, and
    the tier's own mean says how large they are. Returns None if there are too few pieces to compare.
    """
    compared = [group for group in groups if len(group) >= FEWEST and sum(group) > 0]
    ratios = [ratio for group in compared for ratio in _ratios(group)]
    freedom = len(ratios) - len(compared)
    if not own or freedom < FEW - 1:
        return None
    mean = sum(own) * HALF_HOURS / len(own)
    gaps = [(ratio - 1) * mean for ratio in ratios]
    points = Counter(mean + gap for gap in gaps)
    spread = from_points({value: float(often) for value, often in points.items()})
    return Hours(
        name=name,
        basis=Basis.BORROWED,
        spread=spread,
        count=len(own),
        freedom=freedom,
        mean_variance=sum(gap**2 for gap in gaps) / len(gaps) / len(own),
        mean_third=_third_moment(gaps) / len(own) ** 2,
        records=tuple(sorted(float(hours) for hours in own)),
    )


def _ratios(group: Sequence[float]) -> list[float]:
    """Compare records with their mean, stretched so that their spread is the unbiased one."""
    mean = sum(group) / len(group)
    stretch = math.sqrt(len(group) / (len(group) - 1))
    return [1 + (hours / mean - 1) * stretch for hours in group]


def hours_by_tier(
    records: Mapping[str, Sequence[float]], guesses: Mapping[str, ThreePoint], tiers: Sequence[str]
) -> dict[str, Hours]:
    """Choose for each tier what its hours rest on.

    Its own records if there are at least five; else its three-point guess if there's one; else the mean of
    its few records with the spread of all pieces; else the records of all pieces together. `records` may
    hold pieces of no tier under any other key. Raises ValueError, naming the tier, if there's nothing to
    go by.
    """
    groups = list(records.values())
    return {tier: _hours_for(tier, records.get(tier, ()), guesses.get(tier), groups) for tier in tiers}


def _hours_for(
    tier: str, own: Sequence[float], guess: ThreePoint | None, groups: Sequence[Sequence[float]]
) -> Hours:
    if len(own) >= FEW:
        return from_records(own, tier)
    if guess is not None:
        return from_estimate(guess, tier)
    if few := borrowed(own, tier, groups):
        return few
    pool = [hours for group in groups for hours in group]
    if len(pool) >= FEWEST:
        return from_records(pool, tier, Basis.POOLED)
    raise ValueError(
        f'nothing says how long "{tier}" takes: track the hours of finished pieces, or write a '
        "low, usual and high number of hours for this tier"
    )
