"""Write letters: read the studio, choose who gets one, compile each message."""

from __future__ import annotations

import secrets
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from sitegen.disk import own_folder, put
from sitegen.jobs.pen import pen
from sitegen.jobs.photos import picture_sets
from sitegen.jobs.where import moment_in
from sitegen.letters import (
    Announcement,
    Hanging,
    HeadStart,
    Room,
    Showing,
    Wanted,
    announce_commissions,
    announce_head_start,
    announce_pieces,
    announce_show,
    find_round,
    own_links,
    shows_pieces,
)
from sitegen.letters.cautions import NOT_ADVICE
from sitegen.sources import StudioFault, read
from sitegen.sources.people_rows import forgotten_in
from sitegen.studio.addresses import address_key
from sitegen.studio.commission import Round
from sitegen.studio.counting import counted
from sitegen.studio.in_time import early_people
from sitegen.studio.names import slug
from sitegen.studio.public import FrontOfHouse, front_of_house
from sitegen.studio.whole import Studio
from sitegen.voice.theme_files import find_theme


@dataclass(frozen=True)
class Written:
    """What a letter needs beside its own words."""

    studio: Studio
    front: FrontOfHouse
    room: Room


@dataclass(frozen=True)
class Own:
    """What the artist adds to a letter."""

    note: str = ""
    """Markdown."""
    showing: Showing = Showing.CARRIED


def commissions(
    desk: Written, round_name: str | None, own: Own, head_start: int | None = None
) -> tuple[Announcement, ...]:
    """Write the letter for a round of commissions: the named one, else the open or next one.

    With a head start of so many hours there are two: for the waiting list, and for everyone else.
    """
    people, hanging = desk.studio.people, _hanging(desk, own)
    one = _round_with_head_start(desk, round_name) if head_start is None else None
    if one is not None:
        round_name, head_start = one.name, one.head_start
    if not head_start:
        return (announce_commissions(desk.front, people, desk.room, own.note, round_name, hanging),)
    waits = (one.email for one in early_people(desk.studio.commissions))
    waiting = frozenset(address_key(address) for address in waits if address)
    early = HeadStart(head_start, waiting, round_name)
    first, rest = announce_head_start(desk.front, people, desk.room, early, own.note, hanging)
    if first is not None:
        first = replace(first, cautions=(*_not_kept(desk, round_name, head_start), *first.cautions))
    return tuple(made for made in (first, rest) if made is not None)


def _not_kept(desk: Written, name: str | None, hours: int) -> tuple[str, ...]:
    """Caution where a letter promises a head start that the order book doesn't give."""
    shown = find_round(desk.front, name)
    one = next(one for one in desk.studio.commissions.rounds if one.name == shown.name)
    if one.head_start == hours:
        return ()
    return (
        f"Write `head_start: {hours}` under {one.name} in commissions.yaml: it says {one.head_start} there, "
        "and whoever asks in the hours between would count as too early.",
    )


def _round_with_head_start(desk: Written, name: str | None) -> Round | None:
    """Return the round that is meant, if it gives a head start that still lies ahead."""
    shown = find_round(desk.front, name)
    one = next((one for one in desk.studio.commissions.rounds if one.name == shown.name), None)
    if one is None or not one.head_start:
        return None
    begins = shown.opens.timestamp() - one.head_start * 3600
    return one if desk.front.moment.timestamp() < begins else None


def pieces(desk: Written, slugs: tuple[str, ...], since: date | None, own: Own) -> Announcement:
    """Write the letter for available pieces: the named ones, else all finished since a day."""
    wanted = Wanted(slugs, since, _hanging(desk, own, always=True))
    return announce_pieces(desk.front, desk.studio.people, desk.room, wanted, own.note)


def show(desk: Written, slug: str, own: Own) -> Announcement:
    """Write the letter for a coming show."""
    return announce_show(desk.front, desk.studio.people, desk.room, slug, own.note, _hanging(desk, own))


