"""Bring out/site to its next state, whole or not at all, and leave alone what no build wrote.

The way through: finish what a killed run left, make the sheets whose keys are new, compare, look for what is
in the way, lay the changed files ready, let them take their places, note what is there. Until then the old
site is untouched, but for pictures that are added; if nothing changed, nothing is written.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Set
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from sitegen.disk import write_note
from sitegen.site import shelving
from sitegen.site.addresses import Find
from sitegen.site.changing import PICTURES, Places, SiteChange, make, recover
from sitegen.site.content import Content, MadeSheet, Sheet
from sitegen.site.shelving import Manifest, SheetNote, Stamp, read_manifest, read_own, stamp_of, walk
from sitegen.studio.fault import Fault


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
    """What is to be done; all paths, and what had to be made to know."""

    wanted: frozenset[str]
    made: Mapping[str, MadeSheet]
    written: frozenset[str]
    removed: tuple[str, ...]
    pictures: shelving.Shelving


def publish(out: Path, content: Content) -> Built:
    """Make out/site hold exactly this content.

    Raises Fault if two paths differ only in case, or if the folder can't be written.
    """
    places = Places(out)
    check_names(sheet.path for sheet in content.sheets)
    with _reported(places):
        recover(places)
        known, noted = read_manifest(places.manifest), read_own(places.own)
        owned = noted if noted is not None else frozenset()
        if noted is None and places.manifest.exists():
            # The list is lost: what the note knows is ours, and what goes there.
            owned = frozenset({*known.sheets, *(sheet.path for sheet in content.sheets)})
        work = _compare(places.site, content, known, owned)
        both = owned | work.wanted
        if noted != both:
            write_note(places.own, sorted(both))
        if not places.site.is_dir():
            _found(places, work)
        else:
            shelving.add(places.site, places.part, work.pictures.missing)
            _change(places, work)
        shelving.remove(places.site, work.pictures)
        if work.wanted != both:
            write_note(places.own, sorted(work.wanted))
        _note(places, content, work.made, known)
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
    written = frozenset(path for path, one in made.items() if not _holds(site / path, one, real.get(path)))
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


def _holds(file: Path, made: MadeSheet, there: Stamp | None) -> bool:
    """Tell whether a file has these bytes already."""
    return there is not None and there.size == len(made.content) and file.read_bytes() == made.content


def _found(places: Places, work: Work) -> None:
    """Put a whole site together where there's none, and let it take its place in one step."""
    for folder in sorted({(places.new / path).parent for path in work.wanted}):
        folder.mkdir(parents=True, exist_ok=True)
    for path, one in work.made.items():
        (places.new / path).write_bytes(one.content)
    shelving.add(places.new, None, work.pictures.missing)
    places.new.rename(places.site)


def _change(places: Places, work: Work) -> None:
    """Lay what changed ready under its number, and let it take its place."""
    put = tuple(sorted(work.written))
    if not put and not work.removed:
        return
    places.new.mkdir(parents=True)
    for number, path in enumerate(put):
        (places.new / str(number)).write_bytes(work.made[path].content)
    # A folder of ours that gives way to a file is empty by then, and gone.
    fresh = tuple(path for path in put if not _is_file(places.site / path))
    make(places, SiteChange(put, fresh, work.removed))


def _is_file(path: Path) -> bool:
    return path.is_symlink() or path.is_file()


def _note(places: Places, content: Content, made: Mapping[str, MadeSheet], known: Manifest) -> None:
    sheets = {}
    for sheet in content.sheets:
        note = known.sheets.get(sheet.path)
        if note is None or sheet.path in made:
            stamp = stamp_of((places.site / sheet.path).lstat())
            note = SheetNote(sheet.key, stamp, made[sheet.path].asked)
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
            raise Fault(f"two files of the site would be called {other} and {path}; rename one of them")
        if path.casefold().startswith(f"{PICTURES}/"):
            raise Fault(f"the folder {PICTURES} is for the pictures; {path} needs another place")


@contextmanager
def _reported(places: Places) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        name = error.filename or places.out
        raise Fault(
            f"{name}: the site can't be written ({error.strerror or error}); "
            "close programs that have out/site open, or free some room, then build again"
        ) from error


def refuse_blocked(site: Path, written: Set[str], owned: Set[str], removed: Collection[str]) -> None:
    """Raise Fault if something keeps files of the site from their places.

    `written` are the paths to be written, `owned` those that builds wrote, `removed` those of them that go.
    """
    gone = frozenset(removed)
    blocking = sorted({*_files(site, written, owned), *_folders(site, written, gone)})
    if blocking:
        named = ", ".join(f"out/site/{path}" for path in blocking[:3])
        more = f" and {len(blocking) - 3} more" if len(blocking) > 3 else ""
        raise Fault(
            f"{named}{more}: no build made this, and a page or picture of yours belongs there. Nothing "
            "was changed; move it out of out/site, or give the page another name, then build again"
        )


def _files(site: Path, written: Set[str], owned: Set[str]) -> list[str]:
    """Return foreign files where one of ours belongs, or a folder of ours."""
    above = {parent.as_posix() for path in written for parent in PurePosixPath(path).parents}
    # "." is the site itself, which may well be a link to where it's published from.
    foreign = ((above - {"."}) | written) - owned
    return [path for path in foreign if _is_file(site / path)]


def _folders(site: Path, written: Set[str], gone: Set[str]) -> list[str]:
    """Return folders where a file of ours belongs, if they'd still hold something once our files are gone."""
    found = []
    for path in written:
        if (site / path).is_dir() and not (site / path).is_symlink():
            inside = list((site / path).rglob("*"))
            files = {
                one.relative_to(site).as_posix() for one in inside if not one.is_dir() or one.is_symlink()
            }
            hollow = any(one.is_dir() and not any(one.iterdir()) for one in inside)
            if not inside or hollow or not files <= gone:
                found.append(path)
    return found
