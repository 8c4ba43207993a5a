"""Open what came back: an mbox file or a Maildir folder, read and never changed."""

from __future__ import annotations

import mailbox
from collections.abc import Iterator
from pathlib import Path

from sitegen.letters.envelope import LARGEST
from sitegen.letters.faults import LetterFault


def messages_in(place: Path) -> Iterator[bytes]:
    """Yield each message of an mbox file, a Maildir folder, or a single .eml file, as much of it as matters.

    Raises LetterFault if it's neither.
    """
    if place.is_dir() and (place / "cur").is_dir():
        yield from _maildir(place)
    elif place.is_file() and place.suffix.lower() == ".eml":
        yield _beginning(place)
    elif place.is_file():
        yield from _mbox(place)
    else:
        raise LetterFault(f"{place} is neither a mailbox file (mbox) nor a Maildir folder")


def _maildir(place: Path) -> Iterator[bytes]:
    for folder in ("new", "cur"):
        for file in sorted((place / folder).glob("*")):
            if file.is_file():
                yield _beginning(file)


def _mbox(place: Path) -> Iterator[bytes]:
    with place.open("rb") as stream:
        start = stream.read(5)
    if start not in {b"From ", b""}:
        raise LetterFault(f"{place} isn't a mailbox file: its first line should begin with 'From '")
    box = mailbox.mbox(place, create=False)
    try:
        for key in box.keys():  # noqa: SIM118 (a mailbox isn't a dict)
            with box.get_file(key) as message:
                yield message.read(LARGEST)
    finally:
        box.close()


def _beginning(file: Path) -> bytes:
    """Read as much of a message as matters; nothing of one that can't be opened, so the others are heard."""
    try:
        with file.open("rb") as stream:
            return stream.read(LARGEST)
    except OSError:
        return b""
