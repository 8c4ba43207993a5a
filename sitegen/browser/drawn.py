"""What is drawn: a strip of weeks, sums as bars, prices as dots. The template draws them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal
from operator import itemgetter
from typing import Any, NamedTuple

from sitegen.jobs.answers import SlotsAnswer
from sitegen.studio.prices import MEASURES, Along, Priced

# Pixels: of a bar with its gap, of a group's name above its bars, between groups.
_BAR, _NAME, _GAP = 24, 30, 8
FILLS = ("full", "hatch", "cross", "dots", "open")

Sums = Sequence[tuple[str, Decimal]]
"""What a bar is made of: a fill and a sum each."""


class OneBar(NamedTuple):
    """One bar with what stands before and behind it; lengths are per cent of the longest."""

    name: str
    said: str
    top: int
    ends: str
    parts: tuple[tuple[str, str, str], ...]  # where each begins, how long it is, its fill


class Bars(NamedTuple):
    """All of a picture: its height, and groups of a name, a place and their bars."""

    height: int
    groups: tuple[tuple[str, int, tuple[OneBar, ...]], ...]


def bars(groups: Iterable[tuple[str, Sequence[tuple[str, str, Sums]]]]) -> Bars:
    """Lay groups of bars below each other, to one scale; what lies below zero is drawn by its size, open."""
    told = [(name, rows) for name, rows in groups if rows]
    longest = max((_size(sums) for _, rows in told for _, _, sums in rows), default=Decimal(0)) or Decimal(1)
    found, top = [], 0
    for name, rows in told:
        made = [_bar(row, top + _NAME + place * _BAR, longest) for place, row in enumerate(rows)]
        found.append((name, top, tuple(made)))
        top += _NAME + len(rows) * _BAR + _GAP
    return Bars(top, tuple(found))


def _bar(row: tuple[str, str, Sums], top: int, longest: Decimal) -> OneBar:
    name, said, sums = row
    parts, start = [], Decimal(0)
    for fill, amount in sums:
        if amount:
            length = abs(amount) / longest
            parts.append((f"{start:.2%}", f"{length:.2%}", fill if amount > 0 else "open"))
            start += length
    return OneBar(name, said, top, f"{start:.2%}", tuple(parts))


def _size(sums: Sums) -> Decimal:
    return sum((abs(one) for _, one in sums), Decimal(0))


def dots(of: Along, prices: Sequence[Priced], money: Callable[[Decimal], str]) -> dict[str, Any]:
    """Draw prices against one thing, in per cent from the left and the top; nothing for fewer than two."""
    measure = MEASURES[of.name][1]
    known = sorted(((x, one) for one in prices if (x := measure(one)) is not None), key=itemgetter(0))
    least, most = (known[0][0], known[-1][0]) if known else (0.0, 0.0)
    if least == most:
        return {"name": of.name, "dots": ()}
    top, far = max(one.price for _, one in known), {one.one for one in of.odd}

    def at(x: float, price: float) -> tuple[str, str]:
        high = 94 - 84 * price / float(top or 1)
        return f"{2 + 96 * (x - least) / (most - least):.2f}%", f"{high:.2f}%"

    def said(one: Priced) -> str:
        words = {"size": f"{(one.height_mm or 0) / 10:g} cm", "hours": f"{one.hours} h"}
        return words.get(of.name, f"{one.on:%Y}")

    return {
        "name": of.name, "highest": money(top), "ends": (said(known[0][1]), said(known[-1][1])),
        "dots": [
            (*at(x, float(one.price)), f"{one.title}, {money(one.price)}", one in far) for x, one in known
        ],
        "line": [at(x, of.line.at(x)) for x in (least, most)] if of.line else (),
    }  # fmt: skip


# Pixels of the strip: before its weeks, above its rows, of a row, of the whole where there is room; of a week
# at least, and of a letter: of a month's name, and of the smaller ones.
_LEFT, _TOP, _ROW, _WIDE, _LEAST_WEEK, _LETTER, _SMALL = 156, 44, 30, 1120, 11.0, 7.5, 6.0
# What lies further ahead is cut off: a picture of years shows nothing.
_MOST_WEEKS = 104


class PlaceBar(NamedTuple):
    """One place's stretch of days: from an even chance to 90 %, dark until 80 %."""

    y: float
    name: str
    days: tuple[float, float, float]
    promised: float | None
    kept: bool


class NamedDays(NamedTuple):
    """Days away, or a month."""

    x: float
    width: float
    name: str


class Strip(NamedTuple):
    """A strip of weeks like a wall calendar's, in pixels: when each place would be done, and days away."""

    width: float
    height: float
    top: float
    weeks: tuple[float, ...]
    months: tuple[NamedDays, ...]
    away: tuple[NamedDays, ...]
    bars: tuple[PlaceBar, ...]


def strip(found: SlotsAnswer) -> Strip:
    """Lay out an answer's days over weeks that begin on Mondays."""
    answer = found.answer
    begins = answer.question.bench.first_day
    first = begins - timedelta(days=begins.weekday())
    places = (*answer.queue, *answer.new, answer.beyond)
    last = max([day for place in places for day in (place.p90, place.promised) if day], default=begins)
    weeks = min(_MOST_WEEKS, max(8, (last - first).days // 7 + 2))
    week = max(_LEAST_WEEK, (_WIDE - _LEFT) / weeks)
    width, end = _LEFT + weeks * week, first + timedelta(weeks=weeks)

    def x(day: date | None) -> float:
        return width if day is None else min(width, _LEFT + max(0, (day - first).days) * week / 7)

    def span(begin: date, until: date, name: str) -> NamedDays:
        return NamedDays(x(begin), x(until) - x(max(first, begin)), name)

    bars = tuple(
        PlaceBar(
            _TOP + row * _ROW + _ROW / 2, "one too many" if one is answer.beyond else one.code,
            (x(one.p50), x(one.p80), x(one.p90)), x(one.promised) if one.promised else None,
            not one.breaks(answer.question.confidence),
        )
        for row, one in enumerate(places)
    )  # fmt: skip
    days = [one for one in found.asked.load.away if one.first_day < end]
    away = [span(one.first_day, one.last_day + timedelta(days=1), one.why) for one in days]
    months, day = [], first
    while day < end:
        months.append(span(day, _next(day), f"{day:%B}"))
        day = _next(day)
    lines = tuple(_LEFT + number * week for number in range(weeks + 1))
    height = _TOP + len(bars) * _ROW + 8
    return Strip(width, height, _TOP, lines, _named(months, _LETTER), _named(away, _SMALL), bars)


def _next(day: date) -> date:
    return (day.replace(day=1) + timedelta(days=32)).replace(day=1)


def _named(spans: Iterable[NamedDays], letter: float) -> tuple[NamedDays, ...]:
    """Return spans with as many words of their names as there's room for."""
    found = []
    for span in spans:
        words = span.name.split()
        while words and len(" ".join(words)) * letter > span.width:
            words.pop()
        found.append(NamedDays(span.x, span.width, " ".join(words)))
    return tuple(found)
