"""How letters stand: who has one, who is still to get it, of whom nobody knows; what one person was sent.

Nothing is posted here, so it may be asked while a letter goes out."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sitegen.disk import open_own
from sitegen.letters.folder import ERASED, Letter, Room, read_table
from sitegen.letters.personal import make_token
from sitegen.letters.record import (
    DOUBTFUL,
    FAILURE,
    HAVE,
    Posting,
    PostingEvent,
    Record,
    cut_torn_line,
    entries,
    postings,
)
from sitegen.letters.replies import Meaning, Reply
from sitegen.letters.run import Allowed
from sitegen.studio.fault import LetterFault
from sitegen.studio.person import address_key


@dataclass(frozen=True, slots=True)
class LetterState:
    """One letter, and how far it has gone out."""

    letter: Letter
    chosen: int
    """To how many it was made."""
    posted: int
    """Have it, by the record."""
    left: int
    """Get it with the next `send`."""
    withheld: int
    """Haven't got it and may no longer have it."""
    in_doubt: tuple[str, ...] = field(repr=False)
    """They may have it or not; the artist decides."""
    refused: tuple[tuple[str, str], ...] = field(repr=False)
    """With the office's words."""
    refused_still: int
    """Of those, how many are on the list as before."""
    untrue: str = ""
    """Why it can't be posted as it is: what it promises is no longer true."""

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
        pairs = (fact.partition(" ") for fact in self.letter.facts)
        return tuple((kind, name) for kind, _, name in pairs)

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


def state_of(letter: Letter, room: Room, allowed: Allowed) -> LetterState:
    """Say how a letter stands by its lists and its record. Raises LetterFault for a damaged record."""
    record = Record(room.sent / f"{letter.ident}.jsonl")
    may, untrue = _may(allowed)
    posted, in_doubt, refused = 0, [], []
    left, refused_still, withheld = 0, 0, 0
    addresses = [*_addresses(letter.folder)]
    for address in addresses:
        key = address_key(address)
        token = make_token(room.secret, key)
        last, allows = record.last.get(token), may is None or key in may
        if last in HAVE:
            posted += 1
        elif last in DOUBTFUL:
            in_doubt.append(address)
        elif last is PostingEvent.REFUSED:
            refused.append((address, record.said.get(token, "")))
            refused_still += allows
        elif allows:
            left += 1
        else:
            withheld += 1
    return LetterState(
        letter, len(addresses), posted, left, withheld, tuple(in_doubt), tuple(refused), refused_still, untrue
    )


def _may(allowed: Allowed) -> tuple[frozenset[str] | None, str]:
    """Return who may have a letter, or why nobody gets it as it is."""
    try:
        return allowed(), ""
    except LetterFault as fault:
        return None, str(fault)


def _addresses(folder: Path) -> Iterator[str]:
    """Yield to whom there's a message: they are numbered as the rows of the list."""
    there = {int(file.stem) for file in (folder / "eml").glob("*.eml") if file.stem.isdigit()}
    for number, row in enumerate(read_table(folder / "recipients.csv")[1:], start=1):
        if number in there and row and row[0] != ERASED:
            yield row[0]


# So many letters in a row that a mailbox didn't take make it unreachable.
TEMPORARY_IN_A_ROW = 3


def sent_to(sent: Path, token: str) -> list[Posting]:
    """List the last word on each letter to the person with this token, in order of time."""
    return postings(sent, {token})[token]


def note_temporary(sent: Path, secret: bytes, replies: Iterable[Reply]) -> frozenset[str]:
    """Note temporary failures, each letter once; return the keys whose last three letters all failed."""
    file = sent / "failures.jsonl"
    known = {(entry["person"], entry["letter"]) for entry in entries(file, FAILURE)}
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
    sent_out = postings(sent, set(touched.values()))
    return frozenset(key for key, token in touched.items() if _keeps_failing(sent_out[token], token, known))


def _keeps_failing(postings: Sequence[Posting], token: str, known: set[tuple[str, str]]) -> bool:
    letters = [
        posting.letter for posting in postings if posting.event in {PostingEvent.POSTED, PostingEvent.BOXED}
    ]
    latest = letters[-TEMPORARY_IN_A_ROW:]
    return len(latest) == TEMPORARY_IN_A_ROW and all((token, letter) in known for letter in latest)
