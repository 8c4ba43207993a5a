"""Waiting between letters ends when the time is over, or when somebody wants to stop."""

from __future__ import annotations

import threading

from sitegen.letters.posting import WallClock


def test_waiting_ends_at_once_when_somebody_wants_to_stop() -> None:
    clock = WallClock()
    clock.wait(-1)
    clock.wait(0)
    assert not clock.stopping
    waiting = threading.Thread(target=clock.wait, args=(3600,))
    waiting.start()
    waiting.join(0.05)
    assert waiting.is_alive()

    clock.stop()

    waiting.join()
    assert clock.stopping
