"""A file whole or not at all, for its owner only where it is private; a lock that ends with its holder."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import shutil
import stat
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import IO, Any

_FAR = 1 << 30
_PART = ".part"
# As `tempfile` makes them.
_NAMED = re.compile(r"\..+\.[a-z0-9_]{8}\.part")

# Read and written by their owner alone.
OWN_FILE, OWN_FOLDER = 0o600, 0o700


def own_folder(folder: Path) -> None:
    """Make a folder for its owner only, or make it so."""
    folder.mkdir(mode=OWN_FOLDER, parents=True, exist_ok=True)
    make_own(folder)


def open_own(file: Path) -> IO[bytes]:
    """Open a file for adding to its end; it is its owner's alone. Raises OSError."""
    handle = os.open(file, os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0), OWN_FILE)
    stream = os.fdopen(handle, "ab")
    make_own(file)
    return stream


def make_own(place: Path) -> None:
    """Let nobody but the owner read or write a file or folder."""
    if not is_own(place):
        with contextlib.suppress(OSError):  # a memory stick that knows no owners
            place.chmod(OWN_FOLDER if place.is_dir() else OWN_FILE)


def is_own(place: Path) -> bool:
    """Tell whether nobody but the owner may read or write a file or folder."""
    return not stat.S_IMODE(place.stat().st_mode) & 0o077


def write_whole(
    target: Path,
    content: bytes | Iterable[bytes],
    *,
    lasting: bool = True,
    parts: Path | None = None,
    private: bool = False,
) -> None:
    """Replace a file in one step: whoever reads it sees the old bytes or the new ones, never a part.

    Permissions are kept, but for a `private` file, which is its owner's alone whatever it was. `lasting`
    waits until a power cut couldn't undo it; what can be made again needn't. `parts` is the folder for the
    unfinished file, on the same disk; None means beside the target. Raises OSError; the old file then stands
    untouched, and nothing of the new one is left.
    """
    handle, temporary = new_part(parts or target.parent, target.name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines([content] if isinstance(content, bytes) else content)
            file.flush()
            if lasting:
                os.fsync(file.fileno())
            if os.name != "nt":  # there an open file can't be renamed
                _take_place(temporary, target, private=private)
        if os.name == "nt":
            _take_place(temporary, target, private=private)
    except BaseException:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise
    if lasting:
        to_disk(target.parent)


def to_disk(place: Path) -> None:
    """Wait until a file's bytes, or a folder's names, are on the disk. Raises OSError for a file."""
    if os.name == "nt":  # only what is open for writing can be waited for there
        return
    try:
        handle = os.open(place, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError:  # some disks wait for no folder; what was put into it is there
        if not place.is_dir():
            raise


def new_part(folder: Path, name: str) -> tuple[int, Path]:
    """Make an unfinished file, its owner's alone, locked while it's open so that `sweep_parts` lets it be."""
    while True:
        handle, part = tempfile.mkstemp(dir=folder, prefix=f".{name}.", suffix=_PART)
        with contextlib.suppress(OSError):
            hold(handle)
            if os.name == "nt" or os.fstat(handle).st_nlink:
                return handle, Path(part)
        if Path(part).exists():
            return handle, Path(part)  # a disk without locks
        os.close(handle)  # swept before it was locked


def _take_place(temporary: Path, target: Path, *, private: bool) -> None:
    if private:
        temporary.chmod(OWN_FILE)
    elif target.exists():
        shutil.copymode(target, temporary)
    else:
        # A temporary file is for its owner only; most of what is written here others are to read.
        temporary.chmod(0o644)
    temporary.replace(target)


def write_note(file: Path, said: Any) -> None:
    """Note plain values for a later run, with a checksum by which they prove themselves. Raises OSError."""
    body = json.dumps(said, separators=(",", ":")).encode()
    file.parent.mkdir(parents=True, exist_ok=True)
    sweep_parts(file.parent)
    write_whole(file, [_check(body), b"\n", body], lasting=False, private=True)


def read_note(file: Path) -> Any:
    """Return what `write_note` wrote; None if there is nothing, or it is torn or changed."""
    try:
        check, _, body = file.read_bytes().partition(b"\n")
        return json.loads(body) if check == _check(body) else None
    except (OSError, ValueError, RecursionError):
        return None


def _check(body: bytes) -> bytes:
    return hashlib.sha256(body).hexdigest().encode()


def lay(file: Path, content: bytes) -> Path:
    """Write a file below out/, for its owner only, unless the same bytes lie there already."""
    file.parent.mkdir(parents=True, exist_ok=True)
    sweep_parts(file.parent)
    if not file.exists() or file.read_bytes() != content:
        write_whole(file, content, private=True)
    return file


def sweep_parts(folder: Path) -> None:
    """Take away unfinished files of commands that were killed; those that somebody writes to are locked."""
    for part in folder.glob(f".*{_PART}"):
        if not _NAMED.fullmatch(part.name) or part.is_symlink() or os.name == "nt":
            continue
        with contextlib.suppress(OSError), part.open("ab") as file:
            hold(file.fileno())
            part.unlink()


def hold(handle: int) -> None:
    """Lock an open file for this process alone. Raises BlockingIOError while another one holds it.

    The operating system drops the lock when the process ends, however it ends.
    """
    if os.name == "nt":
        import msvcrt

        os.lseek(handle, _FAR, os.SEEK_SET)  # what is locked can't be read there, and who holds it is
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        except OSError as held:
            raise BlockingIOError(*held.args) from held
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
