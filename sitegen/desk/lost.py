"""What a lost day does to promised days, and what each of the two orders of work does to them.

Both put the same promised pieces side by side under two plans, by the chances of `slots`: the same totals of
hours with a day less at the bench, or in another order.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any

from sitegen.desk import words
from sitegen.desk.slots import SURE
from sitegen.desk.turns import named
from sitegen.studio.capacity.answer import Question
from sitegen.studio.capacity.bench import LONGEST_DAYS, Away
from sitegen.studio.capacity.hours import HALF_HOURS
from sitegen.studio.capacity.total import Total
from sitegen.studio.commission import BenchOrder, Order
from sitegen.studio.text import bare, counted

Totals = Sequence[tuple[Order, Total]]
"""The orders in the order of the work, each with all the hours up to and with it."""


@dataclass(frozen=True)
class Place:
    """One promised piece under one plan; a day of None lies more than twenty years ahead."""

    done: date | None  # as likely before as after
    sure: date | None  # with 80 %
    kept: float  # the chance that the promised day is kept
    late: int  # days by which the even-chance day lies after the promised one; 0 where it doesn't


def places(question: Question, totals: Totals) -> dict[str, Place]:
    """Say of each promised piece when it's done, by its order's code."""
    bench = question.bench
    promised = [(order.code, day, total) for order, total in totals if (day := order.private.promised_now)]
    half_hours = [float(total.quantile(share)) for *_, total in promised for share in (0.5, SURE)]
    days = iter(bench.done_on(half_hours or [0]))
    return {
        code: Place(
            done := next(days), next(days), total.chance(floor(bench.half_hours_through(day))),
            max((done - day).days, 0) if done else LONGEST_DAYS,
        )
        for code, day, total in promised
    }  # fmt: skip


@dataclass(frozen=True)
class Compared:
    """The promised pieces under two plans."""

    names: tuple[str, str]
    pairs: tuple[tuple[Order, tuple[Place, Place]], ...] = field(repr=False)

    def as_answer(self) -> list[dict[str, Any]]:
        def told(one: Place) -> dict[str, Any]:
            days = {"done": words.day(one.done), "sure": words.day(one.sure)}
            return days | words.facts(one, "kept late_days:late")

        return [
            words.facts(order, "code promised:private.promised_now")
            | {name: told(one) for name, one in zip(self.names, both, strict=True)}
            for order, both in self.pairs
        ]

    def table(self) -> list[str]:
        """Put the two plans side by side."""
        told = [f"{name}: {of}" for name in self.names for of in ("kept", "80 % by", "late")]
        rows = [[order.code, words.day(order.private.promised_now)] for order, _ in self.pairs]
        for row, (_, both) in zip(rows, self.pairs, strict=True):
            for one in both:
                late = counted(one.late, "day", "days") if one.late else ""
                row += [words.sure(one.kept), words.day(one.sure), late]
        shown = [one for one in zip(["", "promised", *told], *rows, strict=True) if any(one[1:])]
        return words.table([*zip(*shown, strict=True)]) if rows else []


@dataclass(frozen=True)
class Lost:
    """Days without bench work that nobody planned."""

    away: Away
    hours: Decimal
    slips: Compared

    def as_answer(self) -> dict[str, Any]:
        return {
            **words.facts(self, "from:away.first_day to:away.last_day hours"),
            "slips": self.slips.as_answer(), "becomes_unlikely": self.turned,
            "write_to": {order.code: new_day for order, new_day in self.to_tell},
        }  # fmt: skip

    @property
    def turned(self) -> list[str]:
        """The orders whose promised day becomes unlikely by that."""
        return [order.code for order, (was, now) in self.slips.pairs if was.kept >= SURE > now.kept]

    @property
    def to_tell(self) -> tuple[tuple[Order, str], ...]:
        """The orders whose promised day is unlikely then, each with the day to name in a letter."""
        pairs = self.slips.pairs if self.hours else ()
        return tuple((order, str(now.sure or "unknown")) for order, (_, now) in pairs if now.kept < SURE)

    def sentence(self, today: date) -> str:
        """Say what the days take."""
        days = words.span(self.away.first_day, self.away.last_day, today)
        if not self.hours:
            return f"{days}: no bench work was planned then, so nothing slips."
        become = f"{words.listed(self.turned)} become{'s' * (len(self.turned) == 1)} unlikely (below 80 %)"
        said = become if self.turned else "no promised day becomes unlikely"
        return f"{days} lost takes {bare(self.hours)} bench hours; by that {said}."

    def lines(self, today: date, *, why: bool) -> list[str]:
        """Say what slips, and whom to write to; with `why` by how much."""
        letters = (
            f"Write to {named(order)}: `sitegen order letter {order.code} --new-day {new_day}`."
            for order, new_day in self.to_tell
        )
        return [self.sentence(today), *(self.slips.table() if self.hours and why else ()), *letters]


def tenths(half_hours: Fraction) -> Decimal:
    """Write half hours as hours, cut to a tenth: what is shown is never more than there is."""
    return Decimal(floor(half_hours / HALF_HOURS * 10)) / 10


def lost(question: Question, totals: Totals, away: Away) -> Lost:
    """Say what days lost at the bench do to the promised days."""
    bench = question.bench
    less = replace(bench, away=(*bench.away, away))
    taken = bench.half_hours_through(away.last_day) - less.half_hours_through(away.last_day)
    was, now = places(question, totals), places(replace(question, bench=less), totals)
    pairs = tuple((order, (was[order.code], now[order.code])) for order, _ in totals if order.code in was)
    return Lost(away, tenths(taken), Compared(("planned", "then"), pairs))


def in_two_orders(two: Compared) -> list[str]:
    """Say how late pieces are under each order, for whom it's better, and what isn't certain."""
    said = []
    for this, name in enumerate(BenchOrder):
        pairs = [(order, both[this], both[1 - this]) for order, both in two.pairs]
        late = [one.late for _, one, _ in pairs if one.late]
        days = f", by {counted(sum(late), 'day', 'days')} in all and {max(late)} at most" if late else ""
        # Better is what keeps a day surer by a per cent or more.
        surer = [order for order, one, other in pairs if round(100 * one.kept) > round(100 * other.kept)]
        whom = f"; better for {words.listed([named(one) for one in surer])}" if surer else ""
        said.append(
            f"{str(name).capitalize()}, {counted(len(late), 'piece is', 'pieces are')} late{days}{whom}."
        )
    return [
        *said,
        "Late days are counted from the even-chance day: half of all pieces take longer. Where two chances "
        "lie a few per cent apart, the records can't tell which order is better.",
    ]
