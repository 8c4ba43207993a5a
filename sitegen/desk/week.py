"""The coming weeks: what to work on in the hours that rest, shows and other days away leave.

There is one model of a week, that of `slots`. Pieces take their even-chance hours one after the other, in the
order that `slots` goes by, so each is done here on the day of its even chance there. Days away have no
hours, so nothing can be planned on them. Hours shown are cut to a tenth: a week never shows more than it has.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from typing import Any

from sitegen.desk import words
from sitegen.desk.lost import Lost, TwoOrders, lost, places, tenths
from sitegen.desk.slots import QueueAsked, asked, tier_of
from sitegen.studio.capacity.answer import chance_kept, hours_left, running_totals
from sitegen.studio.capacity.bench import Away, Bench
from sitegen.studio.capacity.hours import HALF_HOURS
from sitegen.studio.capacity.total import Total
from sitegen.studio.coins import total
from sitegen.studio.commission import BenchOrder, Order
from sitegen.studio.fault import told
from sitegen.studio.piece import Piece, Status
from sitegen.studio.settings import OtherStream
from sitegen.studio.steps import Noted, Steps, left_by_step, usual_steps
from sitegen.studio.text import bare
from sitegen.studio.whole import Studio
from sitegen.studio.workload import by_promise

USUAL_WEEKS, MOST_WEEKS = 4, 26
_WEEK = timedelta(days=7)


@dataclass(frozen=True)
class WeekWork:
    """Hours of one step of one piece in one week."""

    code: str
    """An order's code, or a piece's folder."""
    what: str = field(repr=False)
    """What kind of piece, or its title."""
    is_order: bool
    step: str
    """Empty where no record tells of steps."""
    hours: Decimal


class MarkKind(StrEnum):
    """What stands in a week beside work."""

    AWAY = "away"
    SHOW = "show"
    CLASS = "class"
    OPENS = "round opens"
    CLOSES = "round closes"
    PROMISED = "promised"
    DONE = "done, as likely as not"


@dataclass(frozen=True)
class Mark:
    """Something of a day or of several."""

    kind: MarkKind
    first: date
    last: date
    name: str = field(repr=False)
    slug: str = ""
    """Of a show or a round, as in addresses."""
    moment: datetime | None = None
    kept: float | None = None
    """The chance that a promised day holds."""

    def as_answer(self) -> dict[str, Any]:
        named = {"kind": str(self.kind), "from": str(self.first), "to": str(self.last), "name": self.name}
        at = {"at": self.moment.isoformat()} if self.moment else {}
        return named | at | ({"kept": self.kept} if self.kept is not None else {})

    def said(self) -> str:
        """Say what it is, without its days."""
        sure = f", {self.kept:.0%} sure" if self.kept is not None else ""
        at = f" at {self.moment:%H:%M}" if self.moment else ""
        kind = str(self.kind).capitalize()
        return f"{kind}: {self.name}{at}{sure}" if self.name else f"{kind}{at}"


@dataclass(frozen=True)
class Week:
    """What is left of one week."""

    first: date
    """Its Monday, or today."""
    last: date
    """Its Sunday."""
    room: Decimal
    """Bench hours."""
    work: tuple[WeekWork, ...]
    marks: tuple[Mark, ...]

    @property
    def planned(self) -> Decimal:
        """Bench hours that are planned: the sum of `work`."""
        return total(one.hours for one in self.work)


@dataclass(frozen=True)
class WeekPlan:
    """The coming weeks."""

    day: date
    weeks: tuple[Week, ...]
    asked: QueueAsked = field(repr=False)
    lost: Lost | None
    orders: TwoOrders | None
    """None where the two orders are one."""
    asides: tuple[str, ...] = ()

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines; hours as strings."""
        return {
            "today": str(self.day),
            "order": str(self.asked.queueing.chosen),
            "hours": bare(total(one.planned for one in self.weeks)),
            "weeks": [
                {
                    "from": str(week.first), "to": str(week.last), "bench_hours": bare(week.room),
                    "planned": bare(week.planned),
                    "work": [{"code": one.code, "step": one.step, "hours": bare(one.hours)}
                             for one in week.work],
                    "marks": [one.as_answer() for one in week.marks],
                }
                for week in self.weeks
            ],
            "lost": self.lost and self.lost.as_answer(),
            "orders": self.orders and self.orders.as_answer(),
        }  # fmt: skip

    def table(self) -> str:
        """Write the weeks as CSV, a row for each stretch of work and each mark."""
        rows = [("from", "to", "kind", "what", "step", "hours")]
        for week in self.weeks:
            days = str(week.first), str(week.last)
            rows += [(*days, "work", one.code, one.step, bare(one.hours)) for one in week.work]
            rows += [(str(one.first), str(one.last), str(one.kind), one.name, "", "") for one in week.marks]
        return words.csv_text(rows)

    def lines(self) -> list[str]:
        """Write the weeks one below the other."""
        lines = [self.basis, ""]
        for week in self.weeks:
            lines += [self.name_of(week), *(f"  {line}" for line in _of_week(week, self.day)), ""]
        lines += self.lost.lines(self.day) if self.lost else []
        return [*lines, *(["", *self.orders.lines()] if self.orders else [])]

    @property
    def basis(self) -> str:
        """Say in which order work goes, and what the hours rest on."""
        hours = bare(round(Decimal(float(self.asked.question.bench.weekly_hours)), 1))
        return (
            f"Work goes {self.asked.queueing.chosen}, at {hours} bench hours a week, Monday to Friday; rest, "
            "shows and other days away come first. Each piece has its even-chance hours: half of all take "
            "longer."
        )

    def name_of(self, week: Week) -> str:
        """Name a week by its days, with its hours."""
        days, room = words.span(week.first, week.last, self.day), bare(week.room)
        if not week.room:
            return f"{days}: no bench hours"
        free = "" if week.planned else ", all of them free"
        said = f"{bare(week.planned)} of {room}" if week.planned else room
        return f"{days}: {said} bench hours{free}"


