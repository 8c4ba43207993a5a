"""Bring out/site to its next state, whole or not at all, and leave alone what no build wrote.

The way through: finish what a killed run left, make the sheets whose keys are new, compare, look for what is
in the way, lay the changed files ready, let them take their places, note what is there. Until then the old
site is untouched, but for pictures that are added; if nothing changed, nothing is written.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sitegen.site import shelving
from sitegen.site.changing import Change, make, recover
from sitegen.site.content import Asked, Content, Find, Sheet
from sitegen.site.faults import SiteFault
from sitegen.site.foreign import in_the_way
from sitegen.site.manifest import Manifest, SheetNote, Stamp, read_manifest, walk
from sitegen.site.owning import Shelves, own_files, owned_files
from sitegen.site.places import PICTURES, Places

Ready = bytes | Path | None
"""A file's bytes, a file elsewhere that has them, or None: as they lie on the site already."""


@dataclass(frozen=True, slots=True)
class Built:
    """What a build did to out/site; names are paths from the site's root."""

    written: tuple[str, ...]
    removed: tuple[str, ...]
    unchanged: int
    made: int = 0
    """Pages and feeds that had to be set to know whether they changed."""


@dataclass(frozen=True)
class Work:
    """What is to be done about everything but the pictures."""

    wanted: Mapping[str, Ready]
    written: frozenset[str]
    removed: tuple[str, ...]
    asked: Mapping[str, Asked]
    """What the sheets made now hold of the artist's links."""
    owned: frozenset[str]
    """Paths that earlier builds wrote."""


def publish(out: Path, content: Content) -> Built:
    """Make out/site hold exactly this content.

    Raises SiteFault if two paths differ only in case, or if the folder can't be written.
    """
    places = Places(out)
    check_names(content.paths)
    with _reported(places):
        recover(places)
        known, shelves = read_manifest(places.manifest), Shelves(places.own)
        work = _compare(places, content, known)
        pictures = shelving.survey(places.site, content.shelves, known, shelves)
        own_files(places.own, work.owned | work.wanted.keys())
        shelving.own(shelves, pictures)
        if not places.site.is_dir():
            _found(places, work, pictures)
        else:
            shelving.add(places.site, places.part, pictures.missing)
            _change(places, work)
        shelving.remove(places.site, pictures, shelves)
        own_files(places.own, work.wanted.keys())
        _note(places, content, work.asked, known)
    return Built(
        written=tuple(sorted((*work.written, *pictures.missing))),
        removed=tuple(sorted((*work.removed, *pictures.stale))),
        unchanged=len(work.wanted) - len(work.written) + pictures.right,
        made=len(work.asked),
    )


def _compare(places: Places, content: Content, known: Manifest) -> Work:
    site, owned = places.site, owned_files(places.own)
    paths = set(content.paths)
    if owned is None:
        # Built by an earlier release, which kept no list: what its note knows is ours, and what goes there.
        owned = frozenset({*known.sheets, *(paths if known.sheets else ())})
    real = walk(site, {path.partition("/")[0] for path in paths | owned})
    wanted: dict[str, Ready] = dict(content.files)
    asked = {}
    for sheet in content.sheets:
        made = None if _stands(sheet, known, real, content.find) else sheet.make()
        wanted[sheet.path] = made.content if made else None
        if made:
            asked[sheet.path] = made.asked
    written = frozenset(path for path, ready in wanted.items() if not _holds(site, path, ready, real))
    removed = tuple(sorted((owned & real.keys()) - wanted.keys()))
    if blocked := in_the_way(site, written, owned, removed):
        raise SiteFault(blocked)
    return Work(wanted, written, removed, asked, owned)


def _stands(sheet: Sheet, known: Manifest, real: Mapping[str, Stamp], find: Find) -> bool:
    """Tell whether the site has this sheet already, made from the same and with its links still right."""
    note = known.sheets.get(sheet.path)
    return (
        note is not None
        and note.key == sheet.key
        and note.stamp == real.get(sheet.path)
        and all(find(typed) == path for typed, path in note.asked)
    )


def _holds(site: Path, path: str, ready: Ready, real: Mapping[str, Stamp]) -> bool:
    """Tell whether the site has these bytes already."""
    if ready is None:
        return True
    there = real.get(path)
    if there is None:
        return False
    size = len(ready) if isinstance(ready, bytes) else ready.stat().st_size
    return there.size == size and (site / path).read_bytes() == _bytes(ready)


def _bytes(ready: bytes | Path) -> bytes:
    return ready if isinstance(ready, bytes) else ready.read_bytes()


def _found(places: Places, work: Work, pictures: shelving.Shelving) -> None:
    """Put a whole site together where there's none, and let it take its place in one step."""
    for folder in sorted({(places.new / path).parent for path in work.wanted}):
        folder.mkdir(parents=True, exist_ok=True)
    for path, ready in work.wanted.items():
        _lay(ready, places.new / path)
    shelving.add(places.new, None, pictures.missing)
    places.new.rename(places.site)


def _change(places: Places, work: Work) -> None:
    """Lay what changed ready under its number, and let it take its place."""
    put = tuple(sorted(work.written))
    if not put and not work.removed:
        return
    places.new.mkdir(parents=True)
    for number, path in enumerate(put):
        _lay(work.wanted[path], places.new / str(number))
    fresh = tuple(path for path in put if not os.path.lexists(places.site / path))
    make(places, Change(put, fresh, work.removed))


def _lay(ready: Ready, target: Path) -> None:
    if ready is not None:
        # Copied, never linked: a file of the theme must not change when the site's does.
        target.write_bytes(_bytes(ready))


def _note(places: Places, content: Content, asked: Mapping[str, Asked], known: Manifest) -> None:
    sheets = {}
    for sheet in content.sheets:
        note = known.sheets.get(sheet.path)
        if sheet.path in asked or note is None:
            stamp = Stamp.of((places.site / sheet.path).lstat())
            note = SheetNote(sheet.key, stamp, asked.get(sheet.path, ()))
        sheets[sheet.path] = note
    manifest = Manifest(sheets, dict(shelving.notes(places.site, content.shelves, known)))
    if manifest != known:
        manifest.write(places.manifest)


def check_names(paths: Iterable[str]) -> None:
    # Windows and most Macs take Photo.jpg and photo.jpg for one file.
    seen: dict[str, str] = {}
    for path in paths:
        other = seen.setdefault(path.casefold(), path)
        if other != path:
            raise SiteFault(f"two files of the site would be called {other} and {path}; rename one of them")
        if path.casefold().startswith(f"{PICTURES}/"):
            raise SiteFault(f"the folder {PICTURES} is for the pictures; {path} needs another place")


@contextmanager
def _reported(places: Places) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        name = error.filename or places.out
        raise SiteFault(
            f"{name}: the site can't be written ({error.strerror or error}); "
            "close programs that have out/site open, or free some room, then build again"
        ) from error
