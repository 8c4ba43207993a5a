"""Write a letter's messages into one mailbox file, for those who post by other means."""

from __future__ import annotations

import mailbox
import os
from datetime import UTC, datetime
from pathlib import Path

from sitegen.disk import open_own
from sitegen.letters.announce import Room
from sitegen.letters.faults import LetterFault
from sitegen.letters.posting import Letter, unposted
from sitegen.letters.record import PostingEvent, opened
from sitegen.letters.run import Allowed
from sitegen.letters.stamp import stamped


def write_mbox(letter: Letter, room: Room, allowed: Allowed, file: Path) -> int:
    """Write everyone's message who hasn't got it into a new mbox file (RFC 4155); return how many.

    They count as posted from then on. Raises LetterFault if the file is there already.
    """
    if file.exists():
        raise LetterFault(
            f"{file} is there already; name a new file, so that nothing is posted twice from it"
        )
    with opened(letter.ident, room.sent) as record:
        messages = list(unposted(letter, room.secret, record, allowed()))
        making = file.with_name(f".{file.name}.making")
        try:
            _write(making, [message.file for message in messages])
            making.replace(file)
        finally:
            making.unlink(missing_ok=True)
        for message in messages:
            record.note(message.token, PostingEvent.BOXED, datetime.now(UTC), file.name)
    return len(messages)


def _write(file: Path, messages: list[Path]) -> None:
    file.unlink(missing_ok=True)
    open_own(file).close()
    box = mailbox.mbox(file)
    try:
        for message in messages:
            box.add(stamped(message.read_bytes(), datetime.now(UTC)))
        box.flush()
    finally:
        box.close()
    with file.open("rb") as stream:
        os.fsync(stream.fileno())
