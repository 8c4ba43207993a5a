"""The kinds of letters to the list: a round opens, new pieces, a show, her own words, the one question."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from zlib import crc32

from sitegen.letters.announce import Announcement, LetterPlan, Writing, compose
from sitegen.letters.folder import Room, make_token
from sitegen.letters.message import clean, dates
from sitegen.letters.note import Note, Picture, Want, whole_figure
from sitegen.letters.record import PostingEvent, postings
from sitegen.studio.asked import LetterFault
from sitegen.studio.commission import Way
from sitegen.studio.fields import LONGEST_NAME, did_you_mean, is_placeholder, no_such
from sitegen.studio.person import Consent, Interest, Person
from sitegen.studio.public import FrontOfHouse, PublicPiece, PublicRound, RoundState
from sitegen.studio.terms import PAGES
from sitegen.studio.text import counted, slug
from sitegen.voice.calendar import round_events, show_events
from sitegen.voice.voice import Voice

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


def announce_commissions(writing: Writing, round_name: str | None = None) -> Announcement:
    """Make the letter for one round: the named one, or else the open or next one.

    Raises LetterFault if there's no such round, it's over, or it offers nothing.
    """
    return compose(writing, _of_round(writing, _announced(writing.front, round_name), writing.hung()))


def announce_head_start(
    writing: Writing, hours: int, waiting: frozenset[str], round_name: str | None = None,
    remarks: tuple[str, ...] = (),
) -> tuple[Announcement | None, Announcement | None]:  # fmt: skip
    """Make two letters for one round: for those who wait, `hours` before its opening, and for the rest.

    `waiting` are the folded addresses of those on the waiting list. Only people whom the list allows get
    either; a letter that would be for nobody is None. Raises LetterFault if both would be, if the round gives
    no place to whoever is early, or if it's too late for that.
    """
    held, hung = _announced(writing.front, round_name), writing.hung()
    opens = _early(writing.front, held, hours)
    may = {reader.key for reader in writing.chosen(Interest.COMMISSIONS).chosen}
    unreached: tuple[str, ...] = ()
    if missing := len(waiting - may):
        who = counted(missing, "of those who wait gets", "of those who wait get")
        why = "not on the list, or not to be written to (see skipped.csv). Tell them yourself."
        unreached = (f"{who} no letter: {why}",)
    other = "not on the waiting list; gets the other letter"
    ahead = "on the waiting list; gets the letter with the head start"
    early, late = _of_round(writing, held, hung, opens, hours), _of_round(writing, held, hung)
    first = replace(early, elsewhere=lambda key: "" if key in waiting else other, remarks=remarks)
    if may and may <= waiting:
        return compose(writing, replace(first, remarks=(*unreached, *remarks))), None
    later = replace(late, elsewhere=lambda key: ahead if key in waiting else "", remarks=unreached)
    rest = compose(writing, later)
    return compose(writing, first) if waiting & may else None, rest


def _of_round(
    writing: Writing, held: PublicRound, note: Note, early: datetime | None = None, hours: int = 0
) -> LetterPlan:
    front = writing.front
    values = {
        "round": held,
        "is_open": held.state is RoundState.OPEN,
        "terms": [page for name in PAGES if (page := front.page(name))],
        "early": early,
        "lead": front.lead_time if front.round is not None and front.round.slug == held.slug else None,
        "hours": hours,
    }
    moments = {"own_early": early, "own_opens": held.opens, "own_closes": held.closes}
    dated = replace(held, opens=early) if early else held
    calendar = dates(
        f"commissions-{held.slug}.ics", round_events(writing.voice, front.card, dated), front.card
    )
    kinds = ("round", "early") if early else ("round",)
    return LetterPlan(
        f"commissions-{held.slug}{'-waiting-list' if early else ''}", "commissions", Interest.COMMISSIONS,
        values, note, (calendar,), promises=tuple(f"{kind} {held.slug}" for kind in kinds),
        moments={name: moment for name, moment in moments.items() if moment},
    )  # fmt: skip


def _early(front: FrontOfHouse, held: PublicRound, hours: int) -> datetime:
    # In UTC: an hour less on the wall is not an hour less when the clocks change in between.
    opens = (held.opens.astimezone(UTC) - timedelta(hours=hours)).astimezone(held.opens.tzinfo)
    if held.way is not Way.FIRST_COME:
        no_order = f"a head start means nothing in the round '{held.name}', whose way is '{held.way}'"
        raise LetterFault(f"{no_order}; it's for 'first come'")
    if hours < 1 or opens.timestamp() <= front.moment.timestamp():
        raise LetterFault(
            f"a head start of {hours} hours would begin on {opens:%Y-%m-%d %H:%M}; that must lie after now "
            f"and before the opening on {held.opens:%Y-%m-%d %H:%M}"
        )
    return opens


def find_round(front: FrontOfHouse, name: str | None) -> PublicRound:
    """Return the named round, or else the open or next one. Raises LetterFault if there's none."""
    if name is None:
        if front.round is None:
            raise LetterFault("no round is open or coming; add one under 'rounds:' in commissions.yaml")
        return front.round
    named = (held for held in front.rounds if name.casefold() in {held.name.casefold(), held.slug})
    found = next(named, None)
    if found is None:
        names = [held.name for held in front.rounds]
        there = did_you_mean(name, names) or f"; it has {', '.join(names) or 'none at all'}"
        raise LetterFault(f"commissions.yaml has no round '{name}'{there}")
    return found


