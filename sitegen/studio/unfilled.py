"""What the starter left to fill in, taken out: nobody is shown words that the artist hasn't made her own.

A text that still holds a `<place to fill in>` counts as not written. A piece, show, tier or round without a
name of its own isn't shown at all, nor is a page with a gap in it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, TypeVar

from sitegen.studio.fields import Entry, is_placeholder
from sitegen.studio.settings import Settings
from sitegen.studio.whole import Page, Studio

Block = TypeVar("Block", bound=Entry)

# A letter is refused while one of them has a gap, and the site does without; so they stay as they are.
_ASKED_FOR = frozenset({"studio", "maker", "contact", "postal_address", "how_to_ask"})


def finished(studio: Studio) -> Studio:
    """Return the studio without what is still to fill in."""
    book = studio.commissions
    return replace(
        studio,
        settings=_settings(studio.settings),
        pieces=tuple(written(one) for one in studio.pieces if not is_placeholder(one.title)),
        commissions=book.model_copy(
            update={
                "tiers": tuple(written(one) for one in book.tiers if not is_placeholder(one.name)),
                "rounds": tuple(written(one) for one in book.rounds if not is_placeholder(one.name)),
            }
        ),
        shows=tuple(written(one) for one in studio.shows if not is_placeholder(one.name)),
        pages=tuple(page for page in studio.pages if not gaps(page)),
    )


def gaps(page: Page) -> bool:
    """Tell whether a page still has a place to fill in."""
    return is_placeholder(page.title) or is_placeholder(page.text)


def _settings(settings: Settings) -> Settings:
    kept = {name: getattr(settings, name) for name in _ASKED_FOR}
    return written(settings).model_copy(update=kept)


def written(entry: Block) -> Block:
    """Return a block without its texts that still hold a place to fill in."""
    # Most of a thousand pieces' values are no text at all.
    texts = ((name, value) for name, value in vars(entry).items() if isinstance(value, str | Entry | tuple))
    changes = {name: kept for name, value in texts if (kept := _kept(value)) is not value}
    return entry.model_copy(update=changes) if changes else entry


def _kept(value: Any) -> Any:
    if isinstance(value, str):
        return "" if is_placeholder(value) else value
    if isinstance(value, Entry):
        return written(value)
    if isinstance(value, tuple):
        found = tuple(kept for one in value if (kept := _kept(one)) != "" or one == "")
        return value if found == value else found
    return value
