"""The coming weeks: what to work on in the hours that rest, shows and other days away leave.

There is one model of a week, that of `slots`. Pieces take their even-chance hours one after the other, in the
order that `slots` goes by, so each is done here on the day of its even chance there. Days away have no
hours, so nothing can be planned on them. Hours shown are cut to a tenth: a week never shows more than it has.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from typing import Any

from sitegen.desk import words
from sitegen.desk.lost import Compared, Lost, in_two_orders, lost, tenths
from sitegen.desk.slots import QueueAsked, asked, tier_of
from sitegen.studio.capacity.answer import Dates
from sitegen.studio.capacity.bench import Away
from sitegen.studio.capacity.hours import HALF_HOURS
from sitegen.studio.money import NOTHING, total
from sitegen.studio.order_lines import WeekWorked, monday_of
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.piece import Status
from sitegen.studio.settings import OtherStream
from sitegen.studio.show import Attendance
from sitegen.studio.text import as_csv, bare
from sitegen.studio.whole import Studio
from sitegen.studio.workload import Noted, Steps, left_by_step, usual_steps, whole_bench

_BEHIND = "What this rests on, and what a lost day does to promised days: the same with --why."
USUAL_WEEKS, MOST_WEEKS = 4, 26
_WEEK, _DAY = timedelta(days=7), timedelta(days=1)


@dataclass(frozen=True)
class WeekWork:
    """Hours of one step of one piece in one week."""

    code: str  # an order's code, or a piece's folder
    what: str = field(repr=False)  # what kind of piece, or its title
    is_order: bool
    step: str = ""  # empty where no record tells of steps
    hours: Decimal = NOTHING


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
    slug: str = ""  # of a show or a round, as in addresses
    moment: datetime | None = None
    kept: float | None = None  # the chance that a promised day holds

    def as_answer(self) -> dict[str, Any]:
        named = words.facts(self, "kind from:first to:last name")
        at = {"at": self.moment.isoformat()} if self.moment else {}
        return named | at | ({"kept": self.kept} if self.kept is not None else {})

    def said(self) -> str:
        """Say what it is, without its days."""
        sure = f", {words.sure(self.kept)}" if self.kept is not None else ""
        at = f" at {self.moment:%H:%M}" if self.moment else ""
        kind = str(self.kind).capitalize()
        return f"{kind}: {self.name}{at}{sure}" if self.name else f"{kind}{at}"


@dataclass(frozen=True)
class Week:
    """What is left of one week."""

    first: date  # its Monday, or today
    last: date  # its Sunday
    room: Decimal  # bench hours
    work: tuple[WeekWork, ...]
    marks: tuple[Mark, ...]

    @property
    def days(self) -> list[tuple[date, str]]:
        """The seven days of it, each with the kinds of what stands on it."""
        kinds = (MarkKind.AWAY, MarkKind.SHOW, MarkKind.PROMISED)
        shown = [mark for mark in self.marks if mark.kind in kinds]
        week = (self.last - _DAY * n for n in range(6, -1, -1))
        return [(day, " ".join(one.kind for one in shown if one.first <= day <= one.last)) for day in week]

    @property
    def planned(self) -> Decimal:
        """Bench hours that are planned: the sum of `work`."""
        return total(work.hours for work in self.work)


@dataclass(frozen=True)
class WeekNoted:
    """Hours noted in one week against those it had, by what is on record of weeks."""

    monday: date
    room: Decimal
    hours: Decimal


@dataclass(frozen=True)
class WeekPlan:
    day: date
    weeks: tuple[Week, ...]
    asked: QueueAsked = field(repr=False)
    lost: Lost | None
    orders: Compared | None  # None where the two orders are one
    noted: tuple[WeekNoted, ...] = ()  # the weeks up to this one; none where no hours have their week
    no_week: tuple[tuple[str, Decimal], ...] = ()  # hours noted without a day on what those weeks saw
    asides: tuple[str, ...] = ()
    why: bool = True  # whether to say what it rests on

    def as_answer(self) -> dict[str, Any]:
        return {
            **words.facts(self, "today:day order:asked.chosen"),
            "hours": bare(total(week_.planned for week_ in self.weeks)),
            "weeks": [
                {
                    **words.facts(week, "from:first to:last bench_hours:room planned"),
                    "work": [words.facts(work, "code step hours") for work in week.work],
                    "marks": [mark.as_answer() for mark in week.marks],
                }
                for week in self.weeks
            ],
            "lost": self.lost and self.lost.as_answer(),
            "orders": self.orders and self.orders.as_answer(),
            "noted": [words.facts(noted, "monday bench_hours:room noted:hours") for noted in self.noted],
            "no_week": {name: bare(hours) for name, hours in self.no_week},
        }

    def table(self) -> str:
        """Write the weeks as CSV, a row for each stretch of work and each mark."""
        rows: list[tuple[object, ...]] = [("from", "to", "kind", "what", "step", "hours")]
        for week in self.weeks:
            work = ((week.first, week.last, "work", one.code, one.step, bare(one.hours)) for one in week.work)
            marks = ((mark.first, mark.last, mark.kind, mark.name, "", "") for mark in week.marks)
            rows += [*work, *marks]
        return as_csv(rows)

    def lines(self) -> list[str]:
        lines = [self.basis, ""] if self.why else []
        for week in self.weeks:
            rows = [(work.code, work.what, work.step, f"{bare(work.hours)} h") for work in week.work]
            marks = [f"{words.span(mark.first, mark.last, self.day)}: {mark.said()}" for mark in week.marks]
            told = [*(words.table(rows) if rows else ()), *marks]
            lines += [self.name_of(week), *(f"  {line}" for line in told), ""]
        lines += self.lost.lines(self.day, why=self.why) if self.lost else []
        if not self.why:
            return [*lines, *self.which_order[:-1], _BEHIND]
        if self.noted:
            noted = [(f"week of {noted.monday}", bare(noted.room), bare(noted.hours)) for noted in self.noted]
            lines += ["", *words.table([("", "bench hours", "noted"), *noted])]
        lines += self.in_no_week()
        return [*lines, *(["", *self.orders.table(), *self.which_order] if self.orders else [])]

    def in_no_week(self) -> list[str]:
        """Name the hours that no week counts, as nothing says when they were worked."""
        whose = words.listed([f"{name} {bare(hours)} h" for name, hours in self.no_week])
        do = "Say the day as you note hours, and they are in its week."
        return [f"Noted without a day, and so in no week: {whose}. {do}"] if whose else []

    @property
    def which_order(self) -> list[str]:
        """Say which order of work is better for whom, where there are two."""
        return self.orders.said() if self.orders else []

    @property
    def basis(self) -> str:
        """Say in which order work goes, and what the hours rest on."""
        hours = bare(round(Decimal(float(self.asked.question.bench.weekly_hours)), 1))
        return (
            f"Work goes {self.asked.chosen}, at {hours} bench hours a week, Monday to Friday; rest, "
            "shows and other days away come first. Each piece has its even-chance hours: half of all take "
            "longer."
        )

    def name_of(self, week: Week) -> str:
        days, room = words.span(week.first, week.last, self.day), bare(week.room)
        if not week.room:
            return f"{days}: no bench hours"
        said = room if week.planned == week.room else f"{bare(week.planned)} of {room}"
        return f"{days}: {said} bench hours"


def week(studio: Studio, today: date, weeks: int = USUAL_WEEKS, away: Away | None = None) -> WeekPlan:
    """Plan so many weeks, this one with them, and say what days lost do; without any, the next working day.

    Raises Fault where the studio's files don't say enough.
    """
    found = asked(studio, today, tier_of(studio, None)[0])
    question, bench = found.question, found.question.bench
    ends = [max(today, monday_of(today) + n * _WEEK) for n in range(weeks + 1)]
    borders = [bench.half_hours_through(day - _DAY) for day in ends]
    stretches = list(_stretches(studio, found, borders[-1]))
    marks = [*_calendar(studio), *_of_queue(question.dates(), borders[-1])]
    marks.sort(key=lambda mark: (mark.first, mark.kind, mark.name))
    first = bench.done_on(0) or today  # the next working day
    away = away or Away(first, first)
    return WeekPlan(
        today,
        tuple(
            Week(
                first, end - _DAY, tenths(upto - before), tuple(_cut(stretches, before, upto)),
                tuple(mark for mark in marks if mark.first < end and mark.last >= first),
            )
            for (first, end), (before, upto) in zip(pairwise(ends), pairwise(borders), strict=True)
        ),
        found,
        lost(found, away) if any(job.promised for job in question.queue) else None,
        in_two_orders(found) if found.differ else None,
        _noted(studio, found, monday_of(today)), tuple(_in_no_week(studio, monday_of(today))),
    )  # fmt: skip


def _work(found: QueueAsked, studio: Studio) -> Iterator[tuple[str, WeekWork, Noted]]:
    """Name what is worked on, in the order of the work: its tier, what it's called, the hours noted on it."""
    for order in found.load.orders:
        made, noted = studio.made_for(order.code), dict(order.private.hours)
        for step, hours in (pair for piece in made for pair in piece.private.hours.items()):
            noted[step] = noted.get(step, NOTHING) + hours
        yield order.tier, WeekWork(order.code, made[0].title if made else order.tier, True), noted
    for piece in found.load.own:
        yield piece.private.tier, WeekWork(piece.slug, piece.title, False), piece.private.hours


