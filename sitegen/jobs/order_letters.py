"""Write a letter to one client about their own order. What it's about follows from where the order stands."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

from sitegen.desk import find
from sitegen.desk.fault import DeskFault
from sitegen.desk.order_money import standing_of
from sitegen.desk.orders import ship_time_of
from sitegen.desk.plan import plan_of
from sitegen.jobs.desk import read_day
from sitegen.jobs.letters import desk_of
from sitegen.jobs.pen import writes
from sitegen.letters import Client, ClientLetter, Draft, Due, Matter, write_to_client
from sitegen.studio.commission import Place
from sitegen.studio.offers import last_day
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.order_sums import kept_of, paid_of
from sitegen.studio.payments import PlanState, Standing
from sitegen.studio.whole import Studio


@writes
def letter(folder: Path, today: str | None, code: str, note: str, new_day: str | None = None) -> Draft:
    """Draft the letter that an order calls for now, or the one that names a new day for it.

    Raises DeskFault if there's nothing to write about.
    """
    desk = desk_of(folder, today)
    place, day = find.place(desk.studio, code), desk.front.moment.date()
    later = read_day(new_day, "--new-day")
    made = _delay(place, later, note) if later else _letter(desk.studio, place, day, note)
    return write_to_client(desk.front, made, desk.room)


def _letter(studio: Studio, place: Place, today: date, note: str) -> ClientLetter:
    client = Client(place.code, place.tier, place.private.name, place.private.email)
    if place.step is Step.OFFERED:
        return _offer(studio, place, client, note)
    if place.step is Step.LAPSED:
        return ClientLetter(Matter.LAPSED, client, days={"offered": _offered_on(place)}, note=note)
    if place.step is Step.DECLINED:
        return ClientLetter(Matter.DECLINED, client, why=place.private.why, note=note)
    if place.step is Step.CALLED_OFF:
        return _called_off(place, client, note)
    if place.step in UNDER_WAY:
        return _payment(standing_of(studio, place, today), place, client, note)
    raise DeskFault(f"{place.code} is {place.step}; there's no letter for that")


def _offer(studio: Studio, place: Place, client: Client, note: str) -> ClientLetter:
    """Say until when the offer stands, and, as far as they're known, price, payments and the day promised.

    The payments count from the last day for an answer: the latest that they can begin.
    """
    last = last_day(studio.commissions, place)
    if last is None:
        raise DeskFault(f"commissions.yaml: {place.code} doesn't say when it was offered; write `since:`")
    days = {"until": last}
    if place.private.promised is not None:
        days["promised"] = place.private.promised
    if place.private.price is None:
        return ClientLetter(Matter.OFFER, client, days=days, note=note)
    starting = {"plan_from": place.private.plan_from or last}
    plan = plan_of(studio, place.model_copy(update={"private": place.private.model_copy(update=starting)}))
    parts = tuple(Due(part.due, part.amount, str(Standing.TO_COME)) for part in plan.parts)
    return ClientLetter(Matter.OFFER, client, days, {"price": plan.total}, parts, note=note)


def _offered_on(place: Place) -> date:
    day = place.day_of(Step.OFFERED) or place.since
    if day is None:
        raise DeskFault(f"commissions.yaml: {place.code} doesn't say when it was offered; write `moves:`")
    return day


def _delay(place: Place, new_day: date, note: str) -> ClientLetter:
    """Offer the choice to wait or cancel; whether silence is a yes is the late-delivery rule's business."""
    ship = ship_time_of(place)
    if new_day <= ship.ship_by:
        raise DeskFault(f"{place.code} is to be sent by {ship.ship_by}; {new_day} isn't later than that")
    client = Client(place.code, place.tier, place.private.name, place.private.email)
    matter = Matter.LONG_DELAY if ship.needs_a_yes(new_day) else Matter.DELAY
    days = {"ship_by": ship.ship_by, "new_day": new_day}
    return ClientLetter(matter, client, days, {"paid": paid_of(place)}, note=note)


def _called_off(place: Place, client: Client, note: str) -> ClientLetter:
    kept, paid = kept_of(place), paid_of(place)
    came = sum((one.amount for one in place.private.paid if one.amount > 0), Decimal(0))
    ended = place.day_of(Step.CALLED_OFF)
    if ended is None:
        raise DeskFault(f"commissions.yaml: {place.code} doesn't say when it was called off; write `since:`")
    # What went back before the end was returned earlier; what's kept and returned now sums to the rest.
    returned = came - kept if paid <= kept else paid - kept
    sums = {"paid": kept + returned, "kept": kept, "returned": returned}
    if place.private.claimed:
        sums["claimed"] = place.private.claimed
    return ClientLetter(Matter.CALLED_OFF, client, days={"ended": ended}, sums=sums, note=note)


def _payment(standing: PlanState, place: Place, client: Client, note: str) -> ClientLetter:
    parts = tuple(Due(one.part.due, one.part.amount, str(one.standing)) for one in standing.parts)
    if standing.owed_now:
        sums = {"owed": standing.owed_now, "balance": standing.balance}
        return ClientLetter(Matter.REMINDER, client, sums=sums, parts=parts, note=note)
    if place.step is Step.FINISHED and standing.balance > 0:
        sums = {"balance": standing.balance}
        return ClientLetter(Matter.FINISHED, client, sums=sums, parts=parts, note=note)
    part = standing.next_due
    due = f"; the next part is due on {part.due}" if part else ", and paid in full"
    raise DeskFault(f"{place.code} is {place.step}{due}. There's nothing to remind anybody of")
