"""End an order early: decline it, let it be withdrawn, or settle its money by the artist's written terms."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from sitegen.desk import find, words
from sitegen.desk.order_money import USUAL_PLAN, Changed, changed, privately
from sitegen.desk.plan import plan_of, receipts
from sitegen.studio import money
from sitegen.studio.commission import Order
from sitegen.studio.delivery import refund_by
from sitegen.studio.fault import Fault, told
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ASKING, When, moved
from sitegen.studio.payments import CalledOffBy, Settlement, call_off
from sitegen.studio.plan import Plan
from sitegen.studio.settings import calling_off
from sitegen.studio.terms import current
from sitegen.studio.text import bare
from sitegen.studio.whole import Studio
from sitegen.studio.workload import hours_of, usual_hours


def decline(studio: Studio, code: str, why: str, day: date) -> Changed:
    """Decline a request or take back an offer, with a reason for the letter. Raises Fault later on."""
    order = find.order(studio, code)
    with told("commissions.yaml"):
        after = privately(moved(order, Step.DECLINED, When(day)), why=why)
    said = f"{after.code} is declined. A courteous letter for it: `sitegen order letter {after.code}`."
    return changed(studio, after, (said,))


@dataclass(frozen=True)
class Ending:
    """How an order ends early."""

    by: CalledOffBy
    day: date
    why: str = ""
    work: Decimal | None = None  # share of the work that is done, from 0 to 1; None where the step tells


def cancel(studio: Studio, code: str, ending: Ending) -> Changed:
    """End an order early, and settle its money by the artist's written terms. Raises Fault."""
    order = find.order(studio, code)
    if order.step in ASKING | {Step.OFFERED}:
        if ending.by is CalledOffBy.MAKER:
            return decline(studio, code, ending.why, ending.day)
        with told("commissions.yaml"):
            after = moved(order, Step.WITHDRAWN, When(ending.day))
        after = privately(after, why=ending.why) if ending.why else after
        said = f"{after.code} is withdrawn; nothing was agreed, so there's no money to settle."
        return changed(studio, after, (said,))
    return _called_off(studio, order, ending)


def _called_off(studio: Studio, order: Order, ending: Ending) -> Changed:
    with told("commissions.yaml"):
        after = moved(order, Step.CALLED_OFF, When(ending.day))
    plan = plan_of(studio, order)
    work = _work_done(studio, order, ending)
    terms = calling_off(studio.settings.payment_plan)
    with told(f"commissions.yaml, {order.code}"):
        settled = call_off(plan, receipts(studio, order), ending.day, ending.by, work, terms)
    reason = "; ".join(filter(None, [ending.why, settled.why]))
    after = privately(
        after, called_off_by=ending.by, kept=settled.kept, claimed=settled.claimed or None, why=reason
    )
    said = _settlement_lines(studio, after, settled, plan, ending)
    return changed(studio, after, tuple(said), _sums(studio, settled))


def _work_done(studio: Studio, order: Order, ending: Ending) -> Decimal:
    """Return the share of the work that is done: as told, else as the step tells."""
    if ending.work is not None:
        return ending.work
    if order.step is not Step.ON_THE_BENCH:
        return Decimal(0) if order.step is Step.ACCEPTED else Decimal(1)
    if ending.by is CalledOffBy.MAKER or not calling_off(studio.settings.payment_plan).charge_work:
        return Decimal(0)  # makes no difference then
    raise Fault(
        f"{order.code} is on the bench, so say how much of the work is done, as `--work 40%`"
        f"{_hint(studio, order, ending.day)}"
    )


def _hint(studio: Studio, order: Order, today: date) -> str:
    done = hours_of(studio, order)
    if not done:
        return ""
    try:
        usual = usual_hours(studio, order.tier, today)
    except ValueError:
        return f"; {bare(done)} h are on record"
    share = min(Decimal(1), done / Decimal(str(usual)))
    return (
        f"; {bare(done)} h are on record, and a piece of this tier takes {usual:g} h on average, "
        f"so about {share:.0%}"
    )


def _settlement_lines(
    studio: Studio, order: Order, settled: Settlement, plan: Plan, ending: Ending
) -> list[str]:
    def say(amount: Decimal) -> str:
        return words.amount(amount, studio.settings)

    lines = [
        f"{order.code} is called off by the {ending.by}: {settled.why}.",
        f"Of the price of {say(plan.price)}, {say(settled.paid)} was paid. Kept: {say(settled.kept)}. "
        f"To be returned: {say(settled.returned)}.",
    ]
    if settled.claimed:
        lines.append(f"Still asked for, by your terms: {say(settled.claimed)}.")
    if settled.returned:
        back = money.plain(settled.returned, studio.settings.digits)
        until = ending.day + timedelta(days=(studio.settings.payment_plan or USUAL_PLAN).refund_days)
        lines.append(
            f"Your terms send it back by {until}; a rule of the United States gives seven working days, here "
            f"until {refund_by(ending.day)} (16 CFR 435.1(b)). Then: "
            f"`sitegen order refund {order.code} {back}`."
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


def _sums(studio: Studio, settled: Settlement) -> dict[str, Any]:
    digits = studio.settings.digits
    sums = {name: getattr(settled, name) for name in ("paid", "kept", "returned", "claimed")}
    return {**{name: money.plain(amount, digits) for name, amount in sums.items()}, "why": settled.why}
