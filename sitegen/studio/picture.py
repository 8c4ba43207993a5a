"""A photograph made ready for the web: plain values that pictures makes and the output rooms read."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Rendition:
    """One encoded size of a photograph."""

    mime: str
    width: int
    """Pixels across."""
    height: int
    file: Path
    """Where its bytes lie (in the cache)."""
    name: str
    """Its public file name."""


@dataclass(frozen=True, slots=True)
class PictureSet:
    """All renditions of one photograph."""

    width: int
    """Pixels across of the upright original."""
    height: int
    full: tuple[Rendition, ...]
    """The whole frame, several widths in a modern format and in JPEG."""
    card: tuple[Rendition, ...]
    """The same for a grid of pieces: the whole frame, or a crop of a detail."""
    social: Rendition
    """For link previews."""
