"""Say how many commission slots can open, when each piece would be done, and what that rests on."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sitegen.desk import find, words
from sitegen.desk.orders import ship_time_of
from sitegen.studio.capacity.answer import Dates, Forecast, Question, answer, chances, promises_kept
from sitegen.studio.capacity.bench import FEW_DATED, Pace
from sitegen.studio.commission import BenchOrder, Order
from sitegen.studio.delivery import CAUTION, ShipTime
from sitegen.studio.fault import Fault, told
from sitegen.studio.lead_time import Held, days_held, promises_held
from sitegen.studio.order_lines import Step
from sitegen.studio.settings import DaysAway
from sitegen.studio.text import bare, counted
from sitegen.studio.whole import Studio
from sitegen.studio.workload import Workload, by_promise, hours_for, most_wanted, workload


@dataclass(frozen=True)
class Queueing:
    """The order that was chosen, and what each would keep."""

    chosen: BenchOrder
    kept: dict[BenchOrder, int]  # promises that hold, by order
    promises: int
    differ: bool  # whether the two orders are two
    pinned: bool

    def lines(self) -> list[str]:
        """Say what each order would keep, where there are two."""
        if not self.differ:
            return []
        booked, dated = (self.kept[order] for order in BenchOrder)
        pin = f"; to keep it so, write `bench_order: {self.chosen}` in commissions.yaml"
        return [
            f"Of {self.promises} promised days, work as booked keeps {booked}, work by promised day {dated}. "
            f"The dates above are {self.chosen}{'' if self.pinned else pin}."
        ]


def choose_order(question: Question, load: Workload, pinned: BenchOrder | None) -> tuple[Workload, Queueing]:
    """Put the queue in the pinned order, else as booked unless work by promised day keeps more."""
    dated = by_promise(load)
    differ = dated.jobs != load.jobs
    booked = promises_kept(question)
    kept = {
        BenchOrder.AS_BOOKED: booked,
        BenchOrder.BY_PROMISED_DAY: promises_kept(replace(question, queue=dated.jobs)) if differ else booked,
    }
    chosen = pinned or max(BenchOrder, key=lambda order: kept[order])
    count = sum(job.promised is not None for job in load.jobs)
    queueing = Queueing(chosen, kept, count, differ, pinned is not None)
    return (dated if chosen is BenchOrder.BY_PROMISED_DAY else load), queueing


# A record is never exact; by so much it may lie below the hours written before a word is said.
_SLACK = Fraction(4, 5)


@dataclass(frozen=True)
class Past:
    """What the record says."""

    days: Held  # 80 % days as they would have been said
    promises: Held  # days that were really promised
    pace: Pace
    written: Decimal  # weekly hours of studio.yaml

    @property
    def real(self) -> float:
        """Weekly hours as the record has them, else those written."""
        return round(float(self.written) * float(self.pace.share), 1)

    @property
    def week(self) -> str:
        """The hours that the dates rest on."""
        week = f"{self.real:g} bench hours a week"
        if not self.pace.dated:
            return week
        return f"{week} (so {self.pace.dated} dated pieces show; studio.yaml says {bare(self.written)})"

    def warning(self) -> list[str]:
        """Warn where far more hours are written than the record has."""
        if not self.pace.dated or self.pace.share >= _SLACK:
            return []
        more = self.written - Decimal(str(self.real))
        return [
            f"Warning: weekly_hours in studio.yaml is {bare(self.written)}, but the hours and days "
            f"of your finished pieces come to {self.real:g} a week, {bare(more)} fewer. The dates go "
            "by the record; if pieces took hours that you didn't note, note them."
        ]

    def lines(self) -> list[str]:
        """Say how many days held."""
        days, promises = self.days, self.promises
        said = {
            f"Your 80 % days held {days.held} of {days.days}, had they been said then.": days.days,
            f"You promised {counted(promises.days, 'day', 'days')} to clients whose pieces are done: "
            f"{promises.held} held.": promises.days,
            f"Fewer than {FEW_DATED} finished pieces have hours and a day that fit a working week, so the "
            "week is taken as written; real weeks vary, and dates may slip.": not self.pace.dated,
        }
        return [sentence for sentence, holds in said.items() if holds]


# A quarter of a year, where no last day is given.
USUAL_DAYS = 91
# As sure as a day must be to be promised, where nothing else is said.
SURE = 0.8


@dataclass(frozen=True)
class Promise:
    """One order with its dates and what the late-delivery rule allows."""

    order: Order
    dates: Dates
    ship: ShipTime | None


@dataclass(frozen=True)
class SlotsAnswer:
    """What the desk says about capacity."""

    answer: Forecast
    promises: tuple[Promise, ...]
    why_this_tier: str
    away: tuple[DaysAway, ...]
    past: Past
    queueing: Queueing
    titles: Mapping[str, str] = field(
        default_factory=dict, repr=False
    )  # of the studio's own pieces, by folder
    offers: int = 0  # offers that stand: whoever says yes takes one of the new slots
    why: bool = True  # whether to say what it rests on

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines; a date is null if it lies more than twenty years ahead."""
        past, asked = self.past, words.facts(self.answer.question, "confidence window")
        record = past.real if past.pace.dated else None
        return {
            **asked,
            **words.facts(self, "slots:answer.slots offers order:queueing.chosen keeps:queueing.kept"),
            "weekly_hours": {"written": float(past.written), "record": record},
            "held": words.facts(past.days, "days held"),
            "promised": words.facts(past.promises, "days held"),
            "codes": [promise.order.code for promise in self.promises],
            "queue": [
                words.facts(order, "place p50 p80 p90") for order in self.answer.queue[: len(self.promises)]
            ],
        }

    def lines(self) -> list[str]:
        first, last = self.answer.question.window
        sure, tier = f"{self.answer.question.confidence:.0%}", self.answer.question.tier
        count = counted(self.answer.slots, "new slot", "new slots")
        offers, stand = self.offers, counted(self.offers, "offer stands", "offers stand")
        return [
            f"{count} ({tier}) can open between {first} and {last} with {sure} confidence.",
            self.why_this_tier,
            *[f"{stand} unanswered; whoever says yes takes one of these, so count them off."] * bool(offers),
            "",
            *self._dates(),
            *self.warnings(),
            *self.queueing.lines(),
            *([*self._basis(), *self.past.lines()] if self.why else [_BEHIND]),
            *self._late_delivery(),
        ]

    def _dates(self) -> list[str]:
        rows = [
            *(
                _row(str(promise.dates.place), promise.order.code, promise.order.step, promise.dates)
                for promise in self.promises
            ),
            *(
                _row("", self.titles.get(order.code, order.code), "in progress", order)
                for order in self.answer.queue[len(self.promises) :]
            ),
            *(_row("", one.code, "", one) for one in self.answer.new),
            _row("", "one too many", "", self.answer.beyond),
        ]
        return words.section(("", "", "", "even chance", "80 %", "90 %", "promised"), rows)

    def warnings(self) -> list[str]:
        """Name promises that won't hold, and hours that the record hasn't."""
        confidence = self.answer.question.confidence
        broken = [
            f"Warning: {one.code} was promised for {one.promised}; that holds with {one.kept:.0%}, not "
            f"{confidence:.0%}. Write to the client before that day; {words.day(one.sure)} can be promised."
            for one in self.answer.broken
        ]
        return [*broken, *self.past.warning()]

    def _basis(self) -> list[str]:
        return [
            f"It rests on {self.past.week}, Monday to Friday, and on",
            *(f"  {sentence}" for sentence in self.answer.rests_on),
            *(f"  away {one.first_day} to {one.last_day}{one.why and f': {one.why}'}" for one in self.away),
            *(f"  Careful: {sentence}." for sentence in self.answer.cautions),
            "What would move the last date:",
            *(f"  {move}" for move in self.moves),
        ]

    @property
    def moves(self) -> list[str]:
        """Say what one changed assumption each does to the last date, what matters most first."""
        return [f"{change.what}: {_moved(change.days)}" for change in self.answer.changes]

    def _late_delivery(self) -> list[str]:
        rows = [
            (promise.order.code, str(promise.ship.ship_by), str(promise.ship.silence_until))
            for promise in self.promises
            if promise.ship
        ]
        if not rows:
            return []
        head = ("", "send by, or offer the choice to wait or cancel", "a new date up to here needs no yes")
        return ["", "Late delivery:", *words.table([head, *rows]), CAUTION]


