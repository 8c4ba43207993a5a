"""What the last run saw, so that the next one need not read photos that didn't change.

Only a hint: lost, damaged or out of date it costs time, never a wrong picture.
"""

import os
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from sitegen.disk import read_note, write_note

# Modification time in ns, size in bytes.
Signature = tuple[int, int]
# The same, and what was found out about the file.
Note = tuple[int, int, str]

# A file written within this time of being looked at may change again without a new modification time, as some
# file systems count in steps of 2 s. Such a file is looked at again next time.
SETTLED_NS = 2_000_000_000


@dataclass(slots=True)
class Index:
    """Remember photos by path and packs by key."""

    # Path of a photo: modification time, size, SHA-256 of the content.
    photos: dict[str, Note] = field(default_factory=dict)
    # Key of a pack: modification time, size, manifest.
    packs: dict[str, Note] = field(default_factory=dict)
    changed: bool = False

    def digest_of(self, path: str) -> str | None:
        """Return the content's hash of a photo that still looks as it did."""
        return _if_same(self.photos.get(path), path)

    def manifest_of(self, key: str, pack: str) -> str | None:
        """Return the manifest of a pack that still looks as it did."""
        return _if_same(self.packs.get(key), pack)

    def note_photo(self, path: str, seen: Signature, digest: str, now_ns: int) -> None:
        """Remember a photo, unless it's so new that it may still be changing."""
        if now_ns - seen[0] > SETTLED_NS:
            self._note(self.photos, path, (*seen, digest))

    def note_pack(self, key: str, seen: Signature, manifest: str) -> None:
        """Remember a pack; nobody but this room writes there, and never twice differently."""
        self._note(self.packs, key, (*seen, manifest))

    def forget_packs(self, keys: Iterable[str]) -> None:
        """Forget packs that are there no more."""
        for key in keys:
            self.changed |= self.packs.pop(key, None) is not None

    def _note(self, notes: dict[str, Note], name: str, note: Note) -> None:
        # JSON gives back lists.
        if tuple(notes.get(name, ())) != note:
            notes[name] = note
            self.changed = True


def load_index(cache: Path) -> Index:
    """Return the index of this cache, empty if there is none that can be trusted."""
    stored = read_note(_file(cache))
    return Index(stored["photos"], stored["packs"]) if stored else Index()


def save_index(cache: Path, index: Index) -> None:
    """Store the index if it changed; a disk that refuses costs only time later."""
    if index.changed:
        with suppress(OSError):
            write_note(_file(cache), {"photos": index.photos, "packs": index.packs})


def known_in(cache: Path) -> Callable[[Path], bool]:
    """Return a test that tells whether a photo was developed before and looks as it did then."""
    index = load_index(cache)
    return lambda path: index.digest_of(os.fspath(path)) is not None


def signature(path: str) -> Signature | None:
    """Return modification time and size of a file; None if there is no such file."""
    try:
        stat = os.stat(path)  # noqa: PTH116  called thousands of times: a Path would double the time
    except OSError:
        return None
    return stat.st_mtime_ns, stat.st_size


def _file(cache: Path) -> Path:
    return cache / "index-1.json"


def _if_same(remembered: Note | None, path: str) -> str | None:
    same = remembered is not None and (seen := signature(path)) and seen == (remembered[0], remembered[1])
    return remembered[2] if remembered is not None and same else None
