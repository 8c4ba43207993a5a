"""Render a theme's letter: one template for the text, one for the HTML, each from the same values."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, TemplateError, TemplateNotFound
from markupsafe import Markup, escape

from sitegen.letters.message import FIELDS, clean, slot
from sitegen.letters.note import Note, Picture
from sitegen.studio.fault import LetterFault
from sitegen.studio.outward import mailto
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.compiled import KeptTemplates
from sitegen.voice.prose import Block, Kind, blocks, even, html, nowhere
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
    marked: str
    """HTML."""


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
    environment = Environment(
        loader=FileSystemLoader(folders),
        autoescape=escaping,  # noqa: S701 (only the text part goes unescaped)
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        bytecode_cache=KeptTemplates((str(tongue.locale), escaping)),
    )
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
