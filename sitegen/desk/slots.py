"""Say how many commission slots can open, when each piece would be done, and what that rests on.

The order on the bench: what lies there already, then what was accepted, then what is offered (an offer may
be accepted any day, so its place counts), each in the order of the file; then the studio's own pieces in
progress; then new slots.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sitegen.desk import find, words
from sitegen.desk.fault import DeskFault, told
from sitegen.studio.capacity import (
    Answer,
    Away,
    Bench,
    Hours,
    Job,
    Question,
    ThreePoint,
    answer,
    hours_by_tier,
)
from sitegen.studio.capacity.answer import Dates
from sitegen.studio.capacity.grid import HALF_HOURS
from sitegen.studio.commission import Commissions, Place, Step
from sitegen.studio.counting import counted
from sitegen.studio.delivery import CAUTION, ShipTime, ship_time
from sitegen.studio.piece import Piece
from sitegen.studio.settings import DaysAway
from sitegen.studio.status import Status
from sitegen.studio.whole import Studio

# A quarter of a year, where no last day is given.
USUAL_DAYS = 91
OF_NO_TIER = "pieces of no tier"
_BENCH_ORDER = (Step.ON_THE_BENCH, Step.ACCEPTED, Step.OFFERED)


@dataclass(frozen=True)
class Asking:
    """What was asked: the window, how sure to be, and the tier of the new slots."""

    today: date
    first_day: date | None = None
    last_day: date | None = None
    confidence: float = 0.8
    tier: str | None = None


@dataclass(frozen=True)
class Promise:
    """One place in the queue with its dates and what the late-delivery rule allows."""

    place: Place
    dates: Dates
    ship: ShipTime | None


@dataclass(frozen=True)
class SlotsAnswer:
    """What the desk says about capacity."""

    answer: Answer
    promises: tuple[Promise, ...]
    own: int
    """The studio's own pieces in progress, which come after the queue."""
    why_this_tier: str
    away: tuple[str, ...]

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines; a date is null if it lies more than twenty years ahead."""
        question = self.answer.question
        return {
            "confidence": question.confidence,
            "window": [day.isoformat() for day in question.window],
            "slots": self.answer.slots,
            "queue": [
                {"place": one.place, **{name: _iso(getattr(one, name)) for name in ("p50", "p80", "p90")}}
                for one in self.answer.queue[: len(self.promises)]
            ],
        }

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        first, last = self.answer.question.window
        sure = f"{self.answer.question.confidence:.0%}"
        tier = self.answer.question.tier
        count = counted(self.answer.slots, "new slot", "new slots")
        return [
            f"{count} ({tier}) can open between {first} and {last} with {sure} confidence.",
            self.why_this_tier,
            "",
            *self._dates(),
            *self._warnings(),
            *self._basis(),
            *self._late_delivery(),
        ]

    def _dates(self) -> list[str]:
        after = self.answer.queue[len(self.promises) :]
        rows: list[tuple[str, ...]] = [("", "", "", "even chance", "80 %", "90 %", "promised")]
        rows += [
            _row(str(one.dates.place), one.place.code, str(one.place.step), one.dates)
            for one in self.promises
        ]
        rows += [_row("", one.code, "in progress", one) for one in after]
        rows += [_row("", one.code, "", one) for one in self.answer.new]
        rows.append(_row("", "one too many", "", self.answer.beyond))
        return [*words.table(rows), ""]

    def _warnings(self) -> list[str]:
        confidence = self.answer.question.confidence
        return [
            f"Warning: {one.code} was promised for {one.promised}; that holds with {one.kept:.0%}, not "
            f"{confidence:.0%}. Write to the client before that day; {words.day(one.sure)} can be promised."
            for one in self.answer.broken
        ]

    def _basis(self) -> list[str]:
        changes = [f"  {one.what}: {_moved(one.days)}" for one in self.answer.changes]
        bench = self.answer.question.bench
        return [
            f"It rests on {float(bench.weekly_hours):g} bench hours a week, Monday to Friday, and on",
            *(f"  {sentence}" for sentence in self.answer.rests_on),
            *(f"  away {sentence}" for sentence in self.away),
            *(f"  Careful: {sentence}." for sentence in self.answer.cautions),
            "What would move the last date:",
            *changes,
        ]

    def _late_delivery(self) -> list[str]:
        ships = [one for one in self.promises if one.ship is not None]
        if not ships:
            return []
        rows = [("", "send by, or offer the choice to wait or cancel", "a new date up to here needs no yes")]
        rows += [
            (one.place.code, str(one.ship.ship_by), str(one.ship.silence_until)) for one in ships if one.ship
        ]
        return ["", "Late delivery:", *words.table(rows), CAUTION]


def _row(number: str, code: str, step: str, dates: Dates) -> tuple[str, ...]:
    kept = f" ({dates.kept:.0%} sure)" if dates.kept is not None else ""
    promised = f"{dates.promised}{kept}" if dates.promised else ""
    return (number, code, step, words.day(dates.p50), words.day(dates.p80), words.day(dates.p90), promised)


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _moved(days: int) -> str:
    if not days:
        return "no change"
    return f"{counted(abs(days), 'day', 'days')} {'later' if days > 0 else 'earlier'}"


def slots(studio: Studio, asking: Asking) -> SlotsAnswer:
    """Work out slots and dates. Raises DeskFault where the studio's files don't say enough."""
    desk = studio.settings.private
    if not desk.weekly_hours:
        raise DeskFault(
            "studio.yaml doesn't say how much you work; under `private:` write `weekly_hours: 20`, bench "
            "hours in a usual week (honest, not hopeful)"
        )
    if not studio.commissions.tiers:
        raise DeskFault("commissions.yaml names no tiers; write what you make to order under `tiers:` first")
    tier, why = _tier(studio, asking.tier)
    places, own = _owed(studio)
    away = _away(studio, asking.today)
    jobs = [_job(studio, place) for place in places] + [_own_job(piece) for piece in own]
    with told():
        found = answer(
            Question(
                queue=tuple(jobs),
                hours=_hours(studio, [*(job.tier for job in jobs), tier]),
                bench=Bench(
                    Fraction(desk.weekly_hours),
                    asking.today,
                    tuple(Away(one.first_day, one.last_day) for one in away),
                ),
                window=_window(asking),
                tier=tier,
                confidence=asking.confidence,
            )
        )
    promises = [
        Promise(place, dates, _ship(place)) for place, dates in zip(places, found.queue, strict=False)
    ]
    return SlotsAnswer(found, tuple(promises), len(own), why, tuple(_span(one) for one in away))


def _window(asking: Asking) -> tuple[date, date]:
    first = asking.first_day or asking.today
    return first, asking.last_day or first + timedelta(days=USUAL_DAYS)


def _tier(studio: Studio, named: str | None) -> tuple[str, str]:
    """Choose the tier of the new slots: the one named, else the one that's asked for most."""
    if named is not None:
        return find.tier(studio, named).name, ""
    commissions = studio.commissions
    names = [tier.name for tier in commissions.tiers]
    wanted = Counter([*(one.tier for one in commissions.queue), *(one.tier for one in commissions.waiting)])
    tier = max(names, key=lambda name: wanted[name])  # the first one where several are asked for alike
    others = words.listed([name for name in names if name != tier], "or")
    return tier, f"{tier} is what is asked for most; --tier names another ({others})." if others else ""


