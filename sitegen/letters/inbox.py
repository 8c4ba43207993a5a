"""What came back: an mbox file, a Maildir folder, or a mailbox over IMAP; read and never changed."""

from __future__ import annotations

import base64
import imaplib
import mailbox
import re
import ssl
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from datetime import date, datetime, time
from email.utils import format_datetime
from pathlib import Path

from sitegen.letters.envelope import LARGEST
from sitegen.letters.gate import (
    INCOMING,
    Gate,
    IncomingDoor,
    PrivateIncomingDoor,
    Security,
    in_words,
    no_starttls,
    not_let_in,
    private,
)
from sitegen.studio.fault import LetterFault


def messages_in(
    place: Path, progress: Callable[[int, int], None] = lambda done, total: None
) -> Iterator[bytes]:
    """Yield each message of an mbox file, a Maildir folder, or a single .eml file, as much of it as matters.

    Raises LetterFault if it's neither.
    """
    if place.is_dir() and (place / "cur").is_dir():
        folders = [place / "new", place / "cur"]
        files = [file for folder in folders for file in sorted(folder.glob("*")) if file.is_file()]
        for done, file in enumerate(files, start=1):
            yield _beginning(file)
            progress(done, len(files))
        return
    if not place.is_file():
        raise LetterFault(f"{place} is neither a mailbox file (mbox) nor a Maildir folder")
    if place.suffix.lower() == ".eml":
        yield _beginning(place)
        return
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


PATIENCE = 60
"""Seconds."""


def messages_at(
    gate: Gate, since: date, folder: str = "INBOX",
    progress: Callable[[int, int], None] = lambda done, total: None,
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
        numbers = _numbers(gate, *box.uid("SEARCH", "SINCE", day))
        for done, number in enumerate(numbers, start=1):
            box.listen_again()
            parts = box.uid("FETCH", number, f"(BODY.PEEK[]<0.{LARGEST}>)")
            # A message deleted meanwhile on another machine answers with nothing.
            yield from (bytes(part[1]) for part in parts[1] if isinstance(part, tuple))
            progress(done, len(numbers))


def _numbers(gate: Gate, kind: str, parts: list[bytes]) -> list[str]:
    """Read which messages there are (RFC 3501 section 7.2.5: numbers between spaces)."""
    if kind != "OK":
        raise LetterFault(f"{gate.host} doesn't do what it's asked: {in_words(parts[0])}")
    answer = [part or b"" for part in parts]
    words = b" ".join(answer).split()
    if not all(re.fullmatch(rb"[0-9]{1,10}", word) for word in words):
        said = in_words(answer[0])
        raise LetterFault(f"{gate.host} answers a search with '{said}', which names no messages")
    return [word.decode("ascii") for word in words]


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
