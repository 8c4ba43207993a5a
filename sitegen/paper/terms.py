"""Turn a page of terms, written in Markdown, into plain blocks that a template can set."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from html.parser import HTMLParser

import markdown


class BlockKind(StrEnum):
    """How a block is set."""

    HEADING = "heading"
    PARAGRAPH = "paragraph"
    ITEM = "item"


@dataclass(frozen=True, slots=True)
class Block:
    """One heading, paragraph or list item, without any markup left."""

    kind: BlockKind
    text: str


def blocks(text: str) -> tuple[Block, ...]:
    """Read Markdown into blocks; emphasis and links become plain words, an empty block is dropped."""
    reader = _Reader()
    reader.feed(markdown.markdown(text, extensions=["sane_lists", "tables"]))
    reader.close()
    reader.finish()
    return tuple(reader.blocks)


_KINDS = {
    **{f"h{level}": BlockKind.HEADING for level in range(1, 7)},
    "li": BlockKind.ITEM,
    "p": BlockKind.PARAGRAPH,
    "pre": BlockKind.PARAGRAPH,
    "tr": BlockKind.PARAGRAPH,
}


class _Reader(HTMLParser):
    """Collects text between block tags; what a list item holds is an item whatever tags are in it."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.blocks: list[Block] = []
        self._text = ""
        self._kind = BlockKind.PARAGRAPH
        self._items = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _KINDS:
            self.finish()
            self._items += tag == "li"
            self._kind = BlockKind.ITEM if self._items else _KINDS[tag]
        elif tag in {"br", "td", "th"}:
            self._text += " "

    def handle_endtag(self, tag: str) -> None:
        if tag in _KINDS:
            self.finish()
            self._items -= tag == "li"
            self._kind = BlockKind.ITEM if self._items else BlockKind.PARAGRAPH

    def handle_data(self, data: str) -> None:
        self._text += data

    def finish(self) -> None:
        """Close the block at hand, if it holds any words."""
        words = " ".join(self._text.split())
        if words:
            self.blocks.append(Block(self._kind, words))
        self._text = ""
