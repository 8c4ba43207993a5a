"""Write a letter to one client about their own order. What it's about follows from where the order stands."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

from sitegen.desk import find
from sitegen.desk.fault import DeskFault
from sitegen.desk.order_money import USUAL_PLAN, standing_of
from sitegen.jobs.letters import desk_of
from sitegen.jobs.order_agreed import confirmation, offer
from sitegen.jobs.order_delays import delay
from sitegen.jobs.order_letter_parts import client_of, dues_of, postage_of, ways_to_pay
from sitegen.jobs.pen import writes
from sitegen.letters import ClientLetter, Draft, Matter, write_to_client
from sitegen.studio.commission import Order
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.payments import CalledOffBy, PlanState, Standing
from sitegen.studio.purses import purse_of
from sitegen.studio.whole import Studio
from sitegen.studio.wish import ask, wish

# A payment so many days ahead is worth a word (common practice, no source).
_DAYS_AHEAD = 14


@wish
class LetterOnOrder:
    """Which letter to draft."""

    code: str = ask(word=True)
    words: str = ask("Your own words, a Markdown file.", default="", name="note", file=True)
    new_day: str | None = ask(
        "It will be later: offer to wait or to cancel; `unknown` names no day.", default=None, like="DATE"
    )
    confirm: bool = ask("Confirm what was agreed on, also later than straight after.", default=False)


@writes
def letter(folder: Path, wish: LetterOnOrder, today: str | None) -> Draft:
    """Draft the letter that an order calls for now, or the one that names a new day for it.

    Raises DeskFault if there's nothing to write about.
    """
    desk, note = desk_of(folder, today), wish.words
    order, day = find.order(desk.studio, wish.code), desk.front.moment.date()
    if wish.new_day is not None:
        made = delay(order, wish.new_day, day, note)
    elif wish.confirm:
        made = confirmation(desk, order, note)
    elif order.step is Step.OFFERED:
        made = offer(desk, order, note)
    elif _is_fresh(desk.studio, order, day):
        made = confirmation(desk, order, note)
    else:
        made = _letter(desk.studio, order, day, note)
    return write_to_client(desk.front, made, desk.room)


def _is_fresh(studio: Studio, order: Order, today: date) -> bool:
    """Tell whether a client has just said yes: within the days of grace, nothing can be late."""
    accepted = order.day_of(Step.ACCEPTED) if order.step in {Step.ACCEPTED, Step.ON_THE_BENCH} else None
    grace = (studio.settings.payment_plan or USUAL_PLAN).grace_days
    return accepted is not None and today <= accepted + timedelta(days=grace)


def _letter(studio: Studio, order: Order, today: date, note: str) -> ClientLetter:
    client = client_of(order)
    if order.step is Step.LAPSED:
        return ClientLetter(Matter.LAPSED, client, days={"offered": _offered_on(order)}, note=note)
    if order.step is Step.DECLINED:
        return ClientLetter(Matter.DECLINED, client, texts={"why": order.private.why}, note=note)
    if order.step is Step.CALLED_OFF:
        return _called_off(studio, order, today, note)
    if order.step in UNDER_WAY:
        return _payment(studio, order, today, note)
    raise DeskFault(f"{order.code} is {order.step}; there's no letter for that")


def _offered_on(order: Order) -> date:
    day = order.day_of(Step.OFFERED) or order.since
    if day is None:
        raise DeskFault(f"commissions.yaml: {order.code} doesn't say when it was offered; write `moves:`")
    return day


def _called_off(studio: Studio, order: Order, today: date, note: str) -> ClientLetter:
    purse = purse_of(studio, order)
    kept, rest = purse.earned(today), purse.rest(today)
    came, sent = (
        sum((sign * one.amount for one in order.private.paid if sign * one.amount > 0), Decimal(0))
        for sign in (1, -1)
    )
    ended = order.day_of(Step.CALLED_OFF)
    if ended is None:
        raise DeskFault(f"commissions.yaml: {order.code} doesn't say when it was called off; write `since:`")
    open_ = max(-rest, Decimal(0))
    sums = {"paid": came, "kept": kept, "returned": sent + open_, "sent": sent, "open": open_}
    if rest > 0:
        sums["claimed"] = rest
    by = {CalledOffBy.CLIENT: "by_client", CalledOffBy.MAKER: "by_maker", None: "by_nobody"}
    holds = {by[order.private.called_off_by], _settled(came, kept, sent + open_)}
    if sent:
        holds.add("sent_in_part" if open_ else "sent_in_whole")
    return ClientLetter(
        Matter.CALLED_OFF, client_of(order), {"ended": ended}, sums, {"why": order.private.why},
        frozenset(holds), note=note,
    )  # fmt: skip


def _settled(came: Decimal, kept: Decimal, returned: Decimal) -> str:
    if not came:
        return "unpaid"
    if not kept:
        return "kept_none"
    return "kept_part" if returned else "kept_all"


def _payment(studio: Studio, order: Order, today: date, note: str) -> ClientLetter:
    standing = standing_of(studio, order, today)
    parts = dues_of(standing)
    days, sums, holds = _owed(standing, today)
    texts = ways_to_pay(studio)
    if order.step is Step.FINISHED and standing.balance > 0:
        extra, kind = postage_of(order)
        sums |= {"balance": standing.balance, **extra}
        return ClientLetter(Matter.FINISHED, client_of(order), days, sums, texts, holds | kind, parts, note)
    if standing.owed_now:
        matter = Matter.REMINDER if standing.is_late else Matter.DUE
        return ClientLetter(matter, client_of(order), days, sums, texts, holds, parts, note)
    part = next((one for one in standing.parts if one.standing is Standing.TO_COME), None)
    if part is not None and part.part.due <= today + timedelta(days=_DAYS_AHEAD):
        return ClientLetter(
            Matter.AHEAD, client_of(order), {"next_day": part.part.due}, {"next": part.open}, texts,
            parts=parts, note=note,
        )  # fmt: skip
    due = f"; the next part is due on {part.part.due}" if part else ", and paid in full"
    raise DeskFault(f"{order.code} is {order.step}{due}. There's nothing to remind anybody of")


def _owed(standing: PlanState, today: date) -> tuple[dict[str, date], dict[str, Decimal], frozenset[str]]:
    """Say what is owed by today, since when, and whether that's everything."""
    overdue = standing.overdue
    if not overdue:
        return {}, {}, frozenset({"timely"})
    since = min(one.part.due for one in overdue)
    how = "late" if standing.is_late else "due_today" if since == today else "due"
    share = "owed_in_whole" if standing.owed_now == standing.balance else "owed_in_part"
    return {"since": since}, {"owed": standing.owed_now}, frozenset({how, share})
