"""Answer how many slots can open and when each piece would be done.

The sequence: add the queue up piece by piece, turn each total's 50%, 80% and 90% points into days, see
which promises hold, then add new slots until the window's last evening can't be met any more.

Two things are uncertain. How the pieces to come vary: that's the convolution. And how well the records
tell the average: eleven pieces may all have been quick ones, and then every piece of a long queue is
underestimated alike, so this part grows with the number of pieces, not with its root. Left out, an "80%"
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
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property
from itertools import accumulate
from operator import mul

from sitegen.studio.capacity.bench import LONGEST_DAYS, UNKNOWN, Away, Bench, Pace
from sitegen.studio.capacity.hours import FEW, NOTHING, Basis, Distribution, Hours, convolve
from sitegen.studio.text import counted

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
        known = [(hours, count) for hours, count in self.pieces.values() if hours.mean_variance]
        # Variances of what is unknown, in half hours squared, each with its degrees of freedom.
        unknown = [
            *((count**2 * hours.mean_variance, float(hours.freedom)) for hours, count in known),
            (self.lever**2 * self.pace.growth_variance, self.pace.growth_freedom),
            (self.pace.week_variance(self.mean), self.pace.freedom),
            (self.wider, self.pace.growth_freedom),
        ]
        parts = [(variance, freedom) for variance, freedom in unknown if variance > 0]
        scale = math.sqrt(sum(variance for variance, _ in parts))  # standard error, in half hours
        if not scale:
            return [(self.shift, 1.0)]
        freedom = scale**4 / sum(variance**2 / freedom for variance, freedom in parts)
        third = sum(count**3 * hours.mean_third for hours, count in known)
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


def running_totals(pieces: Sequence[Hours], pace: Pace = UNKNOWN) -> list[Total]:
    """Add pieces up: none, the first, the first two, the first three ..."""
    return list(accumulate(pieces, Total.plus, initial=Total(pace=pace)))


# More slots than this in one window is a mistake in the hours, not a studio.
MOST_SLOTS = 100


@dataclass(frozen=True)
class Job:
    """A piece that is owed: a place in the queue, or one already on the bench."""

    code: str
    tier: str
    done: float = 0.0  # hours already worked on it
    promised: date | None = None  # the day it was promised for

    def left(self, hours: Mapping[str, Hours]) -> Hours:
        """Say what's left to do on it."""
        return hours[self.tier].left(self.done, f"{self.code}, what's left")


@dataclass(frozen=True)
class Question:
    """Everything an answer depends on."""

    queue: tuple[Job, ...]  # in the order they'll be worked on, one after the other
    hours: Mapping[str, Hours]  # by tier, see `hours_by_tier`
    bench: Bench
    window: tuple[date, date]  # new slots are begun and finished between these days
    tier: str  # of the new slots
    confidence: float = 0.8  # above 0, below 1
    pace: Pace = UNKNOWN  # what dated pieces say of weeks and drift; the bench is as learned already

    def __post_init__(self) -> None:
        """Raise ValueError for a window that ends before it begins, or before the bench starts."""
        first, last = self.window
        if last < first:
            raise ValueError(f"the window ends ({last}) before it begins ({first})")
        if last < self.bench.first_day:
            raise ValueError(f"the window ends ({last}) before the bench starts ({self.bench.first_day})")

    @cached_property
    def left(self) -> list[Hours]:
        """What's left to do on each piece of the queue."""
        return [job.left(self.hours) for job in self.queue]

    @cached_property
    def _dated(self) -> list["Dates"]:
        return []

    def dates(self, places: int | None = None) -> list["Dates"]:
        """Return the places of the queue with their days, or so many of them; each is added up once."""
        found = self._dated
        total = found[-1].total if found else Total(pace=self.pace)
        for job, hours in list(zip(self.queue, self.left, strict=True))[len(found) : places]:
            total = total.plus(hours)
            found.append(Dates(len(found) + 1, job.code, job.promised, total, self))
        return found[:places]

    @cached_property
    def promises(self) -> list[tuple[str, float]]:
        """The code of each piece promised for a day, with the chance that the promise is kept, in order."""
        last = max((place for place, job in enumerate(self.queue, 1) if job.promised), default=0)
        return [(dates.code, dates.kept) for dates in self.dates(last) if dates.kept is not None]

    @property
    def promises_kept(self) -> int:
        """How many promises of the queue hold at the confidence asked for."""
        return sum(chance >= self.confidence for _, chance in self.promises)


def _by(share: float) -> cached_property[date | None]:
    """Find the day by which a piece is done with this chance."""
    return cached_property(lambda ask: ask.question.bench.done_on(ask.total.quantile(share)))


