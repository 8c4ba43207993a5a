"""Money and small tables for the terminal."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from sitegen.studio import money
from sitegen.studio.text import columns as columns_of

if TYPE_CHECKING:
    from sitegen.studio.settings import Settings


in_currency = money.in_currency

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def amount(value: Decimal, settings: Settings) -> str:
    """Write an amount with its currency's letters, to the last coin: `1,000.01 EUR`."""
    return in_currency(value, settings.currency, settings.digits)


class InCurrency:
    """An answer whose sums are in one currency: how it writes them."""

    currency: str
    digits: int

    def plain(self, amount: Decimal) -> str:
        """Write an amount for machines."""
        return money.plain(amount, self.digits)

    def or_none(self, amount: Decimal | None) -> str | None:
        """Write an amount for machines; null for what can't be told."""
        return None if amount is None else self.plain(amount)

    def said(self, amount: Decimal | None) -> str:
        """Write an amount for a person; nothing for what can't be told."""
        return "" if amount is None else in_currency(amount, self.currency, self.digits)


def table(rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> list[str]:
    """Lay rows out in columns; `right` names the columns that stand flush right, from 0."""
    columns = list(zip(*rows, strict=True))
    right = [*right, *(place for place, column in enumerate(columns) if _of_money(column))]
    widths = [max(columns_of(cell) for cell in column) for column in columns]
    return [
        "  ".join(
            _padded(cell, width, flush_right=place in right)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _of_money(column: Sequence[str]) -> bool:
    """Tell whether a column holds amounts below its head: they stand flush right, coin below coin."""
    amounts = [cell for cell in column[1:] if cell]
    return bool(amounts) and all(re.fullmatch(r"-?[\d,.]+ [A-Z]{3}", cell) for cell in amounts)


def _padded(cell: str, width: int, *, flush_right: bool) -> str:
    gap = " " * (width - columns_of(cell))
    return gap + cell if flush_right else cell + gap


def day(one: date | None) -> str:
    """Write a day as ISO 8601, or a dash for none."""
    return one.isoformat() if one else "-"


def at_day(day: date, today: date) -> str:
    """Say when a day is as seen from today: `in 3 days, Tuesday 1 December`."""
    days = (day - today).days
    near = {-1: "yesterday", 0: "today", 1: "tomorrow"}.get(days)
    near = near or (f"in {days} days" if days > 0 else f"{-days} days ago")
    return f"{near}, {on_day(day, today)}"


def on_day(day: date, today: date) -> str:
    """Name a day as people do, its year only where it's another one."""
    year = f" {day.year}" if day.year != today.year else ""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]}{year}"


def span(first: date, last: date, today: date) -> str:
    """Name one day, or the first and the last of several."""
    return on_day(first, today) if first == last else f"{on_day(first, today)} to {on_day(last, today)}"


def month(day: date) -> str:
    """Name a day's month and year."""
    return f"{_MONTHS[day.month - 1]} {day.year}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Join words with commas and a last `and`."""
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))
