"""Payment plans: a deposit and monthly instalments to the smallest coin, how they stand, and calling off.

The rules, in the order they're applied:
1. The price's band says how many instalments there are, unless a number is asked for.
2. The deposit is a percentage (half a coin rounded up) or an amount, the whole price at the most; the rest
   is split evenly. The odd coins go to the first instalments, or to the last if the terms say so. Where
   the deposit is all there is to pay, no instalment follows.
3. The deposit is due on the start day, instalment n in the n-th month after it. Dates are anchored: each
   counts from the start day, so a plan from 31 January goes 28 February, 31 March. Without a deposit the
   first instalment is due on the start day.
4. A date on a weekend stays or moves to Monday, by the terms; the next month counts from the anchor again.
5. No part is zero or smaller than the terms' smallest part; such a plan is refused.

Payments fill the parts in order, oldest first, whatever they were meant for. A part is `paid` when
filled, `to come` before its due day, `due` from that day through the days of grace, and `late` after.
A piece ships when the balance is nothing, not before.
"""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise
from typing import Annotated

from pydantic import Field

from sitegen.studio import money
from sitegen.studio.fields import Count, Days, Entry, Money, YesNo, choice, typed_in
from sitegen.studio.money import NOTHING
from sitegen.studio.order_lines import Receipt
from sitegen.studio.text import bare, short

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


def deposit_percent(text: str) -> Decimal | None:
    """Read a deposit written as `30%` of the price; None where it's an amount. Raises ValueError."""
    if not (written := text.strip()).endswith("%"):
        return None
    try:
        percent = money.read_amount(written[:-1], 4)
    except ValueError:
        fault = f'deposit "{short(text)}" is no percentage; write digits and the sign, as 30%'
        raise ValueError(fault) from None
    if percent > 100:
        raise ValueError(f'deposit "{short(text)}" is more than the whole price; write 100% or less')
    return percent


def deposit_on(text: str, price: Decimal, digits: int) -> Decimal:
    """Work out a deposit on a price. Raises ValueError for what is neither a percentage nor an amount."""
    percent = deposit_percent(text)
    return money.read_amount(text, digits) if percent is None else money.share(price, percent, digits)


def _read_deposit(text: str, digits: int) -> str:
    deposit_on(text, NOTHING, digits)
    return text.strip()


# Both are kept as typed, once they can be read; one client's may be empty, where nothing is said.
UsualDeposit = Annotated[str, typed_in("digits", _read_deposit)]
DepositText = Annotated[
    str, typed_in("digits", lambda text, digits: text.strip() and _read_deposit(text, digits))
]


class Band(Entry):
    """How many instalments a price gets."""

    instalments: Count = Field(examples=["3"])
    up_to: Money | None = None
    """Highest price of this band; the last band may leave it out."""


class CallingOff(Entry):
    """What the written terms say about calling off a commission."""

    keep_deposit: YesNo = True
    """The deposit isn't returned when the client calls off."""
    charge_work: YesNo = True
    """Work already done is charged as its share of the price."""
    claim_missing: YesNo = False
    """Work done beyond what was paid is asked for."""
    free_days: Days = 0
    """Within so many days of the start the client gets everything back."""


class PaymentPlan(Entry):
    """The studio's usual payment plan: public, since collectors are told of it."""

    deposit: UsualDeposit = Field(examples=["30%"])
    """A percentage, or an amount."""
    bands: tuple[Band, ...] = ()
    weekend: Annotated[Weekend, choice(Weekend)] = Weekend.KEEP
    """`keep`, or `next weekday` to move a due date off Saturday and Sunday."""
    largest_last: YesNo = False
    """Odd coins go to the last instalments instead of the first."""
    smallest_part: Money = NOTHING
    """No deposit or instalment may be below this."""
    grace_days: Days = 7
    """A part is late once more than so many days have gone by."""
    end_days: Days = 42
    """A plan may be ended once a part is so many days late and nobody has written."""
    refund_days: Days = 14
    """Money that goes back is sent within so many days."""
    calling_off: CallingOff = Field(default_factory=CallingOff)

    @property
    def steps(self) -> tuple[Band, ...]:
        """The bands as they hold: one for any price where none is written."""
        return self.bands or (Band(instalments=USUAL_INSTALMENTS),)

    def with_deposit(self, text: str | None) -> PaymentPlan:
        """Return the same terms with another deposit (`20%` or an amount), if one is given."""
        return self if text is None else self.model_copy(update={"deposit": text})


