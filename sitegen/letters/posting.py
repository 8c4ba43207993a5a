"""Post a letter: to each person once, or not, and never in a way that nobody can tell afterwards.

The sequence for one message: a line in the record, the message's text, the office's answer, a second
line. Whoever has a first line without a second is in doubt; the artist decides, not the program.
"""

from __future__ import annotations

import mailbox
import re
import threading
import time
from collections import Counter, deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from email import policy
from email.errors import MessageError
from email.parser import BytesHeaderParser
from email.utils import format_datetime, parsedate_to_datetime
from pathlib import Path

from sitegen.disk import open_own
from sitegen.disk.files import to_disk
from sitegen.letters.cautions import refuse_if_untrue
from sitegen.letters.folder import Letter, Room, make_token
from sitegen.letters.kinds import asked_before
from sitegen.letters.office import Handover, Office, OfficeShut
from sitegen.letters.record import DOUBTFUL, Allowed, PostingEvent, Record, opened
from sitegen.studio.asked import LetterFault, Progress, silent
from sitegen.studio.mailing import choose
from sitegen.studio.person import Person, address_key
from sitegen.studio.public import FrontOfHouse


class WallClock:
    """Real time; `stop` may be called from a signal handler."""

    def __init__(self) -> None:
        self._stop = threading.Event()

    def now(self) -> float:
        """Return seconds that only grow."""
        return time.monotonic()

    def wait(self, seconds: float) -> None:
        """Wait until the time is over or someone wants to stop."""
        self._stop.wait(seconds)

    @property
    def stopping(self) -> bool:
        """True when someone wants to stop."""
        return self._stop.is_set()

    def stop(self) -> None:
        """Ask to stop after the message in hand."""
        self._stop.set()


def stamped(message: bytes, now: datetime) -> bytes:
    """Return a message with `now` in its Date field (RFC 5322 section 3.6.1), by the studio's clock."""
    head, gap, body = message.partition(b"\r\n\r\n")
    found = re.search(rb"(?m)^Date: ([^\r\n]*)", head)
    if found is None:
        return message
    there = now.astimezone(parsedate_to_datetime(found[1].decode("ascii")).tzinfo)
    dated = b"Date: " + format_datetime(there).encode("ascii")
    return head[: found.start()] + dated + head[found.end() :] + gap + body


# Most mailbox providers take a few hundred letters an hour from one account (common practice, no source).
PACE = 20
# Seconds to wait after a "later", longer each time.
BACK_OFF = (30, 60, 120, 300)
TRIES = len(BACK_OFF) + 1
# When so many in a row are refused, it's the letter or the account that is refused, not the people.
REFUSED_IN_A_ROW = 5
# Seconds after which the studio's files are read again: a piece may be sold while letters go out.
LOOK_AGAIN = 60


@dataclass(frozen=True, slots=True)
class Manner:
    """How to post."""

    pace: float = PACE  # messages a minute; 0 for no limit
    limit: int | None = None  # at most so many in this run
    progress: Progress = silent  # told how many are done, of how many
    waits: Callable[[str], None] = lambda said: None  # told why the office is shut, and until when


@dataclass(slots=True)
class RunResult:
    """What a run of posting did; addresses as they stand on the envelopes."""

    posted: list[str] = field(default_factory=list)
    already: list[str] = field(default_factory=list)
    refused: list[tuple[str, str]] = field(default_factory=list)
    """With the office's words; those of earlier runs too, then without."""
    refused_before: dict[str, str] = field(default_factory=dict)  # the office's words in an earlier run
    later: list[tuple[str, str]] = field(default_factory=list)  # get it when `send` is run again
    in_doubt: list[str] = field(default_factory=list)
    """They may have it or not; nothing more is sent until the artist decides."""
    withheld: list[str] = field(default_factory=list)  # left, or off the list, since the letter was made
    left_over: int = 0  # not tried, because of a limit or a stop
    stopped: str = ""  # why it couldn't go on, if so


@dataclass(frozen=True, slots=True)
class Message:
    """One message of a letter's folder."""

    file: Path
    sender: str
    address: str
    key: str
    token: str


