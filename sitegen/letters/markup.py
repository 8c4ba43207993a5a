"""The artist's own words: Markdown to a few safe HTML elements, and to text that reads by itself."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from html.parser import HTMLParser
from types import MappingProxyType
from xml.etree.ElementTree import Element

import markdown
from markdown.extensions import Extension
from markdown.treeprocessors import Treeprocessor
from markupsafe import Markup

from sitegen.letters.pictures import Picture

TEXT_COLUMNS = 72
PICTURE_STYLE = "display:block;max-width:100%;height:auto;border:0;"
_SAFE_LINK = re.compile(r"(?:https?://|mailto:)", re.IGNORECASE)


class _Tame(Treeprocessor):
    """A letter asks no other host for anything: pictures become their words, odd links plain text."""

    def __init__(self, md: markdown.Markdown, shown: Mapping[str, Picture]) -> None:
        super().__init__(md)
        self._shown = shown

    def run(self, root: Element) -> None:
        for element in root.iter():
            picture = self._shown.get(element.get("src", "")) if element.tag == "img" else None
            if picture:
                _hang(element, picture)
            elif element.tag == "img":
                words = element.get("alt", "")
                element.tag, element.text = "em", words
                element.attrib.clear()
            elif element.tag == "a" and not _SAFE_LINK.match(element.get("href", "")):
                element.tag = "span"
                element.attrib.clear()


def _hang(element: Element, picture: Picture) -> None:
    """Put a picture of the studio's own where the note asks for it."""
    element.attrib.clear()
    wanted = {"src": picture.source, "width": picture.width, "height": picture.height, "alt": picture.alt}
    for name, value in {**wanted, "style": PICTURE_STYLE}.items():
        element.set(name, str(value))


class _Letter(Extension):
    def __init__(self, shown: Mapping[str, Picture]) -> None:
        super().__init__()
        self._shown = shown

    def extendMarkdown(self, md: markdown.Markdown) -> None:  # noqa: N802 (the library's name)
        md.preprocessors.deregister("html_block")
        md.inlinePatterns.deregister("html")
        md.treeprocessors.register(_Tame(md, self._shown), "tame", 5)


def note_html(note: str, shown: Mapping[str, Picture] = MappingProxyType({})) -> Markup:
    """Turn a Markdown note into HTML in which raw HTML is shown, not obeyed; `shown` are its pictures."""
    made = markdown.markdown(note, extensions=[_Letter(shown), "smarty"], output_format="html")
    return Markup(made)  # noqa: S704 (raw HTML was switched off above)


def note_text(note: str, shown: Mapping[str, Picture] = MappingProxyType({})) -> str:
    """Turn a Markdown note into text of at most 72 columns; of its pictures it tells the words."""
    reader = _Reader()
    reader.feed(str(note_html(note, shown)))
    reader.close()
    return reader.text()


def wrap(text: str, first: str = "", rest: str | None = None) -> str:
    """Break text into lines of 72 columns, keeping its paragraphs; `first` and `rest` indent them."""
    after = first if rest is None else rest
    paragraphs = [_even(part) for part in re.split(r"\n\s*\n", text.strip())]
    return "\n\n".join(_fill(part, first, after) for part in paragraphs if part)


def _even(words: str) -> str:
    """Make every gap one blank; a no-break space stays, so that an amount isn't torn from its sign."""
    return re.sub(r"[ \t\r\n]+", " ", words).strip(" ")


def _fill(paragraph: str, first: str, rest: str) -> str:
    return textwrap.fill(
        paragraph,
        TEXT_COLUMNS,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )


class _Reader(HTMLParser):
    """Read our own HTML back into lines for reading."""

    BLOCKS = frozenset({"p", "li", "h1", "h2", "h3", "h4", "h5", "h6", "blockquote", "hr", "pre"})

    def __init__(self) -> None:
        super().__init__()
        self._blocks: list[tuple[bool, str]] = []
        """Whether it is an item of a list, and its lines."""
        self._words: list[str] = []
        self._link: str | None = None
        self._lists: list[int | None] = []
        self._lead = ""
        self._quoted = 0

    def text(self) -> str:
        self._end_block()
        whole, after_item = "", False
        for is_item, block in self._blocks:
            gap = "\n" if is_item and after_item else "\n\n"
            whole += (gap if whole else "") + block
            after_item = is_item
        return whole

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in self.BLOCKS or tag in {"ul", "ol"}:
            self._end_block()
        if tag == "a":
            self._link = dict(attrs).get("href")
        elif tag in {"ul", "ol"}:
            self._lists.append(1 if tag == "ol" else None)
        elif tag == "li":
            self._lead = self._next_lead()
        elif tag == "blockquote":
            self._quoted += 1
        elif tag == "hr":
            self._blocks.append((False, "* * *"))
        elif tag == "img":
            self._words.append(f"[Picture: {dict(attrs).get('alt') or ''}]")
        elif tag == "br":
            self._words.append("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag in self.BLOCKS:
            self._end_block()
        if tag == "a":
            self._end_link()
        elif tag in {"ul", "ol"}:
            self._end_block()
            self._lists.pop()
        elif tag == "blockquote":
            self._quoted -= 1

    def handle_data(self, data: str) -> None:
        self._words.append(data.replace("\n", " "))

    def _end_link(self) -> None:
        shown = "".join(self._words)
        if self._link and not shown.endswith(self._link.removeprefix("mailto:")):
            self._words.append(f" ({self._link.removeprefix('mailto:')})")
        self._link = None

    def _next_lead(self) -> str:
        count = self._lists[-1] if self._lists else None
        if count is None:
            return "- "
        self._lists[-1] = count + 1
        return f"{count}. "

    def _end_block(self) -> None:
        words = "".join(self._words)
        self._words = []
        if not words.strip():
            return
        quote = "> " * self._quoted
        lines = [_even(line) for line in words.split("\n")]
        lead, self._lead = self._lead, ""
        firsts = [quote + lead, *[quote + " " * len(lead)] * len(lines)]
        filled = [_fill(line, first, firsts[-1]) for line, first in zip(lines, firsts, strict=False) if line]
        self._blocks.append((bool(lead), "\n".join(filled)))
