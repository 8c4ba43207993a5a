"""Say how many commission slots can open, when each piece would be done, and what that rests on."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Any

from sitegen.desk import find, words
from sitegen.desk.orders import ship_by
from sitegen.studio import workload as workloads
from sitegen.studio.asked import Fault, told
from sitegen.studio.capacity.answer import Dates, Forecast, Question, answer
from sitegen.studio.capacity.bench import FEW_DATED
from sitegen.studio.commission import BenchOrder, Order
from sitegen.studio.delivery import CAUTION, ShipTime
from sitegen.studio.offers import free_slots
from sitegen.studio.text import bare, counted
from sitegen.studio.whole import Studio

# A quarter of a year, where no last day is given.
USUAL_DAYS = 91
# As sure as a day must be to be promised, where nothing else is said.
SURE = 0.8
# A record is never exact; by so much it may lie below the hours written before a word is said.
_SLACK = Fraction(4, 5)
_BEHIND = "What these days rest on, and what would move them: the same with --why."


@dataclass(frozen=True)
class QueueAsked:
    """What is asked of the bench, with the queue in each of the two orders, and what it owes in them."""

    questions: dict[BenchOrder, Question]
    loads: dict[BenchOrder, workloads.Workload]
    pinned: BenchOrder | None  # the order that commissions.yaml names

    @cached_property
    def kept(self) -> dict[BenchOrder, int]:
        """Promises that hold, by order."""
        return {order: question.promises_kept for order, question in self.questions.items()}

    @cached_property
    def chosen(self) -> BenchOrder:
        """The order pinned, else as booked unless work by promised day keeps more."""
        best = max(BenchOrder, key=lambda order: self.kept[order]) if self.differ else BenchOrder.AS_BOOKED
        return self.pinned or best

    @property
    def question(self) -> Question:
        return self.questions[self.chosen]

    @property
    def load(self) -> workloads.Workload:
        """What the bench owes, in the order chosen."""
        return self.loads[self.chosen]

    @property
    def differ(self) -> bool:
        """Whether the two orders are two."""
        booked, dated = self.loads.values()
        return booked.jobs != dated.jobs

    def lines(self) -> list[str]:
        """Say what each order would keep, where there are two."""
        if not self.differ:
            return []
        promises = sum(job.promised is not None for job in self.load.jobs)
        pin = f"; to keep it so, write `bench_order: {self.chosen}` in commissions.yaml"
        return [
            f"Of {promises} promised days, work as booked keeps {self.kept[BenchOrder.AS_BOOKED]}, work by "
            f"promised day {self.kept[BenchOrder.BY_PROMISED_DAY]}. The dates above are "
            f"{self.chosen}{'' if self.pinned else pin}."
        ]


@dataclass(frozen=True)
class SlotsAnswer:
    """What the desk says about capacity."""

    answer: Forecast
    asked: QueueAsked
    ships: tuple[ShipTime | None, ...]  # what the late-delivery rule allows, by place in the queue
    why_this_tier: str
    days_held: workloads.Held  # 80% days as they would have been said
    promises_held: workloads.Held  # days that were really promised
    written: Decimal  # weekly hours of studio.yaml
    titles: Mapping[str, str] = field(default_factory=dict, repr=False)  # of own pieces, by folder
    rounds: tuple[str, ...] = ()  # how many slots of each open round are taken
    why: bool = True  # whether to say what it rests on

    @property
    def orders(self) -> tuple[Order, ...]:
        """The orders of the queue, in the order of their dates."""
        return self.asked.load.orders

    @property
    def real(self) -> float:
        """Weekly hours as the record has them, else those written."""
        return round(float(self.written) * float(self.asked.question.pace.share), 1)

    def as_answer(self) -> dict[str, Any]:
        record = self.real if self.asked.question.pace.dated else None
        return {
            **words.facts(self.answer.question, "confidence window"),
            **words.facts(
                self, "slots:answer.slots offers:asked.load.offers order:asked.chosen keeps:asked.kept"
            ),
            "weekly_hours": {"written": float(self.written), "record": record},
            "held": words.facts(self.days_held, "days held"),
            "promised": words.facts(self.promises_held, "days held"),
            "codes": [order.code for order in self.orders],
            "queue": [
                words.facts(dates, "place p50 p80 p90") for dates in self.answer.queue[: len(self.orders)]
            ],
        }

    def lines(self) -> list[str]:
        (first, last), tier = self.answer.question.window, self.answer.question.tier
        count = counted(self.answer.slots, "new slot", "new slots")
        offers = self.asked.load.offers
        stand = f"{counted(offers, 'offer stands', 'offers stand')} unanswered; whoever says yes takes one "
        return [
            *self.rounds,
            f"{count} ({tier}) can open between {first} and {last} with "
            f"{self.answer.question.confidence:.0%} confidence.",
            self.why_this_tier,
            *[f"{stand}of these, so count them off."] * bool(offers),
            "",
            *self._dates(),
            *self.warnings(),
            *self.asked.lines(),
            *([*self._basis(), *self.held()] if self.why else [_BEHIND]),
            *self._late_delivery(),
        ]

    def _dates(self) -> list[str]:
        queue, orders, own = self.answer.queue, self.orders, self.answer.queue[len(self.orders) :]
        rows = [
            *(
                _row(str(dates.place), order.code, order.step, dates)
                for order, dates in zip(orders, queue, strict=False)
            ),
            *(_row("", self.titles.get(dates.code, dates.code), "in progress", dates) for dates in own),
            *(_row("", dates.code, "", dates) for dates in self.answer.new),
            _row("", "one too many", "", self.answer.beyond),
        ]
        return words.section(("", "", "", "even chance", "80%", "90%", "promised"), rows)

    def warnings(self) -> list[str]:
        """Name promises that won't hold, and hours that the record hasn't."""
        confidence, pace = self.answer.question.confidence, self.asked.question.pace
        said = [
            f"Warning: {dates.code} was promised for {dates.promised}; that holds with {dates.kept:.0%}, not "
            f"{confidence:.0%}. Write to the client before that day; {words.day(dates.sure)} can be promised."
            for dates in self.answer.broken
        ]
        if pace.dated and pace.share < _SLACK:
            more = self.written - Decimal(str(self.real))
            said.append(
                f"Warning: weekly_hours in studio.yaml is {bare(self.written)}, but the hours and days of "
                f"your finished pieces come to {self.real:g} a week, {bare(more)} fewer. The dates go by the "
                "record; if pieces took hours that you didn't note, note them."
            )
        return said

    @property
    def week(self) -> str:
        """The hours that the dates rest on."""
        week, dated = f"{self.real:g} bench hours a week", self.asked.question.pace.dated
        shown = f" (so {dated} dated pieces show; studio.yaml says {bare(self.written)})"
        return week + shown if dated else week

    def held(self) -> list[str]:
        days, promises, pace = self.days_held, self.promises_held, self.asked.question.pace
        said = {
            f"Your 80% days held {days.held} of {days.days}, had they been said then.": days.days,
            f"You promised {counted(promises.days, 'day', 'days')} to clients whose pieces are done: "
            f"{promises.held} held.": promises.days,
            f"Fewer than {FEW_DATED} finished pieces have hours and a day that fit a working week, so the "
            "week is taken as written; real weeks vary, and dates may slip.": not pace.dated,
        }
        return [sentence for sentence, holds in said.items() if holds]

    def _basis(self) -> list[str]:
        away = self.asked.load.bench.away
        return [
            f"It rests on {self.week}, Monday to Friday, and on",
            *(f"  {sentence}" for sentence in self.answer.rests_on),
            *(f"  away {away.first_day} to {away.last_day}{away.why and f': {away.why}'}" for away in away),
            *(f"  Careful: {sentence}." for sentence in self.answer.cautions),
            "What would move the last date:",
            *(f"  {move}" for move in self.moves),
        ]

    @property
    def moves(self) -> list[str]:
        """Say what one changed assumption each does to the last date, what matters most first."""
        return [*map(str, self.answer.changes)]

    def _late_delivery(self) -> list[str]:
        rows = [
            (order.code, str(ship.ship_by), str(ship.silence_until))
            for order, ship in zip(self.orders, self.ships, strict=True)
            if ship
        ]
        head = ("", "send by, or offer the choice to wait or cancel", "a new date up to here needs no yes")
        return ["", "Late delivery:", *words.table([head, *rows]), CAUTION] if rows else []


def _row(number: str, code: str, step: str, dates: Dates) -> tuple[str, ...]:
    kept = f" ({words.sure(dates.kept)})" if dates.kept is not None else ""
    promised = f"{dates.promised}{kept}" if dates.promised else ""
    return (number, code, step, *map(words.day, (dates.p50, dates.p80, dates.p90)), promised)


def slots(
    studio: Studio, today: date, first_day: date | None = None, last_day: date | None = None,
    confidence: float = SURE, tier: str | None = None,
) -> SlotsAnswer:  # fmt: skip
    """Work out slots of a tier that begin and end in a window, and dates, as sure as wished (0 to 1).

    Raises Fault where the studio's files don't say enough.
    """
    tier, why = tier_of(studio, tier)
    first = first_day or today
    window = first, last_day or first + timedelta(days=USUAL_DAYS)
    put = asked(studio, today, tier, window, confidence)
    with told():
        found = answer(put.question)
        held = workloads.days_held(studio, today), workloads.promises_held(studio)
    weekly = studio.settings.private.weekly_hours or Decimal(0)
    ships = tuple(map(ship_by, put.load.orders))
    titles = {piece.slug: piece.title for piece in studio.pieces}
    book, rounds = studio.commissions, []
    for one in book.rounds:
        if one.opens.date() <= today <= (one.closes.date() if one.closes else today):
            free = free_slots(book, one)
            rounds.append(f"{one.name} is open: {one.slots - free} of {one.slots} slots taken, {free} free.")
    return SlotsAnswer(found, put, ships, why, *held, weekly, titles, tuple(rounds))


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
    found = asked(studio, today, tier_of(studio, None)[0])
    with told():
        ends = {one.code: ship.ship_by for one in found.load.orders if (ship := ship_by(one)) is not None}
        queue = tuple(
            replace(job, promised=job.promised or ends.get(job.code)) for job in found.question.queue
        )
        return Outlook(found.load.orders, dict(replace(found.question, queue=queue).promises))


def asked(
    studio: Studio, today: date, tier: str, window: tuple[date, date] | None = None, confidence: float = SURE
) -> QueueAsked:
    """Put together what is asked, with the queue in its order. Raises Fault like `slots`."""
    if not studio.settings.private.weekly_hours:
        raise Fault(
            "studio.yaml doesn't say how much you work; under `private:` write `weekly_hours: 20`, bench "
            "hours in a usual week (honest, not hopeful)"
        )
    with told():
        load = workloads.workload(studio, today)
        loads = {BenchOrder.AS_BOOKED: load, BenchOrder.BY_PROMISED_DAY: workloads.by_promise(load)}
        tiers = [*(job.tier for job in load.jobs), tier]
        booked = Question(
            queue=load.jobs, hours=workloads.hours_for(studio, tiers, load.known),
            bench=load.bench, window=window or (today, today + timedelta(days=USUAL_DAYS)), tier=tier,
            confidence=confidence, pace=load.pace,
        )  # fmt: skip
    questions = {
        order: booked if work.jobs == load.jobs else replace(booked, queue=work.jobs)
        for order, work in loads.items()
    }
    return QueueAsked(questions, loads, studio.commissions.bench_order)


def tier_of(studio: Studio, named: str | None) -> tuple[str, str]:
    """Choose the tier of new slots: the one named, else the one that's asked for most. Raises Fault."""
    if not studio.commissions.tiers:
        raise Fault("commissions.yaml names no tiers; write what you make to order under `tiers:` first")
    if named is not None:
        return find.tier(studio, named).name, ""
    tier = workloads.most_wanted(studio.commissions)
    names = [tier.name for tier in studio.commissions.tiers]
    others = words.listed([name for name in names if name != tier], "or")
    return tier, f"{tier} is what is asked for most; --tier names another ({others})." if others else ""
