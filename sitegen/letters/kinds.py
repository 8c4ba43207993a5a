"""The kinds of letters to the list: a round opens, new pieces, a show, her own words, the one question."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from zlib import crc32

from sitegen.letters.announce import Announcement, LetterPlan, compose
from sitegen.letters.folder import Room
from sitegen.letters.message import clean, dates
from sitegen.letters.note import Hanging, Note, Picture, Want, hang, whole_figure
from sitegen.letters.personal import make_token
from sitegen.letters.record import PostingEvent, postings
from sitegen.studio.commission import Way
from sitegen.studio.fault import LetterFault
from sitegen.studio.fields import LONGEST_NAME, did_you_mean, is_placeholder, no_such
from sitegen.studio.mailing import choose
from sitegen.studio.person import Consent, Interest, Person
from sitegen.studio.public import FrontOfHouse, PublicPiece, PublicRound, RoundState
from sitegen.studio.terms import PAGES
from sitegen.studio.text import counted, slug
from sitegen.voice.calendar import round_events, show_events
from sitegen.voice.voice import Voice, open_voice

# Common practice, no source.
TEACHING = (
    "A class brings duties of its own: insurance, what you owe if you cancel, care with blades, dust and "
    "resins, more where minors take part. Check local rules."
)
# Directive 98/6/EC Art. 6a, as Directive (EU) 2019/2161 put it in; 16 CFR 233.1 (both from memory).
LOWER_PRICES = (
    "If it tells of a lower price: where you sell to the EU, the lowest price of the 30 days before must "
    "stand beside it; in the US an earlier price must be one you really asked for. Check local rules."
)
ONLY_ASKS = (
    "It says nothing but the question: a letter that asks for consent must not advertise "
    "(common practice, no source)."
)
_CONFIRM = "confirm-"


def _refuse(*checks: tuple[bool, str]) -> None:
    """Raise LetterFault for the first thing that is wrong."""
    for wrong, said in checks:
        if wrong:
            raise LetterFault(said)


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
    front: FrontOfHouse, people: Sequence[Person], room: Room, note: str = "",
    round_name: str | None = None, hanging: Hanging | None = None,
) -> Announcement:  # fmt: skip
    """Make the letter for one round: the named one, or else the open or next one.

    Raises LetterFault if there's no such round, it's over, or it offers nothing.
    """
    one, voice = _announced(front, round_name), open_voice(room.theme, front.card)
    plan = _of_round(front, one, hang(front, note, hanging or Hanging()), voice)
    return compose(front, people, plan, room, voice)


def announce_head_start(
    front: FrontOfHouse, people: Sequence[Person], room: Room, early: HeadStart, note: str = "",
    hanging: Hanging | None = None,
) -> tuple[Announcement | None, Announcement | None]:  # fmt: skip
    """Make two letters for one round: first for those who wait, with their earlier time, then for the rest.

    Only people whom the list allows get either; a letter that would be for nobody is None. Raises LetterFault
    if both would be, if the round gives no place to whoever is early, or if it's too late for that.
    """
    one, voice = _announced(front, early.round_name), open_voice(room.theme, front.card)
    opens = _early(front, one, early.hours)
    hung = hang(front, note, hanging or Hanging())
    may = {
        one.key for one in choose(people, Interest.COMMISSIONS, front.moment.date(), room.forgotten).chosen
    }
    unreached: tuple[str, ...] = ()
    if missing := len(early.waiting - may):
        who = counted(missing, "of those who wait gets", "of those who wait get")
        why = "not on the list, or not to be written to (see skipped.csv). Tell them yourself."
        unreached = (f"{who} no letter: {why}",)
    other = "not on the waiting list; gets the other letter"
    ahead = "on the waiting list; gets the letter with the head start"
    first = replace(
        _of_round(front, one, hung, voice, opens, early.hours),
        elsewhere=lambda key: "" if key in early.waiting else other,
        remarks=early.remarks,
    )
    if may and may <= early.waiting:
        return compose(front, people, replace(first, remarks=(*unreached, *early.remarks)), room, voice), None
    later = replace(
        _of_round(front, one, hung, voice),
        elsewhere=lambda key: ahead if key in early.waiting else "",
        remarks=unreached,
    )
    rest = compose(front, people, later, room, voice)
    return compose(front, people, first, room, voice) if early.waiting & may else None, rest


def _of_round(
    front: FrontOfHouse, one: PublicRound, note: Note, voice: Voice, early: datetime | None = None,
    hours: int = 0,
) -> LetterPlan:  # fmt: skip
    values = {
        "round": one,
        "is_open": one.state is RoundState.OPEN,
        "terms": [page for name in PAGES if (page := front.page(name))],
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
    # In UTC: an hour less on the wall is not an hour less when the clocks change in between.
    opens = (one.opens.astimezone(UTC) - timedelta(hours=hours)).astimezone(one.opens.tzinfo)
    _refuse(
        (
            one.way is not Way.FIRST_COME,
            f"a head start means nothing in the round '{one.name}', whose way is '{one.way}'; "
            "it's for 'first come'",
        ),
        (
            hours < 1 or opens.timestamp() <= front.moment.timestamp(),
            f"a head start of {hours} hours would begin on {opens:%Y-%m-%d %H:%M}; that must lie after now "
            f"and before the opening on {one.opens:%Y-%m-%d %H:%M}",
        ),
    )
    return opens


def find_round(front: FrontOfHouse, name: str | None) -> PublicRound:
    """Return the named round, or else the open or next one. Raises LetterFault if there's none."""
    if name is None:
        if front.round is None:
            raise LetterFault("no round is open or coming; add one under 'rounds:' in commissions.yaml")
        return front.round
    found = next((one for one in front.rounds if name.casefold() in {one.name.casefold(), one.slug}), None)
    if found is None:
        names = [one.name for one in front.rounds]
        there = did_you_mean(name, names) or f"; it has {', '.join(names) or 'none at all'}"
        raise LetterFault(f"commissions.yaml has no round '{name}'{there}")
    return found


