"""Move an order from step to step: which steps may follow which, what moved when, and in which round.

    request → waiting → offered → accepted → on the bench → finished → paid → shipped

A request may be offered a slot without waiting, and an offer may go back to waiting. An order ends early
as `declined` (by the maker) or `withdrawn` (by the client) before it's accepted, as `lapsed` when an offer
isn't answered, and as `called off` by either side after that.

Who asks in a round does so in a size it takes, and in time to the minute, with the head start of those who
wait. A request that was noted with its day alone may have come at any minute of it. It's in the round if it
may have come in time, and it counts as the last of its day, so that it never stands before a known time.
"""

from dataclasses import dataclass
from datetime import date, datetime, time

from sitegen.studio.commission import Client, Commissions, Order, Round, Way, count_people, same_person
from sitegen.studio.order_lines import Move, Step

FOLLOWING: dict[Step, tuple[Step, ...]] = {
    Step.REQUEST: (Step.WAITING, Step.OFFERED, Step.DECLINED, Step.WITHDRAWN),
    Step.WAITING: (Step.OFFERED, Step.DECLINED, Step.WITHDRAWN),
    Step.OFFERED: (Step.ACCEPTED, Step.WAITING, Step.DECLINED, Step.WITHDRAWN, Step.LAPSED),
    Step.ACCEPTED: (Step.ON_THE_BENCH, Step.CALLED_OFF),
    Step.ON_THE_BENCH: (Step.FINISHED, Step.CALLED_OFF),
    Step.FINISHED: (Step.PAID, Step.CALLED_OFF),
    Step.PAID: (Step.SHIPPED, Step.CALLED_OFF),
    Step.SHIPPED: (),
    Step.DECLINED: (),
    Step.WITHDRAWN: (),
    Step.LAPSED: (),
    Step.CALLED_OFF: (),
}
ENDED = frozenset({Step.DECLINED, Step.WITHDRAWN, Step.LAPSED, Step.CALLED_OFF})
UNDER_WAY = frozenset({Step.ACCEPTED, Step.ON_THE_BENCH, Step.FINISHED, Step.PAID})
"""An order that both sides hold to, and that isn't with the client yet."""
HOLDING = UNDER_WAY | {Step.OFFERED}
"""Whoever stands here holds a slot."""
ASKING = frozenset({Step.REQUEST, Step.WAITING})


@dataclass(frozen=True, slots=True)
class When:
    """The day of a step, with its time by the studio's clock where that counts."""

    day: date
    at: time | None = None


def moved(order: Order, step: Step, when: When) -> Order:
    """Take one step. Raises ValueError if it can't follow, or its day lies before the latest step's."""
    if step not in FOLLOWING[order.step]:
        raise ValueError(cannot(order, step))
    history, move = history_of(order), Move(on=when.day, step=step, at=when.at)
    if history and goes_back(history[-1], move):
        raise ValueError(
            f"{order.code} came to '{order.step}' on {history[-1].when}; {move.when} lies before that"
        )
    return _standing(order, (*history, move))


def goes_back(earlier: Move, later: Move) -> bool:
    """Tell whether a step is noted before the one it follows; on one day only two known times can tell."""
    if earlier.on != later.on or earlier.at is None or later.at is None:
        return later.on < earlier.on
    return (later.at.fold, later.at) < (earlier.at.fold, earlier.at)


def may_come_after(earlier: Step, later: Step) -> bool:
    """Tell whether a step can follow another at all, with steps between them that nobody wrote down."""
    reached = set(FOLLOWING[earlier])
    while more := {step for before in reached for step in FOLLOWING[before]} - reached:
        reached |= more
    return later in reached


def taken_back(order: Order) -> Order:
    """Take the latest step back. Raises ValueError if there's none before it, or money was settled by it."""
    history = history_of(order)
    if len(history) < 2:
        raise ValueError(f"{order.code} has no step before '{order.step}' on record")
    if order.step is Step.CALLED_OFF:
        raise ValueError(f"{order.code} was called off and its money settled; that can't be taken back here")
    return _standing(order, history[:-1])


def _standing(order: Order, history: tuple[Move, ...]) -> Order:
    last = history[-1]
    return order.model_copy(update={"step": last.step, "since": last.on, "moves": history})


def history_of(order: Order) -> tuple[Move, ...]:
    """Return what moved when, the present step last, also where only `since:` tells of it."""
    if order.moves and order.moves[-1].step is order.step:
        return order.moves
    if order.since is None:
        return order.moves
    return (*order.moves, Move(on=order.since, step=order.step))


