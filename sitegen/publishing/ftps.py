"""A host reached over FTP with TLS (RFC 4217); never in the clear."""

from __future__ import annotations

import contextlib
import ftplib
import io
import socket
import ssl
from collections.abc import Iterator, Sequence

from sitegen.publishing.hosts import Done, Host, HostLost, Load, folders_above, refusal
from sitegen.studio.fault import Fault
from sitegen.studio.outward import Publishing
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

    def __init__(self, at: Publishing, password: str) -> None:
        """Knock at the door. Raises Fault, HostLost."""
        self.name = at.host
        self._made = {""}
        context = ssl.create_default_context()
        context.sslsocket_class = _Closing
        self._line = _Line(timeout=PATIENCE, context=context)
        try:
            with self._in_words():
                self._enter(at, password)
        except BaseException:
            self._line.close()
            raise

    def _enter(self, at: Publishing, password: str) -> None:
        self._line.connect(at.host, at.port or 21)
        try:
            self._line.auth()
        except ftplib.error_perm as fault:
            raise Fault(
                f"{at.host} can't make the connection private; plain FTP shows your password to everyone on "
                "the way, so nothing was sent. Ask your host for sftp or for FTP over TLS"
            ) from fault
        try:
            self._line.login(at.user, password)
        except ftplib.error_perm as fault:
            said = short(fault)
            raise Fault(f"{at.host} doesn't take this user with that password: {said}") from fault
        self._line.prot_p()
        try:
            self._line.cwd(at.folder or ".")
        except ftplib.error_perm as fault:
            raise Fault(
                f"{at.host} has no folder {at.folder} for this user; look at `folder:` in studio.yaml"
            ) from fault

    @contextlib.contextmanager
    def _in_words(self, path: str = "") -> Iterator[None]:
        """Turn the library's exceptions into a sentence, or into a line that was lost."""
        try:
            yield
        except ssl.SSLCertVerificationError as fault:
            raise Fault(
                f"the certificate of {self.name} can't be trusted: {fault.verify_message}. Nothing was sent; "
                "look whether `host:` is the name that your host gave you, and ask there"
            ) from fault
        except ftplib.error_temp as fault:
            if str(fault).startswith(("421", "425", "426")):  # RFC 959: it closes, or a connection was cut
                raise HostLost(f"{self.name}: {short(fault)}") from fault
            raise refusal(self.name, path, fault) from fault
        except ftplib.error_perm as fault:
            raise refusal(self.name, path, fault) from fault
        except (OSError, EOFError, ftplib.Error) as fault:
            raise HostLost(f"{self.name}: {short(fault) or 'the line was cut'}") from fault

    def read(self, path: str) -> bytes | None:
        found: list[bytes] = []
        with self._in_words(path):
            if path not in self._names(""):
                return None
            self._line.retrbinary(f"RETR {path}", found.append)
        return b"".join(found)

    def names(self, folder: str) -> frozenset[str]:
        with self._in_words(folder):
            return self._names(folder)

    def _names(self, folder: str) -> frozenset[str]:
        try:
            found = self._line.nlst(*([folder] if folder else []))
        except ftplib.error_perm:  # RFC 959: 550, also for an empty one
            return frozenset()
        self._made.add(folder)
        return frozenset(name.rpartition("/")[2] for name in found)

    def put(self, loads: Sequence[Load], done: Done) -> None:
        for folder in folders_above(load.path for load in loads):
            if folder not in self._made:
                with self._in_words(folder), contextlib.suppress(ftplib.error_perm):  # it may be there
                    self._line.mkd(folder)
                self._made.add(folder)
        for load in loads:
            with self._in_words(load.path):
                self._load(load)
            done(load)

    def _load(self, load: Load) -> None:
        content = load.read()
        if load.straight or not self.makes_parts:
            self._store(load.path, content)
            return
        self._store(load.part, content)
        try:
            self._take_place(load.part, load.path)
        except ftplib.error_perm:
            # A host that renames nothing: the page is written where it is read.
            self.makes_parts = False
            self._remove(load.part)
            self._store(load.path, content)

    def _store(self, path: str, content: bytes) -> None:
        try:
            self._line.storbinary(f"STOR {path}", io.BytesIO(content))
        except (ftplib.error_perm, ftplib.error_temp):
            with contextlib.suppress(ftplib.Error, OSError, EOFError):
                if path.endswith(".part"):
                    self._line.delete(path)
            raise

    def _take_place(self, part: str, path: str) -> None:
        try:
            self._line.rename(part, path)
        except ftplib.error_perm:
            self._remove(path)  # some hosts rename only to a name that is free
            self._line.rename(part, path)

    def remove(self, paths: Sequence[str]) -> None:
        for path in paths:
            with self._in_words(path):
                self._remove(path)
        for folder in reversed(folders_above(paths)):
            with self._in_words(folder), contextlib.suppress(ftplib.error_perm):  # something else is in it
                self._line.rmd(folder)
                self._made.discard(folder)

    def _remove(self, path: str) -> None:
        try:
            self._line.delete(path)
        except ftplib.error_perm:
            folder, _, name = path.rpartition("/")
            if name in self._names(folder):
                raise

    def close(self) -> None:
        with contextlib.suppress(OSError, EOFError, ftplib.Error):
            self._line.quit()
        self._line.close()
