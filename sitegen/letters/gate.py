"""Mail servers: where one is, how the way there is protected; and what lies in a mailbox, there or in a file.

What came back is read and never changed.
"""

from __future__ import annotations

import base64
import imaplib
import io
import ipaddress
import mailbox
import re
import smtplib
import socket
import ssl
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from datetime import date, datetime, time
from email.utils import format_datetime
from enum import StrEnum
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, TypeVar

from sitegen.letters.envelope import LARGEST
from sitegen.studio.asked import LetterFault, Progress, silent
from sitegen.studio.text import short

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer, WriteableBuffer

Done = TypeVar("Done")
_MOST_SAID = 200  # characters of a server's answer that are shown


class Security(StrEnum):
    """How the way to the server is protected."""

    TLS = "tls"
    STARTTLS = "starttls"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Gate:
    """The way in to one mail server."""

    host: str
    port: int
    security: Security
    user: str = ""
    password: str = field(default="", repr=False)


@dataclass(frozen=True, slots=True)
class ServerKind:
    """One kind of mail server: SMTP or IMAP, what it is to the artist, how providers name it."""

    name: str
    called: str
    provider_says: str
    ports: Mapping[Security, int]


# RFC 8314 section 3.3 and RFC 6409 section 3.1; RFC 8314 section 3.2 and RFC 3501 section 2.1.
OUTGOING = ServerKind(
    "SMTP", "post office", "'SMTP' or 'outgoing mail'",
    {Security.TLS: 465, Security.STARTTLS: 587, Security.NONE: 587},
)  # fmt: skip
INCOMING = ServerKind(
    "IMAP", "mailbox", "'IMAP' or 'incoming mail'",
    {Security.TLS: 993, Security.STARTTLS: 143, Security.NONE: 143},
)  # fmt: skip


def gate_from(environment: Mapping[str, str], kind: ServerKind) -> Gate:
    """Read a kind of server's settings from environment variables. Raises LetterFault with the cure."""
    prefix = f"SITEGEN_{kind.name}"
    host = environment.get(f"{prefix}_HOST", "").strip()
    if not host:
        raise LetterFault(
            f"no {kind.called} is set: give {prefix}_HOST, and {prefix}_USER and {prefix}_PASSWORD, "
            f"as your mail provider names them under {kind.provider_says}"
        )
    word = environment.get(f"{prefix}_SECURITY", "tls").strip().lower()
    if word not in set(Security):
        raise LetterFault(f"{prefix}_SECURITY is '{word}'; use tls, starttls or none")
    security = Security(word)
    try:
        here = host.lower() == "localhost" or ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        here = False
    if security is Security.NONE and not here:
        raise LetterFault(
            f"{prefix}_SECURITY is 'none', which would show your password and letters to everyone on the "
            f"way to {host}; use tls or starttls (none is only for a server on this machine)"
        )
    typed = environment.get(f"{prefix}_PORT", "").strip() or str(kind.ports[security])
    if not re.fullmatch("[0-9]{1,5}", typed) or not 0 < int(typed) < 65536:
        raise LetterFault(
            f"{prefix}_PORT is '{typed}'; write a number, as {kind.ports[Security.TLS]} or "
            f"{kind.ports[Security.STARTTLS]}"
        )
    user, password = environment.get(f"{prefix}_USER", ""), environment.get(f"{prefix}_PASSWORD", "")
    return Gate(host, int(typed), security, user, password)


def private(host: str, secure: Callable[[], Done]) -> Done:
    """Open a private connection. Raises LetterFault where this machine or the other side doesn't trust it."""
    try:
        return secure()
    except smtplib.SMTPResponseException as fault:
        raise LetterFault(f"{host} refuses to go private: {in_words(fault.smtp_error)}") from fault
    except ssl.SSLError as fault:
        raise LetterFault(
            f"the connection to {host} can't be made private: {fault.reason or fault}"
        ) from fault


def no_starttls(gate: Gate, kind: ServerKind) -> LetterFault:
    """Return the fault of a server that can't go private where it was asked to."""
    return LetterFault(
        f"{gate.host} offers no STARTTLS; nothing was sent in the clear. Try SITEGEN_{kind.name}_SECURITY=tls"
    )


def not_let_in(gate: Gate, said: object) -> LetterFault:
    """Return the fault of a name or password that a server doesn't take."""
    return LetterFault(
        f"{gate.host} doesn't take the name '{gate.user}' with that password: {in_words(said)}"
    )


def in_words(said: object) -> str:
    """Return what a server or a fault says, fit to be quoted in a sentence."""
    if isinstance(said, BaseException):
        said = said.args[-1] if said.args else said
    return short(said.decode("utf-8", "replace") if isinstance(said, bytes) else said, _MOST_SAID)


