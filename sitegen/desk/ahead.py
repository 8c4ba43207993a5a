"""The money that is to come by the plans agreed on, month by month, and what goes out meanwhile.

Each part of a plan counts in the month it's due, by what is missing of it: late after the days of grace, due
from its day until then, to come before. What was sold or sent off and isn't paid has no day. What isn't
agreed on isn't counted.

Common practice, no source, of the months one by one:
- Money comes in the month in which a part of a plan is due, and a taking noted ahead in the month of its day.
  What is late, or has no day, isn't counted before it comes.
- Overhead and the budget go out each month; of this month, the share of the days left, today with them.
- A show's costs and other expenses go out in the month of their day; a show's without one, as it begins.
- The sales tax that a price contains is price x rate / (100 + rate). Of what comes in less that, a share that
  the artist sets is put by for other taxes. An accountant decides what is owed; this only keeps it apart.
- The runway is how many whole months money in hand lasts if nothing else is agreed on.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import accumulate
from typing import Any

from sitegen.desk import words
from sitegen.desk.books import standings, stands
from sitegen.desk.books_lines import Books
from sitegen.desk.plan import is_planned
from sitegen.studio import money
from sitegen.studio.money import NOTHING, total
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ASKING, UNDER_WAY
from sitegen.studio.plan import Standing, months_after
from sitegen.studio.purses import Purse
from sitegen.studio.settings import Desk
from sitegen.studio.text import as_csv, counted
from sitegen.studio.wage import round_fraction
from sitegen.studio.whole import Studio

# Months that are shown at least, and that a runway is followed for.
_SHOWN, _FOLLOWED = 6, 36
_OPEN = (Standing.LATE, Standing.DUE, Standing.TO_COME)
OUT = ("overhead", "shows", "expenses", "sales_tax", "set_aside")
CAUTION = (
    "What is put by is a share you set, no tax advice: rates, what is taxed and when, your country decides; "
    "ask a licensed professional."
)


@dataclass(frozen=True)
class Expected:
    """What is missing of one part of a plan."""

    name: str  # an order's code, or a piece's folder
    due: date | None  # None: it was sold or sent off, and no plan says when
    standing: Standing
    amount: Decimal = field(repr=False)


@dataclass(frozen=True)
class Month:
    """What is to come in one month."""

    first: date | None
    parts: tuple[Expected, ...]

    def sum_of(self, *standings: Standing) -> Decimal:
        """Add up what stands so; all of it for none."""
        return total(part.amount for part in self.parts if not standings or part.standing in standings)


@dataclass(frozen=True)
class FlowMonth:
    """What comes and goes in one month, as far as it's known."""

    first: date
    comes: Decimal = field(repr=False)
    overhead: Decimal = field(repr=False)
    shows: Decimal = field(repr=False)
    expenses: Decimal = field(repr=False)
    sales_tax: Decimal = field(repr=False)
    set_aside: Decimal = field(repr=False)
    budget: Decimal = field(repr=False)
    in_hand: Decimal | None = field(default=None, repr=False)
    """At its end, after the budget; None where nobody says what there is."""

    @property
    def left(self) -> Decimal:
        """What comes less what goes, before the budget."""
        return self.comes - total(getattr(self, name) for name in OUT)


