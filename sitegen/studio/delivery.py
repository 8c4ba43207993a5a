"""Count the latest days the late-delivery rule of the United States allows (16 CFR part 435).

It covers orders by mail, internet or telephone, however they're paid (16 CFR 435.1(a)). An order counts
from the day full or part payment and everything needed to begin are in (16 CFR 435.1(c)).
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

# 16 CFR 435.2(a)(1): the ship time where the offer states none.
DAYS_IF_NONE_STATED = 30
# 16 CFR 435.2(b)(1)(ii)-(iii): up to this many days later, a buyer's silence counts as consent.
DAYS_OF_SILENCE = 30
# 16 CFR 435.1(b): a refund is sent within so many working days.
REFUND_WORKING_DAYS = 7

CAUTION = (
    "These days follow one country's late-delivery rule (16 CFR part 435, United States); look at those "
    "where you and your clients live. This is no legal advice: ask a licensed professional."
)


@dataclass(frozen=True)
class ShipTime:
    """The days that matter for one order."""

    ship_by: date  # as promised, or 30 days after the order
    choose_by: date  # by then the buyer must have been offered, unasked, to wait or to cancel
    silence_until: date  # a new date up to here stands if the buyer says nothing; a later one needs a yes
    yes_by: date  # where a yes is needed: without it and unsent by then, the order counts as cancelled
    first: date  # as promised first, or 30 days after the order
    put_off: bool = False  # it was put off before, so that silence is no yes to any further day

    def needs_a_yes(self, new_date: date | None) -> bool:
        """Say whether a new date only stands if the buyer agrees; None for a date nobody knows yet."""
        return self.put_off or new_date is None or new_date > self.silence_until


def ship_time(ordered: date, promised: date | None = None, new_days: Sequence[date] = ()) -> ShipTime:
    """Work out the days for an order complete on `ordered`, with the ship date the offer stated, if any.

    `new_days` are those the buyer was told since, in that order. The first time it's put off, a new date of
    up to 30 days later stands by silence; a longer or unknown delay needs a yes within those 30 days
    (16 CFR 435.2(b)(1)(ii)-(iii)). Put off again, any further day needs a yes before the last one has gone
    by (16 CFR 435.2(b)(2)). Raises ValueError for a promise before the order.
    """
    for day in filter(None, (promised, *new_days)):
        if day < ordered:
            raise ValueError(f"the promised day, {day}, lies before the order of {ordered}")
    first = promised or ordered + timedelta(days=DAYS_IF_NONE_STATED)
    ship_by = new_days[-1] if new_days else first
    if any(day > first for day in new_days):
        return ShipTime(ship_by, ship_by, ship_by, ship_by, first, put_off=True)
    silence = first + timedelta(days=DAYS_OF_SILENCE)
    return ShipTime(ship_by, ship_by, silence, silence, first)


def refund_by(cancelled: date, holidays: Collection[date] = ()) -> date:
    """Find the last day for sending a refund after an order was cancelled."""
    return working_days_after(cancelled, REFUND_WORKING_DAYS, holidays)


def working_days_after(day: date, count: int, holidays: Collection[date] = ()) -> date:
    """Count working days, Monday to Friday without holidays, from the day after `day`."""
    while count > 0:
        day += timedelta(days=1)
        count -= day.weekday() < 5 and day not in holidays
    return day
