"""What the bench owes, in the order it will be worked, and what each kind of piece takes.

The order: what lies on the bench already, then what was accepted, each in the order of the file; then the
studio's own pieces in progress, but for those that rest; then new ones. An offer owes nothing before somebody
says yes: while it stands it's one of the new ones, and past its last day it's nothing at all.

Which step of the work comes next, and how many hours each still takes (common practice, no source): a kind
of piece has the steps that more than half of its finished pieces have, each with its mean share of their
hours, in the order in which they're written down. Of a piece under way, a step is done once a later one is
begun and it has had half its usual hours or more; the others share what is left by what each still lacks.

The public's lead time stands in front of the hours: whole months only, from which neither hours nor rates can
be told. Its total is the desk's: all that is owed, then new pieces of the tier asked for most.

Past promises, by rolling origin: for each finished piece, only what was known when it was accepted (or,
without an order, when the one before it was finished) says the 80% day; that is compared with the day on
record.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from math import ceil

from sitegen.studio.capacity.answer import Job, Total, running_totals
from sitegen.studio.capacity.bench import UNKNOWN, Away, Bench, Finished, Pace, in_order, pace
from sitegen.studio.capacity.hours import FEW, HALF_HOURS, Hours, ThreePoint, hours_by_tier
from sitegen.studio.commission import Commissions, Order, Round
from sitegen.studio.offers import standing
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ENDED
from sitegen.studio.piece import Piece, Status
from sitegen.studio.plan import months_after
from sitegen.studio.public import LeadTime
from sitegen.studio.show import Attendance
from sitegen.studio.whole import Studio

OF_NO_TIER = "pieces of no tier"
_BENCH_ORDER = (Step.ON_THE_BENCH, Step.ACCEPTED)
DONE = frozenset({Step.FINISHED, Step.PAID, Step.SHIPPED})


@dataclass(frozen=True)
class Workload:
    """What is owed, and when there is time for it."""

    orders: tuple[Order, ...]  # of the queue, in the order they'll be worked
    own: tuple[Piece, ...]  # the studio's own pieces in progress, which come after the queue
    bench: Bench  # away from today on: rest and shows
    jobs: tuple[Job, ...]  # places and own pieces, with the hours already worked on each
    offers: int  # how many offers stand today: each that is accepted is one of the new pieces
    known: tuple[Finished, ...] = ()  # what is finished by today
    pace: Pace = UNKNOWN  # what dated pieces tell of the bench; `bench` is the one they show


def workload(studio: Studio, today: date) -> Workload:
    """Gather what the bench owes as of today. Raises ValueError without weekly hours."""
    queue = studio.commissions.queue
    orders = [order for step in _BENCH_ORDER for order in queue if order.step is step]
    # A piece whose order was called off is the studio's own again; so is one that's only offered yet.
    codes = {order.code for order in queue if order.step not in ENDED | {Step.OFFERED}}
    begun = (one for one in studio.pieces if one.status is Status.IN_PROGRESS and not one.rests(today))
    own = [piece for piece in begun if piece.private.order not in codes]
    jobs = [
        *(Job(one.code, one.tier, float(hours_of(studio, one)), one.private.promised_now) for one in orders),
        *(Job(piece.slug, piece.private.tier or OF_NO_TIER, float(piece.hours)) for piece in own),
    ]
    known, whole = records(studio, today), whole_bench(studio, today)
    learned = pace(known, whole)
    away = tuple(away for away in whole.away if away.last_day >= today)
    bench = replace(whole, weekly_hours=whole.weekly_hours * learned.share, away=away)
    offers = len(standing(studio.commissions, today))
    return Workload(tuple(orders), tuple(own), bench, tuple(jobs), offers, tuple(known), learned)


def by_promise(load: Workload) -> Workload:
    """Put the queue in the order of promised days, what has none last; what is begun stays before the rest.

    Earliest due date first makes the greatest lateness as small as it can be (J. R. Jackson, Scheduling a
    production line to minimize maximum tardiness, University of California, Los Angeles, 1955; from memory).
    """
    pairs = sorted(
        zip(load.orders, load.jobs, strict=False),
        key=lambda pair: (_BENCH_ORDER.index(pair[0].step), pair[1].promised or date.max),
    )
    own = load.jobs[len(pairs) :]
    return replace(load, orders=tuple(order for order, _ in pairs), jobs=(*(job for _, job in pairs), *own))


def whole_bench(studio: Studio, first_day: date) -> Bench:
    """Return the bench as written in studio.yaml, from a day on, with all days away. Raises ValueError."""
    away = [Away(away.first_day, away.last_day, away.why) for away in studio.settings.private.days_away]
    away += [
        Away(show.first_day, show.ends, show.name)
        for show in studio.shows
        if show.attendance is not Attendance.CANCELLED
    ]
    away.sort(key=lambda away: away.first_day)
    return Bench(Fraction(studio.settings.private.weekly_hours or 0), first_day, tuple(away))


def most_wanted(commissions: Commissions, names: Sequence[str] = ()) -> str:
    """Choose the tier that is asked for most, of those named, else of all; the first of several alike."""
    names = names or [tier.name for tier in commissions.tiers]
    wanted = Counter([order.tier for order in commissions.queue] + [one.tier for one in commissions.waiting])
    return max(names, key=lambda name: wanted[name])


def hours_of(studio: Studio, order: Order) -> Decimal:
    """Return all hours on record for an order: its own, and its pieces'."""
    return sum((piece.hours for piece in studio.made_for(order.code)), order.hours)


