"""What keeping the studio open costs an hour: planned, really worked, and sold.

The rules (common practice, no source):
- Running costs of a year are twelve months of overhead, the shows' costs and other expenses with a day.
- Hours worked are those noted for what was finished in the year or called off, with the classes'.
- What is sold by the hour are pieces and orders with hours noted. All else is other income: classes,
  supporters, small things at a show, what is kept of an order called off, a second sale; less its fees and
  what went back.
- If the coming year sells as the last one did, other income comes again, and what is sold by the hour has to
  bring the rest of what is to be paid: the rate for the hours in everything sold, and the running costs.
  Priced at hours x that + supplies, and the fees on top, the same things would have brought exactly this.
  So an hour sold must bring (hours in everything sold x rate + running - other income) / hours sold, and
  never less than the rate: what others bring beyond the running costs isn't given away.
- Hours and supplies of what stays on the shelf are paid when it's sold. Were it never to be, the hours are
  all those worked, and the supplies of what was made less those of what was sold come on top.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from sitegen.studio import money
from sitegen.studio.coins import NOTHING, Income, IncomeKind, total
from sitegen.studio.commission import Order, Step
from sitegen.studio.piece import Piece, Status
from sitegen.studio.plan import months_after
from sitegen.studio.purses import purses, supplies_of
from sitegen.studio.settings import Desk
from sitegen.studio.whole import Studio
from sitegen.studio.workload import DONE, piece_hours
from sitegen.studio.worth import WEEKS_A_YEAR


def weeks_worked(desk: Desk, first: date, last: date) -> Decimal:
    """Return the weeks worked in the year between two days: as written, else 52 less the days away in it."""
    if desk.weeks is not None:
        return desk.weeks
    days = {
        start + timedelta(days=n)
        for one in desk.days_away
        for start, end in [(max(one.first_day, first), min(one.last_day, last))]
        for n in range((end - start).days + 1)
    }
    return max(WEEKS_A_YEAR - Decimal(len(days)) / 7, NOTHING)


def planned_hours(desk: Desk, first: date, last: date, months: int = 12) -> Decimal:
    """Return the bench hours that so many months of a year have room for; 0 if unwritten."""
    exact = Fraction(desk.weekly_hours or 0) * Fraction(weeks_worked(desk, first, last)) * months / 12
    return money.from_units(round(exact * 10), 1)


@dataclass(frozen=True)
class Made:
    """What was finished or called off, with all that is noted on it."""

    what: str
    hours: Decimal
    supplies: Decimal = field(default=NOTHING, repr=False)


def made_in(studio: Studio, first: date, last: date) -> list[Made]:
    """Return what was made in a span of days: pieces, and orders that have none."""
    orders = {order.code: order for order in studio.commissions.queue}
    pieces = [
        (_made_on(piece, orders), Made(piece.title, piece_hours(studio, piece), supplies_of(piece)))
        for piece in studio.pieces
    ]
    made = {piece.private.order for piece in studio.pieces}
    alone = [(_done_on(one), Made(one.code, one.hours)) for one in orders.values() if one.code not in made]
    return [one for day, one in (*pieces, *alone) if day is not None and first <= day <= last]


def _made_on(piece: Piece, orders: Mapping[str, Order]) -> date | None:
    """Return the day a piece was finished, else that of its order, else of its first sale."""
    order, sales = orders.get(piece.private.order), piece.private.sales
    done = _done_on(order) if order and order.step in DONE else None
    if piece.status is Status.IN_PROGRESS:
        return done
    return piece.finished or done or (sales[0].on if sales else None)


def _done_on(order: Order) -> date | None:
    days = (order.day_of(step) for step in (Step.FINISHED, Step.SHIPPED))
    called_off = order.day_of(Step.CALLED_OFF) if order.hours else None
    return next(filter(None, days), called_off)


def worked_hours(studio: Studio, made: Iterable[Made], first: date, last: date) -> Decimal:
    """Return the hours noted for what was made in a span of days, and for classes."""
    takings = studio.settings.private.takings
    return total((*(one.hours for one in made), *(one.hours for one in takings if first <= one.on <= last)))


@dataclass(frozen=True)
class YearAtTheBench:
    """The hours of twelve months, what keeping the studio open cost in them, and what was sold."""

    first: date
    last: date
    planned: Decimal  # hours: weeks worked times weekly hours; 0 if nobody wrote them
    worked: Decimal  # hours noted for what was made, and for classes
    sold: Decimal  # hours in the pieces and orders that were sold
    in_all: Decimal  # hours in everything sold, classes and what was called off with them
    running: Decimal = field(repr=False)  # overhead, shows' costs, other expenses
    other: Fraction = field(repr=False)  # income beside what is sold by the hour, less its fees
    shelved: Decimal = field(repr=False)  # supplies of what was made less those of what was sold
    no_hours: tuple[str, ...] = ()  # what was sold and has no hours noted

    def an_hour(self, hours: Decimal) -> Fraction | None:
        """Spread the running costs over some hours; None over none."""
        return Fraction(self.running) / Fraction(hours) if hours else None

    def needed(self, rate: Decimal) -> Fraction | None:
        """Return what an hour sold must bring if the next year sells alike; None if that can't be told."""
        found = self._over_sold(Fraction(self.in_all) * Fraction(rate))
        return None if found is None else max(found, Fraction(rate))

    def needed_for_all(self, rate: Decimal) -> Fraction | None:
        """Return the same if what is on the shelf never sells; None where less was shelved than sold."""
        needed = self.needed(rate)
        found = self._over_sold(Fraction(self.worked) * Fraction(rate) + Fraction(self.shelved))
        return found if found is not None and needed is not None and found > needed else None

    def _over_sold(self, work: Fraction) -> Fraction | None:
        if not self.sold or self.no_hours:
            return None
        return (work + Fraction(self.running) - self.other) / Fraction(self.sold)


