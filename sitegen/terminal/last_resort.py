"""What nobody foresaw ends in a sentence as well; what the system refuses gets one an artist can act on."""

from __future__ import annotations

import os
import sys

from sitegen.terminal.telling import tell

UNFORESEEN = 3
"""Exit status of what nobody foresaw."""
STOPPED = 130
"""Exit status after Ctrl-C, as shells have it: 128 and the signal's number."""


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
