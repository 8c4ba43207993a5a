"""Who gets a slot of a round: whose turn it is, offers and those that nobody answered, and draws.

A draw can be checked by a stranger (RFC 3797), and has two halves. First the list of entrants, the slots and
the future sources of randomness are announced and frozen. Then, once the sources have published, the draw is
made from what was frozen; the queue's file may have changed since, the list may not.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from sitegen.desk import find, words
from sitegen.studio import offers
from sitegen.studio.asked import Fault, told
from sitegen.studio.commission import Commissions, Order, Round, Waiting, Way, same_person
from sitegen.studio.draw import Draw, Source, announce, entrants, filled, run, settle
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ENDED, missed, round_of
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
        moved = {name: [order.code for order in getattr(self, name)] for name in ("lapsed", "offered")}
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
    free = offers.free_slots(book, round_)
    if not free:
        raise Fault(f"commissions.yaml: all slots of {round_.name} are taken")
    wanted = free if count is None else min(count, free)
    with told("commissions.yaml"):
        after, offered = offers.offer(book, round_, drawn, wanted, today)
        passed = offers.skipped(book, round_, drawn, wanted)
    notes = [f"Passed over: {_turn(turn)} {why}." for turn, why in passed]
    if not offered:
        because = f". {' '.join(notes)}" if notes else ""
        raise Fault(
            f"commissions.yaml: nobody is in line for {round_.name}; {free} of {round_.slots} are free"
            f"{because}"
        )
    left = free - len(offered)
    notes += [f"{counted(left, 'slot', 'slots')} of {round_.name} left free."] if left else []
    return Passing(after, (), offered, offers.answer_by(book, today), tuple(notes))


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


def lapsed(studio: Studio, drawn: offers.Drawn, today: date) -> Passing:
    """Let the offers lapse that weren't answered in time, and pass each slot on. Finds nothing twice."""
    book, gone, offered, notes = offers.pass_on(studio.commissions, drawn, today)
    if (left := len(gone) - len(offered)) > 0:
        notes.append(f"{counted(left, 'slot stays', 'slots stay')} free: nobody else is in line.")
    if not gone:
        notes = ["No offer has lapsed."]
        for order in (order for order in book.queue if order.step is Step.OFFERED):
            last = offers.last_day(book, order)
            until = f"stands until {last}" if last else "has no day; write `since:` under it"
            notes.append(f"{named(order)}: {until}.")
    return Passing(book, gone, offered, offers.answer_by(book, today), tuple(notes))


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
    of = counted(round_.slots, "slot", "slots")
    free = f"{round_.name}: {offers.free_slots(book, round_)} of {of} free"
    try:
        turns = offers.in_line(book, round_, drawn)
    except offers.OfferFault as fault:
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
    return [held for held in studio.commissions.rounds if held in named]


SOURCES_TO_WRITE = (
    "sources:\n      - {name: 'Example Lottery, main numbers drawn on 30 January 2027', due: 2027-01-30}"
)


