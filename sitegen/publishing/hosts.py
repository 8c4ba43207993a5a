"""A place for a site: what publishing does on every host, and the simplest kind, a folder or mounted share.

A kind of host says how a file is read, stored, put in its place and taken away; the order of the steps, and
several at once where that's quicker, are the same for all.
"""

from __future__ import annotations

import asyncio
import hashlib
from abc import ABC, abstractmethod
from collections.abc import Awaitable, Callable, Coroutine, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path, PurePosixPath
from typing import Any, TypeVar

from sitegen.publishing.listing import CLAIM, LIST
from sitegen.studio.asked import Fault
from sitegen.studio.text import short

Answer = TypeVar("Answer")
Thing = TypeVar("Thing")


class HostLost(Exception):
    """The line was cut, or the host can't be reached; it may be back later."""


@dataclass(frozen=True)
class Load:
    """A file on its way."""

    path: str
    digest: str
    source: Callable[[], bytes]
    straight: bool = False  # nobody can meet it yet, so it needs no name for the time being

    def read(self) -> bytes:
        """Return its bytes. Raises Fault if they aren't those that were decided on."""
        content = b""
        with suppress(FileNotFoundError):
            content = self.source()
        if hashlib.sha256(content).hexdigest() != self.digest:
            raise Fault(
                "the site was built anew while it was being published; what is there is whole. "
                "Run `sitegen publish` again"
            )
        return content


def part_of(path: str, digest: str) -> str:
    """Return the name that a file has until it's whole, known again by whoever finds it claimed."""
    return f"{path}.part" if path in (LIST, CLAIM) else f"{path}.{digest[:12]}.part"


def refusal(where: str, path: str, said: object) -> Fault:
    """Return the fault of a host that doesn't take something."""
    return Fault(
        f"{where} refuses {path}: {short(said)}. What visitors meet there is whole. Look whether the space "
        "is full, and whether `folder:` in studio.yaml is one that you may write to; then publish again"
    )


def _folders_above(paths: Iterable[str]) -> list[list[str]]:
    """Return all folders that paths lie in, the outermost first, by how deep they lie."""
    found = {parent.parts for path in paths for parent in PurePosixPath(path).parents} - {()}
    levels = groupby(sorted(found, key=lambda parts: (len(parts), parts)), len)
    return [["/".join(parts) for parts in level] for _, level in levels]


