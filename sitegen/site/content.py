"""What the site consists of, before any of it is made: sheets that can be made, shelves of pictures.

Each sheet and shelf has a key of all it depends on, so that what didn't change needn't be made to be known.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass

from sitegen.studio.picture import Rendition

Asked = tuple[tuple[str, str], ...]
"""Links as an artist typed them, each with the path that it was found to mean."""
Find = Callable[[str], str | None]
"""Returns the path that a typed link means; None if it leads nowhere."""


@dataclass(frozen=True, slots=True)
class MadeSheet:
    """A sheet's bytes, and which links among the artist's words they hold."""

    content: bytes
    asked: Asked = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page, a feed or another file that is made only if there is none yet with its key."""

    path: str
    key: str
    """Digest of everything that decides over the bytes, but for where the artist's own links lead."""
    make: Callable[[], MadeSheet]


def ready(path: str, content: bytes) -> Sheet:
    """Return a sheet whose bytes are there already."""
    return Sheet(path, hashlib.sha256(content).hexdigest(), lambda: MadeSheet(content))


@dataclass(frozen=True, slots=True)
class Shelf:
    """The pictures of one piece. A picture's name changes with its bytes, so none is ever overwritten."""

    name: str
    """Of its folder."""
    key: str
    """Changes whenever a picture or its name does."""
    pictures: Callable[[], tuple[Rendition, ...]]


@dataclass(frozen=True)
class Content:
    """The whole site; paths are from its root."""

    sheets: tuple[Sheet, ...] = ()
    shelves: tuple[Shelf, ...] = ()
    find: Find = lambda _: None