USUAL_TERMS = PaymentPlan(deposit="30%")
"""What holds where studio.yaml says nothing of payments."""


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
        return sum((part.amount for part in self.parts if part.kind is PartKind.DEPOSIT), NOTHING)

    @property
    def instalments(self) -> int:
        """How many parts come after the deposit."""
        return sum(1 for part in self.parts if part.kind is PartKind.INSTALMENT)


def instalments_for(price: Decimal, bands: Sequence[Band]) -> int:
    """Return the number of the first band a price fits into. Raises ValueError for none, or for odd bands."""
    if any(band.up_to is None for band in bands[:-1]):
        raise ValueError("a price band without a highest price must be the last one")
    if any(low >= high for low, high in pairwise(band.up_to for band in bands if band.up_to is not None)):
        raise ValueError("price bands must go from cheap to dear, each up_to higher than the one before")
    for band in bands:
        if band.up_to is None or price <= band.up_to:
            return band.instalments
    raise ValueError(f"no price band reaches {price}; leave up_to out of the last band")


def months_after(start: date, months: int) -> date:
    """Step whole months from an anchor; a day it lacks becomes the last. Raises ValueError past 9999."""
    years, month = divmod(start.month - 1 + months, 12)
    year = start.year + years
    if year > date.max.year:
        raise ValueError(f"the plan would run past the year {date.max.year}")
    return date(year, month + 1, min(start.day, calendar.monthrange(year, month + 1)[1]))


def off_weekend(day: date, rule: Weekend) -> date:
    """Move a Saturday or Sunday to the Monday after it, if the rule says so."""
    stays = rule is Weekend.KEEP or day.weekday() < 5
    return day if stays else day + timedelta(days=7 - day.weekday())


def make(
    price: Decimal,
    start: date,
    digits: int,
    terms: PaymentPlan,
    instalments: int | None = None,
    charge: Decimal = NOTHING,
) -> Plan:
    """Lay out a plan for `price` from the day `start`.

    `instalments` overrules the price band. A `charge` for paying later is spread with the price.
    Raises ValueError for a price that's none, or parts that are too small.
    """
    if price <= 0:
        raise ValueError(f"a plan for {price} has nothing to pay; the price must be above zero")
    count = instalments_for(price, terms.steps) if instalments is None else instalments
    deposit = min(deposit_on(terms.deposit, price, digits), price + charge)
    parts = []
    for place, (kind, amount) in enumerate(_amounts(price + charge, deposit, count, digits, terms)):
        anchor = months_after(start, place)
        parts.append(Part(kind, anchor, off_weekend(anchor, terms.weekend), amount))
    reasons = []
    if count > CREDIT_FREE_INSTALMENTS:
        reasons.append(f"This plan has {count} instalments besides the deposit.")
    if charge:
        reasons.append(f"This plan carries a charge of {charge} for paying later.")
    warnings = (" ".join([*reasons, CREDIT_CAUTION]),) if reasons else ()
    return Plan(price, charge, digits, terms.grace_days, tuple(parts), warnings)


def _amounts(
    total: Decimal, deposit: Decimal, count: int, digits: int, terms: PaymentPlan
) -> list[tuple[PartKind, Decimal]]:
    """Split what's to pay into deposit and instalments, and refuse what the terms don't allow."""
    if not 0 <= count <= MOST_INSTALMENTS:
        raise ValueError(f"{count} instalments are out of range; write a number from 1 to {MOST_INSTALMENTS}")
    rest = total - deposit
    if rest and not count:
        raise ValueError(f"{rest} is left after the deposit; a plan needs at least one instalment for it")
    floor = max(terms.smallest_part, money.unit(digits))
    if deposit and deposit < floor:
        raise ValueError(f"the deposit of {deposit} is below the smallest part of {floor}")
    shares = money.split(rest, count, digits)[:: -1 if terms.largest_last else 1] if count and rest else ()
    if shares and min(shares) < floor:
        most = int(rest / floor)
        cure = f"{most} at most" if most else "none can be made"
        small = f"an instalment would be {min(shares)}, below the smallest part of {floor}"
        raise ValueError(f"{small}; of {rest} left after the deposit, {cure}")
    parts = [(PartKind.DEPOSIT, deposit)] if deposit else []
    return parts + [(PartKind.INSTALMENT, share) for share in shares]


class Standing(StrEnum):
    """How one part stands today."""

    PAID = "paid"
    TO_COME = "to come"
    DUE = "due"
    LATE = "late"


