"""Open what came back: an mbox file or a Maildir folder, read and never changed."""

from __future__ import annotations

import mailbox
from collections.abc import Iterator
from pathlib import Path

from sitegen.letters.faults import LetterFault


def messages_in(place: Path) -> Iterator[bytes]:
    """Yield each message of an mbox file, a Maildir folder, or a single .eml file."""
    if place.is_dir() and (place / "cur").is_dir():
        yield from _maildir(place)
    elif place.is_file() and place.suffix.lower() == ".eml":
        yield place.read_bytes()
    elif place.is_file():
        yield from _mbox(place)
    else:
        raise LetterFault(f"{place} is neither a mailbox file (mbox) nor a Maildir folder")


def _maildir(place: Path) -> Iterator[bytes]:
    for folder in ("new", "cur"):
        for file in sorted((place / folder).glob("*")):
            if file.is_file():
                yield file.read_bytes()


def _mbox(place: Path) -> Iterator[bytes]:
    with place.open("rb") as stream:
        start = stream.read(5)
    if start not in {b"From ", b""}:
        raise LetterFault(f"{place} isn't a mailbox file: its first line should begin with 'From '")
    box = mailbox.mbox(place, create=False)
    try:
        for key in box.keys():  # noqa: SIM118 (a mailbox isn't a dict)
            yield box.get_bytes(key)
    finally:
        box.close()