_BEHIND = "What these days rest on, and what would move them: the same with --why."


def _row(number: str, code: str, step: str, dates: Dates) -> tuple[str, ...]:
    kept = f" ({words.sure(dates.kept)})" if dates.kept is not None else ""
    promised = f"{dates.promised}{kept}" if dates.promised else ""
    return (number, code, step, *map(words.day, (dates.p50, dates.p80, dates.p90)), promised)


def _moved(days: int) -> str:
    if not days:
        return "no change"
    return f"{counted(abs(days), 'day', 'days')} {'later' if days > 0 else 'earlier'}"


def slots(
    studio: Studio,
    today: date,
    first_day: date | None = None,
    last_day: date | None = None,
    confidence: float = SURE,
    tier: str | None = None,
) -> SlotsAnswer:
    """Work out slots of a tier that begin and end in a window, and dates, as sure as wished (0 to 1).

    Raises Fault where the studio's files don't say enough.
    """
    tier, why = tier_of(studio, tier)
    put = asked(studio, today, first_day, last_day, confidence, tier=tier)
    question, load, queueing = put.question, put.load, put.queueing
    with told():
        found = answer(question)
        weekly = studio.settings.private.weekly_hours or Decimal(0)
        past = Past(days_held(studio, today), promises_held(studio), load.pace, weekly)
    promises = [Promise(one, days, _ship(one)) for one, days in zip(load.orders, found.queue, strict=False)]
    titles = {one.slug: one.title for one in studio.pieces}
    return SlotsAnswer(found, tuple(promises), why, load.away, past, queueing, titles, load.offers)


