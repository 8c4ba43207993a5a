"""What nobody foresaw ends in a sentence as well; what the system refuses gets one an artist can act on."""

from __future__ import annotations

import errno
import os
import sys

from sitegen.terminal.telling import tell

UNFORESEEN = 3
"""Exit status of what nobody foresaw."""
STOPPED = 130
"""Exit status after Ctrl-C, as shells have it: 128 and the signal's number."""

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


def unforeseen(fault: BaseException) -> None:
    """Say in one sentence that something went wrong that nobody foresaw, and where it's noted."""
    from sitegen.jobs.report import report

    tell(report(fault), err=True)


def hush() -> None:
    """Let the rest of an answer go nowhere, where it can't be brought out."""
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, sys.stdout.fileno())
    os.close(silent)


def nobody_reads() -> None:
    """Say that the rest of an answer isn't shown once its reader has stopped."""
    hush()
    tell("Whoever read this answer has stopped, so the rest of it isn't shown.", err=True)
