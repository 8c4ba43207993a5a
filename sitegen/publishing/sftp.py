"""A host reached over SFTP: several files at once on one connection, its key pinned at the first visit."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Awaitable, Callable, Coroutine, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, TypeVar

import asyncssh
from asyncssh import SFTPError

from sitegen.disk import own_folder, write_whole
from sitegen.publishing.hosts import Done, Host, HostLost, Load, folders_above, refusal
from sitegen.studio.fault import Fault
from sitegen.studio.outward import Publishing
from sitegen.studio.text import short

# Files on the way together; servers let a connection have dozens open (common practice, no source).
AT_ONCE = 16
# Seconds.
PATIENCE = 30
Answer = TypeVar("Answer")
_LOST = (asyncssh.SFTPConnectionLost, asyncssh.SFTPNoConnection)
_GONE = (asyncssh.SFTPNoSuchFile, asyncssh.SFTPNoSuchPath)


class KeyKept:
    """The keys of hosts, a line each as OpenSSH writes `known_hosts`, in the studio's own files."""

    def __init__(self, file: Path, agree: Callable[[str, str], bool]) -> None:
        """`agree` is shown a host's name and its key's fingerprint, and says whether to trust it."""
        self._file, self._agree = file, agree

    def of(self, host: str, port: int) -> asyncssh.SSHKey:
        """Return the key that a host must have. Raises Fault if it isn't to be trusted, HostLost."""
        name = f"[{host}]:{port}"
        lines = self._file.read_text("utf-8").splitlines() if self._file.exists() else []
        kept = next((line.partition(" ")[2] for line in lines if line.startswith(f"{name} ")), None)
        if kept is not None:
            return asyncssh.import_public_key(kept)
        key = asyncio.run(_shown(host, port))
        if not self._agree(f"{host}:{port}", key.get_fingerprint()):
            raise Fault(
                f"the key of {host} isn't trusted, so nothing was sent. Its fingerprint is "
                f"{key.get_fingerprint()}; compare it with the one that your host names"
            )
        own_folder(self._file.parent)
        lines.append(f"{name} {key.export_public_key().decode().strip()}")
        write_whole(self._file, "".join(f"{line}\n" for line in lines).encode(), private=True)
        return key


async def _shown(host: str, port: int) -> asyncssh.SSHKey:
    """Ask a host for its key."""
    with _in_words(host):
        key = await asyncio.wait_for(asyncssh.get_server_host_key(host, port, config=None), PATIENCE)
    if key is None:
        raise HostLost(f"{host} shows no key")
    return key


@contextlib.contextmanager
def _in_words(host: str) -> Iterator[None]:
    """Turn what ends a connection into a sentence, or into one that was lost."""
    try:
        yield
    except asyncssh.HostKeyNotVerifiable as fault:
        raise Fault(
            f"{host} shows another key than at the first visit; nothing was sent. Either your host has new "
            "keys, or somebody is in between. Ask your host; if it has new ones, take its line out of "
            "sent/published/known_hosts and publish again"
        ) from fault
    except asyncssh.PermissionDenied as fault:
        raise Fault(f"{host} doesn't take this user with that password or key; nothing was sent") from fault
    except (asyncssh.Error, OSError, TimeoutError) as fault:
        if isinstance(fault, SFTPError) and not isinstance(fault, _LOST):
            raise
        raise HostLost(f"{host}: {short(fault) or 'no answer'}") from fault


