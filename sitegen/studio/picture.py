"""A photograph made ready for the web: plain values that pictures makes and the output rooms read."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

PhotoKey = tuple[str, str]
"""Which photograph: the slug of its piece, and the name of its file."""


@dataclass(frozen=True, slots=True)
class Rendition:
    """One encoded size of a photograph."""

    mime: str
    width: int
    """Pixels across."""
    height: int
    name: str
    """Its public file name, which holds a hash of its bytes: other bytes always have another name."""
    size: int
    """Octets."""
    pack: Path
    """The cached file that holds this picture among its sisters."""
    offset: int
    """Where in the pack its bytes begin."""


@dataclass(frozen=True, slots=True)
class PictureSet:
    """All renditions of one photograph."""

    width: int
    """Pixels across of the upright original."""
    height: int
    full: tuple[Rendition, ...]
    """The whole frame: the modern format first, then JPEG, each from narrow to wide."""
    card: tuple[Rendition, ...]
    """The same for a grid of pieces: the whole frame, or a crop of a detail."""
    social: Rendition
    """JPEG for link previews."""


@dataclass(frozen=True, slots=True)
class Shape:
    """Width over height, of the whole frame and of the frame as a card shows it."""

    whole: float
    card: float


class Album(Mapping[PhotoKey, PictureSet]):
    """The pictures of all photographs.

    A set is put together when it's asked for, and what a page's style or a build's memory needs to know of
    it comes without: a build that changes one page asks for a few sets among thousands.
    """

    @abstractmethod
    def mark(self, key: PhotoKey) -> str:
        """Return a text that is another one whenever a picture of the set or its name is."""

    @abstractmethod
    def shape(self, key: PhotoKey) -> Shape:
        """Return the shape of a photograph."""


class ReadyAlbum(Album):
    """An album of sets that are there already."""

    def __init__(self, sets: Mapping[PhotoKey, PictureSet]) -> None:
        """Hold these sets."""
        self._sets = sets

    def mark(self, key: PhotoKey) -> str:
        """Return the whole set as text."""
        return repr(self._sets[key])

    def shape(self, key: PhotoKey) -> Shape:
        """Return the shape of a photograph."""
        one = self._sets[key]
        largest = max(one.card, key=lambda card: card.width)
        return Shape(one.width / one.height, largest.width / largest.height)

    def __contains__(self, key: object) -> bool:
        return key in self._sets

    def __getitem__(self, key: PhotoKey) -> PictureSet:
        return self._sets[key]

    def __iter__(self) -> Iterator[PhotoKey]:
        return iter(self._sets)

    def __len__(self) -> int:
        return len(self._sets)
