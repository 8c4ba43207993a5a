"""Pictures on their shelves: which are missing, which nobody shows any more."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import groupby
from pathlib import Path
from typing import BinaryIO

from sitegen.site.content import Shelf
from sitegen.site.manifest import Manifest, ShelfNote
from sitegen.site.places import PICTURES
from sitegen.studio.picture import Rendition

_HANDS = min(4, os.cpu_count() or 1)


@dataclass(frozen=True)
class Shelving:
    """What is to be done about the pictures; paths are from the site's root."""

    missing: Mapping[str, Rendition]
    stale: tuple[str, ...]
    right: int
    """Pictures that lie where they should."""
    shelves: tuple[str, ...]
    """Names of all shelves that should be there."""


def survey(site: Path, shelves: tuple[Shelf, ...], known: Manifest) -> Shelving:
    """Look at every shelf's folder, and into those that aren't as noted.

    A picture counts as there if a file of its name and size is: the name holds a hash of its bytes.
    """
    missing: dict[str, Rendition] = {}
    stale: list[str] = []
    right = 0
    there = _folders(site / PICTURES)
    for shelf in shelves:
        note, time = known.shelves.get(shelf.name), there.pop(shelf.name, None)
        if note is not None and note.key == shelf.key and note.time == time:
            right += note.count
            continue
        sizes = _sizes(site / PICTURES / shelf.name) if time is not None else {}
        for one in shelf.pictures():
            if sizes.pop(one.name, None) == one.size:
                right += 1
            else:
                missing[_path(shelf.name, one.name)] = one
        stale += [_path(shelf.name, name) for name in sizes if _path(shelf.name, name) not in missing]
    for name in there:
        stale += [_path(name, file) for file in _sizes(site / PICTURES / name)]
    return Shelving(missing, tuple(sorted(stale)), right, tuple(shelf.name for shelf in shelves))


def add(site: Path, part: Path | None, missing: Mapping[str, Rendition]) -> None:
    """Put pictures on their shelves; by way of `part`, whole or not at all, where visitors may be reading."""
    shelves: dict[str, list[tuple[str, Rendition]]] = {}
    for path, one in missing.items():
        shelves.setdefault(path.rpartition("/")[0], []).append((path, one))
    # Most of the time goes into making files, where the system works on as many as it has cores.
    hands = _HANDS if part is None else 1
    with ThreadPoolExecutor(hands) as pool:
        for _ in pool.map(partial(_fill, site, part), shelves.items()):
            pass


def _fill(site: Path, part: Path | None, shelf: tuple[str, list[tuple[str, Rendition]]]) -> None:
    folder, missing = shelf
    (site / folder).mkdir(parents=True, exist_ok=True)
    for pack, pictures in groupby(missing, lambda row: row[1].pack):
        with pack.open("rb") as file:
            for path, one in pictures:
                target = site / path
                (part or target).write_bytes(_content(file, one))
                if part is not None:
                    part.replace(target)


def remove(site: Path, stale: tuple[str, ...], kept: tuple[str, ...]) -> None:
    """Take pictures off, and shelves that hold nothing any more."""
    for path in stale:
        (site / path).unlink(missing_ok=True)
    for name in _folders(site / PICTURES).keys() - set(kept):
        shutil.rmtree(site / PICTURES / name)


def _content(pack: BinaryIO, picture: Rendition) -> bytes:
    """Return a picture's bytes. Raises OSError if they can't be read, or not all of them."""
    pack.seek(picture.offset)
    found = pack.read(picture.size)
    if len(found) != picture.size:
        raise OSError(None, "the stored pictures are cut short", str(picture.pack))
    return found


def notes(site: Path, shelves: tuple[Shelf, ...], known: Manifest) -> Iterator[tuple[str, ShelfNote]]:
    """Yield a note on every shelf as it stands after the work."""
    there = _folders(site / PICTURES)
    for shelf in shelves:
        note, time = known.shelves.get(shelf.name), there.get(shelf.name)
        if time is None:
            continue
        if note is None or (note.key, note.time) != (shelf.key, time):
            note = ShelfNote(shelf.key, time, len(_sizes(site / PICTURES / shelf.name)))
        yield shelf.name, note


def _path(shelf: str, name: str) -> str:
    return f"{PICTURES}/{shelf}/{name}"


def _folders(folder: Path) -> dict[str, int]:
    """Return the folders below one, with the time of their last change in nanoseconds."""
    if not folder.is_dir():
        return {}
    with os.scandir(folder) as entries:
        return {entry.name: entry.stat().st_mtime_ns for entry in entries if entry.is_dir()}


def _sizes(folder: Path) -> dict[str, int]:
    with os.scandir(folder) as entries:
        return {entry.name: entry.stat().st_size for entry in entries if entry.is_file()}
