"""Answer how many slots can open and when each piece would be done.

The sequence: add the queue up piece by piece, turn each total's 50 %, 80 % and 90 % points into days, see
which promises hold, then add new slots until the window's last evening can't be met any more.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import accumulate, islice
from math import ceil, floor

from sitegen.studio.capacity.bench import UNKNOWN, Away, Bench, Pace
from sitegen.studio.capacity.hours import FEW, HALF_HOURS, Basis, Hours
from sitegen.studio.capacity.total import Total
from sitegen.studio.text import counted

# More slots than this in one window is a mistake in the hours, not a studio.
MOST_SLOTS = 100
_POINTS = (0.5, 0.8, 0.9)


@dataclass(frozen=True)
class Job:
    """A piece that is owed: a place in the queue, or one already on the bench."""

    code: str
    tier: str
    done: float = 0.0  # hours already worked on it
    promised: date | None = None  # the day it was promised for


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


@dataclass(frozen=True)
class Dates:
    """When one piece would be finished; None lies more than twenty years ahead."""

    place: int  # from 1
    code: str
    p50: date | None  # as likely before as after
    p80: date | None
    p90: date | None
    sure: date | None  # at the confidence asked for
    promised: date | None = None
    kept: float | None = None  # chance that the promise is kept

    def breaks(self, confidence: float) -> bool:
        """Say whether the promise can't be kept at this confidence."""
        return self.kept is not None and self.kept < confidence


@dataclass(frozen=True)
class Shift:
    """What one changed assumption does to the last date, everything else left alone."""

    what: str
    days: int  # later, or earlier below zero


@dataclass(frozen=True)
class Forecast:
    """What the desk says."""

    question: Question
    queue: tuple[Dates, ...]
    slots: int
    new: tuple[Dates, ...]  # one for each slot that can open
    beyond: Dates  # the first slot too many
    rests_on: tuple[str, ...]
    changes: tuple[Shift, ...]  # what matters most comes first
    cautions: tuple[str, ...]

    @property
    def broken(self) -> tuple[Dates, ...]:
        """Places whose promise can't be kept at the confidence asked for."""
        return tuple(place for place in self.queue if place.breaks(self.question.confidence))


def answer(question: Question) -> Forecast:
    """Work out slots, dates and what they rest on."""
    jobs = [hours_left(job, question.hours) for job in question.queue]
    owed, *totals = running_totals(jobs, question.pace)
    slots, new = _new_slots(question, totals[-1] if totals else owed)
    dated = _dates(question, [*totals, *new])
    queue = dated[: len(totals)]
    last = totals[-1] if totals else new[0]
    kinds = {hours.name: hours.basis for hours in [*jobs, question.hours[question.tier]]}
    return Forecast(
        question=question,
        queue=tuple(queue),
        slots=slots,
        new=tuple(dated[len(totals) : len(totals) + slots]),
        beyond=dated[-1],
        rests_on=rests_on([*jobs, question.hours[question.tier]]),
        changes=_changes(question, last),
        cautions=tuple(f"{name} {_WEAK[basis]}" for name, basis in kinds.items() if basis in _WEAK),
    )


def promises_kept(question: Question) -> int:
    """Count the promises of the queue that hold at the confidence asked for."""
    return sum(chance >= question.confidence for _, chance in chances(question))


def chances(question: Question) -> list[tuple[Job, float]]:
    """Return each promise of the queue with the chance that it's kept, in order."""
    places = max((place for place, job in enumerate(question.queue, 1) if job.promised), default=0)
    queue = question.queue[:places]
    _, *totals = running_totals([hours_left(job, question.hours) for job in queue], question.pace)
    found = [(job, chance_kept(question, job, total)) for job, total in zip(queue, totals, strict=True)]
    return [(job, chance) for job, chance in found if chance is not None]


def chance_kept(question: Question, job: Job, total: Total) -> float | None:
    """Return the chance that a job's promise is kept, if it has one."""
    if job.promised is None:
        return None
    return total.chance(floor(question.bench.half_hours_through(job.promised)))


def hours_left(job: Job, hours: Mapping[str, Hours]) -> Hours:
    """Say what's left to do on one piece."""
    return hours[job.tier].left(job.done, f"{job.code}, what's left")


