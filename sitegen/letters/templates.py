"""What a letter says: a theme's templates rendered once, for text and HTML, and each reader's own words."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from jinja2 import Environment, TemplateError, TemplateNotFound
from markupsafe import Markup, escape

from sitegen.letters.folder import Room, confirm_token, make_token, message_name
from sitegen.letters.message import FIELDS, MOMENTS, Addressee, clean, slot
from sitegen.letters.note import Note, Picture
from sitegen.studio.asked import LetterFault
from sitegen.studio.mailing import Chosen
from sitegen.studio.person import Person, deliverable
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.settings import mailto
from sitegen.voice.prose import Block, Kind, blocks, even, html, nowhere
from sitegen.voice.templates import open_templates
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.voice import Voice

TEXT_COLUMNS = 72
PICTURE_STYLE = "display:block;max-width:100%;height:auto;border:0;"
# Margins go where mail programs read them that drop a style sheet.
_BLOCK, _SPACED = re.compile("<(p|ul|ol|blockquote)>"), r'<\1 style="margin-top:0;margin-bottom:1em;">'


def note_html(note: str, voice: Voice, shown: Mapping[str, Picture] = MappingProxyType({})) -> Markup:
    """Turn a Markdown note into HTML in which raw HTML is shown, not obeyed; `shown` are its pictures."""

    def hang(source: str, words: str) -> Mapping[str, str] | str:
        if (picture := shown.get(source)) is None:
            return words
        size = {"width": str(picture.width), "height": str(picture.height)}
        return {"src": picture.source, **size, "alt": picture.alt, "style": PICTURE_STYLE}

    # Every angle bracket of the note's own is written as an entity, so these can only be its blocks.
    return Markup(_BLOCK.sub(_SPACED, str(html(note, voice.quotes, nowhere, show=hang))))  # noqa: S704


def note_text(note: str, voice: Voice, shown: Mapping[str, Picture] = MappingProxyType({})) -> str:
    """Turn a Markdown note into text of at most 72 columns; of its pictures it tells the words."""

    def told(source: str, words: str) -> str:
        picture = shown.get(source)
        return voice.words.plain("mail.picture", words=picture.alt) if picture else words

    whole, after_item = "", False
    for block in blocks(note, voice.quotes, told, addresses=True):
        gap = "\n" if block.mark and after_item else "\n\n"
        whole += (gap if whole else "") + _lines(block)
        after_item = bool(block.mark)
    return whole


def _lines(block: Block) -> str:
    if block.kind is Kind.RULE:
        return "* * *"
    quote, lead = "> " * block.quoted, f"{block.mark} " if block.mark else ""
    rest = quote + " " * len(lead)
    first, *more = block.text.split("\n")
    return "\n".join([_fill(first, quote + lead, rest), *(_fill(line, rest, rest) for line in more)])


def wrap(text: str, first: str = "", rest: str | None = None) -> str:
    """Break text into lines of 72 columns, keeping its paragraphs; `first` and `rest` indent them."""
    after = first if rest is None else rest
    paragraphs = [even(part) for part in re.split(r"\n\s*\n", text.strip())]
    return "\n\n".join(_fill(part, first, after) for part in paragraphs if part)


def _fill(paragraph: str, first: str, rest: str) -> str:
    lines = textwrap.TextWrapper(TEXT_COLUMNS, first, rest, break_long_words=False, break_on_hyphens=False)
    return lines.fill(paragraph)


@dataclass(frozen=True, slots=True)
class Rendered:
    """A letter with marks where each person's own words go."""

    subject: str
    text: str
    marked: str  # HTML


def render(
    theme: ThemeFiles, kind: str, front: FrontOfHouse, note: Note, values: Mapping[str, Any], voice: Voice
) -> Rendered:
    """Render `kind`.txt, which also sets subject and preheader, and `kind`.html of a theme.

    Raises LetterFault for a template that is missing or asks for something that isn't there.
    """
    folders = theme.below("letters")
    common = {
        **values, "front": front, "card": front.card, "site": front.card.address,
        **{name: slot(name) for name in FIELDS},
    }  # fmt: skip
    told = {"note": note_text(note.text, voice, note.shown)}
    shown = {"note": note_html(note.text, voice, note.shown)}
    try:
        plain = _environment(folders, voice, escaping=False).get_template(f"{kind}.txt")
        page = plain.make_module(common | told)
        subject, preheader = clean(str(page.subject)), clean(str(page.preheader))  # type: ignore[attr-defined]
        rich = _environment(folders, voice, escaping=True).get_template(f"{kind}.html")
        marked = rich.render(common | shown, subject=subject, preheader=preheader)
    except TemplateNotFound as fault:
        raise LetterFault(f"the theme {theme.name} has no letters/{fault.name}") from fault
    except TemplateError as fault:
        raise LetterFault(f"the theme's letter '{kind}' can't be filled in: {fault}") from fault
    return Rendered(subject, str(page).strip("\n") + "\n", marked)


def _environment(folders: tuple[Path, ...], voice: Voice, *, escaping: bool) -> Environment:
    tongue, prose = voice.tongue, note_html if escaping else note_text
    environment = open_templates(folders, str(tongue.locale), escaping=escaping)
    environment.filters.update(
        day=tongue.full_day, moment=tongue.moment, money=tongue.money, priced=tongue.priced,
        month=tongue.month, days=tongue.days, measured=tongue.length, entry=entry, line=clean,
        mailto=mailto, opening=opening, wrap=lambda text: wrap(str(text)),
        lines=lambda text: [clean(line) for line in str(text).splitlines() if line.strip()],
        set=lambda text: set_line(str(text), voice), prose=lambda text: prose(str(text), voice),
    )  # fmt: skip
    environment.globals["say"] = voice.words.say if escaping else voice.words.plain
    return environment


def opening(story: str) -> str:
    """Return a story's first paragraph; the rest is on the piece's page."""
    return next((part for part in re.split(r"\n\s*\n", story.strip()) if not part.startswith("#")), "")


# Columns that labels take in the text part.
LABEL = 10


def entry(text: str, label: str, width: int = LABEL) -> str:
    """Set a label before a text, the text's later lines indented to stand under its first."""
    return wrap(text, f"{label:<{width}}", " " * width)


# A span of times or numbers, as 10:00–16:00; a length.
_SPAN = re.compile(r"\d[\d.:]*\s?[–-]\s?\d[\d.:]*|\d[\d.,]* (?:mm|cm \([\d¼½¾ ]+\w+\))")


def set_line(text: str, voice: Voice) -> Markup:
    """Set a line of the artist's as type is set: curled quotes, no span of hours torn, no length."""
    curled = str(escape(voice.typographic(clean(text))))
    whole = _SPAN.sub(lambda span: f'<span style="white-space:nowrap;">{span[0]}</span>', curled)
    return Markup(whole)  # noqa: S704 (escaped in the line above)


_PLACE = re.compile(r"\bsheet ([A-Z0-9]{1,12}-[0-9]{1,4}) row ([0-9]{1,4})\b")  # typed in from a sheet


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
