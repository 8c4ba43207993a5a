"""The artist's own words in a letter: as HTML, and as text that reads by itself."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from types import MappingProxyType

from markupsafe import Markup

from sitegen.letters.pictures import Picture
from sitegen.voice.prose import Block, Kind, blocks, even, html, nowhere
from sitegen.voice.voice import Voice

TEXT_COLUMNS = 72
PICTURE_STYLE = "display:block;max-width:100%;height:auto;border:0;"


def note_html(note: str, voice: Voice, shown: Mapping[str, Picture] = MappingProxyType({})) -> Markup:
    """Turn a Markdown note into HTML in which raw HTML is shown, not obeyed; `shown` are its pictures."""

    def hang(source: str, words: str) -> Mapping[str, str] | str:
        picture = shown.get(source)
        return _attributes(picture) if picture else words

    return html(note, voice.quotes, nowhere, show=hang)


def _attributes(picture: Picture) -> dict[str, str]:
    """Show a picture of the studio's own where the note asks for it."""
    size = {"width": str(picture.width), "height": str(picture.height)}
    return {"src": picture.source, **size, "alt": picture.alt, "style": PICTURE_STYLE}


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
    return textwrap.fill(
        paragraph,
        TEXT_COLUMNS,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
