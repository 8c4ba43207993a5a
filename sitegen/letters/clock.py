"""Time, as posting needs it: to wait, and to be told to stop."""

from __future__ import annotations

import threading
import time
from typing import Protocol


class Clock(Protocol):
    """Time, and the wish to stop."""

    def now(self) -> float:
        """Return seconds that only grow."""

    def wait(self, seconds: float) -> None:
        """Wait, but no longer than until someone wants to stop."""

    @property
    def stopping(self) -> bool:
        """True when someone wants to stop."""


class WallClock:
    """Real time; `stop` may be called from a signal handler."""

    def __init__(self) -> None:
        self._stop = threading.Event()

    def now(self) -> float:
        """Return monotonic seconds."""
        return time.monotonic()

    def wait(self, seconds: float) -> None:
        """Wait until the time is over or someone wants to stop."""
        self._stop.wait(seconds)

    @property
    def stopping(self) -> bool:
        """True after `stop`."""
        return self._stop.is_set()

    def stop(self) -> None:
        """Ask to stop after the message in hand."""
        self._stop.set()
