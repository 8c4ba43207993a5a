"""Every price that was paid, agreed on or is asked for, and which are alike; and prices that change in steps.

A price has its day: of the sale, of the yes to an offer, the day an asking price was set, or the piece was
finished. A sale that came back is none, and of an order and its piece only the sale counts.

The line through prices is Theil's and Sen's, so that a few odd ones don't move it: its slope the median of
the slopes between all pairs of points, its height such that half of the points lie above it. How sure the
slope is, Sen (1968) says by the normal approximation, with ties taken off. Slopes are estimates, so they are
floats; what is said of money is rounded to a coin.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from itertools import combinations
from math import sqrt
from statistics import NormalDist, median

from sitegen.studio import money
from sitegen.studio.commission import Order, Tier
from sitegen.studio.money import NOTHING, total
from sitegen.studio.offers import last_day, standing
from sitegen.studio.order_lines import Receipt, Step
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.piece import Piece, Status
from sitegen.studio.purses import pieces_of_orders
from sitegen.studio.whole import Studio
from sitegen.studio.workload import DONE, piece_hours

# Alike is what differs by no more than that, and was priced within two years (common practice, no source).
_SIZE, _HOURS, _DAYS = Decimal("0.05"), Decimal("0.10"), 730
_YEAR = 365.25


class PriceKind(StrEnum):
    """What a price is."""

    SOLD = "sold"
    AGREED = "agreed"
    ASKED = "asked"


@dataclass(frozen=True, slots=True)
class Priced:
    """One price, and the work."""

    name: str  # a piece's folder, or an order's code
    title: str
    kind: PriceKind
    on: date
    price: Decimal = field(repr=False)
    height_mm: int | None
    hours: Decimal = field(repr=False)  # 0 where none are noted
    tier: str


def priced(studio: Studio, today: date) -> tuple[Priced, ...]:
    """Return every price up to today, the earliest first."""
    made = pieces_of_orders(studio)
    orders = {piece.slug: order for order in studio.commissions.queue for piece in made.get(order.code, ())}
    found = [
        sale for piece in studio.pieces for sale in _of_piece(studio, piece, orders.get(piece.slug), today)
    ]
    for order in studio.commissions.queue:
        pieces = made.get(order.code, ())
        if order.agreed and order.private.price and not any(piece.private.sold for piece in pieces):
            found.append(_of_order(studio, order, pieces, today))
    return tuple(sorted((sale for sale in found if sale.on <= today), key=lambda sale: (sale.on, sale.name)))


def _of_piece(studio: Studio, piece: Piece, order: Order | None, today: date) -> Iterator[Priced]:
    tier = piece.private.tier or (order.tier if order else "")
    work = piece.height_mm, piece_hours(studio, piece), tier
    for sold in piece.private.sales:
        if sold.returned is None:
            yield Priced(piece.slug, piece.title, PriceKind.SOLD, sold.on, sold.price, *work)
    if piece.price and piece.private.sold is None and piece.status in {Status.AVAILABLE, Status.ON_HOLD}:
        on = piece.private.priced or piece.finished or today
        yield Priced(piece.slug, piece.title, PriceKind.ASKED, on, piece.price, *work)


def _of_order(studio: Studio, order: Order, pieces: Sequence[Piece], today: date) -> Priced:
    tier = next((tier for tier in studio.commissions.tiers if tier.name == order.tier), None)
    height = pieces[0].height_mm if pieces else (tier.height_mm if tier else None)
    hours = order.hours + total(piece.hours for piece in pieces) if order.step in DONE else NOTHING
    on, price = order.day_of(Step.ACCEPTED) or order.since or today, order.private.price or NOTHING
    return Priced(
        order.code, f"{order.code}, {order.tier}", PriceKind.AGREED, on, price, height, hours, order.tier
    )


# Common practice, no source: a line through fewer says nothing.
FEWEST = 5
# Iglewicz and Hoaglin: a modified z-score above 3.5 (NIST/SEMATECH e-Handbook, section 1.3.5.17).
_ODD, _HALF_OF_NORMAL = 3.5, 0.6745


@dataclass(frozen=True, slots=True)
class Trend:
    """A line through points."""

    slope: float
    start: float  # its height at zero
    low: float
    high: float  # between these the slope lies in 95 of 100 cases

    def at(self, x: float) -> float:
        """Return its height at a place."""
        return self.start + self.slope * x


def trend(points: Sequence[tuple[float, float]], sure: float = 0.95) -> Trend | None:
    """Lay the line through points (x, y); None through fewer than five, or all at fewer than three places."""
    if len(points) < FEWEST or len({x for x, _ in points}) < 3:
        return None
    rising = sorted(points)
    slopes = sorted((d - b) / (c - a) for (a, b), (c, d) in combinations(rising, 2) if c > a)
    slope = median(slopes)
    start = median(y for _, y in points) - slope * median(x for x, _ in points)
    half = NormalDist().inv_cdf((1 + sure) / 2) * _spread(points)
    low = slopes[max(round((len(slopes) - half) / 2) - 1, 0)]
    high = slopes[min(round((len(slopes) + half) / 2), len(slopes) - 1)]
    return Trend(slope, start, low, high)


def _spread(points: Sequence[tuple[float, float]]) -> float:
    """Return the spread of Kendall's count of pairs that rise, with ties taken off (Sen 1968)."""
    tied = [count for place in (0, 1) for count in Counter(point[place] for point in points).values()]
    return sqrt(max(_of(len(points)) - sum(map(_of, tied)), 0) / 18)


