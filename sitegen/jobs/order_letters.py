"""Write a letter to one client about their own order. What it's about follows from where the order stands."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

from sitegen.desk import find
from sitegen.desk.find import read_day
from sitegen.desk.orders import ship_time_of
from sitegen.desk.plan import plan_of, standing_of
from sitegen.jobs.letters import WritingDesk, desk_of, letters_of
from sitegen.jobs.where import writes
from sitegen.letters import client as clients
from sitegen.letters.client import ClientLetter, Due, Matter, Told
from sitegen.site.addresses import terms as address_of_terms
from sitegen.studio import terms
from sitegen.studio.asked import Fault, Said, ask, wish
from sitegen.studio.commission import Order
from sitegen.studio.delivery import CAUTION, refund_by
from sitegen.studio.fields import is_placeholder
from sitegen.studio.offers import last_day
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.plan import CalledOffBy, PartKind, Plan, PlanState, Standing
from sitegen.studio.purses import purse_of
from sitegen.studio.whole import Studio

# A payment so many days ahead is worth a word (common practice, no source).
_DAYS_AHEAD = 14


@wish
class LetterOnOrder:
    code: str = ask(word=True)
    words: str = ask("Your own words, a Markdown file.", default="", name="note", file=True)
    new_day: str | None = ask(
        "It will be later: offer to wait or to cancel; `unknown` names no day.", default=None, like="DATE"
    )
    confirm: bool = ask("Confirm what was agreed on, also later than straight after.", default=False)


@writes
def letter(folder: Path, wish: LetterOnOrder, today: str | None) -> Said:
    """Draft the letter that an order calls for, or one that names a new day. Raises Fault if none is due."""
    desk = desk_of(folder, today)
    order, day = find.order(desk.studio, wish.code), desk.front.moment.date()
    accepted = order.day_of(Step.ACCEPTED) if order.step in {Step.ACCEPTED, Step.ON_THE_BENCH} else None
    grace = timedelta(days=desk.studio.settings.paying.grace_days)
    # A client who has just said yes can't be late within the days of grace.
    fresh = accepted is not None and day <= accepted + grace
    known = _known(desk.studio, order)
    if wish.new_day is not None:
        made = _delay(order, wish, wish.new_day, day)
    elif order.step is Step.OFFERED and not wish.confirm:
        made = _offer(desk, order, known)
    elif wish.confirm or fresh:
        made = _confirmation(desk, order, known)
    else:
        made = _letter(desk.studio, order, day)
    postage = order.private.postage
    holds = frozenset({"postage_extra" if postage.extra else "postage_included"} if postage else ())
    letter = replace(made, tells={**known, **made.tells}, holds=made.holds | holds)
    draft = clients.write_to_client(desk.front, order, letter, desk.room, wish.words)
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


def _known(studio: Studio, order: Order) -> dict[str, Told]:
    """Return all that a letter on an order may tell: what the order itself says, and None for the rest."""
    client, postage = order.private, order.private.postage
    words = {"brief": client.brief, "how_to_pay": studio.settings.how_to_pay}
    of_some = ("claimed", "deposit", "first_promise", "height", "includes", "new_day", "paid", "sent",
               "terms", "terms_address", "terms_on", "until")  # fmt: skip
    return {
        **dict.fromkeys(of_some), **{name: _filled(text) for name, text in words.items()},
        "price": client.price, "why": client.why, "promised": client.promised_now,
        "postage": postage.extra if postage else None,
    }  # fmt: skip


def _filled(text: str) -> str:
    """Return the artist's words as one line; nothing while there's still a place to fill in."""
    return "" if is_placeholder(text) else " ".join(text.split())


def drafts_of(folder: Path, code: str) -> list[clients.Draft]:
    """Return the letters on an order that were drafted, the latest first."""
    stems = {clients.stem_of(code, matter) for matter in Matter}
    found = [
        draft
        for draft in clients.drafts_in(letters_of(folder))
        if stems & {draft.folder.name, re.sub(r"-[0-9]+$", "", draft.folder.name)}
    ]
    return sorted(found, key=lambda draft: (draft.made or date.min, len(draft.folder.name)), reverse=True)


def read_draft(folder: Path, code: str, name: str) -> clients.Draft:
    """Read one letter on an order. Raises Fault if it isn't there."""
    found = next((draft for draft in drafts_of(folder, code) if draft.folder.name == name), None)
    if found is None:
        raise Fault(f"there is no letter '{name}' on {code} any more; draft it anew")
    return found


def _dues_of(standing: PlanState) -> tuple[Due, ...]:
    return tuple((state.part.due, state.part.amount, state.standing) for state in standing.parts)