def _of_week(week: Week, today: date) -> Iterator[str]:
    rows = [(one.code, one.what, one.step, f"{bare(one.hours)} h") for one in week.work]
    yield from words.table(rows, right=(3,)) if rows else ()
    for one in week.marks:
        yield f"{words.span(one.first, one.last, today)}: {one.said()}"


@dataclass(frozen=True)
class _Job:
    """One piece of the plan: what it is, and what is noted of it by step."""

    order: Order | None
    work: WeekWork
    noted: Noted
    tier: str


def week(studio: Studio, today: date, weeks: int = USUAL_WEEKS, away: Away | None = None) -> WeekPlan:
    """Plan so many weeks, this one with them, and say what days lost do; without any, the next working day.

    Raises Fault where the studio's files don't say enough.
    """
    found = asked(studio, today, tier=tier_of(studio, None)[0])
    question, bench = found.question, found.question.bench
    with told():
        totals = running_totals([hours_left(job, question.hours) for job in question.queue], question.pace)[
            1:
        ]
    ends = [max(today, today - timedelta(days=today.weekday()) + n * _WEEK) for n in range(weeks + 1)]
    jobs = _jobs(studio, found)
    ordered = [(one.order, total) for one, total in zip(jobs, totals, strict=True) if one.order]
    planned = _planned(studio, bench, jobs, totals, ends)
    marks = [*_calendar(studio), *_promises(found, totals), *_done(bench, jobs, totals, ends[-1])]
    away = away or next((Away(day, day) for day in bench.working_days()), Away(today, today))
    return WeekPlan(
        today,
        tuple(
            Week(
                first, end - timedelta(days=1), tenths(_between(bench, first, end)), work,
                tuple(sorted((one for one in marks if one.first < end and one.last >= first), key=_place)),
            )
            for (first, end), work in zip(pairwise(ends), planned, strict=True)
        ),
        found,
        lost(question, ordered, away) if any(one.promised for one in question.queue) else None,
        _two_orders(found, ordered) if found.queueing.differ else None,
    )  # fmt: skip


def _place(one: Mark) -> tuple[date, MarkKind, str]:
    return one.first, one.kind, one.name


def _between(bench: Bench, first: date, end: date) -> Fraction:
    """Count the bench half hours from a day's morning to another's."""
    one = timedelta(days=1)
    return bench.half_hours_through(end - one) - bench.half_hours_through(first - one)


def _jobs(studio: Studio, found: QueueAsked) -> list[_Job]:
    """Name what is worked on, in the order of the work."""
    jobs = []
    for order, job in zip(found.load.orders, found.question.queue, strict=False):
        made = studio.made_for(order.code)
        noted = _together([order.private.hours, *(one.private.hours for one in made)])
        title = made[0].title if made else order.tier
        jobs.append(_Job(order, WeekWork(order.code, title, True, "", Decimal(0)), noted, job.tier))
    for piece, job in zip(found.load.own, found.question.queue[len(jobs) :], strict=True):
        work = WeekWork(piece.slug, piece.title, False, "", Decimal(0))
        jobs.append(_Job(None, work, piece.private.hours, job.tier))
    return jobs


def _together(notes: Sequence[Noted]) -> Noted:
    found: dict[str, Decimal] = {}
    for one in notes:
        for step, hours in one.items():
            found[step] = found.get(step, Decimal(0)) + hours
    return found


