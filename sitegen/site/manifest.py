"""A note of what lies in out/site, kept beside it; anything odd about the note is a miss, not an error."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from pathlib import Path

from sitegen.disk import write_whole
from sitegen.site.content import Asked

FORMAT = 2


@dataclass(frozen=True, slots=True)
class Stamp:
    """What a file looks like from outside."""

    size: int
    """Bytes."""
    time: int
    """Last change in nanoseconds."""

    @classmethod
    def of(cls, status: os.stat_result) -> Stamp:
        """Take the stamp of a file."""
        return cls(status.st_size, status.st_mtime_ns)


@dataclass(frozen=True, slots=True)
class SheetNote:
    """A sheet as it was last made."""

    key: str
    stamp: Stamp
    """Of its file on the site."""
    asked: Asked


@dataclass(frozen=True, slots=True)
class ShelfNote:
    """A shelf as it was last filled."""

    key: str
    time: int
    """Last change of the folder in nanoseconds: it moves when a picture comes or goes."""
    count: int
    """Pictures on it."""


@dataclass
class Manifest:
    """What is known of the site."""

    sheets: dict[str, SheetNote] = field(default_factory=dict)
    """By path."""
    shelves: dict[str, ShelfNote] = field(default_factory=dict)
    """By name."""

    def write(self, file: Path) -> None:
        """Write the note, whole or not at all."""
        body = _body(self)
        write_whole(file, f"{_check(body)}\n{body}".encode(), lasting=False)


def read_manifest(file: Path) -> Manifest:
    """Read the note; a missing, torn or foreign one counts as empty."""
    try:
        check, _, body = file.read_text("utf-8").partition("\n")
        tree = json.loads(body) if check == _check(body) else {}
        if tree.get("format") != FORMAT:
            return Manifest()
        return Manifest(
            {path: _sheet(*row) for path, row in tree["sheets"].items()},
            {name: ShelfNote(*row) for name, row in tree["shelves"].items()},
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return Manifest()


def walk(folder: Path, entered: AbstractSet[str]) -> dict[str, Stamp]:
    """Return files below a folder by their path from there; of its own folders only those `entered` are.

    Nothing if the folder isn't there.
    """
    if not folder.is_dir():
        return {}
    return dict(_walk(os.fspath(folder), "", entered))


def _walk(folder: str, prefix: str, entered: AbstractSet[str]) -> Iterator[tuple[str, Stamp]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if not entry.is_dir(follow_symlinks=False):
                # On Windows a DirEntry's own stat may be stale for hard links, so ask the file.
                yield prefix + entry.name, Stamp.of(os.lstat(entry.path))
            elif prefix or entry.name in entered:
                yield from _walk(entry.path, f"{prefix}{entry.name}/", entered)


def _body(manifest: Manifest) -> str:
    tree = {
        "format": FORMAT,
        "sheets": {
            path: [one.key, one.stamp.size, one.stamp.time, one.asked]
            for path, one in sorted(manifest.sheets.items())
        },
        "shelves": {name: [one.key, one.time, one.count] for name, one in sorted(manifest.shelves.items())},
    }
    return json.dumps(tree, ensure_ascii=False, separators=(",", ":"))


def _sheet(key: str, size: int, time: int, asked: list[list[str]]) -> SheetNote:
    return SheetNote(key, Stamp(size, time), tuple((typed, path) for typed, path in asked))


def _check(body: str) -> str:
    return hashlib.sha256(body.encode("utf-8")).hexdigest()