@dataclass
class Run:
    """One run of `send`."""

    _record: Record
    _office: Office
    _allowed: Allowed
    _manner: Manner
    _clock: WallClock
    _result: RunResult = field(default_factory=RunResult)
    _queue: deque[Message] = field(default_factory=deque)
    _tries: Counter[str] = field(default_factory=Counter)
    _not_before: dict[str, float] = field(default_factory=dict)  # of someone deferred, by token
    _free_at: float = 0.0  # when the pace, or an office that was shut, allows the next message
    _shut_in_a_row: int = 0
    _refused_in_a_row: int = 0
    _next_look: float = 0.0
    _may: frozenset[str] = frozenset()

    def through(self, messages: Iterator[Message]) -> RunResult:
        """Post all that is to be posted."""
        self._look()
        self._queue.extend(message for message in messages if self._is_open(message))
        here, limit = len(self._queue), self._manner.limit
        try:
            self._work(here if limit is None else min(here, limit))
        except LetterFault as fault:
            self._result.stopped = str(fault)
        self._result.left_over = len(self._queue)
        return self._result

    def _work(self, turns: int) -> None:
        done = 0
        while self._queue and done < turns and not self._result.stopped:
            message = self._next()
            if message is None:
                return
            self._queue.remove(message)
            try:
                settled = self._turn(message)
            except LetterFault:
                self._queue.appendleft(message)
                raise
            if settled:
                done += 1
                self._manner.progress(done, turns)
            else:
                self._queue.append(message)

    def _next(self) -> Message | None:
        """Wait for the first message whose time has come; None if the artist wants to stop."""
        while not self._clock.stopping:
            now = self._clock.now()
            ready = (message for message in self._queue if self._not_before.get(message.token, now) <= now)
            message = next(ready, None)
            if message is not None and self._free_at <= now:
                return message
            soonest = min(self._not_before.get(message.token, 0.0) for message in self._queue)
            self._clock.wait(max(self._free_at, soonest) - now)
        return None

    def _is_open(self, message: Message) -> bool:
        """Sort out those who have it, can't have it, or are in doubt."""
        standing = self._record.standing(message.token, may=message.key in self._may)
        done, address = self._result, message.address
        if standing == "refused":
            done.refused.append((address, "refused in an earlier run"))
            done.refused_before[address] = self._record.said.get(message.token, "")
        elif standing != "left":
            told = {"posted": done.already, "in doubt": done.in_doubt, "withheld": done.withheld}
            told[standing].append(address)
        return standing == "left"

    def _turn(self, message: Message) -> bool:
        """Try one message; return False if it should be tried again in this run."""
        if self._clock.now() >= self._next_look:
            self._look()
        if message.key not in self._may:
            self._result.withheld.append(message.address)
            return True
        outcome = self._post(message)
        if self._manner.pace:
            self._free_at = max(self._free_at, self._clock.now() + 60 / self._manner.pace)
        return outcome is not None and self._settled(message, outcome)

    def _post(self, message: Message) -> Handover | None:
        """Hand in one message between two lines of the record; None if the office was shut."""
        handed: list[bool] = []

        def before() -> None:
            self._record.note(message.token, PostingEvent.HANDING)
            handed.append(True)

        try:
            text = stamped(message.file.read_bytes(), datetime.now(UTC))
            outcome = self._office.post(message.sender, message.address, text, before)
        except OfficeShut as fault:
            if handed:
                self._record.note(message.token, PostingEvent.LATER, said=str(fault))
            self._shut_in_a_row += 1
            if self._shut_in_a_row >= TRIES:
                self._result.stopped = f"the post office can't be reached or hangs up: {fault}"
                return None
            seconds = BACK_OFF[self._shut_in_a_row - 1]
            self._free_at = self._clock.now() + seconds
            said = f"the post office can't be reached: {fault}. Tried again after {seconds} seconds"
            self._manner.waits(said)
            return None
        self._shut_in_a_row = 0
        self._record.note(message.token, outcome.event, said=outcome.said)
        if outcome.out_of_step:
            self._result.stopped = (
                f"the post office answers out of step, with '{outcome.said}'; nothing more was handed in. "
                "Ask your mail provider"
            )
        return outcome

    def _settled(self, message: Message, outcome: Handover) -> bool:
        """Note what became of a message; return False if it should be tried again in this run."""
        done, said = self._result, outcome.said
        if outcome.event is PostingEvent.LATER:
            self._tries[message.token] += 1
            tries = self._tries[message.token]
            if tries < TRIES:
                self._not_before[message.token] = self._clock.now() + BACK_OFF[tries - 1]
                return False
            done.later.append((message.address, said))
        elif outcome.event is PostingEvent.POSTED:
            self._refused_in_a_row = 0
            done.posted.append(message.address)
        elif outcome.event is PostingEvent.UNSURE:
            done.in_doubt.append(message.address)
        else:
            done.refused.append((message.address, said))
            self._refused_in_a_row += 1
            if self._refused_in_a_row >= REFUSED_IN_A_ROW:
                done.stopped = (
                    f"{REFUSED_IN_A_ROW} people in a row were refused, last with '{said}'; that is hardly "
                    "the people's fault. Ask your mail provider"
                )
        return True

    def _look(self) -> None:
        self._may = self._allowed()
        self._next_look = self._clock.now() + LOOK_AGAIN


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
    return frozenset(reader.key for reader in chosen) - asked.keys()


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
        record.note(token, decided, said="decided by the artist")


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
        may = allowed()
        messages = [
            message
            for message in _messages(letter, room.secret)
            if record.standing(message.token, may=message.key in may) == "left"
        ]
        making = file.with_name(f".{file.name}.making")
        making.unlink(missing_ok=True)
        try:
            open_own(making).close()
            with closing(mailbox.mbox(making)) as box:
                for message in messages:
                    box.add(stamped(message.file.read_bytes(), datetime.now(UTC)))
                box.flush()
            to_disk(making)
            making.replace(file)
            to_disk(file.parent)
        finally:
            making.unlink(missing_ok=True)
        for message in messages:
            record.note(message.token, PostingEvent.BOXED, said=file.name)
    return len(messages)
