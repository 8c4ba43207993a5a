"""The years beside each other, and what each show brought, taken from their books."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from sitegen.desk import words
from sitegen.desk.books_lines import Books
from sitegen.desk.year import ShowResult
from sitegen.studio import money
from sitegen.studio.coins import NOTHING, Purse, total
from sitegen.studio.show import Show
from sitegen.studio.text import bare
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Years:
    """The books of every year that has any, the latest first."""

    years: tuple[Books, ...]

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines: each year as `books` answers it."""
        return {"years": [one.as_answer() for one in self.years]}

    def lines(self) -> list[str]:
        """Write the sums of the years as a table."""
        head = ("", "income", "costs", "left", "an hour sold")
        rows = [
            (
                str(one.year),
                *(_said(one, sum_) for sum_ in (one.total, one.total - one.left, one.left, one.hourly)),
            )
            for one in self.years
        ]
        return words.table([head, *rows], right=(1, 2, 3, 4))


def _said(year: Books, amount: Decimal | None) -> str:
    return "" if amount is None else words.in_currency(amount, year.rates.currency, year.rates.digits)


def years_with_any(studio: Studio, found: Sequence[Purse], today: date) -> list[int]:
    """Return the years up to this one in which money moved, the latest first."""
    days = {one.on for purse in found for one in purse.income}
    days |= {one.on for purse in found for one in purse.receipts}
    days |= {one.first_day for one in studio.shows if one.private.costs}
    days |= {one.on for one in studio.settings.private.expenses}
    return sorted({one.year for one in days if one.year < today.year} | {today.year}, reverse=True)


@dataclass(frozen=True)
class ShowBrought:
    """One show with what it brought."""

    show: Show
    result: ShowResult
    signed: int
    """People who came to the list by its sheet, those who left since with them."""


@dataclass(frozen=True)
class Shows:
    """All shows, the latest first."""

    day: date
    currency: str
    digits: int
    shows: tuple[ShowBrought, ...] = field(repr=False)

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines: money as strings."""
        return {
            "currency": self.currency,
            "shows": [
                {
                    "show": one.show.slug, "name": one.show.name, "from": str(one.show.first_day),
                    "sales": self._plain(one.result.sales), "costs": self._plain(one.result.costs),
                    "earned": self._plain(one.result.earned), "hours": bare(one.result.hours),
                    "hourly": one.result.hourly and self._plain(one.result.hourly), "signed": one.signed,
                }
                for one in self.shows
            ],
        }  # fmt: skip

    def _plain(self, amount: Decimal) -> str:
        return money.plain(amount, self.digits)

    def lines(self) -> list[str]:
        """Write the shows as a table."""
        head = ("", "from", "sold", "cost", "left after fees and supplies", "an hour", "signed up")
        rows = [
            (
                one.show.name, str(one.show.first_day),
                *(
                    "" if sum_ is None else words.in_currency(sum_, self.currency, self.digits)
                    for sum_ in (one.result.sales, one.result.costs, one.result.earned, one.result.hourly)
                ),
                str(one.signed),
            )
            for one in self.shows
        ]  # fmt: skip
        return words.table([head, *rows], right=(2, 3, 4, 5, 6)) if rows else ["No show yet."]


def brought(studio: Studio, years: Sequence[Books], signed: Mapping[str, int], day: date) -> Shows:
    """Say what each show brought, in all years together."""
    settings = studio.settings
    shows = sorted(studio.shows, key=lambda one: (one.first_day, one.slug), reverse=True)
    counted, digits = {one.year for one in years}, settings.digits
    results = {one.slug: list[ShowResult]() for one in shows}
    for show in shows:
        if show.first_day.year not in counted:  # its costs count in the year it begins
            spent = total(one.cost for one in show.private.costs)
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
            ShowBrought(one, _together(one.name, results[one.slug], digits), signed.get(one.slug, 0))
            for one in shows
        ),
    )


def _show_of(shows: Sequence[Show], name: str, year: int) -> Iterator[Show]:
    """Yield the show that a year's books name: a fair may have the same name each year."""
    same = [one for one in shows if one.name == name]
    begun = [one for one in same if one.first_day.year <= year]
    yield from (begun or same)[:1]


def _together(name: str, results: Sequence[ShowResult], digits: int) -> ShowResult:
    untold = any(one.untold for one in results)
    hours = total(one.hours for one in results)
    sums = {kind: total(getattr(one, kind) for one in results) for kind in ("sales", "costs", "taken")}
    left = sums["sales"] - sums["costs"] - sums["taken"]
    hourly = money.round_half_up(left / hours, digits) if hours and not untold else None
    return ShowResult(name, **sums, hours=hours, untold=untold, hourly=hourly)
