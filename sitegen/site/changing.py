"""Bring the site from one state to the next, file by file, in its place: nobody else's file is ever touched.

Everything is made ready beside the site, then the change is written down, then files take their places, each
in one step, and what they replace is kept. A fault on the way turns it all back. A killed run is finished by
the next one, or turned back if it was turning back.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path, PurePosixPath

from sitegen.disk import write_whole
from sitegen.site.places import Places


@dataclass(frozen=True)
class Change:
    """What is done to the site; paths are from its root."""

    put: tuple[str, ...]
    """Each lies ready in `new` under its number; what it replaces is kept in `old` under the same."""
    fresh: tuple[str, ...]
    """Of those, where nothing was."""
    removed: tuple[str, ...]
    """Their numbers in `old` count on from those of `put`."""
    back: bool = False
    """It is being turned back."""


def make(places: Places, change: Change) -> None:
    """Make a change whose files lie ready. Raises OSError; the site is then as it was."""
    places.old.mkdir(parents=True)
    _write(places, change)
    try:
        _forward(places, change)
    except BaseException:
        _write(places, replace(change, back=True))
        _turn_back(places, change)
        _tidy(places)
        raise
    _tidy(places)


def recover(places: Places) -> None:
    """Finish what a killed run began to change, turn back what it was turning back, and leave no traces."""
    change = _read(places.change)
    if change is not None and change.back:
        _turn_back(places, change)
    elif change is not None:
        _forward(places, change)
    elif places.aside.exists() and not places.site.exists():
        places.aside.rename(places.site)
    _tidy(places)


def _tidy(places: Places) -> None:
    places.change.unlink(missing_ok=True)
    for leftover in (places.new, places.old, places.aside):
        if leftover.exists():
            shutil.rmtree(leftover)
    for part in (places.part, *places.out.glob(".site-*.part")):
        part.unlink(missing_ok=True)


def _forward(places: Places, change: Change) -> None:
    """Take the steps that are left; each may have been taken before."""
    for kept, path in _numbered(places.old, change)[len(change.put) :]:
        if not _there(kept) and _there(places.site / path):
            (places.site / path).replace(kept)
    prune(places.site, change.removed)
    fresh = frozenset(change.fresh)
    for ready, path in _numbered(places.new, change):
        if _there(ready):
            _put(ready, places.site / path, places.old / ready.name, fresh=path in fresh)


def _put(ready: Path, target: Path, kept: Path, *, fresh: bool) -> None:
    if fresh and _there(target):
        return  # laid there since, by somebody else; the next comparison speaks of it
    if not fresh and not _there(kept) and _there(target):
        _keep(target, kept)
    target.parent.mkdir(parents=True, exist_ok=True)
    ready.replace(target)


def _turn_back(places: Places, change: Change) -> None:
    """Undo what was done; each step may have been taken before."""
    fresh = frozenset(change.fresh)
    for ready, path in _numbered(places.new, change):
        if path in fresh and not _there(ready) and _there(places.site / path):
            (places.site / path).replace(ready)
    prune(places.site, change.fresh)
    for kept, path in _numbered(places.old, change):
        if _there(kept):
            (places.site / path).parent.mkdir(parents=True, exist_ok=True)
            kept.replace(places.site / path)


def _numbered(folder: Path, change: Change) -> list[tuple[Path, str]]:
    """Return each path with where its file lies in `new` or `old`."""
    return [(folder / str(number), path) for number, path in enumerate((*change.put, *change.removed))]


def _keep(target: Path, kept: Path) -> None:
    try:
        os.link(target, kept)
    except OSError:
        # No hard links here (a memory stick, a network drive): the file is away for an instant.
        target.replace(kept)


def _there(path: Path) -> bool:
    return os.path.lexists(path)


def prune(site: Path, paths: Sequence[str]) -> None:
    """Take away the folders that held these files and hold nothing any more."""
    folders = {folder for path in paths for folder in PurePosixPath(path).parents if folder.name}
    for folder in sorted(folders, key=lambda one: len(one.parts), reverse=True):
        with contextlib.suppress(OSError):  # something else lies in it
            (site / folder).rmdir()


def _write(places: Places, change: Change) -> None:
    write_whole(places.change, json.dumps(asdict(change)).encode(), lasting=False)


def _read(file: Path) -> Change | None:
    try:
        tree = json.loads(file.read_text("utf-8"))
        return Change(tuple(tree["put"]), tuple(tree["fresh"]), tuple(tree["removed"]), tree["back"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
