"""Notes beside the site: what lies in it, and which of it a build wrote; anything odd about one is a miss.

Only what a build wrote is ever replaced or deleted. A path is noted before its file is there, so a killed run
leaves nothing that nobody owns.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from sitegen.disk import read_note, write_note
from sitegen.site.addresses import Asked

FORMAT = 3


class Stamp(NamedTuple):
    """What a file looks like from outside."""

    size: int
    """Bytes."""
    time: int
    """Last change in nanoseconds."""


class SheetNote(NamedTuple):
    """A sheet as it was last made."""

    key: str
    stamp: Stamp
    """Of its file on the site."""
    asked: Asked


class ShelfNote(NamedTuple):
    """A shelf as it was last filled."""

    key: str
    time: int
    """Last change of the folder in nanoseconds: it moves when a picture comes or goes."""
    held: int
    """Pictures on it."""


@dataclass(frozen=True)
class Manifest:
    """What is known of the site."""

    sheets: dict[str, SheetNote] = field(default_factory=dict)
    """By path."""
    shelves: dict[str, ShelfNote] = field(default_factory=dict)
    """By name."""

    def write(self, file: Path) -> None:
        """Write the note, whole or not at all."""
        write_note(file, {"format": FORMAT, "sheets": self.sheets, "shelves": self.shelves})


def read_manifest(file: Path) -> Manifest:
    """Read the note; a missing, torn or foreign one counts as empty."""
    try:
        tree = read_note(file)
        if tree["format"] != FORMAT:
            return Manifest()
        return Manifest(
            {path: _sheet(*row) for path, row in tree["sheets"].items()},
            {name: ShelfNote(*row) for name, row in tree["shelves"].items()},
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        return Manifest()


def _sheet(key: str, stamp: tuple[int, int], asked: list[list[str]]) -> SheetNote:
    return SheetNote(key, Stamp(*stamp), tuple((typed, path) for typed, path in asked))


def read_own(file: Path) -> frozenset[str] | None:
    """Return the paths that builds wrote; None if nothing is known."""
    noted = read_note(file)
    return frozenset(noted) if isinstance(noted, list) else None


def stamp_of(status: os.stat_result) -> Stamp:
    """Take the stamp of a file."""
    return Stamp(status.st_size, status.st_mtime_ns)


def walk(folder: Path, entered: AbstractSet[str]) -> dict[str, Stamp]:
    """Return files below a folder by their path from there; of its own folders only those `entered` are.

    Nothing if the folder isn't there.
    """
    return dict(_walk(os.fspath(folder), "", entered)) if folder.is_dir() else {}


def _walk(folder: str, prefix: str, entered: AbstractSet[str]) -> Iterator[tuple[str, Stamp]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if not entry.is_dir(follow_symlinks=False):
                # On Windows a DirEntry's own stat may be stale for hard links, so ask the file.
                yield prefix + entry.name, stamp_of(os.lstat(entry.path))
            elif prefix or entry.name in entered:
                yield from _walk(entry.path, f"{prefix}{entry.name}/", entered)
