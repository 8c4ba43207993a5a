"""The record of what was posted, and how letters stand by it.

One line stands before and one after each message, on the disk before going on. A person is named by their
token, so that the record can be kept when someone asks to be forgotten. Killed at any instant, it says of
everyone whether they have the letter, don't, or are in doubt. How letters stand may be asked meanwhile.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from typing import IO, Any, Literal, NamedTuple

from sitegen.disk import hold, open_own, own_folder
from sitegen.disk.files import to_disk
from sitegen.letters.folder import ERASED, Letter, Room, make_token, read_table
from sitegen.letters.replies import Meaning, Reply
from sitegen.studio.asked import LetterFault
from sitegen.studio.person import address_key


class PostingEvent(StrEnum):
    """What happened to one message."""

    HANDING = "handing over"  # written before the message's text goes out; as a last word it means doubt
    POSTED = "posted"
    BOXED = "written to a mailbox file"
    LATER = "not taken yet"
    REFUSED = "refused"
    UNSURE = "in doubt"


_EVENTS = frozenset(PostingEvent)
# As last word of the record: these never get the letter again on our own account.
HAVE = frozenset({PostingEvent.POSTED, PostingEvent.BOXED})
DOUBTFUL = frozenset({PostingEvent.HANDING, PostingEvent.UNSURE})
Standing = Literal["posted", "left", "withheld", "in doubt", "refused"]

Allowed = Callable[[], frozenset[str]]
"""Reads the studio again for the addresses that may have a letter. Raises LetterFault if it's untrue."""


class Record:
    """The record of one letter, held open and locked while it's posted."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self._stream: IO[bytes] | None = None
        self.last: dict[str, PostingEvent] = {}
        """The last event of each person, by token."""
        self.said: dict[str, str] = {}
        """What was said of it, where something was."""
        for entry in entries(file):
            person = entry["person"]
            self.last[person], self.said[person] = PostingEvent(entry["event"]), entry.get("said", "")

    def standing(self, person: str, *, may: bool) -> Standing:
        """Say how a letter stands with someone who may or may no longer have it."""
        last = self.last.get(person)
        if last in DOUBTFUL:
            return "in doubt"
        if last is PostingEvent.REFUSED:
            return "refused"
        return "posted" if last in HAVE else "left" if may else "withheld"

    def close(self) -> None:
        """Let go of the file."""
        if self._stream is not None:
            self._stream.close()

    def note(self, person: str, event: PostingEvent, at: datetime | None = None, said: str = "") -> None:
        """Append one line and return when it's on the disk. Raises LetterFault if it can't be."""
        moment = (at or datetime.now(UTC)).isoformat(timespec="milliseconds")
        line = {"at": moment, "person": person, "event": str(event)} | ({"said": said[:300]} if said else {})
        try:
            if self._stream is None:
                new = not self.file.exists()
                self._stream = open_own(self.file)
                cut_torn_line(self.file, self._stream)
                if new:
                    to_disk(self.file.parent)
            self._stream.write(json.dumps(line, ensure_ascii=False).encode("utf-8") + b"\n")
            self._stream.flush()
            os.fsync(self._stream.fileno())
        except OSError as fault:
            raise LetterFault(
                f"the record {self.file} can't be written ({fault}); posting stopped"
            ) from fault
        self.last[person], self.said[person] = event, said


@contextmanager
def held(ident: str, sent: Path) -> Iterator[None]:
    """Keep a letter to oneself: who posts it or makes it. Raises LetterFault while another one does."""
    own_folder(sent)
    with open_own(sent / f"{ident}.lock") as lock:
        try:
            hold(lock.fileno())
        except OSError:
            raise LetterFault(f"'{ident}' is just being posted, or made anew; wait until it's done") from None
        yield


@contextmanager
def opened(ident: str, sent: Path) -> Iterator[Record]:
    """Open a letter's record; raises LetterFault while somebody else is at the letter."""
    with held(ident, sent), closing(Record(sent / f"{ident}.jsonl")) as record:
        yield record