@dataclass(frozen=True)
class Drawing:
    """A draw that is finished, or waits for its sources."""

    draw: Draw
    missing: tuple[Source, ...] = ()  # sources whose numbers aren't there yet
    repeated: tuple[str, ...] = ()  # codes left out because the same person had asked before
    left_out: Mapping[str, str] = field(default_factory=dict)
    """Codes of those who named the round and aren't on its list, with the reason for the artist."""

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines; numbers count lines of the list from 1."""
        return {"key": self.draw.key or None} | words.facts(self.draw, "order winners")


def draw_list(title: str, lines: Sequence[str], slots: int, numbers: Sequence[str]) -> Drawing:
    """Draw from a list outside any round: one entrant a line, the sources' numbers as published.

    Raises Fault for an empty or doubled line, no slot or no source.
    """
    sources = tuple(Source(numbers=number) for number in numbers)
    with told():
        return Drawing(run(Draw(title, entrants(lines), slots, sources), sources))


def entrants_of(studio: Studio, round_: Round) -> tuple[tuple[str, ...], tuple[str, ...], dict[str, str]]:
    """Return the codes of everybody who asks in a round in time, one a person, and the codes left out.

    Last come those whose request isn't in it, with the reason: the time or the size of what was asked for.
    """
    book = studio.commissions
    asking = [order for order in book.queue if order.step is Step.REQUEST and round_of(book, order) == round_]
    late = {order.code: why for order in asking if (why := missed(book, round_, order))}
    first: list[Order] = []
    again: list[str] = []
    for order in (order for order in asking if order.code not in late):
        if any(same_person(order.private, had.private) for had in first):
            again.append(order.code)
        else:
            first.append(order)
    return tuple(order.code for order in first), tuple(again), late


def announce_round(studio: Studio, round_: Round, moment: datetime, title: str) -> Drawing:
    """Announce a round's draw under a title. `moment` carries the studio's zone.

    Raises Fault if the round isn't one for a draw, is still open, names no source, or nobody asked.
    """
    _check(round_, moment)
    codes, repeated, left_out = entrants_of(studio, round_)
    if not codes:
        late = "".join(f". {code} {reason}" for code, reason in left_out.items())
        raise Fault(
            f"commissions.yaml: nobody asks in the round {round_.name}; a request is an entry under `queue:` "
            f"with `step: request` and `round: {round_.name}`{late}"
        )
    sources = tuple(had.model_copy(update={"numbers": ""}) for had in round_.sources)
    with told(f"commissions.yaml, round {round_.name}"):
        draw = announce(Draw(title, codes, round_.slots, sources, wait_days=round_.wait_days), moment.date())
    return Drawing(draw, sources, repeated, left_out)


def _check(round_: Round, moment: datetime) -> None:
    if round_.way is not Way.DRAW:
        raise Fault(
            f"commissions.yaml: the round {round_.name} goes by {round_.way}, so nothing is drawn; "
            "`way: draw` would have its requests drawn"
        )
    if round_.closes is None:
        raise Fault(f"commissions.yaml: the round {round_.name} has no `closes:`, so its list is never final")
    if not round_.is_over(moment):
        raise Fault(
            f"the round {round_.name} is open until {round_.closes:%Y-%m-%d %H:%M}; its list can be "
            "announced after that"
        )
    if not round_.sources:
        raise Fault(
            f"commissions.yaml: the round {round_.name} names no public source of randomness; write three or "
            f"so, published after the announcement, like\n    {SOURCES_TO_WRITE}"
        )


def withdrawn_of(studio: Studio, announced: Draw) -> tuple[int, ...]:
    """Return the numbers on the list of those who have since dropped out.

    Raises Fault if somebody on the list is no longer in the queue's file.
    """
    orders = {order.code: order for order in studio.commissions.queue}
    for code in announced.entrants:
        if code not in orders:
            raise Fault(
                f"commissions.yaml: {code} stands on the announced list and is gone from `queue:`; put the "
                "entry back, with `step: withdrawn` if they withdrew"
            )
    numbered = enumerate(announced.entrants, start=1)
    return tuple(number for number, code in numbered if orders[code].step in ENDED)


def settled(announced: Draw, round_: Round, given: Sequence[str], today: date) -> tuple[Source, ...]:
    """Fill the announced sources with their numbers: those given, else those in the file, else 0 if too late.

    Raises Fault if the file names other sources than were announced, or a source too many is given.
    """
    names = [source.name for source in announced.sources]
    if [source.name for source in round_.sources] != names:
        raise Fault(
            f"commissions.yaml: the sources of {round_.name} aren't those announced on {announced.day}; put "
            f"back, in this order: {'; '.join(names)}"
        )
    if given and len(given) != len(names):
        raise Fault(f"{counted(len(given), 'source is', 'sources are')} given, {len(names)} were announced")
    numbers = given or [source.numbers for source in round_.sources]
    sources = filled(announced.sources, numbers)
    for source in sources:
        if source.numbers.strip() and source.due and source.due > today:
            raise Fault(f"the numbers of {source.name} can't be known before {source.due}; today is {today}")
    return tuple(settle(source, today, announced.wait_days) for source in sources)


def draw_announced(announced: Draw, sources: Sequence[Source], withdrawn: Sequence[int]) -> Drawing:
    """Make an announced draw, or say what it waits for."""
    if missing := tuple(source for source in sources if not source.numbers.strip()):
        return Drawing(announced, missing)
    with told():
        return Drawing(run(announced, sources, withdrawn))


def frozen(announced: Draw) -> dict[str, Any]:
    """Return an announcement as plain values to keep."""
    sources = [words.facts(source, "name due drawn highest") for source in announced.sources]
    return words.facts(announced, "title day entrants slots wait_days") | {"sources": sources}


def thawed(kept: Mapping[str, Any]) -> Draw:
    """Return an announcement from what was kept. Raises ValueError, KeyError or TypeError for damage."""
    sources, listed = tuple(Source(**source) for source in kept["sources"]), tuple(kept["entrants"])
    draw = Draw(kept["title"], listed, kept["slots"], sources, wait_days=kept["wait_days"])
    return announce(draw, date.fromisoformat(kept["day"]))
