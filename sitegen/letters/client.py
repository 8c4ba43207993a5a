"""A letter to one client about their own order: an offer, a confirmation, a courteous no. Only ever a draft.

It isn't a letter of the list, so it needs no consent and has no way to leave; it carries the postal address
like any other, and goes to that client alone. Its sentences are the theme's, in words/LANGUAGE.yaml.
"""

from __future__ import annotations

import hashlib
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from email.parser import BytesHeaderParser
from email.policy import SMTP
from email.utils import format_datetime, parsedate_to_datetime
from itertools import count
from pathlib import Path

from markupsafe import escape

from sitegen.letters.announce import Room, ready, sender_of
from sitegen.letters.client_letter import ClientLetter, ClientWords, LetterClient, Matter
from sitegen.letters.folder import whole_folder
from sitegen.letters.headers import clean
from sitegen.letters.message import FIELDS, fill
from sitegen.letters.note import Note, own_greeting, refuse_pictures
from sitegen.letters.templates import Rendered, render, wrap
from sitegen.studio.fault import LetterFault
from sitegen.studio.person import deliverable
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.text import slug


@dataclass(frozen=True, slots=True)
class Draft:
    """A letter that was written, for the artist to look at and post."""

    folder: Path
    subject: str
    to: str = field(repr=False)
    remarks: tuple[str, ...] = ()
    """What the artist should know before posting it."""
    made: date | None = None
    """The day it was written, where that can be read."""


def write_to_client(front: FrontOfHouse, letter: ClientLetter, room: Room) -> Draft:
    """Write letter.html, letter.txt and letter.eml into a folder of out/letters of their own.

    A draft that lies there already is never touched: another letter gets the next number. Raises LetterFault,
    and writes nothing, without a postal address or an address to write to, and for pictures in the note.
    """
    contact = ready(front.card, letter.note)
    refuse_pictures(letter.note)
    address = _address(letter.client)
    told = ClientWords(room.theme, front.card, letter)
    rendered = render(room.theme, "client", front, Note(letter.note), told.values(), told.voice)
    text, marked = _filled(rendered, told.greeting(), told.because())
    ident, kept = _place(room.out, stem_of(letter.client.code, letter.matter), text, marked)
    remarks = (*own_greeting(letter.note, letter.client.name), *letter.remarks)
    draft = Draft(room.out / ident, rendered.subject, address, remarks)
    if kept:
        return draft
    with whole_folder(draft.folder) as folder:
        (folder / "letter.txt").write_text(text, encoding="utf-8", newline="\n")
        (folder / "letter.html").write_text(marked, encoding="utf-8", newline="\n")
        (folder / "letter.eml").write_bytes(_mail(front, letter.client.name, draft, contact, (text, marked)))
        if letter.note.strip():
            (folder / NOTE).write_text(letter.note, encoding="utf-8", newline="\n")
    return draft


NOTE = "note.md"
"""The artist's own words in a draft, kept beside it so that they can be written anew."""


@dataclass(frozen=True, slots=True)
class OpenDraft:
    """A draft as it reads."""

    draft: Draft
    text: str = field(repr=False)
    note: str = field(repr=False)


def open_draft(draft: Draft) -> OpenDraft:
    """Read a draft that lies there."""
    return OpenDraft(draft, _reads(draft.folder / "letter.txt"), _reads(draft.folder / NOTE))


def stem_of(code: str, matter: Matter) -> str:
    """Return how the folder of an order's letter is called, but for a number where there are several."""
    return f"order-{slug(code)}-{slug(matter)}"


def drafts_in(out: Path) -> list[Draft]:
    """Return every draft that lies below out/letters; what isn't a letter is left out."""
    found = []
    for file in sorted(out.glob("order-*/letter.eml")):
        with file.open("rb") as stream:
            message = BytesHeaderParser(policy=SMTP).parse(stream)
        with suppress(ValueError, TypeError, LookupError, MessageError, RecursionError):
            day = parsedate_to_datetime(str(message["Date"])).date()
            found.append(Draft(file.parent, str(message["Subject"]), str(message["To"]), made=day))
    return found


def _place(out: Path, ident: str, text: str, marked: str) -> tuple[str, bool]:
    """Find the folder of a letter: where the same letter lies already, else a new one; never another's."""
    for number in count(1):
        name = ident if number == 1 else f"{ident}-{number}"
        if not (out / name).exists():
            return name, False
        if _reads(out / name / "letter.txt") == text and _reads(out / name / "letter.html") == marked:
            return name, True
    raise AssertionError  # numbers don't end


def _reads(file: Path) -> str:
    """Return what a file says; nothing where it's gone or was saved in a way of its own."""
    try:
        return file.read_text(encoding="utf-8") if file.is_file() else ""
    except UnicodeDecodeError:
        return ""


def _address(client: LetterClient) -> str:
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


def _mail(front: FrontOfHouse, name: str, draft: Draft, contact: str, body: tuple[str, str]) -> bytes:
    """Write the whole message; its boundary comes from the content, so that bytes don't change."""
    text, marked = body
    message = EmailMessage(policy=SMTP)
    message["From"] = Address(clean(sender_of(front.card)), addr_spec=contact)
    message["To"] = Address(clean(name), addr_spec=draft.to)
    message["Reply-To"] = contact
    message["Subject"] = draft.subject
    message["Date"] = format_datetime(front.moment)
    stamp = f"{draft.folder.name}.{front.moment:%Y%m%d%H%M%S}"
    message["Message-ID"] = f"<{stamp}@{contact.partition('@')[2]}>"
    message.set_content(text, cte="quoted-printable")
    message.add_alternative(marked, subtype="html", cte="quoted-printable")
    message.set_boundary(f"=_{hashlib.sha256((text + marked).encode()).hexdigest()[:24]}")
    return bytes(message)