# Octets that must arrive in the seconds that a line is patient for, as a letter of 256 KB takes minutes on a
# slow one: a modem of 1984 (V.22bis, 2,400 bit/s) brings 18,000 a minute.
_PACE = 16 << 10


class _Wire(io.RawIOBase):
    """What arrives from a server, until a moment of `monotonic` that moves on with what arrives."""

    def __init__(self, line: socket.socket) -> None:
        self.line, self.until = line, 0.0

    def readable(self) -> bool:
        return True

    def readinto(self, room: WriteableBuffer, /) -> int:
        patience = self.line.gettimeout()
        self.line.settimeout(max(0.0, self.until - monotonic()))
        try:
            count = self.line.recv_into(room)
            # What comes quickly earns no more than the whole patience from now on.
            self.until = min(self.until + (patience or 0) * count / _PACE, monotonic() + (patience or 0))
            return count
        except (TimeoutError, BlockingIOError, ssl.SSLWantReadError) as fault:
            slow = f"no whole answer, nor {_PACE >> 10} KB of one, within {patience:g} seconds"
            raise TimeoutError(slow) from fault
        finally:
            self.line.settimeout(patience)


class Ear(io.BufferedReader):
    """Hears answers out, each within its bytes and, as long as it's no faster, the line's patience."""

    def __init__(self, line: socket.socket, most: int) -> None:
        self.wire, self.most = _Wire(line), most
        super().__init__(self.wire)
        self.expect()

    def expect(self) -> None:
        """Begin to wait for an answer."""
        self.wire.until, self.left = monotonic() + (self.wire.line.gettimeout() or 0), self.most

    def read(self, size: int | None = -1, /) -> bytes:
        """Read so many bytes. Raises OSError for more than can be meant."""
        self._take(size or 0)
        return super().read(size)

    def readline(self, size: int | None = -1, /) -> bytes:
        """Read a line. Raises OSError where an answer has no end, or takes too long."""
        line = super().readline(self.left + 1 if size is None or size < 0 else size)
        self._take(len(line))
        return line

    def is_spoken_to(self) -> bool:
        """Tell whether something is there already; nothing is waited for."""
        self.wire.until = 0
        try:
            return bool(self.peek(1))
        except OSError:
            return False

    def _take(self, size: int) -> None:
        self.left -= size
        if self.left < 0:
            raise OSError("an answer without an end")


# Bytes of one answer: a search of a mailbox names a million messages in so many, a message is fetched up to a
# bound.
_MOST = 16 << 20


class IncomingDoor(imaplib.IMAP4):
    """A connection to a mailbox."""

    _ear: Ear | None = None

    @property
    def ear(self) -> Ear:
        """What hears the line as it is now, private or not."""
        if self._ear is None or self._ear.wire.line is not self.sock:
            self._ear = Ear(self.sock, _MOST)
        return self._ear

    def read(self, size: int) -> bytes:
        """Read a message."""
        return self.ear.read(size)

    def readline(self) -> bytes:
        """Read a line."""
        return self.ear.readline()

    def send(self, data: ReadableBuffer) -> None:
        """Ask something: an answer is to come."""
        super().send(data)
        self.ear.expect()


class PrivateIncomingDoor(IncomingDoor, imaplib.IMAP4_SSL):
    """A connection that is private from its first byte."""


def messages_in(place: Path, progress: Progress = silent) -> Iterator[bytes]:
    """Yield each message of an mbox file, a Maildir folder, or a single .eml file, as much of it as matters.

    Raises LetterFault if it's neither.
    """
    is_maildir = place.is_dir() and (place / "cur").is_dir()
    if is_maildir or (place.is_file() and place.suffix.lower() == ".eml"):
        inside = (file for name in ("new", "cur") for file in sorted((place / name).glob("*")))
        files = [file for file in inside if file.is_file()] if is_maildir else [place]
        for done, file in enumerate(files, start=1):
            yield _beginning(file)
            progress(done, len(files))
        return
    if not place.is_file():
        raise LetterFault(f"{place} is neither a mailbox file (mbox) nor a Maildir folder")
    with place.open("rb") as stream:
        start = stream.read(5)
    if start not in {b"From ", b""}:
        raise LetterFault(f"{place} isn't a mailbox file: its first line should begin with 'From '")
    with closing(mailbox.mbox(place, create=False)) as box:
        keys = list(box.keys())
        for done, key in enumerate(keys, start=1):
            with box.get_file(key) as message:
                yield message.read(LARGEST)
            progress(done, len(keys))


