"""What keeping the studio open costs an hour: planned, really worked, and sold.

The rules (common practice, no source):
- Running costs of a year are twelve months of overhead, the shows' costs and other expenses with a day.
- Hours worked are those noted for what was finished in the year, with the classes'; hours sold are those of
  what was sold.
- If the coming year sells as the last one did, what is sold has to carry all of it: the rate for every
  hour worked, the running costs, and the supplies of what wasn't sold. An hour sold must bring
  (worked x rate + running + unsold supplies) / sold.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from sitegen.studio import money
from sitegen.studio.coins import NOTHING, total
from sitegen.studio.commission import Step
from sitegen.studio.order_sums import hours_noted
from sitegen.studio.piece import Piece
from sitegen.studio.purses import supplies_of
from sitegen.studio.settings import DaysAway
from sitegen.studio.status import Status
from sitegen.studio.whole import Studio
from sitegen.studio.workload import piece_hours
from sitegen.studio.worth import WEEKS_A_YEAR, priced


def weeks_worked(settings_weeks: Decimal | None, away: Iterable[DaysAway], year: int) -> Decimal:
    """Return the weeks worked in a year: as written, else 52 less the days away in it."""
    if settings_weeks is not None:
        return settings_weeks
    first, last = date(year, 1, 1), date(year, 12, 31)
    days = {
        start + timedelta(days=n)
        for one in away
        for start, end in [(max(one.first_day, first), min(one.last_day, last))]
        for n in range((end - start).days + 1)
    }
    # Never nothing: a year away from the bench has no hour that could carry anything.
    return max(WEEKS_A_YEAR - Decimal(len(days)) / 7, NOTHING)


def planned_hours(studio: Studio, last: date) -> Decimal:
    """Return the bench hours that a year has room for up to a day, by whole months; 0 if unwritten."""
    desk = studio.settings.private
    weeks = weeks_worked(desk.weeks, desk.days_away, last.year)
    exact = Fraction(desk.weekly_hours or 0) * Fraction(weeks) * last.month / 12
    return money.from_units(round(exact * 10), 1)


@dataclass(frozen=True)
class YearAtTheBench:
    """The hours of a year and what keeping the studio open cost in it."""

    planned: Decimal
    """Hours: weeks worked times weekly hours; 0 if nobody wrote them."""
    worked: Decimal
    """Hours noted for what was finished, and for classes."""
    sold: Decimal
    """Hours noted for what was sold."""
    running: Decimal = field(repr=False)
    """Overhead, shows' costs, other expenses."""
    unsold: Decimal = field(default=NOTHING, repr=False)
    """Supplies of what was finished and isn't sold."""

    def an_hour(self, hours: Decimal) -> Fraction | None:
        """Spread the running costs over some hours; None over none."""
        return Fraction(self.running) / Fraction(hours) if hours else None

    def needed(self, rate: Decimal) -> Fraction | None:
        """Return what an hour sold must bring if the next year sells alike; None if nothing sold."""
        if not self.sold:
            return None
        all_of_it = Fraction(self.worked) * Fraction(rate) + Fraction(self.running) + Fraction(self.unsold)
        return all_of_it / Fraction(self.sold)


def worked_hours(studio: Studio, first: date, last: date) -> Decimal:
    """Return the hours noted for what was finished in a span of days: pieces, orders without one, classes."""
    made = {piece.private.order for piece in studio.pieces}
    pieces = (piece_hours(studio, piece) for piece in finished_in(studio.pieces, first, last))
    orders = (
        hours_noted(place)
        for place in studio.commissions.queue
        if place.code not in made
        and (day := place.day_of(Step.FINISHED) or place.day_of(Step.SHIPPED)) is not None
        and first <= day <= last
    )
    classes = (one.hours for one in studio.settings.private.takings if first <= one.on <= last)
    return total((*pieces, *orders, *classes))


def unsold_supplies(studio: Studio, first: date, last: date) -> Decimal:
    """Return the supplies of what was finished in a span of days and isn't sold."""
    made = finished_in(studio.pieces, first, last)
    return total(supplies_of(piece) for piece in made if piece.private.sold is None)


def finished_in(pieces: Sequence[Piece], first: date, last: date) -> list[Piece]:
    """Return the pieces finished in a span of days."""
    return [
        one
        for one in pieces
        if one.status is not Status.IN_PROGRESS and one.finished and first <= one.finished <= last
    ]


def price_needed(hours: Decimal, supplies: Decimal, an_hour: Fraction, fees: Decimal, digits: int) -> Decimal:
    """Return what a piece must cost if an hour sold has to bring so much; rounded up to the coin.

    Raises ValueError for fees of the whole price or more.
    """
    return priced(Fraction(hours) * an_hour + Fraction(supplies), fees, digits)


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
