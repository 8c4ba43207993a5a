"""The artist's Markdown as HTML: no raw HTML, no foreign picture, no link that could run something."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from html import unescape
from typing import Any
from urllib.parse import urlsplit
from xml.etree.ElementTree import Element

from markdown import Markdown
from markdown.extensions.smarty import SmartyExtension
from markdown.treeprocessors import Treeprocessor
from markupsafe import Markup

SAFE = frozenset({"http", "https", "mailto"})
# After Markdown's own steps, the last of which (priority 0) puts escaped characters back.
_PRIORITY_LAST = -10
_NAMES = ("left-double-quote", "right-double-quote", "left-single-quote", "right-single-quote")

Resolve = Callable[[str], str]
"""Turns a relative link as typed into one that works from the page; into nothing if it leads nowhere yet."""


class _Manners(Treeprocessor):
    """Keep links safe, drop pictures for their words, and put headings into order."""

    def __init__(self, markdown: Markdown, resolve: Resolve, base: int) -> None:
        super().__init__(markdown)
        self.resolve, self.base = resolve, base

    def run(self, root: Element) -> None:
        """Walk the whole tree once."""
        level = self.base - 1
        for element in root.iter():
            if element.tag == "a":
                self._link(element)
            elif element.tag == "img":
                _picture_as_words(element)
            elif re.fullmatch("h[1-6]", element.tag):
                # A heading may go one step deeper than the last, never skip one.
                level = min(max(int(element.tag[1]) + self.base - 2, self.base), level + 1, 6)
                element.tag = f"h{level}"

    def _link(self, element: Element) -> None:
        target = unescape(element.get("href") or "").strip()
        parts = _split(target)
        element.attrib.pop("title", None)
        if parts is None or (parts[0] and parts[0] not in SAFE) or target.startswith("//"):
            target = ""
        elif parts[0] or target.startswith("#"):
            return
        else:
            target = self.resolve(target)
        if target:
            element.set("href", target)
        else:
            element.attrib.pop("href", None)
            element.tag = "span"


def _split(target: str) -> tuple[str, str] | None:
    try:
        parts = urlsplit(re.sub(r"[\x00-\x20]", "", target))
    except ValueError:
        return None
    return parts.scheme.lower(), parts.path


def _picture_as_words(element: Element) -> None:
    # A picture in running text would have to come from another host; the site asks no other host.
    words = element.get("alt") or ""
    tail = element.tail
    element.clear()
    element.tag, element.text, element.tail = "span", words, tail


def prose(text: str, quotes: str, resolve: Resolve, base: int = 2) -> Markup:
    """Turn Markdown into HTML whose headings start at level `base`.

    `quotes` holds the four quotation marks of the language: double open, double close, single open, close.
    """
    markdown, manners = _reader(quotes)
    manners.resolve, manners.base = resolve, base
    return Markup(markdown.reset().convert(text))  # noqa: S704 (raw HTML is switched off below)


@lru_cache(maxsize=4)
def _reader(quotes: str) -> tuple[Markdown, _Manners]:
    """Make a reader; it serves again and again, as making one takes longer than reading a story."""
    markdown = Markdown(
        extensions=[SmartyExtension(substitutions=_substitutions(quotes)), "tables", "sane_lists"],
        output_format="html",
    )
    markdown.preprocessors.deregister("html_block")
    for name in ("html", "entity"):
        markdown.inlinePatterns.deregister(name)
    manners = _Manners(markdown, str, 2)
    markdown.treeprocessors.register(manners, "manners", _PRIORITY_LAST)
    return markdown, manners


def _substitutions(quotes: str) -> dict[str, Any]:
    return dict(zip(_NAMES, quotes, strict=True)) | {"ellipsis": "…", "ndash": "–", "mdash": "—"}


@lru_cache(maxsize=8192)
def typographic(text: str, quotes: str) -> str:
    """Set quotes, apostrophes and dashes of one plain line as a printer would."""
    text = re.sub(r"(?<=\w)'(?=\w)", "’", text)
    text = re.sub(r'"([^"]*)"', lambda part: quotes[0] + part[1] + quotes[1], text)
    text = re.sub(r"(?<!\w)'([^']*)'(?!\w)", lambda part: quotes[2] + part[1] + quotes[3], text)
    text = text.replace("'", "’")
    return re.sub(r"(?<= )--?(?= )", "–", text)
