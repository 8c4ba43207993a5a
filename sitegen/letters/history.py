"""Look back over the records of all letters: what one person was sent, and who keeps failing."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass
from pathlib import Path

from sitegen.disk import open_own
from sitegen.letters.record import FAILURE, PostingEvent, cut_torn_line, entries
from sitegen.letters.replies import Meaning, Reply
from sitegen.letters.tokens import make_token

# So many letters in a row that a mailbox didn't take make it unreachable.
TEMPORARY_IN_A_ROW = 3


@dataclass(frozen=True, slots=True)
class Posting:
    """One letter to one person."""

    letter: str
    at: str
    """ISO 8601, UTC."""
    event: str


def sent_to(sent: Path, token: str) -> list[Posting]:
    """List the last word on each letter to the person with this token, in order of time."""
    return _postings(sent, {token})[token]


def _postings(sent: Path, tokens: Set[str]) -> dict[str, list[Posting]]:
    """Go through the records once and list the last word on each letter to each of these people."""
    last: dict[str, dict[str, Posting]] = {token: {} for token in tokens}
    for file in sent.glob("*.jsonl") if tokens else ():
        if file.stem == "failures":
            continue
        for entry in entries(file):
            if (own := last.get(entry["person"])) is not None:
                own[file.stem] = Posting(file.stem, entry["at"], entry["event"])
    return {token: sorted(own.values(), key=lambda one: (one.at, one.letter)) for token, own in last.items()}


def note_temporary(sent: Path, secret: bytes, replies: Iterable[Reply]) -> frozenset[str]:
    """Note temporary failures, each letter once; return the keys whose last three letters all failed."""
    file = sent / "failures.jsonl"
    known = _failures(file)
    fresh = []
    touched: dict[str, str] = {}
    for reply in replies:
        if reply.meaning is not Meaning.TEMPORARY or reply.key is None or reply.letter is None:
            continue
        token = touched[reply.key] = make_token(secret, reply.key)
        pair = token, reply.letter
        if pair not in known:
            known.add(pair)
            fresh.append(pair)
    if fresh:
        with open_own(file) as stream:
            cut_torn_line(file, stream)
            lines = (json.dumps({"person": person, "letter": letter}) for person, letter in fresh)
            stream.write("".join(f"{line}\n" for line in lines).encode())
    postings = _postings(sent, set(touched.values()))
    return frozenset(key for key, token in touched.items() if _keeps_failing(postings[token], token, known))


def _keeps_failing(postings: Sequence[Posting], token: str, known: set[tuple[str, str]]) -> bool:
    letters = [one.letter for one in postings if one.event in {PostingEvent.POSTED, PostingEvent.BOXED}]
    latest = letters[-TEMPORARY_IN_A_ROW:]
    return len(latest) == TEMPORARY_IN_A_ROW and all((token, letter) in known for letter in latest)


def _failures(file: Path) -> set[tuple[str, str]]:
    return {(entry["person"], entry["letter"]) for entry in entries(file, FAILURE)}