@dataclass(frozen=True)
class PartState:
    """One part with what has been paid towards it."""

    part: Part
    paid: Decimal
    standing: Standing
    late_days: int  # days since the due day for a late part, else 0

    @property
    def open(self) -> Decimal:
        """What's still missing from this part."""
        return self.part.amount - self.paid


@dataclass(frozen=True)
class PlanState:
    """A plan as it stands on a day."""

    plan: Plan
    parts: tuple[PartState, ...]
    paid: Decimal  # everything that came in, less what went back
    balance: Decimal  # what's still to pay over the whole plan; below zero if too much was paid

    @property
    def may_ship(self) -> bool:
        """Say whether everything is paid; a piece isn't sent before."""
        return self.balance <= 0

    @property
    def owed_now(self) -> Decimal:
        """What should have been paid by today and wasn't."""
        return sum((part.open for part in self.overdue), NOTHING)

    @property
    def overdue(self) -> tuple[PartState, ...]:
        """The parts that should have been paid by today and weren't, or not in full."""
        return tuple(part for part in self.parts if part.standing in {Standing.DUE, Standing.LATE})

    @property
    def next_due(self) -> Part | None:
        """The first part that isn't fully paid."""
        return next((state.part for state in self.parts if state.standing is not Standing.PAID), None)

    @property
    def late_parts(self) -> tuple[PartState, ...]:
        """The parts past their days of grace; what is due and still within them is not late."""
        return tuple(part for part in self.parts if part.standing is Standing.LATE)

    @property
    def late_now(self) -> Decimal:
        """What is late of what is owed now."""
        return sum((part.open for part in self.late_parts), NOTHING)


def state(plan: Plan, payments: Sequence[Receipt], today: date) -> PlanState:
    """Work out how a plan stands today; payments dated later don't count yet."""
    paid = left = sum((payment.amount for payment in payments if payment.on <= today), NOTHING)
    parts = []
    for part in plan.parts:
        filled = min(max(left, NOTHING), part.amount)
        left -= part.amount
        standing, late_days = Standing.LATE, (today - part.due).days
        if filled >= part.amount:
            standing = Standing.PAID
        elif late_days < 0:
            standing = Standing.TO_COME
        elif late_days <= plan.grace_days:
            standing = Standing.DUE
        parts.append(PartState(part, filled, standing, late_days if standing is Standing.LATE else 0))
    return PlanState(plan, tuple(parts), paid, balance=plan.total - paid)


class CalledOffBy(StrEnum):
    """Who ends a commission before it's done."""

    CLIENT = "client"
    MAKER = "maker"


@dataclass(frozen=True)
class Settlement:
    """How the money is settled: kept + returned = paid."""

    paid: Decimal
    kept: Decimal
    returned: Decimal
    claimed: Decimal  # still asked for, on top of what was paid
    why: str  # one sentence for the letter


def call_off(
    plan: Plan, payments: Sequence[Receipt], on: date, by: CalledOffBy, work_done: Decimal, terms: CallingOff
) -> Settlement:
    """Settle a plan that's called off on a day, `work_done` being the share of the work from 0 to 1.

    If the studio calls off, or the client within the free days, everything goes back. Else the studio
    keeps the larger of the deposit (if the terms keep it) and the price times the work done (if the terms
    charge it): the deposit counts towards the work and isn't taken on top. Never more is kept than was
    paid; what's missing is claimed only if the terms say so. Money paid beyond the total always goes back.
    Raises ValueError for a share outside 0 to 1.
    """
    if not 0 <= work_done <= 1:
        raise ValueError(f"the share of the work done is {work_done}; write a number from 0 to 1")
    paid = state(plan, payments, on).paid
    deposit = plan.deposit if terms.keep_deposit else NOTHING
    work = money.round_half_up(plan.price * work_done, plan.digits) if terms.charge_work else NOTHING
    due = NOTHING
    if by is CalledOffBy.MAKER:
        why = "the maker calls off, so everything paid is returned"
    elif terms.free_days and on <= plan.parts[0].anchor + timedelta(days=terms.free_days):
        why = f"called off within {terms.free_days} days, so everything paid is returned"
    elif not max(deposit, work):
        why = "the terms keep nothing, so everything paid is returned"
    elif work > deposit:
        due, why = work, f"{bare(work_done * 100)}% of the work is done, which is {work} of the price"
    else:
        due, why = deposit, f"the deposit of {deposit} is kept, as the terms say"
    kept = max(min(paid, due), NOTHING)
    claimed = due - kept if terms.claim_missing else NOTHING
    return Settlement(paid, kept, paid - kept, claimed, why)
