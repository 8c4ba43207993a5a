"""Offer a round's slots to the next in line, and pass on the offers that nobody answered in time."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sitegen.desk import find, words
from sitegen.studio.commission import Commissions, Order, Round, Waiting, Way
from sitegen.studio.fault import Fault, told
from sitegen.studio.in_time import round_of
from sitegen.studio.offers import (
    Drawn,
    OfferFault,
    answer_by,
    free_slots,
    in_line,
    last_day,
    offer,
    pass_on,
    skipped,
)
from sitegen.studio.order_lines import Step
from sitegen.studio.text import counted
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Passing:
    """Offers made, and offers that lapsed."""

    book: Commissions  # the whole order book as it's to be
    lapsed: tuple[Order, ...]
    offered: tuple[Order, ...]
    until: date  # the last day on which the new offers can be answered
    notes: tuple[str, ...] = ()

    @property
    def changes(self) -> bool:
        """Say whether there's anything to write."""
        return bool(self.lapsed or self.offered)

    def as_answer(self) -> dict[str, Any]:
        moved = {name: [one.code for one in getattr(self, name)] for name in ("lapsed", "offered")}
        return moved | {"until": str(self.until) if self.offered else None, "notes": list(self.notes)}

    def lines(self) -> list[str]:
        gone = [f"Not answered: {named(order)}, offered {order.moves[-2].on}." for order in self.lapsed]
        made = [f"Offered: {named(order)}, until {self.until}." for order in self.offered]
        letters = [f"  sitegen order letter {order.code}" for order in (*self.lapsed, *self.offered)]
        return [*gone, *made, *self.notes, *(["Letters for them:", *letters] if letters else [])]


def named(order: Order) -> str:
    """Name an order with what it is and for whom."""
    who = order.private.name or order.private.email
    return f"{order.code} ({order.tier}{f', {who}' if who else ''})"


def offer_round(
    studio: Studio, name: str, drawn: Sequence[str] | None, count: int | None, moment: datetime
) -> Passing:
    """Offer a round's free slots, or so many of them, to the next in line.

    Raises Fault before the round opens, before its draw, without a free slot, or if nobody is in line.
    """
    round_, book, today = find.round_named(studio, name), studio.commissions, moment.date()
    _check_time(round_, moment)
    free = free_slots(book, round_)
    if not free:
        raise Fault(f"commissions.yaml: all slots of {round_.name} are taken")
    wanted = free if count is None else min(count, free)
    with told("commissions.yaml"):
        after, offered = offer(book, round_, drawn, wanted, today)
        passed = skipped(book, round_, drawn, wanted)
    notes = [f"Passed over: {_turn(gone.turn)} {gone.why}." for gone in passed]
    if not offered:
        because = f". {' '.join(notes)}" if notes else ""
        raise Fault(
            f"commissions.yaml: nobody is in line for {round_.name}; {free} of {round_.slots} are free"
            f"{because}"
        )
    left = free - len(offered)
    notes += [f"{counted(left, 'slot', 'slots')} of {round_.name} left free."] if left else []
    return Passing(after, (), offered, answer_by(book, today), tuple(notes))


def _check_time(round_: Round, moment: datetime) -> None:
    if round_.way is not Way.WAITING_LIST and moment < round_.taken_from():
        raise Fault(
            f"the round {round_.name} opens on {round_.opens:%Y-%m-%d %H:%M}; offer its slots after that"
        )
    if round_.way is Way.DRAW and not round_.is_over(moment):
        until = (
            f"on {round_.closes:%Y-%m-%d %H:%M}" if round_.closes else "on a day that its `closes:` must name"
        )
        raise Fault(f"the round {round_.name} goes by draw and closes {until}; offer its slots after that")


def lapsed(studio: Studio, drawn: Drawn, today: date) -> Passing:
    """Let the offers lapse that weren't answered in time, and pass each slot on. Finds nothing twice."""
    book = studio.commissions
    passed = pass_on(book, drawn, today)
    notes, left = list(passed.held_up), len(passed.lapsed) - len(passed.offered)
    if left > 0:
        notes.append(f"{counted(left, 'slot stays', 'slots stay')} free: nobody else is in line.")
    if not passed.lapsed:
        notes = ["No offer has lapsed.", *_standing(book)]
    until = answer_by(book, today)
    return Passing(passed.commissions, passed.lapsed, passed.offered, until, tuple(notes))


def _standing(book: Commissions) -> Iterator[str]:
    """Say which offers stand, and which have no day to count from."""
    for order in book.queue:
        if order.step is Step.OFFERED:
            last = last_day(book, order)
            until = f"stands until {last}" if last else "has no day; write `since:` under it"
            yield f"{named(order)}: {until}."


def stands(round_: Round, moment: datetime) -> str:
    """Say when a round opens or closes, as seen from a moment in the studio's zone."""
    day = moment.date()

    def on(turn: datetime) -> str:
        return f"{words.at_day(turn.date(), day)}, at {turn:%H:%M}"

    if round_.way is Way.WAITING_LIST:
        return "Its slots go to the waiting list, oldest first."
    if moment < round_.taken_from():
        until = f", and closes on {words.on_day(round_.closes.date(), day)}" if round_.closes else ""
        return f"Opens {on(round_.opens)}{until}."
    if round_.closes is None:
        return f"Open since {words.on_day(round_.opens.date(), day)}, without a last day."
    return f"{'Closed' if round_.is_over(moment) else 'Open; closes'} {on(round_.closes)}."


def line_up(studio: Studio, round_: Round, drawn: Sequence[str] | None) -> str:
    """Say how many slots of a round are free and who is next."""
    book = studio.commissions
    free = f"{round_.name}: {free_slots(book, round_)} of {counted(round_.slots, 'slot', 'slots')} free"
    try:
        turns = in_line(book, round_, drawn)
    except OfferFault as fault:
        return f"{free}. {fault}."
    if not turns:
        return f"{free}; nobody is in line."
    shown = [_turn(turn) for turn in turns[:3]]
    more = f" and {len(turns) - 3} more" if len(turns) > 3 else ""
    return f"{free}; next in line: {', '.join(shown)}{more}."


def _turn(turn: Order | Waiting) -> str:
    if isinstance(turn, Order):
        return turn.code
    return f"{turn.private.name or turn.private.email or 'somebody'} (waits since {turn.since})"


def rounds_of_interest(studio: Studio) -> list[Round]:
    """Return the rounds in which somebody asks or has an offer."""
    live = {Step.REQUEST, Step.WAITING, Step.OFFERED}
    named = [round_of(studio.commissions, order) for order in studio.commissions.queue if order.step in live]
    return [one for one in studio.commissions.rounds if one in named]
