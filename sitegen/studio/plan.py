"""Lay out a payment plan: a deposit and monthly instalments, exact to the smallest coin.

The rules, in the order they're applied:
1. The price's band says how many instalments there are, unless a number is asked for.
2. The deposit is a percentage (half a coin rounded up) or an amount; the rest is split evenly. The odd
   coins go to the first instalments, or to the last if the terms say so.
3. The deposit is due on the start day, instalment n in the n-th month after it. Dates are anchored: each
   counts from the start day, so a plan from 31 January goes 28 February, 31 March. Without a deposit the
   first instalment is due on the start day.
4. A date on a weekend stays or moves to Monday, by the terms; the next month counts from the anchor again.
5. No part is zero or smaller than the terms' smallest part; such a plan is refused.
"""

import calendar
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise
from typing import Annotated

from pydantic import Field

from sitegen.studio import money
from sitegen.studio.fields import Count, Entry, Money, typed_amount
from sitegen.studio.text import short

# Common practice in the trade, no source: three months.
USUAL_INSTALMENTS = 3
# 12 CFR 1026.2(a)(17)(i): more than this many, the down payment not counted, may make a creditor.
CREDIT_FREE_INSTALMENTS = 4
MOST_INSTALMENTS = 60

CREDIT_CAUTION = (
    "In the United States, whoever regularly (more than 25 times in a calendar year) lets consumers pay in "
    "more than four instalments besides the deposit, or takes a charge for paying later, may count as a "
    "creditor with duties of disclosure (12 CFR 1026.2(a)(17)(i) and (v)); other countries have rules of "
    "their own. Whether paying ahead for a piece is credit at all is a legal question. This is no legal "
    "advice: ask a licensed professional before offering this plan."
)


class Weekend(StrEnum):
    """What happens to a due date on a Saturday or Sunday."""

    KEEP = "keep"
    NEXT_WEEKDAY = "next weekday"


class PartKind(StrEnum):
    """What a part of the plan is."""

    DEPOSIT = "deposit"
    INSTALMENT = "instalment"


@dataclass(frozen=True)
class Deposit:
    """What's paid first: a percentage of the price or a fixed amount."""

    percent: Decimal | None = None  # 0 to 100; wins over `amount`
    amount: Decimal = Decimal(0)

    def of(self, price: Decimal, digits: int) -> Decimal:
        """Work out the deposit on a price."""
        return self.amount if self.percent is None else money.share(price, self.percent, digits)


class Band(Entry):
    """How many instalments a price gets."""

    instalments: Count = Field(examples=["3"])
    up_to: Money | None = None
    """Highest price of this band; the last band may leave it out."""


@dataclass(frozen=True)
class PlanTerms:
    """The studio's terms of payment."""

    deposit: Deposit = Deposit(percent=Decimal(30))
    bands: tuple[Band, ...] = field(
        default_factory=lambda: (Band(instalments=USUAL_INSTALMENTS),)
    )  # dearest last
    weekend: Weekend = Weekend.KEEP
    largest_last: bool = False  # odd coins go to the last instalments instead of the first
    smallest_part: Decimal = Decimal(0)  # no deposit or instalment may be below this
    grace_days: int = 7  # a part is late once more than this many days have gone by


@dataclass(frozen=True)
class Part:
    """One payment of a plan."""

    kind: PartKind
    anchor: date  # the day counted from the start
    due: date  # the same, moved off a weekend if the terms say so
    amount: Decimal


@dataclass(frozen=True)
class Plan:
    """A payment plan: its parts sum to price and charge exactly."""

    price: Decimal
    charge: Decimal
    digits: int  # after the point, in the plan's currency
    grace_days: int
    parts: tuple[Part, ...]
    warnings: tuple[str, ...]

    @property
    def total(self) -> Decimal:
        """Everything the client pays."""
        return self.price + self.charge

    @property
    def deposit(self) -> Decimal:
        """The deposit, 0 if there's none."""
        return sum((part.amount for part in self.parts if part.kind is PartKind.DEPOSIT), Decimal(0))


def read_deposit(text: str, digits: int) -> Deposit:
    """Read `30%` or an amount.

    Raises ValueError with a sentence for anything else.
    """
    written = text.strip()
    if not written.endswith("%"):
        return Deposit(amount=money.read_amount(written, digits))
    try:
        percent = money.read_amount(written[:-1], 4)
    except ValueError:
        raise ValueError(
            f'deposit "{short(text)}" is no percentage; write digits and the sign, as 30%'
        ) from None
    if percent > 100:
        raise ValueError(f'deposit "{short(text)}" is more than the whole price; write 100% or less')
    return Deposit(percent=percent)


