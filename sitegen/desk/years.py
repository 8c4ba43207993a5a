"""The years beside each other; what each show brought, by their books; what one must sell before it's booked.

Of what a show sold, fees and supplies leave a part; the cost divided by that part is what it must sell. How
likely that is nobody knows from a few shows, so only this is told: how many of them sold as much, and
between which two the next one lies. If it's one like them, no more likely the best than any other, it lies
between the worst and the best of n shows with n - 1 chances in n + 1, whatever the spread: each of n + 1
places in the order is as likely, and two of them lie outside (Wilks, Annals of Mathematical Statistics 12,
1941; from memory).
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Any

from sitegen.desk import words
from sitegen.desk.books_lines import Books
from sitegen.desk.find import Sitting, read_spent
from sitegen.desk.year import Result, an_hour
from sitegen.studio import money
from sitegen.studio.asked import ask, wish
from sitegen.studio.commission import Order
from sitegen.studio.money import NOTHING, total
from sitegen.studio.person import address_key
from sitegen.studio.plan import months_after
from sitegen.studio.purses import Purse
from sitegen.studio.settings import Settings
from sitegen.studio.show import Show
from sitegen.studio.text import bare, counted
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Years:
    """The books of every year that has any, the latest first."""

    years: tuple[Books, ...]

    def as_answer(self) -> dict[str, Any]:
        return {"years": [year.as_answer() for year in self.years]}

    def lines(self) -> list[str]:
        head = ("", "income", "costs", "left", "an hour sold")
        rows = [
            (str(year.year), *map(year.said, (year.total, year.total - year.left, year.left, year.hourly)))
            for year in self.years
        ]
        return words.table([head, *rows])


def years_with_any(studio: Studio, found: Sequence[Purse], today: date) -> list[int]:
    """Return the years up to this one in which money moved, the latest first."""
    days = {income.on for purse in found for income in purse.income}
    days |= {receipt.on for purse in found for receipt in purse.receipts}
    days |= {on for show in studio.shows for on, _, _ in show.spent}
    days |= {expense.on for expense in studio.settings.private.expenses}
    return sorted({day.year for day in days if day.year < today.year} | {today.year}, reverse=True)


@dataclass(frozen=True)
class ShowBrought:
    """One show with what it brought."""

    show: Show
    result: Result
    signed: int  # people who came to the list by its sheet, those who left since with them
    orders: tuple[Order, ...] = field(default=(), repr=False)
    """Commissions agreed on that one of them asked for, from its first day to so many months after it."""

    @property
    def codes(self) -> tuple[str, ...]:
        return tuple(order.code for order in self.orders)

    @property
    def commissioned(self) -> Decimal:
        """What those commissions cost in all, as agreed."""
        return total(order.private.price or NOTHING for order in self.orders)

    @property
    def own_hours(self) -> Decimal:
        """Hours of the show itself; a class's count with its fees already."""
        return NOTHING if self.show.is_class else self.show.private.hours

    @property
    def worth(self) -> Decimal | None:
        """What an hour was worth: of those in what was sold there and those of the show; None untold."""
        one, untold = self.result, not (self.own_hours or self.show.is_class)
        return an_hour(one.earned, one.hours + self.own_hours, untold or one.untold, one.digits)


@dataclass(frozen=True)
class Shows(words.InCurrency):
    """All shows, the latest first."""

    day: date
    shows: tuple[ShowBrought, ...] = field(repr=False)
    months: int = 12  # after a show, in which a commission counts as having come of it

    def as_answer(self) -> dict[str, Any]:
        return {
            **self.facts(self, "currency months"),
            "shows": [
                self.facts(
                    show,
                    "show:show.slug name:show.name from:show.first_day sales:result.sales costs:result.costs "
                    "earned:result.earned hours:result.hours hourly:result.hourly signed own_hours worth "
                    "commissions:codes commissioned",
                )
                for show in self.shows
            ],
        }

    def table(self) -> str:
        rows = self.as_answer()["shows"]
        return words.as_rows(list(rows[0]), rows) if rows else ""

    def lines(self) -> list[str]:
        head = ("", "from", "sold", "cost", "left after fees and supplies", "an hour",
                "with the show's hours", "signed up", f"commissions within {self.months} months")  # fmt: skip
        rows = [
            (
                show.show.name, str(show.show.first_day),
                *map(self.said, (show.result.sales, show.result.costs, show.result.earned)),
                *map(self.said, (show.result.hourly, show.worth)), str(show.signed),
                f"{len(show.orders)}, {self.said(show.commissioned)}" if show.orders else "",
            )
            for show in self.shows
        ]  # fmt: skip
        return words.table([head, *rows]) if rows else ["No show yet."]