def running_totals(jobs: Sequence[Hours], pace: Pace = UNKNOWN) -> list[Total]:
    """Add pieces up: none, the first, the first two, the first three ..."""
    return list(accumulate(jobs, Total.plus, initial=Total(pace=pace)))


def _new_slots(question: Question, owed: Total) -> tuple[int, list[Total]]:
    """Add slots while the chance of finishing them in the window reaches the confidence.

    Returns how many fit, and the totals up to and with the first that doesn't.
    """
    first, last = question.window
    before = ceil(question.bench.half_hours_through(first - timedelta(days=1)))
    until = floor(question.bench.half_hours_through(last))
    total = owed.not_before(before)
    totals: list[Total] = []
    while len(totals) <= MOST_SLOTS:
        total = total.plus(question.hours[question.tier])
        totals.append(total)
        if total.chance(until) < question.confidence:
            break
    return len(totals) - 1, totals


def _dates(question: Question, totals: Sequence[Total]) -> list[Dates]:
    """Turn totals into days: queue places first, new slots after them."""
    points, owed = (*_POINTS, question.confidence), len(question.queue)
    days = iter(question.bench.done_on([float(one.quantile(point)) for one in totals for point in points]))
    jobs = [
        *question.queue,
        *(Job(f"new slot {one + 1}", question.tier) for one in range(len(totals) - owed)),
    ]
    found = []
    for place, (job, total) in enumerate(zip(jobs, totals, strict=True), 1):
        p50, p80, p90, sure = islice(days, len(points))
        kept = chance_kept(question, job, total)
        found.append(Dates(place, job.code, p50, p80, p90, sure, job.promised, kept))
    return found


def rests_on(used: Sequence[Hours]) -> tuple[str, ...]:
    """Say what the hours of each kind of piece rest on, once each."""
    found: dict[str, None] = {}
    for hours in used:
        count, low, high = "", *(f"{round(edge, 1):g}" for edge in hours.middle_half or (0, 0))
        if not hours.records:
            mean, deviation = hours.spread.mean / HALF_HOURS, hours.spread.variance**0.5 / HALF_HOURS
            took = f"mean {mean:.1f} h, standard deviation {deviation:.1f} h"
        else:
            count = f"{counted(hours.count, 'piece', 'pieces')}, "
            took = f"it took {low} h" if hours.count == 1 else f"middle half {low} to {high} h"
        found[f"{hours.name}: {count}{hours.basis}; {took}"] = None
    return tuple(found)


def _changes(question: Question, total: Total) -> tuple[Shift, ...]:
    """Change one assumption at a time and see how far the last date moves."""
    bench, needed = question.bench, float(total.quantile(question.confidence))
    base = _day(bench, needed)
    slower = replace(bench, weekly_hours=bench.weekly_hours * Fraction(9, 10))
    week = Away(bench.first_day, bench.first_day + timedelta(days=6))
    rested = replace(bench, away=(*bench.away, week))
    surer = (1 + question.confidence) / 2
    certain = replace(total, pieces={}, lever=0.0)
    moved = {
        "a tenth fewer bench hours a week": (slower, needed),
        "every piece taking a tenth longer": (bench, needed * 1.1),
        "one more week away": (rested, needed),
        f"a confidence of {surer:.0%} instead of {question.confidence:.0%}": (bench, total.quantile(surer)),
        "knowing the average hours for certain, from many more records": (
            bench, certain.quantile(question.confidence),
        ),
    }  # fmt: skip
    days = {what: _day(*how) for what, how in moved.items()}
    changes = [Shift(what, (day - base).days) for what, day in days.items() if base and day]
    return tuple(sorted(changes, key=lambda change: -abs(change.days)))


def _day(bench: Bench, half_hours: float) -> date | None:
    return bench.done_on([half_hours])[0]


# Where the answer is weaker than it looks.
_WEAK = {
    Basis.LONG: "is a guess: this piece already took longer than nearly all on record",
    Basis.ESTIMATE: "rests on a guess; the dates are as good as the guess",
    Basis.BORROWED: f"has fewer than {FEW} records of its own, so all pieces say how much hours vary",
    Basis.POOLED: "has too few records of its own, so all pieces stand in for it; if it takes longer than "
    "most, so will the queue",
}
