"""Before a show is booked: what it must sell to pay for itself, by the artist's own shows that are over.

Of what a show sold, fees and supplies leave a part; the cost divided by that part is what it must sell. How
likely that is nobody knows from a few shows, so only this is told: how many of them sold as much, and
between which two the next one lies. If it's one like them, no more likely the best than any other, it lies
between the worst and the best of n shows with n - 1 chances in n + 1, whatever the spread: each of n + 1
places in the order is as likely, and two of them lie outside (Wilks, Annals of Mathematical Statistics 12,
1941; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Any

from sitegen.desk import words
from sitegen.desk.find import Sitting, read_spent
from sitegen.desk.years import ShowBrought, Shows
from sitegen.studio import money
from sitegen.studio.coins import total
from sitegen.studio.settings import Settings
from sitegen.studio.text import bare, counted
from sitegen.studio.wish import ask, wish

FEWEST = 3
"""Shows from which anything is said of the next (common practice, no source)."""


@wish
class BookingWish:
    """What a show would cost, and how long it would take."""

    cost: str = ask("All it would cost.", word=True)
    hours: str | None = ask("Hours of its own: packing, the way, behind the table.", default=None)


@dataclass(frozen=True)
class Booking:
    """What a show must sell, and what the past ones say of that."""

    settings: Settings
    cost: Decimal = field(repr=False)
    hours: Decimal
    past: tuple[ShowBrought, ...] = field(repr=False)  # shows that are over, with anything noted of money

    @property
    def sold(self) -> list[Decimal]:
        """What each sold, the least first."""
        return sorted(one.result.sales for one in self.past)

    @property
    def parts(self) -> list[Fraction]:
        """What fees and supplies left of each one's sales, the smallest part first."""
        return sorted(
            Fraction(one.result.sales - one.result.taken) / Fraction(one.result.sales)
            for one in self.past
            if one.result.sales
        )

    @property
    def part(self) -> Fraction | None:
        """What they left of all sales together; None without any, or if nothing was left."""
        sales = total(self.sold)
        left = sales - total(one.result.taken for one in self.past)
        return Fraction(left) / Fraction(sales) if sales and left > 0 else None

    @property
    def even(self) -> Decimal | None:
        """What it must sell to pay for itself, rounded up to the coin."""
        return self._must_sell(self.part)

    @property
    def span(self) -> tuple[Decimal, Decimal] | None:
        """The same by the shows that left the largest and the smallest part; None for too few shows."""
        parts = self.parts
        low, high = (self._must_sell(parts[-1]), self._must_sell(parts[0])) if parts else (None, None)
        return (low, high) if low is not None and high is not None and self.tells else None

    @property
    def paid(self) -> Decimal | None:
        """What it must sell to pay the rate too, for its own hours and those in what's sold; None untold."""
        rate, sales, part = self.settings.private.rate, total(self.sold), self.part
        if rate is None or part is None or any(one.result.untold for one in self.past):
            return None
        bench = Fraction(total(one.result.hours for one in self.past)) * Fraction(rate) / Fraction(sales)
        return self._must_sell(part - bench, Fraction(self.cost) + Fraction(self.hours) * Fraction(rate))

    def _must_sell(self, part: Fraction | None, cost: Fraction | None = None) -> Decimal | None:
        if part is None or part <= 0:
            return None
        digits = self.settings.digits
        return money.from_units(
            ceil((Fraction(self.cost) if cost is None else cost) / part * 10**digits), digits
        )

    @property
    def tells(self) -> bool:
        """Whether there are shows enough to say anything of the next."""
        return len(self.past) >= FEWEST

    @property
    def reached(self) -> int:
        """How many of the past shows sold as much as this one must."""
        return 0 if self.even is None else sum(one >= self.even for one in self.sold)

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines: money as strings, null for what can't be told."""
        span, sold, n = self.span or (None, None), self.sold if self.tells else [None], len(self.past)
        sums = {
            "cost": self.cost, "break_even": self.even, "with_pay": self.paid, "break_even_low": span[0],
            "break_even_high": span[1], "sold_low": sold[0], "sold_high": sold[-1],
        }  # fmt: skip
        digits = self.settings.digits
        return {
            "currency": self.settings.currency,
            **{name: None if one is None else money.plain(one, digits) for name, one in sums.items()},
            "hours": bare(self.hours),
            "shows": n,
            "reached": self.reached,
            "chances": [n - 1, n + 1] if self.tells else None,
        }

    def lines(self) -> list[str]:
        shows = counted(len(self.past), "show of yours is over", "shows of yours are over")
        if self.even is None:
            return [
                f"{shows}, and what they sold, less fees and supplies, isn't enough to tell by; "
                "note what was sold there."
            ]
        told = [f"It must sell {self._money(self.even)} to pay its {self._money(self.cost)}{self._spread()}."]
        if self.paid is not None:
            own = f"{bare(self.hours)} h of its own and " if self.hours else ""
            told.append(f"To pay your rate too, for {own}those in what is sold, {self._money(self.paid)}.")
        elif self.settings.private.rate is not None:
            told.append(
                "Your rate it can't be said to pay: by those shows, what sells doesn't, or lacks hours."
            )
        return [*told, *self._likely(shows)]

    def _spread(self) -> str:
        if self.span is None:
            return ""
        low, high = map(self._money, self.span)
        return f" (between {low} and {high}, by what single shows left after fees and supplies)"

    def _likely(self, shows: str) -> list[str]:
        n, low, high = len(self.past), self._money(self.sold[0]), self._money(self.sold[-1])
        if not self.tells:
            return [f"{shows}: too few to say how likely that is. From {FEWEST} on, something can be said."]
        return [
            f"{shows}; {self.reached} sold that much. They sold {low} to {high}: if the next is one like "
            f"them, it lies between these with {n - 1} chances in {n + 1}, below with one, above with one.",
            "A few shows say little: another town, season or table can be quite another thing.",
        ]

    def _money(self, amount: Decimal) -> str:
        return words.amount(amount, self.settings)


def before_booking(sitting: Sitting, shows: Shows, wish: BookingWish) -> Booking:
    """Say what a show must sell. Raises Fault for a cost or hours that can't be read."""
    past = tuple(
        show
        for show in shows.shows
        if not show.show.is_class and show.show.ends < sitting.today
        if show.result.sales or show.result.costs
    )
    hours = read_spent(wish.hours) if wish.hours else Decimal(0)
    return Booking(sitting.studio.settings, sitting.amount(wish.cost), hours, past)
