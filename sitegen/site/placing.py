"""Bring out/site to its next state in its place, whole or not at all, and leave alone what no build wrote.

The way through: finish what a killed run left, make the sheets whose keys are new, compare, look for what is
in the way, lay the changed files ready beside the site and keep what goes, write the change down, let each
file take its place in one step, note what is there. Until then the old site is untouched, but for pictures
that are added; if nothing changed, nothing is written. A fault on the way turns it all back; what a killed
run began, the next one turns back.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence, Set
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from sitegen.disk import read_note, write_note
from sitegen.site import shelving
from sitegen.site.addresses import Find
from sitegen.site.house import Content, MadeSheet, Sheet
from sitegen.site.shelving import (
    PICTURES,
    Manifest,
    SheetNote,
    Stamp,
    read_manifest,
    read_own,
    stamp_of,
    walk,
)
from sitegen.studio.asked import Fault


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


@dataclass(frozen=True, slots=True)
class Built:
    """What a build did to out/site; names are paths from the site's root."""

    written: tuple[str, ...]
    removed: tuple[str, ...]
    unchanged: int
    made: int = 0  # pages and feeds that had to be set to know whether they changed


@dataclass(frozen=True)
class Work:
    """What is to be done; all paths, and what had to be made to know."""

    wanted: frozenset[str]
    made: Mapping[str, MadeSheet]
    written: frozenset[str]
    removed: tuple[str, ...]
    pictures: shelving.Shelving


def put_in_place(out: Path, content: Content) -> Built:
    """Make out/site hold exactly this content.

    Raises Fault if two paths differ only in case, or if the folder can't be written.
    """
    places = Places(out)
    check_names(sheet.path for sheet in content.sheets)
    try:
        recover(out)
        known, noted = read_manifest(places.manifest), read_own(places.own)
        owned = noted if noted is not None else frozenset()
        if noted is None and places.manifest.exists():
            # The list is lost: what the note knows is ours, and what goes there.
            owned = frozenset({*known.sheets, *(sheet.path for sheet in content.sheets)})
        work = _compare(places.site, content, known, owned)
        both = owned | work.wanted
        if noted != both:
            write_note(places.own, sorted(both))
        if not places.site.is_dir():  # it's put together beside, and takes its place in one step
            for path, sheet in work.made.items():
                (places.new / path).parent.mkdir(parents=True, exist_ok=True)
                (places.new / path).write_bytes(sheet.content)
            shelving.add(places.new, None, work.pictures.missing)
            places.new.rename(places.site)
        else:
            shelving.add(places.site, places.part, work.pictures.missing)
            _change(places, work)
        shelving.remove(places.site, work.pictures)
        if work.wanted != both:
            write_note(places.own, sorted(work.wanted))
        _note(places, content, work.made, known)
    except OSError as error:
        raise Fault(
            f"{error.filename or out}: the site can't be written ({error.strerror or error}); "
            "close programs that have out/site open, or free some room, then build again"
        ) from error
    return Built(
        written=tuple(sorted((*work.written, *work.pictures.missing))),
        removed=tuple(sorted((*work.removed, *work.pictures.stale))),
        unchanged=len(work.wanted) - len(work.written) + work.pictures.right,
        made=len(work.made),
    )


def _compare(site: Path, content: Content, known: Manifest, owned: frozenset[str]) -> Work:
    wanted = frozenset(sheet.path for sheet in content.sheets)
    real = walk(site, {path.partition("/")[0] for path in wanted | owned})
    made = {
        sheet.path: sheet.make() for sheet in content.sheets if not _stands(sheet, known, real, content.find)
    }

    def holds(path: str, content: bytes) -> bool:
        there = real.get(path)
        return there is not None and there.size == len(content) and (site / path).read_bytes() == content

    written = frozenset(path for path, sheet in made.items() if not holds(path, sheet.content))
    removed = tuple(sorted((owned & real.keys()) - wanted))
    pictures = shelving.survey(site, content.shelves, known)
    if site.is_dir():
        # What has a picture's name in a picture's place is ours.
        refuse_blocked(site, written | pictures.missing.keys(), owned | pictures.missing.keys(), removed)
    return Work(wanted, made, written, removed, pictures)


