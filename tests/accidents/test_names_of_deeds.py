"""Two deeds at once each stand under their own name in the list of what can be taken back."""

from __future__ import annotations

import threading

from sitegen.disk.pen import doing, named


def test_each_thread_is_at_its_own_work() -> None:
    named("a payment")
    seen: list[str] = []

    def other() -> None:
        seen.append(doing())
        named("a piece")
        seen.append(doing())

    thread = threading.Thread(target=other)
    thread.start()
    thread.join()

    assert seen == ["another program", "a piece"]
    assert doing() == "a payment"