def _announced(front: FrontOfHouse, name: str | None) -> PublicRound:
    """Find a round; refuse one that has nothing to announce."""
    one = find_round(front, name)
    called = f"the round '{one.name}'"
    closed = f"{one.closes:%Y-%m-%d %H:%M}" if one.closes else ""
    full = one.state is RoundState.OPEN and not one.left and one.way is not Way.DRAW
    _refuse(
        (one.state is RoundState.CLOSED, f"{called} closed on {closed}; there's nothing to announce"),
        (not one.slots, f"{called} has no slots; write how many under 'slots:' in commissions.yaml"),
        (full, f"every place of {called} is taken; there's nothing to announce"),
        (not one.tiers, f"{called} offers no tier; add one under 'tiers:' in commissions.yaml"),
        (is_placeholder(one.note), f"the note of {called} still has a place to fill in: '{one.note}'"),
    )
    return one


@dataclass(frozen=True, slots=True)
class Item:
    """One piece as the letter shows it."""

    piece: PublicPiece
    label: tuple[str, ...]
    """The wall label's lines below the title; the last is the price."""
    link: str
    picture: Picture | None


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which pieces, and how they're shown."""

    slugs: tuple[str, ...] = ()
    since: date | None = None
    """All available pieces finished on that day or later."""
    hanging: Hanging = field(default_factory=Hanging)


def announce_pieces(
    front: FrontOfHouse, people: Sequence[Person], room: Room, wanted: Wanted, note: str = ""
) -> Announcement:
    """Make the letter for some pieces, each of which must be available.

    Raises LetterFault if one is not, or none is left.
    """
    voice = open_voice(room.theme, front.card)
    if not wanted.slugs:
        day = wanted.since
        done = ((piece.slug, piece.finished) for piece in front.pieces if piece.offered and piece.finished)
        wanted = replace(wanted, slugs=tuple(slug for slug, on in done if day is None or on >= day))
        nothing = f"no piece finished since {day} is available" if day else "no piece is available"
        _refuse((not wanted.slugs, nothing))
    own, items = _items(front, note, wanted, voice)
    pieces = [item.piece for item in items]
    more = f"-and-{len(pieces) - 1}-more" if len(pieces) > 1 else ""
    plan = LetterPlan(
        f"pieces-{front.moment.date()}-{pieces[0].slug}{more}", "pieces", Interest.NEW_PIECES,
        {"items": items}, own, promises=tuple(f"piece {piece.slug}" for piece in pieces),
    )  # fmt: skip
    return compose(front, people, plan, room, voice)


def _items(front: FrontOfHouse, note: str, wanted: Wanted, voice: Voice) -> tuple[Note, list[Item]]:
    """Lay out a note and the pieces named, each of which must be available. Raises LetterFault."""
    known = {piece.slug: piece for piece in front.pieces}
    for name in wanted.slugs:
        if name not in known:
            raise LetterFault(no_such("piece", name, known))
    pieces = [known[name] for name in dict.fromkeys(wanted.slugs)]
    if gone := [f"{piece.slug} is {piece.status}" for piece in pieces if not piece.offered]:
        raise LetterFault(
            f"only what is available can be offered: {', '.join(gone)}. Leave it out, or change "
            "its status first"
        )
    wants = [Want(piece, photo) if (photo := whole_figure(piece)) else None for piece in pieces]
    own = hang(front, note, wanted.hanging, wants)
    return own, [
        Item(piece, _label(voice, piece), f"{front.card.address}pieces/{piece.slug}/", picture)
        for piece, picture in zip(pieces, own.others, strict=True)
    ]


