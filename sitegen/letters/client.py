"""A letter to one client about their own order: an offer, a confirmation, a courteous no. Only ever a draft.

It isn't a letter of the list, so it needs no consent and has no way to leave; it carries the postal address
like any other, and goes to that client alone. Its sentences are the theme's, below `client:` in its words.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from email.errors import MessageError
from email.parser import BytesHeaderParser
from email.policy import SMTP
from email.utils import parsedate_to_datetime
from enum import StrEnum
from itertools import count
from pathlib import Path
from typing import Any

from markupsafe import escape

from sitegen.letters.announce import common_fields, ready, write_sample
from sitegen.letters.folder import Room, whole_folder, write_text
from sitegen.letters.message import FIELDS, Addressee, Mould, clean
from sitegen.letters.note import Note, own_greeting, refuse_pictures
from sitegen.letters.templates import greet, render, wrap
from sitegen.studio.asked import LetterFault
from sitegen.studio.commission import Order
from sitegen.studio.person import deliverable
from sitegen.studio.plan import Standing
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.text import slug
from sitegen.voice.voice import Voice, open_voice
from sitegen.voice.words import PLACE


class Matter(StrEnum):
    """What a letter to a client is about; the theme has a block of sentences for each."""

    OFFER = "offer"
    CONFIRMATION = "confirmation"  # straight after the yes: everything agreed on, and how to pay
    LAPSED = "lapsed"
    DECLINED = "declined"
    AHEAD = "payment ahead"  # a part that will be due soon; nobody is reminded of anything
    DUE = "payment due"  # a part that is due and still within the days of grace
    REMINDER = "reminder"  # a part that is late
    FINISHED = "finished"
    CALLED_OFF = "called off"
    DELAY = "delay"  # a new day that stands if the client says nothing (16 CFR 435.2(b)(1)(ii))
    LONG_DELAY = "long delay"
    """A new day that needs the client's yes, or none at all (16 CFR 435.2(b)(1)(iii))."""
    RENEWED_DELAY = "renewed delay"  # put off again: any further day needs a yes (16 CFR 435.2(b)(2))


# What may hold of an order, by the names that a theme's `when:` uses.
CIRCUMSTANCES = frozenset({
    "by_client", "by_maker", "by_nobody", "due", "due_today", "kept_all", "kept_none", "kept_part", "late",
    "no_day", "nothing_typed", "overdue", "owed_in_part", "owed_in_whole", "plan_floats", "postage_extra",
    "postage_included", "sent_in_part", "sent_in_whole", "timely", "typed", "unpaid", "paid",
})  # fmt: skip
NOTE = "note.md"  # the artist's own words in a draft, kept beside it so that they can be written anew


Due = tuple[date, Decimal, Standing]
"""One part of a payment plan."""
Told = date | Decimal | int | str | None
"""A day, a sum, a length in millimetres, or words of the artist's; nothing where an order hasn't any."""


@dataclass(frozen=True, slots=True)
class ClientLetter:
    """What one letter to one client says."""

    matter: Matter
    tells: Mapping[str, Told] = field(default_factory=dict)
    """What stands in its sentences by its name, a day also as a month, like {promised_month}.

    A paragraph or fact is left out that names a thing of which there is nothing."""
    holds: frozenset[str] = frozenset()  # which of the CIRCUMSTANCES hold
    parts: tuple[Due, ...] = ()
    remarks: tuple[str, ...] = ()  # what the artist should know before posting it


@dataclass(frozen=True, slots=True)
class Draft:
    """A letter that was written, for the artist to look at and post."""

    folder: Path
    subject: str
    to: str = field(repr=False)
    remarks: tuple[str, ...] = ()  # what the artist should know before posting it
    made: date | None = None  # the day it was written, where that can be read

    @property
    def text(self) -> str:
        """How it reads."""
        return _reads(self.folder / "letter.txt")

    @property
    def note(self) -> str:
        """The artist's own words in it."""
        return _reads(self.folder / NOTE)