def last_twelve_months(studio: Studio, today: date) -> YearAtTheBench:
    """Gather the twelve months up to a day."""
    desk, first = studio.settings.private, months_after(today, -12) + timedelta(days=1)
    by_hours, others = _sorted_lines(studio, first, today)
    lines, made = [*by_hours, *others], made_in(studio, first, today)
    shows = [one.private.costs for one in studio.shows if first <= one.first_day <= today]
    spent = [one.amount for one in desk.expenses if first <= one.on <= today]
    running = total((*(cost.cost for costs in shows for cost in costs), *spent))
    return YearAtTheBench(
        first,
        today,
        planned=planned_hours(desk, first, today),
        worked=worked_hours(studio, made, first, today),
        sold=_hours(by_hours),
        in_all=_hours(lines),
        running=running + (desk.overhead or NOTHING) * 12,
        other=sum((_left_of(one, desk.fees) for one in others), Fraction(0)),
        shelved=total(one.supplies for one in made) - total(one.supplies for one in lines),
        no_hours=without_hours(lines),
    )


def _sorted_lines(studio: Studio, first: date, last: date) -> tuple[list[Income], list[Income]]:
    """Part what was sold by the hour, with all that came for it, from other income and what went back."""
    by_hours: list[Income] = []
    others: list[Income] = []
    for purse in purses(studio):
        lines = [one for one in purse.income if first <= one.on <= last]
        sales = [one for one in lines if one.kind is IncomeKind.SALE and one.charged]
        priced = sales if any(one.hours for one in sales) else []
        by_hours += priced
        others += [one for one in lines if one not in priced]
    return by_hours, others


def without_hours(lines: Iterable[Income]) -> tuple[str, ...]:
    """Name what was sold and has no hours noted, though somebody made it."""
    return tuple(dict.fromkeys(one.what for one in lines if one.hours == 0))


def _hours(lines: Iterable[Income]) -> Decimal:
    return total(one.hours or NOTHING for one in lines)


def _left_of(line: Income, fees: Decimal) -> Fraction:
    return Fraction(line.amount) * ((100 - Fraction(fees)) / 100 if line.charged else 1)


def shares(whole: Decimal, weights: Sequence[Decimal], digits: int) -> list[Decimal]:
    """Split a percentage's sum over what it was taken of, so that the parts sum to it to the coin.

    Each part is the rounded share up to and with it, less the one before: no part is off by more than a coin.
    Raises ValueError for weights that sum to nothing while there is something to split.
    """
    weight_of_all = total(weights)
    if not weight_of_all:
        if whole:
            raise ValueError(f"{whole} can't be split over nothing")
        return [NOTHING] * len(weights)
    found, before, seen = [], NOTHING, NOTHING
    for weight in weights:
        seen += weight
        exact = Fraction(whole) * Fraction(seen) / Fraction(weight_of_all)
        upto = money.from_units(round(exact * 10**digits), digits)
        found.append(upto - before)
        before = upto
    return found
