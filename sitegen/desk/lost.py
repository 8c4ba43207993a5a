"""What a lost day does to promised days, and what each of the two orders of work does to them.

Both go by the chances of `slots`: the same totals of hours with a day less at the bench, or in another order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any

from sitegen.desk import words
from sitegen.desk.order_offers import named
from sitegen.desk.slots import SURE
from sitegen.studio.capacity.answer import Question, chance_kept
from sitegen.studio.capacity.bench import Away, Bench
from sitegen.studio.capacity.hours import HALF_HOURS
from sitegen.studio.capacity.total import Total
from sitegen.studio.commission import BenchOrder, Order
from sitegen.studio.text import bare, counted

Totals = Sequence[tuple[Order, Total]]
"""The orders in the order of the work, each with all the hours up to and with it."""


@dataclass(frozen=True)
class Slip:
    """A promised day before and after a day is lost."""

    order: Order = field(repr=False)
    promised: date
    before: float
    """The chance that it's kept."""
    after: float
    sure: date | None
    """The day that is 80 % sure; None lies more than twenty years ahead."""
    sure_after: date | None

    @property
    def days(self) -> int:
        """By how many days the surer day moves."""
        return (self.sure_after - self.sure).days if self.sure and self.sure_after else 0

    @property
    def turns(self) -> bool:
        """Tell whether it becomes unlikely by that."""
        return self.before >= SURE > self.after

    @property
    def new_day(self) -> str:
        """What the letter to the client names, where one is called for."""
        return str(self.sure_after or "unknown") if self.after < SURE else ""


@dataclass(frozen=True)
class Lost:
    """Days without bench work that nobody planned."""

    away: Away
    hours: Decimal
    slips: tuple[Slip, ...]

    def as_answer(self) -> dict[str, Any]:
        return {
            "from": str(self.away.first_day), "to": str(self.away.last_day), "hours": bare(self.hours),
            "slips": [
                {"code": one.order.code, "promised": str(one.promised), "before": one.before,
                 "after": one.after, "sure": one.sure and str(one.sure),
                 "sure_after": one.sure_after and str(one.sure_after), "days": one.days,
                 "becomes_unlikely": one.turns, "new_day": one.new_day}
                for one in self.slips
            ],
        }  # fmt: skip

    def lines(self, today: date) -> list[str]:
        """Say what slips, and whom to write to."""
        return [self.sentence(today), *self._table(), *map(self.to_write, self.to_tell)]

    def sentence(self, today: date) -> str:
        """Say what the days take."""
        days = words.span(self.away.first_day, self.away.last_day, today)
        if not self.hours:
            return f"{days}: no bench work was planned then, so nothing slips."
        turned = [one.order.code for one in self.slips if one.turns]
        said = f"By that {words.listed(turned)} become{'s' * (len(turned) == 1)} unlikely (below 80 %)."
        none = "No promised day becomes unlikely by that." if self.slips else "No day is promised."
        return f"{days} lost takes {bare(self.hours)} bench hours. {said if turned else none}"

    @property
    def to_tell(self) -> tuple[Slip, ...]:
        """Promises that are unlikely then, so that a letter is called for."""
        return tuple(one for one in self.slips if one.new_day) if self.hours else ()

    def to_write(self, one: Slip) -> str:
        """Name the client to write to, and the letter that does it."""
        more = " --note WHY.md" if one.new_day == "unknown" else ""
        return (
            f"Write to {named(one.order)}: `sitegen order letter {one.order.code} --new-day {one.new_day}"
            f"{more}`."
        )

    def _table(self) -> list[str]:
        if not self.slips or not self.hours:
            return []
        head = ("", "promised", "kept with", "then", "80 % sure by", "then", "")
        rows = [
            (
                one.order.code, str(one.promised), f"{one.before:.0%}", f"{one.after:.0%}",
                words.day(one.sure), words.day(one.sure_after), _later(one.days),
            )
            for one in self.slips
        ]  # fmt: skip
        return words.table([head, *rows], right=(2, 3))


def _later(days: int) -> str:
    return f"{counted(days, 'day', 'days')} later" if days else ""


def tenths(half_hours: Fraction) -> Decimal:
    """Write half hours as hours, cut to a tenth: what is shown is never more than there is."""
    return Decimal(floor(half_hours / HALF_HOURS * 10)) / 10


