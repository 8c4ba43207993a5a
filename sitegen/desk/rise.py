"""A change of prices as it would be: which, from which day, and whose older quote holds."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from sitegen.desk import find, words
from sitegen.desk.find import Sitting, read_day
from sitegen.studio import money
from sitegen.studio.fault import Fault
from sitegen.studio.piece import Piece, Status
from sitegen.studio.rise import Quote, Rising, older_quotes, stepped
from sitegen.studio.text import quoted
from sitegen.studio.wish import WishFault, ask, wish

# What is agreed on is kept: an agreement binds both sides nearly everywhere (common practice, no source).
HOLDS = "What was offered or agreed on keeps its price; check local rules before you change one."


@wish
class Reprice:
    """Which prices change, by how much, from which days."""

    slugs: tuple[str, ...] = ask(default=(), word=True, like="[SLUG…]")
    by: str | None = ask("By so many per cent at each step: 5%, or -10%.", default=None, like="PERCENT")
    to: str | None = ask("Or to that price, of one piece.", default=None, like="AMOUNT")
    tiers: bool = ask("The tiers' prices too.", default=False)
    on: tuple[str, ...] = ask("The day of a step, once a step; without it, today.", default=(), like="DATE")
    nearest: str | None = ask("Round to the nearest of that, like 10.", default=None, like="AMOUNT")

    def __post_init__(self) -> None:
        if (self.by is None) == (self.to is None):
            raise WishFault("say either --by PERCENT or, for one piece, --to AMOUNT")
        if self.to is not None and (len(self.slugs) != 1 or self.tiers or len(self.on) > 1):
            raise WishFault("--to is for one piece, named, and one day")


@dataclass(frozen=True)
class Rise(words.InCurrency):
    """Prices as they would be."""

    day: date
    currency: str
    digits: int
    days: tuple[date, ...]
    prices: tuple[Rising, ...] = field(repr=False)
    quotes: tuple[Quote, ...] = field(repr=False)
    set_today: tuple[str, ...] = ()  # names of those whose price was set today already, and stays

    @property
    def is_due(self) -> bool:
        """Whether there's something to write today."""
        return self.days[0] == self.day and bool(self.prices)

    def as_answer(self) -> dict[str, Any]:
        return {
            **self.facts(self, "currency days set_today due:is_due"),
            "prices": [self.facts(price, "name now then:steps") for price in self.prices],
            "quotes": [self.facts(quote, "name price why") for quote in self.quotes],
        }

    def _bare(self, amount: Decimal) -> str:
        return self.said(amount).removesuffix(self.currency).strip()

    def lines(self) -> list[str]:
        return [*self._prices(), *self._quotes(), *self._when()]

    def _prices(self) -> Iterator[str]:
        if self.prices:
            head = (self.currency, "now", *map(str, self.days))
            rows = [(price.title, *map(self._bare, (price.now, *price.steps))) for price in self.prices]
            yield from words.table([head, *rows])
        for name in self.set_today:
            yield f"{name}: its price was set today already, and stays."

    def _quotes(self) -> Iterator[str]:
        if self.quotes:
            yield from ("", "Older quotes that hold:")
        for quote in self.quotes:
            price = self.said(quote.price) if quote.price is not None else "no sum noted"
            yield f"  {quote.name}{f', {quote.who}' if quote.who else ''}: {price}, {quote.why}"
        if self.quotes:
            yield HOLDS

    def _when(self) -> Iterator[str]:
        later = [day for day in self.days if day > self.day]
        if later:
            yield f"Nothing is written for {words.listed(list(map(str, later)))} yet; say it on the day."
        if self.is_due:
            yield "The site says the new prices once it's built, a letter once it's made anew."


def rise(sitting: Sitting, asked: Reprice) -> Rise:
    """Work out prices as they would be. Raises Fault for what can't be priced, and days behind."""
    studio, settings, today = sitting.studio, sitting.studio.settings, sitting.today
    days = sorted({day for text in asked.on if (day := read_day(text, "--on"))}) or [today]
    if days[0] < today:
        raise Fault(f"--on {days[0]} lies behind; prices change from today on, or later")
    coin = money.unit(settings.digits)
    nearest = coin if asked.nearest is None else max(sitting.amount(asked.nearest), coin)
    percent = _percent(asked.by) if asked.by is not None else Decimal(0)
    to = sitting.amount(asked.to) if asked.to is not None else None
    of = [
        (piece.slug, piece.title, piece.price, piece.private.priced, False)
        for piece in _pieces(sitting, asked)
    ]
    of += [(one.name, one.name, one.from_price, one.private.priced, True)
           for one in (studio.commissions.tiers if asked.tiers else ())]  # fmt: skip
    found = [
        Rising(
            name, title, price, (to,) if to is not None else stepped(price, percent, nearest, len(days)), tier
        )
        for name, title, price, priced, tier in of
        if price is not None and priced != today
    ]
    if none := next((one for one in found if min(one.steps) <= 0), None):
        raise Fault(f"{none.title} would cost nothing; change it by less, or round to a smaller sum")
    quotes = tuple(older_quotes(studio, asked.slugs, today, tiers=asked.tiers))
    stays = tuple(title for _, title, _, priced, _ in of if priced == today)
    return Rise(today, settings.currency, settings.digits, tuple(days), tuple(found), quotes, stays)


def _pieces(sitting: Sitting, asked: Reprice) -> list[Piece]:
    """Return the pieces named, or all that are available."""
    if not asked.slugs:
        return [piece for piece in sitting.studio.pieces if piece.status.offered and piece.price]
    found = [find.piece(sitting.studio, slug) for slug in dict.fromkeys(asked.slugs)]
    for one in found:
        if one.status is not Status.AVAILABLE:
            kept = "; whoever it's kept for was told its price" if one.status is Status.ON_HOLD else ""
            raise Fault(f"{one.slug} is {one.status}{kept}. Only what is available has a price to change")
        if one.price is None:
            raise Fault(f"{one.slug} has no price yet; write it into its piece.yaml")
    return found


def _percent(text: str) -> Decimal:
    number = text.strip().removesuffix("%").strip()
    if not re.fullmatch(r"[+-]?[0-9]{1,3}(\.[0-9]{1,2})?", number) or not -90 <= Decimal(number) <= 900:
        raise Fault(f"--by {quoted(text)} is no percentage from -90% to 900%; write it like 5% or -10%")
    if not Decimal(number):
        raise Fault("--by 0% changes nothing")
    return Decimal(number)
