"""The letter that says a round of commissions opens, or is open."""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.letters.announce import Announcement, Plan, Room, compose
from sitegen.letters.faults import LetterFault
from sitegen.studio.fields import is_placeholder
from sitegen.studio.person import Interest, Person
from sitegen.studio.public import FrontOfHouse, PublicRound, RoundState

# Pages of the site that say what a commission's client agrees to, in the order to be read.
TERMS = ("commission-terms", "payment-terms")


def announce_commissions(
    front: FrontOfHouse, people: Sequence[Person], room: Room, note: str = "", round_name: str | None = None
) -> Announcement:
    """Make the letter for one round: the named one, or else the open or next one.

    Raises LetterFault if there's no such round, it's over, or it offers nothing.
    """
    one = _round(front, round_name)
    _check(one)
    values = {
        "round": one,
        "is_open": one.state is RoundState.OPEN,
        "terms": [page for name in TERMS if (page := front.page(name))],
    }
    plan = Plan(f"commissions-{one.slug}", "commissions", Interest.COMMISSIONS, values, note)
    return compose(front, people, plan, room)


def _round(front: FrontOfHouse, name: str | None) -> PublicRound:
    if name is None:
        if front.round is None:
            raise LetterFault("no round is open or coming; add one under 'rounds:' in commissions.yaml")
        return front.round
    found = next((one for one in front.rounds if name.casefold() in {one.name.casefold(), one.slug}), None)
    if found is None:
        names = ", ".join(one.name for one in front.rounds) or "none at all"
        raise LetterFault(f"commissions.yaml has no round '{name}'; it has {names}")
    return found


def _check(one: PublicRound) -> None:
    if one.state is RoundState.CLOSED:
        raise LetterFault(
            f"the round '{one.name}' closed on {one.closes:%Y-%m-%d %H:%M}; there's nothing to announce"
        )
    if not one.slots:
        raise LetterFault(
            f"the round '{one.name}' has no slots; write how many under 'slots:' in commissions.yaml"
        )
    if not one.tiers:
        raise LetterFault(
            f"the round '{one.name}' offers no tier; add one under 'tiers:' in commissions.yaml"
        )
    if is_placeholder(one.note):
        raise LetterFault(f"the note of the round '{one.name}' still has a place to fill in: '{one.note}'")
