"""Write a letter to one client about their own order. What it's about follows from where the order stands."""

from __future__ import annotations

import re
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

from sitegen.desk import find
from sitegen.desk.find import read_day
from sitegen.desk.order_money import USUAL_PLAN, standing_of
from sitegen.desk.orders import ship_time_of
from sitegen.jobs.letters import desk_of
from sitegen.jobs.letters_made import letters_of
from sitegen.jobs.order_agreed import client_of, confirmation, dues_of, offer, postage_of, ways_to_pay
from sitegen.jobs.pen import writes
from sitegen.letters import (
    ClientLetter,
    Draft,
    Matter,
    OpenDraft,
    drafts_in,
    open_draft,
    stem_of,
    write_to_client,
)
from sitegen.studio.commission import Order
from sitegen.studio.delivery import CAUTION, ShipTime, refund_by
from sitegen.studio.fault import Fault
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.payments import CalledOffBy, PlanState, Standing
from sitegen.studio.purses import purse_of
from sitegen.studio.whole import Studio
from sitegen.studio.wish import Said, ask, wish

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
def letter(folder: Path, wish: LetterOnOrder, today: str | None) -> Said:
    """Draft the letter that an order calls for now, or the one that names a new day for it.

    Raises Fault if there's nothing to write about.
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
    draft = write_to_client(desk.front, made, desk.room)
    page = draft.folder / "letter.html"
    said = (
        f"Subject:  {draft.subject}",
        f"To:       {draft.to}",
        f"Letter:   {page}",
        *(f"  [ ] {remark}" for remark in draft.remarks),
        f"Post it:  open {draft.folder / 'letter.eml'} in your mail program, or copy the text.",
    )
    facts = {"subject": draft.subject, "folder": str(draft.folder), "letter": draft.folder.name}
    return Said(said, facts, opens=(page,))


def drafts_of(folder: Path, code: str) -> list[Draft]:
    """Return the letters on an order that were drafted, the latest first."""
    stems = {stem_of(code, matter) for matter in Matter}
    found = [
        one
        for one in drafts_in(letters_of(folder))
        if stems & {one.folder.name, re.sub(r"-[0-9]+$", "", one.folder.name)}
    ]
    return sorted(found, key=lambda one: (one.made or date.min, len(one.folder.name)), reverse=True)


def read_draft(folder: Path, code: str, name: str) -> OpenDraft:
    """Read one letter on an order. Raises Fault if it isn't there."""
    found = next((one for one in drafts_of(folder, code) if one.folder.name == name), None)
    if found is None:
        raise Fault(f"there is no letter '{name}' on {code} any more; draft it anew")
    return open_draft(found)


def _is_fresh(studio: Studio, order: Order, today: date) -> bool:
    """Tell whether a client has just said yes: within the days of grace, nothing can be late."""
    accepted = order.day_of(Step.ACCEPTED) if order.step in {Step.ACCEPTED, Step.ON_THE_BENCH} else None
    grace = (studio.settings.payment_plan or USUAL_PLAN).grace_days
    return accepted is not None and today <= accepted + timedelta(days=grace)


# What can be done where no letter is due.
_INSTEAD = {
    Step.REQUEST: "'order offer' offers it a slot of its round, 'order decline' says no",
    Step.WAITING: "'order offer' offers it a slot once its round has one, 'order decline' says no",
    Step.SHIPPED: "the piece is with its owner; 'order show' says what happened when",
}


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
    raise Fault(
        f"{order.code} is at the step '{order.step}', and no letter goes with that; {_INSTEAD[order.step]}"
    )


def _offered_on(order: Order) -> date:
    day = order.day_of(Step.OFFERED)
    if day is None:
        raise Fault(f"commissions.yaml: {order.code} doesn't say when it was offered; write `moves:`")
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
        raise Fault(f"commissions.yaml: {order.code} doesn't say when it was called off; write `since:`")
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
    raise Fault(f"{order.code} is {order.step}{due}. There's nothing to remind anybody of")


def _owed(standing: PlanState, today: date) -> tuple[dict[str, date], dict[str, Decimal], frozenset[str]]:
    """Say what is owed by today, since when, and whether that's everything."""
    overdue = standing.overdue
    if not overdue:
        return {}, {}, frozenset({"timely"})
    since = min(one.part.due for one in overdue)
    how = "late" if standing.is_late else "due_today" if since == today else "due"
    share = "owed_in_whole" if standing.owed_now == standing.balance else "owed_in_part"
    return {"since": since}, {"owed": standing.owed_now}, frozenset({how, share})


UNKNOWN = "unknown"


def delay(order: Order, written: str, today: date, note: str) -> ClientLetter:
    """Offer the choice to wait or cancel; whether silence is a yes is the late-delivery rule's business.

    A choice offered after the promised day is no consent by silence (16 CFR 435.2(b)(1), "in no event later
    than said applicable time"). Raises Fault for a day that isn't later, or no day without a reason.
    """
    new_day = None if written.strip().casefold() == UNKNOWN else read_day(written, "--new-day")
    ship = ship_time_of(order)
    _check(order, ship, new_day, today, note)
    overdue = today > ship.ship_by
    days = {"ship_by": ship.ship_by, "yes_by": ship.yes_by}
    if order.private.promised is not None:
        days["first_promise"] = order.private.promised
    if new_day is not None:
        days["new_day"] = new_day
    paid = order.paid
    holds = {
        "typed" if _is_typed(order, ship) else "nothing_typed",
        "overdue" if overdue else "timely",
        "paid" if paid > 0 else "unpaid",
        *(["no_day"] if new_day is None else []),
    }  # fmt: skip
    return ClientLetter(
        _matter(ship, new_day, overdue=overdue), client_of(order), days, {"paid": paid},
        holds=frozenset(holds), note=note, remarks=_remarks(order, ship, new_day, today if overdue else None),
    )  # fmt: skip


def _is_typed(order: Order, ship: ShipTime) -> bool:
    """Tell whether the day that won't hold was named by the artist, not counted by the rule."""
    return order.private.promised is not None or (bool(order.private.new_days) and not ship.put_off)


def _check(order: Order, ship: ShipTime, new_day: date | None, today: date, note: str) -> None:
    if new_day is None and not note.strip():
        raise Fault(
            f"{order.code}: a letter that names no new day must give the reason; write it into a file "
            "and add --note words.md"
        )
    if new_day is not None and new_day <= ship.ship_by:
        raise Fault(f"{order.code} is to be sent by {ship.ship_by}; {new_day} isn't later than that")
    if new_day is not None and new_day < today:
        raise Fault(f"--new-day {new_day} has gone by; today is {today}")


def _matter(ship: ShipTime, new_day: date | None, *, overdue: bool) -> Matter:
    if ship.put_off:
        return Matter.RENEWED_DELAY
    return Matter.LONG_DELAY if overdue or ship.needs_a_yes(new_day) else Matter.DELAY


def _remarks(order: Order, ship: ShipTime, new_day: date | None, late_on: date | None) -> tuple[str, ...]:
    said = []
    if new_day is not None:
        said.append(
            f"When it is posted, note the new day: `sitegen order promise {order.code} {new_day}`; the first "
            "promise stays on record."
        )
    if late_on is not None:
        said.append(
            f"{ship.ship_by} has gone by. Without their yes the rule counts the order as cancelled, and "
            f"what was paid goes back: by {refund_by(late_on)}, if that is today."
        )
    return (*said, CAUTION)
