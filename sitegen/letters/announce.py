"""Make a letter: refuse what can't go out, choose the people, render once, pour for each, write all."""

from __future__ import annotations

import hashlib
import hmac
import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from markupsafe import Markup, escape

from sitegen.letters import cautions, words
from sitegen.letters.faults import LetterFault
from sitegen.letters.folder import refuse_if_posted, whole_folder, write_table
from sitegen.letters.headers import mailto
from sitegen.letters.markup import wrap
from sitegen.letters.message import Addressee, Envelope, Mould, Part, fill
from sitegen.letters.templates import Rendered, render
from sitegen.letters.tokens import TOKEN_LETTERS, make_token
from sitegen.studio.addresses import deliverable
from sitegen.studio.fields import is_placeholder
from sitegen.studio.mailing import Choice, Chosen, choose
from sitegen.studio.person import Interest, Person
from sitegen.studio.public import FrontOfHouse, PublicStudio

# The word by which people leave; `replies` looks for it.
LEAVE = "leave"
_ANY_TOKEN = "\ue002" * TOKEN_LETTERS
# A place to fill in holds words; a web address or a tag in angle brackets is something else.
_UNFILLED = re.compile(r"<[a-z][^<>\n=/\"]* [^<>\n=/\"]*>")
NEUTRAL_WHY = "You get this letter because you asked for it; each person’s copy says how and when."


@dataclass(frozen=True, slots=True)
class Room:
    """Where letters are made."""

    theme: Path
    """Folder of the theme; its templates are in `letters` below."""
    out: Path
    """Where letters' folders go, as out/letters."""
    sent: Path
    """Where the record of what was posted is kept."""
    secret: bytes = field(repr=False)
    """Key of the tokens by which people leave; whoever has it can make people leave."""
    forgotten: Callable[[str], bool] = lambda key: False
    """Tells whether the holder of a folded address asked to be erased."""


@dataclass(frozen=True, slots=True)
class Plan:
    """One letter to be made."""

    ident: str
    """Name of its folder; also the start of each Message-ID."""
    kind: str
    """Which of the theme's templates."""
    interest: Interest
    values: Mapping[str, Any]
    """What the templates need beside the front of house."""
    note: str = ""
    """The artist's own words, in Markdown."""
    parts: tuple[Part, ...] = ()
    narrow: Callable[[Choice], Choice] = lambda choice: choice
    """Leaves out more people, when a letter is for only some of those who may have it."""
    facts: Mapping[str, str] = field(default_factory=dict)
    """What it promises, to be looked at again when it's posted."""


@dataclass(frozen=True, slots=True)
class Announcement:
    """A letter that was made."""

    ident: str
    folder: Path
    subject: str
    choice: Choice = field(repr=False)
    largest: int
    """Octets of its largest message."""
    cautions: tuple[str, ...]
    """What the artist should check before posting."""


def compose(front: FrontOfHouse, people: Sequence[Person], plan: Plan, room: Room) -> Announcement:
    """Make the folder of one letter, with a sample, both lists and a message for each person.

    Raises LetterFault, and writes nothing, if the letter can't go out as it is.
    """
    refuse_if_posted(plan.ident, room.sent)
    contact = _ready(front.card, plan.note)
    choice = plan.narrow(choose(people, plan.interest, front.moment.date(), room.forgotten))
    if not choice.chosen:
        raise LetterFault(_nobody(choice, plan.interest))
    rendered = render(room.theme, plan.kind, front, plan.note, plan.values)
    mould = Mould(
        _envelope(front, plan, rendered.subject, contact), rendered.text, rendered.marked, plan.parts
    )
    write_to = _Desk(front, contact, plan.ident, room.secret)
    with whole_folder(room.out / plan.ident) as folder:
        _write_samples(folder, rendered, write_to, mould, plan.parts)
        _write_facts(folder, plan, rendered.subject)
        _write_lists(folder, choice)
        largest = _write_messages(folder / "eml", choice.chosen, mould, write_to)
    checks = cautions.cautions(rendered.subject, rendered.text, choice, contact, front.moment.date())
    return Announcement(plan.ident, room.out / plan.ident, rendered.subject, choice, largest, checks)


def _ready(card: PublicStudio, note: str) -> str:
    """Check what every letter must carry; return the contact address in ASCII."""
    if not card.postal_address:
        raise LetterFault(
            "studio.yaml has no postal_address; every letter must carry one by law (a street address, "
            "or a registered post-office box). Write it under 'postal_address: |'"
        )
    for name, text in [
        ("postal_address", card.postal_address), ("contact", card.contact), ("studio", card.studio),
        ("maker", card.maker), ("site", card.address), ("how_to_ask", card.how_to_ask),
    ]:  # fmt: skip
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


def host_of(card: PublicStudio) -> str:
    """Return the host of the studio's site in ASCII, or else that of its mail."""
    for address in (f"letters@{urlsplit(card.address).hostname}", card.contact):
        try:
            return deliverable(address).partition("@")[2]
        except ValueError:
            continue
    return "localhost"


def _nobody(choice: Choice, interest: Interest) -> str:
    if not choice.skipped:
        return "people.csv is empty; add someone who asked for letters first"
    reasons: dict[str, int] = {}
    for one in choice.skipped:
        reasons[str(one.reason)] = reasons.get(str(one.reason), 0) + 1
    counted = ", ".join(f"{count} {reason}" for reason, count in sorted(reasons.items()))
    return f"nobody in people.csv may be written to about {interest}: {counted}"