@dataclass(frozen=True)
class Outlook:
    """What the bench owes, and how sure the promised days are."""

    orders: tuple[Order, ...] = ()  # of the queue, in the order they'll be worked
    chances: Mapping[str, float] = field(default_factory=dict)
    """That an order is done by the day that it must be, from 0 to 1, by its code."""


def outlook(studio: Studio, today: date) -> Outlook:
    """Say how sure each promised day is, by what `slots` goes by. Raises Fault like `slots`.

    Where none is named, the day counts by which the late-delivery rule lets an accepted order be sent.
    """
    found = asked(studio, today, tier=tier_of(studio, None)[0])
    with told():
        ends = {one.code: ship.ship_by for one in found.load.orders if (ship := _ship(one)) is not None}
        queue = tuple(
            replace(job, promised=job.promised or ends.get(job.code)) for job in found.question.queue
        )
        known = chances(replace(found.question, queue=queue))
    return Outlook(found.load.orders, {job.code: chance for job, chance in known})


@dataclass(frozen=True)
class QueueAsked:
    """What is asked of the bench, with the queue in its order."""

    question: Question
    load: Workload
    queueing: Queueing
    booked: Workload  # the same as booked


def asked(
    studio: Studio,
    today: date,
    first_day: date | None = None,
    last_day: date | None = None,
    confidence: float = SURE,
    *,
    tier: str,
) -> QueueAsked:
    """Put together what is asked, with the queue in its order. Raises Fault like `slots`."""
    if not studio.settings.private.weekly_hours:
        raise Fault(
            "studio.yaml doesn't say how much you work; under `private:` write `weekly_hours: 20`, bench "
            "hours in a usual week (honest, not hopeful)"
        )
    first = first_day or today
    with told():
        load = workload(studio, today)
        question = Question(
            queue=load.jobs,
            hours=hours_for(studio, [*(job.tier for job in load.jobs), tier], load.known),
            bench=load.bench,
            window=(first, last_day or first + timedelta(days=USUAL_DAYS)),
            tier=tier,
            confidence=confidence,
            pace=load.pace,
        )
        chosen, queueing = choose_order(question, load, studio.commissions.bench_order)
    return QueueAsked(replace(question, queue=chosen.jobs), chosen, queueing, load)


def tier_of(studio: Studio, named: str | None) -> tuple[str, str]:
    """Choose the tier of new slots: the one named, else the one that's asked for most. Raises Fault."""
    if not studio.commissions.tiers:
        raise Fault("commissions.yaml names no tiers; write what you make to order under `tiers:` first")
    if named is not None:
        return find.tier(studio, named).name, ""
    tier = most_wanted(studio.commissions)
    names = [one.name for one in studio.commissions.tiers]
    others = words.listed([name for name in names if name != tier], "or")
    return tier, f"{tier} is what is asked for most; --tier names another ({others})." if others else ""


def _ship(order: Order) -> ShipTime | None:
    """Count the days of the late-delivery rule from the day the order was complete."""
    return ship_time_of(order) if order.day_of(Step.ACCEPTED) else None
