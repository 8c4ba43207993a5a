"""The pen of a studio: who holds it may change the studio's files, and nobody else meanwhile.

A job takes the pen before it reads what it decides on and gives it back when all is written, so that two
commands at once can't overwrite each other's work. What changes a file asks for the pen (`put`,
`fresh_folder`), so a job that forgot to take it is found by its first test.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sitegen.disk.files import OWN_FILE, OWN_FOLDER, hold, own_folder, to_disk, write_whole
from sitegen.disk.states import KEPT, PARTS, STATES, KeptEdit, digest_of, open_entry
from sitegen.studio.asked import Fault


class PenMissing(RuntimeError):
    """A file of the studio was to be changed without the pen: the job lacks `@writes`."""


@dataclass
class _Held:
    """The pen in hand."""

    given: str  # the studio's folder as it was named
    kept: Path
    goes_on: str  # what is done in many short turns, and taken back as one
    entry: KeptEdit | None = None  # what this command changed so far, if anything


class _Mine(threading.local):
    """What this thread holds, and is at."""

    doing, wrote = "another program", 0

    def __init__(self) -> None:
        self.held: dict[str, _Held] = {}


_mine = _Mine()


def named(command: str) -> None:
    """Say which command this thread is at: its own words only, since what was typed may be an address."""
    _mine.doing, _mine.wrote = command, 0


def wrote() -> int:
    """Return by its number what this thread's command kept to be taken back; 0 if it changed nothing."""
    return _mine.wrote


def doing() -> str:
    """Return which command is at work, by its own words."""
    return _mine.doing


@contextlib.contextmanager
def pen(folder: Path, goes_on: str = "") -> Iterator[None]:
    """Hold a studio's pen. Waits some seconds; then raises Fault with who holds it.

    `goes_on` names what is done in many short turns, which are taken back as one. Raises OSError if there's
    no such folder. Whoever holds it may take it again.
    """
    place, held = os.path.realpath(folder), _mine.held
    if place in held:
        yield
        return
    kept = Path(place) / KEPT
    if kept.is_symlink():  # who sweeps there would sweep elsewhere
        raise Fault(f"{kept} is a link; take it away, so that the program can keep earlier states there")
    handle = take_turn(Path(place), kept, doing())
    mine = held[place] = _Held(os.path.abspath(folder), kept, goes_on)  # noqa: PTH100 (links stay)
    try:
        # What a killed command left unfinished: only who holds the pen makes anything there.
        for path in (kept / PARTS).iterdir() if (kept / PARTS).is_dir() else ():
            if path.is_dir() and not path.is_symlink():
                shutil.rmtree(path)
            else:
                path.unlink()
        yield
    finally:
        del held[place]
        with contextlib.suppress(OSError):  # nothing is left behind where nothing was changed
            if mine.entry is not None and not mine.entry.happened(Path(mine.given)):
                mine.entry.drop()
                _mine.wrote = 0
        for left in (kept / PARTS, kept / STATES, kept):
            with contextlib.suppress(OSError):  # there's something in it, or it isn't there
                left.rmdir()
        os.close(handle)


def in_hand(folder: Path) -> bool:
    """Tell whether this command holds the pen of the studio that a folder lies in."""
    with contextlib.suppress(PenMissing):
        return bool(_pen_for(folder / "x"))
    return False


def put(file: Path, content: bytes, *, kept: bool = True, private: bool = False) -> None:
    """Write a file of the studio, whole or not at all; its state before is `kept`, to be taken back.

    Where the artist put a link, what it leads to is written.
    Raises PenMissing without the pen, OSError if it can't be written.
    """
    if kept:
        _will_hold(file, hashlib.sha256(content).hexdigest())
    write_whole(Path(os.path.realpath(file)), content, parts=_parts(file), private=private)


def take_away(file: Path) -> None:
    """Take a file or folder away, and keep its state before, to be taken back. Raises as `put` does."""
    _will_hold(file, None)
    if file.is_dir():  # at once, so that a kill leaves no half of it; the next holder sweeps
        aside = Path(tempfile.mkdtemp(dir=_parts(file)))
        file.rename(aside / file.name)
        shutil.rmtree(aside)
    else:
        file.unlink()


def _will_hold(file: Path, digest: str | None) -> None:
    """Keep a file's present state before it becomes one with this SHA-256, or none. Raises PenMissing."""
    held, path = _pen_for(file)
    if held.entry is None:
        held.entry = open_entry(held.kept, held.goes_on or doing(), goes_on=bool(held.goes_on))
    held.entry.note(path, file, digest)
    _mine.wrote = held.entry.number


