"""The plain values that go into and come out of this room."""

from dataclasses import dataclass
from pathlib import Path

from sitegen.studio.picture import PictureSet, Rendition, Shape

__all__ = ["Fault", "PictureSet", "Rendition", "Shape", "Wish"]


@dataclass(frozen=True, slots=True)
class Wish:
    """Ask for the web pictures of one photo."""

    path: Path
    # Start of the public file names, such as "2026-07-moth-usher-1".
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
