"""Make a letter: refuse what can't go out, choose the people, render once, pour for each, write all."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from email.utils import format_datetime
from functools import cached_property
from pathlib import Path
from typing import Any

from markupsafe import escape

from sitegen.letters import cautions, message
from sitegen.letters.folder import (
    Letter,
    Room,
    note_letter,
    refuse_if_posted,
    whole_folder,
    write_table,
    write_text,
)
from sitegen.letters.message import Addressee, MailPart, Mould, slot
from sitegen.letters.note import Hanging, Note, Want, hang, own_greeting
from sitegen.letters.record import held
from sitegen.letters.templates import Rendered, Scribe, render
from sitegen.studio.asked import LetterFault, Progress, silent
from sitegen.studio.fields import is_placeholder
from sitegen.studio.mailing import Choice, Chosen, Reason, Skipped, choose
from sitegen.studio.person import Interest, Person, deliverable
from sitegen.studio.public import FrontOfHouse, PublicStudio
from sitegen.studio.settings import host
from sitegen.voice.voice import Voice, open_voice

# A place to fill in holds words; a web address or a tag in angle brackets is something else.
_UNFILLED = re.compile(r"<[a-z][^<>\n=/\"]* [^<>\n=/\"]*>")


@dataclass(frozen=True)
class Writing:
    """What a letter to the list is made from."""

    front: FrontOfHouse
    people: Sequence[Person]
    room: Room
    note: str = ""  # the artist's own words, in Markdown
    hanging: Hanging = field(default_factory=Hanging)  # how the letter shows pictures
    progress: Progress = silent
    """Told how many messages are written, of how many; of none before anything is written."""

    @cached_property
    def voice(self) -> Voice:
        """The theme's words in the studio's language."""
        return open_voice(self.room.theme, self.front.card)

    def chosen(self, interest: Interest | None) -> Choice:
        """Return who may be written to of something, and who not."""
        return choose(self.people, interest, self.front.moment.date(), self.room.forgotten)

    def hung(self, others: Sequence[Want | None] = ()) -> Note:
        """Lay out the note with its pictures, and those the letter shows by itself. Raises LetterFault."""
        return hang(self.front, self.note, self.hanging, others)


@dataclass(frozen=True, slots=True)
class LetterPlan:
    """One letter to be made."""

    ident: str  # name of its folder; also the start of each Message-ID
    kind: str  # which of the theme's templates
    interest: Interest | None  # None for the letter that asks whether they want any
    values: Mapping[str, Any]  # what the templates need beside the front of house
    note: Note
    calendar: tuple[MailPart, ...] = ()  # dates that it carries
    elsewhere: Callable[[str], str] = lambda key: ""
    """Says why someone who may have it, by their folded address, gets another letter instead."""
    promises: tuple[str, ...] = ()  # kind and name of each thing, to be looked at again when it's posted
    moments: Mapping[str, datetime] = field(default_factory=dict)
    """Times that each reader is also told by their own clock, by the template's name for them."""
    remarks: tuple[str, ...] = ()  # what else the artist should know


@dataclass(frozen=True, slots=True)
class Announcement(Letter):
    """A letter that was just made."""

    choice: Choice = field(repr=False, kw_only=True)


def compose(writing: Writing, plan: LetterPlan) -> Announcement:
    """Make the folder of one letter, with a sample, both lists and a message for each person.

    Raises LetterFault, and writes nothing, if the letter can't go out as it is.
    """
    front, room, voice = writing.front, writing.room, writing.voice
    plan = replace(plan, ident=room.named(plan.ident))
    with held(plan.ident, room.sent):  # while it's posted, nothing of it may change
        begun = refuse_if_posted(plan.ident, room.sent, room.out / plan.ident)
        contact = ready(front.card, plan.note.text)
        choice, asks = _choice(writing, plan), plan.interest is None
        rendered = render(room.theme, plan.kind, front, plan.note, plan.values, voice)
        _complete(rendered, front.card, plan.kind)
        name = voice.words.plain("mail.list_name", studio=front.card.studio)
        named = message.mailbox("List-Id", name, f"letters.{host_of(front.card)}")  # RFC 2919
        common = common_fields(front, rendered.subject, contact) + named.encode("ascii")
        mould = Mould(common, rendered.text, rendered.marked, (*plan.note.parts, *plan.calendar))
        scribe = Scribe(front, voice, room, plan.ident, plan.moments, asks=asks)
        checks = cautions.cautions(rendered.subject, rendered.text, choice, contact, front.moment.date())
        writing.progress(0, len(choice.chosen))
        asked = (*begun, *own_greeting(plan.note.text), *plan.remarks, *plan.note.remarks, *checks)
        with whole_folder(room.out / plan.ident) as folder:
            write_sample(folder, mould, scribe.artist(), "to-me.eml")
            _write_list(folder / "recipients.csv", choice.chosen)
            _write_list(folder / "skipped.csv", choice.skipped)
            made = Announcement(
                plan.ident, room.out / plan.ident, plan.interest, rendered.subject,
                {thing: cautions.fact(front, thing) for thing in plan.promises}, front.moment,
                _write_messages(folder / "eml", writing, choice.chosen, mould, scribe), choice.reasons,
                cautions.kept(choice, contact, asks=asks), asked, plan.note.text, room.second, choice=choice,
            )  # fmt: skip
            note_letter(made, folder)
    return made


