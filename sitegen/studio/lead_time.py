"""How long a new commission takes to be finished, as the public may know; and how past promises were held.

The lead time stands in front of the hours and hands over whole months only, from which neither hours nor
rates can be told. The total is the desk's: all that is owed, then new pieces of the tier asked for most.

Past promises, by rolling origin: for each finished piece, only what was known when it was accepted (or,
without an order, when the one before it was finished) says the 80 % day; then it's compared with the day on
record.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil

from sitegen.studio.capacity.answer import Job, running_totals
from sitegen.studio.capacity.bench import Bench, Finished, in_order, pace
from sitegen.studio.capacity.hours import FEW
from sitegen.studio.commission import Round
from sitegen.studio.order_lines import Step
from sitegen.studio.plan import months_after
from sitegen.studio.public import LeadTime
from sitegen.studio.whole import Studio
from sitegen.studio.workload import hours_for, most_wanted, records, whole_bench, workload

# What is promised holds with four chances in five.
_SURE = 0.8
# A list of more places than this is no commission round.
_MOST = 40


def lead_time(studio: Studio, today: date, coming: Round | None, slots: int) -> LeadTime | None:
    """Work out the lead time for a round that is open or coming, with `slots` places left; else for one more.

    None where the studio's files don't say enough, or where it lies out of sight.
    """
    starts = max(today, (coming.closes or coming.opens).date()) if coming else today
    try:
        load = workload(studio, today)
        tier = most_wanted(studio.commissions, coming.tiers if coming else ())
        hours = hours_for(studio, [*(job.tier for job in load.jobs), tier], load.known)
    except ValueError:
        return None  # no weekly hours, size or records: the desk says so, the public needn't know
    owed = running_totals([job.left(hours) for job in load.jobs], load.pace)[-1]
    before = ceil(load.bench.half_hours_through(starts - timedelta(days=1)))
    first = last = owed.not_before(before).plus(hours[tier])
    # Whoever has an offer may say yes before the last place of the round is given.
    for _ in range(min(max(slots, 1) + load.offers, _MOST) - 1):
        last = last.plus(hours[tier])
    soonest, sure = (load.bench.done_on(total.quantile(_SURE)) for total in (first, last))
    if soonest is None or sure is None:
        return None
    months = _months(starts, soonest), _months(starts, sure)
    return LeadTime(*months, *(months_after(starts, month).replace(day=1) for month in months))


def _months(start: date, end: date) -> int:
    """Count calendar months, as a plan of payments does: the fewest by which `end` has come, at least 1."""
    passed = (end.year - start.year) * 12 + end.month - start.month
    return max(passed if months_after(start, max(passed, 0)) >= end else passed + 1, 1)


# Older days tell of another life.
_LATEST = 40


@dataclass(frozen=True)
class Held:
    """How many days held, of how many."""

    held: int
    days: int


def days_held(studio: Studio, today: date) -> Held:
    """Count the 80 % days that this arithmetic would have said, and those that would have held.

    Raises ValueError without weekly hours.
    """
    pieces, bench = in_order(records(studio, today)), whole_bench(studio, today)
    places = range(max(len(pieces) - _LATEST, 0), len(pieces))
    found = [_held(studio, bench, pieces[: place + 1]) for place in places]
    return Held(found.count(True), len(found) - found.count(None))


def promises_held(studio: Studio) -> Held:
    """Count the finished orders that were promised for a day, and those done by the first day named."""
    promised = [(order.day_of(Step.FINISHED), order.private.promised) for order in studio.commissions.queue]
    kept = [done <= day for done, day in promised if done and day]
    return Held(sum(kept), len(kept))


def _held(studio: Studio, bench: Bench, pieces: Sequence[Finished]) -> bool | None:
    """Say whether the last of these pieces was done by the day said; None if none could be said."""
    last = pieces[-1]
    before = [piece for piece in pieces if _day(piece) < _day(last)]
    origin = last.accepted or (_day(before[-1]) if before else _day(last))
    known = [finished for finished in before if _day(finished) <= origin]
    ahead = [finished for finished in pieces if _day(finished) > origin]
    if len([one for one in known if one.hours]) < FEW or not ahead or not all(one.hours for one in ahead):
        return None
    bench = replace(bench, first_day=origin + timedelta(days=1))
    learned = pace(known, bench)
    try:
        hours = hours_for(studio, [finished.kind for finished in ahead], known)
    except ValueError:
        return None
    # The first is taken to be worked on evenly over the days from the piece before it.
    begun, done = _day(known[-1]), _day(ahead[0])
    jobs = [Job("begun", ahead[0].kind, ahead[0].hours * (origin - begun).days / (done - begun).days)]
    jobs += [Job("", finished.kind) for finished in ahead[1:]]
    total = running_totals([job.left(hours) for job in jobs], learned)[-1]
    real = replace(bench, weekly_hours=bench.weekly_hours * learned.share)
    day = real.done_on(total.quantile(_SURE))
    return day is None or _day(last) <= day


def _day(finished: Finished) -> date:
    return finished.on or date.max