def _offer(desk: WritingDesk, order: Order, known: Mapping[str, Told]) -> ClientLetter:
    """Say everything that the terms promise an offer says.

    Where no day is written for the payments they count from the last day for an answer: the latest that
    they can begin. Raises Fault with all that is lacking, and once the offer has run out.
    """
    last, today = last_day(desk.studio.commissions, order), desk.front.moment.date()
    if last is None:
        raise Fault(f"commissions.yaml: {order.code} doesn't say when it was offered; write `since:`")
    if last < today:
        raise Fault(
            f"{order.code}: the offer stood until {last}, which has gone by; `sitegen order lapsed` "
            "passes the place on, and a later `since:` lets the offer stand longer"
        )
    wanted = {
        "the price (`price: 440` in its `private:`)": known["price"],
        "the postage (`postage: 24` there if it comes on top, or `postage: included`)": order.private.postage,
        "what you'll make (`brief: A hare in mourning, stoneware and linen.`)": known["brief"] or None,
        f"the day promised (`sitegen order promise {order.code} 2027-06-30`)": known["promised"],
    }
    if lacking := [what for what, there in wanted.items() if there is None]:
        raise Fault(
            f"commissions.yaml: the offer {order.code} isn't complete, so there's no letter yet. It lacks "
            + "; ".join(lacking)
        )
    promised = order.private.promised_now
    if promised is not None and promised <= last:
        raise Fault(
            f"{order.code} is promised for {promised}, and the offer can be answered until {last}; name a "
            f"later day with `sitegen order promise {order.code} DATE`"
        )
    plan, version = plan_of(desk.studio, order, last), terms.current(desk.studio)
    unkept = not version and any(page.name in terms.PAGES for page in desk.studio.pages)
    remark = "It names no version of your terms, as they aren't kept as they are now: `sitegen terms keep`."
    return ClientLetter(
        Matter.OFFER, {"until": last, **_agreed(desk, order, plan, version)},
        frozenset(() if order.private.plan_from else {"plan_floats"}),
        tuple((part.due, part.amount, Standing.TO_COME) for part in plan.parts), (remark,) if unkept else (),
    )  # fmt: skip


def _confirmation(desk: WritingDesk, order: Order, known: Mapping[str, Told]) -> ClientLetter:
    """Say what was agreed on: what, price, plan with its days, month, terms, how to pay.

    Raises Fault of an order that nobody has said yes to, or that has ended.
    """
    if order.step not in UNDER_WAY:
        raise Fault(f"{order.code} is {order.step.said}; an accepted order is what can be confirmed")
    standing, accepted, code = (
        standing_of(desk.studio, order, desk.front.moment.date()),
        order.terms,
        order.code,
    )
    agreed = _agreed(desk, order, standing.plan, accepted.version if accepted else None)
    remarks = {
        "It doesn't say how to pay: write `how_to_pay:` in studio.yaml, for letters about orders only.":
            known["how_to_pay"],
        f"It names no terms: write `terms: {{version: …, on: …}}` under {code} in commissions.yaml "
        "(`sitegen terms keep` keeps a version).": accepted,
        f"It names no month: `sitegen order promise {code} DATE` notes the day agreed on.": known["promised"],
        f"It says nothing of postage: write `postage: 24` or `postage: included` under {code}.":
            order.private.postage,
        f"It doesn't say what you will make: write `brief:` under {code}.": known["brief"],
    }  # fmt: skip
    paid = standing.paid if standing.paid > 0 else None
    return ClientLetter(
        Matter.CONFIRMATION, {**agreed, "terms_on": accepted.on if accepted else None, "paid": paid},
        frozenset({"paid"} if paid else ()), _dues_of(standing),
        tuple(remark for remark, there in remarks.items() if there is None or there == ""),
    )  # fmt: skip


def _agreed(desk: WritingDesk, order: Order, plan: Plan, version: str | None) -> dict[str, Told]:
    first, tier = plan.parts[0], find.tier(desk.studio, order.tier)
    path = address_of_terms("commission-terms", version or "").removesuffix("index.html")
    parted = first.kind is PartKind.DEPOSIT and len(plan.parts) > 1
    return {
        "height": tier.height_mm, "includes": tier.includes, "terms": version,
        "price": plan.total, "deposit": first.amount if parted else None,
        "terms_address": f"{desk.front.card.address}{path}" if version else None,
    }  # fmt: skip


# What can be done where no letter is due.
_INSTEAD = {
    Step.REQUEST: "{0} is a request without an answer, so there is nothing to write yet. `sitegen order "
    "offer` offers it a slot, `sitegen order decline {0}` says no",
    Step.WAITING: "{0} waits for a slot, so there is nothing to write yet. `sitegen order offer` offers it "
    "one once there is one, `sitegen order decline {0}` says no",
    Step.SHIPPED: "{0} is shipped; the piece is with its owner, and there is nothing more to write. "
    "`sitegen order show {0}` says what happened when",
}


def _letter(studio: Studio, order: Order, today: date) -> ClientLetter:
    if order.step is Step.LAPSED:
        if (offered := order.day_of(Step.OFFERED)) is None:
            raise Fault(f"commissions.yaml: {order.code} doesn't say when it was offered; write `moves:`")
        return ClientLetter(Matter.LAPSED, {"offered": offered})
    if order.step is Step.DECLINED:
        return ClientLetter(Matter.DECLINED)
    if order.step is Step.CALLED_OFF:
        return _called_off(studio, order, today)
    if order.step in UNDER_WAY:
        return _payment(studio, order, today)
    raise Fault(_INSTEAD[order.step].format(order.code))


