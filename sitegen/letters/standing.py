"""How a letter stands that was made: who has it, who is still to get it, who can't, and of whom nobody knows.

Nothing is posted or noted here, so it may be asked while the letter goes out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sitegen.letters.announce import Room
from sitegen.letters.erase import ERASED
from sitegen.letters.faults import LetterFault
from sitegen.letters.folder import read_table
from sitegen.letters.posting import Letter, open_letter
from sitegen.letters.record import DOUBTFUL, HAVE, PostingEvent, Record
from sitegen.letters.run import Allowed
from sitegen.letters.tokens import make_token
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
            "letter": self.ident, "subject": self.subject, "interest": str(self.letter.interest),
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


def letters_in(out: Path) -> list[Letter]:
    """Return every sound letter of the list that lies below out/letters, the latest first."""
    found = []
    for file in out.glob("[!.]*/letter.json"):
        try:
            found.append(open_letter(file.parent))
        except LetterFault:
            continue
    return sorted(found, key=lambda one: (-(one.made.timestamp() if one.made else 0), one.ident))


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
