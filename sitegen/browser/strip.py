"""A strip of weeks like a wall calendar's: when each place would be done, and the days away."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from sitegen.jobs.answers import SlotsAnswer

_LEFT, _TOP, _ROW, _WIDE = 156, 44, 30, 1120
_LEAST_WEEK = 11.0
# What lies further ahead is cut off: a picture of years shows nothing.
_MOST_WEEKS = 104
# Pixels that a letter needs: of a month's name, and of the smaller ones.
_LETTER, _SMALL = 7.5, 6.0


@dataclass(frozen=True)
class PlaceBar:
    """One place's stretch of days: from an even chance to 90 %, dark until 80 %."""

    y: float
    name: str
    start: float
    sure: float
    end: float
    promised: float | None
    kept: bool


@dataclass(frozen=True)
class NamedDays:
    """Days away, or a month."""

    x: float
    width: float
    name: str


@dataclass(frozen=True)
class Strip:
    """The whole picture, in pixels."""

    width: float
    height: float
    top: float
    left: float
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

    bars = tuple(
        PlaceBar(
            _TOP + row * _ROW + _ROW / 2, "one too many" if one is answer.beyond else one.code,
            x(one.p50), x(one.p80), x(one.p90),
            x(one.promised) if one.promised else None, not one.breaks(answer.question.confidence),
        )
        for row, one in enumerate(places)
    )  # fmt: skip
    away = [
        NamedDays(
            x(one.first_day), x(one.last_day + timedelta(days=1)) - x(max(first, one.first_day)), one.why
        )
        for one in found.away
        if one.first_day < end
    ]
    months = tuple(
        _named(
            [NamedDays(x(day), x(_next(day)) - x(day), f"{day:%B}") for day in _months(first, end)], _LETTER
        )
    )
    lines = tuple(_LEFT + number * week for number in range(weeks + 1))
    return Strip(
        width, _TOP + len(bars) * _ROW + 8, _TOP, _LEFT, lines, months, tuple(_named(away, _SMALL)), bars
    )


def _months(first: date, end: date) -> Iterator[date]:
    day = first
    while day < end:
        yield day
        day = _next(day)


def _next(day: date) -> date:
    return (day.replace(day=1) + timedelta(days=32)).replace(day=1)


def _named(spans: Iterable[NamedDays], letter: float) -> Iterator[NamedDays]:
    """Return spans with as many words of their names as there's room for."""
    for span in spans:
        words = span.name.split()
        while words and len(" ".join(words)) * letter > span.width:
            words.pop()
        yield NamedDays(span.x, span.width, " ".join(words))
