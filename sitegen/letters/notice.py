"""The letter in the artist's own words: a studio sale, new prices, a pause."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from zlib import crc32

from sitegen.letters.announce import Announcement, LetterPlan, Room, compose
from sitegen.letters.headers import clean
from sitegen.letters.pieces import Wanted, items_of
from sitegen.studio.fault import LetterFault
from sitegen.studio.fields import LONGEST_NAME, is_placeholder
from sitegen.studio.person import Interest, Person
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.text import slug
from sitegen.voice.voice import open_voice

# Directive 98/6/EC Art. 6a, as Directive (EU) 2019/2161 put it in; 16 CFR 233.1 (both from memory).
LOWER_PRICES = (
    "If it tells of a lower price: where you sell to the EU, the lowest price of the 30 days before must "
    "stand beside it; in the US an earlier price must be one you really asked for. Check local rules."
)
_IDENT = 60


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
    if not subject or is_placeholder(subject) or len(subject) > LONGEST_NAME:
        raise LetterFault(f"a notice needs a subject of your own, of at most {LONGEST_NAME} letters")
    if not own.words.strip():
        raise LetterFault("a notice is your own words and nothing else; write them into a note")
    voice = open_voice(room.theme, front.card)
    note, items = items_of(front, own.words, wanted, voice)
    name = slug(subject)[:_IDENT].strip("-") or f"{crc32(subject.encode()):08x}"
    plan = LetterPlan(
        f"notice-{name}", "notice", own.interest, {"items": items, "title": subject}, note,
        promises=(f"notice {name}", *(f"piece {item.piece.slug}" for item in items)), remarks=(LOWER_PRICES,),
    )  # fmt: skip
    return compose(front, people, plan, room, voice)
