"""What the system refuses, in a sentence; what nobody foresaw, noted for whoever helps.

The note says where in the program it was, and nothing of what it was about.
"""

from __future__ import annotations

import contextlib
import errno
import os
import platform
import traceback
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

from sitegen.disk import write_whole
from sitegen.disk.pen import doing, own_place

_FEW = 20
_CURES = {
    errno.ENOSPC: "the disk is full; free some room, then run this again",
    errno.EDQUOT: "your share of the disk is used up; free some room, then run this again",
    errno.EFBIG: "the file would be larger than allowed here; free some room, then run this again",
    errno.EACCES: "this may not be read or written by you; look at its rights, then run this again",
    errno.EPERM: "this may not be changed by you; look at its rights, then run this again",
    errno.EROFS: "this disk can only be read; copy the studio to one that can be written to",
    errno.ENOENT: "this isn't there",
    errno.ENOTDIR: "a file stands where a folder is needed",
    errno.EISDIR: "this is a folder, not a file",
    errno.EIO: "the disk can't be read or written; look after it soon, and make a backup",
    errno.EADDRINUSE: "another program uses this address; choose another --port",
}


def refused(fault: OSError) -> str:
    """Return what to say when the system refuses something."""
    said = _CURES.get(fault.errno or 0) or fault.strerror or str(fault)
    return f"{fault.filename}: {said}" if fault.filename else f"{said[:1].upper()}{said[1:]}"


def report(fault: BaseException) -> str:
    """Note what nobody foresaw, if that can be; return the sentence that says so."""
    file = _written(fault)
    noted = f" What happened is noted in {file}, without names or sums; send it to whoever helps you."
    said = "Something went wrong that sitegen has no better words for; your files are whole."
    return said + noted if file else said


def _written(fault: BaseException) -> Path | None:
    """Write the note into this user's own folder of the machine's temporary one; None if that can't be."""
    if (place := own_place()) is None:
        return None
    now = datetime.now().astimezone()
    file = place / f"report-{now:%Y%m%d-%H%M%S}-{os.getpid()}.txt"
    about = [
        f"sitegen {version('sitegen')}, Python {platform.python_version()}, {platform.system()}",
        f"{doing()}, {now.isoformat(timespec='seconds')}",
    ]
    with contextlib.suppress(OSError):
        for old in sorted(place.glob("report-*.txt"))[:-_FEW]:
            old.unlink(missing_ok=True)  # another command may be at it too
        write_whole(file, "\n".join([*about, *_told(fault), ""]).encode(), private=True)
        return file
    return None


def _told(fault: BaseException | None) -> list[str]:
    """List the kinds of fault and the program's lines; what a fault says may hold a name, and is left out."""
    lines: list[str] = []
    seen: set[int] = set()
    while fault is not None and id(fault) not in seen:
        seen.add(id(fault))
        lines += ["", f"{type(fault).__module__}.{type(fault).__qualname__}"]
        if isinstance(fault, OSError):
            lines.append(f"  errno {fault.errno}")
        lines += [
            f"  {'/'.join(Path(frame.filename).parts[-3:])}, line {frame.lineno}, {frame.name}"
            for frame in traceback.extract_tb(fault.__traceback__)[-40:]
        ]
        fault = fault.__cause__ or fault.__context__
    return lines
