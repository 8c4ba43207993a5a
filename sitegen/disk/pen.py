"""The pen of a studio: who holds it may change the studio's files, and nobody else meanwhile.

A job takes the pen before it reads what it decides on and gives it back when all is written, so that two
commands at once can't overwrite each other's work. What changes a file asks for the pen (`put`,
`fresh_folder`), so a job that forgot to take it is found by its first test.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import tempfile
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sitegen.disk.files import own_folder, write_whole
from sitegen.disk.states import KEPT, PARTS, STATES, KeptEdit, open_entry
from sitegen.disk.turns import take_turn
from sitegen.studio.fault import Fault

__all__ = [
    "PenMissing", "doing", "fresh_folder", "in_hand", "named", "pen", "put", "take_away",
]  # fmt: skip


class PenMissing(RuntimeError):
    """A file of the studio was to be changed without the pen: the job lacks `@writes`."""


@dataclass
class _Held:
    """The pen in hand."""

    given: str
    """The studio's folder as it was named."""
    kept: Path
    entry: KeptEdit | None = None
    """What this command changed so far, if anything."""
    goes_on: str = ""
    """What is done in many short turns, and taken back as one."""


_mine = threading.local()
_doing = ["another program"]


def named(command: str) -> None:
    """Say which command is at work, for those who wait for it and for the list of what it changed.

    The command's own words only, nothing that was typed after them: that may be an address.
    """
    _doing[0] = command


def doing() -> str:
    """Return which command is at work, by its own words."""
    return _doing[0]


@contextlib.contextmanager
def pen(folder: Path, goes_on: str = "") -> Iterator[None]:
    """Hold a studio's pen. Waits some seconds; then raises Fault with who holds it.

    `goes_on` names what is done in many short turns, which are taken back as one. Raises OSError if there's
    no such folder. Whoever holds it may take it again.
    """
    place, held = os.path.realpath(folder), _all_held()
    if place in held:
        yield
        return
    kept = Path(place) / KEPT
    if kept.is_symlink():  # who sweeps there would sweep elsewhere
        raise Fault(f"{kept} is a link; take it away, so that the program can keep earlier states there")
    handle = take_turn(Path(place), kept, _doing[0])
    mine = held[place] = _Held(os.path.abspath(folder), kept, goes_on=goes_on)  # noqa: PTH100 (links stay)
    try:
        _sweep(kept / PARTS)
        yield
    finally:
        del held[place]
        _tidy(mine)
        os.close(handle)


def in_hand(folder: Path) -> bool:
    """Tell whether this command holds the pen of the studio that a folder lies in."""
    try:
        _pen_for(folder / "x")
    except PenMissing:
        return False
    return True


def put(file: Path, content: bytes, *, kept: bool = True, private: bool = False) -> None:
    """Write a file of the studio, whole or not at all, and keep its state before, to be taken back.

    `kept` False keeps nothing. Raises PenMissing without the pen, OSError if it can't be written.
    """
    if kept:
        _will_hold(file, hashlib.sha256(content).hexdigest())
    write_whole(file, content, parts=_parts(file), private=private)


def take_away(file: Path) -> None:
    """Take a file of the studio away, and keep its state before, to be taken back.

    Raises PenMissing without the pen, OSError if it can't be taken away.
    """
    _will_hold(file, None)
    file.unlink()


def _will_hold(file: Path, digest: str | None) -> None:
    """Keep a file's present state before it becomes one with this SHA-256, or none. Raises PenMissing."""
    held, path = _pen_for(file)
    if held.entry is None:
        held.entry = open_entry(held.kept, held.goes_on or _doing[0], goes_on=bool(held.goes_on))
    held.entry.note(path, file, digest)


@contextlib.contextmanager
def fresh_folder(target: Path) -> Iterator[Path]:
    """Give a fresh folder to fill, and put it at `target`, where nothing is, when all went well.

    Raises PenMissing without the pen.
    """
    making = Path(tempfile.mkdtemp(dir=_parts(target), prefix=".making-"))
    try:
        yield making
        for file in sorted(one for one in making.rglob("*") if one.is_file()):
            _will_hold(target / file.relative_to(making), hashlib.sha256(file.read_bytes()).hexdigest())
        making.chmod(0o755)
        making.rename(target)
    finally:
        shutil.rmtree(making, ignore_errors=True)


def _all_held() -> dict[str, _Held]:
    if not hasattr(_mine, "held"):
        _mine.held = {}
    held: dict[str, _Held] = _mine.held
    return held


def _pen_for(file: Path) -> tuple[_Held, Path]:
    """Return the pen of the studio that a file lies in, and the file's path there. Raises PenMissing.

    A folder of the studio may be a link to elsewhere, and the studio as well: either way of writing counts.
    """
    ways = os.path.abspath(file), os.path.join(os.path.realpath(file.parent), file.name)  # noqa: PTH100, PTH118
    for place, held in _all_held().items():
        for root, way in ((held.given, ways[0]), (place, ways[1])):
            if way.startswith(root + os.sep):
                return held, Path(os.path.relpath(way, root))
    raise PenMissing(f"{file.name}: take the pen first (sitegen.jobs.pen.writes)")


def _parts(target: Path) -> Path:
    """Return where a file is put together: where the next holder sweeps, if a rename can come from there.

    Raises PenMissing.
    """
    parts = _pen_for(target)[0].kept / PARTS
    own_folder(parts.parent)
    own_folder(parts)
    return parts if parts.stat().st_dev == target.parent.stat().st_dev else target.parent


def _tidy(mine: _Held) -> None:
    """Leave nothing behind where nothing was changed."""
    with contextlib.suppress(OSError):
        if mine.entry is not None and not mine.entry.happened(Path(mine.given)):
            mine.entry.drop()
    for folder in (mine.kept / PARTS, mine.kept / STATES, mine.kept):
        with contextlib.suppress(OSError):  # there's something in it, or it isn't there
            folder.rmdir()


def _sweep(parts: Path) -> None:
    """Take away what a killed command left unfinished: only who holds the pen makes anything there."""
    if not parts.is_dir():
        return
    for one in parts.iterdir():
        if one.is_dir() and not one.is_symlink():
            shutil.rmtree(one)
        else:
            one.unlink()
