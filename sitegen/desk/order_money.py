"""The money of an order: what came in and went back, what is owed, and how it is settled at an early end."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from sitegen.desk import find, words
from sitegen.desk.plan import plan_of, receipts, standing_of
from sitegen.studio.asked import Doubt, Fault, told
from sitegen.studio.commission import Commissions, Order
from sitegen.studio.delivery import refund_by
from sitegen.studio.money import NOTHING
from sitegen.studio.offers import with_order
from sitegen.studio.order_lines import Receipt, Step, in_a_line
from sitegen.studio.order_steps import ASKING, UNDER_WAY, When, moved
from sitegen.studio.piece import Piece
from sitegen.studio.plan import CalledOffBy, CallingOff, Plan, PlanState, Settlement, call_off
from sitegen.studio.purses import purse_of
from sitegen.studio.terms import current
from sitegen.studio.text import bare
from sitegen.studio.whole import Studio
from sitegen.studio.workload import hours_of, usual_hours


@dataclass(frozen=True)
class Changed:
    """One order, changed. Nothing is written yet: whoever asked hands the difference to the files."""

    order: Order
    book: Commissions  # the whole order book as it's to be
    said: tuple[str, ...] = ()  # what the artist should know, a sentence a line
    more: dict[str, Any] = field(default_factory=dict)  # further parts of the answer for machines

    def as_answer(self) -> dict[str, Any]:
        told = words.facts(self.order, "code step since") | {"moves": in_a_line(self.order.moves)}
        return {**told, **self.more, "notes": list(self.said)}

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


def stepped(order: Order, step: Step, when: When) -> Order:
    """Take a step. Raises Fault with the steps that are possible."""
    with told("commissions.yaml"):
        return moved(order, step, when)


SETTLED = frozenset({Step.SHIPPED, Step.CALLED_OFF})
"""Its purse in the books says what is still to come and what goes back."""


def refuse_unpaid(studio: Studio, order: Order, day: date) -> None:
    """Stop a piece that isn't paid in full. Raises Fault with what is owed."""
    standing = standing_of(studio, order, day)
    if standing.may_ship:
        return
    owed, paid = (studio.settings.said(amount) for amount in (standing.balance, standing.paid))
    raise Fault(
        f"commissions.yaml: {order.code} isn't paid in full: {paid} came in, {owed} is still owed. What "
        f"comes in is noted with `sitegen order paid {order.code} AMOUNT`"
    )


def over_lines(studio: Studio, order: Order, day: date) -> list[str]:
    """Say what was paid too much, if anything."""
    over = -standing_of(studio, order, day).balance
    back = f"when it has gone back: {_refund(studio, order, over)}."
    return [f"{studio.settings.said(over)} too much came in; {back}"] if over > 0 else []


def refuse_too_much(studio: Studio, order: Order, day: date) -> None:
    """Raise Doubt for a payment with which more came in than is asked for, also of an order called off."""
    off = order.step is Step.CALLED_OFF
    rest = purse_of(studio, order).rest(day) if off else standing_of(studio, order, day).balance
    if rest < 0:
        raise Doubt(f"with that, {studio.settings.said(-rest)} too much came in", "more", "it did come in")


def _refund(studio: Studio, order: Order, amount: Decimal) -> str:
    return f"`sitegen order refund {order.code} {studio.settings.plain(amount)}`"


def pay(studio: Studio, code: str, receipt: Receipt, today: date, *, again: bool = False) -> Changed:
    """Note money that came in. Raises Fault before anything is agreed, Doubt for the same line twice."""
    order, came = find.order(studio, code), studio.settings.said(receipt.amount)
    if order.step not in UNDER_WAY | SETTLED:
        raise Fault(
            f"commissions.yaml: {order.code} is {order.step.said}; money is noted once the offer is accepted "
            f"(`sitegen order move {order.code} accepted`)"
        )
    if receipt.amount <= 0:
        raise Fault(f"{came} is nothing to note; money sent back is `sitegen order refund`")
    if receipt in order.private.paid and not again:
        there = f"commissions.yaml: {order.code} has {came} on {receipt.on} already"
        raise Doubt(there, "again", "it came in twice")
    return _noted(studio, order, receipt, today)


