"""A host reached over SFTP: several files at once on one connection, its key pinned at the first visit."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path

import asyncssh
from asyncssh import SFTPError

from sitegen.disk import own_folder, write_whole
from sitegen.publishing.hosts import Host, HostLost, refusal
from sitegen.studio.asked import Fault
from sitegen.studio.settings import Publishing
from sitegen.studio.text import short

# Seconds.
PATIENCE = 30
_LOST = (asyncssh.SFTPConnectionLost, asyncssh.SFTPNoConnection)
_GONE = (asyncssh.SFTPNoSuchFile, asyncssh.SFTPNoSuchPath)


def key_of(host: str, port: int, file: Path, agree: Callable[[str, str], bool]) -> asyncssh.SSHKey:
    """Return the key that a host must have, of a file that has a line each as OpenSSH's `known_hosts`.

    `agree` is shown a new host's name and its key's fingerprint, and says whether to trust it. Raises Fault
    if it doesn't, HostLost.
    """
    name = f"[{host}]:{port}"
    try:
        lines = file.read_text("utf-8").splitlines() if file.exists() else []
        kept = next((line.partition(" ")[2] for line in lines if line.startswith(f"{name} ")), None)
        if kept is not None:
            return asyncssh.import_public_key(kept)
    except ValueError as fault:
        cure = "so nothing was sent; bring it back from a backup, or take it away and compare the key anew"
        raise Fault(f"the key of {host} can't be read in sent/published/known_hosts, {cure}") from fault
    key = asyncio.run(_shown(host, port))
    if not agree(f"{host}:{port}", key.get_fingerprint()):
        raise Fault(
            f"the key of {host} isn't trusted, so nothing was sent. Its fingerprint is "
            f"{key.get_fingerprint()}; compare it with the one that your host names"
        )
    own_folder(file.parent)
    lines.append(f"{name} {key.export_public_key().decode().strip()}")
    write_whole(file, "".join(f"{line}\n" for line in lines).encode(), private=True)
    return key


async def _shown(host: str, port: int) -> asyncssh.SSHKey:
    """Ask a host for its key."""
    with _in_words(host, ""):
        key = await asyncio.wait_for(asyncssh.get_server_host_key(host, port, config=None), PATIENCE)
    if key is None:
        raise HostLost(f"{host} shows no key")
    return key


@contextlib.contextmanager
def _in_words(host: str, path: str) -> Iterator[None]:
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
            raise refusal(host, path, fault.reason) from fault
        raise HostLost(f"{host}: {short(fault) or 'no answer'}") from fault


class SftpHost(Host):
    """A folder on a server, over SFTP (draft-ietf-secsh-filexfer-02, as OpenSSH speaks it)."""

    # Servers let a connection have dozens of files open (common practice, no source).
    at_once = 16

    def __init__(self, at: Publishing, known: Path, agree: Callable[[str, str], bool], password: str) -> None:
        """Knock at the door; without a password the keys of this machine's user must do.

        The host's own key is asked for as by `key_of`. Raises Fault, HostLost.
        """
        port = at.port or 22
        key = key_of(at.host, port, known, agree)
        super().__init__(at.host)
        self._root = at.folder.rstrip("/") if at.folder.strip("/") else at.folder or "."
        self._over = True
        # What was under way when the line was cut is told once, by what was waited for.
        self._loop.get_loop().set_exception_handler(lambda loop, context: None)
        try:
            self._run(self._enter(port, at.user, password, key))
        except BaseException:
            self._loop.close()
            raise

    async def _enter(self, port: int, user: str, password: str, key: asyncssh.SSHKey) -> None:
        self._line = await asyncssh.connect(
            self.name, port, username=user, password=password or None, known_hosts=([key], [], []),
            config=None, connect_timeout=PATIENCE, login_timeout=PATIENCE, keepalive_interval=PATIENCE,
        )  # fmt: skip
        self._door = await self._line.start_sftp_client(path_errors="surrogateescape")

    @contextlib.contextmanager
    def _in_words(self, path: str) -> Iterator[None]:
        with _in_words(self.name, path):
            yield

    def _at(self, path: str) -> str:
        return f"{self._root}/{path}" if path else self._root

    async def _read(self, path: str) -> bytes | None:
        try:
            async with self._door.open(self._at(path), "rb") as file:
                content: bytes = await file.read()
                return content
        except _GONE:
            return None

    async def _list(self, folder: str) -> frozenset[str]:
        try:
            found = await self._door.listdir(self._at(folder))
        except _LOST:
            raise
        except SFTPError as fault:
            if folder or isinstance(fault, asyncssh.SFTPPermissionDenied):
                return frozenset()
            raise Fault(
                f"{self.name} has no folder {self._root} for this user; look at `folder:` in studio.yaml"
            ) from fault
        return frozenset(map(str, found)) - {".", ".."}

    async def _make(self, folder: str) -> None:
        try:
            await self._door.mkdir(self._at(folder))
        except SFTPError:
            if not await self._door.isdir(self._at(folder)):
                raise

    async def _store(self, path: str, content: bytes) -> None:
        async with self._door.open(self._at(path), "wb") as file:
            await file.write(content)

    async def _swap(self, part: str, path: str) -> None:
        if self._over:
            try:
                await self._door.posix_rename(self._at(part), self._at(path))
                return
            except asyncssh.SFTPOpUnsupported:
                self._over = False
        # Asked for in one breath: between the two there's nothing at that address for less than a moment.
        gone = asyncio.ensure_future(self._door.remove(self._at(path)))
        taken = asyncio.ensure_future(self._door.rename(self._at(part), self._at(path)))
        with contextlib.suppress(*_GONE):
            await gone
        try:
            await taken
        except SFTPError:
            # Room was made for it, so it is laid there after all: nobody is to find nothing.
            if (content := await self._read(part)) is not None:
                await self._store(path, content)
            raise

    async def _delete(self, path: str) -> None:
        with contextlib.suppress(*_GONE):
            await self._door.remove(self._at(path))

    async def _drop(self, folder: str) -> None:
        with contextlib.suppress(asyncssh.SFTPFailure, asyncssh.SFTPDirNotEmpty, *_GONE):
            await self._door.rmdir(self._at(folder))

    def close(self) -> None:
        """Say good-bye."""
        self._line.abort()
        with contextlib.suppress(Exception):
            self._loop.run(self._line.wait_closed())
        super().close()