# What each kind of line holds; all of it is text.
RECORD, FAILURE = ("at", "person", "event"), ("person", "letter")


def entries(file: Path, wanted: Sequence[str] = RECORD) -> Iterator[Mapping[str, str]]:
    """Yield the lines of a record; a torn last line was never acted on, so it counts for nothing.

    Raises LetterFault for a line that can't be read.
    """
    if not file.exists():
        return
    for number, line in enumerate(file.read_bytes().split(b"\n")[:-1], start=1):
        try:
            entry: Any = json.loads(line)
            sound = all(isinstance(value, str) for value in entry.values()) and entry.keys() >= {*wanted}
            sound = sound and entry.get("event", PostingEvent.POSTED) in _EVENTS
        except (ValueError, RecursionError, AttributeError):
            sound = False
        if not sound:
            raise LetterFault(
                f"{file}, line {number} can't be read; nothing is posted or noted, since it may say who has "
                "the letter. Put the file back from a copy, or mend that line"
            )
        yield entry


def cut_torn_line(file: Path, stream: IO[bytes]) -> None:
    """Take away what a crash left of a line: it has no line end, so nothing was done after it."""
    whole = file.read_bytes()
    if whole and not whole.endswith(b"\n"):
        stream.truncate(whole.rfind(b"\n") + 1)


class Posting(NamedTuple):
    """One letter to one person: its event, and when that was (ISO 8601, UTC)."""

    at: str
    letter: str
    event: str


def postings(sent: Path, tokens: Set[str]) -> dict[str, list[Posting]]:
    """Go through the records once; list the last word on each letter to each of these people, in order."""
    last: dict[str, dict[str, Posting]] = {token: {} for token in tokens}
    for file in sent.glob("*.jsonl") if tokens else ():
        if file.stem == "failures":
            continue
        for entry in entries(file):
            if (own := last.get(entry["person"])) is not None:
                own[file.stem] = Posting(entry["at"], file.stem, entry["event"])
    return {token: sorted(own.values()) for token, own in last.items()}


@dataclass(frozen=True, slots=True)
class LetterState:
    """One letter, and how far it has gone out."""

    letter: Letter
    chosen: int  # to how many it was made
    posted: int  # have it, by the record
    left: int  # get it with the next `send`
    withheld: int  # haven't got it and may no longer have it
    in_doubt: tuple[str, ...] = field(repr=False)  # they may have it or not; the artist decides
    refused: tuple[tuple[str, str], ...] = field(repr=False)  # with the office's words
    refused_still: int  # of those, how many are on the list as before
    untrue: str = ""  # why it can't be posted as it is: what it promises is no longer true

    @property
    def ident(self) -> str:
        """Name of its folder."""
        return self.letter.ident

    @property
    def subject(self) -> str:
        """Its subject."""
        return self.letter.subject

    @property
    def about(self) -> tuple[tuple[str, str], ...]:
        """What it tells of: kind (round, show, piece) and name in addresses."""
        return tuple((kind, name) for kind, _, name in (fact.partition(" ") for fact in self.letter.facts))

    def as_answer(self) -> dict[str, Any]:
        """Return the state for machines; of who has it only counts."""
        made = self.letter.made
        return {
            "letter": self.ident, "subject": self.subject, "interest": str(self.letter.interest or ""),
            "made": made.isoformat() if made else None, "largest": self.letter.largest,
            "to": self.chosen, "left_out": dict(self.letter.left_out), "posted": self.posted,
            "left": self.left, "withheld": self.withheld, "in_doubt": list(self.in_doubt),
            "refused": [{"address": address, "said": said} for address, said in self.refused],
            "untrue": self.untrue,
        }  # fmt: skip

    def lines(self) -> list[str]:
        """Write the state for a person."""
        letter = self.letter
        rows = [
            (self.posted, "posted"),
            (self.left, "to be posted with the next `send`"),
            (len(self.refused), "refused for good"),
            (self.withheld, "withheld: they may no longer be written to"),
        ]
        made = [f"Made:     {letter.made:%Y-%m-%d}"] if letter.made else []
        out = [f"            {count} {reason}" for reason, count in letter.left_out.items()]
        return [
            f"Letter:   {self.ident}", f"Subject:  {self.subject}", *made, f"To:       {self.chosen}",
            *(["Left out:", *out] if out else []),
            *([f"Size:     {-(-letter.largest // 1024)} KB at most"] if letter.largest else []),
            *(f"{count:>6} {what}" for count, what in rows if count),
            *refused_lines(self.refused), *doubt_lines(self.in_doubt),
            *([f"It can't be posted as it is: {self.untrue}"] if self.untrue else []),
        ]  # fmt: skip


