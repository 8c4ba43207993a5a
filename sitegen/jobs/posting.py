"""Post letters: read the studio again, open the post office, hand in what is still true."""

from __future__ import annotations

import re
import signal
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from sitegen.jobs.letters import desk_of, room_of
from sitegen.jobs.pen import pen
from sitegen.letters import (
    Letter,
    Manner,
    Result,
    SmtpOffice,
    WallClock,
    open_letter,
    send,
    send_to_me,
    settle,
    still_allowed,
    submission_from,
    write_mbox,
)
from sitegen.letters.run import Allowed
from sitegen.sources.people_rows import set_left
from sitegen.studio.addresses import address_key
from sitegen.studio.person import Left, Person, Why


def post_to_me(folder: Path, ident: str, settings: Mapping[str, str]) -> str:
    """Post the trial copy to the studio's own address; return it."""
    return send_to_me(_letter(folder, ident), SmtpOffice(submission_from(settings)))


def box(folder: Path, ident: str, file: Path, today: str | None = None) -> int:
    """Write the messages nobody has yet into a mailbox file; return how many."""
    letter = _letter(folder, ident)
    return write_mbox(letter, room_of(folder), _allowed(folder, letter, today), file)


def decide(folder: Path, ident: str, address: str, *, has_it: bool) -> None:
    """Record the artist's decision on someone in doubt."""
    settle(_letter(folder, ident), room_of(folder), address, has_it=has_it)


def _letter(folder: Path, ident: str) -> Letter:
    return open_letter(folder / "out" / "letters" / ident)


def _allowed(folder: Path, letter: Letter, today: str | None) -> Allowed:
    def look() -> frozenset[str]:
        desk = desk_of(folder, today)
        return still_allowed(letter, desk.front, desk.studio.people, desk.room)

    return look


@dataclass(frozen=True)
class Wish:
    """What is to be posted, and how."""

    ident: str
    pace: float
    """Letters a minute; 0 for no limit."""
    limit: int | None
    progress: Callable[[int, int], None]
    settings: Mapping[str, str] = field(repr=False)
    """The post office's, as the environment names them."""


# RFC 3463 section 3.2: no such mailbox, no such system, bad syntax, moved without a new address.
_NO_SUCH = re.compile(r"^5\d\d 5\.1\.[1236](?!\d)")


def post_until_stopped(folder: Path, wish: Wish, today: str | None) -> tuple[Result, int]:
    """Post, and let Ctrl-C end it cleanly after the message in hand.

    Whose mailbox doesn't exist is noted as bounced; returns how many rows of people.csv that changed, too.
    """
    manner = Manner(wish.pace, wish.limit, lambda done, total, _seconds: wish.progress(done, total))
    clock = WallClock()
    before = signal.signal(signal.SIGINT, lambda *_: clock.stop())
    try:
        letter = _letter(folder, wish.ident)
        office = SmtpOffice(submission_from(wish.settings))
        desk = desk_of(folder, today)
        result = send(letter, desk.room, office, _allowed(folder, letter, today), manner, clock)
    finally:
        signal.signal(signal.SIGINT, before)
    gone = _gone(result, desk.studio.people)
    left = Left(desk.front.moment.date(), Why.BOUNCED)
    if not gone:
        return result, 0
    with pen(folder):
        return result, set_left(folder / "people.csv", dict.fromkeys(gone, left))


def _gone(result: Result, people: Sequence[Person]) -> set[str]:
    """Return whose mailbox doesn't exist, as was learnt now, or in an earlier run that was killed too soon.

    Whoever has an exit in people.csv already was noted then, and may have come back since.
    """
    noted = {one.key for one in people if one.left is not None}
    now, before = _without_mailbox(result.refused), _without_mailbox(result.refused_before.items())
    return now | (before - noted)


def _without_mailbox(refused: Iterable[tuple[str, str]]) -> set[str]:
    return {address_key(address) for address, said in refused if _NO_SUCH.search(said)}


def told(result: Result, bounced: int = 0) -> list[str]:
    """Say what a run of posting did, a line each."""
    rows = [
        (len(result.posted), "posted now"),
        (len(result.already), "had it already"),
        (len(result.later), "not taken yet; they get it when `send` is run again"),
        (len(result.refused), "refused for good"),
        (len(result.withheld), "withheld: they may no longer be written to"),
        (result.left_over, "not tried in this run"),
        (bounced, "noted as bounced in people.csv: there is no such mailbox"),
    ]
    lines = [f"{count:>6} {what}" for count, what in rows if count]
    lines += [
        f"Refused: {address} ({said})" if said else f"Refused: {address}" for address, said in result.refused
    ]
    lines += [
        f"In doubt: {address}. Look in your provider's sent mail, then say --has or --has-not {address}."
        for address in result.in_doubt
    ]
    return [*lines, f"Stopped: {result.stopped}"] if result.stopped else lines
