"""The plain values that go into and come out of this room."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sitegen.pictures.files import write_whole


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
class Rendition:
    """Hold one encoded picture: what it is, what it is called in public, where its bytes lie."""

    mime: str
    # Pixels.
    width: int
    height: int
    # Public file name: stem, width, short content hash, extension. Other bytes always have another name.
    name: str
    # Bytes.
    size: int
    # The cached pack that holds this picture among its sisters, and where in it.
    pack: Path
    offset: int

    def read(self) -> bytes:
        """Return the encoded picture."""
        with self.pack.open("rb") as file:
            file.seek(self.offset)
            return file.read(self.size)

    def save(self, target: Path) -> None:
        """Write the encoded picture to `target`, whole or not at all."""
        write_whole(target, self.read())


@dataclass(frozen=True, slots=True)
class PictureSet:
    """Hold all web pictures made from one photo."""

    # Pixels of the upright original.
    width: int
    height: int
    # The whole frame: the modern format first, then JPEG, each from narrow to wide.
    full: tuple[Rendition, ...]
    # For cards, same order: the whole frame again, or a 4:5 crop of a detail.
    card: tuple[Rendition, ...]
    # JPEG for link previews.
    social: Rendition


@dataclass(frozen=True, slots=True)
class Fault:
    """Say what is wrong with one photo and what to do about it."""

    path: Path
    message: str


@dataclass(frozen=True, slots=True)
class Harvest:
    """Hold what a run brought in; `sets` lacks the photos named in `faults`."""

    sets: Mapping[Path, PictureSet]
    faults: tuple[Fault, ...]
    # Photos.
    made: int
    reused: int
