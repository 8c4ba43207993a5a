"""The way in to a mail server: where it is, how the way there is protected, how long an answer may be."""

from __future__ import annotations

import imaplib
import io
import ipaddress
import re
import smtplib
import ssl
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeVar

from sitegen.studio.fault import LetterFault
from sitegen.studio.text import short

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


# Bytes of one answer. RFC 5321 section 4.5.3.1.5 has lines of 512, and an honest greeting a dozen of them; a
# search of a mailbox names a million messages in eight times that many; a message is fetched up to a bound.
_SMTP, _IMAP = 64 << 10, 16 << 20


class _Ear(io.BufferedReader):
    left = _SMTP

    def readline(self, size: int | None = -1, /) -> bytes:
        line = super().readline(-1 if size is None else size)
        self.left -= len(line)
        if self.left < 0:
            raise OSError("an answer without an end")
        return line


class OutgoingDoor(smtplib.SMTP):
    """A connection to a post office."""

    def getreply(self) -> tuple[int, bytes]:
        """Read an answer; one without an end counts as hanging up."""
        if self.sock is not None and not isinstance(self.file, _Ear):
            self.file = _Ear(self.sock.makefile("rb", buffering=0))
        if self.file is not None:
            self.file.left = _SMTP
        return super().getreply()


class PrivateOutgoingDoor(OutgoingDoor, smtplib.SMTP_SSL):
    """A connection that is private from its first byte."""


class IncomingDoor(imaplib.IMAP4):
    """A connection to a mailbox."""

    left = _IMAP

    def listen_again(self) -> None:
        """Begin with the next question."""
        self.left = _IMAP

    def read(self, size: int) -> bytes:
        """Read a message. Raises OSError for a size that can't be meant."""
        self._take(size)
        return super().read(size)

    def readline(self) -> bytes:
        """Read a line. Raises OSError when an answer has no end."""
        line = super().readline()
        self._take(len(line))
        return line

    def _take(self, size: int) -> None:
        self.left -= size
        if self.left < 0:
            raise OSError("an answer without an end")


class PrivateIncomingDoor(IncomingDoor, imaplib.IMAP4_SSL):
    """A connection that is private from its first byte."""
