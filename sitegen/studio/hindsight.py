"""Hold past promises against what came of them: the days said then, and the days on which pieces were done.

Rolling origin: for each finished piece, only what was known when it was accepted (or, without an order, when
the one before it was finished) says the 80 % day; then it's compared with the day on record.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from sitegen.studio.capacity.answer import Job, hours_left, running_totals
from sitegen.studio.capacity.bench import Bench, Finished, in_order, pace
from sitegen.studio.capacity.hours import FEW
from sitegen.studio.commission import Step
from sitegen.studio.whole import Studio
from sitegen.studio.workload import hours_for, records, whole_bench

_SURE = 0.8
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
    pieces = in_order(records(studio, today))
    bench = whole_bench(studio, today)
    found = [
        kept
        for place in range(max(len(pieces) - _LATEST, 0), len(pieces))
        if (kept := _held(studio, bench, pieces[: place + 1])) is not None
    ]
    return Held(sum(found), len(found))


def promises_held(studio: Studio) -> Held:
    """Count the finished orders that were promised for a day, and those done by the first day named."""
    promised = [(one.day_of(Step.FINISHED), one.private.promised) for one in studio.commissions.queue]
    kept = [done <= day for done, day in promised if done and day]
    return Held(sum(kept), len(kept))


def _held(studio: Studio, bench: Bench, pieces: Sequence[Finished]) -> bool | None:
    """Say whether the last of these pieces was done by the day said; None if none could be said."""
    last = pieces[-1]
    before = [one for one in pieces if _day(one) < _day(last)]
    origin = last.accepted or (_day(before[-1]) if before else _day(last))
    known = [one for one in before if _day(one) <= origin]
    ahead = [one for one in pieces if _day(one) > origin]
    if len([one for one in known if one.hours]) < FEW or not ahead or not all(one.hours for one in ahead):
        return None
    bench = replace(bench, first_day=origin + timedelta(days=1))
    learned = pace(known, bench)
    try:
        hours = hours_for(studio, [one.kind for one in ahead], known)
    except ValueError:
        return None
    jobs = [Job("begun", ahead[0].kind, _worked(ahead[0], _day(known[-1]), origin))]
    jobs += [Job("", one.kind) for one in ahead[1:]]
    total = running_totals([hours_left(job, hours) for job in jobs], learned)[-1]
    real = replace(bench, weekly_hours=bench.weekly_hours * learned.share)
    (day,) = real.done_on([float(total.quantile(_SURE))])
    return day is None or _day(last) <= day


def _worked(one: Finished, begun: date, until: date) -> float:
    """Say how much of a piece was done, taken evenly over the days from the piece before it."""
    return one.hours * (until - begun).days / (_day(one) - begun).days


def _day(one: Finished) -> date:
    return one.on or date.max