class Host(ABC):
    """A place for a site. All raise Fault for what is refused, HostLost where a later try may go through."""

    at_once = 1  # files on the way together
    makes_parts = True  # whether a file goes under another name first; False once it turned out that it can't
    # Whether some of its kind rename no file, as of FTP; elsewhere that is a fault.
    may_rename_nothing = False
    counts_at_once = True  # whether a file is on the web once it's put; else when all is finished

    def __init__(self, name: str) -> None:
        self.name = name  # as messages have it
        self._made = {""}
        self._loop = asyncio.Runner()

    def read(self, path: str) -> bytes | None:
        """Return a file's bytes; None if there's none."""
        return self._run(self._read(path), path)

    def names(self, folder: str) -> frozenset[str]:
        """Return what lies in a folder; nothing if it isn't there."""
        found = self._run(self._list(folder), folder)
        self._made |= {folder} if found else set()
        return found

    def put(self, loads: Sequence[Load], done: Callable[[Load], None]) -> None:
        """Put files, each in one step where the host can, several at once where that's quicker."""

        async def one(load: Load) -> None:
            await self._take(load)
            done(load)

        for level in _folders_above(load.path for load in loads):
            self._run(self._each([folder for folder in level if folder not in self._made], self._make))
            self._made |= set(level)
        self._run(self._each(loads, one))

    def remove(self, paths: Sequence[str]) -> None:
        """Take files away that may be there, and then the folders that are empty by that."""
        self._run(self._each(paths, self._delete))
        for level in reversed(_folders_above(paths)):
            self._run(self._each(level, self._drop))
            self._made -= set(level)

    def finish(self, put: Iterable[str], removed: Iterable[str]) -> str:
        """Let what was put count; return what is to be said of it."""
        return ""

    def close(self) -> None:
        """Say good-bye."""
        self._loop.close()

    def _run(self, work: Coroutine[Any, Any, Answer], path: str = "") -> Answer:
        with self._in_words(path):
            return self._loop.run(work)

    async def _take(self, load: Load) -> None:
        content, stored = load.read(), False
        by_part = self.makes_parts and not load.straight
        first = part_of(load.path, load.digest) if by_part else load.path
        try:
            with self._in_words(load.path):
                await self._store(first, content)
                stored = True
                if by_part:
                    await self._swap(first, load.path)
        except Fault:
            if by_part or load.straight:
                with suppress(Fault, HostLost), self._in_words(first):
                    await self._delete(first)
            if not (stored and self.may_rename_nothing):
                raise
            # The page is written where it is read, and whoever publishes is told.
            self.makes_parts = False
            with self._in_words(load.path):
                await self._store(load.path, content)

    async def _each(self, things: Iterable[Thing], act: Callable[[Thing], Awaitable[None]]) -> None:
        """Do the same with many things, several at once."""
        queue = iter(things)

        async def work() -> None:
            for thing in queue:
                with self._in_words(str(thing)):
                    await act(thing)
                await asyncio.sleep(0)  # who says stop is heard between two files

        try:
            async with asyncio.TaskGroup() as crew:
                for _ in range(self.at_once):
                    crew.create_task(work())
        except BaseExceptionGroup as several:
            raise several.exceptions[0] from None

    @contextmanager
    def _in_words(self, path: str) -> Iterator[None]:
        """Turn what a host says into a Fault, or into a line that was lost."""
        try:
            yield
        except OSError as fault:
            raise refusal(self.name, path, fault.strerror or fault) from fault

    # What a kind of host can do. A folder to be made and a file to be deleted may be there or not; what is
    # swapped in lies over what was there; a folder is dropped unless something is in it.
    @abstractmethod
    async def _read(self, path: str) -> bytes | None: ...
    @abstractmethod
    async def _list(self, folder: str) -> frozenset[str]: ...
    @abstractmethod
    async def _make(self, folder: str) -> None: ...
    @abstractmethod
    async def _store(self, path: str, content: bytes) -> None: ...
    @abstractmethod
    async def _swap(self, part: str, path: str) -> None: ...
    @abstractmethod
    async def _delete(self, path: str) -> None: ...
    @abstractmethod
    async def _drop(self, folder: str) -> None: ...


class FolderHost(Host):
    """A folder that is served to the web."""

    def __init__(self, folder: Path) -> None:
        """Take a folder, which must be there: a share that isn't mounted is an empty place.

        Raises Fault.
        """
        if not folder.is_dir():
            raise Fault(f"{folder} isn't there; connect the disk or share, or make the folder, then publish")
        super().__init__(str(folder))
        self._root = folder.resolve()
        self._looked: set[Path] = set()

    def _at(self, path: str) -> Path:
        """Return where a path lies. Raises Fault if a link on the way leads elsewhere."""
        place = self._root / path
        if place.parent not in self._looked:
            if not (there := place.parent.resolve()).is_relative_to(self._root):
                raise Fault(f"{place.parent} is a link to {there}, outside of the site; nothing goes there")
            self._looked.add(place.parent)
        return place

    async def _read(self, path: str) -> bytes | None:
        place = self._at(path)
        return place.read_bytes() if place.is_file() else None

    async def _list(self, folder: str) -> frozenset[str]:
        place = self._root / folder
        return frozenset(path.name for path in place.iterdir()) if place.is_dir() else frozenset()

    async def _make(self, folder: str) -> None:
        self._at(folder).mkdir(exist_ok=True)

    async def _store(self, path: str, content: bytes) -> None:
        self._at(path).write_bytes(content)

    async def _swap(self, part: str, path: str) -> None:
        self._at(part).replace(self._at(path))

    async def _delete(self, path: str) -> None:
        with suppress(NotADirectoryError):
            self._at(path).unlink(missing_ok=True)

    async def _drop(self, folder: str) -> None:
        with suppress(OSError):
            (self._root / folder).rmdir()