def _called_off(studio: Studio, order: Order, today: date) -> ClientLetter:
    purse = purse_of(studio, order)
    kept, rest = purse.earned(today), purse.rest(today)
    came, sent = (
        sum((sign * paid.amount for paid in order.private.paid if sign * paid.amount > 0), Decimal(0))
        for sign in (1, -1)
    )
    ended = order.day_of(Step.CALLED_OFF)
    if ended is None:
        raise Fault(f"commissions.yaml: {order.code} doesn't say when it was called off; write `since:`")
    open_ = max(-rest, Decimal(0))
    by = {CalledOffBy.CLIENT: "by_client", CalledOffBy.MAKER: "by_maker", None: "by_nobody"}
    some = "kept_none" if not kept else "kept_part" if sent + open_ else "kept_all"
    holds = {by[order.private.called_off_by], some if came else "unpaid"}
    if sent:
        holds.add("sent_in_part" if open_ else "sent_in_whole")
    return ClientLetter(
        Matter.CALLED_OFF,
        {"ended": ended, "paid": came, "kept": kept, "returned": sent + open_, "sent": sent, "open": open_,
         "claimed": rest if rest > 0 else None},
        frozenset(holds),
    )  # fmt: skip


def _payment(studio: Studio, order: Order, today: date) -> ClientLetter:
    standing = standing_of(studio, order, today)
    parts, (tells, holds) = _dues_of(standing), _owed(standing, today)
    if order.step is Step.FINISHED and standing.balance > 0:
        return ClientLetter(Matter.FINISHED, {**tells, "balance": standing.balance}, holds, parts)
    if standing.owed_now:
        return ClientLetter(Matter.REMINDER if standing.late_parts else Matter.DUE, tells, holds, parts)
    part = next((state for state in standing.parts if state.standing is Standing.TO_COME), None)
    if part is not None and part.part.due <= today + timedelta(days=_DAYS_AHEAD):
        return ClientLetter(Matter.AHEAD, {"next_day": part.part.due, "next": part.open}, parts=parts)
    due = f"; the next part is due on {part.part.due}" if part else ", and paid in full"
    raise Fault(f"{order.code} is {order.step.said}{due}. There's nothing to remind anybody of")


def _owed(standing: PlanState, today: date) -> tuple[dict[str, Told], frozenset[str]]:
    overdue = standing.overdue
    if not overdue:
        return {}, frozenset({"timely"})
    since, owed = min(state.part.due for state in overdue), standing.late_now or standing.owed_now
    how = "late" if standing.late_parts else "due_today" if since == today else "due"
    share = "owed_in_whole" if owed == standing.balance else "owed_in_part"
    return {"since": since, "owed": owed}, frozenset({how, share})


# What the artist writes for a day that nobody knows.
_UNKNOWN = "unknown"


def _delay(order: Order, wish: LetterOnOrder, written: str, today: date) -> ClientLetter:
    """Offer the choice to wait or cancel; whether silence is a yes is the late-delivery rule's business.

    A choice offered after the promised day is no consent by silence (16 CFR 435.2(b)(1), "in no event later
    than said applicable time"). Raises Fault for a day that isn't later, or no day without a reason.
    """
    new_day = None if written.strip().casefold() == _UNKNOWN else read_day(written, "--new-day")
    ship, promised, paid = ship_time_of(order), order.private.promised, order.paid
    if new_day is None and not wish.words.strip():
        raise Fault(
            f"{order.code}: a letter that names no new day must give the reason; write it into a file "
            "and add --note words.md"
        )
    if new_day is not None and new_day <= ship.ship_by:
        raise Fault(f"{order.code} is to be sent by {ship.ship_by}; {new_day} isn't later than that")
    if new_day is not None and new_day < today:
        raise Fault(f"--new-day {new_day} has gone by; today is {today}")
    overdue, needs_a_yes = today > ship.ship_by, ship.needs_a_yes(new_day)
    late = Matter.LONG_DELAY if overdue or needs_a_yes else Matter.DELAY
    # The day that won't hold was named by the artist, or else counted by the rule.
    typed = promised is not None or (bool(order.private.new_days) and not ship.put_off)
    holds = {
        "typed" if typed else "nothing_typed", "overdue" if overdue else "timely",
        "paid" if paid > 0 else "unpaid", *(["no_day"] if new_day is None else []),
    }  # fmt: skip
    remarks = []
    if new_day is not None:
        remarks.append(
            f"When it is posted, note the new day: `sitegen order promise {order.code} {new_day}`; the first "
            "promise stays on record."
        )
    if overdue:
        remarks.append(
            f"{ship.ship_by} has gone by. Without their yes the rule counts the order as cancelled, and "
            f"what was paid goes back: by {refund_by(today)}, if that is today."
        )
    return ClientLetter(
        Matter.RENEWED_DELAY if ship.put_off else late,
        {"ship_by": ship.ship_by, "yes_by": ship.yes_by, "first_promise": promised, "new_day": new_day,
         "paid": paid},
        frozenset(holds), remarks=(*remarks, CAUTION),
    )  # fmt: skip
