"""The artist's Markdown, read once into a tree that pages, letters and papers draw, each in its own way.

No raw HTML, no picture from another host, no link that could run something, whoever draws it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from html import unescape
from itertools import count
from urllib.parse import urlsplit
from xml.etree.ElementTree import Element, tostring

from markdown import Markdown
from markdown.extensions.smarty import SmartyExtension, SubstituteTextPattern
from markupsafe import Markup

SAFE = frozenset({"http", "https", "mailto"})
_NAMES = ("left-double-quote", "right-double-quote", "left-single-quote", "right-single-quote")
# What the library leaves in a tree for its last steps, which work on text: kept pieces, and ampersands.
_KEPT = re.compile("\x02wzxhzdk:([0-9]+)\x03")
_AMPERSAND = "\x02amp\x03"
_ENTITY = re.compile(r"&(?:#[0-9]+|#x[0-9a-f]+|[0-9a-z]+);", re.IGNORECASE)

# A picture within a link is two deep.
_DEEPEST = 20

Resolve = Callable[[str], str]
"""Turns a relative link as typed into one that works; into nothing if it leads nowhere."""
Show = Callable[[str, str], Mapping[str, str] | str]
"""Says of a picture, by its source and its words, how it is shown; or what is said in its place."""


class _Kept:
    """Takes the tree from the library, in the place of the step that would write it as text."""

    tree = Element("div")

    def __call__(self, tree: Element) -> str:
        self.tree = tree
        return ""


def read(text: str, quotes: str) -> Element:
    """Read Markdown into a tree of HTML's elements below one `div`, its texts as they are to be read.

    `quotes` holds the four quotation marks of the language: double open, double close, single open, close.
    """
    markdown, kept = _reader(quotes)
    kept.tree = Element("div")
    markdown.reset().convert(_shallow(text))

    def plain(words: str) -> str:
        whole = _KEPT.sub(lambda found: str(markdown.htmlStash.rawHtmlBlocks[int(found[1])]), words)
        return _ENTITY.sub(lambda found: unescape(found[0]), whole.replace(_AMPERSAND, "&"))

    for element in kept.tree.iter():
        element.text, element.tail = plain(element.text or ""), plain(element.tail or "")
        for name, value in element.items():
            element.set(name, plain(value))
    kept.tree.tail = ""
    return kept.tree


def _shallow(text: str) -> str:
    """Make plain signs of brackets that nest deeper than any link: the library looks from each to the end."""
    if text.count("[") <= _DEEPEST:
        return text
    depth, parts = 0, re.split(r"([\[\]()]|\n\s*\n)", text)
    for place, part in enumerate(parts):
        if place % 2 == 0:
            continue
        depth += part in "[("
        if depth > _DEEPEST and not part.isspace():
            parts[place] = f"\\{part}"
        depth = 0 if part.isspace() else max(0, depth - (part in "])"))
    return "".join(parts)


@lru_cache(maxsize=4)
def _reader(quotes: str) -> tuple[Markdown, _Kept]:
    """Make a reader; it serves again and again, as making one takes longer than reading a story."""
    marks = dict(zip(_NAMES, quotes, strict=True)) | {"ellipsis": "…", "ndash": "–", "mdash": "—"}
    smarty, kept = SmartyExtension(substitutions=marks), _Kept()
    markdown = Markdown(extensions=[smarty, "tables", "sane_lists"])
    # An apostrophe inside a word before any quotes: not every language closes a quotation with it.
    apostrophe = SubstituteTextPattern(r"(?<=\w)'(?=\w)", ("’",), markdown)
    smarty.inlinePatterns.register(apostrophe, "apostrophe", 100)
    markdown.preprocessors.deregister("html_block")
    for name in ("html", "entity"):
        markdown.inlinePatterns.deregister(name)
    markdown.serializer, markdown.stripTopLevelTags = kept, False
    return markdown, kept


def nowhere(target: str) -> str:
    """Leave a relative link no more than its words, where there is no page that it could lead to."""
    return ""


def _words(source: str, words: str) -> str:
    return words


def html(text: str, quotes: str, resolve: Resolve, base: int = 2, show: Show = _words) -> Markup:
    """Turn Markdown into HTML whose headings start at level `base`."""
    whole = tostring(_mannered(read(text, quotes), resolve, base, show), encoding="unicode", method="html")
    return Markup(whole.removeprefix("<div>").removesuffix("</div>").strip())  # noqa: S704 (all text is escaped)


def _mannered(tree: Element, resolve: Resolve, base: int, show: Show) -> Element:
    """Keep links safe, show or say pictures, and put headings into order, in place."""
    level = base - 1
    for element in tree.iter():
        if element.tag == "a":
            _link(element, resolve)
        elif element.tag == "img":
            _picture(element, show)
        elif re.fullmatch("h[1-6]", element.tag):
            # A heading may go one step deeper than the last, never skip one.
            level = min(max(int(element.tag[1]) + base - 2, base), level + 1, 6)
            element.tag = f"h{level}"
    return tree


def _link(element: Element, resolve: Resolve) -> None:
    target = (element.get("href") or "").strip()
    try:
        scheme = urlsplit(re.sub(r"[\x00-\x20]", "", target)).scheme.lower()
    except ValueError:
        scheme = "unreadable"
    element.attrib.clear()
    if not scheme and not target.startswith("//"):
        target = resolve(target)
    elif scheme not in SAFE:
        target = ""
    if target:
        element.set("href", target)
    else:
        element.tag = "span"


def _picture(element: Element, show: Show) -> None:
    shown = show(element.get("src") or "", element.get("alt") or "")
    element.attrib.clear()
    if isinstance(shown, str):
        element.tag, element.text = "span", shown
    else:
        element.attrib.update(shown)


class Kind(StrEnum):
    """What a block is."""

    HEADING = "heading"
    PARAGRAPH = "paragraph"
    ITEM = "item"
    RULE = "rule"


@dataclass(frozen=True, slots=True)
class Block:
    """One heading, paragraph, list item or rule, without any markup left."""

    kind: Kind
    text: str  # a line break in it was asked for
    mark: str = ""  # of an item's first block: `-`, or its number like `3.`
    quoted: int = 0  # in how many quotations it stands


_KINDS = {
    **{f"h{level}": Kind.HEADING for level in range(1, 7)},
    **dict.fromkeys(("p", "pre", "blockquote", "div", "ul", "ol", "table"), Kind.PARAGRAPH),
    "li": Kind.ITEM,
    "hr": Kind.RULE,
}


def blocks(text: str, quotes: str, show: Show = _words, *, addresses: bool = False) -> tuple[Block, ...]:
    """Turn Markdown into blocks of plain words; with `addresses` a link's stands behind its words."""
    walk = _Walk(addresses)
    walk.block(_mannered(read(text, quotes), nowhere, 2, show))
    return tuple(walk.found)


