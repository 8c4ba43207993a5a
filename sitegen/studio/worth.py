"""Work out what a piece must cost, what is fair, and what an hour earns at the asking price.

The rules:
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
"""

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from sitegen.studio import money

WEEKS_A_YEAR = Decimal(52)
# Common practice, no source: a fifth on top of the cost.
USUAL_MARGIN = Decimal(20)


@dataclass(frozen=True)
class WorthTerms:
    """The artist's own numbers; they never print themselves."""

    rate: Decimal = field(repr=False)  # what an hour must earn, in the studio's currency
    overhead: Decimal = field(default=Decimal(0), repr=False)  # a month, whether or not anything sells
    weekly_hours: Decimal | None = field(default=None, repr=False)  # bench hours in a usual week
    fees: Decimal = field(default=Decimal(0), repr=False)  # percent of the price that selling takes
    margin: Decimal = field(default=USUAL_MARGIN, repr=False)  # percent on top of the cost
    weeks: Decimal = field(default=WEEKS_A_YEAR, repr=False)  # weeks worked in a year


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
    hourly: Decimal | None = field(repr=False)  # None without an asking price or without hours

    @property
    def short(self) -> Decimal:
        """How far the asking price lies below the floor; 0 if it doesn't."""
        return max(self.floor - self.asking, Decimal(0)) if self.asking is not None else Decimal(0)


def overhead_an_hour(terms: WorthTerms) -> Fraction:
    """Spread the month's overhead over the bench hours of a month; exact.

    Raises ValueError if there's overhead and no bench hours to carry it.
    """
    if not terms.overhead:
        return Fraction(0)
    if not terms.weekly_hours or not terms.weeks:
        raise ValueError(
            "overhead is set and no hour of the year carries it: weekly_hours or the weeks worked are 0 "
            "(`weeks:`, or without it 52 less the days_away of the last twelve months)"
        )
    return Fraction(terms.overhead) * 12 / (Fraction(terms.weekly_hours) * Fraction(terms.weeks))


def priced(cost: Fraction, fees: Decimal, digits: int) -> Decimal:
    """Find the price that leaves `cost` after `fees` per cent of it are taken, rounded up to the coin.

    Raises ValueError for fees of the whole price or more.
    """
    if not 0 <= fees < 100:
        raise ValueError(f"fees are {fees} % of the price; nothing would be left, so write less than 100")
    return money.from_units(ceil(cost * 100 / (100 - Fraction(fees)) * 10**digits), digits)


def work_out(
    supplies: Decimal, hours: Decimal, terms: WorthTerms, digits: int, asking: Decimal | None = None
) -> Worth:
    """Work out a piece's worth from its supplies and hours.

    Raises ValueError for numbers below zero, fees of 100 % or more, or overhead without weekly hours.
    """
    _check_positive(supplies=supplies, hours=hours, rate=terms.rate, overhead=terms.overhead)
    wage = Fraction(hours) * Fraction(terms.rate)
    overhead = Fraction(hours) * overhead_an_hour(terms)
    cost = Fraction(supplies) + wage + overhead
    fair = priced(cost * (100 + Fraction(terms.margin)) / 100, terms.fees, digits)
    return Worth(
        supplies=money.round_half_up(supplies, digits),
        hours=hours,
        wage=round_fraction(wage, digits),
        overhead=round_fraction(overhead, digits),
        fees=money.share(fair if asking is None else asking, terms.fees, digits),
        floor=priced(cost, terms.fees, digits),
        fair=fair,
        asking=asking,
        hourly=_hourly(asking, terms.fees, Fraction(supplies) + overhead, hours, digits),
    )


def _hourly(
    asking: Decimal | None, fees: Decimal, outlay: Fraction, hours: Decimal, digits: int
) -> Decimal | None:
    """Divide what the price leaves by the hours; below zero if the piece loses money."""
    if asking is None or not hours:
        return None
    left = Fraction(asking) * (100 - Fraction(fees)) / 100 - outlay
    return round_fraction(left / Fraction(hours), digits)


def round_fraction(exact: Fraction, digits: int) -> Decimal:
    """Round a fraction to the coin, a half away from zero."""
    units = floor(abs(exact) * 10**digits + Fraction(1, 2))
    return money.from_units(units if exact >= 0 else -units, digits)


def _check_positive(**amounts: Decimal) -> None:
    for name, amount in amounts.items():
        if amount < 0:
            raise ValueError(f"{name} of {amount} is below zero; write 0 or more")
