"""What a piece must cost, what is fair, what an hour earns; and what keeping the studio open costs an hour.

Of one piece:
- An hour's share of overhead is the month's overhead divided by the bench hours of a month, which are
  the weekly hours times the weeks worked in a year (52 less the days away, unless said) divided by 12.
- Cost before fees = supplies + hours x rate + hours x that share.
- Selling takes a share of the price, not of the cost; so a price that leaves the cost over is the cost
  divided by (1 - fees). This is the floor: below it an hour earns less than the rate.
- The fair price adds the margin to the cost first: cost x (1 + margin), divided by (1 - fees). The margin
  is for what no hour sheet shows: pieces that don't sell, prototypes, skill.
- An hour earns (asking price less fees, supplies and overhead) / hours. Tax isn't taken off.
Floor and fair price are rounded up to the coin, so that neither falls short; all else, a half up. In
between stand exact fractions: a third that a decimal cut short could push a price up by a coin.

Of a year (common practice, no source):
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

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from sitegen.studio import money
from sitegen.studio.commission import Order
from sitegen.studio.money import NOTHING, total
from sitegen.studio.order_lines import Step
from sitegen.studio.piece import Piece, Status
from sitegen.studio.plan import months_after
from sitegen.studio.purses import Income, IncomeKind, purses, supplies_of
from sitegen.studio.settings import Desk
from sitegen.studio.whole import Studio
from sitegen.studio.workload import DONE, piece_hours

WEEKS_A_YEAR = Decimal(52)


@dataclass(frozen=True)
class Worth:
    """What a piece costs and earns; private, so nothing of it prints itself."""

    supplies: Decimal = field(repr=False)
    hours: Decimal = field(repr=False)
    wage: Decimal = field(repr=False)  # hours x rate
    overhead: Decimal = field(repr=False)  # this piece's share
    fees: Decimal = field(repr=False)  # what selling takes at the asking price, or at the fair price
    floor: Decimal = field(repr=False)  # lowest price that pays everything and the rate
    fair: Decimal = field(repr=False)
    asking: Decimal | None = field(repr=False)
    hourly: Decimal | None = field(repr=False)  # below zero if it loses money; None without price or hours

    @property
    def short(self) -> Decimal:
        """How far the asking price lies below the floor; 0 if it doesn't."""
        return max(self.floor - self.asking, Decimal(0)) if self.asking is not None else Decimal(0)


def overhead_an_hour(desk: Desk) -> Fraction:
    """Spread the month's overhead over the bench hours of a month; exact.

    Raises ValueError if there's overhead and no bench hours to carry it.
    """
    weeks = WEEKS_A_YEAR if desk.weeks is None else desk.weeks
    if not desk.overhead:
        return Fraction(0)
    if not desk.weekly_hours or not weeks:
        raise ValueError(
            "overhead is set and no hour of the year carries it: weekly_hours or the weeks worked are 0 "
            "(`weeks:`, or without it 52 less the days_away of the last twelve months)"
        )
    return Fraction(desk.overhead) * 12 / (Fraction(desk.weekly_hours) * Fraction(weeks))


def priced(cost: Fraction, fees: Decimal, digits: int) -> Decimal:
    """Find the price that leaves `cost` after `fees` per cent of it are taken, rounded up to the coin.

    Raises ValueError for fees of the whole price or more.
    """
    if not 0 <= fees < 100:
        raise ValueError(f"fees are {fees}% of the price; nothing would be left, so write less than 100")
    return money.from_units(ceil(cost * 100 / (100 - Fraction(fees)) * 10**digits), digits)