@contextlib.contextmanager
def fresh_folder(target: Path) -> Iterator[Path]:
    """Give a folder to fill; if all goes well it comes to `target`, where nothing is. Raises PenMissing."""
    making = Path(tempfile.mkdtemp(dir=_parts(target), prefix=".making-"))
    try:
        yield making
        for file in sorted(path for path in making.rglob("*") if path.is_file()):
            to_disk(file)
            _will_hold(target / file.relative_to(making), digest_of(file))
        making.chmod(0o755)
        making.rename(target)
        to_disk(target.parent)
    finally:
        shutil.rmtree(making, ignore_errors=True)


def _pen_for(file: Path) -> tuple[_Held, Path]:
    """Return the pen of the studio that a file lies in, and the file's path there. Raises PenMissing.

    A folder of the studio may be a link to elsewhere, and the studio as well: either way of writing counts.
    """
    ways = os.path.abspath(file), os.path.join(os.path.realpath(file.parent), file.name)  # noqa: PTH100, PTH118
    for place, held in _mine.held.items():
        for root, way in ((held.given, ways[0]), (place, ways[1])):
            if way.startswith(root + os.sep):
                return held, Path(os.path.relpath(way, root))
    raise PenMissing(f"{file.name}: take the pen first (sitegen.jobs.where.writes)")


def _parts(target: Path) -> Path:
    """Return where a file is put together: where the next holder sweeps, if a rename can come from there."""
    parts = _pen_for(target)[0].kept / PARTS
    own_folder(parts.parent)
    own_folder(parts)
    beside = Path(os.path.realpath(target)).parent
    return parts if parts.stat().st_dev == beside.stat().st_dev else beside


# Seconds: a command works for about one; what takes longer waits for an answer on a screen, or is stuck.
PATIENCE = 15.0
# As long as the turn goes from hand to hand, a queue is waited for.
LONGEST = 120.0
_PAUSE = 0.02


def take_turn(place: Path, kept: Path, command: str) -> int:
    """Lock a studio's folder; return the open handle. `kept` is the program's own folder there.

    The lock is on the folder itself, so that taking it writes nothing there. The operating system drops it
    when its holder ends, however it ends; a note of who has it is for those who wait.
    Raises Fault with who holds it after some seconds, OSError if it can't be locked at all.
    """
    own = own_place()
    note = own / f"{hashlib.sha256(os.fsencode(place)).hexdigest()[:24]}.json" if own else None
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
                raise Fault(
                    f"{holder or 'another command'} is changing the files in {place}; nothing was written. "
                    "Let it finish, or answer what it asks, then run this again"
                ) from None
            time.sleep(_PAUSE)
    since = datetime.now().astimezone().isoformat(timespec="seconds")
    if note is not None:
        text = json.dumps({"command": command, "since": since, "process": os.getpid()})
        with contextlib.suppress(OSError):  # only for those who wait; no reason not to work
            note.write_text(text, encoding="utf-8")
    return handle


def _locked(place: Path, kept: Path) -> int:
    """Lock a folder. Raises BlockingIOError while another one holds it, OSError if it can't be locked."""
    if os.name != "nt":
        handle = os.open(place, os.O_RDONLY)
        try:
            hold(handle)
        except BlockingIOError:
            os.close(handle)
            raise
        except OSError:
            os.close(handle)
        else:
            return handle
    # Windows opens no folders, and some network drives lock only files that are open for writing.
    own_folder(kept)
    handle = os.open(kept / "lock", os.O_RDWR | os.O_CREAT, OWN_FILE)
    try:
        hold(handle)
    except OSError:
        os.close(handle)
        raise
    return handle


def _holder(note: Path | None) -> str:
    """Say who holds the pen; nothing where that isn't known."""
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
        told = json.loads(note.read_text(encoding="utf-8")) if note else {}
        return f"`{told['command']}` (process {told['process']}, since {told['since'][11:19]})"
    return ""


def own_place() -> Path | None:
    """Return the folder, made if need be; None where it can't be trusted to be this user's alone."""
    user = os.getuid() if hasattr(os, "getuid") else os.environ.get("USERNAME", "me")
    place = Path(tempfile.gettempdir()) / f"sitegen-{user}"
    with contextlib.suppress(OSError):
        place.mkdir(mode=OWN_FOLDER, exist_ok=True)
        # Others may write in the temporary folder too: what they laid there first isn't ours.
        if not hasattr(os, "getuid") or (place.lstat().st_uid == user and not place.is_symlink()):
            own_folder(place)
            return place
    return None