def piece_hours(studio: Studio, piece: Piece) -> Decimal:
    """Return all hours on record for a piece: its own, and its order's; of several the first has those."""
    code = piece.private.order
    order = next((order for order in studio.commissions.queue if code and order.code == code), None)
    first = order is not None and studio.made_for(code)[0].slug == piece.slug
    return piece.hours + order.hours if order and first else piece.hours


def records(studio: Studio, today: date) -> list[Finished]:
    """List what was finished by today: pieces, and orders that have no piece of their own.

    A piece in progress is none, and neither is one whose order still lies on the bench, whatever its status
    says, unless it has the day on which it was finished.
    """
    ordered = {order.code: order for order in studio.commissions.queue}
    found = []
    for piece in studio.pieces:
        order = ordered.get(piece.private.order)
        underway = order is not None and order.step in _BENCH_ORDER and piece.finished is None
        if piece.status is not Status.IN_PROGRESS and not underway:
            tier = piece.private.tier or (order.tier if order else OF_NO_TIER)
            day = piece.finished or (order.finished_on if order else None)
            accepted = order.day_of(Step.ACCEPTED) if order else None
            found.append(Finished(day, float(piece_hours(studio, piece)), tier, accepted))
    made = {piece.private.order for piece in studio.pieces}
    found += [
        Finished(order.finished_on, float(order.hours), order.tier, order.day_of(Step.ACCEPTED))
        for order in studio.commissions.queue
        if order.step in DONE and order.code not in made
    ]
    return [finished for finished in found if finished.on is None or finished.on <= today]


def hours_for(studio: Studio, tiers: Sequence[str], known: Sequence[Finished]) -> dict[str, Hours]:
    """Choose what each tier's hours rest on: what is known to be finished, and guesses.

    Raises ValueError where nothing says how long a tier takes.
    """
    by_tier: dict[str, list[float]] = {}
    for finished in known:
        if finished.hours:
            by_tier.setdefault(finished.kind, []).append(finished.hours)
    guessed = ((tier.name, tier.private.hours) for tier in studio.commissions.tiers)
    guesses = {tier: ThreePoint(*map(float, (of.low, of.usual, of.high))) for tier, of in guessed if of}
    return hours_by_tier(by_tier, guesses, list(dict.fromkeys(tiers)))


def usual_hours(studio: Studio, tier: str, today: date) -> float:
    """Return the hours that the next piece of a tier takes on average, as known today; a drift goes on.

    Raises ValueError if nothing says so.
    """
    known = records(studio, today)
    weekly = studio.settings.private.weekly_hours
    learned = pace(known, whole_bench(studio, today)) if weekly else UNKNOWN
    total = Total(pace=learned).plus(hours_for(studio, [tier], known)[tier])
    return round((total.mean + total.shift) / HALF_HOURS, 1)


Steps = Sequence[tuple[str, Fraction]]
"""Steps in the order of the work, each with an amount."""
Noted = Mapping[str, Decimal]
"""Hours by step."""


def usual_steps(records: Sequence[Noted]) -> Steps:
    """Return the usual steps with their shares of the whole; none where nothing is on record."""
    told = [record for record in records if sum(record.values())]
    shares: dict[str, list[Fraction]] = {}
    places: dict[str, list[Fraction]] = {}
    for steps in told:
        whole = Fraction(sum(steps.values()))
        for place, (step, hours) in enumerate(steps.items()):
            shares.setdefault(step, []).append(Fraction(hours) / whole)
            places.setdefault(step, []).append(Fraction(place + 1, len(steps) + 1))
    usual = [step for step in shares if 2 * len(shares[step]) > len(told)]
    usual.sort(key=lambda step: sum(places[step]) / len(places[step]))
    return [(step, sum(shares[step], Fraction(0)) / len(told)) for step in usual]


def left_by_step(usual: Steps, noted: Noted, left: Fraction) -> Steps:
    """Share what is left of a piece over its steps; together exactly `left`, in any unit of hours."""
    begun = max((place for place, (step, _) in enumerate(usual) if noted.get(step)), default=0)
    whole = Fraction(sum(noted.values(), Decimal(0))) + left
    wanted = [
        (step, max(share * whole - Fraction(noted.get(step, 0)), Fraction(0)))
        for place, (step, share) in enumerate(usual)
        if place >= begun or 2 * Fraction(noted.get(step, 0)) < share * whole
    ]
    lacking = sum((hours for _, hours in wanted), Fraction(0))
    if not lacking:
        return [(wanted[-1][0] if wanted else ["", *noted][-1], left)]
    return [(step, hours * left / lacking) for step, hours in wanted if hours]


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
    """Count the 80% days that this arithmetic would have said, and those that would have held.

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