@dataclass(frozen=True)
class Dates:
    """When one piece would be finished; a day of None lies more than twenty years ahead."""

    place: int  # from 1
    code: str
    promised: date | None
    total: Total = field(repr=False)  # hours of all up to and with it
    question: Question = field(repr=False)

    p50 = _by(0.5)  # as likely before as after
    p80 = _by(0.8)
    p90 = _by(0.9)

    @cached_property
    def sure(self) -> date | None:
        """The day at the confidence asked for."""
        return self.question.bench.done_on(self.total.quantile(self.question.confidence))

    @cached_property
    def kept(self) -> float | None:
        """The chance that its promise is kept, if it has one."""
        if self.promised is None:
            return None
        return self.total.chance(math.floor(self.question.bench.half_hours_through(self.promised)))

    @property
    def late(self) -> int:
        """Days by which the even-chance day lies after the promised one; 0 where it doesn't."""
        if self.p50 is None:
            return LONGEST_DAYS
        return max((self.p50 - self.promised).days, 0) if self.promised else 0

    def breaks(self, confidence: float) -> bool:
        """Say whether the promise can't be kept at this confidence."""
        return self.kept is not None and self.kept < confidence


@dataclass(frozen=True)
class Shift:
    """What one changed assumption does to the last date, everything else left alone."""

    what: str
    days: int  # later, or earlier below zero

    def __str__(self) -> str:
        way = f"{counted(abs(self.days), 'day', 'days')} {'later' if self.days > 0 else 'earlier'}"
        return f"{self.what}: {way if self.days else 'no change'}"


@dataclass(frozen=True)
class Forecast:
    """What the desk says."""

    question: Question
    queue: tuple[Dates, ...]
    new: tuple[Dates, ...]  # one for each slot that can open
    beyond: Dates  # the first slot too many
    changes: tuple[Shift, ...]  # what matters most comes first

    @property
    def slots(self) -> int:
        """How many slots can open."""
        return len(self.new)

    @property
    def broken(self) -> tuple[Dates, ...]:
        """Places whose promise can't be kept at the confidence asked for."""
        return tuple(place for place in self.queue if place.breaks(self.question.confidence))

    @property
    def _used(self) -> list[Hours]:
        return [*self.question.left, self.question.hours[self.question.tier]]

    @property
    def rests_on(self) -> tuple[str, ...]:
        """What the hours of each kind of piece rest on, once each."""
        return tuple(dict.fromkeys(hours.rests_on for hours in self._used))

    @property
    def cautions(self) -> tuple[str, ...]:
        """Where the answer is weaker than it looks."""
        kinds = {hours.name: hours.basis for hours in self._used}
        return tuple(f"{name} {_WEAK[basis]}" for name, basis in kinds.items() if basis in _WEAK)


def answer(question: Question) -> Forecast:
    """Work out slots, dates and what they rest on.

    New slots are added while the chance of finishing them in the window reaches the confidence.
    """
    queue, bench, (first, last) = question.dates(), question.bench, question.window
    owed = queue[-1].total if queue else Total(pace=question.pace)
    total = owed.not_before(math.ceil(bench.half_hours_through(first - timedelta(days=1))))
    until = math.floor(bench.half_hours_through(last))
    new: list[Dates] = []
    while len(new) <= MOST_SLOTS:
        total = total.plus(question.hours[question.tier])
        name = f"new slot {len(new) + 1}"
        new.append(Dates(len(queue) + len(new) + 1, name, None, total, question))
        if total.chance(until) < question.confidence:
            break
    *fit, beyond = new
    changes = _changes(question, owed if queue else new[0].total)
    return Forecast(question, tuple(queue), tuple(fit), beyond, changes)


def _changes(question: Question, total: Total) -> tuple[Shift, ...]:
    """Change one assumption at a time and see how far the last date moves."""
    bench, needed = question.bench, total.quantile(question.confidence)
    base = bench.done_on(needed)
    slower = replace(bench, weekly_hours=bench.weekly_hours * Fraction(9, 10))
    week = Away(bench.first_day, bench.first_day + timedelta(days=6))
    rested = replace(bench, away=(*bench.away, week))
    surer = (1 + question.confidence) / 2
    certain = replace(total, pieces={}, lever=0.0)
    moved: dict[str, tuple[Bench, float]] = {
        "a tenth fewer bench hours a week": (slower, needed),
        "every piece taking a tenth longer": (bench, needed * 1.1),
        "one more week away": (rested, needed),
        f"a confidence of {surer:.0%} instead of {question.confidence:.0%}": (bench, total.quantile(surer)),
        "knowing the average hours for certain, from many more records": (
            bench, certain.quantile(question.confidence),
        ),
    }  # fmt: skip
    days = {what: other.done_on(half_hours) for what, (other, half_hours) in moved.items()}
    changes = [Shift(what, (day - base).days) for what, day in days.items() if base and day]
    return tuple(sorted(changes, key=lambda change: -abs(change.days)))


_WEAK = {
    Basis.LONG: "is a guess: this piece already took longer than nearly all on record",
    Basis.ESTIMATE: "rests on a guess; the dates are as good as the guess",
    Basis.BORROWED: f"has fewer than {FEW} records of its own, so all pieces say how much hours vary",
    Basis.POOLED: "has too few records of its own, so all pieces stand in for it; if it takes longer than "
    "most, so will the queue",
}
