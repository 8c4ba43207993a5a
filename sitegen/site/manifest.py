"""A note of what lies in out/site, kept beside it; anything odd about the note is a miss, not an error."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

FORMAT = 1


@dataclass(frozen=True, slots=True)
class Stamp:
    """What a file looks like from outside."""

    size: int
    """Bytes."""
    time: int
    """Last change in nanoseconds."""

    @classmethod
    def of(cls, status: os.stat_result) -> Stamp:
        """Take the stamp of a file."""
        return cls(status.st_size, status.st_mtime_ns)


@dataclass(frozen=True, slots=True)
class Entry:
    """One file of the site."""

    digest: str
    """SHA-256 of its bytes."""
    stamp: Stamp | None = None
    """The file on the site as it was last seen."""
    source: Stamp | None = None
    """The file that its bytes came from, if they came from one."""

    def at(self, stamp: Stamp) -> Entry:
        """Return the entry with the stamp of the file as it lies on the site."""
        return replace(self, stamp=stamp)


@dataclass(frozen=True)
class Manifest:
    """All files of the site by path."""

    entries: Mapping[str, Entry] = field(default_factory=dict)

    def get(self, path: str) -> Entry | None:
        """Find a file's entry."""
        return self.entries.get(path)

    def write(self, file: Path) -> None:
        """Write the note, whole or not at all."""
        body = json.dumps({path: _row(entry) for path, entry in sorted(self.entries.items())}, indent=0)
        text = json.dumps({"format": FORMAT, "check": _check(body), "files": body})
        part = file.with_name(file.name + ".part")
        try:
            part.write_text(text, "utf-8")
            part.replace(file)
        except BaseException:
            part.unlink(missing_ok=True)
            raise


def read_manifest(file: Path) -> Manifest:
    """Read the note; a missing, torn or foreign one counts as empty."""
    try:
        tree = json.loads(file.read_text("utf-8"))
        if tree["format"] != FORMAT or tree["check"] != _check(tree["files"]):
            return Manifest()
        return Manifest({path: _entry(row) for path, row in json.loads(tree["files"]).items()})
    except (OSError, ValueError, KeyError, TypeError, AttributeError, IndexError):
        return Manifest()


def walk(folder: Path) -> dict[str, Stamp]:
    """Return every file below a folder by its path from there; nothing if the folder isn't there."""
    return dict(_walk(os.fspath(folder), "")) if folder.is_dir() else {}


def _walk(folder: str, prefix: str) -> Iterator[tuple[str, Stamp]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                yield from _walk(entry.path, f"{prefix}{entry.name}/")
            else:
                # On Windows a DirEntry's own stat may be stale for hard links, so ask the file.
                yield prefix + entry.name, Stamp.of(Path(entry.path).lstat())


def _row(entry: Entry) -> list[int | str | None]:
    stamps = (entry.stamp, entry.source)
    return [
        entry.digest,
        *(part for one in stamps for part in ((one.size, one.time) if one else (None, None))),
    ]


def _entry(row: list[object]) -> Entry:
    digest, size, time, source_size, source_time = row
    return Entry(str(digest), _stamp(size, time), _stamp(source_size, source_time))


def _stamp(size: object, time: object) -> Stamp | None:
    return Stamp(size, time) if isinstance(size, int) and isinstance(time, int) else None


def _check(body: str) -> str:
    return hashlib.sha256(body.encode("utf-8")).hexdigest()
