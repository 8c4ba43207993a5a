"""Who asks in a round: in a size it takes, and in time to the minute, with the head start of those who wait.

A request that was noted with its day alone may have come at any minute of it. It's in the round if it may
have come in time, and it counts as the last of its day, so that it never stands before a time that is known.
"""

from datetime import datetime

from sitegen.studio.commission import Client, Commissions, Order, Round, Way, same_person, span_of
from sitegen.studio.order_lines import Step


def early_people(book: Commissions) -> tuple[Client, ...]:
    """Return whom a round's head start is promised to, by letter and in line: those under `waiting:`."""
    return tuple(who.private for who in book.waiting)


def opens_for(book: Commissions, one: Round, client: Client) -> datetime:
    """Return from when on somebody may ask in a round, in UTC."""
    early = any(same_person(client, who) for who in early_people(book)) if one.head_start else False
    return one.taken_from(early=early)


def round_of(book: Commissions, order: Order) -> Round | None:
    """Find the round an order was asked for in: the one it names, else by its size and when it came."""
    if order.round:
        return next((one for one in book.rounds if one.name == order.round), None)
    return next((one for one in book.rounds if order.first and not _missed(book, one, order)), None)


def missed(book: Commissions, one: Round, order: Order) -> str:
    """Say why an order can't be in a round's line: its size, or when it was asked for; empty if it can.

    Of an order whose request isn't on record nothing is said about its time. A round that goes by the
    waiting list goes by how long somebody waits, so nobody is too early for it.
    """
    first = order.first
    if first is None or first.step is not Step.REQUEST:
        return _size(one, order)
    if one.way is not Way.WAITING_LIST:
        return _missed(book, one, order)
    return _size(one, order) or (_too_late(one, order) if round_of(book, order) == one else "")


def _missed(book: Commissions, one: Round, order: Order) -> str:
    return _size(one, order) or _too_early(book, one, order) or _too_late(one, order)


def _size(one: Round, order: Order) -> str:
    if one.takes(order.tier):
        return ""
    return f"asks for {order.tier}, and {one.name} is for {' or '.join(one.tiers)} only"


def _too_early(book: Commissions, one: Round, order: Order) -> str:
    opens = opens_for(book, one, order.private)
    if order.first is None or span_of(order.first, one.zone)[1] >= opens:
        return ""
    whose = "" if opens == one.taken_from() else " to those on the waiting list"
    return f"asked on {order.first.when}, before {one.name} opens{whose} ({_clock(opens, one)})"


def _too_late(one: Round, order: Order) -> str:
    closes = one.closed_at
    if order.first is None or closes is None or span_of(order.first, one.zone)[0] < closes:
        return ""
    return f"asked on {order.first.when}, when {one.name} was closed ({_clock(closes, one)})"


def unsure(book: Commissions, one: Round, order: Order) -> str:
    """Say that a time is missing by which a request might not be in its round; empty if it's clear."""
    first = order.first
    if first is None or first.at is not None or first.step is not Step.REQUEST or missed(book, one, order):
        return ""
    begins, ends = span_of(first, one.zone)
    opens, closes = opens_for(book, one, order.private), one.closed_at
    if begins < opens <= ends and one.way is not Way.WAITING_LIST:
        turn = f"opens that day ({_clock(opens, one)})"
    elif closes is not None and begins < closes <= ends:
        turn = f"closes that day ({_clock(closes, one)})"
    else:
        return ""
    return (
        f"{order.code} has no time of day, and {one.name} {turn}; it counts as the last of that day. If the "
        f"time is known, write it into its `moves:`, like `{first.on} {_clock(opens, one)[-5:]} request`"
    )


def nearly(book: Commissions, order: Order) -> tuple[Round, str] | None:
    """Find a round that an order outside of any only just isn't in, by its size or by hours; and say why."""
    first = order.first
    if first is None or first.step is not Step.REQUEST or round_of(book, order) is not None:
        return None
    for one in book.rounds:
        opens = one.taken_from(early=True).astimezone(one.zone).date()
        if opens <= first.on and (one.closes is None or first.on <= one.closes.date()):
            return one, missed(book, one, order)
    return None


def _clock(moment: datetime, one: Round) -> str:
    return f"{moment.astimezone(one.zone):%Y-%m-%d %H:%M}"
