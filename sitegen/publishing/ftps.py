"""A host reached over FTP with TLS (RFC 4217); never in the clear."""

from __future__ import annotations

import contextlib
import ftplib
import io
import socket
import ssl
from collections.abc import Iterator

from sitegen.publishing.hosts import Host, HostLost, refusal
from sitegen.studio.asked import Fault
from sitegen.studio.settings import Publishing
from sitegen.studio.text import short

# Seconds.
PATIENCE = 60


class _Closing(ssl.SSLSocket):
    """Goes without the other side's good-bye, which many servers leave out: their answer counts (226)."""

    def unwrap(self) -> socket.socket:
        with contextlib.suppress(ssl.SSLError, OSError):
            return super().unwrap()
        return self


class _Line(ftplib.FTP_TLS):
    """The library's own, but that a file's connection carries on the session of the first one.

    Many servers ask for that, so that nobody else can take the file's connection.
    """

    def ntransfercmd(self, cmd: str, rest: int | str | None = None) -> tuple[socket.socket, int | None]:
        line, size = ftplib.FTP.ntransfercmd(self, cmd, rest)  # noqa: S321 (made private below)
        session = self.sock.session if isinstance(self.sock, ssl.SSLSocket) else None
        return self.context.wrap_socket(line, server_hostname=self.host, session=session), size


class FtpsHost(Host):
    """A folder on a server, over FTP with TLS."""

    may_rename_nothing = True

    def __init__(self, at: Publishing, password: str) -> None:
        """Knock at the door. Raises Fault, HostLost."""
        super().__init__(at.host)
        context = ssl.create_default_context()
        context.sslsocket_class = _Closing
        self._line = _Line(timeout=PATIENCE, context=context)
        try:
            with self._in_words(""):
                self._enter(at, password)
        except BaseException:
            self._line.close()
            raise

    def _enter(self, at: Publishing, password: str) -> None:
        nowhere = f"has no folder {at.folder} for this user; look at `folder:` in studio.yaml"
        open_line = (
            "can't make the connection private; plain FTP shows your password to everyone on the way, so "
            "nothing was sent. Ask your host for sftp or for FTP over TLS"
        )
        self._line.connect(at.host, at.port or 21)
        for step, refused in (
            (self._line.auth, open_line),
            (lambda: self._line.login(at.user, password), "doesn't take this user with that password"),
            (lambda: self._line.cwd(at.folder or "."), nowhere),
            (self._line.prot_p, "sends no file privately, so none is sent"),
        ):
            try:
                step()
            except ftplib.error_perm as fault:
                raise Fault(f"{at.host} {refused} (it says: {short(fault)})") from fault

    @contextlib.contextmanager
    def _in_words(self, path: str) -> Iterator[None]:
        try:
            yield
        except ssl.SSLCertVerificationError as fault:
            raise Fault(
                f"the certificate of {self.name} can't be trusted: {fault.verify_message}. Nothing was sent; "
                "look whether `host:` is the name that your host gave you, and ask there"
            ) from fault
        except (ftplib.error_temp, ftplib.error_perm) as fault:
            if str(fault).startswith(("421", "425", "426")):  # RFC 959: it closes, or a connection was cut
                raise HostLost(f"{self.name}: {short(fault)}") from fault
            raise refusal(self.name, path, fault) from fault
        except (OSError, EOFError, ftplib.Error) as fault:
            raise HostLost(f"{self.name}: {short(fault) or 'the line was cut'}") from fault

    async def _read(self, path: str) -> bytes | None:
        if path not in await self._list(""):
            return None
        found: list[bytes] = []
        self._line.retrbinary(f"RETR {path}", found.append)
        return b"".join(found)

    async def _list(self, folder: str) -> frozenset[str]:
        self._line.encoding = "latin-1"  # which has a sign for each octet: names there may be of any make
        try:
            found = self._line.nlst(*([folder.encode().decode("latin-1")] if folder else []))
        except ftplib.error_perm:  # RFC 959: 550, also for an empty one
            return frozenset()
        finally:
            self._line.encoding = "utf-8"
        names = (name.rpartition("/")[2].encode("latin-1") for name in found)
        return frozenset(name.decode("utf-8", "surrogateescape") for name in names)

    async def _make(self, folder: str) -> None:
        with contextlib.suppress(ftplib.error_perm):  # it may be there
            self._line.mkd(folder)

    async def _store(self, path: str, content: bytes) -> None:
        self._line.storbinary(f"STOR {path}", io.BytesIO(content))

    async def _swap(self, part: str, path: str) -> None:
        try:
            self._line.rename(part, path)
        except ftplib.error_perm:
            await self._delete(path)  # some hosts rename only to a name that is free
            self._line.rename(part, path)

    async def _delete(self, path: str) -> None:
        try:
            self._line.delete(path)
        except ftplib.error_perm:
            folder, _, name = path.rpartition("/")
            if name in await self._list(folder):
                raise

    async def _drop(self, folder: str) -> None:
        with contextlib.suppress(ftplib.error_perm):  # something else is in it
            self._line.rmd(folder)

    def close(self) -> None:
        """Say good-bye."""
        with contextlib.suppress(OSError, EOFError, ftplib.Error):
            self._line.quit()
        self._line.close()
        super().close()
