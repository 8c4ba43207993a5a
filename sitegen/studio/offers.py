"""Offer a round's slots in the order that the round says, and pass on what nobody answered.

The order: for a draw, as drawn; for first come, by day and time of the request, then by line; for a
waiting list, by the day since when somebody waits. Whoever withdrew, didn't ask in time or asks for a size
that the round doesn't take is skipped; nobody is offered twice in one round, and nobody who holds a slot
gets a second one.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import NamedTuple

from sitegen.studio.commission import Commissions, Order, Round, Waiting, Way, count_people, same_person
from sitegen.studio.order_lines import Move, Step
from sitegen.studio.order_steps import ASKING, HOLDING, When, history_of, missed, moved, round_of, slot_held

Drawn = Mapping[str, Sequence[str]]
"""Codes in the order drawn, by the round's name; a round that wasn't drawn isn't in it."""


Turn = tuple[Order | Waiting, str]
"""Somebody whose turn it would be, and why they aren't offered a slot; nothing of who is in line."""


class Passed(NamedTuple):
    """What passing on did."""

    commissions: Commissions
    lapsed: tuple[Order, ...]
    offered: tuple[Order, ...]
    held_up: list[str]  # why a round's slots couldn't be passed on, if they couldn't


class OfferFault(ValueError):
    """Slots that can't be offered now; `str()` says why."""


def free_slots(commissions: Commissions, held: Round) -> int:
    """Count a round's slots that nobody holds or has held to the bench."""
    return max(0, held.slots - sum(1 for order in _of(commissions, held) if takes_slot(order)))


def takes_slot(order: Order) -> bool:
    """Tell whether an order uses up a slot; an order called off before its work began gives it back."""
    if order.step is Step.CALLED_OFF:
        return order.was_at(Step.ON_THE_BENCH)
    return order.step in HOLDING or order.step is Step.SHIPPED


def _of(commissions: Commissions, held: Round) -> list[Order]:
    return [order for order in commissions.queue if round_of(commissions, order) == held]


def in_line(commissions: Commissions, held: Round, drawn: Sequence[str] | None) -> list[Order | Waiting]:
    """Return who may be offered a slot of a round, in its order. Raises OfferFault before a draw."""
    return [turn for turn, why in _line(commissions, held, drawn) if not why]


def skipped(commissions: Commissions, held: Round, drawn: Sequence[str] | None, count: int) -> list[Turn]:
    """Return who is passed over before so many in line are reached. Raises OfferFault before a draw."""
    passed: list[Turn] = []
    for turn, why in _line(commissions, held, drawn):
        if why:
            passed.append((turn, why))
        elif (count := count - 1) <= 0:
            break
    return passed


def _line(commissions: Commissions, one: Round, drawn: Sequence[str] | None) -> list[Turn]:
    turns: Sequence[Order | Waiting]
    if one.way is Way.DRAW:
        turns = _as_drawn(commissions, one, drawn)
    else:
        turns = _as_they_wait(commissions, one) if one.way is Way.WAITING_LIST else _asking(commissions, one)
    line: list[Turn] = []
    for turn in turns:
        again = any(not why and same_person(turn.private, had.private) for had, why in line)
        line.append((turn, "is in line already" if again else _passed_over(commissions, one, turn)))
    return line


def _passed_over(commissions: Commissions, round_: Round, turn: Order | Waiting) -> str:
    """Say why somebody isn't offered a slot: not in time, holding one, or let this round's offer lapse."""
    if isinstance(turn, Order) and (why := missed(commissions, round_, turn)):
        return why
    held = slot_held(commissions, turn.private, round_, None)  # who is in line asks, and holds none by that
    if held is not None:
        return f"holds {held.code} ({held.step})"
    for order in _of(commissions, round_):
        if order.step is Step.LAPSED and same_person(order.private, turn.private):
            return f"didn't answer the offer {order.code}"
    return ""


def _asking(commissions: Commissions, held: Round) -> list[Order]:
    """Return a round's requests, first come first; who sent an offer back to wait has had their turn."""
    asking = [
        order for order in _of(commissions, held) if order.step in ASKING and not order.was_at(Step.OFFERED)
    ]
    # Stable: equal times stay in the order of the file.
    return sorted(asking, key=lambda order: asked_at(order, held.zone))


def asked_at(order: Order, zone: tzinfo = UTC) -> datetime:
    """Return when an order was asked for; with no time, at the day's end; with no day, last of all."""
    first = next(iter(history_of(order)), None)
    return first.span(zone)[1] if first is not None else datetime.max.replace(tzinfo=UTC)


def _as_drawn(commissions: Commissions, held: Round, drawn: Sequence[str] | None) -> list[Order]:
    asking = _asking(commissions, held)
    if drawn is None:
        people, free = count_people(order.private for order in asking), free_slots(commissions, held)
        if people > free:
            raise OfferFault(
                f"{held.name} goes by draw and hasn't been drawn: {people} ask for {free}; run "
                f"`sitegen draw '{held.name}'`"
            )
        return asking
    by_code = {order.code: order for order in asking}
    return [by_code[code] for code in drawn if code in by_code]


