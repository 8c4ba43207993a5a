"""Pictures on their shelves, and the notes beside the site: what lies in it, and which of it a build wrote.

A picture's name ends in a hash of its bytes: that makes it ours, and tells that it's right. Anything odd
about a note is a miss. Only what a build wrote is ever replaced or deleted: a path is noted before its file
is there, so a killed run leaves nothing that nobody owns.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from itertools import groupby
from pathlib import Path
from typing import Literal, NamedTuple

from pydantic import TypeAdapter

from sitegen.disk import read_note
from sitegen.site.addresses import Asked
from sitegen.site.house import Shelf
from sitegen.studio.picture import Rendition

PICTURES = "pictures"


class Stamp(NamedTuple):
    """What a file looks like from outside."""

    size: int  # bytes
    time: int  # last change in nanoseconds


class SheetNote(NamedTuple):
    """A sheet as it was last made, with the stamp of its file on the site."""

    key: str
    stamp: Stamp
    asked: Asked


class ShelfNote(NamedTuple):
    """A shelf as it was last filled."""

    key: str
    time: int  # last change of the folder in nanoseconds: it moves when a picture comes or goes
    held: int  # pictures on it


@dataclass(frozen=True)
class Manifest:
    """What is known of the site: sheets by path, shelves by name."""

    sheets: dict[str, SheetNote] = field(default_factory=dict)
    shelves: dict[str, ShelfNote] = field(default_factory=dict)
    form: Literal[4] = 4


_MANIFEST: TypeAdapter[Manifest] = TypeAdapter(Manifest)


def read_manifest(file: Path) -> Manifest:
    """Read the note; a missing, torn or foreign one counts as empty."""
    with contextlib.suppress(ValueError):
        return _MANIFEST.validate_python(read_note(file))
    return Manifest()


def read_own(file: Path) -> frozenset[str] | None:
    """Return the paths that builds wrote; None if nothing is known."""
    noted = read_note(file)
    return frozenset(noted) if isinstance(noted, list) else None


def stamp_of(file: str | Path) -> Stamp:
    """Take the stamp of a file."""
    status = os.lstat(file)  # a DirEntry's own may be stale for hard links on Windows
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
                yield prefix + entry.name, stamp_of(entry.path)
            elif prefix or entry.name in entered:
                yield from _walk(entry.path, f"{prefix}{entry.name}/", entered)


_HANDS = min(4, os.cpu_count() or 1)
_HASH = re.compile(r"-([0-9a-f]{10})\.\w+\Z")


@dataclass(frozen=True)
class Shelving:
    """What is to be done about the pictures; paths are from the site's root."""

    missing: Mapping[str, Rendition]
    stale: tuple[str, ...]
    right: int  # pictures that lie where they should
    gone: tuple[str, ...]  # shelves that there are no more


def survey(site: Path, shelves: tuple[Shelf, ...], known: Manifest) -> Shelving:
    """Look at every shelf's folder, and into those that aren't as noted.

    A picture counts as there if a file of its name and size is.
    """
    missing: dict[str, Rendition] = {}
    stale, right = list[str](), 0
    there = _folders(site / PICTURES)
    for shelf in shelves:
        note, time = known.shelves.get(shelf.name), there.pop(shelf.name, None)
        if note is not None and (note.key, note.time) == (shelf.key, time):
            right += note.held
            continue
        sizes = _sizes(site / PICTURES / shelf.name) if time is not None else {}
        pictures = {picture.name: picture for picture in shelf.pictures()}
        lacking = {name: web for name, web in pictures.items() if sizes.get(name) != web.size}
        missing |= {f"{PICTURES}/{shelf.name}/{name}": rendition for name, rendition in lacking.items()}
        right += len(pictures) - len(lacking)
        stale += _stale(site, shelf.name, sizes.keys() - pictures.keys())
    for name in there:
        stale += _stale(site, name, _sizes(site / PICTURES / name))
    return Shelving(missing, tuple(sorted(stale)), right, tuple(there))


def _stale(site: Path, shelf: str, names: Iterable[str]) -> list[str]:
    """Return the paths of those that a build put there: a picture's name holds the hash of its bytes."""
    found = []
    for name in names:
        path, said = f"{PICTURES}/{shelf}/{name}", _HASH.search(name)
        if said and hashlib.sha256((site / path).read_bytes()).hexdigest().startswith(said[1]):
            found.append(path)
    return found


def add(site: Path, part: Path | None, missing: Mapping[str, Rendition]) -> None:
    """Put pictures on their shelves; by way of `part`, whole or not at all, where visitors may be reading."""
    shelves = [list(rows) for _, rows in groupby(missing.items(), lambda row: row[0].rpartition("/")[0])]
    # Most of the time goes into making files, where the system works on as many as it has cores; a shelf is
    # handed over whole: 8,800 pictures singly take 0.3 s longer.
    with ThreadPoolExecutor(_HANDS if part is None else 1) as pool:
        list(pool.map(partial(_fill, site, part), shelves))


def _fill(site: Path, part: Path | None, shelf: Iterable[tuple[str, Rendition]]) -> None:
    for path, picture in shelf:
        target = site / path
        target.parent.mkdir(parents=True, exist_ok=True)
        (part or target).write_bytes(picture.read())
        if part is not None:
            part.replace(target)


def remove(site: Path, pictures: Shelving) -> None:
    """Take pictures off that nobody shows any more, and shelves that hold nothing then."""
    for path in pictures.stale:
        (site / path).unlink(missing_ok=True)
    for name in {path.split("/")[1] for path in pictures.stale} & set(pictures.gone):
        with contextlib.suppress(OSError):  # somebody else's file lies there
            (site / PICTURES / name).rmdir()


def notes(site: Path, shelves: tuple[Shelf, ...], known: Manifest) -> Iterator[tuple[str, ShelfNote]]:
    """Yield a note on every shelf as it stands after the work."""
    there = _folders(site / PICTURES)
    for shelf in shelves:
        note, time = known.shelves.get(shelf.name), there.get(shelf.name)
        if time is None:
            continue
        if note is None or (note.key, note.time) != (shelf.key, time):
            note = ShelfNote(shelf.key, time, len(shelf.pictures()))
        yield shelf.name, note


def _folders(folder: Path) -> dict[str, int]:
    if not folder.is_dir():
        return {}
    with os.scandir(folder) as entries:
        folders = [entry for entry in entries if entry.is_dir(follow_symlinks=False)]
        return {entry.name: entry.stat().st_mtime_ns for entry in folders}


def _sizes(folder: Path) -> dict[str, int]:
    with os.scandir(folder) as entries:
        return {entry.name: entry.stat().st_size for entry in entries if entry.is_file()}