def instalments_for(price: Decimal, bands: Sequence[Band]) -> int:
    """Find how many instalments a price gets: the first band it fits into, cheapest first.

    No bands at all means the usual number. Raises ValueError for bands out of order or a price above all.
    """
    if not bands:
        return USUAL_INSTALMENTS
    limits = [band.up_to for band in bands[:-1]]
    if None in limits:
        raise ValueError("a price band without a highest price must be the last one")
    ordered = [limit for limit in [*limits, bands[-1].up_to] if limit is not None]
    if any(low >= high for low, high in pairwise(ordered)):
        raise ValueError("price bands must go from cheap to dear, each up_to higher than the one before")
    for band in bands:
        if band.up_to is None or price <= band.up_to:
            return band.instalments
    raise ValueError(f"no price band reaches {price}; leave up_to out of the last band")


def months_after(start: date, months: int) -> date:
    """Step whole months from an anchor; a day the month lacks becomes its last day.

    Raises ValueError past the year 9999.
    """
    years, month = divmod(start.month - 1 + months, 12)
    year = start.year + years
    if year > date.max.year:
        raise ValueError(f"the plan would run past the year {date.max.year}")
    return date(year, month + 1, min(start.day, calendar.monthrange(year, month + 1)[1]))


def off_weekend(day: date, rule: Weekend) -> date:
    """Move a Saturday or Sunday to the Monday after it, if the rule says so."""
    if rule is Weekend.KEEP or day.weekday() < 5:
        return day
    return day + timedelta(days=7 - day.weekday())


def make(
    price: Decimal,
    start: date,
    digits: int,
    terms: PlanTerms,
    instalments: int | None = None,
    charge: Decimal = Decimal(0),
) -> Plan:
    """Lay out a plan for `price` from the day `start`.

    `instalments` overrules the price band. A `charge` for paying later is spread with the price.
    Raises ValueError for a price that's none, a deposit above it, or parts that are too small.
    """
    if price <= 0:
        raise ValueError(f"a plan for {price} has nothing to pay; the price must be above zero")
    if charge < 0:
        raise ValueError(f"a charge of {charge} is below zero; write a discount into the price instead")
    count = instalments_for(price, terms.bands) if instalments is None else instalments
    deposit = terms.deposit.of(price, digits)
    amounts = _amounts(price + charge, deposit, count, digits, terms)
    anchors = [months_after(start, place) for place in range(len(amounts))]
    return Plan(
        price=price,
        charge=charge,
        digits=digits,
        grace_days=terms.grace_days,
        parts=tuple(
            Part(kind, anchor, off_weekend(anchor, terms.weekend), amount)
            for anchor, (kind, amount) in zip(anchors, amounts, strict=True)
        ),
        warnings=_warnings(count, charge),
    )


def _amounts(
    total: Decimal, deposit: Decimal, count: int, digits: int, terms: PlanTerms
) -> list[tuple[PartKind, Decimal]]:
    """Split what's to pay into deposit and instalments, and refuse what the terms don't allow."""
    if not 0 <= count <= MOST_INSTALMENTS:
        raise ValueError(f"{count} instalments are out of range; write a number from 1 to {MOST_INSTALMENTS}")
    if not 0 <= deposit <= total:
        raise ValueError(f"the deposit of {deposit} is not between 0 and the price of {total}")
    rest = total - deposit
    if rest and not count:
        raise ValueError(f"{rest} is left after the deposit; a plan needs at least one instalment for it")
    shares = money.split(rest, count, digits) if count else ()
    shares = shares[::-1] if terms.largest_last else shares
    parts = [(PartKind.DEPOSIT, deposit)] if deposit else []
    parts += [(PartKind.INSTALMENT, share) for share in shares]
    _check_smallest(parts, rest, digits, terms.smallest_part)
    return parts


def _check_smallest(
    parts: Sequence[tuple[PartKind, Decimal]], rest: Decimal, digits: int, smallest: Decimal
) -> None:
    """Refuse a part of nothing or below the terms' smallest, and say how many instalments would do."""
    floor = max(smallest, money.unit(digits))
    for kind, amount in parts:
        if amount >= floor:
            continue
        if kind is PartKind.DEPOSIT:
            raise ValueError(f"the deposit of {amount} is below the smallest part of {floor}")
        most = int(rest / floor)
        cure = f"{most} at most" if most else "none can be made"
        raise ValueError(
            f"an instalment would be {amount}, below the smallest part of {floor}; "
            f"of {rest} left after the deposit, {cure}"
        )


def _warnings(count: int, charge: Decimal) -> tuple[str, ...]:
    reasons = []
    if count > CREDIT_FREE_INSTALMENTS:
        reasons.append(f"This plan has {count} instalments besides the deposit.")
    if charge:
        reasons.append(f"This plan carries a charge of {charge} for paying later.")
    return (" ".join([*reasons, CREDIT_CAUTION]),) if reasons else ()


def _read_deposit_text(text: str, digits: int) -> str:
    if text.strip():
        read_deposit(text, digits)
    return text.strip()


DepositText = Annotated[str, typed_amount(_read_deposit_text)]
"""Kept as typed, once it can be read; empty where nothing is said."""
