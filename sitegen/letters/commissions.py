"""The letter that says a round of commissions opens, or is open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

from sitegen.letters.announce import Announcement, LetterPlan, Room, compose
from sitegen.letters.message import dates
from sitegen.letters.note import Hanging, Note, hang
from sitegen.studio.commission import Way
from sitegen.studio.fault import LetterFault
from sitegen.studio.fields import is_placeholder
from sitegen.studio.mailing import choose
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
    other = "not on the waiting list; gets the other letter"
    ahead = "on the waiting list; gets the letter with the head start"
    first = replace(
        _plan(front, one, hung, voice, opens, early.hours),
        elsewhere=lambda key: "" if key in early.waiting else other,
        remarks=early.remarks,
    )
    unreached = _unreached(len(early.waiting) - len(reached))
    if len(reached) == len(chosen) > 0:
        return compose(front, people, replace(first, remarks=(*unreached, *early.remarks)), room, voice), None
    later = replace(
        _plan(front, one, hung, voice),
        elsewhere=lambda key: ahead if key in early.waiting else "",
        remarks=unreached,
    )
    rest = compose(front, people, later, room, voice)
    return compose(front, people, first, room, voice) if reached else None, rest


def _plan(
    front: FrontOfHouse,
    one: PublicRound,
    note: Note,
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
    moments = {"own_early": early, "own_opens": one.opens, "own_closes": one.closes}
    dated = replace(one, opens=early) if early else one
    calendar = dates(f"commissions-{one.slug}.ics", round_events(voice, front.card, dated), front.card)
    return LetterPlan(
        f"commissions-{one.slug}{'-waiting-list' if early else ''}", "commissions", Interest.COMMISSIONS,
        values, note, (calendar,), promises=(f"round {one.slug}", *([f"early {one.slug}"] if early else [])),
        moments={name: moment for name, moment in moments.items() if moment},
    )  # fmt: skip


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
    """Refuse a round that has nothing to announce."""
    name = f"the round '{one.name}'"
    closed = f"{one.closes:%Y-%m-%d %H:%M}" if one.closes else ""
    full = one.state is RoundState.OPEN and not one.left and one.way is not Way.DRAW
    for wrong, said in (
        (one.state is RoundState.CLOSED, f"{name} closed on {closed}; there's nothing to announce"),
        (not one.slots, f"{name} has no slots; write how many under 'slots:' in commissions.yaml"),
        (full, f"every place of {name} is taken; there's nothing to announce"),
        (not one.tiers, f"{name} offers no tier; add one under 'tiers:' in commissions.yaml"),
        (is_placeholder(one.note), f"the note of {name} still has a place to fill in: '{one.note}'"),
    ):
        if wrong:
            raise LetterFault(said)
