"""The plain values that go into and come out of this room."""

from abc import abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sitegen.studio.picture import PictureSet, Rendition, Shape

__all__ = ["Fault", "Harvest", "PictureSet", "Rendition", "Sets", "Shape", "Wish"]


@dataclass(frozen=True, slots=True)
class Wish:
    """Ask for the web pictures of one photo."""

    path: Path
    # Start of the public file names, such as "2026-07-moth-clerk-1".
    stem: str
    # Centre of interest: shares of the upright width and height from the top left, 0 to 1; None: the default.
    focus: tuple[float, float] | None = None
    # A detail may be cropped for a card; a whole figure never is.
    detail: bool = False


@dataclass(frozen=True, slots=True)
class Fault:
    """Say what is wrong with one photo and what to do about it."""

    path: Path
    message: str


class Sets(Mapping[Path, PictureSet]):
    """Look up the pictures of a photo.

    A set is put together when it's asked for: a build that changes one page asks for a few among thousands.
    """

    @abstractmethod
    def mark(self, path: Path) -> str:
        """Return a text that is another one whenever a picture of the set or its name is."""

    @abstractmethod
    def shape(self, path: Path) -> Shape:
        """Return the shape of a photo."""


@dataclass(frozen=True, slots=True)
class Harvest:
    """Hold what a run brought in; `sets` lacks the photos named in `faults`."""

    sets: Sets
    faults: tuple[Fault, ...]
    # Photos.
    made: int
    reused: int