def _owed(studio: Studio) -> tuple[list[Place], list[Piece]]:
    queue = studio.commissions.queue
    places = [place for step in _BENCH_ORDER for place in queue if place.step is step]
    codes = {place.code for place in queue}
    in_progress = [one for one in studio.pieces if one.status is Status.IN_PROGRESS]
    return places, [one for one in in_progress if one.private.order not in codes]


def _job(studio: Studio, place: Place) -> Job:
    done = float(hours_of(studio, place))
    return Job(place.code, place.tier, done, place.private.promised)


def _own_job(piece: Piece) -> Job:
    return Job(piece.slug, piece.private.tier or OF_NO_TIER, float(piece.hours))


def _hours(studio: Studio, tiers: list[str]) -> dict[str, Hours]:
    """Choose what each tier's hours rest on, from finished pieces and from guesses."""
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
        raise DeskFault(
            f"{fault}. Hours stand in a piece's `private:` as `hours: {{sculpting: 12.5}}`; a guess in the "
            "tier's, as `private: {hours: {low: 14, usual: 20, high: 32}}`"
        ) from fault


def hours_of(studio: Studio, place: Place) -> Decimal:
    """Return all hours on record for an order: its own, and its piece's."""
    made = next((one for one in studio.pieces if one.private.order == place.code), None)
    return sum(place.private.hours.values(), made.hours if made else Decimal(0))


def usual_hours(studio: Studio, tier: str) -> float:
    """Return the hours that a piece of a tier takes on average. Raises DeskFault if nothing says so."""
    return round(_hours(studio, [tier])[tier].spread.mean / HALF_HOURS, 1)


def _guesses(commissions: Commissions) -> dict[str, ThreePoint]:
    guesses = {}
    for tier in commissions.tiers:
        if tier.private.hours is not None:
            guess = tier.private.hours
            with told(f"commissions.yaml, {tier.name}"):
                guesses[tier.name] = ThreePoint(float(guess.low), float(guess.usual), float(guess.high))
    return guesses


def _away(studio: Studio, today: date) -> list[DaysAway]:
    shows = [
        DaysAway.model_validate({"from": one.first_day, "to": one.ends, "why": one.name})
        for one in studio.shows
    ]
    spans = [one for one in (*studio.settings.private.days_away, *shows) if one.last_day >= today]
    return sorted(spans, key=lambda one: one.first_day)


def _span(one: DaysAway) -> str:
    return f"{one.first_day} to {one.last_day}" + (f": {one.why}" if one.why else "")


def _ship(place: Place) -> ShipTime | None:
    """Count the days of the late-delivery rule from the day the order was complete."""
    ordered = place.day_of(Step.ACCEPTED)
    if ordered is None or place.step is Step.OFFERED:
        return None
    promised = place.private.promised
    with told(f"commissions.yaml, {place.code}"):
        return ship_time(ordered, promised)