def lost(question: Question, totals: Totals, away: Away) -> Lost:
    """Say what days lost at the bench do to the promised days; those before them keep theirs."""
    bench = question.bench
    less = replace(bench, away=(*bench.away, away))
    hours = tenths(bench.half_hours_through(away.last_day) - less.half_hours_through(away.last_day))
    promised = [(order, day, total) for order, total in totals if (day := order.private.promised_now)]
    half_hours = [float(total.quantile(SURE)) for _, _, total in promised]
    sure, after = bench.done_on(half_hours or [0]), less.done_on(half_hours or [0])

    def chance(total: Total, one: Bench, day: date) -> float:
        return total.chance(floor(one.half_hours_through(day)))

    slips = [
        Slip(order, day, chance(total, bench, day), chance(total, less, day), one, other)
        for (order, day, total), one, other in zip(promised, sure, after, strict=False)
    ]
    return Lost(away, hours, tuple(slips))


@dataclass(frozen=True)
class Place:
    """One promised piece under one order of work."""

    done: date | None
    """As likely before as after."""
    late: int
    """Days by which that lies after the promised one; 0 where it doesn't."""
    kept: float


@dataclass(frozen=True)
class TwoOrders:
    """The same pieces as booked and by promised day."""

    places: tuple[tuple[Order, tuple[Place, Place]], ...]
    """In the order booked, each under `BenchOrder`'s two orders."""

    @property
    def better(self) -> tuple[tuple[Order, ...], ...]:
        """Say for whom each is better: who keeps their day surer by a per cent or more."""
        percent = [(order, [round(100 * one.kept) for one in both]) for order, both in self.places]
        return tuple(
            tuple(order for order, kept in percent if kept[this] > kept[1 - this]) for this in (0, 1)
        )

    @property
    def sums(self) -> tuple[tuple[int, int, int], ...]:
        """How many are late, by how many days in all, and by how many at most, under each."""
        late = [[both[this].late for _, both in self.places] for this in (0, 1)]
        return tuple((sum(map(bool, one)), sum(one), max(one, default=0)) for one in late)

    def as_answer(self) -> dict[str, Any]:
        return {
            str(name): {
                "late": late, "late_days": days, "latest": most,
                "better_for": [order.code for order in self.better[this]],
                "places": [
                    {"code": order.code, "done": one.done and str(one.done), "late_days": one.late,
                     "kept": one.kept}
                    for order, both in self.places for one in both[this : this + 1]
                ],
            }
            for this, (name, (late, days, most)) in enumerate(zip(BenchOrder, self.sums, strict=True))
        }  # fmt: skip

    def lines(self) -> list[str]:
        """Put the orders side by side."""
        head = (
            "",
            "promised",
            *(f"{what} {name}" for name in BenchOrder for what in ("done", "late", "kept")),
        )
        rows = [
            (
                order.code, words.day(order.private.promised_now),
                *(cell for one in both for cell in (words.day(one.done), str(one.late), f"{one.kept:.0%}")),
            )
            for order, both in self.places
        ]  # fmt: skip
        return [*words.table([head, *rows], right=(3, 4, 6, 7)), *self.sentences()]

    def sentences(self) -> list[str]:
        """Say which is better for whom, and what isn't certain."""
        said = [
            f"{str(name).capitalize()}: {counted(late, 'piece', 'pieces')} late, by "
            f"{counted(days, 'day', 'days')} in all, {most} at most{_for(better)}."
            for name, (late, days, most), better in zip(BenchOrder, self.sums, self.better, strict=True)
        ]
        return [
            *said,
            "Late days are counted from the even-chance day: half of all pieces take longer. Where two "
            "chances lie a few per cent apart, the records can't tell which order is better.",
        ]


def _for(better: Sequence[Order]) -> str:
    return f"; better for {words.listed([named(one) for one in better])}" if better else ""


def places(question: Question, totals: Totals) -> dict[str, Place]:
    """Say when each promised piece is done, worked in this order, by its code."""
    promised = [
        (order, job, total)
        for (order, total), job in zip(totals, question.queue, strict=False)
        if job.promised is not None
    ]
    days = question.bench.done_on([float(total.quantile(0.5)) for _, _, total in promised] or [0])
    return {
        order.code: Place(day, _late(day, job.promised), chance_kept(question, job, total) or 0.0)
        for (order, job, total), day in zip(promised, days, strict=False)
    }


# What lies more than twenty years ahead is late by that much.
_OUT_OF_SIGHT = 366 * 20


def _late(done: date | None, promised: date | None) -> int:
    if promised is None:
        return 0
    return max((done - promised).days, 0) if done else _OUT_OF_SIGHT