@dataclass(frozen=True)
class Ahead(words.InCurrency):
    """What is to come, by month."""

    day: date
    parts: tuple[Expected, ...]
    unagreed: int  # requests and offers that nobody said yes to yet
    unplanned: tuple[str, ...]  # orders under way without a price or a day that a plan could begin on
    desk: Desk = field(repr=False)
    coming: tuple[FlowMonth, ...] = field(repr=False)  # month by month from this one on
    apart: Decimal = field(repr=False)  # what is late or has no day, and isn't counted
    year: Books | None = None  # whose streams are told

    @property
    def months(self) -> tuple[Month, ...]:
        """The months in which something is to come, the earliest first; what has no day before them."""
        found: dict[date | None, list[Expected]] = {}
        for part in self.parts:
            found.setdefault(part.due and part.due.replace(day=1), []).append(part)
        return tuple(
            Month(first, tuple(found[first])) for first in sorted(found, key=lambda day: day or date.min)
        )

    @property
    def all(self) -> Month:
        return Month(None, self.parts)

    def as_answer(self) -> dict[str, Any]:
        def told(month: Month) -> dict[str, Any]:
            sums = {kind.replace(" ", "_"): self.plain(month.sum_of(kind)) for kind in _OPEN}
            return sums | {"total": self.plain(month.sum_of())}

        names, carries = f"comes {' '.join(OUT)} left budget in_hand", self.year and self.year.carries
        return {
            **self.facts(self, "currency on:day unagreed unplanned"),
            "months": [
                {
                    "month": month.first and f"{month.first:%Y-%m}", **told(month),
                    "parts": [self.facts(part, "name due standing amount") for part in month.parts],
                }
                for month in self.months
            ],
            **told(self.all),
            "flow": [
                {"month": f"{month.first:%Y-%m}", **self.facts(month, names)} for month in self.shown
            ],
            **self.facts(self, "not_counted:apart runway_months:runway"),
            "carries": carries and self.facts(carries, "stream:name left:earned hourly"),
        }  # fmt: skip

    def table(self) -> str:
        """Write the months as CSV, a row for each sum; what goes out below zero."""
        rows = [("month", "what", "amount", "currency")]
        for month in self.shown:
            sums = {"comes": month.comes} | {name: -getattr(month, name) for name in (*OUT, "budget")}
            rows += [
                (f"{month.first:%Y-%m}", name.replace("_", " "), self.plain(sum_), self.currency)
                for name, sum_ in sums.items()
            ]
        return as_csv(rows)

    def lines(self) -> list[str]:
        if not self.parts:
            return ["No plan that was agreed on has anything to come.", *self.left_out(), *self._flow()]
        rows = [
            (name, *(self.said(month.sum_of(kind)) for kind in _OPEN), self.said(month.sum_of()))
            for name, month in [(self.name_of(one), one) for one in self.months] + [("in all", self.all)]
        ]
        head = ("Money ahead", *map(str, _OPEN), "in all")
        return [*words.section(head, rows), *self.left_out(), *self._flow()]

    def name_of(self, month: Month) -> str:
        return words.month(month.first) if month.first else "sold, and no day agreed on"

    def left_out(self) -> list[str]:
        said = ["Counted is what was agreed on, and comes only if it's paid."]
        if self.unagreed:
            few = counted(self.unagreed, "request or offer isn't", "requests and offers aren't")
            said.append(f"{few} agreed on, so nothing of that is counted.")
        if self.unplanned:
            said.append(
                f"No price or no day was agreed on for {words.listed(self.unplanned)}; nothing of that is "
                "counted either."
            )
        return said

    @property
    def shown(self) -> tuple[FlowMonth, ...]:
        """The months up to the last one that isn't like all that follow."""
        odd = [place for place, one in enumerate(self.coming) if one.comes or one.shows or one.expenses]
        return self.coming[: max([_SHOWN, *(place + 1 for place in odd)])]

    @property
    def names(self) -> tuple[str, ...]:
        """What is told of each month."""
        return ("comes", *OUT, "left", *(("budget", "in_hand") if self.desk.in_hand else ()))

    @property
    def runway(self) -> int | None:
        """How many whole months money lasts; None where it can't be told."""
        if self.desk.in_hand is None or self.desk.budget is None:
            return None
        return next(
            (n for n, month in enumerate(self.coming) if (month.in_hand or NOTHING) < 0), len(self.coming)
        )

    def _flow(self) -> list[str]:
        head = ("Month by month", *(name.replace("_", " ") for name in self.names))
        rows = [
            (words.month(month.first), *(self.said(getattr(month, name)) for name in self.names))
            for month in self.shown
        ]
        return ["", *words.section(head, rows), *self.sentences()]

    def sentences(self) -> list[str]:
        """Say how long it lasts, what carries the year, and what isn't certain."""
        desk, late = self.desk, f"{self.said(self.apart)} is late or has no day, and isn't counted before"
        lasting = (
            "To see how long your money lasts, note what there is and what you live on a month: "
            "`in_hand: {on: 2026-11-25, amount: 3200}` and `budget: 1200`, under `private:` in studio.yaml."
        )
        if desk.in_hand is not None and desk.budget is not None:
            lasting = (
                f"With {self.said(desk.in_hand.amount)} in hand on {desk.in_hand.on} and "
                f"{self.said(desk.budget)} to live on a month, money lasts {self.lasts}, "
                "if nothing else is agreed on or sold."
            )
        carrying = self.year.carrying() if self.year else ()
        return [*[f"{late} it comes."] * bool(self.apart), lasting, *carrying, CAUTION]

    @property
    def lasts(self) -> str:
        if self.runway == len(self.coming):
            return f"{_FOLLOWED} months and longer"
        if not self.runway:
            return "less than this month"
        last = words.month(self.coming[self.runway - 1].first)
        return f"to the end of {last} ({counted(self.runway, 'month', 'months')} with this one)"


