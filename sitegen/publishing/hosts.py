"""What publishing needs of a host, and the simplest one: a folder on this machine or a mounted share."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Protocol

from sitegen.publishing.listing import CLAIM, LIST
from sitegen.studio.fault import Fault
from sitegen.studio.text import short


class HostLost(Exception):
    """The line was cut, or the host can't be reached; it may be back later."""


@dataclass(frozen=True)
class Load:
    """A file on its way."""

    path: str
    digest: str
    source: Callable[[], bytes]
    straight: bool = False
    """Nobody can meet it yet, so it needs no name for the time being."""

    @property
    def part(self) -> str:
        """Its name for the time being, known again by whoever finds it claimed."""
        return part_of(self.path, self.digest)

    def read(self) -> bytes:
        """Return its bytes. Raises Fault if they aren't those that were decided on."""
        content = self.source()
        if hashlib.sha256(content).hexdigest() != self.digest:
            raise Fault(
                "the site was built anew while it was being published; what is there is whole. "
                "Run `sitegen publish` again"
            )
        return content


def part_of(path: str, digest: str) -> str:
    """Return the name that a file has until it's whole."""
    if path in (LIST, CLAIM):
        return f"{path}.part"
    return f"{path}.{digest[:12]}.part"


Done = Callable[[Load], None]


class Host(Protocol):
    """A place for a site. All raise Fault for what is refused, HostLost where a later try may go through."""

    name: str
    """As messages name it."""
    makes_parts: bool = True
    """Whether it takes a file under another name first; False once it turned out that it can't."""
    counts_at_once: bool = True
    """Whether a file is on the web once it's put; else when all is finished."""

    def read(self, path: str) -> bytes | None:
        """Return a file's bytes; None if there's none."""

    def names(self, folder: str) -> frozenset[str]:
        """Return what lies in a folder; nothing if it isn't there."""

    def put(self, loads: Sequence[Load], done: Done) -> None:
        """Put files, each in one step where the host can, several at once where that's quicker."""

    def remove(self, paths: Sequence[str]) -> None:
        """Take files away that may be there, and then the folders that are empty by that."""

    def finish(self, put: Iterable[str], removed: Iterable[str]) -> str:
        """Let what was put count; return what is to be said of it."""
        return ""

    def close(self) -> None:
        """Say good-bye."""
        return


def refusal(where: str, path: str, said: object) -> Fault:
    """Return the fault of a host that doesn't take something."""
    return Fault(
        f"{where} refuses {path}: {short(said)}. What visitors meet there is whole. Look whether the space "
        "is full, and whether `folder:` in studio.yaml is one that you may write to; then publish again"
    )


def folders_above(paths: Iterable[str]) -> list[str]:
    """Return all folders that paths lie in, the outermost first."""
    found = {str(parent) for path in paths for parent in PurePosixPath(path).parents} - {"."}
    return sorted(found, key=lambda one: (one.count("/"), one))


class FolderHost(Host):
    """A folder that is served to the web."""

    def __init__(self, folder: Path) -> None:
        """Take a folder, which must be there: a share that isn't mounted is an empty place.

        Raises Fault.
        """
        self.name = str(folder)
        if not folder.is_dir():
            raise Fault(f"{folder} isn't there; connect the disk or share, or make the folder, then publish")
        self._root = folder.resolve()
        self._looked: dict[Path, Path] = {}

    def _at(self, path: str) -> Path:
        """Return where a path lies. Raises Fault if a link on the way leads elsewhere."""
        place = self._root / path
        if place.parent not in self._looked:
            there = place.parent.resolve()
            if not there.is_relative_to(self._root):
                raise Fault(f"{place.parent} is a link to {there}, outside of the site; nothing goes there")
            self._looked[place.parent] = there
        return place

    def read(self, path: str) -> bytes | None:
        place = self._at(path)
        return place.read_bytes() if place.is_file() else None

    def names(self, folder: str) -> frozenset[str]:
        place = self._root / folder
        return frozenset(path.name for path in place.iterdir()) if place.is_dir() else frozenset()

    def put(self, loads: Sequence[Load], done: Done) -> None:
        for load in loads:
            place, part = self._at(load.path), self._root / load.part
            content = load.read()
            place.parent.mkdir(parents=True, exist_ok=True)
            try:
                part.write_bytes(content)
                part.replace(place)
            except OSError:
                with contextlib.suppress(OSError):
                    part.unlink()
                raise
            done(load)

    def remove(self, paths: Sequence[str]) -> None:
        for path in paths:
            with contextlib.suppress(NotADirectoryError):
                self._at(path).unlink(missing_ok=True)
        for folder in reversed(folders_above(paths)):
            with contextlib.suppress(OSError):  # something else is in it
                (self._root / folder).rmdir()
