"""What the site consists of, before any of it is made: files, sheets that can be made, shelves of pictures.

Each sheet and shelf has a key of all it depends on, so that what didn't change needn't be made to be known.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from sitegen.studio.picture import Rendition

Asked = tuple[tuple[str, str], ...]
"""Links as an artist typed them, each with the path that it was found to mean."""
Find = Callable[[str], str | None]
"""Returns the path that a typed link means; None if it leads nowhere."""


@dataclass(frozen=True, slots=True)
class Made:
    """A sheet's bytes, and which links among the artist's words they hold."""

    content: bytes
    asked: Asked = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page or feed that is made only if there is none yet with its key."""

    path: str
    key: str
    """Digest of everything that decides over the bytes, but for where the artist's own links lead."""
    make: Callable[[], Made]


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

    files: Mapping[str, bytes | Path] = field(default_factory=dict)
    """Ready bytes, or a file elsewhere whose bytes the site carries."""
    sheets: tuple[Sheet, ...] = ()
    shelves: tuple[Shelf, ...] = ()
    find: Find = lambda _: None

    @property
    def paths(self) -> list[str]:
        """Every file and sheet, without the pictures."""
        return [*self.files, *(sheet.path for sheet in self.sheets)]
