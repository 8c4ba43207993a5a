"""What the bench owes, in the order it will be worked, and what each kind of piece takes.

The order: what lies on the bench already, then what was accepted, each in the order of the file; then the
studio's own pieces in progress; then new ones. An offer owes nothing before somebody says yes: while it
stands it's one of the new ones, and past its last day it's nothing at all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from sitegen.studio.capacity import Away, Bench, Hours, Job, ThreePoint, hours_by_tier
from sitegen.studio.commission import Commissions, GuessedHours, Place, Step
from sitegen.studio.offers import standing
from sitegen.studio.order_steps import ENDED
from sitegen.studio.piece import Piece
from sitegen.studio.settings import DaysAway
from sitegen.studio.status import Status
from sitegen.studio.whole import Studio

OF_NO_TIER = "pieces of no tier"
_BENCH_ORDER = (Step.ON_THE_BENCH, Step.ACCEPTED)


@dataclass(frozen=True)
class Workload:
    """What is owed, and when there is time for it."""

    places: tuple[Place, ...]
    """Of the queue, in the order they'll be worked."""
    own: tuple[Piece, ...]
    """The studio's own pieces in progress, which come after the queue."""
    away: tuple[DaysAway, ...]
    """From today on: rest and shows."""
    bench: Bench
    jobs: tuple[Job, ...]
    """Places and own pieces, with the hours already worked on each."""
    offers: int
    """How many offers stand today: each that is accepted is one of the new pieces."""


def workload(studio: Studio, today: date) -> Workload:
    """Gather what the bench owes as of today. Raises ValueError without weekly hours."""
    places, own = _owed(studio)
    away = _away(studio, today)
    spans = tuple(Away(one.first_day, one.last_day) for one in away)
    jobs = [_job(studio, place) for place in places] + [_own_job(piece) for piece in own]
    bench = Bench(Fraction(studio.settings.private.weekly_hours or 0), today, spans)
    offers = len(standing(studio.commissions, today))
    return Workload(tuple(places), tuple(own), tuple(away), bench, tuple(jobs), offers)


def most_wanted(commissions: Commissions, names: Sequence[str] = ()) -> str:
    """Choose the tier that is asked for most, of those named, else of all; the first of several alike."""
    names = names or [tier.name for tier in commissions.tiers]
    wanted = Counter([*(one.tier for one in commissions.queue), *(one.tier for one in commissions.waiting)])
    return max(names, key=lambda name: wanted[name])


def _owed(studio: Studio) -> tuple[list[Place], list[Piece]]:
    queue = studio.commissions.queue
    places = [place for step in _BENCH_ORDER for place in queue if place.step is step]
    # A piece whose order was called off is the studio's own again; so is one that's only offered yet.
    codes = {place.code for place in queue if place.step not in ENDED | {Step.OFFERED}}
    in_progress = [one for one in studio.pieces if one.status is Status.IN_PROGRESS]
    return places, [one for one in in_progress if one.private.order not in codes]


def _job(studio: Studio, place: Place) -> Job:
    return Job(place.code, place.tier, float(hours_of(studio, place)), place.private.promised_now)


def _own_job(piece: Piece) -> Job:
    return Job(piece.slug, piece.private.tier or OF_NO_TIER, float(piece.hours))


def hours_of(studio: Studio, place: Place) -> Decimal:
    """Return all hours on record for an order: its own, and its piece's."""
    made = next((one for one in studio.pieces if one.private.order == place.code), None)
    return sum(place.private.hours.values(), made.hours if made else Decimal(0))


def _away(studio: Studio, today: date) -> list[DaysAway]:
    shows = [
        DaysAway.model_validate({"from": one.first_day, "to": one.ends, "why": one.name})
        for one in studio.shows
    ]
    spans = [one for one in (*studio.settings.private.days_away, *shows) if one.last_day >= today]
    return sorted(spans, key=lambda one: one.first_day)


def hours_for(studio: Studio, tiers: Sequence[str]) -> dict[str, Hours]:
    """Choose what each tier's hours rest on, from finished pieces and from guesses.

    Raises ValueError where nothing says how long a tier takes, or a guess is none.
    """
    records: dict[str, list[float]] = {}
    ordered = {place.code: place for place in studio.commissions.queue}
    for piece in studio.pieces:
        if piece.hours and piece.status is not Status.IN_PROGRESS:
            place = ordered.get(piece.private.order)
            tier = piece.private.tier or (place.tier if place else OF_NO_TIER)
            early = place.private.hours.values() if place else ()
            records.setdefault(tier, []).append(float(sum(early, piece.hours)))
    try:
        return hours_by_tier(records, _guesses(studio.commissions), list(dict.fromkeys(tiers)))
    except ValueError as fault:
        raise ValueError(
            f"{fault}. Hours stand in a piece's `private:` as `hours: {{sculpting: 12.5}}`; a guess in the "
            "tier's, as `private: {hours: {low: 14, usual: 20, high: 32}}`"
        ) from fault


def _guesses(commissions: Commissions) -> dict[str, ThreePoint]:
    guessed = [(tier.name, tier.private.hours) for tier in commissions.tiers]
    return {name: _guess(name, hours) for name, hours in guessed if hours is not None}


def _guess(tier: str, hours: GuessedHours) -> ThreePoint:
    try:
        return ThreePoint(float(hours.low), float(hours.usual), float(hours.high))
    except ValueError as fault:
        raise ValueError(f"commissions.yaml, {tier}: {fault}") from fault
