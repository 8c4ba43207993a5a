"""What a lost day does to promised days, and what each of the two orders of work does to them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any

from sitegen.desk import words
from sitegen.desk.slots import SURE, QueueAsked
from sitegen.desk.turns import named
from sitegen.studio.capacity.answer import Dates
from sitegen.studio.capacity.bench import Away
from sitegen.studio.capacity.hours import HALF_HOURS
from sitegen.studio.commission import Order
from sitegen.studio.text import bare, counted


@dataclass(frozen=True)
class Compared:
    """The promised pieces under two plans: with a day less at the bench, or in another order."""

    names: tuple[str, ...]
    pairs: tuple[tuple[Order, tuple[Dates, Dates]], ...] = field(repr=False)

    def as_answer(self) -> list[dict[str, Any]]:
        def told(dates: Dates) -> dict[str, Any]:
            days = {"done": words.day(dates.p50), "sure": words.day(dates.sure)}
            return days | words.facts(dates, "kept late_days:late")

        return [
            words.facts(order, "code promised:private.promised_now")
            | {name: told(dates) for name, dates in zip(self.names, both, strict=True)}
            for order, both in self.pairs
        ]

    def table(self) -> list[str]:
        told = [f"{name}: {of}" for name in self.names for of in ("kept", "80% by", "late")]
        rows = [[order.code, words.day(order.private.promised_now)] for order, _ in self.pairs]
        for row, (_, both) in zip(rows, self.pairs, strict=True):
            for dates in both:
                late = counted(dates.late, "day", "days") if dates.late else ""
                row += [words.sure(dates.kept or 0), words.day(dates.sure), late]
        shown = [row for row in zip(["", "promised", *told], *rows, strict=True) if any(row[1:])]
        return words.table([*zip(*shown, strict=True)]) if rows else []

    def said(self) -> list[str]:
        """Say how late pieces are under each order, for whom it's better, and what isn't certain."""
        said = []
        for this, name in enumerate(self.names):
            pairs = [(order, both[this], both[1 - this]) for order, both in self.pairs]
            late = [dates.late for _, dates, _ in pairs if dates.late]
            days = f", by {counted(sum(late), 'day', 'days')} in all and {max(late)} at most" if late else ""
            # Better is what keeps a day surer by a per cent or more.
            surer = [order for order, dates, other in pairs if _per_cent(dates) > _per_cent(other)]
            whom = f"; better for {words.listed([named(order) for order in surer])}" if surer else ""
            said.append(
                f"{name.capitalize()}, {counted(len(late), 'piece is', 'pieces are')} late{days}{whom}."
            )
        return [
            *said,
            "Late days are counted from the even-chance day: half of all pieces take longer. Where two "
            "chances lie a few per cent apart, the records can't tell which order is better.",
        ]


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
        pairs = self.slips.pairs
        return [order.code for order, (was, now) in pairs if now.breaks(SURE) and not was.breaks(SURE)]

    @property
    def to_tell(self) -> tuple[tuple[Order, str], ...]:
        """The orders whose promised day is unlikely then, each with the day to name in a letter."""
        pairs = self.slips.pairs if self.hours else ()
        return tuple((order, str(now.sure or "unknown")) for order, (_, now) in pairs if now.breaks(SURE))

    def sentence(self, today: date) -> str:
        """Say what the days take."""
        days = words.span(self.away.first_day, self.away.last_day, today)
        if not self.hours:
            return f"{days}: no bench work was planned then, so nothing slips."
        become = f"{words.listed(self.turned)} become{'s' * (len(self.turned) == 1)} unlikely (below 80%)"
        said = become if self.turned else "no promised day becomes unlikely"
        return f"{days} lost takes {bare(self.hours)} bench hours; by that {said}."

    def lines(self, today: date, *, why: bool) -> list[str]:
        """Say what slips, and whom to write to; with `why` by how much."""
        letters = (
            f"Write to {named(order)}: `sitegen order letter {order.code} --new-day {new_day}`."
            for order, new_day in self.to_tell
        )
        return [self.sentence(today), *(self.slips.table() if self.hours and why else ()), *letters]


def _per_cent(dates: Dates) -> int:
    return round(100 * (dates.kept or 0))


def tenths(half_hours: Fraction) -> Decimal:
    """Write half hours as hours, cut to a tenth: what is shown is never more than there is."""
    return Decimal(floor(half_hours / HALF_HOURS * 10)) / 10


def lost(found: QueueAsked, away: Away) -> Lost:
    """Say what days lost at the bench do to the promised days."""
    question, orders = found.question, found.load.orders
    bench, planned = question.bench, question.dates(len(found.load.orders))
    fewer = replace(question, bench=replace(bench, away=(*bench.away, away)))
    taken = bench.half_hours_through(away.last_day) - fewer.bench.half_hours_through(away.last_day)
    then = (replace(dates, question=fewer) for dates in planned)
    return Lost(away, tenths(taken), _compared(("planned", "then"), orders, planned, then))


def in_two_orders(found: QueueAsked) -> Compared:
    """Put the two orders of work side by side."""
    orders = next(iter(found.loads.values())).orders
    booked, by_day = (question.dates(len(orders)) for question in found.questions.values())
    return _compared(tuple(map(str, found.loads)), orders, booked, by_day)


def _compared(
    names: tuple[str, ...], orders: Sequence[Order], here: Iterable[Dates], there: Iterable[Dates]
) -> Compared:
    first, second = ({dates.code: dates for dates in dates} for dates in (here, there))
    promised = (order for order in orders if order.private.promised_now)
    return Compared(names, tuple((order, (first[order.code], second[order.code])) for order in promised))
