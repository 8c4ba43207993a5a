"""Post a letter: to each person once, or not, and never in a way that nobody can tell afterwards.

The sequence for one message: a line in the record, the message's text, the office's answer, a second
line. Whoever has a first line without a second is in doubt; the artist decides, not the program.
"""

from __future__ import annotations

import mailbox
import os
from collections.abc import Iterator, Sequence
from contextlib import closing
from datetime import UTC, date, datetime
from email import policy
from email.errors import MessageError
from email.parser import BytesHeaderParser
from pathlib import Path

from sitegen.disk import open_own
from sitegen.letters.cautions import refuse_if_untrue
from sitegen.letters.folder import Letter, Room
from sitegen.letters.kinds import asked_before
from sitegen.letters.office import Office, OfficeShut
from sitegen.letters.personal import make_token
from sitegen.letters.record import DOUBTFUL, PostingEvent, opened
from sitegen.letters.run import Allowed, Manner, Message, Run, RunResult, WallClock, stamped
from sitegen.studio.fault import LetterFault
from sitegen.studio.mailing import choose
from sitegen.studio.person import Person, address_key
from sitegen.studio.public import FrontOfHouse


def still_allowed(
    letter: Letter, front: FrontOfHouse, people: Sequence[Person], room: Room
) -> frozenset[str]:
    """Check a letter against the studio as it is now; return who may have it.

    Raises LetterFault if what it promises is no longer true.
    """
    refuse_if_untrue(letter.facts, front)
    return who_may(letter, front.moment.date(), people, room)


def who_may(letter: Letter, today: date, people: Sequence[Person], room: Room) -> frozenset[str]:
    """Return the folded addresses of those who may be written to on what a letter is about.

    Who was asked to confirm by another letter isn't asked again.
    """
    chosen = choose(people, letter.interest, today, room.forgotten).chosen
    asked = {} if letter.interest else asked_before(room, people, letter.ident)
    return frozenset(one.key for one in chosen) - asked.keys()


def send(
    letter: Letter, room: Room, office: Office, allowed: Allowed, manner: Manner,
    clock: WallClock | None = None,
) -> RunResult:  # fmt: skip
    """Post a letter to everyone who hasn't got it; may be stopped and run again.

    Raises LetterFault if it can't begin; what happens later is told by the result, and by the record.
    """
    with opened(letter.ident, room.sent) as record:
        run = Run(record, office, allowed, manner, clock or WallClock())
        try:
            return run.through(_messages(letter, room.secret))
        finally:
            office.close()


def send_to_me(letter: Letter, office: Office) -> str:
    """Post the trial copy to the studio's own address, which is returned; nothing is recorded."""
    file = letter.folder / "to-me.eml"
    address, sender = _addresses(file)
    try:
        outcome = office.post(sender, address, stamped(file.read_bytes(), datetime.now(UTC)), lambda: None)
    except OfficeShut as fault:
        raise LetterFault(f"the post office can't be reached: {fault}") from fault
    finally:
        office.close()
    if outcome.event is not PostingEvent.POSTED:
        raise LetterFault(f"the trial copy to {address} wasn't taken: {outcome.said}")
    return address


def settle(letter: Letter, room: Room, address: str, *, has_it: bool) -> None:
    """Record the artist's decision on someone in doubt. Raises LetterFault if there's no doubt."""
    token = make_token(room.secret, address_key(address))
    with opened(letter.ident, room.sent) as record:
        if record.last.get(token) not in DOUBTFUL:
            raise LetterFault(f"'{address}' isn't in doubt for '{letter.ident}'")
        decided = PostingEvent.POSTED if has_it else PostingEvent.LATER
        record.note(token, decided, datetime.now(UTC), "decided by the artist")


def _messages(letter: Letter, secret: bytes) -> Iterator[Message]:
    for file in sorted((letter.folder / "eml").glob("*.eml")):
        address, sender = _addresses(file)
        key = address_key(address)
        yield Message(file, sender, address, key, make_token(secret, key))


def _addresses(file: Path) -> tuple[str, str]:
    """Read whom a message is to and from, by its own header."""
    with file.open("rb") as stream:
        message = BytesHeaderParser(policy=policy.default).parse(stream)
    try:
        (recipient,), (sender,) = message["To"].addresses, message["From"].addresses
        return recipient.addr_spec, sender.addr_spec
    except (AttributeError, TypeError, ValueError, LookupError, MessageError, RecursionError) as fault:
        raise LetterFault(f"{file} isn't a message to one person; make the letter again") from fault


def write_mbox(letter: Letter, room: Room, allowed: Allowed, file: Path) -> int:
    """Write everyone's message who hasn't got it into a new mbox file (RFC 4155); return how many.

    They count as posted from then on. Raises LetterFault if the file is there already.
    """
    if file.exists():
        raise LetterFault(
            f"{file} is there already; name a new file, so that nothing is posted twice from it"
        )
    with opened(letter.ident, room.sent) as record:
        may, open_still = allowed(), {None, PostingEvent.LATER}
        messages = [
            one
            for one in _messages(letter, room.secret)
            if one.key in may and record.last.get(one.token) in open_still
        ]
        making = file.with_name(f".{file.name}.making")
        making.unlink(missing_ok=True)
        try:
            open_own(making).close()
            with closing(mailbox.mbox(making)) as box:
                for message in messages:
                    box.add(stamped(message.file.read_bytes(), datetime.now(UTC)))
                box.flush()
            with making.open("rb") as stream:
                os.fsync(stream.fileno())
            making.replace(file)
        finally:
            making.unlink(missing_ok=True)
        for message in messages:
            record.note(message.token, PostingEvent.BOXED, datetime.now(UTC), file.name)
    return len(messages)
