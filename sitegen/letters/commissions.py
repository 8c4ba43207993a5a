"""The letter that says a round of commissions opens, or is open."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

from sitegen.letters.announce import Announcement, LetterPlan, Room, compose
from sitegen.letters.cautions import early_facts, round_facts
from sitegen.letters.message import dates
from sitegen.letters.note import Hanging, Layout, Note, hang, remarks
from sitegen.studio.commission import Way
from sitegen.studio.fault import LetterFault
from sitegen.studio.fields import is_placeholder
from sitegen.studio.mailing import Choice, Reason, Skipped, choose
from sitegen.studio.person import Interest, Person
from sitegen.studio.public import FrontOfHouse, PublicRound, RoundState
from sitegen.voice.calendar import round_events
from sitegen.voice.voice import Voice, open_voice

# Pages of the site that say what a commission's client agrees to, in the order to be read.
TERMS = ("commission-terms", "payment-terms")


@dataclass(frozen=True, slots=True)
class HeadStart:
    """How much earlier a round opens for those who wait."""

    hours: int
    waiting: frozenset[str] = field(repr=False)
    """Folded addresses of those on the waiting list."""
    round_name: str | None = None
    remarks: tuple[str, ...] = ()
    """What the artist should know of it."""


def announce_commissions(
    front: FrontOfHouse,
    people: Sequence[Person],
    room: Room,
    note: str = "",
    round_name: str | None = None,
    hanging: Hanging | None = None,
) -> Announcement:
    """Make the letter for one round: the named one, or else the open or next one.

    Raises LetterFault if there's no such round, it's over, or it offers nothing.
    """
    one = find_round(front, round_name)
    _check(one)
    voice = open_voice(room.theme, front.card)
    plan = _plan(front, one, hang(front, note, hanging or Hanging()), voice)
    return compose(front, people, plan, room, voice)


def announce_head_start(
    front: FrontOfHouse,
    people: Sequence[Person],
    room: Room,
    early: HeadStart,
    note: str = "",
    hanging: Hanging | None = None,
) -> tuple[Announcement | None, Announcement | None]:
    """Make two letters for one round: first for those who wait, with their earlier time, then for the rest.

    Only people whom the list allows get either; a letter that would be for nobody is None. Raises LetterFault
    if both would be, if the round gives no place to whoever is early, or if it's too late for that.
    """
    one = find_round(front, early.round_name)
    _check(one)
    opens = _early(front, one, early.hours)
    voice = open_voice(room.theme, front.card)
    hung = hang(front, note, hanging or Hanging())
    chosen = choose(people, Interest.COMMISSIONS, front.moment.date(), room.forgotten).chosen
    reached = early.waiting & {one.key for one in chosen}
    first = replace(_plan(front, one, hung, voice, opens, early.hours), narrow=_only(early.waiting))
    first = replace(first, remarks=(*early.remarks, *first.remarks))
    later = replace(_plan(front, one, hung, voice), narrow=_all_but(early.waiting))
    unreached = _unreached(len(early.waiting) - len(reached))
    if len(reached) == len(chosen) > 0:
        return compose(front, people, replace(first, remarks=(*unreached, *first.remarks)), room, voice), None
    rest = compose(front, people, replace(later, remarks=(*unreached, *later.remarks)), room, voice)
    return compose(front, people, first, room, voice) if reached else None, rest


def _plan(
    front: FrontOfHouse,
    one: PublicRound,
    hung: tuple[Note, Layout],
    voice: Voice,
    early: datetime | None = None,
    hours: int = 0,
) -> LetterPlan:
    values = {
        "round": one,
        "is_open": one.state is RoundState.OPEN,
        "terms": [page for name in TERMS if (page := front.page(name))],
        "early": early,
        "lead": front.lead_time if front.round is not None and front.round.slug == one.slug else None,
        "hours": hours,
    }
    facts = round_facts(front, one.slug) | (early_facts(front, one.slug) if early else {})
    dated = replace(one, opens=early) if early else one
    calendar = dates(f"commissions-{one.slug}.ics", round_events(voice, front.card, dated), front.card)
    return LetterPlan(
        f"commissions-{one.slug}{'-waiting-list' if early else ''}", "commissions", Interest.COMMISSIONS,
        values, hung[0], (*hung[1].parts, calendar), facts=facts,
        moments=_moments(one, early), remarks=remarks(hung[1]),
    )  # fmt: skip


def _moments(one: PublicRound, early: datetime | None) -> dict[str, datetime]:
    found = {"own_early": early, "own_opens": one.opens, "own_closes": one.closes}
    return {name: moment for name, moment in found.items() if moment}


def _early(front: FrontOfHouse, one: PublicRound, hours: int) -> datetime:
    if one.way is not Way.FIRST_COME:
        raise LetterFault(
            f"a head start means nothing in the round '{one.name}', whose way is '{one.way}'; "
            "it's for 'first come'"
        )
    # In UTC: an hour less on the wall is not an hour less when the clocks change in between.
    opens = (one.opens.astimezone(UTC) - timedelta(hours=hours)).astimezone(one.opens.tzinfo)
    if hours < 1 or opens.timestamp() <= front.moment.timestamp():
        raise LetterFault(
            f"a head start of {hours} hours would begin on {opens:%Y-%m-%d %H:%M}; that must lie after now "
            f"and before the opening on {one.opens:%Y-%m-%d %H:%M}"
        )
    return opens


def _unreached(count: int) -> tuple[str, ...]:
    if not count:
        return ()
    who = "1 of those who wait gets" if count == 1 else f"{count} of those who wait get"
    return (
        f"{who} no letter: not on the list, or not to be written to (see skipped.csv). Tell them yourself.",
    )


def _only(waiting: frozenset[str]) -> Callable[[Choice], Choice]:
    return lambda choice: _split(
        choice, lambda key: key in waiting, "not on the waiting list; gets the other letter"
    )


def _all_but(waiting: frozenset[str]) -> Callable[[Choice], Choice]:
    return lambda choice: _split(
        choice, lambda key: key not in waiting, "on the waiting list; gets the letter with the head start"
    )


def _split(choice: Choice, stays: Callable[[str], bool], why: str) -> Choice:
    out = [Skipped(one.person, Reason.ELSEWHERE, why) for one in choice.chosen if not stays(one.key)]
    return Choice(tuple(one for one in choice.chosen if stays(one.key)), (*choice.skipped, *out))


def find_round(front: FrontOfHouse, name: str | None) -> PublicRound:
    """Return the named round, or else the open or next one. Raises LetterFault if there's none."""
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
    if one.state is RoundState.OPEN and not one.left and one.way is not Way.DRAW:
        raise LetterFault(f"every place of the round '{one.name}' is taken; there's nothing to announce")
    if not one.tiers:
        raise LetterFault(
            f"the round '{one.name}' offers no tier; add one under 'tiers:' in commissions.yaml"
        )
    if is_placeholder(one.note):
        raise LetterFault(f"the note of the round '{one.name}' still has a place to fill in: '{one.note}'")