def _hanging(desk: Written, own: Own, *, always: bool = False) -> Hanging:
    """Have the photos made ready, if the letter shows any."""
    needed = own.showing is not Showing.NONE and (always or shows_pieces(own.note))
    folder = Path(desk.studio.folder)
    return Hanging(picture_sets(desk.studio, desk.front, folder / "out") if needed else {}, own.showing)


def told(desk: Written, made: Announcement) -> list[str]:
    """Say what was written, to whom, and what to check before posting, a line each."""
    reasons = Counter(str(one.reason) for one in made.choice.skipped)
    site = Path(desk.studio.folder) / "out" / "site"
    links, missing = own_links(made.folder / "letter.html", desk.front.card.address, site)
    lines = [
        f"Letter:   {made.ident}",
        f"Subject:  {made.subject}",
        f"To:       {counted(len(made.choice.chosen), 'person', 'people')} (recipients.csv says why)",
        f"Left out: {counted(len(made.choice.skipped), 'person', 'people')} (skipped.csv says why)",
        *(f"            {count} {reason}" for reason, count in sorted(reasons.items())),
        f"Size:     {-(-made.largest // 1024)} KB at most",
        f"Links:    {counted(len(links), 'link', 'links')} into your site, "
        + (f"{len(missing)} not in out/site" if missing else "all of them in out/site"),
        f"Look at:  {made.folder / 'letter.html'} and {made.folder / 'letter.txt'}",
        "Checked:",
        *(f"  [x] {one}" for one in made.kept),
        "For you to check:",
        *(
            f"  [ ] {link} isn't in out/site; run `sitegen build` and publish before you post"
            for link in missing
        ),
        *(f"  [ ] {one}" for one in made.cautions),
        NOT_ADVICE,
    ]
    return [*lines, f"Post it with:  sitegen send {made.ident}"]


def room_of(folder: Path) -> Room:
    """Return where letters are made and where it is kept who has which."""
    return desk_of(folder, None).room


def read_note(path: Path | None) -> str:
    """Return the artist's own words from a Markdown file, or nothing."""
    if path is None:
        return ""
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise StudioFault(f"{path} isn't UTF-8 text; save it again with the encoding UTF-8") from None


@contextmanager
def at_desk(folder: Path, today: str | None, second: str = "") -> Iterator[Written]:
    """Read with the pen in hand, and hold it while a letter is written."""
    with pen(folder):
        yield desk_of(folder, today, second)


def desk_of(folder: Path, today: str | None, second: str = "") -> Written:
    """Read the studio and return what a letter needs of it; `second` names a second letter on one thing."""
    studio = read(folder).sound()
    front = front_of_house(studio, moment_in(studio.settings.time_zone, today))
    room = Room(
        theme=find_theme(folder, front.card.theme),
        out=folder / "out" / "letters",
        sent=folder / "sent",
        secret=leave_key(folder / "sent"),
        forgotten=forgotten_in(folder),
        leave_address=studio.settings.leave_address,
        second=slug(second),
    )
    return Written(studio, front, room)


# 64 hex digits; a shorter key could be guessed.
_KEY_BYTES = 32


def leave_key(sent: Path) -> bytes:
    """Return the secret by which a letter's way out knows its person; made once, kept in sent/.

    It must outlive every letter: without it, the way out of letters already posted stops working.
    """
    file = sent / "leave-key"
    if not file.exists():
        with pen(sent.parent):
            if not file.exists():  # another command may have been quicker
                own_folder(sent)
                put(file, f"{secrets.token_hex(_KEY_BYTES)}\n".encode(), kept=False, private=True)
    try:
        return _key_in(file.read_text(encoding="ascii"))
    except ValueError:
        raise StudioFault(
            f"{file} is damaged: it must hold 64 hex digits. Put it back from a copy; without it, people who "
            "answer earlier letters with their way out can't be recognised"
        ) from None


def _key_in(text: str) -> bytes:
    key = bytes.fromhex(text.strip())
    if len(key) != _KEY_BYTES:
        raise ValueError(f"{len(key)} bytes")
    return key