def work_out(
    supplies: Decimal, hours: Decimal, desk: Desk, digits: int, asking: Decimal | None = None
) -> Worth:
    """Work out a piece's worth from its supplies and hours, neither below zero.

    Raises ValueError for fees of 100% or more, or overhead without weekly hours.
    """
    wage = Fraction(hours) * Fraction(desk.rate or 0)
    overhead = Fraction(hours) * overhead_an_hour(desk)
    cost = Fraction(supplies) + wage + overhead
    fair = priced(cost * (100 + Fraction(desk.margin)) / 100, desk.fees, digits)
    after_fees = (100 - Fraction(desk.fees)) / 100
    left = None if asking is None else Fraction(asking) * after_fees - Fraction(supplies) - overhead
    return Worth(
        supplies=money.round_half_up(supplies, digits),
        hours=hours,
        wage=round_fraction(wage, digits),
        overhead=round_fraction(overhead, digits),
        fees=money.share(fair if asking is None else asking, desk.fees, digits),
        floor=priced(cost, desk.fees, digits),
        fair=fair,
        asking=asking,
        hourly=None if left is None or not hours else round_fraction(left / Fraction(hours), digits),
    )


def round_fraction(exact: Fraction, digits: int) -> Decimal:
    """Round a fraction to the coin, a half away from zero."""
    units = floor(abs(exact) * 10**digits + Fraction(1, 2))
    return money.from_units(units if exact >= 0 else -units, digits)


def weeks_worked(desk: Desk, first: date, last: date) -> Decimal:
    """Return the weeks worked in the year between two days: as written, else 52 less the days away in it."""
    if desk.weeks is not None:
        return desk.weeks
    days = {
        start + timedelta(days=n)
        for away in desk.days_away
        for start, end in [(max(away.first_day, first), min(away.last_day, last))]
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
    found = [
        (_made_on(piece, orders), Made(piece.title, piece_hours(studio, piece), supplies_of(piece)))
        for piece in studio.pieces
    ]
    made = {piece.private.order for piece in studio.pieces}
    for order in orders.values():
        if order.code not in made:
            called_off = order.day_of(Step.CALLED_OFF) if order.hours else None
            found.append((order.finished_on or called_off, Made(order.code, order.hours)))
    return [made for day, made in found if day is not None and first <= day <= last]


def _made_on(piece: Piece, orders: Mapping[str, Order]) -> date | None:
    """Return the day a piece was finished, else that of its order, else of its first sale."""
    order, sales = orders.get(piece.private.order), piece.private.sales
    done = order.finished_on if order and order.step in DONE else None
    if piece.status is Status.IN_PROGRESS:
        return done
    return piece.finished or done or (sales[0].on if sales else None)


def worked_hours(studio: Studio, made: Iterable[Made], first: date, last: date) -> Decimal:
    """Return the hours noted for what was made in a span of days, and for classes."""
    taught = [(show.first_day, show.private.hours) for show in studio.shows if show.is_class]
    taught += [(taking.on, taking.hours) for taking in studio.settings.private.takings]
    return total((*(made.hours for made in made), *(hours for on, hours in taught if first <= on <= last)))


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
    by_hours: list[Income] = []  # what was sold by the hour, with all that came for it
    others: list[Income] = []
    for purse in purses(studio):
        came = [income for income in purse.income if first <= income.on <= today]
        sales = [line for line in came if line.kind is IncomeKind.SALE and line.charged]
        by_hour = sales if any(sale.hours for sale in sales) else []
        by_hours += by_hour
        others += [income for income in came if income not in by_hour]
    lines, made = [*by_hours, *others], made_in(studio, first, today)
    spent = [(on, cost) for show in studio.shows for on, cost, _ in show.spent]
    spent += [(expense.on, expense.amount) for expense in desk.expenses]
    running = total(cost for on, cost in spent if first <= on <= today)
    return YearAtTheBench(
        first,
        today,
        planned=planned_hours(desk, first, today),
        worked=worked_hours(studio, made, first, today),
        sold=total(hour.hours or NOTHING for hour in by_hours),
        in_all=total(line.hours or NOTHING for line in lines),
        running=running + (desk.overhead or NOTHING) * 12,
        other=sum((other.after_fees(desk.fees) for other in others), Fraction(0)),
        shelved=total(made.supplies for made in made) - total(income.supplies for income in lines),
        no_hours=without_hours(lines),
    )


def without_hours(lines: Iterable[Income]) -> tuple[str, ...]:
    """Name what was sold and has no hours noted, though somebody made it."""
    return tuple(dict.fromkeys(line.what for line in lines if line.hours == 0))


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
