"""Draw who gets a slot, so that a stranger can check it (RFC 3797).

A round's draw has two halves. First the list of entrants, the slots and the future sources of randomness
are announced and frozen. Then, once the sources have published, the draw is made from what was frozen;
the queue's file may have changed since, the list may not.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from sitegen.desk import words
from sitegen.studio.commission import Order, Round, Way
from sitegen.studio.draw import (
    DrawNotice,
    DrawRecord,
    Source,
    announce,
    entrants,
    filled,
    one_entry_each,
    run,
    settle,
)
from sitegen.studio.fault import Fault, told
from sitegen.studio.in_time import missed, round_of
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ENDED
from sitegen.studio.text import counted
from sitegen.studio.whole import Studio

SOURCES_TO_WRITE = (
    "sources:\n      - {name: 'Example Lottery, main numbers drawn on 30 January 2027', due: 2027-01-30}"
)


@dataclass(frozen=True)
class DrawAnswer:
    """A finished draw."""

    title: str
    record: DrawRecord

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines; numbers count lines of the list from 1."""
        return words.facts(self.record, "key order winners")


@dataclass(frozen=True)
class Announced:
    """A draw that waits for its sources."""

    announcement: DrawNotice
    repeated: tuple[str, ...]  # codes left out because the same person had asked before
    missing: tuple[Source, ...]  # sources whose numbers aren't there yet
    left_out: Mapping[str, str] = field(default_factory=dict)
    """Codes of those who named the round and aren't on its list, with the reason for the artist."""

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines: no key yet, nobody drawn."""
        return {"key": None, "order": [], "winners": []}


def draw_list(title: str, lines: Sequence[str], slots: int, sources: Sequence[str]) -> DrawAnswer:
    """Draw from a list outside any round: one entrant a line, the sources' numbers as published.

    Raises Fault for an empty or doubled line, no slot or no source.
    """
    with told():
        record = run(entrants(lines), slots, [Source("", numbers=numbers) for numbers in sources])
    return DrawAnswer(title, record)


def entrants_of(studio: Studio, round_: Round) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the codes of everybody who asks in a round in time, one a person, and the codes left out."""
    asking = [order for order in _asking(studio, round_) if not missed(studio.commissions, round_, order)]
    return one_entry_each((order.code, person(order)) for order in asking)


def _asking(studio: Studio, round_: Round) -> list[Order]:
    book = studio.commissions
    return [order for order in book.queue if order.step is Step.REQUEST and round_of(book, order) == round_]


def _not_in_time(studio: Studio, round_: Round) -> dict[str, str]:
    """Say who is left out of a draw, and why: the time or the size of what was asked for."""
    why = [(order.code, missed(studio.commissions, round_, order)) for order in _asking(studio, round_)]
    return {code: reason for code, reason in why if reason}


def person(order: Order) -> str:
    """Return what tells one client from another: the mail address, else the name, else the code."""
    client = order.private
    return (client.email.strip() or " ".join(client.name.split()) or order.code).casefold()


def announce_round(studio: Studio, round_: Round, moment: datetime, title: str) -> Announced:
    """Announce a round's draw under a title. `moment` carries the studio's zone.

    Raises Fault if the round isn't one for a draw, is still open, names no source, or nobody asked.
    """
    _check(round_, moment)
    codes, repeated = entrants_of(studio, round_)
    if not codes:
        late = "".join(f". {code} {reason}" for code, reason in _not_in_time(studio, round_).items())
        raise Fault(
            f"commissions.yaml: nobody asks in the round {round_.name}; a request is an entry under `queue:` "
            f"with `step: request` and `round: {round_.name}`{late}"
        )
    sources = [Source(had.name, had.due, "", had.drawn, had.highest) for had in round_.sources]
    with told(f"commissions.yaml, round {round_.name}"):
        announced = announce(title, codes, round_.slots, sources, moment.date(), round_.wait_days)
    return Announced(announced, repeated, announced.sources, _not_in_time(studio, round_))


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


def withdrawn_of(studio: Studio, announced: DrawNotice) -> tuple[int, ...]:
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


def settled(announced: DrawNotice, round_: Round, given: Sequence[str], today: date) -> tuple[Source, ...]:
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


def draw_announced(
    announced: DrawNotice, sources: Sequence[Source], withdrawn: Sequence[int]
) -> DrawAnswer | Announced:
    """Make an announced draw, or say what it waits for."""
    missing = tuple(source for source in sources if not source.numbers.strip())
    if missing:
        return Announced(announced, (), missing)
    with told():
        record = run(announced.entrants, announced.slots, sources, withdrawn)
    return DrawAnswer(announced.title, record)


def frozen(announced: DrawNotice) -> dict[str, Any]:
    """Return an announcement as plain values to keep."""
    sources = [words.facts(one, "name due drawn highest") for one in announced.sources]
    return words.facts(announced, "title day entrants slots wait_days") | {"sources": sources}


def thawed(kept: Mapping[str, Any]) -> DrawNotice:
    """Return an announcement from what was kept. Raises ValueError, KeyError or TypeError for damage."""
    sources = [
        Source(one["name"], date.fromisoformat(one["due"]), "", one["drawn"], one["highest"])
        for one in kept["sources"]
    ]
    day = date.fromisoformat(kept["day"])
    return announce(kept["title"], tuple(kept["entrants"]), kept["slots"], sources, day, kept["wait_days"])