def _announced(front: FrontOfHouse, name: str | None) -> PublicRound:
    """Find a round; refuse one that has nothing to announce."""
    held = find_round(front, name)
    called = f"the round '{held.name}'"
    closed = f"{held.closes:%Y-%m-%d %H:%M}" if held.closes else ""
    full = held.state is RoundState.OPEN and not held.left and held.way is not Way.DRAW
    _refuse(
        (held.state is RoundState.CLOSED, f"{called} closed on {closed}; there's nothing to announce"),
        (not held.slots, f"{called} has no slots; write how many under 'slots:' in commissions.yaml"),
        (full, f"every place of {called} is taken; there's nothing to announce"),
        (not held.tiers, f"{called} offers no tier; add one under 'tiers:' in commissions.yaml"),
        (is_placeholder(held.note), f"the note of {called} still has a place to fill in: '{held.note}'"),
    )
    return held


@dataclass(frozen=True, slots=True)
class Item:
    """One piece as the letter shows it."""

    piece: PublicPiece
    label: tuple[str, ...]  # the wall label's lines below the title; the last is the price
    link: str
    picture: Picture | None


def announce_pieces(writing: Writing, slugs: Sequence[str] = (), since: date | None = None) -> Announcement:
    """Make the letter for some pieces, each of which must be available; else for all finished since a day.

    Raises LetterFault if one is not, or none is left.
    """
    front = writing.front
    if not slugs:
        done = ((piece.slug, piece.finished) for piece in front.pieces if piece.offered and piece.finished)
        slugs = [slug for slug, on in done if since is None or on >= since]
        nothing = f"no piece finished since {since} is available" if since else "no piece is available"
        _refuse((not slugs, nothing))
    own, items = _items(writing, slugs)
    pieces = [item.piece for item in items]
    more = f"-and-{len(pieces) - 1}-more" if len(pieces) > 1 else ""
    return compose(writing, LetterPlan(
        f"pieces-{front.moment.date()}-{pieces[0].slug}{more}", "pieces", Interest.NEW_PIECES,
        {"items": items}, own, promises=tuple(f"piece {piece.slug}" for piece in pieces),
    ))  # fmt: skip


def _items(writing: Writing, slugs: Sequence[str]) -> tuple[Note, list[Item]]:
    """Lay out a note and the pieces named, each of which must be available. Raises LetterFault."""
    known = {piece.slug: piece for piece in writing.front.pieces}
    for name in slugs:
        if name not in known:
            raise LetterFault(no_such("piece", name, known))
    pieces = [known[name] for name in dict.fromkeys(slugs)]
    if gone := [f"{piece.slug} is {piece.status}" for piece in pieces if not piece.offered]:
        raise LetterFault(
            f"only what is available can be offered: {', '.join(gone)}. Leave it out, or change "
            "its status first"
        )
    own = writing.hung([
        Want(piece, photo) if (photo := whole_figure(piece)) else None for piece in pieces
    ])  # fmt: skip
    site, voice = writing.front.card.address, writing.voice
    return own, [
        Item(piece, _label(voice, piece), f"{site}pieces/{piece.slug}/", picture)
        for piece, picture in zip(pieces, own.others, strict=True)
    ]


