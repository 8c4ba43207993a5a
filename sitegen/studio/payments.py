"""Say how a payment plan stands, and what's kept and returned when it's called off.

Payments fill the parts in order, oldest first, whatever they were meant for. A part is `paid` when
filled, `to come` before its due day, `due` from that day through the days of grace, and `late` after.
A piece ships when the balance is nothing, not before.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from sitegen.studio import money
from sitegen.studio.order_lines import Receipt
from sitegen.studio.plan import Part, Plan
from sitegen.studio.settings import CallingOff
from sitegen.studio.text import bare


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
        return sum((part.open for part in self.overdue), Decimal(0))

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
        return sum((part.open for part in self.late_parts), Decimal(0))

    @property
    def is_late(self) -> bool:
        """Say whether any part is past its days of grace."""
        return bool(self.late_parts)


def state(plan: Plan, payments: Sequence[Receipt], today: date) -> PlanState:
    """Work out how a plan stands today; payments dated later don't count yet."""
    paid = sum((payment.amount for payment in payments if payment.on <= today), Decimal(0))
    parts, before = [], Decimal(0)
    for part in plan.parts:
        filled = min(max(paid - before, Decimal(0)), part.amount)
        parts.append(_part_state(part, filled, plan.grace_days, today))
        before += part.amount
    return PlanState(tuple(parts), paid, balance=plan.total - paid)


def _part_state(part: Part, paid: Decimal, grace_days: int, today: date) -> PartState:
    late_days = 0
    if paid >= part.amount:
        standing = Standing.PAID
    elif today < part.due:
        standing = Standing.TO_COME
    elif today <= part.due + timedelta(days=grace_days):
        standing = Standing.DUE
    else:
        standing = Standing.LATE
        late_days = (today - part.due).days
    return PartState(part, paid, standing, late_days)


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
    due, why = _due_on_calling_off(plan, on, by, work_done, terms)
    kept = max(min(paid, due), Decimal(0))
    claimed = due - kept if terms.claim_missing else Decimal(0)
    return Settlement(paid, kept, paid - kept, claimed, why)


def _due_on_calling_off(
    plan: Plan, on: date, by: CalledOffBy, work_done: Decimal, terms: CallingOff
) -> tuple[Decimal, str]:
    if by is CalledOffBy.MAKER:
        return Decimal(0), "the maker calls off, so everything paid is returned"
    start = plan.parts[0].anchor
    if terms.free_days and on <= start + timedelta(days=terms.free_days):
        return Decimal(0), f"called off within {terms.free_days} days, so everything paid is returned"
    deposit = plan.deposit if terms.keep_deposit else Decimal(0)
    work = money.round_half_up(plan.price * work_done, plan.digits) if terms.charge_work else Decimal(0)
    if not max(deposit, work):
        return Decimal(0), "the terms keep nothing, so everything paid is returned"
    if work > deposit:
        percent = bare(work_done * 100)
        return work, f"{percent} % of the work is done, which is {work} of the price"
    return deposit, f"the deposit of {deposit} is kept, as the terms say"
