"""A photograph made ready for the web: plain values that pictures makes and the output rooms read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

# A piece's slug and the bare name of one of its photos.
PhotoPlace = tuple[str, str]
Pictures = Mapping[PhotoPlace, "PictureSet"]
_NOWHERE = Path()


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


class Source(Protocol):
    """Where pictures come from, one set at a time."""

    def __getitem__(self, path: Path, /) -> PictureSet:
        """Put together the pictures of a photo."""

    def mark(self, path: Path, /) -> str:
        """Return a text that changes with the pictures of a photo, without putting them together."""


class LazyPictures(Mapping[PhotoPlace, PictureSet]):
    """Sets that are put together when something shows them: a build that changes one page asks for few."""

    def __init__(self, source: Source, paths: Mapping[PhotoPlace, Path]) -> None:
        """Hold where each photo is in `source`."""
        self._source, self._paths = source, paths

    def __getitem__(self, place: PhotoPlace) -> PictureSet:
        return self._source[self._paths[place]]

    def __contains__(self, place: object) -> bool:
        # The inherited test would put the set together.
        return place in self._paths

    def __iter__(self) -> Iterator[PhotoPlace]:
        return iter(self._paths)

    def __len__(self) -> int:
        return len(self._paths)

    def mark(self, place: PhotoPlace) -> str:
        """Return a text that changes with the pictures at `place`."""
        return self._source.mark(self._paths[place])


def mark_of(pictures: Pictures, place: PhotoPlace) -> str:
    """Return a text that changes with the bytes, names or sizes of the pictures at `place`."""
    if isinstance(pictures, LazyPictures):
        return pictures.mark(place)
    one = pictures[place]
    rows = (*one.full, *one.card, one.social)
    return repr((one.width, one.height, [replace(row, pack=_NOWHERE, offset=0) for row in rows]))