def brought(
    studio: Studio, years: Sequence[Books], signed: Mapping[str, Collection[str]], day: date, months: int
) -> Shows:
    """Say what each show brought, in all years together; `signed` are the folded addresses on its sheets."""
    settings = studio.settings
    shows = sorted(studio.shows, key=lambda show: (show.first_day, show.slug), reverse=True)
    closed, digits = {books.year for books in years if books.closed}, settings.digits
    spent = {show.slug: total(cost for on, cost, _ in show.spent if on.year not in closed) for show in shows}
    results = {show.slug: [Result(show.name, NOTHING, spent[show.slug])] for show in shows}
    for books, result in ((year, result) for year in years for result in year.shows):
        # A fair may have the same name each year: meant is the latest one begun by then.
        same = [show for show in shows if show.name == result.name]
        begun = [show for show in same if show.first_day.year <= books.year]
        for show in (begun or same)[:1]:
            # Costs of a closed year are as they were kept, all others as the show's file has them.
            kept = result if books.closed else replace(result, costs=NOTHING)
            results[show.slug].append(kept)
    of_each = []
    for fair in shows:
        its, people = results[fair.slug], signed.get(fair.slug, ())
        kinds = ("sales", "costs", "taken", "hours")
        sums = {kind: total(getattr(result, kind) for result in its) for kind in kinds}
        together = Result(fair.name, **sums, untold=any(result.untold for result in its), digits=digits)
        of_each.append(ShowBrought(fair, together, len(people), _came_of(studio, fair, people, months)))
    return Shows(settings.currency, digits, day, tuple(of_each), months)


def _came_of(studio: Studio, show: Show, signed: Collection[str], months: int) -> tuple[Order, ...]:
    """Return the orders agreed on whose client signed at a show and asked within so many months of it."""
    last = months_after(show.ends, months)
    return tuple(
        order
        for order in studio.commissions.queue
        if order.agreed and order.private.email.strip() and address_key(order.private.email) in signed
        if order.first is not None and show.first_day <= order.first.on <= last
    )


FEWEST = 3
"""Shows from which anything is said of the next (common practice, no source)."""


@wish
class BookingWish:
    cost: str = ask("All it would cost.", word=True)
    hours: str | None = ask("Hours of its own: packing, the way, behind the table.", default=None)


