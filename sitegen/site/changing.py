"""Bring the site from one state to the next, file by file, in its place: nobody else's file is ever touched.

Everything is made ready beside the site and what goes is kept there, then the change is written down, then
files take their places, each in one step. A fault on the way turns it all back; what a killed run began, the
next one turns back.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from sitegen.disk import read_note, write_note

PICTURES = "pictures"


class Places:
    """Where the site lies, and what a build keeps beside it."""

    def __init__(self, out: Path) -> None:
        self.out = out
        self.site = out / "site"  # what visitors get
        # What is to be put there: by number, or a whole site if there's none yet.
        self.new = out / ".site-new"
        self.old = out / ".site-before"  # what was there, by number, as long as a change can be turned back
        self.change = out / ".site-change.json"  # the change that is being made
        self.part = out / ".site-part"  # a picture on its way to its shelf
        self.manifest = out / ".site-manifest.json"  # what lies there: the next run needn't read it all
        self.own = out / ".site-own.json"  # which of it a build wrote; nothing else is changed or deleted


class SiteChange(NamedTuple):
    """What is done to the site; paths are from its root."""

    put: Sequence[str]
    """Each lies ready in `new` under its number."""
    fresh: Sequence[str]
    """Of those, where nothing was."""
    removed: Sequence[str]

    def kept(self, places: Places) -> Iterator[tuple[Path, Path]]:
        """Yield each file that is replaced or goes, with where it is kept."""
        fresh = frozenset(self.fresh)
        paths = (path for path in (*self.put, *self.removed) if path not in fresh)
        return ((places.site / path, places.old / str(number)) for number, path in enumerate(paths))


def make(places: Places, change: SiteChange) -> None:
    """Make a change whose files lie ready. Raises OSError; the site is then as it was."""
    places.old.mkdir(parents=True)
    for file, kept in change.kept(places):
        try:
            os.link(file, kept)
        except OSError:  # no hard links here (a memory stick, a network drive)
            shutil.copy2(file, kept, follow_symlinks=False)
    write_note(places.change, change)
    try:
        _forward(places, change)
    except BaseException:
        _turn_back(places, change)
        _tidy(places)  # not before: what was kept is still needed if that failed
        raise
    _tidy(places)


def recover(places: Places) -> None:
    """Turn back what a killed run began to change, and leave no traces of it."""
    if change := read_note(places.change):
        _turn_back(places, SiteChange(*change))
    _tidy(places)


def _tidy(places: Places) -> None:
    places.change.unlink(missing_ok=True)
    for leftover in (places.new, places.old):
        if leftover.exists():
            shutil.rmtree(leftover)
    places.part.unlink(missing_ok=True)


def _forward(places: Places, change: SiteChange) -> None:
    for path in change.removed:
        (places.site / path).unlink()
    prune(places.site, change.removed)
    fresh = frozenset(change.fresh)
    for number, path in enumerate(change.put):
        target = places.site / path
        if path in fresh and os.path.lexists(target):
            continue  # laid there since, by somebody else; the next comparison speaks of it
        target.parent.mkdir(parents=True, exist_ok=True)
        (places.new / str(number)).replace(target)


def _turn_back(places: Places, change: SiteChange) -> None:
    """Undo what was done; each step may have been taken before, or never."""
    fresh = frozenset(change.fresh)
    for number, path in enumerate(change.put):
        ready, file = places.new / str(number), places.site / path
        if path in fresh and not os.path.lexists(ready) and os.path.lexists(file):
            file.replace(ready)
    prune(places.site, change.fresh)
    for file, kept in change.kept(places):
        if os.path.lexists(kept):
            file.parent.mkdir(parents=True, exist_ok=True)
            kept.replace(file)


def prune(site: Path, paths: Sequence[str]) -> None:
    """Take away the folders that held these files and hold nothing any more."""
    folders = {folder for path in paths for folder in PurePosixPath(path).parents if folder.name}
    for folder in sorted(folders, key=lambda one: len(one.parts), reverse=True):
        with contextlib.suppress(OSError):  # something else lies in it
            (site / folder).rmdir()
