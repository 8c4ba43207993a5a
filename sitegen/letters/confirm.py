"""The one letter to people who were put on the list by a sheet or a table: do they want letters?

It offers nothing. Who answers has confirmed (`replies`); who doesn't is never asked again for that signature.
"""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.letters.announce import Announcement, LetterPlan, Room, compose
from sitegen.letters.note import Note
from sitegen.letters.personal import make_token
from sitegen.letters.record import PostingEvent, postings
from sitegen.studio.person import Consent, Person
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.voice import open_voice

_IDENT = "confirm-"


def announce_confirm(front: FrontOfHouse, people: Sequence[Person], room: Room) -> Announcement:
    """Make the letter that asks who hasn't confirmed and wasn't asked yet. Raises LetterFault for nobody."""
    ident = f"{_IDENT}{front.moment.date()}"
    asked = asked_before(room, people, f"{ident}-{room.second}" if room.second else ident)
    plan = LetterPlan(
        ident, "confirm", None, {}, Note(""), elsewhere=lambda key: asked.get(key, ""),
        remarks=("It says nothing but the question: a letter that asks for consent must not advertise "
                 "(common practice, no source).",),
    )  # fmt: skip
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
        if one.letter.startswith(_IDENT)
        and one.letter != but
        and one.event != PostingEvent.LATER
        # A day of UTC against one of the studio's: the day of signing itself counts as asked.
        and one.at[:10] >= signed[tokens[token]]
    }
