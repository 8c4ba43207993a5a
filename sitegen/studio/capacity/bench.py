"""Walk bench hours through real days, and learn from finished pieces with a day what the bench really does.

Between one finished piece and the next lies a known number of bench hours as studio.yaml promises them, and
a known number of hours that were noted. Their ratio over all pieces is the real week. How far stretches of
several pieces stray from that ratio is the swing: weeks that are good or bad together, and sick ones. Single
pieces would hide that weeks hang together, so overlapping blocks are compared (H. R. Kuensch, The Annals
of Statistics 17, 1989, pp. 1217-1241, from memory). Whether pieces take longer and longer is a straight line
through the logarithms of their hours, each kind compared with itself, with its ordinary prediction error.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from functools import cache, cached_property
from itertools import accumulate, groupby

from sitegen.studio.capacity.hours import HALF_HOURS

# Nobody can promise a date further off than this.
LONGEST_DAYS = 366 * 20
_WORKDAYS = 5  # of a week, Monday the first


@dataclass(frozen=True)
class Away:
    """Days without bench work, both ends included: a show, a class, a rest."""

    first_day: date
    last_day: date
    why: str = ""


@dataclass(frozen=True)
class Bench:
    """When the artist works: weekly hours spread evenly over Monday to Friday."""

    weekly_hours: Fraction
    first_day: date  # the first day that counts, from its morning
    away: tuple[Away, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a bench at which nothing would ever be finished."""
        if self.weekly_hours <= 0:
            raise ValueError("weekly_hours is 0; write how many bench hours a usual week has")

    @property
    def daily(self) -> Fraction:
        """Half hours of one working day."""
        return self.weekly_hours * HALF_HOURS / _WORKDAYS

    def half_hours_through(self, last_day: date) -> Fraction:
        """Count the bench half hours from the first day to the evening of `last_day`."""
        lost = sum(
            self._workdays_through(min(last, last_day)) - before
            for first, last, before in self._spans_away
            if first <= last_day
        )
        return (self._workdays_through(last_day) - lost) * self.daily

    @cached_property
    def _spans_away(self) -> list[tuple[date, date, int]]:
        """Days away from the first day on, what overlaps once, each with the workdays before them."""
        found, begins = [], self.first_day
        for span in sorted(self.away, key=lambda span: span.first_day):
            first = max(span.first_day, begins)
            if first <= span.last_day:
                found.append((first, span.last_day, self._workdays_through(first - timedelta(days=1))))
                begins = span.last_day + timedelta(days=1)
        return found

    def _workdays_through(self, last_day: date) -> int:
        """Count the days from Monday to Friday, at home or not, from the first day to `last_day`."""
        weeks, rest = divmod(max((last_day - self.first_day).days + 1, 0), 7)
        start = self.first_day.weekday()
        return weeks * _WORKDAYS + sum((start + day) % 7 < _WORKDAYS for day in range(rest))

    def done_on(self, half_hours: float) -> date | None:
        """Find the evening by which so many half hours have been worked; None if it's out of sight."""
        needed = max(math.ceil(Fraction(half_hours) / self.daily), 1)
        for _, last, before in self._spans_away:
            if needed > before:
                needed += self._workdays_through(last) - before
        start = self.first_day.weekday()
        weeks, rest = divmod(min(start, _WORKDAYS) + needed - 1, _WORKDAYS)
        ahead = weeks * 7 + rest - start
        return self.first_day + timedelta(days=ahead) if ahead < LONGEST_DAYS else None


# Fewer dated pieces tell nothing of weeks or of a drift; by simulation, see tests/reference.
FEW_DATED = 8
# The week as it is now: pieces further back tell of another life.
_LATEST = 60
# If more was noted than there was time for, the days aren't those on which pieces were done.
_MOST_SHARE = 1.5


@dataclass(frozen=True)
class Finished:
    """A finished piece."""

    on: date | None  # the day it was done, where that's on record
    hours: float  # noted on it; 0 where none were, so that its time isn't taken for idle
    kind: str = ""  # its tier
    accepted: date | None = None  # the day its order was accepted, if it was ordered


@dataclass(frozen=True)
class Pace:
    """What dated pieces say; by itself nothing: the week is as written, and nothing drifts."""

    dated: int = 0  # pieces the week rests on
    share: Fraction = Fraction(1)  # of the weekly hours written that were really worked
    near: float = 0.0  # variance of the half hours worked, for each one of a single stretch between pieces
    far: float = 0.0  # the same over a block of stretches, in which good and bad weeks hang together
    single: float = 0.0  # half hours of a single stretch, on average
    block: float = 1.0  # half hours of a block
    seen: float = 1.0  # half hours on record
    freedom: float = 1.0  # degrees of freedom of the swing
    growth: float = 0.0  # of each piece over the one before, as a natural logarithm
    growth_variance: float = 0.0
    growth_freedom: float = 1.0
    counted: int = 0  # pieces the growth rests on

    def ahead(self, place: int) -> float:
        """Say how many pieces a place of the queue, from 0, lies beyond the middle of the records.

        A drift is followed for as many pieces as are on record, and no further.
        """
        return min(place, self.counted) + (self.counted + 1) / 2

    def larger(self, ahead: float) -> float:
        """Say how many times as long a piece takes so far ahead: the mean of a lognormal number."""
        return math.exp(self.growth * ahead + self.growth_variance * ahead**2 / 2)

    def week_variance(self, half_hours: float) -> float:
        """Return the variance of what gets worked in place of so many half hours, in half hours squared."""
        along = (half_hours - self.single) / (self.block - self.single)
        swing = self.near + (self.far - self.near) * min(max(along, 0.0), 1.0)
        return half_hours * (swing + self.far * half_hours / self.seen)


