"""The studio's prices beside each other, in words and tables: for the artist's eyes only."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from sitegen.desk import words
from sitegen.studio.prices import (
    MEASURES,
    Alike,
    Along,
    OddPrice,
    OfTier,
    Priced,
    alike,
    along,
    by_tier,
    priced,
)
from sitegen.studio.text import as_csv, bare, counted
from sitegen.studio.whole import Studio

CAUTION = "A line through the past, not a rule; nothing is changed by looking, and no page shows any of it."
HEADER = ("name", "title", "kind", "on", "price", "currency", "height_mm", "hours", "tier", "odd")
# So many pairs are told in words; the answer for machines has all.
_PAIRS = 12


@dataclass(frozen=True)
class Prices(words.InCurrency):
    """All prices, the lines through them, and what stands out."""

    day: date
    currency: str
    digits: int
    prices: tuple[Priced, ...] = field(repr=False)
    lines_through: tuple[Along, ...] = field(repr=False)
    tiers: tuple[OfTier, ...] = field(repr=False)
    pairs: tuple[Alike, ...] = field(repr=False)

    @property
    def total(self) -> Decimal:
        """The sum of all prices."""
        return sum((price.price for price in self.prices), Decimal(0))

    @property
    def stands_out(self) -> tuple[tuple[str, OddPrice], ...]:
        """Each price far from the others of its size, hours, year or tier, the farthest first."""
        found = [(of.name, one) for of in self.lines_through for one in of.odd]
        found += [(of.tier, one) for of in self.tiers for one in of.odd]
        return tuple(sorted(found, key=lambda pair: (-abs(pair[1].difference), pair[0], pair[1].one.name)))

    def as_answer(self) -> dict[str, Any]:
        return {
            **self.facts(self, "currency total"),
            "prices": [self._one(price) for price in self.prices],
            "lines": [
                {"by": of.name, "unit": of.unit, "prices": of.count,
                 **{name: of.line and self.plain(Decimal(getattr(of.line, name)))
                    for name in ("slope", "low", "high")}}
                for of in self.lines_through
            ],
            "odd": [
                {"by": by, **self.facts(one, "name:one.name price:one.price usual difference")}
                for by, one in self.stands_out
            ],
            "tiers": [self.facts(of, "tier prices:count low middle high") for of in self.tiers],
            "alike": [
                {"less": self._one(pair.less), "more": self._one(pair.more),
                 **self.facts(pair, "difference")}
                for pair in self.pairs
            ],
        }  # fmt: skip

    def _one(self, one: Priced) -> dict[str, Any]:
        hours = {} if one.hours else {"hours": None}
        return self.facts(one, "name kind on price height_mm hours tier") | hours

    def table(self) -> str:
        """Write a price a row, as CSV."""
        far = {one.one for _, one in self.stands_out}
        rows = [
            (price.name, price.title, str(price.kind), price.on.isoformat(),
             self.plain(price.price), self.currency, str(price.height_mm or ""),
             bare(price.hours) if price.hours else "", price.tier,
             "yes" if price in far else "")
            for price in self.prices
        ]  # fmt: skip
        return as_csv([HEADER, *rows])

    def lines(self) -> list[str]:
        if not self.prices:
            return ["No price is noted yet: none paid, none agreed on, none asked for."]
        said = f"{counted(len(self.prices), 'price', 'prices')}, {self.said(self.total)} together"
        return [
            f"{said}, from {self.prices[0].on} to {self.prices[-1].on}.", "",
            *(self.tells(of) for of in self.lines_through),
            *self._tiers(),
            *self._out(),
            *self._alike(),
            CAUTION,
        ]  # fmt: skip

    def tells(self, of: Along) -> str:
        """Say what a line through the prices tells."""
        if of.line is None:
            return f"By {of.name}: {counted(of.count, 'price', 'prices')}, too few or too alike for a line."
        slope, low, high = (self.said(Decimal(one)) for one in (of.line.slope, of.line.low, of.line.high))
        return (
            f"By {of.name}: {slope} more {of.unit} ({low} to {high} in 95 of 100 cases), {of.count} prices."
        )

    def _tiers(self) -> Iterator[str]:
        if self.tiers:
            head = ("tier", "prices", "lowest", "middle", "highest")
            rows = [
                (of.tier, str(of.count), *map(self.said, (of.low, of.middle, of.high))) for of in self.tiers
            ]
            yield from ("", *words.table([head, *rows]))

    def _out(self) -> Iterator[str]:
        if self.stands_out:
            yield from ("", "Far from the others:")
        for by, one in self.stands_out:
            way, of = "above" if one.difference > 0 else "below", "by" if by in MEASURES else "among"
            yield (
                f"  {one.one.title} ({one.one.kind} {one.one.on}): {self.said(one.one.price)}, "
                f"{self.said(abs(one.difference))} {way} {self.said(one.usual)}, {of} {by}"
            )

    def _alike(self) -> Iterator[str]:
        if self.pairs:
            yield from ("", "The same work, another price (size within 5 %, hours within 10 %, two years):")
        for pair in self.pairs[:_PAIRS]:
            less, more = (f"{one.title} {self.said(one.price)}" for one in (pair.less, pair.more))
            yield f"  {self.said(pair.difference)} between {less} and {more}"
        if len(self.pairs) > _PAIRS:
            yield f"  and {len(self.pairs) - _PAIRS} more pairs; --json has all"
        if self.prices:
            yield ""


def prices(studio: Studio, today: date) -> Prices:
    """Put every price of the studio beside the others."""
    settings, found = studio.settings, priced(studio, today)
    digits = settings.digits
    lines = tuple(along(found, name, digits) for name in MEASURES)
    return Prices(today, settings.currency, digits, found, lines, by_tier(found, digits), alike(found))
