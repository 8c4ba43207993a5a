"""Walk bench hours through real days: working days, days away and weeks of rest."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property

from sitegen.studio.capacity.grid import HALF_HOURS

MONDAY_TO_FRIDAY = frozenset(range(5))
# Nobody can promise a date further off than this.
LONGEST_DAYS = 366 * 20


@dataclass(frozen=True)
class Away:
    """Days without bench work, both ends included: a show, a class, a rest."""

    first_day: date
    last_day: date


@dataclass(frozen=True)
class Bench:
    """When the artist works: weekly hours spread evenly over the working days of a week."""

    weekly_hours: Fraction
    first_day: date  # the first day that counts, from its morning
    away: tuple[Away, ...] = ()
    weekdays: frozenset[int] = MONDAY_TO_FRIDAY  # Monday is 0

    def __post_init__(self) -> None:
        """Refuse a bench at which nothing would ever be finished."""
        if self.weekly_hours <= 0:
            raise ValueError("weekly_hours is 0; write how many bench hours a usual week has")

    @property
    def daily(self) -> Fraction:
        """Half hours of one working day."""
        return self.weekly_hours * HALF_HOURS / len(self.weekdays)

    def works_on(self, day: date) -> bool:
        """Say whether a day is a working day at home."""
        away = any(span.first_day <= day <= span.last_day for span in self.away)
        return day.weekday() in self.weekdays and not away

    def half_hours_through(self, last_day: date) -> Fraction:
        """Count the bench half hours from the first day to the evening of `last_day`."""
        worked = self._weekdays_through(last_day)
        lost = sum(
            self._weekdays_through(min(last, last_day)) - self._weekdays_through(first - timedelta(days=1))
            for first, last in self._spans_away
            if first <= last_day
        )
        return (worked - lost) * self.daily

    @cached_property
    def _spans_away(self) -> list[tuple[date, date]]:
        """Days away from the first day on, put together where they overlap."""
        merged: list[tuple[date, date]] = []
        for span in sorted(self.away, key=lambda span: span.first_day):
            first = max(span.first_day, self.first_day)
            if merged and first <= merged[-1][1]:
                first = merged[-1][1] + timedelta(days=1)
            if first <= span.last_day:
                merged.append((first, span.last_day))
        return merged

    def _weekdays_through(self, last_day: date) -> int:
        """Count the days of the week that are worked, at home or not, from the first day to `last_day`."""
        span = max((last_day - self.first_day).days + 1, 0)
        weeks, rest = divmod(span, 7)
        start = self.first_day.weekday()
        return weeks * len(self.weekdays) + sum((start + day) % 7 in self.weekdays for day in range(rest))

    def working_days(self) -> Iterator[date]:
        """List working days from the first one on, no further than twenty years."""
        days = (self.first_day + timedelta(days=day) for day in range(LONGEST_DAYS))
        return (day for day in days if self.works_on(day))

    def done_on(self, totals: list[float]) -> list[date | None]:
        """Find the evening by which each number of half hours has been worked; None if it's out of sight."""
        needed = [max(-(-Fraction(total) // self.daily), 1) for total in totals]
        days = [day for day, _ in zip(self.working_days(), range(max(needed)), strict=False)]
        return [days[count - 1] if count <= len(days) else None for count in needed]