def refund(studio: Studio, code: str, receipt: Receipt, today: date) -> Changed:
    """Note money that was sent back. Raises Fault for more than there is to send back."""
    order = find.order(studio, code)
    off = order.step is Step.CALLED_OFF
    most = purse_of(studio, order).balance(today).back if off else order.paid
    if not 0 < receipt.amount <= most:
        sum_, there = (studio.settings.said(amount) for amount in (receipt.amount, max(most, NOTHING)))
        raise Fault(f"commissions.yaml: {order.code}: {sum_} can't go back; {there} is there to return")
    return _noted(studio, order, Receipt(on=receipt.on, amount=-receipt.amount), today)


def _noted(studio: Studio, order: Order, receipt: Receipt, today: date) -> Changed:
    after = privately(order, paid=tuple(sorted([*order.private.paid, receipt], key=lambda one: one.on)))
    return changed(studio, after, tuple(money_lines(studio, after, today)))


def money_lines(studio: Studio, order: Order, day: date) -> list[str]:
    """Say how the money of an order stands."""
    if order.step in SETTLED:
        return _settled_lines(studio, order, day)
    standing, say = standing_of(studio, order, day), studio.settings.said
    said = [f"{order.code}: paid {say(standing.paid)}, still to pay {say(max(standing.balance, NOTHING))}."]
    if standing.owed_now:
        late, owed = standing.late_now, standing.owed_now
        part_of = f", {say(late)} of it late" if 0 < late < owed else ""
        said.append(f"Due by {day} and not there{', and late' * (late == owed)}: {say(owed)}{part_of}.")
        if ending := may_end(studio, standing):
            said.append(f"{ending}: `sitegen order cancel {order.code} --by client --why 'no payment'`.")
    elif (part := standing.next_due) is not None:
        said.append(f"Next is due on {part.due}: {say(part.amount)}.")
    if standing.may_ship and order.step is Step.FINISHED:
        said.append(f"It's paid in full: `sitegen order move {order.code} paid`.")
    return said + over_lines(studio, order, day)


def may_end(studio: Studio, standing: PlanState) -> str:
    """Say, without a point, that the terms let a plan be ended; nothing where they don't yet."""
    days = studio.settings.paying.end_days
    late = f"as a part is late by {days} days or more and if nobody wrote"
    ends = max(part.late_days for part in standing.parts) >= days
    return f"By your terms the plan may be ended, {late}" if ends else ""


def unsold(order: Order, made: Sequence[Piece]) -> str:
    """Say how the sale of an order that was shipped is noted with its piece."""
    slug, price = (made[0].slug if made else "PIECE"), order.private.price or 480
    first = f", without supplies; name it with its piece (`order: {order.code}` in its `private:`), then "
    return (
        f"{order.code} is shipped, but no piece says that it was sold for it, so the books count the order "
        f"itself{'; ' if made else first}`sitegen piece mark {slug} commissioned --price {price} --on "
        f"{order.day_of(Step.SHIPPED)}` notes the sale."
    )


def _settled_lines(studio: Studio, order: Order, day: date) -> list[str]:
    """Say what came of an order that was sent off or called off, and what is still to come or to go back."""
    purse = purse_of(studio, order)
    rest, say = purse.rest(day), studio.settings.said
    said = [
        f"{order.code} was called off: {say(purse.earned(day))} is kept."
        if order.step is Step.CALLED_OFF
        else f"{order.code}: paid {say(purse.received(day))}, still to pay {say(max(rest, NOTHING))}."
    ]
    if rest < 0:
        said.append(f"{say(-rest)} is still to go back; when it has: {_refund(studio, order, -rest)}.")
    elif rest and order.step is Step.CALLED_OFF:
        said.append(f"{say(rest)} is still asked for.")
    return said


def decline(studio: Studio, code: str, why: str, day: date) -> Changed:
    """Decline a request or take back an offer, with a reason for the letter. Raises Fault later on."""
    order = find.order(studio, code)
    after = privately(stepped(order, Step.DECLINED, When(day)), why=why)
    said = f"{after.code} is declined. A courteous letter for it: `sitegen order letter {after.code}`."
    return changed(studio, after, (said,))


@dataclass(frozen=True)
class Ending:
    """How an order ends early."""

    by: CalledOffBy
    day: date
    why: str = ""
    work: Decimal | None = None  # share of the work that is done, from 0 to 1; None where the step tells


