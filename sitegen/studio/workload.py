"""What the bench owes, in the order it will be worked, and what each kind of piece takes.

The order: what lies on the bench already, then what was accepted, each in the order of the file; then the
studio's own pieces in progress, but for those that rest; then new ones. An offer owes nothing before somebody
says yes: while it stands it's one of the new ones, and past its last day it's nothing at all.

Which step of the work comes next, and how many hours each still takes (common practice, no source): a kind
of piece has the steps that more than half of its finished pieces have, each with its mean share of their
hours, in the order in which they're written down. Of a piece under way, a step is done once a later one is
begun and it has had half its usual hours or more; the others share what is left by what each still lacks.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from sitegen.studio.capacity.answer import Job, Total
from sitegen.studio.capacity.bench import UNKNOWN, Away, Bench, Finished, Pace, pace
from sitegen.studio.capacity.hours import HALF_HOURS, Hours, ThreePoint, hours_by_tier
from sitegen.studio.commission import Commissions, Order
from sitegen.studio.offers import standing
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ENDED
from sitegen.studio.piece import Piece, Status
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
