"""The money of an order: what came in, what went back, what is owed before it may be sent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any

from sitegen.desk import find, words
from sitegen.desk.plan import plan_of, receipts
from sitegen.studio import money
from sitegen.studio.commission import Commissions, Order, Receipt
from sitegen.studio.fault import Fault
from sitegen.studio.offers import with_order
from sitegen.studio.order_lines import Step, write_moves
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.payments import PlanState, state
from sitegen.studio.piece import Piece
from sitegen.studio.purses import purse_of
from sitegen.studio.settings import PaymentPlan
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Changed:
    """One order, changed. Nothing is written yet: whoever asked hands the difference to the files."""

    order: Order
    book: Commissions  # the whole order book as it's to be
    said: tuple[str, ...] = ()  # what the artist should know, a sentence a line
    more: dict[str, Any] = field(default_factory=dict)  # further parts of the answer for machines

    def as_answer(self) -> dict[str, Any]:
        since = self.order.since
        return {
            "code": self.order.code,
            "step": str(self.order.step),
            "since": since.isoformat() if since else None,
            "moves": write_moves(self.order.moves),
            **self.more,
            "notes": list(self.said),
        }

    def lines(self) -> list[str]:
        return list(self.said)


def changed(
    studio: Studio, order: Order, said: tuple[str, ...], more: dict[str, Any] | None = None
) -> Changed:
    """Put an order into the book as it has become, with what is to be said of it."""
    return Changed(order, with_order(studio.commissions, order), said, more or {})


def privately(order: Order, **update: Any) -> Order:
    """Change what only the artist may know of an order."""
    return order.model_copy(update={"private": order.private.model_copy(update=update)})


_NOTHING = Decimal(0)
SETTLED = frozenset({Step.SHIPPED, Step.CALLED_OFF})
"""Its purse in the books says what is still to come and what goes back."""
USUAL_PLAN = PaymentPlan(deposit="30%")
"""What holds where studio.yaml says nothing of payments."""


def standing_of(studio: Studio, order: Order, day: date) -> PlanState:
    """Say how an order's plan stands on a day. Raises Fault if none is agreed."""
    return state(plan_of(studio, order), receipts(studio, order), day)


def refuse_unpaid(studio: Studio, order: Order, day: date) -> None:
    """Stop a piece that isn't paid in full. Raises Fault with what is owed."""
    standing = standing_of(studio, order, day)
    if standing.may_ship:
        return
    owed = words.amount(standing.balance, studio.settings)
    paid = words.amount(standing.paid, studio.settings)
    raise Fault(
        f"commissions.yaml: {order.code} isn't paid in full: {paid} came in, {owed} is still owed. What "
        f"comes in is noted with `sitegen order paid {order.code} AMOUNT`"
    )


def over_lines(studio: Studio, order: Order, day: date) -> list[str]:
    """Say what was paid too much, if anything."""
    balance = standing_of(studio, order, day).balance
    if balance >= 0:
        return []
    over = money.plain(-balance, studio.settings.digits)
    return [
        f"{words.amount(-balance, studio.settings)} too much came in; when it has gone back: "
        f"`sitegen order refund {order.code} {over}`."
    ]


def pay(studio: Studio, code: str, receipt: Receipt, today: date, *, again: bool = False) -> Changed:
    """Note money that came in. Raises Fault before anything is agreed, or for the same line twice."""
    order = find.order(studio, code)
    if order.step not in UNDER_WAY | {Step.SHIPPED, Step.CALLED_OFF}:
        raise Fault(
            f"commissions.yaml: {order.code} is {order.step}; money is noted once the offer is accepted "
            f"(`sitegen order move {order.code} accepted`)"
        )
    if receipt.amount <= 0:
        raise Fault(f"{receipt.amount} is nothing to note; money sent back is `sitegen order refund`")
    if receipt in order.private.paid and not again:
        raise Fault(
            f"commissions.yaml: {order.code} has {receipt.amount} on {receipt.on} already; add --again if "
            "it came in twice"
        )
    return _noted(studio, order, receipt, today)