def said(text: str, quotes: str) -> str:
    """Turn Markdown into plain words, a block a line, for programs that show no more."""
    return "\n".join(block.text for block in blocks(text, quotes, addresses=True))


class _Walk:
    """Gathers words from one block's beginning to its end; what a list item holds is an item throughout."""

    def __init__(self, addresses: bool) -> None:
        self.found: list[Block] = []
        self._addresses = addresses
        self._text, self._mark = "", ""
        self._items, self._quoted = 0, 0

    def block(self, element: Element, mark: str = "") -> None:
        self._end(Kind.PARAGRAPH)
        self._items += element.tag == "li"
        self._quoted += element.tag == "blockquote"
        self._mark = mark or self._mark
        if element.tag == "hr":
            self.found.append(Block(Kind.RULE, "", quoted=self._quoted))
        self._inside(element)
        self._end(_KINDS[element.tag])
        self._items -= element.tag == "li"
        self._quoted -= element.tag == "blockquote"

    def _inside(self, element: Element, *, set_off: bool = False) -> None:
        set_off = set_off or element.tag == "pre"
        self._add(element.text, set_off)
        marks = _marks(element)
        for child in element:
            if child.tag in _KINDS:
                self.block(child, next(marks))
            else:
                self._inline(child, set_off)
            self._add(child.tail, set_off)

    def _inline(self, element: Element, set_off: bool) -> None:
        if element.tag == "br":
            self._text += "\n"
        elif element.tag in {"td", "th"} and self._text.rstrip(" ")[-1:] not in {"", "\n"}:
            self._text = f"{self._text.rstrip(' ')} · "
        self._inside(element, set_off=set_off)
        if element.tag == "tr":
            self._text += "\n"
        address = (element.get("href") or "").removeprefix("mailto:") if self._addresses else ""
        if address and not self._text.endswith(address):
            self._text += f" ({address})"

    def _add(self, text: str | None, set_off: bool) -> None:
        self._text += (text or "") if set_off else (text or "").replace("\n", " ")

    def _end(self, kind: Kind) -> None:
        lines = [even(line) for line in self._text.split("\n")]
        self._text = ""
        if not any(lines):
            return
        kind = Kind.ITEM if self._items else kind
        self.found.append(Block(kind, "\n".join(filter(None, lines)), self._mark, self._quoted))
        self._mark = ""


def _marks(element: Element) -> Iterator[str]:
    """Yield the mark of each item of a list; nothing for anything else."""
    for number in count(int(element.get("start", "1"))):
        yield {"ul": "-", "ol": f"{number}."}.get(element.tag, "")


def even(words: str) -> str:
    """Make every gap one blank; a no-break space stays, so that an amount isn't torn from its sign."""
    return re.sub(r"[ \t\r\n]+", " ", words).strip(" ")
