"""The letters that say new pieces have come, and that invite to a coming show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from sitegen.letters.announce import Announcement, LetterPlan, Room, compose
from sitegen.letters.message import dates
from sitegen.letters.note import Hanging, Note, Picture, Want, hang, whole_figure
from sitegen.studio.fault import LetterFault
from sitegen.studio.fields import no_such
from sitegen.studio.person import Interest, Person
from sitegen.studio.public import FrontOfHouse, PublicPiece, PublicShow
from sitegen.voice.calendar import show_events
from sitegen.voice.voice import Voice, open_voice

# Common practice, no source.
TEACHING = (
    "A class brings duties of its own: insurance, what you owe if you cancel, care with blades, dust and "
    "resins, more where minors take part. Check local rules."
)


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
    wanted = wanted if wanted.slugs else replace(wanted, slugs=_since(front, wanted.since))
    own, items = items_of(front, note, wanted, voice)
    pieces = [item.piece for item in items]
    more = f"-and-{len(pieces) - 1}-more" if len(pieces) > 1 else ""
    plan = LetterPlan(
        f"pieces-{front.moment.date()}-{pieces[0].slug}{more}", "pieces", Interest.NEW_PIECES,
        {"items": items}, own, promises=tuple(f"piece {piece.slug}" for piece in pieces),
    )  # fmt: skip
    return compose(front, people, plan, room, voice)


def items_of(front: FrontOfHouse, note: str, wanted: Wanted, voice: Voice) -> tuple[Note, list[Item]]:
    """Lay out a note and the pieces named, each of which must be available. Raises LetterFault."""
    pieces = _named(front, wanted.slugs)
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


def _named(front: FrontOfHouse, slugs: Sequence[str]) -> list[PublicPiece]:
    known = {piece.slug: piece for piece in front.pieces}
    for slug in slugs:
        if slug not in known:
            raise LetterFault(no_such("piece", slug, known))
    return [known[slug] for slug in dict.fromkeys(slugs)]


def _since(front: FrontOfHouse, day: date | None) -> tuple[str, ...]:
    found = [
        piece.slug
        for piece in front.pieces
        if piece.offered and piece.finished and (day is None or piece.finished >= day)
    ]
    if not found:
        raise LetterFault(f"no piece finished since {day} is available" if day else "no piece is available")
    return tuple(found)


def _label(voice: Voice, piece: PublicPiece) -> tuple[str, ...]:
    """Set the wall label's lines: year and materials; base and height; status and price, and where it is."""
    label = voice.wall_label(piece)
    pairs = ((label.year, label.materials), (label.base, label.height))
    lines = [" · ".join(filter(None, pair)) for pair in pairs]
    standing = ", ".join(filter(None, [label.status, label.price]))
    return tuple(filter(None, [*lines, ". ".join(filter(None, [standing, label.where]))]))


def announce_show(
    front: FrontOfHouse,
    people: Sequence[Person],
    room: Room,
    slug: str,
    note: str = "",
    hanging: Hanging | None = None,
) -> Announcement:
    """Make the letter for one coming show or class, for those who asked to hear of such.

    Raises LetterFault if it's over, cancelled, full or unknown.
    """
    show = _open_show(front, slug)
    voice = open_voice(room.theme, front.card)
    events = show_events(voice, front.card, show)
    own = hang(front, note, hanging or Hanging())
    plan = LetterPlan(
        f"{show.kind}-{slug}", "show", show.kind.interest, {"show": show}, own,
        (dates(f"{slug}.ics", events, front.card),), promises=(f"{show.kind} {slug}",),
        remarks=(TEACHING,) if show.is_class else (),
    )  # fmt: skip
    return compose(front, people, plan, room, voice)


def _open_show(front: FrontOfHouse, slug: str) -> PublicShow:
    show = front.show(slug)
    if show is None:
        raise LetterFault(no_such("show", slug, (one.slug for one in front.shows)))
    for wrong, said in (
        (not show.coming, f"'{show.name}' ended on {show.last_day}; there's nothing to invite to"),
        (show.cancelled, f"'{show.name}' is cancelled; there's nothing to invite to"),
        (not show.open, f"'{show.name}' is full; there's nothing to invite to"),
    ):
        if wrong:
            raise LetterFault(said)
    return show