def back_by(studio: Studio, ended: date) -> tuple[date, date]:
    """Return by when money goes back that isn't kept: by the artist's terms, and by the rule."""
    days = studio.settings.paying.refund_days
    return ended + timedelta(days=days), refund_by(ended)


def cancel(studio: Studio, code: str, ending: Ending) -> Changed:
    """End an order early, and settle its money by the artist's written terms. Raises Fault."""
    order = find.order(studio, code)
    if order.step in ASKING | {Step.OFFERED}:
        if ending.by is CalledOffBy.MAKER:
            return decline(studio, code, ending.why, ending.day)
        after = stepped(order, Step.WITHDRAWN, When(ending.day))
        after = privately(after, why=ending.why) if ending.why else after
        said = f"{after.code} is withdrawn; nothing was agreed, so there's no money to settle."
        return changed(studio, after, (said,))
    return _called_off(studio, order, ending)


def _called_off(studio: Studio, order: Order, ending: Ending) -> Changed:
    after = stepped(order, Step.CALLED_OFF, When(ending.day))
    plan, terms = plan_of(studio, order), studio.settings.paying.calling_off
    work = _work_done(studio, order, ending, terms)
    with told(f"commissions.yaml, {order.code}"):
        settled = call_off(plan, receipts(studio, order), ending.day, ending.by, work, terms)
    why, claimed = "; ".join(filter(None, [ending.why, settled.why])), settled.claimed or None
    after = privately(after, called_off_by=ending.by, kept=settled.kept, claimed=claimed, why=why)
    said = _settlement_lines(studio, after, settled, plan, ending)
    sums = {name: getattr(settled, name) for name in ("paid", "kept", "returned", "claimed")}
    plain = {name: studio.settings.plain(amount) for name, amount in sums.items()}
    return changed(studio, after, tuple(said), {**plain, "why": settled.why})


def _work_done(studio: Studio, order: Order, ending: Ending, terms: CallingOff) -> Decimal:
    """Return the share of the work that is done: as told, else as the step tells."""
    if ending.work is not None:
        return ending.work
    if order.step is not Step.ON_THE_BENCH:
        return Decimal(0) if order.step is Step.ACCEPTED else Decimal(1)
    if ending.by is CalledOffBy.MAKER or not terms.charge_work:
        return Decimal(0)  # makes no difference then
    done, usual = hours_of(studio, order), usual_of(studio, order, ending.day)
    hint = f"; {bare(done)} h are on record" if done else ""
    if done and usual is not None:
        share = min(Decimal(1), done / Decimal(str(usual)))
        hint += f", and a piece of this tier takes {usual:g} h on average, so about {share:.0%}"
    raise Fault(f"{order.code} is on the bench, so say how much of the work is done, as `--work 40%`{hint}")


def usual_of(studio: Studio, order: Order, today: date) -> float | None:
    """Return the hours that such a piece takes on average, if anything says so."""
    try:
        return usual_hours(studio, order.tier, today)
    except ValueError:
        return None


def _settlement_lines(
    studio: Studio, order: Order, settled: Settlement, plan: Plan, ending: Ending
) -> list[str]:
    say = studio.settings.said
    lines = [
        f"{order.code} is called off by the {ending.by}: {settled.why}.",
        f"Of the price of {say(plan.price)}, {say(settled.paid)} was paid. Kept: {say(settled.kept)}. "
        f"To be returned: {say(settled.returned)}.",
        *[f"Still asked for, by your terms: {say(settled.claimed)}."] * bool(settled.claimed),
    ]
    if settled.returned:
        until, by_rule = back_by(studio, ending.day)
        lines.append(
            f"Your terms send it back by {until}; some rules give seven working days, here until {by_rule} "
            "(so 16 CFR 435.1(b); look at those where you and your client live). "
            f"Then: {_refund(studio, order, settled.returned)}."
        )
    if order.terms is not None and order.terms.version != current(studio):
        lines.append(
            f"Careful: they accepted version {order.terms.version} of your terms, and today's aren't that "
            "text; see whether that version says otherwise."
        )
    lines.append(
        "This is the arithmetic of your own terms. The law of the place may say otherwise; no legal advice."
    )
    return lines
