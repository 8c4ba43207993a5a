"""Connections to mail servers that listen to an answer up to a bound: one that never ends stops nobody."""

from __future__ import annotations

import imaplib
import io
import smtplib

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
