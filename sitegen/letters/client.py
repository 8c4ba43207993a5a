"""A letter to one client about their own order: an offer, a reminder, a courteous no. Only ever a draft.

It isn't a letter of the list, so it needs no consent and has no way to leave; it carries the postal address
like any other, and goes to that client alone. Its sentences are the theme's, in words/LANGUAGE.yaml.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from enum import StrEnum
from pathlib import Path
from typing import Any

from babel import Locale
from markupsafe import escape

from sitegen.letters import words
from sitegen.letters.announce import Room, ready
from sitegen.letters.faults import LetterFault
from sitegen.letters.folder import whole_folder
from sitegen.letters.headers import clean
from sitegen.letters.markup import wrap
from sitegen.letters.message import FIELDS, fill
from sitegen.letters.note import Note
from sitegen.letters.templates import Rendered, render
from sitegen.studio import wording
from sitegen.studio.addresses import deliverable
from sitegen.studio.names import slug
from sitegen.studio.public import FrontOfHouse, PublicStudio
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.theme_words import read_tree

_PLACE = re.compile(r"\{([a-z_]+)\}")
_NOT_ALWAYS = ("why", "price", "promised", "claimed")


class Matter(StrEnum):
    """What a letter to a client is about; the theme has a block of sentences for each."""

    OFFER = "offer"
    LAPSED = "lapsed"
    DECLINED = "declined"
    REMINDER = "reminder"
    FINISHED = "finished"
    CALLED_OFF = "called off"
    DELAY = "delay"
    """A new day that stands if the client says nothing."""
    LONG_DELAY = "long delay"
    """A new day that needs the client's yes."""


@dataclass(frozen=True, slots=True)
class Due:
    """One part of a payment plan."""

    day: date
    amount: Decimal
    standing: str
    """paid, to come, due or late; the theme says it in its own words."""


@dataclass(frozen=True, slots=True)
class Client:
    """Who the letter is for."""

    code: str
    tier: str
    name: str = field(repr=False)
    email: str = field(repr=False)


@dataclass(frozen=True, slots=True)
class ClientLetter:
    """What one letter to one client says."""

    matter: Matter
    client: Client
    days: Mapping[str, date] = field(default_factory=dict)
    """Days named in the sentences, by place: until, offered, ended, promised, ship_by, new_day."""
    sums: Mapping[str, Decimal] = field(default_factory=dict)
    """Amounts named in the sentences: price, owed, balance, paid, kept, returned, claimed."""
    parts: tuple[Due, ...] = ()
    why: str = ""
    note: str = ""
    """The artist's own words, in Markdown."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A letter that was written, for the artist to look at and post."""

    folder: Path
    subject: str
    to: str = field(repr=False)


def write_to_client(front: FrontOfHouse, letter: ClientLetter, room: Room) -> Draft:
    """Write letter.html, letter.txt and letter.eml into a folder of out/letters.

    Raises LetterFault, and writes nothing, without a postal address or an address to write to.
    """
    contact = ready(front.card, letter.note)
    address = _address(letter.client)
    told = _Words(room.theme, front.card, letter)
    rendered = render(room.theme, "client", front, Note(letter.note), told.values())
    text, marked = _filled(rendered, told.greeting(), told.because())
    ident = f"order-{slug(letter.client.code)}-{slug(letter.matter)}"
    message = _message(front, letter.client, rendered.subject, (contact, address), ident)
    with whole_folder(room.out / ident) as folder:
        (folder / "letter.txt").write_text(text, encoding="utf-8", newline="\n")
        (folder / "letter.html").write_text(marked, encoding="utf-8", newline="\n")
        (folder / "letter.eml").write_bytes(_with_body(message, text, marked))
    return Draft(room.out / ident, rendered.subject, address)


def _address(client: Client) -> str:
    if not client.email.strip():
        raise LetterFault(
            f"commissions.yaml: {client.code} has no address to write to; add `email:` to its `private:`"
        )
    try:
        return deliverable(client.email)
    except ValueError as fault:
        raise LetterFault(
            f"commissions.yaml: the address of {client.code} can't be written to: {fault}"
        ) from fault


def _filled(rendered: Rendered, greeting: str, because: str) -> tuple[str, str]:
    plain = dict.fromkeys(FIELDS, "") | {"greeting": greeting, "because": wrap(because)}
    marked = {name: str(escape(value)) for name, value in plain.items()} | {"because": str(escape(because))}
    return fill(rendered.text, plain), fill(rendered.marked, marked)