def _envelope(front: FrontOfHouse, plan: Plan, subject: str, contact: str) -> Envelope:
    card = front.card
    return Envelope(
        sender=f"{card.maker}, {card.studio}" if card.maker != card.studio else card.studio,
        contact=contact,
        subject=subject,
        date=front.moment,
        list_name=f"Letters from {card.studio}",
        list_id=f"letters.{host_of(card)}",
        ident=plan.ident,
    )


def message_name(secret: bytes, ident: str, key: str) -> str:
    """Return what tells one message's Message-ID from others': keyed, so that a report can be believed."""
    return hmac.digest(secret, f"{ident}\n{key}".encode(), hashlib.sha256).hex()[:24]


def _way_out_words(contact: str, subject: str) -> str:
    return wrap(
        f'To get no more letters, reply with the one word "{LEAVE}", or write to {contact} '
        f'with the subject "{subject}". That is all it takes.'
    )


class _Desk:
    """Write what each message has of its own."""

    def __init__(self, front: FrontOfHouse, contact: str, ident: str, secret: bytes) -> None:
        self._locale = words.locale_of(front.card.language)
        self._contact, self._ident, self._secret = contact, ident, secret
        self._maker = front.card.maker
        # Broken into lines once: all tokens are of one length.
        self._way_out = _way_out_words(contact, f"{LEAVE} {_ANY_TOKEN}")
        self._plain_way_out = _way_out_words(contact, LEAVE)

    def addressee(self, chosen: Chosen) -> Addressee:
        token = make_token(self._secret, chosen.key)
        greeting = words.greeting(chosen.person.name)
        because = words.because(chosen.person, self._locale)
        way_out = mailto(self._contact, f"{LEAVE} {token}")
        return Addressee(
            name=chosen.person.name,
            address=chosen.address,
            message_name=self._message_name(chosen.key),
            way_out=way_out,
            words=self._words(greeting, because, token),
            marked=self._marked(greeting, because, way_out),
        )

    def artist(self) -> Addressee:
        """Return the artist as addressee of the trial copy, whose way out leads nowhere."""
        way_out = mailto(self._contact, LEAVE)
        return Addressee(
            name=self._maker,
            address=self._contact,
            message_name=self._message_name("trial"),
            way_out=way_out,
            words=self._words(words.greeting(""), NEUTRAL_WHY),
            marked=self._marked(words.greeting(""), NEUTRAL_WHY, way_out),
        )

    def sample(self, rendered: Rendered) -> tuple[str, str]:
        """Return text and HTML as they'd reach someone whose name isn't known."""
        artist = self.artist()
        return fill(rendered.text, artist.words), fill(rendered.marked, artist.marked)

    def _words(self, greeting: str, because: str, token: str = "") -> dict[str, str]:
        way_out = self._way_out.replace(_ANY_TOKEN, token) if token else self._plain_way_out
        return {"greeting": greeting, "because": wrap(because), "way_out": way_out}

    def _marked(self, greeting: str, because: str, link: str) -> dict[str, str]:
        return {
            "greeting": str(escape(greeting)),
            "because": str(escape(because)),
            "way_out": str(Markup.escape(link)),
        }

    def _message_name(self, key: str) -> str:
        return message_name(self._secret, self._ident, key)


def _write_samples(
    folder: Path, rendered: Rendered, desk: _Desk, mould: Mould, parts: Sequence[Part]
) -> None:
    """Write what the letter looks like; what it carries lies beside it, so that a browser shows it."""
    text, marked = desk.sample(rendered)
    for part in parts:
        (folder / "with").mkdir(exist_ok=True)
        (folder / "with" / part.name).write_bytes(part.content)
        marked = marked.replace(f"cid:{part.content_id}", f"with/{part.name}")
    (folder / "letter.txt").write_text(text, encoding="utf-8", newline="\n")
    (folder / "to-me.eml").write_bytes(mould.pour(desk.artist()))
    (folder / "letter.html").write_text(marked, encoding="utf-8", newline="\n")


def _write_facts(folder: Path, plan: Plan, subject: str) -> None:
    """Note for posting what the letter is and promises."""
    noted = {
        "ident": plan.ident,
        "interest": str(plan.interest),
        "subject": subject,
        "facts": dict(plan.facts),
    }
    text = json.dumps(noted, ensure_ascii=False, indent=2) + "\n"
    (folder / "letter.json").write_text(text, encoding="utf-8", newline="\n")


def _write_lists(folder: Path, choice: Choice) -> None:
    header = ("email", "name", "why")
    write_table(
        folder / "recipients.csv",
        header,
        ((one.person.email, one.person.name, one.why) for one in choice.chosen),
    )
    write_table(
        folder / "skipped.csv",
        header,
        ((one.person.email, one.person.name, one.why) for one in choice.skipped),
    )


def _write_messages(folder: Path, chosen: Sequence[Chosen], mould: Mould, desk: _Desk) -> int:
    """Write one message a person, numbered as in recipients.csv; return the largest one's octets."""
    folder.mkdir()
    largest = 0
    digits = max(4, len(str(len(chosen))))
    for number, one in enumerate(chosen, start=1):
        message = mould.pour(desk.addressee(one))
        (folder / f"{number:0{digits}}.eml").write_bytes(message)
        largest = max(largest, len(message))
    return largest
