"""The years beside each other, and what each show brought, taken from their books."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sitegen.desk import words
from sitegen.desk.books_lines import Books
from sitegen.desk.year import ShowResult
from sitegen.studio import money
from sitegen.studio.coins import NOTHING, Purse, total
from sitegen.studio.commission import Order
from sitegen.studio.person import address_key
from sitegen.studio.plan import months_after
from sitegen.studio.show import Show
from sitegen.studio.text import as_csv
from sitegen.studio.wage import round_fraction
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Years:
    """The books of every year that has any, the latest first."""

    years: tuple[Books, ...]

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines: each year as `books` answers it."""
        return {"years": [year.as_answer() for year in self.years]}

    def lines(self) -> list[str]:
        """Write the sums of the years as a table."""
        head = ("", "income", "costs", "left", "an hour sold")
        rows = [
            (str(year.year), *map(year.said, (year.total, year.total - year.left, year.left, year.hourly)))
            for year in self.years
        ]
        return words.table([head, *rows])


def years_with_any(studio: Studio, found: Sequence[Purse], today: date) -> list[int]:
    """Return the years up to this one in which money moved, the latest first."""
    days = {one.on for purse in found for one in purse.income}
    days |= {receipt.on for purse in found for receipt in purse.receipts}
    days |= {show.first_day for show in studio.shows if show.private.costs}
    days |= {expense.on for expense in studio.settings.private.expenses}
    return sorted({day.year for day in days if day.year < today.year} | {today.year}, reverse=True)


@dataclass(frozen=True)
class ShowBrought:
    """One show with what it brought."""

    show: Show
    result: ShowResult
    signed: int  # people who came to the list by its sheet, those who left since with them
    orders: tuple[Order, ...] = field(default=(), repr=False)
    """Commissions agreed on that one of them asked for, from its first day to so many months after it."""
    digits: int = 2

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes of those commissions."""
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
        hours = self.result.hours + self.own_hours
        if not hours or self.result.untold or not (self.own_hours or self.show.is_class):
            return None
        return round_fraction(Fraction(self.result.earned) / Fraction(hours), self.digits)


@dataclass(frozen=True)
class Shows(words.InCurrency):
    """All shows, the latest first."""

    day: date
    currency: str
    digits: int
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
        """Write the shows as a table (CSV)."""
        rows = self.as_answer()["shows"]
        return as_csv([rows[0], *(map(_cell, row.values()) for row in rows)] if rows else [])

    def lines(self) -> list[str]:
        """Write the shows as a table."""
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


def _cell(value: Any) -> str:
    """Write a value of the answer into a table."""
    return "" if value is None else " ".join(value) if isinstance(value, list) else str(value)


def brought(
    studio: Studio, years: Sequence[Books], signed: Mapping[str, Collection[str]], day: date, months: int
) -> Shows:
    """Say what each show brought, in all years together; `signed` are the folded addresses on its sheets."""
    settings = studio.settings
    shows = sorted(studio.shows, key=lambda one: (one.first_day, one.slug), reverse=True)
    counted, digits = {one.year for one in years}, settings.digits
    results = {one.slug: list[ShowResult]() for one in shows}
    for show in shows:
        if show.first_day.year not in counted:  # its costs count in the year it begins
            spent = total(cost.cost for cost in show.private.costs)
            results[show.slug].append(ShowResult(show.name, NOTHING, spent))
    for year in years:
        for result in year.shows:
            for show in _show_of(shows, result.name, year.year):
                results[show.slug].append(result)
    return Shows(
        day,
        settings.currency,
        digits,
        tuple(
            ShowBrought(
                one, _together(one.name, results[one.slug], digits), len(signed.get(one.slug, ())),
                _came_of(studio, one, signed.get(one.slug, ()), months), digits,
            )
            for one in shows
        ),
        months,
    )  # fmt: skip


def _came_of(studio: Studio, show: Show, signed: Collection[str], months: int) -> tuple[Order, ...]:
    """Return the orders agreed on whose client signed at a show and asked within so many months of it."""
    last = months_after(show.ends, months)
    return tuple(
        order
        for order in studio.commissions.queue
        if order.agreed and order.private.email.strip() and address_key(order.private.email) in signed
        if order.first is not None and show.first_day <= order.first.on <= last
    )


def _show_of(shows: Sequence[Show], name: str, year: int) -> Iterator[Show]:
    """Yield the show that a year's books name: a fair may have the same name each year."""
    same = [show for show in shows if show.name == name]
    begun = [one for one in same if one.first_day.year <= year]
    yield from (begun or same)[:1]


def _together(name: str, results: Sequence[ShowResult], digits: int) -> ShowResult:
    untold = any(result.untold for result in results)
    hours = total(one.hours for one in results)
    sums = {kind: total(getattr(one, kind) for one in results) for kind in ("sales", "costs", "taken")}
    left = sums["sales"] - sums["costs"] - sums["taken"]
    hourly = money.round_half_up(left / hours, digits) if hours and not untold else None
    return ShowResult(name, **sums, hours=hours, untold=untold, hourly=hourly)
