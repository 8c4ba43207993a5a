"""Taking turns: a lock on a studio's folder, and a note of who has it for those who wait.

The lock is on the folder itself, so that taking it writes nothing there. The operating system drops it when
its holder ends, however it ends.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
import time
from datetime import datetime
from pathlib import Path

from sitegen.disk.files import OWN_FILE, hold, own_folder
from sitegen.studio.fault import Fault

# Seconds: a command works for about one; what takes longer waits for an answer on a screen, or is stuck.
PATIENCE = 15.0
# As long as the turn goes from hand to hand, a queue is waited for.
LONGEST = 120.0
_PAUSE = 0.02
_LOCK = "lock"


def take_turn(place: Path, kept: Path, command: str) -> int:
    """Lock a studio's folder; return the open handle. `kept` is the program's own folder there.

    Raises Fault with who holds it after some seconds, OSError if it can't be locked at all.
    """
    note = _note_of(place)
    start = seen = time.monotonic()
    holder = _holder(note)
    while True:
        try:
            handle = _locked(place, kept)
            break
        except BlockingIOError:
            now, found = time.monotonic(), _holder(note)
            if found != holder:
                holder, seen = found, now
            if now - seen > PATIENCE or now - start > LONGEST:
                raise Fault(_told(place, holder)) from None
            time.sleep(_PAUSE)
    _sign(note, command)
    return handle


def _locked(place: Path, kept: Path) -> int:
    if os.name != "nt":
        with contextlib.suppress(_NotHere):
            return _locked_file(place, os.O_RDONLY)
    # Windows opens no folders, and some network drives lock only files that are open for writing.
    own_folder(kept)
    return _locked_file(kept / _LOCK, os.O_RDWR | os.O_CREAT)


class _NotHere(OSError):
    """This kind of disk doesn't lock such a thing."""


def _locked_file(file: Path, flags: int) -> int:
    handle = os.open(file, flags, OWN_FILE)
    try:
        hold(handle)
    except BlockingIOError:
        os.close(handle)
        raise
    except OSError as fault:
        os.close(handle)
        raise _NotHere(*fault.args) from fault
    return handle


def _note_of(place: Path) -> Path | None:
    own = own_place()
    return own / f"{hashlib.sha256(os.fsencode(place)).hexdigest()[:24]}.json" if own else None


def _sign(note: Path | None, command: str) -> None:
    since = datetime.now().astimezone().isoformat(timespec="seconds")
    text = json.dumps({"command": command, "since": since, "process": os.getpid()})
    if note is not None:
        with contextlib.suppress(OSError):  # only for those who wait; no reason not to work
            note.write_text(text, encoding="utf-8")


def _holder(note: Path | None) -> str:
    try:
        return note.read_text(encoding="utf-8") if note else ""
    except (OSError, ValueError):
        return ""


def _told(place: Path, holder: str) -> str:
    try:
        note = json.loads(holder)
        who = f"`{note['command']}` (process {note['process']}, since {note['since'][11:19]})"
    except (ValueError, KeyError, TypeError):
        who = "another command"
    return (
        f"{who} is changing the files in {place}; nothing was written. Let it finish, or answer what it "
        "asks, then run this again"
    )


def own_place() -> Path | None:
    """Return the folder, made if need be; None where it can't be trusted to be this user's alone."""
    user = os.getuid() if hasattr(os, "getuid") else os.environ.get("USERNAME", "me")
    place = Path(tempfile.gettempdir()) / f"sitegen-{user}"
    try:
        own_folder(place)
        # Others may write in the temporary folder too: what they laid there first isn't ours.
        mine = not hasattr(os, "getuid") or (place.lstat().st_uid == user and not place.is_symlink())
    except OSError:
        return None
    return place if mine else None
