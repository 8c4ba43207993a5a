"""Predict the hours of several pieces together, with what few records leave unknown.

Two things are uncertain. How the pieces to come vary: that's the convolution. And how well the records
tell the average: eleven pieces may all have been quick ones, and then every piece of a long queue is
underestimated alike, so this part grows with the number of pieces, not with its root. Left out, an "80 %"
date for thirty pieces from eleven records holds in about 65 of 100 studios.

So the sum is shifted by an unknown error: standard error times t + g (1 + 2 t^2) / 6, where t follows
Student's distribution with n - 1 degrees of freedom (Welch and Satterthwaite's formula where tiers mix)
and g is the skewness of the mean (N. J. Johnson's correction for skewed records, Journal of the American
Statistical Association 73, 1978, pp. 536-544; P. Hall, Journal of the Royal Statistical Society B 54,
1992, pp. 221-228; both cited from memory). For normal hours this is the exact prediction interval of the
textbooks but for the t factor on the pieces' own variation. A guess has no such error to compute; its
answers are as good as the guess. What dated pieces tell of weeks and of a drift (`bench`) joins the same
error: the drift moves it and both widen it.
"""

import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import accumulate
from operator import mul

from sitegen.studio.capacity.bench import UNKNOWN, Pace
from sitegen.studio.capacity.hours import NOTHING, Distribution, Hours, convolve

# Student's t is integrated over t = 2 sinh(u), u from -5.2 to 5.2: even steps near the middle, wide ones far
# out, and tails to 180 standard errors, enough for a single degree of freedom.
_REACH, _STEPS = 5.2, 90
_KNOTS = [
    (2 * math.sinh(u), math.cosh(u)) for u in (_REACH * (2 * step / _STEPS - 1) for step in range(_STEPS + 1))
]


@dataclass(frozen=True)
class Total:
    """Half hours of several pieces together."""

    spread: Distribution = NOTHING  # how the pieces vary, if the records told the truth
    pieces: dict[str, tuple[Hours, float]] = field(default_factory=dict)  # by name: what and how many
    pace: Pace = UNKNOWN
    places: int = 0  # pieces added
    mean: float = 0.0  # expected half hours, the drift left aside
    lever: float = 0.0  # what one unit of growth would add to them
    shift: float = 0.0  # what the growth on record adds
    wider: float = 0.0  # the same of the variance: larger pieces vary by more hours

    def plus(self, hours: Hours) -> "Total":
        """Add one more piece."""
        _, count = self.pieces.get(hours.name, (hours, 0))
        ahead = self.pace.ahead(self.places) if hours.count else 0.0  # a guess is of today
        mean, larger = hours.spread.mean, self.pace.larger(ahead)
        return Total(
            spread=convolve(self.spread, hours.spread),
            pieces={**self.pieces, hours.name: (hours, count + 1)},
            pace=self.pace,
            places=self.places + 1,
            mean=self.mean + mean,
            lever=self.lever + mean * larger * ahead,
            shift=self.shift + mean * (larger - 1),
            wider=self.wider + hours.spread.variance * (larger**2 - 1),
        )

    def not_before(self, half_hours: int) -> "Total":
        """Let nothing end before so many bench half hours have gone by.

        What is unknown of the work before counts by the chance that this work is what takes the time.
        """
        if half_hours <= 0:
            return self
        busy = 1 - self.chance(half_hours)
        return replace(
            self,
            spread=self.spread.at_least(half_hours),
            pieces={name: (hours, count * busy) for name, (hours, count) in self.pieces.items()},
            mean=self.mean * busy,
            lever=self.lever * busy,
            shift=self.shift * busy,
            wider=self.wider * busy,
        )

    def chance(self, half_hours: int) -> float:
        """Return the chance that everything takes at most so many half hours."""
        row, starts, weights, below = self._rows
        # A larger error lets the row begin later: the first rows are behind, the last ones still ahead.
        behind = bisect_right(starts, half_hours - len(row) + 1)
        begun = bisect_right(starts, half_hours)
        places = [half_hours - start for start in starts[behind:begun]]
        found: float = sum(map(mul, weights[behind:begun], map(row.__getitem__, places)))
        return below[behind] + found / row[-1]

    def quantile(self, share: float) -> int:
        """Return the smallest number of half hours whose chance reaches `share` (above 0, below 1)."""
        row, starts, _, _ = self._rows
        return bisect_left(range(starts[-1] + len(row)), share, key=self.chance)

    @property
    def _known(self) -> list[tuple[Hours, float]]:
        return [(hours, count) for hours, count in self.pieces.values() if hours.mean_variance]

    @property
    def _parts(self) -> list[tuple[float, float]]:
        """Variances of what is unknown, in half hours squared, each with its degrees of freedom."""
        parts = [(count**2 * hours.mean_variance, float(hours.freedom)) for hours, count in self._known]
        parts.append((self.lever**2 * self.pace.growth_variance, self.pace.growth_freedom))
        parts.append((self.pace.week_variance(self.mean), self.pace.freedom))
        parts.append((self.wider, self.pace.growth_freedom))
        return [(variance, freedom) for variance, freedom in parts if variance > 0]

    @cached_property
    def _rows(self) -> tuple[tuple[int, ...], list[int], list[float], list[float]]:
        """The cumulative row; where it begins under each error, with the error's chance; sums of chances."""
        errors = self._errors
        # A rounding error isn't half an hour.
        starts = [self.spread.start + math.ceil(error - 1e-6) for error, _ in errors]
        weights = [weight for _, weight in errors]
        return self.spread.cumulative, starts, weights, [0.0, *accumulate(weights)]

    @property
    def _errors(self) -> list[tuple[float, float]]:
        """Pairs of (error of the expected total in half hours, chance); chances sum to 1."""
        parts = self._parts
        scale = math.sqrt(
            sum(variance for variance, _ in parts)
        )  # standard error of the total, in half hours
        if not scale:
            return [(self.shift, 1.0)]
        freedom = scale**4 / sum(variance**2 / freedom for variance, freedom in parts)
        third = sum(count**3 * hours.mean_third for hours, count in self._known)
        errors = student_errors(scale, freedom, third / scale**3)
        return [(self.shift + error, weight) for error, weight in errors]


def student_errors(scale: float, freedom: float, skewness: float) -> list[tuple[float, float]]:
    """Weigh errors by Student's density, bent for skewed records; level where the bend would turn back."""
    weights = [slope * (1 + t * t / freedom) ** (-(freedom + 1) / 2) for t, slope in _KNOTS]
    total = math.fsum(weights)
    turn = -1.5 / skewness if skewness else -math.inf
    held = [max(t, turn) if skewness >= 0 else min(t, turn) for t, _ in _KNOTS]
    errors = [scale * (t + skewness * (1 + 2 * t * t) / 6) for t in held]
    return [(error, weight / total) for error, weight in zip(errors, weights, strict=True)]