def _of(count: int) -> int:
    return count * (count - 1) * (2 * count + 5)


def odd(distances: Iterable[float]) -> list[bool]:
    """Tell which of some distances from a line, or a middle, lie far outside of the others."""
    found = list(distances)
    if len(found) < FEWEST:
        return [False] * len(found)
    middle = median(found)
    spread = median(abs(figure - middle) for figure in found)
    return [_HALF_OF_NORMAL * abs(figure - middle) > _ODD * spread > 0 for figure in found]


@dataclass(frozen=True, slots=True)
class OddPrice:
    """A price far from what such work usually brings."""

    one: Priced
    usual: Decimal = field(repr=False)

    @property
    def difference(self) -> Decimal:
        """By how much it lies above; below zero for below."""
        return self.one.price - self.usual


@dataclass(frozen=True)
class Along:
    """Prices against one thing."""

    name: str  # size, hours or year
    unit: str
    count: int
    line: Trend | None = field(repr=False)
    odd: tuple[OddPrice, ...] = field(repr=False)


Measure = Callable[[Priced], float | None]
# By name: the unit, and how much of it a price has.
MEASURES: dict[str, tuple[str, Measure]] = {
    "size": ("a centimetre", lambda sale: sale.height_mm / 10 if sale.height_mm else None),
    "hours": ("an hour", lambda sale: float(sale.hours) or None),
    "year": ("a year", lambda sale: sale.on.toordinal() / _YEAR),
}


def along(prices: Sequence[Priced], name: str, digits: int) -> Along:
    """Lay a line through prices against their size, hours or year."""
    unit, measure = MEASURES[name]
    known = [(price, x) for price in prices if (x := measure(price)) is not None]
    line = trend([(x, float(sale.price)) for sale, x in known])
    usual = [money.round_half_up(Decimal(line.at(x)), digits) for _, x in known] if line else []
    return Along(name, unit, len(known), line, _odd([sale for sale, _ in known], usual) if line else ())


def _odd(prices: Sequence[Priced], usual: Sequence[Decimal]) -> tuple[OddPrice, ...]:
    found = [OddPrice(sale, middle) for sale, middle in zip(prices, usual, strict=True)]
    far = odd(float(odd_one.difference) for odd_one in found)
    return tuple(odd_one for odd_one, is_far in zip(found, far, strict=True) if is_far)


@dataclass(frozen=True)
class OfTier:
    """What a kind of commission brought."""

    tier: str
    count: int
    low: Decimal = field(repr=False)
    middle: Decimal = field(repr=False)
    high: Decimal = field(repr=False)
    odd: tuple[OddPrice, ...] = field(repr=False)


def by_tier(prices: Sequence[Priced], digits: int) -> tuple[OfTier, ...]:
    """Put the prices of each tier together."""
    found = []
    for tier in sorted({price.tier for price in prices if price.tier}):
        its = [sale for sale in prices if sale.tier == tier]
        sums = [sale.price for sale in its]
        middle = money.round_half_up(median(sums), digits)
        found.append(OfTier(tier, len(its), min(sums), middle, max(sums), _odd(its, [middle] * len(its))))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Alike:
    """Two works of one size and as many hours whose prices differ."""

    less: Priced
    more: Priced

    @property
    def difference(self) -> Decimal:
        """By how much the dearer one costs more."""
        return self.more.price - self.less.price