def refund(studio: Studio, code: str, receipt: Receipt, today: date) -> Changed:
    """Note money that was sent back. Raises Fault for more than there is to send back."""
    order = find.order(studio, code)
    had = order.paid
    most = purse_of(studio, order).balance(today).back if order.step is Step.CALLED_OFF else had
    if not 0 < receipt.amount <= most:
        most = max(most, _NOTHING)
        sums = [words.amount(one, studio.settings) for one in (receipt.amount, most)]
        raise Fault(f"commissions.yaml: {order.code}: {sums[0]} can't go back; {sums[1]} is there to return")
    return _noted(studio, order, Receipt(on=receipt.on, amount=-receipt.amount), today)


def _noted(studio: Studio, order: Order, receipt: Receipt, today: date) -> Changed:
    paid = tuple(sorted([*order.private.paid, receipt], key=lambda one: one.on))
    after = privately(order, paid=paid)
    return changed(studio, after, tuple(money_lines(studio, after, today)))


def money_lines(studio: Studio, order: Order, day: date) -> list[str]:
    """Say how the money of an order stands."""
    if order.step in SETTLED:
        return _settled_lines(studio, order, day)
    standing = standing_of(studio, order, day)
    said = [
        f"{order.code}: paid {words.amount(standing.paid, studio.settings)}, still to pay "
        f"{words.amount(max(standing.balance, _NOTHING), studio.settings)}."
    ]
    if standing.owed_now:
        late = ", and late" if standing.is_late else ""
        said.append(f"Due by {day} and not there{late}: {words.amount(standing.owed_now, studio.settings)}.")
        said += _ending_lines(studio, order, standing)
    elif (part := standing.next_due) is not None:
        said.append(f"Next is due on {part.due}: {words.amount(part.amount, studio.settings)}.")
    if standing.may_ship and order.step is Step.FINISHED:
        said.append(f"It's paid in full: `sitegen order move {order.code} paid`.")
    return said + over_lines(studio, order, day)


def _ending_lines(studio: Studio, order: Order, standing: PlanState) -> list[str]:
    """Say when the studio's terms let a plan be ended because nothing comes."""
    days = (studio.settings.payment_plan or USUAL_PLAN).end_days
    if max(part.late_days for part in standing.parts) < days:
        return []
    return [
        f"By your terms the plan may be ended, as a part is late by {days} days or more and if nobody wrote: "
        f"`sitegen order cancel {order.code} --by client --why 'no payment'`."
    ]


def unsold(order: Order, made: Sequence[Piece]) -> str:
    """Say how the sale of an order that was shipped is noted with its piece."""
    slug, price = (made[0].slug if made else "PIECE"), order.private.price or 480
    without, first = "", ""
    if not made:
        without = ", without supplies"
        first = f"write `order: {order.code}` into the `private:` of its piece, then "
    return (
        f"{order.code} is shipped, but no piece says that it was sold for it, so the books count the order "
        f"itself{without}; {first}`sitegen piece mark {slug} commissioned --price {price} --on "
        f"{order.day_of(Step.SHIPPED)}` notes the sale."
    )


def _settled_lines(studio: Studio, order: Order, day: date) -> list[str]:
    """Say what came of an order that was sent off or called off, and what is still to come or to go back."""
    purse = purse_of(studio, order)
    rest, say = purse.rest(day), partial(words.amount, settings=studio.settings)
    said = [
        f"{order.code} was called off: {say(purse.earned(day))} is kept."
        if order.step is Step.CALLED_OFF
        else f"{order.code}: paid {say(purse.received(day))}, still to pay {say(max(rest, _NOTHING))}."
    ]
    if rest < 0:
        back = money.plain(-rest, studio.settings.digits)
        said.append(
            f"{say(-rest)} is still to go back; when it has: `sitegen order refund {order.code} {back}`."
        )
    elif rest and order.step is Step.CALLED_OFF:
        said.append(f"{say(rest)} is still asked for.")
    return said
