"""Write letters: read the studio, choose who gets one, compile each message."""

from __future__ import annotations

import os
import secrets
import stat
from dataclasses import dataclass
from pathlib import Path

from sitegen.jobs.place import find_theme, moment_in
from sitegen.letters import Announcement, Room, announce_commissions
from sitegen.sources import StudioFault, read
from sitegen.studio.public import FrontOfHouse, front_of_house
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Written:
    """What a letter needs beside its own words."""

    studio: Studio
    front: FrontOfHouse
    room: Room


def commissions(folder: Path, today: str | None, round_name: str | None, note: str) -> Announcement:
    """Write the letter for a round of commissions: the named one, else the open or next one."""
    desk = _desk(folder, today)
    return announce_commissions(desk.front, desk.studio.people, desk.room, note, round_name)


def read_note(path: Path | None) -> str:
    """Return the artist's own words from a Markdown file, or nothing."""
    if path is None:
        return ""
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise StudioFault(f"{path} isn't UTF-8 text; save it again with the encoding UTF-8") from None


def _desk(folder: Path, today: str | None) -> Written:
    studio = read(folder).sound()
    front = front_of_house(studio, moment_in(studio.settings.time_zone, today))
    room = Room(
        theme=find_theme(folder, front.card.theme),
        out=folder / "out" / "letters",
        sent=folder / "sent",
        secret=leave_key(folder / "sent"),
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