def refused_lines(refused: Iterable[tuple[str, str]]) -> list[str]:
    """Name who was refused, with the office's words where they are known."""
    return [f"Refused: {address} ({said})" if said else f"Refused: {address}" for address, said in refused]


def doubt_lines(in_doubt: Iterable[str]) -> list[str]:
    """Name of whom nobody knows whether they have the letter, and what to do."""
    return [
        f"In doubt: {address}. Look in your provider's sent mail, then say --has or --has-not {address}."
        for address in in_doubt
    ]


def state_of(letter: Letter, room: Room, may: frozenset[str] | None, untrue: str = "") -> LetterState:
    """Say how a letter stands by its lists and its record, with who may have it, or why nobody can.

    Raises LetterFault for a damaged record.
    """
    record = Record(room.sent / f"{letter.ident}.jsonl")
    there = {int(file.stem) for file in (letter.folder / "eml").glob("*.eml") if file.stem.isdigit()}
    count: Counter[str] = Counter()
    in_doubt, refused = [], []
    # The messages are numbered as the rows of the list.
    for number, row in enumerate(read_table(letter.folder / "recipients.csv")):
        if number not in there or not row or row[0] == ERASED:
            continue
        address, key = row[0], address_key(row[0])
        token, allows = make_token(room.secret, key), may is None or key in may
        standing = record.standing(token, may=allows)
        count[standing] += 1
        if standing == "in doubt":
            in_doubt.append(address)
        elif standing == "refused":
            refused.append((address, record.said.get(token, "")))
            count["refused still"] += allows
    return LetterState(
        letter, count.total() - count["refused still"], count["posted"], count["left"], count["withheld"],
        tuple(in_doubt), tuple(refused), count["refused still"], untrue,
    )  # fmt: skip


# So many letters in a row that a mailbox didn't take make it unreachable.
TEMPORARY_IN_A_ROW = 3


def note_temporary(sent: Path, secret: bytes, replies: Iterable[Reply]) -> frozenset[str]:
    """Note temporary failures, each letter once; return the keys whose last three letters all failed."""
    file = sent / "failures.jsonl"
    known = {(entry["person"], entry["letter"]) for entry in entries(file, FAILURE)}
    failed = [
        (reply.key, reply.letter)
        for reply in replies
        if reply.meaning is Meaning.TEMPORARY and reply.key and reply.letter
    ]
    tokens = {key: make_token(secret, key) for key, _ in failed}
    fresh = sorted({(tokens[key], letter) for key, letter in failed} - known)
    if fresh:
        with open_own(file) as stream:
            cut_torn_line(file, stream)
            lines = (json.dumps({"person": person, "letter": letter}) for person, letter in fresh)
            stream.write("".join(f"{line}\n" for line in lines).encode())
    known.update(fresh)
    had = postings(sent, {*tokens.values()})
    latest = {
        key: [(token, bounce.letter) for bounce in had[token] if bounce.event in HAVE][-TEMPORARY_IN_A_ROW:]
        for key, token in tokens.items()
    }
    return frozenset(
        key for key, last in latest.items() if len(last) == TEMPORARY_IN_A_ROW and known.issuperset(last)
    )
