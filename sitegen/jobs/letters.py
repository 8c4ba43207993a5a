"""Write letters: read the studio, choose who gets one, compile each message."""

from __future__ import annotations

import os
import secrets
import stat
from dataclasses import dataclass, replace
from pathlib import Path

from sitegen.jobs.photos import picture_sets
from sitegen.jobs.place import find_theme, moment_in
from sitegen.letters import (
    Announcement,
    HeadStart,
    Room,
    Showing,
    Wanted,
    announce_commissions,
    announce_head_start,
    announce_pieces,
    announce_show,
    broken_links,
)
from sitegen.sources import StudioFault, read
from sitegen.sources.people_forget import forgotten_in
from sitegen.studio.addresses import address_key
from sitegen.studio.public import FrontOfHouse, front_of_house
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Written:
    """What a letter needs beside its own words."""

    studio: Studio
    front: FrontOfHouse
    room: Room


def commissions(
    folder: Path, today: str | None, round_name: str | None, note: str, head_start: int | None = None
) -> tuple[Announcement, ...]:
    """Write the letter for a round of commissions: the named one, else the open or next one.

    With a head start of so many hours there are two: for the waiting list, and for everyone else.
    """
    desk = desk_of(folder, today)
    people = desk.studio.people
    if head_start is None:
        return (announce_commissions(desk.front, people, desk.room, note, round_name),)
    waits = (one.private.email for one in desk.studio.commissions.waiting)
    waiting = frozenset(address_key(address) for address in waits if address)
    early = HeadStart(head_start, waiting, round_name)
    both = announce_head_start(desk.front, people, desk.room, early, note)
    return tuple(one for one in both if one is not None)


def pieces(folder: Path, today: str | None, wanted: Wanted, note: str) -> Announcement:
    """Write the letter for available pieces: the named ones, else all finished since a day."""
    desk = desk_of(folder, today)
    shown = {} if wanted.showing is Showing.NONE else picture_sets(desk.studio, desk.front, folder / "out")
    return announce_pieces(desk.front, desk.studio.people, desk.room, replace(wanted, sets=shown), note)


def show(folder: Path, today: str | None, slug: str, note: str) -> Announcement:
    """Write the letter for a coming show."""
    desk = desk_of(folder, today)
    return announce_show(desk.front, desk.studio.people, desk.room, slug, note)


def links_to_nowhere(folder: Path, made: Announcement) -> tuple[str, ...]:
    """Return the letter's links into the studio's own site that the built site doesn't hold."""
    address = read(folder).sound().settings.address
    return broken_links(made.folder / "letter.html", address, folder / "out" / "site")


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


def desk_of(folder: Path, today: str | None) -> Written:
    """Read the studio and return what a letter needs of it."""
    studio = read(folder).sound()
    front = front_of_house(studio, moment_in(studio.settings.time_zone, today))
    room = Room(
        theme=find_theme(folder, front.card.theme),
        out=folder / "out" / "letters",
        sent=folder / "sent",
        secret=leave_key(folder / "sent"),
        forgotten=forgotten_in(folder),
        leave_address=studio.settings.leave_address,
    )
    return Written(studio, front, room)


def leave_key(sent: Path) -> bytes:
    """Return the secret by which a letter's way out knows its person; made once, kept in sent/.

    It must outlive every letter: without it, the way out of letters already posted stops working.
    """
    file = sent / "leave-key"
    if not file.exists():
        sent.mkdir(parents=True, exist_ok=True)
        _create(file, secrets.token_hex(32))
    try:
        return bytes.fromhex(file.read_text(encoding="ascii").strip())
    except ValueError:
        raise StudioFault(
            f"{file} is damaged: it must hold 64 hex digits. Put it back from a copy; without it, people who "
            "answer earlier letters with their way out can't be recognised"
        ) from None


def _create(file: Path, text: str) -> None:
    try:
        handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, stat.S_IRUSR | stat.S_IWUSR)
    except FileExistsError:  # another announcement was quicker; its key is as good
        return
    with os.fdopen(handle, "w", encoding="ascii") as stream:
        stream.write(text + "\n")
        stream.flush()
        os.fsync(stream.fileno())