def cannot(order: Order, step: Step) -> str:
    """Say why a step can't be taken, and which can."""
    can = [str(step) for step in FOLLOWING[order.step]]
    if not can:
        return f"{order.code} is {order.step.said}; that is its last step, so it can't go to '{step}'"
    listed = f"{', '.join(can[:-1])} or {can[-1]}"
    if step is order.step:
        return f"{order.code} is {step.said} already; from there it can go to {listed}"
    return f"{order.code} is {order.step.said}; from there it can go to {listed}, not to '{step}'"


def early_people(book: Commissions) -> tuple[Client, ...]:
    """Return whom a round's head start is promised to, by letter and in line: those under `waiting:`."""
    return tuple(who.private for who in book.waiting)


def opens_for(book: Commissions, held: Round, client: Client) -> datetime:
    """Return from when on somebody may ask in a round, in UTC."""
    early = any(same_person(client, who) for who in early_people(book)) if held.head_start else False
    return held.taken_from(early=early)


def round_of(book: Commissions, order: Order) -> Round | None:
    """Find the round an order was asked for in: the one it names, else by its size and when it came."""
    if order.round:
        return next((held for held in book.rounds if held.name == order.round), None)
    fits = (held for held in book.rounds if order.first and held.takes(order.tier))
    return next((held for held in fits if not _out_of_time(book, held, order)), None)


def missed(book: Commissions, held: Round, order: Order) -> str:
    """Say why an order can't be in a round's line: its size, or when it was asked for; empty if it can.

    Of an order whose request isn't on record nothing is said about its time. A round that goes by the
    waiting list goes by how long somebody waits, so nobody is too early for it.
    """
    if not held.takes(order.tier):
        return f"asks for {order.tier}, and {held.name} is for {' or '.join(held.tiers)} only"
    if order.first is None or order.first.step is not Step.REQUEST:
        return ""
    waits = held.way is Way.WAITING_LIST
    return "" if waits and round_of(book, order) != held else _out_of_time(book, held, order, early=not waits)


def _out_of_time(book: Commissions, held: Round, order: Order, *, early: bool = True) -> str:
    """Say that an order was asked for before a round opened, unless that's no matter, or after it closed."""
    if (first := order.first) is None:
        return ""
    begins, ends = first.span(held.zone)
    closes = held.closed_at
    if early and ends < (opens := opens_for(book, held, order.private)):
        whose = "" if opens == held.taken_from() else " to those on the waiting list"
        return f"asked on {first.when}, before {held.name} opens{whose} ({_clock(opens, held)})"
    if closes is not None and begins >= closes:
        return f"asked on {first.when}, when {held.name} was closed ({_clock(closes, held)})"
    return ""


def unsure(book: Commissions, held: Round, order: Order) -> str:
    """Say that a time is missing by which a request might not be in its round; empty if it's clear."""
    first = order.first
    if first is None or first.at is not None or first.step is not Step.REQUEST or missed(book, held, order):
        return ""
    begins, ends = first.span(held.zone)
    opens, closes = opens_for(book, held, order.private), held.closed_at
    if begins < opens <= ends and held.way is not Way.WAITING_LIST:
        turn = f"opens that day ({_clock(opens, held)})"
    elif closes is not None and begins < closes <= ends:
        turn = f"closes that day ({_clock(closes, held)})"
    else:
        return ""
    return (
        f"{order.code} has no time of day, and {held.name} {turn}; it counts as the last of that day. If the "
        f"time is known, write it into its `moves:`, like `{first.on} {_clock(opens, held)[-5:]} request`"
    )


def nearly(book: Commissions, order: Order) -> tuple[Round, str] | None:
    """Find a round that an order outside of any only just isn't in, by its size or by hours; and say why."""
    first = order.first
    if first is None or first.step is not Step.REQUEST or round_of(book, order) is not None:
        return None
    for held in book.rounds:
        opens = held.taken_from(early=True).astimezone(held.zone).date()
        if opens <= first.on and (held.closes is None or first.on <= held.closes.date()):
            return held, missed(book, held, order)
    return None


def _clock(moment: datetime, held: Round) -> str:
    return f"{moment.astimezone(held.zone):%Y-%m-%d %H:%M}"


def slot_held(commissions: Commissions, client: Client, one: Round | None, but: Order | None) -> Order | None:
    """Find the slot that a person holds, in any round; one sent off already counts in its own round.

    `but` is the person's own entry, which doesn't stand in its own way.
    """
    for order in commissions.queue:
        if order is but or not same_person(order.private, client):
            continue
        sent = order.step is Step.SHIPPED and one is not None and round_of(commissions, order) == one
        if order.step in HOLDING or sent:
            return order
    return None


def waiting_people(commissions: Commissions) -> int:
    """Count who waits for a slot: the list, and orders in the queue that wait, each person once."""
    listed, queued = commissions.waiting, [order for order in commissions.queue if order.step is Step.WAITING]
    return count_people((order.private for order in queued), [who.private for who in listed])