Stretch = tuple[Fraction, Fraction, WeekWork]
"""Half hours of the bench, from and to, with the step that takes them."""


def _stretches(studio: Studio, found: QueueAsked, end: Fraction) -> Iterator[Stretch]:
    """Lay the steps of the pieces one after the other, up to the last one that is begun before the end."""
    known: dict[str, Steps] = {}
    begun = Fraction(0)
    for (tier, work, noted), dates in zip(_work(found, studio), found.question.dates(), strict=True):
        if begun >= end:
            return
        usual = known[tier] = known.get(tier) or _usual(studio, tier)
        left = max(dates.total.quantile(0.5) - begun, Fraction(0)) / HALF_HOURS
        for step, hours in left_by_step(usual, noted, left):
            yield begun, begun + hours * HALF_HOURS, replace(work, step=step)
            begun += hours * HALF_HOURS


def _usual(studio: Studio, tier: str) -> Steps:
    """Return a tier's usual steps, from its finished pieces; from all of them where it has none."""
    tiers = {order.code: order.tier for order in studio.commissions.queue}
    made = [piece for piece in studio.pieces if piece.status is not Status.IN_PROGRESS and piece.hours]
    own = [piece for piece in made if (piece.private.tier or tiers.get(piece.private.order)) == tier]
    return usual_steps([piece.private.hours for piece in own or made])