def alike(prices: Sequence[Priced]) -> tuple[Alike, ...]:
    """Return the pairs of like works whose prices differ, the largest difference first."""
    known = sorted(
        (price for price in prices if price.height_mm and price.hours), key=lambda sale: sale.height_mm or 0
    )
    found = []
    for place, sale in enumerate(known):
        for other in known[place + 1 :]:
            if not _near(Decimal(sale.height_mm or 0), Decimal(other.height_mm or 0), _SIZE):
                break
            near = abs((sale.on - other.on).days) <= _DAYS and _near(sale.hours, other.hours, _HOURS)
            if near and sale.name != other.name and sale.price != other.price:
                found.append(Alike(*sorted((sale, other), key=lambda each: each.price)))
    return tuple(sorted(found, key=lambda pair: (-pair.difference, pair.less.name, pair.more.name)))


def _near(amount: Decimal, other: Decimal, share: Decimal) -> bool:
    return abs(amount - other) <= share * max(amount, other)


@dataclass(frozen=True, slots=True)
class Rising:
    """One price, now and after each step."""

    name: str  # a piece's folder, or a tier's name
    title: str
    now: Decimal = field(repr=False)
    steps: tuple[Decimal, ...] = field(repr=False)
    is_tier: bool = False
    later: tuple[Receipt, ...] = field(default=(), repr=False)
    """The steps that are kept, the earliest first."""
    since: date | None = None  # the day its price was set last


def as_they_are(pieces: Iterable[Piece], tiers: Iterable[Tier]) -> list[Rising]:
    """Return prices as they stand, with the steps that are kept of them."""
    found = [
        Rising(
            piece.slug, piece.title, piece.price, (), False, piece.private.next_prices, piece.private.priced
        )
        for piece in pieces
        if piece.price is not None
    ]
    return found + [
        Rising(tier.name, tier.name, tier.from_price, (), True, tier.private.next_prices, tier.private.priced)
        for tier in tiers
    ]


@dataclass(frozen=True, slots=True)
class Quote:
    """A price that somebody was told, and that holds."""

    name: str
    who: str = field(repr=False)
    price: Decimal | None = field(repr=False)  # None where no sum is noted
    why: str


def stepped(price: Decimal, percent: Decimal, nearest: Decimal, steps: int) -> tuple[Decimal, ...]:
    """Change a price by so many per cent at each step, rounded to the nearest of a sum, a half up."""
    found = []
    for _ in range(steps):
        exact = price * (100 + percent) / 100 / nearest
        price = exact.quantize(Decimal(1), rounding=ROUND_HALF_UP) * nearest
        found.append(price)
    return tuple(found)


def due_steps(studio: Studio, today: date) -> list[tuple[date, Rising]]:
    """Return the prices that were to change by a day and haven't, with the day since when.

    Only what is offered has a price to change. Of several steps that are due the last one holds.
    """
    offered = (piece for piece in studio.pieces if piece.status.offered)
    found = []
    for rising in as_they_are(offered, studio.commissions.tiers):
        due = [step for step in rising.later if step.on <= today]
        if due:
            steps, later = (due[-1].amount,), rising.later[len(due) :]
            found.append((due[0].on, replace(rising, steps=steps, later=later)))
    return found


def older_quotes(studio: Studio, slugs: Sequence[str], today: date, *, tiers: bool) -> Iterator[Quote]:
    """Yield who was told an older price: offers that stand and orders agreed on, and pieces that are kept."""
    book = studio.commissions
    for order in book.queue if tiers else ():
        client = order.private
        if order.step in UNDER_WAY:
            yield Quote(order.code, client.name, client.price, f"agreed on ({order.step})")
        elif order in standing(book, today):
            day = last_day(book, order)
            why = f"offered, to be answered by {day}" if day else "offered"
            yield Quote(order.code, client.name, client.price, why)
    for piece in studio.pieces:
        kept = piece.status is Status.ON_HOLD and piece.private.sold is None
        if kept and (not slugs or piece.slug in slugs):
            plan = piece.private.plan
            yield Quote(piece.slug, plan.to if plan else "", piece.held_at, "on hold")
