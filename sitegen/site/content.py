"""What the site consists of, before any of it is made: leaves, sheets that can be made, shelves of pictures.

Each sheet and shelf has a key of all it depends on, so that what didn't change needn't be made to be known.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sitegen.site.addresses import Asked, Find
from sitegen.site.house import Shot
from sitegen.studio.picture import Rendition


@dataclass(frozen=True)
class Leaf:
    """A page as plain values: leaves with the same text (`repr`) give the same bytes, within one house."""

    path: str  # from the site's root, like gallery/index.html
    template: str
    title: str  # without the studio's name
    description: str = ""
    """One or two sentences for search engines and link previews; that of a piece is made with its page."""
    parts: Mapping[str, Any] = field(default_factory=dict)  # what the template gets, by name
    shot: Shot | None = None  # the picture of link previews
    facts: tuple[tuple[str, Any], ...] = ()
    """What its structured data tells of: one of `head.TELLERS`, and its subject."""
    listed: bool = True  # whether search engines are asked to keep it
    kind: str = "website"  # Open Graph's type
    posts_to: str | None = None  # where a form on it sends what is written in
    changed: date | None = field(default=None, repr=False)
    """Day of its last change, where the files tell one that may be told: for the sitemap, not on the page."""


@dataclass(frozen=True, slots=True)
class MadeSheet:
    """A sheet's bytes, and which links among the artist's words they hold."""

    content: bytes
    asked: Asked = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page, a feed or another file that is made only if there is none yet with its key."""

    path: str
    key: str  # digest of everything that decides over the bytes, but for where the artist's own links lead
    make: Callable[[], MadeSheet]


@dataclass(frozen=True, slots=True)
class Shelf:
    """The pictures of one piece. A picture's name changes with its bytes, so none is ever overwritten."""

    name: str  # of its folder
    key: str  # changes whenever a picture or its name does
    pictures: Callable[[], tuple[Rendition, ...]]


@dataclass(frozen=True)
class Content:
    """The whole site; paths are from its root."""

    sheets: tuple[Sheet, ...] = ()
    shelves: tuple[Shelf, ...] = ()
    find: Find = lambda _: None