class SftpHost(Host):
    """A folder on a server, over SFTP (draft-ietf-secsh-filexfer-02, as OpenSSH speaks it)."""

    def __init__(self, at: Publishing, keys: KeyKept, password: str) -> None:
        """Knock at the door; without a password the keys of this machine's user must do.

        Raises Fault, HostLost.
        """
        self.name, port = at.host, at.port or 22
        self._root = at.folder.rstrip("/") if at.folder.strip("/") else at.folder or "."
        self._made = {""}
        self._over = True
        key = keys.of(at.host, port)
        self._loop = asyncio.Runner()
        # What was under way when the line was cut is told once, by what was waited for.
        self._loop.get_loop().set_exception_handler(lambda loop, context: None)
        try:
            self._run(self._enter(at.host, port, at.user, password, key))
        except BaseException:
            self._loop.close()
            raise

    async def _enter(self, host: str, port: int, user: str, password: str, key: asyncssh.SSHKey) -> None:
        connecting = asyncssh.connect(
            host, port, username=user, password=password or None, known_hosts=([key], [], []), config=None,
            connect_timeout=PATIENCE, login_timeout=PATIENCE, keepalive_interval=PATIENCE,
        )  # fmt: skip
        self._line = await connecting
        self._door = await self._line.start_sftp_client()

    def _run(self, work: Coroutine[Any, Any, Answer]) -> Answer:
        with _in_words(self.name):
            return self._loop.run(work)

    def _at(self, path: str) -> str:
        return f"{self._root}/{path}" if path else self._root

    def read(self, path: str) -> bytes | None:
        return self._run(self._read(path))

    async def _read(self, path: str) -> bytes | None:
        try:
            async with self._door.open(self._at(path), "rb") as file:
                content: bytes = await file.read()
                return content
        except _GONE:
            return None
        except SFTPError as fault:
            raise refusal(self.name, path, fault.reason) from fault

    def names(self, folder: str) -> frozenset[str]:
        return self._run(self._list(folder))

    async def _list(self, folder: str) -> frozenset[str]:
        try:
            found = await self._door.listdir(self._at(folder))
        except SFTPError as fault:
            if folder or isinstance(fault, asyncssh.SFTPPermissionDenied):
                return frozenset()
            raise Fault(
                f"{self.name} has no folder {self._root} for this user; look at `folder:` in studio.yaml"
            ) from fault
        self._made.add(folder)
        return frozenset(map(str, found)) - {".", ".."}

    def put(self, loads: Sequence[Load], done: Done) -> None:
        self._run(self._put(loads, done))

    async def _put(self, loads: Sequence[Load], done: Done) -> None:
        async def one(load: Load) -> None:
            await self._load(load)
            done(load)

        await self._each(
            [folder for folder in folders_above(load.path for load in loads) if folder not in self._made],
            self._make, in_turn=lambda folder: folder.count("/"),
        )  # fmt: skip
        await self._each(loads, one)

    async def _each(
        self, things: Iterable[Any], act: Callable[[Any], Awaitable[None]],
        in_turn: Callable[[Any], int] = lambda thing: 0,
    ) -> None:  # fmt: skip
        """Do the same with many things, several at once, but one `in_turn` only after the ones before."""
        groups: dict[int, list[Any]] = {}
        for thing in things:
            groups.setdefault(in_turn(thing), []).append(thing)
        for _, group in sorted(groups.items()):
            queue = iter(group)

            async def work(queue: Iterator[Any] = queue) -> None:
                for thing in queue:
                    await act(thing)

            try:
                async with asyncio.TaskGroup() as crew:
                    for _ in range(AT_ONCE):
                        crew.create_task(work())
            except BaseExceptionGroup as several:
                first: BaseException = several.exceptions[0]
                raise first from None

    async def _make(self, folder: str) -> None:
        try:
            await self._door.mkdir(self._at(folder))
        except SFTPError as fault:
            if not await self._door.isdir(self._at(folder)):
                raise refusal(self.name, folder, fault.reason) from fault
        self._made.add(folder)

    async def _load(self, load: Load) -> None:
        place, part = self._at(load.path), self._at(load.part)
        first = place if load.straight or not self.makes_parts else part
        try:
            async with self._door.open(first, "wb") as file:
                await file.write(load.read())
            if first is part:
                await self._take_place(part, place)
        except _LOST:
            raise
        except SFTPError as fault:
            with contextlib.suppress(SFTPError):
                await self._door.remove(first)
            raise refusal(self.name, load.path, fault.reason) from fault

    async def _take_place(self, part: str, place: str) -> None:
        if self._over:
            try:
                await self._door.posix_rename(part, place)
                return
            except asyncssh.SFTPOpUnsupported:
                self._over = False
        # Asked for in one breath: between the two there's nothing at that address for less than a moment.
        gone = asyncio.ensure_future(self._door.remove(place))
        taken = asyncio.ensure_future(self._door.rename(part, place))
        with contextlib.suppress(*_GONE):
            await gone
        await taken

    def remove(self, paths: Sequence[str]) -> None:
        self._run(self._remove(paths))

    async def _remove(self, paths: Sequence[str]) -> None:
        async def one(path: str) -> None:
            try:
                await self._door.remove(self._at(path))
            except _GONE:
                return
            except _LOST:
                raise
            except SFTPError as fault:
                raise refusal(self.name, path, fault.reason) from fault

        async def folder(path: str) -> None:
            with contextlib.suppress(asyncssh.SFTPFailure, asyncssh.SFTPDirNotEmpty, *_GONE):
                await self._door.rmdir(self._at(path))
                self._made.discard(path)

        await self._each(paths, one)
        await self._each(folders_above(paths), folder, in_turn=lambda path: -path.count("/"))

    def close(self) -> None:
        self._line.abort()
        with contextlib.suppress(Exception):
            self._loop.run(self._line.wait_closed())
        self._loop.close()
