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