def _planned(
    studio: Studio, bench: Bench, jobs: Sequence[_Job], totals: Sequence[Total], ends: Sequence[date]
) -> list[tuple[WeekWork, ...]]:
    """Lay the hours of the pieces over the weeks, one after the other: each hour once."""
    usual = _UsualSteps(studio)
    borders = [bench.half_hours_through(day - timedelta(days=1)) for day in ends]
    stretches: list[tuple[Fraction, Fraction, _Job, str]] = []
    begun = Fraction(0)
    for job, sum_ in zip(jobs, totals, strict=True):
        if begun >= borders[-1]:
            break
        left = max(sum_.quantile(0.5) - begun, Fraction(0))
        for step, hours in left_by_step(usual.of(job.tier), job.noted, left / HALF_HOURS):
            stretches.append((begun, begun + hours * HALF_HOURS, job, step))
            begun += hours * HALF_HOURS
    return [tuple(_cut(stretches, first, end)) for first, end in pairwise(borders)]


def _cut(
    stretches: Sequence[tuple[Fraction, Fraction, _Job, str]], first: Fraction, end: Fraction
) -> Iterator[WeekWork]:
    """Yield what of the stretches lies between two borders; cut so that sums are no more than there is."""
    shown = Decimal(0)
    for begins, ends, job, step in stretches:
        if begins >= end or ends <= first:
            continue
        upto = tenths(min(ends, end) - first)
        if upto > shown:
            one = job.work
            yield WeekWork(one.code, one.what, one.is_order, step, upto - shown)
        shown = upto


class _UsualSteps:
    """The usual steps of each tier, from its finished pieces; from all of them where it has none."""

    def __init__(self, studio: Studio) -> None:
        self.pieces = [one for one in studio.pieces if one.status is not Status.IN_PROGRESS and one.hours]
        self.tiers = {one.code: one.tier for one in studio.commissions.queue}
        self.known: dict[str, Steps] = {}

    def of(self, tier: str) -> Steps:
        """Return a tier's usual steps."""
        if tier not in self.known:
            own = [one for one in self.pieces if self._tier(one) == tier]
            self.known[tier] = usual_steps([one.private.hours for one in own or self.pieces])
        return self.known[tier]

    def _tier(self, piece: Piece) -> str:
        return piece.private.tier or self.tiers.get(piece.private.order, "")


def _calendar(studio: Studio) -> Iterator[Mark]:
    """Yield what the files say of days: rest and other days away, shows, classes, rounds."""
    desk = studio.settings.private
    for away in desk.days_away:
        yield Mark(MarkKind.AWAY, away.first_day, away.last_day, away.why)
    for show in studio.shows:
        yield Mark(MarkKind.SHOW, show.first_day, show.ends, show.name, show.slug)
    for one in desk.takings:
        if one.stream is OtherStream.CLASSES:
            yield Mark(MarkKind.CLASS, one.on, one.on, one.what)
    for round_ in studio.commissions.rounds:
        turns = (MarkKind.OPENS, round_.opens), (MarkKind.CLOSES, round_.closes)
        for kind, moment in turns:
            if moment is not None:
                at = moment.replace(tzinfo=round_.zone)
                yield Mark(kind, at.date(), at.date(), round_.name, round_.slug, at)


def _promises(found: QueueAsked, totals: Sequence[Total]) -> Iterator[Mark]:
    for job, sum_ in zip(found.question.queue, totals, strict=True):
        if job.promised is not None:
            kept = chance_kept(found.question, job, sum_)
            yield Mark(MarkKind.PROMISED, job.promised, job.promised, job.code, kept=kept)


def _done(bench: Bench, jobs: Sequence[_Job], totals: Sequence[Total], end: date) -> Iterator[Mark]:
    until = bench.half_hours_through(end)
    half_hours = [half for one in totals if (half := float(one.quantile(0.5))) <= until]
    for job, day in zip(jobs, bench.done_on(half_hours) if half_hours else (), strict=False):
        if day is not None:
            yield Mark(MarkKind.DONE, day, day, job.work.code)


def _two_orders(found: QueueAsked, ordered: Sequence[tuple[Order, Total]]) -> TwoOrders:
    """Work out both orders: the one chosen is there already."""
    question, load = found.question, found.load
    dated = found.queueing.chosen is BenchOrder.BY_PROMISED_DAY
    other = found.booked if dated else by_promise(load)
    with told():
        jobs = [hours_left(job, question.hours) for job in other.jobs[: len(other.orders)]]
        sums = running_totals(jobs, question.pace)[1:]
    here = places(question, ordered)
    there = places(replace(question, queue=other.jobs), list(zip(other.orders, sums, strict=True)))
    pairs: Mapping[str, Any] = {
        code: (there[code], here[code]) if dated else (here[code], there[code]) for code in here
    }
    booked = found.booked.orders
    return TwoOrders(tuple((one, pairs[one.code]) for one in booked if one.code in pairs))