def _label(voice: Voice, piece: PublicPiece) -> tuple[str, ...]:
    """Set the wall label's lines: year and materials; base and height; status and price, and where it is."""
    label = voice.wall_label(piece)
    pairs = ((label.year, label.materials), (label.base, label.height))
    lines = [" · ".join(filter(None, pair)) for pair in pairs]
    standing = ", ".join(filter(None, [label.status, label.price]))
    return tuple(filter(None, [*lines, ". ".join(filter(None, [standing, label.where]))]))


def announce_show(
    front: FrontOfHouse, people: Sequence[Person], room: Room, name: str, note: str = "",
    hanging: Hanging | None = None,
) -> Announcement:  # fmt: skip
    """Make the letter for one coming show or class, for those who asked to hear of such.

    Raises LetterFault if it's over, cancelled, full or unknown.
    """
    show, voice = front.show(name), open_voice(room.theme, front.card)
    if show is None:
        raise LetterFault(no_such("show", name, (one.slug for one in front.shows)))
    _refuse(
        (not show.coming, f"'{show.name}' ended on {show.last_day}; there's nothing to invite to"),
        (show.cancelled, f"'{show.name}' is cancelled; there's nothing to invite to"),
        (not show.open, f"'{show.name}' is full; there's nothing to invite to"),
    )
    own = hang(front, note, hanging or Hanging())
    calendar = dates(f"{name}.ics", show_events(voice, front.card, show), front.card)
    plan = LetterPlan(
        f"{show.kind}-{name}", "show", show.kind.interest, {"show": show}, own, (calendar,),
        promises=(f"{show.kind} {name}",), remarks=(TEACHING,) if show.is_class else (),
    )  # fmt: skip
    return compose(front, people, plan, room, voice)


@dataclass(frozen=True, slots=True)
class Notice:
    """What the artist has to say, and to whom."""

    subject: str
    interest: Interest
    """It goes to those who asked to hear of that."""
    words: str
    """Markdown."""


def announce_notice(
    front: FrontOfHouse, people: Sequence[Person], room: Room, own: Notice, wanted: Wanted
) -> Announcement:
    """Make a letter of the artist's own words, with some available pieces below them if any are named.

    One subject is one letter, on whatever day it's made. Raises LetterFault for one without subject or words.
    """
    subject = clean(own.subject)
    _refuse(
        (
            not subject or is_placeholder(subject) or len(subject) > LONGEST_NAME,
            f"a notice needs a subject of your own, of at most {LONGEST_NAME} letters",
        ),
        (not own.words.strip(), "a notice is your own words and nothing else; write them into a note"),
    )
    voice = open_voice(room.theme, front.card)
    note, items = _items(front, own.words, wanted, voice)
    name = slug(subject)[:60].strip("-") or f"{crc32(subject.encode()):08x}"
    plan = LetterPlan(
        f"notice-{name}", "notice", own.interest, {"items": items, "title": subject}, note,
        promises=(f"notice {name}", *(f"piece {item.piece.slug}" for item in items)), remarks=(LOWER_PRICES,),
    )  # fmt: skip
    return compose(front, people, plan, room, voice)


def announce_confirm(front: FrontOfHouse, people: Sequence[Person], room: Room) -> Announcement:
    """Make the letter that asks who hasn't confirmed and wasn't asked yet. Raises LetterFault for nobody.

    It offers nothing. Who answers has confirmed (`replies`); who doesn't isn't asked again.
    """
    ident = f"{_CONFIRM}{front.moment.date()}"
    asked = asked_before(room, people, room.named(ident))
    plan = LetterPlan(
        ident, "confirm", None, {}, Note(""), elsewhere=lambda key: asked.get(key, ""), remarks=(ONLY_ASKS,)
    )
    return compose(front, people, plan, room, open_voice(room.theme, front.card))


def asked_before(room: Room, people: Sequence[Person], but: str) -> dict[str, str]:
    """Say of each folded address how its holder was asked since they signed, by another letter than `but`."""
    signed: dict[str, str] = {}
    for person in people:
        if person.consent is Consent.NOT_CONFIRMED and person.left is None:
            signed[person.key] = max(signed.get(person.key, ""), f"{person.joined or ''}")
    tokens = {make_token(room.secret, key): key for key in signed}
    return {
        tokens[token]: f"was asked by {one.letter}"
        for token, sent in postings(room.sent, tokens.keys()).items()
        for one in sent
        if one.letter.startswith(_CONFIRM)
        and one.letter != but
        and one.event != PostingEvent.LATER
        # A day of UTC against one of the studio's: the day of signing itself counts as asked.
        and one.at[:10] >= signed[tokens[token]]
    }
