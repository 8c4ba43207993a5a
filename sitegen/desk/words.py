"""How answers are written: sums, days, small tables for people, plain values for machines."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from operator import attrgetter
from typing import Any

from sitegen.studio import money
from sitegen.studio.text import as_csv, bare
from sitegen.studio.text import columns as columns_of

# What is hours, where an answer for machines has a number.
_HOURS = {"hours", "own_hours", "bench_hours", "planned", "worked", "noted"}


@dataclass(frozen=True)
class InCurrency:
    """An answer whose sums are in one currency: how it writes them."""

    currency: str  # ISO 4217 letters
    digits: int  # after its point

    def plain(self, amount: Decimal) -> str:
        """Write an amount for machines."""
        return money.plain(amount, self.digits)

    def said(self, amount: Decimal | None) -> str:
        """Write an amount for a person; nothing for what can't be told."""
        return "" if amount is None else money.in_currency(amount, self.currency, self.digits)

    def facts(self, answer: object, names: str) -> dict[str, Any]:
        """Return what machines are told of a value, as `facts` has it."""
        return facts(answer, names, self.digits)


def facts(answer: object, names: str, digits: int = 0) -> dict[str, Any]:
    """Return what machines are told of a value: each name's field, or of `name:path.to.it` the field there.

    Money is written with `digits` after its point, hours without noughts, days as ISO 8601.
    """
    pairs = (word.partition(":") for word in names.split())
    return {name: _fact(attrgetter(path or name)(answer), name, digits) for name, _, path in pairs}


def _fact(value: Any, name: str, digits: int) -> Any:
    if isinstance(value, Decimal):
        return bare(value) if name in _HOURS else money.plain(value, digits)
    if isinstance(value, str | date):  # an enumeration's word is plain text outside
        return str(value)
    if isinstance(value, Mapping):
        return {str(key): _fact(of, name, digits) for key, of in value.items()}
    return [_fact(of, name, digits) for of in value] if isinstance(value, tuple) else value


def as_rows(head: Sequence[str], facts: Sequence[Mapping[str, Any]]) -> str:
    """Write facts as CSV, a row each, in the columns of the head; nothing for what isn't known."""
    rows = [
        [" ".join(value) if isinstance(value, list) else "" if value is None else value for value in cells]
        for cells in ([fact[name] for name in head] for fact in facts)
    ]
    return as_csv([head, *rows])


def section(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Lay rows out below their head, with an empty line after them; nothing for none."""
    return [*table([head, *rows]), ""] if rows else []


def table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Lay rows out in columns; amounts and counts below the head stand flush right, coin below coin."""
    columns = list(zip(*rows, strict=True))
    number = re.compile(r"(-?[\d,. ]+( [A-Z]{3}| h)?)?")
    flush = [any(column[1:]) and all(map(number.fullmatch, column[1:])) for column in columns]
    widths = [max(map(columns_of, column)) for column in columns]
    return ["  ".join(map(_padded, row, widths, flush)).rstrip() for row in rows]


def _padded(cell: str, width: int, flush: bool) -> str:
    gap = " " * (width - columns_of(cell))
    return gap + cell if flush else cell + gap


def day(day_: date | None) -> str:
    """Write a day as ISO 8601, or a dash for none."""
    return day_.isoformat() if day_ else "-"


def at_day(day: date, today: date) -> str:
    """Say when a day is as seen from today: `in 3 days, Tuesday 1 December`."""
    days = (day - today).days
    near = {-1: "yesterday", 0: "today", 1: "tomorrow"}.get(days)
    near = near or (f"in {days} days" if days > 0 else f"{-days} days ago")
    return f"{near}, {on_day(day, today)}"


def on_day(day: date, today: date) -> str:
    """Name a day as people do, its year only where it's another one."""
    year = f" {day.year}" if day.year != today.year else ""
    return f"{day:%A} {day.day} {day:%B}{year}"


def span(first: date, last: date, today: date) -> str:
    """Name one day, or the first and the last of several."""
    return on_day(first, today) if first == last else f"{on_day(first, today)} to {on_day(last, today)}"


def sure(chance: float) -> str:
    """Say how sure a day is; what rounds to 100% isn't certain yet."""
    return "nearly certain" if round(chance * 100) == 100 else f"{chance:.0%} sure"


def month(day: date) -> str:
    return f"{day:%B} {day.year}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Join words with commas and a last `and`."""
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))
