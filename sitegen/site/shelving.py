"""Pictures on their shelves: which are missing, which nobody shows any more."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import groupby
from pathlib import Path
from typing import BinaryIO

from sitegen.site.content import Shelf
from sitegen.site.faults import SiteFault
from sitegen.site.manifest import Manifest, ShelfNote
from sitegen.site.owning import Shelves
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
    owned: Mapping[str, frozenset[str]]
    """What belongs on the shelves that were looked into."""
    gone: tuple[str, ...]
    """Shelves that there are no more."""


def survey(site: Path, shelves: tuple[Shelf, ...], known: Manifest, ours: Shelves) -> Shelving:
    """Look at every shelf's folder, and into those that aren't as noted.

    A picture counts as there if a file of its name and size is: the name holds a hash of its bytes.
    """
    missing: dict[str, Rendition] = {}
    stale: list[str] = []
    owned: dict[str, frozenset[str]] = {}
    right = 0
    there = _folders(site / PICTURES)
    for shelf in shelves:
        note, time = known.shelves.get(shelf.name), there.pop(shelf.name, None)
        if note is not None and note.key == shelf.key and note.time == time:
            right += note.count
            continue
        sizes = _sizes(site / PICTURES / shelf.name) if time is not None else {}
        pictures = shelf.pictures()
        owned[shelf.name] = frozenset(one.name for one in pictures)
        for one in pictures:
            if sizes.get(one.name) == one.size:
                right += 1
            else:
                missing[_path(shelf.name, one.name)] = one
        stale += _stale(shelf.name, sizes.keys() - owned[shelf.name], ours)
    gone = {name: _stale(name, _sizes(site / PICTURES / name), ours) for name in there}
    stale += [path for paths in gone.values() for path in paths]
    _check(site, missing, ours)
    no_more = {*(name for name, paths in gone.items() if paths), *ours.all()} - {
        shelf.name for shelf in shelves
    }
    return Shelving(missing, tuple(sorted(stale)), right, owned, tuple(sorted(no_more)))


def _stale(shelf: str, names: Iterable[str], ours: Shelves) -> list[str]:
    return [_path(shelf, name) for name in names if ours.holds(shelf, name)]


def _check(site: Path, missing: Mapping[str, Rendition], ours: Shelves) -> None:
    """Raise SiteFault if something that no build made lies where a picture belongs."""
    for shelf, paths in groupby(missing, lambda path: path.split("/")[1]):
        ways = [site / PICTURES, site / PICTURES / shelf]
        way = next((one for one in ways if one.is_symlink() or (one.exists() and not one.is_dir())), None)
        if way is None and ways[1].is_dir():
            way = next((site / path for path in paths if _taken(site / path, shelf, ours)), None)
        if way is not None:
            raise SiteFault(
                f"out/site/{way.relative_to(site).as_posix()}: no build made this, and pictures belong in "
                "its place. Nothing was changed; move it out of out/site, then build again"
            )


def _taken(target: Path, shelf: str, ours: Shelves) -> bool:
    return target.is_dir() or (target.exists() and not ours.holds(shelf, target.name))


def own(ours: Shelves, pictures: Shelving) -> None:
    """Note what is about to be put on the shelves, besides what lies there."""
    for shelf, names in pictures.owned.items():
        ours.own(shelf, names, besides=True)


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


def remove(site: Path, pictures: Shelving, ours: Shelves) -> None:
    """Take pictures off that nobody shows any more, and shelves that hold nothing then."""
    for path in pictures.stale:
        (site / path).unlink(missing_ok=True)
    for shelf, names in pictures.owned.items():
        ours.own(shelf, names, besides=False)
    for name in pictures.gone:
        with contextlib.suppress(OSError):  # somebody else's file lies there
            (site / PICTURES / name).rmdir()
        ours.drop(name)


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
            note = ShelfNote(shelf.key, time, len(shelf.pictures()))
        yield shelf.name, note


def _path(shelf: str, name: str) -> str:
    return f"{PICTURES}/{shelf}/{name}"


def _folders(folder: Path) -> dict[str, int]:
    """Return the folders below one, with the time of their last change in nanoseconds."""
    if not folder.is_dir():
        return {}
    with os.scandir(folder) as entries:
        folders = [entry for entry in entries if entry.is_dir(follow_symlinks=False)]
        return {entry.name: entry.stat().st_mtime_ns for entry in folders}


def _sizes(folder: Path) -> dict[str, int]:
    with os.scandir(folder) as entries:
        return {entry.name: entry.stat().st_size for entry in entries if entry.is_file()}
