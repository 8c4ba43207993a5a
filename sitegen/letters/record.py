"""The record of what was posted: one line before and one after each message, on the disk before going on.

A person is named by their token, so that the record can be kept when someone asks to be forgotten.
Killed at any instant, it says of everyone whether they have the letter, don't, or are in doubt.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping, Sequence, Set
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import IO, Any

from sitegen.disk import hold, open_own, own_folder
from sitegen.studio.fault import LetterFault


class PostingEvent(StrEnum):
    """What happened to one message."""

    HANDING = "handing over"
    """Written before the message's text goes out; as a last word it means doubt."""
    POSTED = "posted"
    BOXED = "written to a mailbox file"
    LATER = "not taken yet"
    REFUSED = "refused"
    UNSURE = "in doubt"


_EVENTS = frozenset(PostingEvent)
# As last word of the record: these never get the letter again on our own account.
HAVE = frozenset({PostingEvent.POSTED, PostingEvent.BOXED})
DOUBTFUL = frozenset({PostingEvent.HANDING, PostingEvent.UNSURE})


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

    def close(self) -> None:
        """Let go of the file."""
        if self._stream is not None:
            self._stream.close()

    def note(self, person: str, event: PostingEvent, at: datetime, said: str = "") -> None:
        """Append one line and return when it's on the disk. Raises LetterFault if it can't be."""
        line = {"at": at.isoformat(timespec="milliseconds"), "person": person, "event": str(event)}
        if said:
            line["said"] = said[:300]
        try:
            stream = self._opened()
            stream.write(json.dumps(line, ensure_ascii=False).encode("utf-8") + b"\n")
            stream.flush()
            os.fsync(stream.fileno())
        except OSError as fault:
            raise LetterFault(
                f"the record {self.file} can't be written ({fault}); posting stopped"
            ) from fault
        self.last[person], self.said[person] = event, said

    def _opened(self) -> IO[bytes]:
        if self._stream is None:
            new = not self.file.exists()
            self._stream = open_own(self.file)
            cut_torn_line(self.file, self._stream)
            if new:
                _sync_folder(self.file.parent)
        return self._stream


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
        entry = _entry(line, wanted)
        if entry is None:
            raise LetterFault(
                f"{file}, line {number} can't be read; nothing is posted or noted, since it may say who has "
                "the letter. Put the file back from a copy, or mend that line"
            )
        yield entry


def _entry(line: bytes, wanted: Sequence[str]) -> Mapping[str, str] | None:
    try:
        entry: Any = json.loads(line)
    except (ValueError, RecursionError):
        return None
    if not isinstance(entry, dict) or not all(isinstance(value, str) for value in entry.values()):
        return None
    sound = all(name in entry for name in wanted) and entry.get("event", PostingEvent.POSTED) in _EVENTS
    return entry if sound else None


def cut_torn_line(file: Path, stream: IO[bytes]) -> None:
    """Take away what a crash left of a line: it has no line end, so nothing was done after it."""
    whole = file.read_bytes()
    if whole and not whole.endswith(b"\n"):
        stream.truncate(whole.rfind(b"\n") + 1)


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":  # a folder can't be opened there; the file's own sync has to do
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@dataclass(frozen=True, slots=True)
class Posting:
    """One letter to one person."""

    letter: str
    at: str
    """ISO 8601, UTC."""
    event: str


def postings(sent: Path, tokens: Set[str]) -> dict[str, list[Posting]]:
    """Go through the records once and list the last word on each letter to each of these people."""
    last: dict[str, dict[str, Posting]] = {token: {} for token in tokens}
    for file in sent.glob("*.jsonl") if tokens else ():
        if file.stem == "failures":
            continue
        for entry in entries(file):
            if (own := last.get(entry["person"])) is not None:
                own[file.stem] = Posting(file.stem, entry["at"], entry["event"])
    return {token: sorted(own.values(), key=lambda one: (one.at, one.letter)) for token, own in last.items()}