def _message(
    front: FrontOfHouse, client: Client, subject: str, between: tuple[str, str], ident: str
) -> EmailMessage:
    contact, address = between
    card = front.card
    sender = f"{card.maker}, {card.studio}" if card.maker != card.studio else card.studio
    stamp = f"{front.moment:%Y%m%d%H%M%S}"
    message = EmailMessage(policy=SMTP)
    message["From"] = Address(clean(sender), addr_spec=contact)
    message["To"] = Address(clean(client.name), addr_spec=address)
    message["Reply-To"] = contact
    message["Subject"] = subject
    message["Date"] = format_datetime(front.moment)
    message["Message-ID"] = f"<{ident}.{stamp}@{contact.partition('@')[2]}>"
    return message


def _with_body(message: EmailMessage, text: str, marked: str) -> bytes:
    """Add text and HTML, plainest first; the boundary comes from the content, so that bytes don't change."""
    message.set_content(text, cte="quoted-printable")
    message.add_alternative(marked, subtype="html", cte="quoted-printable")
    message.set_boundary(f"=_{hashlib.sha256((text + marked).encode()).hexdigest()[:24]}")
    return bytes(message)


class _Words:
    """The theme's sentences for one letter, filled in."""

    def __init__(self, theme: ThemeFiles, card: PublicStudio, letter: ClientLetter) -> None:
        self._letter, self._card = letter, card
        self._locale = words.locale_of(card.language)
        self._shown, self._said = _sentences(theme, card.language)
        self._places = self._named(self._locale)

    def _named(self, locale: Locale) -> dict[str, str]:
        letter, card = self._letter, self._card
        return {
            "code": letter.client.code, "tier": clean(letter.client.tier), "maker": clean(card.maker),
            "studio": clean(card.studio), "why": clean(letter.why), "name": clean(letter.client.name),
            **{name: words.say_day(day, locale) for name, day in letter.days.items()},
            **{name: self._sum(amount) for name, amount in letter.sums.items()},
        }  # fmt: skip

    def _sum(self, amount: Decimal) -> str:
        return wording.price(amount, self._card.currency, self._card.digits, self._locale)

    def greeting(self) -> str:
        """Greet by name; without one, or with something that is no name, greet all the same."""
        named = words.greeting(self._letter.client.name) != words.greeting("")
        return self._say(self._one("greeting" if named else "hello"))

    def because(self) -> str:
        return self._say(self._one("because"))

    def values(self) -> dict[str, Any]:
        """Return what the template holds."""
        block = self._block(slug(self._letter.matter).replace("-", "_"))
        opening, closing = (self._paragraphs(block.get(name, {})) for name in ("opening", "closing"))
        subject = self._say(str(block.get("subject", "")))
        return {
            "letter_subject": subject,
            "letter_preheader": opening[0] if opening else subject,
            "opening": opening,
            "plan_title": self._one("plan") if self._letter.parts else "",
            "parts": [(one.day, one.amount, self._standing(one)) for one in self._letter.parts],
            "closing": closing,
        }

    def _standing(self, part: Due) -> str:
        return self._one(f"standing_{slug(part.standing).replace('-', '_')}")

    def _paragraphs(self, written: Any) -> list[str]:
        """Fill paragraphs in; one that names what not every order has is left out where it's missing."""
        listed = map(str, written.values() if isinstance(written, dict) else [written])
        missing = {name for name in _NOT_ALWAYS if not self._places.get(name)}
        return [self._say(one) for one in listed if missing.isdisjoint(_PLACE.findall(one))]

    def _say(self, sentence: str) -> str:
        return _PLACE.sub(lambda place: self._place(place[1]), sentence)

    def _place(self, name: str) -> str:
        if name not in self._places:
            known = ", ".join("{" + one + "}" for one in sorted(self._places))
            raise LetterFault(
                f"{self._shown}: the letter '{self._letter.matter}' asks for {{{name}}}; there is {known}"
            )
        return self._places[name]

    def _one(self, key: str) -> str:
        found = self._said.get(key)
        if not isinstance(found, str):
            raise LetterFault(f"{self._shown}: the words for 'client.{key}' are missing; add a line for them")
        return found

    def _block(self, key: str) -> Mapping[str, Any]:
        found = self._said.get(key)
        if not isinstance(found, dict):
            raise LetterFault(
                f"{self._shown}: the words for 'client.{key}' are missing; add a block for them"
            )
        return found


def _sentences(theme: ThemeFiles, language: str) -> tuple[str, Mapping[str, Any]]:
    """Read the sentences for clients' letters in the studio's language."""
    shown, tree = read_tree(theme, language)
    said = tree.get("client")
    if not isinstance(said, Mapping):
        raise LetterFault(f"{shown} has no block `client:` with the words for letters about an order")
    return shown, said
