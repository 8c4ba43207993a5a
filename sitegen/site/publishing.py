"""Put a finished site in the place of the old one, whole or not at all.

The way through: finish what a killed run left, make the sheets whose keys are new, compare, stage the next
site beside the old one, swap the two, note what is there. Until the swap the old site is untouched, but for
pictures that are added; if nothing changed, nothing is written.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from sitegen.site import shelving
from sitegen.site.content import Asked, Content, Find, Sheet
from sitegen.site.faults import SiteFault
from sitegen.site.manifest import Manifest, SheetNote, Stamp, read_manifest, walk
from sitegen.site.places import PICTURES, PIECES, Places, note_gone, recover, swap

_PIECE = f"{PIECES}/"
# So many pages of pieces may change while there is no site, for well under a hundredth of a second; with more
# of them the whole folder is staged.
_FEW = 50

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


def publish(out: Path, content: Content) -> Built:
    """Make out/site hold exactly this content.

    Raises SiteFault if two paths differ only in case, or if the folder can't be written.
    """
    places = Places(out)
    _check_names([*content.files, *(sheet.path for sheet in content.sheets)])
    with _reported(places):
        recover(places)
        known = read_manifest(places.manifest)
        work = _compare(places.site, content, known)
        pictures = shelving.survey(places.site, content.shelves, known)
        if work.written or work.removed or pictures.missing or not places.site.is_dir():
            _stage(places, work)
            shelving.add(*_onto(places), pictures.missing)
            swap(places)
        shelving.remove(places.site, pictures.stale, pictures.shelves)
        _note(places, content, work.asked, known)
    return Built(
        written=tuple(sorted((*work.written, *pictures.missing))),
        removed=tuple(sorted((*work.removed, *pictures.stale))),
        unchanged=len(work.wanted) - len(work.written) + pictures.right,
        made=len(work.asked),
    )


def _compare(site: Path, content: Content, known: Manifest) -> Work:
    real = walk(site, PICTURES)
    wanted: dict[str, Ready] = dict(content.files)
    asked = {}
    for sheet in content.sheets:
        made = None if _stands(sheet, known, real, content.find) else sheet.make()
        wanted[sheet.path] = made.content if made else None
        if made:
            asked[sheet.path] = made.asked
    written = frozenset(path for path, ready in wanted.items() if not _holds(site, path, ready, real))
    return Work(wanted, written, tuple(sorted(real.keys() - wanted.keys())), asked)


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


def _stage(places: Places, work: Work) -> None:
    """Put the next site together, all but what will move; what stays the same keeps its file."""
    places.new.mkdir(parents=True)
    if not _pieces_move(places.site, work):
        _lay_out(places, places.new, work, list(work.wanted))
        return
    _lay_out(places, places.new, work, [path for path in work.wanted if not path.startswith(_PIECE)])
    changed = [path for path in work.written if path.startswith(_PIECE)]
    _lay_out(places, places.changed, work, changed, below=_PIECE)
    wanted = {path.split("/")[1] for path in work.wanted if path.startswith(_PIECE)}
    note_gone(places, [name for name in _names(places.site / PIECES) if name not in wanted])


def _pieces_move(site: Path, work: Work) -> bool:
    """Tell whether the folder of pieces can move as it is, with few pages to change and no stray file."""
    changed = sum(path.startswith(_PIECE) for path in (*work.written, *work.removed))
    gone = all(path.endswith("/index.html") for path in work.removed if path.startswith(_PIECE))
    return changed <= _FEW and gone and (site / PIECES).is_dir()


def _names(folder: Path) -> list[str]:
    with os.scandir(folder) as entries:
        return sorted(entry.name for entry in entries)


def _lay_out(places: Places, ground: Path, work: Work, paths: list[str], below: str = "") -> None:
    """Put these files on a ground, at their paths below the folder `below`."""
    for folder in sorted({PurePosixPath(path.removeprefix(below)).parent for path in paths}):
        (ground / folder).mkdir(parents=True, exist_ok=True)
    for path in paths:
        target, ready = ground / path.removeprefix(below), work.wanted[path]
        if path not in work.written or ready is None:
            _carry(places.site / path, target)
        else:
            # Copied, never linked: a file of the theme must not change when the site's does.
            target.write_bytes(_bytes(ready))


def _onto(places: Places) -> tuple[Path, Path | None]:
    """Return where new pictures go, and by which way: where none lie yet, straight into the next site."""
    if (places.site / PICTURES).is_dir():
        return places.site, places.part
    return places.new, None


def _carry(source: Path, target: Path) -> None:
    try:
        os.link(source, target)
    except OSError:
        # No hard links here (a memory stick, a network drive, another disk): copy, and keep the time.
        shutil.copy2(source, target)


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


def _check_names(paths: Iterable[str]) -> None:
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