def _as_they_wait(commissions: Commissions, held: Round) -> list[Order | Waiting]:
    """Sort by how long they wait: the list, orders of any round that wait, and this round's requests."""
    waiting = [who for who in commissions.waiting if not who.tier or held.takes(who.tier)]
    orders = [
        order for order in commissions.queue
        if (round_of(commissions, order) == held and order.step in ASKING and not order.was_at(Step.OFFERED))
        or (round_of(commissions, order) != held and order.step is Step.WAITING)
    ]  # fmt: skip
    turns: list[tuple[datetime, Order | Waiting]] = [
        *((datetime.combine(who.since, time.min, held.zone), who) for who in waiting),
        *((asked_at(order, held.zone), order) for order in orders),
    ]
    return [turn for _, turn in sorted(turns, key=lambda turn: turn[0])]


def offer(
    commissions: Commissions, held: Round, drawn: Sequence[str] | None, count: int, day: date
) -> tuple[Commissions, tuple[Order, ...]]:
    """Offer so many slots of a round to the next in line, as far as there are any.

    Somebody from the waiting list moves into the queue, under the next code. Raises OfferFault.
    """
    turns = in_line(commissions, held, drawn)[: min(count, free_slots(commissions, held))]
    offered = []
    for turn in turns:
        entry = turn if isinstance(turn, Order) else _into_queue(commissions, held, turn)
        if round_of(commissions, entry) != held:
            entry = entry.model_copy(update={"round": held.name})
        order = moved(entry, Step.OFFERED, When(day))
        offered.append(order)
        if isinstance(turn, Order):
            commissions = with_order(commissions, order)
        else:
            waiting = tuple(who for who in commissions.waiting if who is not turn)
            update = {"queue": (*commissions.queue, order), "waiting": waiting}
            commissions = commissions.model_copy(update=update)
    return commissions, tuple(offered)


def _into_queue(commissions: Commissions, held: Round, who: Waiting) -> Order:
    return Order(
        code=next_code(commissions, held),
        tier=who.tier or next(iter(held.tiers or [tier.name for tier in commissions.tiers]), ""),
        step=Step.WAITING,
        since=who.since,
        moves=(Move(on=who.since, step=Step.WAITING),),
        round=held.name,
        private=who.private,
    )


def with_order(commissions: Commissions, order: Order) -> Commissions:
    """Put an order in the stead of the one with its code."""
    queue = tuple(order if queued.code == order.code else queued for queued in commissions.queue)
    return commissions.model_copy(update={"queue": queue})


def next_code(commissions: Commissions, held: Round | None, year: int = 0) -> str:
    """Make the next code of a round: as its others are numbered, else by its first letter and year.

    Outside a round it is R with the year's last two digits, as R26-1.
    """
    numbered = [(order, found) for order in commissions.queue if (found := _NUMBERED.fullmatch(order.code))]
    stems = Counter(found[1] for order, found in numbered if held and round_of(commissions, order) == held)
    letter = next((sign for sign in (held.name if held else "R") if sign.isalnum()), "R").upper()
    made = f"{letter}{(held.opens.year if held else year) % 100:02d}-"
    stem = stems.most_common(1)[0][0] if stems else made
    taken = [int(found[2]) for _, found in numbered if found[1].casefold() == stem.casefold()]
    return f"{stem}{max(taken, default=0) + 1}"


_NUMBERED = re.compile(r"(.*?)([0-9]+)")


def last_day(commissions: Commissions, order: Order) -> date | None:
    """Return the last day on which an offer can be answered; None if it isn't one, or its day isn't known."""
    day = order.day_of(Step.OFFERED) if order.step is Step.OFFERED else None
    return answer_by(commissions, day) if day else None


def answer_by(commissions: Commissions, day: date) -> date:
    """Return the last day on which an offer made on a day can be answered: 14 days from the 1st, the 15th."""
    return day + timedelta(days=commissions.offer_days)


def unanswered(commissions: Commissions, today: date) -> tuple[Order, ...]:
    """Return the offers whose last day has gone by."""
    return tuple(order for order in commissions.queue if (last_day(commissions, order) or today) < today)


def standing(commissions: Commissions, today: date) -> tuple[Order, ...]:
    """Return the offers that can still be answered; one without a day stands."""
    gone = unanswered(commissions, today)
    return tuple(order for order in commissions.queue if order.step is Step.OFFERED and order not in gone)


def pass_on(commissions: Commissions, drawn: Drawn, today: date) -> Passed:
    """Let unanswered offers lapse and offer each one's slot to the next of its round."""
    lapsed = tuple(moved(order, Step.LAPSED, When(today)) for order in unanswered(commissions, today))
    for order in lapsed:
        commissions = with_order(commissions, order)
    offered: list[Order] = []
    held_up: list[str] = []
    for held in commissions.rounds:
        count = sum(1 for order in lapsed if round_of(commissions, order) == held)
        if not count:
            continue
        try:
            commissions, more = offer(commissions, held, drawn.get(held.name), count, today)
        except OfferFault as fault:
            held_up.append(str(fault))
        else:
            offered += more
    return Passed(commissions, lapsed, tuple(offered), held_up)
