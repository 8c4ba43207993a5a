"""How one thing grows with another, robustly: a few odd prices don't move the line.

The line is Theil's and Sen's: its slope the median of the slopes between all pairs of points, its height such
that half of the points lie above it. How sure the slope is, Sen (1968) says by the normal approximation, with
ties taken off. Slopes are estimates, so they are floats; what is said of money is rounded to a coin.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import sqrt
from statistics import NormalDist, median

# Common practice, no source: a line through fewer says nothing.
FEWEST = 5
# Iglewicz and Hoaglin: a modified z-score above 3.5 (NIST/SEMATECH e-Handbook, section 1.3.5.17).
_ODD, _HALF_OF_NORMAL = 3.5, 0.6745


@dataclass(frozen=True, slots=True)
class Trend:
    """A line through points."""

    slope: float
    start: float  # its height at zero
    low: float
    high: float  # between these the slope lies in 95 of 100 cases

    def at(self, x: float) -> float:
        """Return its height at a place."""
        return self.start + self.slope * x


def trend(points: Sequence[tuple[float, float]], sure: float = 0.95) -> Trend | None:
    """Lay the line through points (x, y); None through fewer than five, or all at fewer than three places."""
    if len(points) < FEWEST or len({x for x, _ in points}) < 3:
        return None
    rising = sorted(points)
    slopes = sorted((d - b) / (c - a) for (a, b), (c, d) in combinations(rising, 2) if c > a)
    slope = median(slopes)
    start = median(y for _, y in points) - slope * median(x for x, _ in points)
    half = NormalDist().inv_cdf((1 + sure) / 2) * _spread(points)
    low = slopes[max(round((len(slopes) - half) / 2) - 1, 0)]
    high = slopes[min(round((len(slopes) + half) / 2), len(slopes) - 1)]
    return Trend(slope, start, low, high)


def _spread(points: Sequence[tuple[float, float]]) -> float:
    """Return the spread of Kendall's count of pairs that rise, with ties taken off (Sen 1968)."""
    tied = [count for place in (0, 1) for count in Counter(point[place] for point in points).values()]
    return sqrt(max(_of(len(points)) - sum(map(_of, tied)), 0) / 18)


def _of(count: int) -> int:
    return count * (count - 1) * (2 * count + 5)


def odd(distances: Iterable[float]) -> list[bool]:
    """Tell which of some distances from a line, or a middle, lie far outside of the others."""
    found = list(distances)
    if len(found) < FEWEST:
        return [False] * len(found)
    middle = median(found)
    spread = median(abs(one - middle) for one in found)
    return [_HALF_OF_NORMAL * abs(one - middle) > _ODD * spread > 0 for one in found]
