"""What one reader gets of their own: the greeting, the reason, the way out, their clock's hours."""

from __future__ import annotations

import base64
import hashlib
import hmac
import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from markupsafe import Markup, escape

from sitegen.letters.folder import Room
from sitegen.letters.message import MOMENTS, Addressee, clean
from sitegen.letters.templates import LABEL, wrap
from sitegen.studio.mailing import Chosen
from sitegen.studio.outward import mailto
from sitegen.studio.person import Person, deliverable
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.voice import Voice

# 80 bits: 16 letters that survive a subject line in any case. Guessing one of ten thousand people's
# tokens takes some 10^20 tries, each of which is a mail to the artist.
TOKEN_BYTES = 10
TOKEN_LETTERS = 16
_PLACE = re.compile(r"\bsheet ([A-Z0-9]{1,12}-[0-9]{1,4}) row ([0-9]{1,4})\b")  # typed in from a sheet


def make_token(secret: bytes, key: str) -> str:
    """Return a person's token: HMAC-SHA256 (RFC 2104) of their folded address, in lower-case base32."""
    digest = hmac.digest(secret, key.encode("utf-8"), hashlib.sha256)
    return base64.b32encode(digest[:TOKEN_BYTES]).decode("ascii").lower()


def confirm_token(secret: bytes, person: Person) -> str:
    """Return what only who reads a person's mail can send back, for the row of the day they signed.

    It differs from the token by which they leave, which stands in every letter.
    """
    return make_token(secret, f"confirm\n{person.key}\n{person.joined or ''}")


def message_name(secret: bytes, ident: str, key: str) -> str:
    """Return what tells one message's Message-ID from others': keyed, so that a report can be believed."""
    return hmac.digest(secret, f"{ident}\n{key}".encode(), hashlib.sha256).hex()[:24]


def who(token: str, secret: bytes, people: Iterable[Person]) -> str | None:
    """Return the folded address that a token belongs to, or None for a token nobody was given."""
    asked = token.strip().lower().encode("utf-8", "replace")
    signs = ((make_token(secret, person.key).encode("ascii"), person.key) for person in people)
    return next((key for sign, key in signs if hmac.compare_digest(sign, asked)), None)


def greet(name: str, voice: Voice, block: str = "mail") -> str:
    """Greet by name; without one, or with an address, a number or a mark, greet all the same."""
    words = clean(name)
    is_name = words and len(words) <= 60 and not re.search(r"[@/\\<>{}\[\]|=\d]", words)
    return voice.words.plain(f"{block}.{'greeting' if is_name else 'hello'}", name=words)


def reason_for(person: Person, voice: Voice) -> str:
    """Tell a person how and when they came to get this letter; of the artist's notes only a sheet's place."""
    how = person.consent.name.lower() if person.consent else "listed"
    place = _PLACE.search(person.evidence)
    where = voice.words.plain("mail.because.place", sheet=place[1], row=place[2]) if place else ""
    since = voice.tongue.full_day(person.joined) if person.joined else ""
    details = "; ".join(part for part in (where, since) if part)
    return voice.words.plain(f"mail.because.{how}", details=f" ({details})" if details else "")


class Scribe:
    """Writes what each message of one letter has of its own."""

    def __init__(
        self, front: FrontOfHouse, voice: Voice, room: Room, ident: str, moments: Mapping[str, datetime],
        *, asks: bool = False,
    ) -> None:  # fmt: skip
        """Write with this letter's own words; one that `asks` has each reader's way to confirm."""
        self._voice, self._room, self._ident, self._moments, self._asks = voice, room, ident, moments, asks
        self._maker, self._contact = front.card.maker, deliverable(front.card.contact)
        self._leave, self._yes = voice.words.plain("mail.leave"), voice.words.plain("mail.confirm.yes")
        self._clocks: dict[ZoneInfo | None, tuple[dict[str, str], dict[str, str]]] = {}
        """Text and HTML of the moments, by zone: a list holds few."""

    def addressee(self, chosen: Chosen) -> Addressee:
        """Write one person's own part."""
        person, token = chosen.person, make_token(self._room.secret, chosen.key)
        yes = confirm_token(self._room.secret, person) if self._asks else ""
        one_click = f"{self._room.leave_address}{token}" if self._room.leave_address else ""
        to, because = (person.name, chosen.address, chosen.key), reason_for(person, self._voice)
        return self._written(to, person.name, because, (token, yes), person.zone, one_click)

    def artist(self) -> Addressee:
        """Return the artist as addressee of the trial copy, whose way out leads nowhere."""
        because = self._voice.words.plain("mail.because.each")
        return self._written((self._maker, self._contact, "trial"), "", because, ("", ""))

    def _written(
        self, to: tuple[str, str, str], greeted: str, because: str, signs: tuple[str, str],
        zone: ZoneInfo | None = None, one_click: str = "",
    ) -> Addressee:  # fmt: skip
        plain, (name, address, key) = self._voice.words.plain, to
        leave, yes = (
            f"{word} {sign}".strip() for word, sign in zip((self._leave, self._yes), signs, strict=True)
        )
        word = {"word": self._leave, "contact": self._contact}
        text, marked = self._clock(zone)
        own = {
            "greeting": greet(greeted, self._voice),
            "because": because,
            "way_out": mailto(self._contact, leave),
            "confirm": mailto(self._contact, yes),
        }
        said = {
            "because": wrap(because),
            "way_out": wrap(plain("mail.way_out", subject=leave, **word)),
            "confirm": wrap(plain("mail.confirm.how", subject=yes, **word)) if self._asks else "",
        }
        shown = marked | {field: str(escape(value)) for field, value in own.items()}
        ident = f"{self._ident}.{message_name(self._room.secret, self._ident, key)}"
        ident += f"@{self._contact.rpartition('@')[2]}"
        return Addressee(name, address, text | own | said, shown, ident, own["way_out"], one_click)

    def _clock(self, zone: ZoneInfo | None) -> tuple[dict[str, str], dict[str, str]]:
        """Say the letter's moments by a reader's own clock; nothing where it shows the studio's time."""
        if zone not in self._clocks:
            text, marked = dict.fromkeys(MOMENTS, ""), dict.fromkeys(MOMENTS, "")
            for name, moment in self._moments.items() if zone else ():
                there = moment.astimezone(zone)
                if there.utcoffset() != moment.utcoffset():
                    time = self._voice.tongue.there(there, moment.date())
                    said = self._voice.words.plain("mail.your_clock", time=time)
                    text[name] = "\n" + wrap(said, " " * LABEL)
                    marked[name] = str(Markup("<br>{}").format(said))
            self._clocks[zone] = text, marked
        return self._clocks[zone]