UNKNOWN = Pace()


def pace(finished: Sequence[Finished], bench: Bench) -> Pace:
    """Learn the pace from finished pieces; `bench` is the one written down, with all days away."""
    pieces = in_order(finished)
    stretches = _stretches(pieces, bench)
    promised, noted = (sum(stretch[part] for stretch in stretches) for part in (0, 1))
    if noted > promised * _MOST_SHARE:
        return UNKNOWN
    known = len(stretches) >= FEW_DATED
    return _grown(_weeks(stretches, promised, noted, bench) if known else UNKNOWN, pieces)


def in_order(finished: Iterable[Finished]) -> list[Finished]:
    """Leave out what has no day, and put the rest in order."""
    dated = (finished for finished in finished if finished.on)
    return sorted(dated, key=lambda finished: (finished.on or date.max, finished.kind, finished.hours))


def _stretches(pieces: Sequence[Finished], bench: Bench) -> list[tuple[float, float]]:
    """Pair the bench half hours between finishing days with those noted on what was finished, the latest."""
    by_day = groupby(pieces, key=lambda finished: finished.on)
    days = [(day, [finished.hours for finished in ones]) for day, ones in by_day if day]
    if not days:
        return []
    past = replace(bench, first_day=days[0][0])
    through = cache(lambda place: float(past.half_hours_through(days[place][0])))
    noted = [place for place, (_, hours) in enumerate(days) if place and all(hours)][-_LATEST:]
    return [(through(place) - through(place - 1), HALF_HOURS * sum(days[place][1])) for place in noted]


def _weeks(stretches: Sequence[tuple[float, float]], promised: float, noted: float, bench: Bench) -> Pace:
    count, share = len(stretches), noted / promised
    length = max(round(math.sqrt(count)), 2)
    strays = [(share * stretch - other, other) for stretch, other in stretches]
    # A finishing day is known to the day: the two ends of a block add a sixth of a day squared by themselves.
    coarse = (share * float(bench.daily)) ** 2 / 6
    return Pace(
        dated=count,
        share=Fraction(share).limit_denominator(1000),
        near=_swing(strays, 1, coarse),
        far=_swing(strays, length, coarse),
        single=noted / count,
        block=noted / count * length,
        seen=noted,
        freedom=max(1.5 * count / length - 1, 1.0),
    )


def _swing(strays: Sequence[tuple[float, float]], length: int, coarse: float) -> float:
    """Return the variance of blocks of so many stretches, for each half hour of work.

    The strays of all stretches sum to nothing, which makes blocks look steadier by their share of the whole.
    """
    ahead = [(0.0, 0.0), *accumulate(strays, lambda sums, other: (sums[0] + other[0], sums[1] + other[1]))]
    noted = ahead[-1][1]
    pairs = zip(ahead, ahead[length:], strict=False)
    blocks = [(end[0] - start[0], end[1] - start[1]) for start, end in pairs]
    found: float = sum((stray**2 - coarse) / (size * (1 - size / noted)) for stray, size in blocks)
    return max(found / len(blocks), 0.0)


def _grown(found: Pace, pieces: Sequence[Finished]) -> Pace:
    """Add the drift: a least-squares line through the logarithms, each kind about its own means.

    Pieces of one day share the mean of their places: none is known to be first.
    """
    kinds: dict[str, list[tuple[float, float]]] = {}
    count = 0
    for _, ones in groupby((piece for piece in pieces if piece.hours), key=lambda finished: finished.on):
        same = list(ones)
        for record in same:
            kinds.setdefault(record.kind, []).append((count + (len(same) - 1) / 2, math.log(record.hours)))
        count += len(same)
    freedom = count - len(kinds) - 1
    if count < FEW_DATED or freedom < 3:
        return found
    gaps: list[tuple[float, float]] = []
    for _, own in sorted(kinds.items()):
        across, up = (sum(row) / len(own) for row in zip(*own, strict=True))
        gaps += [(x - across, y - up) for x, y in own]
    width = sum(x * x for x, _ in gaps)
    if not width:
        return found
    growth = sum(x * y for x, y in gaps) / width
    rest = sum((y - growth * x) ** 2 for x, y in gaps) / freedom
    return replace(
        found, growth=growth, growth_variance=rest / width, growth_freedom=float(freedom), counted=count
    )
