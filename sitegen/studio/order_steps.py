"""Move an order from step to step: which steps may follow which, and what moved when.

    request → waiting → offered → accepted → on the bench → finished → paid → shipped

A request may be offered a slot without waiting, and an offer may go back to waiting. An order ends early
as `declined` (by the maker) or `withdrawn` (by the client) before it's accepted, as `lapsed` when an offer
isn't answered, and as `called off` by either side after that.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time

from sitegen.studio.client import Client, same_person
from sitegen.studio.commission import Commissions, Place, Round
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


class StepFault(ValueError):
    """A step that can't be taken; `str()` says which can."""


@dataclass(frozen=True, slots=True)
class When:
    """The day of a step, with its time by the studio's clock where that counts."""

    day: date
    at: time | None = None


def moved(place: Place, step: Step, when: When) -> Place:
    """Take one step. Raises StepFault if it can't follow, or its day lies before the latest step's."""
    if step not in FOLLOWING[place.step]:
        raise StepFault(cannot(place, step))
    history, move = history_of(place), Move(on=when.day, step=step, at=when.at)
    if history and goes_back(history[-1], move):
        raise StepFault(
            f"{place.code} came to '{place.step}' on {history[-1].when}; {move.when} lies before that"
        )
    return _standing(place, (*history, move))


def goes_back(earlier: Move, later: Move) -> bool:
    """Tell whether a step is noted before the one it follows; on one day only two known times can tell."""
    if earlier.on != later.on or earlier.at is None or later.at is None:
        return later.on < earlier.on
    return (later.at.fold, later.at) < (earlier.at.fold, earlier.at)


def may_come_after(earlier: Step, later: Step) -> bool:
    """Tell whether a step can follow another at all, with steps between them that nobody wrote down."""
    reached = set(FOLLOWING[earlier])
    while more := {step for one in reached for step in FOLLOWING[one]} - reached:
        reached |= more
    return later in reached


def taken_back(place: Place) -> Place:
    """Take the latest step back. Raises StepFault if there's none before it, or money was settled by it."""
    history = history_of(place)
    if len(history) < 2:
        raise StepFault(f"{place.code} has no step before '{place.step}' on record")
    if place.step is Step.CALLED_OFF:
        raise StepFault(f"{place.code} was called off and its money settled; that can't be taken back here")
    return _standing(place, history[:-1])


def _standing(place: Place, history: tuple[Move, ...]) -> Place:
    last = history[-1]
    return place.model_copy(update={"step": last.step, "since": last.on, "moves": history})


def history_of(place: Place) -> tuple[Move, ...]:
    """Return what moved when, the present step last, also where only `since:` tells of it."""
    if place.moves and place.moves[-1].step is place.step:
        return place.moves
    if place.since is None:
        return place.moves
    return (*place.moves, Move(on=place.since, step=place.step))


def cannot(place: Place, step: Step) -> str:
    """Say why a step can't be taken, and which can."""
    can = [str(one) for one in FOLLOWING[place.step]]
    if not can:
        return f"{place.code} is {place.step}; that is its last step, so it can't go to '{step}'"
    listed = f"{', '.join(can[:-1])} or {can[-1]}" if len(can) > 1 else can[0]
    if step is place.step:
        return f"{place.code} is {step} already; from there it can go to {listed}"
    return f"{place.code} is {place.step}; from there it can go to {listed}, not to '{step}'"


def slot_held(commissions: Commissions, client: Client, one: Round | None, but: Place | None) -> Place | None:
    """Find the slot that a person holds, in any round; one sent off already counts in its own round.

    `but` is the person's own entry, which doesn't stand in its own way.
    """
    for place in commissions.queue:
        if place is but or not same_person(place.private, client):
            continue
        sent = place.step is Step.SHIPPED and one is not None and commissions.round_of(place) == one
        if place.step in HOLDING or sent:
            return place
    return None


def waiting_people(commissions: Commissions) -> int:
    """Count who waits for a slot: the list, and places in the queue that wait, each person once."""
    found: list[Client] = [who.private for who in commissions.waiting]
    for place in commissions.queue:
        if place.step is Step.WAITING and not any(same_person(place.private, one) for one in found):
            found.append(place.private)
    return len(found)
