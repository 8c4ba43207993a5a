"""How long a new commission takes to be finished: what the private arithmetic lets the public know.

It stands in front of the hours and hands over whole months only, from which neither hours nor rates can
be told. The same total as at the desk: all that is owed, then new pieces of the tier asked for most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from sitegen.studio.capacity.answer import hours_left, running_totals
from sitegen.studio.capacity.bench import Bench
from sitegen.studio.capacity.total import Total
from sitegen.studio.commission import Round
from sitegen.studio.plan import months_after
from sitegen.studio.whole import Studio
from sitegen.studio.workload import hours_for, most_wanted, workload

# What is promised holds with four chances in five.
_SURE = 0.8
# A list of more places than this is no commission round.
_MOST = 40


@dataclass(frozen=True, slots=True)
class LeadTime:
    """When a commission that is accepted now, or in the round to come, would be finished."""

    shortest: int
    """Months from acceptance for the first one, as can be promised with four chances in five; at least 1."""
    longest: int
    """The same for the last place of the round; as `shortest` where there's only one place to speak of."""
    earliest: date
    """First day of the month that lies `shortest` months after the acceptance, or after the round's close."""
    latest: date  # the same for `longest`, so that months and dates say one thing


def lead_time(studio: Studio, today: date, coming: Round | None, slots: int) -> LeadTime | None:
    """Work out the lead time for a round that is open or coming, with `slots` places left; else for one more.

    None where the studio's files don't say enough, or where it lies out of sight.
    """
    starts = max(today, (coming.closes or coming.opens).date()) if coming else today
    try:
        totals, bench = _totals(studio, today, starts, coming, min(max(slots, 1), _MOST))
    except ValueError:
        return None  # no weekly hours, size or records: the desk says so, the public needn't know
    first, last = totals[0], totals[-1]
    soonest, sure = bench.done_on([float(first.quantile(_SURE)), float(last.quantile(_SURE))])
    if soonest is None or sure is None:
        return None
    months = _months(starts, soonest), _months(starts, sure)
    return LeadTime(*months, *(months_after(starts, one).replace(day=1) for one in months))


def _totals(
    studio: Studio, today: date, starts: date, coming: Round | None, slots: int
) -> tuple[Sequence[Total], Bench]:
    """Add up what is owed, then new pieces one by one, none of them begun before `starts`."""
    load = workload(studio, today)
    tier = most_wanted(studio.commissions, coming.tiers if coming else ())
    hours = hours_for(studio, [*(job.tier for job in load.jobs), tier], load.known)
    owed = running_totals([hours_left(job, hours) for job in load.jobs], load.pace)[-1]
    before = ceil(load.bench.half_hours_through(starts - timedelta(days=1)))
    totals = [owed.not_before(before).plus(hours[tier])]
    # Whoever has an offer may say yes before the last place of the round is given.
    for _ in range(min(slots + load.offers, _MOST) - 1):
        totals.append(totals[-1].plus(hours[tier]))
    return totals, load.bench


def _months(start: date, end: date) -> int:
    """Count calendar months, as a plan of payments does: the fewest by which `end` has come, at least 1."""
    passed = (end.year - start.year) * 12 + end.month - start.month
    return max(passed if months_after(start, max(passed, 0)) >= end else passed + 1, 1)
