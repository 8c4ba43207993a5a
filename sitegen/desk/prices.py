"""The studio's prices beside each other, for the artist's eyes only; and a change of them as it would be."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any

from sitegen.desk import find, words
from sitegen.desk.find import Sitting, read_day
from sitegen.studio import money
from sitegen.studio import prices as pricing
from sitegen.studio.asked import Fault, WishFault, ask, wish
from sitegen.studio.money import total
from sitegen.studio.order_lines import Receipt
from sitegen.studio.piece import Piece, Status
from sitegen.studio.text import counted, quoted
from sitegen.studio.whole import Studio

CAUTION = "A line through the past, not a rule; nothing is changed by looking, and no page shows any of it."
HEADER = ("name", "title", "kind", "on", "price", "currency", "height_mm", "hours", "tier", "odd")
# So many pairs are told in words; the answer for machines has all.
_PAIRS = 12


@dataclass(frozen=True)
class Prices(words.InCurrency):
    """All prices, the lines through them, and what stands out."""

    prices: tuple[pricing.Priced, ...] = field(repr=False)
    lines_through: tuple[pricing.Along, ...] = field(repr=False)
    tiers: tuple[pricing.OfTier, ...] = field(repr=False)
    pairs: tuple[pricing.Alike, ...] = field(repr=False)

    @property
    def total(self) -> Decimal:
        return total(price.price for price in self.prices)

    @property
    def stands_out(self) -> tuple[tuple[str, pricing.OddPrice], ...]:
        """Each price far from the others of its size, hours, year or tier, the farthest first."""
        found = [(of.name, odd_one) for of in self.lines_through for odd_one in of.odd]
        found += [(of.tier, odd_one) for of in self.tiers for odd_one in of.odd]
        return tuple(sorted(found, key=lambda pair: (-abs(pair[1].difference), pair[0], pair[1].one.name)))

    @property
    def farthest(self) -> list[tuple[tuple[str, pricing.OddPrice], list[str]]]:
        """Each price that stands out once, where it lies farthest, and what else it is far from."""
        found: dict[pricing.Priced, list[tuple[str, pricing.OddPrice]]] = {}
        for by, odd_one in self.stands_out:
            found.setdefault(odd_one.one, []).append((by, odd_one))
        return [(odd_one, [by for by, _ in others]) for odd_one, *others in found.values()]

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
                {"by": by, **self.facts(odd_one, "name:one.name price:one.price usual difference")}
                for by, odd_one in self.stands_out
            ],
            "tiers": [self.facts(of, "tier prices:count low middle high") for of in self.tiers],
            "alike": [
                {"less": self._one(pair.less), "more": self._one(pair.more),
                 **self.facts(pair, "difference")}
                for pair in self.pairs
            ],
        }  # fmt: skip

    def _one(self, sale: pricing.Priced) -> dict[str, Any]:
        hours = {} if sale.hours else {"hours": None}
        return self.facts(sale, "name kind on price height_mm hours tier") | hours

    def table(self) -> str:
        """Write a price a row, as CSV."""
        far = {odd_one.one for _, odd_one in self.stands_out}
        rows = [
            self._one(sale)
            | {"title": sale.title, "currency": self.currency, "odd": "yes" if sale in far else ""}
            for sale in self.prices
        ]
        return words.as_rows(HEADER, rows)

    def lines(self) -> list[str]:
        if not self.prices:
            return ["No price is noted yet: none paid, none agreed on, none asked for."]
        said = f"{counted(len(self.prices), 'price', 'prices')}, {self.said(self.total)} together"
        head = ("tier", "prices", "lowest", "middle", "highest")
        tiers = [(of.tier, str(of.count), *map(self.said, (of.low, of.middle, of.high))) for of in self.tiers]
        return [
            f"{said}, from {self.prices[0].on} to {self.prices[-1].on}.", "",
            *(self.tells(of) for of in self.lines_through),
            *(["", *words.table([head, *tiers])] if tiers else []),
            *self._out(),
            *self._alike(),
            "",
            CAUTION,
        ]  # fmt: skip

    def tells(self, of: pricing.Along) -> str:
        """Say what a line through the prices tells."""
        if of.line is None:
            return f"By {of.name}: {counted(of.count, 'price', 'prices')}, too few or too alike for a line."
        slope, low, high = (self.said(Decimal(one)) for one in (of.line.slope, of.line.low, of.line.high))
        return (
            f"By {of.name}: {slope} more {of.unit} ({low} to {high} in 95 of 100 cases), {of.count} prices."
        )

    def _out(self) -> Iterator[str]:
        if self.stands_out:
            yield from ("", "Far from the others:")
        for (by, one), others in self.farthest:
            way, *also = "above" if one.difference > 0 else "below", *map(_held_against, others)
            yield (
                f"  {one.one.title} ({one.one.kind} {one.one.on}): {self.said(one.one.price)}, "
                f"{self.said(abs(one.difference))} {way} {self.said(one.usual)}, {_held_against(by)}"
                + f"; far also {words.listed(also)}"
                * bool(also)
            )

    def _alike(self) -> Iterator[str]:
        if self.pairs:
            yield from ("", "The same work, another price (size within 5%, hours within 10%, two years):")
        for pair in self.pairs[:_PAIRS]:
            less, more = (f"{sale.title} {self.said(sale.price)}" for sale in (pair.less, pair.more))
            yield f"  {self.said(pair.difference)} between {less} and {more}"
        if len(self.pairs) > _PAIRS:
            yield f"  and {len(self.pairs) - _PAIRS} more pairs; --json has all"


def _held_against(by: str) -> str:
    return f"by {by}" if by in pricing.MEASURES else f"among {by}"


def prices(studio: Studio, today: date) -> Prices:
    """Put every price of the studio beside the others."""
    settings, found = studio.settings, pricing.priced(studio, today)
    lines = tuple(pricing.along(found, name, settings.digits) for name in pricing.MEASURES)
    tiers, pairs = pricing.by_tier(found, settings.digits), pricing.alike(found)
    return Prices(settings.currency, settings.digits, found, lines, tiers, pairs)


# What is agreed on is kept: an agreement binds both sides nearly everywhere (common practice, no source).
HOLDS = "What was offered or agreed on keeps its price; check local rules before you change one."


@wish
class Reprice:
    slugs: tuple[str, ...] = ask(default=(), word=True, like="[SLUG…]")
    by: str | None = ask("By so many per cent at each step: 5%, or -10%.", default=None, like="PERCENT")
    to: str | None = ask("Or to that price, of one piece.", default=None, like="AMOUNT")
    tiers: bool = ask("The tiers' prices too.", default=False)
    on: tuple[str, ...] = ask("The day of a step, once a step; without it, today.", default=(), like="DATE")
    nearest: str | None = ask("Round to the nearest of that, like 10.", default=None, like="AMOUNT")

    def __post_init__(self) -> None:
        if self.by is not None and self.to is not None:
            raise WishFault("say either --by PERCENT or, for one piece, --to AMOUNT")
        if self.is_kept and (self.on or self.nearest or self.tiers):
            raise WishFault("say by how much: --by PERCENT or, for one piece, --to AMOUNT")
        if self.to is not None and (len(self.slugs) != 1 or self.tiers or len(self.on) > 1):
            raise WishFault("--to is for one piece, named, and one day")

    @property
    def is_kept(self) -> bool:
        """Whether what was kept for today is meant, and not a new change."""
        return self.by is None and self.to is None


@dataclass(frozen=True)
class Rise(words.InCurrency):
    """Prices as they would be."""

    day: date
    days: tuple[date, ...]
    prices: tuple[pricing.Rising, ...] = field(repr=False)
    quotes: tuple[pricing.Quote, ...] = field(repr=False)
    set_today: tuple[str, ...] = ()  # names of those whose price was set today already, and stays

    @property
    def is_due(self) -> bool:
        """Whether a price changes today."""
        return self.days[0] == self.day and bool(self.prices)

    def as_answer(self) -> dict[str, Any]:
        return {
            **self.facts(self, "currency days set_today due:is_due"),
            "prices": [self.facts(price, "name now then:steps") for price in self.prices],
            "quotes": [self.facts(quote, "name price why") for quote in self.quotes],
        }

    def lines(self) -> list[str]:
        def bare_of(amount: Decimal) -> str:
            return self.said(amount).removesuffix(self.currency).strip()

        head = (self.currency, "now", *map(str, self.days))
        rows = [(price.title, *map(bare_of, (price.now, *price.steps))) for price in self.prices]
        lines = words.table([head, *rows]) if rows else []
        lines += [f"{name}: its price was set today already, and stays." for name in self.set_today]
        if self.quotes:
            lines += ["", "Older quotes that hold:", *map(self._quote, self.quotes), HOLDS]
        if later := [str(day) for day in self.days if day > self.day]:
            kept = f"What is to hold from {words.listed(later)} is kept; `today` reminds you then."
            lines.append(f"{kept} No price changes by itself.")
        new = "The site says the new prices once it's built, a letter once it's made anew."
        return [*lines, *[new] * self.is_due]

    def _quote(self, quote_: pricing.Quote) -> str:
        price = self.said(quote_.price) if quote_.price is not None else "no sum noted"
        return f"  {quote_.name}{f', {quote_.who}' if quote_.who else ''}: {price}, {quote_.why}"


def rise(sitting: Sitting, asked: Reprice, told: Iterable[pricing.Quote] = ()) -> Rise:
    """Work out prices as they would be. Raises Fault for what can't be priced, and days behind.

    `told` are the prices that readers of letters were told.
    """
    studio, settings, today = sitting.studio, sitting.studio.settings, sitting.today
    days = sorted({day for text in asked.on if (day := read_day(text, "--on"))}) or [today]
    if days[0] < today:
        raise Fault(f"--on {days[0]} lies behind; prices change from today on, or later")
    found, stays = (_due(sitting, asked), {}) if asked.is_kept else _risen(sitting, asked, days)
    if none := next((rising for rising in found if min(rising.steps) <= 0), None):
        raise Fault(f"{none.title} would cost nothing; change it by less, or round to a smaller sum")
    then = {rising.name: rising.steps[0] for rising in found} | stays
    letters = (quote_ for quote_ in told if quote_.name in then and quote_.price != then[quote_.name])
    tiers = asked.tiers or any(rising.is_tier for rising in found)
    quotes = (*pricing.older_quotes(studio, asked.slugs, today, tiers=tiers), *letters)
    names = {piece.slug: piece.title for piece in studio.pieces}
    stay = tuple(names.get(name, name) for name in stays)
    return Rise(settings.currency, settings.digits, today, tuple(days), tuple(found), quotes, stay)


def _due(sitting: Sitting, asked: Reprice) -> list[pricing.Rising]:
    """Return the steps that were kept and are due. Raises Fault for none."""
    named = {piece.slug for piece in _pieces(sitting, asked)} if asked.slugs else None
    due = [rising for _, rising in pricing.due_steps(sitting.studio, sitting.today)]
    if found := [rising for rising in due if named is None or rising.name in named]:
        return found
    raise Fault("no step of a price is due; say by how much: --by PERCENT or, for one piece, --to AMOUNT")


def _risen(
    sitting: Sitting, asked: Reprice, days: Sequence[date]
) -> tuple[list[pricing.Rising], dict[str, Decimal]]:
    """Work out each price after each step, and what was set today already and stays."""
    coin, today = money.unit(sitting.studio.settings.digits), sitting.today
    nearest = coin if asked.nearest is None else max(sitting.amount(asked.nearest), coin)
    percent = _percent(asked.by) if asked.by is not None else Decimal(0)
    tiers = sitting.studio.commissions.tiers if asked.tiers else ()
    found, stays = [], dict[str, Decimal]()
    for rising in pricing.as_they_are(_pieces(sitting, asked), tiers):
        price = rising.now
        if rising.since == days[0]:  # its step of today was written before, and those after it begin at that
            stays[rising.name] = price
            steps = (price, *pricing.stepped(price, percent, nearest, len(days) - 1))
        elif asked.to is not None:
            steps = (sitting.amount(asked.to),)
        else:
            steps = pricing.stepped(price, percent, nearest, len(days))
        kept = tuple(step for step in rising.later if step.on > today)
        dated = zip(days, steps, strict=True)
        later = tuple(Receipt(on=on, amount=sum_) for on, sum_ in dated if on > today) or kept
        if rising.name not in stays or later != kept:
            found.append(replace(rising, steps=steps, later=later))
    return found, stays


def _pieces(sitting: Sitting, asked: Reprice) -> list[Piece]:
    """Return the pieces named, or all that are available."""
    if not asked.slugs:
        return [piece for piece in sitting.studio.pieces if piece.status.offered and piece.price]
    found = [find.piece(sitting.studio, slug) for slug in dict.fromkeys(asked.slugs)]
    for piece in found:
        if piece.status is not Status.AVAILABLE:
            kept = "; whoever it's kept for was told its price" if piece.status is Status.ON_HOLD else ""
            raise Fault(f"{piece.slug} is {piece.status}{kept}. Only what is available has a price to change")
        if piece.price is None:
            raise Fault(f"{piece.slug} has no price yet; write it into its piece.yaml")
    return found


def _percent(text: str) -> Decimal:
    number = text.strip().removesuffix("%").strip()
    if not re.fullmatch(r"[+-]?[0-9]{1,3}(\.[0-9]{1,2})?", number) or not -90 <= Decimal(number) <= 900:
        raise Fault(f"--by {quoted(text)} is no percentage from -90% to 900%; write it like 5% or -10%")
    if not Decimal(number):
        raise Fault("--by 0% changes nothing")
    return Decimal(number)