def ready(card: PublicStudio, note: str) -> str:
    """Check what every letter must carry; return the contact address in ASCII."""
    if not card.postal_address:
        raise LetterFault(
            "studio.yaml has no postal_address; every letter must carry one by law (a street address, "
            "or a registered post-office box). Write it under 'postal_address: |'"
        )
    names = {"site": card.address} | {
        name: getattr(card, name) for name in ("postal_address", "contact", "studio", "maker", "how_to_ask")
    }
    for name, text in names.items():
        if is_placeholder(text):
            raise LetterFault(
                f"'{name}' in studio.yaml still has a place to fill in: '{text.splitlines()[0]}'"
            )
    if _UNFILLED.search(note):
        raise LetterFault(
            "the note still has a place to fill in, in <angle brackets>; write your words there"
        )
    try:
        return deliverable(card.contact)
    except ValueError as fault:
        raise LetterFault(f"contact '{card.contact}' in studio.yaml can't take replies: {fault}") from fault


def _complete(rendered: Rendered, card: PublicStudio, kind: str) -> None:
    """Refuse a theme's letter that leaves out what the law wants in it."""
    rows = [message.clean(row) for row in card.postal_address.splitlines() if row.strip()]
    for file, text, address in [
        (f"{kind}.txt", rendered.text, rows),
        (f"{kind}.html", rendered.marked, [str(escape(row)) for row in rows]),
    ]:
        for wanted, cure in [
            ([slot("way_out")], "shows no way out; put {{ way_out }} into it or its letter.*"),
            ([slot("because")], "doesn't say why its reader gets it; put {{ because }} into it"),
            (address, "leaves out the postal address; put card.postal_address into it"),
        ]:
            if not all(row in text for row in wanted):
                raise LetterFault(f"the theme's letter {file} {cure}")


def host_of(card: PublicStudio) -> str:
    """Return the host of the studio's site in ASCII, or else that of its mail."""
    for address in (f"letters@{host(card.address)}", card.contact):
        try:
            return deliverable(address).partition("@")[2]
        except ValueError:
            continue
    return "localhost"


def _choice(writing: Writing, plan: LetterPlan) -> Choice:
    """Choose who gets it. Raises LetterFault for nobody."""
    whole = writing.chosen(plan.interest)
    why = {reader.key: plan.elsewhere(reader.key) for reader in whole.chosen}
    gone = [reader for reader in whole.chosen if why[reader.key]]
    out = (Skipped(reader.person, Reason.ELSEWHERE, why[reader.key]) for reader in gone)
    choice = Choice(tuple(reader for reader in whole.chosen if not why[reader.key]), (*whole.skipped, *out))
    if choice.chosen:
        return choice
    if not choice.skipped:
        raise LetterFault("people.csv is empty; add someone who asked for letters first")
    counted = ", ".join(f"{count} {reason}" for reason, count in choice.reasons.items())
    about = f"may be written to about {plan.interest}" if plan.interest else "is to be asked to confirm"
    raise LetterFault(f"nobody in people.csv {about}: {counted}")


def common_fields(front: FrontOfHouse, subject: str, contact: str) -> bytes:
    """Write what all messages of a letter share at the top."""
    card = front.card
    sender = f"{card.maker}, {card.studio}" if card.maker != card.studio else card.studio
    lines = [
        message.mailbox("From", sender, contact),
        message.mailbox("Reply-To", "", contact),
        message.field("Subject", subject),
        message.structured("Date", format_datetime(front.moment)),
        "MIME-Version: 1.0\r\n",
    ]
    return "".join(lines).encode("ascii")


def write_sample(folder: Path, mould: Mould, reader: Addressee, file: str) -> None:
    """Write what one reader gets; what it carries lies beside it, so that a browser shows it."""
    text, marked = mould.read_by(reader)
    for part in mould.parts:
        (folder / "with").mkdir(exist_ok=True)
        (folder / "with" / part.name).write_bytes(part.content)
        marked = marked.replace(f"cid:{part.content_id}", f"with/{part.name}")
    write_text(folder / "letter.txt", text)
    write_text(folder / "letter.html", marked)
    (folder / file).write_bytes(mould.pour(reader))


def _write_list(file: Path, listed: Sequence[Chosen | Skipped]) -> None:
    rows = ((reader.person.email, reader.person.name, reader.why) for reader in listed)
    write_table(file, [("email", "name", "why"), *rows])


def _write_messages(
    folder: Path, writing: Writing, chosen: Sequence[Chosen], mould: Mould, scribe: Scribe
) -> int:
    """Write one message a person, numbered as in recipients.csv; return the largest one's octets."""
    folder.mkdir()
    largest, digits = 0, max(4, len(str(len(chosen))))
    for number, reader in enumerate(chosen, start=1):
        poured = mould.pour(scribe.addressee(reader))
        (folder / f"{number:0{digits}}.eml").write_bytes(poured)
        largest = max(largest, len(poured))
        writing.progress(number, len(chosen))
    return largest