def ahead(studio: Studio, found: Sequence[Purse], day: date) -> Ahead:
    """Lay what is still to come out by month, out of the studio's purses."""
    open_ = ((purse, purse.still_to_pay(day)) for purse in found)
    parts = [
        Expected(purse.name, purse.due, stands(purse, day), missing) for purse, missing in open_ if missing
    ]
    parts += [
        Expected(name, part.part.due, part.standing, part.open)
        for name, standing in standings(studio, found, day, begun=date.max)
        for part in standing.parts
        if part.open
    ]
    dated = [payment for payment in parts if payment.due and payment.standing is not Standing.LATE]
    queue, settings = studio.commissions.queue, studio.settings
    settled = {purse.name for purse in found if purse.is_settled(day)}
    under_way = [order for order in queue if order.step in UNDER_WAY and order.code not in settled]
    coming = [_month(studio, dated, day, months_after(day.replace(day=1), n)) for n in range(_FOLLOWED)]
    if (held := settings.private.in_hand) is not None:
        _, *there = accumulate((month.left - month.budget for month in coming), initial=held.amount)
        coming = [replace(month, in_hand=sum_) for month, sum_ in zip(coming, there, strict=True)]
    return Ahead(
        settings.currency, settings.digits, day,
        tuple(sorted(parts, key=lambda payment: (payment.due or date.min, payment.name))),
        sum(order.step in ASKING | {Step.OFFERED} for order in queue),
        tuple(order.code for order in under_way if not is_planned(order)), settings.private, tuple(coming),
        total(payment.amount for payment in parts) - total(payment.amount for payment in dated),
    )  # fmt: skip


def _month(studio: Studio, parts: Sequence[Expected], day: date, first: date) -> FlowMonth:
    desk, digits = studio.settings.private, studio.settings.digits
    last = months_after(first, 1) - timedelta(days=1)
    begins = day if first <= day else first

    def within(on: date) -> bool:
        return begins <= on <= last

    def part(amount: Decimal | None) -> Decimal:
        """Return what of a month's amount belongs to the days that are left."""
        return round_fraction(Fraction(amount or 0) * Fraction((last - begins).days + 1, last.day), digits)

    # What is due and within its days of grace comes this month, though its day lies before it.
    comes = total(
        payment.amount for payment in parts
        if payment.due and (within(payment.due) or (begins == day and payment.due < day))
    )  # fmt: skip
    comes += total(taking.amount for taking in desk.takings if within(taking.on) and taking.on > day)
    written = studio.settings.sales_tax
    tax = sales_tax_in(comes, written.rate if written else NOTHING, digits)
    return FlowMonth(
        first, comes, part(desk.overhead),
        total(
            cost for show in studio.shows for on, cost, _ in show.spent if within(on) and on > day
        ),
        total(expense.amount for expense in desk.expenses if within(expense.on) and expense.on > day),
        tax, money.share(comes - tax, desk.set_aside, digits), part(desk.budget),
    )  # fmt: skip


def sales_tax_in(amount: Decimal, rate: Decimal, digits: int) -> Decimal:
    """Return the tax that a price of this amount contains, at a rate in per cent, a half rounded up."""
    return round_fraction(Fraction(amount) * Fraction(rate) / (100 + Fraction(rate)), digits)