def write_to_client(
    front: FrontOfHouse, order: Order, letter: ClientLetter, room: Room, note: str = ""
) -> Draft:
    """Write letter.html, letter.txt and letter.eml into a folder of out/letters of their own.

    Above what the letter says stands a `note` of the artist's, in Markdown. A draft that lies there already
    is never touched: another letter gets the next number. Raises Fault, and writes nothing, without a postal
    address or an address to write to, and for pictures in the note.
    """
    contact, client = ready(front.card, note), order.private
    refuse_pictures(note)
    if not client.email.strip():
        raise LetterFault(
            f"commissions.yaml: {order.code} has no address to write to; add `email:` to its `private:`"
        )
    try:
        address = deliverable(client.email)
    except ValueError as fault:
        said = f"commissions.yaml: the address of {order.code} can't be written to: {fault}"
        raise LetterFault(said) from fault
    voice = open_voice(room.theme, front.card)
    told = _Telling(voice, letter, {
        "code": order.code, "tier": order.tier, "name": client.name,
        "maker": front.card.maker, "studio": front.card.studio,
    })  # fmt: skip
    rendered = render(room.theme, "client", front, Note(note), told.values(), voice)
    because = told.say("because")
    own = dict.fromkeys(FIELDS, "") | {"greeting": greet(client.name, voice, "client"), "because": because}
    shown = {name: str(escape(value)) for name, value in own.items()}
    reader = Addressee(client.name, address, own | {"because": wrap(because)}, shown)
    mould = Mould(common_fields(front, rendered.subject, contact), rendered.text, rendered.marked)
    place = _place(room.out / stem_of(order.code, letter.matter), mould.read_by(reader))
    remarks = (*own_greeting(note, client.name), *letter.remarks)
    draft = Draft(place, rendered.subject, address, remarks)
    if place.exists():
        return draft
    with whole_folder(draft.folder) as folder:
        ident = f"{place.name}.{front.moment:%Y%m%d%H%M%S}@{contact.partition('@')[2]}"
        write_sample(folder, mould, replace(reader, message_id=ident), "letter.eml")
        if note.strip():
            write_text(folder / NOTE, note)
    return draft


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


def _place(stem: Path, read: tuple[str, str]) -> Path:
    """Find the folder of a letter: where the same letter lies already, else a new one; never another's."""
    places = (stem if number == 1 else stem.with_name(f"{stem.name}-{number}") for number in count(1))
    return next(
        place
        for place in places
        if not place.exists() or (_reads(place / "letter.txt"), _reads(place / "letter.html")) == read
    )


def _reads(file: Path) -> str:
    """Return what a file says; nothing where it's gone or was saved in a way of its own."""
    try:
        return file.read_text(encoding="utf-8") if file.is_file() else ""
    except UnicodeDecodeError:
        return ""


class _Telling:
    """Tells a letter in the theme's words."""

    def __init__(self, voice: Voice, letter: ClientLetter, known: Mapping[str, str]) -> None:
        self._words, self._letter = voice.words, letter
        self._places, self._missing = {name: clean(text) for name, text in known.items()}, set[str]()
        for name, value in letter.tells.items():
            if isinstance(value, date):
                self._places[name] = voice.tongue.full_day(value)
                self._places[f"{name}_month"] = voice.tongue.month(value)
            elif isinstance(value, Decimal):
                written = voice.tongue.priced if name == "price" else voice.tongue.money
                self._places[name] = written(value)
            elif said := voice.tongue.length(value) if isinstance(value, int) else clean(value or ""):
                self._places[name] = said
            else:
                self._missing |= {name, f"{name}_month"}

    def values(self) -> dict[str, Any]:
        """Return what the template holds."""
        block = slug(self._letter.matter).replace("-", "_")
        opening, closing = (
            [text for _, text in self._paragraphs(f"{block}.{part}")] for part in ("opening", "closing")
        )
        subject, parts = self.say(f"{block}.subject"), self._letter.parts
        title = (
            self.say(f"{block}.facts_title") if f"client.{block}.facts_title" in self._words.sentences else ""
        )
        facts = self._paragraphs("facts") if title else []
        return {
            "letter_subject": subject,
            "letter_preheader": opening[0] if opening else subject,
            "opening": opening,
            "facts_title": title,
            "facts": [(self.say(f"{key}.label"), text) for key, text in facts],
            "plan_title": self.say("plan") if parts else "",
            "parts": [(*due, self.say(f"standing_{standing.replace(' ', '_')}")) for *due, standing in parts],
            "closing": closing,
        }

    def say(self, key: str) -> str:
        """Say one of the sentences. Raises Fault where the theme has none."""
        return self._words.plain(f"client.{key}", **self._places)

    def _paragraphs(self, block: str) -> list[tuple[str, str]]:
        """Fill in what holds of this order, with its key; what names a thing that it hasn't is left out."""
        names = dict.fromkeys(name.partition(".")[0] for name in self._words.below(f"client.{block}"))
        keys = [f"{block}.{name}" for name in names]
        return [(key, self.say(said)) for key in keys if (said := self._when(key))]

    def _when(self, key: str) -> str:
        """Return the key of a paragraph's words; nothing where it doesn't hold of this order."""
        sentences = self._words.sentences
        when = sentences.get(f"client.{key}.when", "").split()
        if unknown := [name for name in when if name not in CIRCUMSTANCES]:
            known = ", ".join(sorted(CIRCUMSTANCES))
            raise LetterFault(f"{self._words.file}: `when: {unknown[0]}` is none of {known}")
        said = key if f"client.{key}" in sentences else f"{key}.say"
        named = PLACE.findall(sentences.get(f"client.{said}", ""))
        return said if self._letter.holds.issuperset(when) and self._missing.isdisjoint(named) else ""