def _label(voice: Voice, piece: PublicPiece) -> tuple[str, ...]:
    """Set the wall label's lines: year and materials; base and height; status and price, and where it is."""
    label = voice.wall_label(piece)
    pairs = ((label.year, label.materials), (label.base, label.height))
    lines = [" · ".join(filter(None, pair)) for pair in pairs]
    standing = ", ".join(filter(None, [label.status, label.price]))
    return tuple(filter(None, [*lines, ". ".join(filter(None, [standing, label.where]))]))


def announce_show(writing: Writing, name: str) -> Announcement:
    """Make the letter for one coming show or class, for those who asked to hear of such.

    Raises LetterFault if it's over, cancelled, full or unknown.
    """
    front = writing.front
    show = front.show(name)
    if show is None:
        raise LetterFault(no_such("show", name, (show.slug for show in front.shows)))
    ended = "" if show.coming else f"ended on {show.last_day}"
    if why := ended or ("is cancelled" if show.cancelled else "" if show.open else "is full"):
        raise LetterFault(f"'{show.name}' {why}; there's nothing to invite to")
    calendar = dates(f"{name}.ics", show_events(writing.voice, front.card, show), front.card)
    return compose(writing, LetterPlan(
        f"{show.kind}-{name}", "show", show.kind.interest, {"show": show}, writing.hung(), (calendar,),
        promises=(f"{show.kind} {name}",), remarks=(TEACHING,) if show.is_class else (),
    ))  # fmt: skip


def announce_notice(
    writing: Writing, subject: str, interest: Interest, slugs: Sequence[str] = ()
) -> Announcement:
    """Make a letter of the artist's own words, with some available pieces below them if any are named.

    It goes to those who asked to hear of `interest`. One subject is one letter, on whatever day it's made.
    Raises LetterFault for one without subject or words.
    """
    subject = clean(subject)
    unfit = not subject or is_placeholder(subject) or len(subject) > LONGEST_NAME
    _refuse(
        (unfit, f"a notice needs a subject of your own, of at most {LONGEST_NAME} letters"),
        (not writing.note.strip(), "a notice is your own words and nothing else; write them into a note"),
    )
    note, items = _items(writing, slugs)
    name = slug(subject)[:60].strip("-") or f"{crc32(subject.encode()):08x}"
    return compose(writing, LetterPlan(
        f"notice-{name}", "notice", interest, {"items": items, "title": subject}, note,
        promises=(f"notice {name}", *(f"piece {item.piece.slug}" for item in items)), remarks=(LOWER_PRICES,),
    ))  # fmt: skip


def announce_confirm(writing: Writing) -> Announcement:
    """Make the letter that asks who hasn't confirmed and wasn't asked yet. Raises LetterFault for nobody.

    It offers nothing. Who answers has confirmed (`replies`); who doesn't isn't asked again.
    """
    ident = f"{_CONFIRM}{writing.front.moment.date()}"
    asked = asked_before(writing.room, writing.people, writing.room.named(ident))
    return compose(writing, LetterPlan(
        ident, "confirm", None, {}, Note(""), elsewhere=lambda key: asked.get(key, ""), remarks=(ONLY_ASKS,)
    ))  # fmt: skip


def asked_before(room: Room, people: Sequence[Person], but: str) -> dict[str, str]:
    """Say of each folded address how its holder was asked since they signed, by another letter than `but`."""
    signed: dict[str, str] = {}
    for person in people:
        if person.consent is Consent.NOT_CONFIRMED and person.left is None:
            signed[person.key] = max(signed.get(person.key, ""), f"{person.joined or ''}")
    tokens = {make_token(room.secret, key): key for key in signed}
    return {
        tokens[token]: f"was asked by {letter.letter}"
        for token, sent in postings(room.sent, tokens.keys()).items()
        for letter in sent
        if letter.letter.startswith(_CONFIRM)
        and letter.letter != but
        and letter.event != PostingEvent.LATER
        # A day of UTC against one of the studio's: the day of signing itself counts as asked.
        and letter.at[:10] >= signed[tokens[token]]
    }
