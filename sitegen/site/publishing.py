"""Put a finished site in the place of the old one, whole or not at all.

The way through: finish what a killed run left, compare, stage a complete tree beside the old one,
swap the two, note what is there. Until the swap the old site is untouched; if nothing changed,
nothing is written.
"""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from sitegen.site.faults import SiteFault
from sitegen.site.manifest import Entry, Manifest, Stamp, read_manifest, walk
from sitegen.studio.picture import Rendition

Output = bytes | Path | Rendition
"""A page's bytes, a file elsewhere whose bytes the site carries, or a picture that lies in a pack."""


@dataclass(frozen=True, slots=True)
class Built:
    """What a build did to out/site; names are paths from the site's root."""

    written: tuple[str, ...]
    removed: tuple[str, ...]
    unchanged: int


@dataclass(frozen=True)
class Places:
    """The folders of one swap."""

    out: Path

    @property
    def site(self) -> Path:
        """The site that visitors get."""
        return self.out / "site"

    @property
    def new(self) -> Path:
        """Where the next site is put together; complete before the old one moves."""
        return self.out / ".site-new"

    @property
    def old(self) -> Path:
        """The last site, on its way out. Its presence says that `new` was complete."""
        return self.out / ".site-old"

    @property
    def manifest(self) -> Path:
        """What lies in `site`, so that the next run needn't read it all."""
        return self.out / ".site-manifest.json"


def publish(out: Path, outputs: Mapping[str, Output]) -> Built:
    """Make out/site hold exactly `outputs` (path from the site's root to bytes or a file).

    Raises SiteFault if two paths differ only in case, or if the folder can't be written.
    """
    places = Places(out)
    _check_names(outputs)
    with _reported(places):
        recover(places)
        known, real = read_manifest(places.manifest), walk(places.site)
        wanted = {path: _entry(output, known.get(path)) for path, output in sorted(outputs.items())}
        written = tuple(
            path for path, entry in wanted.items() if not _holds(places, path, entry, known, real)
        )
        removed = tuple(sorted(real.keys() - wanted.keys()))
        if written or removed or not places.site.is_dir():
            _stage(places, outputs, frozenset(written))
            swap(places)
        _note(places, wanted, known)
    return Built(written, removed, len(wanted) - len(written))


def recover(places: Places) -> None:
    """Finish or undo what a killed run left behind."""
    if places.old.exists() and not places.site.exists():
        # Killed in the middle of the swap: the staged site was complete, so go forward.
        (places.new if places.new.exists() else places.old).rename(places.site)
    for leftover in (places.new, places.old):
        if leftover.exists():
            shutil.rmtree(leftover)


def swap(places: Places) -> None:
    """Put the staged site in the place of the old one."""
    if places.site.exists():
        places.site.rename(places.old)
    places.new.rename(places.site)
    if places.old.exists():
        shutil.rmtree(places.old)


def _entry(output: Output, known: Entry | None) -> Entry:
    """Describe an output; a file or picture that is as it was at the last run isn't read again."""
    if isinstance(output, bytes):
        return Entry(hashlib.sha256(output).hexdigest())
    source = _source(output)
    if known is not None and known.source == source:
        return Entry(known.digest, source=source)
    return Entry(hashlib.sha256(content(output)).hexdigest(), source=source)


def _source(output: Path | Rendition) -> Stamp:
    # A picture's name changes with its bytes, so its name, which is its path, and its size say it all.
    return Stamp(output.size, 0) if isinstance(output, Rendition) else Stamp.of(output.stat())


def content(output: Output) -> bytes:
    """Return the bytes of an output. Raises OSError if they can't be read, or not all of them."""
    if isinstance(output, bytes):
        return output
    if isinstance(output, Path):
        return output.read_bytes()
    with output.pack.open("rb") as pack:
        pack.seek(output.offset)
        found = pack.read(output.size)
    if len(found) != output.size:
        raise OSError(None, "the stored pictures are cut short", str(output.pack))
    return found


def _holds(places: Places, path: str, wanted: Entry, known: Manifest, real: Mapping[str, Stamp]) -> bool:
    """Tell whether the site has these bytes already, reading the file only if it isn't as noted."""
    stamp, note = real.get(path), known.get(path)
    if stamp is None:
        return False
    if note is not None and note.stamp == stamp:
        return note.digest == wanted.digest
    return hashlib.sha256((places.site / path).read_bytes()).hexdigest() == wanted.digest


def _stage(places: Places, outputs: Mapping[str, Output], written: frozenset[str]) -> None:
    """Put the complete next site together; what stays the same keeps its file."""
    places.new.mkdir(parents=True)
    for folder in sorted({PurePosixPath(path).parent for path in outputs}):
        (places.new / folder).mkdir(parents=True, exist_ok=True)
    for path, output in outputs.items():
        target = places.new / path
        if path not in written:
            _carry(places.site / path, target)
        else:
            # Copied, never linked: a file of the theme must not change when the site's does.
            target.write_bytes(content(output))


def _carry(source: Path, target: Path) -> None:
    try:
        os.link(source, target)
    except OSError:
        # No hard links here (a memory stick, a network drive, another disk): copy, and keep the time.
        shutil.copy2(source, target)


def _note(places: Places, wanted: Mapping[str, Entry], known: Manifest) -> None:
    real = walk(places.site)
    manifest = Manifest({path: entry.at(real[path]) for path, entry in wanted.items()})
    if manifest != known:
        manifest.write(places.manifest)


def _check_names(outputs: Mapping[str, Output]) -> None:
    # Windows and most Macs take Photo.jpg and photo.jpg for one file.
    seen: dict[str, str] = {}
    for path in outputs:
        other = seen.setdefault(path.casefold(), path)
        if other != path:
            raise SiteFault(f"two files of the site would be called {other} and {path}; rename one of them")


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
