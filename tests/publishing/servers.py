"""Hosts on loopback that share no code with the program: asyncssh's own SFTP server, pyftpdlib, a web server; and visitors."""

from __future__ import annotations

import asyncio
import contextlib
import datetime
import http.server
import ipaddress
import re
import ssl
import subprocess
import sys
import threading
import warnings
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

import asyncssh
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

with (
    warnings.catch_warnings()
):  # it stands on a module that a later Python leaves out, and brings its own there
    warnings.simplefilter("ignore", DeprecationWarning)
    from pyftpdlib.authorizers import DummyAuthorizer
    from pyftpdlib.handlers import FTPHandler, TLS_FTPHandler
    from pyftpdlib.ioloop import IOLoop
    from pyftpdlib.servers import FTPServer

USER, PASSWORD = "quarter-tide", "not-the-word-1"
NOW = datetime.datetime.now(datetime.UTC)


def certificate(file: Path, days: int = 90) -> Path:
    """Write a key and a certificate for 127.0.0.1 that signs itself and lasts so many days from now."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "127.0.0.1")])
    end = NOW + datetime.timedelta(days=days)
    made = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name).public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(min(NOW, end) - datetime.timedelta(days=30)).not_valid_after(end)
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )  # fmt: skip
    secret = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    file.write_bytes(made.public_bytes(serialization.Encoding.PEM) + secret)
    return file


class Manners:
    """How a host behaves; a test may change it while the host runs."""

    def __init__(self) -> None:
        self.cut_every = 0
        """Requests from one cut of the line to the next; 0 for never."""
        self.cuts = self._asked = 0
        self.renames_over = self.renames = True
        self.full = self.denied = False
        """No room left; no right to write anything."""
        self.seen: list[str] = []
        """What was asked for, by word."""

    def count(self, word: str) -> bool:
        """Note a request; tell whether the line is to be cut at it."""
        self.seen.append(word)
        self._asked += 1
        cut = self.cut_every > 0 and self._asked % self.cut_every == 0
        self.cuts += cut
        return cut


class _Door(asyncssh.SSHServer):
    def begin_auth(self, username: str) -> bool:
        return True

    def password_auth_supported(self) -> bool:
        return True

    def validate_password(self, username: str, password: str) -> bool:
        return (username, password) == (USER, PASSWORD)


class _Shelf(asyncssh.SFTPServer):
    def __init__(self, channel: Any, *, root: Path, manners: Manners) -> None:
        self._manners, self._channel = manners, channel
        super().__init__(channel, chroot=str(root).encode())

    def _met(self, word: str) -> None:
        if self._manners.count(word):
            self._channel.get_connection().abort()

    def open(self, path: bytes, pflags: int, attrs: asyncssh.SFTPAttrs) -> object:
        self._met("open")
        if self._manners.denied and pflags & asyncssh.FXF_WRITE:
            raise asyncssh.SFTPPermissionDenied("Permission denied")
        return super().open(path, pflags, attrs)

    def write(self, file_obj: object, offset: int, data: bytes) -> Any:
        self._met("write")
        if self._manners.full:
            raise asyncssh.SFTPFailure("No space left on device")
        return super().write(file_obj, offset, data)

    def remove(self, path: bytes) -> None:
        self._met("remove")
        super().remove(path)

    def mkdir(self, path: bytes, attrs: asyncssh.SFTPAttrs) -> None:
        self._met("mkdir")
        if self._manners.denied:
            raise asyncssh.SFTPPermissionDenied("Permission denied")
        super().mkdir(path, attrs)

    def posix_rename(self, oldpath: bytes, newpath: bytes) -> None:
        self._met("rename")
        if not self._manners.renames_over:
            raise asyncssh.SFTPOpUnsupported("not here")
        self._refuse_pages(newpath)
        super().posix_rename(oldpath, newpath)

    def rename(self, oldpath: bytes, newpath: bytes) -> None:
        self._refuse_pages(newpath)
        super().rename(oldpath, newpath)

    def _refuse_pages(self, newpath: bytes) -> None:
        if not self._manners.renames and newpath.endswith(b".html"):
            raise asyncssh.SFTPPermissionDenied("Permission denied")


@contextlib.contextmanager
def sftp(root: Path, manners: Manners | None = None, key: asyncssh.SSHKey | None = None) -> Iterator[int]:
    """Serve a folder over SFTP; yield the port."""
    key = key or asyncssh.generate_private_key("ssh-ed25519")
    loop, ready = asyncio.new_event_loop(), threading.Event()
    ports: list[int] = []

    async def serve() -> asyncssh.SSHAcceptor:
        shelf = partial(_Shelf, root=root, manners=manners or Manners())
        made = await asyncssh.listen(
            "127.0.0.1", 0, server_factory=_Door, server_host_keys=[key], sftp_factory=shelf
        )
        ports.append(made.get_port())
        ready.set()
        return made

    def run() -> None:
        door = loop.run_until_complete(serve())
        loop.run_forever()
        door.close()
        loop.run_until_complete(door.wait_closed())
        for task in asyncio.all_tasks(loop):
            task.cancel()
        loop.run_until_complete(asyncio.sleep(0))
        loop.close()

    thread = threading.Thread(target=run)
    thread.start()
    try:
        assert ready.wait(30)
        yield ports[0]
    finally:
        loop.call_soon_threadsafe(loop.stop)
        thread.join()


@contextlib.contextmanager
def ftps(root: Path, pem: Path | None, manners: Manners | None = None) -> Iterator[int]:
    """Serve a folder over FTP, with TLS where there's a certificate; yield the port."""
    ways = manners or Manners()
    authorizer = DummyAuthorizer()
    authorizer.add_user(USER, PASSWORD, str(root), perm="elradfmwMT")

    class Handler(TLS_FTPHandler if pem else FTPHandler):  # type: ignore[misc]
        def pre_process_command(self, line: str, cmd: str, arg: str) -> None:
            if ways.count(cmd.lower()):
                self.close()
                return
            super().pre_process_command(line, cmd, arg)

        def ftp_STOR(self, file: str, mode: str = "w") -> object:  # noqa: N802 (the library's)
            if ways.full or ways.denied:
                self.respond("552 Disk full." if ways.full else "550 Permission denied.")
                return None
            return super().ftp_STOR(file, mode)

        def ftp_RNTO(self, path: str) -> object:  # noqa: N802 (the library's)
            if not ways.renames or (not ways.renames_over and Path(path).exists()):
                self.respond("553 Not here.")
                return None
            return super().ftp_RNTO(path)

    Handler.authorizer = authorizer
    Handler.unicode_errors = "surrogateescape"  # names go out as they lie there
    if pem:
        Handler.certfile = str(pem)
        Handler.tls_control_required = Handler.tls_data_required = True
    server = FTPServer(("127.0.0.1", 0), Handler, ioloop=IOLoop())
    stop = threading.Event()

    def run() -> None:
        while not stop.is_set():
            server.serve_forever(timeout=0.02, blocking=False)
        server.close_all()

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield server.address[1]
    finally:
        stop.set()
        thread.join()