def _beginning(file: Path) -> bytes:
    """Read as much of a message as matters; nothing of one that can't be opened, so the others are heard."""
    try:
        with file.open("rb") as stream:
            return stream.read(LARGEST)
    except OSError:
        return b""


PATIENCE = 60  # Seconds


def messages_at(
    gate: Gate, since: date, folder: str = "INBOX",
    progress: Progress = silent,
) -> Iterator[bytes]:  # fmt: skip
    """Yield what arrived in one folder on a day or later, oldest first, each up to its first 256 KB.

    Raises LetterFault if the server can't be reached, doesn't let us in or has no such folder.
    """
    with _entered(gate) as box:
        quoted = mailbox_name(folder).replace("\\", "\\\\").replace('"', '\\"')
        kind, said = box.select(f'"{quoted}"', readonly=True)
        if kind != "OK":
            raise LetterFault(f"{gate.host} has no folder '{folder}': {in_words(said[0])}")
        # RFC 3501 has days in English, whatever this machine speaks.
        day = "-".join(format_datetime(datetime.combine(since, time())).split()[1:4])
        kind, said = box.uid("SEARCH", "SINCE", day)
        if kind != "OK":
            raise LetterFault(f"{gate.host} doesn't do what it's asked: {in_words(said[0])}")
        # RFC 3501 section 7.2.5: numbers between spaces.
        numbers = b" ".join(part or b"" for part in said).decode("ascii", "replace").split()
        if not all(re.fullmatch("[0-9]{1,10}", number) for number in numbers):
            shown = in_words(said[0] or b"")
            raise LetterFault(f"{gate.host} answers a search with '{shown}', which names no messages")
        for done, number in enumerate(numbers, start=1):
            parts = box.uid("FETCH", number, f"(BODY.PEEK[]<0.{LARGEST}>)")
            # A message deleted meanwhile on another machine answers with nothing.
            yield from (bytes(part[1]) for part in parts[1] if isinstance(part, tuple))
            progress(done, len(numbers))


@contextmanager
def _entered(gate: Gate) -> Iterator[IncomingDoor]:
    """Open the connection, protect it, log in; say good-bye at the end."""
    try:
        box = _connected(gate)
        try:
            _log_in(box, gate)
            yield box
        finally:
            with suppress(OSError, imaplib.IMAP4.error):
                box.logout()
    except (OSError, imaplib.IMAP4.abort) as fault:
        raise LetterFault(
            f"the mailbox at {gate.host} can't be reached or hangs up: {in_words(fault)}"
        ) from fault
    except imaplib.IMAP4.error as fault:
        raise LetterFault(f"{gate.host} doesn't do what it's asked: {in_words(fault)}") from fault
    except (ValueError, LookupError, TypeError, AttributeError, MemoryError) as fault:
        # What the library does at an answer that isn't IMAP at all.
        raise LetterFault(
            f"{gate.host} answers in a way that nobody can read; is it an IMAP server?"
        ) from fault


def _connected(gate: Gate) -> IncomingDoor:
    context, way = ssl.create_default_context(), (gate.host, gate.port)
    if gate.security is Security.TLS:
        return private(gate.host, lambda: PrivateIncomingDoor(*way, ssl_context=context, timeout=PATIENCE))
    box = IncomingDoor(*way, timeout=PATIENCE)
    if gate.security is Security.STARTTLS:
        if "STARTTLS" not in box.capabilities:
            box.shutdown()
            raise no_starttls(gate, INCOMING)
        private(gate.host, lambda: box.starttls(context))
    return box


def _log_in(box: imaplib.IMAP4, gate: Gate) -> None:
    try:
        if "AUTH=PLAIN" in box.capabilities:  # RFC 4616: takes letters beyond ASCII, which LOGIN doesn't
            secret = f"\0{gate.user}\0{gate.password}".encode()
            box.authenticate("PLAIN", lambda _: secret)
        else:
            box.login(gate.user, gate.password)
    except imaplib.IMAP4.abort:
        raise
    except (imaplib.IMAP4.error, UnicodeEncodeError) as fault:
        raise not_let_in(gate, in_words(fault)) from fault


def mailbox_name(folder: str) -> str:
    """Write a folder's name in the server's own alphabet (RFC 3501 section 5.1.3)."""

    def shifted(run: str) -> str:
        coded = base64.b64encode(run.encode("utf-16-be")).decode("ascii").rstrip("=").replace("/", ",")
        return run.replace("&", "&-") if run.isascii() else f"&{coded}-"

    return "".join(map(shifted, re.findall(r"[ -~]+|[^ -~]+", folder)))