def _cut(stretches: Sequence[Stretch], first: Fraction, end: Fraction) -> Iterator[WeekWork]:
    """Yield what of the stretches lies between two borders; cut so that sums are no more than there is."""
    shown = NOTHING
    for begins, ends, work in stretches:
        upto = tenths(min(ends, end) - first)
        if begins < end and upto > shown:
            yield replace(work, hours=upto - shown)
            shown = upto


def _noted(studio: Studio, found: QueueAsked, this: date) -> tuple[WeekNoted, ...]:
    """Put the hours noted in the last weeks beside those that each had."""
    worked = [piece.private.worked for piece in studio.pieces]
    worked += [order.private.worked for order in studio.commissions.queue]
    bench, noted = replace(whole_bench(studio, this), weekly_hours=found.question.bench.weekly_hours), []
    for monday in (this - _WEEK * n for n in range(USUAL_WEEKS - 1, -1, -1)):
        room = replace(bench, first_day=monday).half_hours_through(monday + _WEEK - _DAY)
        hours = total(worked.hours for line in worked for worked in line if monday_of(worked.on) == monday)
        noted.append(WeekNoted(monday, tenths(room), hours))
    return tuple(noted) if any(noted_week.hours for noted_week in noted) else ()


def _in_no_week(studio: Studio, this: date) -> Iterator[tuple[str, Decimal]]:
    """Yield what the last weeks saw at the bench that has more hours than their lines by the week hold."""
    first = this - _WEEK * (USUAL_WEEKS - 1)
    seen: list[tuple[str, Decimal, tuple[WeekWorked, ...]]] = [
        (piece.slug, piece.hours, piece.private.worked)
        for piece in studio.pieces
        if piece.status is Status.IN_PROGRESS or (piece.finished or date.min) >= first
    ]
    seen += [
        (order.code, order.hours, order.private.worked)
        for order in studio.commissions.queue
        if order.step in UNDER_WAY or (order.finished_on or date.min) >= first
    ]
    for name, hours, weeks in seen:
        if (rest := hours - total(worked.hours for worked in weeks)) > 0:
            yield name, rest


def _calendar(studio: Studio) -> Iterator[Mark]:
    """Yield what the files say of days: rest and other days away, shows, classes, rounds."""
    desk = studio.settings.private
    for away in desk.days_away:
        yield Mark(MarkKind.AWAY, away.first_day, away.last_day, away.why)
    for show in studio.shows:
        kind = MarkKind.CLASS if show.is_class else MarkKind.SHOW
        if show.attendance is not Attendance.CANCELLED:
            yield Mark(kind, show.first_day, show.ends, show.name, show.slug)
    for taking in desk.takings:
        if taking.stream is OtherStream.CLASSES:
            yield Mark(MarkKind.CLASS, taking.on, taking.on, taking.what)
    for round_ in studio.commissions.rounds:
        for kind, moment in ((MarkKind.OPENS, round_.opens), (MarkKind.CLOSES, round_.closes)):
            if moment is not None:
                at = moment.replace(tzinfo=round_.zone)
                yield Mark(kind, at.date(), at.date(), round_.name, round_.slug, at)


def _of_queue(queue: Sequence[Dates], end: Fraction) -> Iterator[Mark]:
    """Yield the promised days, and the days on which pieces are done."""
    for dates in queue:
        if dates.total.quantile(0.5) <= end and dates.p50:
            yield Mark(MarkKind.DONE, dates.p50, dates.p50, dates.code)
        if dates.promised:
            yield Mark(MarkKind.PROMISED, dates.promised, dates.promised, dates.code, kept=dates.kept)