@contextlib.contextmanager
def web(
    root: Path, pem: Path | None = None, headers: Callable[[str], dict[str, str]] = lambda path: {}
) -> Iterator[str]:
    """Serve a folder to the web; yield its address, ending in a slash."""

    class Handler(http.server.SimpleHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def end_headers(self) -> None:
            for name, value in headers(self.path).items():
                self.send_header(name, value)
            super().end_headers()

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002 (the library's)
            """Say nothing."""

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), partial(Handler, directory=str(root)))
    server.daemon_threads = True
    if pem:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(pem)
        server.socket = context.wrap_socket(server.socket, server_side=True)
    thread = threading.Thread(target=partial(server.serve_forever, poll_interval=0.02))
    thread.start()
    try:
        yield f"http{'s' if pem else ''}://127.0.0.1:{server.server_address[1]}/"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


class Crawler(threading.Thread):
    """A visitor who goes from page to page and looks at every picture, until told to stop."""

    def __init__(self, root: Path) -> None:
        """Read what a web server would serve from a folder: each file in the state it has at that instant."""
        super().__init__()
        self._root, self._enough = root, threading.Event()
        self.pages = self.rounds = 0
        self.broken: list[str] = []

    def run(self) -> None:
        while not self._enough.wait(0.005):  # others are to come to work too
            self.look()

    def stop(self) -> None:
        """Stop at the next page, and once more look at all."""
        self._enough.set()
        self.join()
        self.look()

    def look(self) -> None:
        """Go through all pages that can be reached."""
        queue, known = ["index.html"], {"index.html"}
        while queue:
            path = queue.pop()
            page = self._read(path)
            if page is None:
                continue
            self.pages += 1
            text = page.decode("utf-8", "replace")
            if not text.rstrip().endswith("</html>"):
                self.broken.append(f"{path}: ends in {text[-40:]!r}")
            for found in re.findall(r"(?:src|srcset|href)=\"([^\"]+)\"", text):
                for one in found.split(","):
                    target = urljoin(
                        f"http://x/{path}", one.split()[0].partition("#")[0] if one.split() else ""
                    )
                    if not target.startswith("http://x/"):
                        continue
                    there = target.removeprefix("http://x/")
                    if there.endswith(".html") and there not in known:
                        known.add(there)
                        queue.append(there)
                    if there.startswith("pictures/") and not (self._root / there).is_file():
                        self.broken.append(f"{path}: {there} is missing")
        self.rounds += 1

    def _read(self, path: str) -> bytes | None:
        try:
            return (self._root / path).read_bytes()
        except (FileNotFoundError, NotADirectoryError):
            return None


def main() -> None:
    """Serve a folder in a process of its own, until nobody listens any more: sftp or ftps, FOLDER, CERTIFICATE."""
    way, root = sys.argv[1], Path(sys.argv[2])
    with sftp(root) if way == "sftp" else ftps(root, Path(sys.argv[3])) as port:
        print(port, flush=True)
        sys.stdin.read()


@contextlib.contextmanager
def apart(way: str, root: Path, pem: Path) -> Iterator[int]:
    """Serve a folder in a process of its own, as hosts are; yield the port."""
    words = [sys.executable, "-m", "tests.publishing.servers", way, str(root), str(pem)]
    with subprocess.Popen(
        words,
        cwd=Path(__file__).parents[2],
        stdin=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
    ) as host:
        assert host.stdout is not None
        assert host.stdin is not None
        try:
            yield int(host.stdout.readline())
        finally:
            host.stdin.close()
            host.wait()


if __name__ == "__main__":
    main()