@dataclass(frozen=True)
class Booking:
    """What a show must sell, and what the past ones with anything noted of money say of that."""

    settings: Settings
    cost: Decimal = field(repr=False)
    hours: Decimal
    sold: tuple[Decimal, ...] = field(repr=False)  # what each past one sold, the least first
    part: Fraction | None = field(repr=False)
    """What fees and supplies left of all their sales together; None without any, or if nothing was left."""
    even: Decimal | None = field(repr=False)  # what it must sell to pay for itself, rounded up to the coin
    span: tuple[Decimal, Decimal] | None = field(repr=False)
    """The same by the shows that left the largest and the smallest part; None for too few shows."""
    paid: Decimal | None = field(repr=False)
    """What it must sell to pay the rate too, for its own hours and those in what's sold; None untold."""

    @property
    def tells(self) -> bool:
        """Whether there are shows enough to say anything of the next."""
        return len(self.sold) >= FEWEST

    @property
    def reached(self) -> int:
        """How many of the past shows sold as much as this one must."""
        return 0 if self.even is None else sum(sold >= self.even for sold in self.sold)

    def as_answer(self) -> dict[str, Any]:
        (low, high), n = self.span or (None, None), len(self.sold)
        least, most = (self.sold[0], self.sold[-1]) if self.tells else (None, None)
        told = words.facts(
            self, "currency:settings.currency cost break_even:even with_pay:paid hours reached",
            self.settings.digits,
        )  # fmt: skip
        sums = {"break_even_low": low, "break_even_high": high, "sold_low": least, "sold_high": most}
        plain = {name: sum_ and self.settings.plain(sum_) for name, sum_ in sums.items()}
        return told | plain | {"shows": n, "chances": [n - 1, n + 1] if self.tells else None}

    def lines(self) -> list[str]:
        shows = counted(len(self.sold), "show of yours is over", "shows of yours are over")
        if self.even is None:
            return [
                f"{shows}, and what they sold, less fees and supplies, isn't enough to tell by; "
                "note what was sold there."
            ]
        say = self.settings.said
        told = [f"It must sell {say(self.even)} to pay its {say(self.cost)}{self._spread()}."]
        if self.paid is not None:
            own = f"{bare(self.hours)} h of its own and " if self.hours else ""
            told.append(f"To pay your rate too, for {own}those in what is sold, {say(self.paid)}.")
        elif self.settings.private.rate is not None:
            told.append(
                "Your rate it can't be said to pay: by those shows, what sells doesn't, or lacks hours."
            )
        return [*told, *self._likely(shows)]

    def _spread(self) -> str:
        if self.span is None:
            return ""
        low, high = map(self.settings.said, self.span)
        return f" (between {low} and {high}, by what single shows left after fees and supplies)"

    def _likely(self, shows: str) -> list[str]:
        n, low, high = len(self.sold), self.settings.said(self.sold[0]), self.settings.said(self.sold[-1])
        if not self.tells:
            return [f"{shows}: too few to say how likely that is. From {FEWEST} on, something can be said."]
        return [
            f"{shows}; {self.reached} sold that much. They sold {low} to {high}: if the next is one like "
            f"them, it lies between these with {n - 1} chances in {n + 1}, below with one, above with one.",
            "A few shows say little: another town, season or table can be quite another thing.",
        ]


def before_booking(sitting: Sitting, shows: Shows, wish: BookingWish) -> Booking:
    """Say what a show must sell. Raises Fault for a cost or hours that can't be read."""
    settings, today, cost = sitting.studio.settings, sitting.today, sitting.amount(wish.cost)
    hours, rate = read_spent(wish.hours) if wish.hours else NOTHING, settings.private.rate
    past = [
        fair.result
        for fair in shows.shows
        if not fair.show.is_class and fair.show.ends < today and (fair.result.sales or fair.result.costs)
    ]
    sales, left = (total(result.sales for result in past), total(told.sales - told.taken for told in past))
    part = Fraction(left) / Fraction(sales) if sales and left > 0 else None
    parts = [Fraction(told.sales - told.taken) / Fraction(told.sales) for told in past if told.sales]
    low, high = (_must_sell(cost, of(parts, default=None), settings.digits) for of in (max, min))
    paid = None
    if rate is not None and part is not None and not any(result.untold for result in past):
        bench = Fraction(total(result.hours for result in past)) * Fraction(rate) / Fraction(sales)
        paid = _must_sell(Fraction(cost) + Fraction(hours) * Fraction(rate), part - bench, settings.digits)
    return Booking(
        settings, cost, hours, tuple(sorted(result.sales for result in past)), part,
        _must_sell(cost, part, settings.digits),
        (low, high) if low is not None and high is not None and len(past) >= FEWEST else None, paid,
    )  # fmt: skip


def _must_sell(cost: Decimal | Fraction, part: Fraction | None, digits: int) -> Decimal | None:
    """Return what must be sold to bring in a cost, where so large a part of it is left; None for none."""
    if part is None or part <= 0:
        return None
    return money.from_units(ceil(Fraction(cost) / part * 10**digits), digits)