def _stands(sheet: Sheet, known: Manifest, real: Mapping[str, Stamp], find: Find) -> bool:
    """Tell whether the site has this sheet already, made from the same and with its links still right."""
    note = known.sheets.get(sheet.path)
    return (
        note is not None
        and note.key == sheet.key
        and note.stamp == real.get(sheet.path)
        and all(find(typed) == path for typed, path in note.asked)
    )


def _change(places: Places, work: Work) -> None:
    """Lay what changed ready, keep what goes, and change the site; after a fault it is as it was."""
    put = tuple(sorted(work.written))
    if not put and not work.removed:
        return
    # A folder of ours that gives way to a file is empty by then, and gone.
    change = SiteChange(put, [path for path in put if not _is_file(places.site / path)], work.removed)
    for folder in (places.new, places.old):
        folder.mkdir(parents=True)
    for number, path in enumerate(put):
        (places.new / str(number)).write_bytes(work.made[path].content)
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


def _is_file(path: Path) -> bool:
    return path.is_symlink() or path.is_file()


def _note(places: Places, content: Content, made: Mapping[str, MadeSheet], known: Manifest) -> None:
    sheets = {}
    for sheet in content.sheets:
        note = known.sheets.get(sheet.path)
        if note is None or sheet.path in made:
            stamp = stamp_of(places.site / sheet.path)
            note = SheetNote(sheet.key, stamp, made[sheet.path].asked)
        sheets[sheet.path] = note
    manifest = Manifest(sheets, dict(shelving.notes(places.site, content.shelves, known)))
    if manifest != known:
        write_note(places.manifest, vars(manifest))


class SiteChange(NamedTuple):
    """What is done to the site; paths are from its root."""

    put: Sequence[str]  # each lies ready in `new` under its number
    fresh: Sequence[str]  # of those, where nothing was
    removed: Sequence[str]

    def kept(self, places: Places) -> Iterator[tuple[Path, Path]]:
        """Yield each file that is replaced or goes, with where it is kept."""
        fresh = frozenset(self.fresh)
        paths = (path for path in (*self.put, *self.removed) if path not in fresh)
        return ((places.site / path, places.old / str(number)) for number, path in enumerate(paths))


def recover(out: Path) -> None:
    """Turn back what a killed run began to change in out/site, and leave no traces of it."""
    places = Places(out)
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
    for folder in sorted(folders, key=lambda path: len(path.parts), reverse=True):
        with suppress(OSError):  # something else lies in it
            (site / folder).rmdir()


def check_names(paths: Iterable[str]) -> None:
    # Windows and most Macs take Photo.jpg and photo.jpg for one file.
    seen: dict[str, str] = {}
    for path in paths:
        other = seen.setdefault(path.casefold(), path)
        if other != path:
            raise Fault(f"two files of the site would be called {other} and {path}; rename one of them")
        if path.casefold().startswith(f"{PICTURES}/"):
            raise Fault(f"the folder {PICTURES} is for the pictures; {path} needs another place")


def refuse_blocked(site: Path, written: Set[str], owned: Set[str], removed: Collection[str]) -> None:
    """Raise Fault if something keeps files of the site from their places.

    `written` are the paths to be written, `owned` those that builds wrote, `removed` those of them that go.
    """
    above = {parent.as_posix() for path in written for parent in PurePosixPath(path).parents}
    # What isn't ours where a file or folder of ours belongs; "." is the site itself, and may well be a link.
    foreign = ((above - {"."}) | written) - owned
    found = {path for path in foreign if _is_file(site / path)}
    for path in written:
        if (site / path).is_dir() and not (site / path).is_symlink():
            # A folder in the place of a file gives way if it holds nothing once our files are gone.
            inside = list((site / path).rglob("*"))
            files = {
                path.relative_to(site).as_posix() for path in inside if not path.is_dir() or path.is_symlink()
            }
            hollow = any(path.is_dir() and not any(path.iterdir()) for path in inside)
            if not inside or hollow or not files <= frozenset(removed):
                found.add(path)
    if blocking := sorted(found):
        named = ", ".join(f"out/site/{path}" for path in blocking[:3])
        more = f" and {len(blocking) - 3} more" if len(blocking) > 3 else ""
        raise Fault(
            f"{named}{more}: no build made this, and a page or picture of yours belongs there. Nothing "
            "was changed; move it out of out/site, or give the page another name, then build again"
        )
